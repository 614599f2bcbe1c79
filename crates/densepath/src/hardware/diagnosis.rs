//! From what an instrument shows to what it does: leaks from decaying pressure, the faulty head from the rhythm of the pressure, the
//! mass flow from a gas meter at the vent, the density from sensors that err.

use densepath_fluid::error::{Error, Result, finite, fraction, not_negative, positive};
use densepath_fluid::{Fluid, Quantity, State};

/// Mass flow rate in kg/s that leaks from a shut volume in m3 whose pressure changes at a rate in Pa/s: `-V rho kappa_T dp/dt`.
///
/// *Valid* for a volume that keeps its temperature: a warming of 0.1 K hides what 0.1 bar and more would show, so wait until the
/// temperature stands still. *Uncertainty*: that of the volume. *Source*: mass balance. Errors: 101 for a volume not above zero; 301 for
/// a state of two phases, whose pressure does not fall.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{Element, Stream, Surroundings}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let stream = Stream { state: State::from_tp(&fluid, 313.15, 150e5)?, mass_flow_rate: 5e-5 };
/// # let room = Surroundings {
/// #     delivery_pressure: 200e5,
/// #     room_temperature: 293.15,
/// #     room_pressure: 101_325.0,
/// #     solute: None,
/// #     carrier: "carbon dioxide",
/// #     additives: &[],
/// # };
/// use densepath::hardware::diagnosis::leak_mass_flow_rate;
/// // 10 mL that lose 1 bar a minute; a volume that loses nothing leaks nothing.
/// let leak = leak_mass_flow_rate(&stream.state, 10e-6, -1e5 / 60.0)?;
/// let expected = 10e-6 * stream.state.density() * stream.state.isothermal_compressibility()? * 1e5 / 60.0;
/// assert!((leak / expected - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn leak_mass_flow_rate(state: &State, volume: f64, pressure_rate: f64) -> Result<f64> {
    finite(Quantity::PressureRate, pressure_rate)?;
    let mass = positive(Quantity::Volume, volume)? * state.density();
    Ok(-mass * state.isothermal_compressibility()? * pressure_rate)
}

/// Frequency in Hz of the strokes of one head: `q_V/(n V_s)` of a volume flow rate in m3/s at suction, the number of heads and the
/// volume in m3 that each sweeps.
///
/// *Source*: definition. Errors: 101 for values not above zero.
///
/// ```
/// use densepath::hardware::diagnosis::stroke_frequency;
/// // 3 mL/min from two heads of 50 uL: 30 strokes of each a minute.
/// assert!((stroke_frequency(50e-9, 2, 50e-9)? - 0.5).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn stroke_frequency(volume_flow_rate: f64, heads: u32, swept_volume: f64) -> Result<f64> {
    positive(Quantity::VolumeFlowRate, volume_flow_rate)?;
    positive(Quantity::Ratio, f64::from(heads))?;
    Ok(volume_flow_rate / (f64::from(heads) * positive(Quantity::Volume, swept_volume)?))
}

/// What a rhythm of the pressure points to.
///
/// ```
/// use densepath::hardware::diagnosis::Suspect;
/// assert_ne!(Suspect::OneHead.name(), Suspect::EveryHead.name());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Suspect {
    /// It comes once in a turn of the pump: a valve or a seal of one head.
    OneHead,
    /// It comes with every stroke: the compression of all heads, from a head too warm or a compensation set wrong.
    EveryHead,
    /// It follows no stroke: the regulator, a heater, or the detector itself.
    NotThePump,
}

impl Suspect {
    /// The word for it.
    ///
    /// ```
    /// use densepath::hardware::diagnosis::{Suspect, suspect};
    /// assert_eq!(suspect(7.0, 0.5, 2, 0.05)?.name(), Suspect::NotThePump.name());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub const fn name(self) -> &'static str {
        match self {
            Suspect::OneHead => "one head",
            Suspect::EveryHead => "every head",
            Suspect::NotThePump => "not the pump",
        }
    }
}

