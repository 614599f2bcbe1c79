//! Long calls that can be followed and interrupted from Python.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::Duration;

use densepath::Error;
use densepath::path::Watch;
use pyo3::prelude::*;

use crate::error::Outcome;

/// Time between two looks for a key press, which is also how often progress is told.
const LOOK: Duration = Duration::from_millis(100);

/// A watch that ends the work after `time_limit` in seconds, or never.
pub fn watch_within(time_limit: Option<f64>) -> Outcome<Watch> {
    let Some(seconds) = time_limit else {
        return Ok(Watch::new());
    };
    Ok(Watch::within(seconds)?)
}

/// Who is told how far a long call has come.
pub struct Listener<'py>(Option<Bound<'py, PyAny>>);

impl<'py> Listener<'py> {
    /// What the argument `progress` of a call asks for; `total` is the number of methods to solve, where it is known.
    pub fn of(
        py: Python<'py>,
        progress: Option<&Bound<'py, PyAny>>,
        total: Option<usize>,
    ) -> PyResult<Self> {
        let Some(progress) = progress else {
            return Ok(Self(None));
        };
        let start = py.import("densepath._progress")?.getattr("start")?;
        let listener = start.call1((progress, total))?;
        Ok(Self(Some(listener).filter(|listener| !listener.is_none())))
    }

    fn tell(&self, solved: usize) -> PyResult<()> {
        let Some(listener) = &self.0 else {
            return Ok(());
        };
        listener.call_method1("tell", (solved,)).map(|_| ())
    }

    fn close(&self) -> PyResult<()> {
        let Some(listener) = &self.0 else {
            return Ok(());
        };
        listener.call_method0("close").map(|_| ())
    }
}

/// Runs a long call on a thread of its own, while this one looks for interrupts and tells how far the call has come.
///
/// An interrupt, or an exception of the listener, stops the watched work and is raised; a panic becomes error 901.
pub fn watched<T: Send>(
    py: Python<'_>,
    watch: &Watch,
    listener: &Listener<'_>,
    call: impl FnOnce() -> densepath::Result<T> + Send,
) -> Outcome<T> {
    let place = "a long call from Python";
    let (done, interrupted) = std::thread::scope(|scope| {
        let caller = std::thread::current();
        let worker = scope.spawn(move || {
            let done =
                catch_unwind(AssertUnwindSafe(call)).unwrap_or(Err(Error::Internal { place }));
            caller.unpark();
            done
        });
        let mut interrupted = Ok(());
        while !worker.is_finished() && interrupted.is_ok() {
            py.detach(|| std::thread::park_timeout(LOOK));
            interrupted = py
                .check_signals()
                .and_then(|()| listener.tell(watch.solved()));
        }
        if interrupted.is_err() {
            watch.stop();
        }
        let done = py.detach(|| worker.join());
        // The work may have ended just after it was last looked at.
        let interrupted = interrupted.and_then(|()| listener.tell(watch.solved()));
        (done.unwrap_or(Err(Error::Internal { place })), interrupted)
    });
    let closed = listener.close();
    interrupted?;
    closed?;
    Ok(done?)
}
