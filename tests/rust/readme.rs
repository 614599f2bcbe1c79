//! The examples of the README: the Rust one is run here; the C one is the example that the C tests compile and run. The
//! Python one is run by the Python tests.

use std::path::Path;

/// The example, with the names it uses on its own.
mod example {
    include!("readme_example.rs");

    pub fn run() -> Result<(), densepath::Error> {
        main()
    }
}

const README: &str = include_str!("../../README.md");

/// The code of the first block in a language.
fn block(language: &str) -> &'static str {
    let start = format!("```{language}\n");
    let (_, rest) = README.split_once(&start).unwrap();
    rest.split_once("```").unwrap().0
}

#[test]
fn the_rust_example_runs() {
    assert_eq!(block("rust"), include_str!("readme_example.rs"));
    std::env::set_current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("..")).unwrap();
    example::run().unwrap();
}

#[test]
fn the_c_example_is_the_one_that_is_compiled_and_run() {
    let source = include_str!("../../bindings/c/examples/density.c");
    assert!(source.ends_with(block("c")));
}

#[test]
fn the_output_shown_is_that_of_today() {
    let document = include_str!("../methods/packed.toml");
    let solution = densepath::read_method(document).unwrap().solve().unwrap();
    let printed = densepath::report::to_text(&solution);
    for line in block("text").lines() {
        let shown = printed
            .lines()
            .any(|other| other.trim_end() == line.trim_end());
        assert!(shown, "{line}");
    }
}
