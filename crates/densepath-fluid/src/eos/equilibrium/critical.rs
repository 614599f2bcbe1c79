//! Critical points of a mixture of given composition.
//!
//! At a critical point the phase has lost its stiffness in one direction of the amounts, and along it the Gibbs energy has
//! no third-order term either: the smallest eigenvalue of `Q_ij = delta_ij + (x_i x_j)^(1/2) rho psi_ij` is zero, and so is
//! `C = rho^2 sum psi_ijk v_i v_j v_k - sum u_i^3 / x_i^(1/2)` with its unit vector u and `v_i = x_i^(1/2) u_i`
//! (Heidemann and Khalil, AIChE J. 26, 769 (1980), doi 10.1002/aic.690260510). For every density of a scan the temperatures
//! with the first condition are bracketed; where C changes sign between densities both conditions are solved. The same is done
//! over compositions at a density that is a share of the highest. Two substances by a cubic equation have a search of their own,
//! [`super::pair_points`].

use nalgebra::{Matrix2, Vector2};

use super::pair_points::{Row, pair_points};
use super::stability::stability;
use crate::eos::mixture::{MixtureIsotherm, MixtureModel};
use crate::error::Result;
use crate::num::Amounts;
use crate::num::root::{Tolerance, bracketed, secant_with_slope};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// A state at which two phases of a mixture become one.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let point = critical_points(&model, &[0.5, 0.5], (250.0, 450.0))?[0];
/// assert!(point.is_stable && (model.at(point.temperature, &[0.5, 0.5]).pressure(point.molar_density) / point.pressure - 1.0).abs() < 1e-6);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MixtureCriticalPoint {
    /// Temperature in K.
    pub temperature: f64,
    /// Pressure in Pa.
    pub pressure: f64,
    /// Molar density in mol/m3.
    pub molar_density: f64,
    /// Whether no other phase is more stable there.
    pub is_stable: bool,
}

/// Densities of the scan, and the first and last of them over the highest density of the equation.
const DENSITIES: u32 = 72;
const PACKING: (f64, f64) = (0.05, 0.95);
/// Distances from the density at which the equation is sharp, relative to it, of more densities of the scan: of three critical points
/// that lie there within a step of it a search would find one.
const BESIDE_SHARP: [f64; 6] = [0.002, 0.004, 0.008, 0.016, 0.032, 0.06];
/// Compositions of a scan at given packing, and the first of them.
const FRACTIONS: u32 = 50;
const FRACTIONS_FROM: f64 = 0.01;
/// Temperatures of the scan at each density.
const TEMPERATURES: u32 = 40;
/// Parts of a step within which C may vanish twice.
const PARTS: u32 = 6;
/// Largest step in ln T by which one limit of stability is followed from one density to the next.
const FOLLOWED: f64 = 0.08;

/// Places from one at which limits are sought at all levels to the next.
const BLOCK: usize = 3;
/// Step of ln T below which a limit that only brackets critical points is known.
const SETTLED: f64 = 1e-8;
/// Steps of Newton's method in both conditions, the share of their steps by which slopes are taken, and the part of both
/// conditions at which they vanish.
const STEPS: u32 = 12;
const DIFFERENCE: f64 = 1e-6;
const VANISHES: f64 = 1e-11;

/// Tolerance of the limits that only bracket critical points.
const ROUGH: Tolerance = Tolerance {
    relative: 1e-9,
    iterations: 200,
};

/// The limit of stability at a density: where the smallest eigenvalue is zero.
#[derive(Debug, Clone)]
struct Limit {
    ln_temperature: f64,
    direction: Amounts,
    cubic: f64,
    /// How the smallest eigenvalue rises with ln T there; zero where that is not known.
    rise: f64,
}

/// A level of the temperature: ln T and the isotherm.
type Level<'a> = (f64, Box<dyn MixtureIsotherm + 'a>);

