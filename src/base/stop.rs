//! A flag that stops a run from outside: whoever started it raises the flag, and the run ends at the next mesh or the next iteration.
//!
//! A run belongs to the threads that work on it, so the flag is theirs: [`Stop::here`] puts it on the thread that calls it, and a pool of
//! threads that is to work on the run does so as each of them starts.

use super::{Error, Result};
use std::cell::RefCell;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The flag of a run; copies are the same flag.
#[derive(Debug, Clone, Default)]
pub struct Stop(Arc<AtomicBool>);

thread_local! {
    static HERE: RefCell<Option<Stop>> = const { RefCell::new(None) };
}

impl Stop {
    /// Raises the flag.
    pub fn raise(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// The flag of this thread, for threads that help it.
    pub fn of_this_thread() -> Option<Stop> {
        HERE.with_borrow(Clone::clone)
    }

    /// What this thread works on from now on is stopped by this flag.
    pub fn here(&self) {
        HERE.with_borrow_mut(|here| *here = Some(self.clone()));
    }
}

/// Whether what this thread works on may go on.
///
/// # Errors
/// [`Error::Stopped`] once the flag of this thread has been raised; never on a thread without one.
pub fn go_on() -> Result<()> {
    let raised = HERE.with_borrow(|here| here.as_ref().is_some_and(|stop| stop.0.load(Ordering::Relaxed)));
    if raised { Err(Error::Stopped) } else { Ok(()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_raised_flag_stops_its_threads_and_no_other() {
        let stop = Stop::default();
        let own = stop.clone();
        let worker = std::thread::spawn(move || {
            own.here();
            let before = go_on().is_ok();
            own.raise();
            (before, matches!(go_on(), Err(Error::Stopped)))
        });
        assert_eq!(worker.join().unwrap(), (true, true));
        assert!(go_on().is_ok());
    }
}
