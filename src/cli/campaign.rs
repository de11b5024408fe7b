//! `campaign`: many runs of one case with other values, on one machine or by parts on many.

use super::common::Common;
use super::drawing::Print;
use super::exit::Exit;
use super::goal::MeshGoal;
use super::place::command_line;
use super::progress::Progress;
use super::say::{file_error, say};
use super::script::{MOST_PARTS, Scheduler, Task, script};
use super::tell::tell;
use crate::base::row::{Kind, Row, Section};
use crate::base::units::Dimension;
use crate::base::{Error, Result};
use crate::input::campaign::{Campaign, Planned, Seek, read_plan};
use crate::report::campaign::{Collected, Progressed, Store, Wanted, Way, nothing_known, run_part};
use crate::report::{Folder, Others};
use crate::study::campaign::Part;
use crate::study::campaign::seek::solve_seek;
use crate::study::program;
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};
use std::time::Instant;

/// Arguments of `campaign`.
#[derive(Debug, Args)]
pub struct CampaignArgs {
    /// The plan of the campaign; with --uncertainty the case.
    pub plan: PathBuf,
    /// Do share I of N alone; shares may run anywhere on a shared folder, and are joined by --collect.
    #[arg(long, value_name = "I/N", value_parser = part, conflicts_with_all = ["collect", "show"])]
    part: Option<Part>,
    /// Join what all parts have done: campaign.csv, campaign.json, figures and page.
    #[arg(long, conflicts_with = "show")]
    collect: bool,
    /// Print the report of one run, by its number, as JSON.
    #[arg(long, value_name = "RUN")]
    show: Option<usize>,
    /// What the tolerances in [uncertainty] of a case make of every number of its report, and which to tighten first.
    #[arg(long, conflicts_with_all = ["part", "collect", "show"])]
    pub uncertainty: bool,
    /// With --uncertainty: take a sample of so many points, even where differences would do.
    #[arg(long, value_name = "N", requires = "uncertainty", value_parser = clap::value_parser!(u32).range(8..=65536))]
    pub sample: Option<u32>,
    #[command(flatten)]
    pub mesh: MeshGoal,
    /// Print a script on standard output that does N parts as a job array: for sbatch, qsub, bsub, or plain commands, one a line, for
    /// `xargs -L 1 -P 8 env` or GNU parallel. Each task has --threads cores, else one. Solves nothing.
    #[arg(long, value_name = "FOR", requires = "parts", conflicts_with_all = ["part", "collect", "show"])]
    script: Option<ScriptFor>,
    /// Parts of the script.
    #[arg(
        short = 'N', long, value_name = "N", requires = "script",
        value_parser = clap::value_parser!(u32).range(1..=i64::from(MOST_PARTS))
    )]
    parts: Option<u32>,
    #[command(flatten)]
    pub print: Print,
    #[command(flatten)]
    pub common: Common,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ScriptFor {
    /// Slurm: sbatch.
    Slurm,
    /// PBS Professional, OpenPBS: qsub.
    Pbs,
    /// LSF: bsub.
    Lsf,
    /// Commands, one a line.
    Plain,
}

impl ScriptFor {
    fn scheduler(self) -> Scheduler {
        match self {
            ScriptFor::Slurm => Scheduler::Slurm,
            ScriptFor::Pbs => Scheduler::Pbs,
            ScriptFor::Lsf => Scheduler::Lsf,
            ScriptFor::Plain => Scheduler::Plain,
        }
    }
}

/// A share as it is typed: 3/40.
fn part(text: &str) -> std::result::Result<Part, String> {
    let example = "say which share of how many, such as 3/40";
    let (number, of) = text.split_once('/').ok_or(format!("no share: {example}"))?;
    let read =
        |word: &str| word.trim().parse::<usize>().map_err(|_| format!("\"{word}\" is no whole number: {example}"));
    let (number, of) = (read(number)?, read(of)?);
    Part::new(number, of).map_err(|error| format!("{}: {}", error.what(), error.remedy().unwrap_or_default()))
}

/// Does what is asked of a campaign.
pub fn campaign(args: &CampaignArgs) -> Result<Exit> {
    let common = &args.common;
    if args.mesh.is_asked() {
        let what = "the plan says how fine the meshes are";
        return Err(Error::argument(what, "write triangles = N or error = E in it, in place of an option"));
    }
    common.refuse_set("[vary] of the plan says which values keys take")?;
    let campaign = match read_plan(&args.plan)? {
        Planned::Runs(campaign) => *campaign,
        Planned::Seek(seek) => return args.seek(*seek),
    };
    let dir = common.output.clone().unwrap_or_else(|| campaign.usual_dir());
    if let (Some(script), Some(parts)) = (args.script, args.parts) {
        return hand_out(args, script, parts, &dir);
    }
    if let Some(run) = args.show {
        return show(&campaign, &dir, run);
    }
    if args.collect {
        return collect(&campaign, &dir, args);
    }
    let way = Way { part: args.part.unwrap_or(Part::WHOLE), threads: common.cores(), replace: common.force };
    let progress = Progress::new(common.quiet, common.verbose);
    let clock = Instant::now();
    let done = run_part(&campaign, &dir, way, &|now| progress.show(&said(now, clock)))?;
    progress.end();
    match args.part {
        None => collect(&campaign, &dir, args),
        Some(part) => tell_part(&campaign, &dir, part, done, common),
    }
}

