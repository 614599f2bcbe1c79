//! Methods made by chance from the invented examples: each is solved, and its answer is then right by mass and energy, or refused by
//! name.

mod balance;

use std::time::{Duration, Instant};

use balance::missing_energy;
use densepath::path::{Part, Station, Watch};
use densepath::{Error, Method, NoticeCode, Quantity, Solution, read_method};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

const PACKED: &str = include_str!("../methods/packed.toml");
const CAPILLARY: &str = include_str!("../methods/capillary.toml");
const MODIFIED: &str = include_str!("../methods/packed_modifier.toml");

/// Relative error of a balance.
const CLOSED: f64 = 1e-8;
/// Share of the inputs that are changed in a method.
const CHANGED: f64 = 0.4;

/// A number of a uniform distribution in [0, 1[.
fn uniform(random: &mut ChaCha8Rng) -> f64 {
    (random.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
}

/// A value near another one: within 15 K for temperatures, a tenth for shares, a factor 2 for all else.
fn near(value: f64, quantity: Quantity, random: &mut ChaCha8Rng) -> f64 {
    let aside = 2.0 * uniform(random) - 1.0;
    match quantity {
        Quantity::Temperature => value + 15.0 * aside,
        _ if quantity.unit() == "1" => value * (1.0 + 0.1 * aside),
        _ => value * (aside * std::f64::consts::LN_2).exp(),
    }
}

/// A method in which some of the values that a document states are others.
fn varied(method: &Method, random: &mut ChaCha8Rng) -> Result<Method, Error> {
    let inputs = method.inputs()?;
    let mut changes = Vec::new();
    for input in &inputs {
        if let Some(value) = input.value.filter(|_| uniform(random) < CHANGED) {
            changes.push((input, near(value, input.quantity, random)));
        }
    }
    method.with(&changes)
}

/// What became of many methods.
#[derive(Debug, Default)]
struct Tally {
    solved: usize,
    refused: std::collections::BTreeMap<i32, usize>,
    longest: Duration,
    /// Most marches and trials of flows into branches of one method.
    most_marches: usize,
}

impl Tally {
    fn run(&mut self, document: &str, count: u32, seed: u64) {
        let method = read_method(document).unwrap();
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        for number in 0..count {
            let start = Instant::now();
            let made = varied(&method, &mut random);
            let watch = Watch::new();
            let answer = made.and_then(|mut made| {
                made.path.watch = watch.clone();
                let solution = made.solve()?;
                Ok((made, solution))
            });
            self.longest = self.longest.max(start.elapsed());
            self.most_marches = self.most_marches.max(watch.asked());
            match answer {
                Ok((made, solution)) => {
                    self.solved += 1;
                    check(&made, &solution, number);
                    check_margins(&made, &solution);
                    check_again(&made, &solution);
                }
                Err(error) => {
                    let code = error.root().code();
                    assert!(code < 900, "method {number} of {}: {error}", method.title);
                    *self.refused.entry(code).or_default() += 1;
                }
            }
        }
    }
}

/// The answer is finite, its masses and energies balance, and the pressure falls along the path.
fn check(method: &Method, solution: &Solution, number: u32) {
    let told = || format!("method {number}: {}", method.document());
    for station in &solution.stations {
        let state = &station.state;
        for value in [
            state.temperature(),
            state.pressure(),
            state.density(),
            state.specific_enthalpy(),
            station.mass_flow_rate,
        ] {
            assert!(value.is_finite(), "{} {}", station.name, told());
        }
    }
    for fact in &solution.facts {
        assert!(!fact.fact.value.is_nan(), "{} {}", fact.fact.name, told());
    }
    for bands in &solution.bands_of_solutes {
        let good = |value: f64| value.is_finite() && value > 0.0;
        assert!(
            good(bands.time_variance) && good(bands.retention_time),
            "{}",
            told()
        );
        let rows: f64 = bands.rows.iter().map(|row| row.time_variance).sum();
        assert!(
            (rows / bands.time_variance - 1.0).abs() < CLOSED,
            "{}",
            told()
        );
    }
    for (part, pass) in method.path.parts.iter().zip(&solution.passes) {
        let (inlet, outlet) = (&pass.inlet, &pass.outlet.stream);
        assert!(
            outlet.state.pressure() <= inlet.state.pressure(),
            "{} {}",
            pass.name,
            told()
        );
        // The pump of a modifier brings mass and work in; no example splits its injection.
        if pass.kind != "modifier_pump" {
            let kept = (outlet.mass_flow_rate / inlet.mass_flow_rate - 1.0).abs();
            assert!(kept < CLOSED, "{} {kept} {}", pass.name, told());
            let missing = missing_energy(part, pass);
            assert!(missing < CLOSED, "{} {missing} {}", pass.name, told());
        }
    }
}

/// A second phase that comes nearer than 5 bar is told, and no other; the margins of all stations are sought for it, of which a solution
/// seeks none where it knows that they are wide.
fn check_margins(method: &Method, solution: &Solution) {
    let told = || method.document().to_owned();
    let held = |part: &&Part| !part.element.holds_pressure();
    let dense = 3..3 + method.path.parts.iter().take_while(held).count();
    let margins = solution.stations[dense].iter();
    let margins = margins.filter_map(Station::single_phase_margin);
    let is_near = margins.map(f64::abs).any(|margin| margin < 5e5);
    let mut codes = solution.notices.iter().map(|notice| notice.code);
    let is_told = codes.any(|code| code == NoticeCode::ThinMargin);
    assert_eq!(is_near, is_told, "{}", told());
}

/// What a method has learned in one solution changes nothing in the next.
fn check_again(method: &Method, solution: &Solution) {
    let again = method.solve().unwrap();
    for (one, other) in solution.stations.iter().zip(&again.stations) {
        let of = |station: &Station| {
            let state = &station.state;
            [state.temperature(), state.pressure(), state.density()].map(f64::to_bits)
        };
        assert_eq!(of(one), of(other), "{} {}", one.name, method.document());
    }
}

fn print(tally: &Tally, of: &str) {
    println!(
        "{of}: {} solved, refused {:?}, longest {:.3} s, most marches {}",
        tally.solved,
        tally.refused,
        tally.longest.as_secs_f64(),
        tally.most_marches
    );
}

#[test]
fn methods_made_by_chance_are_solved_or_refused_by_name() {
    let mut tally = Tally::default();
    tally.run(PACKED, 60, 1);
    tally.run(CAPILLARY, 60, 2);
    tally.run(MODIFIED, 12, 3);
    print(&tally, "all instruments");
    assert!(tally.solved > 60);
}

/// The campaign; its figures stand in DEVELOPERS.md.
#[test]
#[ignore = "a campaign of minutes: cargo test --release -p densepath-tests --test random_methods -- --ignored --nocapture"]
fn two_thousand_methods_made_by_chance() {
    for (document, of, count) in [
        (PACKED, "packed column", 900),
        (CAPILLARY, "capillary", 900),
        (MODIFIED, "packed column with modifier", 200),
    ] {
        let mut tally = Tally::default();
        tally.run(document, count, 20_261_125);
        print(&tally, of);
        assert!(tally.solved > 0);
    }
}
