//! The lines in temperature and pressure on which a mixture of given composition begins to part, followed through the critical
//! point and all turns.
//!
//! Unknowns are `ln K_i`, ln T and ln p with the equations of [`super::boundary`] (from memory: Michelsen, Fluid Phase Equilib. 4, 1
//! (1980), doi 10.1016/0378-3812(80)80001-X). The lines are entered where they cross the lowest and the highest pressure
//! asked; a line within these bounds that crosses neither, an isle, is not seen.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use nalgebra::{DMatrix, DVector};

use super::boundary::{Boundary, Given, kind};
use super::continuation::{Ahead, Curve, Pace, Place};
use super::critical::{MixtureCriticalPoint, critical_points};
use super::normalized;
use super::phase::near;
use super::scan::boundaries;
use super::stability::stability;
use crate::eos::mixture::MixtureModel;
use crate::error::Result;
use crate::num::Amounts;
use crate::num::root::{Tolerance, bracketed};

/// Bounds within which lines are followed.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{EnvelopeBounds, EnvelopeEnd, envelope};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let bounds = EnvelopeBounds { temperatures: (160.0, 450.0), pressures: (1e5, 200e5) };
/// let lines = envelope(&model, &[0.5, 0.5], &bounds)?;
/// assert!(lines[0].points.iter().all(|point| point.boundary.pressure <= bounds.pressures.1 * 1.001));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EnvelopeBounds {
    /// Lowest and highest temperature in K.
    pub temperatures: (f64, f64),
    /// Lowest and highest pressure in Pa.
    pub pressures: (f64, f64),
}

/// Where a line ends.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{EnvelopeBounds, EnvelopeEnd, envelope};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let bounds = EnvelopeBounds { temperatures: (160.0, 450.0), pressures: (1e5, 200e5) };
/// let lines = envelope(&model, &[0.5, 0.5], &bounds)?;
/// // It begins and ends at the lowest pressure, by the boiling and the condensing mixture.
/// assert_eq!(lines[0].ends, (EnvelopeEnd::LowPressure, EnvelopeEnd::LowPressure));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum EnvelopeEnd {
    /// The lowest pressure asked.
    LowPressure,
    /// The highest pressure asked: the region of two phases is open there.
    HighPressure,
    /// The lowest or highest temperature asked.
    Temperature,
    /// The line could not be followed further.
    Lost,
}

/// A point of a line.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{EnvelopeBounds, EnvelopeEnd, envelope};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let bounds = EnvelopeBounds { temperatures: (160.0, 450.0), pressures: (1e5, 200e5) };
/// let lines = envelope(&model, &[0.5, 0.5], &bounds)?;
/// // In the cold a second liquid is near; above 250 K the boundaries are those of the stable mixture.
/// assert!(lines[0].points.iter().all(|point| point.is_stable || point.boundary.temperature < 250.0));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct EnvelopePoint {
    /// The boundary.
    pub boundary: Boundary,
    /// Whether no other phase is more stable there: the boundary is one of the mixture in stable equilibrium.
    pub is_stable: bool,
}

/// One line.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{EnvelopeBounds, EnvelopeEnd, envelope};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let bounds = EnvelopeBounds { temperatures: (160.0, 450.0), pressures: (1e5, 200e5) };
/// let lines = envelope(&model, &[0.5, 0.5], &bounds)?;
/// // The line passes the critical point and has a greatest temperature.
/// assert_eq!(lines[0].critical_points.len(), 1);
/// assert!(!lines[0].greatest_temperatures.is_empty());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct EnvelopeBranch {
    /// Points in order.
    pub points: Vec<EnvelopePoint>,
    /// Where it begins and ends.
    pub ends: (EnvelopeEnd, EnvelopeEnd),
    /// The critical points that it passes.
    pub critical_points: Vec<MixtureCriticalPoint>,
    /// Points of greatest temperature, the cricondentherm where there is one.
    pub greatest_temperatures: Vec<EnvelopePoint>,
    /// Points of greatest pressure, the cricondenbar where there is one.
    pub greatest_pressures: Vec<EnvelopePoint>,
}

