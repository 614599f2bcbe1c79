//! Thermal conductivity of a pure fluid from its published correlation, on plain numbers.

use super::Point;
use crate::fluids::forms::ProductRecord;
use crate::fluids::transport::{DiluteConductivityRecord, EuckenRecord, ThermalConductivityRecord};

impl ThermalConductivityRecord {
    /// Thermal conductivity lambda in W/(m K), from the viscosity of the point and its limit of zero density in Pa s.
    ///
    /// *Valid*, *Uncertainty* and *Source*: of the record.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// # use densepath_fluid::transport::Point;
    /// let point = Point::on(fluid.helmholtz()?, fluid.molar_mass(), 313.15, state.density(), 456.0);
    /// let record = fluid.record()?;
    /// let (Some(viscosity), Some(conductivity)) = (&record.viscosity, &record.thermal_conductivity) else {
    ///     return Err(densepath_fluid::Error::Internal { place: "both are known" });
    /// };
    /// let found = conductivity.thermal_conductivity(&point, viscosity.dynamic_viscosity(&point), viscosity.zero_density(313.15));
    /// assert!((found / state.thermal_conductivity()? - 1.0).abs() < 0.02);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn thermal_conductivity(
        &self,
        point: &Point,
        viscosity: f64,
        dilute_viscosity: f64,
    ) -> f64 {
        let critical = self.critical.as_ref();
        self.background(point, dilute_viscosity)
            + critical.map_or(0.0, |critical| critical.conductivity(point, viscosity))
    }

    /// Thermal conductivity in W/(m K) without the critical enhancement.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// # use densepath_fluid::transport::Point;
    /// let point = Point::on(fluid.helmholtz()?, fluid.molar_mass(), 313.15, state.density(), 456.0);
    /// let record = fluid.record()?;
    /// let (Some(viscosity), Some(conductivity)) = (&record.viscosity, &record.thermal_conductivity) else {
    ///     return Err(densepath_fluid::Error::Internal { place: "both are known" });
    /// };
    /// // Without the enhancement near the critical point it is less.
    /// assert!(conductivity.background(&point, viscosity.zero_density(313.15)) < state.thermal_conductivity()?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn background(&self, point: &Point, dilute_viscosity: f64) -> f64 {
        let heat_capacity = point.ideal_isochoric_heat_capacity;
        let dilute = self.zero_density(point.temperature, heat_capacity, dilute_viscosity);
        dilute + self.dense(point, dilute)
    }

    /// Limit of zero density in W/(m K) at a temperature in K, from the isochoric heat capacity of the ideal gas over the gas
    /// constant and the viscosity in the same limit in Pa s.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// # use densepath_fluid::transport::Point;
    /// let point = Point::on(fluid.helmholtz()?, fluid.molar_mass(), 313.15, state.density(), 456.0);
    /// let record = fluid.record()?;
    /// let (Some(viscosity), Some(conductivity)) = (&record.viscosity, &record.thermal_conductivity) else {
    ///     return Err(densepath_fluid::Error::Internal { place: "both are known" });
    /// };
    /// // The gas conducts several times less than the dense fluid: about 0.017 W/(m K).
    /// let thin = conductivity.zero_density(313.15, point.ideal_isochoric_heat_capacity, viscosity.zero_density(313.15));
    /// assert!((thin - 0.0177).abs() < 0.001);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn zero_density(&self, temperature: f64, heat_capacity: f64, viscosity: f64) -> f64 {
        let summands = self.dilute.iter();
        summands
            .map(|summand| summand.at(temperature, heat_capacity, viscosity))
            .sum()
    }

    /// Whether the dense fluid has a correlation of its own, rather than the curve over residual entropy alone.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert!(fluid.record()?.thermal_conductivity.as_ref().is_some_and(|record| record.has_dense_correlation()));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn has_dense_correlation(&self) -> bool {
        !self.parts.is_empty()
    }

    /// Temperature in K far above the critical one at which the critical enhancement counts as gone; none without enhancement.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// // One and a half times the critical temperature and more.
    /// let reference = fluid.record()?.thermal_conductivity.as_ref().and_then(|record| record.reference_temperature());
    /// assert!(reference.is_some_and(|temperature| temperature > 400.0));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn reference_temperature(&self) -> Option<f64> {
        let critical = self.critical.as_ref();
        critical.map(|critical| critical.correlation_length.temperature_reference)
    }

    /// The parts of the dense fluid in W/(m K), or what stands in for them.
    fn dense(&self, point: &Point, dilute: f64) -> f64 {
        match &self.entropy_scaling {
            Some(curve) if self.parts.is_empty() => point
                .dense
                .residual_conductivity(curve.at(point.dense.residual_entropy)),
            _ => self.parts.iter().map(|part| part.at(point, dilute)).sum(),
        }
    }
}

