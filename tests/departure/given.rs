//! Patterns given by formulas on a mesh, without a solve.

use crate::cells::cell_of_gap;
use std::sync::Arc;
use twinplate::Point;
use twinplate::input::case::Ends::GivenInflow;
use twinplate::input::case::Tolerance;
use twinplate::numerics::fem::Space;
use twinplate::numerics::mesh::{Mesh, SizeField};
use twinplate::theory::departure::{Contribution, Effect, Measures, Part, Reference, Region, still_part};
use twinplate::theory::edge_layer::Margin;

/// Mean speed of the patterns, m/s.
pub const SPEED: f64 = 2e-3;

/// A pattern, and where departures from it are measured.
pub struct Given {
    pub space: Space,
    pub region: Region,
    pub velocity: Vec<[f64; 2]>,
    pub tolerance: Tolerance,
}

/// An empty cell on a mesh of one size; the gap as it stands in a case.
pub fn rectangle(length: f64, width: f64, gap: &str, size: f64) -> Space {
    let (case, plan) = cell_of_gap(length, width, gap, GivenInflow, "");
    let mesh = Mesh::generate(&plan, &SizeField::new(size, 0.3, vec![]), 100_000).unwrap();
    let middle = case.cell.gap.at([0.5 * length, 0.5 * width]);
    Space::new(Arc::new(mesh), &case.cell.gap, middle)
}

impl Given {
    pub fn new(space: Space, band: f64, velocity: impl Fn(Point) -> [f64; 2], stream: impl Fn(Point) -> f64) -> Given {
        let velocity: Vec<[f64; 2]> = space.mesh.points.iter().map(|&p| velocity(p)).collect();
        let stream: Vec<f64> = space.mesh.points.iter().map(|&p| stream(p)).collect();
        let region = Region::new(&space, Margin::Length(band), &velocity, &stream);
        Given { space, region, velocity, tolerance: Tolerance::default() }
    }

    /// Uniform flow along x in an empty cell 1 m by 0.5 m.
    pub fn uniform(size: f64, band: f64) -> Given {
        Given::new(rectangle(1.0, 0.5, "1e-3", size), band, |_| [SPEED, 0.0], |p| p[1])
    }

    pub fn reference(&self) -> Reference<'_> {
        let Given { space, region, velocity, tolerance } = self;
        Reference { space, region, velocity, speed: SPEED, tolerance }
    }

    /// A field at the vertices, in units of the mean speed.
    pub fn field(&self, of: impl Fn(Point) -> [f64; 2]) -> Vec<[f64; 2]> {
        self.space.mesh.points.iter().map(|&p| of(p).map(|x| SPEED * x)).collect()
    }

    pub fn measure(&self, of: impl Fn(Point) -> [f64; 2]) -> Measures {
        self.reference().measure(&self.field(of))
    }

    /// An effect whose parts are the same everywhere: velocity in units of the mean speed, powers of speed over viscosity and gap.
    pub fn effect(&self, effect: Effect, parts: &[([f64; 2], i32, i32)]) -> Contribution {
        let part = |&(velocity, inertia_power, gap_power): &([f64; 2], i32, i32)| Part {
            inertia_power,
            ..still_part(self.field(|_| velocity), gap_power)
        };
        Contribution { effect, parts: parts.iter().map(part).collect(), numerical_error: 0.0, neglected: None }
    }
}

pub fn close(found: f64, exact: f64, relative: f64) {
    assert!((found - exact).abs() <= relative * exact.abs(), "{found} instead of {exact}");
}
