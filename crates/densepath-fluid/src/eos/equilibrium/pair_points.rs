//! Critical points of two substances by a cubic equation, whose conditions have a closed form.
//!
//! At every place of a row, of densities or of compositions, the temperatures at which the smallest eigenvalue of the stability is
//! zero are found from levels of the temperature, with its slope for what lies between them. Where C changes sign from one
//! place to the next along one limit of stability, or comes near to zero within, both conditions are solved together.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use smallvec::SmallVec;

use super::critical::MixtureCriticalPoint;
use super::pair_stability::TangentPlane;
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::cubic::conditions::{Composed, Conditions, Isobar, PairConditions, Pairs};
use crate::num::root::{Tolerance, bracketed};
use crate::num::slopes::Slopes;

/// Places of a row.
const PLACES: u32 = 24;
/// Levels of the temperature.
const LEVELS: usize = 12;
/// How far beyond the bounds of ln T limits are followed, so that critical points just within them lie between two.
const BEYOND: f64 = 0.15;
/// Halvings of a step between levels in which the smallest eigenvalue turns.
const TURNS: u32 = 6;
/// Largest step in ln T by which one limit of stability is followed from one place to the next.
const FOLLOWED: f64 = 0.5;
/// How often a place is put where C comes near to zero without changing its sign.
const DIPS: u32 = 4;
/// Precision of ln T at limits that only bracket critical points, and steps of Newton's method in all.
const ROUGH: f64 = 1e-5;
const STEPS: u32 = 40;
/// How far beyond the limits that bracket it, which are rough, a critical point may lie, as a share of their distance.
const MARGIN: f64 = 0.01;
/// Step below which the next one of Newton's method is lost in rounding.
const SETTLED: f64 = 1e-8;

/// The critical points in a row between two temperatures in K, each with the amount fraction of the second substance; with the test
/// of their stability or without.
pub(super) fn pair_points(
    pair: &PairConditions,
    row: Row,
    temperatures: (f64, f64),
    is_tested: bool,
) -> Vec<(f64, MixtureCriticalPoint)> {
    let bounds = temperatures.0.ln()..=temperatures.1.ln();
    let found = RowSearch::new(pair, row, temperatures).points().into_iter();
    let within = found.filter(|[ln_temperature, ..]| bounds.contains(ln_temperature));
    let points = within.map(|found| (found[2], pair_point(pair, found, is_tested)));
    points.filter(|(_, point)| point.pressure > 0.0).collect()
}

/// The critical point of a place, tested for stability or without.
pub(super) fn pair_point(
    pair: &PairConditions,
    [ln_temperature, ln_density, fraction]: Found,
    is_tested: bool,
) -> MixtureCriticalPoint {
    let constant = Slopes::<0>::constant;
    let (density, x) = (ln_density.exp(), constant(fraction));
    let place = Composed::new(pair, constant(density), x);
    let (scaled, ln_coefficients) = place.phase(pair.attractions(constant(ln_temperature)));
    let temperature = ln_temperature.exp();
    let pressure = scaled * MOLAR_GAS_CONSTANT * temperature;
    let is_stable = is_tested && pressure > 0.0 && {
        let plane = TangentPlane {
            isobar: Isobar::new(pair, ln_temperature, pressure),
            fractions: [1.0 - fraction, fraction],
            ln_coefficients,
        };
        plane.is_lowest()
    };
    MixtureCriticalPoint {
        temperature,
        pressure,
        molar_density: density / (1.0 - density * pair.translation(x).value),
        is_stable,
    }
}

/// A critical point: ln T, ln of the density without translation in mol/m3, fraction of the second substance.
pub(super) type Found = [f64; 3];

/// The covolume filled, `b/V` in a volume without translation, and the amount fraction of the second substance.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row {
    pub(super) from: [f64; 2],
    pub(super) to: [f64; 2],
}

impl Row {
    fn place(&self, share: f64) -> [f64; 2] {
        [0, 1].map(|k| self.from[k] + share * (self.to[k] - self.from[k]))
    }
}

/// A limit of stability at a place: where the smallest eigenvalue is zero.
#[derive(Debug, Clone, Copy)]
struct Limit {
    share: f64,
    ln_temperature: f64,
    /// How ln T rose along the row.
    rise: f64,
    /// C, scaled so that it stays finite as the covolume is filled.
    cubic: f64,
    direction: [f64; 2],
}

type Limits = SmallVec<[Limit; 2]>;

/// The search along a row.
struct RowSearch<'a> {
    pair: &'a PairConditions,
    row: Row,
    /// ln T of the levels, and `a_ij/(RT)` there.
    levels: [f64; LEVELS],
    attractions: [Pairs<f64>; LEVELS],
}

