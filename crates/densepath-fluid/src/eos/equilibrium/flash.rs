//! Into which phases a mixture of given temperature, pressure and composition parts: the least Gibbs energy.
//!
//! The test of stability says whether and towards which composition it parts; the phases are then found by successive
//! substitution with the phase fractions from a convex minimization (Michelsen, Comput. Chem. Eng. 18, 545 (1994), doi
//! 10.1016/0098-1354(93)E0017-4), and by Newton's method on the Gibbs energy with a search along each step (Michelsen,
//! Fluid Phase Equilib. 9, 21 (1982), doi 10.1016/0378-3812(82)85002-4). The result is tested for stability in turn, and a
//! third phase taken in where the test asks for it.

use nalgebra::{DMatrix, DVector};

use super::stability::{descent, stability};
use super::{normalized, phase_point};
use crate::eos::mixture::{Branch, MixtureModel};
use crate::error::{Error, Result};
use crate::num::Amounts;

/// One of the phases of a mixture.
#[derive(Debug, Clone, PartialEq)]
pub struct PhaseShare {
    /// Share of the amount of the whole mixture that is in the phase.
    pub fraction: f64,
    /// Amount fractions in the phase.
    pub fractions: Amounts,
    /// Molar density of the phase in mol/m3.
    pub molar_density: f64,
}

/// The phases of a mixture at a temperature and a pressure.
#[derive(Debug, Clone, PartialEq)]
pub struct Equilibrium {
    /// Temperature in K.
    pub temperature: f64,
    /// Pressure in Pa.
    pub pressure: f64,
    /// The phases, one to as many as there are substances, by rising molar density.
    pub phases: Vec<PhaseShare>,
}

impl Equilibrium {
    /// Molar density of all phases together in mol/m3.
    pub fn molar_density(&self) -> f64 {
        let volume: f64 = self
            .phases
            .iter()
            .map(|p| p.fraction / p.molar_density)
            .sum();
        1.0 / volume
    }
}

/// Steps of substitution at most before Newton's method.
const SUBSTITUTIONS: u32 = 30;
/// Change of the logarithms of the fugacities between phases at which substitution hands over.
const NEAR: f64 = 1e-3;
/// Steps of Newton's method at most.
const NEWTON_STEPS: u32 = 100;
/// Difference of the logarithms of fugacities at which phases are in equilibrium.
const EQUAL: f64 = 1e-11;
/// Rounds of settling the phases and taking in another one.
const ROUNDS: u32 = 8;
/// Largest difference of the logarithms of amount fractions at which two phases are one.
const SAME: f64 = 1e-6;
/// Gibbs energy over RT that rounding can feign.
const ENERGY_ROUNDING: f64 = 1e-12;
/// Share of the amount below which a phase has vanished.
const VANISHED: f64 = 1e-12;
/// Distance of the tangent plane beyond which another phase is taken in.
const UNSTABLE: f64 = -1e-8;

/// The phases of a mixture of given amount fractions at a temperature in K and a pressure in Pa.
///
/// Error 401 if no set of phases is found that passes the test of stability.
pub fn flash(
    model: &dyn MixtureModel,
    temperature: f64,
    pressure: f64,
    fractions: &[f64],
) -> Result<Equilibrium> {
    let search = Search {
        model,
        temperature,
        pressure,
        fractions,
    };
    let test = stability(model, temperature, pressure, fractions)?;
    let single = || Equilibrium {
        temperature,
        pressure,
        phases: vec![PhaseShare {
            fraction: 1.0,
            fractions: Amounts::from_slice(fractions),
            molar_density: test.molar_density,
        }],
    };
    let Some(trial) = test.trial.as_ref().filter(|_| !test.is_stable()) else {
        return Ok(single());
    };
    let mut phases = search.parted(&[Amounts::from_slice(fractions)], &trial.fractions)?;
    for _ in 0..ROUNDS {
        phases = search.settled(phases)?;
        let Some(other) = search.missing(&phases)? else {
            return Ok(search.equilibrium(phases));
        };
        let amounts: Vec<Amounts> = phases.into_iter().map(|phase| phase.amounts).collect();
        phases = search.parted(&amounts, &other)?;
    }
    Err(Search::failed(ROUNDS, f64::NAN, UNSTABLE))
}

