//! The valve of a regulator: the opening that a flow asks for, and how well it can hold its pressure.

use densepath_fluid::error::{Error, Result, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::units::BAR;
use densepath_fluid::{Fluid, Notice, NoticeCode, Phase, Quantity, State};

use crate::flow::valve::{AREA_OF_KV, CV_OVER_KV, Valve, ripple, throat_pressure};
use crate::hardware::restrictor::throat;

/// What a valve has to do.
///
/// ```
/// use densepath::{Fluid, State, flow::valve::Valve, hardware::regulator::{Service, valve_size}};
/// let gas = State::from_tp(&Fluid::new("carbon dioxide")?, 313.15, 5e5)?;
/// // From 5 bar into the room a gas chokes.
/// assert_eq!(valve_size(Valve::default(), &gas, 1e-5, 1e5)?.service, Service::ChokedGas);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Service {
    /// A dense fluid that stays dense through the throat.
    LiquidLike,
    /// A dense fluid that chokes and flashes in the throat.
    Flashing,
    /// A gas.
    Gas,
    /// A gas that chokes.
    ChokedGas,
}

impl Service {
    /// The word used in reports.
    ///
    /// ```
    /// use densepath::hardware::regulator::Service;
    /// assert_ne!(Service::Gas.name(), Service::ChokedGas.name());
    /// ```
    pub const fn name(self) -> &'static str {
        match self {
            Service::LiquidLike => "liquid-like",
            Service::Flashing => "flashing",
            Service::Gas => "gas",
            Service::ChokedGas => "choked gas",
        }
    }
}

/// The opening of a valve that passes a mass flow rate.
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
/// use densepath::{flow::valve::Valve, hardware::regulator::valve_size};
/// let size = valve_size(Valve::default(), &stream.state, 5e-5, 101_325.0)?;
/// // 1 m3/h of K_v is 1.156 US gallons per minute of C_v.
/// assert!((size.cv / size.kv - 1.156).abs() < 1e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct ValveSize {
    /// What the valve has to do.
    pub service: Service,
    /// Flow coefficient `K_v` in m3/h.
    pub kv: f64,
    /// Flow coefficient `C_v` in US gallons per minute.
    pub cv: f64,
    /// Flow coefficient in m3/h of the drop as a whole, without choking: what the plain law `q_V sqrt(rho/dp)` gives.
    pub plain_kv: f64,
    /// Diameter in m of a hole with a coefficient of discharge of 0.8 that passes the flow in equilibrium of the phases.
    pub equilibrium_diameter: f64,
    /// Diameter in m of a hole with a coefficient of discharge of 0.6 for a fluid that keeps its density.
    pub incompressible_diameter: f64,
    /// Pressure in Pa in the throat of the expansion in equilibrium.
    pub throat_pressure: f64,
    /// Mass flux in kg/(m2 s) there.
    pub mass_flux: f64,
}

/// Coefficients of discharge of the two holes (common practice, no source): choked and flashing, and dense through a sharp edge.
const CHOKED_DISCHARGE: f64 = 0.8;
const DENSE_DISCHARGE: f64 = 0.6;

/// Share of the inlet pressure down to which the throat of a choked flow is sought.
const LOWEST: f64 = 0.02;

