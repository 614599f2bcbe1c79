//! Viscosity of a pure fluid from its published correlation, on plain numbers.

use super::Point;
use crate::fluids::forms::ProductRecord;
use crate::fluids::transport::ViscosityRecord;

/// Viscosity of the gas at one temperature.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gas {
    /// Limit of zero density in Pa s.
    dilute: f64,
    /// Virial coefficient in m3/mol.
    slope: f64,
}

impl ViscosityRecord {
    /// Dynamic viscosity eta in Pa s: the limit of zero density with its virial coefficient, the parts of the dense fluid, and
    /// the critical enhancement where the record has one.
    ///
    /// *Valid*, *Uncertainty* and *Source*: of the record. Where the critical enhancement, confined to the neighbourhood of the
    /// critical point, is left out, this is common practice.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// # use densepath_fluid::transport::Point;
    /// let point = Point::on(fluid.helmholtz()?, fluid.molar_mass(), 313.15, state.density(), 456.0);
    /// let viscosity = fluid.record()?.viscosity.as_ref();
    /// assert!(viscosity.is_some_and(|record| (record.dynamic_viscosity(&point) - 6.8e-5).abs() < 0.2e-5));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn dynamic_viscosity(&self, point: &Point) -> f64 {
        self.above_gas(self.gas(point.temperature), point)
    }

    /// What of the viscosity depends on temperature alone, at one in K.
    pub(super) fn gas(&self, temperature: f64) -> Gas {
        let virial = self.virial.as_ref();
        Gas {
            dilute: self.zero_density(temperature),
            slope: virial.map_or(0.0, |virial| virial.at(temperature)),
        }
    }

    /// As [`ViscosityRecord::dynamic_viscosity`], at the temperature of a gas at hand.
    pub(super) fn above_gas(&self, Gas { dilute, slope }: Gas, point: &Point) -> f64 {
        let background = dilute * (1.0 + slope * point.molar_density) + self.dense(point, dilute);
        let critical = self.critical.as_ref();
        background * critical.map_or(1.0, |critical| critical.factor(point))
    }

    /// Whether the dense fluid has a correlation of its own, rather than the curve over residual entropy alone.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert!(fluid.record()?.viscosity.as_ref().is_some_and(|record| record.has_dense_correlation()));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn has_dense_correlation(&self) -> bool {
        !self.parts.is_empty()
    }

    /// The parts of the dense fluid in Pa s, or what stands in for them.
    fn dense(&self, point: &Point, dilute: f64) -> f64 {
        match &self.entropy_scaling {
            Some(curve) if self.parts.is_empty() => point
                .dense
                .residual_viscosity(curve.at(point.dense.residual_entropy)),
            _ => self.parts.iter().map(|part| part.at(point, dilute)).sum(),
        }
    }

    /// Limit of zero density in Pa s at a temperature in K.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// // 14.9 uPa s at 300 K (Laesecke and Muzny 2017, table 6).
    /// let viscosity = fluid.record()?.viscosity.as_ref();
    /// assert!(viscosity.is_some_and(|record| (record.zero_density(300.0) * 1e6 - 15.0).abs() < 0.1));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn zero_density(&self, temperature: f64) -> f64 {
        ProductRecord::first(&self.dilute, temperature)
    }
}

#[cfg(test)]
mod tests {
    use crate::transport::tests::{at, co2};

    /// Laesecke, Muzny 2017, doi 10.1063/1.4977429, table 6: T in K, rho in kg/m3, eta in mPa s and half its last digit.
    #[test]
    fn agrees_with_the_published_table_to_the_printed_digit() {
        let record = co2().viscosity.as_ref().unwrap();
        for (temperature, density, expected, half_digit) in [
            (100.0, 0.0, 0.0053757, 5e-8),
            (2000.0, 0.0, 0.066079, 5e-7),
            (10000.0, 0.0, 0.17620, 5e-6),
            (220.0, 3.0, 0.011104, 5e-7),
            (225.0, 1150.0, 0.22218, 5e-6),
            (300.0, 65.0, 0.015563, 5e-7),
            (300.0, 1400.0, 0.50594, 5e-6),
            (700.0, 100.0, 0.033112, 5e-7),
            (700.0, 1200.0, 0.22980, 5e-6),
        ] {
            let eta = 1e3 * record.dynamic_viscosity(&at(temperature, density));
            assert!(
                (eta - expected).abs() <= half_digit,
                "{temperature} {density} {eta}"
            );
        }
    }
}