/// Amounts of each substance in one phase, of one mole in all, with their Gibbs energy.
#[derive(Debug, Clone)]
struct Part {
    amounts: Amounts,
    molar_density: f64,
    ln_coefficients: Amounts,
    /// `ln x_i + ln phi_i`; zero for an absent substance.
    potentials: Amounts,
}

impl Part {
    fn total(&self) -> f64 {
        self.amounts.iter().sum()
    }

    fn gibbs_energy(&self) -> f64 {
        let pairs = self.amounts.iter().zip(&self.potentials);
        pairs.map(|(n, potential)| n * potential).sum()
    }
}

struct Search<'a> {
    model: &'a dyn MixtureModel,
    temperature: f64,
    pressure: f64,
    fractions: &'a [f64],
}

impl Search<'_> {
    fn failed(iterations: u32, residual: f64, tolerance: f64) -> Error {
        Error::NoConvergence {
            solver: "phases at given temperature and pressure",
            iterations,
            residual,
            tolerance,
        }
    }

    fn part(&self, amounts: Amounts) -> Result<Part> {
        let fractions = normalized(&amounts);
        let phase = phase_point(
            self.model,
            self.temperature,
            self.pressure,
            &fractions,
            Branch::Stable,
        )?;
        let pairs = fractions.iter().zip(&phase.ln_coefficients);
        let potentials = pairs
            .map(|(x, phi)| if *x > 0.0 { x.ln() + phi } else { 0.0 })
            .collect();
        Ok(Part {
            amounts,
            molar_density: phase.molar_density,
            ln_coefficients: phase.ln_coefficients,
            potentials,
        })
    }

    /// The phases given, less as much of a new one as lowers the Gibbs energy.
    fn parted(&self, phases: &[Amounts], fractions: &[f64]) -> Result<Vec<Part>> {
        let whole = self.parts(phases)?;
        let before = gibbs_energy(&whole);
        // The new phase takes of every old one in proportion, as much as the scarcest substance allows.
        let pairs = self.fractions.iter().zip(fractions);
        let most = pairs
            .filter(|(_, w)| **w > 0.0)
            .fold(1.0, |most: f64, (z, w)| most.min(z / w));
        let mut share = 0.9 * most;
        for _ in 0..40 {
            let kept = |amounts: &Amounts| -> Amounts {
                let of = amounts.iter().zip(self.fractions).zip(fractions);
                of.map(|((n, z), w)| {
                    if *z > 0.0 {
                        n * (1.0 - share * w / z)
                    } else {
                        0.0
                    }
                })
                .collect()
            };
            let mut amounts: Vec<Amounts> = phases.iter().map(kept).collect();
            amounts.push(fractions.iter().map(|w| share * w).collect());
            let parts = self.parts(&amounts)?;
            if gibbs_energy(&parts) < before {
                return Ok(parts);
            }
            share *= 0.5;
        }
        Err(Self::failed(40, f64::NAN, 0.0))
    }

    fn parts(&self, amounts: &[Amounts]) -> Result<Vec<Part>> {
        amounts
            .iter()
            .map(|amounts| self.part(amounts.clone()))
            .collect()
    }

    /// The phases brought to equilibrium; phases that vanish or become one are dropped.
    fn settled(&self, start: Vec<Part>) -> Result<Vec<Part>> {
        let mut parts = start;
        for _ in 0..SUBSTITUTIONS {
            if imbalance(&parts) < NEAR {
                break;
            }
            let next = self.substituted(&parts)?;
            // Less than two phases are never the answer here, nor is more energy: the rest is left to descent.
            if next.len() < 2 || gibbs_energy(&next) > gibbs_energy(&parts) {
                break;
            }
            parts = next;
        }
        let mut least = f64::INFINITY;
        for _ in 0..NEWTON_STEPS {
            parts = merged(parts);
            if parts.len() < 2 {
                break;
            }
            let imbalance = imbalance(&parts);
            // At the last digits the imbalance no longer shrinks: rounding rules.
            if imbalance < EQUAL || (imbalance < 1e-8 && imbalance > 0.5 * least) {
                return Ok(parts);
            }
            least = least.min(imbalance);
            parts = self.lowered(parts)?;
            // Amounts lost to rounding in the first phase, which takes the difference, come back by substitution.
            let refined = self.substituted(&parts)?;
            let better = self::imbalance(&refined) < self::imbalance(&parts)
                && gibbs_energy(&refined) <= gibbs_energy(&parts) + ENERGY_ROUNDING;
            if better && refined.len() == parts.len() {
                parts = refined;
            }
        }
        Err(Self::failed(NEWTON_STEPS, imbalance(&parts), EQUAL))
    }

    /// One step of successive substitution.
    fn substituted(&self, parts: &[Part]) -> Result<Vec<Part>> {
        let coefficients: Vec<Amounts> = parts
            .iter()
            .map(|part| {
                part.ln_coefficients
                    .iter()
                    .map(|phi| (-phi).exp())
                    .collect()
            })
            .collect();
        let start: Amounts = parts.iter().map(Part::total).collect();
        let shares = phase_fractions(self.fractions, &coefficients, &start);
        let sums = weighed_sums(&shares, &coefficients);
        let mut next = Vec::with_capacity(parts.len());
        for (share, inverse) in shares.iter().zip(&coefficients) {
            if *share > 0.0 {
                let of = self.fractions.iter().zip(inverse).zip(&sums);
                let amounts = of.map(|((z, e), sum)| share * z * e / sum).collect();
                next.push(self.part(amounts)?);
            }
        }
        Ok(next)
    }

    /// The phases after one step of Newton's method on the Gibbs energy, cut until the energy falls.
    ///
    /// The amounts in the first phase, which is the one least poor in any substance, follow from those in the others. Amounts
    /// are scaled as in Michelsen and Mollerup,
    /// Thermodynamic Models, 2nd ed. 2007, chapter 10.
    fn lowered(&self, mut parts: Vec<Part>) -> Result<Vec<Part>> {
        let count = self.fractions.len();
        let poorest = |part: &Part| {
            let pairs = part.amounts.iter().zip(self.fractions);
            let present = pairs.filter(|(_, z)| **z > 0.0);
            present.fold(1.0, |least: f64, (n, z)| least.min(n / z))
        };
        parts.sort_by(|a, b| poorest(b).total_cmp(&poorest(a)));
        let Some((first, others)) = parts.split_first() else {
            return Ok(parts);
        };
        let size = count * others.len();
        let curvature = |part: &Part| self.curvature(part);
        let base = curvature(first);
        let scales: Amounts = others
            .iter()
            .flat_map(|part| {
                let pairs = part.amounts.iter().zip(&first.amounts).zip(self.fractions);
                pairs.map(|((n, m), z)| if *z > 0.0 { (n * m / z).sqrt() } else { 0.0 })
            })
            .collect();
        let blocks: Vec<DMatrix<f64>> = others.iter().map(curvature).collect();
        let scale = |k: usize| scales.get(k).copied().unwrap_or(0.0);
        let hessian = DMatrix::from_fn(size, size, |row, column| {
            let (i, j) = (row % count, column % count);
            let own = blocks
                .get(row / count)
                .filter(|_| row / count == column / count)
                .map_or(0.0, |block| block[(i, j)]);
            let product = scale(row) * scale(column);
            let absent = product == 0.0 && row == column;
            if absent {
                1.0
            } else {
                product * (own + base[(i, j)])
            }
        });
        let differences = others.iter().flat_map(|part| {
            let pairs = part.potentials.iter().zip(&first.potentials);
            pairs.map(|(other, own)| other - own)
        });
        let gradient = DVector::from_iterator(size, differences.zip(&scales).map(|(g, s)| g * s));
        let step =
            descent(hessian, &gradient).ok_or_else(|| Self::failed(0, imbalance(&parts), EQUAL))?;
        let step: Amounts = step
            .iter()
            .zip(&scales)
            .map(|(s, scale)| s * scale)
            .collect();
        self.along(&parts, &step, step_slope(&gradient, &step, &scales))
    }

    /// Second derivatives of the Gibbs energy of a phase in its amounts, over RT.
    fn curvature(&self, part: &Part) -> DMatrix<f64> {
        let (total, count) = (part.total(), part.amounts.len());
        let isotherm = self.model.at(self.temperature, &normalized(&part.amounts));
        let change = isotherm.fugacity(part.molar_density).d_amounts;
        DMatrix::from_fn(count, count, |i, j| {
            let own = part.amounts.get(i).filter(|n| i == j && **n > 0.0);
            let ideal = own.map_or(0.0, |n| total / n);
            (ideal - 1.0 + change.get(i * count + j).copied().unwrap_or(0.0)) / total
        })
    }

    /// The phases moved along a step of the amounts in all but the first, as far as the energy falls.
    fn along(&self, parts: &[Part], step: &[f64], slope: f64) -> Result<Vec<Part>> {
        let count = self.fractions.len();
        let before = gibbs_energy(parts);
        let rows = || step.chunks(count);
        let first_step: Amounts = (0..count)
            .map(|i| -rows().filter_map(|row| row.get(i)).sum::<f64>())
            .collect();
        let steps: Vec<&[f64]> = std::iter::once(first_step.as_slice())
            .chain(rows())
            .collect();
        let mut share: f64 = 1.0;
        for (part, change) in parts.iter().zip(&steps) {
            for (n, s) in part.amounts.iter().zip(*change) {
                if n + share * s < 0.01 * n {
                    share = 0.99 * n / -s;
                }
            }
        }
        for _ in 0..40 {
            let moved = |part: &Part, change: &[f64]| -> Amounts {
                let pairs = part.amounts.iter().zip(change);
                pairs.map(|(n, s)| n + share * s).collect()
            };
            let amounts: Vec<Amounts> = parts
                .iter()
                .zip(&steps)
                .map(|(part, change)| moved(part, change))
                .collect();
            let next = self.parts(&amounts)?;
            // Rounding of the energy must not stop the last steps.
            if gibbs_energy(&next) <= before + 1e-4 * share * slope + ENERGY_ROUNDING {
                return Ok(next);
            }
            share *= 0.5;
        }
        Err(Self::failed(40, imbalance(parts), EQUAL))
    }

    /// A phase that would lower the Gibbs energy of the phases found; nothing if they are the answer.
    fn missing(&self, parts: &[Part]) -> Result<Option<Amounts>> {
        let Some(part) = parts.first() else {
            return Ok(None);
        };
        let test = stability(
            self.model,
            self.temperature,
            self.pressure,
            &normalized(&part.amounts),
        )?;
        Ok(test
            .trial
            .filter(|trial| trial.distance < UNSTABLE)
            .map(|trial| trial.fractions))
    }

    fn equilibrium(&self, parts: Vec<Part>) -> Equilibrium {
        let mut phases: Vec<PhaseShare> = parts
            .into_iter()
            .map(|part| PhaseShare {
                fraction: part.total(),
                fractions: normalized(&part.amounts),
                molar_density: part.molar_density,
            })
            .collect();
        phases.sort_by(|a, b| a.molar_density.total_cmp(&b.molar_density));
        Equilibrium {
            temperature: self.temperature,
            pressure: self.pressure,
            phases,
        }
    }
}

