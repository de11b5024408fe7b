//! The figures of a study.

use crate::base::plane;
use crate::base::units::Dimension;
use crate::base::{Error, Point, Result};
use crate::input::case::{Case, SweepQuantity};
use crate::numerics::fem::Finer;
use crate::numerics::mesh::Mesh;
use crate::report::Folder;
use crate::report::figure::{
    Canvas, CellMap, Column, Curve, DepartureMap, Marked, Palette, Panel, Style, budget_bars, sweep_curves,
};
use crate::study::{Budget, BudgetErrors, DRAWN_HEIGHTS, DRAWN_LINES, Findings, Study};
use crate::theory::departure::{Effect, Errors, Measure, Measures, Scale, Standing, SweepRow, View};
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
        let least = case.cell.length.min(case.cell.width) / 200.0;
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
        let mut figures = vec![map.streaks(&self.lines, None)?, map.streaks(&self.lines, Some(layer_speed))?];
        if let Some(spacing) = settings.spacing {
            figures.push(map.even_lines(&drawn.exact(&self.pattern.stream_function), spacing)?);
        }
        figures.push(map.pressure_coefficient(&drawn.smooth(&self.pattern.pressure_coefficient()))?);
        figures.push(map.isobars(&drawn.exact(&self.pattern.pressure))?);
        figures.push(map.speed_ratio(&drawn.smooth(&self.pattern.speed_ratio()))?);
        if !found.drawn_lines.is_empty() {
            figures.push(map.layers(&found.drawn_lines, &DRAWN_HEIGHTS)?);
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
        let solved = CellMap::new(&self.solved.space.mesh, style, raster).marked(marked);
        figures.push(solved.indicator(&self.solved.pair.bracket_density)?);
        let hash = self.case.combined_sha256();
        Ok(figures.into_iter().map(|figure| figure.stamped(&hash)).collect())
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
        let distance: Vec<f64> = mesh.wall_distance(f64::INFINITY).into_iter().zip(&mesh.points).map(scaled).collect();
        let margin = match budget.margin {
            Margin::Gaps(count) if !space.uniform_gap() => {
                format!("within {count} gaps of solid edges, at most {} mm", (1e4 * budget.band).round() / 10.0)
            }
            _ => format!("within {} mm of solid edges", (1e4 * budget.band).round() / 10.0),
        };
        let of = |departure: &[[f64; 2]]| -> Vec<f64> {
            let change = |(d, v): (&[f64; 2], &[f64; 2])| {
                100.0 * (plane::length(plane::stepped(*v, 1.0, *d)) - plane::length(*v)) / speed
            };
            drawn.smooth(&departure.iter().zip(&budget.ideal).map(change).collect::<Vec<_>>())
        };
        let together = [
            ("all_but_confinement", "all but confinement", budget.against_same_cell(Scale::ONE), &budget.cell_alone),
            ("total", "all effects together", budget.departure(Scale::ONE), &budget.total[0]),
        ];
        // noise in full colour would look like a result
        let single = budget
            .contributions
            .iter()
            .enumerate()
            .filter(|(k, _)| budget.speed_standing(*k, &self.case.tolerance) == Standing::Measured)
            .map(|(k, c)| {
                let departure = c.departure(Scale::ONE, View::AtHeight);
                (c.effect.key(), c.effect.name(), departure, &budget.at_height[k])
            });
        for (name, words, departure, measures) in single.chain(together) {
            let values = of(&departure);
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
        let names: Vec<&str> =
            budget.contributions.iter().map(|c| c.effect).filter(|e| e.is_of_the_plates()).map(Effect::name).collect();
        let curve = |name: &str, measure: Measure, unit: fn(f64) -> f64| {
            let size = |measures: &Measures| unit(measures.of(measure).q99);
            let of = |row: &SweepRow, k: usize| match row.effects.iter().filter(|(e, _)| e.is_of_the_plates()).nth(k) {
                Some((_, measures)) => size(measures),
                None => size(&row.cell_alone),
            };
            let values = (0..=names.len()).map(|k| budget.sweep.iter().map(|row| of(row, k)).collect()).collect();
            Curve { name: name.to_owned(), tolerance: unit(measure.tolerance(tolerance)), values }
        };
        let curves = [
            curve("change of speed, 99 %, % of U", Measure::Speed, |x| 100.0 * x),
            curve("turn, 99 %, degrees", Measure::Direction, f64::to_degrees),
            curve("shift, 99 %, mm", Measure::Shift, |x| 1e3 * x),
        ];
        let effects: Vec<String> = names.into_iter().chain(["all of them"]).map(str::to_owned).collect();
        sweep_curves(style, name, &steps, &good, &effects, &curves).map(Some)
    }
}

