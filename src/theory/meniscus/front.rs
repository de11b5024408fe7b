//! What comes out of a filling.

use crate::base::Point;

/// A filling, as far as it was followed.
#[derive(Debug, Clone)]
pub struct Front {
    /// The first moment, those asked for and the last one.
    pub moments: Vec<Moment>,
    /// Air that was closed in, in the order of time.
    pub pockets: Vec<Pocket>,
    /// Areas, m2.
    pub books: Books,
    /// Steps taken.
    pub steps: usize,
    /// Linear systems solved, refused steps included.
    pub solves: usize,
    /// Why it ended.
    pub ended: Ended,
    /// Thickness and area below which air is taken as liquid: 0.25 h, m, and 0.3 h², m2.
    pub unseen: [f64; 2],
}

/// Why a filling ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// The front came to the outlet.
    Outlet,
    /// No air is left that could leave.
    Full,
    /// The front came to rest: the head holds it no further.
    Rest,
    /// The caller stopped it.
    Stopped,
}

/// The front at one time.
#[derive(Debug, Clone)]
pub struct Moment {
    /// Time since the first front, s.
    pub time: f64,
    /// Wet area, m2.
    pub wet_area: f64,
    /// Fronts between liquid and air that can leave, each with the liquid on its left, m.
    pub fronts: Vec<Vec<Point>>,
    /// Mean pressure at the inlet over that of a straight front there, over 12 μ U/b², m.
    pub inlet_pressure: f64,
    /// Flow through the wet region at unit pressure drop from inlet to front, `Q b⁻³ 12 μ/Δp`, 1: the width over the length of a
    /// straight channel.
    pub conductance: f64,
    /// Pockets closed in so far.
    pub pockets: usize,
}

/// Air that was closed in and stays as it is.
#[derive(Debug, Clone)]
pub struct Pocket {
    /// Its outline, counter-clockwise, m; sides of solids and front in turn.
    pub polygon: Vec<Point>,
    /// The middle of its area, m.
    pub place: Point,
    /// Its area without obstacles that stand dry in it, m2.
    pub area: f64,
    /// When it was closed, s since the first front.
    pub time: f64,
    /// Where it was closed, m: the place to drill a vent at is the pocket's end away from it, or its middle.
    pub closed_at: Point,
    /// Obstacles it touches, by index in the plan.
    pub obstacles: Vec<u32>,
    /// Whether it touches a side wall.
    pub on_wall: bool,
}

/// Areas of a filling, m2. `wet = first + inflow + stepping + touched + lost + resampled` holds to rounding by construction, and
/// `wet + pockets + dry = cell` if the loops of liquid and air were kept rightly.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Books {
    /// The whole fluid of the plan, by the chords of its outlines.
    pub cell: f64,
    /// Wet at the first front.
    pub first: f64,
    /// Wet at the end.
    pub wet: f64,
    /// What flowed in: the integral of the flow over time.
    pub inflow: f64,
    /// What moving the front by straight steps brought more than flowed in.
    pub stepping: f64,
    /// What became wet where fronts touched.
    pub touched: f64,
    /// Air too small to be kept, taken as wet.
    pub lost: f64,
    /// What placing points anew on fronts changed.
    pub resampled: f64,
    /// In pockets.
    pub pockets: f64,
    /// Dry at the end, pockets apart.
    pub dry: f64,
}

impl Books {
    /// What is missing in the cell, wet + pockets + dry − cell, m2.
    pub fn gap(&self) -> f64 {
        self.wet + self.pockets + self.dry - self.cell
    }

    /// What is missing in the account of the wet area, m2.
    pub fn drift(&self) -> f64 {
        self.wet - (self.first + self.inflow + self.stepping + self.touched + self.lost + self.resampled)
    }
}
