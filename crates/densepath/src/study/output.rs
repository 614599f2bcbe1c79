//! Outputs of a method by name: the values that its solution tells.

use fluid::num::text::nearest;
use fluid::{Error, Quantity, Result};

use crate::fluid;
use crate::path::{BandBudget, ColumnSummary, Detection, Solution, Station};
use crate::report::STATION_QUANTITIES;

/// Name under which the results of the whole method are found.
pub const METHOD: &str = "method";

/// A result of a method by its name.
///
/// ```
/// use densepath::study::Output;
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// let told = Output::new("column", "mean_density").value(&solution)?;
/// assert_eq!(told.value, solution.columns[0].mean_density());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Output {
    /// Name of the part or of the solute, or "method" for the results of the whole.
    pub of: String,
    /// What it is: a quantity, or the words of a fact of the part.
    pub name: String,
}

/// A result of a solution with its name.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// use densepath::{Quantity, study::Output};
/// let told = Output::new("column", "mean_density").value(&solution)?;
/// assert_eq!((told.quantity, told.value), (Quantity::Density, solution.columns[0].mean_density()));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// Whose it is and what it is.
    pub output: Output,
    /// Its quantity, which gives the unit.
    pub quantity: Quantity,
    /// Its value in SI.
    pub value: f64,
}

impl Output {
    /// A result by whose it is and what it is.
    ///
    /// ```
    /// use densepath::study::{METHOD, Output};
    /// let output = Output::new(METHOD, "single_phase_margin");
    /// assert_eq!((output.of.as_str(), output.name.as_str()), (METHOD, "single_phase_margin"));
    /// ```
    pub fn new(of: impl Into<String>, name: impl Into<String>) -> Self {
        Self {
            of: of.into(),
            name: name.into(),
        }
    }

    /// Its value in a solution.
    ///
    /// Of a part: any quantity of the fluid at its outlet, its facts, and of a column what [`outputs`] lists. Of the band of a solute: what
    /// it is at the first detector of the main line, and under "solute at detector" what it is at another. Error 602 for a name that the
    /// solution does not tell.
    ///
    /// ```
    /// use densepath::study::Output;
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// let told = Output::new("column", "density").value(&solution)?;
    /// assert_eq!(told.quantity.unit(), "kg/m3");
    /// assert_eq!(Output::new("column", "densty").value(&solution).unwrap_err().code(), 602);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn value(&self, solution: &Solution) -> Result<Told> {
        let find = |list: Vec<Told>| list.into_iter().find(|told| told.output == *self);
        let whole = || find(of_method(solution)).or_else(|| find(of_bands(solution)));
        if let Some(told) = whole() {
            return Ok(told);
        }
        // Quantities of stations are asked for one by one: some cost as much as the whole solution.
        let quantity = self.name.parse().ok();
        let at_station = |quantity| Some(solution.station(&self.of)?.get(quantity));
        let listed = quantity.filter(|quantity| STATION_QUANTITIES.contains(quantity));
        if let Some((quantity, Ok(value))) = listed.and_then(|q| Some((q, at_station(q)?))) {
            return Ok(self.told(quantity, value));
        }
        if let Some(told) = find(of_parts(solution)) {
            return Ok(told);
        }
        if self.of == METHOD && quantity == Some(Quantity::SinglePhaseMargin) {
            let margin = solution.single_phase_margin();
            if let Some((quantity, value)) = quantity.zip(margin) {
                return Ok(self.told(quantity, value));
            }
        }
        if let Some((quantity, value)) = quantity.and_then(|q| Some((q, at_station(q)?))) {
            return Ok(self.told(quantity, value?));
        }
        let known: Vec<Output> = outputs(solution)
            .into_iter()
            .map(|told| told.output)
            .collect();
        Err(self.unknown(&known))
    }

    fn told(&self, quantity: Quantity, value: f64) -> Told {
        Told {
            output: self.clone(),
            quantity,
            value,
        }
    }

    /// Error 602 with the names that are there.
    fn unknown(&self, known: &[Output]) -> Error {
        let names: Vec<&str> = known
            .iter()
            .filter(|output| output.of == self.of)
            .map(|output| output.name.as_str())
            .collect();
        let (key, word, names) = if names.is_empty() {
            let mut of: Vec<&str> = known.iter().map(|output| output.of.as_str()).collect();
            of.sort_unstable();
            of.dedup();
            (self.of.clone(), &self.of, of)
        } else {
            (format!("{}.{}", self.of, self.name), &self.name, names)
        };
        Error::UnknownKey {
            line: None,
            key,
            nearest: nearest(word, names.iter().copied()).map(str::to_owned),
            known: names.join(", "),
        }
    }
}

