//! The comparison as sections of rows, the verdict first.

use super::{Comparison, Found, LinesFound, TracksFound, judged, of_calibration};
use crate::base::Point;
use crate::base::row::{Detail, Kind, Row, Section, Value};
use crate::base::units::Dimension;
use crate::base::warning::{self, Warning};
use crate::bench::lines::{Estimate, OfLine, Size};
use crate::bench::outlines::{self, Outline};
use crate::bench::photo::Calibration;
use crate::bench::trace::{TracedLine, Tracing};
use crate::bench::tracks::Reason;
use crate::input::case::Case;
use crate::theory::departure::Effect;

const LENGTH: Kind = Kind::Of(Dimension::Length);

impl Comparison {
    /// The report: the comparison, then the study that it was held against, then warnings of both.
    pub fn report(&self) -> Vec<Section> {
        let mut sections = self.study.unwarned();
        // the case stays first, and what was measured comes before what was computed
        let first = sections.iter().position(|section| section.key == "mesh").unwrap_or(0);
        sections.insert(first, self.section());
        sections.extend(warning::sections(&self.all_warnings()));
        sections
    }

    /// Warnings of the study and of the comparison.
    pub fn all_warnings(&self) -> Vec<Warning> {
        let mut all = self.study.warnings();
        all.extend(self.warnings.iter().cloned());
        all
    }

    fn section(&self) -> Section {
        let mut rows = vec![
            Row::new("kind", "compared", self.material.what.key(), Kind::Number),
            Row::new("file", "with", self.material.file.display().to_string(), Kind::Number),
        ];
        let mut parts = Vec::new();
        match &self.found {
            Found::Lines(found) => {
                if let Some(z) = found.as_predicted.prior_z {
                    rows.push(
                        Row::new("map_z", "the lines move the map by, of its deviations", z, Kind::Number)
                            .digits(2)
                            .means(
                                "root mean square of the amplitudes of the map's modes with every effect as predicted",
                                "",
                                "above 2 marks and lines disagree",
                            ),
                    );
                }
                parts.extend(found.parts());
            }
            Found::Tracks(found) => parts.extend(found.parts(self.study.case.cell.mean_way())),
        }
        parts.extend(self.calibration.as_ref().map(|map| calibration(map, &judged(&self.study.case), &self.outlines)));
        parts.extend(self.traced.as_ref().map(tracing));
        Section::new("compare", "Comparison with what was measured", rows).with(parts)
    }
}

fn verdict(text: &str, explained: bool, notes: Vec<String>) -> Section {
    let rows = vec![
        Row::new("text", "", text.to_owned(), Kind::Number),
        Row::new("explained", "the effects explain it", explained, Kind::Number),
    ];
    Section::new("verdict", "Verdict", rows).noted(notes)
}

impl LinesFound {
    fn parts(&self) -> Vec<Section> {
        let alike = self.verdict.alike.iter().map(|line| format!("No lines can tell: {line}."));
        let mut parts =
            vec![verdict(&self.verdict.text, self.verdict.explained, alike.collect()), self.against(), self.effects()];
        if !self.obstacles.is_empty() {
            parts.push(self.stand());
        }
        if let Some(worst) = &self.worst {
            let mut rows = vec![
                Row::new("line", "on line", number(worst.line), Kind::Number),
                Row::new("at_m", "at", worst.at, LENGTH),
                Row::new("shift_m", "shift", worst.shift, LENGTH).digits(3),
                Row::new("length_m", "over", worst.length, LENGTH).digits(2),
            ];
            if let Some((name, distance)) = &worst.near {
                rows.push(Row::new("near", "nearest obstacle", name.clone(), Kind::Number));
                rows.push(Row::new("near_m", "away from it", *distance, LENGTH).digits(3));
            }
            let worst = Section::new("worst", "Where lines stand aside the most, every effect as predicted", rows);
            let remedy =
                "If an obstacle stands elsewhere than drawn, a fit of the obstacles finds by how much.".to_owned();
            parts.push(worst.noted(if self.obstacles.is_empty() { vec![remedy] } else { Vec::new() }));
        }
        parts.push(self.by_line());
        parts.extend(self.pressure());
        parts
    }

