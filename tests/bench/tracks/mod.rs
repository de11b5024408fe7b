//! Tracks.

mod effects;
mod honesty;
mod speeds;
