//! The design sheet of a study: the solved cell in numbers, the tolerances solved for, the inverse question.

use super::Study;
use super::budget::Budget;
use super::expected::empty_squares;
use crate::base::Result;
use crate::input::case::{Bow, DriveQuantity, Gap};
use crate::numerics::fem::Space;
use crate::theory::departure::{Reference, of_the_plates};
use crate::theory::edge_layer::REACH;
use crate::theory::ideal::{Pattern, solve_pair};
use crate::theory::rig::{
    DyeLines, Given, Imperfection, Judge, LAMINAR, Map, Outlook, PatternEffect, Section, Sheet, State, duct_factor,
    imperfections, settings, suggestions,
};

/// Relative change of the gap that taper and bow are solved with; their size follows by scaling.
const TRIAL: f64 = 0.02;
/// Gaps and speeds of the map.
const GAPS: usize = 25;
const SPEEDS: usize = 25;

/// The design sheet with everything that stands on it.
#[derive(Debug)]
pub struct Rig {
    /// Rows, notes and cautions by section.
    pub sheet: Sheet,
    /// The cell in numbers.
    pub state: State,
    /// Imperfections as shares of the tolerances, the largest first.
    pub effects: Vec<Imperfection>,
    /// The case's own departures over their limits, largest and root mean square; none if the edge bands leave nothing to observe.
    pub now: Option<[crate::theory::rig::Ratios; 2]>,
    /// Largest mean speed with every departure within its tolerance, m/s, by the largest and by the root mean square departure.
    pub largest_speed: [Option<f64>; 2],
    /// Thickest gap likewise, m, at the speed of the case.
    pub thickest_gap: [Option<f64>; 2],
    /// Which limit binds where, by the largest and by the root mean square departure.
    pub maps: [Map; 2],
    /// What to change, the easiest first.
    pub suggestions: Vec<String>,
}

impl Study {
    /// Makes the design sheet; the study must have been solved with inertia and edge layer, and the budget made from it.
    ///
    /// # Errors
    /// [`crate::base::Error::NoConvergence`] if the solver for taper and bow does not come to its end.
    pub fn rig(&self, budget: &Budget) -> Result<Rig> {
        let state = self.state(budget);
        let outlook = self.outlook(budget, &state);
        let reference = budget.reference(self);
        let taper = self.taper_effect(&reference, &state)?;
        let bow = self.bow_effect(&reference, &state)?;
        let judges = [Judge::Share, Judge::MeanSquare];
        let speeds = judges.map(|judge| outlook.largest_speed(judge));
        let gaps = judges.map(|judge| outlook.thickest_gap(judge));
        let now = outlook.column(1.0).map(|column| judges.map(|judge| column.ratios(1.0, judge)));
        let maps = judges.map(|judge| outlook.map(judge, &spread(0.25, 4.0, GAPS), &self.speeds(budget)));
        let sheet =
            Sheet { title: self.case.title.clone(), settings: self.settings(&state), sections: state.sections() };
        Ok(Rig {
            suggestions: suggestions(&state, &outlook, speeds[0], gaps[0]),
            effects: imperfections(&state, Some(&taper), bow.as_ref()),
            largest_speed: speeds.map(|x| x.map(|x| x * outlook.speed)),
            thickest_gap: gaps.map(|x| x.map(|x| x * outlook.gap)),
            now,
            maps,
            sheet,
            state,
        })
    }

    fn settings(&self, state: &State) -> Vec<Given> {
        settings(state, self.case.rig.dye_lines.is_some())
    }

    /// The solved cell in numbers, with the edge layer.
    pub fn state(&self, budget: &Budget) -> State {
        let (space, drive) = (&self.solved.space, &self.pattern.drive);
        let mut state = State::of_case(&self.case, self.reynolds.reference_length);
        state.squares = empty_squares(&self.case);
        let ideal = self.pattern.shape_factor.value;
        let first = self.edge_layer.as_ref().map_or(ideal, |layer| layer.shape_factor);
        // where first order ends, the loss of the empty duct has the right size
        let edges = if first > 0.1 * ideal { first / ideal } else { duct_factor(state.gap / state.width) };
        state.drop_given = matches!(self.case.drive.quantity, DriveQuantity::PressureDrop(_) | DriveQuantity::Head(_));
        let (slower, steeper) = if state.drop_given { (edges, 1.0) } else { (1.0, edges.recip()) };
        state.speed = drive.mean_speed * slower;
        state.flow = drive.flow_rate * slower;
        state.drop = drive.pressure_drop * steeper;
        state.ideal_drop = state.drop * edges;
        let second = match self.moved.as_deref() {
            Some(Ok(moved)) if first > 0.1 * ideal => (moved.shape_factor - first).abs() / first,
            _ => (1.0 - edges).powi(2),
        };
        let shape = &self.pattern.shape_factor;
        state.known_to = shape.relative_half_width + shape.outline_allowance / ideal + second;
        state.volume = space
            .mesh
            .triangles
            .iter()
            .enumerate()
            .map(|(t, corners)| corners.iter().map(|&v| space.gap[v as usize]).sum::<f64>() / 3.0 * space.area(t))
            .sum();
        state.shift = budget.cell_alone.shift.judged;
        state
    }