impl DiluteConductivityRecord {
    fn at(&self, temperature: f64, heat_capacity: f64, viscosity: f64) -> f64 {
        match self {
            Self::Product(product) => product.at(temperature),
            Self::Viscosity(share) => 1e6 * share.factor * viscosity,
            Self::Eucken(eucken) => eucken.at(temperature, heat_capacity, viscosity),
        }
    }
}

impl EuckenRecord {
    fn at(&self, temperature: f64, heat_capacity: f64, viscosity: f64) -> f64 {
        let viscosity = match self.viscosity.as_slice() {
            [] => viscosity,
            own => ProductRecord::first(own, temperature),
        };
        let degrees = 3.75 + self.internal.at(temperature) * (heat_capacity - 1.5);
        self.specific_gas_constant * viscosity * degrees
    }
}

#[cfg(test)]
mod tests {
    use crate::transport::tests::{at, co2};

    fn viscosity_of_2017(temperature: f64, density: f64) -> f64 {
        let record = co2().viscosity.as_ref().unwrap();
        record.dynamic_viscosity(&at(temperature, density))
    }

    /// Fenghour, Wakeham, Vesovic, J. Phys. Chem. Ref. Data 27, 31 (1998), doi 10.1063/1.556013, eqs. 3 to 8.
    fn viscosity_of_1998(temperature: f64, density: f64) -> f64 {
        let t = temperature / 251.196;
        let collision = [0.235156, -0.491266, 5.211155e-2, 5.347906e-2, -1.537102e-2]
            .iter()
            .rev()
            .fold(0.0, |sum, a| a + sum * t.ln());
        let excess = 0.4071119e-2 * density
            + 0.7198037e-4 * density.powi(2)
            + 0.2411697e-16 * density.powi(6) / t.powi(3)
            + (0.2971072e-22 - 0.1627888e-22 / t) * density.powi(8);
        1e-6 * (1.00697 * temperature.sqrt() / collision.exp() + excess)
    }

    /// Huber et al. 2016, doi 10.1063/1.4940892, table 7: T in K, rho in kg/m3, lambda in mW/(m K). The last state is
    /// printed twice: 72.28 with the viscosity of 1998 and 73.04 with that of 2017 in the critical enhancement.
    #[test]
    fn agrees_with_the_published_table_to_the_printed_digit() {
        type Law = fn(f64, f64) -> f64;
        let record = co2().thermal_conductivity.as_ref().unwrap();
        let rows: [(f64, f64, f64, Law); 5] = [
            (250.0, 0.0, 12.99, viscosity_of_2017),
            (250.0, 2.0, 13.05, viscosity_of_2017),
            (250.0, 1058.0, 140.00, viscosity_of_2017),
            (310.0, 400.0, 73.04, viscosity_of_2017),
            (310.0, 400.0, 72.28, viscosity_of_1998),
        ];
        for (temperature, density, expected, viscosity) in rows {
            let eta = viscosity(temperature, density);
            let lambda = 1e3 * record.thermal_conductivity(&at(temperature, density), eta, 0.0);
            assert!(
                (lambda - expected).abs() <= 5e-3,
                "{temperature} {density} {lambda}"
            );
        }
    }
}
