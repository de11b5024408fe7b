//! How texts are set.

use super::font::{Weight, text_width};
use super::style::{Ink, LETTER, SMALL};
use crate::base::Result;

/// Where a text stands from its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// It starts there.
    Start,
    /// Its middle is there.
    Middle,
    /// It ends there.
    End,
}

/// How a text is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lettering {
    /// Size, mm.
    pub size: f64,
    /// Where it stands from its place.
    pub anchor: Anchor,
    /// Weight.
    pub weight: Weight,
    /// Ink.
    pub ink: Ink,
    /// Whether it runs upwards.
    pub upwards: bool,
    /// Whether it stands on a rim of paper, over lines and areas.
    pub rim: bool,
}

impl Lettering {
    /// Labels.
    pub fn label(anchor: Anchor) -> Self {
        Lettering { size: LETTER, anchor, weight: Weight::Regular, ink: Ink::Text, upwards: false, rim: false }
    }

    /// Ticks and notes.
    pub fn small(anchor: Anchor) -> Self {
        Lettering { size: SMALL, ink: Ink::Soft, ..Lettering::label(anchor) }
    }

    /// The same in bold.
    pub fn bold(self) -> Self {
        Lettering { weight: Weight::Bold, ..self }
    }

    /// The same, upwards.
    pub fn upwards(self) -> Self {
        Lettering { upwards: true, ..self }
    }

    /// The same on a rim of paper.
    pub fn rimmed(self) -> Self {
        Lettering { rim: true, ..self }
    }

    /// The same in another ink.
    pub fn ink(self, ink: Ink) -> Self {
        Lettering { ink, ..self }
    }

    /// A text in which control characters and those the font lacks are question marks.
    pub fn known(&self, text: &str) -> String {
        let there = |c: char| !c.is_control() && self.width(&c.to_string()).is_ok();
        text.chars().map(|c| if there(c) { c } else { '?' }).collect()
    }

    /// Width of a text, mm.
    ///
    /// # Errors
    /// As [`text_width`].
    pub fn width(&self, text: &str) -> Result<f64> {
        Ok(self.size * text_width(text, self.weight)?)
    }
}
