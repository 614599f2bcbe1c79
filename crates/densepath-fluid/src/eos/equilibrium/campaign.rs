//! Random states against a judge that compares every composition of a grid, and measured times.

use std::time::Instant;

use super::samples::{
    CARBON_DIOXIDE, HEXANE, METHANOL, WATER, carbon_dioxide_methanol, multi_fluid, peng_robinson,
};
use super::{flash, ln_ratios, stability};
use crate::eos::mixture::{Branch, MixtureIsotherm, MixtureModel, sampled_densities};
use crate::num::Amounts;

fn microseconds(repetitions: u32, mut run: impl FnMut()) -> f64 {
    let best = (0..5).map(|_| {
        let start = Instant::now();
        for _ in 0..repetitions {
            run();
        }
        start.elapsed().as_secs_f64() * 1e6 / f64::from(repetitions)
    });
    best.fold(f64::INFINITY, f64::min)
}

/// Prints the times of the steps of a flash at 313 K and 15 MPa for carbon dioxide with a tenth of methanol.
#[test]
#[ignore = "a measurement, not a check"]
fn times() {
    let cubic = peng_robinson(&[CARBON_DIOXIDE, METHANOL], &[0.0583]);
    let multi = carbon_dioxide_methanol();
    let models: [(&dyn MixtureModel, u32); 2] = [(&cubic, 2000), (&multi, 20)];
    for (model, n) in models {
        for p in [15e6, 6e6] {
            let x = [0.9, 0.1];
            let at = microseconds(n, || {
                std::hint::black_box(model.at(313.0, &x));
            });
            let isotherm = model.at(313.0, &x);
            let eval = microseconds(n, || {
                std::hint::black_box(isotherm.density_derivatives(15000.0));
            });
            let sampled = microseconds(n, || {
                std::hint::black_box(sampled_densities(isotherm.as_ref(), p).unwrap());
            });
            let densities = microseconds(n, || {
                std::hint::black_box(isotherm.densities(p).unwrap());
            });
            let potentials = microseconds(n, || {
                std::hint::black_box(isotherm.potentials(15000.0));
            });
            println!(
                "{} {p:e} Pa: at {at:.3}, derivatives {eval:.3}, sampled {sampled:.2}, densities {densities:.2}, potentials {potentials:.3}",
                model.name()
            );
            let stable = microseconds(n / 10, || {
                std::hint::black_box(stability(model, 313.0, p, &x).unwrap());
            });
            let flashed = microseconds(n / 10, || {
                std::hint::black_box(flash(model, 313.0, p, &x).unwrap());
            });
            println!("  stability {stable:.1}, flash {flashed:.1} us");
        }
    }
}

/// Pseudo-random numbers between 0 and 1 that are the same at every run (Steele, Lea and Flood, Proc. OOPSLA 2014, 453,
/// doi 10.1145/2660193.2660195: SplitMix64).
struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

/// Compositions of two substances: even steps, and by powers of ten towards both pure substances.
fn line() -> Vec<Amounts> {
    let even = (1..400).map(|k| f64::from(k) / 400.0);
    let thin = (6..64).map(|k| 10f64.powf(-0.125 * f64::from(k) - 2.0));
    let ends = thin.clone().chain(thin.map(|x| 1.0 - x));
    let fractions = even.chain(ends);
    fractions
        .map(|x| Amounts::from_slice(&[1.0 - x, x]))
        .collect()
}

/// Compositions of three substances: even steps over the triangle, and by powers of ten towards its sides.
fn triangle() -> Vec<Amounts> {
    let steps = 36;
    let even = |k: u32| f64::from(k) / f64::from(steps);
    let inside = (1..steps).flat_map(|i| (1..steps - i).map(move |j| (even(i), even(j))));
    let mut grid: Vec<Amounts> = inside
        .map(|(x, y)| Amounts::from_slice(&[x, y, 1.0 - x - y]))
        .collect();
    for exponent in 2..8 {
        let trace = 10f64.powi(-exponent);
        for k in 1..steps {
            let rest = [(1.0 - trace) * even(k), (1.0 - trace) * (1.0 - even(k))];
            for side in 0..3 {
                let mut x = Amounts::from_slice(&rest);
                x.insert(side, trace);
                grid.push(x);
            }
        }
    }
    grid
}

