//! The back-pressure regulator: it holds the pressure before it, and lets the fluid expand behind it.

mod sizing;

use densepath_fluid::consts::ICE_POINT;
use densepath_fluid::error::{Error, Result, not_negative, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::units::to_celsius;
use densepath_fluid::{Fluid, Notice, NoticeCode, Phase, Quantity, State};

use super::{Element, Fact, Outlet, Stream, Surroundings, share_beside};

use crate::flow::valve::Valve;

pub use sizing::{PulsedValve, Service, ValveSize, flow_range, pulsed_valve, valve_size};

const SECONDS_PER_HOUR: f64 = 3600.0;

/// Temperature in K from which on a surface burns the skin at a touch: 60 degC, common practice, no source.
const HOT: f64 = ICE_POINT + 60.0;

/// A valve that holds the pressure before it at any flow, with or without a heated outlet.
///
/// ```
/// use densepath::hardware::{BackPressureRegulator, Element};
/// let regulator = BackPressureRegulator::new(150e5)?;
/// assert!(regulator.holds_pressure() && regulator.set_pressure() == Some(150e5));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BackPressureRegulator {
    pressure: f64,
    outlet_pressure: Option<f64>,
    outlet_temperature: Option<f64>,
    heater_power: Option<f64>,
    pulse: Option<Pulse>,
    is_sized: bool,
}

/// How a valve that opens and shuts does so.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Pulse {
    /// Frequency in Hz.
    frequency: f64,
    /// Share of the time for which it is open.
    open_share: f64,
    /// Volume in m3 between column and valve.
    volume: f64,
}

/// The fluid behind the regulator.
///
/// ```
/// use densepath::hardware::BackPressureRegulator;
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
/// let behind = BackPressureRegulator::new(150e5)?.expand(&stream.state, 5e-5, 101_325.0)?;
/// // Without heat the enthalpy stays, and dry ice falls out.
/// assert!((behind.adiabatic.specific_enthalpy() - stream.state.specific_enthalpy()).abs() < 1.0);
/// assert!(behind.adiabatic.solid_fraction() > 0.2);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Expansion {
    /// The end of the expansion without heat exchange: solid, liquid and vapour in equilibrium, velocity died out.
    pub adiabatic: State,
    /// The fluid behind the heater; the end of the expansion itself without one.
    pub outlet: State,
    /// Heat flow rate in W that brings the fluid to the set outlet temperature; negative if it arrives warmer. None
    /// without a set temperature.
    pub heater_duty: Option<f64>,
    /// Heat flow rate in W that the heater gives.
    pub heat_flow_rate: f64,
    /// Inlet temperature in K above which neither solid nor liquid appears behind the regulator; none if the equation of
    /// state ends before.
    pub dry_inlet_temperature: Option<f64>,
    /// What to know.
    pub notices: Vec<Notice>,
}

impl BackPressureRegulator {
    /// A regulator that holds a pressure in Pa, without heater, into the room. Error 101 if it is not above zero.
    ///
    /// ```
    /// use densepath::hardware::BackPressureRegulator;
    /// assert_eq!(BackPressureRegulator::new(0.0).unwrap_err().code(), 101);
    /// ```
    pub fn new(pressure: f64) -> Result<Self> {
        Ok(Self {
            pressure: positive(Quantity::Pressure, pressure)?,
            outlet_pressure: None,
            outlet_temperature: None,
            heater_power: None,
            pulse: None,
            is_sized: false,
        })
    }

