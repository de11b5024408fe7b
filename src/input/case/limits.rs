//! The limits of the numbers of a case.

use crate::base::units::Dimension;

/// The values a number may have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Limits {
    /// Any finite one.
    Any,
    /// Above zero.
    Positive,
    /// Zero or above.
    NotNegative,
    /// From the first to the second, both allowed.
    Within(f64, f64),
    /// Between the first and the second, neither allowed.
    Between(f64, f64),
}

impl Limits {
    /// Whether a value is one of them.
    pub(crate) fn admits(self, value: f64) -> bool {
        match self {
            Limits::Any => true,
            Limits::Positive => value > 0.0,
            Limits::NotNegative => value >= 0.0,
            Limits::Within(lowest, highest) => (lowest..=highest).contains(&value),
            Limits::Between(lowest, highest) => lowest < value && value < highest,
        }
    }

    /// Whether a fraction that is not admitted reads as one in per cent.
    pub(super) fn means_percent(self, value: f64) -> bool {
        let share = matches!(self, Limits::Within(low, high) | Limits::Between(low, high) if low >= 0.0 && high <= 1.0);
        share && (1.0..=100.0).contains(&value) && self.admits(0.01 * value)
    }

    /// It in words, with values in convenient units.
    pub fn said(self, dimension: Dimension) -> String {
        match self {
            Limits::Any => "finite".into(),
            Limits::Positive => "above zero".into(),
            Limits::NotNegative => "zero or above".into(),
            Limits::Within(a, b) => format!("from {} to {}", dimension.show(a), dimension.show(b)),
            Limits::Between(a, b) => format!("above {} and below {}", dimension.show(a), dimension.show(b)),
        }
    }
}
