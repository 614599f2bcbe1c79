//! Laws of flow on plain numbers and closures: friction, capillaries, packed beds, balances, dispersion, plate heights, retention,
//! separation, filling of loops, heat transfer.
//!
//! Nothing here knows a fluid. Properties come in as numbers, or as closures over one property, so that every law can be
//! checked against closed forms, and its dimensions by rescaling the units of its inputs.

pub(crate) mod balance;
pub mod bands;
pub mod bore;
pub mod capillary;
pub mod coil;
pub(crate) mod conjugate;
pub mod dispersion;
pub mod friction;
pub mod heat;
pub mod injection;
mod isotherm;
pub mod mixing;
pub mod packed_bed;
pub mod passage;
pub mod peak;
pub mod plate_height;
pub mod pulsation;
pub mod recording;
pub mod retention;
pub mod retention_fit;
pub mod separation;
pub mod travel;
pub mod valve;

use crate::fluid::error::{Result, positive};
use crate::fluid::quantity::Quantity;

/// Area of a circular cross-section A = pi d^2/4 in m2, of a diameter d in m.
///
/// Errors: 101 for a diameter that is not above zero.
///
/// ```
/// use densepath::flow::circular_area;
/// // A column of 4.6 mm has 16.6 mm2.
/// assert!((circular_area(4.6e-3)? - 16.619e-6).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn circular_area(diameter: f64) -> Result<f64> {
    positive(Quantity::Diameter, diameter).map(|d| 0.25 * std::f64::consts::PI * d * d)
}

#[cfg(test)]
pub(crate) mod testing {
    //! Change of units: a law is right in its dimensions if it commutes with any change of the base units.

    use proptest::prelude::*;

    /// Sizes of the old units of length, mass, time and temperature in new ones.
    #[derive(Debug, Clone, Copy)]
    pub struct Units {
        pub length: f64,
        pub mass: f64,
        pub time: f64,
        pub temperature: f64,
    }

    impl Units {
        /// Factor of a quantity with the dimension `m^a kg^b s^c`.
        pub fn factor(&self, length: i32, mass: i32, time: i32) -> f64 {
            self.length.powi(length) * self.mass.powi(mass) * self.time.powi(time)
        }

        pub fn velocity(&self) -> f64 {
            self.factor(1, 0, -1)
        }

        pub fn density(&self) -> f64 {
            self.factor(-3, 1, 0)
        }

        pub fn pressure(&self) -> f64 {
            self.factor(-1, 1, -2)
        }

        pub fn viscosity(&self) -> f64 {
            self.factor(-1, 1, -1)
        }

        pub fn diffusion(&self) -> f64 {
            self.factor(2, 0, -1)
        }

        pub fn mass_flow(&self) -> f64 {
            self.factor(0, 1, -1)
        }

        pub fn mass_flux(&self) -> f64 {
            self.factor(-2, 1, -1)
        }

        pub fn heat_capacity(&self) -> f64 {
            self.factor(2, 0, -2) / self.temperature
        }
    }

    /// Any change of units.
    pub fn units() -> impl Strategy<Value = Units> {
        let size = || (-3.0..3.0f64).prop_map(f64::exp);
        (size(), size(), size(), size()).prop_map(|(length, mass, time, temperature)| Units {
            length,
            mass,
            time,
            temperature,
        })
    }

    /// Whether two numbers agree within a relative tolerance.
    pub fn close(a: f64, b: f64, relative: f64) -> bool {
        (a - b).abs() <= relative * a.abs().max(b.abs())
    }
}
