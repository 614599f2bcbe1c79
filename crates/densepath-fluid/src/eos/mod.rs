//! Equations of state on plain numbers: the Helmholtz energy and its derivatives, the coexistence of its phases.

mod coexistence;
pub mod cubic;
mod energies;
pub mod equilibrium;
mod exponentials;
pub(crate) mod helmholtz;
mod ideal;
mod ideal_window;
mod kernel;
pub mod lines;
pub mod mixture;
pub mod multifluid;
mod non_analytic;
mod one_phase;
mod points;
mod powers;
mod prepared;
mod residual;
pub mod solid;
mod sweep;
mod temperature_factor;

pub use coexistence::Coexistence;
pub(crate) use coexistence::{density_between, guess};
pub use helmholtz::{
    DomeTop, Helmholtz, Isotherm, PointDerivatives, PressurePoint, TauDerivatives,
};
pub(crate) use one_phase::OnePhase;
pub(crate) use points::EnergyPoint;
pub(crate) use prepared::{Column, Prepared};
