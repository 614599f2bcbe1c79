//! What a programmed run does in time: the ends of the columns, and whether a row of steady flows may stand for it.

use fluid::notice::rounded;
use fluid::{Error, Notice, NoticeCode, Quantity, Result, State};

use super::column_in_time::ColumnEnds;
use super::march::{Part, Pass, all_parts, all_passes};
use super::phases;
use super::program::{Node, ProgrammedRun};
use super::solution::Station;
use super::source::Pump;
use crate::fluid;

/// Share of the flow that may be stored before a row of steady flows no longer stands for the run (common practice, no source).
const STORED: f64 = 0.05;

/// Relative change of a held pressure that is none: the solutions agree to better.
const STEADY: f64 = 1e-6;

/// The instrument at one point of a program.
///
/// ```
/// # use densepath::path::{ProgrammedRun, Setting};
/// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
/// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
/// // The denser the fluid, the more of it is held by the parts.
/// let points = run.history()?;
/// assert!(points[0].stored_mass < points[1].stored_mass && points[1].storage_mass_flow_rate > 0.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct ProgramPoint {
    /// Time t in s after the injection.
    pub time: f64,
    /// Pressure in Pa at which the pump delivers.
    pub delivery_pressure: f64,
    /// Mass flow rate q_m in kg/s of all pumps.
    pub mass_flow_rate: f64,
    /// The ends of all columns: those of the main line, then those of its branches.
    pub columns: Vec<ColumnEnds>,
    /// Mass in kg of the mobile phase between the pump and the parts that hold the pressure, along all branches, in steady flow.
    pub stored_mass: f64,
    /// Mass flow rate in kg/s by which the stored mass rises from the point before; 0 at the first point.
    pub storage_mass_flow_rate: f64,
}

impl ProgramPoint {
    /// The ends of a column by its name.
    ///
    /// Error 104 for the name of no column.
    ///
    /// ```
    /// # use densepath::path::{ProgrammedRun, Setting};
    /// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
    /// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
    /// let point = &run.history()?[0];
    /// assert!(point.ends_of("column")?.inlet.pressure() < point.delivery_pressure);
    /// assert_eq!(point.ends_of("regulator").unwrap_err().code(), 104);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn ends_of(&self, column: &str) -> Result<&ColumnEnds> {
        let mut all = self.columns.iter();
        all.find(|ends| ends.column == column).ok_or_else(|| {
            let names: Vec<&str> = self
                .columns
                .iter()
                .map(|ends| ends.column.as_str())
                .collect();
            let names = names.join(", ");
            Error::Argument {
                argument: "column".to_owned(),
                expected: "the name of a column",
                got: format!("\"{column}\"; there are: {names}"),
            }
        })
    }
}

/// Where and when a run comes nearest to a second phase.
///
/// ```
/// let text = std::fs::read_to_string("../../tests/methods/packed_modifier.toml").unwrap();
/// let gradient = "[[program]]\npart = \"modifier pump\"\nkey = \"volume_flow_rate\"\ntime = [\"0 min\", \"5 min\"]\n\
///                 value = [\"0.05 mL/min\", \"0.6 mL/min\"]\n";
/// let method = densepath::read_method(&format!("{text}\n{gradient}"))?;
/// let nearest = method.nearest_split()?.ok_or("there is one").unwrap();
/// assert!(nearest.margin > 0.0 && (0.0..=300.0).contains(&nearest.time) && nearest.station.modifier.is_some());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct NearestSplit {
    /// Time t in s after the injection; 0 in steady flow.
    pub time: f64,
    /// The station, with its state and the share of modifier.
    pub station: Station,
    /// Distance in pressure, in Pa, from the second phase; negative for a vapour.
    pub margin: f64,
}

