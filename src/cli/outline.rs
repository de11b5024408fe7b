//! `outline`: what an outline is like, a preview, and files for a cutter.

use super::exit::Exit;
use super::place::{command_line, output_folder};
use super::say::{Shown, print};
use crate::base::row::Detail;
use crate::base::units::{self, Dimension};
use crate::base::{Point, Result};
use crate::input::case::{Case, OutlineSize, PictureOptions, ReadOptions, Tone};
use crate::report::marks::{MARK_COUNTS, MarkSettings, MarkShape};
use crate::report::{CutSettings, Folder, Kept, Others, Standing, SurveyFiles, create_folder};
use crate::study::{Outlines, SurveySettings, survey_outlines};
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

/// Arguments of `outline`.
#[derive(Debug, Args)]
pub struct OutlineArgs {
    /// The outline file (SVG, DXF, PNG, JPEG, a list of coordinates), or a case file (.toml).
    file: PathBuf,
    #[command(flatten)]
    reading: Reading,
    #[command(flatten)]
    cutting: Cutting,
    /// Folder for the preview [default: results/<file stem>/; where that holds other results, one beside it].
    #[arg(short, long, value_name = "DIR")]
    output: Option<PathBuf>,
    /// Print the measures as JSON on standard output and nothing else there.
    #[arg(long)]
    json: bool,
    /// Print nothing.
    #[arg(short, long)]
    quiet: bool,
}

/// How an outline file is read; a case says so itself.
#[derive(Debug, Args)]
#[command(next_help_heading = "Reading an outline file (as the keys of a case)")]
struct Reading {
    /// Extent along x it is scaled to, such as "130 mm".
    #[arg(long, value_parser = positive, conflicts_with = "height")]
    width: Option<f64>,
    /// Extent along y it is scaled to.
    #[arg(long, value_parser = positive)]
    height: Option<f64>,
    /// Only what has this id (of a picture: the number of the blob by size).
    #[arg(long)]
    id: Option<String>,
    /// Only what stands on this layer.
    #[arg(long)]
    layer: Option<String>,
    /// Every outline, not the largest alone.
    #[arg(long)]
    every: bool,
    /// A spline through the corners.
    #[arg(long)]
    smooth: bool,
    /// What is repaired, as a fraction of the size.
    #[arg(long, value_name = "FRACTION", value_parser = |text: &str| between(text, 0.0, 0.01))]
    tolerance: Option<f64>,
    /// Unit of the file's coordinates, such as mm.
    #[arg(long, value_parser = unit)]
    unit: Option<f64>,
    /// Picture: tone of the edge, 0 (black) to 1 (white).
    #[arg(long, value_name = "FRACTION", value_parser = |text: &str| between(text, 0.0, 1.0))]
    threshold: Option<f64>,
    /// Picture: which tone is the obstacle [default: the one that the border has not].
    #[arg(long)]
    tone: Option<ToneArg>,
    /// Picture: two places in pixels from the upper left corner, "x,y,x,y", that are --marks-apart apart.
    #[arg(long, value_parser = marks, requires = "marks_apart")]
    marks: Option<[Point; 2]>,
    /// Picture: distance of the two marks.
    #[arg(long, value_name = "LENGTH", value_parser = positive, requires = "marks")]
    marks_apart: Option<f64>,
    /// Picture: largest deviation of the smooth outline, in pixels [default: 0.1, more where the picture is noisy].
    #[arg(long, value_name = "PIXELS", value_parser = |text: &str| between(text, 0.01, 5.0))]
    deviation: Option<f64>,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "Files for a cutter")]