/// What a rhythm of a frequency in Hz points to in a pump of several heads that each make strokes at a frequency in Hz; frequencies
/// within a relative tolerance count as the same.
///
/// *Valid* for two heads and more: with one, a fault and its compression have the same rhythm, and every head is told. Common practice,
/// no source. Errors: 101 for a frequency not above zero or a tolerance not between 0 and 1.
///
/// ```
/// use densepath::hardware::diagnosis::{Suspect, suspect};
/// // Two heads of 0.5 strokes a second each: once in a turn is one head, twice is both.
/// assert_eq!(suspect(0.5, 0.5, 2, 0.05)?, Suspect::OneHead);
/// assert_eq!(suspect(1.0, 0.5, 2, 0.05)?, Suspect::EveryHead);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn suspect(
    frequency: f64,
    stroke_frequency: f64,
    heads: u32,
    tolerance: f64,
) -> Result<Suspect> {
    let ratio = positive(Quantity::Frequency, frequency)?
        / positive(Quantity::Frequency, stroke_frequency)?;
    fraction(Quantity::Ratio, tolerance)?;
    let near = |whole: f64| (ratio / whole - 1.0).abs() <= tolerance;
    Ok(if near(f64::from(heads)) {
        Suspect::EveryHead
    } else if near(1.0) {
        Suspect::OneHead
    } else {
        Suspect::NotThePump
    })
}

/// Mass flow rate in kg/s of the mobile phase's gas through a meter that shows a volume flow rate in m3/s at a temperature in K and a
/// pressure in Pa, with a partial pressure in Pa of vapours (water of a wet meter, modifier) in it: `q_V rho(T, p - p_v)`.
///
/// *Valid* near the pressure of a room. *Source*: law of Dalton. Errors: 101 for a flow not above zero or vapours that leave no gas;
/// those of the state.
///
/// ```
/// use densepath::{Fluid, hardware::{diagnosis::mass_flow_from_gas_meter, vent::gas_volume_flow_rate}};
/// let fluid = Fluid::new("carbon dioxide")?;
/// // A dry meter at 20 degC and 101325 Pa turns the gas of 3 g/min back into 3 g/min.
/// let gas = gas_volume_flow_rate(&fluid, 5e-5)?;
/// assert!((mass_flow_from_gas_meter(&fluid, gas, 293.15, 101_325.0, 0.0)? / 5e-5 - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn mass_flow_from_gas_meter(
    fluid: &Fluid,
    volume_flow_rate: f64,
    temperature: f64,
    pressure: f64,
    vapour_pressure: f64,
) -> Result<f64> {
    positive(Quantity::VolumeFlowRate, volume_flow_rate)?;
    not_negative(Quantity::Pressure, vapour_pressure)?;
    if vapour_pressure >= pressure {
        return Err(Error::Domain {
            quantity: Quantity::Pressure,
            value: vapour_pressure,
            rule: "a pressure of vapours below that of the gas",
        });
    }
    let gas = State::from_tp(fluid, temperature, pressure - vapour_pressure)?;
    Ok(volume_flow_rate * gas.density())
}

/// What errors of temperature and pressure do to the density.
///
/// ```
/// let both = densepath::hardware::diagnosis::DensityError { by_temperature: 3.0, by_pressure: 4.0 };
/// assert_eq!(both.total(), 5.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DensityError {
    /// Standard uncertainty in kg/m3 from the temperature, `rho alpha_V u(T)`.
    pub by_temperature: f64,
    /// Standard uncertainty in kg/m3 from the pressure, `rho kappa_T u(p)`.
    pub by_pressure: f64,
}

impl DensityError {
    /// Both together in kg/m3, independent of each other.
    ///
    /// ```
    /// let one = densepath::hardware::diagnosis::DensityError { by_temperature: 3.0, by_pressure: 0.0 };
    /// assert_eq!(one.total(), 3.0);
    /// ```
    pub fn total(&self) -> f64 {
        self.by_temperature.hypot(self.by_pressure)
    }
}

