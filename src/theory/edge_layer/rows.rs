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
