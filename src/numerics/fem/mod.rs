//! Linear finite elements on a mesh: stiffness, conditions, the multigrid solver and gradient recovery.
//!
//! Everything works on vertex arrays. For `-div(k ∇u) = 0` with linear elements the stiffness of a triangle of area A is
//! `k/(4A) (b_i b_j + c_i c_j)` with `b = y_j − y_k`, `c = x_k − x_j`; k is the mean of the coefficient over the triangle.

mod conditions;
mod cycle;
mod direct;
mod element;
mod finer;
mod fourth;
mod recovery;
mod solver;
mod space;
mod sparse;
mod stiffness;

pub use conditions::Conditions;
pub use direct::Direct;
pub use element::{gradient, mean_cube, mean_inverse_cube, sides, stiffness as element_stiffness, triangle_gradients};
pub use finer::Finer;
pub use fourth::FourthOrder;
pub use recovery::{Model, Recovery};
pub use solver::{Operator, Solution};
pub use space::{SolidEdge, Space};
pub use sparse::{Entry, solve_sparse};
pub use stiffness::{Levels, Stiffness};
