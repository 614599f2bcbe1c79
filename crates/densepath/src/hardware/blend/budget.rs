//! How sure the composition is that pumps deliver.

use fluid::error::not_negative;
use fluid::{Error, Quantity, Result};

use super::Blend;
use crate::fluid;

/// Standard uncertainties of what one pump delivers.
///
/// ```
/// use densepath::hardware::PumpUncertainty;
/// # use densepath::{Fluid, hardware::{Feed, blend}};
/// # let feed = |name: &str, flow: f64| {
/// #     Ok::<Feed, densepath::Error>(Feed { fluid: Fluid::new(name)?, volume_flow_rate: flow, temperature: 278.15, pressure: 150e5 })
/// # };
/// # let feeds = [feed("carbon dioxide", 45e-9)?, feed("methanol", 5e-9)?];
/// let pump = PumpUncertainty { relative_flow: 0.01, temperature: 1.0, pressure: 2e5 };
/// // One for each pump.
/// assert_eq!(blend(&feeds)?.mass_fraction_budget("methanol", &[pump]).unwrap_err().code(), 104);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PumpUncertainty {
    /// Of its volume flow rate, relative.
    pub relative_flow: f64,
    /// Of the temperature of its head in K.
    pub temperature: f64,
    /// Of the pressure in its head in Pa.
    pub pressure: f64,
}

/// What one pump contributes to the uncertainty of a fraction.
///
/// ```
/// # use densepath::{Fluid, hardware::{Feed, blend}};
/// # let feed = |name: &str, flow: f64| {
/// #     Ok::<Feed, densepath::Error>(Feed { fluid: Fluid::new(name)?, volume_flow_rate: flow, temperature: 278.15, pressure: 150e5 })
/// # };
/// # let feeds = [feed("carbon dioxide", 45e-9)?, feed("methanol", 5e-9)?];
/// use densepath::hardware::PumpUncertainty;
/// let pump = PumpUncertainty { relative_flow: 0.0, temperature: 1.0, pressure: 0.0 };
/// let budget = blend(&feeds)?.mass_fraction_budget("methanol", &[pump, pump])?;
/// // Only the temperatures err, and carbon dioxide swells far more than methanol.
/// assert!(budget.shares[0].flow == 0.0 && budget.shares[0].temperature.abs() > budget.shares[1].temperature.abs());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PumpShare {
    /// By its flow.
    pub flow: f64,
    /// By the temperature of its head.
    pub temperature: f64,
    /// By the pressure in its head.
    pub pressure: f64,
}

impl PumpShare {
    fn square(&self) -> f64 {
        self.flow * self.flow + self.temperature * self.temperature + self.pressure * self.pressure
    }
}

/// How sure a mass fraction is.
///
/// ```
/// # use densepath::{Fluid, hardware::{Feed, blend}};
/// # let feed = |name: &str, flow: f64| {
/// #     Ok::<Feed, densepath::Error>(Feed { fluid: Fluid::new(name)?, volume_flow_rate: flow, temperature: 278.15, pressure: 150e5 })
/// # };
/// # let feeds = [feed("carbon dioxide", 45e-9)?, feed("methanol", 5e-9)?];
/// use densepath::hardware::PumpUncertainty;
/// let pump = PumpUncertainty { relative_flow: 0.01, temperature: 1.0, pressure: 2e5 };
/// let budget = blend(&feeds)?.mass_fraction_budget("methanol", &[pump, pump])?;
/// assert!(budget.standard_uncertainty > 0.0 && budget.standard_uncertainty < 0.05 * budget.mass_fraction);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct FractionBudget {
    /// Mass fraction w.
    pub mass_fraction: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// What each pump contributes, in their order.
    pub shares: Vec<PumpShare>,
}