/// Potentials `ln x_i + ln phi_i` of a composition at the stable root of its density.
fn potentials(isotherm: &mut dyn MixtureIsotherm, p: f64, x: &[f64]) -> Amounts {
    isotherm.recompose(x);
    let rho = isotherm.molar_density(p, Branch::Stable).unwrap();
    let phi = isotherm.ln_fugacity_coefficients(rho, p);
    x.iter().zip(phi).map(|(x, phi)| x.ln() + phi).collect()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// What a campaign counts.
#[derive(Debug, Default)]
struct Count {
    states: u32,
    split: u32,
    missed: u32,
    refused: u32,
    false_split: u32,
    unsettled: u32,
    three_phases: u32,
    evaluations: u32,
    most_evaluations: u32,
}

/// Tests a state and parts it; every composition of the grid, with its energy, is a judge of both.
fn judge(
    model: &dyn MixtureModel,
    (t, p): (f64, f64),
    z: &[f64],
    grid: &[(&Amounts, f64)],
    count: &mut Count,
) {
    let lowest = |own: &[f64]| {
        let distances = grid.iter().map(|(x, g)| g - dot(x, own));
        distances.fold(f64::INFINITY, f64::min)
    };
    let mut isotherm = model.at(t, z);
    let test = stability(model, t, p, z).unwrap();
    count.states += 1;
    count.evaluations += test.evaluations;
    count.most_evaluations = count.most_evaluations.max(test.evaluations);
    count.unsettled += test.unsettled;
    let report = |what: &str, by: f64| {
        println!("{what} by {by:e}: {t} K, {p} Pa, {z:?}, {test:?}, {model:?}");
    };
    let distance = lowest(&potentials(isotherm.as_mut(), p, z));
    if test.is_stable() {
        if distance < -1e-9 {
            count.missed += 1;
            report("missed", distance);
        }
        return;
    }
    count.split += 1;
    let trial = &test.trial.as_ref().unwrap().fractions;
    let there = potentials(isotherm.as_mut(), p, trial);
    let here = potentials(isotherm.as_mut(), p, z);
    let tangent = dot(trial, &there) - dot(trial, &here);
    if tangent > -1e-12 {
        count.false_split += 1;
        report("false", tangent);
    }
    match flash(model, t, p, z) {
        Err(error) => {
            count.refused += 1;
            report(&format!("{error:?}"), distance);
        }
        Ok(found) => {
            count.three_phases += u32::from(found.phases.len() > 2);
            for phase in &found.phases {
                let distance = lowest(&potentials(isotherm.as_mut(), p, &phase.fractions));
                if distance < -1e-7 {
                    count.missed += 1;
                    report("not least", distance);
                }
            }
        }
    }
}

/// States of one mixture at a temperature and a pressure.
fn judge_all(
    model: &dyn MixtureModel,
    (t, p): (f64, f64),
    compositions: &[Amounts],
    states: &[Amounts],
    count: &mut Count,
) {
    let Some(first) = compositions.first() else {
        return;
    };
    let mut isotherm = model.at(t, first);
    let mut grid = Vec::with_capacity(compositions.len());
    for x in compositions {
        grid.push((x, dot(x, &potentials(isotherm.as_mut(), p, x))));
    }
    for z in states {
        judge(model, (t, p), z, &grid, count);
    }
}

/// States of two substances, thin mixtures of both kinds too.
fn of_two(random: &mut Random) -> Vec<Amounts> {
    let states = (0..5).map(|k| {
        let z = match k {
            0 => 10f64.powf(random.between(-6.0, -1.0)),
            1 => 1.0 - 10f64.powf(random.between(-6.0, -1.0)),
            _ => random.between(0.01, 0.99),
        };
        Amounts::from_slice(&[1.0 - z, z])
    });
    states.collect()
}

/// States of three substances, of which the first has a trace of one of them.
fn of_three(random: &mut Random) -> Vec<Amounts> {
    let states = (0..5).map(|k| {
        let mut z: Amounts = (0..3).map(|_| random.between(0.01, 1.0)).collect();
        if k == 0 {
            let pick = 3.0 * random.next();
            let scarce = usize::from(pick >= 1.0) + usize::from(pick >= 2.0);
            z[scarce] = 10f64.powf(random.between(-6.0, -2.0));
        }
        super::normalized(&z)
    });
    states.collect()
}

/// Random states of random pairs and of pairs of types I to III; the number of models sets the length.
fn campaign(models: usize, seed: u64) -> Count {
    let known = [
        ([CARBON_DIOXIDE, METHANOL], 0.0583),
        ([CARBON_DIOXIDE, WATER], 0.0952),
        ([CARBON_DIOXIDE, HEXANE], 0.11),
        ([HEXANE, WATER], 0.5),
    ];
    let mut random = Random(seed);
    let mut count = Count::default();
    let compositions = line();
    for index in 0..models {
        let invented = [0, 1].map(|_| invented(&mut random));
        let invented = (invented, random.between(-0.15, 0.3));
        let (pair, k) = known.get(index % 8).copied().unwrap_or(invented);
        let model = peng_robinson(&pair, &[k]);
        for _ in 0..5 {
            let t = random.between(0.45, 1.3) * pair[0].0.min(pair[1].0 * 0.8).max(200.0);
            let p = 10f64.powf(random.between(4.5, 7.8));
            let states = of_two(&mut random);
            judge_all(&model, (t, p), &compositions, &states, &mut count);
        }
    }
    count
}

/// Critical temperature in K, critical pressure in Pa and acentric factor of a substance by chance.
fn invented(random: &mut Random) -> (f64, f64, f64) {
    let t = random.between(120.0, 700.0);
    (t, random.between(2e6, 2e7), random.between(-0.05, 0.7))
}

/// Random states of random mixtures of three, and of carbon dioxide with what is used beside it: a modifier and water, a
/// hydrocarbon and water, whose liquids part; interactions in the order 01, 02, 12.
fn campaign_of_three(models: usize, seed: u64) -> Count {
    let known = [
        ([CARBON_DIOXIDE, METHANOL, WATER], [0.0583, 0.0952, -0.07]),
        ([CARBON_DIOXIDE, HEXANE, WATER], [0.11, 0.0952, 0.5]),
        ([CARBON_DIOXIDE, METHANOL, HEXANE], [0.0583, 0.11, 0.05]),
    ];
    let mut random = Random(seed);
    let mut count = Count::default();
    let compositions = triangle();
    for index in 0..models {
        let chance = [0, 1, 2].map(|_| invented(&mut random));
        let interactions = [0, 1, 2].map(|_| random.between(-0.15, 0.3));
        let (substances, k) = known
            .get(index % 6)
            .copied()
            .unwrap_or((chance, interactions));
        let model = peng_robinson(&substances, &k);
        for _ in 0..4 {
            let coldest = substances
                .iter()
                .fold(f64::INFINITY, |t: f64, s| t.min(s.0));
            let t = random.between(0.6, 1.5) * coldest.max(220.0);
            let p = 10f64.powf(random.between(4.5, 7.8));
            let states = of_three(&mut random);
            judge_all(&model, (t, p), &compositions, &states, &mut count);
        }
    }
    count
}

/// The same for multi-fluid equations of substances alike enough that none is asked deep within its own dome.
fn multi_fluid_campaign(states: usize, seed: u64) -> Count {
    let models = [
        (
            multi_fluid(["nitrogen", "oxygen"], [1.0, 1.0, 1.0, 1.0]),
            85.0,
            150.0,
        ),
        (
            multi_fluid(["ethane", "propane"], [1.0, 1.0, 1.0, 1.0]),
            250.0,
            365.0,
        ),
        (
            multi_fluid(["n-pentane", "n-hexane"], [1.0, 1.0, 1.0, 1.0]),
            360.0,
            500.0,
        ),
    ];
    let mut random = Random(seed);
    let mut count = Count::default();
    let compositions = line();
    for (model, low, high) in models.iter().cycle().take(states) {
        let t = random.between(*low, *high);
        // Between the estimated vapour pressures of both, and a little beyond.
        let ends = ln_ratios(model, t, 1.0);
        let (least, most) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let p = random.between(least - 0.2, most + 0.2).exp();
        let states = of_two(&mut random);
        judge_all(model, (t, p), &compositions, &states, &mut count);
    }
    count
}

fn assert_sure(count: &Count) {
    let wrong = (
        count.missed,
        count.refused,
        count.false_split,
        count.unsettled,
    );
    assert_eq!(wrong, (0, 0, 0, 0), "{count:?}");
}

/// No split of random pairs is missed, and none is seen where there is none.
#[test]
fn random_states_part_as_the_grid_says() {
    let count = campaign(16, 1);
    assert_sure(&count);
    assert!(count.split > 50 && count.states == 400, "{count:?}");
}

#[test]
fn random_states_of_the_multi_fluid_part_as_the_grid_says() {
    let count = multi_fluid_campaign(40, 3);
    assert_sure(&count);
    assert!(count.split > 4 && count.states == 200, "{count:?}");
}

#[test]
fn random_states_of_three_substances_part_as_the_grid_says() {
    let count = campaign_of_three(12, 5);
    assert_sure(&count);
    assert!(
        count.split > 50 && count.three_phases > 0 && count.states == 240,
        "{count:?}"
    );
}

/// The same at length. Run with `cargo nextest run -p densepath-fluid --run-ignored all -E 'test(many_random_states)'`.
#[test]
#[ignore = "takes minutes"]
fn many_random_states_part_as_the_grid_says() {
    for count in [
        campaign(800, 2),
        multi_fluid_campaign(600, 4),
        campaign_of_three(1200, 6),
    ] {
        println!("{count:?}");
        assert_sure(&count);
    }
}
