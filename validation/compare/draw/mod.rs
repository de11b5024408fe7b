//! Photographs of dye lines and tracks of particles whose truth is known: drawn from flows, a camera and marks of their
//! own, which share no line with the program that they try.
//!
//! `flow` gives exact ideal flow past round piers between walls, `camera` the way from a place in the cell to a pixel,
//! `scene` the photograph, `tracks` particles, `scenarios` named ones with the case that goes with each.
// whoever includes this takes a part of it
#![allow(dead_code)]

pub mod camera;
pub mod case_text;
pub mod chance;
pub mod curve;
pub mod flow;
pub mod jpeg;
pub mod parts;
pub mod picture;
pub mod scenarios;
pub mod scene;
pub mod tracks;
pub mod truth;
