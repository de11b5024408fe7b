//! A drawn photograph through the front door, and how far what was found is from the truth.

use crate::draw::case_text::photo_case;
use crate::draw::flow::{Channel, Pier};
use crate::draw::picture::Picture;
use crate::draw::scenarios::{Scenario, photo};
use crate::draw::truth::{STEP, Truth};
use std::collections::BTreeSet;
use std::path::Path;
use twinplate::base::error::Problems;
use twinplate::bench::lines::{Ideal, Line, levelled, speed_changes};
use twinplate::input::case::{Case, parse};
use twinplate::study::{Comparison, Found, LinesFound, Material, Wish, compare_measured};
use twinplate::theory::ideal::Goal;
use twinplate::{Error, Plan, Result};

/// Fine enough: the mesh then adds some 2e-6 m to shifts, a tenth of what is looked for.
pub const TRIANGLES: usize = 40_000;

/// A photograph, drawn and compared.
pub struct Shot {
    pub scenario: Scenario,
    pub truth: Truth,
    pub found: Comparison,
}

/// How far what was found is from the truth, root mean squares.
#[derive(Debug)]
pub struct Off {
    /// The map over the grid of the truth, m.
    pub map: f64,
    /// What it says of itself over that, and the share of the grid within twice that.
    pub said: f64,
    pub within: f64,
    /// Middles of lines, pixels, and the farthest.
    pub centre: f64,
    pub centre_most: f64,
    /// Shifts, m.
    pub shift: f64,
    /// Degrees.
    pub direction: f64,
    /// Parts of U.
    pub speed: f64,
    /// Amplitude of the edge layer and its standard error.
    pub edge: [f64; 2],
}

