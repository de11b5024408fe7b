//! Lines of dye against theory.

use super::pressure::{Pressures, pressures};
use super::wish::Wish;
use crate::base::plane::{dot, length};
use crate::base::{Point, Result, warning::Warning};
use crate::bench::lines::{
    AMPLITUDE_FLOOR, Against, Column, Course, Evidence, Fit, Found, Ideal, Line, Prediction, Size, SpeedChange,
    Verdict, Worst, explain, found_obstacles, left_over, levelled, observe, obstacle_columns, predict,
    predicted_speeds, sigmas, size, speed_changes, taper_column, together, verdict, worst,
};
use crate::bench::photo::Calibration;
use crate::bench::statistics::rms;
use crate::input::case::{CompareSettings, StreaklineSettings};
use crate::study::budget::Plates;
use crate::study::{Settings, Shared, Study};
use crate::theory::departure::Effect;
use crate::theory::edge_layer::{Margin, displacement_thickness};
use crate::theory::ideal::{Goal, Stage};
use std::sync::Arc;

/// Part of the noise of a station below which the prediction of an effect is not looked for.
const FELT: f64 = 0.1;

/// Triangles of a mesh over those of the one that tells its error.
const STEP: usize = 3;

/// Part of the distance between needles within which a line is the one of a needle.
const OWN: f64 = 0.4;

/// Steps from the drawing to where an obstacle stands.
const MOVES: usize = 3;

/// Lines against one theory.
#[derive(Debug, Clone, PartialEq)]
pub struct AgainstTheory {
    /// Shifts and directions.
    pub against: Against,
    /// Speeds between neighbours, fractions of U; none unless two neighbours start from needles.
    pub speed: Option<Size>,
}

/// What lines say.
#[derive(Debug, Clone)]
pub struct LinesFound {
    /// The lines on the ideal pattern.
    pub lines: Vec<Line>,
    /// How far from solid edges lines are looked at, m.
    pub band: f64,
    /// Stream function of the ideal pattern at the vertices, as a distance across the flow, m.
    pub stream: Vec<f64>,
    /// What each effect predicts.
    pub predictions: Vec<Prediction>,
    /// What all effects together predict, m.
    pub all: Vec<Vec<f64>>,
    /// Against each theory, the ideal pattern first.
    pub against: Vec<AgainstTheory>,
    /// The amplitudes of the effects.
    pub fit: Fit,
    /// Names of effects that are too small to be looked for.
    pub unfelt: Vec<String>,
    /// With every effect as predicted, the map free.
    pub as_predicted: Fit,
    /// Where obstacles stand, if that was asked for.
    pub obstacles: Vec<Found>,
    /// The place that stands aside the most.
    pub worst: Option<Worst>,
    /// The verdict.
    pub verdict: Verdict,
    /// Standard deviation of the map across each station, m; zero without a photograph.
    pub map_sigma: Vec<Vec<f64>>,
    /// Numerical error of shifts, m.
    pub numerical: f64,
    /// Speeds between neighbours that start from needles.
    pub speeds: Vec<SpeedChange>,
    /// The pressure from the picture.
    pub pressures: Pressures,
}

impl LinesFound {
    /// Root mean square of the map's standard deviation across the lines, m.
    pub fn map_rms(&self) -> f64 {
        rms(&self.map_sigma.concat())
    }

    /// Warnings of the verdict.
    pub fn warnings(&self) -> &[Warning] {
        &self.verdict.warnings
    }
}

