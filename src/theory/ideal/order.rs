//! How large the next mesh is to be, and from what base it is refined.

use super::check_memory;
use super::goal::{Goal, Stage, first_size_field};
use crate::base::error::MeshFault;
use crate::base::units::significant;
use crate::base::{Error, Result};
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::numerics::mesh::{Mesh, SizeField, TOO_MANY};
use std::sync::Arc;

/// Largest base mesh, unless the outlines themselves ask for a larger one; what needs more triangles is refined uniformly.
pub(crate) const LARGEST_BASE: f64 = 24_000.0;
/// Least base mesh worth refining: two levels take half the time of one, but on a smaller base the bracket would be wider.
const LEAST_BASE: f64 = 3_000.0;
/// Largest step in the number of triangles from one indicator to a mesh in between.
const LARGEST_STEP: f64 = 8.0;
/// Triangles of a base mesh for each piece of the outlines, which takes at least one edge: 5.6 on a post of 10⁵ sides.
const PER_PIECE: usize = 6;

/// The mesh a plan asks for, or one of about so many triangles graded likewise. Large ones are refined from a base and keep its levels.
///
/// ```
/// # fn main() -> twinplate::Result<()> {
/// let (case, plan) = twinplate::study::read("meshes/two_piers.toml".as_ref())?;
/// let mesh = twinplate::theory::ideal::first_mesh(&plan, &case, Some(5000), &|_| ())?;
/// assert!((mesh.triangles.len() as f64 / 5000.0 - 1.0).abs() < 0.15);
/// # Ok(()) }
/// ```
///
/// # Errors
/// [`Error::Mesh`] if the plan asks for more triangles than the case allows and no number is given, or if the mesh cannot be made;
/// [`Error::Memory`] if it does not fit the memory.
pub fn first_mesh(plan: &Arc<Plan>, case: &Case, triangles: Option<usize>, watch: &dyn Fn(Stage)) -> Result<Mesh> {
    let most = case.mesh.max_triangles;
    let goal = Goal::Error { relative: case.mesh.error, most_triangles: most.max(triangles.unwrap_or(0)) };
    let geometry = first_size_field(plan, case, goal)?;
    let estimate = geometry.estimate_triangles(plan)?;
    if triangles.is_none() && estimate > most as f64 {
        return Err(Error::mesh(
            MeshFault::TooMany,
            format!(
                "the outlines ask for about {} triangles, more than the {most} allowed (mesh.max_triangles){}",
                significant(estimate, 2),
                geometry.finest()
            ),
            TOO_MANY,
        ));
    }
    let order = match triangles {
        Some(n) => Order::single(n, plan, estimate),
        None => Order::first(goal, plan, estimate),
    };
    check_memory(order.triangles(), 0.0)?;
    watch(Stage::Meshing(order.triangles()));
    order.mesh(plan, &order.of_plan(&geometry), None)
}

/// The next mesh to make.
#[derive(Debug, Clone, Copy)]
pub(super) struct Order {
    /// Triangles of the base mesh.
    pub base: usize,
    /// Levels, the base among them.
    pub levels: usize,
    /// Whether no other is to follow.
    pub last: bool,
    /// Whether the number counts more than the sizes.
    exact: bool,
}

impl Order {
    /// Triangles of the refined mesh.
    pub fn triangles(&self) -> usize {
        self.base << (2 * (self.levels - 1))
    }

    /// The first mesh follows the plan alone, a large one from a base at twice the size. A smaller one is made only where that is asked
    /// for, and from no base if it is less than half of what the plan asks for.
    pub fn first(goal: Goal, plan: &Plan, estimate: f64) -> Self {
        let (target, last) = match goal {
            Goal::Triangles(n) if n as f64 <= 1.2 * estimate => (n, true),
            Goal::Error { most_triangles, .. } if estimate > most_triangles as f64 => (most_triangles, true),
            _ => (estimate as usize, false),
        };
        Order { last, exact: last, ..Order::single(target, plan, estimate) }
    }

    /// One mesh of so many triangles for a plan that asks for `estimate`, refined from a base that still follows it.
    fn single(triangles: usize, plan: &Plan, estimate: f64) -> Self {
        let mut order = Order { base: triangles, levels: 1, last: true, exact: true };
        while order.base as f64 > LARGEST_BASE.max(0.5 * estimate) && order.halve(plan) {}
        order
    }

    /// The sizes its base takes from a plan: refined, it follows the plan as closely as a single mesh if its base does so at twice the size.
    pub fn of_plan(&self, geometry: &SizeField) -> SizeField {
        geometry.scaled(if self.levels > 1 { 2.0 } else { 1.0 })
    }