/// Standard uncertainties of the density from those of a temperature in K and a pressure in Pa.
///
/// *Valid* for errors small against the bend of the density, not next to the critical point. That of the equation of state comes on
/// top, see [`Fluid::uncertainty`]. *Source*: JCGM 100:2008, eq. 10. Errors: 101 for a negative uncertainty; 301 for a state of two
/// phases.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{Element, Stream, Surroundings}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let stream = Stream { state: State::from_tp(&fluid, 313.15, 150e5)?, mass_flow_rate: 5e-5 };
/// # let room = Surroundings {
/// #     delivery_pressure: 200e5,
/// #     room_temperature: 293.15,
/// #     room_pressure: 101_325.0,
/// #     solute: None,
/// #     carrier: "carbon dioxide",
/// #     additives: &[],
/// # };
/// use densepath::hardware::diagnosis::density_error;
/// // Sensors good to 0.5 K and 1 bar.
/// let error = density_error(&stream.state, 0.5, 1e5)?;
/// let expected = stream.state.density() * stream.state.isobaric_expansivity()? * 0.5;
/// assert!((error.by_temperature / expected - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn density_error(
    state: &State,
    temperature_error: f64,
    pressure_error: f64,
) -> Result<DensityError> {
    not_negative(Quantity::TemperatureDifference, temperature_error)?;
    not_negative(Quantity::Pressure, pressure_error)?;
    let density = state.density();
    Ok(DensityError {
        by_temperature: density * state.isobaric_expansivity()?.abs() * temperature_error,
        by_pressure: density * state.isothermal_compressibility()? * pressure_error,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};
    use densepath_fluid::units::{BAR, MILLILITRE_PER_MINUTE, MINUTE, from_celsius};

    fn state(degc: f64, bar: f64) -> State {
        State::from_tp(&co2(), from_celsius(degc), bar * BAR).unwrap()
    }

    /// 40 degC: change of the density for 1 bar and for 0.1 K, independent computation with CoolProp 8.0.0.
    #[test]
    fn errors_of_the_density() {
        for (bar, by_pressure, by_temperature) in [
            (100.0, 0.0120057, 0.00333979),
            (150.0, 0.00201186, 0.000934414),
        ] {
            let here = state(40.0, bar);
            let error = density_error(&here, 0.1, BAR).unwrap();
            // The reference is a difference over the whole step, ours the slope.
            assert!(close(error.by_pressure / here.density(), by_pressure, 0.02));
            assert!(close(
                error.by_temperature / here.density(),
                by_temperature,
                0.02
            ));
            assert!(close(
                error.total().powi(2),
                error.by_pressure.powi(2) + error.by_temperature.powi(2),
                1e-14
            ));
        }
        assert!(density_error(&state(40.0, 100.0), -0.1, BAR).is_err());
    }

    #[test]
    fn a_leak_is_what_the_density_loses() {
        let (before, after) = (state(22.0, 150.0), state(22.0, 149.9));
        let volume = 3e-6;
        let lost = (before.density() - after.density()) * volume;
        let middle = state(22.0, 149.95);
        let leak = leak_mass_flow_rate(&middle, volume, -0.1 * BAR / (5.0 * MINUTE)).unwrap();
        assert!(close(leak * 5.0 * MINUTE, lost, 1e-6));
        let boiling = State::from_t_rho(&co2(), 293.15, 500.0).unwrap();
        assert!(leak_mass_flow_rate(&boiling, volume, -1.0).is_err());
    }

    #[test]
    fn the_rhythm_names_the_head() {
        let frequency = stroke_frequency(3.0 * MILLILITRE_PER_MINUTE, 2, 50e-9).unwrap();
        assert!(close(frequency, 0.5, 1e-12));
        assert_eq!(suspect(0.51, frequency, 2, 0.05), Ok(Suspect::OneHead));
        assert_eq!(suspect(0.99, frequency, 2, 0.05), Ok(Suspect::EveryHead));
        assert_eq!(suspect(0.2, frequency, 2, 0.05), Ok(Suspect::NotThePump));
        assert_eq!(suspect(0.5, frequency, 1, 0.05), Ok(Suspect::EveryHead));
        assert!(stroke_frequency(1e-8, 0, 1e-8).is_err() && suspect(0.0, 1.0, 2, 0.1).is_err());
    }

    #[test]
    fn a_wet_meter_shows_more_than_there_is() {
        let (t, p, flow) = (293.15, 101_325.0, 2.65e-5);
        let dry = mass_flow_from_gas_meter(&co2(), flow, t, p, 0.0).unwrap();
        let water = Fluid::new("water")
            .unwrap()
            .saturation_at_temperature(t)
            .unwrap()
            .pressure;
        let wet = mass_flow_from_gas_meter(&co2(), flow, t, p, water).unwrap();
        // Of an almost ideal gas the share of the vapour is lost.
        assert!(close(1.0 - wet / dry, water / p, 0.01));
        assert!(mass_flow_from_gas_meter(&co2(), flow, t, p, p).is_err());
    }
}
