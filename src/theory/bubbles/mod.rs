//! Bubbles between the plates: what holds them, how fast they go, and what they do to the pattern.
//!
//! A bubble wider than the gap is a disc of radius R seen from above, and its surface lets no liquid through. Held by its contact lines it
//! is an obstacle. Free, it is a moving patch of one pressure that runs up to twice as fast as the liquid, slowed by the films that it leaves
//! on the plates. V is the gap-mean speed of the undisturbed flow at the bubble throughout.
//!
//! Range: 2R above 1.5 gaps to some hundred, capillary number below 1e-2, gap below the capillary length (water: 2 mm).

mod film;
mod frame;
mod held;
mod patch;
mod path;
mod rim;
mod rows;
mod threshold;
mod walls;
mod without;

pub use film::{
    ADVANCING, DISC, RECEDING, ROUND, STRETCHED, UNBOUNDED, driving, drop_speed, ellipse_ratio, film_left, film_number,
    keeping_pace, shape_number, speed_ratio, speed_ratio_between, wedge_speed,
};
pub use held::{Held, cosine_difference, held, held_section};
pub use patch::{Patch, free_patch};
pub use path::{Air, Bubble, Ended, Path, follow};
pub use rim::{rim_layer, rim_layer_from_apex, stiff_rim_layer, volume_rim};
pub use rows::{section, shape_words};
pub use threshold::{behind_post, rise_speed, slip_speed, travel_speed, travel_tilt, travelling};
pub use walls::pressure_factor;
pub use without::Without;