    fn against(&self) -> Section {
        let entry = |one: &super::AgainstTheory| {
            let (shift, direction) = (&one.against.shift, &one.against.direction);
            let mut rows = vec![
                Row::new("theory", "against", one.against.theory.clone(), Kind::Number),
                Row::new("shift_rms_m", "shift, rms", shift.rms, LENGTH).digits(3),
                Row::new("shift_p95_m", "95 % below", shift.p95, LENGTH).digits(3),
                Row::new("shift_max_m", "largest", shift.largest, LENGTH).digits(3),
                Row::script("shift_max_at_m", shift.largest_at),
                Row::script("shift_sigma_m", self.fit.noise),
                degrees("direction_rms_deg", "direction, rms", direction.rms),
                degrees("direction_max_deg", "largest turn", direction.largest),
            ];
            if let Some(Size { rms, largest, .. }) = one.speed {
                rows.push(Row::new("speed_rms", "speed, rms, % of U", rms, Kind::Percent).digits(2));
                rows.push(Row::new("speed_max", "largest change", largest, Kind::Percent).digits(2));
            }
            rows
        };
        let title = "Lines against theory, nothing fitted but the level of each line";
        let mut notes = vec![format!(
            "Shifts are to the left of the flow, further than {:.1} mm from solid edges; a station of a line is known to {:.3} mm.",
            1e3 * self.band,
            1e3 * self.fit.noise
        )];
        if self.speeds.is_empty() {
            notes.push(
                "No speeds: they need needles ([streaklines] starts) of two neighbouring lines, whose flow is then known."
                    .to_owned(),
            );
        }
        Section::table("against", title, self.against.iter().map(entry)).noted(notes)
    }

    fn effects(&self) -> Section {
        let of_effects = self.fit.columns.iter().filter(|column| is_effect(&column.name));
        let entry = |estimate: &Estimate| {
            let mut rows = vec![
                Row::new("name", "effect", estimate.name.clone(), Kind::Number),
                Row::new("predicted_shift_rms_m", "predicted, rms", estimate.predicted_rms, LENGTH).digits(2),
                Row::new("amplitude", "size over the predicted", estimate.value, Kind::Number)
                    .digits(4)
                    .error(estimate.sigma),
                Row::new("amplitude_sigma", "known to", estimate.sigma, Kind::Number).digits(2).full(),
                Row::new("explained", "explains", estimate.explained, Kind::Percent).digits(3),
                Row::new("identifiable", "its own part", estimate.identifiable, Kind::Percent).digits(2),
            ];
            let like = match estimate.name.as_str() {
                "edge_layer" => Some("radius of every obstacle".to_owned()),
                _ => estimate.like.clone(),
            };
            rows.extend(like.map(|like| Row::new("like", "most like", like, Kind::Number).full()));
            rows
        };
        let title = "How much of each effect the lines show";
        let left =
            |name: &String| format!("{name} is predicted below a tenth of the noise of a station, and not looked for.");
        Section::table("effects", title, of_effects.map(entry)).noted(self.unfelt.iter().map(left).collect())
    }

    fn stand(&self) -> Section {
        let entry = |found: &crate::bench::lines::Found| {
            let [dx, dy, growth] = found.changes;
            let row = |key, name, value: f64| Row::new(key, name, value, LENGTH).digits(3);
            vec![
                Row::new("name", "obstacle", found.name.clone(), Kind::Number),
                row("dx_m", "further downstream", dx.0).error(dx.1),
                row("dx_sigma_m", "known to", dx.1).digits(2).full(),
                row("dy_m", "higher", dy.0).error(dy.1),
                row("dy_sigma_m", "known to", dy.1).digits(2).full(),
                row("growth_m", "larger all round", growth.0).error(growth.1),
                row("growth_sigma_m", "known to", growth.1).digits(2).full(),
            ]
        };
        Section::table("obstacles", "Where obstacles stand, against their drawing", self.obstacles.iter().map(entry))
    }