/// Compares courses of lines with a study that was solved with its corrections.
pub(super) fn compare_lines(
    study: &Study,
    plates: &Plates,
    courses: &[Course],
    map: Option<&Calibration>,
    wish: &Wish,
    watch: &(dyn Fn(Stage) + Sync),
) -> Result<LinesFound> {
    let settings = &study.case.compare;
    let ideal = ideal_of(study, plates);
    let margin = margin(study);
    let lines = observe(&ideal, courses, margin);
    let (predictions, all) = predicted(study, plates, &ideal, &lines, wish);
    let modes = modes_of(&ideal, &lines, map, settings);
    let as_predicted = explain(&lines, Some(&all), &modes)?;
    let stood =
        if wish.obstacles || settings.obstacles { Some(stand(study, courses, map, wish, watch)?) } else { None };
    let (obstacles, moved) = stood.unwrap_or_default();
    let moves = if obstacles.is_empty() { Moves::None } else { Moves::Free };
    // where obstacles stand elsewhere, effects are those of the cell as it stands
    let (fit, unfelt) = match &moved {
        None => amplitudes(study, &ideal, &lines, &predictions, &modes, moves)?,
        Some(moved) => {
            let plates = moved.plates(margin)?;
            let ideal = ideal_of(moved, &plates);
            let lines = observe(&ideal, courses, margin);
            let (predictions, _) = predicted(moved, &plates, &ideal, &lines, wish);
            amplitudes(moved, &ideal, &lines, &predictions, &modes_of(&ideal, &lines, map, settings), moves)?
        }
    };
    let speeds = speed_changes(&ideal, &lines);
    let against = against(study, plates, &ideal, &lines, &predictions, &all, &speeds);
    let sigma = sigmas(&lines, as_predicted.noise, &modes);
    let worst = worst(&study.solved.space.mesh, &lines, &left_over(&lines, Some(&all)), &sigma);
    let numerical = numerical(study, &ideal, &lines, watch)?;
    let map_sigma = sigmas(&lines, 0.0, &modes);
    let evidence = Evidence {
        ideal: &against[0].against,
        fit: &fit,
        obstacles: &obstacles,
        worst: worst.as_ref(),
        map_sigma: map.map(|_| rms(&map_sigma.concat())),
        displacement: displacement_thickness(study.solved.space.reference_gap),
        numerical,
    };
    let verdict = verdict(&evidence);
    let pressures = pressures(study, &lines, &speeds, fit.noise);
    Ok(LinesFound {
        band: margin.widest(&study.solved.space),
        stream: ideal.stream().to_vec(),
        lines,
        predictions,
        all,
        against,
        fit,
        unfelt,
        as_predicted,
        obstacles,
        worst,
        verdict,
        map_sigma,
        numerical,
        speeds,
        pressures,
    })
}

/// How far from solid edges lines are looked at.
pub(super) fn margin(study: &Study) -> Margin {
    study.case.compare.edge_band.or(study.case.edge_band).map_or(Margin::REACH, Margin::Length)
}

/// The ideal pattern on the mesh of a study.
pub(super) fn ideal_of<'a>(study: &'a Study, plates: &Plates) -> Ideal<'a> {
    Ideal::new(&study.solved.space, &plates.stream, study.case.cell.inlet_width())
}

/// Levels of the needles of a case on its ideal pattern, m; none without needles.
pub(super) fn needle_levels(settings: &StreaklineSettings, ideal: &Ideal) -> Option<Vec<f64>> {
    let starts = settings.seeding.starts()?;
    let mut levels: Vec<f64> = starts.places.iter().map(|&at| ideal.nearest(at).psi).collect();
    levels.sort_by(f64::total_cmp);
    Some(levels)
}

/// Gives each line of a table the level of its needle: the one nearest to its own, if no other line has that.
pub(super) fn levelled_by_needles(courses: &mut [Course], levels: &[f64], ideal: &Ideal) {
    let spacing = levels.windows(2).map(|pair| pair[1] - pair[0]).fold(f64::INFINITY, f64::min);
    let own = |course: &Course| -> Option<f64> {
        let first = course.stations.iter().find_map(|station| ideal.at(station.at, None))?;
        let nearest = levels.iter().copied().min_by(|a, b| (a - first.psi).abs().total_cmp(&(b - first.psi).abs()))?;
        ((nearest - first.psi).abs() < OWN * spacing).then_some(nearest)
    };
    let found: Vec<Option<f64>> = courses.iter().map(own).collect();
    for (course, level) in courses.iter_mut().zip(&found) {
        course.level = level.filter(|_| found.iter().filter(|other| *other == level).count() == 1);
    }
}

fn of_effect(prediction: &Prediction) -> Column {
    Column { name: prediction.key(), shifts: prediction.shifts.clone(), prior: None, floor: AMPLITUDE_FLOOR }
}

