//! The frame of a map of the cell: true proportions, a scale bar, the direction of the flow, a colour bar with its unit.

use super::canvas::Canvas;
use super::colour::ColourMap;
use super::edge::Edge;
use super::lettering::{Anchor, Lettering};
use super::rulers::Rulers;
use super::scale::{Scale, round_step};
use super::style::{Ink, LETTER, Palette, Pen, SMALL};
use crate::base::plane::{Rect, Vector};
use crate::base::{Point, Result};

/// Room left and right of a map, mm.
const MARGIN: f64 = 1.5;
/// Height of the strip below a map, mm.
const STRIP: f64 = 12.5;
/// Drawings narrower than this have the colour bar below arrow and scale bar, mm.
const NARROW: f64 = 120.0;
/// Decades from which classes by ratio leave powers of ten out.
const MOST_DECADES: i32 = 12;
/// Height of such a bar with its name and labels, mm.
const OWN_BAR: f64 = 9.5;

/// A map of the cell on a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapFrame {
    /// Left lower corner of the cell in the drawing, mm.
    pub origin: Point,
    /// Millimetres of the drawing per metre of the cell.
    pub scale: f64,
    /// Left lower corner of the box round the cell, m.
    pub low: Point,
    /// Length and width of that box, m.
    pub extent: [f64; 2],
    /// The direction in which the flow enters, of length 1.
    pub inflow: Vector,
    /// Room below the map for the figures of a ruler, mm.
    pub below: f64,
}

/// Colours of a map by classes: class k lies between limits k and k + 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Classes {
    /// Limits, rising.
    pub limits: Vec<f64>,
    /// Colour of each class.
    pub colours: Vec<[u8; 3]>,
    /// Whether values below the first and above the last limit occur.
    pub beyond: [bool; 2],
}

impl MapFrame {
    /// A map as wide as the drawing, its upper edge at `top`, for a cell in this box, m. A cell longer across the flow
    /// than three times along is made narrower so that the drawing stays on a page.
    pub fn new(width: f64, top: f64, cell: Rect, inflow: Vector) -> MapFrame {
        MapFrame::beside(width, top, cell, inflow, [0.0; 2])
    }

