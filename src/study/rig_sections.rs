//! The design sheet as sections of rows.

use super::{Rig, Study};
use crate::base::row::{Detail, Kind, Row, Section, Value};
use crate::base::units::{Dimension, significant};
use crate::base::warning::sections;
use crate::theory::rig::{Judge, NARROWEST, WIDEST};

const TOLERANCE_CAUTION: &str = "Spacers and outlines cut by laser: acrylic fumes are harmful and burn, chlorinated plastics (PVC) must \
    not be laser-cut at all; the cut is some 0.18 to 0.25 mm wide in acrylic (common practice). Follow the rules of the workshop and let \
    trained staff do it.";

impl Study {
    /// The sheet as a report: program, case, Reynolds numbers, shape factor, `rig`, warnings.
    pub fn rig_sections(&self, rig: &Rig) -> Vec<Section> {
        let mut list = vec![super::program()];
        list.extend(self.case.sections(self.solved.space.reference_gap));
        list.push(rig.state.reynolds().section());
        list.push(self.pattern.shape_factor.section(self.goal));
        let mut parts = rig.sheet.all();
        parts.push(rig.effect_section());
        parts.push(self.limit_section(rig));
        parts.extend(rig.maps.iter().map(|map| map.section()));
        parts.push(rig.suggestion_section());
        list.push(Section::new("rig", "Design sheet of the cell", Vec::new()).with(parts));
        list.extend(sections(&self.warnings()));
        list
    }

    /// The inverse question: how fast, how thick.
    fn limit_section(&self, rig: &Rig) -> Section {
        let mut rows = Vec::new();
        let mut notes = vec![self.how_limits_are_found(rig)];
        for (k, judge) in [Judge::Share, Judge::MeanSquare].into_iter().enumerate() {
            let suffix = judge.suffix();
            if let Some(speed) = rig.largest_speed[k] {
                let name = format!("largest mean speed at this gap, by {}", judge.name());
                let key = format!("largest_speed{suffix}_m_per_s");
                rows.push(Row::new(key, name, speed, Kind::Of(Dimension::Speed)).digits(3));
            }
            match rig.thickest_gap[k] {
                Some(gap) => {
                    let over = if gap > 0.999 * WIDEST * rig.state.gap { "more than " } else { "" };
                    let name = format!("thickest gap at this speed, by {}: {over}", judge.name());
                    let name = name.trim_end_matches(": ").to_owned();
                    let key = format!("thickest_gap{suffix}_m");
                    rows.push(Row::new(key, name, gap, Kind::Of(Dimension::Length)).digits(3));
                }
                None => notes.push(format!(
                    "By {} no gap down to {} stays within the tolerances at this speed.",
                    judge.name(),
                    Dimension::Length.show(NARROWEST * rig.state.gap)
                )),
            }
        }
        let mut parts = Vec::new();
        if let Some(now) = &rig.now {
            rows.push(Row::new("binding", "what binds here", now[0].binding().0.key(), Kind::Number));
            parts
                .extend(now.iter().zip([Judge::Share, Judge::MeanSquare]).map(|(ratios, judge)| ratios.section(judge)));
        }
        let title = "How fast, how thick: every departure below its tolerance, confinement aside";
        Section::new("limits", title, rows).with(parts).noted(notes)
    }

    fn how_limits_are_found(&self, rig: &Rig) -> String {
        let tolerance = &rig.state.tolerance;
        format!(
            "Tolerances: speed {} % of U, direction {} deg, shift {} mm. Departures of first order in Re* and b/L, scaled from one solve \
             (edge layer as b, inertia as U b^2/nu and U b^3/nu); {}.",
            significant(100.0 * tolerance.speed, 3),
            significant(tolerance.direction.to_degrees(), 3),
            significant(1e3 * tolerance.shift, 3),
            match rig.band_in_gaps(self) {
                Some(gaps) => format!("observed further than {gaps} gaps from solid edges, at every gap its own"),
                None => format!(
                    "observed beyond the edge band of the case, {} mm, which is kept: for gaps above a third of it first order is not valid \
                     next to the band",
                    significant(1e3 * self.case.edge_band.unwrap_or(0.0), 3)
                ),
            }
        )
    }
}

impl Rig {
    fn effect_section(&self) -> Section {
        let title = "What tolerances do, ranked by their share of the departure tolerances";
        let mut notes = vec![
            "Flow at a given head; speed of U, largest; share: the largest of speed, direction and shift over its tolerance. Only what changes \
             the pattern bends streamlines; the rest scales all speeds alike and drops out of ratios to the measured mean."
                .to_owned(),
        ];
        notes.extend(
            self.effects.iter().map(|effect| format!("{}: {}", effect.cause.name(), effect.cause.definition())),
        );
        let table = Section::table("tolerances", title, self.effects.iter().map(|effect| effect.rows()));
        Section { cautions: vec![TOLERANCE_CAUTION], ..table.noted(notes) }
    }

    fn suggestion_section(&self) -> Section {
        let rows = vec![Row::script("suggestions", Value::texts(self.suggestions.iter().cloned()))];
        let section = Section::new("", "What to change, the easiest first", rows);
        section.noted(self.suggestions.clone()).at(Detail::Main)
    }
}
