//! A run on threads of its own while Python's signals are looked after.

use crate::failure::raised;
use pyo3::exceptions::PyRuntimeError;
use pyo3::prelude::*;
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;
use twinplate::base::stop::Stop;
use twinplate::{Error, Result};

/// How often signals are looked after.
const TICK: Duration = Duration::from_millis(50);
/// How long a run that is told to stop is waited for; what has not stopped by then stops by itself at its next mesh or iteration.
const GRACE: Duration = Duration::from_millis(400);
/// Stack of the thread a run begins on, bytes.
const STACK: usize = 16 << 20;

/// What `work` gives on so many threads (one for each core if none), with the GIL released. A signal that Python answers with an exception,
/// as Ctrl-C, stops it.
pub fn waited<T: Send + 'static>(
    py: Python<'_>,
    threads: Option<usize>,
    work: impl FnOnce() -> Result<T> + Send + 'static,
) -> PyResult<T> {
    let stop = Stop::default();
    let flag = stop.clone();
    let (send, mut receive) = channel();
    let begin = move || {
        let _ = send.send(pooled(threads, flag, work));
    };
    let thread = thread::Builder::new().name("twinplate".into()).stack_size(STACK).spawn(begin);
    thread.map_err(|e| PyRuntimeError::new_err(format!("no thread could be started: {e}")))?;
    loop {
        let (came, back) = py.detach(move || (receive.recv_timeout(TICK), receive));
        receive = back;
        match came {
            Ok(result) => return result.map_err(|error| raised(py, &error)),
            Err(RecvTimeoutError::Disconnected) => {
                return Err(PyRuntimeError::new_err("the run ended without a result: report this as a fault"));
            }
            Err(RecvTimeoutError::Timeout) => {
                if let Err(signal) = py.check_signals() {
                    stop.raise();
                    py.detach(move || drop(receive.recv_timeout(GRACE)));
                    return Err(signal);
                }
            }
        }
    }
}

fn pooled<T: Send>(threads: Option<usize>, flag: Stop, work: impl FnOnce() -> Result<T> + Send) -> Result<T> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads.unwrap_or(0)).start_handler(move |_| flag.here());
    let pool =
        pool.build().map_err(|e| Error::failed(format!("no thread could be started: {e}"), "ask for fewer threads"))?;
    pool.install(work)
}