impl ProgrammedRun {
    /// Of all points of the program, the station that comes nearest to a second phase; nothing where none appears at any pressure.
    ///
    /// Each point is taken as a steady flow: every station has the composition that the pumps make then, which reaches it later.
    ///
    /// ```
    /// # use densepath::path::{ProgrammedRun, Setting};
    /// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
    /// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
    /// // The pressure rises: the start is the nearer.
    /// assert_eq!(run.nearest_split().map(|nearest| nearest.time), Some(0.0));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn nearest_split(&self) -> Option<NearestSplit> {
        self.nearest_split_within(f64::INFINITY)
    }

    /// The same, if the margin is smaller than a pressure in Pa.
    fn nearest_split_within(&self, mut within: f64) -> Option<NearestSplit> {
        let mut found = None;
        for node in &self.nodes {
            if let Some((station, margin)) =
                phases::nearest(&node.solution.dense_stations(), within)
            {
                within = margin.abs();
                found = Some(NearestSplit {
                    time: node.time,
                    station: station.clone(),
                    margin,
                });
            }
        }
        found
    }

    /// The run at each point of its program.
    ///
    /// The flow that is stored is what the steady flows leave out: the column gets less than the pumps deliver while the pressure
    /// rises. *Uncertainty*: of the stored mass that of the volumes of the parts. *Source*: mass balance.
    ///
    /// Errors: those of the states.
    ///
    /// ```
    /// # use densepath::path::{ProgrammedRun, Setting};
    /// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
    /// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
    /// let points = run.history()?;
    /// assert!(points.windows(2).all(|two| two[0].time < two[1].time && two[0].delivery_pressure < two[1].delivery_pressure));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn history(&self) -> Result<Vec<ProgramPoint>> {
        let storage = std::iter::once(0.0).chain(self.storage_mass_flow_rates());
        let points = self.nodes.iter().zip(storage);
        points
            .map(|(node, storage_mass_flow_rate)| {
                let ends = self.columns.iter().map(|column| column.ends(node.time));
                Ok(ProgramPoint {
                    time: node.time,
                    delivery_pressure: node.solution.delivery_pressure,
                    mass_flow_rate: node.solution.mass_flow_rate,
                    columns: ends.collect::<Result<_>>()?,
                    stored_mass: self.stored_mass(node),
                    storage_mass_flow_rate,
                })
            })
            .collect()
    }

    /// Doubts about the run: what is stored on its way, a second phase near by at any of its points, and what is left out of a change of
    /// composition.
    ///
    /// ```
    /// # use densepath::path::{ProgrammedRun, Setting};
    /// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
    /// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
    /// // 30 bar in three seconds are no row of steady flows.
    /// let hasty = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 3.0, path: method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?.path }])?;
    /// assert!(hasty.notices().len() > run.notices().len());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn notices(&self) -> Vec<Notice> {
        let mut notices: Vec<Notice> = self.storage_notice().into_iter().collect();
        notices.extend(self.split_notice());
        if self.changes_composition() {
            notices.push(Notice::new(
                NoticeCode::Estimated,
                "a change of composition is taken to reach a column after the time of the mobile phase through the parts before \
                 it, smoothed by mixers alone: what connecting tubes and packings smear or hold back of it is left out",
            ));
        }
        notices
    }

    /// Refuses a run that its pumps cannot follow: the flow that is stored must not exceed what the pumps deliver, nor a piston that holds a
    /// pressure be asked for more than it displaces from a full barrel.
    ///
    /// Error 505 where it does.
    pub(super) fn require_rates(&self) -> Result<()> {
        for (pair, storage) in self.nodes.windows(2).zip(self.storage_mass_flow_rates()) {
            let [from, to] = pair else { continue };
            let (before, behind) = (&from.solution, &to.solution);
            let seconds = to.time - from.time;
            // What is set: the pressure before the pump also moves where a change of composition is taken to be everywhere at once.
            let rise = self.rise(from, to);
            let flow = before.mass_flow_rate.max(behind.mass_flow_rate);
            match &self.path.source.pump.part {
                Pump::Reciprocating(_) if rise > 0.0 && storage > flow => {
                    return Err(Error::TooFast {
                        quantity: Quantity::PressureRate,
                        value: rise / seconds,
                        limit: rise / seconds * flow / storage,
                        because: "the flow of the pumps into the instrument",
                    });
                }
                Pump::Reciprocating(_) => {}
                Pump::Syringe(pump) => {
                    let middle = 0.5 * (behind.delivery_pressure + before.delivery_pressure);
                    let rate = (behind.delivery_pressure - before.delivery_pressure) / seconds;
                    let fluid = &self.path.fluid;
                    let barrel = State::from_tp(fluid, pump.barrel_temperature(), middle)?;
                    pump.require_displacement(&barrel, pump.barrel_volume(), rate, flow)?;
                }
            }
        }
        Ok(())
    }

    /// Largest rise in Pa of the pressures that are held between two points; 0 where none rises.
    fn rise(&self, from: &Node, to: &Node) -> f64 {
        let held = |node: &Node| held_pressures(&self.path.parts, &node.solution.passes);
        let (before, behind) = (held(from), held(to));
        let rises = before.iter().zip(&behind).filter_map(|(before, behind)| {
            let rise = behind - before;
            (rise > STEADY * behind).then_some(rise)
        });
        rises.fold(0.0, f64::max)
    }

    fn split_notice(&self) -> Option<Notice> {
        let nearest = self.nearest_split_within(phases::THIN)?;
        let share = nearest.station.modifier.map_or(String::new(), |share| {
            format!(
                ", with an amount fraction of {} beside the carrier",
                rounded(share.amount_fraction)
            )
        });
        let when = format!(
            " in the run, {} s after the injection{share}",
            rounded(nearest.time)
        );
        Some(phases::too_near(&nearest.station, nearest.margin, &when))
    }

    fn storage_notice(&self) -> Option<Notice> {
        let legs = self.nodes.windows(2).zip(self.storage_mass_flow_rates());
        let shares = legs.filter_map(|(pair, storage)| {
            let [from, to] = pair else { return None };
            let smaller = from.solution.mass_flow_rate.min(to.solution.mass_flow_rate);
            Some((storage / smaller, from.time, to.time))
        });
        let (share, from, to) =
            shares.max_by(|one, other| one.0.abs().total_cmp(&other.0.abs()))?;
        if share.abs() <= STORED {
            return None;
        }
        let text = format!(
            "from {} to {} s the instrument {} {} % of the flow of the pumps, so that a row of steady flows does not describe it \
             (5 % at most, common practice, no source): change the settings more slowly, or take times and pressures there as rough",
            rounded(from),
            rounded(to),
            if share > 0.0 { "stores" } else { "gives back" },
            rounded(100.0 * share.abs()),
        );
        Some(Notice::new(NoticeCode::Unsteady, text))
    }

    /// Rises of the stored mass in kg/s between the points.
    fn storage_mass_flow_rates(&self) -> impl Iterator<Item = f64> {
        self.nodes.windows(2).map(|pair| match pair {
            [from, to] => (self.stored_mass(to) - self.stored_mass(from)) / (to.time - from.time),
            _ => f64::NAN,
        })
    }

    fn stored_mass(&self, node: &Node) -> f64 {
        stored_mass(&self.path.parts, &node.solution.passes)
    }
}

/// Mass in kg before the part of a line that holds its pressure, and in the branches that begin there: in steady flow `q_m t_M` of each
/// part, with the flow that enters it.
fn stored_mass(parts: &[Part], passes: &[Pass]) -> f64 {
    let pairs = parts.iter().zip(passes);
    let dense = pairs.take_while(|(part, _)| !part.element.holds_pressure());
    dense
        .map(|(part, pass)| {
            let own = pass.inlet.mass_flow_rate * pass.outlet.hold_up_time;
            own + stored_mass(&part.branch, &pass.branch)
        })
        .sum()
}

/// Pressures in Pa that are held: before the part of the main line that does so, and wherever one is set. That before a restrictor of a
/// branch is the one at its tee.
fn held_pressures(parts: &[Part], passes: &[Pass]) -> Vec<f64> {
    let own = parts.iter().zip(passes);
    let own = own
        .filter(|(part, _)| part.element.holds_pressure())
        .take(1);
    let all = all_parts(parts).into_iter().zip(all_passes(passes));
    let set = all.filter(|(part, _)| part.element.set_pressure().is_some());
    let held = own.chain(set);
    held.map(|(_, pass)| pass.inlet.state.pressure()).collect()
}
