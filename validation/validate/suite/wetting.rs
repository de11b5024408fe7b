//! Closed forms of a filling front under tension.

use super::Figure;
use twinplate::theory::wetting::{
    Channel, Cup, Effective, InRow, cup_downstream, effective_angle, flat_front, flat_rear, half_post_foot, in_row,
    round_rear, tension_factor,
};

/// Rounding of closed forms whose terms are some ten times their value.
const ROUNDING: f64 = 1e-13;

/// Named quantities of the front; angles in degrees, those of sides in the plane; lengths in radii or half-widths.
pub fn figure(what: &str, with: &[f64]) -> Option<Figure> {
    let plane = |degrees: f64| Effective::Angle(degrees.to_radians());
    let channel = |h: f64, wall: f64| Channel { half_width: h, wall: plane(wall) };
    let value = match (what, with) {
        ("tension", &[plate]) => tension_factor(plate.to_radians()),
        ("angle", &[plate, side]) => effective_angle(side.to_radians(), plate.to_radians()).angle().to_degrees(),
        ("round_rear", &[h, wall, side]) => round_rear(1.0, &channel(h, wall), plane(side))?.area,
        ("flat_rear", &[h, wall, side]) => flat_rear(1.0, &channel(h, wall), plane(side))?.area,
        ("flat_front", &[h, wall]) => flat_front(1.0, &channel(h, wall))?.area,
        ("cup", &[h, wall, side, cavity, w]) => match cup_downstream(cavity, w, &channel(h, wall), plane(side))? {
            Cup::Closed(closed) => closed.area,
            Cup::Snaps(_) => return None,
        },
        ("between", &[h, pitch, side]) => match in_row(1.0, pitch, &channel(h, 90.0), plane(side)) {
            InRow::Between { area, .. } => area,
            InRow::Lone => return None,
        },
        ("foot", &[width, seal, other]) => half_post_foot(1.0, width, plane(seal), plane(other))?,
        _ => return None,
    };
    Some(Figure { value, error: ROUNDING * (1.0 + value.abs()) })
}
