//! Viscosity and thermal conductivity of dense fluids from their residual entropy, on plain numbers.
//!
//! Reduced by the length between molecules and their thermal speed, the residual transport properties of a fluid fall nearly
//! on one curve over `s = -s_res/R` (Rosenfeld, Phys. Rev. A 15, 2545 (1977), doi 10.1103/PhysRevA.15.2545; in the form of
//! Bell, Messerly, Thol, Costigliola, Dyre, J. Phys. Chem. B 123, 6345 (2019), doi 10.1021/acs.jpcb.9b05808). The curves here
//! are polynomials in the square root of s under a logarithm, as in Yang, Xiao, May, Bell, J. Chem. Eng. Data 66, 1385 (2021),
//! doi 10.1021/acs.jced.0c01009 (form from memory), each fitted to its own fluid.

use super::Dense;
use crate::consts::{AVOGADRO_CONSTANT, BOLTZMANN_CONSTANT};
use crate::fluids::transport::EntropyScalingRecord;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

impl EntropyScalingRecord {
    /// `ln(1 + X)` at a residual entropy s.
    pub fn at(&self, s: f64) -> f64 {
        self.terms.iter().map(|(c, t)| c * t.of(s)).sum()
    }
}

impl Dense {
    /// Residual viscosity in Pa s from `ln(1 + X)`; zero where the residual entropy is not negative, as in very thin gas.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// # use densepath_fluid::transport::Point;
    /// let point = Point::on(fluid.helmholtz()?, fluid.molar_mass(), 313.15, state.density(), 456.0);
    /// // ln(1 + X) = 0 is no residual viscosity; more is more.
    /// assert_eq!(point.dense.residual_viscosity(0.0), 0.0);
    /// assert!(point.dense.residual_viscosity(2.0) > point.dense.residual_viscosity(1.0));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn residual_viscosity(&self, logarithm: f64) -> f64 {
        self.number_density_to_two_thirds() * self.thermal_momentum() * self.excess(logarithm)
    }

    /// Residual thermal conductivity in W/(m K) from `ln(1 + X)`.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// # use densepath_fluid::transport::Point;
    /// let point = Point::on(fluid.helmholtz()?, fluid.molar_mass(), 313.15, state.density(), 456.0);
    /// // Both residual properties go with X: their ratio does not depend on it.
    /// let ratio = |logarithm: f64| point.dense.residual_conductivity(logarithm) / point.dense.residual_viscosity(logarithm);
    /// assert!((ratio(2.0) / ratio(1.0) - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn residual_conductivity(&self, logarithm: f64) -> f64 {
        let thermal_energy = BOLTZMANN_CONSTANT * self.temperature;
        let heat = BOLTZMANN_CONSTANT * thermal_energy / self.thermal_momentum();
        self.number_density_to_two_thirds() * heat * self.excess(logarithm)
    }

    /// `X / s^(2/3)`.
    fn excess(&self, logarithm: f64) -> f64 {
        if self.residual_entropy <= 0.0 {
            return 0.0;
        }
        logarithm.exp_m1() / self.residual_entropy.cbrt().powi(2)
    }

    fn number_density_to_two_thirds(&self) -> f64 {
        (AVOGADRO_CONSTANT * self.molar_density).cbrt().powi(2)
    }

    /// `sqrt(m k T)` of a molecule in kg m/s.
    fn thermal_momentum(&self) -> f64 {
        let mass = self.molar_mass / AVOGADRO_CONSTANT;
        (mass * BOLTZMANN_CONSTANT * self.temperature).sqrt()
    }
}
