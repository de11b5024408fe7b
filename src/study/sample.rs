//! All that is known of a solved case at given places: the one way from fields to numbers at probes, along lines and in tables.

use crate::base::Point;
use crate::base::plane::{Vector, length};
use crate::numerics::mesh::{Locator, Mesh, Place};
use rayon::prelude::*;
use std::borrow::Cow;

/// Keys of the ideal pattern, in the order of the columns.
pub const IDEAL: [&str; 6] =
    ["pressure_pa", "pressure_fraction", "speed_m_per_s", "speed_ratio", "angle_deg", "pressure_coefficient"];

/// Keys that inertia adds.
const OF_INERTIA: [&str; 7] = [
    "inertia_pressure_pa",
    "mean_speed_ratio",
    "mean_angle_deg",
    "midplane_speed_ratio",
    "midplane_angle_deg",
    "near_plate_speed_ratio",
    "near_plate_angle_deg",
];
/// Keys that the edge layer adds.
const OF_EDGE_LAYER: [&str; 2] = ["edge_layer_speed_ratio", "edge_layer_angle_deg"];

/// The keys of all columns, with those of the corrections that are wanted.
pub fn keys(inertia: bool, edge_layer: bool) -> Vec<&'static str> {
    let further = OF_INERTIA.into_iter().filter(|_| inertia).chain(OF_EDGE_LAYER.into_iter().filter(|_| edge_layer));
    IDEAL.into_iter().chain(further).collect()
}

/// Places that are read in one go.
const RUN: usize = 1024;

/// Fields of a solved case on a mesh, to be read at places.
///
/// Pressure in Pa and over the drop, gap-averaged speed in m/s and over U, its direction from +x in degrees, counter-clockwise, and the
/// pressure coefficient `1 − (|V|/U)²` of the inviscid flow; then those of the corrections, named as for the probes of a report. All fields
/// are linear on the triangles.
#[derive(Debug)]
pub struct Sampler<'a> {
    mesh: &'a Mesh,
    locator: Locator<'a>,
    edge: f64,
    drive: Drive,
    pressure: Cow<'a, [f64]>,
    velocity: Cow<'a, [Vector]>,
    further: Vec<Further<'a>>,
}

/// What values are held against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive {
    /// Mean speed U, m/s.
    pub mean_speed: f64,
    /// Pressure drop, Pa.
    pub pressure_drop: f64,
}

/// A field of a correction.
#[derive(Debug)]
pub enum Further<'a> {
    /// Numbers under a key.
    Number(&'static str, Cow<'a, [f64]>),
    /// Speed over another one, m/s, and direction of velocities, under two keys.
    Velocity([&'static str; 2], Cow<'a, [Vector]>, f64),
}

/// What inertia adds.
pub struct InertiaFields<'a> {
    /// p1, Pa.
    pub pressure: Cow<'a, [f64]>,
    /// Mean over the gap, m/s.
    pub mean: Cow<'a, [Vector]>,
    /// At mid-gap, m/s.
    pub midplane: Cow<'a, [Vector]>,
    /// Near the plates, over (3/2)(1 − ζ²), m/s.
    pub near_plate: Cow<'a, [Vector]>,
}

impl<'a> InertiaFields<'a> {
    /// As columns, for a mean speed, m/s.
    pub fn columns(self, mean_speed: f64) -> Vec<Further<'a>> {
        let [pressure, mean, mean_angle, midplane, midplane_angle, plate, plate_angle] = OF_INERTIA;
        vec![
            Further::Number(pressure, self.pressure),
            Further::Velocity([mean, mean_angle], self.mean, mean_speed),
            Further::Velocity([midplane, midplane_angle], self.midplane, 1.5 * mean_speed),
            Further::Velocity([plate, plate_angle], self.near_plate, mean_speed),
        ]
    }
}

