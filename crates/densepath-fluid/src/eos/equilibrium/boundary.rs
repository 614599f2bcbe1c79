//! Where a mixture of given composition begins to part: bubble and dew points at a temperature or at a pressure.
//!
//! At a boundary the mixture is in equilibrium with a first trace of another phase:
//! `ln K_i + ln phi_i(y) - ln phi_i(z) = 0` with `y_i = K_i z_i` and `sum y_i = 1`. Newton's method solves for all `ln K_i`
//! and the pressure or temperature (Michelsen and Mollerup, Thermodynamic Models, 2nd ed. 2007, chapter 12). It starts from
//! an ideal-mixture estimate where the result passes the test of stability, else from a bracket between a stable and an
//! unstable state; a scan finds all brackets, the retrograde ones too.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use nalgebra::{DMatrix, DVector};

use super::pair;
use super::phase::near;
use super::stability::{Stability, full_stability};
use super::{ln_coefficients, ln_ratios, normalized};
use crate::eos::mixture::{Branch, MixtureIsotherm, MixtureModel};
use crate::error::Result;
use crate::num::Amounts;
use crate::num::root::{Tolerance, bracketed};

/// The variable that is given.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let at = |given, range| boundaries(&model, given, &[0.5, 0.5], range).map(|found| found.len());
/// // A bubble and a dew point, by rising pressure or temperature.
/// assert_eq!((at(Given::Temperature(320.0), (1e4, 1e8))?, at(Given::Pressure(20e5), (220.0, 420.0))?), (2, 2));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Given {
    /// Temperature in K; the pressure is sought.
    Temperature(f64),
    /// Pressure in Pa; the temperature is sought.
    Pressure(f64),
}

impl Given {
    /// Temperature and pressure, where the other variable has the logarithm `sought`.
    pub(super) fn state(self, sought: f64) -> (f64, f64) {
        match self {
            Given::Temperature(temperature) => (temperature, sought.exp()),
            Given::Pressure(pressure) => (sought.exp(), pressure),
        }
    }
}

/// What appears first at a boundary.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let found = boundaries(&model, Given::Temperature(320.0), &[0.5, 0.5], (1e4, 1e8))?;
/// // Of a gas that is compressed first a drop appears.
/// assert_eq!((found[0].kind, found[1].kind), (BoundaryKind::Dew, BoundaryKind::Bubble));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BoundaryKind {
    /// A phase less dense than the mixture.
    Bubble,
    /// A phase denser than the mixture.
    Dew,
}

/// A state at which a mixture begins to part.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let dew = &boundaries(&model, Given::Temperature(320.0), &[0.5, 0.5], (1e4, 1e8))?[0];
/// // The first drop has more butane.
/// assert!(dew.incipient_fractions[1] > 0.5 && dew.incipient_molar_density > dew.molar_density);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Boundary {
    /// What appears.
    pub kind: BoundaryKind,
    /// Temperature in K.
    pub temperature: f64,
    /// Pressure in Pa.
    pub pressure: f64,
    /// Molar density of the mixture in mol/m3.
    pub molar_density: f64,
    /// Amount fractions of the phase that appears.
    pub incipient_fractions: Amounts,
    /// Molar density of the phase that appears in mol/m3.
    pub incipient_molar_density: f64,
}

/// Steps of Newton's method at most, from a state of two phases and from an estimate, which leads to a boundary soon or never.
const NEWTON_STEPS: u32 = 60;
const ESTIMATED_STEPS: u32 = 30;
/// Residual at which the equations are solved.
const SOLVED: f64 = 1e-11;
/// Largest `|ln K|` at which both phases count as one.
const SAME: f64 = 1e-4;
/// Distance of the tangent plane that a state at a boundary may show by rounding.
const AT_BOUNDARY: f64 = -1e-8;