    /// What is needed to judge the cell at other speeds and gaps.
    pub fn outlook<'a>(&'a self, budget: &'a Budget, state: &State) -> Outlook<'a> {
        let space = &self.solved.space;
        Outlook {
            space,
            region: budget.region.clone(),
            velocity: &budget.ideal,
            number: self.inertia.as_ref().map_or(&[], |inertia| inertia.number.as_slice()),
            contributions: of_the_plates(&budget.contributions).collect(),
            speed: self.pattern.drive.mean_speed,
            gap: space.reference_gap,
            tolerance: &self.case.tolerance,
            gap_reynolds: self.reynolds.gap,
            dye: DyeLines {
                diffusivity: self.case.rig.dye_diffusivity.value,
                length: state.length,
                spacing: state.line_spacing(),
            },
        }
    }

    /// Speeds of the map over that of the case: from a tenth to beyond the end of first order or of laminar flow.
    fn speeds(&self, budget: &Budget) -> Vec<f64> {
        let first_order = budget.first_order_limit.map_or(f64::INFINITY, |limit| limit / self.reynolds.reduced);
        let end = first_order.min(LAMINAR / self.reynolds.gap);
        spread(0.1, (3.0 * end).clamp(10.0, 1e5), SPEEDS)
    }

    /// A gap that differs between the side walls by the gap tolerance.
    fn taper_effect(&self, reference: &Reference, state: &State) -> Result<PatternEffect> {
        let slope = TRIAL * state.gap / state.plates.size()[1];
        let middle = state.plates.middle();
        let trial = [slope, -slope].map(|slope| Gap::Linear { at: state.gap, slope: [0.0, slope], middle });
        self.pattern_effect(reference, &trial, state.rig.gap_tolerance.value / state.gap)
    }

    /// Plates bowed apart by the pressure; none if they are too stiff to tell.
    fn bow_effect(&self, reference: &Reference, state: &State) -> Result<Option<PatternEffect>> {
        let per_load = state.deflection_per_load();
        let load = 0.5 * TRIAL * state.gap / per_load;
        if !(load.is_finite() && load > 0.0) {
            return Ok(None);
        }
        let trial = [load, -load].map(|load| Gap::Bowed(Bow::new(state.gap, load, state.plates, &state.rig)));
        let change = 2.0 * state.load() * per_load / state.gap;
        self.pattern_effect(reference, &trial, change).map(Some)
    }

    /// Departure of the pattern by a relative change of the gap, at the same mean speed: half the difference of the patterns in a gap
    /// changed by the trial amount and by its opposite, scaled.
    fn pattern_effect(&self, reference: &Reference, trial: &[Gap; 2], gap_change: f64) -> Result<PatternEffect> {
        let [more, less] = trial;
        let (more, less) = (self.velocity_in(reference, more)?, self.velocity_in(reference, less)?);
        let factor = 0.5 * gap_change / TRIAL;
        let departure: Vec<[f64; 2]> =
            more.iter().zip(&less).map(|(v, w)| [factor * (v[0] - w[0]), factor * (v[1] - w[1])]).collect();
        Ok(PatternEffect { gap_change, measures: reference.measure(&departure) })
    }

    /// Velocity of the pattern in another gap, on the same mesh at the same mean speed, m/s.
    fn velocity_in(&self, reference: &Reference, gap: &Gap) -> Result<Vec<[f64; 2]>> {
        let space = reference.space;
        let other = Space::new(space.mesh.clone(), gap, space.reference_gap);
        let pair = solve_pair(&other, self.case.drive.ends, self.pattern.shape_factor.relative_half_width)?;
        let case = self.case.in_gap(gap.clone()).at_mean_speed(reference.speed);
        Ok(Pattern::new(&other, &pair, &case, self.reynolds.reference_length).velocity)
    }
}

/// So many values of equal ratio from one to another.
fn spread(from: f64, to: f64, count: usize) -> Vec<f64> {
    (0..count).map(|k| from * (to / from).powf(k as f64 / (count - 1) as f64)).collect()
}