/// Every critical point of a mixture of given amount fractions between two temperatures in K, by falling temperature.
///
/// Points at negative pressure, which an equation may have, are no states of a fluid and left out.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let point = critical_points(&model, &[0.5, 0.5], (250.0, 450.0))?[0];
/// // Between the critical temperatures of both, above the critical pressures of both.
/// assert!(point.temperature > 304.0 && point.temperature < 425.0 && point.pressure > 73.8e5);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn critical_points(
    model: &dyn MixtureModel,
    fractions: &[f64],
    temperatures: (f64, f64),
) -> Result<Vec<MixtureCriticalPoint>> {
    critical_points_of(model, fractions, temperatures, true)
}

/// The same with the test of their stability or without: then each counts as not stable.
pub(super) fn critical_points_of(
    model: &dyn MixtureModel,
    fractions: &[f64],
    temperatures: (f64, f64),
    is_tested: bool,
) -> Result<Vec<MixtureCriticalPoint>> {
    if let (Some(pair), [_, x]) = (model.pair_conditions(), fractions) {
        let row = Row {
            from: [PACKING.0, *x],
            to: [PACKING.1, *x],
        };
        let found = pair_points(&pair, row, temperatures, is_tested);
        return Ok(sorted(found.into_iter().map(|(_, point)| point).collect()));
    }
    let highest = model.at(temperatures.1, fractions).molar_density_max();
    let at = |share: f64| Place {
        fractions: Amounts::from_slice(fractions),
        molar_density: highest * (PACKING.0 + (PACKING.1 - PACKING.0) * share),
    };
    let search = Search {
        is_tested,
        ..Search::new(model, &at, temperatures)
    };
    let sharp = model.sharp_density(fractions);
    let sharp = sharp.map(|density| (density / highest - PACKING.0) / (PACKING.1 - PACKING.0));
    let found = search.along(&refined(even(DENSITIES), sharp))?;
    Ok(sorted(found.into_iter().map(|(_, point)| point).collect()))
}

/// Shares from 0 to 1 in even steps.
fn even(steps: u32) -> Vec<f64> {
    let share = |step| f64::from(step) / f64::from(steps);
    (0..=steps).map(share).collect()
}

/// The shares with those beside a share at which the equation is sharp.
fn refined(mut shares: Vec<f64>, sharp: Option<f64>) -> Vec<f64> {
    let Some(sharp) = sharp else {
        return shares;
    };
    // The packing at which a row begins makes distances relative to the density longer than those relative to the share.
    let unit = sharp + PACKING.0 / (PACKING.1 - PACKING.0);
    let both = BESIDE_SHARP
        .iter()
        .flat_map(|distance| [*distance, -distance]);
    let more = both.map(|distance| sharp + unit * distance);
    shares.extend(more.filter(|share| (0.0..=1.0).contains(share)));
    shares.sort_by(f64::total_cmp);
    shares
}

/// By falling temperature, each once.
fn sorted(mut points: Vec<MixtureCriticalPoint>) -> Vec<MixtureCriticalPoint> {
    points.sort_by(|a, b| b.temperature.total_cmp(&a.temperature));
    points.dedup_by(|a, b| {
        let same = |x: f64, y: f64| (x / y - 1.0).abs() < 1e-7;
        same(a.temperature, b.temperature) && same(a.molar_density, b.molar_density)
    });
    points
}

/// The critical points of a mixture of given amount fractions between two temperatures in K and two molar densities in mol/m3,
/// where there may be several close together; not tested for stability.
pub(super) fn critical_points_at_densities(
    model: &dyn MixtureModel,
    fractions: &[f64],
    temperatures: (f64, f64),
    (low, high): (f64, f64),
) -> Result<Vec<MixtureCriticalPoint>> {
    let at = |share: f64| Place {
        fractions: Amounts::from_slice(fractions),
        molar_density: low + (high - low) * share,
    };
    let found = Search::new(model, &at, temperatures).along(&even(DENSITIES))?;
    Ok(found.into_iter().map(|(_, point)| point).collect())
}

