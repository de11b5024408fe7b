//! `outline`: what an outline is like, a preview, and files for a cutter.

use super::{file_error, say};
use crate::base::error::Problems;
use crate::base::units::significant;
use crate::base::units::{self, Dimension};
use crate::base::{Error, Point, Result};
use crate::geometry::survey::{Passage, Survey, passages};
use crate::geometry::{Curve, Plan};
use crate::input::Outline;
use crate::input::case::{Case, OutlineSize, PictureOptions, ReadOptions, Tone};
use crate::input::drawing::{Drawing, is_picture, read_drawing};
use crate::report::cut::CAUTIONS;
use crate::report::figure::{Preview, preview};
use crate::report::{CutSettings, case_sheet, outline_sheet};
use crate::study::read;
use clap::{Args, ValueEnum};
use serde_json::{Value, json};
use std::fmt::Write;
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
    /// Folder for the preview [default: results/<file stem>/].
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
    /// Write NAME_cut.svg and NAME_cut.dxf at true size into this folder; of a case also the frame with its ports.
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

fn positive(text: &str) -> std::result::Result<f64, String> {
    match units::parse(text, Dimension::Length) {
        Ok(length) if length > 0.0 && length.is_finite() => Ok(length),
        Ok(length) => Err(format!("{length} m is not above zero")),
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

fn marks(text: &str) -> std::result::Result<[Point; 2], String> {
    let numbers: Vec<f64> = text.split(',').filter_map(|n| n.trim().parse().ok()).collect();
    match numbers[..] {
        [x, y, u, v] if numbers.iter().all(|n| n.is_finite()) => Ok([[x, y], [u, v]]),
        _ => Err("write four numbers such as 10,20,410,20".into()),
    }
}

/// What is printed and drawn, in one unit of length.
struct Subject {
    title: String,
    names: Vec<String>,
    outlines: Vec<Vec<Curve>>,
    surveys: Vec<Survey>,
    passages: Vec<Passage>,
    notes: Vec<String>,
    /// Lower left and upper right corner of the cell.
    cell: Option<[Point; 2]>,
    /// Name of the printed unit, and how many of it are one unit of the coordinates.
    unit: (&'static str, f64),
}

/// Measures an outline, writes the preview and what is to be cut.
pub fn outline(args: &OutlineArgs) -> Result<u8> {
    let is_case = args.file.extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"));
    let stem = args.file.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let settings = cut_settings(&args.cutting);
    let (subject, sheet) = if is_case {
        let (case, plan) = read(&args.file)?;
        let subject = of_case(&case, &plan)?;
        (subject, args.cutting.cut.as_ref().map(|_| case_sheet(&case, &plan, &settings)).transpose()?)
    } else {
        let drawing = sized(read_drawing(&args.file, &options(&args.reading)).map_err(Error::Input)?, args)?;
        if args.cutting.cut.is_some() && !drawing.scaled {
            let remedy = "give --width, --height or --unit";
            return Err(Error::Usage(format!("the size of {stem} is not known, so it cannot be cut; {remedy}")));
        }
        let outlines: Vec<Vec<Curve>> = drawing.loops.iter().map(|l| l.curves.clone()).collect();
        let sheet = args.cutting.cut.as_ref().map(|_| outline_sheet(&stem, &outlines, &settings)).transpose()?;
        (of_drawing(drawing, &args.file), sheet)
    };
    let folder = args.output.clone().unwrap_or_else(|| Path::new("results").join(&stem));
    std::fs::create_dir_all(&folder).map_err(|e| file_error("create", &folder, e))?;
    let mut files = vec![folder.join("preview.svg")];
    picture(&subject)?.write_svg(&files[0])?;
    if let (Some(folder), Some(sheet)) = (&args.cutting.cut, sheet) {
        std::fs::create_dir_all(folder).map_err(|e| file_error("create", folder, e))?;
        files.extend(sheet.write(folder, &stem)?.iter().map(|name| folder.join(name)));
    }
    let cut = args.cutting.cut.is_some();
    match (args.json, args.quiet) {
        (true, _) => say(&as_json(&subject, &files)?),
        (_, true) => Ok(0),
        _ => say(&table(&subject, &files, cut)),
    }
}

fn options(reading: &Reading) -> ReadOptions {
    let usual = ReadOptions::default();
    ReadOptions {
        id: reading.id.clone(),
        layer: reading.layer.clone(),
        every: reading.every,
        smooth: reading.smooth,
        tolerance: reading.tolerance.unwrap_or(usual.tolerance),
        unit: reading.unit,
        picture: PictureOptions {
            threshold: reading.threshold,
            tone: reading.tone.map(|tone| match tone {
                ToneArg::Dark => Tone::Dark,
                ToneArg::Light => Tone::Light,
            }),
            marks: reading.marks,
            marks_apart: reading.marks_apart,
            deviation: reading.deviation,
        },
    }
}

fn cut_settings(cutting: &Cutting) -> CutSettings {
    let usual = CutSettings::default();
    CutSettings {
        kerf: cutting.kerf.unwrap_or(usual.kerf),
        keep_hole: cutting.keep == Keep::Hole,
        frame: cutting.frame.unwrap_or(usual.frame),
        port: cutting.port.unwrap_or(usual.port),
    }
}

/// The drawing at the wanted size, with a note of what its unit became.
fn sized(drawing: Drawing, args: &OutlineArgs) -> Result<Drawing> {
    let size = match (args.reading.width, args.reading.height) {
        (Some(width), _) => OutlineSize::Width(width),
        (_, Some(height)) => OutlineSize::Height(height),
        _ => return Ok(drawing),
    };
    drawing.sized(size).ok_or_else(|| {
        let mut problems = Problems::default();
        problems.add(&args.file, None, "the outline has no width or height to scale", "check the file");
        Error::Input(problems)
    })
}

fn of_drawing(drawing: Drawing, file: &Path) -> Subject {
    let unit = match (drawing.scaled, is_picture(file)) {
        (true, _) => ("mm", 1e3),
        (_, true) => ("pixels", 1.0),
        _ => ("units", 1.0),
    };
    let (names, outlines): (Vec<String>, Vec<Vec<Curve>>) =
        drawing.loops.into_iter().map(|l| (l.name, l.curves)).unzip();
    Subject {
        title: file.file_name().unwrap_or_default().to_string_lossy().into_owned(),
        surveys: outlines.iter().filter_map(|curves| Survey::of(curves)).collect(),
        names,
        outlines,
        passages: Vec::new(),
        notes: drawing.notes,
        cell: None,
        unit,
    }
}

fn of_case(case: &Case, plan: &Plan) -> Result<Subject> {
    let mut outlines = Vec::new();
    for obstacle in &case.obstacles {
        outlines.extend(Outline::of(obstacle, &case.file).map_err(Error::Input)?);
    }
    let (names, outlines): (Vec<String>, Vec<Vec<Curve>>) = outlines.into_iter().map(|o| (o.name, o.curves)).unzip();
    Ok(Subject {
        title: case.title.clone(),
        surveys: outlines.iter().filter_map(|curves| Survey::of(curves)).collect(),
        names,
        outlines,
        passages: passages(plan),
        notes: plan.notes.clone(),
        cell: Some([[0.0, 0.0], [case.cell.length, case.cell.width]]),
        unit: ("mm", 1e3),
    })
}

fn picture(subject: &Subject) -> Result<crate::report::figure::Canvas> {
    let around = subject.surveys.iter().fold([[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]], |[low, high], s| {
        [[0, 1].map(|k| low[k].min(s.low[k])), [0, 1].map(|k| high[k].max(s.high[k]))]
    });
    let chain = |curves: &Vec<Curve>| {
        let steps = (4000 / curves.len().max(1)).clamp(1, 64) as u32;
        let places = |curve: &Curve| -> Vec<Point> {
            let steps = if matches!(curve, Curve::Line { .. }) { 1 } else { steps };
            (0..steps).map(|k| curve.point(f64::from(k) / f64::from(steps))).collect()
        };
        curves.iter().flat_map(places).collect()
    };
    preview(&Preview {
        title: &subject.title,
        area: subject.cell.unwrap_or(around),
        cell: subject.cell.is_some(),
        outlines: subject.outlines.iter().map(chain).collect(),
        surveys: &subject.surveys,
        passages: subject.passages.iter().map(|p| &p.width).collect(),
        unit: subject.unit.0,
        scale: subject.unit.1,
    })
}

/// Obstacles described one by one.
const MOST_OUTLINES: usize = 50;
/// Corners and passages listed.
const MOST_LISTED: usize = 5;

fn table(subject: &Subject, files: &[PathBuf], cut: bool) -> String {
    let (unit, scale) = subject.unit;
    let n = |x: f64| significant(scale * x, 5);
    let at = |p: Point| format!("({}, {})", n(p[0]), n(p[1]));
    let mut out = format!("{}\n", subject.title);
    let mut line = |name: &str, value: String| {
        let _ = writeln!(out, "  {name:<18}{value}");
    };
    for (name, survey) in subject.names.iter().zip(&subject.surveys).take(MOST_OUTLINES) {
        line("outline", format!("\"{name}\""));
        let [w, h] = survey.size();
        line("size", format!("{} x {} {unit}", n(w), n(h)));
        line(
            "area",
            format!(
                "{} {unit}{}",
                significant(scale * scale * survey.area, 5),
                if unit == "mm" { "2" } else { " squared" }
            ),
        );
        line("perimeter", format!("{} {unit}", n(survey.perimeter)));
        line(
            "thinnest neck",
            match &survey.neck {
                Some(neck) => format!("{} {unit}, {} to {}", n(neck.length), at(neck.ends[0]), at(neck.ends[1])),
                None => "none: it narrows towards its ends only".into(),
            },
        );
        if let Some((radius, place)) = survey.bend {
            line("tightest bend", format!("radius {} {unit} at {}", n(radius), at(place)));
        }
        for (k, corner) in survey.corners.iter().take(MOST_LISTED).enumerate() {
            let angle = corner.angle.to_degrees();
            line(&format!("corner {}", k + 1), format!("{angle:.1} deg of the solid at {}", at(corner.at)));
        }
        let more = survey.corners.len().saturating_sub(MOST_LISTED);
        if more > 0 {
            line("", format!("and {more} corners less sharp"));
        }
    }
    if subject.names.len() > MOST_OUTLINES {
        line("", format!("and {} outlines more", subject.names.len() - MOST_OUTLINES));
    }
    for passage in subject.passages.iter().take(MOST_LISTED) {
        let [a, b] = &passage.between;
        let [p, q] = passage.width.ends;
        line("passage", format!("{} {unit} between {a} and {b}, {} to {}", n(passage.width.length), at(p), at(q)));
    }
    for note in &subject.notes {
        line("note", note.clone());
    }
    for file in files {
        line("wrote", file.display().to_string());
    }
    if cut {
        for caution in CAUTIONS {
            line("CAUTION", caution.into());
        }
    }
    out
}

fn as_json(subject: &Subject, files: &[PathBuf]) -> Result<String> {
    // Lengths in m where the size is known, else in the file's own unit, which the keys then leave open.
    let known = subject.unit.0 == "mm";
    let key = |name: &str, unit: &str| if known { format!("{name}_{unit}") } else { name.to_owned() };
    let width = |length: f64, ends: [Point; 2]| json!({key("width", "m"): length, key("ends", "m"): ends});
    let outlines: Vec<Value> = subject
        .names
        .iter()
        .zip(&subject.surveys)
        .map(|(name, s)| {
            json!({
                "name": name,
                key("width", "m"): s.size()[0],
                key("height", "m"): s.size()[1],
                key("area", "m2"): s.area,
                key("perimeter", "m"): s.perimeter,
                "neck": s.neck.as_ref().map(|neck| width(neck.length, neck.ends)),
                "bend": s.bend.map(|(radius, place)| json!({key("radius", "m"): radius, key("at", "m"): place})),
                "corners": s.corners.iter().map(|c| json!({"angle_deg": c.angle.to_degrees(), key("at", "m"): c.at})).collect::<Vec<_>>(),
            })
        })
        .collect();
    let passages: Vec<Value> = subject
        .passages
        .iter()
        .map(|p| json!({"between": p.between, "passage": width(p.width.length, p.width.ends)}))
        .collect();
    let report = json!({
        "title": subject.title,
        "unit": if known { "m" } else { subject.unit.0 },
        "outlines": outlines,
        "passages": passages,
        "notes": subject.notes,
        "files": files.iter().map(|f| f.display().to_string()).collect::<Vec<_>>(),
    });
    serde_json::to_string_pretty(&report)
        .map(|text| text + "\n")
        .map_err(|e| Error::failed(format!("the report cannot be written: {e}"), "report this as a fault"))
}
