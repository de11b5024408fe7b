//! What the user should know before trusting a number, each with its reason.

mod bubbles;
mod dye;
mod judge;
mod likely;

use super::Study;
use super::expected::expected;
use super::lines::cut_lines;
use crate::base::warning::Warning;
use crate::geometry::Plan;
use crate::input::case::Order;
use crate::input::case::{Case, Reynolds};
use crate::theory::bubbles::{Held, held};
use crate::theory::circulation::sharp_tails;
use crate::theory::edge_layer::{clearance, reach};
use crate::theory::ideal::{WallTangent, wall_tangents};
use crate::theory::inertia::Inertia;
use judge::{Corner, Facts, Inertial, Probe, Reference, Tail};
use likely::{Likely, unlikely};

/// What can be warned of before anything is solved: sizes and numbers that hint at a forgotten unit.
pub fn warnings_before(case: &Case, plan: &Plan) -> Vec<Warning> {
    let expected = expected(case, plan);
    let mut list = unlikely_of(case, plan, expected.reynolds);
    list.extend(of_bubbles(case, plan, expected.speed));
    list.extend(dye::amiss(case, false));
    list.extend(cut_lines(case, plan));
    list
}

fn of_bubbles(case: &Case, plan: &Plan, mean_speed: f64) -> Vec<Warning> {
    let of = |bubble: &Held| bubbles::amiss(bubble, case.cell.gap.at(bubble.middle), mean_speed);
    held(case, plan).iter().flat_map(of).collect()
}

fn unlikely_of(case: &Case, plan: &Plan, reynolds: Reynolds) -> Vec<Warning> {
    let sides = case.cell.size();
    let smallest = plan.obstacles.iter().min_by(|a, b| a.height.total_cmp(&b.height));
    unlikely(&Likely {
        sides,
        gap: case.cell.middle_gap(),
        smallest: smallest.map(|obstacle| (obstacle.name.clone(), obstacle.height)),
        reynolds,
        tolerance: case.tolerance.speed,
    })
}

impl Study {
    /// All warnings and notes of a study.
    pub fn warnings(&self) -> Vec<Warning> {
        let mut list = unlikely_of(&self.case, &self.plan, self.reynolds);
        list.extend(of_bubbles(&self.case, &self.plan, self.pattern.drive.mean_speed));
        list.extend(dye::amiss(&self.case, self.time_lines.cut));
        list.extend(cut_lines(&self.case, &self.plan));
        list.extend(judge::judge(&self.facts()));
        list
    }

    fn facts(&self) -> Facts {
        let space = &self.solved.space;
        let tail = |tail: crate::theory::circulation::Tail| Tail {
            name: self.plan.obstacles[tail.obstacle as usize].name.clone(),
            at: tail.at,
        };
        let corner = |(v, tangent): (u32, WallTangent)| match tangent {
            WallTangent::Corner { fluid_angle } => Some(Corner { at: space.mesh.points[v as usize], fluid_angle }),
            WallTangent::Smooth(_) => None,
        };
        let probe = |probe: &crate::input::case::Probe| Probe {
            name: probe.name.clone(),
            at: probe.at,
            distance: clearance(space, probe.at),
            gap: self.case.cell.gap.at(probe.at),
        };
        let without_length = self.case.obstacles.is_empty() && self.case.drive.reference_length.is_none();
        Facts {
            drawing: self.plan.notes.clone(),
            goal: self.goal,
            reached: self.reached(),
            shape_factor: self.pattern.shape_factor,
            tails: sharp_tails(space).found.into_iter().map(tail).collect(),
            gap_over_length: space.reference_gap / self.reynolds.reference_length,
            probes: self.case.probes.iter().map(probe).collect(),
            corners: wall_tangents(space).into_iter().filter_map(corner).collect(),
            no_moved_edges: self.moved.as_deref().and_then(|moved| moved.as_ref().err()).map(|error| error.to_string()),
            edge_bands: self.edge_layer.as_ref().map_or_else(Vec::new, |layer| layer.bands.clone()),
            reduced_reynolds: self.reynolds.reduced,
            inertia: self.inertia.as_ref().map(|inertia| self.inertial(inertia)),
            endings: self.lines.iter().map(|line| line.ending).collect(),
            dye_height: self.case.streaklines.height,
            reference: if without_length { Reference::Width } else { Reference::Given },
        }
    }