/// The critical points of two substances, each with the amount fraction of the second, at a share of the highest density of the
/// equation, between two temperatures in K: a line of two liquids crosses it however little its composition changes. They are not
/// tested for stability.
pub(super) fn critical_points_at_packing(
    model: &dyn MixtureModel,
    packing: f64,
    temperatures: (f64, f64),
) -> Result<Vec<(f64, MixtureCriticalPoint)>> {
    if let Some(pair) = model.pair_conditions() {
        let row = Row {
            from: [packing, FRACTIONS_FROM],
            to: [packing, 1.0 - FRACTIONS_FROM],
        };
        return Ok(pair_points(&pair, row, temperatures, false));
    }
    let at = |share: f64| {
        let fraction = FRACTIONS_FROM + (1.0 - 2.0 * FRACTIONS_FROM) * share;
        let fractions = Amounts::from_slice(&[1.0 - fraction, fraction]);
        let highest = model.at(temperatures.1, &fractions).molar_density_max();
        Place {
            molar_density: packing * highest,
            fractions,
        }
    };
    let found = Search::new(model, &at, temperatures).along(&even(FRACTIONS))?;
    let second = |fractions: &Amounts| fractions.last().copied().unwrap_or(f64::NAN);
    Ok(found
        .into_iter()
        .map(|(fractions, point)| (second(&fractions), point))
        .collect())
}

fn nearest(limits: &[Limit], ln_temperature: f64) -> Option<&Limit> {
    let distance = |limit: &Limit| (limit.ln_temperature - ln_temperature).abs();
    let found = limits
        .iter()
        .min_by(|a, b| distance(a).total_cmp(&distance(b)));
    found.filter(|limit| distance(limit) < FOLLOWED)
}

/// Whether C changes sign from one limit of stability to the next along the same one.
fn changes_sign(last: &Limit, next: &Limit) -> bool {
    let cubic = next.cubic * alignment(&next.direction, &last.direction);
    (cubic < 0.0) != (last.cubic < 0.0)
}

/// Whether C comes nearer to zero at the second of three limits than at the first and the third, with one sign.
fn dips(first: &Limit, second: &Limit, third: &Limit) -> bool {
    !changes_sign(first, second)
        && second.cubic.abs() <= first.cubic.abs()
        && second.cubic.abs() <= third.cubic.abs()
}

/// 1 or -1: whether two directions, each known but for its sign, point to one side.
fn alignment(a: &[f64], b: &[f64]) -> f64 {
    let product: f64 = a.iter().zip(b).map(|(a, b)| a * b).sum();
    if product < 0.0 { -1.0 } else { 1.0 }
}

/// The smallest eigenvalue with its direction, and `C` along it, at a temperature in K and a molar density in mol/m3.
pub(super) fn conditions(
    model: &dyn MixtureModel,
    temperature: f64,
    fractions: &[f64],
    molar_density: f64,
) -> (f64, f64, Amounts) {
    let isotherm = model.at(temperature, fractions);
    let (eigenvalue, direction) = isotherm.softest(molar_density);
    let pairs = || fractions.iter().zip(&direction);
    let change: Amounts = pairs().map(|(x, u)| x.sqrt() * u).collect();
    let ideal: f64 = pairs()
        .filter(|(x, _)| **x > 0.0)
        .map(|(x, u)| u * u * u / x.sqrt())
        .sum();
    let residual = isotherm.third_derivative(molar_density, &change);
    let cubic = molar_density * molar_density * residual - ideal;
    (eigenvalue, cubic, direction)
}

/// A composition with a molar density in mol/m3.
struct Place {
    fractions: Amounts,
    molar_density: f64,
}

/// The search for critical points along a row of places, which a share from 0 to 1 tells.
struct Search<'a> {
    model: &'a dyn MixtureModel,
    at: &'a dyn Fn(f64) -> Place,
    /// Whether the points found are tested for stability.
    is_tested: bool,
    /// Logarithms of the bounds of the temperature.
    low: f64,
    high: f64,
}

