//! What the user should know before trusting a number, each with its reason.

use super::Study;
use crate::theory::circulation::sharp_tails;
use crate::theory::edge_layer::{Margin, THICK, clearance, reach};
use crate::theory::ideal::{Goal, WallTangent, wall_tangents};
use crate::theory::inertia::LIMIT;
use crate::theory::streaklines::{Ending, HIGHEST};

impl Study {
    /// All warnings of a study.
    pub fn warnings(&self) -> Vec<String> {
        let mut list = self.plan.notes.clone();
        self.warn_of_goal(&mut list);
        self.warn_of_allowance(&mut list);
        self.warn_of_circulation(&mut list);
        self.warn_of_edges(&mut list);
        self.warn_of_edge_layer(&mut list);
        self.warn_of_inertia(&mut list);
        self.warn_of_lines(&mut list);
        list
    }

    fn warn_of_goal(&self, list: &mut Vec<String>) {
        if let (Goal::Error { relative, most_triangles }, false) = (self.goal, self.reached()) {
            list.push(format!(
                "the target was not reached: relative half-width {:.2e} instead of {relative:.1e} with the {most_triangles} triangles \
                 allowed; raise mesh.max_triangles or mesh.error",
                self.pattern.shape_factor.relative_half_width
            ));
        }
    }

    fn warn_of_allowance(&self, list: &mut Vec<String>) {
        let shape = &self.pattern.shape_factor;
        if shape.outline_allowance > 0.5 * (shape.upper - shape.lower) {
            list.push(format!(
                "the outline allowance {:.1e} exceeds half the distance of the bounds {:.1e}: the bounds hold for the polygon \
                 through the outline's points; for the curve add the allowance on both sides, or ask for a smaller mesh.error",
                shape.outline_allowance,
                0.5 * (shape.upper - shape.lower)
            ));
        }
    }

    fn warn_of_circulation(&self, list: &mut Vec<String>) {
        for tail in sharp_tails(&self.solved.space) {
            list.push(format!(
                "{}: the cell shows the ideal flow without circulation, never the one that leaves a sharp tail smoothly; \
                 deflected streaklines behind it are no sign of lift",
                self.plan.obstacles[tail.obstacle as usize].name
            ));
        }
    }

    fn warn_of_edges(&self, list: &mut Vec<String>) {
        let gap = self.solved.space.reference_gap;
        let length = self.reynolds.reference_length;
        if gap / length > THICK {
            list.push(format!(
                "the gap is {:.2} of the reference length: the edge layer, of order b/L, changes the pattern by about as much",
                gap / length
            ));
        }
        for probe in &self.case.probes {
            let distance = clearance(&self.solved.space, probe.at);
            if Margin::REACH.holds(distance, self.case.cell.gap.at(probe.at)) {
                list.push(format!(
                    "probe \"{}\" stands within three gaps of a solid edge, where no-slip at the edge slows the real flow: its ideal \
                     speed is the one outside that layer",
                    probe.name
                ));
            }
        }
        let knives = wall_tangents(&self.solved.space).iter().filter(|(_, tangent)| {
            matches!(tangent, WallTangent::Corner { fluid_angle } if *fluid_angle > 1.9 * std::f64::consts::PI)
        }).count();
        if knives > 0 {
            list.push(format!(
                "{knives} sharp edge{} with a fluid angle near 360 degrees: the ideal speed there has no limit, and no correction of \
                 first order in the gap exists close to them",
                if knives == 1 { "" } else { "s" }
            ));
        }
    }

    fn warn_of_edge_layer(&self, list: &mut Vec<String>) {
        if let Some(Err(error)) = &self.moved {
            list.push(format!("there is no variant with moved edges to judge the edge layer by: {error}"));
        }
        let knives = self.edge_layer.as_ref().map_or(0, |layer| layer.bands.len());
        if knives > 0 {
            list.push(format!(
                "the edge-layer term is switched off within one gap of {knives} edge{} sharper than 60 degrees, where first order in the \
                 gap has no answer",
                if knives == 1 { "" } else { "s" }
            ));
        }
    }

