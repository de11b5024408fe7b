//! The viscous front of a liquid that fills a dry cell, and the air it leaves behind.
//!
//! Wet region: `V = −(b²/12 μ) grad p`, `div(b V) = 0`, no flux through solids; at the front the pressure of its liquid side, and its normal
//! speed is that of the liquid. With one front pressure the shapes do not depend on the clock: with the impulse
//! `I = (b0²/12 μ) ∫ (p_in − p_front) dt` and `w = (b0²/12 μ) ∫ (p − p_front) dt`, m2, they solve an obstacle problem in which I is a parameter
//! (Duvaut 1973, C. R. Acad. Sci. Paris A 276, 1461; Elliott & Janovsky 1981, Proc. R. Soc. Edinburgh A 88, 93; both recalled):
//!
//! `w ≥ 0`, `div((b/b0)³ grad w) = b/b0` where `w > 0`, `w = I` at the source, `w = 0` at the outlet.
//!
//! Linear elements with lumped volumes `M_i = ∫ (b/b0) φ_i`: a wet vertex has `M_i = −(A w)_i`, a dry one `w_i = 0` and fill `−(A w)_i/M_i`.
//! Nothing is clipped, so the balance of liquid and the moment identity `Σ φ_i M_i f_i + φ_out V_out = S I` (φ ideal potential, S its shape
//! factor) hold to rounding. No film stays behind an advancing front; surface tension in the plane is left out.

mod arrival;
mod cell;
mod front;
mod guess;
mod ideal;
pub mod laws;
mod march;
mod meniscus;
mod obstacle;
mod pockets;
mod port;
mod record;
mod result;
mod run;
mod setup;
mod solver;
mod steps;

pub use meniscus::Meniscus;
pub use port::Port;
pub use result::{Filling, LatePlace, Moment, Pocket, Work};
pub use setup::{Drive, FrontPressure, Progress, Setup, Source};

#[cfg(test)]
mod tests;

use crate::base::Result;

/// Fills a dry cell. `watch` is told how far it has come.
///
/// # Errors
/// [`crate::base::Error::Usage`] where the fluid cannot enter or the setup makes no sense, [`crate::base::Error::NoConvergence`] if a solver does not come to its end.
pub fn fill(setup: &Setup, watch: &(dyn Fn(Progress) + Sync)) -> Result<Filling> {
    setup.check()?;
    match &setup.front {
        FrontPressure::Uniform(front) => run::Run::new(setup, *front)?.finish(watch),
        FrontPressure::Varying { front, vent, steps } => steps::Steps::new(setup, front, vent, *steps)?.finish(watch),
    }
}
