use super::march::{packed_column, solute};
use super::{assert_examples, unknown};
use densepath::Fluid;
use densepath::hardware::{
    CountedAt, Cylinder, DetectorCell, GasDetector, LinearRestrictor, Mixer, OpenTubularColumn,
    ReciprocatingPump, SampleLoop, SetFlow, SuctionLine, SyringePump, Thermal, Tube, Vent,
    Withdrawal, regulator::BackPressureRegulator,
};
use densepath::path::{Named, Part, Path, Pump, Room, Solution, Source, Watch};
use densepath_tests::Example;

/// A cylinder at 25 degC with liquid, and a line that costs 1.5 bar: neither enters the results of the examples.
fn source(pump: Pump) -> Source {
    let cylinder = Cylinder::new(0.04, 24.0, Withdrawal::Liquid).unwrap();
    Source {
        cylinder: Named::new("cylinder", cylinder),
        cylinder_temperature: 298.15,
        suction_line: Named::new("suction line", SuctionLine::new(1.5e5).unwrap()),
        pump: Named::new("pump", pump),
    }
}

fn path(fluid: &Fluid, example: &Example, pump: Pump, parts: Vec<Part>) -> Path {
    Path {
        title: example.id.clone(),
        fluid: fluid.clone(),
        source: source(pump),
        parts,
        solutes: vec![solute(example)],
        room: Room::default(),
        watch: Watch::default(),
    }
}

/// A tube of the packed example, by the name of its inputs, at a temperature.
fn tube(example: &Example, name: &str, temperature: f64) -> Part {
    let tube = Tube::new(
        example.input(&format!("{name} diameter / m")),
        example.input(&format!("{name} length / m")),
        example.input("roughness / m"),
    );
    let isothermal = Thermal::Isothermal { temperature };
    Part::new(name, tube.unwrap().with_thermal(isothermal).unwrap())
}

/// The temperature that the example states for what follows the column: that of its outlet.
fn column_outlet_temperature(example: &Example) -> f64 {
    let mut results = example.results.iter();
    let found = results.find(|result| result.output == "column outlet temperature");
    found.unwrap().value
}

fn packed(fluid: &Fluid, example: &Example) -> Solution {
    let input = |key: &str| example.input(key);
    let flow = SetFlow::Volume(input("volume_flow_rate / (m3/s)"), CountedAt::Delivery);
    let pump = ReciprocatingPump::new(input("head temperature / K"), flow).unwrap();
    let injection = input("injection temperature / K");
    let mixer = Mixer::new(
        1e-9,
        input("mixer pressure loss / Pa"),
        Thermal::Isothermal {
            temperature: injection,
        },
    );
    let volume = input("injected volume / m3");
    let cell = DetectorCell::new(input("cell volume / m3"))
        .and_then(|cell| cell.with_time_constant(input("time constant / s")));
    let regulator = BackPressureRegulator::new(input("regulator pressure / Pa"))
        .and_then(|part| part.with_outlet_temperature(input("regulator outlet temperature / K")));
    let oven = input("oven temperature / K");
    let behind = column_outlet_temperature(example);
    let parts = vec![
        Part::new("mixer", mixer.unwrap()),
        Part::new("loop", SampleLoop::new(volume, volume).unwrap()),
        tube(example, "injector tube", injection),
        tube(example, "preheater", oven),
        Part::new("column", packed_column(example)),
        tube(example, "cell tube", behind),
        Part::new("cell", cell.unwrap()),
        tube(example, "regulator tube", behind),
        Part::new("regulator", regulator.unwrap()),
        Part::new("vent", Vent::new()),
    ];
    let pump = Pump::Reciprocating(pump);
    path(fluid, example, pump, parts).solve().unwrap()
}

