//! Where a mixture of given composition begins to part: bubble and dew points at a temperature or at a pressure.
//!
//! At a boundary the mixture is in equilibrium with a first trace of another phase:
//! `ln K_i + ln phi_i(y) - ln phi_i(z) = 0` with `y_i = K_i z_i` and `sum y_i = 1`. Newton's method solves for all `ln K_i`
//! and the pressure or temperature (Michelsen and Mollerup, Thermodynamic Models, 2nd ed. 2007, chapter 12). It starts from
//! an ideal-mixture estimate where the result passes the test of stability, else from a bracket between a stable and an
//! unstable state; a scan finds all brackets, the retrograde ones too.

use nalgebra::{DMatrix, DVector};

use super::stability::{Stability, stability};
use super::{ln_coefficients, ln_ratios, normalized};
use crate::eos::mixture::{Branch, Densities, MixtureIsotherm, MixtureModel, rising_root};
use crate::error::{Error, Result};
use crate::num::Amounts;
use crate::num::root::{Tolerance, bracketed};

/// The variable that is given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Given {
    /// Temperature in K; the pressure is sought.
    Temperature(f64),
    /// Pressure in Pa; the temperature is sought.
    Pressure(f64),
}

impl Given {
    /// Temperature and pressure, where the other variable has the logarithm `sought`.
    fn state(self, sought: f64) -> (f64, f64) {
        match self {
            Given::Temperature(temperature) => (temperature, sought.exp()),
            Given::Pressure(pressure) => (sought.exp(), pressure),
        }
    }
}

/// What appears first at a boundary.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BoundaryKind {
    /// A phase less dense than the mixture.
    Bubble,
    /// A phase denser than the mixture.
    Dew,
}

/// A state at which a mixture begins to part.
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

/// Steps of Newton's method at most.
const NEWTON_STEPS: u32 = 60;
/// Residual at which the equations are solved.
const SOLVED: f64 = 1e-11;
/// Largest `|ln K|` at which both phases count as one.
const SAME: f64 = 1e-4;
/// States of a scan.
const SCAN: u32 = 48;
/// Steps of the search between states of a scan; each leaves two thirds.
const THIRDS: u32 = 8;
/// Distance of the states of a scan from an estimated boundary, in the logarithm of the variable sought.
const BESIDE: f64 = 1e-3;
/// Halvings of a bracket before each trial of Newton's method.
const HALVINGS: u32 = 8;
/// Distance of the tangent plane that a state at a boundary may show by rounding.
const AT_BOUNDARY: f64 = -1e-8;

/// All boundaries of a mixture of given amount fractions at a temperature or a pressure, by rising pressure or temperature.
///
/// `range` bounds the pressure in Pa or temperature in K that is sought. A region of two phases narrower than the steps of the
/// scan is found too if liquid and vapour of the composition itself coexist in it, as they do around the boiling of a nearly
/// pure substance, if estimates lead to its borders, or if the distance of the tangent plane falls towards it.
pub fn boundaries(
    model: &dyn MixtureModel,
    given: Given,
    fractions: &[f64],
    range: (f64, f64),
) -> Result<Vec<Boundary>> {
    let search = Search {
        model,
        given,
        fractions,
    };
    let (low, high) = (range.0.ln(), range.1.ln());
    let mut tests = Vec::new();
    for sought in search.places(low, high)? {
        tests.push((sought, search.test(sought)?));
    }
    search.look_between(&mut tests)?;
    let mut found = Vec::new();
    for window in tests.windows(2) {
        let [(earlier, last), (sought, test)] = window else {
            continue;
        };
        if last.is_stable() && !test.is_stable() {
            found.push(search.between((*sought, test.clone()), *earlier)?);
        } else if !last.is_stable() && test.is_stable() {
            found.push(search.between((*earlier, last.clone()), *sought)?);
        }
    }
    Ok(found)
}

/// The boundary of a kind at a temperature or a pressure that an ideal-mixture estimate leads to, if what it leads to is a
/// stable one.
pub fn estimated_boundary(
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
    let test = stability(model, found.temperature, found.pressure, fractions)?;
    let same = (test.molar_density / found.molar_density - 1.0).abs() < 1e-6;
    let distance = test.trial.map_or(0.0, |trial| trial.distance);
    Ok((same && distance > AT_BOUNDARY).then_some(found))
}

struct Search<'a> {
    model: &'a dyn MixtureModel,
    given: Given,
    fractions: &'a [f64],
}

/// From where Newton's method starts.
struct Start {
    sought: f64,
    ln_ratios: Amounts,
    /// Branch of the mixture.
    branch: Branch,
    /// Branch of the phase that appears.
    incipient: Branch,
}

/// Both phases at a step of Newton's method.
struct Step {
    residuals: DVector<f64>,
    jacobian: DMatrix<f64>,
    molar_density: f64,
    incipient_molar_density: f64,
}