/// The opening that passes a mass flow rate in kg/s from a state at rest to a pressure in Pa.
///
/// A gas after IEC 60534-2-1; a liquid likewise with its vapour pressure; a supercritical fluid denser than at its critical point as
/// a liquid whose throat falls to the pressure of the largest mass flux in equilibrium, which the standard does not know: there the
/// coefficient is an estimate. *Uncertainty*: 10 %, of flashing 30 % and more: boiling comes late in short throats, which then
/// need less opening (common practice, no source).
///
/// Errors: 101 for a flow not above zero; 503 for pressures that drive no flow; those of [`throat`].
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
/// use densepath::{flow::valve::Valve, hardware::regulator::valve_size};
/// let kv = |flow| valve_size(Valve::default(), &stream.state, flow, 101_325.0).map(|size| size.kv);
/// // The opening goes with the flow.
/// assert!((kv(1e-4)? / kv(5e-5)? - 2.0).abs() < 0.01);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn valve_size(
    valve: Valve,
    inlet: &State,
    mass_flow_rate: f64,
    outlet_pressure: f64,
) -> Result<ValveSize> {
    positive(Quantity::MassFlowRate, mass_flow_rate)?;
    let (p_1, rho) = (inlet.pressure(), inlet.density());
    let sound = is_gas(inlet)?.then(|| inlet.speed_of_sound()).transpose()?;
    let found = throat(inlet, outlet_pressure)?;
    let (service, flux) = if let Some(sound) = sound {
        let exponent = rho * sound * sound / p_1;
        let (flux, choked) = valve.gas_flux(p_1, outlet_pressure, rho, exponent)?;
        (
            if choked {
                Service::ChokedGas
            } else {
                Service::Gas
            },
            flux,
        )
    } else {
        let lowest = match boiling(inlet) {
            Some((vapour, critical)) => throat_pressure(vapour, critical)?,
            None if found.is_choked => found.state.pressure(),
            None => throat(inlet, LOWEST * p_1)?.state.pressure(),
        };
        let (drop, choked) = valve.liquid_drop(p_1, outlet_pressure, lowest)?;
        (
            if choked {
                Service::Flashing
            } else {
                Service::LiquidLike
            },
            (rho * drop).sqrt(),
        )
    };
    let hole = |flux: f64| (4.0 * mass_flow_rate / (std::f64::consts::PI * flux)).sqrt();
    let plain = (rho * (p_1 - outlet_pressure)).sqrt();
    let kv = mass_flow_rate / flux / AREA_OF_KV;
    Ok(ValveSize {
        service,
        kv,
        cv: CV_OVER_KV * kv,
        plain_kv: mass_flow_rate / plain / AREA_OF_KV,
        equilibrium_diameter: hole(CHOKED_DISCHARGE * found.mass_flux),
        incompressible_diameter: hole(DENSE_DISCHARGE * std::f64::consts::SQRT_2 * plain),
        throat_pressure: found.state.pressure(),
        mass_flux: found.mass_flux,
    })
}

/// Whether a fluid counts as a gas: a vapour, or a supercritical fluid thinner than at its critical point.
fn is_gas(state: &State) -> Result<bool> {
    Ok(match state.phase() {
        Phase::Vapour => true,
        Phase::Liquid | Phase::LiquidLiquid => false,
        _ => state.density() < critical_density(state.fluid())?,
    })
}

/// Density in kg/m3 that tells a gas from a liquid: that of the critical point, or of a composition that has none that of the critical
/// volumes of its substances by amount (W. B. Kay, Ind. Eng. Chem. 28, 1014 (1936), from memory).
fn critical_density(fluid: &Fluid) -> Result<f64> {
    match fluid.critical_point() {
        Err(Error::Unreachable { .. }) => {
            let parts = fluid.substances().into_iter().zip(fluid.amount_fractions());
            let volumes = parts.map(|(name, share)| {
                let part = Fluid::new(name)?;
                Ok(share * part.molar_mass() / part.critical_point()?.density)
            });
            Ok(fluid.molar_mass() / volumes.sum::<Result<f64>>()?)
        }
        found => Ok(found?.density),
    }
}

/// Vapour pressure and critical pressure in Pa of a liquid, the bubble pressure for a mixture.
fn boiling(state: &State) -> Option<(f64, f64)> {
    if state.phase() != Phase::Liquid {
        return None;
    }
    let fluid = state.fluid();
    let critical = fluid.critical_point().ok()?.pressure;
    let vapour = if fluid.is_mixture() {
        fluid
            .bubble_point_at_temperature(state.temperature())
            .ok()?
            .pressure
    } else {
        fluid
            .coexistence_at_temperature(state.temperature())
            .ok()?
            .pressure
    };
    Some((vapour, critical))
}

/// How a pulsed valve shakes the pressure and the density before it.
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
/// let shaken = densepath::hardware::regulator::pulsed_valve(&stream.state, 1e-6, 5e-5, 5.0, 0.3)?;
/// // kappa_T times the ripple of the pressure.
/// let expected = stream.state.isothermal_compressibility()? * shaken.pressure_ripple;
/// assert!((shaken.density_ripple / expected - 1.0).abs() < 0.2);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct PulsedValve {
    /// Change of the pressure in Pa from lowest to highest.
    pub pressure_ripple: f64,
    /// Relative change of the density that goes with it.
    pub density_ripple: f64,
    /// What to know.
    pub notices: Vec<Notice>,
}

