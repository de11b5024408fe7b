//! What every room needs and that needs none of them: errors, units, the plane.

pub mod bisect;
pub mod error;
pub mod field;
pub mod hash;
pub mod machine;
pub mod plane;
pub mod row;
pub mod stop;
pub mod text;
pub mod units;
pub mod warning;

pub use error::{Error, Result};
pub use plane::Point;
