//! A column while settings change: its profile and flow rate at each point of a program, and the composition that has come to it.

use std::sync::Arc;

use fluid::{Error, Result, State};

use super::Path;
use super::gradient::{Arrival, Way, around, ways_to_columns};
use super::march::{Pass, all_parts};
use super::program::{Node, layout};
use crate::flow::travel::{Band, SoluteMotion, travel};
use crate::fluid;
use crate::hardware::{Element, ProfilePoint, Solute, carrier_of, share_beside};

/// The mobile phase at the ends of a column at one point of a program, of the composition that has reached them.
///
/// ```
/// # use densepath::path::{ProgrammedRun, Setting};
/// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
/// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
/// let ends = &run.history()?[0].columns[0];
/// assert!(ends.column == "column" && ends.inlet.pressure() > ends.outlet.pressure());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct ColumnEnds {
    /// Name of the column.
    pub column: String,
    /// The mobile phase at its inlet.
    pub inlet: State,
    /// The mobile phase at its outlet.
    pub outlet: State,
}

/// A column of a programmed run.
#[derive(Debug, Clone)]
pub(super) struct ColumnInTime {
    pub name: String,
    element: Arc<dyn Element>,
    carrier: &'static str,
    pub length: f64,
    pub arrival: Arrival,
    moments: Vec<Moment>,
}

/// A column at one point of a program.
#[derive(Debug, Clone)]
struct Moment {
    time: f64,
    mass_flow_rate: f64,
    /// Profile, with the time in s of the mobile phase from the inlet.
    profile: Vec<(ProfilePoint, f64)>,
}

impl ColumnInTime {
    /// All columns of a path, those of a line before those of its branches.
    ///
    /// Error 606 for points of a program with different parts or substances.
    pub fn all(path: &Path, nodes: &[Node]) -> Result<Vec<Self>> {
        let times: Vec<f64> = nodes.iter().map(|node| node.time).collect();
        let passes = nodes.iter().map(|node| &node.solution.passes);
        let ways: Vec<Vec<Way<'_>>> = passes.map(|passes| ways_to_columns(passes)).collect();
        let columns = ways.first().map_or(0, Vec::len);
        let of_place = |place: usize| {
            let to_one: Vec<&Way<'_>> = ways.iter().filter_map(|ways| ways.get(place)).collect();
            Self::of(path, &times, &to_one)
        };
        (0..columns).map(of_place).collect()
    }

    /// The column at the end of the ways to it at the times of a program.
    fn of(path: &Path, times: &[f64], ways: &[&Way<'_>]) -> Result<Self> {
        let last: Vec<&Pass> = ways.iter().filter_map(|way| way.last().copied()).collect();
        let name = last
            .first()
            .map(|pass| pass.name.clone())
            .unwrap_or_default();
        let mut parts = all_parts(&path.parts).into_iter();
        let part = parts.find(|part| part.name == name);
        let part = part.filter(|_| last.len() == times.len());
        let part =
            part.ok_or_else(|| layout("the settings of a program must have the same parts"))?;
        let pairs = times.iter().zip(last);
        let moments: Vec<Moment> = pairs.map(|(time, pass)| Moment::of(*time, pass)).collect();
        Ok(Self {
            name,
            element: part.element.clone(),
            carrier: carrier_of(&path.fluid),
            length: moments.first().map_or(0.0, Moment::length),
            arrival: Arrival::along(times, ways)?,
            moments,
        })
    }

    /// The band of a solute at the outlet, of one that enters.
    pub fn pass(&self, solute: &Solute, entering: Band) -> Result<Band> {
        travel(self.length, entering, |z, t| self.motion(solute, z, t))
    }

    /// The mobile phase at both ends at a time in s.
    pub fn ends(&self, time: f64) -> Result<ColumnEnds> {
        Ok(ColumnEnds {
            column: self.name.clone(),
            inlet: self.state(0.0, time)?,
            outlet: self.state(self.length, time)?,
        })
    }

    /// What the solute does at a distance in m from the inlet at a time in s.
    fn motion(&self, solute: &Solute, position: f64, time: f64) -> Result<SoluteMotion> {
        let state = self.state(position, time)?;
        let mass_flow_rate = self.mixed(time, |moment| moment.mass_flow_rate)?;
        let share = share_beside(state.fluid(), self.carrier);
        self.element
            .solute_motion(&state, mass_flow_rate, solute, share)
    }

    /// The mobile phase at a distance in m from the inlet at a time in s.
    pub fn state(&self, position: f64, time: f64) -> Result<State> {
        let at = |of: fn(&(ProfilePoint, f64)) -> f64| {
            self.mixed(time, |moment| moment.at(position, of))
        };
        let temperature = at(|(point, _)| point.temperature)?;
        let fluid = self.arrival.fluid(time, at(|(_, elapsed)| *elapsed)?)?;
        if self.arrival.changes() {
            State::from_tp(&fluid, temperature, at(|(point, _)| point.pressure)?)
        } else {
            let density = at(|(point, _)| point.density)?;
            State::one_phase_from_t_rho(&fluid, temperature, density)
        }
    }

    /// A value at a time, straight between the points of the program.
    fn mixed(&self, time: f64, of: impl Fn(&Moment) -> f64) -> Result<f64> {
        let (one, other, share) =
            around(&self.moments, time, |moment| moment.time).ok_or(Error::Internal {
                place: "programmed column without points",
            })?;
        let before = of(one);
        if share == 0.0 {
            return Ok(before);
        }
        Ok(before + share * (of(other) - before))
    }
}

impl Moment {
    fn of(time: f64, pass: &Pass) -> Self {
        let mut elapsed = 0.0;
        let mut profile: Vec<(ProfilePoint, f64)> = Vec::new();
        for point in &pass.outlet.profile {
            if let Some((last, _)) = profile.last() {
                let step = point.position - last.position;
                elapsed += 0.5 * step * (1.0 / point.velocity + 1.0 / last.velocity);
            }
            profile.push((*point, elapsed));
        }
        // The time to the outlet is known better than trapezoids tell it.
        let scale = pass.outlet.hold_up_time / elapsed;
        for (_, elapsed) in &mut profile {
            *elapsed *= scale;
        }
        Self {
            time,
            mass_flow_rate: pass.inlet.mass_flow_rate,
            profile,
        }
    }

    fn length(&self) -> f64 {
        self.profile.last().map_or(0.0, |(point, _)| point.position)
    }

    /// A value of the profile at a distance from the inlet, by a parabola through the three points next to it.
    fn at(&self, position: f64, of: impl Fn(&(ProfilePoint, f64)) -> f64) -> f64 {
        let points = &self.profile;
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
