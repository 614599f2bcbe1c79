//! Method documents with faults: read and solved, or refused by name.

use densepath::path::{Part, Pass, Watch};
use densepath::{Quantity, read_method};

use crate::Round;
use crate::balance::missing_energy;
use crate::chance::Chance;
use crate::tally::Tally;

const EXAMPLES: [&str; 4] = [
    include_str!("../../methods/packed.toml"),
    include_str!("../../methods/capillary.toml"),
    include_str!("../../methods/packed_modifier.toml"),
    BRANCHED,
];
/// A branch on a branch.
const BRANCHED: &str = concat!(
    include_str!("../../methods/packed.toml"),
    r#"
[[part]]
kind = "tube"
name = "transfer line"
branch_of = "cell tube"
diameter = "0.1 mm"
length = "0.5 m"

[[part]]
kind = "linear_restrictor"
name = "bleed"
branch_of = "cell tube"
diameter = "20 um"
length = "50 cm"
temperature = "150 degC"

[[part]]
kind = "tube"
name = "narrow line"
branch_of = "transfer line"
diameter = "50 um"
length = "0.5 m"

[[part]]
kind = "back_pressure_regulator"
name = "second regulator"
branch_of = "transfer line"
pressure = "140 bar"
outlet_temperature = "60 degC"
"#
);
/// Words that break readers.
const WORDS: [&str; 20] = [
    "nan",
    "inf",
    "-inf",
    "1e400",
    "-1",
    "\"\"",
    "\"150 bar\"",
    "\"40 degC\"",
    "[]",
    "{}",
    "[[[[[[",
    "\u{0}",
    "\u{202e}",
    "9999999999999999999999",
    "\"1e308 m\"",
    "true",
    "\"-3 mL/min\"",
    "=",
    "\"\"\"",
    "[part]",
];
/// Seconds after which a solve is stopped: long ones are refused by name, not slow.
const LIMIT: f64 = 0.8;
/// Relative error of a balance.
const CLOSED: f64 = 1e-8;
/// Relative rise of a pressure that is rounding: the last bits of each of a thousand steps of a march.
const ROUNDING: f64 = 2e-13;

pub fn rounds() -> Round {
    Box::new(|tally, chance| {
        let mut text = (*chance.one(&EXAMPLES)).to_owned();
        for _ in 0..=chance.index(4) {
            text = spoiled(&text, chance);
        }
        solve(tally, &text);
    })
}

/// A document with one more fault.
fn spoiled(text: &str, chance: &mut Chance) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let place = chance.index(lines.len());
    let Some(line) = lines.get_mut(place) else {
        return text.to_owned();
    };
    match chance.index(8) {
        0 => *line = value(line, chance.one::<&str>(&WORDS)),
        1 | 2 => *line = value(line, &format!("{:?}", chance.number(1e-9, 1e9))),
        3 => line.push_str(chance.one::<&str>(&WORDS)),
        4 => *line = line.chars().rev().collect(),
        5 => {
            let twin = line.clone();
            lines.insert(place, twin);
        }
        6 => drop(lines.remove(place)),
        _ => {
            let end = chance.index(text.len());
            return text.chars().take(end).collect();
        }
    }
    lines.join("\n")
}

/// A line with another value behind its key; the unit in a text stays.
fn value(line: &str, word: &str) -> String {
    let Some((key, old)) = line.split_once('=') else {
        return word.to_owned();
    };
    match old
        .trim()
        .strip_prefix('"')
        .and_then(|old| old.split_once(' '))
    {
        Some((_, unit)) if !word.contains('"') => format!("{key}= \"{word} {unit}"),
        _ => format!("{key}= {word}"),
    }
}

fn solve(tally: &mut Tally, text: &str) {
    let what = || format!("this document\n{text}\n---");
    let solution = tally.call(what, || {
        let mut method = read_method(text)?;
        method.path.watch = Watch::within(LIMIT)?;
        let solution = method.solve()?;
        Ok((method, solution))
    });
    let Some((method, solution)) = solution else {
        return;
    };
    for station in solution.all_stations() {
        for quantity in [Quantity::Temperature, Quantity::Pressure, Quantity::Density] {
            let value = station.get(quantity).unwrap_or(f64::NAN);
            let good = value.is_finite() && value > 0.0;
            tally.holds("what is positive is", good, || {
                format!("{quantity} {value}: {}", what())
            });
        }
        let flow = station.mass_flow_rate;
        tally.holds(
            "what is positive is",
            flow.is_finite() && flow > 0.0,
            || format!("mass flow {flow}: {}", what()),
        );
    }
    balances(tally, &method.path.parts, &solution.passes, &what);
}

/// The balances of all parts of a line and of its branches.
fn balances(tally: &mut Tally, parts: &[Part], passes: &[Pass], what: &dyn Fn() -> String) {
    for (part, pass) in parts.iter().zip(passes) {
        balance(tally, part, pass, what);
        balances(tally, &part.branch, &pass.branch, what);
    }
}

/// Mass and energy of every part but the pump of a modifier, which brings some in; and the pressure falls.
fn balance(tally: &mut Tally, part: &Part, pass: &Pass, what: &dyn Fn() -> String) {
    let (inlet, outlet) = (&pass.inlet, &pass.outlet.stream);
    let told = |off: f64| format!("{}: {off}: {}", pass.name, what());
    let rise = outlet.state.pressure() / inlet.state.pressure() - 1.0;
    tally.holds("pressure falls", rise <= ROUNDING, || told(rise));
    if pass.kind == "modifier_pump" {
        return;
    }
    let into_branch = pass.branch.first();
    let leaving =
        outlet.mass_flow_rate + into_branch.map_or(0.0, |first| first.inlet.mass_flow_rate);
    let kept = (leaving / inlet.mass_flow_rate - 1.0).abs();
    tally.holds("mass is kept", kept <= CLOSED, || told(kept));
    let missing = missing_energy(part, pass);
    tally.holds("energy is kept", missing <= CLOSED, || told(missing));
}
