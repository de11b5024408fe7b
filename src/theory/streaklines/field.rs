//! The velocity of a fluid particle at any place and height.

use crate::numerics::fem::Space;
use crate::theory::edge_layer::profile;
use crate::theory::ideal::{Pattern, remove_normal_part};
use crate::theory::inertia::{Inertia, layers};

/// Nodal fields from which the velocity at any height follows.
#[derive(Debug)]
pub struct LayerField<'a> {
    /// Gap-averaged velocity, m/s.
    pub mean: Vec<[f64; 2]>,
    /// What sets the layers apart; none without inertia.
    pub layers: Option<Layers>,
    /// Stream function whose level a line keeps, m3/s; none with inertia.
    pub level: Option<&'a [f64]>,
    /// Mean speed over the inlet, m/s.
    pub speed: f64,
    /// Distance to the nearest solid edge over the gap at the vertices, where the profile inside the edge layer is wanted.
    pub edge_distance: Option<Vec<f64>>,
}

/// What inertia makes of the layers.
#[derive(Debug)]
pub struct Layers {
    /// The part of the velocity that goes with g(ζ), m/s.
    pub turning: Vec<[f64; 2]>,
    /// The parts that go with h1(ζ) and h2(ζ), m/s, with the second order.
    pub second: Option<[Vec<[f64; 2]>; 2]>,
    /// The part of d ζ/dt that goes with G(ζ), 1/s; of first order.
    pub rising: Vec<f64>,
}

impl<'a> LayerField<'a> {
    /// The ideal pattern, or the pattern with its inertia departure.
    pub fn new(space: &Space, pattern: &'a Pattern, inertia: Option<&Inertia>) -> Self {
        let speed = pattern.drive.mean_speed;
        let Some(inertia) = inertia else {
            let level = Some(pattern.stream_function.as_slice());
            return LayerField { mean: pattern.velocity.clone(), layers: None, level, speed, edge_distance: None };
        };
        let mut mean = inertia.mean_velocity();
        let (mut turning, rising) = (inertia.turning(), inertia.rising());
        let mut second = inertia.second.as_ref().map(|second| [second.bending.clone(), second.stretching.clone()]);
        for field in [&mut mean, &mut turning].into_iter().chain(second.iter_mut().flatten()) {
            remove_normal_part(space, field);
        }
        LayerField { mean, layers: Some(Layers { turning, second, rising }), level: None, speed, edge_distance: None }
    }

    /// Adds the profile inside the edge layer: within a few gaps of a solid edge the parabola gives way to the exact profile of a
    /// straight edge, so that a line hugging an obstacle slows down as the real one does. Inertia there is not quantitative.
    pub fn with_edge_profile(mut self, space: &Space) -> Self {
        self.edge_distance = Some(profile::distances(space));
        self
    }

    /// (dx/dt, dy/dt, d ζ/dt) in a triangle at barycentric weights and height ζ; m/s, m/s, 1/s.
    pub fn rate(&self, corners: [u32; 3], weights: [f64; 3], zeta: f64) -> [f64; 3] {
        let parabola = 1.5 * (1.0 - zeta * zeta);
        let blend = |of: &dyn Fn(usize) -> f64| (0..3).map(|i| weights[i] * of(corners[i] as usize)).sum::<f64>();
        let mut rate = [parabola * blend(&|v| self.mean[v][0]), parabola * blend(&|v| self.mean[v][1]), 0.0];
        if let Some(Layers { turning, second, rising }) = &self.layers {
            let mut add = |factor: f64, field: &[[f64; 2]]| {
                rate[0] += factor * blend(&|v| field[v][0]);
                rate[1] += factor * blend(&|v| field[v][1]);
            };
            add(layers::profile(zeta), turning);
            if let Some(fields) = second {
                layers::second_profiles(zeta).into_iter().zip(fields).for_each(|(h, field)| add(h, field));
            }
            rate[2] = layers::drift_profile(zeta) * blend(&|v| rising[v]);
        }
        if let Some(distance) = &self.edge_distance {
            let slowed = profile::slowing(blend(&|v| distance[v]), zeta);
            rate = rate.map(|r| slowed * r);
        }
        rate
    }
}