impl<'a> RowSearch<'a> {
    /// Along a row between two temperatures in K.
    fn new(pair: &'a PairConditions, row: Row, temperatures: (f64, f64)) -> Self {
        let (low, high) = (temperatures.0.ln() - BEYOND, temperatures.1.ln() + BEYOND);
        let part = (high - low) / (LEVELS - 1) as f64;
        let (mut levels, mut attractions) = ([low; LEVELS], [[0.0; 3]; LEVELS]);
        for (k, (level, a)) in levels.iter_mut().zip(&mut attractions).enumerate() {
            *level += part * k as f64;
            *a = values_of(pair.attractions(Slopes::<0>::constant(*level)));
        }
        Self {
            pair,
            row,
            levels,
            attractions,
        }
    }

    /// The critical points of the row.
    fn points(&self) -> Vec<Found> {
        let mut found = Vec::new();
        let mut rows: [Limits; 2] = Default::default();
        for step in 0..=PLACES {
            let [first, before] = &rows;
            let here = self.limits(f64::from(step) / f64::from(PLACES), before);
            for limit in &here {
                let Some(last) = nearest(before, limit.ln_temperature) else {
                    continue;
                };
                if changes_sign(last, limit) {
                    found.extend(self.between(last, limit));
                } else if let Some(first) = nearest(first, last.ln_temperature) {
                    self.dip([*first, *last, *limit], &mut found);
                }
            }
            let [_, before] = rows;
            rows = [before, here];
        }
        found
    }

    fn composed<const N: usize>(&self, filled: Slopes<N>, fraction: Slopes<N>) -> Composed<N> {
        let density = filled / self.pair.covolume(fraction);
        Composed::new(self.pair, density, fraction)
    }

    /// All limits of stability at a place; those at a place before tell where they may lie.
    fn limits(&self, share: f64, before: &Limits) -> Limits {
        let [filled, fraction] = self.row.place(share);
        let place = self.composed(Slopes::constant(filled), Slopes::constant(fraction));
        let softness = place.softness();
        let eigenvalue = |ln_temperature: f64| {
            let a = self
                .pair
                .attractions(Slopes::<1>::variable(ln_temperature, 0));
            (softness.eigenvalue(a), a)
        };
        let mut limits = Limits::new();
        let free = 1.0 - filled;
        let mut add = |low: (f64, f64), high: (f64, f64)| {
            let guess = before
                .iter()
                .map(|limit| limit.ln_temperature + limit.rise * (share - limit.share));
            let (ln_temperature, a) = root(low, high, guess, &eigenvalue);
            let [a_11, a_12, a_22] = values_of(a).map(Slopes::constant);
            let found = place.conditions([a_11, a_12, a_22], [1.0, 0.0]);
            let last = nearest(before, ln_temperature);
            limits.push(Limit {
                share,
                ln_temperature,
                rise: last.map_or(0.0, |last| {
                    (ln_temperature - last.ln_temperature) / (share - last.share)
                }),
                cubic: found.cubic.value * free * free * free,
                direction: found.direction,
            });
        };
        let mut values = [0.0; LEVELS];
        for (value, a) in values.iter_mut().zip(&self.attractions) {
            *value = softness.eigenvalue_at(*a);
        }
        let at = |k: usize| (self.levels[k], values[k]);
        for k in 1..LEVELS {
            let (low, high) = (at(k - 1), at(k));
            if (low.1 < 0.0) != (high.1 < 0.0) {
                add(low, high);
            } else if is_nearest(&values, k - 1) || is_nearest(&values, k) {
                let ends = [low.0, high.0].map(|t| (t, eigenvalue(t).0));
                if let Some(turn) = turned(ends[0], ends[1], &|t| eigenvalue(t).0) {
                    add(low, turn);
                    add(turn, high);
                }
            }
        }
        limits
    }

    /// The limit of stability at a place between two, along the one that leads from one to the other.
    fn follow(&self, share: f64, first: &Limit, last: &Limit) -> Option<Limit> {
        let part = (share - first.share) / (last.share - first.share);
        let rise = (last.ln_temperature - first.ln_temperature) / (last.share - first.share);
        let middle = first.ln_temperature + part * (last.ln_temperature - first.ln_temperature);
        let limits = self.limits(share, &core::iter::once(Limit { rise, ..*first }).collect());
        nearest(&limits, middle).copied()
    }