fn gibbs_energy(parts: &[Part]) -> f64 {
    parts.iter().map(Part::gibbs_energy).sum()
}

fn step_slope(gradient: &DVector<f64>, step: &[f64], scales: &[f64]) -> f64 {
    let pairs = gradient.iter().zip(step).zip(scales);
    pairs
        .map(|((g, s), scale)| if *scale > 0.0 { g * s / scale } else { 0.0 })
        .sum()
}

/// Largest difference of the logarithms of the fugacities between the phases, weighed with the root of the amounts.
fn imbalance(parts: &[Part]) -> f64 {
    let Some((first, others)) = parts.split_first() else {
        return 0.0;
    };
    let mut largest: f64 = 0.0;
    for part in others {
        let pairs = part.potentials.iter().zip(&first.potentials);
        let amounts = part.amounts.iter().zip(&first.amounts);
        for ((other, own), (n, m)) in pairs.zip(amounts) {
            if *n > 0.0 && *m > 0.0 {
                largest = largest.max((other - own).abs());
            }
        }
    }
    largest
}

/// The phases without those that are another one over again or have all but vanished.
fn merged(parts: Vec<Part>) -> Vec<Part> {
    let mut kept: Vec<Part> = Vec::with_capacity(parts.len());
    let mut vanished: Option<Part> = None;
    for part in parts {
        if part.total() < VANISHED {
            vanished = Some(part);
            continue;
        }
        let same = |other: &Part| {
            let pairs = part.potentials.iter().zip(&part.ln_coefficients);
            let others = other.potentials.iter().zip(&other.ln_coefficients);
            // ln x = (ln x + ln phi) - ln phi.
            let mut both = pairs.zip(others);
            both.all(|((a, phi_a), (b, phi_b))| ((a - phi_a) - (b - phi_b)).abs() < SAME)
        };
        if let Some(twin) = kept.iter_mut().find(|other| same(other)) {
            for (n, m) in twin.amounts.iter_mut().zip(&part.amounts) {
                *n += m;
            }
        } else {
            kept.push(part);
        }
    }
    if let (Some(part), Some(rest)) = (vanished, kept.first_mut()) {
        for (n, m) in rest.amounts.iter_mut().zip(&part.amounts) {
            *n += m;
        }
    }
    kept
}

