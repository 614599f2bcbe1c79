//! Programmed runs: what becomes of the bands while settings change.
//!
//! The instrument is solved in steady flow for each point of the program. Pressure, temperature and flow rate along the column
//! follow the program at once; a change of composition travels with the mobile phase, from the pumps through every part to the
//! column and along it, and is smoothed by mixers on its way. The band marches through what it meets, see [`crate::flow::travel`].
//!
//! *Valid*: changes that are slow against the time the mobile phase needs to be stored or let out, which
//! [`ProgrammedRun::notices`] judges; what connecting tubes smear is left out. Between two points of the program all profiles are
//! linear in time.

use fluid::{Error, Result, State};

use super::Path;
use super::band::BandRow;
use super::chromatogram::{Chromatogram, RecordedPeak};
use super::detection::{Detection, injection};
use super::gradient::{Gradient, Made, Way};
use super::march::{Part, Pass, all_parts};
use super::solution::Solution;
use crate::flow::peak::{Peak, Tail};
use crate::flow::travel::{Band, SoluteMotion, travel};
use crate::fluid;
use crate::hardware::{ProfilePoint, Role, Solute, carrier_of, share_beside};

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
    /// Profile along the column, with the time of the mobile phase from its inlet.
    column: Vec<(ProfilePoint, f64)>,
    way: Way,
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
    pub(super) column: usize,
    pub(super) length: f64,
    gradient: Gradient,
}

/// A band that went through a programmed run.
///
/// ```
/// # use densepath::path::{ProgrammedRun, Setting};
/// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
/// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
/// let band = &run.bands()?[0];
/// assert!(band.entering.time < band.leaving.time && band.leaving.time <= band.recorded.time);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct ProgrammedBand {
    /// Name of the solute.
    pub solute: String,
    /// The band as it enters the column.
    pub entering: Band,
    /// The band as it leaves the column.
    pub leaving: Band,
    /// The band as it is recorded.
    pub recorded: Band,
    /// Plugs and decays behind the column.
    pub tails: Vec<Tail>,
}

impl ProgrammedRun {
    /// The settings, each solved in steady flow; before the first and after the last nothing changes.
    ///
    /// Error 606 without settings, for times that do not rise, for settings with different parts or substances, or without
    /// injector, solute and exactly one column; 505 for changes that the pumps cannot follow; the errors of [`Path::solve`].
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
        let is_column = |part: &Part| part.element.role() == Role::Column;
        let mut columns = (0..).zip(&path.parts).filter(|(_, part)| is_column(part));
        let (Some((column, _)), None) = (columns.next(), columns.next()) else {
            return Err(layout(
                "a programmed run needs exactly one column on the main line",
            ));
        };
        if injection(&path.parts).is_none() || path.solutes.is_empty() {
            return Err(layout("a programmed run needs an injector and a solute"));
        }
        let mut nodes: Vec<Node> = Vec::with_capacity(settings.len());
        for Setting { time, path: own } in settings {
            if nodes.last().is_some_and(|last| last.time >= time) || !time.is_finite() {
                return Err(layout("the times of a program must rise"));
            }
            if !same_parts(&own.parts, &path.parts) {
                return Err(layout("the settings of a program must have the same parts"));
            }
            nodes.push(Node::of(time, &own, column).map_err(|error| at(time, error))?);
        }
        let made = nodes.iter().map(|node| {
            Ok(Made {
                time: node.time,
                fluid: node.column(column)?.inlet.state.fluid(),
                mixing_times: &node.way.mixing_times,
            })
        });
        let gradient = Gradient::of(&made.collect::<Result<Vec<_>>>()?)?;
        let length = nodes
            .first()
            .and_then(|node| node.column.last())
            .map_or(0.0, |(point, _)| point.position);
        let run = Self {
            path,
            nodes,
            column,
            length,
            gradient,
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
    /// Error 102 where a law leaves its range on the way; 401 of the integration.
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
    /// Errors: 104 for a part that is none of these, or that no band reaches from the column; those of [`ProgrammedRun::bands`].
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
        let detection = detection.ok_or_else(Node::without_column)?;
        let solutes = self.path.solutes.iter().enumerate();
        solutes
            .map(|(index, solute)| self.band(detection, index, solute))
            .collect()
    }