/// Longest and first step along a line, in `ln K_i`, ln T and ln p.
const LONGEST: f64 = 0.25;
const FIRST: f64 = 0.01;
/// Points of a line at most.
const POINTS: u32 = 2000;
/// Largest difference of ln T at which two lines have one end.
const SAME_END: f64 = 1e-4;
/// Distance of the tangent plane that a state on a line may show by rounding.
const ON_LINE: f64 = -1e-8;

/// All lines of a mixture of given amount fractions on which another phase appears.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{EnvelopeBounds, EnvelopeEnd, envelope};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let bounds = EnvelopeBounds { temperatures: (160.0, 450.0), pressures: (1e5, 200e5) };
/// let lines = envelope(&model, &[0.5, 0.5], &bounds)?;
/// let point = densepath_fluid::eos::equilibrium::critical_points(&model, &[0.5, 0.5], (250.0, 450.0))?[0];
/// assert!((lines[0].critical_points[0].temperature - point.temperature).abs() < 1e-3);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn envelope(
    model: &dyn MixtureModel,
    fractions: &[f64],
    bounds: &EnvelopeBounds,
) -> Result<Vec<EnvelopeBranch>> {
    let tracer = Tracer {
        model,
        fractions,
        bounds,
    };
    let mut branches: Vec<EnvelopeBranch> = Vec::new();
    let sides = [
        (bounds.pressures.0, EnvelopeEnd::LowPressure),
        (bounds.pressures.1, EnvelopeEnd::HighPressure),
    ];
    for (pressure, side) in sides {
        let given = Given::Pressure(pressure);
        for start in boundaries(model, given, fractions, bounds.temperatures)? {
            let is_end = |end: EnvelopeEnd, point: Option<&EnvelopePoint>| {
                let at = point.map_or(f64::NAN, |point| point.boundary.temperature);
                end == side && (at / start.temperature).ln().abs() < SAME_END
            };
            let known = branches.iter().any(|branch| {
                is_end(branch.ends.0, branch.points.first())
                    || is_end(branch.ends.1, branch.points.last())
            });
            if !known {
                branches.extend(tracer.followed(&start, side)?);
            }
        }
    }
    Ok(branches)
}

struct Tracer<'a> {
    model: &'a dyn MixtureModel,
    fractions: &'a [f64],
    bounds: &'a EnvelopeBounds,
}

impl Curve for Tracer<'_> {
    fn at(&self, unknowns: DVector<f64>, densities: (f64, f64)) -> Option<Place> {
        let count = self.fractions.len();
        let (temperature, pressure) = self.state(&unknowns);
        let amounts = self.incipient(&unknowns);
        let total: f64 = amounts.iter().sum();
        if !(total.is_finite() && total > 0.0) {
            return None;
        }
        let phase = |fractions: &[f64], guess: f64| {
            let isotherm = self.model.at(temperature, fractions);
            // Coefficients at the pressure asked: that of the density itself has fewer digits in a liquid at low pressure.
            let found = near(isotherm.as_ref(), pressure, guess, 0.0).1?;
            let changes = isotherm.fugacity(found.molar_density);
            Some((found.ln_coefficients, changes))
        };
        let (own, feed) = phase(self.fractions, densities.0)?;
        let (theirs, other) = phase(&normalized(&amounts), densities.1)?;
        let mut residuals = DVector::zeros(count + 1);
        let mut jacobian = DMatrix::zeros(count + 1, count + 2);
        let of = |values: &[f64], i: usize| values.get(i).copied().unwrap_or(0.0);
        for i in 0..count {
            jacobian[(i, i)] = 1.0;
            let y = of(&amounts, i);
            jacobian[(count, i)] = y;
            if of(self.fractions, i) == 0.0 {
                residuals[i] = unknowns[i];
                continue;
            }
            let difference = |a: &[f64], b: &[f64]| of(a, i) - of(b, i);
            residuals[i] = unknowns[i] + difference(&theirs, &own);
            for j in 0..count {
                let change = of(&other.d_amounts, i * count + j);
                jacobian[(i, j)] += change * of(&amounts, j) / total;
            }
            jacobian[(i, count)] =
                temperature * difference(&other.d_temperature, &feed.d_temperature);
            jacobian[(i, count + 1)] = pressure * difference(&other.d_pressure, &feed.d_pressure);
        }
        residuals[count] = total - 1.0;
        Some(Place {
            unknowns,
            residuals,
            jacobian,
            densities: (feed.molar_density, other.molar_density),
        })
    }
}

