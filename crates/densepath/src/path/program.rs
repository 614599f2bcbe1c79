//! Programmed runs: what becomes of the bands while settings change.
//!
//! The instrument is solved in steady flow for each point of the program. Pressure, temperature and flow rate along the columns
//! follow the program at once; a change of composition travels with the mobile phase, from the pumps through every part to each
//! column and along it, and is smoothed by mixers on its way. The band marches through what it meets in one column after the other, see
//! [`crate::flow::travel`].
//!
//! *Valid*: changes that are slow against the time the mobile phase needs to be stored or let out, which
//! [`ProgrammedRun::notices`] judges; what connecting tubes and packings smear or hold back of a change of composition is left out.
//! Between two points of the program all profiles are linear in time.

use fluid::{Error, Result};

use super::Path;
use super::band::BandRow;
use super::chromatogram::{Chromatogram, RecordedPeak};
use super::column_in_time::ColumnInTime;
use super::detection::{Detection, injection};
use super::gradient::around;
use super::march::{Part, all_parts};
use super::solution::Solution;
use crate::flow::peak::{Peak, Tail};
use crate::flow::travel::Band;
use crate::fluid;
use crate::hardware::{Role, Solute};

/// The instrument as it is set at one time after the injection.
///
/// ```
/// # use densepath::path::{ProgrammedRun, Setting};
/// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
/// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
/// assert_eq!(run.solutions().map(|(time, _)| time).collect::<Vec<_>>(), [0.0, 300.0]);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Setting {
    /// Time t in s after the injection.
    pub time: f64,
    /// The instrument.
    pub path: Path,
}

/// One point of a program, solved.
#[derive(Debug, Clone)]
pub(super) struct Node {
    pub(super) time: f64,
    pub(super) solution: Solution,
}

/// A run whose settings change in time, ready to send bands through.
///
/// ```
/// # use densepath::path::{ProgrammedRun, Setting};
/// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
/// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
/// // Denser fluid lets the solute go sooner than it would at the pressure of the start.
/// let steady = method.path.solve()?.recorded_peaks([1.0])?[0].peak.mean();
/// assert!(run.bands()?[0].recorded.time < steady);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct ProgrammedRun {
    pub(super) path: Path,
    pub(super) nodes: Vec<Node>,
    pub(super) columns: Vec<ColumnInTime>,
}

/// A band on its way through one column.
///
/// ```
/// # use densepath::path::{ProgrammedRun, Setting};
/// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
/// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
/// let passage = &run.bands()?[0].columns[0];
/// assert!(passage.column == "column" && passage.entering.time < passage.leaving.time);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnPassage {
    /// Name of the column.
    pub column: String,
    /// The band as it enters.
    pub entering: Band,
    /// The band as it leaves.
    pub leaving: Band,
}

/// A band that went through a programmed run.
///
/// ```
/// # use densepath::path::{ProgrammedRun, Setting};
/// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
/// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
/// let band = &run.bands()?[0];
/// assert!(band.columns.len() == 1 && band.columns[0].leaving.time <= band.recorded.time);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct ProgrammedBand {
    /// Name of the solute.
    pub solute: String,
    /// The columns that it passed, one after the other.
    pub columns: Vec<ColumnPassage>,
    /// The band as it is recorded.
    pub recorded: Band,
    /// Plugs and decays behind the last column.
    pub tails: Vec<Tail>,
}

impl ProgrammedRun {
    /// The settings, each solved in steady flow; before the first and after the last nothing changes.
    ///
    /// Error 606 without settings, for times that do not rise, for settings with different parts or substances, for parts of the same name,
    /// or without injector, solute and column; 505 for changes that the pumps cannot follow; the errors of [`Path::solve`].
    ///
    /// ```
    /// use densepath::path::ProgrammedRun;
    /// assert_eq!(ProgrammedRun::new(Vec::new()).unwrap_err().code(), 606);
    /// ```
    pub fn new(settings: Vec<Setting>) -> Result<Self> {
        let first = settings
            .first()
            .ok_or_else(|| layout("a program needs settings"))?;
        let path = first.path.clone();
        require_layout(&path)?;
        let mut nodes: Vec<Node> = Vec::with_capacity(settings.len());
        for Setting { time, path: own } in settings {
            if nodes.last().is_some_and(|last| last.time >= time) || !time.is_finite() {
                return Err(layout("the times of a program must rise"));
            }
            if !same_parts(&own.parts, &path.parts) {
                return Err(layout("the settings of a program must have the same parts"));
            }
            let solution = own.solve().map_err(|error| at(time, error))?;
            nodes.push(Node { time, solution });
        }
        let columns = ColumnInTime::all(&path, &nodes)?;
        let run = Self {
            path,
            nodes,
            columns,
        };
        run.require_rates()?;
        Ok(run)
    }

