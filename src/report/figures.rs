//! The figures of a study.

use crate::base::units::Dimension;
use crate::base::{Error, Point, Result};
use crate::input::case::{Case, Seeding, SweepQuantity, Times};
use crate::numerics::fem::Finer;
use crate::numerics::mesh::Mesh;
use crate::report::figure::{
    Canvas, CellMap, Column, Curve, DepartureMap, FirstOrder, Marked, Palette, Panel, Streaks, Style, budget_bars,
    sweep_curves,
};
use crate::report::{Folder, Origin};
use crate::study::{Budget, BudgetErrors, DRAWN_HEIGHTS, DRAWN_LINES, Findings, Study};
use crate::theory::departure::{Effect, Errors, Measure, Measures, Scale, Standing, SweepRow, View, Way};
use crate::theory::edge_layer::Margin;
use crate::theory::streaklines::shown_height;
use rayon::prelude::*;

/// A format of figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Scalable Vector Graphics.
    Svg,
    /// Portable Document Format.
    Pdf,
    /// A picture.
    Png,
}

/// How figures are made and written.
#[derive(Debug, Clone, PartialEq)]
pub struct FigureSettings {
    /// How they look.
    pub style: Style,
    /// The formats.
    pub formats: Vec<Format>,
    /// Pixels per inch of pictures.
    pub dpi: f64,
    /// Whether coloured areas are pictures inside the vector frame.
    pub raster: bool,
    /// Distance of evenly spaced lines, m, if they are wanted.
    pub spacing: Option<f64>,
    /// Whether maps have rulers round them.
    pub axes: bool,
    /// Whether obstacles and probes are named in maps.
    pub names: bool,
}

impl Default for FigureSettings {
    fn default() -> Self {
        FigureSettings {
            style: Style::default(),
            formats: vec![Format::Svg, Format::Pdf, Format::Png],
            dpi: 300.0,
            raster: false,
            spacing: None,
            axes: false,
            names: false,
        }
    }
}

impl FigureSettings {
    /// Whether a cell can be drawn so.
    ///
    /// # Errors
    /// [`Error::Usage`] if evenly spaced lines would stand closer than a two-hundredth of the cell's smaller side: on paper that is black.
    pub fn check(&self, case: &Case) -> Result<()> {
        let [length, width] = case.cell.size();
        let least = length.min(width) / 200.0;
        match self.spacing {
            Some(spacing) if spacing < least => {
                let [spacing, least] = [spacing, least].map(|x| Dimension::Length.show(x));
                Err(Error::argument(
                    format!("evenly spaced lines {spacing} apart would blacken the figure"),
                    format!("take at least {least}, a two-hundredth of the cell's smaller side"),
                ))
            }
            _ => Ok(()),
        }
    }

    /// The same figures for the page of a report: in colour, narrow enough to be read on a phone.
    pub(super) fn for_page(&self) -> Self {
        FigureSettings { style: Style { palette: Palette::Colour, column: Column::Single }, ..self.clone() }
    }
}