/// Predictions of the effects that are wanted, and their sum.
fn predicted(
    study: &Study,
    plates: &Plates,
    ideal: &Ideal,
    lines: &[Line],
    wish: &Wish,
) -> (Vec<Prediction>, Vec<Vec<f64>>) {
    let mut predictions = predict(ideal, lines, &plates.contributions, study.pattern.drive.mean_speed);
    predictions.retain(|prediction| wish.theory.holds(prediction.effect));
    let whole = predictions.iter().filter(|p| p.order.is_none()).map(|p| &p.shifts);
    let all = together(whole, lines);
    (predictions, all)
}

/// Shifts by one standard deviation of each mode of the map.
fn map_columns(ideal: &Ideal, lines: &[Line], map: &Calibration) -> Vec<Column> {
    let across = |line: &Line| -> Vec<Vec<f64>> {
        let of = |station: &crate::bench::lines::Observed| -> Vec<f64> {
            let (Some(modes), Some(at)) = (map.modes(station.at), ideal.at(station.at, None)) else {
                return Vec::new();
            };
            modes.iter().map(|off| dot(*off, at.slope) / length(at.slope)).collect()
        };
        line.stations.iter().map(of).collect()
    };
    let stations: Vec<Vec<Vec<f64>>> = lines.iter().map(across).collect();
    let count = stations.iter().flatten().map(Vec::len).max().unwrap_or(0);
    let column = |mode: usize| {
        let of_line = |line: &Vec<Vec<f64>>| line.iter().map(|of| of.get(mode).copied().unwrap_or(0.0)).collect();
        let shifts = stations.iter().map(of_line).collect();
        Column { name: format!("map {}", mode + 1), shifts, prior: Some(1.0), floor: 0.0 }
    };
    (0..count).map(column).collect()
}

/// The fit of columns; of those that look the same on these lines the weakest without a prior is dropped.
fn explain_apart(lines: &[Line], mut columns: Vec<Column>) -> Result<Fit> {
    loop {
        let error = match explain(lines, None, &columns) {
            Ok(fit) => return Ok(fit),
            Err(error) => error,
        };
        let free = columns.iter().enumerate().filter(|(_, column)| column.prior.is_none());
        let sizes = free.map(|(k, column)| (k, rms(&column.shifts.concat())));
        match sizes.min_by(|a, b| a.1.total_cmp(&b.1)) {
            Some((weakest, _)) => columns.remove(weakest),
            None => return Err(error),
        };
    }
}

/// Whether obstacles may stand elsewhere while amplitudes are fitted.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Moves {
    None,
    Free,
}

/// Amplitudes of the effects on lines, and the names of those too small to be looked for.
fn amplitudes(
    study: &Study,
    ideal: &Ideal,
    lines: &[Line],
    predictions: &[Prediction],
    modes: &[Column],
    moves: Moves,
) -> Result<(Fit, Vec<String>)> {
    let noise = explain(lines, None, modes)?.noise;
    let size = |p: &Prediction| rms(&lines.iter().zip(&p.shifts).flat_map(|(l, s)| levelled(l, s)).collect::<Vec<_>>());
    let whole = || predictions.iter().filter(|prediction| prediction.order.is_none());
    let (felt, unfelt): (Vec<_>, Vec<_>) = whole().partition(|prediction| size(prediction) > FELT * noise);
    let operator = &study.solved.pair.pressure_operator;
    let mut columns: Vec<Column> = felt.into_iter().map(of_effect).collect();
    if moves == Moves::Free {
        // growth is the edge layer's, so that moves alone stand beside it
        let all = obstacle_columns(ideal, lines, operator, &study.pattern)?;
        columns.extend(all.into_iter().filter(|column| !column.name.ends_with("growth")));
    }
    if study.case.compare.taper {
        columns.push(taper_column(ideal, lines, operator, &study.pattern)?);
    }
    columns.extend(modes.iter().cloned());
    Ok((explain_apart(lines, columns)?, unfelt.into_iter().map(Prediction::key).collect()))
}

/// The modes of the map as columns, if it may be off.
fn modes_of(ideal: &Ideal, lines: &[Line], map: Option<&Calibration>, settings: &CompareSettings) -> Vec<Column> {
    map.filter(|_| settings.map).map_or_else(Vec::new, |map| map_columns(ideal, lines, map))
}