impl Tracer<'_> {
    fn state(&self, unknowns: &DVector<f64>) -> (f64, f64) {
        let count = self.fractions.len();
        (unknowns[count].exp(), unknowns[count + 1].exp())
    }

    /// `y_i = K_i z_i`.
    fn incipient(&self, unknowns: &DVector<f64>) -> Amounts {
        let pairs = self.fractions.iter().zip(unknowns.iter());
        pairs.map(|(z, k)| z * k.exp()).collect()
    }

    /// The `ln K` of the substance that differs most between the phases.
    fn most_apart(&self, unknowns: &DVector<f64>) -> (usize, f64) {
        let count = self.fractions.len();
        let pairs = unknowns.iter().copied().enumerate().take(count);
        pairs.fold(
            (0, 0.0),
            |most: (usize, f64), (i, k)| {
                if k.abs() > most.1.abs() { (i, k) } else { most }
            },
        )
    }

    fn point(&self, place: &Place) -> Result<EnvelopePoint> {
        let (temperature, pressure) = self.state(&place.unknowns);
        let test = stability(self.model, temperature, pressure, self.fractions)?;
        let distance = test.trial.map_or(0.0, |trial| trial.distance);
        let is_root = (test.molar_density / place.densities.0).ln().abs() < 1e-5;
        Ok(EnvelopePoint {
            boundary: Boundary {
                kind: kind(place.densities.0, place.densities.1),
                temperature,
                pressure,
                molar_density: place.densities.0,
                incipient_fractions: normalized(&self.incipient(&place.unknowns)),
                incipient_molar_density: place.densities.1,
            },
            is_stable: is_root && distance > ON_LINE,
        })
    }

    fn begun(&self, start: &Boundary, side: EnvelopeEnd) -> Option<Ahead> {
        let pairs = start.incipient_fractions.iter().zip(self.fractions);
        let ratios = pairs.map(|(y, z)| if *z > 0.0 { (y / z).ln() } else { 0.0 });
        let count = self.fractions.len();
        let state = [start.temperature.ln(), start.pressure.ln()];
        let unknowns = DVector::from_iterator(count + 2, ratios.chain(state));
        let mut towards = DVector::zeros(count + 2);
        towards[count + 1] = if side == EnvelopeEnd::LowPressure {
            1.0
        } else {
            -1.0
        };
        let densities = (start.molar_density, start.incipient_molar_density);
        Ahead::near(self, self.at(unknowns, densities)?, &towards)
    }

    /// The line from a boundary at the lowest or highest pressure.
    fn followed(&self, start: &Boundary, side: EnvelopeEnd) -> Result<Option<EnvelopeBranch>> {
        let Some(mut here) = self.begun(start, side) else {
            return Ok(None);
        };
        let mut branch = EnvelopeBranch {
            points: vec![self.point(&here.place)?],
            ends: (side, EnvelopeEnd::Lost),
            critical_points: Vec::new(),
            greatest_temperatures: Vec::new(),
            greatest_pressures: Vec::new(),
        };
        let mut pace = Pace {
            length: FIRST,
            longest: LONGEST,
        };
        for _ in 0..POINTS {
            let Some(next) = pace.next(self, &here, |length| self.leap(&here, length)) else {
                break;
            };
            self.passed(&here, &next, &mut branch)?;
            if let Some((end, unknown, bound)) = self.end(&next.place) {
                branch.ends.1 = end;
                let at_bound = |found: &Ahead| found.place.unknowns[unknown] - bound.ln();
                let last = self.between(&here, &next, at_bound).unwrap_or(next.place);
                branch.points.push(self.point(&last)?);
                break;
            }
            branch.points.push(self.point(&next.place)?);
            here = next;
        }
        Ok(Some(branch))
    }

    /// The critical point, where both phases are one for the iteration, is leapt over from as far before it as behind it, or
    /// approached by half the way where the pace has become too short for that.
    fn leap(&self, here: &Ahead, length: f64) -> f64 {
        let (index, apart) = self.most_apart(&here.place.unknowns);
        let slope = here.tangent[index];
        let reach = -apart / slope;
        if reach <= 0.0 || length <= 0.5 * reach {
            length
        } else if length >= reach {
            2.0 * reach
        } else {
            0.5 * reach
        }
    }

    /// Why a line ends at a place beyond the bounds, with the unknown that passed its bound.
    fn end(&self, place: &Place) -> Option<(EnvelopeEnd, usize, f64)> {
        let count = self.fractions.len();
        let (temperature, pressure) = self.state(&place.unknowns);
        let EnvelopeBounds {
            temperatures: (coldest, hottest),
            pressures: (low, high),
        } = *self.bounds;
        if pressure < low {
            Some((EnvelopeEnd::LowPressure, count + 1, low))
        } else if pressure > high {
            Some((EnvelopeEnd::HighPressure, count + 1, high))
        } else if temperature < coldest {
            Some((EnvelopeEnd::Temperature, count, coldest))
        } else if temperature > hottest {
            Some((EnvelopeEnd::Temperature, count, hottest))
        } else {
            None
        }
    }

    /// Adds what lies between two points: a critical point, a greatest temperature or pressure.
    fn passed(&self, here: &Ahead, next: &Ahead, branch: &mut EnvelopeBranch) -> Result<()> {
        let (index, apart) = self.most_apart(&here.place.unknowns);
        let (from, to) = (
            self.state(&here.place.unknowns),
            self.state(&next.place.unknowns),
        );
        if apart * next.place.unknowns[index] < 0.0 {
            let around = (0.97 * from.0.min(to.0), 1.03 * from.0.max(to.0));
            let middle = (from.1 * to.1).sqrt();
            let found = critical_points(self.model, self.fractions, around)?;
            let distance = |p: &MixtureCriticalPoint| (p.pressure / middle).ln().abs();
            let nearest = found
                .into_iter()
                .min_by(|a, b| distance(a).total_cmp(&distance(b)));
            branch
                .critical_points
                .extend(nearest.filter(|p| distance(p) < 0.1));
        }
        let count = self.fractions.len();
        let turn = |k: usize| here.tangent[k] > 0.0 && next.tangent[k] <= 0.0;
        if turn(count) {
            let found = self.greatest(here, next, count);
            branch
                .greatest_temperatures
                .extend(found.map(|p| self.point(&p)).transpose()?);
        }
        if turn(count + 1) {
            let found = self.greatest(here, next, count + 1);
            branch
                .greatest_pressures
                .extend(found.map(|p| self.point(&p)).transpose()?);
        }
        Ok(())
    }

    /// The place between two points at which an unknown is greatest.
    fn greatest(&self, here: &Ahead, next: &Ahead, unknown: usize) -> Option<Place> {
        self.between(here, next, |found| found.tangent[unknown])
    }

    /// The place between two points at which a function of the points is zero.
    fn between(&self, here: &Ahead, next: &Ahead, of: impl Fn(&Ahead) -> f64) -> Option<Place> {
        let change = &next.place.unknowns - &here.place.unknowns;
        let reach = change.dot(&here.tangent);
        let ahead = |length: f64| {
            if length == 0.0 {
                return Some(here.clone());
            }
            here.moved(self, length).map(|(found, _)| found)
        };
        let value = |length: f64| Ok(ahead(length).map_or(f64::NAN, |found| of(&found)));
        let rough = Tolerance {
            relative: 1e-10,
            iterations: 100,
        };
        let length = bracketed("place on a line", 0.0, reach, rough, value).ok()?;
        ahead(length).map(|found| found.place)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::eos::equilibrium::BoundaryKind;
    use crate::eos::equilibrium::samples::{
        CARBON_DIOXIDE, METHANOL, WATER, multi_fluid, peng_robinson,
    };

    const BOUNDS: EnvelopeBounds = EnvelopeBounds {
        temperatures: (240.0, 700.0),
        pressures: (2e6, 1e8),
    };

    /// Every point is a boundary that a solver at its pressure finds too, and the line closes at low pressure.
    fn closed_line(model: &dyn MixtureModel, z: &[f64]) -> EnvelopeBranch {
        let found = envelope(model, z, &BOUNDS).unwrap();
        let ends: Vec<_> = found.iter().map(|b| (b.ends, b.points.last())).collect();
        assert_eq!(found.len(), 1, "{ends:?}");
        let branch = found.into_iter().next().unwrap();
        assert_eq!(
            branch.ends,
            (EnvelopeEnd::LowPressure, EnvelopeEnd::LowPressure)
        );
        for point in branch.points.iter().step_by(7) {
            let p = point.boundary.pressure;
            let all = boundaries(model, Given::Pressure(p), z, BOUNDS.temperatures).unwrap();
            let same =
                |b: &&Boundary| (b.temperature / point.boundary.temperature).ln().abs() < 1e-6;
            assert!(
                !point.is_stable || p < BOUNDS.pressures.0 || all.iter().any(|b| same(&b)),
                "{point:?} {all:?}"
            );
        }
        branch
    }

    #[test]
    fn the_line_passes_the_critical_point_and_its_turns() {
        let model = peng_robinson(&[CARBON_DIOXIDE, METHANOL], &[0.0583]);
        let branch = closed_line(&model, &[0.9, 0.1]);
        let [critical] = branch.critical_points[..] else {
            panic!("{:?}", branch.critical_points)
        };
        let [hottest] = &branch.greatest_temperatures[..] else {
            panic!("{branch:?}")
        };
        let [highest] = &branch.greatest_pressures[..] else {
            panic!("{branch:?}")
        };
        assert!(hottest.boundary.temperature > critical.temperature);
        assert!(highest.boundary.pressure > critical.pressure);
        assert!(branch.points.iter().all(|p| p.is_stable));
        let bubbles = branch
            .points
            .iter()
            .filter(|p| p.boundary.kind == BoundaryKind::Bubble);
        assert!(bubbles.count() > 5);
        // Beyond the cricondentherm there is no boundary, before it there are two.
        for (factor, count) in [(1.0 + 1e-6, 0), (1.0 - 1e-6, 2)] {
            let given = Given::Temperature(factor * hottest.boundary.temperature);
            let all = boundaries(&model, given, &[0.9, 0.1], BOUNDS.pressures).unwrap();
            assert_eq!(all.len(), count, "{all:?}");
        }
    }

    #[test]
    fn the_line_of_a_multi_fluid_mixture_closes() {
        let model = multi_fluid(["n-pentane", "n-hexane"], [1.0, 1.0, 1.0, 1.0]);
        let branch = closed_line(&model, &[0.4, 0.6]);
        assert_eq!(branch.critical_points.len(), 1);
    }

    /// Carbon dioxide and water do not mix at any pressure: their lines are open.
    #[test]
    fn open_lines_end_at_the_bound() {
        let model = peng_robinson(&[CARBON_DIOXIDE, WATER], &[0.0952]);
        let found = envelope(&model, &[0.5, 0.5], &BOUNDS).unwrap();
        assert!(
            found
                .iter()
                .any(|b| b.ends.1 == EnvelopeEnd::HighPressure
                    || b.ends.0 == EnvelopeEnd::HighPressure),
            "{:?}",
            found.iter().map(|b| b.ends).collect::<Vec<_>>()
        );
    }
}