    /// The critical points where C comes nearer to zero at the second of three limits than at the others, with one sign.
    fn dip(&self, mut limits: [Limit; 3], found: &mut Vec<Found>) {
        for _ in 0..DIPS {
            let [first, second, third] = limits;
            let sizes = limits.map(|limit| limit.cubic.abs());
            if changes_sign(&first, &second) || sizes[1] > sizes[0] || sizes[1] > sizes[2] {
                return;
            }
            let share = lowest(limits.map(|limit| limit.share), sizes);
            let (from, to) = if share < second.share {
                (first, second)
            } else {
                (second, third)
            };
            let Some(limit) = self.follow(share, &from, &to) else {
                return;
            };
            if changes_sign(&from, &limit) {
                found.extend(self.between(&from, &limit));
                found.extend(self.between(&limit, &to));
                return;
            }
            limits = match (share < second.share, limit.cubic.abs() < sizes[1]) {
                (true, true) => [first, limit, second],
                (true, false) => [limit, second, third],
                (false, true) => [second, limit, third],
                (false, false) => [first, second, limit],
            };
        }
    }

    /// The critical point between two limits with C of unlike sign; nothing if C jumps there.
    fn between(&self, first: &Limit, last: &Limit) -> Option<Found> {
        let cubic = |limit: &Limit| limit.cubic * alignment(&limit.direction, &first.direction);
        let part = first.cubic / (first.cubic - cubic(last));
        let start = self.follow(first.share + (last.share - first.share) * part, first, last)?;
        if let Some(found) = self.solved(&start, first, last) {
            return Some(found);
        }
        let of = |share: f64| {
            Ok(self
                .follow(share, first, last)
                .map_or(f64::NAN, |limit| cubic(&limit)))
        };
        let nearer = Tolerance {
            relative: ROUGH,
            ..Tolerance::default()
        };
        let share = bracketed("critical point", first.share, last.share, nearer, of).ok()?;
        self.solved(&self.follow(share, first, last)?, first, last)
    }

    fn found(&self, ln_temperature: f64, share: f64) -> Found {
        let [filled, fraction] = self.row.place(share);
        let covolume = self.pair.covolume(Slopes::<0>::constant(fraction)).value;
        [ln_temperature, (filled / covolume).ln(), fraction]
    }

    /// Both conditions in ln T and the share, by Newton's method; nothing where it leaves the two limits.
    fn solved(&self, start: &Limit, first: &Limit, last: &Limit) -> Option<Found> {
        let (mut ln_temperature, mut share) = (start.ln_temperature, start.share);
        let reach = last.share - first.share;
        for _ in 0..STEPS {
            let Conditions {
                eigenvalue, cubic, ..
            } = self.conditions(ln_temperature, share, first.direction);
            let ([a, b], [c, d]) = (eigenvalue.slopes, cubic.slopes);
            let determinant = a * d - b * c;
            let by_t = (d * eigenvalue.value - b * cubic.value) / determinant;
            let by_share = (a * cubic.value - c * eigenvalue.value) / determinant;
            ln_temperature -= by_t;
            share -= by_share;
            let margin = MARGIN * reach;
            let is_near = (first.share - margin..=last.share + margin).contains(&share)
                && (ln_temperature - start.ln_temperature).abs() < FOLLOWED;
            if !is_near {
                return None;
            }
            if by_t.abs() < SETTLED && by_share.abs() < SETTLED * reach {
                return Some(self.found(ln_temperature, share));
            }
        }
        None
    }

    fn conditions(&self, ln_temperature: f64, share: f64, towards: [f64; 2]) -> Conditions<2> {
        let [filled, fraction] = [0, 1].map(|k| {
            let (from, to) = (self.row.from[k], self.row.to[k]);
            Slopes::<2>::variable(share, 1) * (to - from) + from
        });
        let a = self.pair.attractions(Slopes::variable(ln_temperature, 0));
        self.composed(filled, fraction).conditions(a, towards)
    }
}

