//! placeholder
/// Placeholder.
pub struct Report;
