//! Programs of a method: keys of parts whose values change in time.

use densepath_fluid::Quantity;
use densepath_fluid::error::Result;

use super::reader::{Holds, Section};
use super::{Method, input, read_whole, schema};
use crate::path::{Chromatogram, ProgrammedRun, Setting};

/// Steady flows solved on each ramp, beside those at its ends.
const BETWEEN: u32 = 15;

/// One key of one part that changes in time.
#[derive(Debug, Clone, PartialEq)]
pub struct Program {
    /// Name of the part.
    pub part: String,
    /// Its key.
    pub key: String,
    /// Times in s after the injection, rising.
    pub times: Vec<f64>,
    /// Values in SI at these times, linear between them.
    pub values: Vec<f64>,
    /// Quantity of the key.
    pub quantity: Quantity,
}

impl Program {
    /// Value at a time in s.
    pub fn value(&self, time: f64) -> f64 {
        let knots = || self.times.iter().copied().zip(self.values.iter().copied());
        let mut before: Option<(f64, f64)> = None;
        for (at, value) in knots() {
            if at >= time {
                return before.map_or(value, |(from, start)| {
                    start + (value - start) * (time - from) / (at - from)
                });
            }
            before = Some((at, value));
        }
        before.map_or(f64::NAN, |(_, value)| value)
    }
}

/// The programs of a document; `kinds` tells the sort of each part by its name.
pub fn programs(
    sections: Vec<Section<'_>>,
    ambient: Option<f64>,
    kinds: &[(String, &'static str)],
) -> Result<Vec<Program>> {
    sections
        .into_iter()
        .map(|section| program(section, ambient, kinds))
        .collect()
}

fn program(
    section: Section<'_>,
    ambient: Option<f64>,
    kinds: &[(String, &'static str)],
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
    let values = table.measures("value", quantity)?;
    if times.len() != values.len() || times.is_empty() {
        return Err(table.rule(
            Some("value"),
            "must hold as many values as `time` holds times, and one at least",
        ));
    }
    let rises = times.windows(2).all(|pair| matches!(pair, [a, b] if a < b));
    if !rises {
        return Err(table.rule(Some("time"), "must rise"));
    }
    table.finish()?;
    Ok(Program {
        part,
        key,
        times,
        values,
        quantity,
    })
}

impl Method {
    /// The programmed run, solved in steady flow at each point of its programs and between.
    ///
    /// Error 606 for a method without program; those of [`ProgrammedRun::new`].
    pub fn programmed_run(&self) -> Result<ProgrammedRun> {
        let mut knots: Vec<f64> = self
            .programs
            .iter()
            .flat_map(|program| program.times.iter().copied())
            .collect();
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
        let settings = times.into_iter().map(|time| {
            Ok(Setting {
                time,
                path: self.setting(time)?.path,
            })
        });
        ProgrammedRun::new(settings.collect::<Result<_>>()?)
    }

    /// The method with the values that its programs have at a time in s.
    pub(super) fn setting(&self, time: f64) -> Result<Method> {
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
        read_whole(&document.to_string())
    }

    /// The chromatogram of an injection at time zero, programmed or isocratic, from a start to an end in s at a data rate in Hz;
    /// the areas of the peaks are 1 where no other is given.
    ///
    /// Errors: those of [`Method::solve`], [`ProgrammedRun::bands`] and [`Chromatogram::of`].
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
}
