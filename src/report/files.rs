//! The files of a study.

use super::lines::write_streaklines;
use super::{FigureSettings, write_figures};
use crate::base::Result;
use crate::geometry::Side;
use crate::report::Folder;
use crate::report::report::{Report, Times};
use crate::report::vtk::{Array, Cells, Data, Encoding, Fields, Grid, Places, write_vtp, write_vtu};
use crate::study::{Findings, Spent, Study};
use crate::theory::circulation::Circulation;
use crate::theory::edge_layer::{profile, reach};
use crate::theory::inertia::layers::NEUTRAL_HEIGHT;
use crate::theory::inertia::{Inertia, LIMIT};
use std::io::Write;
use std::time::Instant;

/// What `fields.vtu` says of the layer velocities inside the edge layer.
const COMPOSITE: &str = "velocity_midplane, velocity_near_plate, plate_drift: within the edge layer the parabola over the gap gives way \
to the exact profile of slow flow along a straight edge, zero on the edge itself; inertia is not quantitative where validity is 1";
/// The same without the edge layer.
const OUTER: &str = "velocity_midplane, velocity_near_plate, plate_drift: outside the edge layer; not valid within three gaps of a solid \
edge, where validity is 1";

impl Study {
    /// Writes the files of the pattern and its corrections and returns the report.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if a file cannot be written; files written before stay whole.
    pub fn write(&self, folder: Folder) -> Result<Report> {
        self.write_all(&Findings::default(), folder, None)
    }

    /// Writes all files of the study and of what was found, draws its figures and writes them with the page `report.html` if wanted, and
    /// returns the report. Nothing is solved here.
    ///
    /// # Errors
    /// As [`Study::write`]; [`crate::base::Error::Failed`] if a figure cannot be drawn.
    pub fn write_all(&self, found: &Findings, mut folder: Folder, figures: Option<&FigureSettings>) -> Result<Report> {
        let clock = Instant::now();
        let encoding = folder.encoding;
        let circulation = found.budget.as_ref().and_then(|budget| budget.circulation.as_ref());
        self.write_fields(&folder.place("fields.vtu")?, encoding, circulation)?;
        write_streaklines(&folder.place("streaklines.vtp")?, &self.case.cell.gap, &self.lines, encoding)?;
        self.write_outlines(&folder.place("obstacles.vtp")?, encoding)?;
        self.write_findings(found, &mut folder)?;
        let report = Report { sections: self.report(found) };
        if let Some(settings) = figures {
            write_figures(&self.figures(found, settings)?, &mut folder, settings)?;
            let page = self.page(&report, found, &self.figures(found, &settings.for_page())?)?;
            folder.write("report.html", |out| out.write_all(page.as_bytes()))?;
        }
        let write = clock.elapsed();
        let Spent { mesh, solve, total } = self.spent;
        report.close(Times { mesh, solve, write, total: total + write }, folder)
    }

    fn write_fields(
        &self,
        path: &std::path::Path,
        encoding: Encoding,
        circulation: Option<&Circulation>,
    ) -> Result<()> {
        let pattern = &self.pattern;
        let space = &self.solved.space;
        let (speed_ratio, coefficient) = (pattern.speed_ratio(), pattern.pressure_coefficient());
        let departed = self.inertia.as_ref().map(|inertia| Departed::new(inertia, self));
        let validity = self.validity();
        let mut point = vec![
            array("pressure", "Pa", Data::Scalar(&pattern.pressure)),
            array("stream_function", "m3/s", Data::Scalar(&pattern.stream_function)),
            array("velocity", "m/s", Data::Plane(&pattern.velocity)),
            array("speed_ratio", "1", Data::Scalar(&speed_ratio)),
            array("pressure_coefficient", "1", Data::Scalar(&coefficient)),
        ];
        if let (Some(inertia), Some(departed)) = (&self.inertia, &departed) {
            point.extend([
                array("inertia_pressure", "Pa", Data::Scalar(&inertia.pressure)),
                array("velocity_midplane", "m/s", Data::Plane(&departed.midplane)),
                array("velocity_near_plate", "m/s", Data::Plane(&departed.near_plate)),
                array("plate_drift", "m/s", Data::Scalar(&departed.drift)),
                array("inertia_number", "1", Data::Scalar(&inertia.number)),
            ]);
        }
        if let Some(layer) = &self.edge_layer {
            point.push(array("edge_layer_velocity", "m/s", Data::Plane(&layer.velocity)));
        }
        if let Some(with) = circulation {
            point.push(array("velocity_with_circulation", "m/s", Data::Plane(&with.velocity)));
            point.push(array("stream_function_with_circulation", "m3/s", Data::Scalar(&with.stream_function)));
        }
        let meaning = match (&self.inertia, &self.edge_layer) {
            (Some(_), Some(_)) => vec![COMPOSITE],
            (Some(_), None) => vec![OUTER],
            (None, _) => Vec::new(),
        };
        let cell = [
            array("velocity_cell", "m/s", Data::Plane(&pattern.velocity_cell)),
            array("bracket_density", "1", Data::Scalar(&self.solved.pair.bracket_density)),
            array("validity", "1", Data::UInt8(&validity)),
        ];
        let grid = Grid { points: Places::Plane(&space.mesh.points), cells: Cells::Triangles(&space.mesh.triangles) };
        let fields = Fields { point: &point, cell: &cell, meaning: &meaning, encoding, time: None };
        write_vtu(path, &grid, &fields)
    }

