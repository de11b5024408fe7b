//! Obstacles of a case from their shapes.

use twinplate::geometry::{TailChoice, Wall};
use twinplate::input::case::{Obstacle, Shape};

/// Obstacles called KIND 0, KIND 1, ..., at places of their own in the case file.
pub fn obstacles(kind: &str, shapes: Vec<(Shape, Option<Wall>)>) -> Vec<Obstacle> {
    let obstacle = |(k, (shape, on_wall))| Obstacle {
        name: format!("{kind} {k}"),
        shape,
        on_wall,
        tail: TailChoice::Clear,
        bubble: None,
        place: 10 * k..10 * k + 5,
    };
    shapes.into_iter().enumerate().map(obstacle).collect()
}