impl Search<'_> {
    fn test(&self, sought: f64) -> Result<Stability> {
        let (temperature, pressure) = self.given.state(sought);
        stability(self.model, temperature, pressure, self.fractions)
    }

    /// The states of a scan: even steps, a state between liquid and vapour of the composition itself, and both sides of the
    /// boundaries that estimates lead to.
    fn places(&self, low: f64, high: f64) -> Result<Vec<f64>> {
        let mut places: Vec<f64> = (0..=SCAN)
            .map(|step| low + (high - low) * f64::from(step) / f64::from(SCAN))
            .collect();
        places.extend(self.own_saturation(low, high)?);
        for kind in [BoundaryKind::Bubble, BoundaryKind::Dew] {
            if let Some(found) = self.estimate(kind).and_then(|start| self.newton(start)) {
                let place = self.place(&found);
                places.extend([place - BESIDE, place + BESIDE]);
            }
        }
        places.retain(|place| (low..=high).contains(place));
        places.sort_by(f64::total_cmp);
        Ok(places)
    }

    /// The logarithm of the variable sought at a boundary.
    fn place(&self, found: &Boundary) -> f64 {
        match self.given {
            Given::Temperature(_) => found.pressure.ln(),
            Given::Pressure(_) => found.temperature.ln(),
        }
    }

    /// Where the distance of the tangent plane has a smallest positive value among the states of a scan, a search between
    /// them for a region of two phases that fell through.
    fn look_between(&self, tests: &mut Vec<(f64, Stability)>) -> Result<()> {
        let distance = |test: &Stability| {
            let trial = test.trial.as_ref();
            trial.map_or(f64::INFINITY, |trial| trial.distance)
        };
        let lowest: Vec<(f64, f64)> = tests
            .windows(3)
            .filter_map(|window| {
                let [(low, a), (_, b), (high, c)] = window else {
                    return None;
                };
                let is_lowest = distance(b) <= distance(a) && distance(b) < distance(c);
                let is_open = [a, b, c].iter().all(|test| test.is_stable());
                (is_lowest && is_open).then_some((*low, *high))
            })
            .collect();
        for (mut low, mut high) in lowest {
            for _ in 0..THIRDS {
                let places = [low + (high - low) / 3.0, high - (high - low) / 3.0];
                let [left, right] = [self.test(places[0])?, self.test(places[1])?];
                let falls = distance(&left) < distance(&right);
                let unstable = !left.is_stable() || !right.is_stable();
                tests.extend([(places[0], left), (places[1], right)]);
                if unstable {
                    break;
                }
                if falls {
                    high = places[1];
                } else {
                    low = places[0];
                }
            }
        }
        tests.sort_by(|a, b| a.0.total_cmp(&b.0));
        Ok(())
    }

    /// The boundary between an unstable state and a stable one, told by the logarithms of the variable sought.
    fn between(&self, unstable: (f64, Stability), stable: f64) -> Result<Boundary> {
        let (mut inside, mut test) = unstable;
        let mut outside = stable;
        loop {
            for _ in 0..HALVINGS {
                let middle = 0.5 * (inside + outside);
                let found = self.test(middle)?;
                if found.is_stable() {
                    outside = middle;
                } else {
                    (inside, test) = (middle, found);
                }
            }
            if let Some(found) = self.after_test(inside, &test) {
                let solved = self.place(&found);
                // No more than rounding beyond the bracket: the other end of a narrow region may lie just behind it.
                let slack = 1e-12;
                let (low, high) = (inside.min(outside) - slack, inside.max(outside) + slack);
                if (low..high).contains(&solved) {
                    return Ok(found);
                }
            }
            if (inside - outside).abs() < 1e-13 {
                return Ok(self.at_last(inside, &test));
            }
        }
    }

    fn after_test(&self, sought: f64, test: &Stability) -> Option<Boundary> {
        let trial = test.trial.as_ref()?;
        let ln_ratios = self.ratios(&trial.fractions);
        self.newton(Start {
            sought,
            ln_ratios,
            branch: Branch::Stable,
            incipient: Branch::Stable,
        })
    }

    fn ratios(&self, incipient: &[f64]) -> Amounts {
        let pairs = incipient.iter().zip(self.fractions);
        pairs
            .map(|(y, z)| if *z > 0.0 { (y / z).ln() } else { 0.0 })
            .collect()
    }

    /// The boundary as halving alone knows it, where both phases all but agree.
    fn at_last(&self, sought: f64, test: &Stability) -> Boundary {
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
    fn estimate(&self, kind: BoundaryKind) -> Option<Start> {
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
    fn newton(&self, start: Start) -> Option<Boundary> {
        let Start {
            mut sought,
            mut ln_ratios,
            branch,
            incipient,
        } = start;
        let mut least = f64::INFINITY;
        for _ in 0..NEWTON_STEPS {
            let step = self.step(sought, &ln_ratios, branch, incipient).ok()?;
            let size = step.residuals.amax();
            if !size.is_finite() {
                return None;
            }
            // At the last digits the residual no longer shrinks: rounding rules.
            if size < SOLVED || (size < 1e-8 && size >= 0.5 * least) {
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

    /// Residuals and their derivatives in `ln K_i` and the logarithm of the variable sought.
    fn step(
        &self,
        sought: f64,
        ln_ratios: &[f64],
        branch: Branch,
        incipient: Branch,
    ) -> Result<Step> {
        let (temperature, pressure) = self.given.state(sought);
        let amounts = self.incipient(ln_ratios);
        let total: f64 = amounts.iter().sum();
        let feed = self.model.at(temperature, self.fractions);
        let other = self.model.at(temperature, &normalized(&amounts));
        let molar_density = feed.molar_density(pressure, branch)?;
        let incipient_molar_density = other.molar_density(pressure, incipient)?;
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

    /// Where liquid and vapour of the composition itself have one Gibbs energy: inside the region of two phases, however
    /// narrow. The logarithm of the variable sought, if there is such a state in the range.
    fn own_saturation(&self, low: f64, high: f64) -> Result<Option<f64>> {
        let ln_pressure_at = |temperature: f64| {
            let isotherm = self.model.at(temperature, self.fractions);
            let found = own_saturation(isotherm.as_ref())?;
            Ok::<_, Error>(found.map(|(pressure, _)| pressure.ln()))
        };
        let sought = match self.given {
            Given::Temperature(temperature) => ln_pressure_at(temperature)?,
            Given::Pressure(pressure) => {
                let wanted = pressure.ln();
                let steps = 24;
                let mut below: Option<f64> = None;
                let mut bracket = None;
                for step in 0..=steps {
                    let s = low + (high - low) * f64::from(step) / f64::from(steps);
                    match ln_pressure_at(s.exp())? {
                        Some(own) if own < wanted => below = Some(s),
                        _ => {
                            bracket = below.map(|below| (below, s));
                            if bracket.is_some() {
                                break;
                            }
                        }
                    }
                }
                match bracket {
                    None => None,
                    Some((below, above)) => {
                        let rough = Tolerance {
                            relative: 1e-12,
                            iterations: 100,
                        };
                        // Without two roots the temperature lies above that of the last coexistence.
                        let excess = |s: f64| {
                            let own = ln_pressure_at(s.exp())?;
                            Ok(own.map_or(1.0, |own| own - wanted))
                        };
                        Some(bracketed(
                            "boiling at given pressure",
                            below,
                            above,
                            rough,
                            excess,
                        )?)
                    }
                }
            }
        };
        Ok(sought.filter(|s| (low..=high).contains(s)))
    }
}

pub(super) fn kind(molar_density: f64, incipient: f64) -> BoundaryKind {
    if incipient > molar_density {
        BoundaryKind::Dew
    } else {
        BoundaryKind::Bubble
    }
}

/// The pressure in Pa at which both densities of one composition have one Gibbs energy, with the densities; nothing above the
/// temperature at which the isotherm rises throughout.
pub(super) fn own_saturation(isotherm: &dyn MixtureIsotherm) -> Result<Option<(f64, Densities)>> {
    let highest = isotherm.molar_density_max();
    let slope = |rho: f64| isotherm.dp_drho(rho);
    let samples = 200;
    let density = |step: u32| highest * f64::from(step) / f64::from(samples);
    let falling: Vec<u32> = (1..samples)
        .filter(|&step| slope(density(step)) < 0.0)
        .collect();
    let (Some(&first), Some(&last)) = (falling.first(), falling.last()) else {
        return Ok(None);
    };
    let rough = Tolerance {
        relative: 1e-10,
        iterations: 100,
    };
    // A vapour thinner than the first sample may rise before it falls.
    let thin = 1e-9 * highest;
    let vapour = bracketed(
        "limit of stability of a vapour",
        if first == 1 { thin } else { density(first - 1) },
        density(first),
        rough,
        |rho| Ok(slope(rho)),
    )?;
    let liquid = bracketed(
        "limit of stability of a liquid",
        density(last),
        density(last + 1).min(highest),
        rough,
        |rho| Ok(slope(rho)),
    )?;
    let top = isotherm.pressure(vapour) * (1.0 - 1e-9);
    let bottom = (isotherm.pressure(liquid)).max(1e-12 * top) * (1.0 + 1e-9);
    // On both sides of the limits of stability the pressure rises throughout: no root can be missed beside them.
    let densities = |pressure: f64| -> Result<Densities> {
        Ok(Densities {
            vapour: rising_root(isotherm, pressure, (0.0, vapour))?,
            liquid: rising_root(isotherm, pressure, (liquid, highest))?,
        })
    };
    let difference = |ln_pressure: f64| {
        let pressure = ln_pressure.exp();
        let found = densities(pressure)?;
        let energy = |rho: f64| isotherm.residual_gibbs_energy(rho, pressure);
        Ok(energy(found.vapour) - energy(found.liquid))
    };
    let sides = (difference(bottom.ln())?, difference(top.ln())?);
    if bottom >= top || sides.0 >= 0.0 || sides.1 <= 0.0 {
        return Ok(None);
    }
    let found = bracketed(
        "boiling of one composition",
        bottom.ln(),
        top.ln(),
        rough,
        difference,
    )?;
    let pressure = found.exp();
    Ok(Some((pressure, densities(pressure)?)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::eos::equilibrium::flash;
    use crate::eos::equilibrium::samples::binary;
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
