//! The pseudo-critical line: where, above the critical temperature, the fluid turns from gas-like to liquid-like.

use crate::error::{Error, Result, within};
use crate::num::extremum::maximum;
use crate::quantity::Quantity;
use crate::state::{Fluid, State};

/// Densities between which the line is sought, over the critical one.
const DENSITIES: (f64, f64) = (0.1, 1.9);

/// Which property is largest on the line. The three agree at the critical point and part with rising temperature.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// use densepath_fluid::phase::PseudoCritical;
/// let at = |definition| fluid.pseudo_critical(313.15, definition).map(|state| state.pressure());
/// // The definitions part with rising temperature.
/// assert!(at(PseudoCritical::HeatCapacity)? != at(PseudoCritical::DensityGradient)?);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum PseudoCritical {
    /// Specific isobaric heat capacity c_p.
    HeatCapacity,
    /// Change of density with pressure, (drho/dp)_T.
    DensityGradient,
    /// Isobaric expansivity alpha_V.
    Expansivity,
}

impl PseudoCritical {
    /// Every definition.
    pub const ALL: &[Self] = &[Self::HeatCapacity, Self::DensityGradient, Self::Expansivity];

    /// Name, snake case.
    ///
    /// ```
    /// use densepath_fluid::phase::PseudoCritical;
    /// assert_eq!(PseudoCritical::HeatCapacity.name().parse(), Ok(PseudoCritical::HeatCapacity));
    /// ```
    pub const fn name(self) -> &'static str {
        match self {
            Self::HeatCapacity => "heat_capacity",
            Self::DensityGradient => "density_gradient",
            Self::Expansivity => "expansivity",
        }
    }

    fn of(self, state: &State) -> Result<f64> {
        match self {
            Self::HeatCapacity => state.specific_isobaric_heat_capacity(),
            Self::DensityGradient => Ok(1.0 / state.dp_drho_t()?),
            Self::Expansivity => state.isobaric_expansivity(),
        }
    }
}

impl core::str::FromStr for PseudoCritical {
    type Err = ();

    fn from_str(name: &str) -> core::result::Result<Self, ()> {
        Self::ALL
            .iter()
            .copied()
            .find(|definition| definition.name() == name)
            .ok_or(())
    }
}

impl Fluid {
    /// The state on the pseudo-critical line at a temperature T in K, by the definition named.
    ///
    /// *Valid* above the critical temperature as long as the property has a largest value on the isotherm (for carbon
    /// dioxide beyond 400 K); error 102 below it, error 402 where it has none.
    /// *Uncertainty*: of the equation of state; the pressure is located to 1e-7 of its value.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// use densepath_fluid::{State, phase::PseudoCritical};
    /// let ridge = fluid.pseudo_critical(313.15, PseudoCritical::HeatCapacity)?;
    /// // On the ridge the heat capacity is larger than beside it.
    /// for factor in [0.98, 1.02] {
    ///     let beside = State::from_tp(&fluid, 313.15, ridge.pressure() * factor)?;
    ///     assert!(beside.specific_isobaric_heat_capacity()? < ridge.specific_isobaric_heat_capacity()?);
    /// }
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn pseudo_critical(&self, temperature: f64, definition: PseudoCritical) -> Result<State> {
        let critical = self.critical_point()?;
        let limit = self.range().temperature_max;
        within(
            Quantity::Temperature,
            temperature,
            critical.temperature,
            limit,
            "the pseudo-critical line",
        )?;
        let (low, high) = (
            DENSITIES.0 * critical.density,
            DENSITIES.1 * critical.density,
        );
        let property = |density| definition.of(&State::from_t_rho(self, temperature, density)?);
        let density = maximum(low, high, property)?.ok_or(Error::Unreachable {
            quantity: Quantity::Density,
            min: low,
            max: high,
            reason: "the property has no largest value on this isotherm",
        })?;
        State::from_t_rho(self, temperature, density)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{BAR, from_celsius};

    /// Temperature in degC; pressure in bar of the largest c_p, its density in kg/m3, pressure of the largest drho/dp:
    /// independent computation with CoolProp 8.0.0. NaN where it was not printed.
    const LINE: [(f64, f64, f64, f64); 6] = [
        (35.0, 80.4009, f64::NAN, 80.3841),
        (40.0, 88.6365, 447.574, 88.3593),
        (50.0, 105.328, 449.542, f64::NAN),
        (60.0, 122.493, 453.239, 116.534),
        (80.0, 157.847, 459.846, f64::NAN),
        (100.0, 195.087, 467.487, 154.820),
    ];

    #[test]
    fn the_line_agrees_with_an_independent_computation() {
        let co2 = Fluid::new("carbon dioxide").unwrap();
        let close = |ours: f64, expected: f64, relative: f64| {
            assert!(
                expected.is_nan() || (ours / expected - 1.0).abs() < relative,
                "{ours} against {expected}"
            );
        };
        for (degc, heat_capacity, density, gradient) in LINE {
            let at = |definition| co2.pseudo_critical(from_celsius(degc), definition).unwrap();
            close(
                at(PseudoCritical::HeatCapacity).pressure() / BAR,
                heat_capacity,
                5e-6,
            );
            close(at(PseudoCritical::HeatCapacity).density(), density, 5e-5);
            close(
                at(PseudoCritical::DensityGradient).pressure() / BAR,
                gradient,
                5e-6,
            );
            assert!(
                at(PseudoCritical::Expansivity).pressure()
                    < at(PseudoCritical::HeatCapacity).pressure()
            );
        }
        assert_eq!(
            co2.pseudo_critical(300.0, PseudoCritical::Expansivity)
                .unwrap_err()
                .code(),
            102
        );
        assert_eq!(
            co2.pseudo_critical(1000.0, PseudoCritical::HeatCapacity)
                .unwrap_err()
                .code(),
            402
        );
    }
}
