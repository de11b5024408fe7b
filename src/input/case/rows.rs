//! What was asked, as rows of a report.

use super::{Case, CellShape, EndMark, EndRole, Fluid, InputFile, Reynolds};
use crate::base::Point;
use crate::base::row::{Detail, Kind, Row, Section, Value};
use crate::base::units::Dimension;

/// Source of what follows from definitions alone.
const BATCHELOR: &str = "Batchelor 1967, sec. 4.8";

impl Case {
    /// Title, file and hash; the cell; the fluid. `gap` is the one at the middle of the cell, m.
    pub fn sections(&self, gap: f64) -> Vec<Section> {
        let length = Kind::Of(Dimension::Length);
        let own = vec![
            Row::new("title", "title", self.title.clone(), Kind::Number),
            Row::new("file", "case file", self.file.display().to_string(), Kind::Number),
            Row::new("sha256", "SHA-256 of its text", self.sha256.clone(), Kind::Number),
            Row::new("combined_sha256", "SHA-256 with its files", self.combined_sha256(), Kind::Number),
        ];
        let input = |input: &InputFile| {
            vec![
                Row::new("file", "file", input.file.display().to_string(), Kind::Number),
                Row::new("sha256", "SHA-256", input.sha256.clone(), Kind::Number),
            ]
        };
        let inputs = Section::table("inputs", "Files it reads", self.inputs.iter().map(input)).at(Detail::Full);
        let mut cell = match &self.cell.shape {
            CellShape::Rectangle { length: along, width } => vec![
                Row::new("length_m", "length along the flow", *along, length),
                Row::new("width_m", "width", *width, length),
            ],
            other => {
                let [along, across] = self.cell.size();
                vec![
                    Row::new("shape", "shape", other.name(), Kind::Number),
                    Row::new("length_m", "largest extent along x", along, length),
                    Row::new("width_m", "largest extent along y", across, length),
                    Row::new("inlet_width_m", "width of the inlet", other.inlet_width(), length),
                    Row::new("outlet_width_m", "width of the outlet", other.outlet_width(), length),
                ]
                .into_iter()
                .chain((!matches!(other, CellShape::Outlined(_))).then(|| {
                    Row::new("squares", "squares of the empty cell", other.squares(), Kind::Number).means(
                        "the integral of ds over the width along the cell, one-dimensional; a right-angled corner counts 0.5587",
                        "Schwarz-Christoffel for the corner",
                        "slowly changing widths; a step adds up to a square or so",
                    )
                }))
                .collect()
            }
        };
        cell.push(Row::new("gap_m", "gap at the middle", gap, length));
        vec![
            Section::new("case", "Case", own).with(vec![inputs]),
            Section::new("cell", "Cell", cell).with(self.ends_section().into_iter().collect()),
            self.fluid.section(),
        ]
    }
}

impl Case {
    /// The ends marked on the outline of the cell, with the walls that are closed ones.
    fn ends_section(&self) -> Option<Section> {
        let CellShape::Outlined(cell) = &self.cell.shape else { return None };
        let row = |end: &EndMark| {
            let place = |key: &'static str, name: &'static str, at: Point| {
                Row::new(key, name, Value::from(at), Kind::Of(Dimension::Length))
            };
            let role = match end.role {
                Some(EndRole::Inlet) => "inlet",
                Some(EndRole::Outlet) => "outlet",
                None => "closed",
            };
            vec![
                Row::new("name", "end", end.name.clone(), Kind::Number),
                Row::new("role", "role", role, Kind::Number),
                place("from_m", "from", end.from),
                place("to_m", "to", end.to),
            ]
        };
        Some(Section::table("ends", "Ends, counter-clockwise along the outline", cell.ends.iter().map(row)))
    }
}

impl Fluid {
    /// Name, density and viscosity.
    pub fn section(&self) -> Section {
        let rows = vec![
            Row::new("name", "fluid", self.name.clone(), Kind::Number),
            Row::new("density_kg_per_m3", "density", self.density, Kind::Of(Dimension::Density)).digits(5),
            Row::new("viscosity_pa_s", "viscosity", self.viscosity, Kind::Of(Dimension::Viscosity)).digits(5),
        ];
        Section::new("fluid", "Fluid", rows)
    }
}

impl Reynolds {
    /// The three numbers and the length two of them use.
    pub fn section(&self) -> Section {
        let below = if self.reduced.abs() < 1.0 {
            "Re* = Re_b b/L, inertia between the plates against friction: the one that must be below one for the ideal pattern. It is here, \
             and the departure it causes grows in proportion to it"
        } else {
            "Re* = Re_b b/L, inertia between the plates against friction: the one that must be below one for the ideal pattern. It is NOT \
             here: expect another pattern, and read first-order corrections as a sign, not a measure"
        };
        let rows = vec![
            Row::new("obstacle", "obstacle Reynolds number", self.obstacle, Kind::Number).means(
                "Re_L = U L/nu, what the obstacle would see in an open stream; between plates it sets no limit: the pattern can be the \
                 ideal one at values of ten or a hundred",
                BATCHELOR,
                "any",
            ),
            Row::new("gap", "gap Reynolds number", self.gap, Kind::Number).means(
                "Re_b = U b/nu, how soon behind the inlet the parabolic profile has formed",
                BATCHELOR,
                "laminar far below a thousand",
            ),
            Row::new("reduced", "reduced Reynolds number", self.reduced, Kind::Number).means(
                below,
                BATCHELOR,
                "first order quantitative up to some 0.3",
            ),
            Row::new("reference_length_m", "reference length L", self.reference_length, Kind::Of(Dimension::Length)).means(
                "the one the case states, else the largest extent of an obstacle across the flow, else the width",
                "definition",
                "any",
            ),
        ];
        Section::new("reynolds", "Reynolds numbers (three different ones; say which one you quote)", rows)
    }
}