    fn by_line(&self) -> Section {
        let entry = |line: &OfLine| {
            vec![
                Row::new("line", "line", number(line.line), Kind::Number),
                Row::new("level", "level", line.level, LENGTH).digits(4),
                Row::new("median_m", "median", line.median, LENGTH).digits(2),
                Row::new("rms_m", "rms", line.rms, LENGTH).digits(3),
                Row::new("p95_m", "95 % below", line.p95, LENGTH).digits(3),
                Row::new("trend", "trend, m per m", line.trend, Kind::Number).digits(2).error(line.trend_sigma).full(),
            ]
        };
        let lines = self.against.first().map_or(&[][..], |ideal| &ideal.against.lines);
        Section::table("lines", "Line by line against the ideal pattern", lines.iter().map(entry)).at(Detail::Full)
    }

    fn pressure(&self) -> Option<Section> {
        let coefficients = &self.pressures.coefficients;
        let fastest = coefficients.iter().max_by(|a, b| a.speed.total_cmp(&b.speed))?;
        let drop = self.pressures.along.iter().filter_map(|line| line.last()).copied().fold(0.0, f64::min);
        let rows = vec![
            Row::new("coefficient_min", "lowest pressure coefficient", fastest.value, Kind::Number)
                .digits(3)
                .error(fastest.sigma)
                .means(
                    "1 - (|V|/U)^2 from the distance of neighbouring lines",
                    "",
                    "what the inviscid flow with these streamlines would show",
                ),
            Row::new("coefficient_min_sigma", "known to", fastest.sigma, Kind::Number).digits(2).full().means(
                "2 sqrt(2) (|V|/U)^3 sigma_n/d0 for one station",
                "",
                "",
            ),
            Row::new("coefficient_min_at_m", "at", fastest.at, LENGTH).digits(3),
            Row::new("largest_drop_pa", "largest drop along a line", drop, Kind::Pressure).digits(3).means(
                "-(12 mu/b^2) times the integral of |V| along the line",
                "",
                "errors are averaged along the line",
            ),
        ];
        Some(Section::new("pressure", "Pressure from the picture", rows))
    }
}

/// The number of a line.
fn number(line: i64) -> Value {
    u64::try_from(line).map_or_else(|_| Value::Number(line as f64), Value::Count)
}

fn is_effect(name: &str) -> bool {
    name == "taper" || Effect::ALL.iter().any(|effect| effect.key() == name)
}

fn degrees(key: &'static str, name: &'static str, angle: f64) -> Row {
    Row::new(key, name, angle.to_degrees(), Kind::Degrees).digits(2)
}

