//! The table, as text and in a README.

use super::Outcome;
use super::rows::half_digit;

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

const HEAD: &str =
    "| quantity | reference | kind | obtained | error | error estimate | pass |\n|---|---|---|---|---|---|---|\n";

/// A row as the cells of a README's table.
fn cells(o: &Outcome) -> [String; 7] {
    let numbers = [obtained(o), format!("{:+.1e}", o.error()), format!("{:.1e}", o.estimate())];
    let [value, error, estimate] = numbers;
    [o.quantity.clone(), o.reference.clone(), o.kind.clone(), value, error, estimate, verdict(o)]
}

/// A README with the rows between its table marks.
pub fn written(readme: &str, outcomes: &[Outcome]) -> Result<String, String> {
    let (before, _, after) = parts(readme)?;
    let rows: String = outcomes.iter().map(|o| format!("| {} |\n", cells(o).join(" | "))).collect();
    Ok(format!("{before}{BEGIN}\n{HEAD}{rows}{END}{after}"))
}

/// Where the table of a README says something else than the rows: another row, another verdict, or a number that differs from the
/// printed one by more than a unit of its last digit, half for its own rounding and half for that of another processor.
pub fn stale(readme: &str, outcomes: &[Outcome]) -> Vec<String> {
    let table = match parts(readme) {
        Ok((_, table, _)) => table,
        Err(fault) => return vec![fault],
    };
    let printed: Vec<&str> =
        table.strip_prefix('\n').and_then(|t| t.strip_prefix(HEAD)).unwrap_or("").lines().collect();
    if printed.len() != outcomes.len() {
        return vec![format!("the table has {} rows, the folder {}", printed.len(), outcomes.len())];
    }
    printed.iter().zip(outcomes).filter_map(|(line, o)| differs(line, o)).collect()
}

fn differs(line: &str, o: &Outcome) -> Option<String> {
    let now = cells(o);
    let then: Vec<&str> = line.trim_start_matches("| ").trim_end_matches(" |").split(" | ").collect();
    let [quantity, reference, kind, value, error, estimate, verdict] = then[..] else {
        return Some(format!("no row of seven cells: {line}"));
    };
    let texts = [(quantity, &now[0]), (reference, &now[1]), (kind, &now[2]), (verdict, &now[6])];
    let unit = |text: &str| 2.0 * half_digit(text);
    // an error is known no better than the value it is taken from, and 0.0e0 tells no unit
    let slack = if error.parse() == Ok(0.0) { 0.0 } else { unit(error) }.max(unit(value));
    let near = |text: &str, new: f64, slack: f64| text.parse().is_ok_and(|old: f64| (old - new).abs() <= slack);
    let holds = texts.iter().all(|(old, new)| old == new)
        && near(value, o.obtained.value, unit(value))
        && near(error, o.error(), slack)
        && near(estimate, o.estimate(), unit(estimate));
    (!holds).then(|| format!("the table says {line}\n  obtained now:  | {} |", now.join(" | ")))
}

/// What stands before the table, between its marks, and after.
fn parts(readme: &str) -> Result<(&str, &str, &str), String> {
    let found = readme.split_once(BEGIN).and_then(|(before, rest)| Some((before, rest.split_once(END)?)));
    let (before, (table, after)) =
        found.ok_or_else(|| format!("no lines '{BEGIN}' and '{END}' with a table between"))?;
    Ok((before, table, after))
}