    fn band(&self, at: &Detection, index: usize, solute: &Solute) -> Result<ProgrammedBand> {
        self.refuse_second_column(at)?;
        let column = self.path.parts.get(self.column).map(|part| &part.name);
        let rows = at.bands_of_solutes.get(index).map(|budget| &budget.rows);
        let place = rows.and_then(|rows| rows.iter().position(|row| Some(&row.part) == column));
        let place = place.ok_or_else(|| at.lacks_bands())?;
        let before = self.share(at, index, 0.0, |rows| rows.get(..place))?;
        let entering = Band {
            time: before.time,
            time_variance: before.time_variance,
        };
        let leaving = travel(self.length, entering, |z, t| self.motion(solute, z, t))?;
        let after = self.share(at, index, leaving.time, |rows| rows.get(place + 1..))?;
        Ok(ProgrammedBand {
            solute: solute.name.clone(),
            entering,
            leaving,
            recorded: Band {
                time: leaving.time + after.time,
                time_variance: leaving.time_variance + after.time_variance,
            },
            tails: after.tails,
        })
    }

    /// What some of the parts on the way to a detection add to a band at a time, linear between the points of the program.
    fn share(
        &self,
        at: &Detection,
        solute: usize,
        time: f64,
        some: impl Fn(&[BandRow]) -> Option<&[BandRow]>,
    ) -> Result<PartsShare> {
        let (one, other, weight) = self.around(time)?;
        let sum = |node: &Node| {
            let detection = node.solution.detection(&at.part)?;
            let budget = detection.bands_of_solutes.get(solute);
            let rows = budget.and_then(|budget| some(&budget.rows));
            rows.map(PartsShare::sum).ok_or_else(|| at.lacks_bands())
        };
        let (a, b) = (sum(one)?, sum(other)?);
        let mixed = |a: f64, b: f64| a + weight * (b - a);
        Ok(PartsShare {
            time: mixed(a.time, b.time),
            time_variance: mixed(a.time_variance, b.time_variance),
            tails: a.tails,
        })
    }

    /// The points of the program around a time, and how far it is from the first to the second.
    fn around(&self, time: f64) -> Result<(&Node, &Node, f64)> {
        let next = self.nodes.iter().position(|node| node.time > time);
        let pair = match next {
            Some(0) => self.nodes.first().map(|node| (node, node, 0.0)),
            Some(next) => self
                .nodes
                .get(next - 1)
                .zip(self.nodes.get(next))
                .map(|(one, other)| (one, other, (time - one.time) / (other.time - one.time))),
            None => self.nodes.last().map(|node| (node, node, 0.0)),
        };
        pair.ok_or(Error::Internal {
            place: "programmed run without nodes",
        })
    }

    /// Error 606 for a place that is reached through a column of a branch too: a band travels through one column while settings change.
    fn refuse_second_column(&self, at: &Detection) -> Result<()> {
        let on_branches = self
            .path
            .parts
            .iter()
            .flat_map(|part| all_parts(&part.branch));
        let mut columns = on_branches.filter(|part| part.element.role() == Role::Column);
        let rows = at.bands_of_solutes.iter().flat_map(|budget| &budget.rows);
        let passed: Vec<&str> = rows.map(|row| row.part.as_str()).collect();
        if columns.any(|column| passed.contains(&column.name.as_str())) {
            return Err(layout(
                "a programmed run follows bands through the column of the main line alone: ask for a detector without another column",
            ));
        }
        Ok(())
    }

    /// Whether the composition changes in time.
    pub(super) fn changes_composition(&self) -> bool {
        self.gradient.changes()
    }