impl TracksFound {
    fn parts(&self, length: f64) -> Vec<Section> {
        let found = &self.compared;
        let speed = Kind::Of(Dimension::Speed);
        let mut rows = vec![
            Row::new("used", "tracks used", found.used(), Kind::Number),
            Row::new("rejected", "left out", found.tracks.len() - found.used(), Kind::Number),
            Row::new("heights", "heights", found.found.heights.key(), Kind::Number),
            Row::new("heights_probability", "their probability", found.found.probability, Kind::Number)
                .digits(2)
                .full(),
            Row::new("mean_speed_m_per_s", "mean speed U", found.mean_speed, speed)
                .digits(5)
                .error(found.mean_speed_sigma),
            Row::new("mean_speed_sigma_m_per_s", "known to", found.mean_speed_sigma, speed).digits(2).full(),
            Row::new("speed_over_case", "over the mean speed of the case", found.found.kappa, Kind::Number).digits(5),
            Row::new("noise_m", "noise of places", found.noise, LENGTH).digits(2),
            Row::new("shift_rms_m", "shift from ideal lines, rms, noise included", found.shift_rms, LENGTH).digits(3),
        ];
        if let Some((change, sigma)) = found.trend.gap_change(length) {
            rows.push(
                Row::new("taper_per_length", "the gap grows along the cell by", change, Kind::Percent)
                    .digits(3)
                    .error(sigma),
            );
            rows.push(Row::new("taper_sigma", "known to", sigma, Kind::Percent).digits(2).full());
        }
        let effects = self.amplitudes.iter().filter_map(|(effect, amplitude)| amplitude.map(|a| (effect, a)));
        let effects = effects.map(|(effect, amplitude)| {
            vec![
                Row::new("name", "effect", effect.key(), Kind::Number),
                Row::new("amplitude", "size over the predicted", amplitude.value, Kind::Number)
                    .digits(4)
                    .error(amplitude.sigma),
                Row::new("amplitude_sigma", "known to", amplitude.sigma, Kind::Number).digits(2).full(),
            ]
        });
        let count = |reason: Reason| found.tracks.iter().filter(|track| track.fault == Some(reason)).count();
        let reasons = Reason::ALL.into_iter().filter(|reason| count(*reason) > 0).map(|reason| {
            vec![
                Row::new("reason", "left out", reason.words(), Kind::Number),
                Row::new("tracks", "tracks", count(reason), Kind::Number),
            ]
        });
        let checks = found.found.checks;
        let by = |key, name, value: f64| Row::new(key, name, value, Kind::Number).digits(4);
        let others = vec![
            by("by_mean", "by the mean; strays move it", checks.by_mean),
            by("by_quantile", "by the 90 % quantile", checks.by_quantile),
            by("largest", "by the fastest track, an upper bound but for its noise", checks.largest),
        ];
        let known = found.found.heights != crate::bench::tracks::Heights::Unknown;
        vec![
            verdict(&self.text, known, Vec::new()),
            Section::new("tracks", "Tracks of particles", rows).with(vec![
                Section::table("effects", "How much of each effect their directions show", effects),
                Section::table("left_out", "", reasons),
                Section::new("checks", "The speed over that of the case by other ways", others).at(Detail::Full),
            ]),
        ]
    }
}

/// The map of a picture by itself: how good it is, and what to know of it.
pub fn map_sections(map: &Calibration, case: &Case, outlines: &[Outline]) -> Vec<Section> {
    let mut warnings = case.photo.as_ref().map_or_else(Vec::new, |settings| of_calibration((map, settings)));
    warnings.extend(outlines::warnings(outlines));
    let mut sections = vec![calibration(map, &judged(case), outlines)];
    sections.extend(warning::sections(&warnings));
    sections
}

fn calibration(map: &Calibration, places: &[Point], outlines: &[Outline]) -> Section {
    let fit = &map.fit;
    let [k1, k2] = fit.lens.distortion();
    let left_out = Row::new("marks_left_out", "left out", Value::texts(fit.left_out.iter().cloned()), Kind::Number);
    let mut rows = vec![
        Row::new("marks_used", "marks used", fit.used.len(), Kind::Number),
        Row { detail: if fit.left_out.is_empty() { Detail::Script } else { Detail::Main }, ..left_out },
        Row::new("mark_residual_rms_px", "distance of marks from the fit, rms", fit.residual_rms(), Kind::Pixels)
            .digits(3),
    ];
    let worst = fit.leave_one_out.iter().copied().filter(|x| x.is_finite()).fold(f64::NAN, f64::max);
    if worst.is_finite() {
        rows.push(
            Row::new("leave_one_out_max_m", "farthest mark from where the others see it", worst, LENGTH).digits(2),
        );
    }
    if let Some([rms, largest]) = map.map_sigma_over(places) {
        rows.push(Row::new("map_sigma_rms_m", "the map is good to, rms", rms, LENGTH).digits(2));
        rows.push(Row::new("map_sigma_max_m", "at its worst", largest, LENGTH).digits(2));
    }
    let steps = places.iter().filter_map(|place| map.pixel(*place)).filter_map(|pixel| map.depth_step(pixel));
    rows.extend([
        Row::new("k1", "distortion k1", k1, Kind::Number).digits(3).full(),
        Row::new("k2", "distortion k2", k2, Kind::Number).digits(3).full(),
        Row::new("distortion_centre_px", "centre of distortion", fit.lens.centre(), Kind::Pixels).digits(5).full(),
        Row::new("focal_length_px", "focal length", fit.pose.focal, Kind::Pixels).digits(4).full(),
        Row::new("tilt_deg", "tilt of the camera", fit.pose.tilt.to_degrees(), Kind::Degrees).digits(3),
        Row::new("mirrored", "mirrored", fit.lens.is_mirrored(), Kind::Number),
        Row::new("depth_step_max_m", "largest step from the marks' face to the dye", steps.fold(0.0, f64::max), LENGTH)
            .digits(3),
    ]);
    let off: Vec<f64> = places.iter().map(|place| map.other_face(*place)).collect();
    let other = off.iter().copied().fold(0.0, f64::max);
    let note = format!(
        "With the marks on the other face of the plate than the case says the map would be off by up to {:.2} mm.",
        1e3 * other
    );
    let shown = (!outlines.is_empty()).then(|| edges(outlines));
    Section::new("calibration", "The map of the picture", rows).noted(vec![note]).with(shown.into_iter().collect())
}

