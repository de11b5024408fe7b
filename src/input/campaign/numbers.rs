//! Values of a key as numbers on one scale.

use super::key::Key;
use super::uncertain::quantities;
use super::values::Literal;
use crate::base::units::{Dimension, parse, split_number};

/// The numbers that all values of a key stand for, and their unit: that in which they are written, if it is the same one, else one in
/// which they read well; empty if nothing is known of one. None if one of them is a word, a file or no number.
///
/// Values are as they were written; those brought to another unit carry its rounding, 1e-15 of them.
pub fn numbers(key: &Key, values: &[&Literal]) -> Option<(Vec<f64>, String)> {
    let mut kinds = quantities(&key.path).into_iter().map(|(dimension, _)| dimension);
    let dimension = kinds.next().filter(|first| kinds.all(|other| other == *first));
    let split = values.iter().map(|literal| split(literal, dimension)).collect::<Option<Vec<_>>>()?;
    let unit = split.first()?.1.clone();
    if split.iter().all(|(_, other)| *other == unit) {
        let plain = dimension.filter(|_| unit.is_empty()).map(unit_of_plain);
        return Some((split.into_iter().map(|(number, _)| number).collect(), plain.unwrap_or(unit)));
    }
    let dimension = dimension?;
    let stored = values.iter().zip(&split).map(|(literal, (number, unit))| match unit.is_empty() {
        true => Some(dimension.from_plain(*number)),
        false => parse(&literal.shown, dimension).ok(),
    });
    let stored: Vec<f64> = stored.collect::<Option<_>>()?;
    let (unit, size) = dimension.unit_for(stored.iter().fold(0.0, |most, x| x.abs().max(most)));
    Some((stored.into_iter().map(|x| x / size).collect(), unit.to_owned()))
}

/// A number and the unit that stands behind it.
fn split(literal: &Literal, dimension: Option<Dimension>) -> Option<(f64, String)> {
    let is_finite = |x: &f64| x.is_finite();
    if literal.value().as_str().is_none() {
        return literal.shown.replace('_', "").parse().ok().filter(is_finite).map(|x| (x, String::new()));
    }
    // a text is a number only where a quantity is asked for
    parse(&literal.shown, dimension?).ok()?;
    let (number, unit) = split_number(literal.shown.trim());
    number.trim().parse().ok().filter(is_finite).map(|x| (x, unit.trim().to_owned()))
}

fn unit_of_plain(dimension: Dimension) -> String {
    match dimension {
        Dimension::Fraction => String::new(),
        Dimension::Angle => "deg".to_owned(),
        other => other.plain_unit().to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CASE: &str = "title = 'Pier'\n[cell]\nlength = 2\nwidth = 1\ngap = '1 mm'\n[drive]\nmean_speed = 1e-3\nends = 'held-pressure'\n\
                        [[obstacle]]\nname = '3 piers'\n[obstacle.outline]\nfile = '3.csv'\nwidth = 0.1\nangle = 4\n";

    /// Numbers keep the unit they are written in; several units become one; words, files and texts of keys that ask no quantity stay words.
    #[test]
    fn values_are_numbers_where_a_quantity_is_asked_for() {
        let case: toml_edit::DocumentMut = CASE.parse().unwrap();
        let of = |path: &str, values: &[&str]| {
            let list: Vec<Literal> = values.iter().map(|word| Literal::typed(word)).collect();
            numbers(&Key::find(&case, path).unwrap(), &list.iter().collect::<Vec<_>>())
        };
        assert_eq!(of("cell.gap", &["0.5 mm", "1 mm"]), Some((vec![0.5, 1.0], "mm".into())));
        assert_eq!(of("cell.gap", &["0.001", "2e-3"]), Some((vec![0.001, 0.002], "m".into())));
        let (mixed, unit) = of("cell.gap", &["500 um", "0.1 cm", "0.002"]).unwrap();
        assert!(unit == "mm" && mixed.iter().zip([0.5, 1.0, 2.0]).all(|(a, b)| (a - b).abs() < 1e-14), "{mixed:?}");
        assert_eq!(of("obstacle.3 piers.angle", &["-4", "4"]), Some((vec![-4.0, 4.0], "deg".into())));
        for (path, values) in [
            ("obstacle.3 piers.file", ["3.csv", "4.csv"]),
            ("drive.ends", ["uniform-flow", "held-pressure"]),
            ("cell.gap", ["1 mm", "thin"]),
            ("title", ["3 mm", "4 mm"]),
        ] {
            assert_eq!(of(path, &values), None, "{path}");
        }
    }
}