impl Blend {
    /// How sure the mass fraction of a substance is, with what each pump contributes.
    ///
    /// *Source*: propagation of standard uncertainties, independent of each other; a relative error of the flow moves the mass flow of
    /// its pump as a change of the logarithm of density does.
    ///
    /// Errors: 104 for a substance that is not fed, or another number of pumps; 101 for a negative uncertainty.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{Feed, blend}};
    /// # let feed = |name: &str, flow: f64| {
    /// #     Ok::<Feed, densepath::Error>(Feed { fluid: Fluid::new(name)?, volume_flow_rate: flow, temperature: 278.15, pressure: 150e5 })
    /// # };
    /// # let feeds = [feed("carbon dioxide", 45e-9)?, feed("methanol", 5e-9)?];
    /// use densepath::hardware::PumpUncertainty;
    /// // w (1 - w) times the relative error of one flow.
    /// let exact = PumpUncertainty { relative_flow: 0.0, temperature: 0.0, pressure: 0.0 };
    /// let off = PumpUncertainty { relative_flow: 0.01, ..exact };
    /// let budget = blend(&feeds)?.mass_fraction_budget("methanol", &[exact, off])?;
    /// let w = budget.mass_fraction;
    /// assert!((budget.standard_uncertainty / (0.01 * w * (1.0 - w)) - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn mass_fraction_budget(
        &self,
        substance: &str,
        pumps: &[PumpUncertainty],
    ) -> Result<FractionBudget> {
        let missing = |argument: &str, expected: &'static str, got: String| Error::Argument {
            argument: argument.to_owned(),
            expected,
            got,
        };
        let place = self.substances.iter().position(|name| *name == substance);
        let place =
            place.ok_or_else(|| missing("substance", "one that is fed", substance.to_owned()))?;
        if pumps.len() != self.feeds.len() {
            let got = format!("{} for {} pumps", pumps.len(), self.feeds.len());
            return Err(missing("pumps", "one uncertainty for each pump", got));
        }
        let fractions = self.composition.mass_fractions();
        let fraction = fractions.get(place).copied().unwrap_or(f64::NAN);
        let slope = |slopes: &[f64]| slopes.get(place).copied().unwrap_or(f64::NAN);
        let mut shares = Vec::new();
        for (feed, pump) in self.feeds.iter().zip(pumps) {
            let answer = self.sensitivity(feed)?;
            let by_temperature = slope(&answer.mass_fractions_by_temperature);
            let by_flow = -by_temperature / feed.state.isobaric_expansivity()?;
            shares.push(PumpShare {
                flow: (by_flow * not_negative(Quantity::Ratio, pump.relative_flow)?).abs(),
                temperature: (by_temperature
                    * not_negative(Quantity::Temperature, pump.temperature)?)
                .abs(),
                pressure: (slope(&answer.mass_fractions_by_pressure)
                    * not_negative(Quantity::Pressure, pump.pressure)?)
                .abs(),
            });
        }
        let squares = shares.iter().map(PumpShare::square).sum::<f64>();
        Ok(FractionBudget {
            mass_fraction: fraction,
            standard_uncertainty: squares.sqrt(),
            shares,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::close;
    use crate::hardware::{Feed, blend};
    use fluid::Fluid;

    fn feed(name: &str, volume_flow_rate: f64, temperature: f64) -> Feed {
        Feed {
            fluid: Fluid::new(name).unwrap(),
            volume_flow_rate,
            temperature,
            pressure: 15e6,
        }
    }

    #[test]
    fn shares_are_those_of_differences_and_add_up_in_squares() {
        let feeds = [
            feed("carbon dioxide", 4e-8, 278.15),
            feed("methanol", 1e-8, 295.15),
        ];
        let made = blend(&feeds).unwrap();
        let sure = |relative_flow, temperature, pressure| PumpUncertainty {
            relative_flow,
            temperature,
            pressure,
        };
        let pumps = [sure(0.01, 0.5, 1e5), sure(0.005, 1.0, 2e5)];
        let budget = made.mass_fraction_budget("methanol", &pumps).unwrap();
        // dw/d ln q = w (1 - w), of either pump.
        let w = budget.mass_fraction;
        assert!(close(budget.shares[0].flow, w * (1.0 - w) * 0.01, 1e-12));
        assert!(close(budget.shares[1].flow, w * (1.0 - w) * 0.005, 1e-12));
        let other = |temperature: f64, pressure: f64| {
            let mut moved = feeds.clone();
            moved[0].temperature += temperature;
            moved[0].pressure += pressure;
            let moved = blend(&moved).unwrap();
            moved.composition.mass_fractions()[1]
        };
        let by_kelvin = (other(1e-3, 0.0) - other(-1e-3, 0.0)).abs() / 2e-3;
        assert!(close(budget.shares[0].temperature, 0.5 * by_kelvin, 1e-5));
        let by_pascal = (other(0.0, 1e3) - other(0.0, -1e3)).abs() / 2e3;
        assert!(close(budget.shares[0].pressure, 1e5 * by_pascal, 1e-5));
        let squares: f64 = budget
            .shares
            .iter()
            .flat_map(|share| [share.flow, share.temperature, share.pressure])
            .map(|share| share * share)
            .sum();
        assert!(close(budget.standard_uncertainty, squares.sqrt(), 1e-14));
        assert_eq!(
            made.mass_fraction_budget("water", &pumps)
                .unwrap_err()
                .code(),
            104
        );
        assert_eq!(
            made.mass_fraction_budget("methanol", &pumps[..1])
                .unwrap_err()
                .code(),
            104
        );
        let bad = [sure(-0.01, 0.0, 0.0), sure(0.0, 0.0, 0.0)];
        assert_eq!(
            made.mass_fraction_budget("methanol", &bad)
                .unwrap_err()
                .code(),
            101
        );
    }
}
