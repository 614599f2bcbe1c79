//! The fit of one substance: from its data to the record and to the report of deviations.

use std::collections::BTreeMap;
use std::fmt::Write;

use densepath_fluid::Fluid;
use densepath_fluid::consts::MOLAR_GAS_CONSTANT;
use densepath_fluid::eos::{Coexistence, Helmholtz, Isotherm};

use super::ancillary;
use super::equation::{self, Equation, Kind, Stage, Target, density};
use super::ideal;
use super::measurement::{Definition, Measurement, Quantity};

/// A paper never counts as more than so many measurements of one quantity.
const MOST: f64 = 20.0;

/// The papers of one quantity.
type Key = (Quantity, String);

/// Points with their deviations for each quantity, source and use.
type Sets<'a> = BTreeMap<(Quantity, String, &'a str), Vec<([f64; 3], f64)>>;

/// An equation with what it was fitted to.
pub struct Fitted {
    pub definition: Definition,
    pub measurements: Vec<Measurement>,
    pub equation: Equation,
}

/// Fits the equation of the substance whose data lie in `data/pure`.
pub fn fit(name: &str) -> Result<Fitted, String> {
    let definition = Definition::read(name)?;
    let measurements = definition.measurements()?;
    let oscillators = ideal::fit(&definition.ideal_gas)?;
    let text = |error: densepath_fluid::Error| error.to_string();
    let relative = Fluid::new(&definition.relative).map_err(text)?;
    let relative = relative.record().map_err(text)?;
    let relative = relative.reference_equation().map_err(text)?;
    let mut equation = Equation::conformal(&definition, relative, &oscillators);
    let mut start = (
        equation.coefficients().to_vec(),
        equation.exponents().to_vec(),
    );
    let mut spread = BTreeMap::new();
    let stages = stages(&definition);
    for (index, stage) in stages.iter().enumerate() {
        if index + 1 == stages.len() {
            start.1 = equation.exponents().to_vec();
        }
        let targets = targets(&definition, &measurements, &spread);
        equation = equation::fit(&equation, (&start.0, &start.1), &targets, *stage)?;
        spread = spreads(&equation, &measurements);
    }
    equation.round();
    Ok(Fitted {
        definition,
        measurements,
        equation,
    })
}

/// First the coefficients alone, then the exponents with them, at last the coefficients on the exact critical point. The
/// spread of each paper follows from the stage before.
fn stages(definition: &Definition) -> Vec<Stage> {
    /// A pull that holds the exponents.
    const HELD: f64 = 1e4;
    let stage = |exponents, critical, shape| Stage {
        adherence: definition.adherence,
        exponents,
        critical,
        shape,
    };
    let (free, shape) = (definition.exponent_adherence, definition.shape);
    vec![
        stage(HELD, 1e-4, 0.01 * shape),
        stage(HELD, 1e-4, 0.03 * shape),
        stage(HELD, 1e-4, 0.1 * shape),
        stage(free, 1e-3, 0.03 * shape),
        stage(free, 1e-3, 0.1 * shape),
        stage(free, 1e-3, 0.2 * shape),
        stage(free, 1e-3, 0.5 * shape),
        stage(free, 1e-3, shape),
        stage(free, 1e-3, shape),
        stage(free, 1e-4, shape),
        stage(free, 1e-4, shape),
        stage(HELD, 1e-7, shape),
    ]
}

fn standard_deviation(definition: &Definition, quantity: Quantity) -> f64 {
    let [pressure, density, heat, sound] = definition.deviations;
    match quantity {
        Quantity::VapourPressure => pressure,
        Quantity::Density => density,
        Quantity::HeatCapacity => heat,
        Quantity::SpeedOfSound => sound,
    }
}

