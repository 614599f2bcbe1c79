use super::{assert_examples, at, density, unknown};
use densepath::flow::capillary::{Isotherm, IsothermPoint};
use densepath::flow::circular_area;
use densepath::flow::friction::Wall;
use densepath::hardware::restrictor::throat;
use densepath::hardware::vent::gas_volume_flow_rate;
use densepath::{Fluid, State};
use densepath_tests::Example;

const WALL: Wall = Wall::SMOOTH;

fn isotherm(fluid: &Fluid, example: &Example) -> Isotherm {
    let temperature = example.input("temperature / K");
    let end = |which: &str| {
        let pressure = example.input(&format!("{which} pressure / Pa"));
        density(fluid, temperature, pressure)
    };
    Isotherm::new(end("outlet"), end("inlet"), |density| {
        let state = State::from_t_rho(fluid, temperature, density)?;
        Ok(IsothermPoint {
            pressure: state.pressure(),
            dp_drho_t: state.dp_drho_t()?,
            dynamic_viscosity: state.dynamic_viscosity()?,
        })
    })
    .unwrap()
}

fn linear(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    let isotherm = isotherm(fluid, example);
    let (diameter, length) = (example.input("diameter / m"), example.input("length / m"));
    let viscous = || isotherm.viscous_mass_flow_rate(diameter, length).unwrap();
    let flow = || isotherm.flow(diameter, length, WALL).unwrap();
    match output {
        "integral of density over dynamic_viscosity" => isotherm.viscous_integral(),
        "mass_flow_rate by the integral alone" => viscous(),
        "gas volume_flow_rate" => gas_volume_flow_rate(fluid, viscous()).unwrap(),
        "mass_flow_rate" => flow().mass_flow_rate,
        "exit pressure" => flow().exit.pressure,
        "exit velocity" => flow().exit.velocity,
        "isothermal speed of sound at the exit" => flow().exit.isothermal_speed_of_sound,
        "inlet reynolds_number" => flow().inlet.reynolds_number,
        "exit reynolds_number" => flow().exit.reynolds_number,
        "enthalpy flow difference from inlet to exit" => {
            let flow = flow();
            let temperature = example.input("temperature / K");
            let enthalpy = |pressure: f64| at(fluid, temperature, pressure).specific_enthalpy();
            flow.mass_flow_rate * (enthalpy(flow.exit.pressure) - enthalpy(flow.inlet.pressure))
        }
        _ => unknown(example, output),
    }
}

/// Greatest mass flux of an isentropic expansion in equilibrium, and its pressure.
fn critical_flux(inlet: &State) -> (f64, f64) {
    let found = throat(inlet, 101_325.0).unwrap();
    (found.mass_flux, found.state.pressure())
}

fn orifice(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    let inlet = at(
        fluid,
        example.input("temperature / K"),
        example.input("pressure / Pa"),
    );
    let bore = |flux: f64| {
        let area = example.input("mass_flow_rate / (kg/s)")
            / (example.input("discharge coefficient / 1") * flux);
        (4.0 * area / std::f64::consts::PI).sqrt()
    };
    match output {
        "critical mass_flux" => critical_flux(&inlet).0,
        "throat pressure" => critical_flux(&inlet).1,
        "critical pressure ratio" => critical_flux(&inlet).1 / inlet.pressure(),
        "orifice diameter" => bore(critical_flux(&inlet).0),
        "orifice diameter of incompressible flow" => {
            let drop = inlet.pressure() - example.input("outlet pressure / Pa");
            bore((2.0 * inlet.density() * drop).sqrt())
        }
        _ => unknown(example, output),
    }
}

fn computed(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    let input = |key: &str| example.input(key);
    match example.case.as_str() {
        "linear" => linear(fluid, example, output),
        "length_for" => isotherm(fluid, example)
            .viscous_length(input("diameter / m"), input("mass_flow_rate / (kg/s)"))
            .unwrap(),
        "column_velocity" => {
            let flow = isotherm(fluid, example)
                .viscous_mass_flow_rate(input("diameter / m"), input("length / m"));
            let inlet = density(
                fluid,
                input("temperature / K"),
                input("inlet pressure / Pa"),
            );
            flow.unwrap() / (circular_area(input("column diameter / m")).unwrap() * inlet)
        }
        "bore_tolerance" => {
            let wider = 1.0 + input("relative diameter change / 1");
            wider.powi(4) - 1.0
        }
        "orifice" => orifice(fluid, example, output),
        _ => unknown(example, output),
    }
}

#[test]
fn restrictors() {
    assert_examples("worked_restrictor", computed);
}
