//! What guaranteed bounds and extrapolation say of the shape factor, side by side.

use super::Ladder;
use crate::base::units::significant;

/// The guaranteed bounds of the finest mesh beside what extrapolation says of the shape factor.
#[derive(Debug, Clone, PartialEq)]
pub struct Bracket {
    /// Richardson value of the shape factor.
    pub richardson: f64,
    /// Lower and upper bound on the finest mesh.
    pub bounds: [f64; 2],
    /// What chords in place of curves can add, to first order, units of the shape factor.
    pub allowance: f64,
    /// Half the distance of the bounds over the value.
    pub half_width: f64,
    /// Order with which the bounds close from the finest but one to the finest mesh; none where they are closed to rounding.
    pub closing_order: Option<f64>,
    /// GCI of the shape factor, if it has one.
    pub gci: Option<f64>,
    /// Whether the Richardson value lies within the bounds, widened by the allowance.
    pub inside: bool,
    /// Which of the two estimates is the safer, in words.
    pub text: String,
}

impl Ladder {
    /// Compares bounds and extrapolation of the shape factor; none if the ladder is empty.
    pub fn bracket(&self) -> Option<Bracket> {
        let (rung, shape) = (self.rungs.last()?, self.quantities.first()?);
        let [lower, upper] = rung.bounds;
        let judgement = &shape.judgement;
        let (richardson, gci, allowance) = (judgement.extrapolated, judgement.gci, rung.allowance);
        let value = 0.5 * (lower + upper);
        // on the empty cell both bounds are the value itself, to rounding
        let slack = allowance + 1e-12 * value.abs();
        let inside = lower - slack <= richardson && richardson <= upper + slack;
        let half_width = 0.5 * (upper - lower) / value;
        let closing_order = self.closing_order();
        let mut text = compare(inside, half_width, allowance / value, gci);
        if let Some(order) = closing_order {
            text += &format!(" The bounds close with order {order:.2} where {:.2} is expected.", shape.expected);
        }
        Some(Bracket { closing_order, richardson, bounds: [lower, upper], allowance, half_width, gci, inside, text })
    }

    /// The limit of the distance of the bounds is known to be zero, so two meshes show its order.
    fn closing_order(&self) -> Option<f64> {
        let [.., coarse, fine] = self.rungs.as_slice() else { return None };
        let width = |bounds: [f64; 2]| bounds[1] - bounds[0];
        let rounding = 1e-11 * fine.bounds[1].abs();
        let order = (width(coarse.bounds) / width(fine.bounds)).ln() / (coarse.size / fine.size).ln();
        (width(fine.bounds) > rounding && order.is_finite()).then_some(order)
    }
}

/// Which estimate is the safer, in words; all relative to the shape factor.
fn compare(inside: bool, half_width: f64, allowance: f64, gci: Option<f64>) -> String {
    let percent = |x: f64| format!("{} %", significant(100.0 * x, 2));
    let place = if inside { "lies within" } else { "lies OUTSIDE" };
    let chords = if allowance > 0.0 {
        format!(", with {} more for chords in place of curves", percent(allowance))
    } else {
        String::new()
    };
    let bounds = format!(
        "The Richardson value of the shape factor {place} the guaranteed bounds of the finest mesh (half-width {}{chords}).",
        percent(half_width)
    );
    if !inside {
        return bounds + " Trust the bounds: extrapolation assumes a steady order, which these meshes do not show.";
    }
    match gci {
        Some(gci) if gci <= half_width + allowance => format!(
            "{bounds} The GCI is {}, narrower, but it rests on the observed order; the bounds are the safer, for they assume nothing.",
            percent(gci)
        ),
        Some(gci) => format!(
            "{bounds} The GCI is {}, wider: here it is the more careful of the two, though the bounds prove that the error is less.",
            percent(gci)
        ),
        None => bounds + " There is no GCI; the bounds are the safer, for they assume nothing.",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_follow_the_numbers() {
        assert!(compare(true, 1e-4, 0.0, Some(1e-5)).contains("bounds are the safer"));
        assert!(compare(true, 1e-4, 0.0, Some(1e-3)).contains("more careful"));
        assert!(compare(false, 1e-4, 0.0, Some(1e-5)).contains("Trust the bounds"));
        assert!(compare(true, 1e-4, 2e-5, None).contains("0.0020 % more for chords"));
    }
}
