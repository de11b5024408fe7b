//! The command line.

pub use super::common::Common;
use super::drawing::{Drawing, Figures, Print};
use super::exit::Exit;
pub use super::goal::{MeshGoal, Series};
use super::schema::SchemaOf;
use crate::base::Result;
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::study::{Theory, Wish};
use crate::theory::closure::check_closure;
use crate::theory::ideal::Goal;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// How far is the flow between two close plates from the ideal pattern it shows?
#[derive(Debug, Parser)]
#[command(
    name = "twinplate",
    version,
    about,
    disable_help_subcommand = true,
    long_about = "Two clear plates a fraction of a millimetre apart, an obstacle sealed between them, water and dye: the dye draws \
                  the streamlines of ideal flow, although the flow is viscous. twinplate computes that pattern for any outline, with \
                  guaranteed bounds, and how far inertia takes it from what the cell shows.",
    after_help = after_help()
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Write a commented starter case and its outline file, ready to run.
    Start {
        /// Folder to write into; created if it is not there. Existing files are never replaced.
        dir: PathBuf,
        /// Print what was written as JSON on standard output and nothing else there.
        #[arg(long)]
        json: bool,
    },
    /// Read and check a case; print what was understood and what solving it will take. Solves nothing. Of a folder of results: are its
    /// files the ones that were written?
    Check {
        /// The case file, or a folder of results.
        case: PathBuf,
        #[command(flatten)]
        common: Common,
    },
    /// Measure an outline file or the obstacles of a case: sizes, necks, corners, passages; a preview; files for a cutter.
    Outline(Box<super::outline::OutlineArgs>),
    /// Triangulate only: a table of the mesh's quality, and mesh.vtu.
    Mesh {
        /// The case file.
        case: PathBuf,
        /// About so many triangles, graded by the plan.
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(10..=400_000_000))]
        triangles: Option<u64>,
        #[command(flatten)]
        common: Common,
    },
    /// The ideal pattern with guaranteed bounds; corrections by option; fields, streaklines, report.
    #[command(
        long_about = "Solves for the pressure and, on the same mesh, for the stream function. Together they enclose the shape factor \
                      Q/(K dp) of the cell from both sides, whatever the mesh; the mesh is refined until the enclosure is as narrow as \
                      mesh.error asks. Both give the ideal pattern WITHOUT circulation, which is what the cell shows."
    )]
    Solve {
        /// The case file.
        case: PathBuf,
        /// Add the inertia departure: pressure, layers at mid-gap and near the plates, drift, streaklines at the
        /// case's dye height.
        #[arg(long)]
        inertia: bool,
        /// Add the first-order edge layer: what no-slip at solid edges holds back, and its variant with moved edges.
        #[arg(long)]
        edge_layer: bool,
        #[command(flatten)]
        beside: Beside,
        #[command(flatten)]
        mesh: MeshGoal,
        #[command(flatten)]
        figures: Figures,
        #[command(flatten)]
        common: Common,
    },
    /// How far the observed pattern departs from the ideal one: every effect, the sweep, the verdict.
    #[command(
        long_about = "Adds up what takes the pattern in the cell away from ideal flow: the edge layer, inertia in the gap, a gap that is \
                      not uniform, bubbles, and confinement by the side walls. Each is measured in speed, direction, shift of streaklines and \
                      pressure coefficient over the fluid further than three gaps from solid edges, at the dye height, and judged against \
                      the case's [tolerance]. With a [sweep] in the case the budget is followed over Reynolds number, speed, gap or \
                      glycerol content."
    )]
    Departure {
        /// The case file.
        case: PathBuf,
        #[command(flatten)]
        beside: Beside,
        #[command(flatten)]
        mesh: MeshGoal,
        #[command(flatten)]
        figures: Figures,
        #[command(flatten)]
        common: Common,
    },
    /// Figures for print and a page to keep with the lab notes: everything that departure does, drawn.
    #[command(
        long_about = "Does what departure does, then draws it: streaklines, pressure coefficient, speed, layers, departures, budget, sweep, \
                      circulation and mesh as SVG, PDF and PNG in figures/, with fonts inside, and report.html, one file that holds \
                      verdict, numbers, warnings, figures, the case and where it all comes from."
    )]
    Figure {
        /// The case file.
        case: PathBuf,
        #[command(flatten)]
        beside: Beside,
        #[command(flatten)]
        mesh: MeshGoal,
        #[command(flatten)]
        drawing: Drawing,
        #[command(flatten)]
        common: Common,
    },
    /// What was measured on the bench against theory: a photograph of dye lines, traced lines, tracks of particles.
    #[command(
        long_about = "Holds a photograph, a table of traced lines (line, x, y) or one of tracks (track, t, x, y) against the pattern of the \
                      case: how far, in millimetres, per cent and degrees, what was seen stands from ideal flow, with its uncertainty, which \
                      effect explains it, and what no picture can tell apart. A photograph is mapped into the cell by marks of known place \
                      ([photo] and [[photo.mark]] of the case; twinplate help photograph), tables may be in lengths or in its pixels."
    )]
    Compare {
        /// The case file.
        case: PathBuf,
        /// A photograph (PNG, JPEG), a table of traced lines (line, x, y) or of tracks (track, t, x, y) [default: the file of the case's
        /// [photo]].
        file: Option<PathBuf>,
        #[command(flatten)]
        against: Against,
        #[command(flatten)]
        mesh: MeshGoal,
        #[command(flatten)]
        print: Print,
        #[command(flatten)]
        common: Common,
    },
    /// Numbers where you want them: pressure, speed and direction of a case, or of a folder of results, at the places of a table.
    #[command(
        long_about = "Reads a table of places and writes it with columns added: pressure and its fraction of the drop, speed, speed over U, \
                      direction, pressure coefficient, whether the place lies in the fluid, and those of the corrections that are asked for. \
                      A case is solved for it; of a folder of results the fields are read, if all files are those that were written. Places \
                      in solids or outside the cell have empty cells."
    )]
    Sample(Box<super::sample::SampleArgs>),
    /// How the dry cell fills: the front from the inlet or a port, air that stays, where vents help.
    #[command(
        long_about = "Fills the dry cell: the front of the fluid from the inlet or from a port, by the flow or the head of the case, until \
                      nothing is left to fill; when it comes to each place, which air it cuts off, the last places to fill. Beside it the \
                      verdict of surface tension and contact angles: how much air stays at each obstacle, and what soap, tilt and speed \
                      change. What is known of plates, sides and fluid stands in [filling] of the case; defaults come from [rig]. Writes \
                      fill.pvd with one file for each moment, arrival.vtu, front.vtp, trapped.vtp, figures and report.html."
    )]
    Fill {
        /// The case file.
        case: PathBuf,
        #[command(flatten)]
        mesh: MeshGoal,
        #[command(flatten)]
        print: Print,
        #[command(flatten)]
        common: Common,
    },
    /// The cell's design sheet: flow, head, Reynolds numbers, plates, tolerances, dye, filling, how fast and how thick.
    #[command(
        long_about = "The sheet to take to the bench: flow and head for the wanted speed, the three Reynolds numbers, times, what the plates \
                      bear, what tolerances do, dye, tracers and camera, filling, and the largest speed and thickest gap at which every \
                      departure from the ideal pattern stays within the case's [tolerance], with a map of which limit binds where. SI and \
                      bench units stand side by side, with formula, source and range. What the rig is made of stands in [rig] of the case; \
                      defaults are printed as such."
    )]
    Rig {
        /// The case file.
        case: PathBuf,
        #[command(flatten)]
        mesh: MeshGoal,
        /// Write a bench card as well: one page (A4) with what to set, what to expect, lines to fill in and the cautions.
        #[arg(long)]
        card: bool,
        #[command(flatten)]
        print: Print,
        #[command(flatten)]
        common: Common,
    },
    /// Is it converged? One case on a ladder of meshes: observed and expected orders, Richardson values, GCI, bounds, a verdict.
    #[command(
        long_about = "Solves the case on a ladder of meshes, by default nested ones of half the size each, and judges the shape factor, the \
                      probes and what else is asked for: observed order by the procedure of Celik et al. 2008, the order that theory has for \
                      the sharpest corner, Richardson value, grid convergence index, and whether the quantity is in the asymptotic range, \
                      with the reason. Writes convergence.csv, convergence.svg (175 mm, in colour) and the report."
    )]
    Converge {
        /// The case file.
        case: PathBuf,
        /// Number of meshes, 3 or more; 4 are needed to confirm an order [default: 5, or 4 if the finest would be large].
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(3..=12), conflicts_with = "sizes")]
        levels: Option<u8>,
        /// Numbers of triangles in place of halving, ascending, each about four times the one before.
        #[arg(long, value_name = "N1,N2,..", value_delimiter = ',', value_parser = clap::value_parser!(u64).range(10..=400_000_000))]
        sizes: Vec<u64>,
        /// Adaptive meshes in place of halving, each for a quarter of the half-width of the bracket before.
        #[arg(long, conflicts_with = "sizes")]
        adaptive: bool,
        /// Study the inertia departure at the probes as well.
        #[arg(long)]
        inertia: bool,
        /// Study the edge layer as well.
        #[arg(long)]
        edge_layer: bool,
        /// Study the measures of the departure budget as well; takes several times longer.
        #[arg(long)]
        departure: bool,
        /// Study a further number of the report, named by its keys joined by dots, entries of lists by name: drive.head_m,
        /// probes.shoulder.angle_deg. May be given several times.
        #[arg(long, value_name = "KEY")]
        also: Vec<String>,
        #[command(flatten)]
        series: Series,
        /// Draw the errors for print as well, as figures/convergence.*.
        #[arg(long)]
        figures: bool,
        #[command(flatten)]
        print: Print,
        #[command(flatten)]
        common: Common,
    },
    /// Many runs of one case with other values, on all cores or by parts on many machines; tables and figures of what they found.
    #[command(
        long_about = "Varies keys of a case as a plan says (all combinations, one by one, or a list of runs) and measures rows of the report \
                      of each run. Runs that are there already are not done again, so that a campaign that was stopped goes on where it was. \
                      With --part I/N one share alone is done, anywhere on a shared folder; --collect joins them. Writes campaign.csv, \
                      campaign.json, a figure for each measure, report.html, and of every run what the plan wants to keep."
    )]
    Campaign(Box<super::campaign::CampaignArgs>),
    /// What reports and case files hold, as a JSON schema (2020-12): for editors that complete keys, and for checking by machine.
    Schema {
        /// What it is wanted of.
        #[arg(default_value = "report")]
        of: SchemaOf,
    },
    /// What commands and keys have in common: units, the case file, outlines, files, exit codes and more.
    Help {
        /// A topic or a command; left out: the list of both.
        #[arg(value_parser = clap::builder::PossibleValuesParser::new(super::topics::names()))]
        topic: Option<String>,
    },
    /// Print completions for a shell.
    #[cfg(feature = "shell")]
    Completions {
        /// The shell.
        shell: clap_complete::Shell,
    },
    /// Write the manual pages into a folder.
    #[cfg(feature = "shell")]
    Manual {
        /// Folder to write into; created if it is not there.
        dir: PathBuf,
    },
}