    /// The solution of each point of the program, with its time in s.
    ///
    /// ```
    /// # use densepath::path::{ProgrammedRun, Setting};
    /// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
    /// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
    /// let pressures: Vec<f64> = run.solutions().map(|(_, solution)| solution.delivery_pressure).collect();
    /// assert!(pressures[0] < pressures[1]);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn solutions(&self) -> impl Iterator<Item = (f64, &Solution)> {
        self.nodes.iter().map(|node| (node.time, &node.solution))
    }

    /// The band of each solute, of an injection at time zero, at the first detector of the main line or at its end where nothing detects.
    ///
    /// Error 104 where no column lies before it; 102 where a law leaves its range on the way; 401 of the integration.
    ///
    /// ```
    /// # use densepath::path::{ProgrammedRun, Setting};
    /// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
    /// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
    /// let bands = run.bands()?;
    /// assert_eq!((bands.len(), bands[0].solute.as_str()), (1, "invented aromatic"));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn bands(&self) -> Result<Vec<ProgrammedBand>> {
        self.bands_where(self.detections().first())
    }

    /// The band of each solute, of an injection at time zero, at a detector or at the last part of a line where nothing detects.
    ///
    /// Errors: 104 for a part that is none of these, or that no band reaches from a column; those of [`ProgrammedRun::bands`].
    ///
    /// ```
    /// # use densepath::path::{ProgrammedRun, Setting};
    /// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
    /// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
    /// assert_eq!(run.bands_at("UV cell")?, run.bands()?);
    /// assert_eq!(run.bands_at("column").unwrap_err().code(), 104);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn bands_at(&self, detector: &str) -> Result<Vec<ProgrammedBand>> {
        let start = self.nodes.first();
        let found = start.map(|node| node.solution.detection(detector));
        self.bands_where(found.transpose()?)
    }

    /// The chromatogram of an injection at time zero, from a start to an end in s at a data rate in Hz; the areas are 1 where no
    /// other is given.
    ///
    /// Errors: those of [`ProgrammedRun::bands`] and of [`Chromatogram::of`].
    ///
    /// ```
    /// # use densepath::path::{ProgrammedRun, Setting};
    /// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
    /// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
    /// let record = run.chromatogram([1.0], 0.0, 1200.0, 5.0)?;
    /// assert!((record.signal.iter().sum::<f64>() * record.sampling.step - 1.0).abs() < 1e-3);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn chromatogram(
        &self,
        areas: impl IntoIterator<Item = f64>,
        start: f64,
        end: f64,
        data_rate: f64,
    ) -> Result<Chromatogram> {
        self.record(self.bands()?, areas, start, end, data_rate)
    }

    /// As [`ProgrammedRun::chromatogram`], at a detector or at the last part of a line where nothing detects.
    ///
    /// Errors: those of [`ProgrammedRun::bands_at`] and of [`Chromatogram::of`].
    ///
    /// ```
    /// # use densepath::path::{ProgrammedRun, Setting};
    /// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
    /// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
    /// let record = run.chromatogram_at("UV cell", [1.0], 0.0, 1200.0, 5.0)?;
    /// assert_eq!(record, run.chromatogram([1.0], 0.0, 1200.0, 5.0)?);
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
        self.record(self.bands_at(detector)?, areas, start, end, data_rate)
    }

    fn record(
        &self,
        bands: Vec<ProgrammedBand>,
        areas: impl IntoIterator<Item = f64>,
        start: f64,
        end: f64,
        data_rate: f64,
    ) -> Result<Chromatogram> {
        let areas = areas.into_iter().chain(std::iter::repeat(1.0));
        let peaks = bands.into_iter().zip(areas).map(|(band, area)| {
            let Band {
                time,
                time_variance,
            } = band.recorded;
            let peak = Peak::of_tails(time, time_variance, &band.tails)?;
            Ok(RecordedPeak {
                solute: band.solute,
                area,
                peak,
            })
        });
        let mut chromatogram =
            Chromatogram::of(peaks.collect::<Result<Vec<_>>>()?, start, end, data_rate)?;
        chromatogram.notices.extend(self.notices());
        Ok(chromatogram)
    }

    /// Where bands arrive; the same at every point of the program.
    fn detections(&self) -> &[Detection] {
        let start = self.nodes.first();
        start.map_or(&[], |node| &node.solution.detections)
    }

    fn bands_where(&self, detection: Option<&Detection>) -> Result<Vec<ProgrammedBand>> {
        let detection = detection.ok_or(Error::Internal {
            place: "programmed run without an end",
        })?;
        let solutes = self.path.solutes.iter().enumerate();
        solutes
            .map(|(index, solute)| self.band(detection, index, solute))
            .collect()
    }

    /// The band of a solute from the injection to a detection, through one part after the other.
    fn band(&self, at: &Detection, index: usize, solute: &Solute) -> Result<ProgrammedBand> {
        let budget = at.bands_of_solutes.get(index);
        let (mut time, mut time_variance) = (0.0, 0.0);
        let (mut columns, mut tails) = (Vec::new(), Vec::new());
        for row in &budget.ok_or_else(|| at.lacks_bands())?.rows {
            let column = self.columns.iter().find(|column| column.name == row.part);
            if let Some(column) = column {
                let entering = Band {
                    time,
                    time_variance,
                };
                let leaving = column.pass(solute, entering)?;
                columns.push(ColumnPassage {
                    column: row.part.clone(),
                    entering,
                    leaving,
                });
                (time, time_variance) = (leaving.time, leaving.time_variance);
                tails.clear();
            } else {
                let (one, other, share) = self.rows(at, index, &row.part, time)?;
                time += one.time + share * (other.time - one.time);
                time_variance +=
                    one.time_variance + share * (other.time_variance - one.time_variance);
                tails.extend(&one.tails);
            }
        }
        Ok(ProgrammedBand {
            solute: solute.name.clone(),
            columns,
            recorded: Band {
                time,
                time_variance,
            },
            tails,
        })
    }

    /// What a part on the way to a detection adds to a band at the points of the program around a time, and how far that is from the first
    /// to the second.
    fn rows(
        &self,
        at: &Detection,
        solute: usize,
        part: &str,
        time: f64,
    ) -> Result<(&BandRow, &BandRow, f64)> {
        let pair = around(&self.nodes, time, |node| node.time);
        let (one, other, share) = pair.ok_or(Error::Internal {
            place: "programmed run without nodes",
        })?;
        Ok((
            one.row(at, solute, part)?,
            other.row(at, solute, part)?,
            share,
        ))
    }

    /// Whether the composition changes in time in any column.
    pub(super) fn changes_composition(&self) -> bool {
        self.columns.iter().any(|column| column.arrival.changes())
    }
}