    /// The same with rulers in millimetres of the cell round it.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn ruled(width: f64, top: f64, cell: Rect, inflow: Vector) -> Result<MapFrame> {
        // the figures depend on the scale, and the scale on the room they take: the widest room for either
        let mut room = [0.0; 2];
        for _ in 0..3 {
            let needs = MapFrame::beside(width, top, cell, inflow, room).rulers().room()?;
            room = [0, 1].map(|k| f64::max(room[k], needs[k]));
        }
        Ok(MapFrame::beside(width, top, cell, inflow, room))
    }

    /// A map with room on its left and below it, mm.
    fn beside(width: f64, top: f64, cell: Rect, inflow: Vector, [left, below]: [f64; 2]) -> MapFrame {
        let extent = cell.size();
        let ticks = if below > 0.0 { 1.0 } else { 0.0 };
        let free = width - 2.0 * MARGIN - left - ticks;
        let scale = (free / extent[0]).min(1.4 * free / extent[1]);
        let start = MARGIN + left + 0.5 * (free - scale * extent[0]);
        MapFrame { origin: [start, top + ticks + scale * extent[1]], scale, low: cell.low, extent, inflow, below }
    }

    fn rulers(&self) -> Rulers<'static> {
        let to = [0, 1].map(|k| 1e3 * (self.low[k] + self.extent[k]));
        Rulers { from: self.low.map(|x| 1e3 * x), to, scale: 1e-3 * self.scale, unit: "mm" }
    }

    /// Draws the rulers, if it has any.
    ///
    /// # Errors
    /// As [`MapFrame::ruled`].
    pub fn draw_rulers(&self, canvas: &mut Canvas) -> Result<()> {
        if self.below > 0.0 { self.rulers().draw(canvas, self.origin) } else { Ok(()) }
    }

    /// Where the strip below the map begins, mm.
    fn foot(&self) -> f64 {
        self.origin[1] + self.below
    }

    /// Where a place of the cell, m, stands on the drawing.
    pub fn at(&self, [x, y]: Point) -> Point {
        [self.origin[0] + self.scale * (x - self.low[0]), self.origin[1] - self.scale * (y - self.low[1])]
    }

    /// Height of the map, mm.
    pub fn height(&self) -> f64 {
        self.scale * self.extent[1]
    }

    /// Height of the map with the strip below it, mm, in a drawing so wide, with or without a colour bar.
    pub fn full_height(&self, width: f64, bar: bool) -> f64 {
        let ticks = if self.below > 0.0 { 1.0 } else { 0.0 };
        ticks + self.height() + self.below + STRIP + if bar && width < NARROW { OWN_BAR } else { 0.0 }
    }

    /// Corners of the map on the drawing.
    pub fn corners(&self) -> [Point; 4] {
        let [[a, b], [x, y]] = [self.low, [0, 1].map(|k| self.low[k] + self.extent[k])];
        [self.at([a, b]), self.at([x, b]), self.at([x, y]), self.at([a, y])]
    }

    /// Side walls as heavy lines; the ends stay open.
    pub fn walls(&self, canvas: &mut Canvas, edge: &Edge) {
        for wall in &edge.walls {
            canvas.line(&wall.iter().map(|&p| self.at(p)).collect::<Vec<_>>(), Pen::new(0.6, Ink::Text));
        }
    }

    /// Obstacles, given by their outlines in the cell, m.
    pub fn obstacles(&self, canvas: &mut Canvas, outlines: &[Vec<Point>]) {
        for outline in outlines {
            let places: Vec<Point> = outline.iter().map(|&p| self.at(p)).collect();
            canvas.area([places.as_slice()], Ink::Solid, Some(Pen::new(0.3, Ink::Text)));
        }
    }

    /// Bubbles, given by their outlines in the cell, m: light, for fluid is what they hold back least.
    pub fn bubbles(&self, canvas: &mut Canvas, outlines: &[Vec<Point>]) {
        for outline in outlines {
            let places: Vec<Point> = outline.iter().map(|&p| self.at(p)).collect();
            canvas.area([places.as_slice()], Ink::Paper, Some(Pen::new(0.3, Ink::Soft)));
        }
    }

    /// The strip below the map: arrow of the flow, scale bar, and on the right a note in two parts: its name, if it stands.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn strip(&self, canvas: &mut Canvas) -> Result<()> {
        let y = self.foot() + 4.6;
        let [start, end] = [MARGIN + 0.3, MARGIN + 8.3];
        // the drawing's y points down
        let [u, v] = [self.inflow[0], -self.inflow[1]];
        let (middle, half) = (0.5 * (start + end), if v.abs() > 0.1 { 2.6 } else { 0.5 * (end - start) });
        let along = |s: f64| [middle + s * u, y + s * v];
        canvas.line(&[along(-half), along(half - 1.2)], Pen::new(0.4, Ink::Text));
        canvas.arrow_head(along(half), [u, v], 2.2, Ink::Text);
        canvas.text([start, y + 1.8 + SMALL], "flow", Lettering::small(Anchor::Start))?;
        // a round length of 10 to 25 mm of the drawing
        let length = round_step(10.0 / self.scale);
        let [start, end] = [end + 4.0, end + 4.0 + self.scale * length];
        let pen = Pen::new(0.4, Ink::Text);
        canvas.line(&[[start, y], [end, y]], pen);
        for x in [start, end] {
            canvas.line(&[[x, y - 0.9], [x, y + 0.9]], pen);
        }
        let text = format!("{} mm", plain(1e3 * length));
        canvas.text([start, y + 1.8 + SMALL], &text, Lettering::small(Anchor::Start))
    }

    /// Left end of what may stand in the strip besides arrow and scale bar, mm.
    pub fn strip_left(&self) -> f64 {
        let length = self.scale * round_step(10.0 / self.scale);
        MARGIN + 8.3 + 4.0 + length.max(14.0) + 5.0
    }

    /// A note in the strip, at the right; a long one stands small beside the figures of the scale bar.
    ///
    /// # Errors
    /// As [`MapFrame::strip`].
    pub fn note(&self, canvas: &mut Canvas, text: &str) -> Result<()> {
        let right = canvas.width - MARGIN;
        let lettering = Lettering::label(Anchor::End);
        if self.strip_left() + lettering.width(text)? <= right {
            return canvas.text([right, self.foot() + 4.6 + 0.36 * LETTER], text, lettering);
        }
        canvas.text([right, self.foot() + 6.4 + SMALL], text, Lettering::small(Anchor::End).ink(Ink::Text))
    }

    /// The colour bar in the strip, at the right, with the name of what it shows and its unit.
    ///
    /// # Errors
    /// As [`MapFrame::strip`].
    pub fn bar(&self, canvas: &mut Canvas, classes: &Classes, name: &str) -> Result<()> {
        let right = canvas.width - MARGIN - 3.5;
        let narrow = canvas.width < NARROW;
        let left = if narrow { MARGIN + 3.0 } else { self.strip_left().max(right - 90.0) + 3.0 };
        let (top, height) = (self.foot() + if narrow { 4.8 + OWN_BAR } else { 4.3 }, 2.2);
        classes.bar(canvas, [left, top, right - left, height], name)
    }
}

