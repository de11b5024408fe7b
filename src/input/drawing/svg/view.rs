//! Lengths, view boxes and transforms of SVG (SVG 2, chapter 8; px as in CSS, 96 to the inch).

use super::super::affine::Affine;
use roxmltree::Node;
use std::ops::Range;
use std::str::FromStr;
use svgtypes::{Align, AspectRatio, Length, LengthUnit, Transform, ViewBox};

/// One px in metres.
pub(super) const PX: f64 = 0.0254 / 96.0;

/// A length in px; a fraction of `whole` if it is a percentage.
///
/// # Errors
/// No length, or one in a unit that depends on a font.
pub(super) fn px(text: &str, whole: f64) -> Result<f64, String> {
    let length = Length::from_str(text.trim()).map_err(|error| format!("`{text}` is not a length: {error}"))?;
    let per_inch = |inches: f64| Ok(96.0 * inches);
    match length.unit {
        LengthUnit::None | LengthUnit::Px => Ok(length.number),
        LengthUnit::In => per_inch(length.number),
        LengthUnit::Cm => per_inch(length.number / 2.54),
        LengthUnit::Mm => per_inch(length.number / 25.4),
        LengthUnit::Pt => per_inch(length.number / 72.0),
        LengthUnit::Pc => per_inch(length.number / 6.0),
        LengthUnit::Percent => Ok(0.01 * length.number * whole),
        LengthUnit::Em | LengthUnit::Ex => Err(format!("`{text}` depends on the size of a font")),
    }
}

/// Metres of a length with a unit, or of a plain number in px; none for a percentage or a font's unit.
///
/// Units are converted straight to metres, so that 60 mm over 60 units is a millimetre to the last digit.
pub(super) fn metres(text: &str) -> Option<f64> {
    let length = Length::from_str(text.trim()).ok()?;
    let per_unit = match length.unit {
        LengthUnit::None | LengthUnit::Px => PX,
        LengthUnit::In => 0.0254,
        LengthUnit::Cm => 0.01,
        LengthUnit::Mm => 0.001,
        LengthUnit::Pt => 0.0254 / 72.0,
        LengthUnit::Pc => 0.0254 / 6.0,
        LengthUnit::Percent | LengthUnit::Em | LengthUnit::Ex => return None,
    };
    Some(length.number * per_unit).filter(|metres| metres.is_finite() && *metres > 0.0)
}

/// Whether a length is in px, said or unsaid.
pub(super) fn is_px(text: &str) -> bool {
    Length::from_str(text.trim()).is_ok_and(|length| matches!(length.unit, LengthUnit::None | LengthUnit::Px))
}

/// What is wrong, and where.
pub(super) type Misread = (String, Range<usize>);

/// The view box of an element, if it has one.
///
/// # Errors
/// One that is not four numbers, or without size.
pub(super) fn view_box(node: Node<'_, '_>) -> Result<Option<ViewBox>, Misread> {
    let Some(attribute) = node.attribute_node("viewBox") else { return Ok(None) };
    let text = attribute.value();
    match ViewBox::from_str(text) {
        Ok(view) if view.w > 0.0 && view.h > 0.0 => Ok(Some(view)),
        Ok(_) => Err((format!("the viewBox `{text}` has no size"), attribute.range_value())),
        Err(error) => Err((format!("the viewBox is broken: {error}"), attribute.range_value())),
    }
}

/// How a view box fits into a width and a height: scales along x and y, and where its corner goes.
pub(super) fn fit(view: &ViewBox, size: [f64; 2], aspect: AspectRatio) -> Affine {
    let [sx, sy] = [size[0] / view.w, size[1] / view.h];
    let [sx, sy] = match (aspect.align, aspect.slice) {
        (Align::None, _) => [sx, sy],
        (_, false) => [sx.min(sy); 2],
        (_, true) => [sx.max(sy); 2],
    };
    let [left, below] = [size[0] - sx * view.w, size[1] - sy * view.h];
    let x = match aspect.align {
        Align::None | Align::XMinYMin | Align::XMinYMid | Align::XMinYMax => 0.0,
        Align::XMidYMin | Align::XMidYMid | Align::XMidYMax => 0.5 * left,
        Align::XMaxYMin | Align::XMaxYMid | Align::XMaxYMax => left,
    };
    let y = match aspect.align {
        Align::None | Align::XMinYMin | Align::XMidYMin | Align::XMaxYMin => 0.0,
        Align::XMinYMid | Align::XMidYMid | Align::XMaxYMid => 0.5 * below,
        Align::XMinYMax | Align::XMidYMax | Align::XMaxYMax => below,
    };
    Affine([sx, 0.0, 0.0, sy, x - sx * view.x, y - sy * view.y])
}

/// A list of transforms as one map.
///
/// # Errors
/// What is wrong with it.
pub(super) fn transform(text: &str) -> Result<Affine, String> {
    let t = Transform::from_str(text).map_err(|error| format!("the transform is broken: {error}"))?;
    Ok(Affine([t.a, t.b, t.c, t.d, t.e, t.f]))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definitions of CSS: 1 in = 2.54 cm = 25.4 mm = 72 pt = 6 pc = 96 px.
    #[test]
    fn units_are_those_of_css() {
        for text in ["1in", "2.54cm", "25.4mm", "72pt", "6pc", "96px", "96", "50%"] {
            approx::assert_relative_eq!(px(text, 192.0).unwrap(), 96.0, max_relative = 1e-15);
        }
        assert!(px("2em", 1.0).is_err() && px("wide", 1.0).is_err());
        assert_eq!(metres("60mm").map(|m| m / 60.0), Some(0.001));
        assert_eq!(metres("50%"), None);
    }

    /// By hand: a box of 100 by 50 at (10, 20) in a window of 200 by 200.
    #[test]
    fn view_boxes_fit_as_they_ask() {
        let view = ViewBox::new(10.0, 20.0, 100.0, 50.0);
        let at = |aspect: &str| fit(&view, [200.0, 200.0], AspectRatio::from_str(aspect).unwrap()).point([10.0, 20.0]);
        assert_eq!(at("xMidYMid meet"), [0.0, 50.0]);
        assert_eq!(at("xMinYMin"), [0.0, 0.0]);
        assert_eq!(at("xMaxYMax"), [0.0, 100.0]);
        assert_eq!(at("xMidYMid slice"), [-100.0, 0.0]);
        let none = fit(&view, [200.0, 200.0], AspectRatio::from_str("none").unwrap());
        assert_eq!(none.vector([1.0, 1.0]), [2.0, 4.0]);
    }
}
