//! Equations of state on plain numbers: the Helmholtz energy and its derivatives, the coexistence of its phases.

mod coexistence;
pub mod cubic;
mod energies;
pub mod equilibrium;
pub(crate) mod helmholtz;
mod ideal;
pub mod lines;
pub mod mixture;
pub mod multifluid;
mod non_analytic;
mod residual;
pub mod solid;

pub use coexistence::Coexistence;
pub(crate) use coexistence::{density_between, guess};
pub use helmholtz::{
    DomeTop, Helmholtz, Isotherm, PointDerivatives, PressurePoint, TauDerivatives,
};
