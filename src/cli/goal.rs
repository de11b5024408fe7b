//! How fine the mesh shall be, and how far the series of inertia goes.

use crate::input::case::{Case, Order};
use crate::theory::ideal::Goal;
use clap::Args;

/// How fine the mesh shall be.
#[derive(Debug, Clone, Copy, Args)]
pub struct MeshGoal {
    /// One mesh of about so many triangles, with no error target.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(10..=400_000_000), conflicts_with = "error")]
    triangles: Option<u64>,
    /// Wanted relative half-width of the bracket, in place of mesh.error.
    #[arg(long, value_name = "E", value_parser = fraction)]
    error: Option<f64>,
    #[command(flatten)]
    series: Series,
}

/// How far the series of the inertia departure goes.
#[derive(Debug, Clone, Copy, Args)]
pub struct Series {
    /// Order of inertia in Re*, in place of inertia.order [default: 2].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=2))]
    order: Option<u8>,
}

impl Series {
    /// Puts the order that is asked for in place of the case's.
    pub fn apply(&self, case: &mut Case) {
        match self.order {
            Some(1) => case.inertia.order = Order::First,
            Some(_) => case.inertia.order = Order::Second,
            None => {}
        }
    }
}

impl MeshGoal {
    /// Whether anything is asked of mesh and series.
    pub fn is_asked(&self) -> bool {
        self.triangles.is_some() || self.error.is_some() || self.series.order.is_some()
    }

    /// The goal; none: that of the case, which takes over the order of the series.
    pub fn of(&self, case: &mut Case) -> Option<Goal> {
        self.series.apply(case);
        let by_error = |relative| Goal::Error { relative, most_triangles: case.mesh.max_triangles };
        self.triangles.map(|n| Goal::Triangles(n as usize)).or(self.error.map(by_error))
    }
}

fn fraction(text: &str) -> std::result::Result<f64, String> {
    match text.parse::<f64>() {
        Ok(x) if x > 0.0 && x < 1.0 => Ok(x),
        Ok(x) => Err(format!("{x} is not between 0 and 1; 1e-3 is a usual choice")),
        Err(_) => Err("not a number; 1e-3 is a usual choice".into()),
    }
}
