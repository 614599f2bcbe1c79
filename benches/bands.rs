//! Cost of bands: `cargo bench -p densepath-benches --bench bands`.

#![allow(missing_docs, reason = "a program")]

use densepath::flow::peak::{Peak, Tail};
use densepath::flow::recording::{Sampling, record};
use densepath::hardware::{
    Diffusion, Element, PackedColumn, Retention, Solute, Stream, Surroundings, Thermal,
};
use densepath::{Fluid, State};
use divan::Bencher;

fn main() {
    divan::main();
}

/// 250 mm x 4.6 mm, 5 um, 3 mL/min, with a solute, adiabatic or at the temperature of an oven.
fn march(bencher: Bencher, thermal: Thermal) {
    let fluid = Fluid::new("carbon dioxide").expect("a substance");
    let inlet = Stream {
        state: State::from_tp(&fluid, 313.15, 177e5).expect("a state"),
        mass_flow_rate: 4.9e-5,
    };
    let solute = Solute {
        name: "solute".to_owned(),
        retention: Retention::Constant {
            retention_factor: 2.0,
        },
        diffusion: Diffusion::Constant {
            diffusion_coefficient: 1.1e-8,
        },
        melting_temperature: None,
        in_gas: None,
    };
    let surroundings = Surroundings {
        delivery_pressure: 2e7,
        room_temperature: 293.15,
        room_pressure: 101_325.0,
        solute: Some(&solute),
        carrier: "carbon dioxide",
        additives: &[],
    };
    let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)
        .and_then(|column| column.with_thermal(thermal))
        .expect("a column");
    bencher.bench(|| column.pass(&inlet, &surroundings));
}

#[divan::bench]
fn packed_column_adiabatic(bencher: Bencher) {
    march(bencher, Thermal::Adiabatic);
}

#[divan::bench]
fn packed_column_isothermal(bencher: Bencher) {
    march(
        bencher,
        Thermal::Isothermal {
            temperature: 313.15,
        },
    );
}

/// 50 peaks of 10,000 plates between one and ten minutes in 10,000 samples.
#[divan::bench]
fn chromatogram_of_50_peaks(bencher: Bencher) {
    let sampling = Sampling::new(0.0, 600.0, 16.665).expect("samples");
    let peaks: Vec<(Peak, f64)> = (0..50)
        .map(|index| {
            let time = 60.0 + 10.8 * f64::from(index);
            let tail = Tail {
                plug_width: 0.4,
                time_constant: 0.1,
            };
            let variance = time * time / 1e4 + tail.variance();
            (Peak::new(time, variance, tail).expect("a peak"), 1.0)
        })
        .collect();
    bencher.bench(|| record(&peaks, &sampling));
}