    /// The regulator with a valve that opens and shuts with a frequency in Hz, is open for a share of the time, and has a volume
    /// in m3 between it and the column: what that does to the pressure is told, see [`pulsed_valve`]. Error 101 for values that no
    /// valve has.
    ///
    /// ```
    /// use densepath::hardware::BackPressureRegulator;
    /// let regulator = BackPressureRegulator::new(150e5)?;
    /// assert!(regulator.clone().with_pulses(5.0, 0.3, 1e-6).is_ok());
    /// // A valve cannot be open for more than all of the time.
    /// assert!(regulator.with_pulses(5.0, 1.5, 1e-6).is_err());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_pulses(self, frequency: f64, open_share: f64, volume: f64) -> Result<Self> {
        positive(Quantity::Frequency, frequency)?;
        positive(Quantity::Volume, volume)?;
        if !(open_share > 0.0 && open_share <= 1.0) {
            return Err(Error::Domain {
                quantity: Quantity::Ratio,
                value: open_share,
                rule: "above 0 and at most 1",
            });
        }
        let pulse = Pulse {
            frequency,
            open_share,
            volume,
        };
        Ok(Self {
            pulse: Some(pulse),
            ..self
        })
    }

    /// The regulator that tells what opening passes the flow, see [`valve_size`].
    ///
    /// ```
    /// use densepath::hardware::BackPressureRegulator;
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
    /// let facts = |regulator: BackPressureRegulator| regulator.pass(&stream, &room).map(|outlet| outlet.facts.len());
    /// let plain = BackPressureRegulator::new(150e5)?;
    /// // More is told: the opening.
    /// assert!(facts(plain.clone().sized())? > facts(plain)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    #[must_use]
    pub fn sized(self) -> Self {
        Self {
            is_sized: true,
            ..self
        }
    }

    /// What the valve must be and what its pulses do.
    fn judge_valve(&self, inlet: &Stream, outlet_pressure: f64, outlet: &mut Outlet) -> Result<()> {
        let (state, flow) = (&inlet.state, inlet.mass_flow_rate);
        if self.is_sized {
            let size = valve_size(Valve::default(), state, flow, outlet_pressure)?;
            let hole = Quantity::Diameter;
            outlet.facts.extend([
                Fact::new(
                    "flow coefficient K_v, the flow of cold water at 1 bar",
                    Quantity::VolumeFlowRate,
                    size.kv / SECONDS_PER_HOUR,
                ),
                Fact::new(
                    "hole that passes the flow in equilibrium of the phases",
                    hole,
                    size.equilibrium_diameter,
                ),
                Fact::new(
                    "hole that passes the flow at the density before it",
                    hole,
                    size.incompressible_diameter,
                ),
            ]);
        }
        if let Some(pulse) = self.pulse {
            let Pulse {
                frequency,
                open_share,
                volume,
            } = pulse;
            let ripple = pulsed_valve(state, volume, flow, frequency, open_share)?;
            outlet.facts.extend([
                Fact::new(
                    "ripple of the pressure before it",
                    Quantity::PressureDrop,
                    ripple.pressure_ripple,
                ),
                Fact::new(
                    "ripple of the density before it",
                    Quantity::Ratio,
                    ripple.density_ripple,
                ),
            ]);
            outlet.notices.extend(ripple.notices);
        }
        Ok(())
    }

    /// The regulator with a pressure in Pa behind it. Error 503 if it is not below the pressure held.
    ///
    /// ```
    /// use densepath::hardware::BackPressureRegulator;
    /// let regulator = BackPressureRegulator::new(150e5)?;
    /// assert!(regulator.clone().with_outlet_pressure(20e5).is_ok());
    /// assert_eq!(regulator.with_outlet_pressure(160e5).unwrap_err().code(), 503);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_outlet_pressure(self, outlet_pressure: f64) -> Result<Self> {
        positive(Quantity::Pressure, outlet_pressure)?;
        if outlet_pressure >= self.pressure {
            return Err(Error::FlowReversed {
                inlet: self.pressure,
                outlet: outlet_pressure,
            });
        }
        Ok(Self {
            outlet_pressure: Some(outlet_pressure),
            ..self
        })
    }

    /// The regulator with an outlet heated to a temperature in K.
    ///
    /// ```
    /// use densepath::hardware::BackPressureRegulator;
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
    /// let heated = BackPressureRegulator::new(150e5)?.with_outlet_temperature(293.15)?;
    /// let behind = heated.expand(&stream.state, 5e-5, 101_325.0)?;
    /// // The heater brings what the enthalpies differ by.
    /// let duty = 5e-5 * (behind.outlet.specific_enthalpy() - stream.state.specific_enthalpy());
    /// assert!(behind.heater_duty.is_some_and(|found| (found / duty - 1.0).abs() < 1e-6));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_outlet_temperature(self, outlet_temperature: f64) -> Result<Self> {
        Ok(Self {
            outlet_temperature: Some(positive(Quantity::Temperature, outlet_temperature)?),
            ..self
        })
    }

    /// The regulator with a heater of a largest power in W.
    ///
    /// ```
    /// use densepath::hardware::BackPressureRegulator;
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
    /// let weak = BackPressureRegulator::new(150e5)?.with_outlet_temperature(293.15)?.with_heater_power(1.0)?;
    /// // 1 W is not enough: it gives all it has, and the gas stays colder than set.
    /// let behind = weak.expand(&stream.state, 5e-5, 101_325.0)?;
    /// assert!(behind.heat_flow_rate <= 1.0 && behind.outlet.temperature() < 293.15);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_heater_power(self, heater_power: f64) -> Result<Self> {
        Ok(Self {
            heater_power: Some(not_negative(Quantity::HeatFlowRate, heater_power)?),
            ..self
        })
    }

    /// Pressure held in Pa.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::BackPressureRegulator::new(150e5)?.pressure(), 150e5);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn pressure(&self) -> f64 {
        self.pressure
    }

    /// Temperature of the heated outlet in K, if there is one.
    ///
    /// ```
    /// use densepath::hardware::BackPressureRegulator;
    /// let heated = BackPressureRegulator::new(150e5)?.with_outlet_temperature(333.15)?;
    /// assert_eq!(heated.outlet_temperature(), Some(333.15));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn outlet_temperature(&self) -> Option<f64> {
        self.outlet_temperature
    }

    /// The fluid behind the regulator, from the fluid before it, a mass flow rate in kg/s and the pressure of the room in Pa.
    ///
    /// *Valid* for a valve without heat exchange of its own, in equilibrium, once the velocity has died out: whether the
    /// solid sticks to the nozzle is not in it. *Source*: first law, `h` constant, then `q_m (h_out - h_in)` of the heater.
    ///
    /// Error 503 if the fluid before it is not above the pressure behind it.
    ///
    /// ```
    /// use densepath::hardware::BackPressureRegulator;
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
    /// let behind = BackPressureRegulator::new(150e5)?.expand(&stream.state, 5e-5, 101_325.0)?;
    /// // Dry ice under vapour: 194.7 K at 1 atm.
    /// assert!((behind.outlet.temperature() - 194.69).abs() < 0.05);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn expand(
        &self,
        inlet: &State,
        mass_flow_rate: f64,
        room_pressure: f64,
    ) -> Result<Expansion> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let pressure = self.outlet_pressure.unwrap_or(room_pressure);
        if pressure >= inlet.pressure() {
            return Err(Error::FlowReversed {
                inlet: inlet.pressure(),
                outlet: pressure,
            });
        }
        let adiabatic = inlet.expand_to(pressure)?;
        let set = self
            .outlet_temperature
            .map(|temperature| State::from_tp(inlet.fluid(), temperature, pressure))
            .transpose()?;
        let duty_to =
            |end: &State| mass_flow_rate * (end.specific_enthalpy() - inlet.specific_enthalpy());
        let heater_duty = set.as_ref().map(duty_to);
        let power = self.heater_power.unwrap_or(f64::INFINITY);
        let heat_flow_rate = heater_duty.unwrap_or(0.0).clamp(0.0, power);
        let outlet = match set {
            Some(set) if heater_duty == Some(heat_flow_rate) => set,
            Some(_) if heat_flow_rate > 0.0 => {
                let enthalpy = inlet.specific_enthalpy() + heat_flow_rate / mass_flow_rate;
                State::from_ph(inlet.fluid(), pressure, enthalpy)?
            }
            _ => adiabatic.clone(),
        };
        let dry = dry_inlet_temperature(inlet.fluid(), inlet.pressure(), pressure);
        let mut expansion = Expansion {
            adiabatic,
            outlet,
            heater_duty,
            heat_flow_rate,
            dry_inlet_temperature: dry.ok(),
            notices: Vec::new(),
        };
        expansion.notices = self.judge(&expansion);
        Ok(expansion)
    }

    /// A mixture whose end without heat no model reaches, brought to the set outlet temperature: nothing but the outlet is
    /// known. The error itself where there is no such temperature, or not the power to hold it.
    fn heat_through(
        &self,
        inlet: &Stream,
        surroundings: &Surroundings<'_>,
        error: Error,
    ) -> Result<Outlet> {
        let Some(temperature) = self.outlet_temperature else {
            return Err(error);
        };
        let pressure = self.outlet_pressure.unwrap_or(surroundings.room_pressure);
        let state = State::from_tp(inlet.state.fluid(), temperature, pressure)?;
        let gained = state.specific_enthalpy() - inlet.state.specific_enthalpy();
        let duty = inlet.mass_flow_rate * gained;
        if !(0.0..=self.heater_power.unwrap_or(f64::INFINITY)).contains(&duty) {
            return Err(error);
        }
        let mut outlet = Outlet::of(Stream {
            state,
            mass_flow_rate: inlet.mass_flow_rate,
        });
        outlet.heat_flow_rate = duty;
        outlet.facts.push(heat_for_outlet(duty));
        let collected = collected(&outlet.stream, surroundings.carrier);
        outlet.facts.extend(collected.into_iter().flatten());
        let text = format!(
            "the end of the expansion without heat is beyond the models of this mixture ({error}): dry ice cannot be excluded, \
             nor told how much; heat must enter during the expansion"
        );
        let notice = Notice::new(NoticeCode::SolidForms, text);
        outlet.notices.push(notice.about(Quantity::SolidFraction));
        Ok(outlet)
    }

    fn judge(&self, expansion: &Expansion) -> Vec<Notice> {
        let mut notices = Vec::new();
        notices.extend(judge_solid(expansion));
        notices.extend(judge_heater(expansion));
        if expansion.adiabatic.temperature() < ICE_POINT {
            notices.push(
                Notice::new(
                    NoticeCode::ColdBurn,
                    format!(
                        "the fluid leaves the nozzle at {} degC where it is not heated: cold parts and jets burn the skin, and \
                         what sticks may come loose at speed. Never loosen a fitting on a plug: let it warm on both sides",
                        rounded(to_celsius(expansion.adiabatic.temperature()))
                    ),
                )
                .about(Quantity::Temperature),
            );
        }
        if self.outlet_temperature.is_some_and(|set| set >= HOT) {
            notices.push(Notice::new(
                NoticeCode::HotSurface,
                "the heated outlet burns at a touch: let it cool before work on it",
            ));
        }
        notices
    }
}

