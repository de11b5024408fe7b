//! What a survey of outlines prints, draws and hands to a cutter.

use super::check::note_section;
use super::cut::{CAUTIONS, CutSheet};
use super::figure::{Canvas, Edge, Placing, Preview, pdf_of, preview};
use super::marks::{Mark, Marks};
use super::{CutSettings, Origin, case_sheet, create_folder, outline_sheet, write_whole};
use crate::base::error::Usage;
use crate::base::plane::middle;
use crate::base::row::{Detail, Kind, Row, Section, Value};
use crate::base::units::Dimension;
use crate::base::{Error, Point, Result};
use crate::geometry::Curve;
use crate::geometry::survey::{Passage, Width};
use crate::input::drawing::Found;
use crate::study::{Coordinates, CoordinatesFrom, MeasuredOutline, Outlines};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Obstacles described one by one for reading.
const MOST_OUTLINES: usize = 50;
/// Outlines found listed for reading.
const MOST_FOUND: usize = 20;
/// Corners and passages listed for reading.
const MOST_LISTED: usize = 5;

/// The files of a survey.
#[derive(Debug, Clone, PartialEq)]
pub struct SurveyFiles {
    /// The outlines drawn.
    pub preview: PathBuf,
    /// Those for a cutter, if they were wanted.
    pub cut: Vec<PathBuf>,
    /// The marks that are drawn in them.
    pub marks: Option<Marks>,
}

impl Outlines {
    /// Writes the preview as SVG, and a sheet of [`Outlines::cut_sheet`] into a folder, which is created; returns the files for a cutter.
    ///
    /// # Errors
    /// [`Error::Failed`] if the font lacks a character, [`Error::File`] if a file cannot be written.
    pub fn write(&self, preview: &Path, cut: Option<(&Path, &CutSheet)>) -> Result<Vec<PathBuf>> {
        self.preview()?.write_svg(preview)?;
        let Some((into, sheet)) = cut else { return Ok(Vec::new()) };
        create_folder(into)?;
        let mut files: Vec<PathBuf> = sheet.write(into, &self.stem)?.iter().map(|name| into.join(name)).collect();
        if let Some(marks) = sheet.marks.as_ref().filter(|marks| !marks.list.is_empty()) {
            let path = into.join(format!("{}_marks.toml", self.stem));
            let block = marks.block(&format!("{}_cut.svg", self.stem));
            write_whole(&path, |out| out.write_all(block.as_bytes()))?;
            files.push(path);
        }
        files.extend(self.write_placing(into)?);
        Ok(files)
    }

    /// Writes the placing template of a case: `NAME_place.svg`, and `NAME_place.pdf` on sheets of A4 where some dozens do.
    fn write_placing(&self, into: &Path) -> Result<Vec<PathBuf>> {
        let Some((case, plan)) = &self.case else { return Ok(Vec::new()) };
        let name = format!("{}_place", self.stem);
        let placing = Placing {
            name: &name,
            title: &case.title,
            cell: case.cell.bounds(),
            edge: Edge::of(plan),
            obstacles: self.outlines.iter().map(|o| (o.name.clone(), chain(&o.curves))).collect(),
        };
        let origin = Origin::of(case);
        let whole = into.join(format!("{name}.svg"));
        placing.whole()?.stamped(&origin).write_svg(&whole)?;
        let mut files = vec![whole];
        let sheets: Vec<Canvas> = placing.sheets()?.into_iter().map(|sheet| sheet.stamped(&origin)).collect();
        if !sheets.is_empty() {
            let (path, bytes) = (into.join(format!("{name}.pdf")), pdf_of(&sheets)?);
            write_whole(&path, |out| out.write_all(&bytes))?;
            files.push(path);
        }
        Ok(files)
    }

    /// What is cut: of a case also the frame of the cell.
    ///
    /// # Errors
    /// [`Error::Usage`] for outlines whose size is not known, marks without a cell and marks without room, [`Error::Failed`] if a kerf
    /// leaves nothing.
    pub fn cut_sheet(&self, settings: &CutSettings) -> Result<CutSheet> {
        if self.coordinates != Coordinates::Metres {
            return Err(Error::Usage(Usage::NoSize { outline: self.stem.clone() }));
        }
        match &self.case {
            Some((case, plan)) => case_sheet(case, plan, settings),
            None if settings.marks.count.is_some_and(|count| count > 0) => {
                Err(Error::Usage(Usage::NoCell { outline: self.stem.clone() }))
            }
            None => {
                let curves: Vec<Vec<Curve>> = self.outlines.iter().map(|outline| outline.curves.clone()).collect();
                outline_sheet(&self.stem, &curves, settings)
            }
        }
    }