impl Study {
    /// Draws the figures of a study: streaklines, speed, pressure coefficient, mesh; layers if it has inertia; with a budget also the
    /// departures, the budget, the sweep and the pattern with circulation.
    ///
    /// # Errors
    /// [`Error::Failed`] if a name of the case needs a character the font of figures lacks.
    pub fn figures(&self, found: &Findings, settings: &FigureSettings) -> Result<Vec<Canvas>> {
        let style = settings.style;
        let drawn = Drawn { finer: found.drawn.as_ref(), solved: &self.solved.space.mesh };
        let raster = settings.raster.then_some(settings.dpi);
        let probes = || self.case.probes.iter().map(|probe| (probe.name.clone(), probe.at)).collect();
        let marked = Marked { axes: settings.axes, names: settings.names.then(probes) };
        let map = CellMap::new(drawn.mesh(), style, raster).marked(marked.clone());
        let height = shown_height(self.case.streaklines.height);
        let layer_speed = 1.5 * (1.0 - height * height) * self.pattern.drive.mean_speed;
        let (title, note) = self.dye_words();
        let streaks = Streaks { lines: &self.lines, bands: &found.bands, title, note: &note };
        let mut figures = vec![map.streaks(&streaks, None)?, map.streaks(&streaks, Some(layer_speed))?];
        if let Some(times) = &self.case.streaklines.times {
            figures.push(map.at_times(&self.lines, &self.time_lines, &time_words(times))?);
        }
        if let Some(spacing) = settings.spacing {
            figures.push(map.even_lines(&drawn.exact(&self.pattern.stream_function), spacing)?);
        }
        figures.push(map.pressure_coefficient(&drawn.smooth(&self.pattern.pressure_coefficient()))?);
        figures.push(map.isobars(&drawn.exact(&self.pattern.pressure))?);
        figures.push(map.speed_ratio(&drawn.smooth(&self.pattern.speed_ratio()))?);
        figures.extend(self.line_figures(&drawn, found.budget.as_ref(), style)?);
        if !found.drawn_lines.is_empty() {
            figures.push(map.layers(&found.drawn_lines, &DRAWN_HEIGHTS)?);
        }
        if let Some(without) = found.without_bubbles() {
            let finer = found.drawn.as_ref().map(|_| self.drawn_mesh(&without.solved.space.mesh));
            let alone = Drawn { finer: finer.as_ref(), solved: &without.solved.space.mesh };
            let stream = alone.exact(&without.pattern.stream_function);
            let with = drawn.exact(&self.pattern.stream_function);
            figures.push(map.bubbles(&with, (alone.mesh(), &stream), 2 * DRAWN_LINES)?);
        }
        if let Some(budget) = &found.budget {
            self.departure_figures(&map, &drawn, budget, &mut figures)?;
            let effects = budget.effects();
            figures.push(budget_bars(style, &effects, &self.panels(budget))?);
            if let Some(sweep) = self.sweep_figure(style, budget)? {
                figures.push(sweep);
            }
            if let Some(with) = &budget.circulation {
                let tails: Vec<_> = with.sections.iter().map(|section| section.tail.at).collect();
                let streams = [&self.pattern.stream_function, &with.stream_function].map(|s| drawn.exact(s));
                figures.push(map.circulation(streams.each_ref().map(|s| &s[..]), 2 * DRAWN_LINES, &tails)?);
            }
        }
        if !self.bubbles.is_empty() {
            figures.push(map.bubble_paths(&drawn.exact(&self.pattern.stream_function), &self.bubbles)?);
        }
        for patched in &self.patches {
            let Some(seen) = &patched.seen else { continue };
            let finer = found.drawn.as_ref().map(|_| self.drawn_mesh(&patched.solved.space.mesh));
            let drawn = Drawn { finer: finer.as_ref(), solved: &patched.solved.space.mesh };
            let map = CellMap::new(drawn.mesh(), style, raster).marked(marked.clone());
            figures.push(map.seen_from_bubble(patched.bubble, &self.bubbles[patched.bubble], &drawn.exact(seen))?);
        }
        let solved = CellMap::new(&self.solved.space.mesh, style, raster).marked(marked);
        figures.push(solved.indicator(&self.solved.pair.bracket_density)?);
        let origin = Origin::of(&self.case);
        Ok(figures.into_iter().map(|figure| figure.stamped(&origin)).collect())
    }

    /// What the dye lines are, and how their starts were chosen.
    fn dye_words(&self) -> (&'static str, String) {
        let show = |x: f64| Dimension::Length.show(x);
        let (title, starts) = match &self.case.streaklines.seeding {
            Seeding::Count(_) => {
                ("Streaklines, the same flow between any two neighbours", "equal flow between neighbours".to_owned())
            }
            Seeding::Spacing(spacing) => {
                ("Streaklines from even starts along the inlet", format!("starts {} apart", show(*spacing)))
            }
            Seeding::At(starts) => ("Streaklines from needles", format!("from {} needles", starts.places.len())),
        };
        let to_scale = self.needle_diameter().map(|diameter| format!("; dye of {} to scale", show(diameter)));
        (title, starts + &to_scale.unwrap_or_default())
    }

    /// The figure of the streaklines alone.
    ///
    /// # Errors
    /// As [`Study::figures`].
    pub fn streakline_figure(&self, settings: &FigureSettings) -> Result<Canvas> {
        let raster = settings.raster.then_some(settings.dpi);
        let map = CellMap::new(&self.solved.space.mesh, settings.style, raster);
        let (title, note) = self.dye_words();
        let streaks = Streaks { lines: &self.lines, bands: &[], title, note: &note };
        Ok(map.streaks(&streaks, None)?.stamped(&Origin::of(&self.case)))
    }

