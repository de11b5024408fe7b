//! Pressure from a picture of lines.
//!
//! Between neighbours d apart, d0 at the inlet, the ideal reading is `C_p = 1 - (|V|/U)²`; noise sigma_n of the centres makes of it, by m independent
//! stations, `sigma(C_p) = 2 √2 (|V|/U)³ sigma_n/(d0 √m)`: it grows with the cube of speed and with closer lines. What the cell really has
//! is the pressure along a line, `dp = -(12 mu/b²) ∫ V dl`, in which errors are averaged (Van Oudheusden 2013, Meas. Sci. Technol. 24,
//! 032001, from memory, for pressure from measured velocities at large).

use crate::base::Point;
use crate::base::plane::distance;
use crate::bench::lines::{Line, SpeedChange};
use crate::study::Study;
use std::collections::HashMap;

/// Pressure at a place between two lines.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coefficient {
    /// Numbers of the lines.
    pub lines: [i64; 2],
    /// Where, m.
    pub at: Point,
    /// |V|/U by the distance of the lines.
    pub speed: f64,
    /// 1 - (|V|/U)².
    pub value: f64,
    /// Its standard deviation by the noise of one station.
    pub sigma: f64,
}

/// Pressure from the picture.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Pressures {
    /// Between neighbours that start from needles.
    pub coefficients: Vec<Coefficient>,
    /// Along each line from its first station, Pa, at each of its stations; by the speeds between neighbours where they are known, else
    /// those of the ideal pattern.
    pub along: Vec<Vec<f64>>,
}

/// Pressures from the speeds between lines, whose centres have a noise, m.
pub(super) fn pressures(study: &Study, lines: &[Line], speeds: &[SpeedChange], noise: f64) -> Pressures {
    let level = |number: i64| lines.iter().find(|line| line.number == number).map(|line| line.level);
    let coefficient = |change: &SpeedChange| {
        let [lower, upper] = change.lines.map(level);
        let apart = upper? - lower?;
        let speed = change.ideal + change.change;
        let sigma = 2.0 * 2f64.sqrt() * speed.powi(3) * noise / apart;
        Some(Coefficient { lines: change.lines, at: change.at, speed, value: 1.0 - speed * speed, sigma })
    };
    let coefficients: Vec<Coefficient> = speeds.iter().filter_map(coefficient).collect();
    let mut seen: HashMap<i64, Vec<&SpeedChange>> = HashMap::new();
    for change in speeds {
        change.lines.iter().for_each(|line| seen.entry(*line).or_default().push(change));
    }
    let drive = &study.pattern.drive;
    let resistance = 12.0 * study.case.fluid.viscosity;
    let along = |line: &Line| -> Vec<f64> {
        let own = seen.get(&line.number).map_or(&[][..], Vec::as_slice);
        let spacing = line.spacing();
        let speed = |k: usize| {
            let station = &line.stations[k];
            // mean of what the lines on either side say beside the station
            let near = own.iter().filter(|change| distance(change.at, station.at) < change.apart.max(spacing));
            let (count, sum) = near.fold((0.0, 0.0), |(count, sum), change| (count + 1.0, sum + change.change));
            station.speed + if count > 0.0 { sum / count } else { 0.0 }
        };
        let mut pressure = 0.0;
        let gradient = |k: usize| {
            let gap = study.case.cell.gap.at(line.stations[k].at);
            resistance * drive.mean_speed * speed(k) / (gap * gap)
        };
        (0..line.stations.len())
            .map(|k| {
                if k > 0 {
                    let step = line.stations[k].arc - line.stations[k - 1].arc;
                    pressure -= 0.5 * step * (gradient(k - 1) + gradient(k));
                }
                pressure
            })
            .collect()
    };
    Pressures { coefficients, along: lines.iter().map(along).collect() }
}