    /// The outlines drawn with what a cutter looks at marked.
    ///
    /// # Errors
    /// [`Error::Failed`] if the font lacks a character.
    pub fn preview(&self) -> Result<Canvas> {
        let around = self.outlines.iter().fold([[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]], |[low, high], outline| {
            let s = &outline.survey;
            [[0, 1].map(|k| low[k].min(s.low[k])), [0, 1].map(|k| high[k].max(s.high[k]))]
        });
        let cell = self.case.as_ref().map(|(case, _)| case.cell.bounds());
        let (unit, scale) = match self.coordinates {
            Coordinates::Metres => ("mm", 1e3),
            other => (other.unit(), 1.0),
        };
        let surveys: Vec<_> = self.outlines.iter().map(|outline| outline.survey.clone()).collect();
        let drawn = preview(&Preview {
            title: &self.title,
            area: cell.map_or(around, |cell| [cell.low, cell.high]),
            cell: self.case.as_ref().map(|(_, plan)| Edge::of(plan)),
            outlines: self.outlines.iter().map(|outline| chain(&outline.curves)).collect(),
            names: self.outlines.iter().map(|outline| outline.name.clone()).collect(),
            probes: self.case.iter().flat_map(|(case, _)| case.probes.iter()).map(|p| (p.name.clone(), p.at)).collect(),
            surveys: &surveys,
            passages: self.passages.iter().map(|passage| &passage.width).collect(),
            unit,
            scale,
        })?;
        Ok(match &self.case {
            Some((case, _)) => drawn.stamped(&Origin::of(case)),
            None => drawn,
        })
    }

    /// Every outline of a drawing in a line, those that are taken marked.
    fn found_section(&self) -> Section {
        let c = self.coordinates;
        let has_layers = self.found.iter().any(|found| found.layer.is_some());
        let entry = |(k, found): (usize, &Found)| {
            let [low, high] = found.bounds;
            let mut rows = vec![Row::new("id", "id", found.name.clone(), Kind::Number)];
            if has_layers {
                rows.push(Row::new("layer", "layer", found.layer.clone().unwrap_or_default(), Kind::Number));
            }
            rows.extend([
                c.row("width", "width", high[0] - low[0]),
                c.row("height", "height", high[1] - low[1]),
                c.row("at", "middle", middle(low, high)),
                Row::new("holes", "holes", found.holes, Kind::Number),
                Row::new("taken", "taken", found.is_taken, Kind::Number),
            ]);
            Section::new("", "", rows).at(if k < MOST_FOUND { Detail::Main } else { Detail::Full })
        };
        let entries: Vec<Section> = self.found.iter().enumerate().map(entry).collect();
        let title = if self.case.is_some() { "" } else { "Outlines found, the largest first" };
        Section::table("found", title, []).with(entries).noted(more(self.found.len(), MOST_FOUND, "smaller outlines"))
    }

    /// The measures as rows: lengths in m where the size is known, else in the coordinates of the file, which the keys leave open.
    pub fn sections(&self, files: &SurveyFiles) -> Vec<Section> {
        let c = self.coordinates;
        let outlines = self.outlines.iter().enumerate().map(|(k, outline)| {
            let section = outline_section(outline, c);
            if k < MOST_OUTLINES { section } else { section.at(Detail::Full) }
        });
        let outlines = Section::table("outlines", "Outlines", []).with(outlines.collect());
        let passages = self.passages.iter().enumerate().map(|(k, passage)| {
            let section = passage_section(passage, c);
            if k < MOST_LISTED { section } else { section.at(Detail::Full) }
        });
        let head =
            vec![Row::new("title", "outlines of", self.title.clone(), Kind::Number), Row::script("unit", c.unit())];
        let origin = match self.origin {
            CoordinatesFrom::Corner if self.case.is_some() => "the lower left corner of the cell",
            CoordinatesFrom::Corner => "the lower left corner of the page or picture (DXF, lists: the origin)",
            CoordinatesFrom::Upper => "the upper left corner, for the file does not tell the height of its page",
        };
        let said = format!("Places are x, y from {origin}; y points up.");
        let cut = files.cut.iter().map(|path| path.display().to_string());
        let names = std::iter::once(&files.preview).chain(&files.cut).map(|path| path.display().to_string());
        let written = Section::new("", "Files written", vec![Row::script("files", Value::texts(names.clone()))]);
        vec![
            Section::new("", "", head).noted(vec![said]),
            self.found_section(),
            outlines.noted(more(self.outlines.len(), MOST_OUTLINES, "outlines")),
            Section::table("passages", "Narrowest passages", []).with(passages.collect()),
            note_section(&self.notes),
            files.marks.as_ref().map_or(Section::new("", "", Vec::new()), marks_section),
            Section {
                cautions: if files.cut.is_empty() { Vec::new() } else { CAUTIONS.to_vec() },
                ..written.noted(cut.collect())
            },
        ]
    }
}

