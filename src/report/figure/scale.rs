//! Scales of axes and bars: where a value stands, where the ticks stand and what is written at them.

use crate::base::units::significant;

/// A scale from one value to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Value at the start.
    pub from: f64,
    /// Value at the end.
    pub to: f64,
    /// Whether equal lengths are equal ratios.
    pub log: bool,
}

/// A tick.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Its value.
    pub value: f64,
    /// What is written at it; nothing at small ticks.
    pub label: String,
}

impl Scale {
    /// A linear scale that starts and ends at round values and holds all the values given; about `ticks` ticks.
    pub fn linear(values: impl IntoIterator<Item = f64>, ticks: usize) -> Scale {
        let [mut from, mut to] = range(values);
        if from > to {
            [from, to] = [0.0, 1.0];
        }
        if to - from <= 1e-12 * from.abs().max(to.abs()) {
            let pad = if from == 0.0 { 1.0 } else { 0.1 * from.abs() };
            [from, to] = [from - pad, to + pad];
        }
        let step = round_step((to - from) / ticks.max(1) as f64);
        Scale { from: (from / step + 1e-9).floor() * step, to: (to / step - 1e-9).ceil() * step, log: false }
    }

    /// A logarithmic scale that holds all the positive values given, with some room at both ends.
    pub fn logarithmic(values: impl IntoIterator<Item = f64>) -> Scale {
        let [from, to] = range(values.into_iter().filter(|x| *x > 0.0));
        if from > to {
            return Scale { from: 0.1, to: 1.0, log: true };
        }
        let pad = (to / from).powf(0.06).max(1.25);
        Scale { from: from / pad, to: to * pad, log: true }
    }

    /// A logarithmic scale of values above zero of which the largest is more than so many times the least, else a linear one.
    pub fn by_ratio(values: impl Iterator<Item = f64> + Clone, ratio: f64, ticks: usize) -> Scale {
        let [low, high] = range(values.clone());
        if low > 0.0 && high > ratio * low { Scale::logarithmic(values) } else { Scale::linear(values, ticks) }
    }

    /// Where a value stands: 0 at the start, 1 at the end.
    pub fn part(&self, value: f64) -> f64 {
        if self.log {
            (value / self.from).ln() / (self.to / self.from).ln()
        } else {
            (value - self.from) / (self.to - self.from)
        }
    }

    /// Ticks, at most about so many with labels.
    pub fn ticks(&self, most: usize) -> Vec<Tick> {
        if self.log { self.log_ticks(most) } else { self.linear_ticks(most) }
    }

    fn linear_ticks(&self, most: usize) -> Vec<Tick> {
        let step = round_step((self.to - self.from) / most.max(1) as f64);
        let (first, last) = ((self.from / step - 1e-9).ceil() as i64, (self.to / step + 1e-9).floor() as i64);
        (first..=last.min(first + 1000))
            .map(|k| {
                let value = k as f64 * step;
                Tick { value, label: label(value, step) }
            })
            .collect()
    }

    fn log_ticks(&self, most: usize) -> Vec<Tick> {
        let (low, high) = (self.from.log10(), self.to.log10());
        let (first, last) = (low.floor() as i32, (high.ceil() as i32).min(low.floor() as i32 + 300));
        let decades = (high - low).max(1e-9);
        // within few decades the values 2 and 5 get labels as well
        let marked: &[u32] = match decades * 3.0 {
            n if decades < 0.75 && n <= most as f64 => &[1, 2, 3, 4, 5, 6, 7, 8, 9],
            n if n <= most as f64 => &[1, 2, 5],
            _ => &[1],
        };
        let every = (decades / most.max(1) as f64).ceil().max(1.0) as i32;
        let mut ticks = Vec::new();
        for exponent in first..=last {
            for digit in 1..10_u32 {
                let value = f64::from(digit) * 10_f64.powi(exponent);
                if value < self.from * (1.0 - 1e-9) || value > self.to * (1.0 + 1e-9) {
                    continue;
                }
                let labelled = marked.contains(&digit) && (digit > 1 || exponent.rem_euclid(every) == 0);
                // as decimals as long as that is short
                let plain = if self.from > 4e-4 { -3..=3 } else { -2..=3 };
                let label = match (labelled, plain.contains(&exponent)) {
                    (false, _) => String::new(),
                    (true, true) => format!("{}", value_of(digit, exponent)),
                    (true, false) if digit == 1 => format!("10{}", raised(exponent)),
                    (true, false) => format!("{digit}·10{}", raised(exponent)),
                };
                ticks.push(Tick { value, label });
            }
        }
        ticks
    }
}

/// Least and largest of the finite values; upside down if there is none.
fn range(values: impl IntoIterator<Item = f64>) -> [f64; 2] {
    let finite = values.into_iter().filter(|x| x.is_finite());
    finite.fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], x| [a.min(x), b.max(x)])
}