struct Cutting {
    /// Write NAME_cut.svg and NAME_cut.dxf at true size into this folder; of a case also the frame with its ports, and NAME_place.svg and
    /// .pdf, a template for placing the obstacles.
    #[arg(long, value_name = "DIR")]
    cut: Option<PathBuf>,
    /// Width of what the tool takes away: paths are moved by half of it.
    #[arg(long, value_name = "LENGTH", value_parser = positive, requires = "cut")]
    kerf: Option<f64>,
    /// What is to come out true to size: the piece (path outside) or the hole it leaves (path inside).
    #[arg(long, requires = "cut", default_value = "piece")]
    keep: Keep,
    /// Case: width of the frame's bars [default: 20 mm].
    #[arg(long, value_name = "LENGTH", value_parser = positive, requires = "cut")]
    frame: Option<f64>,
    /// Case: diameter of the ports [default: 6 mm].
    #[arg(long, value_name = "LENGTH", value_parser = positive, requires = "cut")]
    port: Option<f64>,
    /// Case: how many calibration marks a plate gets, 4 to 12, or 0 for none [default: 8, fewer where there is no room]. They are drawn to
    /// be engraved; NAME_marks.toml is what the case then says of a photograph.
    #[arg(long, value_name = "N", value_parser = mark_count, requires = "cut")]
    photo_marks: Option<usize>,
    /// Case: width of a cross, diameter of a dot [default: 7 mm].
    #[arg(long, value_name = "LENGTH", value_parser = mark_size, requires = "cut")]
    mark_size: Option<f64>,
    /// Case: what calibration marks look like [default: cross].
    #[arg(long, requires = "cut")]
    mark_shape: Option<ShapeArg>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum ShapeArg {
    Cross,
    Dot,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum ToneArg {
    Dark,
    Light,
}

#[derive(Debug, Clone, Copy, PartialEq, ValueEnum)]
enum Keep {
    Piece,
    Hole,
}

/// The name of the preview.
const PREVIEW: &str = "preview.svg";

/// Measures an outline, writes the preview and what is to be cut, and prints the measures.
pub fn outline(args: &OutlineArgs, settings: String) -> Result<Exit> {
    let found = survey_outlines(&args.file, &args.reading.settings())?;
    // what cannot be cut is refused before a folder is made
    let sheet = args.cutting.cut.as_deref().map(|into| found.cut_sheet(&args.cutting.settings()).map(|s| (into, s)));
    let sheet = sheet.transpose()?;
    let cut = sheet.as_ref().map(|(into, sheet)| (*into, sheet));
    let marks = cut.and_then(|(_, sheet)| sheet.marks.clone());
    let files = match &found.case {
        Some((case, _)) => {
            let mut folder = open_for_case(args, case)?;
            folder.command = command_line();
            folder.set_settings(settings);
            let cut = found.write(&folder.place(PREVIEW)?, cut)?;
            let (dir, _) = folder.finish()?;
            SurveyFiles { preview: dir.join(PREVIEW), cut, marks }
        }
        None => {
            let dir = open_for_drawing(args, &found)?;
            create_folder(&dir)?;
            let preview = dir.join(PREVIEW);
            SurveyFiles { cut: found.write(&preview, cut)?, preview, marks }
        }
    };
    let last = format!("The preview is in {}", files.preview.display());
    let shown = match (args.json, args.quiet) {
        (true, _) => Shown::Json,
        (_, true) => Shown::Nothing,
        _ => Shown::Text(Detail::Main),
    };
    print(&found.sections(&files), &last, shown)
}

/// The folder of the case's results; where that holds results from before the case was changed, one beside it.
fn open_for_case(args: &OutlineArgs, case: &Case) -> Result<Folder> {
    if let Some(dir) = &args.output {
        return Folder::open(dir, case, Others::Refused);
    }
    let usual = output_folder(case)?;
    match Folder::standing(&usual, case)? {
        Standing::Free | Standing::Same => Folder::open(&usual, case, Others::Refused),
        Standing::Edited | Standing::Other => {
            let beside = beside(&usual, "outline");
            // it holds nothing but earlier previews of this case
            let is_edited = Folder::standing(&beside, case)? == Standing::Edited;
            Folder::open(&beside, case, if is_edited { Others::Replaced } else { Others::Refused })
        }
    }
}

/// `results/STEM`; where that holds the results of a case, one beside it.
fn open_for_drawing(args: &OutlineArgs, found: &Outlines) -> Result<PathBuf> {
    let refuse = |dir: &Path| Folder::refuse_results(dir, &found.title, &args.file);
    if let Some(dir) = &args.output {
        return refuse(dir).map(|()| dir.clone());
    }
    let usual = Path::new("results").join(&found.stem);
    if refuse(&usual).is_ok() {
        return Ok(usual);
    }
    let beside = beside(&usual, "drawing");
    refuse(&beside).map(|()| beside)
}

fn beside(folder: &Path, what: &str) -> PathBuf {
    let mut name = folder.as_os_str().to_owned();
    name.push(format!("-{what}"));
    name.into()
}

impl Reading {
    fn settings(&self) -> SurveySettings {
        let usual = ReadOptions::default();
        let reading = ReadOptions {
            id: self.id.clone(),
            layer: self.layer.clone(),
            every: self.every,
            smooth: self.smooth,
            tolerance: self.tolerance.unwrap_or(usual.tolerance),
            unit: self.unit,
            picture: PictureOptions {
                threshold: self.threshold,
                tone: self.tone.map(|tone| match tone {
                    ToneArg::Dark => Tone::Dark,
                    ToneArg::Light => Tone::Light,
                }),
                marks: self.marks,
                marks_apart: self.marks_apart,
                deviation: self.deviation,
            },
        };
        let size = match (self.width, self.height) {
            (Some(width), _) => OutlineSize::Width(width),
            (None, Some(height)) => OutlineSize::Height(height),
            (None, None) => OutlineSize::Stated,
        };
        SurveySettings { reading, size }
    }
}

impl Cutting {
    fn settings(&self) -> CutSettings {
        let usual = CutSettings::default();
        CutSettings {
            kerf: self.kerf.unwrap_or(usual.kerf),
            kept: match self.keep {
                Keep::Piece => Kept::Piece,
                Keep::Hole => Kept::Hole,
            },
            frame: self.frame.unwrap_or(usual.frame),
            port: self.port.unwrap_or(usual.port),
            marks: MarkSettings {
                count: self.photo_marks,
                size: self.mark_size.unwrap_or(usual.marks.size),
                shape: match self.mark_shape {
                    Some(ShapeArg::Dot) => MarkShape::Dot,
                    Some(ShapeArg::Cross) | None => MarkShape::Cross,
                },
            },
        }
    }
}

/// Lengths that are taken, m.
const SHORTEST: f64 = 1e-12;
const LONGEST: f64 = 1e4;

fn positive(text: &str) -> std::result::Result<f64, String> {
    match units::parse(text, Dimension::Length) {
        Ok(length) if (SHORTEST..=LONGEST).contains(&length) => Ok(length),
        Ok(length) => Err(format!("{length} m is not from {SHORTEST} m to {LONGEST} m")),
        Err(error) => Err(error.to_string()),
    }
}

fn unit(text: &str) -> std::result::Result<f64, String> {
    positive(&format!("1 {text}"))
}

fn between(text: &str, low: f64, high: f64) -> std::result::Result<f64, String> {
    match text.parse::<f64>() {
        Ok(x) if (low..=high).contains(&x) => Ok(x),
        _ => Err(format!("must be a number from {low} to {high}")),
    }
}

fn mark_count(text: &str) -> std::result::Result<usize, String> {
    let [least, most] = MARK_COUNTS;
    match text.parse::<usize>() {
        Ok(count) if count == 0 || (least..=most).contains(&count) => Ok(count),
        _ => Err(format!("must be a number of marks from {least} to {most}, or 0 for none")),
    }
}

fn mark_size(text: &str) -> std::result::Result<f64, String> {
    match positive(text)? {
        size if (0.9999e-3..=0.10001).contains(&size) => Ok(size),
        _ => Err("must be from 1 mm to 100 mm".into()),
    }
}

fn marks(text: &str) -> std::result::Result<[Point; 2], String> {
    let numbers: Vec<f64> = text.split(',').filter_map(|n| n.trim().parse().ok()).collect();
    match numbers[..] {
        [x, y, u, v] if numbers.iter().all(|n| n.is_finite()) => Ok([[x, y], [u, v]]),
        _ => Err("write four numbers such as 10,20,410,20".into()),
    }
}
