//! What leaves a restrictor as a part of a path, and what to know of it.

use fluid::consts::ICE_POINT;
use fluid::error::{positive, significant};
use fluid::units::{BAR, MILLIGRAM_PER_MINUTE, to_celsius};
use fluid::{Notice, NoticeCode, Quantity, Result, State};

use super::{BandWay, Choking, Restrictor, RestrictorFlow};
use crate::flow::bore::Bore;
use crate::flow::dispersion::TubeDispersion;
use crate::flow::friction::{Regime, Wall, entrance_pressure_drop};
use crate::flow::packed_bed::AxialDispersion;
use crate::fluid;
use crate::hardware::channel::one_phase;
use crate::hardware::{
    BandShare, Fact, Motion, Outlet, ProfilePoint, Solute, Stream, Surroundings,
};

/// Temperature in K from which a part is hot to the touch (common practice, no source).
const HOT: f64 = 333.15;
/// Density at the exit over the critical density from which a choked isothermal flow is doubtful.
const DENSE_EXIT: f64 = 0.5;

/// How far an inlet is from the steady flow of a restrictor; rises with the pressure.
pub(super) fn excess<R: Restrictor>(
    restrictor: &R,
    inlet: &Stream,
    surroundings: &Surroundings<'_>,
) -> Result<f64> {
    positive(Quantity::MassFlowRate, inlet.mass_flow_rate)?;
    if inlet.state.pressure() <= surroundings.room_pressure {
        return Ok(-1.0);
    }
    let passed = restrictor.mass_flow_rate(
        inlet.state.fluid(),
        inlet.state.temperature(),
        inlet.state.pressure(),
        surroundings.room_pressure,
    )?;
    Ok(passed / inlet.mass_flow_rate - 1.0)
}

/// The steady flow of a restrictor of an inlet into the room.
pub(super) fn flow_of<R: Restrictor>(
    restrictor: &R,
    inlet: &Stream,
    surroundings: &Surroundings<'_>,
) -> Result<RestrictorFlow> {
    one_phase(&inlet.state, 0.0)?;
    restrictor.passage(
        inlet.state.fluid(),
        inlet.state.temperature(),
        inlet.state.pressure(),
        surroundings.room_pressure,
    )
}

/// Least relative difference of two flows that is told: what a flow measured with care is off by (common practice, no source).
const SAME_FLOW: f64 = 0.01;

/// What to know of a stream whose flow is not the one that passes the restrictor: less than the uncertainty of its law may be the fault
/// of the law.
fn judge_flow(flow: &RestrictorFlow, inlet: &Stream) -> Option<Notice> {
    let entering = inlet.mass_flow_rate;
    let bound = flow.uncertainty.max(SAME_FLOW);
    let (low, high) = flow
        .bracket
        .unwrap_or((flow.mass_flow_rate, flow.mass_flow_rate));
    if entering >= low * (1.0 - bound) && entering <= high * (1.0 + bound) {
        return None;
    }
    let milligrams = |flow: f64| significant(flow / MILLIGRAM_PER_MINUTE);
    let (more, course) = if entering > flow.mass_flow_rate {
        ("more", "rises")
    } else {
        ("less", "falls")
    };
    let text = format!(
        "{} mg/min come to the restrictor and {} mg/min pass it at {} bar(a): {more} comes than passes, and the pressure {course} until \
         both agree. What is told of its inside belongs to the flow that passes, the outlet has the flow that comes",
        milligrams(entering),
        milligrams(flow.mass_flow_rate),
        significant(inlet.state.pressure() / BAR)
    );
    Some(Notice::new(NoticeCode::Unsteady, text).about(Quantity::MassFlowRate))
}

