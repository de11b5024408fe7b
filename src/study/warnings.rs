//! What the user should know before trusting a number, each with its reason.

use super::Study;
use crate::geometry::Side;
use crate::theory::ideal::{Goal, WallTangent, wall_tangents};
use crate::theory::inertia::LIMIT;
use crate::theory::streaklines::{Ending, HIGHEST};

/// Distance from a solid edge within which the layer field is not valid, in gaps.
pub const EDGE_GAPS: f64 = 3.0;

/// Fluid angle above which an edge counts as a sharp tail: a solid angle below 75 degrees, rad.
const SHARP: f64 = 285.0 / 180.0 * std::f64::consts::PI;

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
        let mut sharp: Vec<usize> = self
            .plan
            .corners()
            .iter()
            .filter(|corner| corner.fluid_angle > SHARP)
            .filter_map(|corner| match self.plan.pieces[corner.after].side {
                Side::Obstacle(k) => Some(k as usize),
                _ => None,
            })
            .collect();
        sharp.dedup();
        for obstacle in sharp {
            list.push(format!(
                "{}: the cell shows the ideal flow without circulation, never the one that leaves a sharp tail smoothly; \
                 deflected streaklines behind it are no sign of lift",
                self.plan.obstacles[obstacle].name
            ));
        }
    }

    fn warn_of_edges(&self, list: &mut Vec<String>) {
        let gap = self.solved.space.reference_gap;
        let length = self.reynolds.reference_length;
        if gap / length > 0.1 {
            list.push(format!(
                "the gap is {:.2} of the reference length: the edge layer, of order b/L, changes the pattern by about as much",
                gap / length
            ));
        }
        let distance = self.solved.space.wall_distance();
        for (probe, near) in self.case.probes.iter().zip(self.at_probes(distance)) {
            if near < EDGE_GAPS * gap {
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
        let gap = self.solved.space.reference_gap;
        let distance = self.solved.space.wall_distance();
        let points = &self.solved.space.mesh.points;
        let worst = (0..points.len())
            .filter(|&v| distance[v] >= EDGE_GAPS * gap)
            .max_by(|&a, &b| inertia.number[a].total_cmp(&inertia.number[b]));
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