impl Node {
    /// What a part does to the band of a solute on its way to a detection.
    fn row(&self, at: &Detection, solute: usize, part: &str) -> Result<&BandRow> {
        let detection = self.solution.detection(&at.part)?;
        let budget = detection.bands_of_solutes.get(solute);
        let mut rows = budget.into_iter().flat_map(|budget| &budget.rows);
        let found = rows.find(|row| row.part == part);
        found.ok_or_else(|| at.lacks_bands())
    }
}

/// Error 606 for a path in which no band can be followed: without injector, solute or column, or with two parts of one name.
fn require_layout(path: &Path) -> Result<()> {
    let parts = all_parts(&path.parts);
    if injection(&path.parts).is_none() || path.solutes.is_empty() {
        return Err(layout("a programmed run needs an injector and a solute"));
    }
    let mut roles = parts.iter().map(|part| part.element.role());
    if !roles.any(|role| role == Role::Column) {
        return Err(layout("a programmed run needs a column"));
    }
    let mut names: Vec<&str> = parts.iter().map(|part| part.name.as_str()).collect();
    names.sort_unstable();
    if names
        .windows(2)
        .any(|two| matches!(two, [one, other] if one == other))
    {
        return Err(layout(
            "the parts of a programmed run need names of their own",
        ));
    }
    Ok(())
}

/// An error at one point of a program, told with its time; one of the document tells its place itself.
fn at(time: f64, error: Error) -> Error {
    if error.class() == "DocumentError" {
        return error;
    }
    Error::InProgram {
        time,
        source: Box::new(error),
    }
}

/// Whether parts stand in the same places under the same names, along branches too.
fn same_parts(one: &[Part], other: &[Part]) -> bool {
    let same = |(one, other): (&Part, &Part)| {
        one.name == other.name && same_parts(&one.branch, &other.branch)
    };
    one.len() == other.len() && one.iter().zip(other).all(same)
}

pub(super) fn layout(rule: &str) -> Error {
    Error::Layout {
        line: None,
        key: "program".to_owned(),
        rule: rule.to_owned(),
    }
}