/// The outlet of a restrictor with a flow; its bore or bed, where it is known, spreads the band.
pub(super) fn outlet_of(
    flow: &RestrictorFlow,
    inlet: &Stream,
    surroundings: &Surroundings<'_>,
    way: Option<&BandWay>,
) -> Result<Outlet> {
    let ends = Ends::new(flow, &inlet.state, surroundings.room_pressure)?;
    let band = match (surroundings.solute, way) {
        (Some(solute), Some(way)) => Some(band(solute, &ends.entered, flow, way)?),
        _ => None,
    };
    let heat_flow_rate = inlet.mass_flow_rate * ends.heat;
    let mut notices: Vec<Notice> = judge_flow(flow, inlet).into_iter().collect();
    notices.extend(judge(flow, &ends, heat_flow_rate, surroundings.solute));
    Ok(Outlet {
        profile: flow.profile.clone(),
        hold_up_time: flow.hold_up_time,
        band,
        heat_flow_rate,
        motion: Some(Motion {
            velocity: flow.exit.velocity,
            reynolds_number: flow.exit.reynolds_number,
        }),
        facts: facts(flow, &ends),
        notices,
        ..Outlet::of(Stream {
            state: ends.outside,
            mass_flow_rate: inlet.mass_flow_rate,
        })
    })
}

/// What the restrictor does to the band, with the diffusion coefficient of the inlet, the smallest along the way.
fn band(solute: &Solute, state: &State, flow: &RestrictorFlow, way: &BandWay) -> Result<BandShare> {
    let diffusion = solute.diffusion_coefficient(state)?;
    match way {
        BandWay::Bore(bore) => in_bore(diffusion, flow, bore),
        BandWay::Bed {
            particle_diameter,
            porosity,
        } => in_bed(diffusion, flow, *particle_diameter, *porosity),
    }
}

/// An upper estimate for a bore: dispersion at the mean velocity.
fn in_bore(diffusion: f64, flow: &RestrictorFlow, bore: &Bore) -> Result<BandShare> {
    let (time, length) = (flow.hold_up_time, bore.length());
    let diameter = (4.0 * bore.volume() / (std::f64::consts::PI * length)).sqrt();
    let f = Wall::SMOOTH.friction_factor(flow.inlet.reynolds_number, diameter)?;
    let dispersion = TubeDispersion::new(diffusion, diameter, length, length / time, &f)?;
    Ok(BandShare {
        time,
        time_variance: dispersion.time_variance,
        bracket: Some((0.0, dispersion.highest)),
        tails: Vec::new(),
    })
}

/// For a bed: `integral of 2 K/u^3 dz` along the profile, where the diffusion coefficient goes with the inverse of the density (common
/// practice, no source); the dense end, where the flow is slow, counts most.
fn in_bed(
    diffusion: f64,
    flow: &RestrictorFlow,
    particle_diameter: f64,
    porosity: f64,
) -> Result<BandShare> {
    let along = |of: &dyn Fn(&ProfilePoint) -> Result<f64>| -> Result<f64> {
        let mut sum = 0.0;
        for pair in flow.profile.windows(2) {
            let step = pair[1].position - pair[0].position;
            sum += 0.5 * step * (of(&pair[0])? + of(&pair[1])?);
        }
        Ok(sum)
    };
    // What is known of the time holds a calibration, which the profile does not.
    let time = along(&|point| Ok(porosity / point.velocity))?;
    let faster = time / flow.hold_up_time;
    let variance = |part: fn(&AxialDispersion) -> f64| {
        along(&|point| {
            let velocity = faster * point.velocity / porosity;
            let thinned = diffusion * flow.inlet.density / point.density;
            let dispersion = AxialDispersion::new(thinned, particle_diameter, velocity)?;
            Ok(2.0 * part(&dispersion) / velocity.powi(3))
        })
    };
    Ok(BandShare {
        time: flow.hold_up_time,
        time_variance: variance(|of| of.coefficient)?,
        bracket: Some((variance(|of| of.lowest)?, variance(|of| of.highest)?)),
        tails: Vec::new(),
    })
}

/// The fluid before and behind the bore.
struct Ends {
    /// At the inlet, at the temperature with which it begins its way.
    entered: State,
    /// Outside, when the jet has come to rest.
    outside: State,
    /// Heat taken up in J/kg.
    heat: f64,
    /// Solid that would form outside if the restrictor gave no heat.
    solid_without_heat: f64,
}

