//! What becomes of a mobile phase behind the regulator: stages of pressure, the liquid collected, the vapour lost, the gas, and the
//! time to the vial.

use densepath_fluid::consts::ICE_POINT;
use densepath_fluid::error::{Error, Result, not_negative, positive, within};
use densepath_fluid::notice::rounded;
use densepath_fluid::units::to_celsius;
use densepath_fluid::{Fluid, Notice, NoticeCode, Phase, Quantity, State};

use super::share_beside;
use super::vent::gas_volume_flow_rate;
use crate::flow::circular_area;

/// Gas velocity in m/s from which collected liquid is carried off as a mist (common practice, no source: 10 to 20).
pub const MIST_VELOCITY: f64 = 15.0;

/// One stage of a decompression.
///
/// ```
/// use densepath::hardware::decompression::{Stage, stages};
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
/// let cyclone = Stage { pressure: 50e5, temperature: Some(313.15), draws_liquid: false, diameter: None };
/// let results = stages(&stream.state, stream.mass_flow_rate, &[cyclone])?;
/// assert!((results[0].state.temperature() - 313.15).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stage {
    /// Pressure in Pa.
    pub pressure: f64,
    /// Temperature in K that heat or cooling brings the fluid to; none for no heat.
    pub temperature: Option<f64>,
    /// Whether liquid is drawn off, so that only gas goes on.
    pub draws_liquid: bool,
    /// Inner diameter in m of the tube in which the stage ends, for the velocity of the spray; none if it does not matter.
    pub diameter: Option<f64>,
}

/// What a stage does.
///
/// ```
/// use densepath::hardware::decompression::{Stage, stages};
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
/// let stage = Stage { pressure: 50e5, temperature: Some(313.15), draws_liquid: false, diameter: None };
/// let result = &stages(&stream.state, stream.mass_flow_rate, &[stage])?[0];
/// // First law: the heat is what lifts the expanded fluid to its temperature.
/// let heat = 5e-5 * (result.state.specific_enthalpy() - stream.state.specific_enthalpy());
/// assert!((result.heat_flow_rate - heat).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct StageResult {
    /// The end of the expansion without heat.
    pub adiabatic: State,
    /// The fluid in the stage.
    pub state: State,
    /// Heat flow rate in W into the fluid.
    pub heat_flow_rate: f64,
    /// Mass flow rate in kg/s of liquid in the stage.
    pub liquid_mass_flow_rate: f64,
    /// Volume flow rate in m3/s of liquid in the stage.
    pub liquid_volume_flow_rate: f64,
    /// Mass flow rate in kg/s of modifier in that liquid.
    pub modifier_in_liquid: f64,
    /// Mass flow rate in kg/s of modifier in the gas.
    pub modifier_in_gas: f64,
    /// Mass flow rate in kg/s of gas.
    pub gas_mass_flow_rate: f64,
    /// Volume flow rate in m3/s of gas at the state of the stage.
    pub gas_volume_flow_rate: f64,
    /// Mean velocity in m/s of gas and liquid together, where a diameter is stated.
    pub velocity: Option<f64>,
    /// What to know.
    pub notices: Vec<Notice>,
}

/// Stages of a decompression, one behind the other: each an expansion without heat, then heat to its temperature, then what is drawn
/// off. The carrier is the substance that most of the fluid consists of, all else is modifier.
///
/// *Valid* in equilibrium of the phases, with the models of the mixture and their uncertainty. Errors: 503 for a pressure not below
/// that before; 101 for a flow not above zero; those of the states. 502 if no gas is left for the next stage.
///
/// ```
/// use densepath::{Fluid, State, hardware::decompression::{Stage, stages}};
/// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
/// let inlet = State::from_tp(&blend, 313.15, 150e5)?;
/// let stage = Stage { pressure: 5e5, temperature: Some(298.15), draws_liquid: true, diameter: None };
/// let result = &stages(&inlet, 5e-5, &[stage])?[0];
/// // What comes in is liquid or gas in the stage; the warm gas keeps a good share of the modifier, the liquid most.
/// assert!((result.liquid_mass_flow_rate + result.gas_mass_flow_rate - 5e-5).abs() < 1e-12);
/// assert!(result.modifier_in_liquid > result.modifier_in_gas);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn stages(inlet: &State, mass_flow_rate: f64, stages: &[Stage]) -> Result<Vec<StageResult>> {
    let mut flow = positive(Quantity::MassFlowRate, mass_flow_rate)?;
    let carrier = super::carrier_of(inlet.fluid());
    let mut state = inlet.clone();
    let mut results = Vec::new();
    for stage in stages {
        let result = pass(&state, flow, stage, carrier)?;
        (state, flow) = if stage.draws_liquid && result.liquid_mass_flow_rate > 0.0 {
            let vapour = result.state.vapour().ok_or(Error::PhaseChange {
                position: 0.0,
                temperature: result.state.temperature(),
                pressure: result.state.pressure(),
            })?;
            (vapour.clone(), result.gas_mass_flow_rate)
        } else {
            (result.state.clone(), flow)
        };
        results.push(result);
    }
    Ok(results)
}

