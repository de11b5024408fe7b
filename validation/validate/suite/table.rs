//! The table, as text and in a README.

use super::Outcome;
use std::path::Path;

const BEGIN: &str = "<!-- rows -->";
const END: &str = "<!-- end of rows -->";

/// The rows as lines of text.
pub fn text(outcomes: &[Outcome]) -> String {
    let wide = outcomes.iter().map(|o| o.quantity.chars().count()).max().unwrap_or(0).max(8);
    let mut lines = format!(
        "{:wide$}  {:>18} {:>18} {:>9} {:>9}  pass\n",
        "quantity", "reference", "obtained", "error", "estimate"
    );
    for o in outcomes {
        let pad = wide - o.quantity.chars().count();
        lines += &format!(
            "{}{:pad$}  {:>18} {:>18} {:>9} {:>9}  {}\n",
            o.quantity,
            "",
            o.reference,
            obtained(o),
            format!("{:+.1e}", o.error()),
            format!("{:.1e}", o.estimate()),
            verdict(o)
        );
    }
    lines
}

fn verdict(o: &Outcome) -> String {
    match (&o.fault, o.pass()) {
        (Some(fault), _) => format!("NO: {fault}"),
        (None, true) => "yes".into(),
        (None, false) => "NO".into(),
    }
}

/// The figure with two digits more than its error estimate tells, at most twelve.
fn obtained(o: &Outcome) -> String {
    let digits = (2.0 - o.estimate().log10().floor()).clamp(2.0, 12.0);
    format!("{:.*}", if digits.is_finite() { digits as usize } else { 6 }, o.obtained.value)
}

/// Puts the rows between the table marks of a README.
pub fn write(readme: &Path, outcomes: &[Outcome]) -> Result<(), String> {
    let old = std::fs::read_to_string(readme).map_err(|e| format!("{}: {e}", readme.display()))?;
    let (Some(begin), Some(end)) = (old.find(BEGIN), old.find(END)) else {
        return Err(format!("{}: no lines '{BEGIN}' and '{END}' to put the table between", readme.display()));
    };
    let mut new = old[..begin].to_owned() + BEGIN + "\n";
    new +=
        "| quantity | reference | kind | obtained | error | error estimate | pass |\n|---|---|---|---|---|---|---|\n";
    for o in outcomes {
        new += &format!(
            "| {} | {} | {} | {} | {:+.1e} | {:.1e} | {} |\n",
            o.quantity,
            o.reference,
            o.kind,
            obtained(o),
            o.error(),
            o.estimate(),
            verdict(o)
        );
    }
    new += &old[end..];
    std::fs::write(readme, new).map_err(|e| format!("{}: {e}", readme.display()))
}
