//! Computing without the interpreter's lock, on threads that a fork does not lose, while Ctrl-C is listened to.

use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use pyo3::prelude::*;
use rayon::{ThreadPool, ThreadPoolBuilder};

use crate::fault::bug;

/// How often Python is asked whether it was interrupted.
const LISTEN: Duration = Duration::from_millis(50);

/// Something short, of one thread.
///
/// # Errors
/// A panic, as Python's `unladen.Bug`.
pub fn short<T: Send>(py: Python<'_>, work: impl FnOnce() -> T + Send) -> PyResult<T> {
    // What a panic may have left half-done is dropped with it.
    py.detach(|| catch_unwind(AssertUnwindSafe(work))).map_err(|panic| bug(py, &words(panic.as_ref())))
}

/// Something long: interrupted, it is left to end by itself.
///
/// # Errors
/// `KeyboardInterrupt`; and a panic, as Python's `unladen.Bug`.
pub fn long<T: Send + 'static>(py: Python<'_>, work: impl FnOnce() -> T + Send + 'static) -> PyResult<T> {
    let pool = pool(py)?;
    let (done, mut wait) = channel();
    pool.spawn(move || {
        // Nobody waits any more where it was interrupted.
        let _ = done.send(catch_unwind(AssertUnwindSafe(work)));
    });
    loop {
        // A receiver is of one thread at a time.
        let waiting = &mut wait;
        match py.detach(move || waiting.recv_timeout(LISTEN)) {
            Ok(Ok(found)) => return Ok(found),
            Ok(Err(panic)) => return Err(bug(py, &words(panic.as_ref()))),
            Err(RecvTimeoutError::Timeout) => py.check_signals()?,
            Err(RecvTimeoutError::Disconnected) => return Err(bug(py, "a thread was lost")),
        }
    }
}

/// The threads, and the process that they are of.
static POOL: Mutex<Option<(u32, Arc<ThreadPool>)>> = Mutex::new(None);

/// This process's threads: as many as there are cores, or as `RAYON_NUM_THREADS` says.
///
/// # Errors
/// Where the operating system gives none.
pub fn pool(py: Python<'_>) -> PyResult<Arc<ThreadPool>> {
    let new = || {
        let built = ThreadPoolBuilder::new().thread_name(|i| format!("unladen-{i}")).build();
        built.map(Arc::new).map_err(|e| pyo3::exceptions::PyOSError::new_err(e.to_string()))
    };
    let own = std::process::id();
    // Held by a thread that a fork left behind it would be held for ever.
    let Ok(mut kept) = POOL.try_lock() else { return new() };
    match &*kept {
        Some((process, pool)) if *process == own => Ok(pool.clone()),
        _ => {
            let pool = py.detach(new)?;
            // The parent's threads are not in this process, and nothing can be said to them.
            std::mem::forget(kept.replace((own, pool.clone())));
            Ok(pool)
        }
    }
}

fn words(panic: &(dyn Any + Send)) -> String {
    let fixed = panic.downcast_ref::<&str>().map(|s| (*s).to_owned());
    fixed.or_else(|| panic.downcast_ref::<String>().cloned()).unwrap_or_else(|| "a panic without words".to_owned())
}
