//! How a state of the cell compares with the one that was solved.

/// Ratios of a state to the case's own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// (U/ν) over that of the case.
    pub inertia: f64,
    /// Gap over that of the case.
    pub gap: f64,
}

impl Scale {
    /// The case itself.
    pub const ONE: Scale = Scale { inertia: 1.0, gap: 1.0 };

    /// Reduced Reynolds number over that of the case, `(U/nu) b²` at the same length.
    pub fn reduced(&self) -> f64 {
        self.inertia * self.gap * self.gap
    }
}
