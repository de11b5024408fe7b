//! Sections as closed chains of curves.

use super::ChordPart::{Aft, Fore};
use super::Surface::{Lower, Upper};
use super::{Curve, FourDigitSurface, JoukowskiMap};
use std::f64::consts::PI;

impl FourDigitSurface {
    /// The whole section with the parameters of `self`, counter-clockwise from the tail.
    pub(crate) fn section(self) -> Vec<Curve> {
        let part = |surface, part, start, end| Curve::FourDigit {
            surface: FourDigitSurface { surface, part, ..self },
            start,
            end,
        };
        let mut curves = if self.camber == 0.0 {
            vec![part(Upper, Fore, 1.0, 0.0), part(Lower, Fore, 0.0, 1.0)]
        } else {
            let p = self.camber_place.sqrt();
            vec![
                part(Upper, Aft, 1.0, p),
                part(Upper, Fore, p, 0.0),
                part(Lower, Fore, 0.0, p),
                part(Lower, Aft, p, 1.0),
            ]
        };
        if !self.closed_tail {
            let (from, to) = (curves[curves.len() - 1].point(1.0), curves[0].point(0.0));
            curves.push(Curve::Line { from, to });
        }
        curves
    }
}

impl JoukowskiMap {
    /// Both surfaces, counter-clockwise from the tail.
    pub(crate) fn curves(self) -> Vec<Curve> {
        let nose = self.nose();
        vec![
            Curve::Joukowski { map: self, start: 0.0, end: nose },
            Curve::Joukowski { map: self, start: nose, end: 2.0 * PI },
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn section(closed_tail: bool) -> Vec<Curve> {
        let surface = FourDigitSurface {
            camber: 0.02,
            camber_place: 0.4,
            thickness: 0.12,
            closed_tail,
            surface: Upper,
            part: Fore,
            nose: [0.0, 0.0],
            chord: [1.0, 0.0],
        };
        surface.section()
    }

    #[test]
    fn closed_tail_meets_and_nose_is_common() {
        let curves = section(true);
        for k in 0..curves.len() {
            let (end, start) = (curves[k].point(1.0), curves[(k + 1) % curves.len()].point(0.0));
            approx::assert_abs_diff_eq!(end[0], start[0], epsilon = 1e-15);
            approx::assert_abs_diff_eq!(end[1], start[1], epsilon = 1e-15);
        }
        assert_eq!(section(false).len(), 5);
    }
}