    /// The mesh after one of `now` triangles, when a relative half-width takes about `needed` of them.
    pub fn next(goal: Goal, plan: &Plan, needed: impl Fn(f64) -> f64, now: usize) -> Self {
        let (wanted, most) = match goal {
            // a twentieth more than predicted, and always some progress
            Goal::Error { relative, most_triangles } => {
                (1.05 * needed(relative).max(1.2 * now as f64), most_triangles as f64)
            }
            Goal::Triangles(n) => (n as f64, n as f64),
        };
        let target = wanted.min(most);
        let reachable = LARGEST_STEP * now as f64;
        if target > LARGEST_BASE && (now as f64) < 0.3 * LARGEST_BASE {
            // the indicator of a coarse mesh does not carry far: one mesh in between
            return Order::nested(reachable.min(LARGEST_BASE), plan);
        }
        let last = matches!(goal, Goal::Triangles(_)) || wanted > most;
        Order { last, ..Order::nested(target, plan) }
    }

    /// The largest base mesh that levels of four triangles each carry to the target.
    fn nested(target: f64, plan: &Plan) -> Self {
        let mut order = Order { base: target as usize, levels: 1, last: false, exact: true };
        let is_large = |order: &Order| {
            let base = order.base as f64;
            base > LARGEST_BASE || (order.levels == 1 && base >= 4.0 * LEAST_BASE)
        };
        while is_large(&order) && order.halve(plan) {}
        order
    }

    /// Takes a base of twice the edge lengths and one level more, if every piece of the outlines finds room in it.
    fn halve(&mut self, plan: &Plan) -> bool {
        let has_room = self.base / 4 >= PER_PIECE * plan.pieces.len();
        if has_room {
            self.base /= 4;
            self.levels += 1;
        }
        has_room
    }

    /// Makes the mesh; one of the same plan to count triangles on saves time.
    pub fn mesh(&self, plan: &Arc<Plan>, field: &SizeField, before: Option<&Mesh>) -> Result<Mesh> {
        let mut mesh = match before {
            _ if !self.exact => Mesh::generate(plan, field, 2 * self.base + 1000)?,
            Some(before) => before.regenerate_with_count(field, self.base)?,
            None => Mesh::generate_with_count(plan, field, self.base)?,
        };
        for _ in 1..self.levels {
            mesh = mesh.refine_uniform().0;
        }
        Ok(mesh)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Curve, Piece, Side};

    fn plan(pieces: usize) -> Plan {
        let piece =
            Piece { curve: Curve::Line { from: [0.0; 2], to: [1.0, 0.0] }, from: 0.0, to: 1.0, side: Side::Inlet };
        Plan { pieces: vec![piece; pieces], loops: vec![], obstacles: vec![], notes: vec![] }
    }

    /// A first mesh beyond the largest base is refined once from a quarter of it, unless it follows the plan poorly as it is; it is the
    /// last where no more is allowed.
    #[test]
    fn a_large_first_mesh_has_a_base() {
        let goal = Goal::Error { relative: 1e-3, most_triangles: 200_000 };
        for (estimate, triangles, levels, last) in [
            (5e3, 5_000, 1, false),
            (24e3, 24_000, 1, false),
            (96e3, 96_000, 2, false),
            (3e5, 200_000, 2, true),
            (1e6, 200_000, 1, true),
        ] {
            let order = Order::first(goal, &plan(8), estimate);
            assert_eq!((order.triangles(), order.levels, order.last), (triangles, levels, last));
        }
        assert_eq!(Order::first(Goal::Triangles(5_000), &plan(8), 5e3).levels, 1);
    }

    /// As many sides as a base has room for keep their own triangles.
    #[test]
    fn a_base_has_room_for_every_piece() {
        let many = plan(50_000);
        assert_eq!(Order::first(Goal::Triangles(1_000_000), &many, 1e6).levels, 1);
        assert_eq!(Order::single(4_000_000, &many, 1e6).levels, 2);
        assert_eq!(Order::nested(4e6, &many).base, 1_000_000);
    }

    /// A base is never above the size that is factorised fast, and never below the least unless one mesh does.
    #[test]
    fn a_target_is_split_into_base_and_levels() {
        for target in [500.0, 11_999.0, 12_000.0, 96_000.0, 96_004.0, 1e6, 16e6] {
            let order = Order::nested(target, &plan(8));
            let base = order.base as f64;
            assert!(base <= LARGEST_BASE && (order.levels == 1 || base >= LEAST_BASE), "{order:?}");
            assert_eq!(order.levels > 1, target >= 4.0 * LEAST_BASE, "{order:?}");
            assert!((target - order.triangles() as f64) < 4f64.powi(order.levels as i32 - 1), "{order:?}");
        }
    }
}
