//! Mathematics without physics: roots in brackets, quadrature, initial value problems.

pub mod extremum;
pub mod ode;
pub mod quad;
pub mod root;
pub mod text;