fn pass(inlet: &State, flow: f64, stage: &Stage, carrier: &str) -> Result<StageResult> {
    if stage.pressure >= inlet.pressure() {
        return Err(Error::FlowReversed {
            inlet: inlet.pressure(),
            outlet: positive(Quantity::Pressure, stage.pressure)?,
        });
    }
    let adiabatic = inlet.expand_to(stage.pressure)?;
    let state = match stage.temperature {
        Some(temperature) => State::from_tp(inlet.fluid(), temperature, stage.pressure)?,
        None => adiabatic.clone(),
    };
    let velocity = match stage.diameter {
        Some(diameter) => Some(flow / (state.density() * circular_area(diameter)?)),
        None => None,
    };
    let mut result = StageResult {
        heat_flow_rate: flow * (state.specific_enthalpy() - inlet.specific_enthalpy()),
        liquid_mass_flow_rate: 0.0,
        liquid_volume_flow_rate: 0.0,
        modifier_in_liquid: 0.0,
        modifier_in_gas: 0.0,
        gas_mass_flow_rate: 0.0,
        gas_volume_flow_rate: 0.0,
        velocity,
        notices: Vec::new(),
        adiabatic,
        state,
    };
    for (share, phase) in result.state.fluid_phases() {
        let (mass, modifier) = (
            share * flow,
            share_beside(phase.fluid(), carrier).mass_fraction,
        );
        if phase.phase() == Phase::Liquid {
            result.liquid_mass_flow_rate += mass;
            result.liquid_volume_flow_rate += mass / phase.density();
            result.modifier_in_liquid += mass * modifier;
        } else {
            result.gas_mass_flow_rate += mass;
            result.gas_volume_flow_rate += mass / phase.density();
            result.modifier_in_gas += mass * modifier;
        }
    }
    result.notices = judge(&result, flow);
    Ok(result)
}

fn judge(result: &StageResult, flow: f64) -> Vec<Notice> {
    let mut notices = Vec::new();
    let solid = result.state.solid_fraction();
    if solid > 0.0 {
        let text = format!(
            "{} % of the mass is dry ice at {} degC in this stage: it plugs separators and lines",
            rounded(100.0 * solid),
            rounded(to_celsius(result.state.temperature()))
        );
        notices.push(Notice::new(NoticeCode::SolidForms, text).about(Quantity::SolidFraction));
    }
    if result.state.temperature() < ICE_POINT {
        let text = format!(
            "the stage stands at {} degC: water freezes in it, and cold parts burn the skin",
            rounded(to_celsius(result.state.temperature()))
        );
        notices.push(Notice::new(NoticeCode::ColdBurn, text).about(Quantity::Temperature));
    }
    if let Some(velocity) = result.velocity.filter(|velocity| *velocity > MIST_VELOCITY)
        && result.liquid_mass_flow_rate > 1e-6 * flow
    {
        let text = format!(
            "gas and liquid leave at {} m/s: above {} m/s the gas carries liquid off as a mist, and solute with it; widen the tube \
             or slow the flow",
            rounded(velocity),
            rounded(MIST_VELOCITY)
        );
        notices.push(Notice::new(NoticeCode::Aerosol, text).about(Quantity::Velocity));
    }
    notices
}

/// What a gas saturated with a modifier takes away, and what is left as liquid.
///
/// ```
/// use densepath::{Fluid, hardware::decompression::saturated_gas};
/// let (gas, modifier) = (Fluid::new("carbon dioxide")?, Fluid::new("methanol")?);
/// let kept = saturated_gas(293.15, 101_325.0, &gas, 5e-5, &modifier, 1e-5)?;
/// assert!((kept.lost + kept.collected - 1e-5).abs() < 1e-15);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Collection {
    /// Mass flow rate in kg/s of modifier that leaves with the gas.
    pub lost: f64,
    /// Mass flow rate in kg/s of modifier left as liquid.
    pub collected: f64,
    /// Its volume flow rate in m3/s.
    pub collected_volume: f64,
}