fn judge_heater(expansion: &Expansion) -> Option<Notice> {
    let duty = expansion.heater_duty?;
    let text = if duty > expansion.heat_flow_rate && duty > 0.0 {
        format!(
            "the heated outlet needs {} W into the fluid and gives {} W: the fluid leaves at {} degC",
            rounded(duty),
            rounded(expansion.heat_flow_rate),
            rounded(to_celsius(expansion.outlet.temperature()))
        )
    } else if duty <= 0.0 {
        format!(
            "the fluid leaves the regulator at {} degC by itself, above the temperature set: the heater idles",
            rounded(to_celsius(expansion.adiabatic.temperature()))
        )
    } else {
        return None;
    };
    Some(Notice::new(NoticeCode::HeaterDuty, text).about(Quantity::HeatFlowRate))
}

fn judge_solid(expansion: &Expansion) -> Option<Notice> {
    let solid = expansion.adiabatic.solid_fraction();
    if solid <= 0.0 {
        return None;
    }
    let cure = expansion
        .dry_inlet_temperature
        .map_or(String::new(), |dry| {
            format!(
                ", or let the fluid enter above {} degC",
                rounded(to_celsius(dry))
            )
        });
    let text = format!(
        "without heat {} % of the mass turns to dry ice at {} degC behind the regulator and can plug it: heat must enter during \
         the expansion{cure}",
        rounded(100.0 * solid),
        rounded(to_celsius(expansion.adiabatic.temperature()))
    );
    Some(Notice::new(NoticeCode::SolidForms, text).about(Quantity::SolidFraction))
}

