//! What is computed when it is first asked for.

#[cfg(feature = "std")]
pub(crate) use std::sync::OnceLock;

/// Without threads to wait for each other, whoever comes at the same time computes it too, and the first result is kept.
#[cfg(not(feature = "std"))]
#[derive(Debug)]
pub(crate) struct OnceLock<T>(once_cell::race::OnceBox<T>);

#[cfg(not(feature = "std"))]
impl<T> OnceLock<T> {
    pub(crate) const fn new() -> Self {
        Self(once_cell::race::OnceBox::new())
    }

    pub(crate) fn get(&self) -> Option<&T> {
        self.0.get()
    }

    pub(crate) fn get_or_init(&self, make: impl FnOnce() -> T) -> &T {
        self.0.get_or_init(|| alloc::boxed::Box::new(make()))
    }
}

#[cfg(not(feature = "std"))]
impl<T> Default for OnceLock<T> {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(not(feature = "std"))]
impl<T> From<T> for OnceLock<T> {
    fn from(value: T) -> Self {
        Self(once_cell::race::OnceBox::with_value(
            alloc::boxed::Box::new(value),
        ))
    }
}

#[cfg(not(feature = "std"))]
impl<T: Clone> Clone for OnceLock<T> {
    fn clone(&self) -> Self {
        self.get().cloned().map_or_else(Self::new, Self::from)
    }
}
