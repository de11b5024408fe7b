//! Maps of the flow: what they show and where.

use super::*;
use crate::report::figure::{Column, Style};

/// A pressure that falls evenly from 2 Pa over a cell 2 m long: each value stands on its isobar, where the pressure is that, and nothing says
/// that it is a coefficient; the bar of the coefficient says whose it is.
#[test]
fn isobars_carry_the_pressure_of_the_cell() {
    let mesh = crate::numerics::contour::tests::mesh();
    for column in [Column::Single, Column::Double] {
        let map = CellMap::new(&mesh, Style { palette: Palette::Colour, column }, None);
        let pressure: Vec<f64> = mesh.points.iter().map(|p| 2.0 - p[0]).collect();
        let drawn = map.isobars(&pressure).unwrap();
        let (_, frame) = map.start("a", "b", 0.0, false).unwrap();
        let mut count = 0;
        for text in drawn.texts() {
            let Ok(value) = text.text.parse::<f64>() else { continue };
            let middle = 0.5 * (text.area[0] + text.area[2]);
            assert!((middle - frame.at([2.0 - value, 0.5])[0]).abs() < 0.05, "{text:?}");
            count += 1;
        }
        assert!(count >= 8 && drawn.texts().iter().any(|t| t.text == "an isobar every 0.1 Pa, the outlet at 0"));
        let coefficient = map.pressure_coefficient(&pressure).unwrap();
        let whose = coefficient.texts().iter().filter(|t| t.text.ends_with("inviscid flow with these lines"));
        assert_eq!(whose.count(), 1);
        assert!(drawn.crowded().is_empty() && coefficient.crowded().is_empty());
    }
}
