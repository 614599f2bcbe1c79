//! Whether a phase is stable: the distance of its tangent plane from the Gibbs energy of every other composition.
//!
//! Michelsen, Fluid Phase Equilib. 9, 1 (1982), doi 10.1016/0378-3812(82)85001-2: a phase of composition z is stable if
//! `tm(W) = 1 + sum W_i (ln W_i + ln phi_i(W) - ln z_i - ln phi_i(z) - 1)` is nowhere negative. Its minima are sought from
//! several starts by successive substitution and then by Newton's method in `2 W_i^(1/2)`. Each trial phase keeps to the
//! root of its density that it came from: one evaluation of the equation serves for the density, the fugacities and their
//! derivatives once the steps are small.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use nalgebra::{DMatrix, DVector};

use super::phase::{Phase, liquid_volume, near};
use super::{ln_ratios, normalized};
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::mixture::{Branch, MixtureIsotherm, MixtureModel};
use crate::error::Result;
use crate::num::Amounts;

/// Distance below zero, over RT, that rounding can feign.
const ROUNDING: f64 = 1e-11;
/// Distance below zero at which no lower minimum is asked for.
const CLEAR: f64 = -1e-4;
/// Steps of substitution before Newton's method takes over.
const SUBSTITUTIONS: u32 = 3;
/// Steps of a trial in all.
const STEPS: u32 = 60;
/// Cuts of a step of Newton's method at most.
const CUTS: u32 = 6;
/// Gradient at which a minimum is reached.
const FLAT: f64 = 1e-11;
/// Largest difference of the logarithms of amounts at which a trial phase counts as the phase tested itself: the share of
/// the smallest eigenvalue of its stability, by which the next minimum is away, and the bounds of the difference.
const SAME: f64 = 0.05;
const SAME_BOUNDS: (f64, f64) = (1e-5, 1e-2);
/// Largest difference of the logarithms of amounts and density at which a trial follows the way of an earlier one, in those at
/// which it counts as the phase tested: near a critical point the next minimum is closer than ways elsewhere are.
const FOLLOWING: f64 = 5.0;
/// Largest difference of the logarithm of the density at which a trial can be the phase tested.
const SAME_DENSITY: f64 = 0.05;
/// Largest difference of the logarithm of the density from a root at either end of the isotherm.
const AT_END: f64 = 1e-3;
/// Distance above the tangent plane at which a phase nearly coexists with the one tested, and shares of the way to it at which
/// a third is sought.
const COEXIST: f64 = 1e-2;
const BETWEEN: [f64; 2] = [0.25, 0.5];
/// Smallest eigenvalue of the stability below which phases are sought along the softest direction.
const SOFT: f64 = 0.1;
/// Share of the others in a nearly pure substance, and in one whose dense phase is sought where it is a gas alone.
const TRACE: f64 = 0.001;
const TENTH: f64 = 0.1;

/// The phase of which a trial found the tangent plane to lie above the Gibbs energy, or nearest to it.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let trial = stability(&model, 320.0, 20e5, &[0.5, 0.5])?.trial;
/// assert!(trial.is_some_and(|trial| trial.distance < 0.0));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// Amount fractions of the trial phase.
    pub fractions: Amounts,
    /// Its molar density in mol/m3.
    pub molar_density: f64,
    /// `tm` at the minimum, dimensionless; negative if the phase tested is not stable.
    pub distance: f64,
}

/// What the test of a phase found.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// assert_eq!(stability(&model, 320.0, 150e5, &[0.5, 0.5])?.ln_coefficients.len(), 2);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Stability {
    /// Molar density of the phase tested in mol/m3, that of the smaller Gibbs energy.
    pub molar_density: f64,
    /// Logarithms of its fugacity coefficients.
    pub ln_coefficients: Amounts,
    /// The lowest minimum other than the phase itself, where there is one; the first that lies clearly below zero.
    pub trial: Option<Trial>,
    /// How often the equation was evaluated for trial phases; their starts and steps are bounded.
    pub evaluations: u32,
    /// Trials that neither came to a minimum nor clearly below zero within their steps.
    pub unsettled: u32,
}