    fn departure_figures(
        &self,
        map: &CellMap,
        drawn: &Drawn,
        budget: &Budget,
        figures: &mut Vec<Canvas>,
    ) -> Result<()> {
        let speed = self.pattern.drive.mean_speed;
        // so that the margin is where this is the band, though the gap may differ from place to place
        let space = &self.solved.space;
        let scaled = |(d, p): (f64, &Point)| match budget.margin {
            Margin::Gaps(count) => d * budget.band / (count * self.case.cell.gap.at(*p)),
            Margin::Length(_) => d,
        };
        let mesh = drawn.mesh();
        let distance: Vec<f64> =
            mesh.holding_distance(f64::INFINITY).into_iter().zip(&mesh.points).map(scaled).collect();
        let margin = match budget.margin {
            Margin::Gaps(count) if !space.uniform_gap() => {
                format!("within {count} gaps of solid edges, at most {} mm", (1e4 * budget.band).round() / 10.0)
            }
            _ => format!("within {} mm of solid edges", (1e4 * budget.band).round() / 10.0),
        };
        let of = |departure: &[[f64; 2]], way: Way| -> Vec<f64> {
            let change = |(d, v): (&[f64; 2], &[f64; 2])| 100.0 * way.speed_change(*v, *d) / speed;
            drawn.smooth(&departure.iter().zip(&budget.ideal).map(change).collect::<Vec<_>>())
        };
        let together = [
            ("all_but_confinement", "all but confinement", budget.against_same_cell(Scale::ONE), &budget.cell_alone),
            ("total", "all effects together", budget.departure(Scale::ONE), &budget.total[0]),
        ]
        .map(|(name, words, departure, measures)| (name, words, departure, budget.way(), measures));
        // noise in full colour would look like a result
        let single = budget
            .contributions
            .iter()
            .enumerate()
            .filter(|(k, _)| budget.speed_standing(*k, &self.case.tolerance) == Standing::Measured)
            .map(|(k, c)| {
                let departure = c.departure(Scale::ONE, View::AtHeight);
                (c.effect.key(), c.effect.name(), departure, Way::of([c]), &budget.at_height[k])
            });
        for (name, words, departure, way, measures) in single.chain(together) {
            let values = of(&departure, way);
            let drawn = DepartureMap {
                name: &format!("departure_{name}"),
                title: &format!("Departure of the speed from the ideal pattern: {words}"),
                bar: &format!("{words}: change of speed at dye height (% of U)"),
                values: &values,
                distance: &distance,
                band: budget.band,
                left_out: &format!("left out: {margin}"),
                largest: Some((measures.speed.largest_at, 100.0 * measures.speed.largest)),
            };
            figures.push(map.departure(&drawn)?);
        }
        Ok(())
    }

    fn panels(&self, budget: &Budget) -> Vec<Panel> {
        let tolerance = &self.case.tolerance;
        let rows: Vec<&Measures> = budget.at_height.iter().chain([&budget.cell_alone, &budget.total[0]]).collect();
        let BudgetErrors { each, total, cell_alone } = &budget.errors;
        let errors: Vec<&Errors> = each.iter().chain([cell_alone, total]).collect();
        let panel = |name: &str, measure: Measure, unit: fn(f64) -> f64| Panel {
            name: name.into(),
            tolerance: unit(measure.tolerance(tolerance)),
            values: rows.iter().map(|m| [m.of(measure).rms, m.of(measure).q99].map(unit)).collect(),
            errors: errors.iter().map(|e| Some(unit(e.of(measure)))).collect(),
        };
        vec![
            panel("speed, % of U", Measure::Speed, |x| 100.0 * x),
            panel("direction, degrees", Measure::Direction, f64::to_degrees),
            panel("shift of streaklines, mm", Measure::Shift, |x| 1e3 * x),
        ]
    }

