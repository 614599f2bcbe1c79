//! How the caller of long work follows it and stops it: by hand, or by a time after which it is no longer wanted.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use fluid::{Error, Quantity, Result};

use crate::fluid;

/// A watch on work that may take long; its copies watch the same work.
///
/// The work asks its watch before each march along the path, so that a stop takes effect within one of them: a fraction of a
/// millisecond for one substance, a fraction of a second for a mixture. The watch of a new path never stops it.
///
/// ```
/// use densepath::path::Watch;
/// let mut method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// method.path.watch = Watch::new();
/// method.solve()?;
/// assert_eq!(method.path.watch.solved(), 1);
/// method.path.watch.stop();
/// assert_eq!(method.solve().unwrap_err().code(), 406);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Default)]
pub struct Watch(Option<Arc<Shared>>);

#[derive(Debug, Default)]
struct Shared {
    stopped: AtomicBool,
    solved: AtomicUsize,
    asked: AtomicUsize,
    end: Option<Instant>,
}

impl Watch {
    /// A watch that stops nothing until it is told to.
    ///
    /// ```
    /// use densepath::path::Watch;
    /// assert!(Watch::new().check().is_ok());
    /// ```
    pub fn new() -> Self {
        Self(Some(Arc::default()))
    }

    /// A watch that stops the work after a time in s, counted from now.
    ///
    /// Error 101 for a time that is negative or no number.
    ///
    /// ```
    /// use densepath::path::Watch;
    /// assert_eq!(Watch::within(-1.0).unwrap_err().code(), 101);
    /// assert!(Watch::within(3600.0)?.check().is_ok());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn within(time: f64) -> Result<Self> {
        let wrong = |_| Error::Domain {
            quantity: Quantity::Time,
            value: time,
            rule: "a finite time from zero on",
        };
        let end = Instant::now().checked_add(Duration::try_from_secs_f64(time).map_err(wrong)?);
        Ok(Self(Some(Arc::new(Shared {
            end,
            ..Shared::default()
        }))))
    }

    /// Stops the work: what is not solved yet ends with error 406.
    ///
    /// ```
    /// use densepath::path::Watch;
    /// let watch = Watch::new();
    /// // Copies watch the same work.
    /// watch.clone().stop();
    /// assert_eq!(watch.check().unwrap_err().code(), 406);
    /// ```
    pub fn stop(&self) {
        if let Some(shared) = &self.0 {
            shared.stopped.store(true, Ordering::Relaxed);
        }
    }

    /// Number of paths solved or refused so far.
    ///
    /// ```
    /// assert_eq!(densepath::path::Watch::new().solved(), 0);
    /// ```
    pub fn solved(&self) -> usize {
        let count = |shared: &Arc<Shared>| shared.solved.load(Ordering::Relaxed);
        self.0.as_ref().map_or(0, count)
    }

    /// Number of times that the work has asked so far whether it is still wanted: once for each march along a path and each trial of the
    /// flow into a branch, so that of a single path it tells how many steps its balance took.
    ///
    /// ```
    /// use densepath::path::Watch;
    /// let mut method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// method.path.watch = Watch::new();
    /// method.solve()?;
    /// // The trials of the delivery pressure and the march of the answer.
    /// assert!((3..20).contains(&method.path.watch.asked()));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn asked(&self) -> usize {
        let count = |shared: &Arc<Shared>| shared.asked.load(Ordering::Relaxed);
        self.0.as_ref().map_or(0, count)
    }

    /// Error 406 if the work is no longer wanted.
    ///
    /// ```
    /// use densepath::path::Watch;
    /// // Time that is up at once.
    /// assert_eq!(Watch::within(0.0)?.check().unwrap_err().code(), 406);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn check(&self) -> Result<()> {
        let Some(shared) = &self.0 else { return Ok(()) };
        shared.asked.fetch_add(1, Ordering::Relaxed);
        let late = || shared.end.is_some_and(|end| Instant::now() >= end);
        if shared.stopped.load(Ordering::Relaxed) || late() {
            return Err(Error::Stopped {
                solved: self.solved(),
            });
        }
        Ok(())
    }

    /// Counts one path more.
    pub(super) fn advance(&self) {
        if let Some(shared) = &self.0 {
            shared.solved.fetch_add(1, Ordering::Relaxed);
        }
    }
}

/// The results, unless one of them was stopped: a batch with holes would pass for one with refusals.
pub(crate) fn unless_stopped<T>(results: Vec<Result<T>>) -> Result<Vec<Result<T>>> {
    let stopped = |result: &Result<T>| {
        let error = result.as_ref().err()?.root();
        matches!(error, Error::Stopped { .. }).then(|| error.clone())
    };
    match results.iter().find_map(stopped) {
        Some(error) => Err(error),
        None => Ok(results),
    }
}
