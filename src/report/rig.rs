//! The design sheet as text and JSON, and its files.

use super::{FigureSettings, write_figures};
use crate::base::Result;
use crate::base::row::Detail;
use crate::base::units::{Dimension, significant};
use crate::report::Folder;
use crate::report::figure::feasible;
use crate::report::report::{Report, pretty, records};
use crate::report::sheet;
use crate::report::text::{paragraph, warnings};
use crate::study::{Rig, Study};
use crate::theory::rig::{Judge, Limit, NARROWEST, Ratios, WIDEST};
use serde_json::{Map, Value, json};
use std::fmt::Write as _;
use std::io::Write as _;

const TOLERANCE_CAUTION: &str = "Spacers and outlines cut by laser: acrylic fumes are harmful and burn, chlorinated plastics (PVC) must \
    not be laser-cut at all; the cut is some 0.18 to 0.25 mm wide in acrylic (common practice). Follow the rules of the workshop and let \
    trained staff do it.";

impl Study {
    /// The sheet as a report for scripts: program, case, Reynolds numbers, shape factor, `rig`, warnings.
    pub fn rig_report(&self, rig: &Rig) -> Map<String, Value> {
        let Report { program, case, cell, fluid, shape_factor, .. } = self.report();
        let re = rig.state.reynolds();
        let mut map = Map::new();
        map.insert("program".into(), json!(program));
        map.insert("case".into(), json!(case));
        map.insert("cell".into(), json!(cell));
        map.insert("fluid".into(), json!(fluid));
        map.insert(
            "reynolds".into(),
            json!({
                "obstacle": re.obstacle, "gap": re.gap, "reduced": re.reduced, "reference_length_m": re.reference_length,
            }),
        );
        map.insert("shape_factor".into(), json!(shape_factor));
        map.insert("rig".into(), Value::Object(rig.keys()));
        let warnings = records(&self.warnings(), serde_json::value::Serializer).unwrap_or_default();
        map.insert("warnings".into(), warnings);
        map
    }

    /// Writes `rig.json`, `rig.txt` and the feasibility maps as `figures/feasible*`, and returns the text of both.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if a file cannot be written, [`crate::base::Error::Failed`] if a number is not finite.
    pub fn write_rig(&self, rig: &Rig, mut folder: Folder, drawing: &FigureSettings) -> Result<[String; 2]> {
        let json = pretty(&Value::Object(self.rig_report(rig)))?;
        let text = self.rig_text(rig);
        let here = [rig.state.gap, rig.state.speed];
        let maps = rig.maps.iter().zip(["feasible", "feasible_by_rms"]);
        let drawn = maps.map(|(map, name)| feasible(name, map, here, drawing.style)).collect::<Result<Vec<_>>>()?;
        write_figures(&drawn, &mut folder, drawing)?;
        folder.write("rig.txt", |out| out.write_all(text.as_bytes()))?;
        folder.write("rig.json", |out| out.write_all(json.as_bytes()))?;
        folder.finish()?;
        Ok([json, text])
    }

    /// The sheet for reading.
    pub fn rig_text(&self, rig: &Rig) -> String {
        let mut out = format!("Design sheet of the cell: {}\n", rig.sheet.title);
        let state = &rig.state;
        let show = |length: f64| Dimension::Length.show(length);
        let about = format!(
            "case {}; cell {} x {}, gap {}; {}; reference length {}",
            self.case.file.display(),
            show(state.length),
            show(state.width),
            show(state.gap),
            state.fluid.name,
            show(state.obstacle)
        );
        paragraph(&mut out, "  ", 4, &about);
        let shape = &self.pattern.shape_factor;
        let known = format!(
            "shape factor S = {}, guaranteed from {} to {} on the polygon of the mesh, edge layer apart",
            significant(shape.value, 6),
            significant(shape.lower, 6),
            significant(shape.upper, 6)
        );
        paragraph(&mut out, "  ", 4, &known);
        sheet::sheet(&mut out, &rig.sheet);
        let _ = writeln!(out, "\nWhat tolerances do, ranked by their share of the departure tolerances");
        sheet::effects(&mut out, &rig.effects);
        paragraph(
            &mut out,
            "  - ",
            4,
            "Flow at a given head; speed of U, largest; share: the largest of speed, direction and shift over its tolerance. Only what changes the pattern bends streamlines; the rest scales all speeds alike and drops out of ratios to the measured mean.",
        );
        paragraph(&mut out, "  CAUTION: ", 4, TOLERANCE_CAUTION);
        self.limits_text(rig, &mut out);
        warnings(&mut out, &self.warnings(), Detail::Main);
        out
    }

