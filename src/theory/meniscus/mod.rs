//! How a cell fills where tension rules the front: a sharp front with in-plane curvature and contact angle at its ends, what air it
//! closes in, and when.
//!
//! Gap-averaged flow between dry plates of uniform gap b: in the wet region `V = −(b²/12 μ) ∇p`, `div V = 0`, no flux through sides. On
//! the front `p = p_a + G·x + c γ κ` and the front moves with V.n; κ > 0 where liquid bulges into air, c is the factor of the meniscus
//! between the plates ([`crate::theory::wetting::tension_factor`]), G the slope of the front's pressure under tilt. At its ends the front meets sides under the
//! advancing angle ([`crate::theory::wetting::effective_angle`]), and no end goes back but where a front comes to lie on the side it has wetted (10 degrees). Ends rest on sharp corners as long as either side lets them (Gibbs).
//!
//! Pressures stand over 12 μ U/b², lengths in metres, so that two numbers are left: the area `S = c γ b²/(12 μ U)`, with which `p = S κ`
//! on the front ([`Setup::tension`]; a²/S = N), and the slope `G b²/(12 μ U)` ([`Setup::gradient`]).
//!
//! Scheme: the wet region is triangulated anew each step, pressure by linear elements, the front by its curve's weak form, both in one
//! linear system (Barrett, Garcke & Nürnberg 2007, J. Comput. Phys. 222, 441 and 2010, ibid. 229, 6270; Bao, Jiang, Wang & Zhao 2017,
//! ibid. 330, 380, for the ends; all recalled), so that tension puts no bound on the step; `step` has the system. Fronts that come
//! nearer than a twentieth of their edges to a dry side or to each other touch there (`touch`).
//!
//! Range: a gap b that is small beside every length of the plan; a front pushed by liquid (never drained); angles above the limit below
//! which liquid runs ahead along corners; error of a trapped area about 4 % and 0.04 h a, h the front's edges, a the obstacle's half
//! width.

mod ahead;
mod front;
mod line;
mod march;
mod resample;
mod run;
mod setup;
mod sides;
mod state;
mod step;
mod touch;
mod wet;

#[cfg(test)]
mod tests;

pub use front::{Books, Ended, Front, Moment, Pocket};
pub use run::run;
pub use setup::{Drive, Setup};
