//! The case a newcomer begins with.

/// File names and texts of a commented case and of the outline it uses, to be written into one folder.
pub fn starter() -> [(&'static str, &'static str); 2] {
    [("case.toml", include_str!("starter/case.toml")), ("seal.csv", include_str!("starter/seal.csv"))]
}
