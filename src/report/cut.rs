//! Files for a cutter at true size: SVG and DXF in millimetres.

use super::marks::{ENGRAVING, Marks};
use super::write_whole;
use crate::base::plane;
use crate::base::plane::Segment;
use crate::base::{Point, Result};
use crate::geometry::Curve;
use crate::geometry::kerf::bulged;
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;

/// What whoever runs a laser cutter should have read.
pub const CAUTIONS: [&str; 4] = [
    "Laser cutting gives off harmful fumes: only with extraction, and only sheet whose composition is known.",
    "Never cut PVC or other chlorinated plastics: they give off hydrogen chloride, which harms people and the machine.",
    "Acrylic and other plastics burn: never leave a running cutter alone, have the extinguisher at hand.",
    "Follow the rules of your workshop; let trained staff run the machine and check size and kerf on a test piece.",
];

/// Free sheet round paths and crosses in the SVG file, mm.
const MARGIN: f64 = 5.0;
/// Least distance of the calibration crosses from the paths, mm.
const CLEAR: f64 = 5.0;
/// Half the length of the arms of a cross, mm.
const ARM: f64 = 2.5;
/// Layer of the crosses.
const CALIBRATION: &str = "calibration";
/// Width of what is engraved in the SVG file, mm: no hairline, for such lines are cut.
const ENGRAVED: f64 = 0.5;
/// Breadth of the strokes of a cross, mark sizes: thin ones are two pixels broad in a picture, and their centres known half as well.
const BROAD: f64 = 1.0 / 7.0;

/// A closed path of a tool.
#[derive(Debug, Clone, PartialEq)]
pub struct CutPath {
    /// Layer in the DXF file, id of the group in the SVG file: lower case, no blanks.
    pub layer: &'static str,
    /// The path, m, y up.
    pub curves: Vec<Curve>,
}

/// Paths to cut, with a title and remarks that stand in the files.
#[derive(Debug, Clone, PartialEq)]
pub struct CutSheet {
    /// What it is.
    pub title: String,
    /// What was done to it: kerf, frame, ports.
    pub remarks: Vec<String>,
    /// The paths; those of one layer stand together.
    pub paths: Vec<CutPath>,
    /// Calibration marks of a plate, if they are wanted.
    pub marks: Option<Marks>,
}

impl CutSheet {
    /// Left lower and right upper of the four calibration crosses, mm: round the paths, a round number of centimetres apart.
    pub fn crosses(&self) -> [Point; 2] {
        let [low, high] = self.bounds();
        let apart = [0, 1].map(|k| 10.0 * ((high[k] - low[k] + 2.0 * CLEAR) / 10.0).ceil());
        let first = [0, 1].map(|k| (0.5 * (low[k] + high[k] - apart[k])).floor());
        [first, [first[0] + apart[0], first[1] + apart[1]]]
    }

    /// The lines of the crosses, mm.
    fn cross_lines(&self) -> Vec<Segment> {
        let [low, high] = self.crosses();
        let places = [low, [high[0], low[1]], [low[0], high[1]], high];
        places.into_iter().flat_map(|[x, y]| [[[x - ARM, y], [x + ARM, y]], [[x, y - ARM], [x, y + ARM]]]).collect()
    }

    /// Least and largest x and y, mm.
    fn bounds(&self) -> [Point; 2] {
        let points = self
            .paths
            .iter()
            .flat_map(|path| &path.curves)
            .flat_map(|c| (0..=16).map(|k| c.point(f64::from(k) / 16.0)));
        points.fold([[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]], |[low, high], p| {
            let p = p.map(|v| 1e3 * v);
            [[0, 1].map(|k| low[k].min(p[k])), [0, 1].map(|k| high[k].max(p[k]))]
        })
    }

    fn comments(&self) -> Vec<String> {
        let mut lines = vec![format!("{}. True to size, in millimetres.", self.title)];
        lines.extend(self.remarks.iter().cloned());
        let [low, high] = self.crosses();
        lines.push(format!(
            "Four crosses (layer {CALIBRATION}, not to be cut) are {} mm apart along x and {} mm along y: measure them.",
            high[0] - low[0],
            high[1] - low[1]
        ));
        if let Some(marks) = &self.marks {
            lines.extend(marks.remarks());
            lines.extend(Some(marks.places()).filter(|places| !places.is_empty()));
        }
        lines.extend(CAUTIONS.map(str::to_owned));
        lines
    }

