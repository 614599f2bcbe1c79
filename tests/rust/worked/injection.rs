use super::{assert_examples, at, unknown};
use densepath::Fluid;
use densepath::flow::bands::{MIXED, PLUG, allowed_variance, largest_volume, peak_variance};
use densepath::flow::circular_area;
use densepath::flow::injection::{fill_loop, peak_fraction_behind_mixer, plug_time, split_ratio};
use densepath::hardware::SampleLoop;
use densepath_tests::Example;

/// Hold-up volume of the column of an example.
pub fn hold_up_volume(example: &Example) -> f64 {
    circular_area(example.input("column diameter / m")).unwrap()
        * example.input("column length / m")
        * example.input("total_porosity / 1")
}

/// Variance of the peak that leaves the column of an example.
pub fn column_variance(example: &Example) -> f64 {
    peak_variance(
        hold_up_volume(example),
        example.input("plate_number / 1"),
        example.input("retention_factor / 1"),
    )
    .unwrap()
}

fn plate_loss(example: &Example, output: &str) -> f64 {
    let share = || example.input("plate loss / 1");
    match output {
        "hold-up volume" => hold_up_volume(example),
        "volume_variance" => column_variance(example),
        "standard deviation of the peak volume" => column_variance(example).sqrt(),
        "extra-column volume_variance" => {
            allowed_variance(column_variance(example), share()).unwrap()
        }
        "largest plug volume" => largest_volume(column_variance(example), share(), PLUG).unwrap(),
        "largest mixed volume" => largest_volume(column_variance(example), share(), MIXED).unwrap(),
        _ => unknown(example, output),
    }
}

fn computed(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    let input = |key: &str| example.input(key);
    match (example.case.as_str(), output) {
        ("plate_loss", output) => plate_loss(example, output),
        ("split", "split ratio") => {
            split_ratio(input("rotor volume / m3"), input("column volume / m3")).unwrap()
        }
        ("split", "opening time") => {
            let area = circular_area(input("column diameter / m")).unwrap();
            let flow = area * input("velocity / (m/s)");
            plug_time(input("column volume / m3"), flow).unwrap()
        }
        ("loop", "filled fraction") => {
            let drawn = input("drawn volume over loop volume / 1");
            fill_loop(drawn, 1.0).unwrap().laminar_volume
        }
        ("loop", "volume to drain") => {
            let volume = input("loop volume / m3");
            let drawn = input("drawn volume over loop volume / 1") * volume;
            drawn - fill_loop(drawn, volume).unwrap().laminar_volume
        }
        ("plug", "passage time") => plug_time(
            input("injected volume / m3"),
            input("volume_flow_rate / (m3/s)"),
        )
        .unwrap(),
        ("plug", "peak fraction of the plug after mixing") => peak_fraction_behind_mixer(
            input("base fraction / 1"),
            input("injected volume / m3"),
            input("mixed volume / m3"),
        )
        .unwrap(),
        ("loop_vent", "gas volume") => {
            let volume = input("loop volume / m3");
            let phase = at(fluid, input("temperature / K"), input("pressure / Pa"));
            let sample_loop = SampleLoop::new(volume, volume).unwrap();
            sample_loop.vented_gas(&phase).unwrap()
        }
        _ => unknown(example, output),
    }
}

#[test]
fn injections() {
    assert_examples("worked_injection", computed);
}