/// The boundary of a kind at a temperature or a pressure that an ideal-mixture estimate leads to, if what it leads to is a
/// stable one.
pub fn estimated_boundary(
    model: &dyn MixtureModel,
    given: Given,
    fractions: &[f64],
    kind: BoundaryKind,
) -> Result<Option<Boundary>> {
    if let Given::Temperature(temperature) = given
        && let Some(pair) = model.cubic_pair(temperature)
    {
        let constants = [0, 1].map(|index| model.critical_constants(index));
        if let Some(clear) = pair::boundary(&pair, constants, fractions, kind) {
            return Ok(Some(clear));
        }
    }
    searched_boundary(model, given, fractions, kind)
}

/// As [`estimated_boundary`], by steps that serve every equation.
pub(super) fn searched_boundary(
    model: &dyn MixtureModel,
    given: Given,
    fractions: &[f64],
    kind: BoundaryKind,
) -> Result<Option<Boundary>> {
    let search = Search {
        model,
        given,
        fractions,
    };
    let start = search.estimate(kind);
    let Some(found) = start.and_then(|start| search.newton(start)) else {
        return Ok(None);
    };
    if found.kind != kind {
        return Ok(None);
    }
    let test = full_stability(model, found.temperature, found.pressure, fractions)?;
    let same = (test.molar_density / found.molar_density - 1.0).abs() < 1e-6;
    let distance = test.trial.map_or(0.0, |trial| trial.distance);
    Ok((same && distance > AT_BOUNDARY).then_some(found))
}

pub(super) struct Search<'a> {
    pub(super) model: &'a dyn MixtureModel,
    pub(super) given: Given,
    pub(super) fractions: &'a [f64],
}

/// From where Newton's method starts.
pub(super) struct Start {
    sought: f64,
    ln_ratios: Amounts,
    /// Branch of the mixture.
    branch: Branch,
    /// Branch of the phase that appears.
    incipient: Branch,
    /// Steps of Newton's method at most.
    steps: u32,
}

/// Both phases at a step of Newton's method.
struct Step {
    residuals: DVector<f64>,
    jacobian: DMatrix<f64>,
    molar_density: f64,
    incipient_molar_density: f64,
}