fn capillary(fluid: &Fluid, example: &Example) -> Solution {
    let input = |key: &str| example.input(key);
    let temperature = input("temperature / K");
    let oven = Thermal::Isothermal { temperature };
    let pump = SyringePump::new(
        50e-6,
        input("pump temperature / K"),
        input("inlet pressure / Pa"),
    );
    let volume = input("injected volume / m3");
    let column = OpenTubularColumn::new(
        input("column diameter / m"),
        input("column length / m"),
        input("film_thickness / m"),
        input("film diffusion_coefficient / (m2/s)"),
    )
    .and_then(|column| column.with_thermal(oven));
    let restrictor = LinearRestrictor::new(
        input("restrictor diameter / m"),
        input("restrictor length / m"),
    )
    .and_then(|restrictor| restrictor.with_temperature(temperature));
    let heater = Mixer::new(1e-15, 0.0, oven).unwrap();
    let parts = vec![
        Part::new("oven inlet", heater),
        Part::new("valve", SampleLoop::new(volume, volume).unwrap()),
        Part::new("column", column.unwrap()),
        Part::new("restrictor", restrictor.unwrap()),
        Part::new("detector", GasDetector::new()),
    ];
    let pump = Pump::Syringe(pump.unwrap());
    path(fluid, example, pump, parts).solve().unwrap()
}

/// Pressure in Pa at the outlet of a part.
fn pressure_behind(solution: &Solution, part: &str) -> f64 {
    solution.station(part).unwrap().state.pressure()
}

fn variance(solution: &Solution, part: &str) -> f64 {
    let mut rows = solution.bands.as_ref().unwrap().rows.iter();
    rows.find(|row| row.part == part).unwrap().time_variance
}

fn common(solution: &Solution, example: &Example, output: &str) -> f64 {
    let bands = solution.bands.as_ref().unwrap();
    match output {
        "mass_flow_rate" => solution.mass_flow_rate,
        "column pressure_drop" => solution.columns[0].pressure_drop,
        "column time_variance" => variance(solution, "column"),
        "column plate_number" => bands.column_plate_number,
        "retention_time" | "retention_time in the column" => bands.retention_time,
        "hold_up_time of the column" => bands.hold_up_time,
        "apparent plate_number" | "apparent plate_number of the column time" => {
            bands.apparent_plate_number
        }
        _ => unknown(example, output),
    }
}

fn of_packed(solution: &Solution, example: &Example, output: &str) -> f64 {
    let time_constant = example.input("time constant / s").powi(2);
    match output {
        "pump pressure" => solution.delivery_pressure,
        "pressure_drop before the column" => {
            pressure_behind(solution, "loop") - pressure_behind(solution, "preheater")
        }
        "pressure_drop after the column" => {
            pressure_behind(solution, "column") - pressure_behind(solution, "regulator tube")
        }
        "column outlet temperature" => solution.station("column").unwrap().state.temperature(),
        "injection time_variance" => variance(solution, "loop"),
        "preheater time_variance" => variance(solution, "preheater"),
        "cell time_variance" => variance(solution, "cell") - time_constant,
        "time_constant time_variance" => time_constant,
        "regulator heat_flow_rate" => {
            let mut duties = solution.duties.iter();
            let duty = duties.find(|duty| duty.part == "regulator");
            duty.unwrap().heat_flow_rate
        }
        _ => common(solution, example, output),
    }
}

fn of_capillary(solution: &Solution, example: &Example, output: &str) -> f64 {
    match output {
        "injection time_variance" => variance(solution, "valve"),
        "column inlet velocity" => {
            let inlet = &solution.columns[0].profile[0];
            inlet.velocity
        }
        "gas volume_flow_rate" => solution.consumption.gas_volume_flow_rate,
        "pump volume_flow_rate" => {
            let station = solution.station("pump").unwrap();
            solution.mass_flow_rate / station.state.density()
        }
        _ => common(solution, example, output),
    }
}

#[test]
fn whole_instruments() {
    assert_examples("worked_path", |fluid, example, output| {
        match example.case.as_str() {
            "packed" => of_packed(&packed(fluid, example), example, output),
            _ => of_capillary(&capillary(fluid, example), example, output),
        }
    });
}