impl Rig {
    /// A section of the sheet by its heading.
    pub fn section(&self, title: &str) -> Option<&Section> {
        self.sheet.sections.iter().find(|section| section.title == title)
    }

    /// Whether the band around edges grows with the gap on the map, and how wide it is in gaps.
    pub fn band_in_gaps(&self, study: &Study) -> Option<f64> {
        study.case.edge_band.is_none().then_some(REACH)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Plan;
    use crate::study::Settings;
    use crate::theory::departure::Measure;
    use crate::theory::ideal::Goal;
    use std::sync::Arc;

    fn solved(speed: f64, gap: f64) -> (Study, Budget) {
        let text = format!(
            "[cell]\nlength = 0.4\nwidth = 0.3\ngap = {gap:?}\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = {speed:?}\n\
             ends = \"given-inflow\"\n[[obstacle]]\ncircle = {{ centre = [0.2, 0.15], diameter = 0.06 }}\n[tolerance]\nspeed = 0.1\n\
             direction = \"4 deg\"\nshift = \"0.8 mm\"\n[departure]\nedge_band = \"12 mm\"\n"
        );
        let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
        let mut problems = crate::base::error::Problems::default();
        let plan = Arc::new(Plan::new(&case, &mut problems).unwrap());
        let goal = Some(Goal::Triangles(6_000));
        let settings = Settings { goal, inertia: true, edge_layer: true };
        let study = Study::solve(case, plan, settings, &|_| {}).unwrap();
        let budget = study.budget(&|_| {}).unwrap();
        (study, budget)
    }

    /// The departures of the cell alone over their tolerances, the largest of the three.
    fn over(study: &Study, budget: &Budget) -> f64 {
        let (m, t) = (&budget.cell_alone, &study.case.tolerance);
        Measure::ALL.map(|measure| m.of(measure).judged / measure.tolerance(t)).into_iter().fold(0.0, f64::max)
    }

    /// The mesh does not depend on speed and gap. In speed the scaling is exact up to the search's 1e-4. In the gap it is exact for the
    /// linear edge layer but for its core factor 1/(1 - 0.63 b/W), off by (0.63 b/W)^2 of U, 4e-5 against tolerances of 0.1, and inertia
    /// sees the edge-corrected velocity, off by 0.63 b/L of itself; inertia is below a hundredth of the departure at this speed.
    #[test]
    fn departure_at_the_returned_limits_meets_the_tolerance() {
        let (study, budget) = solved(1e-3, 2e-3);
        let state = study.state(&budget);
        let outlook = study.outlook(&budget, &state);
        let speed = 1e-3 * outlook.largest_speed(Judge::Share).unwrap();
        let end = 1e-3 * budget.first_order_limit.unwrap() / study.reynolds.reduced;
        assert!(speed < 0.99 * end, "the tolerance shall bind, not first order: {speed} {end}");
        let (fast, its) = solved(speed, 2e-3);
        assert!((over(&fast, &its) - 1.0).abs() < 3e-4, "{}", over(&fast, &its));
        let gap = 2e-3 * outlook.thickest_gap(Judge::Share).unwrap();
        let (thick, its) = solved(1e-3, gap);
        assert!((over(&thick, &its) - 1.0).abs() < 5e-3, "{gap}: {}", over(&thick, &its));
    }

    /// The taper solved for against parallel flow: beside the post's reach V goes as b^2 along straight lines, so the speed departs by
    /// the relative change of the gap at a side wall (b there differs by half of it). The post's dipole bends that by (D/W)^2.
    #[test]
    fn a_taper_speeds_the_wide_side() {
        let (study, budget) = solved(1e-3, 2e-3);
        let mut state = study.state(&budget);
        state.rig.gap_tolerance.value = 0.01 * 2e-3;
        let outlook = study.outlook(&budget, &state);
        let reference = Reference {
            space: outlook.space,
            region: &outlook.region,
            velocity: outlook.velocity,
            speed: outlook.speed,
            tolerance: outlook.tolerance,
        };
        let one = study.taper_effect(&reference, &state).unwrap();
        // given inflow is even over the inlet: only behind it the flow moves to the wide side
        assert!(one.measures.speed.largest > 0.006 && one.measures.speed.largest < 0.02, "{:?}", one.measures);
        state.rig.gap_tolerance.value *= 2.0;
        let two = study.taper_effect(&reference, &state).unwrap();
        assert!((two.measures.shift.largest / one.measures.shift.largest - 2.0).abs() < 1e-9);
    }
}
