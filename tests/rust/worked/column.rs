use super::{assert_examples, at, unknown};
use densepath::Fluid;
use densepath::flow::packed_bed::PackedBed;
use densepath::flow::plate_height::GolayColumn;
use densepath_tests::Example;

fn open_tube(example: &Example, output: &str) -> f64 {
    let input = |key: &str| example.input(key);
    let column = GolayColumn {
        diameter: input("column diameter / m"),
        film_thickness: input("film_thickness / m"),
        film_diffusion_coefficient: input("film diffusion_coefficient / (m2/s)"),
    };
    let diffusion = input("diffusion_coefficient / (m2/s)");
    let retention = input("retention_factor / 1");
    let optimum = || column.optimum(diffusion, retention).unwrap();
    let plate_height = || {
        column
            .plate_height(diffusion, input("velocity / (m/s)"), retention)
            .unwrap()
    };
    match output {
        "velocity of the least plate_height" => optimum().velocity,
        "least plate_height" => optimum().plate_height,
        "plate_height" => plate_height(),
        "plate_number" => input("column length / m") / plate_height(),
        _ => unknown(example, output),
    }
}

fn computed(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    let input = |key: &str| example.input(key);
    match (example.case.as_str(), output) {
        ("open_tube", output) => open_tube(example, output),
        ("permeability", "permeability") => PackedBed::kozeny_carman(
            input("particle_diameter / m"),
            input("interparticle_porosity / 1"),
            input("viscous constant / 1"),
        )
        .unwrap()
        .permeability(),
        ("isenthalpic", "temperature change") => {
            let state = at(fluid, input("temperature / K"), input("pressure / Pa"));
            let end = state.expand_to(input("outlet pressure / Pa")).unwrap();
            end.temperature() - state.temperature()
        }
        ("retention_sensitivity", output) => {
            let state = at(fluid, input("temperature / K"), input("pressure / Pa"));
            let slope = input("retention slope / (m3/kg)") * state.density();
            match output {
                "dln(retention_factor)/dp" => slope * state.isothermal_compressibility().unwrap(),
                _ => -slope * state.isobaric_expansivity().unwrap(),
            }
        }
        _ => unknown(example, output),
    }
}

#[test]
fn columns() {
    assert_examples("worked_column", computed);
}
