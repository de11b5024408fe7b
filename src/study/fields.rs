//! The fields of a study, in the order of `fields.vtu`.

use super::{Findings, Study};
use crate::base::field::{Field, Fields};
use crate::theory::edge_layer::reach;
use crate::theory::inertia::{LIMIT, NearEdges};

impl Study {
    /// Everything that is known at the vertices and on the triangles.
    pub fn fields<'a>(&'a self, found: &'a Findings) -> Fields<'a> {
        let mut fields = self.pattern.fields(&self.solved.space, &self.solved.pair);
        if let Some(inertia) = &self.inertia {
            let near = if self.edge_layer.is_some() { NearEdges::Slowed } else { NearEdges::Outer };
            fields.extend(inertia.fields(&self.solved.space, near));
        }
        if let Some(layer) = &self.edge_layer {
            fields.vertices.push(Field::plane("edge_layer_velocity", "m/s", &layer.velocity));
        }
        if let Some(with) = found.budget.as_ref().and_then(|budget| budget.circulation.as_ref()) {
            fields.vertices.push(Field::plane("velocity_with_circulation", "m/s", &with.velocity));
            fields.vertices.push(Field::scalar("stream_function_with_circulation", "m3/s", &with.stream_function));
        }
        fields
    }

    /// Where the model holds, by triangle: 0 fine, 1 within three gaps of a solid edge, 2 beyond first order.
    pub fn validity(&self) -> Vec<u8> {
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
}
