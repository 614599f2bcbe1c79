use super::{assert_examples, at, counted_mass_flow, unknown};
use densepath::Fluid;
use densepath::flow::circular_area;
use densepath::flow::dispersion::{
    development_ratio, taylor_aris_coefficient, taylor_turbulent_coefficient,
};
use densepath::flow::friction::{FrictionFactor, Wall, pressure_gradient, reynolds_number};
use densepath::flow::heat::{film_conductance, heat_up_length, nusselt_number};
use densepath_tests::Example;

/// What flows at one place of the tube of an example.
struct Motion {
    density: f64,
    diameter: f64,
    mass_flux: f64,
    velocity: f64,
    friction: FrictionFactor,
}

fn motion(fluid: &Fluid, example: &Example) -> Motion {
    let diameter = example.input("diameter / m");
    let mass_flow_rate = counted_mass_flow(fluid, example);
    let state = at(
        fluid,
        example.input("temperature / K"),
        example.input("pressure / Pa"),
    );
    let mass_flux = mass_flow_rate / circular_area(diameter).unwrap();
    let viscosity = state.dynamic_viscosity().unwrap();
    let reynolds = reynolds_number(viscosity, diameter, mass_flow_rate).unwrap();
    let wall = Wall {
        roughness: example.input("roughness / m"),
        ..Wall::default()
    };
    Motion {
        density: state.density(),
        diameter,
        mass_flux,
        velocity: mass_flux / state.density(),
        friction: wall.friction_factor(reynolds, diameter).unwrap(),
    }
}

fn friction(motion: &Motion, output: &str) -> f64 {
    match output {
        "velocity" => motion.velocity,
        "reynolds_number" => motion.friction.reynolds_number,
        _ => pressure_gradient(
            motion.density,
            motion.diameter,
            motion.mass_flux,
            motion.friction.value,
        )
        .unwrap(),
    }
}

/// Variance in volume, `2 K L/u^3` in time, without the molecular diffusion along the tube that the independent formulas
/// leave out.
fn dispersion(motion: &Motion, example: &Example, output: &str) -> f64 {
    let (diffusion, length) = (
        example.input("diffusion_coefficient / (m2/s)"),
        example.input("length / m"),
    );
    let (diameter, velocity) = (motion.diameter, motion.velocity);
    let volume_flow_rate = velocity * circular_area(diameter).unwrap();
    let coefficient = match output {
        "residence time over radial diffusion time" => {
            return development_ratio(diffusion, diameter, length / velocity).unwrap();
        }
        "volume_variance of developed laminar flow" => {
            taylor_aris_coefficient(diffusion, diameter, velocity).unwrap() - diffusion
        }
        _ => taylor_turbulent_coefficient(diameter, velocity, motion.friction.value).unwrap(),
    };
    2.0 * coefficient * length / velocity.powi(3) * volume_flow_rate.powi(2)
}

fn heating(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    let mass_flow_rate = counted_mass_flow(fluid, example);
    let pressure = example.input("pressure / Pa");
    let inlet = example.input("inlet temperature / K");
    let outlet = example.input("outlet temperature / K");
    let enthalpy = |temperature: f64| at(fluid, temperature, pressure).specific_enthalpy();
    if output == "heat_flow_rate" {
        return mass_flow_rate * (enthalpy(outlet) - enthalpy(inlet));
    }
    let wall = example.input("wall temperature / K");
    let mean = at(fluid, 0.5 * (inlet + wall), pressure);
    let viscosity = mean.dynamic_viscosity().unwrap();
    let reynolds = reynolds_number(viscosity, example.input("diameter / m"), mass_flow_rate);
    let reynolds = reynolds.unwrap();
    let capacity = (enthalpy(wall) - enthalpy(inlet)) / (wall - inlet);
    let conductivity = mean.thermal_conductivity().unwrap();
    let nusselt = nusselt_number(reynolds, capacity * viscosity / conductivity).unwrap();
    match output {
        "reynolds_number at the mean temperature" => reynolds,
        "nusselt number" => nusselt,
        _ => heat_up_length(
            wall - inlet,
            wall - outlet,
            mass_flow_rate,
            capacity,
            film_conductance(conductivity, nusselt).unwrap(),
        )
        .unwrap(),
    }
}

fn computed(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    match example.case.as_str() {
        "friction" => friction(&motion(fluid, example), output),
        "dispersion" => dispersion(&motion(fluid, example), example, output),
        "heating" => heating(fluid, example, output),
        "volume" => {
            circular_area(example.input("diameter / m")).unwrap() * example.input("length / m")
        }
        _ => unknown(example, output),
    }
}

#[test]
fn tubes() {
    assert_examples("worked_tube", computed);
}