impl Classes {
    /// Classes at round steps over a range, about so many; coloured from the least to the largest. The range is shortened to `within`
    /// where given: what is beyond takes the colours of the ends.
    pub fn rising(canvas: &Canvas, range: [f64; 2], within: [f64; 2], count: usize) -> Classes {
        let [low, high] = [range[0].max(within[0]), range[1].min(within[1])];
        let scale = Scale::linear([low, high], count);
        let limits = limits(scale, count);
        let n = limits.len().saturating_sub(1).max(1) as f64;
        let colours = (0..limits.len().saturating_sub(1))
            .map(|k| ColourMap::Rising.at((k as f64 + 0.5) / n, canvas.style.palette))
            .collect();
        let beyond = beyond(&limits, range);
        Classes { limits, colours, beyond }
    }

    /// Classes for fields of values of their own: by round ratios where the largest is more than so many times the least above zero, about zero
    /// where they lie on both sides of it, else rising.
    pub fn of_values(canvas: &Canvas, [low, high]: [f64; 2], ratio: f64, count: usize) -> Classes {
        let range = if low <= high { [low, high] } else { [0.0, 1.0] };
        match range {
            [low, high] if low > 0.0 && high > ratio * low => Classes::by_ratio(canvas, range),
            [low, high] if low < 0.0 && high > 0.0 => Classes::about_zero(canvas, range, range, count),
            _ => Classes::rising(canvas, range, range, count),
        }
    }

    /// Classes at 1, 2, 5 and 10 times powers of ten, over many decades at the powers alone, rising.
    fn by_ratio(canvas: &Canvas, [low, high]: [f64; 2]) -> Classes {
        let [first, last] = [low.log10().floor(), high.log10().ceil()].map(|x| x as i32);
        let every = (last - first).div_euclid(MOST_DECADES).max(0) as usize + 1;
        let digits: &[f64] = if last - first <= 4 { &[1.0, 2.0, 5.0] } else { &[1.0] };
        let powers = (first..=last).step_by(every);
        let all: Vec<f64> = powers.flat_map(|power| digits.iter().map(move |d| d * 10_f64.powi(power))).collect();
        // from the last limit below all values to the first above them
        let from = all.iter().rposition(|x| *x <= low * (1.0 + 1e-9)).unwrap_or(0);
        let to = all.iter().position(|x| *x >= high * (1.0 - 1e-9)).unwrap_or(all.len() - 1);
        let limits = all[from..=to.max(from)].to_vec();
        let n = limits.len().saturating_sub(1).max(1) as f64;
        let colours = (0..limits.len().saturating_sub(1))
            .map(|k| ColourMap::Rising.at((k as f64 + 0.5) / n, canvas.style.palette))
            .collect();
        let beyond = beyond(&limits, [low, high]);
        Classes { limits, colours, beyond }
    }

