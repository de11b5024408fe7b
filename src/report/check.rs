//! What a case says, and what solving it will take.

use crate::base::Point;
use crate::base::row::{Kind, Row, Section, Value};
use crate::base::units::{Dimension, significant};
use crate::base::warning::{Warning, sections as warning_sections};
use crate::geometry::{Plan, Wall};
use crate::input::case::{
    Case, Course, Drive, DriveQuantity, Ends, Gap, Line, Obstacle, Placing, Probe, Seeding, Shape, StreaklineSettings,
    Times,
};
use crate::study::{Expected, Forecast, program};

const LENGTH: Kind = Kind::Of(Dimension::Length);

/// A case that is in order, and what solving it is expected to take.
#[derive(Debug, Clone)]
pub struct Checked<'a> {
    /// The case.
    pub case: &'a Case,
    /// Its plan.
    pub plan: &'a Plan,
    /// What to expect.
    pub forecast: Forecast,
    /// The flow to expect.
    pub expected: Expected,
    /// What to mind.
    pub warnings: Vec<Warning>,
}

impl Checked<'_> {
    /// All that was understood, as rows.
    pub fn sections(&self) -> Vec<Section> {
        let Checked { case, plan, forecast, ref expected, ref warnings } = *self;
        let probe = |Probe { name, at, .. }: &Probe| {
            vec![
                Row::new("name", "probe", name.clone(), Kind::Number),
                Row::new("x_m", "x", at[0], LENGTH).digits(5),
                Row::new("y_m", "y", at[1], LENGTH).digits(5),
            ]
        };
        let line = |Line { name, course, points, .. }: &Line| {
            vec![
                Row::new("name", "line", name.clone(), Kind::Number),
                Row::new("course", "runs", runs(course), Kind::Number),
                Row::new("points", "points", *points, Kind::Number),
            ]
        };
        let names = Value::texts(case.obstacles.iter().map(|obstacle| obstacle.name.clone()));
        let middle = case.cell.middle();
        let mut sections = vec![program()];
        sections.extend(case.sections(case.cell.gap.at(middle)));
        let cell = sections.iter_mut().filter(|section| section.key == "cell");
        cell.for_each(|section| section.rows.extend(gap_rows(&case.cell.gap)));
        sections.extend([
            drive(&case.drive),
            Section::new(
                "",
                "",
                vec![Row::new("reference_length_m", "reference length", expected.reynolds.reference_length, LENGTH)],
            ),
        ]);
        sections.extend(expected.sections());
        sections.extend([
            Section::new("", "", vec![Row::script("obstacles", names)]),
            Section::table("shapes", "Obstacles", case.obstacles.iter().map(obstacle)),
            Section::table("probes", "Probes", case.probes.iter().map(probe)),
            Section::new("streaklines", "Streaklines", dye(&case.streaklines)),
            wanted(case),
            estimate(&forecast),
            note_section(&plan.notes),
        ]);
        if !case.lines.is_empty() {
            let behind = sections.iter().position(|section| section.key == "probes").map_or(sections.len(), |k| k + 1);
            sections.insert(behind, Section::table("lines", "Lines", case.lines.iter().map(line)));
        }
        sections.extend(warning_sections(warnings));
        sections
    }
}

/// How dye is let in and looked at.
fn dye(settings: &StreaklineSettings) -> Vec<Row> {
    let seeding = match &settings.seeding {
        Seeding::Count(count) => format!("{count} of equal flux"),
        Seeding::Spacing(spacing) => format!("every {} along the inlet", length(*spacing)),
        Seeding::At(starts) => format!("from {} needles", starts.places.len()),
    };
    let mut rows = vec![
        Row::new("seeding", "seeding", seeding, Kind::Number),
        Row::new("height", "height zeta", settings.height, Kind::Number),
    ];
    if let Some(needle) = &settings.needle {
        rows.push(Row::new("needle_diameter_m", "diameter of the needles", needle.diameter, LENGTH));
    }
    rows.extend(settings.times.as_ref().map(|times| {
        let times = match times {
            Times::Every(interval) => format!("every {}", Dimension::Time.show(*interval)),
            Times::At(list) => format!("{} of them", list.len()),
        };
        Row::new("times", "time lines", times, Kind::Number)
    }));
    rows
}

