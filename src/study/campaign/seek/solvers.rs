//! Root finders and optimisers of argmin, over variables between 0 and 1.

use crate::base::{Error, Result};
use argmin::core::{CostFunction, Executor, State};
use argmin::solver::brent::{BrentOpt, BrentRoot};
use argmin::solver::neldermead::NelderMead;
use std::cell::RefCell;

/// Most steps of a solver: each halves what is left or more, and accuracies are no finer than rounding.
const MOST_STEPS: u64 = 60;

/// A function with the first error it had, which ends the solver.
struct Cost<'f> {
    of: &'f dyn Fn(&[f64]) -> Result<f64>,
    error: &'f RefCell<Option<Error>>,
}

impl Cost<'_> {
    fn at(&self, place: &[f64]) -> std::result::Result<f64, argmin::core::Error> {
        (self.of)(place).map_err(|error| {
            let said = argmin::core::Error::msg(error.what());
            self.error.borrow_mut().get_or_insert(error);
            said
        })
    }
}

impl CostFunction for Cost<'_> {
    type Param = f64;
    type Output = f64;

    fn cost(&self, place: &f64) -> std::result::Result<f64, argmin::core::Error> {
        self.at(&[*place])
    }
}

/// The same of several variables.
struct Costs<'f>(Cost<'f>);

impl CostFunction for Costs<'_> {
    type Param = Vec<f64>;
    type Output = f64;

    fn cost(&self, place: &Vec<f64>) -> std::result::Result<f64, argmin::core::Error> {
        self.0.at(place)
    }
}

/// What a solver came to, or what ended it.
fn ended<T>(found: std::result::Result<Option<T>, argmin::core::Error>, error: RefCell<Option<Error>>) -> Result<T> {
    match (found, error.into_inner()) {
        (_, Some(error)) => Err(error),
        (Ok(Some(found)), None) => Ok(found),
        (Ok(None), None) => Err(Error::failed("the search came to no place", "give a smaller range")),
        (Err(error), None) => Err(Error::failed(format!("the search ended: {error}"), "give a smaller range")),
    }
}

/// The root between two places at which a function has other signs, to an accuracy (Brent's method).
pub(super) fn root([a, b]: [f64; 2], accuracy: f64, of: &dyn Fn(f64) -> Result<f64>) -> Result<f64> {
    let error = RefCell::new(None);
    let of = |place: &[f64]| of(place.first().copied().unwrap_or_default());
    let cost = Cost { of: &of, error: &error };
    let run =
        Executor::new(cost, BrentRoot::new(a, b, accuracy)).configure(|state| state.param(b).max_iters(MOST_STEPS));
    let found = run.run().map(|done| done.state().get_best_param().copied());
    ended(found, error)
}

/// The least value of a function between two places, to an accuracy (Brent's method).
pub(super) fn least([a, b]: [f64; 2], accuracy: f64, of: &dyn Fn(f64) -> Result<f64>) -> Result<f64> {
    let error = RefCell::new(None);
    let of = |place: &[f64]| of(place.first().copied().unwrap_or_default());
    let cost = Cost { of: &of, error: &error };
    let solver = BrentOpt::new(a, b).set_tolerance(0.0, 0.5 * accuracy);
    let run = Executor::new(cost, solver).configure(|state| state.max_iters(MOST_STEPS));
    let found = run.run().map(|done| done.state().get_best_param().copied());
    ended(found, error)
}

/// The least value of a function of several variables from a simplex on, until its values there differ by less than `spread` (Nelder and
/// Mead).
pub(super) fn least_of_several(
    simplex: Vec<Vec<f64>>,
    spread: f64,
    of: &dyn Fn(&[f64]) -> Result<f64>,
) -> Result<Vec<f64>> {
    let error = RefCell::new(None);
    let cost = Costs(Cost { of, error: &error });
    let solver = NelderMead::new(simplex).with_sd_tolerance(spread);
    let found = solver.and_then(|solver| {
        let run = Executor::new(cost, solver).configure(|state| state.max_iters(2 * MOST_STEPS));
        run.run().map(|done| done.state().get_best_param().cloned())
    });
    ended(found, error)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn roots_and_least_values_are_found() {
        let accuracy = 1e-6;
        let found = root([0.0, 1.0], accuracy, &|x| Ok(x * x - 0.5)).unwrap();
        assert!((found - 0.5f64.sqrt()).abs() < accuracy, "{found}");
        let found = least([0.0, 1.0], accuracy, &|x| Ok((x - 0.3).powi(2))).unwrap();
        assert!((found - 0.3).abs() < 2.0 * accuracy, "{found}");
        let simplex = vec![vec![0.1, 0.1], vec![0.4, 0.1], vec![0.1, 0.4]];
        let of = |x: &[f64]| Ok((x[0] - 0.7).powi(2) + 3.0 * (x[1] - 0.2).powi(2));
        let found = least_of_several(simplex, 1e-12, &of).unwrap();
        assert!((found[0] - 0.7).abs() < 1e-4 && (found[1] - 0.2).abs() < 1e-4, "{found:?}");
    }

    #[test]
    fn an_error_of_the_function_ends_the_search() {
        let error = root([0.0, 1.0], 1e-3, &|x| if x < 1.0 { Ok(x - 0.5) } else { Err(Error::failed("one", "none")) });
        assert_eq!(error.unwrap_err().what(), "one");
    }
}