    /// The same for lines on paper: the palest colours are left out.
    pub fn for_lines(canvas: &Canvas, range: [f64; 2], within: [f64; 2], count: usize) -> Classes {
        let mut classes = Classes::rising(canvas, range, within, count);
        let n = classes.colours.len().max(1) as f64;
        for (k, colour) in classes.colours.iter_mut().enumerate() {
            let dark = if canvas.style.palette == Palette::Grey { 0.45 } else { 0.75 };
            *colour = ColourMap::Rising.at(1.0 - dark * (1.0 - (k as f64 + 0.5) / n), canvas.style.palette);
        }
        classes
    }

    /// Classes at round steps over a range, about so many, coloured by how far they are from zero on either side.
    pub fn about_zero(canvas: &Canvas, range: [f64; 2], within: [f64; 2], count: usize) -> Classes {
        let [low, high] = [range[0].max(within[0]).min(0.0), range[1].min(within[1]).max(0.0)];
        let scale = Scale::linear([low, high], count);
        let limits = limits(scale, count);
        let reach = limits.iter().fold(0.0, |a: f64, x| a.max(x.abs()));
        // greys have no two sides: they spend all their lightness on the values that occur
        let [from, to] = match canvas.style.palette {
            Palette::Colour => [-reach, reach],
            Palette::Grey => [limits[0], limits[limits.len() - 1]],
        };
        let colour = |w: &[f64]| {
            let part = (0.5 * (w[0] + w[1]) - from) / (to - from);
            ColourMap::AboutZero.at(part, canvas.style.palette)
        };
        let colours = limits.windows(2).map(colour).collect();
        let beyond = beyond(&limits, range);
        Classes { limits, colours, beyond }
    }

    /// Colour of a value.
    pub fn colour(&self, value: f64) -> [u8; 3] {
        let k = self.limits.iter().skip(1).position(|&limit| value < limit).unwrap_or(self.colours.len());
        self.colours.get(k.min(self.colours.len().saturating_sub(1))).copied().unwrap_or([128; 3])
    }

    /// Draws the colours with their limits in a box, left, top, width, height, mm, with the name of what they show and its unit above.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn bar(&self, canvas: &mut Canvas, [left, top, width, height]: [f64; 4], name: &str) -> Result<()> {
        let right = left + width;
        canvas.text([left, top - 1.1], name, Lettering { ink: Ink::Text, ..Lettering::small(Anchor::Start) })?;
        let count = self.colours.len().max(1) as f64;
        let at = |k: f64| left + (right - left) * k / count;
        for (k, &colour) in self.colours.iter().enumerate() {
            // each runs on to the end, so that no seam shows
            canvas.rectangle([at(k as f64), top, right - at(k as f64), height], Ink::Rgb(colour), None);
        }
        let middle = top + 0.5 * height;
        let tip = 1.3;
        if let (true, Some(&colour)) = (self.beyond[0], self.colours.first()) {
            canvas.area([&[[left, top], [left - tip, middle], [left, top + height]][..]], Ink::Rgb(colour), None);
        }
        if let (true, Some(&colour)) = (self.beyond[1], self.colours.last()) {
            canvas.area([&[[right, top], [right + tip, middle], [right, top + height]][..]], Ink::Rgb(colour), None);
        }
        let mut outline = vec![[left, top]];
        outline.extend(self.beyond[0].then_some([left - tip, middle]));
        outline.extend([[left, top + height], [right, top + height]]);
        outline.extend(self.beyond[1].then_some([right + tip, middle]));
        outline.extend([[right, top], [left, top]]);
        canvas.line(&outline, Pen::new(0.2, Ink::Soft));
        self.labels(canvas, left, right, top + height)
    }

    fn labels(&self, canvas: &mut Canvas, left: f64, right: f64, below: f64) -> Result<()> {
        let lettering = Lettering::small(Anchor::Middle);
        let count = self.colours.len().max(1) as f64;
        let step = self.limits.windows(2).map(|w| w[1] - w[0]).fold(f64::INFINITY, f64::min);
        let widest_step = self.limits.windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max);
        let named: Vec<String> = match widest_step > 1.5 * step {
            true => self.limits.iter().map(|&x| super::scale::short(x, 3)).collect(),
            false => self.limits.iter().map(|&x| super::scale::label(x, step)).collect(),
        };
        let mut widest = 0.0_f64;
        for name in &named {
            widest = widest.max(lettering.width(name)?);
        }
        // every so many, and zero among them
        let every = ((widest + 2.0) / ((right - left) / count)).ceil().max(1.0) as usize;
        let zero = self.limits.iter().position(|x| x.abs() < 1e-9 * step).unwrap_or(0);
        for (k, name) in named.iter().enumerate().filter(|(k, _)| k % every == zero % every) {
            let x = left + (right - left) * k as f64 / count;
            canvas.line(&[[x, below], [x, below + 0.8]], Pen::new(0.2, Ink::Soft));
            // the outermost ones stay inside the drawing
            let half = 0.5 * lettering.width(name)? + 0.3;
            canvas.text([x.clamp(half, canvas.width - half), below + 1.2 + CAP], name, lettering)?;
        }
        Ok(())
    }
}