    /// What the solute does at a distance from the inlet of the column at a time.
    fn motion(&self, solute: &Solute, position: f64, time: f64) -> Result<SoluteMotion> {
        let state = self.state(position, time)?;
        let (one, other, weight) = self.around(time)?;
        let before = one.column(self.column)?.inlet.mass_flow_rate;
        let after = other.column(self.column)?.inlet.mass_flow_rate;
        let part = self
            .path
            .parts
            .get(self.column)
            .ok_or_else(Node::without_column)?;
        let share = share_beside(state.fluid(), carrier_of(&self.path.fluid));
        let mass_flow_rate = before + weight * (after - before);
        part.element
            .solute_motion(&state, mass_flow_rate, solute, share)
    }

    /// The mobile phase at a distance in m from the inlet of the column at a time in s.
    pub(super) fn state(&self, position: f64, time: f64) -> Result<State> {
        let (one, other, weight) = self.around(time)?;
        let mixed = |of: &dyn Fn(&Node) -> f64| {
            let a = of(one);
            if weight == 0.0 {
                a
            } else {
                a + weight * (of(other) - a)
            }
        };
        let at = |of: fn(&ProfilePoint) -> f64| {
            mixed(&|node: &Node| node.at(position, |(point, _)| of(point)))
        };
        let temperature = at(|point| point.temperature);
        if self.gradient.changes() {
            let delay = mixed(&|node| node.way.delay + node.at(position, |(_, elapsed)| *elapsed));
            let fluid = self.gradient.fluid(time - delay)?;
            State::from_tp(&fluid, temperature, at(|point| point.pressure))
        } else {
            let fluid = self.gradient.fluid(time)?;
            State::one_phase_from_t_rho(&fluid, temperature, at(|point| point.density))
        }
    }
}

struct PartsShare {
    time: f64,
    time_variance: f64,
    tails: Vec<Tail>,
}

impl PartsShare {
    fn sum(rows: &[BandRow]) -> Self {
        Self {
            time: rows.iter().map(|row| row.time).sum(),
            time_variance: rows.iter().map(|row| row.time_variance).sum(),
            tails: rows.iter().flat_map(|row| &row.tails).copied().collect(),
        }
    }
}

impl Node {
    fn of(time: f64, path: &Path, column: usize) -> Result<Self> {
        let solution = path.solve()?;
        let way = Way::of(&path.parts, &solution.passes, column);
        let mut node = Self {
            time,
            solution,
            column: Vec::new(),
            way,
        };
        let mut elapsed = 0.0;
        let mut points: Vec<(ProfilePoint, f64)> = Vec::new();
        for point in &node.column(column)?.outlet.profile {
            if let Some((last, _)) = points.last() {
                let step = point.position - last.position;
                elapsed += 0.5 * step * (1.0 / point.velocity + 1.0 / last.velocity);
            }
            points.push((*point, elapsed));
        }
        node.column = points;
        Ok(node)
    }

    /// The passage through the column.
    fn column(&self, index: usize) -> Result<&Pass> {
        self.solution
            .passes
            .get(index)
            .ok_or_else(Self::without_column)
    }

    fn without_column() -> Error {
        Error::Internal {
            place: "programmed run without column",
        }
    }

    /// A value of the profile at a distance from the inlet, by a parabola through the three points next to it.
    fn at(&self, position: f64, of: impl Fn(&(ProfilePoint, f64)) -> f64) -> f64 {
        let points = &self.column;
        let next = points.partition_point(|(point, _)| point.position < position);
        let first = next.saturating_sub(1).min(points.len().saturating_sub(3));
        match points.get(first..) {
            Some([a, b, c, ..]) => {
                let (x0, x1, x2) = (a.0.position, b.0.position, c.0.position);
                let (y0, y1, y2) = (of(a), of(b), of(c));
                let slope = (y1 - y0) / (x1 - x0);
                let bend = ((y2 - y1) / (x2 - x1) - slope) / (x2 - x0);
                y0 + (position - x0) * (slope + (position - x1) * bend)
            }
            Some([a, ..]) => of(a),
            _ => f64::NAN,
        }
    }
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
