use super::{assert_examples, at, counted_mass_flow, unknown};
use densepath::flow::packed_bed::PackedBed;
use densepath::flow::plate_height::PackedPlateHeight;
use densepath::flow::retention::Span;
use densepath::fluid::transport::diffusion::{Diffusing, DiffusionModel};
use densepath::hardware::{
    Diffusion, Element, OpenTubularColumn, Outlet, PackedColumn, Retention, Solute, Stream,
    Surroundings, Thermal,
};
use densepath::{Fluid, Result};
use densepath_tests::Example;

/// The solute of the examples; the span of its retention law is that of a fluid from gas to dense liquid.
pub fn solute(example: &Example) -> Solute {
    let retention = match example.inputs.get("retention_factor / 1") {
        Some(&retention_factor) => Retention::Constant { retention_factor },
        None => Retention::log_linear_in_density(
            example.input("retention intercept / 1"),
            -example.input("retention slope / (m3/kg)"),
            Span {
                min: 1.0,
                max: 1200.0,
            },
        )
        .unwrap(),
    };
    Solute {
        name: "naphthalene".to_owned(),
        retention,
        diffusion: Diffusion::Estimated {
            model: DiffusionModel::WilkeChang,
            solute: Diffusing {
                molar_volume: example.input("solute molar volume / (m3/mol)"),
                molar_mass: None,
            },
            factor: 1.0,
        },
        melting_temperature: None,
        in_gas: None,
    }
}

/// The packed column of an example, adiabatic.
pub fn packed_column(example: &Example) -> PackedColumn {
    let input = |key: &str| example.input(key);
    let (particle, porosity) = (
        input("particle_diameter / m"),
        input("interparticle_porosity / 1"),
    );
    assert_eq!(input("inertial constant / 1"), 1.75);
    let bed = PackedBed::ergun(particle, porosity, input("viscous constant / 1")).unwrap();
    PackedColumn::new(
        input("column diameter / m"),
        input("column length / m"),
        particle,
        porosity,
        input("total_porosity / 1"),
    )
    .unwrap()
    .with_bed(bed)
    .with_plate_height(PackedPlateHeight::Knox {
        eddy: input("plate height A / 1"),
        longitudinal: input("plate height B / 1"),
        transfer: input("plate height C / 1"),
    })
    .unwrap()
}

/// The inlet pressure at which a part has an outlet pressure, by bisection: it rises with that of the inlet, and an inlet too
/// low to pass the flow counts as an outlet too low.
fn inlet_pressure(outlet_pressure: f64, pass: impl Fn(f64) -> Result<Outlet>) -> f64 {
    let (mut low, mut high) = (outlet_pressure, outlet_pressure + 400e5);
    while high - low > 1e-10 * high {
        let middle = 0.5 * (low + high);
        let too_high =
            pass(middle).is_ok_and(|outlet| outlet.stream.state.pressure() > outlet_pressure);
        if too_high {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}

fn packed(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    let temperature = example.input("inlet temperature / K");
    let outlet_pressure = example.input("outlet pressure / Pa");
    let mass_flow_rate = counted_mass_flow(fluid, example);
    let thermal = match example.choice("thermal mode") {
        "isothermal" => Thermal::Isothermal { temperature },
        _ => Thermal::Adiabatic,
    };
    let column = packed_column(example).with_thermal(thermal).unwrap();
    let solute = solute(example);
    let surroundings = Surroundings {
        delivery_pressure: outlet_pressure,
        room_temperature: 293.15,
        room_pressure: 101_325.0,
        solute: Some(&solute),
        carrier: "carbon dioxide",
        additives: &[],
    };
    let pass = |pressure: f64| {
        let inlet = Stream {
            state: at(fluid, temperature, pressure),
            mass_flow_rate,
        };
        column.pass(&inlet, &surroundings)
    };
    let inlet = inlet_pressure(outlet_pressure, pass);
    let outlet = pass(inlet).unwrap();
    let band = outlet.band.unwrap();
    match output {
        "pressure_drop" => inlet - outlet_pressure,
        "outlet temperature" => outlet.stream.state.temperature(),
        "hold_up_time" => outlet.hold_up_time,
        "apparent retention_factor" => band.time / outlet.hold_up_time - 1.0,
        "apparent plate_number" => band.time * band.time / band.time_variance,
        "inlet density" => at(fluid, temperature, inlet).density(),
        "outlet density" => outlet.stream.state.density(),
        _ => unknown(example, output),
    }
}

fn open_tube_pressure_drop(fluid: &Fluid, example: &Example) -> f64 {
    let temperature = example.input("temperature / K");
    let diameter = example.input("column diameter / m");
    let state = at(fluid, temperature, example.input("inlet pressure / Pa"));
    let area = densepath::flow::circular_area(diameter).unwrap();
    let inlet = Stream {
        mass_flow_rate: area * example.input("inlet velocity / (m/s)") * state.density(),
        state,
    };
    let surroundings = Surroundings {
        delivery_pressure: inlet.state.pressure(),
        room_temperature: 293.15,
        room_pressure: 101_325.0,
        solute: None,
        carrier: "carbon dioxide",
        additives: &[],
    };
    let outlet = OpenTubularColumn::new(diameter, example.input("column length / m"), 0.0, 1e-10)
        .and_then(|column| column.with_thermal(Thermal::Isothermal { temperature }))
        .and_then(|column| column.pass(&inlet, &surroundings))
        .unwrap();
    inlet.state.pressure() - outlet.stream.state.pressure()
}

fn computed(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    match (example.case.as_str(), output) {
        ("packed", output) => packed(fluid, example, output),
        ("open_tube_pressure", "pressure_drop") => open_tube_pressure_drop(fluid, example),
        _ => unknown(example, output),
    }
}

#[test]
fn columns_along_their_length() {
    assert_examples("worked_column_march", computed);
}
