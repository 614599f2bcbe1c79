//! A solution as plain text of at most 100 columns.

use std::fmt::Write as _;

use fluid::error::significant;
use fluid::units::{
    BAR, GRAM_PER_MINUTE, HOUR, MICROMETRE, MILLIGRAM_PER_MINUTE, MILLILITRE_PER_MINUTE, to_celsius,
};
use fluid::{Notice, Quantity};

use super::table::Table;
use crate::fluid;
use crate::path::{BandBudget, ColumnSummary, Detection, Duty, PartFact, Solution, Station};

/// Width of the text in columns.
const WIDTH: usize = 100;

/// A solution as plain text: stations, columns, bands, duties, consumption, notices.
///
/// Pressures are absolute; the units stand above each column. Stations have temperature T, pressure p, density rho, viscosity eta,
/// volume flow rate `q_V`, velocity v and Reynolds number Re. Lines have at most 100 columns: sentences and the cells of tables are
/// broken at words, never within, so that a title or a name with a long word can make a line longer.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// let text = densepath::report::to_text(&solution);
/// assert!(text.contains("regulator") && text.contains("bar"));
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn to_text(solution: &Solution) -> String {
    let mut text = String::new();
    heading(&mut text, &solution.title);
    text.push_str(&wrap(&format!("{}, {}", solution.fluid, solution.model)));
    let _ = writeln!(
        text,
        "  pump {} bar(a), mass flow rate {}",
        significant(solution.delivery_pressure / BAR),
        mass_flow(solution.mass_flow_rate)
    );
    heading(&mut text, "Stations, at the outlet of each part");
    text.push_str(&stations(&solution.stations));
    for branch in &solution.branches {
        heading(&mut text, &format!("Branch of {}", branch.tee));
        text.push_str(&stations(&branch.stations));
    }
    for column in &solution.columns {
        heading(&mut text, &format!("Column: {}", column.name));
        text.push_str(&summary(column));
    }
    if let Some(bands) = &solution.bands {
        heading(&mut text, &format!("Band of {}", bands.solute));
        text.push_str(&budget(bands));
    }
    for detection in solution.detections.iter().skip(1) {
        text.push_str(&arrivals(detection));
    }
    heading(&mut text, "Heat and consumption");
    text.push_str(&duties(&solution.duties));
    text.push_str(&consumption(solution));
    heading(&mut text, "Parts");
    text.push_str(&facts(&solution.facts));
    heading(&mut text, "Notices");
    text.push_str(&notices(&solution.notices));
    text
}

fn heading(text: &mut String, title: &str) {
    let _ = writeln!(text, "\n{title}\n{}", "=".repeat(title.chars().count()));
}

/// A number with a fixed count of decimals, or a dash where there is none.
fn decimals(value: Option<f64>, count: usize) -> String {
    match value {
        Some(value) if value.is_finite() => format!("{value:.count$}"),
        Some(value) if !value.is_nan() => "any".to_owned(),
        _ => "-".to_owned(),
    }
}

fn figures(value: Option<f64>) -> String {
    let known = value.filter(|value| !value.is_nan());
    known.map_or("-".to_owned(), |value| {
        let magnitude = value.abs().max(f64::MIN_POSITIVE).log10().floor();
        if (-4.0..5.0).contains(&magnitude) {
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "between 0 and 7"
            )]
            let count = (3.0 - magnitude).max(0.0) as usize;
            format!("{value:.count$}")
        } else {
            format!("{value:.3e}")
        }
    })
}

/// A Reynolds number: whole where it is large, two figures where the flow creeps.
fn reynolds(value: Option<f64>) -> String {
    match value {
        Some(value) if value < 10.0 => format!("{value:.2}"),
        other => decimals(other, 0),
    }
}

/// Mass flow rate in the unit in which it is a handy number.
fn mass_flow(rate: f64) -> String {
    let (value, unit) = laboratory(Quantity::MassFlowRate, rate);
    format!("{} {unit}", significant(value))
}