/// `E_i = sum_k beta_k / phi_ik`.
fn weighed_sums(shares: &[f64], inverse: &[Amounts]) -> Amounts {
    let count = inverse.first().map_or(0, Amounts::len);
    (0..count)
        .map(|i| {
            let of = shares.iter().zip(inverse);
            of.map(|(share, row)| share * row.get(i).copied().unwrap_or(0.0))
                .sum()
        })
        .collect()
}

/// The phase fractions at fixed fugacity coefficients: the minimum of `sum beta_k - sum z_i ln E_i` with `beta_k >= 0`,
/// a convex function; a phase that leaves the set has a fraction of zero.
fn phase_fractions(fractions: &[f64], inverse: &[Amounts], start: &[f64]) -> Amounts {
    let count = inverse.len();
    let mut shares = Amounts::from_slice(start);
    let mut active: Vec<bool> = vec![true; count];
    let energy = |shares: &[f64]| {
        let sums = weighed_sums(shares, inverse);
        let mixing: f64 = fractions
            .iter()
            .zip(&sums)
            .filter(|(z, _)| **z > 0.0)
            .map(|(z, e)| z * e.ln())
            .sum();
        shares.iter().sum::<f64>() - mixing
    };
    for _ in 0..100 {
        let sums = weighed_sums(&shares, inverse);
        let gradient = DVector::from_fn(count, |k, _| {
            let row = inverse.get(k).map_or(&[][..], |row| row.as_slice());
            let of = fractions.iter().zip(row).zip(&sums);
            1.0 - of.map(|((z, e), sum)| z * e / sum).sum::<f64>()
        });
        for (k, is_active) in active.iter_mut().enumerate() {
            let empty = shares.get(k).is_none_or(|share| *share <= 0.0);
            *is_active = !empty || gradient[k] < 0.0;
        }
        let free = |k: usize| active.get(k).copied().unwrap_or(false);
        let flat = (0..count)
            .filter(|&k| free(k))
            .fold(0.0, |most: f64, k| most.max(gradient[k].abs()));
        if flat < 1e-13 {
            break;
        }
        let hessian = DMatrix::from_fn(count, count, |k, l| {
            if !free(k) || !free(l) {
                return f64::from(u8::from(k == l));
            }
            let rows = inverse.get(k).into_iter().flatten();
            let others = inverse.get(l).into_iter().flatten();
            let of = fractions.iter().zip(&sums).zip(rows.zip(others));
            of.map(|((z, sum), (a, b))| z * a * b / (sum * sum)).sum()
        });
        let held = DVector::from_fn(count, |k, _| if free(k) { gradient[k] } else { 0.0 });
        let Some(step) = descent(hessian, &held) else {
            break;
        };
        // As far as the first fraction that would turn negative, which then is exactly zero.
        let mut share = 1.0;
        for (value, s) in shares.iter().zip(step.iter()) {
            if value + share * s < 0.0 {
                share = -value / s;
            }
        }
        let before = energy(&shares);
        let mut next = shares.clone();
        for _ in 0..30 {
            for ((to, from), s) in next.iter_mut().zip(&shares).zip(step.iter()) {
                let moved = from + share * s;
                *to = if moved < 1e-15 { 0.0 } else { moved };
            }
            if energy(&next) <= before + 1e-15 {
                break;
            }
            share *= 0.5;
        }
        if next == shares {
            break;
        }
        shares = next;
    }
    shares
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::eos::equilibrium::samples::{binary, ternary};
    use proptest::prelude::*;

    /// Gibbs energy of mixing over RT, less what is linear in the composition, of one phase.
    fn energy(model: &dyn MixtureModel, temperature: f64, pressure: f64, x: &[f64]) -> f64 {
        let phase = phase_point(model, temperature, pressure, x, Branch::Stable).unwrap();
        let pairs = x.iter().zip(&phase.ln_coefficients);
        pairs
            .filter(|(x, _)| **x > 0.0)
            .map(|(x, phi)| x * (x.ln() + phi))
            .sum()
    }

    fn energy_of_all(model: &dyn MixtureModel, found: &Equilibrium) -> f64 {
        let (t, p) = (found.temperature, found.pressure);
        let of = |phase: &PhaseShare| phase.fraction * energy(model, t, p, &phase.fractions);
        found.phases.iter().map(of).sum()
    }

    fn fugacities_are_equal(model: &dyn MixtureModel, found: &Equilibrium, z: &[f64]) {
        let logarithms = |phase: &PhaseShare| -> Vec<f64> {
            let (t, p) = (found.temperature, found.pressure);
            let point = phase_point(model, t, p, &phase.fractions, Branch::Stable).unwrap();
            let pairs = phase.fractions.iter().zip(point.ln_coefficients);
            pairs.map(|(x, phi)| x.ln() + phi).collect()
        };
        let first = logarithms(&found.phases[0]);
        for phase in &found.phases {
            for (a, b) in first.iter().zip(logarithms(phase)) {
                assert!((a - b).abs() < 1e-7, "{found:?}");
            }
        }
        for (i, z) in z.iter().enumerate() {
            let sum: f64 = found
                .phases
                .iter()
                .map(|p| p.fraction * p.fractions[i])
                .sum();
            assert!((sum - z).abs() < 1e-11, "{found:?}");
        }
    }

    /// The least Gibbs energy that phases on a grid of compositions give a mixture: the lower hull of the points.
    fn hull(points: &[(f64, f64)], z: f64) -> f64 {
        let mut hull: Vec<(f64, f64)> = Vec::new();
        for &(x, g) in points {
            while let [.., (x_1, g_1), (x_2, g_2)] = hull[..] {
                if (g_2 - g_1) * (x - x_1) < (g - g_1) * (x_2 - x_1) {
                    break;
                }
                hull.pop();
            }
            hull.push((x, g));
        }
        let right = hull.iter().position(|(x, _)| *x >= z).unwrap().max(1);
        let ((x_1, g_1), (x_2, g_2)) = (hull[right - 1], hull[right]);
        g_1 + (g_2 - g_1) * (z - x_1) / (x_2 - x_1)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(400))]

        /// No two phases on a fine grid of compositions have less energy than those found, and what is found is no more
        /// than a little below them.
        #[test]
        fn no_pair_of_phases_on_a_grid_does_better(
            model in binary(), temperature in 200.0..600.0f64, log_pressure in 4.5..7.8f64, z in 0.01..0.99f64
        ) {
            let pressure = 10f64.powf(log_pressure);
            let found = flash(&model, temperature, pressure, &[1.0 - z, z]).unwrap();
            fugacities_are_equal(&model, &found, &[1.0 - z, z]);
            let steps = 400;
            let points: Vec<(f64, f64)> = (0..=steps)
                .map(|k| {
                    let x = f64::from(k) / f64::from(steps);
                    (x, energy(&model, temperature, pressure, &[1.0 - x, x]))
                })
                .collect();
            let ours = energy_of_all(&model, &found);
            let grid = hull(&points, z);
            prop_assert!(ours < grid + 1e-9, "{ours} {grid} {found:?}");
            prop_assert!(grid - ours < 2e-2, "{ours} {grid} {found:?}");
        }

        #[test]
        fn three_substances_come_to_equilibrium(
            model in ternary(), temperature in 200.0..600.0f64, log_pressure in 4.5..7.8f64,
            a in 0.01..0.99f64, b in 0.01..0.99f64
        ) {
            let pressure = 10f64.powf(log_pressure);
            let z = [a * b, a * (1.0 - b), 1.0 - a];
            let found = flash(&model, temperature, pressure, &z).unwrap();
            fugacities_are_equal(&model, &found, &z);
            let steps = 25;
            for i in 1..steps {
                for j in 1..steps - i {
                    let (x, y) = (f64::from(i) / f64::from(steps), f64::from(j) / f64::from(steps));
                    let phase = [x, y, 1.0 - x - y];
                    let first = &found.phases[0].fractions;
                    let here = phase_point(&model, temperature, pressure, first, Branch::Stable).unwrap();
                    let there = energy(&model, temperature, pressure, &phase);
                    let plane: f64 = (0..3).map(|k| phase[k] * (first[k].ln() + here.ln_coefficients[k])).sum();
                    prop_assert!(there > plane - 1e-7, "{phase:?} {} {found:?}", there - plane);
                }
            }
        }
    }
}
