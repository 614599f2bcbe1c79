//! What follows from a path: stations, bands, duties, consumption, notices.

use std::sync::OnceLock;

use fluid::notice;
use fluid::{Error, Notice, Quantity, Result, State};

use super::Path;
use super::band::BandBudget;
use super::blending;
use super::detection::Detection;
use super::march::{Part, Pass, all_passes};
use super::source::{FIRST_PART, Feed};
use super::{phases, plug};
use crate::fluid;
use crate::hardware::vent::gas_volume_flow_rate;
use crate::hardware::{
    Fact, ModifierShare, Motion, ProfilePoint, Role, Stream, Surroundings, safety, share_beside,
};

/// The fluid at one place of the path.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// let outlet = solution.station("column").map(|station| station.state.clone());
/// assert!(outlet.is_some_and(|state| state.pressure() > 150e5 && state.temperature() > 300.0));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Station {
    /// Name of the part whose outlet it is.
    pub name: String,
    /// The word for the sort of part.
    pub kind: &'static str,
    /// State of the fluid.
    pub state: State,
    /// Mass flow rate q_m in kg/s.
    pub mass_flow_rate: f64,
    /// Share of the injected amount of every solute that goes on here; nothing before the injector.
    pub injected_share: Option<f64>,
    /// Velocity and Reynolds number, where the part is a conduit.
    pub motion: Option<Motion>,
    /// Shares of all that is not the carrier, where a mixture flows anywhere in the path.
    pub modifier: Option<ModifierShare>,
    margin: OnceLock<Option<f64>>,
    temperature_margin: OnceLock<Option<f64>>,
}

impl Station {
    pub(super) fn new(
        name: String,
        kind: &'static str,
        stream: &Stream,
        motion: Option<Motion>,
    ) -> Self {
        Self {
            name,
            kind,
            margin: OnceLock::new(),
            temperature_margin: OnceLock::new(),
            modifier: None,
            injected_share: None,
            state: stream.state.clone(),
            mass_flow_rate: stream.mass_flow_rate,
            motion,
        }
    }

    /// Pressure in Pa above the one at which a second phase appears; infinite where none does at any pressure.
    ///
    /// Nothing where there are two phases already. Sought when it is first asked for: of a mixture it costs as much as the whole
    /// path.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// // Above the critical temperature no pressure brings a second phase.
    /// assert!(solution.station("column").is_some_and(|station| station.single_phase_margin() == Some(f64::INFINITY)));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn single_phase_margin(&self) -> Option<f64> {
        *self.margin.get_or_init(|| {
            let margin = || self.state.single_phase_margin().ok();
            self.state.is_one_phase().then(margin).flatten()
        })
    }

    /// Temperature in K from the nearest one at which a second phase appears; infinite where none does in the range.
    ///
    /// Nothing where there are two phases already. Sought when it is first asked for, as [`Station::single_phase_margin`].
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// // Carbon dioxide at 150 bar has no second phase at any temperature above that of its melting: the pressure is supercritical.
    /// let column = solution.station("column");
    /// assert!(column.is_some_and(|station| station.single_phase_temperature_margin().is_some_and(|margin| margin > 20.0)));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn single_phase_temperature_margin(&self) -> Option<f64> {
        *self.temperature_margin.get_or_init(|| {
            let state = &self.state;
            let fluid = state.fluid();
            let margin =
                || fluid.single_phase_temperature_margin(state.temperature(), state.pressure());
            state.is_one_phase().then(|| margin().ok()).flatten()
        })
    }

    /// A quantity of the station in SI; error 202 where it is not defined there.
    ///
    /// ```
    /// use densepath::Quantity;
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// let station = &solution.stations[0];
    /// assert_eq!(station.get(Quantity::Density)?, station.state.density());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn get(&self, quantity: Quantity) -> Result<f64> {
        let missing = Error::MissingModel {
            property: quantity,
            fluid: self.state.fluid().name().to_owned(),
            need: "it is not defined at this station",
        };
        match quantity {
            Quantity::MassFlowRate => Ok(self.mass_flow_rate),
            Quantity::VolumeFlowRate => Ok(self.mass_flow_rate / self.state.density()),
            Quantity::Velocity => self.motion.map(|motion| motion.velocity).ok_or(missing),
            Quantity::ReynoldsNumber => self
                .motion
                .map(|motion| motion.reynolds_number)
                .ok_or(missing),
            Quantity::VapourFraction => self.state.vapour_fraction().ok_or(missing),
            Quantity::SolidFraction => Ok(self.state.solid_fraction()),
            Quantity::SinglePhaseMargin => self.single_phase_margin().ok_or(missing),
            Quantity::SinglePhaseTemperatureMargin => {
                self.single_phase_temperature_margin().ok_or(missing)
            }
            Quantity::AmountFraction => self
                .modifier
                .map(|share| share.amount_fraction)
                .ok_or(missing),
            Quantity::MassFraction => self
                .modifier
                .map(|share| share.mass_fraction)
                .ok_or(missing),
            other => self.state.get(other),
        }
    }
}

