//! Small systems of equations, least squares, orders and chances.

mod chance;
mod descent;
mod gauss;
mod groups;
mod kolmogorov;
mod order;
mod symmetric;

pub use chance::Chance;
pub use descent::{Minimum, least_squares};
pub use gauss::{cumulated, density, integral};
pub use groups::{Group, Row, solve};
pub use kolmogorov::uniform_probability;
pub use order::{median, quantile, rms};
pub use symmetric::{Eigen, System};