    fn inertial(&self, inertia: &Inertia) -> Inertial {
        let space = &self.solved.space;
        let worst = reach(space).beyond().max_by(|&a, &b| inertia.number[a].total_cmp(&inertia.number[b]));
        Inertial {
            order: if inertia.second.is_some() { Order::Second } else { Order::First },
            edge_number: inertia.edge_number(space, &self.case.fluid),
            number: worst.map_or(0.0, |v| inertia.number[v]),
            at: worst.map_or([0.0; 2], |v| space.mesh.points[v]),
            bands: inertia.bands.clone(),
            band_sensitivity: inertia.band_sensitivity,
            gap_mean: inertia.gap_mean(space) / self.pattern.drive.mean_speed.abs(),
            tolerated: self.case.tolerance.speed,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::warning::Code;
    use crate::study::Settings;
    use crate::theory::ideal::Goal;
    use crate::theory::streaklines::Ending;
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
        let near = study.warnings().into_iter().filter(|warning| warning.code == Code::ProbeNearEdge);
        near.map(|warning| warning.message).collect()
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

    const FLUID: &str = "[fluid]\ndensity = 1000\nviscosity = 1e-3\n";

    fn codes(study: &Study) -> Vec<Code> {
        let mut codes: Vec<Code> = study.warnings().iter().map(|warning| warning.code).collect();
        codes.dedup();
        codes
    }

    /// A thin wedge with its edge downstream and a buoy so near to it that their grown outlines meet, in a thick gap at a high speed, and
    /// the same slowly in a thin gap, without the edge and the buoy.
    #[test]
    fn a_bad_case_is_warned_of_and_a_good_one_is_not() {
        let bad = format!(
            "[cell]\nlength = 0.2\nwidth = 0.1\ngap = 2e-3\n{FLUID}[drive]\nmean_speed = 5e-3\n[streaklines]\nheight = 0.999\n\
             [inertia]\norder = 1\n\
             [mesh]\nerror = 1e-4\nmax_triangles = 2000\n[[probe]]\nname = \"nose\"\nat = [0.077, 0.05]\n\
             [[obstacle]]\npolygon = {{ points = [[0.08, 0.044], [0.14, 0.05], [0.08, 0.056]] }}\n\
             [[obstacle]]\ncircle = {{ centre = [0.11, 0.062], diameter = 0.016 }}\n"
        );
        let both = Settings { inertia: true, edge_layer: true, ..Settings::default() };
        let study = solved(&bad, both);
        let due = [
            Code::UnlikelyFlow,
            Code::TargetMissed,
            Code::SharpTail,
            Code::ThickGap,
            Code::ProbeNearEdge,
            Code::KnifeEdge,
            Code::NoMovedEdges,
            Code::EdgeLayerOff,
            Code::ReducedReynolds,
            Code::IdealLines,
            Code::InertiaNumber,
            Code::EdgeNumber,
            Code::EdgeInertiaOff,
            Code::DyeAtPlate,
        ];
        let (rest, found): (Vec<Code>, Vec<Code>) =
            codes(&study).into_iter().partition(|code| *code == Code::LineAtRest);
        assert_eq!(found, due);
        // whether a line meets a stagnation point is the mesh's affair
        assert_eq!(rest.len(), usize::from(study.lines.iter().any(|line| line.ending == Ending::Stagnation)));
        let tail = study.warnings().into_iter().find(|warning| warning.code == Code::SharpTail).unwrap();
        assert_eq!(tail.at, Some([0.14, 0.05]));
        // the largest number is not sought where no-slip at the edges rules
        let place = study.warnings().iter().find(|warning| warning.code == Code::InertiaNumber).unwrap().at.unwrap();
        assert!(clearance(&study.solved.space, place) > 5.9e-3, "{place:?}");

        let good = bad
            .replace("gap = 2e-3", "gap = 5e-4")
            .replace("mean_speed = 5e-3", "mean_speed = 1e-3")
            .replace("height = 0.999", "height = 0.9")
            .replace("error = 1e-4", "error = 1e-2")
            .replace("[0.14, 0.05]", "[0.09, 0.044], [0.09, 0.056]")
            .replace("[0.077, 0.05]", "[0.075, 0.05]")
            .replace("centre = [0.11, 0.062]", "centre = [0.14, 0.05]");
        let gentle = Settings { inertia: false, ..both };
        assert_eq!(codes(&solved(&good, gentle)), []);
    }

    /// Of two obstacles the smaller across the flow, and of a gap that tapers the one in the middle of the cell: 5 mm there over 4 mm.
    /// From end to end and from wall to wall it grows by 3 mm.
    #[test]
    fn the_gap_in_the_middle_is_held_against_the_smallest_obstacle() {
        let post = |x: f64, diameter: f64| {
            format!(
                "[[obstacle]]\nname = \"{diameter} m\"\ncircle = {{ centre = [{x}, 0.1], diameter = {diameter} }}\n"
            )
        };
        let cell = format!(
            "[cell]\nlength = 0.4\nwidth = 0.2\ngap = {{ at = 5e-3, slope = [7.5e-3, 15e-3] }}\n{FLUID}[drive]\nmean_speed = 1e-5\n"
        );
        for order in [[0.06, 0.004], [0.004, 0.06]] {
            let text = format!("{cell}{}{}", post(0.12, order[0]), post(0.3, order[1]));
            let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
            let list = warnings_before(&case, &Plan::new(&case, &mut Default::default()).unwrap());
            assert!(list.len() == 1 && list[0].code == Code::UnlikelyGap, "{list:#?}");
            assert!((list[0].value.unwrap() - 1.25).abs() < 1e-9, "{list:#?}");
            assert!(
                list[0].message.contains("gap of 5.00 mm") && list[0].message.contains("\"0.004 m\", 4.00 mm"),
                "{list:#?}"
            );
        }
    }

    #[test]
    fn lines_lengths_and_drawings_are_told_of() {
        let cell = format!("[cell]\nlength = 0.2\nwidth = 0.1\ngap = 1e-3\n{FLUID}[drive]\nmean_speed = 2e-3\n");
        let quick = Settings { goal: Some(Goal::Triangles(2_000)), ..Settings::default() };
        let post = "[[obstacle]]\ncircle = { centre = [0.1, 0.05], diameter = 0.03 }\n";
        assert_eq!(codes(&solved(&format!("{cell}[streaklines]\ncount = 8\n{post}"), quick)), [Code::InertiaLeftOut]);
        assert_eq!(codes(&solved(&cell, quick)), [Code::NoObstacle]);
        let stated = cell.replace("[drive]", "[drive]\nreference_length = 0.05");
        assert_eq!(codes(&solved(&stated, quick)), []);
        let (case, plan) = crate::study::read("meshes/seal_picture.toml".as_ref()).unwrap();
        let seal = Study::solve(case, plan, quick, &|_| {}).unwrap();
        assert!(codes(&seal).contains(&Code::Drawing));
    }
}