/// The stations along a branch.
///
/// ```
/// let text = std::fs::read_to_string("../../tests/methods/packed.toml").unwrap();
/// let branch = "[[part]]\nkind = \"linear_restrictor\"\nname = \"bleed\"\nbranch_of = \"cell tube\"\ndiameter = \"15 um\"\nlength = \"1 m\"";
/// let solution = densepath::read_method(&format!("{text}\n{branch}\n"))?.solve()?;
/// assert_eq!((solution.branches[0].tee.as_str(), solution.branches[0].stations[0].name.as_str()), ("cell tube", "bleed"));
/// // What the branch takes is missing behind its tee.
/// let rest = solution.station("UV cell").map(|station| station.mass_flow_rate + solution.branches[0].stations[0].mass_flow_rate);
/// assert!(rest.is_some_and(|sum| (sum / solution.mass_flow_rate - 1.0).abs() < 1e-12));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Branch {
    /// Name of the part at whose outlet it begins.
    pub tee: String,
    /// The fluid at the outlet of each of its parts.
    pub stations: Vec<Station>,
    /// How many of them stand before the part that holds its pressure.
    dense: usize,
}

/// One result of one part.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// // Every one is found by its part and its words.
/// let told = |told: &densepath::path::PartFact| solution.fact(&told.part, told.fact.name).is_some();
/// assert!(!solution.facts.is_empty() && solution.facts.iter().all(told));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct PartFact {
    /// Name of the part.
    pub part: String,
    /// The result.
    pub fact: Fact,
}

/// Heat that a part takes up or gives off.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// // The head of the pump is cooled: heat leaves the fluid there.
/// assert!(solution.duties.iter().any(|duty| duty.part == "pump" && duty.heat_flow_rate < 0.0));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Duty {
    /// Name of the part.
    pub part: String,
    /// What the heat is for.
    pub purpose: String,
    /// Heat flow rate in W into the fluid; negative where the fluid is cooled.
    pub heat_flow_rate: f64,
}

/// What the method uses up.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// use densepath::{Fluid, hardware::vent::gas_volume_flow_rate};
/// let used = &solution.consumption;
/// let gas = gas_volume_flow_rate(&Fluid::new("carbon dioxide")?, used.mass_flow_rate)?;
/// assert!((used.gas_volume_flow_rate / gas - 1.0).abs() < 1e-9 && used.running_time > 3600.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Consumption {
    /// Mass flow rate q_m in kg/s from the cylinder.
    pub mass_flow_rate: f64,
    /// Volume flow rate of the gas let out in m3/s, at 20 degC and 101325 Pa.
    pub gas_volume_flow_rate: f64,
    /// Time in s for which the liquid in the cylinder lasts.
    pub running_time: f64,
}

/// A column at a glance.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// let column = &solution.columns[0];
/// let ends = [column.outlet.density(), column.inlet.density()];
/// assert!(ends[0] < column.mean_density() && column.mean_density() < ends[1]);
/// assert!(column.hold_up_time > 0.0 && column.profile.len() > 2);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct ColumnSummary {
    /// Name of the part.
    pub name: String,
    /// State at the inlet.
    pub inlet: State,
    /// State at the outlet.
    pub outlet: State,
    /// Pressure drop in Pa.
    pub pressure_drop: f64,
    /// Hold-up time t_M in s.
    pub hold_up_time: f64,
    /// Points from inlet to outlet.
    pub profile: Vec<ProfilePoint>,
}

impl ColumnSummary {
    /// Mean of the densities at both ends in kg/m3, which a method keeps on another column.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// let column = &solution.columns[0];
    /// assert_eq!(column.mean_density(), 0.5 * (column.inlet.density() + column.outlet.density()));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn mean_density(&self) -> f64 {
        0.5 * (self.inlet.density() + self.outlet.density())
    }
}

