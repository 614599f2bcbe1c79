use proptest::prelude::*;

use super::PropertyTable;
use crate::quantity::Quantity;
use crate::state::Fluid;
use crate::{Error, Result};

const BOTH: [Quantity; 2] = [Quantity::Density, Quantity::DynamicViscosity];

fn co2() -> Fluid {
    Fluid::new("carbon dioxide").unwrap()
}

fn small() -> PropertyTable {
    PropertyTable::new(&co2(), &BOTH, [310.0, 330.0], [12e6, 30e6], 1e-6).unwrap()
}

/// Greatest error, over that allowed, of random states of a table.
fn greatest(table: &PropertyTable, fluid: &Fluid, count: u32) -> f64 {
    let between = |[low, high]: [f64; 2], place: f64| low + (high - low) * place;
    let mut greatest = 0.0_f64;
    for index in 0..count {
        let place = |step: f64| (f64::from(index) * step).fract();
        let temperature = between(table.temperature(), place(0.754_877_666_246_693));
        let pressure = between(table.pressure(), place(0.569_840_290_998_053));
        for (column, quantity) in table.quantities().enumerate() {
            let model = fluid.property(quantity, temperature, pressure).unwrap();
            let found = table.value(column, temperature, pressure).unwrap();
            let error = (found / model - 1.0).abs() / table.largest_error(column).unwrap();
            greatest = greatest.max(error);
        }
    }
    greatest
}

#[test]
fn random_states_are_within_the_stated_error() {
    let table = small();
    assert!(table.largest_error(0).unwrap() <= 1e-6);
    let greatest = greatest(&table, &co2(), 4000);
    assert!(greatest < 1.0, "{greatest}");
}

/// From the cold pump to the hot oven, beside the critical point.
/// `cargo test --release -p densepath-fluid table -- --ignored`
#[test]
#[ignore = "a campaign of minutes"]
fn wide_tables_are_within_the_stated_error() {
    let quantities = [
        Quantity::Density,
        Quantity::DynamicViscosity,
        Quantity::ThermalConductivity,
        Quantity::SpecificIsobaricHeatCapacity,
        Quantity::SpeedOfSound,
    ];
    // Along the critical isochore the equation itself is not smooth, most of all beside the critical point.
    for (quantities, lowest, tolerance) in [
        (&quantities[..], 8e6, 1e-4),
        (&quantities[..], 10e6, 1e-6),
        (&quantities[..2], 8e6, 1e-8),
    ] {
        let made = PropertyTable::new(
            &co2(),
            quantities,
            [270.0, 400.0],
            [lowest, 40e6],
            tolerance,
        );
        let table = made.unwrap();
        let greatest = greatest(&table, &co2(), 300_000);
        let (count, size) = (table.rectangle_count(), table.to_bytes().len());
        println!(
            "{tolerance:e}: {count} rectangles, {size} bytes, {greatest:.3} of the error stated"
        );
        assert!(greatest < 1.0);
    }
}

#[test]
fn a_blend_has_a_table_where_it_is_one_phase() {
    let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)]).unwrap();
    let quantities = [Quantity::Density];
    let of = |low| PropertyTable::new(&blend, &quantities, [313.15, 323.15], [low, 25e6], 1e-5);
    let table = of(15e6).unwrap();
    assert!(greatest(&table, &blend, 200) < 1.0);
    assert_eq!(table.fluid(), blend.name());
    let code = of(5e6).unwrap_err().code();
    assert!(code == 301 || code == 407, "{code}");
}

#[test]
fn every_limit_is_inside_and_nothing_beyond() {
    let table = small();
    for temperature in [310.0, 330.0] {
        for pressure in [12e6, 30e6] {
            let found = table.value(0, temperature, pressure).unwrap();
            let model = co2().density(temperature, pressure).unwrap();
            assert!((found / model - 1.0).abs() < 1e-6);
        }
    }
    for (temperature, pressure) in [
        (309.999, 20e6),
        (330.001, 20e6),
        (320.0, 11.999e6),
        (320.0, 31e6),
        (f64::NAN, 20e6),
        (320.0, f64::INFINITY),
        (40.0, 20e6),
    ] {
        let error = table.value(0, temperature, pressure).unwrap_err();
        assert_eq!(error.code(), 105, "{error}");
    }
    let error = table.value(0, 40.0, 20e6).unwrap_err();
    assert_eq!((error.min(), error.max()), (Some(310.0), Some(330.0)));
    assert!(error.to_string().contains("did you mean"), "{error}");
    assert_eq!(table.value(2, 320.0, 20e6).unwrap_err().code(), 104);
    assert_eq!(table.index_of(Quantity::DynamicViscosity), Ok(1));
    assert_eq!(
        table.index_of(Quantity::SpeedOfSound).unwrap_err().code(),
        202
    );
}

