//! Wetting of a cell while it fills: closed forms of the front under in-plane tension, and the air it leaves behind.

mod cautions;
mod changes;
mod conditions;
mod half_post;
mod kept;
mod law;
mod outline;
mod pockets;
mod row_of_two;
mod rows;
mod shape;
mod speed;
mod stand;
#[cfg(test)]
mod tests;
mod verdict;

pub use cautions::{FAST, cautions};
pub use changes::{Change, Changed, SURFACTANT, Total, WETTED_PLATES, what_helps};
pub use conditions::{CAPILLARY, Conditions, Picture, VISCOUS, arc_radius};
pub use half_post::half_post_foot;
pub use kept::{Kept, NONE, OUTSIDE, Place, Pocket};
pub use law::{Effective, capillary_number, capillary_pressure, effective_angle, tension_factor, wicks};
pub use pockets::{Channel, Closed, Cup, cup_downstream, flat_front, flat_rear, round_rear};
pub use row_of_two::{InRow, in_row};
pub use rows::{numbers, sections};
pub use shape::{Fit, Form};
pub use speed::{MIDDLE, Share, before, behind, between, cup_loss, largest_curvature, left_at, stall_lead};
pub use verdict::{Verdict, verdicts};