/// What was repaired, chosen or left out.
pub(super) fn note_section(notes: &[String]) -> Section {
    let rows = vec![Row::script("notes", Value::texts(notes.iter().cloned()))];
    Section::new("", "Notes", rows).noted(notes.to_vec())
}

/// What a gap that is not even is like.
fn gap_rows(gap: &Gap) -> Vec<Row> {
    let length = |key: &'static str, name: &'static str, value: f64| Row::new(key, name, value, LENGTH).digits(5);
    match gap {
        Gap::Uniform(_) => Vec::new(),
        Gap::Linear { slope, .. } => {
            vec![Row::new("gap_slope", "its change per length along x, y", *slope, Kind::Number).digits(5)]
        }
        Gap::Bowed(bow) => vec![
            length("gap_at_edges_m", "gap at the edges", bow.edge()),
            length("plate_deflection_m", "bow of each plate", bow.deflection()),
            Row::new("plate_load_pa", "under", bow.load(), Kind::Of(Dimension::Pressure)).digits(5),
        ],
        Gap::Table(table) => {
            let [least, largest] = table.range();
            vec![
                Row::new("gap_places", "places in its table", table.len(), Kind::Number),
                length("least_gap_m", "smallest gap there", least),
                length("largest_gap_m", "largest gap there", largest),
            ]
        }
    }
}

fn drive(drive: &Drive) -> Section {
    let (key, name, value, dimension) = match drive.quantity {
        DriveQuantity::MeanSpeed(u) => ("mean_speed_m_per_s", "mean speed", u, Dimension::Speed),
        DriveQuantity::FlowRate(q) => ("flow_rate_m3_per_s", "flow rate", q, Dimension::FlowRate),
        DriveQuantity::PressureDrop(dp) => ("pressure_drop_pa", "pressure drop", dp, Dimension::Pressure),
        DriveQuantity::Head(h) => ("head_m", "head", h, Dimension::Length),
        DriveQuantity::ReducedReynolds(re) => ("reduced_reynolds", "reduced Reynolds number", re, Dimension::Fraction),
        DriveQuantity::ObstacleReynolds(re) => {
            ("obstacle_reynolds", "obstacle Reynolds number", re, Dimension::Fraction)
        }
        DriveQuantity::GapReynolds(re) => ("gap_reynolds", "gap Reynolds number", re, Dimension::Fraction),
    };
    let ends = match drive.ends {
        Ends::HeldPressure => "pressure held at both ends",
        Ends::GivenInflow => "uniform flux per width given at both ends",
    };
    let rows =
        vec![Row::new(key, name, value, Kind::Of(dimension)).digits(5), Row::new("ends", "ends", ends, Kind::Number)];
    Section::new("drive", "Drive", rows)
}

/// What the results are measured against.
fn wanted(case: &Case) -> Section {
    let rows = vec![
        Row::new("relative_half_width", "half-width of the bounds", case.mesh.error, Kind::Percent),
        Row::new("max_triangles", "with at most triangles", case.mesh.max_triangles, Kind::Number),
        Row::new("speed", "departure in speed", case.tolerance.speed, Kind::Percent),
        Row::new("direction_deg", "in direction", case.tolerance.direction.to_degrees(), Kind::Degrees),
        Row::new("shift_m", "in the shift of lines", case.tolerance.shift, LENGTH),
    ];
    Section::new("wanted", "Wanted", rows)
}

fn estimate(forecast: &Forecast) -> Section {
    let memory = |key: &'static str, name: &'static str, bytes: f64| {
        Row::new(key, name, bytes, Kind::Unit("bytes", 1e6, "MB")).digits(2)
    };
    let time = |key: &'static str, name: &'static str, seconds: f64| {
        Row::new(key, name, seconds, Kind::Unit("s", 1.0, "s")).digits(2)
    };
    let rows = vec![
        Row::new("triangles", "triangles, about", forecast.triangles, Kind::Number),
        memory("memory_bytes", "memory", forecast.memory),
        memory("memory_with_corrections_bytes", "the same with both corrections", forecast.memory_with_corrections),
        time("time_s", "time", forecast.seconds),
        time("time_with_corrections_s", "the same with both corrections", forecast.seconds_with_corrections),
    ];
    Section::new("estimate", "To expect, within a factor of two on two cores", rows)
}

