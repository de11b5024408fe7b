//! The departure budget of a study: contributions, measures, verdict, sweep, and their files.

use super::Study;
use super::bubbles::BubblesFound;
use crate::base::{Result, plane};
use crate::input::case::{Gap, SweepQuantity, Tolerance};
use crate::theory::circulation::{Circulation, NoTail, Section, sharp_tails};
use crate::theory::departure::{
    Contribution, Degree, Effect, Errors, InertiaSizes, Measures, Numbers, Origin, Reference, Region, Scale,
    ShapeFactors, Standing, SweepRow, Threshold, Verdict, View, Way, bend_error, correction_error,
    edge_layer_neglected, inertia_neglected, inertia_parts, numerical_error, of_the_plates, relative_error, scales,
    still_part, thresholds, total, velocity_error, verdict,
};
use crate::theory::edge_layer::Margin;
use crate::theory::ideal::{Pattern, Stage};
use crate::theory::inertia::{Inertia, LIMIT};
use crate::theory::streaklines::shown_height;
use rayon::prelude::*;

/// Numerical errors of what is measured at the dye height.
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetErrors {
    /// Of each effect.
    pub each: Vec<Errors>,
    /// Of everything together.
    pub total: Errors,
    /// Of everything but confinement.
    pub cell_alone: Errors,
}

/// The budget of one case.
#[derive(Debug)]
pub struct Budget {
    /// Where departures are measured.
    pub region: Region,
    /// How far from solid edges that keeps.
    pub margin: Margin,
    /// Where that is widest, m.
    pub band: f64,
    /// Dye height.
    pub height: f64,
    /// Velocity of the pattern that departures are measured from, m/s: the ideal one of a uniform gap.
    pub ideal: Vec<[f64; 2]>,
    /// Its stream function, m3/s.
    pub stream: Vec<f64>,
    /// The effects.
    pub contributions: Vec<Contribution>,
    /// Measures of each effect at the dye height.
    pub at_height: Vec<Measures>,
    /// Measures of each effect on the gap mean.
    pub gap_mean: Vec<Measures>,
    /// Measures of everything together, at the dye height and on the gap mean.
    pub total: [Measures; 2],
    /// Measures of everything but confinement at the dye height: what the cell itself does.
    pub cell_alone: Measures,
    /// Numerical errors of the measures at the dye height: of each effect, of everything, and of everything but confinement.
    pub errors: BudgetErrors,
    /// The verdict.
    pub verdict: Verdict,
    /// How far the series of inertia goes.
    numbers: Numbers,
    /// Where tolerances are first exceeded.
    pub thresholds: Vec<Threshold>,
    /// Rows of the sweep.
    pub sweep: Vec<SweepRow>,
    /// The pattern with the Kutta circulation, for sections with a sharp tail.
    pub circulation: Option<Circulation>,
    /// What the bubbles in the cell do, if there are any.
    pub bubbles: Option<BubblesFound>,
    /// Obstacles with sharp corners whose circulation is left out.
    pub without_tail: Vec<NoTail>,
    /// Reduced Reynolds number at which the local inertia number first reaches one in the observation region.
    pub first_order_limit: Option<f64>,
    /// What does not apply, and why.
    pub notes: Vec<String>,
}

/// The effects of the flow between the plates.
pub(super) struct Plates {
    /// Where they are measured.
    pub region: Region,
    /// Dye height.
    pub height: f64,
    /// Velocity of the ideal pattern of a uniform gap, m/s.
    pub ideal: Vec<[f64; 2]>,
    /// Its stream function, m3/s.
    pub stream: Vec<f64>,
    /// Numerical error of its speed, fraction of U.
    pub error: f64,
    /// The same over its own departure from uniform flow.
    pub relative: f64,
    /// The effects.
    pub contributions: Vec<Contribution>,
    /// What does not apply, and why.
    pub notes: Vec<String>,
}

impl Study {
    /// Makes the departure budget; the study must have been solved with inertia and edge layer.
    ///
    /// # Errors
    /// [`crate::base::Error::NoConvergence`] if a solver does not come to its end, [`crate::base::Error::Failed`] if glycerol in a sweep is
    /// out of its range.
    pub fn budget(&self, watch: &(dyn Fn(Stage) + Sync)) -> Result<Budget> {
        let mut budget = self.measured(watch)?;
        budget.complete(self)?;
        Ok(budget)
    }

