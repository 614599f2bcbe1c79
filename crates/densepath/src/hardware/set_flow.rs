//! The flow that a pump is set to, and the mass flow that it means.

use densepath_fluid::consts::{ICE_POINT, STANDARD_ATMOSPHERE};
use densepath_fluid::error::{Result, positive};
use densepath_fluid::{Fluid, Quantity, State};

/// Where a set volume flow is counted: the state whose density turns it into a mass flow.
///
/// ```
/// use densepath::hardware::CountedAt;
/// assert_eq!(CountedAt::Normal.word(), "normal");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CountedAt {
    /// Pressure of the feed, temperature of the pump head.
    Suction,
    /// Pressure that the pump delivers against, temperature of the pump head.
    Delivery,
    /// Pressure and temperature at the inlet of the column.
    Oven,
    /// The gas at 0 degC and 101325 Pa.
    Normal,
}

impl CountedAt {
    /// The four conventions.
    pub const ALL: [CountedAt; 4] = [
        CountedAt::Suction,
        CountedAt::Delivery,
        CountedAt::Oven,
        CountedAt::Normal,
    ];

    /// The word for it in a document.
    ///
    /// ```
    /// use densepath::hardware::CountedAt;
    /// assert_eq!((CountedAt::Suction.word(), CountedAt::Delivery.word()), ("suction", "delivery"));
    /// ```
    pub const fn word(self) -> &'static str {
        match self {
            CountedAt::Suction => "suction",
            CountedAt::Delivery => "delivery",
            CountedAt::Oven => "oven",
            CountedAt::Normal => "normal",
        }
    }
}

/// The conditions that the four conventions refer to.
///
/// ```
/// use densepath::{Fluid, hardware::{CountedAt, CountingConditions}};
/// let at = CountingConditions {
///     head_temperature: 278.15,
///     suction_pressure: 60e5,
///     delivery_pressure: 150e5,
///     oven_temperature: 313.15,
///     oven_pressure: 145e5,
/// };
/// let density = |place| at.density(&Fluid::new("carbon dioxide")?, place);
/// // The same millilitre weighs least in the oven.
/// assert!(density(CountedAt::Delivery)? > density(CountedAt::Suction)? && density(CountedAt::Suction)? > density(CountedAt::Oven)?);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CountingConditions {
    /// Temperature of the pump head in K.
    pub head_temperature: f64,
    /// Pressure of the feed in Pa.
    pub suction_pressure: f64,
    /// Pressure delivered in Pa.
    pub delivery_pressure: f64,
    /// Temperature at the inlet of the column in K.
    pub oven_temperature: f64,
    /// Pressure at the inlet of the column in Pa.
    pub oven_pressure: f64,
}

impl CountingConditions {
    /// Density rho in kg/m3 at which a volume is counted.
    ///
    /// *Uncertainty*: that of the equation of state; an error of 1 K in the head or of some bar weighs more.
    ///
    /// ```
    /// use densepath::{Fluid, State, hardware::{CountedAt, CountingConditions}};
    /// let fluid = Fluid::new("carbon dioxide")?;
    /// let at = CountingConditions {
    ///     head_temperature: 278.15,
    ///     suction_pressure: 60e5,
    ///     delivery_pressure: 150e5,
    ///     oven_temperature: 313.15,
    ///     oven_pressure: 145e5,
    /// };
    /// let normal = State::from_tp(&fluid, 273.15, 101_325.0)?.density();
    /// assert!((at.density(&fluid, CountedAt::Normal)? / normal - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn density(&self, fluid: &Fluid, counted_at: CountedAt) -> Result<f64> {
        let (temperature, pressure) = match counted_at {
            CountedAt::Suction => (self.head_temperature, self.suction_pressure),
            CountedAt::Delivery => (self.head_temperature, self.delivery_pressure),
            CountedAt::Oven => (self.oven_temperature, self.oven_pressure),
            CountedAt::Normal => (ICE_POINT, STANDARD_ATMOSPHERE),
        };
        Ok(State::from_tp(fluid, temperature, pressure)?.density())
    }
}

/// The flow that a pump is set to.
///
/// ```
/// use densepath::hardware::{CountedAt, SetFlow};
/// assert!(SetFlow::Volume(50e-9, CountedAt::Delivery).checked().is_ok());
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SetFlow {
    /// A mass flow rate `q_m` in kg/s.
    Mass(f64),
    /// A volume flow rate `q_V` in m3/s, and where it is counted.
    Volume(f64, CountedAt),
}

