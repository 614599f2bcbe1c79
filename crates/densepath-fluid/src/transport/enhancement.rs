//! What the fluctuations near the critical point add to viscosity and thermal conductivity, on plain numbers.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use core::f64::consts::PI;

use super::Point;
use crate::fluids::transport::{
    ConductivityEnhancementRecord, CorrelationLengthRecord, ViscosityEnhancementRecord,
};

impl CorrelationLengthRecord {
    /// Correlation length xi in m, zero where the reference state is softer than the state itself.
    fn at(&self, point: &Point) -> f64 {
        let excess = point.drho_dp_t
            - self.temperature_reference / point.temperature * point.drho_dp_t_reference;
        if excess <= 0.0 {
            return 0.0;
        }
        let susceptibility = self.critical_pressure * point.density * excess
            / (self.compressibility_amplitude * self.critical_density * self.critical_density);
        self.amplitude * susceptibility.powf(self.nu / self.gamma)
    }
}

impl ConductivityEnhancementRecord {
    /// Critical enhancement of the thermal conductivity in W/(m K), from the viscosity in Pa s.
    ///
    /// *Valid*: everywhere; vanishes far from the critical point and is infinite at it.
    /// *Source*: Olchowy, Sengers, Int. J. Thermophys. 10, 417 (1989), doi 10.1007/BF01133538, in the form of Huber, Sykioti,
    /// Assael, Perkins, J. Phys. Chem. Ref. Data 45, 013102 (2016), doi 10.1063/1.4940892, eqs. 5 to 8.
    pub fn conductivity(&self, point: &Point, viscosity: f64) -> f64 {
        let length = &self.correlation_length;
        let xi = length.at(point);
        if xi == 0.0 || xi.is_infinite() {
            return xi;
        }
        let c_p = point.isobaric_heat_capacity;
        let ratio = point.isochoric_heat_capacity / c_p;
        let q_xi = xi / self.cut_off_length;
        let omega = (1.0 - ratio) * q_xi.atan() + ratio * q_xi;
        let reduced = point.density / length.critical_density;
        let shift = 1.0 / q_xi + (q_xi / reduced).powi(2) / 3.0;
        let omega_0 = 1.0 - (-1.0 / shift).exp();
        let diffusivity = self.amplitude * self.boltzmann_constant * point.temperature
            / (6.0 * PI * viscosity * xi);
        point.density * c_p * diffusivity * (2.0 / PI) * (omega - omega_0)
    }
}

impl ViscosityEnhancementRecord {
    /// Ratio of the viscosity to its background.
    ///
    /// *Source*: Bhattacharjee, Ferrell, Basu, Sengers, Phys. Rev. A 24, 1469 (1981), doi 10.1103/PhysRevA.24.1469, in the form
    /// of Huber et al., J. Phys. Chem. Ref. Data 38, 101 (2009), doi 10.1063/1.3088050, eqs. 14 to 21.
    pub fn factor(&self, point: &Point) -> f64 {
        let xi = self.correlation_length.at(point);
        (self.x_eta * self.crossover(xi)).exp()
    }

    /// Crossover function Y of a correlation length in m.
    fn crossover(&self, xi: f64) -> f64 {
        let (c, d) = (xi / self.background_length, xi / self.cut_off_length);
        if xi <= self.series_max {
            return 0.2 * c * d.powi(5) * (1.0 - c + c * c - 765.0 / 504.0 * d * d);
        }
        let psi = d.atan();
        let w = ((c - 1.0) / (c + 1.0)).abs().sqrt() * (psi / 2.0).tan();
        let l = if c > 1.0 {
            ((1.0 + w) / (1.0 - w)).ln()
        } else {
            2.0 * w.atan()
        };
        let tail = (1.0 - 1.5 * c * c) * psi - (c * c - 1.0).abs().powf(1.5) * l;
        (3.0 * psi).sin() / 12.0 - (2.0 * psi).sin() / (4.0 * c)
            + (1.0 - 1.25 * c * c) * psi.sin() / (c * c)
            - tail / c.powi(3)
    }
}
