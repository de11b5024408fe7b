//! What was measured on the bench against theory: the map of a photograph, dye lines, tracks of particles.
//!
//! - [`photo`]: which pixel of a photograph shows which place of the dye;
//! - [`outlines`]: where side walls and obstacles stand in the picture, a check of the map;
//! - [`trace`]: the dye lines of a photograph to a fraction of a pixel;
//! - [`lines`]: how far traced dye lines stand from those of the ideal pattern, and what explains it;
//! - [`tracks`]: how fast tracer particles say the flow is, and which of them are none of the fluid;
//! - [`statistics`]: small systems of equations, least squares, orders and chances that these share.
//!
//! Nothing is read or written here, and random numbers are of one's own sequence: the same measurements give the same bits for any number
//! of threads.

pub mod lines;
pub mod outlines;
pub mod photo;
pub mod statistics;
pub mod trace;
pub mod tracks;