impl SetFlow {
    /// The same flow, if it is finite and above zero; error 101 otherwise.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::SetFlow::Mass(-1e-5).checked().unwrap_err().code(), 101);
    /// ```
    pub fn checked(self) -> Result<Self> {
        match self {
            SetFlow::Mass(rate) => positive(Quantity::MassFlowRate, rate)?,
            SetFlow::Volume(rate, _) => positive(Quantity::VolumeFlowRate, rate)?,
        };
        Ok(self)
    }

    /// Mass flow rate `q_m` in kg/s of a pump that loses nothing.
    ///
    /// *Source*: `q_m = q_V rho`, the density at the state where the volume is counted.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{CountedAt, CountingConditions, SetFlow}};
    /// let fluid = Fluid::new("carbon dioxide")?;
    /// let at = CountingConditions {
    ///     head_temperature: 278.15,
    ///     suction_pressure: 60e5,
    ///     delivery_pressure: 150e5,
    ///     oven_temperature: 313.15,
    ///     oven_pressure: 145e5,
    /// };
    /// let flow = SetFlow::Volume(50e-9, CountedAt::Delivery).mass_flow_rate(&fluid, &at)?;
    /// assert!((flow / at.density(&fluid, CountedAt::Delivery)? - 50e-9).abs() < 1e-18);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn mass_flow_rate(&self, fluid: &Fluid, conditions: &CountingConditions) -> Result<f64> {
        match *self {
            SetFlow::Mass(rate) => Ok(rate),
            SetFlow::Volume(rate, counted_at) => Ok(rate * conditions.density(fluid, counted_at)?),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};
    use densepath_fluid::units::{BAR, GRAM_PER_MINUTE, MILLILITRE_PER_MINUTE, from_celsius};

    fn conditions(delivery_bar: f64, head_degc: f64) -> CountingConditions {
        CountingConditions {
            head_temperature: from_celsius(head_degc),
            suction_pressure: 57.3 * BAR,
            delivery_pressure: delivery_bar * BAR,
            oven_temperature: from_celsius(40.0),
            oven_pressure: 150.0 * BAR,
        }
    }

    /// g/min of 3 mL/min: independent computation with CoolProp 8.0.0.
    #[test]
    fn three_millilitres_per_minute_are_four_mass_flows() {
        let flow = |counted_at| SetFlow::Volume(3.0 * MILLILITRE_PER_MINUTE, counted_at);
        for (counted_at, delivery_bar, head_degc, expected) in [
            (CountedAt::Suction, 150.0, 5.0, 2.74392),
            (CountedAt::Delivery, 150.0, 5.0, 2.93214),
            (CountedAt::Delivery, 300.0, 5.0, 3.11215),
            (CountedAt::Oven, 150.0, 5.0, 2.3407),
        ] {
            let rate = flow(counted_at)
                .mass_flow_rate(&co2(), &conditions(delivery_bar, head_degc))
                .unwrap();
            assert!(
                close(rate / GRAM_PER_MINUTE, expected, 1e-5),
                "{counted_at:?}: {}",
                rate / GRAM_PER_MINUTE
            );
        }
    }

    /// Percent: independent computation with CoolProp 8.0.0.
    #[test]
    fn the_head_and_the_delivery_pressure_change_the_mass_flow() {
        let rate = |delivery_bar, head_degc| {
            SetFlow::Volume(1e-8, CountedAt::Delivery)
                .mass_flow_rate(&co2(), &conditions(delivery_bar, head_degc))
                .unwrap()
        };
        let warmer = 100.0 * (rate(150.0, 6.0) / rate(150.0, 5.0) - 1.0);
        assert!(close(warmer, -0.465693, 1e-4), "{warmer}");
        let harder = 100.0 * (rate(300.0, 5.0) / rate(150.0, 5.0) - 1.0);
        assert!(close(harder, 6.13909, 1e-4), "{harder}");
    }

    #[test]
    fn a_normal_volume_is_gas_at_the_ice_point() {
        let rate = SetFlow::Volume(1.0, CountedAt::Normal)
            .mass_flow_rate(&co2(), &conditions(150.0, 5.0))
            .unwrap();
        // 1.9768 kg/m3: the density of the gas at 0 degC and 1 atm, from memory; four digits.
        assert!(close(rate, 1.977, 5e-4), "{rate}");
    }

    #[test]
    fn a_mass_flow_is_itself_and_a_bad_one_an_error() {
        assert_eq!(
            SetFlow::Mass(5e-5).mass_flow_rate(&co2(), &conditions(150.0, 5.0)),
            Ok(5e-5)
        );
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(SetFlow::Mass(bad).checked().unwrap_err().code(), 101);
            let volume = SetFlow::Volume(bad, CountedAt::Suction);
            assert_eq!(volume.checked().unwrap_err().code(), 101);
        }
    }
}