fn stations(stations: &[Station]) -> String {
    let heading = [
        "station", "T", "p", "rho", "eta", "q_V", "v", "Re", "margin", "phase",
    ];
    let units = [
        "", "degC", "bar(a)", "kg/m3", "uPa s", "mL/min", "m/s", "", "bar", "",
    ];
    let mut table = Table::new(&heading, &units);
    for station in stations {
        let get = |quantity| station.get(quantity).ok();
        table.row(vec![
            station.name.clone(),
            decimals(Some(to_celsius(station.state.temperature())), 2),
            decimals(Some(station.state.pressure() / BAR), 3),
            figures(Some(station.state.density())),
            figures(get(Quantity::DynamicViscosity).map(|value| value / 1e-6)),
            figures(get(Quantity::VolumeFlowRate).map(|value| value / MILLILITRE_PER_MINUTE)),
            figures(get(Quantity::Velocity)),
            reynolds(get(Quantity::ReynoldsNumber)),
            decimals(get(Quantity::SinglePhaseMargin).map(|value| value / BAR), 1),
            phase(station),
        ]);
    }
    let is_mixed = stations.iter().any(|station| station.modifier.is_some());
    if is_mixed {
        format!("{}\n{}", table.render(WIDTH), fractions(stations))
    } else {
        table.render(WIDTH)
    }
}

/// The amount fraction x and the mass fraction w of the modifier at each station.
fn fractions(stations: &[Station]) -> String {
    let mut table = Table::new(&["station", "x", "w"], &["", "modifier", "modifier"]);
    for station in stations {
        let get = |quantity| decimals(station.get(quantity).ok(), 4);
        table.row(vec![
            station.name.clone(),
            get(Quantity::AmountFraction),
            get(Quantity::MassFraction),
        ]);
    }
    table.render(WIDTH)
}

fn phase(station: &Station) -> String {
    let solid = station.state.solid_fraction();
    let name = station.state.phase().name();
    if solid > 0.0 {
        format!("{name}, {:.1} % solid", 100.0 * solid)
    } else {
        name.to_owned()
    }
}

fn summary(column: &ColumnSummary) -> String {
    let mut table = Table::new(&["", "T", "p", "density"], &["", "degC", "bar(a)", "kg/m3"]);
    for (name, state) in [("inlet", &column.inlet), ("outlet", &column.outlet)] {
        table.row(vec![
            name.to_owned(),
            decimals(Some(to_celsius(state.temperature())), 2),
            decimals(Some(state.pressure() / BAR), 3),
            figures(Some(state.density())),
        ]);
    }
    format!(
        "{}  pressure drop {} bar, hold-up time {} s\n",
        table.render(WIDTH),
        significant(column.pressure_drop / BAR),
        significant(column.hold_up_time)
    )
}

fn budget(bands: &BandBudget) -> String {
    let mut table = Table::new(
        &["part", "time", "variance", "share", "bracket"],
        &["", "s", "s2", "%", "s2"],
    );
    for row in &bands.rows {
        table.row(vec![
            row.part.clone(),
            figures(Some(row.time)),
            figures(Some(row.time_variance)),
            decimals(Some(100.0 * row.share), 2),
            row.bracket.map_or(String::new(), |(low, high)| {
                format!("{low:.2e} to {high:.2e}")
            }),
        ]);
    }
    let sums = format!(
        "t_R {} s, t_M {} s, k {}; plates: column {}, with all parts {}",
        significant(bands.retention_time),
        significant(bands.hold_up_time),
        significant(bands.retention_factor),
        decimals(Some(bands.column_plate_number), 0),
        decimals(Some(bands.apparent_plate_number), 0)
    );
    table.render(WIDTH) + &wrap(&sums)
}

/// The band of the first solute at a detector other than the first of the main line, and what of the injected amount arrives there.
fn arrivals(detection: &Detection) -> String {
    let mut text = String::new();
    let arrives = format!(
        "{} % of what is injected arrives, in {} mL/min",
        significant(100.0 * detection.injected_share),
        significant(detection.volume_flow_rate / MILLILITRE_PER_MINUTE)
    );
    if let Some(bands) = detection.bands_of_solutes.first() {
        heading(
            &mut text,
            &format!("Band of {} at {}", bands.solute, detection.part),
        );
        text.push_str(&budget(bands));
        text.push_str(&wrap(&arrives));
    }
    text
}

fn duties(duties: &[Duty]) -> String {
    let mut table = Table::new(&["part", "heat into the fluid", "purpose"], &["", "W", ""]);
    for duty in duties {
        table.row(vec![
            duty.part.clone(),
            figures(Some(duty.heat_flow_rate)),
            duty.purpose.clone(),
        ]);
    }
    table.render(WIDTH)
}

