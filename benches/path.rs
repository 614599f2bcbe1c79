//! Cost of a whole method: `cargo bench -p densepath-benches --bench path`.

#![allow(missing_docs, reason = "a program")]

use densepath::{Method, read_method};
use divan::Bencher;

const PACKED: &str = include_str!("../tests/methods/packed.toml");
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
fn solve_capillary(bencher: Bencher) {
    let method = method(CAPILLARY);
    bencher.bench(|| method.solve());
}
