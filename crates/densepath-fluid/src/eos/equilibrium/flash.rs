//! Into which phases a mixture of given temperature, pressure and composition parts: the least Gibbs energy.
//!
//! The test of stability says whether and towards which composition it parts; the phases are then found by successive
//! substitution with the phase fractions from a convex minimization, and by Newton's method on the Gibbs energy with a search
//! along each step (Michelsen, Fluid Phase Equilib. 9, 21 (1982), doi 10.1016/0378-3812(82)85002-4). The result is tested for
//! stability in turn, and a third phase taken in where the test asks for it; phases that vanish or become one are dropped.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use nalgebra::DVector;

use super::pair;
use super::part::{Part, gibbs_energy, hessian, imbalance, longest};
use super::phase::{Phase, liquid_volume, near};
use super::shares::{phase_fractions, weighed_sums};
use super::stability::{Trial, descent, stability};
use super::{ln_ratios, normalized};
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::mixture::{Branch, MixtureIsotherm, MixtureModel, is_phase};
use crate::error::{Error, Result};
use crate::num::Amounts;

/// One of the phases of a mixture.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let phases = flash(&model, 320.0, 20e5, &[0.5, 0.5])?.phases;
/// // The shares make up the whole, and so does each substance.
/// assert!((phases.iter().map(|phase| phase.fraction).sum::<f64>() - 1.0).abs() < 1e-9);
/// assert!((phases.iter().map(|phase| phase.fraction * phase.fractions[0]).sum::<f64>() - 0.5).abs() < 1e-9);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
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
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let found = flash(&model, 320.0, 20e5, &[0.5, 0.5])?;
/// assert!(found.phases.len() == 2 && found.phases[0].molar_density < found.phases[1].molar_density);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
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
    ///
    /// ```
    /// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let found = flash(&model, 320.0, 20e5, &[0.5, 0.5])?;
    /// let volume: f64 = found.phases.iter().map(|phase| phase.fraction / phase.molar_density).sum();
    /// assert!((found.molar_density() * volume - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
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
/// Difference of the logarithms of the fugacities between phases at which substitution hands over.
const NEAR: f64 = 1e-2;
/// Steps of Newton's method at most.
const NEWTON_STEPS: u32 = 100;
/// Difference of the logarithms of fugacities at which phases are in equilibrium.
const EQUAL: f64 = 1e-11;
/// Difference at which phases are in equilibrium though rounding keeps it from falling further.
const ALMOST_EQUAL: f64 = 1e-8;
/// Steps without less imbalance after which rounding rules.
const STALLED: u32 = 4;
/// Cuts of a step at most.
const CUTS: u32 = 40;
/// Rounds of settling the phases and taking in another one.
const ROUNDS: u32 = 12;
/// Difference of the logarithm of the density from a root at which the phase is another one.
const AT_ROOT: f64 = 1e-4;
/// Gibbs energy over RT that rounding can feign.
const ENERGY_ROUNDING: f64 = 1e-12;
/// Share of the amount below which a phase has vanished.
const VANISHED: f64 = 1e-12;
/// Share of the amount from which a new phase grows fast.
const STARTED: f64 = 1e-3;
/// Distance of the tangent plane beyond which another phase is taken in.
const UNSTABLE: f64 = -1e-9;

/// The phases of a mixture of given amount fractions at a temperature in K and a pressure in Pa.
///
/// Error 401 if no set of phases is found that passes the test of stability.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// // Far above the bubble point there is one phase.
/// assert_eq!(flash(&model, 320.0, 150e5, &[0.5, 0.5])?.phases.len(), 1);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn flash(
    model: &dyn MixtureModel,
    temperature: f64,
    pressure: f64,
    fractions: &[f64],
) -> Result<Equilibrium> {
    let pair = model.cubic_pair(temperature);
    if let Some(clear) = pair.and_then(|pair| pair::phases(&pair, pressure, fractions)) {
        return Ok(clear);
    }
    searched(model, temperature, pressure, fractions)
}

/// As [`flash`], by the search that leaves nothing out.
pub(super) fn searched(
    model: &dyn MixtureModel,
    temperature: f64,
    pressure: f64,
    fractions: &[f64],
) -> Result<Equilibrium> {
    let mut search = Search {
        model,
        isotherm: model.at(temperature, fractions),
        pressure,
        fractions,
    };
    let test = match stability(model, temperature, pressure, fractions) {
        Ok(test) => test,
        // Between the limits of a vapour and of a liquid the mixture is no phase at all.
        Err(error) => return search.with_vapour().map_err(|_| error),
    };
    let Some(trial) = test.trial.as_ref().filter(|_| !test.is_stable()) else {
        return Ok(search.whole(test.molar_density));
    };
    let feed = search.part(Amounts::from_slice(fractions), test.molar_density)?;
    let parted = search.parted(&[feed], trial);
    // Two liquids may lead to where one of them ends before a vapour is found beside the other.
    parted
        .and_then(|parts| search.in_equilibrium(parts))
        .or_else(|error| search.with_vapour().map_err(|_| error))
}