impl Ends {
    fn new(flow: &RestrictorFlow, inlet: &State, outlet_pressure: f64) -> Result<Self> {
        let fluid = inlet.fluid();
        let exit = State::from_t_rho(fluid, flow.exit.temperature, flow.exit.density)?;
        // The jet comes to rest without work or heat, so that its kinetic energy stays in the gas.
        let total = exit.specific_enthalpy() + 0.5 * flow.exit.velocity * flow.exit.velocity;
        let kinetic = 0.5 * flow.inlet.velocity * flow.inlet.velocity;
        Ok(Self {
            entered: State::from_tp(fluid, flow.inlet.temperature, inlet.pressure())?,
            outside: State::from_ph(fluid, outlet_pressure, total)?,
            heat: total - kinetic - inlet.specific_enthalpy(),
            solid_without_heat: inlet
                .expand_to(outlet_pressure)
                .map_or(0.0, |state| state.solid_fraction()),
        })
    }
}

/// Lowest temperature in K inside the restrictor.
fn coldest(flow: &RestrictorFlow) -> f64 {
    let along = flow.profile.iter().map(|point| point.temperature);
    along.fold(flow.exit.temperature, f64::min)
}

fn facts(flow: &RestrictorFlow, ends: &Ends) -> Vec<Fact> {
    let held = flow.inlet.temperature == flow.exit.temperature;
    let mut facts = vec![
        Fact::new(
            "mass flow rate it passes",
            Quantity::MassFlowRate,
            flow.mass_flow_rate,
        ),
        Fact::new(
            if held {
                "temperature inside the restrictor, held by its heater"
            } else {
                "temperature inside the exit"
            },
            Quantity::Temperature,
            flow.exit.temperature,
        ),
        Fact::new(
            "temperature of the gas when its jet has come to rest",
            Quantity::Temperature,
            ends.outside.temperature(),
        ),
        Fact::new(
            "pressure inside the exit",
            Quantity::Pressure,
            flow.exit.pressure,
        ),
        Fact::new(
            "velocity at the exit",
            Quantity::Velocity,
            flow.exit.velocity,
        ),
    ];
    if flow.inlet.reynolds_number.is_finite() {
        facts.push(Fact::new(
            "Reynolds number at the inlet",
            Quantity::ReynoldsNumber,
            flow.inlet.reynolds_number,
        ));
        facts.push(Fact::new(
            "Reynolds number at the exit",
            Quantity::ReynoldsNumber,
            flow.exit.reynolds_number,
        ));
    }
    let flux = flow.inlet.density * flow.inlet.velocity;
    if let Ok(drop) = entrance_pressure_drop(flow.inlet.density, flux, flow.inlet.reynolds_number) {
        facts.push(Fact::new(
            "pressure that its entrance takes, left out of the flow",
            Quantity::PressureDrop,
            drop,
        ));
    }
    if let Some(viscous) = flow.viscous_mass_flow_rate {
        facts.push(Fact::new(
            "mass flow rate by the viscous law alone",
            Quantity::MassFlowRate,
            viscous,
        ));
    }
    facts
}

/// Heat in J/kg below which there is none but the rounding of two enthalpies.
const NO_HEAT: f64 = 1e-3;

fn judge(
    flow: &RestrictorFlow,
    ends: &Ends,
    heat_flow_rate: f64,
    solute: Option<&Solute>,
) -> Vec<Notice> {
    let mut notices = flow.notices.clone();
    notices.extend(judge_choking(flow, ends));
    notices.extend(judge_regime(flow));
    if flow.exit.vapour_fraction.is_some() {
        let text = format!(
            "the fluid boils inside the restrictor: {} % of the mass is vapour at the exit. The flow counts as liquid and vapour in \
             equilibrium at one velocity, the least of all models: boiling that comes late lets more pass",
            significant((1000.0 * flow.exit.vapour_fraction.unwrap_or(0.0)).round() / 10.0)
        );
        notices.push(Notice::new(NoticeCode::TwoPhases, text).about(Quantity::MassFlowRate));
    }
    if ends.solid_without_heat > 0.0 {
        let frozen = significant((1000.0 * ends.solid_without_heat).round() / 10.0);
        let text = if ends.heat > NO_HEAT {
            format!(
                "the restrictor must give the fluid {} W along its bore; without it {frozen} % of the fluid would freeze at the tip, \
                 and less heat than that lets solutes precipitate there",
                significant(heat_flow_rate)
            )
        } else {
            format!(
                "no heat comes in: {frozen} % of the fluid freezes at the tip, where the jet comes to rest"
            )
        };
        notices.push(Notice::new(NoticeCode::SolidForms, text).about(Quantity::HeatFlowRate));
    }
    let melting =
        solute.and_then(|solute| Some((solute.name.as_str(), solute.melting_temperature?)));
    notices.extend(tip_notices(coldest(flow), melting));
    let temperature = ends.entered.temperature();
    if temperature >= HOT {
        let text = format!(
            "the restrictor is at {} degC: do not touch, and let it cool before changing it",
            significant(to_celsius(temperature))
        );
        notices.push(Notice::new(NoticeCode::HotSurface, text).about(Quantity::Temperature));
    }
    notices
}