/// Temperature in K at an inlet pressure in Pa from which a fluid throttled to an outlet pressure in Pa ends as vapour
/// alone, without solid and liquid.
///
/// *Source*: first law, the inlet has the enthalpy of the dry vapour at the outlet.
///
/// ```
/// use densepath::{State, hardware::regulator::dry_inlet_temperature};
/// # let fluid = densepath::Fluid::new("carbon dioxide")?;
/// let temperature = dry_inlet_temperature(&fluid, 150e5, 101_325.0)?;
/// let outlet = State::from_tp(&fluid, temperature, 150e5)?.expand_to(101_325.0)?;
/// // Just dry: at the temperature where dry ice sublimes, without any.
/// assert!((outlet.temperature() - 194.69).abs() < 0.05 && outlet.solid_fraction() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn dry_inlet_temperature(
    fluid: &Fluid,
    inlet_pressure: f64,
    outlet_pressure: f64,
) -> Result<f64> {
    let enthalpy = dry_vapour_enthalpy(fluid, outlet_pressure)?;
    Ok(State::from_ph(fluid, inlet_pressure, enthalpy)?.temperature())
}

/// Temperature in K at an inlet pressure in Pa from which a fluid throttled to an outlet pressure in Pa ends at an outlet
/// temperature in K.
///
/// *Source*: first law, the inlet has the enthalpy of the outlet.
///
/// ```
/// use densepath::{State, hardware::regulator::inlet_temperature_for};
/// # let fluid = densepath::Fluid::new("carbon dioxide")?;
/// let temperature = inlet_temperature_for(&fluid, 150e5, 293.15, 101_325.0)?;
/// let outlet = State::from_tp(&fluid, temperature, 150e5)?.expand_to(101_325.0)?;
/// assert!((outlet.temperature() - 293.15).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn inlet_temperature_for(
    fluid: &Fluid,
    inlet_pressure: f64,
    outlet_temperature: f64,
    outlet_pressure: f64,
) -> Result<f64> {
    let outlet = State::from_tp(fluid, outlet_temperature, outlet_pressure)?;
    let inlet = State::from_ph(fluid, inlet_pressure, outlet.specific_enthalpy())?;
    Ok(inlet.temperature())
}

