//! Orders of convergence: manufactured solutions for the solver and for the loads of each correction, and ladders against exact
//! values.
//!
//! A smooth solution is chosen, loads and end values follow from it, and what comes back is compared with it: linear elements have
//! order 2 in the mean square and at the vertices, 1 in energy (Strang & Fix 1973, An Analysis of the Finite Element Method).

#[path = "../cells/mod.rs"]
mod cells;

mod corrections;
mod norms;
mod richardson;
mod solver;