/// All that follows from a path in steady flow.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// assert_eq!(solution.title, "Purity check on a 4.6 mm packed column");
/// // The station behind the regulator is heated to 10 degC.
/// assert!(solution.station("regulator").is_some_and(|station| (station.state.temperature() - 283.15).abs() < 1e-6));
/// // The column is the only one, and its ends lie apart by its pressure drop.
/// let column = &solution.columns[0];
/// assert!((column.inlet.pressure() - column.outlet.pressure() - column.pressure_drop).abs() < 1.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Solution {
    /// Title of the method.
    pub title: String,
    /// Name of the mobile phase.
    pub fluid: String,
    /// Model of its state.
    pub model: String,
    /// Pressure in Pa at which the pump delivers.
    pub delivery_pressure: f64,
    /// Mass flow rate q_m in kg/s that leaves the instrument: that of all pumps.
    pub mass_flow_rate: f64,
    /// The fluid at the supply, at the pump and at the outlet of each part.
    pub stations: Vec<Station>,
    /// The branches, a branch of a branch behind it.
    pub branches: Vec<Branch>,
    /// The passage through each part.
    pub passes: Vec<Pass>,
    /// The sum of the bands of the first solute, if there is an injection, a column and a solute.
    pub bands: Option<BandBudget>,
    /// The sums of the bands of all solutes, in their order, at the first detector of the main line or at its end where nothing detects.
    pub bands_of_solutes: Vec<BandBudget>,
    /// The bands at every detector, and at the end of every line where nothing detects: those of the main line first; none without an
    /// injector.
    pub detections: Vec<Detection>,
    /// The columns: those of the main line, then those of its branches.
    pub columns: Vec<ColumnSummary>,
    /// Heat to supply and to remove.
    pub duties: Vec<Duty>,
    /// What only single parts have to tell.
    pub facts: Vec<PartFact>,
    /// What is used up.
    pub consumption: Consumption,
    /// Doubts and cautions, cautions first.
    pub notices: Vec<Notice>,
    /// How many parts stand between the pump and the part that holds the pressure.
    dense: usize,
}