impl Search<'_> {
    pub(super) fn test(&self, sought: f64) -> Result<Stability> {
        let (temperature, pressure) = self.given.state(sought);
        full_stability(self.model, temperature, pressure, self.fractions)
    }

    /// The logarithm of the variable sought at a boundary.
    pub(super) fn place(&self, found: &Boundary) -> f64 {
        match self.given {
            Given::Temperature(_) => found.pressure.ln(),
            Given::Pressure(_) => found.temperature.ln(),
        }
    }

    pub(super) fn after_test(&self, sought: f64, test: &Stability) -> Option<Boundary> {
        let trial = test.trial.as_ref()?;
        let ln_ratios = self.ratios(&trial.fractions);
        self.newton(Start {
            sought,
            ln_ratios,
            branch: Branch::Stable,
            incipient: Branch::Stable,
            steps: NEWTON_STEPS,
        })
    }

    fn ratios(&self, incipient: &[f64]) -> Amounts {
        let pairs = incipient.iter().zip(self.fractions);
        pairs
            .map(|(y, z)| if *z > 0.0 { (y / z).ln() } else { 0.0 })
            .collect()
    }

    /// The boundary as halving alone knows it, where both phases all but agree.
    pub(super) fn at_last(&self, sought: f64, test: &Stability) -> Boundary {
        let (temperature, pressure) = self.given.state(sought);
        let feed = || (Amounts::from_slice(self.fractions), test.molar_density);
        let trial = test.trial.as_ref();
        let (fractions, density) =
            trial.map_or_else(feed, |trial| (trial.fractions.clone(), trial.molar_density));
        Boundary {
            kind: kind(test.molar_density, density),
            temperature,
            pressure,
            molar_density: test.molar_density,
            incipient_fractions: fractions,
            incipient_molar_density: density,
        }
    }

    /// Pressure or temperature of an ideal mixture with the vapour pressures of Wilson's equation, refined by substitution.
    pub(super) fn estimate(&self, kind: BoundaryKind) -> Option<Start> {
        let (branch, incipient) = match kind {
            BoundaryKind::Bubble => (Branch::Liquid, Branch::Vapour),
            BoundaryKind::Dew => (Branch::Vapour, Branch::Liquid),
        };
        let side = if kind == BoundaryKind::Bubble {
            1.0
        } else {
            -1.0
        };
        // Rising in the pressure sought for a dew point, falling for a bubble point; the other way in temperature.
        let excess = |sought: f64| {
            let (temperature, pressure) = self.given.state(sought);
            let ratios = ln_ratios(self.model, temperature, pressure);
            let pairs = self.fractions.iter().zip(&ratios);
            Ok(pairs.map(|(z, k)| z * (side * k).exp()).sum::<f64>().ln())
        };
        let (low, high) = match self.given {
            Given::Temperature(_) => (0f64, 1e9f64.ln()),
            Given::Pressure(_) => (20f64.ln(), 2000f64.ln()),
        };
        let rough = Tolerance {
            relative: 1e-6,
            iterations: 100,
        };
        let mut sought = bracketed("ideal boundary", low, high, rough, excess).ok()?;
        let (temperature, pressure) = self.given.state(sought);
        let ratios = ln_ratios(self.model, temperature, pressure);
        let mut ratios: Amounts = ratios.iter().map(|k| side * k).collect();
        for _ in 0..8 {
            let (temperature, pressure) = self.given.state(sought);
            let incipient_fractions = normalized(&self.incipient(&ratios));
            let feed = self.ln_coefficients(temperature, pressure, self.fractions, branch)?;
            let other =
                self.ln_coefficients(temperature, pressure, &incipient_fractions, incipient)?;
            ratios = feed.iter().zip(&other).map(|(a, b)| a - b).collect();
            let sum: f64 = self.incipient(&ratios).iter().sum();
            let change = match self.given {
                Given::Temperature(_) => side * sum.ln(),
                // A vapour pressure doubles in about a twentieth of the temperature.
                Given::Pressure(_) => -0.08 * side * sum.ln(),
            };
            sought += change.clamp(-0.5, 0.5);
            if change.abs() < 1e-3 {
                break;
            }
        }
        let start = Start {
            sought,
            ln_ratios: ratios,
            branch,
            incipient,
            steps: ESTIMATED_STEPS,
        };
        sought.is_finite().then_some(start)
    }

    fn ln_coefficients(
        &self,
        temperature: f64,
        pressure: f64,
        fractions: &[f64],
        branch: Branch,
    ) -> Option<Amounts> {
        ln_coefficients(self.model, temperature, pressure, fractions, branch).ok()
    }

    /// `y_i = K_i z_i`.
    fn incipient(&self, ln_ratios: &[f64]) -> Amounts {
        let pairs = self.fractions.iter().zip(ln_ratios);
        pairs
            .map(|(z, k)| if *z > 0.0 { z * k.exp() } else { 0.0 })
            .collect()
    }

    /// Newton's method; nothing if it does not converge to two phases that differ.
    pub(super) fn newton(&self, start: Start) -> Option<Boundary> {
        let Start {
            mut sought,
            mut ln_ratios,
            branch,
            incipient,
            steps,
        } = start;
        let mut least = f64::INFINITY;
        let mut densities = None;
        let mut is_following = true;
        for _ in 0..steps {
            let step = self
                .step(sought, &ln_ratios, (branch, incipient), densities)
                .ok()?;
            let was_following = densities.is_some();
            let both = (step.molar_density, step.incipient_molar_density);
            densities = is_following.then_some(both);
            let size = step.residuals.amax();
            if !size.is_finite() {
                return None;
            }
            // At the last digits the residual no longer shrinks: rounding rules.
            let is_solved = size < SOLVED || (size < 1e-8 && size >= 0.5 * least);
            if is_solved && was_following {
                // Whether the densities that were followed are still those of the branches.
                (densities, is_following, least) = (None, false, f64::INFINITY);
                continue;
            }
            if is_solved {
                let apart = ln_ratios.iter().fold(0.0, |most: f64, k| most.max(k.abs()));
                return (apart > SAME).then(|| self.boundary(sought, &ln_ratios, &step));
            }
            least = least.min(size);
            let change = step.jacobian.lu().solve(&-step.residuals)?;
            let limit = match self.given {
                Given::Temperature(_) => 0.4,
                Given::Pressure(_) => 0.05,
            };
            let count = ln_ratios.len();
            let ahead = change.get(count).map_or(0.0, |s| s.abs() / limit);
            let share = 1.0 / change.rows(0, count).amax().max(ahead).max(1.0);
            for (k, s) in ln_ratios.iter_mut().zip(change.iter()) {
                *k += share * s;
            }
            sought += share * change.get(count).copied().unwrap_or(0.0);
        }
        None
    }

    /// Residuals and their derivatives in `ln K_i` and the logarithm of the variable sought; the densities are those next to the
    /// ones before, at first those of the branches.
    fn step(
        &self,
        sought: f64,
        ln_ratios: &[f64],
        (branch, incipient): (Branch, Branch),
        densities: Option<(f64, f64)>,
    ) -> Result<Step> {
        let (temperature, pressure) = self.given.state(sought);
        let amounts = self.incipient(ln_ratios);
        let total: f64 = amounts.iter().sum();
        let feed = self.model.at(temperature, self.fractions);
        let other = self.model.at(temperature, &normalized(&amounts));
        let (own, theirs) = densities.unzip();
        let molar_density = density_of(feed.as_ref(), pressure, branch, own)?;
        let incipient_molar_density = density_of(other.as_ref(), pressure, incipient, theirs)?;
        let own = feed.ln_fugacity_coefficients(molar_density, pressure);
        let theirs = other.ln_fugacity_coefficients(incipient_molar_density, pressure);
        let (feed, other) = (
            feed.fugacity(molar_density),
            other.fugacity(incipient_molar_density),
        );
        let count = self.fractions.len();
        let present = |i: usize| self.fractions.get(i).is_some_and(|z| *z > 0.0);
        let of = |values: &[f64], i: usize| values.get(i).copied().unwrap_or(0.0);
        let slope = |i: usize| match self.given {
            Given::Temperature(_) => {
                pressure * (of(&other.d_pressure, i) - of(&feed.d_pressure, i))
            }
            Given::Pressure(_) => {
                temperature * (of(&other.d_temperature, i) - of(&feed.d_temperature, i))
            }
        };
        let jacobian =
            DMatrix::from_fn(count + 1, count + 1, |i, j| match (i < count, j < count) {
                (true, _) if !present(i) => f64::from(u8::from(i == j)),
                (true, true) => {
                    let change = of(&other.d_amounts, i * count + j) * of(&amounts, j) / total;
                    f64::from(u8::from(i == j)) + change
                }
                (true, false) => slope(i),
                (false, true) => of(&amounts, j),
                (false, false) => 0.0,
            });
        let residuals = DVector::from_fn(count + 1, |i, _| {
            if i == count {
                total - 1.0
            } else if present(i) {
                of(ln_ratios, i) + of(&theirs, i) - of(&own, i)
            } else {
                0.0
            }
        });
        Ok(Step {
            residuals,
            jacobian,
            molar_density,
            incipient_molar_density,
        })
    }

    fn boundary(&self, sought: f64, ln_ratios: &[f64], step: &Step) -> Boundary {
        let (temperature, pressure) = self.given.state(sought);
        Boundary {
            kind: kind(step.molar_density, step.incipient_molar_density),
            temperature,
            pressure,
            molar_density: step.molar_density,
            incipient_fractions: normalized(&self.incipient(ln_ratios)),
            incipient_molar_density: step.incipient_molar_density,
        }
    }
}

