//! Programs of a method: keys of parts whose values change in time.

use densepath_fluid::error::Result;
use densepath_fluid::{Fluid, Quantity};

use super::reader::{Holds, Reader, Section};
use super::{Input, Method, input, measure, schema};
use crate::hardware::schedule::{DensityPoint, schedule};
use crate::path::{Chromatogram, Cycle, CyclePlan, NearestSplit, ProgrammedRun, Setting};

/// Steady flows solved on each ramp, beside those at its ends.
const BETWEEN: u32 = 15;
/// Part of a segment in which a step is made.
const STEP: f64 = 1e-3;
/// Chords that a bent segment of density is made of: within `1/(4 n^2)` of its change, 0.02 %.
const CHORDS: u32 = 32;
/// Relative error of the density that the pressures of a density program may have.
const DENSITY: f64 = 1e-3;

/// The shape of a segment of a program.
///
/// ```
/// use densepath::{Quantity, method::{Program, Shape}};
/// let program = |shape| Program {
///     part: "regulator".to_owned(),
///     key: "pressure".to_owned(),
///     times: vec![0.0, 120.0],
///     values: vec![150e5, 180e5],
///     shapes: vec![shape],
///     quantity: Quantity::Pressure,
/// };
/// // A convex segment starts slowly, a concave one ends slowly.
/// let middle = |shape| program(shape).value(60.0);
/// assert!(middle(Shape::Convex) < middle(Shape::Linear) && middle(Shape::Linear) < middle(Shape::Concave));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Shape {
    /// Straight.
    Linear,
    /// It starts slowly: the square of the time.
    Convex,
    /// It ends slowly: the mirror image of [`Shape::Convex`].
    Concave,
    /// The value is kept until the last thousandth of the segment.
    Step,
}

impl Shape {
    /// Part of the change that is made at a part of the time, both from 0 to 1.
    fn part(self, time: f64) -> f64 {
        match self {
            Shape::Linear => time,
            Shape::Convex => time * time,
            Shape::Concave => time * (2.0 - time),
            Shape::Step => ((time - 1.0) / STEP + 1.0).max(0.0),
        }
    }

    fn of_word(word: &str) -> Self {
        match word {
            "convex" => Shape::Convex,
            "concave" => Shape::Concave,
            "step" => Shape::Step,
            _ => Shape::Linear,
        }
    }
}

/// One key of one part that changes in time.
///
/// ```
/// use densepath::{Quantity, method::{Program, Shape}};
/// let program = |shape| Program {
///     part: "regulator".to_owned(),
///     key: "pressure".to_owned(),
///     times: vec![0.0, 120.0],
///     values: vec![150e5, 180e5],
///     shapes: vec![shape],
///     quantity: Quantity::Pressure,
/// };
/// let linear = program(Shape::Linear);
/// assert_eq!((linear.value(0.0), linear.value(120.0)), (150e5, 180e5));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Program {
    /// Name of the part.
    pub part: String,
    /// Its key.
    pub key: String,
    /// Times in s after the injection, rising.
    pub times: Vec<f64>,
    /// Values in SI at these times.
    pub values: Vec<f64>,
    /// Shape of each segment between them.
    pub shapes: Vec<Shape>,
    /// Quantity of the key.
    pub quantity: Quantity,
}

impl Program {
    /// Value at a time in s.
    ///
    /// ```
    /// use densepath::{Quantity, method::{Program, Shape}};
    /// let program = |shape| Program {
    ///     part: "regulator".to_owned(),
    ///     key: "pressure".to_owned(),
    ///     times: vec![0.0, 120.0],
    ///     values: vec![150e5, 180e5],
    ///     shapes: vec![shape],
    ///     quantity: Quantity::Pressure,
    /// };
    /// assert!((program(Shape::Linear).value(60.0) - 165e5).abs() < 1e-6);
    /// // After the last time nothing changes.
    /// assert_eq!(program(Shape::Linear).value(1e4), 180e5);
    /// ```
    pub fn value(&self, time: f64) -> f64 {
        value_at(&self.times, &self.values, &self.shapes, time)
    }

    /// Times in s at which the instrument must be solved: those given, and the beginning of each step.
    fn knots(&self) -> impl Iterator<Item = f64> {
        let pairs = self.times.windows(2).zip(&self.shapes);
        let steps = pairs.filter_map(|(pair, shape)| match (pair, shape) {
            ([from, to], Shape::Step) => Some(to - STEP * (to - from)),
            _ => None,
        });
        self.times.iter().copied().chain(steps)
    }
}