/// Relative change of the density that shows in baselines (common practice, no source).
const RESTLESS: f64 = 2e-3;

/// Ripple before a valve that opens and shuts with a frequency in Hz and is open for a share of the time, of a state before it, a
/// volume in m3 between column and valve and a mass flow rate in kg/s.
///
/// Source and errors as [`ripple`].
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
/// use densepath::hardware::regulator::pulsed_valve;
/// let ripple = |frequency| pulsed_valve(&stream.state, 1e-6, 5e-5, frequency, 0.3).map(|valve| valve.pressure_ripple);
/// // Quick strokes shake less.
/// assert!(ripple(20.0)? < ripple(5.0)?);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn pulsed_valve(
    inlet: &State,
    volume: f64,
    mass_flow_rate: f64,
    frequency: f64,
    open_share: f64,
) -> Result<PulsedValve> {
    let compressibility = inlet.isothermal_compressibility()?;
    let pressure_ripple = ripple(
        compressibility,
        inlet.density(),
        volume,
        mass_flow_rate,
        frequency,
        open_share,
    )?;
    let density_ripple = compressibility * pressure_ripple;
    let mut notices = Vec::new();
    if density_ripple > RESTLESS {
        let text = format!(
            "the pulses of the valve shake the pressure by {} bar and the density by {} %, which shows in the baseline: more volume \
             before the valve, faster pulses, or a higher pressure calm it",
            rounded(pressure_ripple / BAR),
            rounded(100.0 * density_ripple)
        );
        notices.push(Notice::new(NoticeCode::Pulsation, text).about(Quantity::Pressure));
    }
    Ok(PulsedValve {
        pressure_ripple,
        density_ripple,
        notices,
    })
}