    /// The effects of the flow between the plates, and what they are measured from; fluid within a margin of solid edges is left out.
    ///
    /// # Errors
    /// [`crate::base::Error::NoConvergence`] if a solver does not come to its end.
    pub(super) fn plates(&self, margin: Margin) -> Result<Plates> {
        let space = &self.solved.space;
        let height = shown_height(self.case.streaklines.height);
        let speed = self.pattern.drive.mean_speed;
        let mut notes = Vec::new();
        let uniform = if space.uniform_gap() { None } else { Some(self.level()?) };
        let Pattern { velocity, stream_function, .. } = uniform.as_ref().unwrap_or(&self.pattern);
        let (ideal, stream) = (velocity.clone(), stream_function.clone());
        let region = self.unit.region()?.with_margin(space, margin);
        let shape = self.pattern.shape_factor.value;
        let error =
            velocity_error(space, &self.solved.pair.bracket_density, shape, &region, self.case.cell.inlet_width());
        let tolerance = &self.case.tolerance;
        let reference = Reference { space, region: &region, velocity: &ideal, speed, tolerance };
        let own = reference.speed_rms(&ideal.iter().map(|v| [speed - v[0], -v[1]]).collect::<Vec<_>>());
        let relative = relative_error(error, own);
        let mut contributions = Vec::new();
        self.add_edge_layer(&reference, relative, &mut contributions, &mut notes);
        self.add_inertia(&reference, height, relative, &mut contributions);
        if uniform.is_some() {
            let departure = plane::differences(&self.pattern.velocity, &ideal);
            contributions.push(Contribution {
                effect: Effect::Gap,
                parts: vec![still_part(departure, 0)],
                numerical_error: error,
                neglected: None,
            });
        }
        Ok(Plates { region, height, ideal, stream, error, relative, contributions, notes })
    }

    /// The budget with neither thresholds nor sweep, which no verdict needs.
    pub(super) fn measured(&self, watch: &(dyn Fn(Stage) + Sync)) -> Result<Budget> {
        let space = &self.solved.space;
        let margin = self.case.edge_band.map_or(Margin::REACH, Margin::Length);
        let Plates { region, height, ideal, stream, error, relative, mut contributions, mut notes } =
            self.plates(margin)?;
        let (tolerance, speed) = (&self.case.tolerance, self.pattern.drive.mean_speed);
        let reference = Reference { space, region: &region, velocity: &ideal, speed, tolerance };
        let bubbles = self.add_bubbles(&reference, relative, watch, &mut contributions)?;
        self.add_confinement(&ideal, error, watch, &mut contributions, &mut notes)?;

        let measure_all = |view: View| -> Vec<Measures> {
            contributions.iter().map(|c| reference.measure_together([c], Scale::ONE, view)).collect()
        };
        let (at_height, gap_mean) = (measure_all(View::AtHeight), measure_all(View::GapMean));
        let everything =
            [View::AtHeight, View::GapMean].map(|view| reference.measure_together(&contributions, Scale::ONE, view));
        let cell_alone = reference.measure_together(of_the_plates(&contributions), Scale::ONE, View::AtHeight);
        let largest = self
            .inertia
            .as_ref()
            .map_or(0.0, |inertia| region.vertices.iter().map(|&v| inertia.number[v]).fold(0.0, f64::max));
        let first_order_limit = (largest > 0.0).then(|| self.reynolds.reduced * LIMIT / largest);
        let edge = |inertia: &Inertia| inertia.edge_number(space, &self.case.fluid);
        let numbers =
            Numbers { reduced: self.reynolds.reduced, local: largest, edge: self.inertia.as_ref().map_or(0.0, edge) };
        let tails = sharp_tails(space);
        let circulation = self.unit.circulation()?;
        let circulation = circulation.as_ref().as_ref().map(|unit| unit.scaled(speed, &self.case.fluid));
        let of_velocity = |error: f64| Errors::of_velocity(error, self.case.cell.mean_way());
        let errors = BudgetErrors {
            each: contributions.iter().map(|c| of_velocity(c.numerical_error)).collect(),
            total: of_velocity(numerical_error(&contributions)),
            cell_alone: of_velocity(numerical_error(of_the_plates(&contributions))),
        };
        let verdict = verdict(&contributions, &at_height, &cell_alone, &errors.cell_alone, tolerance, &self.reynolds);
        Ok(Budget {
            margin,
            band: margin.widest(space),
            height,
            contributions,
            at_height,
            gap_mean,
            total: everything,
            cell_alone,
            errors,
            verdict,
            numbers,
            thresholds: Vec::new(),
            sweep: Vec::new(),
            circulation,
            bubbles,
            without_tail: tails.left_out,
            first_order_limit,
            notes,
            region,
            stream,
            ideal,
        })
    }

