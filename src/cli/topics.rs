//! The pages of `help`.

/// Names and texts, in the order of the list. Where a command has the same name, its page explains what that computes.
pub const ALL: [(&str, &str); 20] = [
    ("case-file", include_str!("topics/case-file.md")),
    ("units", include_str!("topics/units.md")),
    ("outlines", include_str!("topics/outlines.md")),
    ("gap-tables", include_str!("topics/gap-tables.md")),
    ("picture", include_str!("topics/picture.md")),
    ("bounds", include_str!("topics/bounds.md")),
    ("convergence", include_str!("topics/convergence.md")),
    ("departure", include_str!("topics/departure.md")),
    ("trust", include_str!("topics/trust.md")),
    ("photograph", include_str!("topics/photograph.md")),
    ("sample", include_str!("topics/sample.md")),
    ("fill", include_str!("topics/fill.md")),
    ("rig", include_str!("topics/rig.md")),
    ("campaign", include_str!("topics/campaign.md")),
    ("figures", include_str!("topics/figures.md")),
    ("files", include_str!("topics/files.md")),
    ("scripts", include_str!("topics/scripts.md")),
    ("exit-codes", include_str!("topics/exit-codes.md")),
    ("limits", include_str!("topics/limits.md")),
    ("sources", include_str!("topics/sources.md")),
];

/// The text of a topic.
pub fn find(name: &str) -> Option<&'static str> {
    ALL.iter().find(|(known, _)| *known == name).map(|(_, text)| *text)
}

/// Names that help can be asked for.
pub fn names() -> Vec<&'static str> {
    let topics = ALL.map(|(name, _)| name);
    topics.into_iter().chain(COMMANDS.iter().copied().filter(|name| !topics.contains(name))).collect()
}

/// The commands that have help of their own.
pub const COMMANDS: &[&str] = &[
    "help",
    "start",
    "check",
    "outline",
    "mesh",
    "solve",
    "departure",
    "figure",
    "compare",
    "sample",
    "fill",
    "rig",
    "converge",
    "campaign",
    "schema",
    #[cfg(feature = "shell")]
    "completions",
    #[cfg(feature = "shell")]
    "manual",
];
