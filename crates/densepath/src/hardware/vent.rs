//! The gas that leaves the instrument.

use densepath_fluid::consts::{ICE_POINT, STANDARD_ATMOSPHERE};
use densepath_fluid::error::{Result, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::units::MILLILITRE_PER_MINUTE;
use densepath_fluid::{Fluid, Notice, NoticeCode, Quantity, State};

use super::safety::judge_stream;
use super::{Element, Fact, Outlet, Stream, Surroundings};
use crate::flow::circular_area;

/// Temperature in K at which volumes of gas are stated: 20 degC.
pub const REFERENCE_TEMPERATURE: f64 = ICE_POINT + 20.0;
/// Pressure in Pa at which volumes of gas are stated: 1 atm.
pub const REFERENCE_PRESSURE: f64 = STANDARD_ATMOSPHERE;

/// Compression factor that parts a gas from a liquid at the pressure of the room: that of a gas is nearly one, that of a liquid a
/// hundredth or less. To ask for the word of the phase would cost a search for the critical point.
const GAS: f64 = 0.5;

/// Gas flow in m3/s that needs no caution by itself: about what a person at rest breathes out (common knowledge, no source).
const SMALL_SOURCE: f64 = 250.0 * MILLILITRE_PER_MINUTE;

/// Volume in m3 of the gas, at 20 degC and 101325 Pa, that a kilogram of fluid lets out; what is liquid there is no gas.
///
/// ```
/// use densepath::{Fluid, hardware::vent::specific_gas_volume};
/// // 1 / 1.839 kg/m3: a kilogram of carbon dioxide fills half a cubic metre.
/// assert!((specific_gas_volume(&Fluid::new("carbon dioxide")?)? - 0.5437).abs() < 2e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn specific_gas_volume(fluid: &Fluid) -> Result<f64> {
    let state = State::from_tp(fluid, REFERENCE_TEMPERATURE, REFERENCE_PRESSURE)?;
    let volumes = state
        .fluid_phases()
        .into_iter()
        .filter(|(_, phase)| phase.compression_factor() > GAS)
        .map(|(share, phase)| share / phase.density());
    Ok(volumes.sum())
}

/// Volume flow rate in m3/s, at 20 degC and 101325 Pa, of a mass flow rate in kg/s let out as gas.
///
/// *Uncertainty*: that of the equation of state at low density, below 0.1 %.
///
/// ```
/// use densepath::{Fluid, hardware::vent::gas_volume_flow_rate};
/// // 3 g/min leave as 1.6 L/min of gas.
/// let flow = gas_volume_flow_rate(&Fluid::new("carbon dioxide")?, 3e-3 / 60.0)?;
/// assert!((flow * 60e3 - 1.63).abs() < 0.01);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn gas_volume_flow_rate(fluid: &Fluid, mass_flow_rate: f64) -> Result<f64> {
    positive(Quantity::MassFlowRate, mass_flow_rate)?;
    Ok(mass_flow_rate * specific_gas_volume(fluid)?)
}

/// The end of the path: where the gas leaves.
///
/// ```
/// let vent = densepath::hardware::Vent::new().with_diameter(4e-3)?.into_room();
/// assert!(vent.ends_in_room());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Vent {
    diameter: Option<f64>,
    into_room: bool,
}

impl Vent {
    /// A vent that leads outdoors.
    ///
    /// ```
    /// let vent = densepath::hardware::Vent::new();
    /// assert!(!vent.ends_in_room() && vent.diameter().is_none());
    /// ```
    pub fn new() -> Self {
        Self::default()
    }

    /// The vent with a bore in m, which gives the velocity. Error 101 if it is not above zero.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::Vent::new().with_diameter(0.0).unwrap_err().code(), 101);
    /// ```
    pub fn with_diameter(self, diameter: f64) -> Result<Self> {
        Ok(Self {
            diameter: Some(positive(Quantity::Diameter, diameter)?),
            ..self
        })
    }

    /// The vent as one that ends in the room of the instrument.
    ///
    /// ```
    /// assert!(densepath::hardware::Vent::new().into_room().ends_in_room());
    /// ```
    #[must_use]
    pub fn into_room(self) -> Self {
        Self {
            into_room: true,
            ..self
        }
    }

    /// Bore in m, if it is stated.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::Vent::new().with_diameter(4e-3)?.diameter(), Some(4e-3));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn diameter(&self) -> Option<f64> {
        self.diameter
    }

    /// Whether it ends in the room; otherwise it leads outdoors.
    ///
    /// ```
    /// assert!(!densepath::hardware::Vent::new().ends_in_room());
    /// ```
    pub fn ends_in_room(&self) -> bool {
        self.into_room
    }

    /// Mean velocity in m/s of a mass flow rate in kg/s of gas at a state in the vent, if its bore is stated.
    ///
    /// ```
    /// use densepath::{Fluid, State, hardware::Vent};
    /// let gas = State::from_tp(&Fluid::new("carbon dioxide")?, 293.15, 101_325.0)?;
    /// // u = q_m / (rho A), and nothing without a bore.
    /// let expected = 5e-5 / (gas.density() * densepath::flow::circular_area(4e-3)?);
    /// let velocity = Vent::new().with_diameter(4e-3)?.velocity(&gas, 5e-5)?;
    /// assert!(velocity.is_some_and(|velocity| (velocity / expected - 1.0).abs() < 1e-12));
    /// assert_eq!(Vent::new().velocity(&gas, 5e-5)?, None);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn velocity(&self, gas: &State, mass_flow_rate: f64) -> Result<Option<f64>> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        self.diameter
            .map(|diameter| Ok(mass_flow_rate / (gas.density() * circular_area(diameter)?)))
            .transpose()
    }
}