fn failed(iterations: u32, residual: f64, tolerance: f64) -> Error {
    Error::NoConvergence {
        solver: "phases at given temperature and pressure",
        iterations,
        residual,
        tolerance,
    }
}

struct Search<'a> {
    model: &'a dyn MixtureModel,
    /// Turned to the composition of each phase.
    isotherm: Box<dyn MixtureIsotherm + 'a>,
    pressure: f64,
    fractions: &'a [f64],
}

impl Search<'_> {
    /// The mixture as one phase of a molar density in mol/m3.
    fn whole(&self, molar_density: f64) -> Equilibrium {
        Equilibrium {
            temperature: self.isotherm.temperature(),
            pressure: self.pressure,
            phases: vec![PhaseShare {
                fraction: 1.0,
                fractions: Amounts::from_slice(self.fractions),
                molar_density,
            }],
        }
    }

    /// The phases to which some lead that pass the test of stability.
    fn in_equilibrium(&mut self, start: Vec<Part>) -> Result<Equilibrium> {
        let mut parts = start;
        for _ in 0..ROUNDS {
            parts = self.settled(parts)?;
            if self.turn_to_stable_roots(&mut parts)? {
                continue;
            }
            let Some(other) = self.missing(&parts)? else {
                return Ok(self.equilibrium(parts));
            };
            parts = self.parted(&parts, &other)?;
        }
        Err(failed(ROUNDS, f64::NAN, UNSTABLE))
    }

    /// The phases to which vapour and liquid lead that share the substances by the ratios of Wilson's equation.
    fn with_vapour(&mut self) -> Result<Equilibrium> {
        let temperature = self.isotherm.temperature();
        let ratios = ln_ratios(self.model, temperature, self.pressure);
        let volumes = (0..self.fractions.len())
            .map(|i| liquid_volume(&self.model.critical_constants(i), temperature));
        let liquid: f64 = volumes.zip(self.fractions).map(|(v, z)| v * z).sum();
        let thin = self.pressure / (MOLAR_GAS_CONSTANT * temperature);
        let shares = ratios.iter().map(|ratio| 1.0 / (1.0 + (-ratio).exp()));
        let vapour: Amounts = shares.zip(self.fractions).map(|(s, z)| s * z).collect();
        let pairs = self.fractions.iter().zip(&vapour);
        let rest = pairs.map(|(z, v)| z - v).collect();
        let parts = vec![self.part(vapour, thin)?, self.part(rest, 1.0 / liquid)?];
        self.in_equilibrium(parts)
    }

    /// A phase of given amounts at the density next to a guess, else at that of the smaller Gibbs energy.
    fn part(&mut self, amounts: Amounts, guess: f64) -> Result<Part> {
        self.part_after(None, amounts, guess)
    }

    /// As [`Search::part`], from what the phase was before its amounts changed: reference equations swing inside their dome, and a
    /// density that the pressure reaches there, with potentials far off, is no phase.
    fn part_after(&mut self, before: Option<&Phase>, amounts: Amounts, guess: f64) -> Result<Part> {
        let fractions = normalized(&amounts);
        self.isotherm.recompose(&fractions);
        let isotherm = self.isotherm.as_ref();
        let is_real = |phase: &Phase| {
            before.is_none_or(|before| !phase.is_far_from(before))
                || is_phase(isotherm, phase.molar_density)
        };
        let at = |density: f64| {
            near(isotherm, self.pressure, density, 0.0)
                .1
                .filter(is_real)
        };
        let mut found = at(guess);
        if found.is_none() {
            found = at(isotherm.molar_density(self.pressure, Branch::Stable)?);
        }
        let phase = found.ok_or_else(|| failed(0, f64::NAN, 0.0))?;
        let pairs = fractions.iter().zip(&phase.ln_coefficients);
        let potentials = pairs
            .map(|(x, phi)| if *x > 0.0 { x.ln() + phi } else { 0.0 })
            .collect();
        Ok(Part {
            amounts,
            phase,
            potentials,
        })
    }

    /// The phases with other amounts.
    fn moved(&mut self, parts: &[Part], amounts: Vec<Amounts>) -> Result<Vec<Part>> {
        let pairs = parts.iter().zip(amounts);
        pairs
            .map(|(part, amounts)| {
                let guess = part.phase.density_at(&amounts);
                self.part_after(Some(&part.phase), amounts, guess)
            })
            .collect()
    }

    /// The phases with a new one taken in so that the Gibbs energy falls.
    ///
    /// First the amounts are spread anew over all phases, each keeping its fugacity coefficients, which lets an old phase vanish
    /// in favour of the new one: on a line of three phases nothing less leads to a lower energy. Where that does not help, the
    /// new phase takes a little of every old one.
    fn parted(&mut self, phases: &[Part], trial: &Trial) -> Result<Vec<Part>> {
        let before = gibbs_energy(phases);
        let mut all = phases.to_vec();
        let traces = trial.fractions.iter().map(|w| VANISHED * w).collect();
        all.push(self.part(traces, trial.molar_density)?);
        let spread = self.substituted(&all).ok();
        // What a phase just beyond its border gains goes with the square of the distance, and is soon less than rounding.
        let helps = |spread: &Vec<Part>| {
            spread.len() > 1 && gibbs_energy(spread) <= before + ENERGY_ROUNDING
        };
        let Some(spread) = spread.filter(helps) else {
            return self.shared(phases, trial);
        };
        // Where an old phase is itself unstable, the new one may stay a trace, from which the steps that follow hardly lead away.
        let least = spread.iter().map(Part::total).fold(1.0, f64::min);
        if least > STARTED {
            return Ok(spread);
        }
        let energy = gibbs_energy(&spread);
        let shared = self.shared(phases, trial).ok();
        Ok(shared
            .filter(|shared| gibbs_energy(shared) < energy)
            .unwrap_or(spread))
    }

    /// The phases given, less as much of a new one as lowers the Gibbs energy.
    fn shared(&mut self, phases: &[Part], trial: &Trial) -> Result<Vec<Part>> {
        let before = gibbs_energy(phases);
        // The new phase takes of every old one in proportion, as much as the scarcest substance allows.
        let pairs = self.fractions.iter().zip(&trial.fractions);
        let most = pairs
            .filter(|(_, w)| **w > 0.0)
            .fold(1.0, |most: f64, (z, w)| most.min(z / w));
        let mut share = 0.9 * most;
        for _ in 0..CUTS {
            let kept = |part: &Part| -> Amounts {
                let of = part
                    .amounts
                    .iter()
                    .zip(self.fractions)
                    .zip(&trial.fractions);
                let rest = |z: f64, w: f64| if z > 0.0 { 1.0 - share * w / z } else { 0.0 };
                of.map(|((n, z), w)| n * rest(*z, *w)).collect()
            };
            let amounts = phases.iter().map(kept).collect();
            let taken = trial.fractions.iter().map(|w| share * w).collect();
            let new = self.part(taken, trial.molar_density)?;
            if let Ok(mut parts) = self.moved(phases, amounts) {
                parts.push(new);
                if gibbs_energy(&parts) < before {
                    return Ok(parts);
                }
            }
            share *= 0.5;
        }
        Err(failed(CUTS, trial.distance, 0.0))
    }

    /// The phases brought to equilibrium; phases that vanish or become one are dropped.
    fn settled(&mut self, start: Vec<Part>) -> Result<Vec<Part>> {
        let mut parts = self.roughly_settled(start);
        // The least imbalance with its phases, and the steps since.
        let mut best = (f64::INFINITY, Vec::new());
        let mut stalled = 0;
        for _ in 0..NEWTON_STEPS {
            let count = parts.len();
            parts = self.merged(parts)?;
            if parts.len() < 2 {
                return Ok(parts);
            }
            if parts.len() < count {
                best = (f64::INFINITY, Vec::new());
            }
            let left = imbalance(&parts);
            if left < EQUAL {
                return Ok(parts);
            }
            // At the last digits the imbalance no longer shrinks: rounding rules. Beside a critical point a step may raise it before
            // the next ones lower it further.
            if left < best.0 {
                best = (left, parts.clone());
                stalled = 0;
            } else {
                stalled += 1;
            }
            if best.0 < ALMOST_EQUAL && stalled >= STALLED {
                return Ok(best.1);
            }
            parts = self.lowered(parts)?;
            // Amounts lost to rounding in the first phase, which takes the difference, come back by substitution.
            let is_better = |refined: &Vec<Part>| {
                refined.len() == parts.len()
                    && imbalance(refined) < imbalance(&parts)
                    && gibbs_energy(refined) <= gibbs_energy(&parts) + ENERGY_ROUNDING
            };
            let refined = self.substituted(&parts).ok().filter(is_better);
            parts = refined.unwrap_or(parts);
        }
        Err(failed(NEWTON_STEPS, imbalance(&parts), EQUAL))
    }

    /// Successive substitution until it is near equilibrium or no longer lowers the Gibbs energy of two phases or more.
    fn roughly_settled(&mut self, start: Vec<Part>) -> Vec<Part> {
        let mut parts = start;
        for _ in 0..SUBSTITUTIONS {
            if imbalance(&parts) < NEAR {
                break;
            }
            let lowers =
                |next: &Vec<Part>| next.len() > 1 && gibbs_energy(next) <= gibbs_energy(&parts);
            let Some(next) = self.substituted(&parts).ok().filter(lowers) else {
                break;
            };
            parts = next;
        }
        parts
    }

    /// One step of successive substitution.
    fn substituted(&mut self, parts: &[Part]) -> Result<Vec<Part>> {
        let inverse = |part: &Part| -> Amounts {
            let coefficients = part.phase.ln_coefficients.iter();
            coefficients.map(|phi| (-phi).exp()).collect()
        };
        let coefficients: Vec<Amounts> = parts.iter().map(inverse).collect();
        let start: Amounts = parts.iter().map(Part::total).collect();
        let shares = phase_fractions(self.fractions, &coefficients, &start);
        let sums = weighed_sums(&shares, &coefficients);
        let mut next = Vec::with_capacity(parts.len());
        for ((share, inverse), part) in shares.iter().zip(&coefficients).zip(parts) {
            if *share > 0.0 {
                let of = self.fractions.iter().zip(inverse).zip(&sums);
                let amounts: Amounts = of.map(|((z, e), sum)| share * z * e / sum).collect();
                let guess = part.phase.density_at(&amounts);
                next.push(self.part_after(Some(&part.phase), amounts, guess)?);
            }
        }
        Ok(next)
    }

    /// The phases after one step of Newton's method on the Gibbs energy, cut until the energy falls.
    ///
    /// The amounts in the first phase, which is the one least poor in any substance, follow from those in the others. Amounts
    /// are scaled as in Michelsen and Mollerup, Thermodynamic Models, 2nd ed. 2007, chapter 10.
    fn lowered(&mut self, mut parts: Vec<Part>) -> Result<Vec<Part>> {
        let poorest = |part: &Part| {
            let pairs = part.amounts.iter().zip(self.fractions);
            let present = pairs.filter(|(_, z)| **z > 0.0);
            present.fold(1.0, |least: f64, (n, z)| least.min(n / z))
        };
        parts.sort_by(|a, b| poorest(b).total_cmp(&poorest(a)));
        let Some((first, others)) = parts.split_first() else {
            return Ok(parts);
        };
        let scales: Amounts = others
            .iter()
            .flat_map(|part| {
                let pairs = part.amounts.iter().zip(&first.amounts).zip(self.fractions);
                pairs.map(|((n, m), z)| if *z > 0.0 { (n * m / z).sqrt() } else { 0.0 })
            })
            .collect();
        let differences = others.iter().flat_map(|part| {
            let pairs = part.potentials.iter().zip(&first.potentials);
            pairs.map(|(other, own)| other - own)
        });
        let scaled = differences.zip(&scales).map(|(g, s)| g * s);
        let gradient = DVector::from_iterator(scales.len(), scaled);
        let step = descent(hessian(first, others, &scales), &gradient)
            .ok_or_else(|| failed(0, imbalance(&parts), EQUAL))?;
        let slope = gradient.dot(&step);
        let step: Amounts = step
            .iter()
            .zip(&scales)
            .map(|(s, scale)| s * scale)
            .collect();
        self.along(&parts, &step, slope)
    }

    /// The phases moved along a step of the amounts in all but the first, as far as the energy falls.
    fn along(&mut self, parts: &[Part], step: &[f64], slope: f64) -> Result<Vec<Part>> {
        let count = self.fractions.len();
        let before = gibbs_energy(parts);
        let rows = || step.chunks(count);
        let first_step: Amounts = (0..count)
            .map(|i| -rows().filter_map(|row| row.get(i)).sum::<f64>())
            .collect();
        let steps: Vec<&[f64]> = core::iter::once(first_step.as_slice())
            .chain(rows())
            .collect();
        let mut share = longest(parts, &steps);
        for _ in 0..CUTS {
            let pairs = parts.iter().zip(&steps);
            let amounts = pairs.map(|(part, change)| {
                let pairs = part.amounts.iter().zip(*change);
                pairs.map(|(n, s)| n + share * s).collect()
            });
            // A step to where there is no phase at all is too long as well, and rounding of the energy must not stop the last ones.
            let lowers = |next: &Vec<Part>| {
                gibbs_energy(next) <= before + 1e-4 * share * slope + ENERGY_ROUNDING
            };
            if let Some(next) = self.moved(parts, amounts.collect()).ok().filter(lowers) {
                return Ok(next);
            }
            share *= 0.5;
        }
        Err(failed(CUTS, imbalance(parts), EQUAL))
    }

    /// The phases without those that are another one over again or have all but vanished.
    fn merged(&mut self, parts: Vec<Part>) -> Result<Vec<Part>> {
        let mut kept: Vec<Part> = Vec::with_capacity(parts.len());
        let mut left: Vec<Part> = Vec::new();
        let count = parts.len();
        for part in parts {
            let twin = kept.iter().any(|other| other.is_same(&part));
            if twin || part.total() < VANISHED {
                left.push(part);
            } else {
                kept.push(part);
            }
        }
        if kept.len() == count {
            return Ok(kept);
        }
        for part in left {
            let twin = kept.iter().position(|other| other.is_same(&part));
            if let Some(rest) = kept.get_mut(twin.unwrap_or(0)) {
                for (n, m) in rest.amounts.iter_mut().zip(&part.amounts) {
                    *n += m;
                }
            }
        }
        let amounts = kept.iter().map(|part| part.amounts.clone()).collect();
        self.moved(&kept, amounts)
    }

    /// Turns phases whose density is not that of the smaller Gibbs energy to it, and those that are no phase at their density, inside the
    /// dome, whatever energy a reference equation tells there; whether there was one.
    fn turn_to_stable_roots(&mut self, parts: &mut [Part]) -> Result<bool> {
        let mut turned = false;
        for part in parts {
            self.isotherm.recompose(&normalized(&part.amounts));
            let stable = self.isotherm.molar_density(self.pressure, Branch::Stable)?;
            if (stable / part.phase.molar_density).ln().abs() > AT_ROOT {
                let other = self.part(part.amounts.clone(), stable)?;
                let is_lower = other.gibbs_energy() < part.gibbs_energy() - ENERGY_ROUNDING;
                if is_lower || !is_phase(self.isotherm.as_ref(), part.phase.molar_density) {
                    *part = other;
                    turned = true;
                }
            }
        }
        Ok(turned)
    }

    /// A phase that would lower the Gibbs energy of the phases found; nothing if they are the answer.
    ///
    /// All phases have one tangent plane, but each test starts from another one of them.
    fn missing(&self, parts: &[Part]) -> Result<Option<Trial>> {
        let temperature = self.isotherm.temperature();
        for part in parts {
            let fractions = normalized(&part.amounts);
            let test = stability(self.model, temperature, self.pressure, &fractions)?;
            let trial = test.trial.filter(|trial| trial.distance < UNSTABLE);
            if trial.is_some() {
                return Ok(trial);
            }
        }
        Ok(None)
    }

    fn equilibrium(&self, parts: Vec<Part>) -> Equilibrium {
        let mut phases: Vec<PhaseShare> = parts
            .into_iter()
            .map(|part| PhaseShare {
                fraction: part.total(),
                fractions: normalized(&part.amounts),
                molar_density: part.phase.molar_density,
            })
            .collect();
        phases.sort_by(|a, b| a.molar_density.total_cmp(&b.molar_density));
        Equilibrium {
            temperature: self.isotherm.temperature(),
            pressure: self.pressure,
            phases,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::eos::equilibrium::ln_coefficients;
    use crate::eos::equilibrium::samples::{binary, ternary};
    use proptest::prelude::*;

    /// Gibbs energy of mixing over RT, less what is linear in the composition, of one phase.
    fn energy(model: &dyn MixtureModel, temperature: f64, pressure: f64, x: &[f64]) -> f64 {
        let coefficients =
            ln_coefficients(model, temperature, pressure, x, Branch::Stable).unwrap();
        let pairs = x.iter().zip(&coefficients);
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
            let point = ln_coefficients(model, t, p, &phase.fractions, Branch::Stable).unwrap();
            let pairs = phase.fractions.iter().zip(point);
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
                    let here = ln_coefficients(&model, temperature, pressure, first, Branch::Stable).unwrap();
                    let there = energy(&model, temperature, pressure, &phase);
                    let plane: f64 = (0..3).map(|k| phase[k] * (first[k].ln() + here[k])).sum();
                    prop_assert!(there > plane - 1e-7, "{phase:?} {} {found:?}", there - plane);
                }
            }
        }
    }
}