impl Stability {
    /// Whether no trial phase lowers the Gibbs energy.
    ///
    /// ```
    /// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// assert!(stability(&model, 320.0, 150e5, &[0.5, 0.5])?.is_stable());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn is_stable(&self) -> bool {
        self.trial
            .as_ref()
            .is_none_or(|trial| trial.distance > -ROUNDING)
    }
}

/// Tests a phase of given composition at a temperature in K and a pressure in Pa.
///
/// Where the substances are known to mix in all proportions there is nothing to search for.
///
/// Starts: where the phase is beyond its own limit of stability or near it, both ways along its softest direction; the ratios of
/// Wilson's equation both ways, an ideal gas, each substance nearly pure, every two in equal amounts and all in equal
/// amounts, each substance with a tenth of the others.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// // Between its dew and its bubble point a mixture parts.
/// assert!(!stability(&model, 320.0, 20e5, &[0.5, 0.5])?.is_stable());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn stability(
    model: &dyn MixtureModel,
    temperature: f64,
    pressure: f64,
    fractions: &[f64],
) -> Result<Stability> {
    let is_open = !model.mixes(temperature, pressure);
    tested(model, (temperature, pressure), fractions, is_open)
}

/// As [`stability`], for states of a search that has passed over what is known already: to learn it of each of them costs more.
pub(super) fn full_stability(
    model: &dyn MixtureModel,
    temperature: f64,
    pressure: f64,
    fractions: &[f64],
) -> Result<Stability> {
    tested(model, (temperature, pressure), fractions, true)
}

/// The test, with a search for a lower tangent plane or without.
fn tested(
    model: &dyn MixtureModel,
    (temperature, pressure): (f64, f64),
    fractions: &[f64],
    is_open: bool,
) -> Result<Stability> {
    let isotherm = model.at(temperature, fractions);
    let molar_density = isotherm.molar_density(pressure, Branch::Stable)?;
    let ln_coefficients = isotherm.ln_fugacity_coefficients(molar_density, pressure);
    let potentials: Amounts = fractions
        .iter()
        .zip(&ln_coefficients)
        .map(|(z, phi)| z.ln() + phi)
        .collect();
    let mut search = Search {
        model,
        isotherm,
        pressure,
        fractions,
        molar_density,
        potentials,
        minima: Vec::new(),
        same: SAME_BOUNDS.0,
        visited: Vec::new(),
        evaluations: 0,
        unsettled: 0,
    };
    let several = fractions.iter().filter(|z| **z > 0.0).count() > 1;
    if several && is_open {
        search.look_everywhere(molar_density);
    }
    let lowest = search
        .minima
        .into_iter()
        .min_by(|a, b| a.distance.total_cmp(&b.distance));
    Ok(Stability {
        molar_density,
        ln_coefficients,
        trial: lowest,
        evaluations: search.evaluations,
        unsettled: search.unsettled,
    })
}

/// The phase tested, and what trials have found.
struct Search<'a> {
    model: &'a dyn MixtureModel,
    /// Turned to the composition of each trial.
    isotherm: Box<dyn MixtureIsotherm + 'a>,
    pressure: f64,
    fractions: &'a [f64],
    /// Of the phase tested, in mol/m3.
    molar_density: f64,
    /// `ln z_i + ln phi_i(z)`.
    potentials: Amounts,
    minima: Vec<Trial>,
    /// Largest difference at which a trial has come to the phase tested.
    same: f64,
    /// Compositions and densities on the ways of earlier trials.
    visited: Vec<(Amounts, f64)>,
    evaluations: u32,
    unsettled: u32,
}

/// From where a trial starts.
struct Start {
    amounts: Amounts,
    molar_density: f64,
    /// The root of the density, where none is near that of the start.
    branch: Branch,
}

/// A trial phase with what the next step needs.
struct Point {
    amounts: Amounts,
    phase: Phase,
    /// `ln W_i + ln phi_i(W) - ln z_i - ln phi_i(z)`, zero for an absent substance.
    excess: Amounts,
    distance: f64,
}