impl Solution {
    /// The last station of the main line: what leaves the instrument there.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// assert_eq!(solution.outlet().map(|station| station.name.as_str()), Some("vent"));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn outlet(&self) -> Option<&Station> {
        self.stations.last()
    }

    /// The station at the outlet of a part, be it of the main line or of a branch.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// assert!(solution.station("column").is_some() && solution.station("colum").is_none());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn station(&self, name: &str) -> Option<&Station> {
        self.all_stations().find(|station| station.name == name)
    }

    /// The stations of the main line, and behind them those of the branches.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// assert_eq!(solution.all_stations().count(), solution.stations.len());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn all_stations(&self) -> impl Iterator<Item = &Station> {
        let of_branches = self.branches.iter().flat_map(|branch| &branch.stations);
        self.stations.iter().chain(of_branches)
    }

    /// The bands at a detector, or at the last part of a line where nothing detects, by the name of the part.
    ///
    /// Error 104 for a name that is none of theirs.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// assert_eq!(solution.detection("UV cell")?.bands_of_solutes, solution.bands_of_solutes);
    /// assert_eq!(solution.detection("column").unwrap_err().code(), 104);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn detection(&self, part: &str) -> Result<&Detection> {
        let mut all = self.detections.iter();
        all.find(|detection| detection.part == part).ok_or_else(|| {
            let names: Vec<&str> = self.detections.iter().map(|one| one.part.as_str()).collect();
            let names = names.join(", ");
            Error::Argument {
                argument: "detector".to_owned(),
                expected: "the name of a detector behind the injector, or of the last part of a line where nothing detects",
                got: format!("\"{part}\"; there are: {names}"),
            }
        })
    }

    /// A result of a part by its words.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// let fact = &solution.facts[0];
    /// assert_eq!(solution.fact(&fact.part, fact.fact.name), Some(fact.fact.value));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn fact(&self, part: &str, name: &str) -> Option<f64> {
        let found = self
            .facts
            .iter()
            .find(|entry| entry.part == part && entry.fact.name == name);
        found.map(|entry| entry.fact.value)
    }

    /// Smallest distance in pressure, in Pa, from a second phase between the pump and the part that holds the pressure; infinite
    /// where none appears at any pressure, negative for a vapour. As [`Station::single_phase_margin`], sought when it is asked for.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// let margins = solution.stations.iter().filter_map(|station| station.single_phase_margin());
    /// assert!(solution.single_phase_margin() >= margins.min_by(f64::total_cmp));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn single_phase_margin(&self) -> Option<f64> {
        let margins = self.dense_stations().into_iter();
        let margins = margins.filter_map(Station::single_phase_margin);
        margins.min_by(f64::total_cmp)
    }

    /// The station between the pump and the part that holds the pressure that comes nearest to a second phase, with its margin in Pa, as
    /// [`Station::single_phase_margin`]; nothing where none appears at any pressure.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed_modifier.toml")?.solve()?;
    /// let (station, margin) = solution.nearest_split().ok_or("there is one").unwrap();
    /// assert_eq!((Some(margin), station.single_phase_margin()), (solution.single_phase_margin(), Some(margin)));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn nearest_split(&self) -> Option<(&Station, f64)> {
        phases::nearest(&self.dense_stations(), f64::INFINITY)
    }

    /// The stations before the parts that hold the pressure.
    pub(super) fn dense_stations(&self) -> Vec<&Station> {
        dense_of(&self.stations, self.dense, &self.branches)
    }

    pub(super) fn assemble(
        path: &Path,
        feed: &Feed,
        surroundings: &Surroundings<'_>,
        delivered: &Stream,
        passes: Vec<Pass>,
        detections: Vec<Detection>,
    ) -> Result<Self> {
        let first = detections.first();
        let bands_of_solutes = first.map_or_else(Vec::new, |first| first.bands_of_solutes.clone());
        let delivery_pressure = surroundings.delivery_pressure;
        let supplied = delivered.mass_flow_rate;
        let mut report = path.source.report(feed, delivery_pressure, supplied)?;
        let last = passes.last().map_or(delivered, |pass| &pass.outlet.stream);
        let fluid = last.state.fluid().clone();
        let (mass_flow_rate, gas) = leaving(last, &passes)?;
        for pass in all_passes(&passes) {
            report.tell(pass);
        }
        let shares = blending::sensitivities(path, surroundings, delivered, feed, &passes)?;
        report.facts.extend(shares);
        plug::report(&path.parts, &passes, &mut report);
        let mut stations = stations(path, feed, delivered, &passes);
        let mut branches = branches(&path.parts, &passes);
        tell_shares(&mut stations, &mut branches, surroundings.carrier);
        let dense = phases::dense(&path.parts);
        let held = dense_of(&stations, dense, &branches);
        report.notices.extend(phases::notices(&held));
        report
            .notices
            .extend(standing_notices(path, delivered, gas)?);
        notice::sort(&mut report.notices);
        Ok(Self {
            title: path.title.clone(),
            fluid: fluid.name().to_owned(),
            model: fluid.corrected_model(),
            delivery_pressure,
            mass_flow_rate,
            stations,
            branches,
            bands: bands_of_solutes.first().cloned(),
            bands_of_solutes,
            detections,
            columns: columns(&path.parts, &passes),
            passes,
            duties: report.duties,
            facts: report.facts,
            consumption: Consumption {
                mass_flow_rate: supplied,
                gas_volume_flow_rate: gas,
                running_time: feed.content.usable_mass / supplied,
            },
            notices: report.notices,
            dense,
        })
    }
}

/// What leaves the instrument through all its ends: the mass flow rate in kg/s, and as gas in m3/s at 20 degC and 101325 Pa.
fn leaving(last: &Stream, passes: &[Pass]) -> Result<(f64, f64)> {
    let of_branches = all_passes(passes).into_iter();
    let ends = of_branches.filter_map(|pass| Some(&pass.branch.last()?.outlet.stream));
    let (mut mass, mut gas) = (0.0, 0.0);
    for end in std::iter::once(last).chain(ends) {
        mass += end.mass_flow_rate;
        gas += gas_volume_flow_rate(end.state.fluid(), end.mass_flow_rate)?;
    }
    Ok((mass, gas))
}

/// The branches of parts, each with its stations.
fn branches(parts: &[Part], passes: &[Pass]) -> Vec<Branch> {
    let mut found = Vec::new();
    for (part, pass) in parts.iter().zip(passes) {
        if !part.branch.is_empty() {
            found.push(Branch {
                tee: part.name.clone(),
                stations: pass.branch.iter().map(outlet_station).collect(),
                dense: phases::dense(&part.branch),
            });
        }
        found.extend(branches(&part.branch, &pass.branch));
    }
    found
}