impl Command {
    /// The number of threads that is asked for.
    pub fn threads(&self) -> Option<u16> {
        match self {
            Command::Check { common, .. }
            | Command::Mesh { common, .. }
            | Command::Solve { common, .. }
            | Command::Departure { common, .. }
            | Command::Figure { common, .. }
            | Command::Compare { common, .. }
            | Command::Fill { common, .. }
            | Command::Rig { common, .. }
            | Command::Converge { common, .. } => common.threads,
            Command::Sample(args) => args.threads,
            Command::Campaign(args) => args.common.threads,
            _ => None,
        }
    }
}

/// What is solved beside the series.
#[derive(Debug, Clone, Copy, Args)]
pub struct Beside {
    /// Solve the closure with in-plane viscosity as well: the flow up to the edge of obstacles, with no cut-off at corners, beside
    /// the series.
    #[arg(long)]
    closure: bool,
}

impl Beside {
    /// Whether the closure is wanted; a case that it does not hold for is refused before anything is solved.
    pub fn closure(&self, case: &Case, plan: &Plan) -> Result<bool> {
        if self.closure {
            check_closure(case, plan)?;
        }
        Ok(self.closure)
    }
}

/// What is held against measurements.
#[derive(Debug, Clone, Copy, Args)]
pub struct Against {
    /// The theory that is held against them.
    #[arg(long, value_enum, default_value_t = TheoryArg::All)]
    theory: TheoryArg,
    /// What may differ from the case and is found from the lines.
    #[arg(long, value_enum)]
    fit: Option<FitArg>,
    /// Find the marks, map the picture, and stop.
    #[arg(long)]
    pub marks_only: bool,
    /// Draw the traced lines of a table over the ideal pattern as well; those of a photograph always are.
    #[arg(long)]
    overlay: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum TheoryArg {
    /// The ideal pattern alone.
    Ideal,
    /// With the edge layer.
    Edge,
    /// With every effect that applies.
    All,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FitArg {
    /// Where obstacles stand, and how large they are.
    Obstacles,
}

impl Against {
    /// What is asked of the library, on a mesh for a goal.
    pub fn wish(&self, goal: Option<Goal>) -> Wish {
        let theory = match self.theory {
            TheoryArg::Ideal => Theory::Ideal,
            TheoryArg::Edge => Theory::Edge,
            TheoryArg::All => Theory::All,
        };
        Wish { theory, obstacles: self.fit == Some(FitArg::Obstacles), overlay: self.overlay, goal }
    }
}

/// First steps, topics and exit codes.
fn after_help() -> String {
    let codes = Exit::ALL.map(|exit| format!("{} {}", exit.code(), exit.meaning()));
    format!(
        "First steps:\n  twinplate start museum      a commented case to begin with\n  twinplate check museum/case.toml\n  \
         twinplate solve museum/case.toml --inertia\n\nMore: twinplate help lists topics, such as units, case-file and outlines.\n\n\
         Exit codes: {}.",
        codes.join("; ")
    )
}
