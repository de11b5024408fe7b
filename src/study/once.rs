//! A value that is made when it is first asked for, and kept.

use crate::base::Result;
use std::sync::{Arc, Mutex, PoisonError, TryLockError};

/// The value, once it is made.
#[derive(Debug)]
pub(super) struct Once<T>(Mutex<Option<Arc<T>>>);

impl<T> Default for Once<T> {
    fn default() -> Self {
        Once(Mutex::new(None))
    }
}

impl<T> Once<T> {
    /// The value. Of threads that ask at the same time one makes it, and the others wait; a failure is not kept.
    ///
    /// A worker of rayon waits for nobody, and makes one for itself: the work that it would wait for may be its own.
    pub(super) fn get(&self, make: impl FnOnce() -> Result<T>) -> Result<Arc<T>> {
        let waits = rayon::current_thread_index().is_none();
        let mut kept = match if waits { self.0.lock().map_err(TryLockError::from) } else { self.0.try_lock() } {
            Ok(kept) => kept,
            Err(TryLockError::Poisoned(left)) => PoisonError::into_inner(left),
            Err(TryLockError::WouldBlock) => return make().map(Arc::new),
        };
        if let Some(value) = &*kept {
            return Ok(value.clone());
        }
        let value = Arc::new(make()?);
        *kept = Some(value.clone());
        Ok(value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::Error;
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::Duration;

    #[test]
    fn it_is_made_once_whoever_asks() {
        let (once, made) = (Once::default(), AtomicUsize::new(0));
        let slowly = || {
            std::thread::sleep(Duration::from_millis(50));
            Ok(made.fetch_add(1, Ordering::Relaxed))
        };
        std::thread::scope(|scope| {
            let asked: Vec<_> = (0..4).map(|_| scope.spawn(|| *once.get(slowly).unwrap())).collect();
            assert!(asked.into_iter().all(|one| one.join().unwrap() == 0));
        });
        assert_eq!(made.load(Ordering::Relaxed), 1);
    }

    #[test]
    fn a_failure_is_not_kept() {
        let once = Once::default();
        assert!(once.get(|| Err::<i32, Error>(Error::Stopped)).is_err());
        assert_eq!(*once.get(|| Ok(3)).unwrap(), 3);
        assert_eq!(*once.get(|| Err(Error::Stopped)).unwrap(), 3);
    }

    /// Within a pool the thread that makes a value may take up work that asks for the same value.
    #[test]
    fn a_worker_does_not_wait_for_itself() {
        let once: Once<i32> = Once::default();
        let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
        let outer = pool.install(|| once.get(|| once.get(|| Ok(2)).map(|inner| *inner + 1)));
        assert_eq!(*outer.unwrap(), 3);
    }
}