impl Element for Vent {
    fn kind(&self) -> &'static str {
        "vent"
    }

    fn pass(&self, inlet: &Stream, _surroundings: &Surroundings<'_>) -> Result<Outlet> {
        let gas = gas_volume_flow_rate(inlet.state.fluid(), inlet.mass_flow_rate)?;
        let mut outlet = Outlet::of(inlet.clone());
        outlet.facts.push(Fact::new(
            "gas let out (20 degC, 1 atm)",
            Quantity::VolumeFlowRate,
            gas,
        ));
        if let Some(velocity) = self.velocity(&inlet.state, inlet.mass_flow_rate)? {
            outlet.facts.push(Fact::new(
                "velocity in the vent",
                Quantity::Velocity,
                velocity,
            ));
        }
        if gas > SMALL_SOURCE {
            outlet.notices.push(lead_away(gas, self.into_room));
        }
        outlet.notices.extend(judge_stream(inlet.state.fluid())?);
        Ok(outlet)
    }
}

fn lead_away(gas: f64, into_room: bool) -> Notice {
    let place = if into_room {
        "leave the vent into the room: lead them outdoors or into a working exhaust instead"
    } else {
        "leave the vent: lead them outdoors or into a working exhaust, never into the room"
    };
    let text = format!(
        "{} mL/min of gas (20 degC, 1 atm) {place}, and keep to local codes",
        rounded(gas / MILLILITRE_PER_MINUTE)
    );
    Notice::new(NoticeCode::Asphyxiation, text).about(Quantity::VolumeFlowRate)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{SURROUNDINGS, close, co2, stream};
    use densepath_fluid::units::GRAM_PER_MINUTE;

    const LITRE_PER_MINUTE: f64 = 1e3 * MILLILITRE_PER_MINUTE;

    /// L/min at 20 degC and 1 atm: independent computation with CoolProp 8.0.0.
    #[test]
    fn grams_become_litres() {
        for (grams, litres) in [(2.93214, 1.59412), (100.0, 54.3672)] {
            let rate = gas_volume_flow_rate(&co2(), grams * GRAM_PER_MINUTE).unwrap();
            assert!(close(rate / LITRE_PER_MINUTE, litres, 1e-5));
        }
    }

    /// m/s of 1.27535 L/min at 20 degC and 1 atm: independent arithmetic.
    #[test]
    fn a_narrow_vent_blows() {
        let gas = State::from_tp(&co2(), REFERENCE_TEMPERATURE, REFERENCE_PRESSURE).unwrap();
        let rate = 1.275_35 * LITRE_PER_MINUTE * gas.density();
        for (diameter, expected) in [(0.5e-3, 108.251), (2.0e-3, 6.76567)] {
            let vent = Vent::new().with_diameter(diameter).unwrap();
            let velocity = vent.velocity(&gas, rate).unwrap().unwrap();
            assert!(close(velocity, expected, 1e-4), "{velocity}");
        }
        assert_eq!(Vent::new().velocity(&gas, rate), Ok(None));
    }

    #[test]
    fn a_vent_tells_what_leaves_and_warns_of_it() {
        let state = State::from_tp(&co2(), REFERENCE_TEMPERATURE, REFERENCE_PRESSURE).unwrap();
        let inlet = stream(state, 100.0 * GRAM_PER_MINUTE);
        let outdoors = Vent::new().pass(&inlet, &SURROUNDINGS).unwrap();
        assert!(close(
            outdoors.facts[0].value / LITRE_PER_MINUTE,
            54.3672,
            1e-5
        ));
        assert!(outdoors.notices[0].text.contains("outdoors"));
        let small = stream(inlet.state.clone(), 1e-3 * GRAM_PER_MINUTE);
        assert!(
            Vent::new()
                .pass(&small, &SURROUNDINGS)
                .unwrap()
                .notices
                .is_empty()
        );
        let mixture = Fluid::mixture(&[("carbon dioxide", 0.99), ("methanol", 0.01)]).unwrap();
        let state = State::from_tp(&mixture, 313.15, REFERENCE_PRESSURE).unwrap();
        let burns = Vent::new()
            .pass(&stream(state, 1e-8), &SURROUNDINGS)
            .unwrap();
        assert_eq!(burns.notices[0].code, NoticeCode::Flammable);
        assert!(burns.notices[0].text.contains("methanol (from 6 % in air)"));
        let indoors = Vent::new().into_room().pass(&inlet, &SURROUNDINGS).unwrap();
        assert!(indoors.notices[0].text.contains("into the room"));
    }

    #[test]
    fn no_flow_and_no_bore_are_errors() {
        assert_eq!(Vent::new().with_diameter(0.0).unwrap_err().code(), 101);
        assert_eq!(gas_volume_flow_rate(&co2(), -1.0).unwrap_err().code(), 101);
    }
}
