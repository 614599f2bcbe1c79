//! The independently computed examples, within the tolerance of their class.

mod blend;
mod column;
mod cylinder;
mod detector;
mod expansion;
mod flash;
mod injection;
mod march;
mod path;
mod pump;
mod restrictor;
mod safety;
mod state;
mod tube;

use densepath::{Fluid, State};
use densepath_tests::{Example, Examples, names, read};

/// Relative deviation of a computed value; the value itself where zero is expected.
fn deviation(computed: f64, expected: f64) -> f64 {
    if expected == 0.0 {
        computed.abs()
    } else {
        (computed / expected - 1.0).abs()
    }
}

/// Fails with every result of the file that is outside its tolerance.
fn assert_examples(name: &str, computed: impl Fn(&Fluid, &Example, &str) -> f64) {
    let file: Examples = read(name);
    let fluid = Fluid::new(&file.fluid).unwrap();
    let mut failures = Vec::new();
    for example in &file.examples {
        for expected in &example.results {
            let value = computed(&fluid, example, &expected.output);
            let relative = file.tolerances[&expected.tolerance].relative;
            let found = deviation(value, expected.value);
            if found.is_nan() || found > relative {
                failures.push(format!(
                    "{}, {}: {value} instead of {}: {found:.1e} is over {relative:.0e}",
                    example.id, expected.output, expected.value
                ));
            }
        }
    }
    assert!(failures.is_empty(), "{name}\n{}", failures.join("\n"));
}

/// A case or result that the runner of its file does not know.
fn unknown(example: &Example, output: &str) -> f64 {
    panic!("{}: no calculation of {output}", example.id)
}

fn at(fluid: &Fluid, temperature: f64, pressure: f64) -> State {
    State::from_tp(fluid, temperature, pressure).unwrap()
}

fn density(fluid: &Fluid, temperature: f64, pressure: f64) -> f64 {
    at(fluid, temperature, pressure).density()
}

/// Mass flow rate of a volume flow rate that is counted at a stated temperature and pressure.
fn counted_mass_flow(fluid: &Fluid, example: &Example) -> f64 {
    let temperature = example.input("counting temperature / K");
    let pressure = example.input("counting pressure / Pa");
    example.input("volume_flow_rate / (m3/s)") * density(fluid, temperature, pressure)
}

#[test]
fn every_file_is_well_formed() {
    for name in names(|name| name.starts_with("worked")) {
        let file: Examples = read(&name);
        assert!(!file.examples.is_empty(), "{name}");
        for example in &file.examples {
            let stem = example.id.rsplit_once('-').map(|(stem, _)| stem);
            assert_eq!(stem, Some(example.case.as_str()));
            for expected in &example.results {
                assert!(file.tolerances.contains_key(&expected.tolerance));
                assert!(expected.value.is_finite(), "{}", example.id);
            }
        }
    }
}
