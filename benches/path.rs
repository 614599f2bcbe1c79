//! Cost of a whole method: `cargo bench -p densepath-benches --bench path`.

#![allow(missing_docs, reason = "a program")]

use densepath::method::solve_many;
use densepath::{Method, read_method};
use divan::Bencher;

const PACKED: &str = include_str!("../tests/methods/packed.toml");
const WITH_MODIFIER: &str = include_str!("../tests/methods/packed_modifier.toml");
const CAPILLARY: &str = include_str!("../tests/methods/capillary.toml");

fn main() {
    divan::main();
}

fn method(text: &str) -> Method {
    read_method(text).expect("the example reads")
}

#[divan::bench]
fn read(bencher: Bencher) {
    bencher.bench(|| read_method(PACKED));
}

#[divan::bench]
fn solve_packed(bencher: Bencher) {
    let method = method(PACKED);
    bencher.bench(|| method.solve());
}

#[divan::bench]
fn solve_packed_with_modifier(bencher: Bencher) {
    let method = method(WITH_MODIFIER);
    bencher.bench(|| method.solve());
}

#[divan::bench]
fn solve_capillary(bencher: Bencher) {
    let method = method(CAPILLARY);
    bencher.bench(|| method.solve());
}

/// 200 methods with other settings of pump, oven and regulator, on all cores; `RAYON_NUM_THREADS=1` tells the cost on one.
#[divan::bench(sample_count = 10)]
fn solve_200_perturbed_methods(bencher: Bencher) {
    let methods: Vec<Method> = (0..200)
        .map(|index| {
            let shift = f64::from(index) / 200.0;
            let text = PACKED
                .replace("3.0 mL/min", &format!("{} mL/min", 2.8 + 0.4 * shift))
                .replace(
                    "\"150 bar\"",
                    &format!("\"{} bar\"", 140.0 + 20.0 * (7.0 * shift).fract()),
                )
                .replace(
                    "\"40 degC\"",
                    &format!("\"{} degC\"", 38.0 + 4.0 * (3.0 * shift).fract()),
                );
            method(&text)
        })
        .collect();
    bencher.bench(|| solve_many(&methods));
}
