//! Mathematics without physics: roots in brackets, quadrature, initial value problems, least squares.

pub(crate) mod chebyshev;
pub(crate) mod elementary;
pub mod error_function;
pub mod extremum;
pub(crate) mod lanes;
pub mod least_squares;
pub mod logarithms;
pub(crate) mod number;
pub mod ode;
pub(crate) mod once;
pub mod quad;
pub mod root;
pub mod series;
pub(crate) mod share;
pub(crate) mod slopes;
pub mod text;
pub(crate) mod third;
pub(crate) mod twofold;

/// One number for each substance of a mixture, or a square of them; on the stack for up to four numbers.
pub type Amounts = smallvec::SmallVec<[f64; 4]>;
