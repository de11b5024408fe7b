//! The rows of uncertainties, and which tolerance to tighten first.

use super::{Known, LINEAR, Method, Uncertainties};
use crate::base::row::{Detail, Kind, Row, Section};
use crate::base::text::in_words;
use crate::base::units::{Dimension, significant};
use crate::input::campaign::{Uncertain, shown};
use crate::study::program;

/// Part of a value below which an uncertainty is rounding.
const ROUNDING: f64 = 1e-9;
/// Most numbers that advice is given for.
const MOST_ADVISED: usize = 5;
/// Share of the variance that a sample's polynomial may leave before that is told.
const LEFT: f64 = 0.05;

impl Known {
    /// Whether the tolerances change it at all.
    pub fn varies(&self) -> bool {
        self.standard > ROUNDING * self.value.abs() && self.standard > 0.0
    }

    /// Standard uncertainty over the value; none of a value that is zero within it.
    pub fn relative(&self) -> Option<f64> {
        (self.standard < self.value.abs()).then(|| self.standard / self.value.abs())
    }

    /// The value with the largest share in its variance.
    pub fn largest(&self) -> Option<usize> {
        (0..self.total.len()).max_by(|&a, &b| self.total[a].total_cmp(&self.total[b]))
    }
}

impl Uncertainties {
    /// The numbers that matter most and that the tolerances change.
    pub fn main(&self) -> impl Iterator<Item = &Known> {
        self.rows.iter().filter(|row| row.is_main && row.varies())
    }

    /// What is printed and written.
    pub fn sections(&self) -> Vec<Section> {
        let (method, points) = match self.method {
            Method::Differences => ("differences", 0),
            Method::Sample(points) => ("sample", points),
        };
        let how = vec![
            Row::new("title", "case", self.case.title.clone(), Kind::Number),
            Row::script("combined_sha256", self.case.combined_sha256()),
            Row::new("method", "found by", method, Kind::Number).means(
                "differences over one standard uncertainty on both sides; where their curvature is above a tenth of the uncertainty, a \
                 sample of low discrepancy with the indices of a polynomial of the second degree",
                "JCGM 100:2008, 5.1.2; Sudret 2008",
                "independent tolerances",
            ),
            Row::new("points", "points of the sample", points, Kind::Number).full(),
            Row::new("runs", "runs", self.runs, Kind::Number),
            Row::new("triangles", "triangles of each", self.triangles, Kind::Number).full(),
        ];
        let inputs = self.inputs.iter().map(input_rows);
        let mut rows = Section::table(
            "rows",
            "The report, with one standard uncertainty",
            self.rows.iter().map(|row| self.row_of(row)),
        );
        for (part, row) in rows.parts.iter_mut().zip(&self.rows) {
            part.detail = if row.is_main && row.varies() { Detail::Main } else { Detail::Script };
        }
        vec![
            program(),
            Section::new("uncertainty", "Uncertainty", how).noted(self.advice()),
            Section::table("inputs", "Known within", inputs),
            rows,
        ]
    }

    fn row_of(&self, row: &Known) -> Vec<Row> {
        let number = |key: &'static str, name: &'static str, x: f64| Row::new(key, name, x, Kind::Number);
        let mut list = vec![
            Row::script("path", row.path.clone()),
            Row::new("words", "row", in_words(&row.path), Kind::Number),
            Row::new("unit", "unit", if row.unit.is_empty() { "1" } else { row.unit }, Kind::Number),
            number("value", "value", row.value),
            number("standard_uncertainty", "+-", row.standard).digits(2),
            number("low_95", "95 % from", row.interval[0]).full(),
            number("high_95", "to", row.interval[1]).full(),
        ];
        list.extend(row.numerical.map(|error| number("numerical_error", "numerical error", error).digits(2).full()));
        if let Some(k) = row.largest().filter(|_| row.varies()) {
            list.push(Row::new("largest_share_of", "most by", self.inputs[k].key.typed.clone(), Kind::Number));
            list.push(Row::new("largest_share", "share", row.total[k], Kind::Percent).digits(2));
        }
        for (k, input) in self.inputs.iter().enumerate() {
            list.push(Row::script(format!("first_order.{}", input.key.typed), row.first[k]));
            list.push(Row::script(format!("total.{}", input.key.typed), row.total[k]));
        }
        list.push(Row::script("curvature", row.curved));
        list.push(Row::script("left_by_polynomial", row.left));
        list
    }

    /// Which tolerance to tighten first, and what that brings.
    pub fn advice(&self) -> Vec<String> {
        let mut main: Vec<&Known> = self.main().filter(|row| row.relative().is_some()).collect();
        main.sort_by(|a, b| b.relative().unwrap_or(0.0).total_cmp(&a.relative().unwrap_or(0.0)));
        let mut advice = Vec::new();
        let weight = |k: usize| main.iter().map(|row| row.total[k] * row.relative().unwrap_or(0.0)).sum::<f64>();
        let first = (0..self.inputs.len()).max_by(|&a, &b| weight(a).total_cmp(&weight(b)));
        if let Some(k) = first.filter(|_| !main.is_empty()) {
            advice.push(format!(
                "Tighten {} first: over the rows below it has the largest share.",
                self.inputs[k].key.typed
            ));
        }
        for row in main.iter().take(MOST_ADVISED) {
            let (Some(k), Some(relative)) = (row.largest(), row.relative()) else { continue };
            // what varies with the value alone and with others falls with the square of its tolerance
            let halved = relative * (1.0 - 0.75 * row.total[k]).max(0.0).sqrt();
            let percent = |x: f64| significant(100.0 * x, 2);
            advice.push(format!(
                "{}: +- {} %, {} % of its variance by {}; half that tolerance would make it +- {} %.",
                in_words(&row.path),
                percent(relative),
                percent(row.total[k]),
                self.inputs[k].key.typed,
                percent(halved)
            ));
        }
        let mut tell = |what: &str, is_so: &dyn Fn(&Known) -> bool| {
            let names: Vec<String> = self.main().filter(|row| is_so(row)).map(|row| in_words(&row.path)).collect();
            if let Some(first) = names.first() {
                let more = if names.len() > 1 { format!(" and {} more", names.len() - 1) } else { String::new() };
                advice.push(format!("{what}: {first}{more}."));
            }
        };
        let by_differences = self.method == Method::Differences;
        tell("Curved by less than the numerical error, so that differences tell it", &|row| {
            by_differences && row.curved > LINEAR
        });
        tell("The polynomial leaves more than a twentieth of the variance, so that shares hold no better", &|row| {
            row.left > LEFT
        });
        tell("Uncertain by less than the numerical error, so that shares may be those of the mesh", &|row| {
            row.numerical.is_some_and(|error| error > row.standard)
        });
        advice
    }
}

fn input_rows(input: &Uncertain) -> Vec<Row> {
    let plain = |x: f64| if input.dimension == Dimension::Angle { x.to_degrees() } else { x };
    let unit = if input.dimension == Dimension::Angle { "deg" } else { input.dimension.plain_unit() };
    vec![
        Row::new("key", "key", input.key.typed.clone(), Kind::Number),
        Row::new("stated", "stated", input.dimension.show(input.nominal), Kind::Number),
        Row::new("within", "within", shown(input.dimension, input.tolerance), Kind::Number),
        Row::new("spread", "spread", input.spread.word(), Kind::Number),
        Row::script("value", plain(input.nominal)),
        Row::script("standard_uncertainty", plain(input.standard())),
        Row::script("unit", if unit.is_empty() { "1" } else { unit }),
    ]
}
