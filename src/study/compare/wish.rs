//! What is asked of a comparison.

use crate::theory::departure::Effect;
use crate::theory::ideal::Goal;

/// The theory that is held against measurements.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Theory {
    /// The ideal pattern alone.
    Ideal,
    /// With the edge layer.
    Edge,
    /// With every effect of the flow between the plates.
    #[default]
    All,
}

impl Theory {
    /// Whether an effect is part of it.
    pub(super) fn holds(self, effect: Effect) -> bool {
        match self {
            Theory::Ideal => false,
            Theory::Edge => effect == Effect::EdgeLayer,
            Theory::All => true,
        }
    }
}

/// What is asked.
#[derive(Debug, Clone, Copy, Default)]
pub struct Wish {
    /// The theory.
    pub theory: Theory,
    /// Whether obstacles may stand elsewhere than drawn.
    pub obstacles: bool,
    /// Whether lines without a picture are drawn over the pattern.
    pub overlay: bool,
    /// How fine the mesh shall be.
    pub goal: Option<Goal>,
}