impl CampaignArgs {
    /// Searches, and writes what was found.
    fn seek(&self, seek: Seek) -> Result<Exit> {
        if self.part.is_some() || self.collect || self.show.is_some() || self.script.is_some() {
            let what = "the plan is a search: each of its runs follows from those before";
            return Err(Error::argument(what, "leave out --part, --collect, --show and --script"));
        }
        let common = &self.common;
        let dir = common.output.clone().unwrap_or_else(|| seek.campaign.usual_dir());
        let mut folder = Folder::open(&dir, &seek.campaign, others(common))?;
        folder.command = command_line();
        folder.set_settings("campaign".to_owned());
        let progress = Progress::new(common.quiet, common.verbose);
        let sought = solve_seek(seek, common.cores(), &|runs| progress.show(&format!("searching, {runs} runs")))?;
        let sections = sought.write(folder, &self.print.settings())?;
        progress.end();
        let last = format!("The path is in {} (seek.csv, seek.json, figures, report.html)", dir.display());
        tell(common, true, &sections, &last)
    }
}

/// What becomes of other results in the folder.
fn others(common: &Common) -> Others {
    if common.force { Others::Replaced } else { Others::Refused }
}

/// Prints a script that does all parts.
fn hand_out(args: &CampaignArgs, of: ScriptFor, parts: u32, dir: &Path) -> Result<Exit> {
    let absolute = |path: &Path| std::path::absolute(path).map_err(|error| file_error("find", path, error));
    let (plan, dir) = (absolute(&args.plan)?, absolute(dir)?);
    // on the nodes of a cluster the search path may be another
    let program = std::env::current_exe().unwrap_or_else(|_| PathBuf::from("twinplate"));
    let threads = args.common.threads.map_or(1, u32::from);
    say(&script(of.scheduler(), Task { program: &program, plan: &plan, dir: &dir, parts, threads })?)
}

/// How far it is, and how long it will take at this pace.
fn said(now: Progressed, clock: Instant) -> String {
    let Progressed { known, failed, of } = now;
    let left = clock.elapsed().as_secs_f64() * (of - known) as f64 / known.max(1) as f64;
    let failed = if failed > 0 { format!(", {failed} failed") } else { String::new() };
    format!("{known} of {of} runs{failed}, about {} left", Dimension::Time.show_to(left, 2))
}

/// Prints the report of one run.
fn show(campaign: &Campaign, dir: &Path, run: usize) -> Result<Exit> {
    let count = campaign.runs.count();
    if run == 0 || run > count {
        return Err(Error::argument(format!("there is no run {run}"), format!("runs are numbered from 1 to {count}")));
    }
    let store = Store::open(dir, campaign, Wanted::All, false)?;
    match store.report(run)? {
        Some(report) => say(&format!("{report}\n")),
        None => {
            let why = store.known.get(&run).map_or("it has not been done", |stored| stored.message.as_str());
            Err(Error::failed(format!("there is no report of run {run}: {why}"), "see campaign.csv for what is there"))
        }
    }
}

/// Joins what is there, writes tables and figures, and prints what was found.
fn collect(campaign: &Campaign, dir: &Path, args: &CampaignArgs) -> Result<Exit> {
    let common = &args.common;
    let store = Store::open(dir, campaign, Wanted::All, false)?;
    let collected = Collected { campaign, known: &store.known };
    if store.known.is_empty() {
        return Err(nothing_known(dir));
    }
    let mut folder = Folder::open(dir, campaign, others(common))?;
    folder.command = command_line();
    folder.set_settings("campaign".to_owned());
    collected.write(&mut folder, &args.print.settings())?;
    let (dir, _) = folder.finish()?;
    let last = format!("Results are in {} (campaign.csv, campaign.json, figures, report.html)", dir.display());
    tell(common, collected.is_whole(), &collected.sections(), &last)
}

/// Prints what a share has come to.
fn tell_part(campaign: &Campaign, dir: &Path, part: Part, done: Progressed, common: &Common) -> Result<Exit> {
    let rows = vec![
        Row::new("part", "part", format!("{} of {}", part.number, part.of), Kind::Number),
        Row::new("runs", "runs of this part", done.of, Kind::Number),
        Row::new("failed", "failed", done.failed, Kind::Number),
    ];
    let last = format!(
        "The runs are in {}; join the parts by: twinplate campaign {} --collect",
        dir.display(),
        campaign.file.display()
    );
    tell(common, done.failed == 0, &[program(), Section::new("campaign", "Campaign", rows)], &last)
}