/// Everything that a solution tells by name: of the method, of the bands, of the columns, at the stations, of single parts.
///
/// ```
/// use densepath::study::outputs;
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// let all = outputs(&solution);
/// assert!(all.iter().any(|told| told.output.of == "column" && told.output.name == "mean_density"));
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn outputs(solution: &Solution) -> Vec<Told> {
    let mut all = of_method(solution);
    let margin = Quantity::SinglePhaseMargin;
    all.extend(
        solution
            .single_phase_margin()
            .map(|value| Output::new(METHOD, margin.name()).told(margin, value)),
    );
    all.extend(of_bands(solution));
    all.extend(solution.all_stations().flat_map(at_station));
    all.extend(of_parts(solution));
    all
}

/// What is told of the bands and of the columns.
fn of_bands(solution: &Solution) -> Vec<Told> {
    let first = solution.bands_of_solutes.iter();
    let first = first.flat_map(|band| of_band(&band.solute, band));
    let others = solution.detections.iter().skip(1).flat_map(of_detection);
    first
        .chain(others)
        .chain(solution.columns.iter().flat_map(of_column))
        .collect()
}

/// What single parts have to tell.
fn of_parts(solution: &Solution) -> Vec<Told> {
    let duties = solution.duties.iter().map(|duty| {
        let name = format!("{}: {}", Quantity::HeatFlowRate.name(), duty.purpose);
        Output::new(&duty.part, name).told(Quantity::HeatFlowRate, duty.heat_flow_rate)
    });
    let facts = solution.facts.iter().map(|entry| {
        Output::new(&entry.part, entry.fact.name).told(entry.fact.quantity, entry.fact.value)
    });
    duties.chain(facts).collect()
}

/// Results by name of one owner.
fn named<const N: usize>(of: &str, rows: [(&str, Quantity, f64); N]) -> Vec<Told> {
    let told = |(name, quantity, value)| Output::new(of, name).told(quantity, value);
    rows.into_iter().map(told).collect()
}

/// What is told of the method but for its margin.
fn of_method(solution: &Solution) -> Vec<Told> {
    let used = &solution.consumption;
    named(
        METHOD,
        [
            (
                "delivery_pressure",
                Quantity::Pressure,
                solution.delivery_pressure,
            ),
            (
                "mass_flow_rate",
                Quantity::MassFlowRate,
                solution.mass_flow_rate,
            ),
            (
                "gas_volume_flow_rate",
                Quantity::VolumeFlowRate,
                used.gas_volume_flow_rate,
            ),
            ("running_time", Quantity::Time, used.running_time),
        ],
    )
}

/// What is told of the bands at a detector other than the first of the main line.
fn of_detection(detection: &Detection) -> Vec<Told> {
    let bands = detection.bands_of_solutes.iter();
    let told = bands.map(|band| of_band(&format!("{} at {}", band.solute, detection.part), band));
    told.flatten().collect()
}

fn of_band(of: &str, band: &BandBudget) -> Vec<Told> {
    named(
        of,
        [
            (
                "retention_time",
                Quantity::RetentionTime,
                band.retention_time,
            ),
            (
                "retention_factor",
                Quantity::RetentionFactor,
                band.retention_factor,
            ),
            ("hold_up_time", Quantity::HoldUpTime, band.hold_up_time),
            ("time", Quantity::Time, band.time),
            ("time_variance", Quantity::TimeVariance, band.time_variance),
            (
                "column_plate_number",
                Quantity::PlateNumber,
                band.column_plate_number,
            ),
            (
                "apparent_plate_number",
                Quantity::PlateNumber,
                band.apparent_plate_number,
            ),
        ],
    )
}

fn of_column(column: &ColumnSummary) -> Vec<Told> {
    named(
        &column.name,
        [
            (
                "pressure_drop",
                Quantity::PressureDrop,
                column.pressure_drop,
            ),
            ("hold_up_time", Quantity::HoldUpTime, column.hold_up_time),
            (
                "inlet_pressure",
                Quantity::Pressure,
                column.inlet.pressure(),
            ),
            (
                "inlet_temperature",
                Quantity::Temperature,
                column.inlet.temperature(),
            ),
            ("mean_density", Quantity::Density, column.mean_density()),
        ],
    )
}

fn at_station(station: &Station) -> Vec<Told> {
    let of = |quantity: &Quantity| {
        let value = station.get(*quantity).ok()?;
        Some(Output::new(&station.name, quantity.name()).told(*quantity, value))
    };
    STATION_QUANTITIES.iter().filter_map(of).collect()
}