impl<'a> Search<'a> {
    fn new(
        model: &'a dyn MixtureModel,
        at: &'a dyn Fn(f64) -> Place,
        temperatures: (f64, f64),
    ) -> Self {
        Self {
            model,
            at,
            is_tested: false,
            low: temperatures.0.ln(),
            high: temperatures.1.ln(),
        }
    }

    /// The critical points along the row of places at rising shares, each with its composition.
    fn along(&self, shares: &[f64]) -> Result<Vec<(Amounts, MixtureCriticalPoint)>> {
        let places: Vec<Place> = shares.iter().map(|share| (self.at)(*share)).collect();
        let mut found = Vec::new();
        let mut rows: [Vec<Limit>; 2] = [Vec::new(), Vec::new()];
        let mut passed = [f64::NAN; 2];
        for (share, here) in shares.iter().zip(self.limits(&places)?) {
            let [first, before] = &rows;
            let [begin, last_share] = passed;
            for limit in &here {
                let Some(last) = nearest(before, limit.ln_temperature) else {
                    continue;
                };
                let ends = (last_share, *share);
                if changes_sign(last, limit) {
                    found.extend(self.between(ends, (last, limit))?);
                } else if let Some(first) = nearest(first, last.ln_temperature)
                    && dips(first, last, limit)
                {
                    found.extend(self.twice((begin, ends.0), (first, last))?);
                    found.extend(self.twice(ends, (last, limit))?);
                }
            }
            let [_, before] = rows;
            rows = [before, here];
            passed = [last_share, *share];
        }
        Ok(found)
    }

    /// The critical points between two places with one sign of C, where it may vanish twice: those of a fluid that is nearly
    /// one substance and those within its dome lie close.
    fn twice(
        &self,
        shares: (f64, f64),
        limits: (&Limit, &Limit),
    ) -> Result<Vec<(Amounts, MixtureCriticalPoint)>> {
        let (begin, width) = (shares.0, shares.1 - shares.0);
        let mut found = Vec::new();
        let mut last = (begin, limits.0.clone());
        for part in 1..=PARTS {
            let share = begin + width * f64::from(part) / f64::from(PARTS);
            let Some((_, limit)) = self.follow(share, shares, limits) else {
                continue;
            };
            if changes_sign(&last.1, &limit) {
                found.extend(self.between((last.0, share), (&last.1, &limit))?);
            }
            last = (share, limit);
        }
        Ok(found)
    }

    /// The limit of stability at a place between two of its places.
    fn follow(
        &self,
        share: f64,
        shares: (f64, f64),
        (first, last): (&Limit, &Limit),
    ) -> Option<(Place, Limit)> {
        let place = (self.at)(share);
        let part = (share - shares.0) / (shares.1 - shares.0);
        let middle = first.ln_temperature + part * (last.ln_temperature - first.ln_temperature);
        let mut width = 0.25 * (last.ln_temperature - first.ln_temperature).abs() + 1e-4;
        while width < FOLLOWED {
            let (low, high) = (middle - width, middle + width);
            let ends = [low, high].map(|t| self.eigenvalue(t, &place) < 0.0);
            if ends[0] != ends[1] {
                let exact = Tolerance::default();
                let root = self.root((low, high), &place, exact).ok()?;
                let limit = self.limit(root, &place);
                return Some((place, limit));
            }
            width *= 2.0;
        }
        None
    }

    fn eigenvalue(&self, ln_temperature: f64, place: &Place) -> f64 {
        let isotherm = self.model.at(ln_temperature.exp(), &place.fractions);
        isotherm.softest(place.molar_density).0
    }

    fn limit(&self, ln_temperature: f64, place: &Place) -> Limit {
        let temperature = ln_temperature.exp();
        let (_, cubic, direction) = conditions(
            self.model,
            temperature,
            &place.fractions,
            place.molar_density,
        );
        Limit {
            ln_temperature,
            direction,
            cubic,
            rise: 0.0,
        }
    }