/// The outlines that the picture shows by itself.
fn edges(outlines: &[Outline]) -> Section {
    let entry = |outline: &Outline| {
        let mut rows = vec![
            Row::new("name", "edge", outline.name.clone(), Kind::Number),
            Row::new("seen", "places seen", outline.seen, Kind::Number),
            Row::new("places", "of", outline.places, Kind::Number),
        ];
        let Some(found) = outline.found else { return rows };
        let mut length = |key, name, (value, sigma): (f64, f64), key_sigma| {
            rows.push(Row::new(key, name, value, LENGTH).digits(3).error(sigma));
            rows.push(Row::new(key_sigma, "known to", sigma, LENGTH).digits(2).full());
        };
        length("offset_m", "further into the fluid", found.offset, "offset_sigma_m");
        if let Some([dx, dy, growth]) = found.moved {
            length("dx_m", "further downstream", dx, "dx_sigma_m");
            length("dy_m", "higher", dy, "dy_sigma_m");
            length("growth_m", "larger all round", growth, "growth_sigma_m");
        }
        rows.push(Row::new("spread_m", "spread of places", found.spread, LENGTH).digits(2).full());
        rows
    };
    let note = "A check of the map, which they do not enter. Solids fill the gap and are seen at both faces of it: half of what these stand apart \
                in the picture is part of the errors.";
    Section::table("outlines", "Edges in the picture against the case", outlines.iter().map(entry))
        .noted(vec![note.to_owned()])
}

fn tracing(traced: &Tracing) -> Section {
    let with_stations = traced.lines.iter().filter(|line| !line.places.is_empty()).count();
    let mut rows = vec![
        Row::new("lines", "lines found", with_stations, Kind::Number),
        Row::new("stations", "stations on them", traced.stations(), Kind::Number),
        Row::new("covered", "of what the picture could show", traced.covered(), Kind::Percent).digits(3),
        Row::new("pixels_per_m", "pixels for a metre", traced.pixels_per_m, Kind::Number).digits(4),
        Row::new("line_width_px", "width of lines at half their depth", traced.line_width_px(), Kind::Pixels).digits(3),
        Row::new("saturated", "saturated", traced.saturated, Kind::Percent).digits(2).full(),
    ];
    if let Some((px, m)) = traced.noise_px.zip(traced.noise_m()) {
        rows.push(Row::new("noise_px", "noise of a station", px, Kind::Pixels).digits(2));
        rows.push(Row::new("noise_m", "in the cell", m, LENGTH).digits(2));
    }
    let lean = |line: &TracedLine| {
        let mut row = vec![
            Row::new("line", "line", number(line.number), Kind::Number),
            Row::new("stations", "stations", line.places.len(), Kind::Number),
            Row::new("covered", "of what could be shown", line.covered, Kind::Percent).digits(3),
        ];
        row.extend(line.lean.map(|lean| {
            Row::new("lean", "lean to the left", lean, Kind::Number).digits(2).means(
                "third moment of the profile over the 3/2 power of the second",
                "",
                "a line that leans is known no better than a tenth of its width",
            )
        }));
        row
    };
    let by_line = Section::table("traced", "", traced.lines.iter().map(lean)).at(Detail::Full);
    Section::new("tracing", "Lines found in the picture", rows).with(vec![by_line])
}