/// Where obstacles stand, every effect as predicted, and the case solved with them there, if they moved far: again while they do.
fn stand(
    study: &Study,
    courses: &[Course],
    map: Option<&Calibration>,
    wish: &Wish,
    watch: &(dyn Fn(Stage) + Sync),
) -> Result<(Vec<Found>, Option<Study>)> {
    let goal = Some(Goal::Triangles(study.solved.space.mesh.triangles.len()));
    let settings = Settings { goal, inertia: true, edge_layer: true };
    let mut moved = vec![[0.0; 2]; study.plan.obstacles.len()];
    let mut own: Option<Study> = None;
    let mut found: Vec<Found> = Vec::new();
    for _ in 0..MOVES {
        let now = own.as_ref().unwrap_or(study);
        let plates = now.plates(margin(now))?;
        let ideal = ideal_of(now, &plates);
        let lines = observe(&ideal, courses, margin(now));
        let (_, all) = predicted(now, &plates, &ideal, &lines, wish);
        let mut columns = obstacle_columns(&ideal, &lines, &now.solved.pair.pressure_operator, &now.pattern)?;
        columns.extend(modes_of(&ideal, &lines, map, &study.case.compare));
        found = found_obstacles(&now.solved.space, &explain(&lines, Some(&all), &columns)?);
        let is_far = found.iter().any(|obstacle| obstacle.again);
        for (obstacle, moved) in found.iter_mut().zip(&mut moved) {
            for (axis, total) in moved.iter_mut().enumerate() {
                *total += obstacle.changes[axis].0;
                obstacle.changes[axis].0 = *total;
            }
        }
        if !is_far {
            break;
        }
        let plan = Arc::new(study.plan.with_moved(&moved));
        own = Some(Study::solve_unshown(study.case.clone(), plan, settings, &Shared::new(1), watch)?);
    }
    Ok((found, own))
}

fn against(
    study: &Study,
    plates: &Plates,
    ideal: &Ideal,
    lines: &[Line],
    predictions: &[Prediction],
    all: &[Vec<f64>],
    speeds: &[SpeedChange],
) -> Vec<AgainstTheory> {
    let mean = study.pattern.drive.mean_speed;
    let places: Vec<Point> = speeds.iter().map(|change| change.at).collect();
    let of = |effects: &[Effect]| predicted_speeds(ideal, lines, &places, &plates.contributions, effects, mean);
    let speed = |predicted: Option<Vec<f64>>| -> Option<Size> {
        let left = speeds
            .iter()
            .enumerate()
            .map(|(k, change)| (change.at, change.change - predicted.as_ref().map_or(0.0, |predicted| predicted[k])));
        (!speeds.is_empty()).then(|| size(&left.collect::<Vec<_>>()))
    };
    let mut list = vec![AgainstTheory { against: Against::new("ideal", lines, None), speed: speed(None) }];
    let whole: Vec<&Prediction> = predictions.iter().filter(|p| p.order.is_none()).collect();
    for prediction in &whole {
        let against = Against::new(prediction.key(), lines, Some(&prediction.shifts));
        list.push(AgainstTheory { against, speed: speed(Some(of(&[prediction.effect]))) });
    }
    if whole.len() > 1 {
        let effects: Vec<Effect> = whole.iter().map(|prediction| prediction.effect).collect();
        let against = Against::new("all", lines, Some(all));
        list.push(AgainstTheory { against, speed: speed(Some(of(&effects))) });
    }
    list
}

/// Numerical error of shifts by a mesh of a third of the triangles, m.
fn numerical(study: &Study, ideal: &Ideal, lines: &[Line], watch: &(dyn Fn(Stage) + Sync)) -> Result<f64> {
    let goal = Some(Goal::Triangles(study.solved.space.mesh.triangles.len() / STEP));
    let settings = Settings { goal, inertia: false, edge_layer: false };
    let coarse = Study::solve_unshown(study.case.clone(), study.plan.clone(), settings, &Shared::new(1), watch)?;
    let plates = coarse.plates(margin(&coarse))?;
    let places: Vec<Vec<Point>> =
        lines.iter().map(|line| line.stations.iter().map(|station| station.at).collect()).collect();
    Ok(ideal.error_from(&ideal_of(&coarse, &plates), &places))
}
