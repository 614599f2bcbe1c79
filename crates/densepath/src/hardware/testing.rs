//! What the tests of the parts share.

use super::{Diffusion, Element, Outlet, Retention, Solute, Stream, Surroundings};
use crate::flow::retention::Span;
use crate::fluid::num::root::{Tolerance, bracketed};
use crate::fluid::transport::diffusion::{Diffusing, DiffusionModel};
use crate::fluid::units::{BAR, from_celsius};
use crate::fluid::{Fluid, State};

/// A room at 20 degC and 101325 Pa.
pub const SURROUNDINGS: Surroundings<'static> = Surroundings {
    delivery_pressure: 2e7,
    room_temperature: 293.15,
    room_pressure: 101_325.0,
    solute: None,
    carrier: "carbon dioxide",
    additives: &[],
};

/// A stream.
pub fn stream(state: State, mass_flow_rate: f64) -> Stream {
    Stream {
        state,
        mass_flow_rate,
    }
}

/// Carbon dioxide.
pub fn co2() -> Fluid {
    Fluid::new("carbon dioxide").unwrap()
}

/// Whether two numbers agree to a relative tolerance.
pub fn close(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs())
}

/// The room with a solute.
pub fn surroundings(solute: Option<&Solute>) -> Surroundings<'_> {
    Surroundings {
        solute,
        ..SURROUNDINGS
    }
}

/// A stream of carbon dioxide at a temperature in degC, a pressure in bar and a mass flow rate in kg/s.
pub fn stream_at(degc: f64, bar: f64, mass_flow_rate: f64) -> Stream {
    let state = State::from_tp(&co2(), from_celsius(degc), bar * BAR).unwrap();
    stream(state, mass_flow_rate)
}

/// The outlet of a part whose inlet has the temperature in degC and whose outlet has the pressure in bar; and the inlet
/// pressure in bar that it takes.
pub fn pass_to(
    part: &dyn Element,
    degc: f64,
    outlet_bar: f64,
    mass_flow_rate: f64,
    solute: Option<&Solute>,
) -> (f64, Outlet) {
    let inlet = |bar: f64| stream_at(degc, bar, mass_flow_rate);
    let ends = |bar: f64, solute| part.pass(&inlet(bar), &surroundings(solute));
    // A trial inlet whose stream boils, chokes or leaves its models is too low.
    let excess = |bar: f64| match ends(bar, None) {
        Ok(outlet) => Ok(outlet.stream.state.pressure() / 1e5 - outlet_bar),
        Err(_) => Ok(-outlet_bar),
    };
    let bar = bracketed(
        "inlet pressure",
        outlet_bar,
        outlet_bar + 500.0,
        Tolerance {
            relative: 1e-10,
            iterations: 200,
        },
        excess,
    )
    .unwrap();
    (bar, ends(bar, solute).unwrap())
}

/// Naphthalene with the diffusion of Wilke and Chang and an illustrative retention ln k = 6 - 7 rho, rho in g/mL.
pub fn naphthalene() -> Solute {
    Solute {
        name: "naphthalene".to_owned(),
        retention: Retention::log_linear_in_density(
            6.0,
            7e-3,
            Span {
                min: 300.0,
                max: 1000.0,
            },
        )
        .unwrap(),
        diffusion: Diffusion::Estimated {
            model: DiffusionModel::WilkeChang,
            solute: Diffusing {
                molar_volume: 147.6e-6,
                molar_mass: None,
            },
            factor: 1.0,
        },
        melting_temperature: None,
        in_gas: None,
    }
}

/// The fact of a name.
pub fn fact(outlet: &Outlet, name: &str) -> f64 {
    outlet
        .facts
        .iter()
        .find(|fact| fact.name == name)
        .unwrap()
        .value
}