/// The stations before the parts that hold the pressure, of the main line and of all branches.
fn dense_of<'a>(stations: &'a [Station], dense: usize, branches: &'a [Branch]) -> Vec<&'a Station> {
    let main = stations.iter().skip(FIRST_PART).take(dense);
    let of_branch = |branch: &'a Branch| branch.stations.iter().take(branch.dense);
    main.chain(branches.iter().flat_map(of_branch)).collect()
}

/// Tells every station the shares beside the carrier, where a mixture flows anywhere.
fn tell_shares(stations: &mut [Station], branches: &mut [Branch], carrier: &str) {
    let of_branches = branches.iter_mut().flat_map(|branch| &mut branch.stations);
    let mut all: Vec<&mut Station> = stations.iter_mut().chain(of_branches).collect();
    if all.iter().any(|station| station.state.fluid().is_mixture()) {
        for station in &mut all {
            station.modifier = Some(share_beside(station.state.fluid(), carrier));
        }
    }
}

impl super::source::SourceReport {
    /// Facts, duties and notices of a passage.
    fn tell(&mut self, pass: &Pass) {
        let outlet = &pass.outlet;
        self.add(&pass.name, outlet.facts.clone(), &outlet.notices);
        if outlet.heat_flow_rate != 0.0 {
            self.duties.push(Duty {
                part: pass.name.clone(),
                purpose: if outlet.heat_flow_rate > 0.0 {
                    "heating"
                } else {
                    "cooling"
                }
                .to_owned(),
                heat_flow_rate: outlet.heat_flow_rate,
            });
        }
    }
}

/// The fluid at the supply, at the pump and at the outlet of each part.
fn stations(path: &Path, feed: &Feed, delivered: &Stream, passes: &[Pass]) -> Vec<Station> {
    let source = &path.source;
    let at = |state: &State| Stream {
        state: state.clone(),
        mass_flow_rate: delivered.mass_flow_rate,
    };
    let before = [
        Station::new(
            source.cylinder.name.clone(),
            "cylinder",
            &at(&feed.supplied),
            None,
        ),
        Station::new(
            source.suction_line.name.clone(),
            "suction_line",
            &at(&feed.suction.state),
            None,
        ),
        Station::new(
            source.pump.name.clone(),
            source.pump.part.kind(),
            delivered,
            None,
        ),
    ];
    before
        .into_iter()
        .chain(passes.iter().map(outlet_station))
        .collect()
}

fn outlet_station(pass: &Pass) -> Station {
    Station {
        injected_share: pass.injected_share_behind(),
        ..Station::new(
            pass.name.clone(),
            pass.kind,
            &pass.outlet.stream,
            pass.outlet.motion,
        )
    }
}

fn columns(parts: &[Part], passes: &[Pass]) -> Vec<ColumnSummary> {
    let own = parts.iter().zip(passes);
    let of = |(part, pass): (&Part, &Pass)| {
        (part.element.role() == Role::Column).then(|| ColumnSummary {
            name: pass.name.clone(),
            inlet: pass.inlet.state.clone(),
            outlet: pass.outlet.stream.state.clone(),
            pressure_drop: pass.inlet.state.pressure() - pass.outlet.stream.state.pressure(),
            hold_up_time: pass.outlet.hold_up_time,
            profile: pass.outlet.profile.clone(),
        })
    };
    let of_branches = own
        .clone()
        .flat_map(|(part, pass)| columns(&part.branch, &pass.branch));
    own.filter_map(of).chain(of_branches).collect()
}

/// Notices that belong to no single law: cold liquid that can be shut in, gas in the room.
fn standing_notices(path: &Path, delivered: &Stream, gas: f64) -> Result<Vec<Notice>> {
    let mut notices = Vec::new();
    let pump = &path.source.pump;
    if delivered.state.temperature() < path.room.temperature {
        let shut_in = safety::blocked_in(
            &delivered.state,
            path.room.temperature,
            pump.part.pressure_limit(),
        )?;
        let at_pump = shut_in.notices.into_iter();
        notices.extend(at_pump.map(|notice| notice.at(&pump.name)));
    }
    if let Some(air) = &path.room.air {
        notices.extend(air.exposure(gas)?.notices);
    }
    Ok(notices)
}
