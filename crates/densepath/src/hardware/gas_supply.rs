//! A supply drawn as gas: what a condenser takes out of it, or a booster puts in, before the pump has a liquid to pump.

use fluid::error::{Error, positive};
use fluid::{Fluid, Phase, Quantity, Result, State};

use crate::fluid;

/// A gas made liquid at its pressure.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
/// use densepath::hardware::condense;
/// let gas = State::from_tp(&fluid, 298.15, 50e5)?;
/// let found = condense(&gas, 278.15, 5e-5)?;
/// // 50 bar boil at 14.3 degC, so that 5 degC are some 9 K below.
/// assert!((found.subcooling - 9.3).abs() < 0.1);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Condensed {
    /// The liquid.
    pub liquid: State,
    /// Heat flow rate in W to be taken out.
    pub heat_flow_rate: f64,
    /// How far in K the liquid lies below its boiling temperature at that pressure.
    pub subcooling: f64,
}

/// A gas cooled at its pressure to a temperature T in K at which it is liquid, at a mass flow rate in kg/s.
///
/// *Valid*: without pressure drop. *Source*: energy balance.
///
/// Errors: 101 for a flow not above zero; 402 where it is not liquid then; those of the boiling point at that pressure.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
/// use densepath::hardware::condense;
/// let gas = State::from_tp(&fluid, 298.15, 50e5)?;
/// let found = condense(&gas, 278.15, 5e-5)?;
/// assert!((found.heat_flow_rate / (5e-5 * (gas.specific_enthalpy() - found.liquid.specific_enthalpy())) - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn condense(gas: &State, temperature: f64, mass_flow_rate: f64) -> Result<Condensed> {
    positive(Quantity::MassFlowRate, mass_flow_rate)?;
    let liquid = State::from_tp(gas.fluid(), temperature, gas.pressure())?;
    let boiling = gas.fluid().saturation_at_pressure(gas.pressure())?;
    if liquid.phase() != Phase::Liquid {
        return Err(Error::Unreachable {
            quantity: Quantity::Temperature,
            min: 0.0,
            max: boiling.temperature,
            reason: "the condenser is too warm for this pressure",
        });
    }
    let heat = gas.specific_enthalpy() - liquid.specific_enthalpy();
    Ok(Condensed {
        heat_flow_rate: mass_flow_rate * heat,
        subcooling: boiling.temperature - temperature,
        liquid,
    })
}

/// A gas brought to a higher pressure.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
/// use densepath::hardware::boost;
/// let gas = State::from_tp(&fluid, 298.15, 30e5)?;
/// let found = boost(&gas, 60e5, 0.7, 5e-5)?;
/// assert!((found.power / (5e-5 * (found.outlet.specific_enthalpy() - gas.specific_enthalpy())) - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Boosted {
    /// What leaves the booster.
    pub outlet: State,
    /// Power in W put into the fluid.
    pub power: f64,
}

/// A gas compressed to a pressure in Pa at a mass flow rate in kg/s, with an isentropic efficiency from above 0 to 1.
///
/// *Valid*: one stage without cooling. *Source*: definition of the isentropic efficiency, `h_2 - h_1 = (h_2s - h_1)/eta`.
/// *Uncertainty*: the efficiency is 0.5 to 0.8 for small gas-driven boosters (common practice, no source).
///
/// Errors: 101 for a flow not above zero or an efficiency outside (0, 1]; 503 for a pressure not above that of the gas.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
/// use densepath::hardware::boost;
/// let gas = State::from_tp(&fluid, 298.15, 30e5)?;
/// // A perfect booster keeps the entropy, a real one raises it and takes more power.
/// let (ideal, real) = (boost(&gas, 60e5, 1.0, 5e-5)?, boost(&gas, 60e5, 0.7, 5e-5)?);
/// assert!((ideal.outlet.specific_entropy() - gas.specific_entropy()).abs() < 1e-6);
/// assert!((real.power * 0.7 / ideal.power - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn boost(
    gas: &State,
    pressure: f64,
    isentropic_efficiency: f64,
    mass_flow_rate: f64,
) -> Result<Boosted> {
    positive(Quantity::MassFlowRate, mass_flow_rate)?;
    positive(Quantity::Ratio, isentropic_efficiency)?;
    if isentropic_efficiency > 1.0 {
        return Err(Error::Domain {
            quantity: Quantity::Ratio,
            value: isentropic_efficiency,
            rule: "an efficiency of 1 at most",
        });
    }
    if pressure <= gas.pressure() {
        return Err(Error::FlowReversed {
            inlet: pressure,
            outlet: gas.pressure(),
        });
    }
    let fluid: &Fluid = gas.fluid();
    let best = State::from_ps(fluid, pressure, gas.specific_entropy())?;
    let work = (best.specific_enthalpy() - gas.specific_enthalpy()) / isentropic_efficiency;
    Ok(Boosted {
        outlet: State::from_ph(fluid, pressure, gas.specific_enthalpy() + work)?,
        power: mass_flow_rate * work,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};

    /// Saturated vapour of a cylinder at 20 degC condensed at 5 degC: 197 724.6 J/kg by CoolProp 8.0.0.
    #[test]
    fn a_condenser_takes_the_heat_of_condensation() {
        let saturation = co2().saturation_at_temperature(293.15).unwrap();
        let made = condense(&saturation.vapour, 278.15, 5e-5).unwrap();
        assert_eq!(made.liquid.phase(), Phase::Liquid);
        assert!(close(made.subcooling, 15.0, 1e-9));
        assert!(close(made.heat_flow_rate, 5e-5 * 197_724.643_9, 1e-7));
        assert_eq!(
            condense(&saturation.vapour, 295.0, 5e-5)
                .unwrap_err()
                .code(),
            402
        );
        assert_eq!(
            condense(&saturation.vapour, 278.15, 0.0)
                .unwrap_err()
                .code(),
            101
        );
    }

    /// 20 to 50 bar from 20 degC: 49 614.87 J/kg and 363.8245 K without loss, 393.3065 K at 0.6, by CoolProp 8.0.0.
    #[test]
    fn a_booster_warms_the_gas_the_more_the_less_it_is_efficient() {
        let gas = State::from_tp(&co2(), 293.15, 20e5).unwrap();
        let (best, real) = (
            boost(&gas, 50e5, 1.0, 5e-5).unwrap(),
            boost(&gas, 50e5, 0.6, 5e-5).unwrap(),
        );
        assert!(close(best.power, 5e-5 * 49_614.872_17, 1e-7));
        assert!(close(best.outlet.temperature(), 363.824_535_26, 1e-7));
        assert!(close(real.outlet.temperature(), 393.306_555_16, 1e-7));
        assert!(close(real.power * 0.6, best.power, 1e-12));
        assert!(real.outlet.temperature() > best.outlet.temperature());
        assert!(real.outlet.specific_entropy() > gas.specific_entropy());
        for (pressure, efficiency, code) in [(10e5, 0.6, 503), (50e5, 1.2, 101), (50e5, 0.0, 101)] {
            assert_eq!(
                boost(&gas, pressure, efficiency, 5e-5).unwrap_err().code(),
                code
            );
        }
    }
}