    /// 0 fine, 1 within three gaps of a solid edge, 2 beyond first order.
    fn validity(&self) -> Vec<u8> {
        let space = &self.solved.space;
        let near = reach(space);
        let of = |corners: &[u32; 3]| {
            let any = |test: &dyn Fn(usize) -> bool| corners.iter().any(|&v| test(v as usize));
            if self.inertia.as_ref().is_some_and(|inertia| any(&|v| inertia.number[v] > LIMIT)) {
                2
            } else {
                u8::from(any(&|v| near.holds(v)))
            }
        };
        space.mesh.triangles.iter().map(of).collect()
    }

    fn write_outlines(&self, path: &std::path::Path, encoding: Encoding) -> Result<()> {
        let mesh = &self.solved.space.mesh;
        let mut lines: Vec<Vec<[f64; 3]>> = Vec::new();
        let mut owners: Vec<i32> = Vec::new();
        let mut last = None;
        let mut edges: Vec<_> = mesh
            .boundary
            .iter()
            .filter_map(|edge| match mesh.side(edge) {
                Side::Obstacle(k) => Some((k, edge)),
                _ => None,
            })
            .collect();
        edges.sort_by_key(|(k, edge)| (*k, edge.piece));
        // along a piece in the direction the fluid is on the left
        edges.sort_by(|(i, a), (j, b)| {
            let piece = &mesh.plan.pieces[a.piece as usize];
            let forward = if piece.from <= piece.to { 1.0 } else { -1.0 };
            (i, a.piece).cmp(&(j, b.piece)).then((forward * a.parameters[0]).total_cmp(&(forward * b.parameters[0])))
        });
        for (k, edge) in edges {
            let [a, b] = edge.vertices.map(|v| mesh.points[v as usize]);
            if last != Some((k, edge.vertices[0])) {
                lines.push(vec![[a[0], a[1], 0.0]]);
                owners.push(k as i32);
            }
            if let Some(line) = lines.last_mut() {
                line.push([b[0], b[1], 0.0]);
            }
            last = Some((k, edge.vertices[1]));
        }
        let cell = [array("obstacle", "1", Data::Int32(&owners))];
        write_vtp(path, &lines, &Fields { cell: &cell, encoding, ..Fields::default() })
    }
}

/// Fields of the inertia departure that are made for writing; with the profile inside the edge layer where that was asked for.
struct Departed {
    midplane: Vec<[f64; 2]>,
    near_plate: Vec<[f64; 2]>,
    drift: Vec<f64>,
}

impl Departed {
    fn new(inertia: &Inertia, study: &Study) -> Self {
        let space = &study.solved.space;
        let mut departed = Departed {
            midplane: inertia.layer(0.0),
            near_plate: inertia.near_plate(),
            // at the height where it is largest
            drift: inertia.drift(space, NEUTRAL_HEIGHT),
        };
        if study.edge_layer.is_some() {
            for (v, n) in profile::distances(space).into_iter().enumerate() {
                let slowed = |zeta: f64| profile::slowing(n, zeta);
                departed.midplane[v] = departed.midplane[v].map(|x| slowed(0.0) * x);
                departed.near_plate[v] = departed.near_plate[v].map(|x| slowed(1.0) * x);
                departed.drift[v] *= slowed(NEUTRAL_HEIGHT);
            }
        }
        departed
    }
}

fn array<'a>(name: &'a str, unit: &'a str, data: Data<'a>) -> Array<'a> {
    Array { name, unit, data }
}
