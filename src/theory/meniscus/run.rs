//! A filling from its first front to its end.

use super::front::{Ended, Front, Moment, Pocket};
use super::march::March;
use super::setup::{Drive, Setup};
use super::step::conductance;
use super::touch::{Closed, LEAST};
use crate::base::plane::{between, centroid, triangle_area};
use crate::base::{Error, Point, Result};

/// The filling ends when the front comes as near to the outlet as this over h.
const OUTLET: f64 = 2.0;
/// Areas must close to this share of the cell.
const BALANCE: f64 = 1e-9;

/// Follows a filling. `watch` is told the share of the cell that is wet after every step, and stops it by returning false.
///
/// # Errors
/// [`Error::Usage`] for numbers that make no sense and for plans whose inlet is no side between two walls; [`Error::Mesh`] and
/// [`Error::Failed`] where the loops of liquid and air cannot be kept, or after too many steps.
pub fn run(setup: &Setup, watch: &mut dyn FnMut(f64) -> bool) -> Result<Front> {
    setup.check()?;
    let mut march = March::new(setup)?;
    let mut pockets: Vec<Pocket> = Vec::new();
    let mut moments = vec![moment(&march, 0)?];
    let [first, cell] = [march.books.first, march.books.cell];
    let due = |k: usize| first + (cell - first) * k as f64 / (setup.snapshots + 1) as f64;
    let mut next = 1;
    let ended = loop {
        if march.steps >= setup.most_steps {
            return Err(Error::failed(
                format!("{} steps wetted {:.1} % of the cell", march.steps, 100.0 * march.books.wet / cell),
                "allow more steps, or larger edges of the front",
            ));
        }
        let closed = march.step()?;
        let time = time(&march);
        pockets.extend(closed.into_iter().map(|closed| pocket(closed, time)));
        let moving = || march.state.lines.iter().filter(|line| !line.frozen);
        let ended = if moving().next().is_none() {
            Some(Ended::Full)
        } else if moving().flat_map(|line| &line.nodes).any(|&p| march.sides.to_outlet(p) < OUTLET * setup.size) {
            Some(Ended::Outlet)
        } else if march.rests {
            Some(Ended::Rest)
        } else {
            (!watch(march.books.wet / cell)).then_some(Ended::Stopped)
        };
        if ended.is_some() || (next <= setup.snapshots && march.books.wet >= due(next)) {
            moments.push(moment(&march, pockets.len())?);
            while next <= setup.snapshots && march.books.wet >= due(next) {
                next += 1;
            }
        }
        if let Some(ended) = ended {
            break ended;
        }
    };
    let mut books = march.books;
    books.pockets = pockets.iter().map(|pocket| pocket.area).sum();
    books.dry = if ended == Ended::Full { 0.0 } else { march.state.dry_area(&march.sides)? };
    if books.gap().abs() > BALANCE * cell {
        return Err(Error::failed(
            format!("liquid, air and pockets differ from the cell by {:e} of it", books.gap() / cell),
            "try another size of the front's edges; if that does not help, fill without tension",
        ));
    }
    let h = setup.size;
    let unseen = [LEAST[0] * h, LEAST[1] * h * h];
    Ok(Front { moments, pockets, books, steps: march.steps, solves: march.solves, ended, unseen })
}

/// Time since the first front, s: from the wet area where the flow is given, so that it does not drift.
fn time(march: &March) -> f64 {
    match march.setup.drive {
        Drive::Flow => (march.books.wet - march.books.first) / (march.sides.inlet_length() * march.setup.speed),
        Drive::Head(_) => march.time / march.setup.speed,
    }
}

fn moment(march: &March, pockets: usize) -> Result<Moment> {
    let moving = march.state.lines.iter().filter(|line| !line.frozen);
    let fronts: Vec<Vec<Point>> = moving.map(|line| line.nodes.clone()).collect();
    let conductance = if fronts.is_empty() { 0.0 } else { conductance(&march.state, &march.wet)? };
    Ok(Moment {
        time: time(march),
        wet_area: march.books.wet,
        fronts,
        inlet_pressure: march.inlet_pressure,
        conductance,
        pockets,
    })
}

fn pocket(closed: Closed, time: f64) -> Pocket {
    let place = middle(&closed.polygon);
    let Closed { polygon, area, at, obstacles, on_wall } = closed;
    Pocket { polygon, place, area, time, closed_at: at, obstacles, on_wall }
}

/// The middle of a polygon's area.
fn middle(corners: &[Point]) -> Point {
    let Some((&origin, rest)) = corners.split_first() else { return [0.0; 2] };
    let (mut sum, mut place) = (0.0, origin);
    for pair in rest.windows(2) {
        let triangle = [origin, pair[0], pair[1]];
        let area = triangle_area(triangle);
        sum += area;
        if sum != 0.0 {
            place = between(place, centroid(triangle), area / sum);
        }
    }
    place
}
