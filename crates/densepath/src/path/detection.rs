//! Where the bands arrive: along the main line and along every branch, to each detector, or to the end of a line where nothing detects.
//!
//! A tee parts the stream, and with it the amount of every solute, in the shares of the flow: the band goes on both ways with the same
//! shape in time and the same concentration. A pump that joins dilutes it, and leaves its shape in time. Every part behind adds its own
//! variance, by the flow that passes it.

use std::borrow::Cow;

use fluid::{Error, Result};

use super::band::{BandBudget, Share};
use super::chromatogram::{Chromatogram, RecordedPeak};
use super::march::{Part, Pass, in_part, pass};
use super::phases;
use super::source::FIRST_PART;
use crate::fluid;
use crate::hardware::{BandShare, Outlet, Role, Solute, Surroundings};

/// The bands at a detector, or at the end of a line where nothing detects.
///
/// Of an injected amount n the concentration there is `c(t) = n w f(t) / q_V`, with the injected share w, the profile f of unit area of
/// [`BandBudget::peak`] and the volume flow rate `q_V`; the amount that arrives in a time is `n w f(t)`.
///
/// ```
/// let text = std::fs::read_to_string("../../tests/methods/packed.toml").unwrap();
/// let branch = "[[part]]\nkind = \"linear_restrictor\"\nname = \"bleed\"\nbranch_of = \"cell tube\"\ndiameter = \"15 um\"\nlength = \"1 m\"";
/// let solution = densepath::read_method(&format!("{text}\n{branch}\n"))?.solve()?;
/// let (cell, bleed) = (solution.detection("UV cell")?, solution.detection("bleed")?);
/// assert_eq!((cell.branch_of.as_deref(), bleed.branch_of.as_deref()), (None, Some("cell tube")));
/// // Both have the band of the column, and share what was injected.
/// assert_eq!(cell.bands_of_solutes[0].retention_time, bleed.bands_of_solutes[0].retention_time);
/// assert!((cell.injected_share + bleed.injected_share - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Detection {
    /// Name of the detector, or of the last part of a line where nothing detects.
    pub part: String,
    /// Name of the part at whose outlet its branch begins; nothing on the main line.
    pub branch_of: Option<String>,
    /// Share of the injected amount of every solute that arrives.
    pub injected_share: f64,
    /// Volume flow rate `q_V` in m3/s that arrives.
    pub volume_flow_rate: f64,
    /// The sums of the bands of all solutes, in their order; none where no column lies before.
    pub bands_of_solutes: Vec<BandBudget>,
}

impl Detection {
    /// The recorded peaks of all solutes, each of an area of its own, which is 1 where no other is given.
    ///
    /// Errors: 104 where no band arrives that passed a column; 101 if the plugs and decays of the parts alone exceed a variance.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// let peaks = solution.detection("UV cell")?.recorded_peaks([2.0])?;
    /// assert_eq!((peaks[0].area, peaks[0].peak.mean()), (2.0, solution.detection("UV cell")?.bands_of_solutes[0].time));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn recorded_peaks(
        &self,
        areas: impl IntoIterator<Item = f64>,
    ) -> Result<Vec<RecordedPeak>> {
        if self.bands_of_solutes.is_empty() {
            return Err(self.lacks_bands());
        }
        RecordedPeak::of_budgets(&self.bands_of_solutes, areas)
    }

    /// What is recorded here of an injection at time zero, from a start to an end in s at a data rate in Hz; the areas of the peaks are 1
    /// where no other is given.
    ///
    /// Errors: those of [`Detection::recorded_peaks`] and of [`Chromatogram::of`].
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// // The first detector of the main line is the one of the solution.
    /// let record = solution.detection("UV cell")?.chromatogram([1.0], 0.0, 300.0, 10.0)?;
    /// assert_eq!(record, solution.chromatogram([1.0], 0.0, 300.0, 10.0)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn chromatogram(
        &self,
        areas: impl IntoIterator<Item = f64>,
        start: f64,
        end: f64,
        data_rate: f64,
    ) -> Result<Chromatogram> {
        Chromatogram::of(self.recorded_peaks(areas)?, start, end, data_rate)
    }

    /// Error 104 for a place where no band arrives that passed a column.
    pub(super) fn lacks_bands(&self) -> Error {
        Error::Argument {
            argument: "detector".to_owned(),
            expected: "a part to which the band of a solute comes from a column",
            got: format!("\"{}\"", self.part),
        }
    }
}