impl Coordinates {
    /// The name of the unit.
    pub fn unit(self) -> &'static str {
        match self {
            Coordinates::Metres => "m",
            Coordinates::Pixels => "pixels",
            Coordinates::Units => "units",
        }
    }

    fn length(self) -> Kind {
        match self {
            Coordinates::Metres => Kind::Of(Dimension::Length),
            other => Kind::Unit(other.unit(), 1.0, other.unit()),
        }
    }

    fn area(self) -> Kind {
        match self {
            Coordinates::Metres => Kind::Unit("m2", 1e-6, "mm2"),
            Coordinates::Pixels => Kind::Unit("pixels squared", 1.0, "pixels squared"),
            Coordinates::Units => Kind::Unit("units squared", 1.0, "units squared"),
        }
    }

    /// The key of a quantity, with its unit if that is known.
    fn key(self, name: &str, unit: &str) -> String {
        if self == Coordinates::Metres { format!("{name}_{unit}") } else { name.to_owned() }
    }

    fn row(self, key: &str, name: &'static str, value: impl Into<Value>) -> Row {
        Row::new(self.key(key, "m"), name, value, self.length()).digits(5)
    }
}

fn outline_section(outline: &MeasuredOutline, c: Coordinates) -> Section {
    let MeasuredOutline { name, survey, .. } = outline;
    let [width, height] = survey.size();
    let rows = vec![
        Row::new("name", "outline", name.clone(), Kind::Number),
        c.row("width", "width", width),
        c.row("height", "height", height),
        Row::new(c.key("area", "m2"), "area", survey.area, c.area()).digits(5),
        c.row("perimeter", "perimeter", survey.perimeter),
    ];
    let mut parts: Vec<Section> = Vec::new();
    parts.extend(
        survey.neck.as_ref().map(|neck| width_section("neck", format!("Thinnest neck of \"{name}\""), neck, c)),
    );
    parts.extend(survey.bend.map(|(radius, place)| {
        let title = format!("Tightest bend of \"{name}\"");
        Section::new("bend", title, vec![c.row("radius", "radius", radius), c.row("at", "at", place)])
    }));
    let corners = survey.corners.iter().enumerate().map(|(k, corner)| {
        let angle = Row::new("angle_deg", "angle of the solid", corner.angle.to_degrees(), Kind::Degrees);
        let shown = if k < MOST_LISTED { Detail::Main } else { Detail::Full };
        Section::new("", "", vec![angle, c.row("at", "at", corner.at)]).at(shown)
    });
    let title = format!("Sharpest corners of \"{name}\"");
    let corners = Section::table("corners", title, []).with(corners.collect());
    parts.push(corners.noted(more(survey.corners.len(), MOST_LISTED, "corners less sharp")));
    Section::new("", "", rows).with(parts)
}

fn marks_section(marks: &Marks) -> Section {
    let entry = |mark: &Mark| {
        let at = mark.at.map(|x| x / 1e3);
        vec![
            Row::new("name", "mark", mark.name.to_string(), Kind::Number),
            Row::new("at_m", "at", at, Kind::Of(Dimension::Length)).digits(5),
        ]
    };
    Section::table("marks", "Calibration marks to engrave", marks.list.iter().map(entry)).noted(marks.remarks())
}

fn passage_section(passage: &Passage, c: Coordinates) -> Section {
    let [one, other] = &passage.between;
    let width = width_section("passage", format!("Between {one} and {other}"), &passage.width, c);
    let between = Row::script("between", Value::texts(passage.between.iter().cloned()));
    Section::new("", "", vec![between]).with(vec![width])
}

fn width_section(key: &'static str, title: String, width: &Width, c: Coordinates) -> Section {
    let ends = Value::List(width.ends.into_iter().map(Value::from).collect());
    Section::new(key, title, vec![c.row("width", "width", width.length), c.row("ends", "from, to", ends)])
}

/// What a list for reading leaves out.
fn more(all: usize, most: usize, what: &str) -> Vec<String> {
    if all > most { vec![format!("and {} {what} more", all - most)] } else { Vec::new() }
}

/// Places along a closed chain of curves, close enough for a drawing.
fn chain(curves: &[Curve]) -> Vec<Point> {
    let steps = (4000 / curves.len().max(1)).clamp(1, 64) as u32;
    let places = |curve: &Curve| -> Vec<Point> {
        let steps = if matches!(curve, Curve::Line { .. }) { 1 } else { steps };
        (0..steps).map(|k| curve.point(f64::from(k) / f64::from(steps))).collect()
    };
    curves.iter().flat_map(places).collect()
}