impl Point {
    /// Largest entry of the gradient in `2 W_i^(1/2)`, over the root of the sum of the amounts where that is large.
    fn gradient(&self) -> f64 {
        let total: f64 = self.amounts.iter().sum();
        let pairs = self.amounts.iter().zip(&self.excess);
        let largest = pairs.fold(0.0, |size: f64, (w, e)| size.max((w.sqrt() * e).abs()));
        largest / total.sqrt().max(1.0)
    }
}

impl Search<'_> {
    fn look_everywhere(&mut self, molar_density: f64) {
        let (eigenvalue, direction) = self.isotherm.softest(molar_density);
        self.same = (SAME * eigenvalue).clamp(SAME_BOUNDS.0, SAME_BOUNDS.1);
        let mut starts = Vec::new();
        if eigenvalue < SOFT {
            starts.extend(self.apart(&direction, molar_density));
        }
        starts.extend(self.starts());
        for start in starts {
            if self.condemns(start) {
                return;
            }
        }
        for start in self.between() {
            if self.condemns(start) {
                return;
            }
        }
    }

    /// Adds the minimum that a start leads to; whether it is clearly below the tangent plane.
    fn condemns(&mut self, start: Start) -> bool {
        let Some(trial) = self.minimum(start) else {
            return false;
        };
        let is_clear = trial.distance < CLEAR;
        self.minima.push(trial);
        is_clear
    }

    /// Liquids on the way to phases that nearly coexist with the one tested: beside a line of three phases the third lies there.
    fn between(&self) -> Vec<Start> {
        let nearly = self.minima.iter().filter(|trial| trial.distance < COEXIST);
        let mixed = nearly.flat_map(|trial| {
            BETWEEN.map(|share| {
                let pairs = self.fractions.iter().zip(&trial.fractions);
                let amounts: Amounts = pairs.map(|(z, w)| z + share * (w - z)).collect();
                let volume = (1.0 - share) / self.molar_density + share / trial.molar_density;
                Start {
                    amounts,
                    molar_density: 1.0 / volume,
                    branch: Branch::Liquid,
                }
            })
        });
        mixed.collect()
    }

    /// Amounts from which minima are sought.
    fn starts(&self) -> Vec<Start> {
        let temperature = self.isotherm.temperature();
        let thin = self.pressure / (MOLAR_GAS_CONSTANT * temperature);
        let count = self.fractions.len();
        let volumes: Amounts = (0..count)
            .map(|i| liquid_volume(&self.model.critical_constants(i), temperature))
            .collect();
        let vapour = |amounts: Amounts| Start {
            amounts,
            molar_density: thin,
            branch: Branch::Vapour,
        };
        let liquid = |amounts: Amounts| {
            let volume: f64 = amounts.iter().zip(&volumes).map(|(x, v)| x * v).sum();
            Start {
                molar_density: amounts.iter().sum::<f64>() / volume,
                amounts,
                branch: Branch::Liquid,
            }
        };
        let ratios = ln_ratios(self.model, temperature, self.pressure);
        let scaled = |side: f64| -> Amounts {
            let pairs = self.fractions.iter().zip(&ratios);
            pairs.map(|(z, ratio)| z * (side * ratio).exp()).collect()
        };
        let ideal_gas = self.potentials.iter().map(|d| d.exp()).collect();
        let mut starts = vec![vapour(scaled(1.0)), liquid(scaled(-1.0)), vapour(ideal_gas)];
        starts.extend((0..count).map(|i| liquid(self.rich_in(i, i, TRACE))));
        let pairs = (0..count).flat_map(|i| (i + 1..count).map(move |j| (i, j)));
        starts.extend(pairs.map(|(i, j)| liquid(self.rich_in(i, j, TRACE))));
        if count > 2 {
            let present = self.fractions.iter().map(|z| f64::from(u8::from(*z > 0.0)));
            starts.push(liquid(present.collect()));
        }
        starts.extend((0..count).map(|i| liquid(self.rich_in(i, i, TENTH))));
        starts
    }

    /// One or two substances with a little of the others.
    fn rich_in(&self, first: usize, second: usize, little: f64) -> Amounts {
        let of = |(i, z): (usize, &f64)| match (*z == 0.0, i == first || i == second) {
            (true, _) => 0.0,
            (_, true) => 1.0,
            (_, false) => little,
        };
        self.fractions.iter().enumerate().map(of).collect()
    }

    /// Both ways, a short and a long one, along the direction in which the phase is softest: there it falls apart if it is
    /// not even stable against small changes, and there lies the next phase if it nearly is not.
    fn apart(&self, direction: &[f64], molar_density: f64) -> [Start; 4] {
        [0.1, -0.1, 0.5, -0.5].map(|side| {
            let pairs = self.fractions.iter().zip(direction);
            let amounts: Amounts = pairs
                .map(|(z, u)| (z + side * z.sqrt() * u).max(0.1 * z))
                .collect();
            Start {
                molar_density: molar_density * amounts.iter().sum::<f64>(),
                amounts,
                branch: Branch::Stable,
            }
        })
    }

    /// The trial phase of given amounts at the density next to a guess, else at the root of a branch; nothing where there is
    /// none.
    fn point(&mut self, amounts: Amounts, guess: f64, branch: Branch, size: f64) -> Option<Point> {
        let total: f64 = amounts.iter().sum();
        if !(total.is_finite() && total > 0.0) {
            return None;
        }
        self.isotherm.recompose(&normalized(&amounts));
        let phase = self.phase(guess, branch, size)?;
        let pairs = amounts.iter().zip(&phase.ln_coefficients);
        let excess: Amounts = pairs
            .zip(&self.potentials)
            .map(|((w, phi), potential)| {
                if *w > 0.0 {
                    w.ln() + phi - potential
                } else {
                    0.0
                }
            })
            .collect();
        let pairs = amounts.iter().zip(&excess);
        let sum: f64 = pairs.map(|(w, e)| w * (e - 1.0)).sum();
        sum.is_finite().then_some(Point {
            amounts,
            phase,
            excess,
            distance: 1.0 + sum,
        })
    }

    fn phase(&mut self, guess: f64, branch: Branch, size: f64) -> Option<Phase> {
        let (evaluations, found) = near(self.isotherm.as_ref(), self.pressure, guess, size);
        self.evaluations += evaluations;
        if found.is_some() {
            return found;
        }
        let root = self.isotherm.molar_density(self.pressure, branch).ok()?;
        let (evaluations, found) = near(self.isotherm.as_ref(), self.pressure, root, size);
        self.evaluations += evaluations;
        found
    }

    /// The minimum that a start leads to; nothing if it is the phase tested itself or a minimum already found.
    fn minimum(&mut self, start: Start) -> Option<Trial> {
        let Start {
            amounts,
            molar_density,
            branch,
        } = start;
        let mut point = self.point(normalized(&amounts), molar_density, branch, 1.0)?;
        let mut way = Vec::new();
        let mut reached = false;
        for step in 0..STEPS {
            if self.is_tested_phase(&point) || self.is_visited(&point) {
                self.visited.append(&mut way);
                return None;
            }
            way.push((normalized(&point.amounts), point.phase.molar_density));
            reached = point.gradient() < FLAT;
            if reached {
                break;
            }
            point = self.next(step, &point, branch)?;
        }
        self.visited.append(&mut way);
        self.unsettled += u32::from(!reached && point.distance > CLEAR);
        self.sure(point, branch)
    }

    /// Substitution at first and as long as it lowers the distance, which it fails to do where unlike substances attract each
    /// other much; then Newton's method.
    fn next(&mut self, step: u32, point: &Point, branch: Branch) -> Option<Point> {
        if step < SUBSTITUTIONS {
            let substituted = self.substituted(point, branch);
            if let Some(next) = substituted.filter(|next| next.distance < point.distance) {
                return Some(next);
            }
        }
        let lowered = self.newton(point, branch);
        lowered.or_else(|| self.substituted(point, branch))
    }

    /// Whether a trial has come to the phase tested: beside an azeotrope another one of nearly its composition has another
    /// density.
    fn is_tested_phase(&self, point: &Point) -> bool {
        let mut pairs = point.amounts.iter().zip(self.fractions);
        (point.phase.molar_density / self.molar_density).ln().abs() < SAME_DENSITY
            && pairs.all(|(w, z)| *z == 0.0 || (w / z).ln().abs() < self.same)
    }

    fn is_visited(&self, point: &Point) -> bool {
        let fractions = normalized(&point.amounts);
        let following = FOLLOWING * self.same;
        let near = |a: f64, b: f64| a == b || (a / b).ln().abs() < following;
        self.visited.iter().any(|(known, molar_density)| {
            let mut pairs = fractions.iter().zip(known);
            near(point.phase.molar_density, *molar_density) && pairs.all(|(x, y)| near(*x, *y))
        })
    }

    fn substituted(&mut self, point: &Point, branch: Branch) -> Option<Point> {
        let pairs = self.potentials.iter().zip(&point.phase.ln_coefficients);
        let amounts: Amounts = pairs.map(|(d, phi)| (d - phi).exp()).collect();
        let guess = point.phase.density_at(&amounts);
        self.point(amounts, guess, branch, point.gradient())
    }

    /// A step of Newton's method that lowers the distance; nothing if none does.
    fn newton(&mut self, point: &Point, branch: Branch) -> Option<Point> {
        let total: f64 = point.amounts.iter().sum();
        let count = point.amounts.len();
        let roots: Amounts = point.amounts.iter().map(|w| w.sqrt()).collect();
        let slopes = roots.iter().zip(&point.excess).map(|(root, e)| root * e);
        let gradient = DVector::from_iterator(count, slopes);
        let mut hessian = DMatrix::zeros(count, count);
        let unlike = roots.iter().flat_map(|r| roots.iter().map(move |s| r * s));
        let entries = unlike.zip(&point.phase.d_amounts);
        for (entry, (product, change)) in hessian.iter_mut().zip(entries) {
            *entry = product * change / total;
        }
        for (i, e) in point.excess.iter().enumerate() {
            hessian[(i, i)] += 1.0 + 0.5 * e;
        }
        let step = descent(hessian, &gradient)?;
        let mut share = 1.0;
        for _ in 0..CUTS {
            // The step is in 2 W^(1/2); an amount shrinks to a hundredth at most.
            let moved = roots.iter().zip(step.iter()).map(|(root, s)| {
                let root = (root + 0.5 * share * s).max(0.1 * root);
                root * root
            });
            let amounts: Amounts = moved.collect();
            let guess = point.phase.density_at(&amounts);
            let found = self.point(amounts, guess, branch, point.gradient());
            let lower = |next: &Point| next.distance <= point.distance + f64::EPSILON;
            if let Some(next) = found.filter(lower) {
                return Some(next);
            }
            share *= 0.5;
        }
        None
    }

    /// The trial reached. One that condemns the phase must lie on a root of the density at either end: between them an
    /// equation may have others that are no states of a fluid.
    fn sure(&mut self, point: Point, branch: Branch) -> Option<Trial> {
        let mut point = point;
        if point.distance < -ROUNDING {
            self.isotherm.recompose(&normalized(&point.amounts));
            let ends = self.isotherm.densities(self.pressure).ok()?;
            let is_end = |end: f64| (point.phase.molar_density / end).ln().abs() < AT_END;
            if !is_end(ends.vapour) && !is_end(ends.liquid) {
                let root = self.isotherm.molar_density(self.pressure, Branch::Stable);
                point = self.point(point.amounts, root.ok()?, branch, 0.0)?;
            }
        }
        Some(Trial {
            fractions: normalized(&point.amounts),
            molar_density: point.phase.molar_density,
            distance: point.distance,
        })
    }
}

/// The step `-H^-1 g`, with the absolute values of the eigenvalues of H where it is not positive definite, so that the step
/// always leads downhill.
pub(super) fn descent(hessian: DMatrix<f64>, gradient: &DVector<f64>) -> Option<DVector<f64>> {
    if let Some(factors) = hessian.clone().cholesky() {
        return Some(-factors.solve(gradient));
    }
    let eigen = hessian.try_symmetric_eigen(f64::EPSILON, 1000)?;
    let floor = 1e-10 * eigen.eigenvalues.amax();
    let scaled = eigen.eigenvectors.tr_mul(gradient);
    let scaled = scaled.zip_map(&eigen.eigenvalues, |g, value| -g / value.abs().max(floor));
    let step = eigen.eigenvectors * scaled;
    step.iter().all(|s| s.is_finite()).then_some(step)
}