/// All to which the equation is fitted; a paper counts by its spread and its number.
fn targets(
    definition: &Definition,
    measurements: &[Measurement],
    spreads: &BTreeMap<Key, f64>,
) -> Vec<Target> {
    let fitted: Vec<&Measurement> = measurements
        .iter()
        .filter(|m| m.excluded.is_none())
        .collect();
    let mut counts: BTreeMap<Key, f64> = BTreeMap::new();
    for m in &fitted {
        *counts.entry(m.key()).or_default() += 1.0;
    }
    let measured = fitted.iter().map(|m| {
        let crowd = counts.get(&m.key()).copied().unwrap_or(1.0) / MOST;
        let spread = spreads.get(&m.key()).copied().unwrap_or(0.0);
        Target {
            kind: Kind::Measured(m.quantity),
            temperature: m.temperature,
            pressure: m.pressure.unwrap_or(0.0),
            value: m.value,
            deviation: standard_deviation(definition, m.quantity).max(spread)
                * crowd.max(1.0).sqrt(),
        }
    });
    let recommended = definition.recommended.iter().flat_map(|set| {
        set.values
            .iter()
            .map(|[temperature, pressure, value]| Target {
                kind: Kind::Measured(set.quantity),
                temperature: *temperature,
                pressure: *pressure,
                value: *value,
                deviation: set.deviation,
            })
    });
    let virial = definition
        .second_virial
        .temperatures
        .iter()
        .map(|temperature| Target {
            kind: Kind::SecondVirial,
            temperature: *temperature,
            pressure: 0.0,
            value: definition.second_virial.at(*temperature),
            deviation: definition.second_virial.deviation,
        });
    measured.chain(recommended).chain(virial).collect()
}

/// Liquid and vapour in equilibrium at the temperature of an isotherm, sought from a pressure.
pub fn coexistence(densest: f64, isotherm: &Isotherm<'_>, start: f64) -> Option<Coexistence> {
    const STEPS: u32 = 50;
    let rt = isotherm.thermal_energy();
    let mut pressure = start;
    for _ in 0..STEPS {
        let liquid_density = density(isotherm, pressure, densest)?;
        let vapour_density = density(isotherm, pressure, pressure / rt)?;
        let [liquid, vapour] =
            [liquid_density, vapour_density].map(|density| isotherm.pressure(density).potential);
        let gap = pressure / rt * (1.0 / vapour_density - 1.0 / liquid_density);
        let step = (liquid - vapour) / gap;
        pressure *= step.clamp(-0.2, 0.2).exp();
        if step.abs() < 1e-11 {
            return Some(Coexistence {
                temperature: isotherm.temperature(),
                pressure,
                liquid_density,
                vapour_density,
            });
        }
    }
    None
}

/// Relative deviation of an equation, with the density in kg/m3 of its densest liquid, from a value of the liquid; none where the
/// equation has no such liquid.
fn deviation(
    helmholtz: &Helmholtz,
    densest: f64,
    quantity: Quantity,
    [temperature, pressure, value]: [f64; 3],
) -> Option<f64> {
    let isotherm = helmholtz.isotherm(temperature);
    if quantity == Quantity::VapourPressure {
        let found = coexistence(densest, &isotherm, value)?;
        return Some(found.pressure / value - 1.0);
    }
    let liquid = density(&isotherm, pressure, densest)?;
    let [isobaric, sound] = caloric(&isotherm, liquid);
    let found = match quantity {
        Quantity::VapourPressure | Quantity::Density => liquid,
        Quantity::HeatCapacity => isobaric * MOLAR_GAS_CONSTANT,
        Quantity::SpeedOfSound => sound,
    };
    Some(found / value - 1.0)
}

/// `c_p/R` and the speed of sound in m/s (Span and Wagner 1996, table 3).
fn caloric(isotherm: &Isotherm<'_>, density: f64) -> [f64; 2] {
    let a = isotherm.residual(density);
    let isochoric = -(isotherm.ideal().second + a.a_tt);
    let (top, bottom) = (1.0 + a.a_d - a.a_dt, 1.0 + 2.0 * a.a_d + a.a_dd);
    let sound = isotherm.thermal_energy() * (bottom + top * top / isochoric);
    [isochoric + top * top / bottom, sound.sqrt()]
}

/// Root mean square of the deviations of each paper.
fn spreads(equation: &Equation, measurements: &[Measurement]) -> BTreeMap<Key, f64> {
    let helmholtz = equation.helmholtz();
    let mut squares: BTreeMap<Key, (f64, f64)> = BTreeMap::new();
    for m in measurements.iter().filter(|m| m.excluded.is_none()) {
        if let Some(deviation) = deviation(&helmholtz, equation.densest(), m.quantity, m.point()) {
            let (sum, count) = squares.entry(m.key()).or_default();
            *sum += deviation * deviation;
            *count += 1.0;
        }
    }
    let roots = squares.into_iter();
    roots
        .map(|(key, (sum, count))| (key, (sum / count).sqrt()))
        .collect()
}

/// Statistics of relative deviations.
pub struct Statistics {
    pub count: usize,
    pub bias: f64,
    pub mean: f64,
    pub median: f64,
    pub greatest: f64,
}