    /// All limits of stability at each of some places, roughly: at all levels of the temperature for one place in a few, and followed
    /// to those between where they are as many at both ends.
    fn limits(&self, places: &[Place]) -> Result<Vec<Vec<Limit>>> {
        let Some((first, others)) = places.split_first() else {
            return Ok(Vec::new());
        };
        let mut levels: Vec<Level> = (0..=TEMPERATURES)
            .map(|step| {
                let ln_temperature =
                    self.low + (self.high - self.low) * f64::from(step) / f64::from(TEMPERATURES);
                let isotherm = self.model.at(ln_temperature.exp(), &first.fractions);
                (ln_temperature, isotherm)
            })
            .collect();
        let mut rows = vec![self.limits_at(first, &mut levels)?];
        for block in others.chunks(BLOCK) {
            let Some((last, between)) = block.split_last() else {
                continue;
            };
            let end = self.limits_at(last, &mut levels)?;
            match self.followed(&rows, between, &end) {
                Some(followed) => rows.extend(followed),
                None => {
                    for place in between {
                        rows.push(self.limits_at(place, &mut levels)?);
                    }
                }
            }
            rows.push(end);
        }
        Ok(rows)
    }

    /// The limits of stability at places after some, by following each; nothing where they are not those that lead to an end.
    fn followed(
        &self,
        rows: &[Vec<Limit>],
        places: &[Place],
        end: &[Limit],
    ) -> Option<Vec<Vec<Limit>>> {
        let mut last = rows.last()?.clone();
        let mut earlier = rows
            .len()
            .checked_sub(2)
            .and_then(|k| rows.get(k))
            .cloned()
            .unwrap_or_default();
        let mut found = Vec::new();
        for place in places {
            let next = last.iter().map(|limit| {
                let behind = nearest(&earlier, limit.ln_temperature).unwrap_or(limit);
                let guess = 2.0 * limit.ln_temperature - behind.ln_temperature;
                let bounds = (guess - FOLLOWED, guess + FOLLOWED);
                let start = if limit.rise == 0.0 { 1.0 } else { limit.rise };
                let (root, rise) = secant_with_slope((guess, start), bounds, SETTLED, |t| {
                    Some(self.eigenvalue(t, place))
                })?;
                Some(Limit {
                    rise,
                    ..self.limit(root, place)
                })
            });
            let next: Vec<Limit> = next.collect::<Option<_>>()?;
            let is_apart = |pair: &[Limit]| matches!(pair, [a, b] if b.ln_temperature > a.ln_temperature + SETTLED);
            if !next.windows(2).all(is_apart) {
                return None;
            }
            earlier = core::mem::replace(&mut last, next.clone());
            found.push(next);
        }
        let leads =
            |(a, b): (&Limit, &Limit)| (a.ln_temperature - b.ln_temperature).abs() < FOLLOWED;
        (last.len() == end.len() && last.iter().zip(end).all(leads)).then_some(found)
    }