    fn limits_text(&self, rig: &Rig, out: &mut String) {
        let _ = writeln!(out, "\nHow fast, how thick: every departure below its tolerance, confinement aside");
        paragraph(
            out,
            "  ",
            2,
            &format!(
                "Tolerances: speed {} % of U, direction {} deg, shift {} mm. Departures of first order in Re* and b/L, scaled from one solve \
                 (edge layer as b, inertia as U b^2/nu and U b^3/nu); {}.",
                significant(100.0 * state_of(rig).speed, 3),
                significant(state_of(rig).direction.to_degrees(), 3),
                significant(1e3 * state_of(rig).shift, 3),
                match rig.band_in_gaps(self) {
                    Some(gaps) => format!("observed further than {gaps} gaps from solid edges, at every gap its own"),
                    None => format!(
                        "observed beyond the edge band of the case, {} mm, which is kept: for gaps above a third of it first order is not \
                         valid next to the band",
                        significant(1e3 * self.case.edge_band.unwrap_or(0.0), 3)
                    ),
                }
            ),
        );
        let ratio = |ratios: &Ratios| {
            let list = ratios.all.iter().map(|(limit, x)| format!("{} {}", limit.key(), significant(*x, 2)));
            list.collect::<Vec<_>>().join(", ")
        };
        if let Some([largest, rms]) = &rig.now {
            paragraph(out, "  this cell over its limits, largest: ", 4, &ratio(largest));
            paragraph(out, "  this cell over its limits, root mean square: ", 4, &ratio(rms));
        }
        let speeds = rig.largest_speed.map(|x| x.map_or("none".to_owned(), |x| short(Dimension::Speed, x)));
        let gaps = rig.thickest_gap.map(|x| match x {
            Some(gap) if gap > 0.999 * WIDEST * rig.state.gap => format!("more than {}", short(Dimension::Length, gap)),
            Some(gap) => short(Dimension::Length, gap),
            None => format!("none down to {}", short(Dimension::Length, NARROWEST * rig.state.gap)),
        });
        let _ = writeln!(out, "  largest mean speed at this gap:   {} (by root mean square {})", speeds[0], speeds[1]);
        let _ = writeln!(out, "  thickest gap at this speed:       {} (by root mean square {})", gaps[0], gaps[1]);
        let _ = writeln!(
            out,
            "  lowest speed for dye lines apart: {}",
            short(Dimension::Speed, rig.maps[0].slowest_for_dye)
        );
        for map in &rig.maps {
            let judge = match map.judge {
                Judge::Largest => "largest departures",
                Judge::MeanSquare => "root mean square departures",
            };
            let _ = writeln!(out, "\n  Which limit binds where, by {judge} (gap across, mean speed up; + all within)");
            map_text(map, out);
        }
        let _ = writeln!(out, "\nWhat to change, the easiest first");
        for (k, suggestion) in rig.suggestions.iter().enumerate() {
            paragraph(out, &format!("  {}. ", k + 1), 5, suggestion);
        }
    }
}

fn state_of(rig: &Rig) -> &crate::input::case::Tolerance {
    &rig.state.tolerance
}

/// Three digits in a convenient unit.
fn short(dimension: Dimension, value: f64) -> String {
    let rounded = format!("{value:.2e}").parse().unwrap_or(value);
    dimension.show(rounded)
}

