//! The edge layer as rows of a report.

use super::EdgeLayer;
use crate::base::row::{Kind, Order, Row, Section};
use crate::base::units::Dimension;
use crate::theory::ideal::Probes;

impl EdgeLayer {
    /// Displacement, shape factor and the corrected pattern at the probes; `moved` is the shape factor with every solid edge moved into
    /// the fluid by the displacement thickness, where there is one.
    pub fn section(&self, probes: &Probes, moved: Option<f64>) -> Section {
        let noise = Some(1e-12 * self.shape_factor.abs());
        let mut rows = vec![
            Row::new(
                "displacement_thickness_m",
                "displacement into the fluid",
                self.displacement_thickness,
                Kind::Of(Dimension::Length),
            )
            .digits(5),
            Row::new("mean_speed_m_per_s", "its mean speed", self.mean_speed, Kind::Of(Dimension::Speed)).digits(6),
            Row::new("shape_factor", "shape factor to first order", self.shape_factor, Kind::Number)
                .digits(9)
                .order(Order::EdgeLayer)
                .followed("edge_layer.shape_factor", noise),
        ];
        let mut notes = Vec::new();
        if let Some(moved) = moved {
            let name = "the same, every solid edge moved";
            rows.push(
                Row::new("moved_edges_shape_factor", name, moved, Kind::Number).digits(9).order(Order::EdgeLayer),
            );
            let percent = 100.0 * (moved - self.shape_factor).abs() / self.shape_factor;
            let percent = crate::base::units::significant(percent, 3);
            notes.push(format!("First order neglects about {percent} % of the shape factor."));
        }
        rows.push(
            Row::new("neglected_order", "what is neglected goes as b/L to the", self.neglected_order, Kind::Number)
                .digits(3),
        );
        notes.push(
            "That power is 2 without corners, 2 pi/omega at the sharpest. Speeds are over the corrected mean speed at the inlet.".into(),
        );
        let velocity = probes.vector(&self.velocity);
        let entries = (0..probes.places.len()).map(|k| {
            let keys = ["speed_ratio", "angle_deg"];
            let names = ["speed over corrected mean", "direction"];
            let [ratio, angle] = probes.speed_and_angle(keys, names, velocity[k], self.mean_speed);
            let quantity = format!("edge_layer.probe.{}.speed_ratio", probes.named[k].0);
            let ratio = ratio.order(Order::EdgeLayer).followed(quantity, Some(1e-8));
            vec![probes.name(k), ratio, angle.order(Order::EdgeLayer)]
        });
        let title = "With the edge layer (no slip on obstacles and side walls, first order in gap / length)";
        Section::new("edge_layer", title, rows).with(vec![Section::table("probes", "", entries)]).noted(notes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::row::Followed;
    use crate::geometry::Wall::{Lower, Upper};
    use crate::geometry::{Plan, Side};
    use crate::input::case::Gap;
    use crate::numerics::fem::Space;
    use crate::numerics::mesh::{Mesh, SizeField};
    use std::sync::Arc;

    /// A flow of 3 and 4 mm/s everywhere over 2.5 mm/s is twice as fast and goes 53.13 degrees upwards; the shape factor of moved edges is
    /// smaller or larger by a fiftieth.
    #[test]
    fn rows_tell_value_order_and_what_to_follow() {
        let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
        let plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &sides, &[]).unwrap();
        let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.3, 0.3, vec![]), 1000).unwrap();
        let space = Space::new(Arc::new(mesh), &Gap::Uniform(0.02), 0.02);
        let layer = EdgeLayer {
            displacement_thickness: 6.3e-3,
            shape_factor: 0.5,
            pressure: Vec::new(),
            velocity: vec![[3e-3, 4e-3]; space.mesh.points.len()],
            mean_speed: 2.5e-3,
            bands: Vec::new(),
            neglected_order: 4.0 / 3.0,
        };
        let third = 1.0 / 3.0;
        let probes = Probes { space: &space, named: vec![("keel", [0.5; 2])], places: &[(0, [third; 3])] };
        for moved in [0.49, 0.51] {
            let section = layer.section(&probes, Some(moved));
            let row = |path: &str| section.row(path).unwrap();
            for (path, value, digits, order) in [
                ("displacement_thickness_m", 6.3e-3, 5, Order::Pattern),
                ("shape_factor", 0.5, 9, Order::EdgeLayer),
                ("moved_edges_shape_factor", moved, 9, Order::EdgeLayer),
                ("neglected_order", 4.0 / 3.0, 3, Order::Pattern),
                ("probes.keel.speed_ratio", 2.0, 5, Order::EdgeLayer),
                ("probes.keel.angle_deg", (4.0f64 / 3.0).atan().to_degrees(), 4, Order::EdgeLayer),
            ] {
                let found = row(path).value.number().unwrap();
                assert!((found / value - 1.0).abs() < 1e-12, "{path}: {found}");
                assert!(row(path).digits == digits && row(path).order == order, "{:?}", row(path));
            }
            let followed = |path: &str, name: &str, noise: f64| {
                let Followed { name: found, noise: of } = row(path).followed.as_ref().unwrap();
                assert!(found == name && (of.unwrap() / noise - 1.0).abs() < 1e-9, "{found} {of:?}");
            };
            // rounding of sums that make a half, and of a gradient that is recovered
            followed("shape_factor", "edge_layer.shape_factor", 5e-13);
            followed("probes.keel.speed_ratio", "edge_layer.probe.keel.speed_ratio", 1e-8);
            assert!(section.notes.len() == 2 && section.notes[0].contains("about 2.00 %"), "{:?}", section.notes);
            assert!(section.notes[1].contains("2 pi/omega"), "{:?}", section.notes);
        }
        let alone = layer.section(&probes, None);
        assert!(alone.row("moved_edges_shape_factor").is_none() && alone.notes.len() == 1, "{:?}", alone.notes);
    }
}