/// Specific enthalpy in J/kg of the vapour beside the solid, or beside the liquid above the triple point.
fn dry_vapour_enthalpy(fluid: &Fluid, pressure: f64) -> Result<f64> {
    let triple = fluid.saturation_at_temperature(fluid.triple_temperature()?)?;
    if pressure >= triple.pressure {
        let vapour = fluid.saturation_at_pressure(pressure)?.vapour;
        return Ok(vapour.specific_enthalpy());
    }
    // The enthalpy of the triple-point liquid lies between those of solid and vapour at every pressure below.
    let frozen = State::from_ph(fluid, pressure, triple.liquid.specific_enthalpy())?;
    frozen
        .vapour()
        .map(State::specific_enthalpy)
        .ok_or(Error::Internal {
            place: "hardware::regulator, vapour beside solid",
        })
}

impl Element for BackPressureRegulator {
    fn kind(&self) -> &'static str {
        "back_pressure_regulator"
    }

    fn holds_pressure(&self) -> bool {
        true
    }

    fn set_pressure(&self) -> Option<f64> {
        Some(self.pressure)
    }

    fn excess(&self, inlet: &Stream, _surroundings: &Surroundings<'_>) -> Result<f64> {
        Ok(inlet.state.pressure() / self.pressure - 1.0)
    }

    fn pass(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<Outlet> {
        let expanded = self.expand(
            &inlet.state,
            inlet.mass_flow_rate,
            surroundings.room_pressure,
        );
        let expansion = match expanded {
            Err(error) if inlet.state.fluid().is_mixture() && is_of_the_model(&error) => {
                return self.heat_through(inlet, surroundings, error);
            }
            expanded => expanded?,
        };
        let mut outlet = Outlet::of(Stream {
            state: expansion.outlet,
            mass_flow_rate: inlet.mass_flow_rate,
        });
        let end = &expansion.adiabatic;
        outlet.heat_flow_rate = expansion.heat_flow_rate;
        outlet.facts = vec![
            Fact::new(
                "temperature without heat",
                Quantity::Temperature,
                end.temperature(),
            ),
            Fact::new(
                "solid without heat",
                Quantity::SolidFraction,
                end.solid_fraction(),
            ),
        ];
        if let Some(dry) = expansion.dry_inlet_temperature {
            outlet.facts.push(Fact::new(
                "inlet temperature for a dry outlet without heat",
                Quantity::Temperature,
                dry,
            ));
        }
        if let Some(duty) = expansion.heater_duty {
            outlet.facts.push(heat_for_outlet(duty));
        }
        let collected = collected(&outlet.stream, surroundings.carrier);
        outlet.facts.extend(collected.into_iter().flatten());
        outlet.notices = expansion.notices;
        let behind = self.outlet_pressure.unwrap_or(surroundings.room_pressure);
        self.judge_valve(inlet, behind, &mut outlet)?;
        Ok(outlet)
    }
}

/// Whether an error means that a model of mixtures does not reach a cold end, not that the part is used wrongly.
fn is_of_the_model(error: &Error) -> bool {
    matches!(
        error.root(),
        Error::NoConvergence { .. } | Error::Solid { .. } | Error::OutOfRange { .. }
    )
}

fn heat_for_outlet(duty: f64) -> Fact {
    Fact::new(
        "heat for the set outlet temperature",
        Quantity::HeatFlowRate,
        duty,
    )
}