fn judge_choking(flow: &RestrictorFlow, ends: &Ends) -> Vec<Notice> {
    let mut notices = Vec::new();
    if flow.choking == Choking::None {
        return notices;
    }
    let at = match flow.choking {
        Choking::Isothermal => "runs at the isothermal speed of sound",
        Choking::Adiabatic => "runs at the speed of sound",
        _ => "is choked by boiling",
    };
    let text = format!(
        "the exit {at}, {} m/s, at {} bar(a): the pressure outside has no influence",
        significant(flow.exit.velocity),
        significant(flow.exit.pressure / BAR)
    );
    notices.push(Notice::new(NoticeCode::Choked, text).about(Quantity::Pressure));
    let critical = ends.entered.fluid().critical_point();
    let dense = critical.is_ok_and(|point| flow.exit.density > DENSE_EXIT * point.density);
    if dense && flow.choking == Choking::Isothermal {
        let text = format!(
            "the flow chokes at {} kg/m3, near the critical point, where the isothermal speed of sound all but vanishes: the \
             model of constant temperature fails there and the real flow is larger. Warm the restrictor by some kelvin",
            significant(flow.exit.density)
        );
        notices.push(Notice::new(NoticeCode::NearCritical, text).about(Quantity::MassFlowRate));
    }
    notices
}

fn judge_regime(flow: &RestrictorFlow) -> Option<Notice> {
    if flow.regime != Regime::Transitional {
        return None;
    }
    let range = flow.bracket.map_or(String::new(), |(low, high)| {
        let milligrams = |flow: f64| significant((flow * 6e10).round() / 1e3);
        format!(
            ": between {} and {} mg/min",
            milligrams(low),
            milligrams(high)
        )
    });
    let text = format!(
        "the Reynolds number runs from {} to {} along the bore: where it is above 2300 the friction counts as turbulent, and \
         a flow that stays laminar is larger{range}",
        significant(flow.inlet.reynolds_number.round()),
        significant(flow.exit.reynolds_number.round())
    );
    Some(Notice::new(NoticeCode::TransitionalFlow, text).about(Quantity::ReynoldsNumber))
}

/// What can plug a tip whose coldest fluid has a temperature in K: ice from the traces of water in every fluid, and a solute,
/// by its name and its melting point in K, that comes out of the expanded fluid as a solid.
///
/// A warm tip does not plug by these; what a decompressed gas cannot carry as a liquid or vapour can still block it.
///
/// ```
/// use densepath::hardware::restrictor::tip_notices;
/// // A tip at -40 degC freezes the traces of water; a warm one plugs by nothing.
/// assert!(!tip_notices(233.15, None).is_empty());
/// assert!(tip_notices(323.15, None).is_empty());
/// ```
pub fn tip_notices(coldest: f64, solute: Option<(&str, f64)>) -> Vec<Notice> {
    let mut notices = Vec::new();
    let degrees = significant((10.0 * to_celsius(coldest)).round() / 10.0);
    if coldest < ICE_POINT {
        let text = format!(
            "the fluid in the restrictor comes down to {degrees} degC: water in it freezes there and plugs the bore; heat the tip, or \
             dry the fluid"
        );
        notices.push(Notice::new(NoticeCode::Plugging, text).about(Quantity::Temperature));
    }
    if let Some((name, melting)) = solute.filter(|(_, melting)| coldest < *melting) {
        let text = format!(
            "the fluid in the restrictor comes down to {degrees} degC and {name} melts at {} degC: as the density falls it comes out \
             as a solid and plugs the bore; hold the tip above its melting point",
            significant((10.0 * to_celsius(melting)).round() / 10.0)
        );
        notices.push(Notice::new(NoticeCode::Plugging, text).about(Quantity::Temperature));
    }
    notices
}