/// Detections behind the injection, those of the main line first, each with the bands of all solutes; none without an injection.
///
/// The parts have what they do to the first solute in their passages, and pass the others from the inlets that these have.
pub(super) fn detections(
    parts: &[Part],
    passes: &[Pass],
    solutes: &[Solute],
    surroundings: &Surroundings<'_>,
) -> Result<Vec<Detection>> {
    let Some(start) = injection(parts) else {
        return Ok(Vec::new());
    };
    let (parts, passes) = (parts.get(start..), passes.get(start..));
    let (parts, passes) = parts.zip(passes).unwrap_or_default();
    let first: &OutletOf<'_> = &|_, pass, _| Ok(Cow::Borrowed(&pass.outlet));
    let mut found = Trail::new(solutes.first(), first).along(parts, passes)?;
    for solute in solutes.iter().skip(1) {
        let surroundings = Surroundings {
            solute: Some(solute),
            ..*surroundings
        };
        let outlet = |part: &Part, known: &Pass, is_dense| {
            let outlet = pass(part, &known.inlet, &surroundings, is_dense);
            outlet.map(Cow::Owned)
        };
        let more = Trail::new(Some(solute), &outlet).along(parts, passes)?;
        for (detection, more) in found.iter_mut().zip(more) {
            detection.bands_of_solutes.extend(more.bands_of_solutes);
        }
    }
    Ok(found)
}

/// Place of the injector, if there is one.
pub(super) fn injection(parts: &[Part]) -> Option<usize> {
    parts
        .iter()
        .position(|part| part.element.role() == Role::Injection)
}

/// What leaves a part, with what the part does to a solute; told whether the part stands before the one that holds the pressure.
type OutletOf<'a> = dyn Fn(&'a Part, &'a Pass, bool) -> Result<Cow<'a, Outlet>> + 'a;

/// A band on its way along a line: what the parts that it passed did to it.
#[derive(Clone)]
struct Trail<'a> {
    solute: Option<&'a Solute>,
    outlet: &'a OutletOf<'a>,
    branch_of: Option<&'a str>,
    passed: Vec<Share>,
}

impl<'a> Trail<'a> {
    fn new(solute: Option<&'a Solute>, outlet: &'a OutletOf<'a>) -> Self {
        Self {
            solute,
            outlet,
            branch_of: None,
            passed: Vec::new(),
        }
    }

    /// The detections of a line, then those of its branches.
    fn along(mut self, parts: &'a [Part], passes: &'a [Pass]) -> Result<Vec<Detection>> {
        let (mut found, mut of_branches) = (Vec::new(), Vec::new());
        let (count, dense) = (followed(parts), phases::dense(parts));
        for (index, (part, pass)) in parts.iter().zip(passes).take(count).enumerate() {
            let outlet = (self.outlet)(part, pass, index <= dense)
                .map_err(|error| in_part(part, FIRST_PART + index, error))?;
            let share = |band: &BandShare| Share {
                part: pass.name.clone(),
                role: part.element.role(),
                hold_up_time: outlet.hold_up_time,
                band: band.clone(),
            };
            if part.element.role() == Role::Detection {
                found.extend(self.detection(pass, outlet.recorded_band().map(share)));
            }
            self.passed.extend(outlet.band.as_ref().map(share));
            if index + 1 == parts.len() && found.is_empty() {
                found.extend(self.detection(pass, None));
            }
            if !part.branch.is_empty() {
                let branch = Self {
                    branch_of: Some(&part.name),
                    ..self.clone()
                };
                of_branches.extend(branch.along(&part.branch, &pass.branch)?);
            }
        }
        found.extend(of_branches);
        Ok(found)
    }

    /// The band as it arrives at a part, with what that does to what it records.
    fn detection(&self, pass: &Pass, recorded: Option<Share>) -> Option<Detection> {
        let shares: Vec<Share> = self.passed.iter().cloned().chain(recorded).collect();
        let budget = |solute: &Solute| BandBudget::of(&solute.name, &shares);
        Some(Detection {
            part: pass.name.clone(),
            branch_of: self.branch_of.map(str::to_owned),
            injected_share: pass.injected_share?,
            volume_flow_rate: pass.inlet.volume_flow_rate(),
            bands_of_solutes: self.solute.and_then(budget).into_iter().collect(),
        })
    }
}

/// How many parts of a line a band is followed through: to its last detector or tee, or to its end where nothing detects.
fn followed(parts: &[Part]) -> usize {
    let detects = |part: &Part| part.element.role() == Role::Detection;
    if !parts.iter().any(detects) {
        return parts.len();
    }
    let last = parts
        .iter()
        .rposition(|part| detects(part) || !part.branch.is_empty());
    last.map_or(parts.len(), |last| last + 1)
}