    /// The pattern of a uniform gap on the same mesh at the same mean speed.
    fn level(&self) -> Result<Pattern> {
        let space = &self.solved.space;
        let gap = Gap::Uniform(space.reference_gap);
        let case = self.case.in_gap(gap).at_mean_speed(self.pattern.drive.mean_speed);
        Ok(self.unit.level()?.scaled(space, &case, self.reynolds.reference_length))
    }

    fn add_edge_layer(
        &self,
        reference: &Reference,
        relative: f64,
        list: &mut Vec<Contribution>,
        notes: &mut Vec<String>,
    ) {
        let Some(layer) = &self.edge_layer else { return };
        let departure = layer.change_at_speed(&self.pattern);
        let measured = reference.speed_rms(&departure);
        let numerical_error = correction_error(Degree::Linear, relative, measured);
        let neglected = match self.moved.as_deref() {
            Some(Ok(moved)) => {
                let (ideal, first_order) = (self.pattern.shape_factor.value, layer.shape_factor);
                edge_layer_neglected(measured, &ShapeFactors { ideal, first_order, moved: moved.shape_factor })
            }
            Some(Err(error)) => {
                notes.push(format!("the size of what the edge layer neglects is unknown: {}", error.what()));
                None
            }
            None => None,
        };
        list.push(Contribution {
            effect: Effect::EdgeLayer,
            parts: vec![still_part(departure, 1)],
            numerical_error,
            neglected,
        });
    }

    fn add_inertia(&self, reference: &Reference, height: f64, relative: f64, list: &mut Vec<Contribution>) {
        let Some(inertia) = &self.inertia else { return };
        let mut contribution = Contribution {
            effect: Effect::Inertia,
            parts: inertia_parts(inertia, height),
            numerical_error: 0.0,
            neglected: None,
        };
        let rms = |departure: &[[f64; 2]]| reference.speed_rms(departure);
        let whole = rms(&contribution.departure(Scale::ONE, View::AtHeight));
        let of_order = |order: i32| rms(&contribution.departure_of(order, Scale::ONE, View::AtHeight));
        let sizes = InertiaSizes {
            whole,
            edge_part: rms(&inertia.edge_part),
            next_part: inertia.next_part.as_deref().map(rms),
            orders: inertia.second.as_ref().map(|_| [of_order(1), of_order(2)]),
        };
        contribution.neglected = Some(inertia_neglected(&sizes, self.solved.space.reference_gap, &self.reynolds));
        let of_bends = bend_error(&self.solved.space, sizes.next_part.unwrap_or(0.0));
        contribution.numerical_error = correction_error(Degree::Quadratic, relative, whole).hypot(of_bends);
        list.push(contribution);
    }

    fn add_confinement(
        &self,
        ideal: &[[f64; 2]],
        error: f64,
        watch: &(dyn Fn(Stage) + Sync),
        list: &mut Vec<Contribution>,
        notes: &mut Vec<String>,
    ) -> Result<()> {
        match self.unit.unconfined(watch)?.as_ref() {
            Some(free) => {
                let free = free.scaled(self.pattern.drive.mean_speed);
                let departure = plane::differences(ideal, &free.velocity);
                list.push(Contribution {
                    effect: Effect::Confinement,
                    parts: vec![still_part(departure, 0)],
                    numerical_error: error.hypot(free.numerical_error).hypot(free.change),
                    neglected: None,
                });
            }
            None => notes.push(match self.plan.rectangle() {
                Some(_) => "confinement does not apply: an obstacle stands on a side wall, or there is none".into(),
                None => "confinement is left out: the same obstacles in an unbounded stream are computed for rectangular cells only".into(),
            }),
        }
        Ok(())
    }

    fn sweep_rows(
        &self,
        reference: &Reference,
        contributions: &[Contribution],
        numbers: Numbers,
    ) -> Result<Vec<SweepRow>> {
        let Some(sweep) = &self.case.sweep else { return Ok(Vec::new()) };
        let fluid = &self.case.fluid;
        let reduced_reynolds = self.reynolds.reduced;
        let origin = Origin {
            reduced_reynolds,
            mean_speed: self.pattern.drive.mean_speed,
            gap: self.solved.space.reference_gap,
            kinematic_viscosity: fluid.kinematic_viscosity(),
            temperature: fluid.temperature().unwrap_or(293.15),
        };
        let row = |swept| SweepRow::new(reference, contributions, swept, numbers);
        Ok(scales(sweep, &origin)?.into_par_iter().map(row).collect())
    }
}

impl Budget {
    /// What departures of a study are measured from.
    pub(super) fn reference<'a>(&'a self, study: &'a Study) -> Reference<'a> {
        Reference {
            space: &study.solved.space,
            region: &self.region,
            velocity: &self.ideal,
            speed: study.pattern.drive.mean_speed,
            tolerance: &study.case.tolerance,
        }
    }