/// The mesh that is drawn, and fields on it.
struct Drawn<'a> {
    finer: Option<&'a Finer>,
    solved: &'a Mesh,
}

impl Drawn<'_> {
    fn mesh(&self) -> &Mesh {
        self.finer.map_or(self.solved, |finer| &finer.mesh)
    }

    /// A field with the noise of recovered gradients.
    fn smooth(&self, values: &[f64]) -> Vec<f64> {
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
pub fn write_figures(figures: &[Canvas], folder: &mut Folder, settings: &FigureSettings) -> Result<()> {
    let mut jobs = Vec::new();
    for figure in figures {
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
mod tests {
    use super::*;
    use crate::report::Report;
    use crate::study::{Settings, Wanted, read};
    use crate::theory::ideal::Goal;

    fn study(name: &str, triangles: usize) -> Study {
        let (case, plan) = read(format!("meshes/{name}.toml").as_ref()).unwrap();
        let settings = Settings { goal: Some(Goal::Triangles(triangles)), inertia: true, edge_layer: true };
        Study::solve(case, plan, settings, &|_| {}).unwrap()
    }

    /// Every figure of three demos, in both widths and both palettes: no text reaches out of its drawing or overlaps another, and
    /// SVG, PDF and PNG keep every letter.
    #[test]
    fn no_text_is_cut_off_overlaps_or_is_lost() {
        for (name, least) in [("two_piers", 12), ("keel_section", 12), ("tapered_gap", 12)] {
            let study = study(name, 3000);
            let found = study.find(Wanted { departure: true, figures: true, ..Wanted::default() }, &|_| {}).unwrap();
            for (palette, column) in [(Palette::Colour, Column::Double), (Palette::Grey, Column::Single)] {
                let style = Style { palette, column };
                let (axes, names) = (true, true);
                let settings = FigureSettings { style, spacing: Some(10e-3), axes, names, ..FigureSettings::default() };
                let figures = study.figures(&found, &settings).unwrap();
                let words = figures.iter().flat_map(Canvas::texts).flat_map(|t| t.text.split([' ', '/']));
                let plain: Vec<&str> = words.filter(|word| is_plain(word)).collect();
                assert!(plain.is_empty(), "{name}: exponents that are not raised: {plain:?}");
                assert!(figures.len() >= least, "{name}: {}", figures.len());
                let faults: Vec<String> = figures.iter().flat_map(Canvas::crowded).collect();
                assert!(faults.is_empty(), "{name}, {column:?}: {faults:#?}");
                for figure in &figures {
                    assert!(figure.pdf().unwrap().len() > 1000 && figure.png(40.0).unwrap().len() > 1000);
                }
            }
        }
    }

    /// Lines of equal speed at the case's own mesh, walked in steps of 1 mm of the page: a line without facets turns as much in one step as in
    /// the next, to the change of its curvature. The sharpest bends of these lines have radii of some 5 mm, 11 degrees a step, that set in
    /// within some three steps: 4 degrees more or less from step to step, in bends alone. Facets of the solved mesh, whose sides are up to 8 mm
    /// long there, turn a line by 10 degrees and more at once and not at all before and after.
    #[test]
    fn contours_show_no_facets() {
        use crate::report::figure::iso_lines;
        let (case, plan) = read("meshes/two_piers.toml".as_ref()).unwrap();
        let study = Study::solve(case, plan, Settings::default(), &|_| {}).unwrap();
        let found = study.find(Wanted { figures: true, ..Wanted::default() }, &|_| {}).unwrap();
        let step = study.case.cell.length / 172.0;
        // root mean square over a line, of the roughest line
        let roughest = |drawn: Drawn| -> f64 {
            let (mesh, speed) = (drawn.mesh(), drawn.smooth(&study.pattern.speed_ratio()));
            let rough = |line: Vec<Point>| -> f64 {
                let mut walked: Vec<Point> = Vec::new();
                for p in line {
                    if walked.last().is_none_or(|q| plane::distance(*q, p) >= step) {
                        walked.push(p);
                    }
                }
                let turn = |w: &[Point]| plane::turn(plane::way(w[0], w[1]), plane::way(w[1], w[2])).to_degrees();
                let turns: Vec<f64> = walked.windows(3).map(turn).collect();
                let squares: Vec<f64> = turns.windows(2).map(|w| (w[1] - w[0]).powi(2)).collect();
                (squares.iter().sum::<f64>() / squares.len().max(1) as f64).sqrt()
            };
            let chains = [1.0, 1.2, 1.4].map(|level| iso_lines(mesh, &speed, level)).concat();
            assert!(chains.len() > 10);
            chains.iter().map(|chain| rough(chain.points(&mesh.points))).fold(0.0, f64::max)
        };
        let solved = &study.solved.space.mesh;
        let smooth = roughest(Drawn { finer: found.drawn.as_ref(), solved });
        assert!(smooth < 4.0, "{smooth} degrees");
        let rough = roughest(Drawn { finer: None, solved });
        assert!(rough > 10.0, "{rough} degrees: the solved mesh would do");
    }

    /// Whether a word has an exponent that is written on the line, such as 1e-3, x^2 or mm2.
    fn is_plain(word: &str) -> bool {
        let number = word.contains('e') && word.parse::<f64>().is_ok();
        number || word.contains('^') || ["m2", "mm2", "m3", "mm3"].iter().any(|unit| word.starts_with(unit))
    }

    /// By option each map has rulers in mm round it and the names of obstacles and probes in it, in either width; without, none has.
    #[test]
    fn rulers_and_names_come_by_option() {
        assert!(is_plain("1e-3") && is_plain("mm2") && !is_plain("10⁻³") && !is_plain("line"));
        let study = study("two_piers", 2000);
        let found = study.find(Wanted { figures: true, ..Wanted::default() }, &|_| {}).unwrap();
        for column in [Column::Single, Column::Double] {
            let style = Style { column, ..Style::default() };
            let of = |axes: bool, names: bool| {
                let settings = FigureSettings { style, axes, names, ..FigureSettings::default() };
                study.figures(&found, &settings).unwrap()
            };
            for (plain, marked) in of(false, false).iter().zip(&of(true, true)) {
                let has = |canvas: &Canvas, text: &str| canvas.texts().iter().any(|t| t.text == text);
                for text in ["large pier", "small pier", "shoulder", "approach"] {
                    assert!(has(marked, text) && !has(plain, text), "{}, {column:?}: {text}", plain.name());
                }
                assert!(has(marked, "mm") && has(marked, "400") && !has(plain, "mm"));
                assert!(marked.crowded().is_empty(), "{:?}", marked.crowded());
            }
        }
    }

    /// A field of a million triangles: each figure stays under 5 MB in every vector format, as outlines and as
    /// pictures in the frame. Run by name, best in release: it takes a minute and 2 GB.
    #[test]
    #[ignore = "a million triangles"]
    fn a_million_triangles_make_small_drawings() {
        let study = study("two_piers", 1_000_000);
        let mesh = &study.solved.space.mesh;
        assert!(mesh.triangles.len() > 800_000);
        for raster in [None, Some(300.0)] {
            let map = CellMap::new(mesh, Style::default(), raster);
            let (speed, shares) = (study.pattern.speed_ratio(), &study.solved.pair.bracket_density);
            let drawings: [(&str, &dyn Fn() -> Result<Canvas>); 4] = [
                ("speed", &|| map.speed_ratio(&speed)),
                ("streaks", &|| map.streaks(&study.lines, Some(1.0))),
                ("even lines", &|| map.even_lines(&study.pattern.stream_function, 8e-3)),
                ("mesh", &|| map.indicator(shares)),
            ];
            for (name, draw) in drawings {
                let canvas = draw().unwrap();
                let (svg, pdf) = (canvas.svg(), canvas.pdf().unwrap());
                println!("{name}, raster {raster:?}: {} and {} bytes", svg.len(), pdf.len());
                assert!(svg.len() < 5_000_000 && pdf.len() < 5_000_000, "{name}");
            }
        }
    }

    /// The same case drawn on one thread and on three gives the same bytes in every format.
    #[test]
    fn figures_do_not_depend_on_threads() {
        let drawn = |threads: usize| -> Vec<Vec<u8>> {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| {
                let study = study("keel_section", 2000);
                let found = study.find(Wanted { departure: true, sheet: true, figures: true }, &|_| {}).unwrap();
                let figures = study.figures(&found, &FigureSettings::default()).unwrap();
                let report = Report { sections: study.report(&found) };
                let page = study.page(&report, &found, &figures).unwrap();
                // the figures of the study, the map of the sheet, the outline: numbered in the order of the page
                let numbers: Vec<usize> = page
                    .split("<figcaption>Figure ")
                    .skip(1)
                    .map(|rest| rest.split('.').next().unwrap().parse().unwrap())
                    .collect();
                assert_eq!(numbers, (1..=figures.len() + 2).collect::<Vec<_>>());
                assert_eq!(page.matches("<figcaption>").count(), numbers.len());
                let files = figures.iter().flat_map(|f| [f.svg().into_bytes(), f.pdf().unwrap(), f.png(60.0).unwrap()]);
                files.chain([page.into_bytes()]).collect()
            })
        };
        let (one, three) = (drawn(1), drawn(3));
        assert!(one.len() > 30 && one == three);
    }
}