/// The plain answer to what is collected: an ideal gas saturated with the vapour of a pure modifier at a temperature in K and a
/// pressure in Pa, of mass flow rates in kg/s of gas and modifier.
///
/// *Valid* at low pressure; neither the gas dissolved in the liquid nor the mist is in it: [`stages`] knows the first. *Source*: law
/// of Dalton, `y = p_v/p`. Errors: 101 for a flow not above zero; 302 above the critical temperature of the modifier.
///
/// ```
/// use densepath::{Fluid, hardware::decompression::saturated_gas};
/// let (gas, modifier) = (Fluid::new("carbon dioxide")?, Fluid::new("methanol")?);
/// // Dalton: per mole of gas p_v / (p - p_v) moles of vapour, with 13.0 kPa of methanol at 20 degC.
/// let kept = saturated_gas(293.15, 101_325.0, &gas, 5e-5, &modifier, 1e-4)?;
/// let expected = 5e-5 / 44.010 * 13.0 / (101.3 - 13.0) * 32.042;
/// assert!((kept.lost / expected - 1.0).abs() < 0.01);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn saturated_gas(
    temperature: f64,
    pressure: f64,
    gas: &Fluid,
    gas_mass_flow_rate: f64,
    modifier: &Fluid,
    modifier_mass_flow_rate: f64,
) -> Result<Collection> {
    positive(Quantity::MassFlowRate, gas_mass_flow_rate)?;
    not_negative(Quantity::MassFlowRate, modifier_mass_flow_rate)?;
    let saturation = modifier.saturation_at_temperature(temperature)?;
    let share = saturation.pressure / positive(Quantity::Pressure, pressure)?;
    let carried = if share < 1.0 {
        share / (1.0 - share) * gas_mass_flow_rate / gas.molar_mass() * modifier.molar_mass()
    } else {
        f64::INFINITY
    };
    let lost = carried.min(modifier_mass_flow_rate);
    let collected = modifier_mass_flow_rate - lost;
    Ok(Collection {
        lost,
        collected,
        collected_volume: collected
            / State::from_tp(modifier, temperature, pressure.max(saturation.pressure))?.density(),
    })
}

/// Volume flow rate in m3/s of liquid to add so that a mass flow rate of solute in kg/s stays dissolved at its solubility in kg/m3,
/// beside a volume flow rate of liquid in m3/s that is there already; zero if that is enough.
///
/// *Source*: balance of the solute. Errors: 101 for a value that is negative, or a solubility not above zero.
///
/// ```
/// use densepath::hardware::decompression::make_up_flow;
/// // 1 mg/min of a solute of 10 g/L needs 0.1 mL/min; 0.04 mL/min are there.
/// assert!((make_up_flow(1e-6 / 60.0, 10.0, 0.04e-6 / 60.0)? * 60e6 - 0.06).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn make_up_flow(
    solute_mass_flow_rate: f64,
    solubility: f64,
    liquid_volume_flow_rate: f64,
) -> Result<f64> {
    not_negative(Quantity::MassFlowRate, solute_mass_flow_rate)?;
    not_negative(Quantity::VolumeFlowRate, liquid_volume_flow_rate)?;
    let needed = solute_mass_flow_rate / positive(Quantity::Density, solubility)?;
    Ok((needed - liquid_volume_flow_rate).max(0.0))
}

/// Time in s from the detector to the vial: volumes in m3 with the state of the fluid in each, passed by a mass flow rate in kg/s, and
/// the time in s that the film of liquid on the walls lags behind.
///
/// The film is the larger part, seconds in common tubes, and no law is here for it: measure it with a dye. Errors: 101 for a value
/// that is not above zero, a negative lag or volume.
///
/// ```
/// use densepath::hardware::decompression::delay;
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
/// // 50 uL at 3.85 mL/min are 0.78 s, and the film takes 2 s more.
/// let time = delay(stream.mass_flow_rate, &[(50e-9, &stream.state)], 2.0)?;
/// assert!((time - 2.0 - 50e-9 / stream.volume_flow_rate()).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn delay(mass_flow_rate: f64, volumes: &[(f64, &State)], film_lag: f64) -> Result<f64> {
    positive(Quantity::MassFlowRate, mass_flow_rate)?;
    let mut time = not_negative(Quantity::Time, film_lag)?;
    for (volume, state) in volumes {
        time += not_negative(Quantity::Volume, *volume)? * state.density() / mass_flow_rate;
    }
    Ok(time)
}