    /// Adds thresholds and sweep.
    pub(super) fn complete(&mut self, study: &Study) -> Result<()> {
        let reference = self.reference(study);
        let gap = study.solved.space.reference_gap;
        let thresholds = thresholds(&reference, &self.contributions, &study.reynolds, gap, self.numbers);
        let sweep = study.sweep_rows(&reference, &self.contributions, self.numbers)?;
        (self.thresholds, self.sweep) = (thresholds, sweep);
        Ok(())
    }

    /// Takes the errors from the same budget on a coarser mesh, and judges anew.
    pub fn compare(&mut self, study: &Study, coarse: &CoarseBudget) {
        let ratio = (study.solved.space.mesh.triangles.len() as f64 / coarse.triangles as f64).sqrt();
        let better = |errors: &mut Errors, fine: &Measures, coarse: &Measures| {
            *errors = Errors::from_two_meshes(fine, coarse, ratio, errors);
        };
        for ((errors, contribution), fine) in self.errors.each.iter_mut().zip(&self.contributions).zip(&self.at_height)
        {
            if let Some((_, measures)) = coarse.each.iter().find(|(effect, _)| *effect == contribution.effect) {
                better(errors, fine, measures);
            }
        }
        better(&mut self.errors.total, &self.total[0], &coarse.total);
        better(&mut self.errors.cell_alone, &self.cell_alone, &coarse.cell_alone);
        for section in self.circulation.iter_mut().flat_map(|circulation| &mut circulation.sections) {
            if let Some(other) = coarse.lifting.iter().find(|other| other.obstacle == section.obstacle) {
                section.compare(other, ratio);
            }
        }
        let errors = &self.errors.cell_alone;
        let Study { case, reynolds, .. } = study;
        self.verdict =
            verdict(&self.contributions, &self.at_height, &self.cell_alone, errors, &case.tolerance, reynolds);
    }

    /// Its measures, for comparison with a finer mesh.
    pub fn coarse(&self, study: &Study) -> CoarseBudget {
        CoarseBudget {
            triangles: study.solved.space.mesh.triangles.len(),
            each: self.contributions.iter().map(|c| c.effect).zip(self.at_height.iter().copied()).collect(),
            total: self.total[0],
            cell_alone: self.cell_alone,
            lifting: self.circulation.iter().flat_map(|circulation| circulation.sections.iter().cloned()).collect(),
        }
    }

    /// How much there is of an effect's change of speed.
    pub fn speed_standing(&self, effect: usize, tolerance: &Tolerance) -> Standing {
        Standing::of(self.at_height[effect].speed.judged, self.errors.each[effect].speed, tolerance.speed)
    }

    /// Which way its departures are gone where a bubble is among them.
    pub fn way(&self) -> Way {
        Way::of(&self.contributions)
    }

    /// The ideal pattern with everything together at a scale, at the dye height, m/s for the case's own mean speed; the bubbles stand in that
    /// pattern already.
    pub fn observed(&self, scale: Scale) -> Vec<[f64; 2]> {
        let others = self.contributions.iter().filter(|c| c.effect != Effect::Bubble);
        plane::sums(&self.ideal, &total(others, self.ideal.len(), scale, View::AtHeight))
    }

    /// All but confinement at a scale, at the dye height, m/s for the case's own mean speed.
    pub fn against_same_cell(&self, scale: Scale) -> Vec<[f64; 2]> {
        total(of_the_plates(&self.contributions), self.ideal.len(), scale, View::AtHeight)
    }

    /// Everything together at a scale, at the dye height, m/s for the case's own mean speed.
    pub fn departure(&self, scale: Scale) -> Vec<[f64; 2]> {
        total(&self.contributions, self.ideal.len(), scale, View::AtHeight)
    }
}

/// Measures of a budget at the dye height, for comparison with a finer mesh.
#[derive(Debug, Clone, PartialEq)]
pub struct CoarseBudget {
    triangles: usize,
    each: Vec<(Effect, Measures)>,
    total: Measures,
    cell_alone: Measures,
    lifting: Vec<Section>,
}

impl CoarseBudget {
    /// Triangles of its mesh.
    pub fn triangles(&self) -> usize {
        self.triangles
    }
}

/// Name of a swept quantity with its unit, as a column head.
pub(crate) fn swept(quantity: SweepQuantity) -> &'static str {
    match quantity {
        SweepQuantity::ReducedReynolds => "reduced_reynolds",
        SweepQuantity::MeanSpeed => "mean_speed_m_per_s",
        SweepQuantity::Gap => "gap_m",
        SweepQuantity::GlycerolMassFraction => "glycerol_mass_fraction",
    }
}