/// The molar density in mol/m3 at a pressure in Pa next to a known one, else that of a branch.
fn density_of(
    isotherm: &dyn MixtureIsotherm,
    pressure: f64,
    branch: Branch,
    known: Option<f64>,
) -> Result<f64> {
    let next = known.and_then(|known| near(isotherm, pressure, known, 0.0).1);
    next.map_or_else(
        || isotherm.molar_density(pressure, branch),
        |phase| Ok(phase.molar_density),
    )
}

pub(super) fn kind(molar_density: f64, incipient: f64) -> BoundaryKind {
    if incipient > molar_density {
        BoundaryKind::Dew
    } else {
        BoundaryKind::Bubble
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::eos::equilibrium::samples::binary;
    use crate::eos::equilibrium::{boundaries, flash};
    use proptest::prelude::*;

    fn phases(model: &dyn MixtureModel, given: Given, sought: f64, z: &[f64]) -> usize {
        let (temperature, pressure) = given.state(sought);
        flash(model, temperature, pressure, z).unwrap().phases.len()
    }

    fn sought(given: Given, found: &Boundary) -> f64 {
        match given {
            Given::Temperature(_) => found.pressure.ln(),
            Given::Pressure(_) => found.temperature.ln(),
        }
    }

    /// On one side of every boundary there is one phase and on the other there are two.
    fn boundaries_part_one_from_two(
        model: &dyn MixtureModel,
        given: Given,
        z: &[f64],
        range: (f64, f64),
        step: f64,
    ) -> Vec<Boundary> {
        let found = boundaries(model, given, z, range).unwrap();
        let places: Vec<f64> = found.iter().map(|b| sought(given, b)).collect();
        let mut ends = vec![range.0.ln()];
        ends.extend(&places);
        ends.push(range.1.ln());
        for window in ends.windows(2) {
            assert!(window[0] <= window[1], "{found:?}");
        }
        let mut single = None;
        for window in ends.windows(2) {
            let (low, high) = (window[0], window[1]);
            if high - low < 4.0 * step {
                single = single.map(|single: bool| !single);
                continue;
            }
            let counts = [low + step, 0.5 * (low + high), high - step]
                .map(|s| phases(model, given, s, z) == 1);
            assert!(
                counts.iter().all(|c| *c == counts[0]),
                "{found:?} {counts:?}"
            );
            assert!(
                single.is_none_or(|before: bool| before != counts[0]),
                "{found:?}"
            );
            single = Some(counts[0]);
        }
        found
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]

        #[test]
        fn boundaries_at_a_temperature_part_one_phase_from_two(
            model in binary(), temperature in 200.0..600.0f64, z in 0.001..0.999f64
        ) {
            let z = [1.0 - z, z];
            let given = Given::Temperature(temperature);
            boundaries_part_one_from_two(&model, given, &z, (1e3, 1e8), 1e-4);
        }

        #[test]
        fn boundaries_at_a_pressure_part_one_phase_from_two(
            model in binary(), log_pressure in 4.5..7.5f64, z in 0.001..0.999f64
        ) {
            let z = [1.0 - z, z];
            let given = Given::Pressure(10f64.powf(log_pressure));
            boundaries_part_one_from_two(&model, given, &z, (200.0, 800.0), 1e-5);
        }

        #[test]
        fn estimates_lead_to_boundaries_of_the_scan(
            model in binary(), temperature in 250.0..500.0f64, z in 0.01..0.99f64
        ) {
            let z = [1.0 - z, z];
            let given = Given::Temperature(temperature);
            let all = boundaries(&model, given, &z, (1e2, 1e9)).unwrap();
            for kind in [BoundaryKind::Bubble, BoundaryKind::Dew] {
                if let Some(found) = estimated_boundary(&model, given, &z, kind).unwrap() {
                    let same = |b: &&Boundary| (b.pressure / found.pressure - 1.0).abs() < 1e-7;
                    let twin = all.iter().find(same);
                    prop_assert!(twin.is_some_and(|b| b.kind == kind) || !(1e2..1e8).contains(&found.pressure), "{found:?} {all:?}");
                }
            }
        }
    }
}