    /// All limits of stability at a place by rising temperature.
    fn limits_at(&self, place: &Place, levels: &mut [Level<'_>]) -> Result<Vec<Limit>> {
        let softest = levels.iter_mut().map(|(ln_temperature, isotherm)| {
            if isotherm.amount_fractions() != place.fractions.as_slice() {
                isotherm.recompose(&place.fractions);
            }
            (*ln_temperature, isotherm.softest(place.molar_density).0)
        });
        let softest: Vec<(f64, f64)> = softest.collect();
        let mut limits = Vec::new();
        for (k, pair) in softest.windows(2).enumerate() {
            let [low, high] = [0, 1].map(|i| pair.get(i).copied().unwrap_or_default());
            let next = softest.get(k + 2).unwrap_or(&high);
            if (low.1 < 0.0) != (high.1 < 0.0) {
                limits.push(self.limit_between(low, high, place)?);
            } else if high.1 > 0.0 && high.1 <= low.1 && high.1 < next.1 {
                for root in self.between_levels((low.0, next.0), place)? {
                    limits.push(self.limit(root, place));
                }
            }
        }
        Ok(limits)
    }

    /// The limit of stability between two levels with the smallest eigenvalue at each.
    fn limit_between(&self, low: (f64, f64), high: (f64, f64), place: &Place) -> Result<Limit> {
        let rise = (high.1 - low.1) / (high.0 - low.0);
        let start = (low.0 - low.1 / rise, rise);
        let found = secant_with_slope(start, (low.0, high.0), SETTLED, |t| {
            Some(self.eigenvalue(t, place))
        });
        let (root, rise) = match found {
            Some(found) => found,
            None => (self.root((low.0, high.0), place, ROUGH)?, 0.0),
        };
        Ok(Limit {
            rise,
            ..self.limit(root, place)
        })
    }

    /// The limits of stability at a place that is stable at both of two temperatures, where it is not between them: a fluid
    /// that is nearly one substance may be so in a narrow band of temperatures only.
    fn between_levels(&self, (low, high): (f64, f64), place: &Place) -> Result<Vec<f64>> {
        let parts =
            (1..2 * PARTS).map(|k| low + (high - low) * f64::from(k) / f64::from(2 * PARTS));
        let Some(unstable) = parts.into_iter().find(|t| self.eigenvalue(*t, place) < 0.0) else {
            return Ok(Vec::new());
        };
        let roots = [(low, unstable), (unstable, high)].map(|ends| self.root(ends, place, ROUGH));
        roots.into_iter().collect()
    }

    fn root(&self, (low, high): (f64, f64), place: &Place, tolerance: Tolerance) -> Result<f64> {
        bracketed(
            "limit of stability",
            low,
            high,
            tolerance,
            |ln_temperature| Ok(self.eigenvalue(ln_temperature, place)),
        )
    }

    /// The critical point between two places, along one limit of stability; nothing if C jumps there instead of vanishing, or
    /// at a negative pressure.
    fn between(
        &self,
        shares: (f64, f64),
        limits: (&Limit, &Limit),
    ) -> Result<Option<(Amounts, MixtureCriticalPoint)>> {
        if let Some((place, ln_temperature)) = self.solved(shares, limits) {
            let point = self.point(ln_temperature.exp(), &place)?;
            return Ok(point.map(|point| (place.fractions, point)));
        }
        let (first, last) = limits;
        let follow = |share: f64| self.follow(share, shares, limits);
        let cubic = |share: f64| {
            Ok(follow(share).map_or(f64::NAN, |(_, limit)| {
                limit.cubic * alignment(&limit.direction, &first.direction)
            }))
        };
        let Ok(share) = bracketed(
            "critical point",
            shares.0,
            shares.1,
            Tolerance::default(),
            cubic,
        ) else {
            return Ok(None);
        };
        let Some((place, limit)) = follow(share) else {
            return Ok(None);
        };
        let size = first.cubic.abs() + last.cubic.abs();
        if limit.cubic.abs() > 1e-6 * size {
            return Ok(None);
        }
        let point = self.point(limit.ln_temperature.exp(), &place)?;
        Ok(point.map(|point| (place.fractions, point)))
    }

    /// Both conditions solved for the share and ln T between two places, by the method of Broyden (Math. Comput. 19, 577 (1965),
    /// from memory); nothing where it leaves them or does not settle.
    fn solved(&self, shares: (f64, f64), (first, last): (&Limit, &Limit)) -> Option<(Place, f64)> {
        let width = shares.1 - shares.0;
        let end = last.cubic * alignment(&last.direction, &first.direction);
        let size = first.cubic.abs() + end.abs();
        // The unknowns are ln T and the part of the way from one place to the other.
        let residual = |unknowns: &Vector2<f64>| {
            let place = (self.at)(shares.0 + width * unknowns.y);
            let (eigenvalue, cubic, direction) = conditions(
                self.model,
                unknowns.x.exp(),
                &place.fractions,
                place.molar_density,
            );
            Vector2::new(
                eigenvalue,
                cubic * alignment(&direction, &first.direction) / size,
            )
        };
        let part = first.cubic / (first.cubic - end);
        let between =
            |part: f64| first.ln_temperature + part * (last.ln_temperature - first.ln_temperature);
        let mut unknowns = Vector2::new(between(part), part);
        let mut found = residual(&unknowns);
        let column = |step: Vector2<f64>| (residual(&(unknowns + step)) - found) / DIFFERENCE;
        let mut slopes = Matrix2::from_columns(&[
            column(Vector2::new(DIFFERENCE, 0.0)),
            column(Vector2::new(0.0, DIFFERENCE)),
        ]);
        for _ in 0..STEPS {
            if found.amax() < VANISHES {
                return Some(((self.at)(shares.0 + width * unknowns.y), unknowns.x));
            }
            let step = -(slopes.try_inverse()? * found);
            unknowns += step;
            let is_near = (unknowns.x - between(unknowns.y)).abs() < FOLLOWED;
            if !is_near || !(0.0..=1.0).contains(&unknowns.y) {
                return None;
            }
            found = residual(&unknowns);
            slopes += found * step.transpose() / step.norm_squared();
        }
        None
    }

    fn point(&self, temperature: f64, place: &Place) -> Result<Option<MixtureCriticalPoint>> {
        let Place {
            fractions,
            molar_density,
        } = place;
        let isotherm = self.model.at(temperature, fractions);
        let pressure = isotherm.pressure(*molar_density);
        if pressure <= 0.0 {
            return Ok(None);
        }
        Ok(Some(MixtureCriticalPoint {
            temperature,
            pressure,
            molar_density: *molar_density,
            is_stable: self.is_tested
                && is_stable(self.model, temperature, pressure, fractions, *molar_density)?,
        }))
    }
}

/// Whether the critical phase is the stable one at its temperature and pressure.
pub(super) fn is_stable(
    model: &dyn MixtureModel,
    temperature: f64,
    pressure: f64,
    fractions: &[f64],
    molar_density: f64,
) -> Result<bool> {
    let test = stability(model, temperature, pressure, fractions)?;
    // The isotherm is flat here, so that the density of a pressure is known to a third or a half of the digits only.
    Ok((test.molar_density / molar_density - 1.0).abs() < 1e-3 && test.is_stable())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::eos::equilibrium::samples::{binary, ternary};
    use proptest::prelude::*;

    fn both_conditions_hold(model: &dyn MixtureModel, z: &[f64], found: &[MixtureCriticalPoint]) {
        for point in found {
            let (eigenvalue, cubic, _) =
                conditions(model, point.temperature, z, point.molar_density);
            assert!(eigenvalue.abs() < 1e-9, "{eigenvalue} {point:?}");
            // C grows along the limit of stability much faster than by its own size.
            assert!(cubic.abs() < 1e-6, "{cubic} {point:?}");
            assert!(point.pressure > 0.0);
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(30))]

        #[test]
        fn both_conditions_hold_for_two_substances(model in binary(), z in 0.001..0.999f64) {
            let z = [1.0 - z, z];
            let found = critical_points(&model, &z, (150.0, 1200.0)).unwrap();
            both_conditions_hold(&model, &z, &found);
        }

        #[test]
        fn both_conditions_hold_for_three_substances(
            model in ternary(), a in 0.01..0.99f64, b in 0.01..0.99f64
        ) {
            let z = [a * b, a * (1.0 - b), 1.0 - a];
            let found = critical_points(&model, &z, (150.0, 1200.0)).unwrap();
            both_conditions_hold(&model, &z, &found);
        }
    }
}