/// Height of a figure of small lettering.
const CAP: f64 = 0.72 * SMALL;

fn limits(scale: Scale, count: usize) -> Vec<f64> {
    scale.ticks(count).into_iter().map(|tick| tick.value).collect()
}

/// Whether values lie below the first and above the last limit.
fn beyond(limits: &[f64], range: [f64; 2]) -> [bool; 2] {
    let (Some(first), Some(last)) = (limits.first(), limits.last()) else { return [false; 2] };
    let slack = 1e-9 * (last - first);
    [range[0] < first - slack, range[1] > last + slack]
}

/// A number without needless decimals.
fn plain(x: f64) -> String {
    format!("{}", (1e6 * x).round() / 1e6)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::Style;

    #[test]
    fn proportions_are_true_and_y_points_up() {
        let map = MapFrame::new(85.0, 2.0, Rect { low: [0.0; 2], high: [2.0, 1.0] }, [1.0, 0.0]);
        let [a, b] = [map.at([0.5, 0.25]), map.at([1.5, 0.75])];
        assert!(((b[0] - a[0]) - 2.0 * (a[1] - b[1])).abs() < 1e-12);
        assert!(map.at([0.0, 1.0])[1] == 2.0 && map.corners()[1][0] <= 83.5);
        let tall = MapFrame::new(85.0, 2.0, Rect { low: [0.0; 2], high: [0.1, 10.0] }, [1.0, 0.0]);
        assert!(tall.height() < 120.0);
    }

    /// Values over decades have classes at 1, 2 and 5 times powers of ten that hold all of them.
    #[test]
    fn decades_have_classes_by_ratio() {
        let canvas = Canvas::new("a", "b", 10.0, Style::default());
        let classes = Classes::of_values(&canvas, [0.027, 7.1], 12.0, 9);
        let expected = [0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0];
        assert!(
            classes.limits.len() == 9 && classes.limits.iter().zip(expected).all(|(a, b)| (a / b - 1.0).abs() < 1e-9)
        );
        assert_eq!((classes.colours.len(), classes.beyond), (8, [false, false]));
        let far = Classes::of_values(&canvas, [1e-30, 1e30], 12.0, 9);
        assert!(far.limits.len() < 20 && far.limits[0] <= 1e-30 && far.colours.len() + 1 == far.limits.len());
        assert_eq!(Classes::of_values(&canvas, [1.0, 8.0], 12.0, 7).limits[0], 1.0);
        assert!(Classes::of_values(&canvas, [-2.0, 8.0], 12.0, 7).limits.contains(&0.0));
    }

    #[test]
    fn zero_lies_between_classes_of_opposite_colour() {
        let canvas = Canvas::new("a", "b", 10.0, Style::default());
        let classes = Classes::about_zero(&canvas, [-2.9, 1.0], [-10.0, 10.0], 8);
        let zero = classes.limits.iter().position(|x| *x == 0.0).unwrap();
        let [below, above] = [classes.colours[zero - 1], classes.colours[zero]];
        assert!(below[2] > below[0] && above[0] > above[2], "{below:?} {above:?}");
        assert_eq!(classes.beyond, [false, false]);
        let cut = Classes::rising(&canvas, [0.0, 9.0], [0.0, 2.0], 8);
        assert_eq!(cut.beyond, [false, true]);
        assert_eq!(cut.colour(9.0), *cut.colours.last().unwrap());
    }
}
