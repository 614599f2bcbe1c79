//! Work shared among the threads of the current pool, where there are threads.

#[cfg(feature = "std")]
use rayon::prelude::*;

#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// What comes of each item, in their order.
pub(crate) fn map<T: Send, R: Send>(items: Vec<T>, of: impl Fn(T) -> R + Send + Sync) -> Vec<R> {
    #[cfg(feature = "std")]
    return items.into_par_iter().map(of).collect();
    #[cfg(not(feature = "std"))]
    return items.into_iter().map(of).collect();
}