fn values_of<const N: usize>([a_11, a_12, a_22]: Pairs<Slopes<N>>) -> Pairs<f64> {
    [a_11.value, a_12.value, a_22.value]
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

/// 1 or -1: whether two directions, each known but for its sign, point to one side.
fn alignment(a: &[f64; 2], b: &[f64; 2]) -> f64 {
    if a[0] * b[0] + a[1] * b[1] < 0.0 {
        -1.0
    } else {
        1.0
    }
}

/// Where the parabola through three points is lowest, kept off the points themselves.
fn lowest(at: [f64; 3], values: [f64; 3]) -> f64 {
    let [a, b, c] = at;
    let (left, right) = (
        (values[0] - values[1]) / (a - b),
        (values[2] - values[1]) / (c - b),
    );
    let bend = (right - left) / (c - a);
    let lowest = 0.5 * (a + b - left / bend);
    let off = 0.1 * (b - a).min(c - b);
    let lowest = if lowest.is_finite() {
        lowest
    } else {
        0.5 * (b + c)
    };
    if (lowest - b).abs() < off {
        b + off.copysign(lowest - b)
    } else {
        lowest.clamp(a + off, c - off)
    }
}

/// Whether the smallest eigenvalue is nearer to zero at a level than at both beside it, and has one sign at all three.
fn is_nearest(values: &[f64; LEVELS], k: usize) -> bool {
    let Some(here) = values.get(k).copied() else {
        return false;
    };
    let is_nearer = |beside: Option<&f64>| {
        beside.is_none_or(|value| (*value < 0.0) == (here < 0.0) && here.abs() <= value.abs())
    };
    is_nearer(values.get(k + 1)) && is_nearer(values.get(k.wrapping_sub(1)))
}

/// A place between two levels at which the smallest eigenvalue has the other sign than at both, if its slopes lead to one.
fn turned(
    mut low: (f64, Slopes<1>),
    mut high: (f64, Slopes<1>),
    eigenvalue: &impl Fn(f64) -> Slopes<1>,
) -> Option<(f64, f64)> {
    let is_negative = low.1.value < 0.0;
    let side = if is_negative { 1.0 } else { -1.0 };
    for _ in 0..TURNS {
        let [rise, fall] = [side * low.1.slopes[0], side * high.1.slopes[0]];
        let width = high.0 - low.0;
        // Beyond the tangents of both ends a smooth turn does not reach.
        let reach = (side * low.1.value + rise * width).max(side * high.1.value - fall * width);
        if rise <= 0.0 || fall >= 0.0 || reach < 0.0 {
            return None;
        }
        let middle = low.0 + width * rise / (rise - fall);
        let found = eigenvalue(middle);
        if (found.value < 0.0) != is_negative {
            return Some((middle, found.value));
        }
        if side * found.slopes[0] > 0.0 {
            low = (middle, found);
        } else {
            high = (middle, found);
        }
    }
    None
}

/// The zero of the smallest eigenvalue between two levels with `a_ij/(RT)` there, roughly: by Newton's method from a guess between
/// them, and halving where it leaves them.
fn root<T: Copy>(
    low: (f64, f64),
    high: (f64, f64),
    mut guesses: impl Iterator<Item = f64>,
    eigenvalue: &impl Fn(f64) -> (Slopes<1>, T),
) -> (f64, T) {
    let (mut below, mut above) = (low.0, high.0);
    let rises = low.1 < 0.0;
    let secant = || low.0 + (high.0 - low.0) * low.1 / (low.1 - high.1);
    let mut x = guesses
        .find(|x| *x > below && *x < above)
        .unwrap_or_else(secant);
    let mut steps = STEPS;
    loop {
        let (found, told) = eigenvalue(x);
        if (found.value < 0.0) == rises {
            below = x;
        } else {
            above = x;
        }
        let newton = x - found.value / found.slopes[0];
        let next = if newton > below && newton < above {
            newton
        } else {
            0.5 * (below + above)
        };
        steps -= 1;
        if (next - x).abs() < ROUGH || steps == 0 {
            return (next, told);
        }
        x = next;
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use crate::eos::equilibrium::samples::{Forgetful, binary};
    use crate::eos::equilibrium::{MixtureCriticalPoint, critical_points, stability};

    fn is_same(a: &MixtureCriticalPoint, b: &MixtureCriticalPoint) -> bool {
        let off = |x: f64, y: f64| (x / y - 1.0).abs();
        off(a.temperature, b.temperature) < 1e-7
            && off(a.molar_density, b.molar_density) < 1e-6
            && a.is_stable == b.is_stable
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]

        /// The search of all models finds no point below 100 MPa that the closed form does not, and tests its stability by
        /// other means.
        #[test]
        fn points_are_those_of_the_general_search(model in binary(), z in 0.001..0.999f64) {
            let fractions = [1.0 - z, z];
            let range = (150.0, 1200.0);
            let found = critical_points(&model, &fractions, range).unwrap();
            for point in critical_points(&Forgetful(&model), &fractions, range).unwrap() {
                let is_found = found.iter().any(|other| is_same(&point, other));
                prop_assert!(is_found || point.pressure > 1e8, "{point:?} {found:?}");
            }
        }

        /// The general test of the phase agrees.
        #[test]
        fn stable_points_are_stable(model in binary(), z in 0.001..0.999f64) {
            let fractions = [1.0 - z, z];
            for point in critical_points(&model, &fractions, (150.0, 1200.0)).unwrap() {
                let test = stability(&model, point.temperature, point.pressure, &fractions).unwrap();
                let is_one = (test.molar_density / point.molar_density - 1.0).abs() < 1e-3;
                prop_assert_eq!(is_one && test.is_stable(), point.is_stable, "{:?} {:?}", point, test);
            }
        }
    }
}