/// The velocity with the edge layer as columns; it is over its own mean speed, m/s.
pub fn edge_layer_columns<'a>(velocity: Cow<'a, [Vector]>, mean_speed: f64) -> Vec<Further<'a>> {
    vec![Further::Velocity(OF_EDGE_LAYER, velocity, mean_speed)]
}

impl<'a> Sampler<'a> {
    /// Fields at the vertices of a mesh: pressure, Pa, gap-averaged velocity, m/s, and further ones. Places within `edge`, m, of an outline of
    /// the mesh's plan belong to the fluid.
    pub fn new(
        mesh: &'a Mesh,
        locator: Locator<'a>,
        edge: f64,
        drive: Drive,
        pressure: impl Into<Cow<'a, [f64]>>,
        velocity: impl Into<Cow<'a, [Vector]>>,
        further: Vec<Further<'a>>,
    ) -> Self {
        Sampler { mesh, locator, edge, drive, pressure: pressure.into(), velocity: velocity.into(), further }
    }

    /// The keys of its columns: [`IDEAL`], then those of the corrections.
    pub fn keys(&self) -> Vec<&'static str> {
        let further = self.further.iter().flat_map(|further| match further {
            Further::Number(key, _) => vec![*key],
            Further::Velocity(keys, ..) => keys.to_vec(),
        });
        IDEAL.into_iter().chain(further).collect()
    }

    /// Everything at places.
    pub fn sample(&self, points: &[Point]) -> Sampled {
        let keys = self.keys();
        let places = self.locator.places(points, self.edge);
        let mut values = vec![f64::NAN; keys.len() * points.len()];
        let rows = values.par_chunks_mut(keys.len()).zip(&places).with_min_len(RUN);
        rows.for_each(|(row, place)| {
            if let Some(place) = place {
                self.read(*place, row);
            }
        });
        Sampled { keys, places, values }
    }

    /// The values at a place, in the order of the keys.
    fn read(&self, place: Place, row: &mut [f64]) {
        let Drive { mean_speed, pressure_drop } = self.drive;
        let pressure = self.mesh.number_at(place, &self.pressure);
        let velocity = self.mesh.vector_at(place, &self.velocity);
        let speed = length(velocity);
        let ratio = speed / mean_speed;
        let ideal = [pressure, pressure / pressure_drop, speed, ratio, angle(velocity), 1.0 - ratio * ratio];
        let (own, mut rest) = row.split_at_mut(IDEAL.len());
        own.copy_from_slice(&ideal);
        for further in &self.further {
            match (further, rest) {
                (Further::Number(_, field), [number, others @ ..]) => {
                    *number = self.mesh.number_at(place, field);
                    rest = others;
                }
                (Further::Velocity(_, field, by), [speed, direction, others @ ..]) => {
                    let v = self.mesh.vector_at(place, field);
                    (*speed, *direction) = (length(v) / by, angle(v));
                    rest = others;
                }
                _ => return,
            }
        }
    }
}

fn angle(v: Vector) -> f64 {
    v[1].atan2(v[0]).to_degrees()
}

/// Values at places.
#[derive(Debug, Clone, PartialEq)]
pub struct Sampled {
    /// What the columns are.
    pub keys: Vec<&'static str>,
    /// Where the places lie in the mesh; none of those that lie in no fluid.
    pub places: Vec<Option<Place>>,
    values: Vec<f64>,
}

impl Sampled {
    /// The values at a place, in the order of the keys; none in no fluid.
    pub fn row(&self, place: usize) -> Option<&[f64]> {
        let count = self.keys.len();
        self.places[place].map(|_| &self.values[count * place..count * (place + 1)])
    }

    /// The values under a key at all places, not a number in no fluid; none if there is no such key.
    pub fn column(&self, key: &str) -> Option<Vec<f64>> {
        let k = self.keys.iter().position(|own| *own == key)?;
        Some(self.values.chunks(self.keys.len()).map(|row| row[k]).collect())
    }

    /// How many places lie in no fluid.
    pub fn outside(&self) -> usize {
        self.places.iter().filter(|place| place.is_none()).count()
    }
}