/// The next of 1, 2, 2.5, 5 times a power of ten.
pub fn round_step(least: f64) -> f64 {
    let power = 10_f64.powf(least.log10().floor());
    let step =
        [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().find(|m| m * power >= least * (1.0 - 1e-9)).unwrap_or(10.0) * power;
    if step.is_finite() && step > 0.0 { step } else { 1.0 }
}

/// A value with the decimals its step needs.
pub fn label(value: f64, step: f64) -> String {
    let decimals = (0..12).find(|&d| {
        let scaled = step * 10_f64.powi(d);
        (scaled - scaled.round()).abs() < 1e-6 * scaled.max(1e-12)
    });
    // what rounding made of zero has no sign
    let value = if value.abs() < 1e-9 * step { 0.0 } else { value };
    if value == 0.0 && step < 1e-5 {
        return "0".to_owned();
    }
    if value.abs() >= 1e6 || step < 1e-5 {
        return scientific(value);
    }
    let decimals = decimals.unwrap_or(3) as usize;
    minus(&format!("{value:.decimals$}"))
}

/// The nearest number to a digit times a power of ten, so that it is written short.
fn value_of(digit: u32, exponent: i32) -> f64 {
    let power = 10_f64.powi(exponent.abs());
    if exponent < 0 { f64::from(digit) / power } else { f64::from(digit) * power }
}

/// A value with three digits and a power of ten.
fn scientific(value: f64) -> String {
    let text = format!("{value:.2e}");
    let (digits, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let digits = digits.trim_end_matches('0').trim_end_matches('.');
    format!("{}·10{}", minus(digits), raised(exponent.parse().unwrap_or(0)))
}

/// An exponent in raised figures.
fn raised(exponent: i32) -> String {
    let figure = |c: char| match c {
        '-' => '⁻',
        c => ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'][c.to_digit(10).unwrap_or(0) as usize],
    };
    exponent.to_string().chars().map(figure).collect()
}

/// A value with so many digits, without needless zeros; very small and large ones with a power of ten.
pub fn short(value: f64, digits: usize) -> String {
    let text = significant(value, digits);
    let trimmed = |digits: &str| match digits.contains('.') {
        true => digits.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => digits.to_owned(),
    };
    match text.split_once('e') {
        Some((digits, exponent)) => {
            format!("{}·10{}", minus(&trimmed(digits)), raised(exponent.parse().unwrap_or(0)))
        }
        None => minus(&trimmed(&text)),
    }
}

/// A number with a true minus sign.
pub fn minus(text: &str) -> String {
    text.replace('-', "−")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_within() {
        let scale = Scale::linear([0.013, 0.207], 5);
        assert_eq!((scale.from, scale.to), (0.0, 0.25));
        let labels: Vec<String> = scale.ticks(5).into_iter().map(|t| t.label).collect();
        assert_eq!(labels, ["0.00", "0.05", "0.10", "0.15", "0.20", "0.25"]);
        let labels: Vec<String> = Scale::linear([-3.0, 1.0], 4).ticks(4).into_iter().map(|t| t.label).collect();
        assert_eq!(labels, ["−3", "−2", "−1", "0", "1"]);
        assert_eq!(label(2.5e-7, 5e-8), "2.5·10⁻⁷");
        let labels: Vec<String> = Scale::linear([-6e-4, 6e-4], 6).ticks(6).into_iter().map(|t| t.label).collect();
        assert_eq!(labels[3], "0.0000");
        assert_eq!((label(-1e-20, 1e-7), label(-1e-17, 0.5)), ("0".into(), "0.0".into()));
        let shortened = [(2.0, "2"), (0.125, "0.125"), (-130.0, "−130"), (2.5e-7, "2.5·10⁻⁷")];
        shortened.into_iter().for_each(|(value, text)| assert_eq!(short(value, 3), text));
    }

    #[test]
    fn decades_are_labelled_as_far_as_there_is_room() {
        let labels = |from: f64, to: f64, most: usize| -> Vec<String> {
            let ticks = Scale { from, to, log: true }.ticks(most);
            ticks.into_iter().map(|t| t.label).filter(|l| !l.is_empty()).collect()
        };
        assert_eq!(labels(1e-6, 1e-3, 4), ["10⁻⁶", "10⁻⁵", "10⁻⁴", "10⁻³"]);
        assert_eq!(labels(0.09, 2.2, 6), ["0.1", "0.2", "0.5", "1", "2"]);
        assert_eq!(labels(0.0028, 0.03, 6), ["0.005", "0.01", "0.02"]);
        assert!(labels(1e-30, 1e30, 6).len() <= 7);
    }

    #[test]
    fn scales_of_nothing_and_of_one_value() {
        assert!(Scale::linear([], 5).ticks(5).len() > 1);
        let one = Scale::linear([f64::NAN, 3.0], 5);
        assert!(one.part(3.0) > 0.2 && one.part(3.0) < 0.8);
        assert!(Scale::logarithmic([0.0, -1.0]).ticks(5).len() > 1);
        assert!((Scale::logarithmic([1.0, 100.0]).part(10.0) - 0.5).abs() < 1e-12);
    }
}