#[test]
fn lists_are_answered_element_by_element() {
    let table = small();
    let temperatures = [313.15, 400.0, 320.0, 305.0];
    let mut out = [0.0; 4];
    let failed = table.value_into(0, &temperatures, &[15e6; 4], &mut out);
    let failed = failed.unwrap_err();
    assert_eq!((failed.index, failed.error.code()), (1, 105));
    assert_eq!(out[2], table.value(0, 320.0, 15e6).unwrap());
    assert!(out[1].is_nan() && out[3].is_nan());
    let short = table.value_into(0, &temperatures, &[15e6; 3], &mut out);
    assert_eq!(short.unwrap_err().error.code(), 104);
}

#[test]
fn what_has_no_table_is_refused() {
    let of = |quantities: &[Quantity], temperature, pressure, tolerance| {
        PropertyTable::new(&co2(), quantities, temperature, pressure, tolerance)
    };
    let code = |made: Result<PropertyTable>| made.unwrap_err().code();
    let (warm, dense) = ([310.0, 320.0], [12e6, 20e6]);
    assert_eq!(code(of(&[], warm, dense, 1e-6)), 104);
    let twice = [Quantity::Density, Quantity::Density];
    assert_eq!(code(of(&twice, warm, dense, 1e-6)), 104);
    assert_eq!(code(of(&[Quantity::Length], warm, dense, 1e-6)), 104);
    for tolerance in [0.0, 1.0, 1e-12, f64::NAN] {
        assert_eq!(code(of(&BOTH, warm, dense, tolerance)), 104);
    }
    assert_eq!(code(of(&BOTH, [320.0, 310.0], dense, 1e-6)), 101);
    assert_eq!(code(of(&BOTH, [f64::NAN, 310.0], dense, 1e-6)), 101);
    assert_eq!(code(of(&BOTH, warm, [12e6, f64::INFINITY], 1e-6)), 101);
    assert_eq!(code(of(&BOTH, [310.0, 2500.0], dense, 1e-6)), 102);
    // The vapour pressure, and the critical point itself, lie inside.
    for region in [[280.0, 300.0], [300.0, 308.0]] {
        let error = of(&BOTH[..1], region, [3e6, 9e6], 1e-6).unwrap_err();
        assert!(matches!(error, Error::NoTable { .. }), "{error}");
    }
}

#[test]
fn bytes_read_back_as_the_same_table() {
    let table = small();
    let bytes = table.to_bytes();
    assert_eq!(PropertyTable::from_bytes(&bytes), Ok(table));
}

#[test]
fn damaged_bytes_are_refused() {
    let bytes = small().to_bytes();
    let code = |bytes: &[u8]| PropertyTable::from_bytes(bytes).unwrap_err().code();
    for length in 0..bytes.len().min(2000) {
        assert_eq!(code(&bytes[..length]), 611);
    }
    assert_eq!(code(&[&bytes[..], b"x"].concat()), 611);
    for index in (0..bytes.len()).step_by(7) {
        let mut damaged = bytes.clone();
        damaged[index] ^= 0x10;
        assert_eq!(code(&damaged), 611);
    }
}

/// Bytes whose checksum was made to fit, as someone with bad intent would.
fn sealed(mut bytes: Vec<u8>) -> Vec<u8> {
    let sum = super::bytes::checksum(&bytes);
    bytes.extend(sum.to_le_bytes());
    bytes
}

proptest! {
    /// Nothing that is made up leads to more than a refusal, or to a table that answers.
    #[test]
    fn made_up_bytes_do_no_harm(
        changes in prop::collection::vec((0_usize..1_000_000, any::<u8>()), 1..6),
        cut in 0_usize..100,
    ) {
        let mut bytes = small_bytes().to_vec();
        bytes.truncate(bytes.len() - 8);
        let early = 400.min(bytes.len());
        for (place, byte) in changes {
            // Most of it falls on the numbers that steer, at the front.
            let place = if place % 3 == 0 { place % bytes.len() } else { place % early };
            bytes[place] = byte;
        }
        bytes.truncate(bytes.len() - if cut > 90 { cut } else { 0 });
        match PropertyTable::from_bytes(&sealed(bytes)) {
            Ok(table) => {
                let [low, high] = table.temperature();
                let [least, most] = table.pressure();
                table.value(0, 0.5 * low + 0.5 * high, 0.5 * least + 0.5 * most).unwrap();
            }
            Err(error) => prop_assert_eq!(error.code(), 611),
        }
    }
}

fn small_bytes() -> &'static [u8] {
    static BYTES: std::sync::OnceLock<Vec<u8>> = std::sync::OnceLock::new();
    BYTES.get_or_init(|| small().to_bytes())
}