fn rms(list: &[f64]) -> f64 {
    assert!(!list.is_empty());
    (list.iter().map(|x| x * x).sum::<f64>() / list.len() as f64).sqrt()
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// A scenario in 1200 by 900 pixels, where lines are some 4 px wide.
pub fn scenario(name: &str) -> Scenario {
    photo(name, 0.75).unwrap()
}

pub fn case_of(text: &str, folder: &Path, name: &str) -> (Case, Plan) {
    let case = parse(text, &folder.join(format!("{name}.toml"))).into_result().unwrap();
    let plan = Plan::new(&case, &mut Problems::default()).unwrap();
    (case, plan)
}

/// Compares a picture with the case that its text states.
pub fn compared(text: &str, name: &str, picture: &Picture, wish: &Wish) -> Result<Comparison> {
    let folder = tempfile::tempdir().unwrap();
    let file = std::fs::File::create(folder.path().join(format!("{name}.png"))).unwrap();
    picture.write_png(file).unwrap();
    let (case, plan) = case_of(text, folder.path(), name);
    let material = Material::read(&case, None)?;
    let map = material.calibrate(&case)?;
    let wish = Wish { goal: Some(wish.goal.unwrap_or(Goal::Triangles(TRIANGLES))), ..*wish };
    compare_measured(case, plan.into(), material, map, &wish, &|_| {})
}

/// Draws a scenario and compares it.
pub fn shot_of(scenario: Scenario, wish: &Wish, text: impl Fn(String) -> String) -> Shot {
    let truth = Truth::new(&scenario.scene);
    let picture = scenario.scene.draw(&truth);
    let found = compared(&text(photo_case(&scenario, &truth)), scenario.name, &picture, wish);
    Shot { found: found.unwrap_or_else(|error: Error| panic!("{}: {error}", scenario.name)), scenario, truth }
}

pub fn shot(name: &str) -> Shot {
    shot_of(scenario(name), &Wish::default(), |text| text)
}

impl Shot {
    pub fn lines(&self) -> &LinesFound {
        match &self.found.found {
            Found::Lines(found) => found,
            Found::Tracks(_) => panic!("a photograph holds lines"),
        }
    }

    /// Numbers of the lines, each once: one that is not to be seen beside a pier comes in two parts.
    pub fn numbers(&self) -> impl Iterator<Item = i64> {
        let numbers: BTreeSet<i64> = self.lines().lines.iter().map(|line| line.number).collect();
        numbers.into_iter()
    }

    /// The lines with the true places, on the exact ideal flow of the case.
    fn exact(&self) -> Vec<Line> {
        let cell = &self.scenario.scene.cell;
        let piers: Vec<Pier> = self.scenario.stated.iter().map(|(_, pier)| *pier).collect();
        let ideal = Channel::in_cell(cell.width, 0.0, &piers);
        let exact = |line: &Line| {
            let curve = &self.truth.lines[line.number as usize - 1].curve;
            let mut line = line.clone();
            line.level = ideal.at(curve.places[0]).0;
            for station in &mut line.stations {
                let near = |k: &usize| curve.near(*k, station.at);
                let vertex = (0..curve.places.len()).min_by(|a, b| near(a).total_cmp(&near(b))).unwrap();
                let [_, arc] = curve.nearest(vertex, station.at);
                // chords of 0.5 mm leave 2e-6 m of the bends
                let (k, t) = ((arc / STEP) as usize, (arc / STEP).fract());
                let ends = [k, (k + 1).min(curve.places.len() - 1)].map(|k| curve.places[k]);
                station.at = [0, 1].map(|axis| (1.0 - t) * ends[0][axis] + t * ends[1][axis]);
                let (psi, v) = ideal.at(station.at);
                (station.psi, station.speed) = (psi, v[0].hypot(v[1]));
                station.shift = (psi - line.level) / station.speed;
            }
            line
        };
        self.lines().lines.iter().map(exact).collect()
    }

    /// Distances of stations from the lines as drawn, pixels; upstream of its tip a needle itself is seen.
    pub fn centres(&self) -> Vec<f64> {
        let off = |line: &Line| -> Vec<f64> {
            let drawn = &self.truth.lines[line.number as usize - 1].pixels;
            let of = |at: [f64; 2]| {
                let way = |pair: &[[f64; 2]]| {
                    let [a, b] = [pair[0], pair[1]];
                    let along = [b[0] - a[0], b[1] - a[1]];
                    let size = along[0] * along[0] + along[1] * along[1];
                    let t = ((at[0] - a[0]) * along[0] + (at[1] - a[1]) * along[1]) / size;
                    apart(at, [0, 1].map(|k| a[k] + t.clamp(0.0, 1.0) * along[k]))
                };
                drawn.windows(2).map(way).fold(f64::INFINITY, f64::min)
            };
            let fed = line.stations.iter().filter(|station| station.at[0] > self.scenario.scene.needles.x);
            fed.filter_map(|station| Some(of(station.seen?.pixel))).collect()
        };
        self.lines().lines.iter().flat_map(off).collect()
    }

    pub fn off(&self) -> Off {
        let (found, map) = (self.lines(), self.found.calibration.as_ref().unwrap());
        let grid = &self.truth.map;
        let off: Vec<f64> = grid.iter().map(|[place, pixel]| apart(map.point(*pixel).unwrap(), *place)).collect();
        let said: Vec<f64> = grid.iter().map(|[place, _]| map.map_sigma(*place).unwrap()).collect();
        let within = off.iter().zip(&said).filter(|(off, said)| *off < &(2.0 * *said)).count();
        let exact = self.exact();
        let (mut shifts, mut turns) = (Vec::new(), Vec::new());
        for (line, exact) in found.lines.iter().zip(&exact) {
            let [a, b] = [line, exact].map(|line| levelled(line, &line.shifts()));
            shifts.extend(a.iter().zip(&b).map(|(a, b)| a - b));
            let pairs = line.directions(&a).into_iter().zip(exact.directions(&b));
            turns.extend(pairs.filter_map(|(a, b)| Some((a? - b?).to_degrees())));
        }
        let ideal = Ideal::new(&self.found.study.solved.space, &found.stream, self.scenario.scene.cell.width);
        let speeds: Vec<f64> = speed_changes(&ideal, &exact)
            .iter()
            .filter_map(|exact| {
                let own = found.speeds.iter().find(|own| (own.lines, own.station) == (exact.lines, exact.station))?;
                Some(own.change - exact.change)
            })
            .collect();
        let centres = self.centres();
        let edge = found.fit.of("edge_layer").unwrap();
        Off {
            map: rms(&off),
            said: rms(&said) / rms(&off),
            within: within as f64 / grid.len() as f64,
            centre: rms(&centres),
            centre_most: centres.iter().copied().fold(0.0, f64::max),
            shift: rms(&shifts),
            direction: rms(&turns),
            speed: rms(&speeds),
            edge: [edge.value, edge.sigma],
        }
    }
}