/// What leaves in a time.
///
/// ```
/// use densepath::hardware::decompression::{Stage, stages, waste};
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
/// let stage = Stage { pressure: 1e5, temperature: Some(293.15), draws_liquid: false, diameter: None };
/// let day = waste(&stages(&stream.state, 5e-5, &[stage])?, 8.0 * 3600.0)?;
/// // 3 g/min through eight hours.
/// assert!((day.gas_mass - 1.44).abs() < 1e-6 && day.liquid_mass < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Waste {
    /// Volume in m3 of gas at 20 degC and 101325 Pa.
    pub gas_volume: f64,
    /// Mass in kg of gas.
    pub gas_mass: f64,
    /// Volume in m3 of liquid.
    pub liquid_volume: f64,
    /// Mass in kg of liquid.
    pub liquid_mass: f64,
}

/// What the last of the stages sends to vent and waste in a time in s. Error 101 for a negative time, or no stage.
///
/// ```
/// use densepath::hardware::{decompression::{Stage, stages, waste}, vent::specific_gas_volume};
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
/// let stage = Stage { pressure: 1e5, temperature: Some(293.15), draws_liquid: false, diameter: None };
/// let hour = waste(&stages(&stream.state, 5e-5, &[stage])?, 3600.0)?;
/// assert!((hour.gas_volume / (hour.gas_mass * specific_gas_volume(&fluid)?) - 1.0).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn waste(results: &[StageResult], time: f64) -> Result<Waste> {
    not_negative(Quantity::Time, time)?;
    let drawn = |of: fn(&StageResult) -> f64| time * results.iter().map(of).sum::<f64>();
    let Some(last) = results.last() else {
        return Err(Error::Domain {
            quantity: Quantity::Pressure,
            value: f64::NAN,
            rule: "that of one stage at least",
        });
    };
    let gas = match last.state.vapour() {
        Some(vapour) if last.liquid_mass_flow_rate > 0.0 => vapour,
        _ => &last.state,
    };
    within(
        Quantity::SolidFraction,
        last.state.solid_fraction(),
        0.0,
        0.0,
        "waste without solid",
    )?;
    Ok(Waste {
        gas_volume: time * gas_volume_flow_rate(gas.fluid(), last.gas_mass_flow_rate)?,
        gas_mass: time * last.gas_mass_flow_rate,
        liquid_volume: drawn(|stage| stage.liquid_volume_flow_rate),
        liquid_mass: drawn(|stage| stage.liquid_mass_flow_rate),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};
    use densepath_fluid::units::{BAR, GRAM_PER_MINUTE, MILLILITRE_PER_MINUTE, from_celsius};

    fn to(bar: f64) -> Stage {
        Stage {
            pressure: bar * BAR,
            temperature: None,
            draws_liquid: false,
            diameter: None,
        }
    }

    /// Mass fraction of vapour and degC on the way down: independent computation with CoolProp 8.0.0.
    #[test]
    fn carbon_dioxide_boils_and_cools_from_stage_to_stage() {
        let inlet = State::from_tp(&co2(), from_celsius(40.0), 150.0 * BAR).unwrap();
        let results = stages(&inlet, 5e-5, &[to(40.0), to(20.0), to(10.0)]).unwrap();
        for (result, (vapour, degc)) in
            results
                .iter()
                .zip([(0.337471, 5.3), (0.461952, -19.5), (0.535659, -40.1218)])
        {
            assert!(close(result.state.vapour_fraction().unwrap(), vapour, 1e-4));
            assert!((to_celsius(result.state.temperature()) - degc).abs() < 0.05);
            assert!(close(result.gas_mass_flow_rate, vapour * 5e-5, 1e-4));
            assert!(result.heat_flow_rate.abs() < 1e-9);
        }
        assert!(results[0].notices.is_empty());
        assert_eq!(results[2].notices[0].code, NoticeCode::ColdBurn);
        assert_eq!(
            stages(&inlet, 5e-5, &[to(40.0), to(50.0)])
                .unwrap_err()
                .code(),
            503
        );
    }

    /// 0.6 mL/min of methanol and 2.4 mL/min of carbon dioxide, 0.481543 g/min of methanol in 2.82726 g/min: at 20 degC and 1 atm a
    /// saturated ideal gas leaves 0.289979 mL/min (independent computation with CoolProp 8.0.0).
    #[test]
    fn methanol_is_collected_as_far_as_the_gas_is_saturated() {
        let methanol = Fluid::new("methanol").unwrap();
        let (fed, all) = (0.481_543 * GRAM_PER_MINUTE, 2.827_26 * GRAM_PER_MINUTE);
        let t = from_celsius(20.0);
        let plain = saturated_gas(t, 101_325.0, &co2(), all - fed, &methanol, fed).unwrap();
        assert!(close(
            plain.collected_volume / MILLILITRE_PER_MINUTE,
            0.289_979,
            1e-3
        ));
        assert!(close(plain.lost / fed, 0.2521 / 0.481_543, 1e-3));
        let cold = saturated_gas(
            from_celsius(0.0),
            101_325.0,
            &co2(),
            all - fed,
            &methanol,
            fed,
        )
        .unwrap();
        // 0.518 mL/min, counted at the density of 20 degC.
        let density = State::from_tp(&methanol, t, 101_325.0).unwrap().density();
        let volume = cold.collected / density / MILLILITRE_PER_MINUTE;
        assert!(close(volume, 0.518, 2e-3), "{volume}");
        // In equilibrium with its gas, carbon dioxide dissolved, the answer is near; cold and under pressure less is lost.
        let fluid =
            Fluid::mixture(&[("carbon dioxide", 0.780_056), ("methanol", 0.219_944)]).unwrap();
        let inlet = State::from_tp(&fluid, from_celsius(40.0), 150.0 * BAR).unwrap();
        let stage = Stage {
            temperature: Some(t),
            diameter: Some(0.5e-3),
            ..to(1.013_25)
        };
        let one = stages(&inlet, all, &[stage]).unwrap();
        assert!(close(one[0].modifier_in_gas, plain.lost, 0.08));
        assert!(close(
            one[0].modifier_in_gas + one[0].modifier_in_liquid,
            fed,
            1e-5
        ));
        assert_eq!(one[0].notices[0].code, NoticeCode::Aerosol);
        let drawing = Stage {
            temperature: Some(t),
            draws_liquid: true,
            ..to(20.0)
        };
        let two = stages(&inlet, all, &[drawing, stage]).unwrap();
        let kept: f64 = two.iter().map(|result| result.modifier_in_liquid).sum();
        assert!(kept > 1.5 * one[0].modifier_in_liquid, "{kept}");
        let hour = waste(&two, 3600.0).unwrap();
        assert!(close(hour.gas_mass + hour.liquid_mass, 3600.0 * all, 1e-6));
    }

    /// m/s of 1.27535 L/min through 0.5 and 2 mm: independent arithmetic.
    #[test]
    fn a_spray_is_as_fast_as_its_gas() {
        let gas = State::from_tp(&co2(), 293.15, 1.02 * 101_325.0).unwrap();
        let density = State::from_tp(&co2(), 293.15, 101_325.0).unwrap().density();
        let flow = 1.275_35e3 * MILLILITRE_PER_MINUTE * density;
        for (diameter, velocity) in [(0.5e-3, 108.251), (2e-3, 6.76567)] {
            let stage = Stage {
                pressure: 101_325.0,
                temperature: Some(293.15),
                draws_liquid: false,
                diameter: Some(diameter),
            };
            let found = stages(&gas, flow, &[stage]).unwrap();
            assert!(close(found[0].velocity.unwrap(), velocity, 1e-4));
        }
    }

    /// 50 uL at 2.94 mL/min: 1.02041 s; 2 m of 1 mm at 1275 mL/min: 0.074 s (independent arithmetic).
    #[test]
    fn the_vial_follows_the_detector() {
        let dense = State::from_tp(&co2(), from_celsius(40.0), 150.0 * BAR).unwrap();
        let flow = 2.94 * MILLILITRE_PER_MINUTE * dense.density();
        assert!(close(
            delay(flow, &[(50e-9, &dense)], 0.0).unwrap(),
            1.02041,
            1e-5
        ));
        let gas = State::from_tp(&co2(), 293.15, 101_325.0).unwrap();
        let flow = 1275.35 * MILLILITRE_PER_MINUTE * gas.density();
        let volume = 2.0 * circular_area(1e-3).unwrap();
        assert!(close(
            delay(flow, &[(volume, &gas)], 0.0).unwrap(),
            0.0739,
            1e-3
        ));
        assert_eq!(delay(flow, &[(-1.0, &gas)], 0.0).unwrap_err().code(), 101);
    }

    #[test]
    fn make_up_fills_what_is_missing() {
        // 1 mg/min of a solute of 10 g/L needs 0.1 mL/min.
        let solute = 1e-6 / 60.0;
        let flow = |there: f64| {
            make_up_flow(solute, 10.0, there * MILLILITRE_PER_MINUTE).unwrap()
                / MILLILITRE_PER_MINUTE
        };
        assert!(close(flow(0.0), 0.1, 1e-12) && close(flow(0.04), 0.06, 1e-12) && flow(0.2) == 0.0);
        assert_eq!(make_up_flow(solute, 0.0, 0.0).unwrap_err().code(), 101);
    }
}