    /// The sheet as SVG, sizes in mm, hairlines; lines and arcs exact, cubics as they are, sections as arcs within half a micrometre.
    pub fn svg(&self) -> String {
        let [low, high] = self.crosses();
        let (left, top) = ((low[0] - MARGIN).floor(), (high[1] + MARGIN).ceil());
        let (width, height) = ((high[0] + MARGIN).ceil() - left, top - (low[1] - MARGIN).floor());
        let mut text = String::new();
        // Two hyphens would end the comment.
        let plain = |line: &str| line.replace("--", "- -").replace(|c: char| c.is_control(), " ");
        let _ = writeln!(text, "<!--");
        for line in self.comments() {
            let _ = writeln!(text, "{}", plain(&line));
        }
        let _ = writeln!(text, "-->");
        let _ = writeln!(
            text,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\">"
        );
        let mut open = "";
        for path in &self.paths {
            if path.layer != open {
                if !open.is_empty() {
                    text += "</g>\n";
                }
                open = path.layer;
                let _ = writeln!(text, "<g id=\"{open}\" fill=\"none\" stroke=\"#ff0000\" stroke-width=\"0.1\">");
            }
            let _ =
                writeln!(text, "<path d=\"{}\"/>", path_data(&path.curves, &|p| [1e3 * p[0] - left, top - 1e3 * p[1]]));
        }
        if !open.is_empty() {
            text += "</g>\n";
        }
        let lines = |text: &mut String, lines: &[Segment]| {
            for line in lines {
                let [[ax, ay], [bx, by]] = line.map(|[x, y]| [x - left, top - y]);
                let _ = writeln!(text, "<line x1=\"{ax}\" y1=\"{ay}\" x2=\"{bx}\" y2=\"{by}\"/>");
            }
        };
        if let Some(marks) = self.engraved() {
            let _ =
                writeln!(text, "<g id=\"{ENGRAVING}\" fill=\"none\" stroke=\"#000000\" stroke-width=\"{ENGRAVED}\">");
            lines(&mut text, &marks.letters());
            for [x, y] in marks.dots() {
                let (x, y, r) = (x - left, top - y, 0.5 * marks.size);
                let _ = writeln!(text, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"#000000\" stroke=\"none\"/>");
            }
            let crosses = marks.crosses();
            if !crosses.is_empty() {
                let broad = BROAD * marks.size;
                let _ = writeln!(text, "<g stroke-width=\"{broad}\">");
                lines(&mut text, &crosses);
                text += "</g>\n";
            }
            text += "</g>\n";
        }
        let _ = writeln!(text, "<g id=\"{CALIBRATION}\" fill=\"none\" stroke=\"#0000ff\" stroke-width=\"0.1\">");
        lines(&mut text, &self.cross_lines());
        text + "</g>\n</svg>\n"
    }

