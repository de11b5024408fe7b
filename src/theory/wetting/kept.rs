//! What a filling front leaves at a place, and how it is said.

use crate::base::Point;

/// What keeps no air, as it is to be said.
pub const NONE: &str = "none by this model";
/// What is said where liquid runs ahead of the front.
pub const OUTSIDE: &str = "outside this model";

/// Where air stays.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Behind the obstacle, on the axis.
    Rear,
    /// Behind it, towards the narrower passage.
    NarrowerSide,
    /// Between two posts in a row.
    Between,
    /// In a cup.
    Cup,
    /// At the upstream foot on a seal.
    Foot,
    /// Before a flat front.
    Face,
}

impl Place {
    /// It in words.
    pub fn words(self) -> &'static str {
        match self {
            Place::Rear => "at the rear",
            Place::NarrowerSide => "at the rear, on the narrower side",
            Place::Between => "between the two posts",
            Place::Cup => "in the cup",
            Place::Foot => "at the upstream foot",
            Place::Face => "before the flat front",
        }
    }
}

/// Air that stays.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pocket {
    /// Its area, m2.
    pub area: f64,
    /// The least it may be, m2.
    pub band_low: f64,
    /// The most it may be, m2.
    pub band_high: f64,
    /// Where a vent would let it out, m.
    pub tip: Point,
    /// On which side.
    pub place: Place,
}

/// What stays.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kept {
    /// Nothing, by this model.
    None,
    /// This.
    Pocket(Pocket),
    /// Liquid wicks ahead of the front: this model does not tell.
    Outside,
}

impl Kept {
    /// The pocket, if it is one.
    pub fn pocket(&self) -> Option<&Pocket> {
        match self {
            Kept::Pocket(pocket) => Some(pocket),
            _ => None,
        }
    }

    /// Its name in files.
    pub fn key(&self) -> &'static str {
        match self {
            Kept::None => "none_by_this_model",
            Kept::Pocket(_) => "pocket",
            Kept::Outside => "outside_this_model",
        }
    }
}