/// The mass flow rates in kg/s between which a valve holds its pressure, from the largest flow coefficient in m3/h down to that over
/// its rangeability; and a notice for a flow in kg/s outside them.
///
/// Rangeability about 10 for the needles of regulators (common practice, no source): below, the opening is smaller than what wear and
/// play move. Errors: 101 for a value not above zero; those of [`valve_size`].
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
/// use densepath::{flow::valve::Valve, hardware::regulator::{flow_range, valve_size}};
/// let kv = valve_size(Valve::default(), &stream.state, 1e-4, 101_325.0)?.kv;
/// let (least, most, notice) = flow_range(Valve::default(), kv, 10.0, &stream.state, 5e-5, 101_325.0)?;
/// assert!((most / 1e-4 - 1.0).abs() < 0.01 && (most / least - 10.0).abs() < 0.1 && notice.is_none());
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn flow_range(
    valve: Valve,
    largest_kv: f64,
    rangeability: f64,
    inlet: &State,
    mass_flow_rate: f64,
    outlet_pressure: f64,
) -> Result<(f64, f64, Option<Notice>)> {
    positive(Quantity::Ratio, largest_kv)?;
    positive(Quantity::Ratio, rangeability)?;
    let size = valve_size(valve, inlet, mass_flow_rate, outlet_pressure)?;
    let highest = mass_flow_rate * largest_kv / size.kv;
    let lowest = highest / rangeability;
    let notice = (!(lowest..=highest).contains(&mass_flow_rate)).then(|| {
        let grams = |flow: f64| rounded(flow * 6e4);
        let text = format!(
            "{} g/min lies outside the {} to {} g/min over which the valve can hold its pressure",
            grams(mass_flow_rate),
            grams(lowest),
            grams(highest)
        );
        Notice::new(NoticeCode::Controllability, text).about(Quantity::MassFlowRate)
    });
    Ok((lowest, highest, notice))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};
    use densepath_fluid::units::{GRAM_PER_MINUTE, from_celsius};

    const ROOM: f64 = 101_325.0;

    fn inlet(degc: f64, bar: f64) -> State {
        State::from_tp(&co2(), from_celsius(degc), bar * BAR).unwrap()
    }

    /// 2.932 g/min from 150 bar and 40 degC: largest flux 107839 kg/(m2 s) at 64.0684 bar, holes of 26.9 um (0.8, equilibrium) and
    /// 26.0787 um (0.6, incompressible), `K_v` of the whole drop 1.63e-5 m3/h: independent computation with CoolProp 8.0.0.
    #[test]
    fn the_valve_of_an_analytical_instrument() {
        let size = valve_size(
            Valve::default(),
            &inlet(40.0, 150.0),
            2.932 * GRAM_PER_MINUTE,
            ROOM,
        )
        .unwrap();
        assert!(close(size.mass_flux, 107_839.0, 1e-3));
        assert!(
            close(size.throat_pressure, 64.0684e5, 1e-3),
            "{}",
            size.throat_pressure
        );
        assert!(close(size.equilibrium_diameter, 26.9e-6, 2e-3));
        assert!(close(size.incompressible_diameter, 26.0787e-6, 2e-4));
        assert!(close(size.plain_kv, 1.63e-5, 2e-3), "{}", size.plain_kv);
        assert_eq!(size.service, Service::Flashing);
        assert!(size.kv > size.plain_kv && close(size.cv, size.kv / 0.865, 1e-12));
    }

    #[test]
    fn each_service_has_its_law() {
        let service = |degc, bar, outlet| {
            valve_size(Valve::default(), &inlet(degc, bar), 1e-5, outlet)
                .unwrap()
                .service
        };
        assert_eq!(service(40.0, 150.0, 140e5), Service::LiquidLike);
        assert_eq!(service(10.0, 100.0, 90e5), Service::LiquidLike);
        assert_eq!(service(10.0, 100.0, ROOM), Service::Flashing);
        assert_eq!(service(100.0, 50.0, 45e5), Service::Gas);
        assert_eq!(service(100.0, 50.0, ROOM), Service::ChokedGas);
    }

    /// Much helium beside carbon dioxide leaves no critical point to tell a gas from a liquid by.
    #[test]
    fn a_mixture_without_a_critical_point_has_a_valve_too() {
        let blend = Fluid::mixture(&[("carbon dioxide", 0.5), ("helium", 0.5)]).unwrap();
        assert_eq!(blend.critical_point().unwrap_err().code(), 402);
        // By the critical volumes of both: 467.6 kg/m3 of 44.0098 g/mol, 69.6 kg/m3 of 4.0026 g/mol (CoolProp 8.0.0).
        let expected = (44.0098 + 4.0026) / (44.0098 / 467.6 + 4.0026 / 69.6);
        let found = critical_density(&blend).unwrap();
        assert!(close(found, expected, 1e-2), "{found} {expected}");
        let inlet = State::from_tp(&blend, from_celsius(100.0), 50e5).unwrap();
        let size = valve_size(Valve::default(), &inlet, 1e-5, 45e5).unwrap();
        assert_eq!(size.service, Service::Gas);
    }

    #[test]
    fn pulses_shake_what_is_compressible() {
        let calm = pulsed_valve(&inlet(40.0, 150.0), 0.5e-6, 5e-5, 20.0, 0.5).unwrap();
        let soft = pulsed_valve(&inlet(40.0, 100.0), 0.5e-6, 5e-5, 20.0, 0.5).unwrap();
        // dp = q_m (1 - s)/(f V rho kappa_T), with 780.233 kg/m3 (CoolProp 8.0.0).
        let state = inlet(40.0, 150.0);
        let expected =
            5e-5 * 0.5 / (20.0 * 0.5e-6 * 780.233 * state.isothermal_compressibility().unwrap());
        assert!(close(calm.pressure_ripple, expected, 1e-5));
        assert!(
            soft.density_ripple > calm.density_ripple
                && soft.pressure_ripple < calm.pressure_ripple
        );
        assert_eq!(soft.notices.len(), 1);
    }

    #[test]
    fn a_flow_outside_the_range_of_a_valve_is_told() {
        let state = inlet(40.0, 150.0);
        let size = valve_size(Valve::default(), &state, 5e-5, ROOM).unwrap();
        let (low, high, notice) =
            flow_range(Valve::default(), 2.0 * size.kv, 10.0, &state, 5e-5, ROOM).unwrap();
        assert!(close(high, 1e-4, 1e-12) && close(low, 1e-5, 1e-12) && notice.is_none());
        let (.., notice) =
            flow_range(Valve::default(), 100.0 * size.kv, 10.0, &state, 5e-5, ROOM).unwrap();
        assert_eq!(notice.unwrap().code, NoticeCode::Controllability);
    }
}