    fn sweep_figure(&self, style: Style, budget: &Budget) -> Result<Option<Canvas>> {
        let Some(sweep) = &self.case.sweep else { return Ok(None) };
        let (name, scale) = match sweep.quantity {
            SweepQuantity::ReducedReynolds => ("reduced Reynolds number Re* (1)", 1.0),
            SweepQuantity::MeanSpeed => ("mean speed U, mm/s", 1e3),
            SweepQuantity::Gap => ("gap, mm", 1e3),
            SweepQuantity::GlycerolMassFraction => ("glycerol by mass, %", 100.0),
        };
        let steps: Vec<f64> = budget.sweep.iter().map(|row| scale * row.value).collect();
        let good: Vec<bool> = budget.sweep.iter().map(|row| row.first_order).collect();
        let tolerance = &self.case.tolerance;
        let plates: Vec<Effect> =
            budget.contributions.iter().map(|c| c.effect).filter(|e| e.is_of_the_plates()).collect();
        let inertia = plates.iter().position(|effect| *effect == Effect::Inertia);
        let curve = |name: &str, measure: Measure, unit: fn(f64) -> f64| {
            let size = |measures: &Measures| unit(measures.of(measure).q99);
            let of = |row: &SweepRow, k: usize| match row.effects.iter().filter(|(e, _)| e.is_of_the_plates()).nth(k) {
                Some((_, measures)) => size(measures),
                None => size(&row.cell_alone),
            };
            let values = (0..=plates.len()).map(|k| budget.sweep.iter().map(|row| of(row, k)).collect()).collect();
            let firsts = |row: &SweepRow| Some([size(row.by_first.as_ref()?), row.series?.second_share.min(1.0)]);
            let firsts = inertia.zip(budget.sweep.iter().map(firsts).collect::<Option<Vec<_>>>());
            let by_first = firsts.map(|(effect, firsts)| FirstOrder {
                effect,
                next: firsts.iter().zip(&budget.sweep).map(|([f, s], row)| s * (f - of(row, effect)).abs()).collect(),
                values: firsts.iter().map(|[first, _]| *first).collect(),
            });
            Curve { name: name.to_owned(), tolerance: unit(measure.tolerance(tolerance)), values, by_first }
        };
        let curves = [
            curve("change of speed, 99 %, % of U", Measure::Speed, |x| 100.0 * x),
            curve("turn, 99 %, degrees", Measure::Direction, f64::to_degrees),
            curve("shift, 99 %, mm", Measure::Shift, |x| 1e3 * x),
        ];
        let effects: Vec<String> =
            plates.into_iter().map(Effect::name).chain(["all of them"]).map(str::to_owned).collect();
        sweep_curves(style, name, &steps, &good, &effects, &curves).map(Some)
    }
}

/// When time lines are shown.
fn time_words(times: &Times) -> String {
    let show = |t: &f64| Dimension::Time.show(*t);
    match times {
        Times::Every(interval) => format!("a line every {}", show(interval)),
        Times::At(list) => match list.as_slice() {
            [first, .., last] if list.len() > 4 => format!("{} lines, {} to {}", list.len(), show(first), show(last)),
            few => format!("after {}", few.iter().map(show).collect::<Vec<_>>().join(", ")),
        },
    }
}

/// The mesh that is drawn, and fields on it.
pub(super) struct Drawn<'a> {
    finer: Option<&'a Finer>,
    solved: &'a Mesh,
}

impl Drawn<'_> {
    pub fn mesh(&self) -> &Mesh {
        self.finer.map_or(self.solved, |finer| &finer.mesh)
    }

    /// A field with the noise of recovered gradients.
    pub fn smooth(&self, values: &[f64]) -> Vec<f64> {
        self.finer.map_or_else(|| values.to_vec(), |finer| finer.fitted(values))
    }

    /// A field whose values on edges are exact.
    fn exact(&self, values: &[f64]) -> Vec<f64> {
        self.finer.map_or_else(|| values.to_vec(), |finer| finer.interpolated(values))
    }
}

impl Budget {
    /// Names of the effects and of the sums for reading, in the order of the budget.
    fn effects(&self) -> Vec<String> {
        let own = self.contributions.iter().map(|c| c.effect.name().to_owned());
        own.chain(["all but confinement".to_owned(), "all together".to_owned()]).collect()
    }
}

/// Writes figures into the folder `figures` of an output folder, in every format wanted.
///
/// # Errors
/// [`Error::Failed`] if a letter would be lost or a picture be too large, [`Error::File`] if a file cannot be written.
pub fn write_figures(figures: Vec<Canvas>, folder: &mut Folder, settings: &FigureSettings) -> Result<()> {
    let figures: Vec<Canvas> = figures.into_iter().map(|figure| figure.stamped(folder.origin())).collect();
    let mut jobs = Vec::new();
    for figure in &figures {
        for &format in &settings.formats {
            let ending = match format {
                Format::Svg => "svg",
                Format::Pdf => "pdf",
                Format::Png => "png",
            };
            jobs.push((figure, format, folder.place(&format!("figures/{}.{ending}", figure.name()))?));
        }
    }
    let write = |(figure, format, path): &(&Canvas, Format, std::path::PathBuf)| match format {
        Format::Svg => figure.write_svg(path),
        Format::Pdf => figure.write_pdf(path),
        Format::Png => figure.write_png(path, settings.dpi),
    };
    let results: Vec<std::result::Result<(), Error>> = jobs.par_iter().map(write).collect();
    results.into_iter().collect()
}

#[cfg(test)]
mod tests;