    /// The sheet as DXF, release 12 in text form, millimetres: closed polylines whose arcs are bulges; curves that are no circles keep
    /// within half a micrometre.
    pub fn dxf(&self) -> String {
        let mut text = String::new();
        let mut pair = |code: i32, value: &str| {
            let _ = write!(text, "{code:>3}\n{value}\n");
        };
        for line in self.comments() {
            pair(999, &line.replace(|c: char| c.is_control() || !c.is_ascii(), " "));
        }
        let [low, high] = self.crosses();
        for (code, value) in
            [(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009"), (9, "$INSUNITS"), (70, "4")]
        {
            pair(code, value);
        }
        for (name, [x, y]) in [("$EXTMIN", low), ("$EXTMAX", high)] {
            pair(9, name);
            pair(10, &format!("{x}"));
            pair(20, &format!("{y}"));
        }
        for (code, value) in [(0, "ENDSEC"), (0, "SECTION"), (2, "TABLES"), (0, "TABLE"), (2, "LAYER")] {
            pair(code, value);
        }
        let mut layers: Vec<&str> = self.paths.iter().map(|path| path.layer).collect();
        layers.dedup();
        layers.extend(self.engraved().map(|_| ENGRAVING));
        layers.push(CALIBRATION);
        pair(70, &layers.len().to_string());
        for (k, layer) in layers.iter().enumerate() {
            for (code, value) in [(0, "LAYER"), (2, layer), (70, "0"), (62, &(k + 1).to_string()), (6, "CONTINUOUS")] {
                pair(code, value);
            }
        }
        for (code, value) in [(0, "ENDTAB"), (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")] {
            pair(code, value);
        }
        for path in &self.paths {
            for (code, value) in
                [(0, "POLYLINE"), (8, path.layer), (66, "1"), (70, "1"), (10, "0"), (20, "0"), (30, "0")]
            {
                pair(code, value);
            }
            for vertex in bulged(&path.curves) {
                pair(0, "VERTEX");
                pair(8, path.layer);
                pair(10, &format!("{}", 1e3 * vertex.at[0]));
                pair(20, &format!("{}", 1e3 * vertex.at[1]));
                pair(30, "0");
                if vertex.bulge != 0.0 {
                    pair(42, &format!("{}", vertex.bulge));
                }
            }
            pair(0, "SEQEND");
            pair(8, path.layer);
        }
        let engraved = self.engraved().map(|marks| [marks.crosses(), marks.letters()].concat()).unwrap_or_default();
        let engraved = engraved.into_iter().map(|line| (ENGRAVING, line));
        for (layer, line) in engraved.chain(self.cross_lines().into_iter().map(|line| (CALIBRATION, line))) {
            pair(0, "LINE");
            pair(8, layer);
            for (end, [x, y]) in line.iter().enumerate() {
                pair(10 + end as i32, &format!("{x}"));
                pair(20 + end as i32, &format!("{y}"));
                pair(30 + end as i32, "0");
            }
        }
        if let Some(marks) = self.engraved() {
            for [x, y] in marks.dots() {
                for (code, value) in [(0, "CIRCLE"), (8, ENGRAVING), (30, "0")] {
                    pair(code, value);
                }
                for (code, value) in [(10, x), (20, y), (40, 0.5 * marks.size)] {
                    pair(code, &format!("{value}"));
                }
            }
        }
        pair(0, "ENDSEC");
        pair(0, "EOF");
        text
    }

    /// Marks where there are some.
    fn engraved(&self) -> Option<&Marks> {
        self.marks.as_ref().filter(|marks| !marks.list.is_empty())
    }

    /// Writes `NAME_cut.svg` and `NAME_cut.dxf` into a folder and returns their names.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if a file cannot be written.
    pub fn write(&self, folder: &Path, name: &str) -> Result<Vec<String>> {
        let files = [(format!("{name}_cut.svg"), self.svg()), (format!("{name}_cut.dxf"), self.dxf())];
        for (file, text) in &files {
            write_whole(&folder.join(file), |out| out.write_all(text.as_bytes()))?;
        }
        Ok(files.into_iter().map(|(file, _)| file).collect())
    }
}

/// Path data of a closed chain; `place` maps metres to the drawing and turns y round.
fn path_data(curves: &[Curve], place: &dyn Fn(Point) -> Point) -> String {
    let mut data = String::new();
    let put = |data: &mut String, p: Point| {
        let [x, y] = place(p);
        let _ = write!(data, " {x} {y}");
    };
    for (k, curve) in curves.iter().enumerate() {
        if k == 0 {
            data.push('M');
            put(&mut data, curve.point(0.0));
        }
        // The last end is the first start, which z goes back to.
        let last = k + 1 == curves.len();
        match curve {
            Curve::Line { .. } if last => {}
            Curve::Line { to, .. } => {
                data.push('L');
                put(&mut data, *to);
            }
            Curve::Arc { semi_axes, rotation, start, end, .. } => {
                let parts = ((end - start).abs() / 3.0).ceil().max(1.0) as u32;
                let [a, b] = semi_axes.map(|v| 1e3 * v);
                // Mirrored with y: turned the other way, and swept clockwise as seen on the page.
                let (angle, sweep) = (-rotation.to_degrees(), u8::from(end < start));
                for part in 1..=parts {
                    let _ = write!(data, "A {a} {b} {angle} 0 {sweep}");
                    put(&mut data, curve.point(f64::from(part) / f64::from(parts)));
                }
            }
            Curve::Cubic { coefficients: [a, b, c, d] } => {
                data.push('C');
                put(&mut data, [0, 1].map(|k| a[k] + b[k] / 3.0));
                put(&mut data, [0, 1].map(|k| a[k] + (2.0 * b[k] + c[k]) / 3.0));
                put(&mut data, [0, 1].map(|k| a[k] + b[k] + c[k] + d[k]));
            }
            other => {
                let vertices = bulged(std::slice::from_ref(other));
                let ends = vertices.iter().skip(1).map(|v| v.at).chain([other.point(1.0)]);
                for (vertex, to) in vertices.iter().zip(ends) {
                    let chord = 1e3 * plane::distance(vertex.at, to);
                    if vertex.bulge.abs() < 1e-9 {
                        data.push('L');
                    } else {
                        let radius = 0.25 * chord * (1.0 / vertex.bulge + vertex.bulge).abs();
                        let _ = write!(data, "A {radius} {radius} 0 0 {}", u8::from(vertex.bulge < 0.0));
                    }
                    put(&mut data, to);
                }
            }
        }
        if k + 1 < curves.len() {
            data.push(' ');
        }
    }
    data + "z"
}
