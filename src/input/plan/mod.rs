//! From the obstacles of a case to the plan of its fluid: [`Plan::new`] cuts the outlines that stand on a side wall, checks that
//! all fit into the cell, and walks the boundary of the fluid.

mod build;
mod discs;
mod draw;
mod edge;
mod fit;
mod lines;
mod number;
mod placing;
mod shape;
mod walls;

pub(super) use draw::draw_cell;
pub use shape::Outline;

#[cfg(test)]
mod tests;