/// Value of segments at a time; before the first and after the last nothing changes.
fn value_at(times: &[f64], values: &[f64], shapes: &[Shape], time: f64) -> f64 {
    let mut before: Option<(f64, f64)> = None;
    let shapes = std::iter::once(&Shape::Linear).chain(shapes);
    for ((at, value), shape) in times
        .iter()
        .copied()
        .zip(values.iter().copied())
        .zip(shapes)
    {
        if at >= time {
            return before.map_or(value, |(from, start)| {
                start + (value - start) * shape.part((time - from) / (at - from))
            });
        }
        before = Some((at, value));
    }
    before.map_or(f64::NAN, |(_, value)| value)
}

/// The programs of a document; `kinds` tells the sort of each part by its name.
pub fn programs(
    sections: Vec<Section<'_>>,
    ambient: Option<f64>,
    kinds: &[(String, &'static str)],
    fluid: &Fluid,
) -> Result<Vec<Program>> {
    sections
        .into_iter()
        .map(|section| program(section, ambient, kinds, fluid))
        .collect()
}

fn program(
    section: Section<'_>,
    ambient: Option<f64>,
    kinds: &[(String, &'static str)],
    fluid: &Fluid,
) -> Result<Program> {
    let table = section.open(&[schema::PROGRAM.fields], ambient)?;
    let part = table.text("part")?.to_owned();
    let key = table.text("key")?.to_owned();
    let Some((_, kind)) = kinds.iter().find(|(name, _)| *name == part) else {
        return Err(table.refuse("part", "expected: the name of one of the parts"));
    };
    let mut fields = schema::parts::fields_of(kind).iter();
    let field = fields.find(|field| field.key == key);
    let Some(Holds::Measure(quantity)) = field.map(|field| field.holds) else {
        return Err(table.refuse(
            "key",
            format!("expected: a key of a {kind} that holds a value with a unit"),
        ));
    };
    let times = table.measures("time", Quantity::Time)?;
    let rises = times.windows(2).all(|pair| matches!(pair, [a, b] if a < b));
    if !rises {
        return Err(table.rule(Some("time"), "must rise"));
    }
    let values = table.optional_measures("value", quantity)?;
    let densities = table.optional_measures("density", Quantity::Density)?;
    let (told, name) = match (&values, &densities) {
        (Some(values), None) => (values, "value"),
        (None, Some(densities)) => (densities, "density"),
        (None, None) => return Err(table.missing("value")),
        (Some(_), Some(_)) => {
            return Err(table.rule(
                Some("density"),
                "stands beside `value`: state one of the two",
            ));
        }
    };
    if times.len() != told.len() || times.is_empty() {
        return Err(table.rule(
            Some(name),
            "must hold as many values as `time` holds times, and one at least",
        ));
    }
    let shapes = shapes(&table, times.len())?;
    let made = if name == "density" {
        if quantity != Quantity::Pressure {
            return Err(table.rule(Some("density"), "is for a key that is a pressure"));
        }
        pressures(&table, fluid, &times, told, &shapes)?
    } else {
        (times, told.clone(), shapes)
    };
    table.finish()?;
    let (times, values, shapes) = made;
    Ok(Program {
        part,
        key,
        times,
        values,
        shapes,
        quantity,
    })
}

/// The shape of each segment between times; straight where none is stated.
fn shapes(table: &Reader<'_>, times: usize) -> Result<Vec<Shape>> {
    let segments = times.saturating_sub(1);
    let Some(words) = table.optional_words("shape")? else {
        return Ok(vec![Shape::Linear; segments]);
    };
    if words.len() != segments {
        return Err(table.rule(
            Some("shape"),
            "must hold a shape for each segment, one less than times",
        ));
    }
    Ok(words.into_iter().map(Shape::of_word).collect())
}

/// Times, pressures and shapes that give a program of density.
///
/// Errors: 301 where it enters the two-phase region, and those of [`schedule`].
fn pressures(
    table: &Reader<'_>,
    fluid: &Fluid,
    times: &[f64],
    densities: &[f64],
    shapes: &[Shape],
) -> Result<(Vec<f64>, Vec<f64>, Vec<Shape>)> {
    let temperatures = table.measures("temperature", Quantity::Temperature)?;
    let temperatures = match temperatures[..] {
        [one] => vec![one; times.len()],
        _ if temperatures.len() == times.len() => temperatures,
        _ => {
            return Err(table.rule(
                Some("temperature"),
                "must hold one temperature, or as many as `time` holds times",
            ));
        }
    };
    let mut at: Vec<f64> = times.iter().take(1).copied().collect();
    for (pair, shape) in times.windows(2).zip(shapes) {
        let [from, to] = *pair else { continue };
        let inner = |part: f64| from + part * (to - from);
        match shape {
            Shape::Linear => {}
            Shape::Step => at.push(inner(1.0 - STEP)),
            Shape::Convex | Shape::Concave => {
                at.extend((1..CHORDS).map(|chord| inner(f64::from(chord) / f64::from(CHORDS))));
            }
        }
        at.push(to);
    }
    let straight = vec![Shape::Linear; shapes.len()];
    let points: Vec<DensityPoint> = at
        .into_iter()
        .map(|time| DensityPoint {
            time,
            temperature: value_at(times, &temperatures, &straight, time),
            density: value_at(times, densities, shapes, time),
        })
        .collect();
    let made = schedule(fluid, &points, DENSITY)?;
    let segments = made.points.len().saturating_sub(1);
    Ok((
        made.points.iter().map(|point| point.time).collect(),
        made.points.iter().map(|point| point.pressure).collect(),
        vec![Shape::Linear; segments],
    ))
}

impl Method {
    /// The programmed run, solved in steady flow at each point of its programs and between.
    ///
    /// Error 606 for a method without program; those of [`ProgrammedRun::new`].
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// // A method whose document programs nothing has no programmed run.
    /// assert_eq!(method.programmed_run().unwrap_err().code(), 606);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn programmed_run(&self) -> Result<ProgrammedRun> {
        let settings = self.program_times().into_iter().map(|time| {
            Ok(Setting {
                time,
                path: self.setting(time)?.path,
            })
        });
        ProgrammedRun::new(settings.collect::<Result<_>>()?)
    }

    /// Times in s at which the instrument is solved: the points of all programs and some between.
    pub(crate) fn program_times(&self) -> Vec<f64> {
        let mut knots: Vec<f64> = self.programs.iter().flat_map(Program::knots).collect();
        knots.sort_by(f64::total_cmp);
        knots.dedup();
        let mut times: Vec<f64> = Vec::new();
        for pair in knots.windows(2) {
            let [from, to] = *pair else { continue };
            times.extend(
                (0..=BETWEEN)
                    .map(|step| from + (to - from) * f64::from(step) / f64::from(BETWEEN + 1)),
            );
        }
        times.extend(knots.last());
        times
    }

    /// The method with another program of straight segments for a key of a part: times in s and values in SI.
    ///
    /// Errors: those of [`read_method`](super::read_method) for what cannot be.
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// let programmed = method.with_program(&method.input("regulator", "pressure")?, &[(0.0, 150e5), (300.0, 180e5)])?;
    /// assert_eq!(programmed.programs[0].value(150.0), 165e5);
    /// assert!(programmed.programmed_run().is_ok());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_program(&self, input: &Input, points: &[(f64, f64)]) -> Result<Method> {
        let list = |quantity, of: fn(&(f64, f64)) -> f64| -> toml::Value {
            let written = points
                .iter()
                .map(|point| measure::written(of(point), quantity));
            toml::Value::Array(written.collect())
        };
        let mut program = toml::Table::new();
        program.insert("part".to_owned(), input.of.clone().into());
        program.insert("key".to_owned(), input.key.clone().into());
        program.insert("time".to_owned(), list(Quantity::Time, |point| point.0));
        program.insert("value".to_owned(), list(input.quantity, |point| point.1));
        let mut document = self.parsed()?;
        let mut programs = match document.remove(schema::PROGRAM.heading) {
            Some(toml::Value::Array(programs)) => programs,
            one => one.into_iter().collect(),
        };
        programs.push(program.into());
        document.insert(schema::PROGRAM.heading.to_owned(), programs.into());
        self.rewritten(&document)
    }

    /// The method with the values that its programs have at a time in s, under the same watch.
    pub(crate) fn setting(&self, time: f64) -> Result<Method> {
        let mut document = self.parsed()?;
        document.remove("program");
        for program in &self.programs {
            let value = program.value(time);
            input::set(
                &mut document,
                &program.part,
                &program.key,
                value,
                program.quantity,
            );
        }
        self.rewritten(&document)
    }

    /// What runs that follow each other take and use up, programmed or not.
    ///
    /// Errors: those of [`Method::solve`], [`ProgrammedRun::new`] and [`Solution::cycle`](crate::path::Solution::cycle).
    ///
    /// ```
    /// use densepath::path::CyclePlan;
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// let cycle = method.cycle(&CyclePlan::of(300.0))?;
    /// // The column is washed for a while after the five minutes of the run.
    /// assert!(cycle.cycle_time > 300.0);
    /// assert!((cycle.runs_per_day * cycle.cycle_time - 86_400.0).abs() < 1e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn cycle(&self, plan: &CyclePlan) -> Result<Cycle> {
        if self.programs.is_empty() {
            return self.solve()?.cycle(plan);
        }
        self.programmed_run()?.cycle(plan)
    }

    /// Where, and in a programmed run when, the fluid comes nearest to a second phase between the pump and the part that holds the pressure;
    /// nothing where none appears at any pressure. See [`ProgrammedRun::nearest_split`].
    ///
    /// Errors: those of [`Method::solve`], at any point of the program.
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// let nearest = method.nearest_split()?.ok_or("there is one").unwrap();
    /// assert_eq!((nearest.time, Some(nearest.margin)), (0.0, method.solve()?.single_phase_margin()));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn nearest_split(&self) -> Result<Option<NearestSplit>> {
        if !self.programs.is_empty() {
            return Ok(self.programmed_run()?.nearest_split());
        }
        let solution = self.solve()?;
        let nearest = solution.nearest_split();
        Ok(nearest.map(|(station, margin)| NearestSplit {
            time: 0.0,
            station: station.clone(),
            margin,
        }))
    }

    /// The chromatogram of an injection at time zero, programmed or isocratic, from a start to an end in s at a data rate in Hz;
    /// the areas of the peaks are 1 where no other is given.
    ///
    /// Errors: those of [`Method::solve`], [`ProgrammedRun::bands`] and [`Chromatogram::of`].
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// let found = method.chromatogram([2.0], 0.0, 600.0, 10.0)?;
    /// // The area of the peak comes back as the sum of the samples.
    /// assert!((found.signal.iter().sum::<f64>() / 10.0 - 2.0).abs() < 1e-3);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn chromatogram(
        &self,
        areas: impl IntoIterator<Item = f64>,
        start: f64,
        end: f64,
        data_rate: f64,
    ) -> Result<Chromatogram> {
        if self.programs.is_empty() {
            return self.solve()?.chromatogram(areas, start, end, data_rate);
        }
        self.programmed_run()?
            .chromatogram(areas, start, end, data_rate)
    }

    /// As [`Method::chromatogram`], at a detector anywhere, or at the last part of a line where nothing detects, by the name of the part.
    ///
    /// Errors: 104 for a part that is none of these, or that no band reaches from a column; those of [`Method::chromatogram`].
    ///
    /// ```
    /// let text = std::fs::read_to_string("../../tests/methods/packed.toml").unwrap();
    /// let branch = "[[part]]\nkind = \"linear_restrictor\"\nname = \"bleed\"\nbranch_of = \"cell tube\"\ndiameter = \"15 um\"\nlength = \"1 m\"";
    /// let method = densepath::read_method(&format!("{text}\n{branch}\n"))?;
    /// let peak = |name| method.chromatogram_at(name, [1.0], 0.0, 300.0, 10.0).map(|record| record.peaks[0].moments());
    /// // The band of the column, on another way behind it.
    /// let (cell, bleed) = (peak("UV cell")?, peak("bleed")?);
    /// assert!((bleed.time / cell.time - 1.0).abs() < 0.05 && bleed.time_variance != cell.time_variance);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn chromatogram_at(
        &self,
        detector: &str,
        areas: impl IntoIterator<Item = f64>,
        start: f64,
        end: f64,
        data_rate: f64,
    ) -> Result<Chromatogram> {
        if self.programs.is_empty() {
            let solution = self.solve()?;
            let detection = solution.detection(detector)?;
            return detection.chromatogram(areas, start, end, data_rate);
        }
        self.programmed_run()?
            .chromatogram_at(detector, areas, start, end, data_rate)
    }
}