/// The map in letters, every second row.
fn map_text(map: &crate::theory::rig::Map, out: &mut String) {
    for (k, speed) in map.speeds.iter().enumerate().rev().step_by(2) {
        let row: String = map.cells.iter().map(|column| format!("{} ", column.get(k).map_or(' ', letter))).collect();
        let _ = writeln!(out, "  {:>14} {}", short(Dimension::Speed, *speed), row.trim_end());
    }
    let ends =
        [map.gaps.first(), map.gaps.last()].map(|gap| gap.map_or(String::new(), |g| short(Dimension::Length, *g)));
    let _ = writeln!(out, "  {:>14} {:<42}{:>6}", "gap:", ends[0], ends[1]);
    let legend = "s speed, a direction (angle), m shift of lines, d dye lines merge, t not laminar; capitals: beyond first order in \
                  Re*, a sign only";
    paragraph(out, "  ", 2, legend);
}

/// The letter of a cell of the map; a capital beyond first order, where the numbers are a sign only.
fn letter(cell: &Option<Ratios>) -> char {
    let Some(ratios) = cell else { return ' ' };
    let (limit, ratio) = ratios.binding();
    let letter = match limit {
        _ if ratio <= 1.0 => '+',
        Limit::Speed => 's',
        Limit::Direction => 'a',
        Limit::Shift => 'm',
        Limit::FirstOrder => 'r',
        Limit::Laminar => 't',
        Limit::Dye => 'd',
    };
    if ratios.of(Limit::FirstOrder) > 1.0 { letter.to_ascii_uppercase() } else { letter }
}

/// A map for scripts: by gap, by speed.
fn map_keys(map: &crate::theory::rig::Map) -> Value {
    let cells = |of: &dyn Fn(&Ratios) -> Value| -> Value {
        let column =
            |c: &Vec<Option<Ratios>>| c.iter().map(|x| x.as_ref().map_or(json!("none"), of)).collect::<Vec<_>>();
        json!(map.cells.iter().map(column).collect::<Vec<_>>())
    };
    json!({
        "gaps_m": map.gaps,
        "mean_speeds_m_per_s": map.speeds,
        "binding": cells(&|ratios| json!(ratios.binding().0.key())),
        "first_order": cells(&|ratios| json!(ratios.of(Limit::FirstOrder) <= 1.0)),
        "over_limit": cells(&|ratios| json!(ratios.binding().1)),
        "slowest_for_dye_m_per_s": map.slowest_for_dye,
    })
}

impl Rig {
    /// The content of the key `rig`.
    fn keys(&self) -> Map<String, Value> {
        let mut map = interim(&self.sheet);
        map.insert("tolerances".into(), Value::Array(self.effects.iter().map(|effect| effect.keys()).collect()));
        let mut limits = Map::new();
        let names = ["", "_by_rms"];
        for (k, suffix) in names.iter().enumerate() {
            if let Some(speed) = self.largest_speed[k] {
                limits.insert(format!("largest_speed{suffix}_m_per_s"), json!(speed));
            }
            if let Some(gap) = self.thickest_gap[k] {
                limits.insert(format!("thickest_gap{suffix}_m"), json!(gap));
            }
        }
        if let Some(now) = &self.now {
            for (ratios, name) in now.iter().zip(["over_limits", "over_limits_by_rms"]) {
                let of = ratios.all.iter().map(|(limit, x)| (limit.key().to_owned(), json!(x)));
                limits.insert(name.into(), Value::Object(of.collect()));
            }
            limits.insert("binding".into(), json!(now[0].binding().0.key()));
        }
        map.insert("limits".into(), Value::Object(limits));
        for (one, key) in self.maps.iter().zip(["feasibility", "feasibility_by_rms"]) {
            map.insert(key.into(), map_keys(one));
        }
        map.insert("suggestions".into(), json!(self.suggestions));
        map
    }
}

/// The sheet's own keys.
fn interim(sheet: &crate::theory::rig::Sheet) -> Map<String, Value> {
    let mut sections = sheet.sections.clone();
    sections.push(sheet.settings_section());
    let mut map: Map<String, Value> =
        super::json::json(&sections).ok().and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default();
    let texts = |of: &dyn Fn(&crate::theory::rig::Section) -> Vec<String>| -> Value {
        let some = sheet.sections.iter().filter(|section| !of(section).is_empty());
        Value::Object(some.map(|section| (section.title.to_string(), json!(of(section)))).collect())
    };
    map.insert("notes".into(), texts(&|section| section.notes.clone()));
    map.insert("cautions".into(), texts(&|section| section.cautions.iter().map(|c| (*c).to_owned()).collect()));
    map
}