impl Statistics {
    pub fn of(deviations: &[f64]) -> Self {
        let mut sizes: Vec<f64> = deviations.iter().map(|d| d.abs()).collect();
        sizes.sort_by(f64::total_cmp);
        let count = sizes.len();
        let number = count as f64;
        Self {
            count,
            bias: deviations.iter().sum::<f64>() / number,
            mean: sizes.iter().sum::<f64>() / number,
            median: sizes.get(count / 2).copied().unwrap_or(f64::NAN),
            greatest: sizes.last().copied().unwrap_or(f64::NAN),
        }
    }

    fn columns(&self) -> String {
        let percent =
            [self.bias, self.mean, self.median, self.greatest].map(|d| format!("{:.3}", 100.0 * d));
        format!("{},{}", self.count, percent.join(","))
    }
}

impl Fitted {
    /// Deviations of a quantity of all papers that were fitted.
    pub fn statistics(&self, quantity: Quantity) -> Statistics {
        let (helmholtz, densest) = (self.equation.helmholtz(), self.equation.densest());
        let fitted = self
            .measurements
            .iter()
            .filter(|m| m.excluded.is_none() && m.quantity == quantity);
        let deviations: Vec<f64> = fitted
            .filter_map(|m| deviation(&helmholtz, densest, quantity, m.point()))
            .collect();
        Statistics::of(&deviations)
    }

    /// The table of deviations of the equation.
    pub fn report(&self) -> String {
        let densest = self.equation.densest();
        report(
            &self.definition,
            &self.measurements,
            &self.equation.helmholtz(),
            densest,
        )
    }

    /// The block `equation_of_state` of the data file.
    pub fn block(&self) -> Result<String, String> {
        ancillary::block(self)
    }
}

/// The table of deviations: one line for each quantity and source, discordant measurements on lines of their own.
fn report(
    definition: &Definition,
    measurements: &[Measurement],
    helmholtz: &Helmholtz,
    densest: f64,
) -> String {
    let mut sets = Sets::new();
    let mut add = |quantity, source: &str, use_: &'static str, point: [f64; 3]| {
        if let Some(deviation) = deviation(helmholtz, densest, quantity, point) {
            let set = sets.entry((quantity, source.to_owned(), use_)).or_default();
            set.push((point, deviation));
        }
    };
    for m in measurements {
        let use_ = m.excluded.unwrap_or("fitted");
        add(m.quantity, &m.paper, use_, m.point());
    }
    for set in &definition.recommended {
        let source = format!(
            "{} {}",
            set.source.authors.replace(';', " and").replace(',', ""),
            set.source.year
        );
        for point in &set.values {
            add(set.quantity, &source, "recommended", *point);
        }
    }
    let mut text = String::from(
        "quantity,source,use,T_min / K,T_max / K,p_max / MPa,count,bias / %,mean absolute / %,median absolute / %,greatest absolute / %\n",
    );
    for ((quantity, source, use_), points) in &sets {
        let range = |index: usize| points.iter().map(move |(point, _)| point[index]);
        let deviations: Vec<f64> = points.iter().map(|(_, deviation)| *deviation).collect();
        let _ = writeln!(
            text,
            "{},{source},{use_},{:.2},{:.2},{:.3},{}",
            quantity.name(),
            range(0).fold(f64::INFINITY, f64::min),
            range(0).fold(0.0, f64::max),
            1e-6 * range(1).fold(0.0, f64::max),
            Statistics::of(&deviations).columns(),
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::super::{FITTED, measurement};
    use super::*;

    /// Whatever makes an equation of this project agree worse with the measurements changes its table.
    #[test]
    fn the_equations_that_are_shipped_deviate_as_their_tables_tell() {
        for name in FITTED {
            let definition = Definition::read(name).unwrap();
            let measurements = definition.measurements().unwrap();
            let fluid = Fluid::new(name).unwrap();
            let record = fluid.record().unwrap().reference_equation().unwrap();
            let densest =
                equation::densest(record) * record.molar_density_reducing * record.molar_mass;
            let found = report(
                &definition,
                &measurements,
                fluid.helmholtz().unwrap(),
                densest,
            );
            let path = measurement::path(&format!("{name}_deviations.csv"));
            assert!(
                found == std::fs::read_to_string(path).unwrap(),
                "{name}:\n{found}"
            );
        }
    }
}