/// The liquid behind the regulator and the modifier in it; nothing of a fluid without modifier.
fn collected(outlet: &Stream, carrier: &str) -> Option<[Fact; 3]> {
    let (behind, mass_flow_rate) = (&outlet.state, outlet.mass_flow_rate);
    let modifier = share_beside(behind.fluid(), carrier).mass_fraction;
    if modifier <= 0.0 {
        return None;
    }
    let phases = behind.fluid_phases();
    let liquids = phases
        .iter()
        .filter(|(_, phase)| phase.phase() == Phase::Liquid);
    let (mut liquid, mut kept) = (0.0, 0.0);
    for (share, phase) in liquids {
        liquid += share;
        kept += share * share_beside(phase.fluid(), carrier).mass_fraction;
    }
    Some([
        Fact::new(
            "liquid behind it",
            Quantity::MassFlowRate,
            liquid * mass_flow_rate,
        ),
        Fact::new(
            "modifier in the liquid behind it",
            Quantity::MassFlowRate,
            kept * mass_flow_rate,
        ),
        Fact::new(
            "share of the modifier lost with the gas",
            Quantity::MassFraction,
            1.0 - kept / modifier,
        ),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{SURROUNDINGS, close, co2, fact, stream};
    use densepath_fluid::Phase;
    use densepath_fluid::units::{BAR, GRAM_PER_MINUTE, from_celsius};

    const ROOM: f64 = 101_325.0;
    const FLOW: f64 = 2.93214 * GRAM_PER_MINUTE;

    fn regulator(bar: f64) -> BackPressureRegulator {
        BackPressureRegulator::new(bar * BAR).unwrap()
    }

    fn inlet(bar: f64, degc: f64) -> State {
        State::from_tp(&co2(), from_celsius(degc), bar * BAR).unwrap()
    }

    /// Solid fractions of an independent computation with CoolProp 8.0.0, an enthalpy of sublimation of 571.1 kJ/kg and the
    /// sublimation line of Span and Wagner (194.686 K); the Gibbs equation of the solid used here gives 572.9 kJ/kg and
    /// 194.66 K, hence 0.5 % and 0.04 K.
    #[test]
    fn part_of_the_fluid_turns_to_dry_ice() {
        for (bar, degc, solid) in [
            (150.0, 40.0, 0.2401),
            (150.0, 60.0, 0.133188),
            (100.0, 40.0, 0.1918),
            (200.0, 60.0, 0.171773),
        ] {
            let expansion = regulator(bar)
                .expand(&inlet(bar, degc), FLOW, ROOM)
                .unwrap();
            let end = &expansion.adiabatic;
            assert_eq!(end.phase(), Phase::SolidVapour);
            assert!(
                close(end.solid_fraction(), solid, 5e-3),
                "{}",
                end.solid_fraction()
            );
            assert!((to_celsius(end.temperature()) + 78.464).abs() < 0.04);
            let codes: Vec<_> = expansion.notices.iter().map(|n| n.code).collect();
            assert_eq!(codes, [NoticeCode::SolidForms, NoticeCode::ColdBurn]);
        }
    }

    /// degC: independent computation with CoolProp 8.0.0.
    #[test]
    fn a_hot_fluid_stays_dry() {
        for (degc, expected) in [(100.0, -28.1693), (150.0, 71.9)] {
            let expansion = regulator(150.0)
                .expand(&inlet(150.0, degc), FLOW, ROOM)
                .unwrap();
            let end = &expansion.adiabatic;
            assert_eq!(end.solid_fraction(), 0.0);
            let tolerance = if degc == 100.0 { 1e-3 } else { 0.05 };
            assert!((to_celsius(end.temperature()) - expected).abs() < tolerance);
        }
    }

    /// Mass fraction of vapour and degC on the way down: independent computation with CoolProp 8.0.0.
    #[test]
    fn pressures_between_leave_liquid() {
        let fluid = inlet(150.0, 40.0);
        for (bar, vapour, degc) in [
            (40.0, 0.337471, 5.3),
            (20.0, 0.461952, -19.5),
            (10.0, 0.535659, -40.1218),
        ] {
            let expansion = regulator(150.0)
                .with_outlet_pressure(bar * BAR)
                .and_then(|regulator| regulator.expand(&fluid, FLOW, ROOM))
                .unwrap();
            let end = &expansion.outlet;
            assert!(close(end.vapour_fraction().unwrap(), vapour, 1e-5));
            assert!((to_celsius(end.temperature()) - degc).abs() < 0.05);
            assert_eq!(end.solid_fraction(), 0.0);
        }
        for (bar, degc, vapour) in [
            (150.0, 40.0, 0.586318),
            (100.0, 40.0, 0.664981),
            (200.0, 60.0, 0.697684),
        ] {
            let end = inlet(bar, degc).expand_to(5.18 * BAR).unwrap();
            assert!(
                close(end.vapour_fraction().unwrap(), vapour, 5e-4),
                "{vapour}"
            );
        }
    }

    /// kJ/kg: independent computation with CoolProp 8.0.0.
    #[test]
    fn heat_to_a_warm_outlet() {
        for (bar, degc, outlet, heat) in [
            (150.0, 40.0, 10.0, 207.705),
            (150.0, 40.0, 40.0, 233.23),
            (150.0, 60.0, 40.0, 172.175),
            (100.0, 40.0, 10.0, 180.144),
            (100.0, 40.0, 40.0, 205.669),
            (200.0, 60.0, 40.0, 194.211),
            (150.0, 100.0, 10.0, 31.2352),
            (150.0, 100.0, 40.0, 56.7601),
            (150.0, 150.0, 10.0, -53.6115),
            (150.0, 150.0, 40.0, -28.0866),
        ] {
            let expansion = regulator(bar)
                .with_outlet_temperature(from_celsius(outlet))
                .and_then(|regulator| regulator.expand(&inlet(bar, degc), 1.0, ROOM))
                .unwrap();
            let duty = expansion.heater_duty.unwrap();
            assert!(close(duty / 1e3, heat, 1e-5), "{duty}");
            if heat > 0.0 {
                let reached = expansion.outlet.temperature();
                assert!(close(reached, from_celsius(outlet), 1e-9));
            } else {
                assert_eq!(expansion.heat_flow_rate, 0.0);
                assert!(expansion.outlet.temperature() > from_celsius(outlet));
                assert_eq!(expansion.notices[0].code, NoticeCode::HeaterDuty);
            }
        }
    }

    /// W at 3 mL/min counted at 5 degC and 150 bar: independent computation with CoolProp 8.0.0.
    #[test]
    fn a_heater_gives_what_it_can() {
        let heated = regulator(150.0)
            .with_outlet_temperature(from_celsius(10.0))
            .unwrap();
        let before = inlet(150.0, 40.0);
        let full = heated.expand(&before, FLOW, ROOM).unwrap();
        assert!(close(full.heat_flow_rate, 10.1503, 1e-5));
        let weak = heated
            .with_heater_power(5.0)
            .and_then(|regulator| regulator.expand(&before, FLOW, ROOM))
            .unwrap();
        assert_eq!(weak.heat_flow_rate, 5.0);
        assert!(weak.outlet.temperature() < from_celsius(10.0));
        assert!(
            weak.notices
                .iter()
                .any(|n| n.code == NoticeCode::HeaterDuty)
        );
        let hot = heated
            .with_outlet_temperature(from_celsius(60.0))
            .and_then(|regulator| regulator.expand(&before, FLOW, ROOM))
            .unwrap();
        assert!(hot.notices.iter().any(|n| n.code == NoticeCode::HotSurface));
    }

    /// degC: independent computation with CoolProp 8.0.0. The limit of solid moves with the sublimation point, 0.03 K.
    #[test]
    fn inlet_temperatures_that_spare_the_outlet() {
        for (bar, dry, zero) in [
            (100.0, 59.2165, 87.9383),
            (150.0, 83.4891, 111.654),
            (200.0, 98.5, 128.051),
        ] {
            let limit = dry_inlet_temperature(&co2(), bar * BAR, ROOM).unwrap();
            assert!(
                (to_celsius(limit) - dry).abs() < 0.05,
                "{}",
                to_celsius(limit)
            );
            let warm = inlet_temperature_for(&co2(), bar * BAR, from_celsius(0.0), ROOM).unwrap();
            assert!(
                (to_celsius(warm) - zero).abs() < 1e-3,
                "{}",
                to_celsius(warm)
            );
            let edge = State::from_tp(&co2(), limit + 0.01, bar * BAR).unwrap();
            assert_eq!(edge.expand_to(ROOM).unwrap().solid_fraction(), 0.0);
            let edge = State::from_tp(&co2(), limit - 0.01, bar * BAR).unwrap();
            assert!(edge.expand_to(ROOM).unwrap().solid_fraction() > 0.0);
        }
    }

    #[test]
    fn as_a_part_it_holds_its_pressure_at_any_flow() {
        let part = regulator(150.0)
            .with_outlet_temperature(from_celsius(10.0))
            .unwrap();
        assert!(part.holds_pressure());
        for flow in [1e-6, 1e-3] {
            let at = |bar| {
                part.excess(&stream(inlet(bar, 40.0), flow), &SURROUNDINGS)
                    .unwrap()
            };
            assert_eq!(at(150.0), 0.0);
            assert!(at(151.0) > 0.0 && at(149.0) < 0.0);
        }
        let outlet = part
            .pass(&stream(inlet(150.0, 40.0), FLOW), &SURROUNDINGS)
            .unwrap();
        assert!(close(outlet.heat_flow_rate, 10.1503, 1e-5));
        assert_eq!(outlet.stream.state.pressure(), ROOM);
        assert_eq!(outlet.facts.len(), 4);
    }

    #[test]
    fn the_valve_and_its_pulses_are_told_where_they_are_asked_for() {
        let before = inlet(150.0, 40.0);
        let plain = regulator(150.0);
        let told = plain.sized().with_pulses(2.0, 0.4, 0.5e-6).unwrap();
        let pass = |part: BackPressureRegulator| {
            part.pass(&stream(before.clone(), FLOW), &SURROUNDINGS)
                .unwrap()
        };
        let (plain, told) = (pass(plain), pass(told));
        assert_eq!(told.facts.len(), plain.facts.len() + 5);
        let size = valve_size(Valve::default(), &before, FLOW, SURROUNDINGS.room_pressure).unwrap();
        let kv = fact(
            &told,
            "flow coefficient K_v, the flow of cold water at 1 bar",
        );
        assert!(close(3600.0 * kv, size.kv, 1e-12));
        let hole = fact(
            &told,
            "hole that passes the flow in equilibrium of the phases",
        );
        assert!(hole > fact(&told, "hole that passes the flow at the density before it"));
        // What flows in while the valve is shut, 0.3 s, compresses what is before it.
        let ripple = fact(&told, "ripple of the pressure before it");
        let compressibility = before.isothermal_compressibility().unwrap();
        let expected = 0.3 * FLOW / (before.density() * 0.5e-6 * compressibility);
        assert!(close(ripple, expected, 1e-9), "{ripple} {expected}");
        assert!(told.notices.iter().any(|n| n.code == NoticeCode::Pulsation));
        for (frequency, share, volume) in [(0.0, 0.5, 1e-6), (1.0, 1.1, 1e-6), (1.0, 0.5, 0.0)] {
            let refused = regulator(150.0).with_pulses(frequency, share, volume);
            assert_eq!(refused.unwrap_err().code(), 101);
        }
    }

    #[test]
    fn impossible_regulators_are_errors() {
        for bad in [0.0, -1.0, f64::NAN] {
            assert_eq!(BackPressureRegulator::new(bad).unwrap_err().code(), 101);
            let part = regulator(150.0);
            assert_eq!(part.with_outlet_pressure(bad).unwrap_err().code(), 101);
            assert_eq!(part.with_outlet_temperature(bad).unwrap_err().code(), 101);
        }
        let part = regulator(150.0);
        assert_eq!(part.with_outlet_pressure(2e7).unwrap_err().code(), 503);
        assert_eq!(part.with_heater_power(-1.0).unwrap_err().code(), 101);
        let reversed = part.expand(&inlet(150.0, 40.0), FLOW, 2e7).unwrap_err();
        assert_eq!(reversed.code(), 503);
    }

    /// 0.6 mL/min of methanol at 22 degC and 2.4 mL/min of carbon dioxide at 5 degC, both counted at 150 bar: 0.481543 g/min of
    /// methanol, of which an ideal gas saturated at 20 degC takes 0.2521 g/min and leaves 0.289979 mL/min, in an independent
    /// computation with CoolProp 8.0.0. The flash knows that carbon dioxide dissolves and that the gas is not ideal.
    #[test]
    fn a_modifier_is_collected_where_the_gas_is_not_saturated_with_it() {
        let fluid =
            Fluid::mixture(&[("carbon dioxide", 0.780_056), ("methanol", 0.219_944)]).unwrap();
        let inlet = State::from_tp(&fluid, from_celsius(40.0), 150.0 * BAR).unwrap();
        let part = regulator(150.0)
            .with_outlet_temperature(from_celsius(20.0))
            .unwrap();
        let flow = 2.827_26 * GRAM_PER_MINUTE;
        let outlet = part.pass(&stream(inlet, flow), &SURROUNDINGS).unwrap();
        let lost = fact(&outlet, "share of the modifier lost with the gas");
        assert!(close(lost, 0.2521 / 0.481_543, 0.08), "{lost}");
        let kept = fact(&outlet, "modifier in the liquid behind it");
        assert!(close(kept, (1.0 - lost) * 0.170_321 * flow, 1e-5));
        let liquid = fact(&outlet, "liquid behind it");
        let behind = outlet.stream.state.liquid().unwrap();
        assert!(close(
            kept,
            liquid * behind.fluid().mass_fractions()[1],
            1e-12
        ));
    }

    #[test]
    fn dry_ice_falls_out_of_a_mixture_that_expands_cold() {
        let fluid = Fluid::mixture(&[("carbon dioxide", 0.95), ("acetone", 0.05)]).unwrap();
        let inlet = State::from_tp(&fluid, from_celsius(40.0), 150.0 * BAR).unwrap();
        let expansion = regulator(150.0).expand(&inlet, FLOW, ROOM).unwrap();
        let end = &expansion.adiabatic;
        assert!(end.solid_fraction() > 0.1 && end.solid_fraction() < 0.3);
        assert!(close(
            end.specific_enthalpy(),
            inlet.specific_enthalpy(),
            1e-9
        ));
        let told = |code| expansion.notices.iter().any(|notice| notice.code == code);
        assert!(told(NoticeCode::SolidForms) && told(NoticeCode::ColdBurn));
    }
}