fn consumption(solution: &Solution) -> String {
    let use_up = &solution.consumption;
    wrap(&format!(
        "{} g in 8 h; {} mL/min of gas let out (20 degC, 1 atm); the liquid in the cylinder lasts {} h",
        significant(use_up.mass_flow_rate * 1e3 * 8.0 * HOUR),
        significant(use_up.gas_volume_flow_rate / MILLILITRE_PER_MINUTE),
        significant(use_up.running_time / HOUR)
    ))
}

fn facts(facts: &[PartFact]) -> String {
    let mut table = Table::new(&["part", "result", "value", "unit"], &["", "", "", ""]);
    for PartFact { part, fact } in facts {
        let (value, unit) = laboratory(fact.quantity, fact.value);
        table.row(vec![
            part.clone(),
            fact.name.to_owned(),
            significant(value),
            unit.to_owned(),
        ]);
    }
    table.render(WIDTH)
}

/// A value in the unit of the laboratory, with the name of the unit; empty for the unit 1.
///
/// ```
/// use densepath::{Quantity, report::laboratory};
/// assert_eq!(laboratory(Quantity::Pressure, 150e5), (150.0, "bar"));
/// assert_eq!(laboratory(Quantity::SpecificEnthalpy, 250e3), (250.0, "kJ/kg"));
/// ```
pub fn laboratory(quantity: Quantity, value: f64) -> (f64, &'static str) {
    match quantity {
        Quantity::Temperature => (to_celsius(value), "degC"),
        Quantity::Pressure | Quantity::PressureDrop | Quantity::SinglePhaseMargin => {
            (value / BAR, "bar")
        }
        Quantity::SpecificEnthalpy => (value / 1e3, "kJ/kg"),
        Quantity::DynamicViscosity => (value / 1e-6, "uPa s"),
        Quantity::Volume => (value / 1e-9, "uL"),
        Quantity::VolumeFlowRate => (value / MILLILITRE_PER_MINUTE, "mL/min"),
        Quantity::MassFlowRate if value >= 0.1 * GRAM_PER_MINUTE => {
            (value / GRAM_PER_MINUTE, "g/min")
        }
        Quantity::MassFlowRate => (value / MILLIGRAM_PER_MINUTE, "mg/min"),
        Quantity::Time if value >= HOUR => (value / HOUR, "h"),
        Quantity::Diameter | Quantity::PlateHeight => (value / MICROMETRE, "um"),
        other if other.unit() == "1" => (value, ""),
        other => (value, other.unit()),
    }
}

fn notices(notices: &[Notice]) -> String {
    let mut text = String::new();
    for notice in notices {
        let place = if notice.station.is_empty() {
            String::new()
        } else {
            format!(" ({})", notice.station)
        };
        let label = format!("{}{place}: {}", notice.code.severity().name(), notice.text);
        text.push_str(&wrap(&label));
    }
    if notices.is_empty() {
        text.push_str("  none\n");
    }
    text
}

/// Words broken into lines, the later ones indented.
fn wrap(words: &str) -> String {
    let mut text = String::new();
    let mut line = String::from("  ");
    for word in words.split(' ') {
        if line.chars().count() + word.chars().count() > WIDTH {
            let _ = writeln!(text, "{}", line.trim_end());
            line = String::from("    ");
        }
        line.push_str(word);
        line.push(' ');
    }
    let _ = writeln!(text, "{}", line.trim_end());
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_broken_at_words() {
        let text = wrap(&"word ".repeat(60));
        assert!(text.lines().all(|line| line.chars().count() <= WIDTH));
        assert_eq!(text.split_whitespace().count(), 60);
    }

    #[test]
    fn no_line_is_longer_than_the_text() {
        for name in ["capillary", "packed", "packed_modifier"] {
            let method = crate::read_method_file(format!("../../tests/methods/{name}.toml"));
            let text = to_text(&method.and_then(|method| method.solve()).unwrap());
            let longest = text.lines().max_by_key(|line| line.chars().count());
            assert!(longest.unwrap().chars().count() <= WIDTH, "{longest:?}");
        }
    }

    #[test]
    fn numbers_keep_four_figures() {
        assert_eq!(figures(Some(780.2329)), "780.2");
        assert_eq!(figures(Some(1.23e-8)), "1.230e-8");
        assert_eq!(figures(None), "-");
    }
}
