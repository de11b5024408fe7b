//! `sample`: numbers of a case, or of a folder of results, at the places of a table.

use super::exit::Exit;
use super::goal::MeshGoal;
use super::progress::Progress;
use super::say::{say, say_bytes};
use crate::base::row::{Row, Section, Value};
use crate::base::{Error, Result};
use crate::input::points::Points;
use crate::report::json::json;
use crate::report::{Corrections, StoredResult, added, sampled_table, write_whole};
use crate::study::sample::{Sampled, Sampler, keys};
use crate::study::{Settings, Study, program, read};
use clap::Args;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Arguments of `sample`.
#[derive(Debug, Args)]
pub struct SampleArgs {
    /// The case file, or a folder of results with its fields.vtu.
    source: PathBuf,
    /// A table of places (CSV): columns x and y in metres, or as its header says (x_mm, x [mm]); other columns are kept.
    points: PathBuf,
    /// File for the values [default: standard output].
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Add the columns of the inertia departure.
    #[arg(long)]
    inertia: bool,
    /// Add the columns of the edge layer.
    #[arg(long)]
    edge_layer: bool,
    /// Places in solids or outside the cell are a mistake, told with their lines.
    #[arg(long)]
    strict: bool,
    #[command(flatten)]
    mesh: MeshGoal,
    /// Print counts and hash as JSON on standard output; the values go into the file.
    #[arg(long, requires = "output")]
    json: bool,
    /// Threads to use; values are the same for any number [default: all cores].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    /// Say nothing on standard error but mistakes.
    #[arg(short, long, conflicts_with = "verbose")]
    quiet: bool,
    /// Tell about every cycle of the solution.
    #[arg(short, long)]
    verbose: bool,
}

/// Where the values came from.
struct From {
    source: &'static str,
    combined_sha256: String,
}

/// Reads the places, solves the case or reads its fields, and writes the values.
pub fn sample(args: &SampleArgs) -> Result<Exit> {
    if let Some(output) = &args.output {
        for (name, file) in [("table of places", &args.points), ("case", &args.source)] {
            if same(output, file) {
                let what = format!("{} would be written over: it is the {name}", output.display());
                return Err(Error::argument(what, "name another file for the values"));
            }
        }
    }
    // mistakes of the table are told before anything is solved
    let taken = added(&keys(args.inertia, args.edge_layer));
    let points = Points::read(&args.points, &taken).map_err(Error::Input)?;
    let progress = Progress::new(args.quiet, args.verbose);
    if args.source.is_dir() {
        if args.mesh.is_asked() {
            let what = "a folder of results is solved already, on its own mesh";
            return Err(Error::argument(what, "leave out --triangles, --error and --order, or name the case"));
        }
        let wanted = Corrections { inertia: args.inertia, edge_layer: args.edge_layer };
        let stored = StoredResult::open(&args.source, wanted)?;
        let (folder, hash) = (args.source.display(), &stored.combined_sha256);
        args.tell(&format!("values from {folder}, combined hash {hash}, written by `{}`", stored.command));
        if stored.is_slowed {
            args.tell("midplane and near-plate values are slowed within the edge layer, as fields.vtu has them");
        }
        let from = From { source: "result", combined_sha256: stored.combined_sha256.clone() };
        return args.write(&points, &stored.sampler(), &from, &progress);
    }
    let (mut case, plan) = read(&args.source)?;
    let goal = args.mesh.of(&mut case);
    let settings = Settings { goal, inertia: args.inertia, edge_layer: args.edge_layer };
    let study = Study::solve(case, plan, settings, &|stage| progress.stage(stage))?;
    let from = From { source: "case", combined_sha256: study.case.combined_sha256() };
    let exit = args.write(&points, &study.sampler(), &from, &progress)?;
    Ok(if study.reached() { exit } else { Exit::Missed })
}

impl SampleArgs {
    fn write(&self, points: &Points, sampler: &Sampler, from: &From, progress: &Progress) -> Result<Exit> {
        progress.show("sampling");
        let sampled = sampler.sample(&points.places);
        let outside = sampled.outside();
        if self.strict && outside > 0 {
            let lost = (0..points.places.len()).filter(|&k| sampled.places[k].is_none());
            return Err(Error::Input(points.outside(lost)));
        }
        let table = sampled_table(points, &sampled);
        progress.end();
        if let Some(output) = &self.output {
            write_whole(output, |out| out.write_all(&table))?;
        } else {
            say_bytes(&table)?;
        }
        let all = points.places.len();
        if outside == all {
            self.tell(&format!(
                "none of the {all} places lies in the fluid: without a unit in the header they are in metres"
            ));
        } else if outside > 0 {
            self.tell(&format!("{outside} of {all} places lie in solids or outside the cell and have no values"));
        }
        if self.json { say(&json(&self.counts(points, &sampled, from))?) } else { Ok(Exit::Done) }
    }

    fn counts(&self, points: &Points, sampled: &Sampled, from: &From) -> Vec<Section> {
        let (all, outside) = (points.places.len(), sampled.outside());
        let shown = |path: &Path| path.display().to_string();
        let rows = vec![
            Row::script("source", from.source),
            Row::script("file", shown(&self.source)),
            Row::script("combined_sha256", from.combined_sha256.clone()),
            Row::script("points_file", shown(&points.file)),
            Row::script("points", all),
            Row::script("inside", all - outside),
            Row::script("outside", outside),
            Row::script("columns", Value::texts(added(&sampled.keys).into_iter().map(str::to_owned))),
            Row::script("values_file", self.output.as_deref().map(shown).unwrap_or_default()),
        ];
        vec![program(), Section::new("sample", "Values at places", rows)]
    }

    fn tell(&self, text: &str) {
        if !self.quiet {
            let _ = writeln!(std::io::stderr(), "{text}");
        }
    }
}

fn same(a: &Path, b: &Path) -> bool {
    matches!((a.canonicalize(), b.canonicalize()), (Ok(a), Ok(b)) if a == b)
}