fn obstacle(obstacle: &Obstacle) -> Vec<Row> {
    let mut rows = vec![
        Row::new("name", "obstacle", obstacle.name.clone(), Kind::Number),
        Row::new("shape", "shape", shape(&obstacle.shape), Kind::Number),
    ];
    let wall = obstacle.on_wall.map(|wall| match wall {
        Wall::Lower => "lower",
        Wall::Upper => "upper",
    });
    rows.extend(wall.map(|wall| Row::new("on_wall", "stands on the wall", wall, Kind::Number)));
    rows
}

/// Where a line runs, in words.
fn runs(course: &Course) -> String {
    let at = |p: &Point| format!("x = {}, y = {}", length(p[0]), length(p[1]));
    match course {
        Course::Straight { from, to } => format!("from {} to {}", at(from), at(to)),
        Course::Along { obstacle, distance: 0.0 } => format!("along the outline of \"{obstacle}\""),
        Course::Along { obstacle, distance } => format!("{} off the outline of \"{obstacle}\"", length(*distance)),
    }
}

/// A length in the unit of the bench.
fn length(x: f64) -> String {
    Dimension::Length.show_to(x, 4)
}

/// A shape in words, with its measures in units of the bench.
fn shape(shape: &Shape) -> String {
    let n = |x: f64| significant(x, 4);
    let at = |p: Point| format!("x = {}, y = {}", length(p[0]), length(p[1]));
    match shape {
        Shape::Circle { centre, diameter } => format!("circle of diameter {} at {}", length(*diameter), at(*centre)),
        Shape::Ellipse { centre, semi_axes, angle } => format!(
            "ellipse of semi-axes {} and {} at {}, turned by {} deg",
            length(semi_axes[0]),
            length(semi_axes[1]),
            at(*centre),
            n(angle.to_degrees())
        ),
        Shape::Polygon { points } => format!("polygon of {} points", points.len()),
        Shape::RegularPolygon { sides, centre, width, angle } => format!(
            "regular polygon of {sides} sides, width {}, at {}, turned by {} deg",
            length(*width),
            at(*centre),
            n(angle.to_degrees())
        ),
        Shape::OutlinePoints { points, smooth } => {
            let joined = if *smooth { "joined by a spline" } else { "joined straight" };
            format!("outline of {} points, {joined}", points.len())
        }
        Shape::OutlineFile { file, placing, reading } => format!(
            "{} from {} {}{}",
            if reading.every { "every outline" } else { "outline" },
            file.display(),
            match placing {
                Placing::AsDrawn => "as drawn: the lower left corner of its page is that of the cell".to_owned(),
                Placing::Centred { centre, .. } => format!("about {}", at(*centre)),
            },
            if reading.smooth { ", corners joined by a spline" } else { "" }
        ),
        Shape::FourDigit { camber, camber_place, thickness, chord, nose, angle, .. } => format!(
            "four-digit section {:.0}{:.0}{:02.0}, chord {}, nose at {}, {} deg nose-up",
            100.0 * camber,
            10.0 * camber_place,
            100.0 * thickness,
            length(*chord),
            at(*nose),
            n(angle.to_degrees())
        ),
        Shape::Joukowski { chord, thickness, camber, nose, angle } => format!(
            "Joukowski section, chord {}, thickness {}, camber {}, nose at {}, {} deg nose-up",
            length(*chord),
            n(*thickness),
            n(*camber),
            at(*nose),
            n(angle.to_degrees())
        ),
        Shape::Teardrop { length: long, diameter, nose, angle } => format!(
            "teardrop {} long, {} thick, nose at {}, {} deg nose-up",
            length(*long),
            length(*diameter),
            at(*nose),
            n(angle.to_degrees())
        ),
    }
}
