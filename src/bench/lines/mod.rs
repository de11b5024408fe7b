//! Traced dye lines against theory: how far lines seen in a cell stand from those of the ideal pattern, and what explains it.
//!
//! A dye line of the ideal pattern keeps its value of the stream function. A place of a line that was traced in the cell has the
//! ideal stream function `psi(x)`; with the level `psi_j` of its line it stands `(psi(x) - psi_j)/|grad psi|` to the left of where the
//! ideal pattern would have it. Every effect of the budget predicts such shifts; what is left, where it is, and which obstacle
//! would have to stand elsewhere for it, is found here.

mod against;
mod explain;
mod ideal;
mod noise;
mod obstacles;
mod predict;
mod shift;
mod stations;
mod verdict;
mod worst;

pub use against::{ALONE, Against, OfLine, Size, left_over, size};
pub use explain::{AMPLITUDE_FLOOR, Column, Estimate, Fit, IDENTIFIABLE, MOVE_FLOOR, explain};
pub use ideal::{Ideal, IdealAt};
pub use noise::{deviation, noise};
pub use obstacles::{Change, Found, departure_of, found_obstacles, obstacle_columns, taper_column, walls};
pub use predict::{Prediction, predict, predicted_speeds, shifts_of, together};
pub use shift::{Line, Observed, SLOW, SpeedChange, level_of, levelled, observe, speed_changes};
pub use stations::{Course, Seen, Station, quadratic, stations};
pub use verdict::{Evidence, Verdict, verdict};
pub use worst::{Worst, nearest_obstacle, sigmas, worst};