    fn warn_of_inertia(&self, list: &mut Vec<String>) {
        let reduced = self.reynolds.reduced;
        let Some(inertia) = &self.inertia else {
            if reduced > 0.05 {
                list.push(format!(
                    "reduced Reynolds number {reduced:.2}: inertia in the gap is not small; add --inertia to see its departure"
                ));
            }
            return;
        };
        if reduced > 0.3 {
            list.push(format!(
                "reduced Reynolds number {reduced:.2}: three-dimensional solutions for a post show errors of the first-order departure \
                 of 9 to 13 % at 0.27 and about 20 % at 0.6"
            ));
        }
        let points = &self.solved.space.mesh.points;
        let worst = reach(&self.solved.space).beyond().max_by(|&a, &b| inertia.number[a].total_cmp(&inertia.number[b]));
        if let Some(v) = worst.filter(|&v| inertia.number[v] > LIMIT) {
            list.push(format!(
                "the local inertia number reaches {:.2} at x = {:.4} m, y = {:.4} m: above 1 the first-order departure is no longer \
                 quantitative (validity 2 in fields.vtu)",
                inertia.number[v], points[v][0], points[v][1]
            ));
        }
        if let Some(change) = inertia.band_sensitivity {
            let places = inertia.bands.len();
            let verdict = if change > 0.2 { "first order does not decide here" } else { "the choice matters little" };
            list.push(format!(
                "the edge inertia term is switched off within one gap of {places} sharp corner{}: halving or doubling that length \
                 changes the gap-mean departure by up to {:.0} % (root mean square); {verdict}",
                if places == 1 { "" } else { "s" },
                100.0 * change
            ));
        }
    }

    fn warn_of_lines(&self, list: &mut Vec<String>) {
        let resting = self.lines.iter().filter(|line| line.ending == Ending::Stagnation).count();
        if resting > 0 {
            list.push(format!(
                "{resting} of {} streaklines end at a stagnation point, where dye takes for ever to arrive; another count avoids them",
                self.lines.len()
            ));
        }
        let endless = self.lines.iter().filter(|line| line.ending == Ending::Steps).count();
        if endless > 0 {
            list.push(format!("{endless} of {} streaklines were cut: they needed too many steps", self.lines.len()));
        }
        if self.case.streaklines.height.abs() > HIGHEST {
            list.push(format!(
                "dye height {} lies at a plate, where nothing moves: {HIGHEST} is shown instead",
                self.case.streaklines.height
            ));
        }
        if self.case.obstacles.is_empty() && self.case.drive.reference_length.is_none() {
            list.push("there is no obstacle: the Reynolds numbers use the width of the cell".into());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Plan;
    use crate::study::Settings;
    use std::fmt::Write;
    use std::sync::Arc;

    fn solved(text: &str, settings: Settings) -> Study {
        let case = crate::input::case::parse(text, "case.toml".as_ref()).into_result().unwrap();
        let plan = Arc::new(Plan::new(&case, &mut Default::default()).unwrap());
        Study::solve(case, plan, settings, &|_| {}).unwrap()
    }

    /// A post of 30 mm with a gap of 1 mm at it, and probes so many gaps beside and behind it.
    fn probes(gap: &str, triangles: usize) -> Vec<String> {
        let mut text = format!(
            "[cell]\nlength = 0.3\nwidth = 0.2\ngap = {gap}\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = 1e-4\n\
             [[obstacle]]\ncircle = {{ centre = [0.15, 0.1], diameter = 0.03 }}\n"
        );
        for gaps in [0.0, 2.0, 2.5, 2.9, 3.1] {
            for [x, y] in [[0.0, 1.0], [0.6, 0.8]] {
                let r = 0.015 + 1e-3 * gaps;
                let at = [0.15 + r * x, 0.1 + r * y];
                write!(text, "[[probe]]\nname = \"{gaps} {x}\"\nat = {at:?}\n").unwrap();
            }
        }
        let goal = Some(Goal::Triangles(triangles));
        let study = solved(&text, Settings { goal, ..Settings::default() });
        study.warnings().into_iter().filter(|text| text.starts_with("probe")).collect()
    }

    /// On meshes so coarse that the triangles of the probes reach far beyond three gaps, and on fine ones.
    #[test]
    fn a_probe_is_warned_of_by_its_own_distance() {
        for triangles in [300, 2_000, 30_000] {
            let near = probes("1e-3", triangles);
            assert_eq!(near.len(), 8, "{triangles}: {near:#?}");
            assert!(near.iter().all(|text| !text.contains("3.1")), "{near:#?}");
        }
        // by the gap at the probe: at the post it is 1 mm, in the middle of the cell as well, but 3.1 gaps are fewer downstream
        let wider = probes("{ at = 1e-3, slope = [0.006, 0.0] }", 2_000);
        assert_eq!(wider.len(), 9, "{wider:#?}");
        assert!(wider.iter().any(|text| text.contains("3.1 0.6")), "{wider:#?}");
    }
}
