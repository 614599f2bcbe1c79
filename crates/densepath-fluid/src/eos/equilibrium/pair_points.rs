//! Critical points of two substances by a cubic equation, whose conditions have a closed form.
//!
//! At every place of a row, of densities or of compositions, the temperatures at which the phase ceases to be stable against small
//! changes are found from levels of the temperature, several places side by side: what depends on the temperature alone is known at
//! the levels, and between them from polynomials. Where C changes sign from one place to the next along one limit of stability, or
//! comes near to zero within, both conditions are solved together.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::critical::MixtureCriticalPoint;
use super::pair_stability::TangentPlane;
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::cubic::conditions::{
    Composed, Conditions, Packed, PairConditions, Softness, attractions,
};
use crate::num::lanes::{Kind, Task, run};
use crate::num::number;
use crate::num::root::{Tolerance, bracketed};
use crate::num::slopes::{Slopes, side_by_side};

/// Places of a row.
const PLACES: usize = 24;
/// Levels of the temperature, of which the first and the last lie a step beyond the bounds: critical points just within them lie
/// between limits that may lie without.
const LEVELS: usize = 12;
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
const SETTLED: f64 = 3e-7;
/// Part of a step between levels below which the second step of Newton's method leads to a limit.
const NEAR: f64 = 2e-3;

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
    [ln_temperature, filled, fraction]: Found,
    is_tested: bool,
) -> MixtureCriticalPoint {
    let constant = Slopes::<0>::constant;
    let composed = Composed::new(pair, constant(fraction));
    let density = filled / composed.covolume.value;
    let attractions = pair.attractions(constant(ln_temperature));
    let (compression, ln_coefficients) = Packed::new(composed, constant(filled)).phase(attractions);
    let temperature = ln_temperature.exp();
    let pressure = compression * density * MOLAR_GAS_CONSTANT * temperature;
    let is_stable = is_tested && pressure > 0.0 && {
        let pair = pair.at(temperature, attractions.map(|a| a.value));
        let fractions = [1.0 - fraction, fraction];
        let plane = TangentPlane::new(pair.at(pressure), fractions, ln_coefficients);
        plane.is_lowest()
    };
    let shift = density * pair.translation(constant(fraction)).value;
    MixtureCriticalPoint {
        temperature,
        pressure,
        molar_density: density / (1.0 - shift),
        is_stable,
    }
}

/// A critical point: ln T, `b/V` in a volume without translation, fraction of the second substance.
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

/// A limit of stability at a place: where the determinant is zero, and the greater eigenvalue is not negative.
#[derive(Debug, Clone, Copy)]
struct Limit {
    share: f64,
    ln_temperature: f64,
    /// C along the unit vector of the direction.
    cubic: f64,
    direction: [f64; 2],
}

/// What depends on the temperature alone, at its levels.
struct Levels {
    ln_temperature: [f64; LEVELS],
    /// From one to the next.
    width: f64,
    /// `a_ij/(RT)` with their slopes in steps between levels.
    attractions: [[Slopes<1>; 3]; LEVELS],
    /// From each level to the next the polynomials of what makes up the attractions, in the part of the step.
    between: [[[f64; 4]; 3]; LEVELS],
}

impl Levels {
    /// Between two temperatures in K, and a step beyond.
    fn new(pair: &PairConditions, temperatures: (f64, f64)) -> Self {
        let (low, high) = (temperatures.0.ln(), temperatures.1.ln());
        let width = (high - low) / (LEVELS - 3) as f64;
        let mut levels = Self {
            ln_temperature: core::array::from_fn(|k| low + width * (k as f64 - 1.0)),
            width,
            attractions: [[Slopes::constant(0.0); 3]; LEVELS],
            between: [[[0.0; 4]; 3]; LEVELS],
        };
        run(Levelling {
            pair,
            levels: &mut levels,
        });
        levels
    }
}

/// All that is known at the levels from their temperatures.
struct Levelling<'a> {
    pair: &'a PairConditions,
    levels: &'a mut Levels,
}

impl Task for Levelling<'_> {
    type Output = ();

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) {
        let Self { pair, levels } = self;
        let mut roots = [[[0.0; LEVELS]; 2]; 3];
        for from in (0..LEVELS).step_by(K::LANES) {
            let ln_temperature = kind.load(&levels.ln_temperature[from..]);
            let found = pair.roots(Slopes::<1, _>::variable(ln_temperature, 0));
            for (root, [values, slopes]) in found.iter().zip(&mut roots) {
                kind.store(root.value, &mut values[from..]);
                kind.store(
                    root.slopes[0] * kind.splat(levels.width),
                    &mut slopes[from..],
                );
            }
        }
        for (level, between) in levels.between.iter_mut().enumerate().take(LEVELS - 1) {
            for (polynomial, [values, slopes]) in between.iter_mut().zip(&roots) {
                let [from, to] = [values[level], values[level + 1]];
                *polynomial = hermite([from, to], [slopes[level], slopes[level + 1]]);
            }
        }
        for (level, a) in levels.attractions.iter_mut().enumerate() {
            let slopes = |[values, slopes]: &[[f64; LEVELS]; 2]| Slopes {
                value: values[level],
                slopes: [slopes[level]],
            };
            let [one, two, like] = &roots;
            *a = attractions([slopes(one), slopes(two), slopes(like)]);
        }
    }
}

/// The coefficients of the cubic from 0 to 1 through two values with its slopes there.
#[inline(always)]
fn hermite([from, to]: [f64; 2], [rise, fall]: [f64; 2]) -> [f64; 4] {
    let chord = to - from;
    let bend = rise + fall - 2.0 * chord;
    [from, rise, chord - rise - bend, bend]
}

/// The search along a row.
struct RowSearch<'a> {
    pair: &'a PairConditions,
    row: Row,
    levels: Levels,
}

impl<'a> RowSearch<'a> {
    /// Along a row between two temperatures in K.
    fn new(pair: &'a PairConditions, row: Row, temperatures: (f64, f64)) -> Self {
        Self {
            pair,
            row,
            levels: Levels::new(pair, temperatures),
        }
    }

    /// The critical points of the row.
    fn points(&self) -> Vec<Found> {
        let mut found = Vec::new();
        let shares: [f64; PLACES] = core::array::from_fn(|step| step as f64 / (PLACES - 1) as f64);
        let limits = self.limits(&shares);
        let mut rest = limits.as_slice();
        let mut rows: [&[Limit]; 2] = [&[]; 2];
        for share in shares {
            let here;
            let count = rest.iter().take_while(|limit| limit.share <= share).count();
            (here, rest) = rest.split_at(count);
            let [first, before] = rows;
            for limit in here {
                let Some(last) = nearest(before, limit.ln_temperature) else {
                    continue;
                };
                if changes_sign(last, limit) {
                    found.extend(self.between(last, limit));
                } else if let Some(first) = nearest(first, last.ln_temperature)
                    && dips([first, last, limit])
                {
                    self.dip([*first, *last, *limit], &mut found);
                }
            }
            rows = [before, here];
        }
        found
    }

    /// The place of a share of the row.
    #[inline(always)]
    fn place<const N: usize, T: number::Number>(&self, share: Slopes<N, T>) -> Packed<N, T> {
        let (from, to) = (self.row.from, self.row.to);
        let filled = share * (to[0] - from[0]) + from[0];
        let fraction = share * (to[1] - from[1]) + from[1];
        Packed::new(Composed::new(self.pair, fraction), filled)
    }

    /// All limits of stability at some places, place after place.
    fn limits(&self, shares: &[f64]) -> Vec<Limit> {
        let search = self;
        let (mut limits, turns) = run(Limiting { search, shares });
        limits.extend(turns.iter().flat_map(|step| self.turned(step)));
        if !limits.is_sorted_by_key(|limit| limit.share) {
            limits.sort_by(|one, other| one.share.total_cmp(&other.share));
        }
        limits
    }

    /// The limits in a step between levels with one sign at both ends.
    fn turned(&self, step: &Step) -> Vec<Limit> {
        let softness = self.place(Slopes::constant(step.share)).softness();
        let [low, high] = step.ends(&self.levels).map(|at| self.end(&softness, at));
        let Some(turn) = self.turn(&softness, low, high) else {
            return Vec::new();
        };
        let limit = |low, high| self.limit(step.share, low, high);
        vec![limit(low.place, turn), limit(turn, high.place)]
    }

    /// The smallest eigenvalue with its slope in ln T.
    fn end(&self, softness: &Softness, place: f64) -> End {
        let a = self.pair.attractions(Slopes::<1>::variable(place, 0));
        let eigenvalue = softness.eigenvalue(a);
        End { place, eigenvalue }
    }

    /// Where between two ends the smallest eigenvalue has the other sign than at both, if its slopes lead there.
    fn turn(&self, softness: &Softness, mut low: End, mut high: End) -> Option<f64> {
        let is_negative = low.eigenvalue.value < 0.0;
        let side = if is_negative { 1.0 } else { -1.0 };
        for _ in 0..TURNS {
            let [from, to] = [low.eigenvalue, high.eigenvalue];
            let [rise, fall] = [from, to].map(|end| side * end.slopes[0]);
            let width = high.place - low.place;
            // Beyond the tangents of both ends a smooth turn does not reach.
            let reach = (side * from.value + rise * width).max(side * to.value - fall * width);
            if rise <= 0.0 || fall >= 0.0 || reach < 0.0 {
                return None;
            }
            let middle = self.end(softness, low.place + width * rise / (rise - fall));
            if (middle.eigenvalue.value < 0.0) != is_negative {
                return Some(middle.place);
            }
            if side * middle.eigenvalue.slopes[0] > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        None
    }

    /// The limit of stability at a share between two values of ln T, roughly: by Newton's method, and halving where it leaves them.
    fn limit(&self, share: f64, mut below: f64, mut above: f64) -> Limit {
        let place = self.place(Slopes::constant(share));
        let softness = place.softness();
        let is_negative = self.end(&softness, below).eigenvalue.value < 0.0;
        let mut ln_temperature = 0.5 * (below + above);
        for _ in 0..STEPS {
            let found = self.end(&softness, ln_temperature).eigenvalue;
            if (found.value < 0.0) == is_negative {
                below = ln_temperature;
            } else {
                above = ln_temperature;
            }
            let newton = ln_temperature - found.value / found.slopes[0];
            let next = if newton > below && newton < above {
                newton
            } else {
                0.5 * (below + above)
            };
            let step = next - ln_temperature;
            ln_temperature = next;
            if step.abs() < ROUGH {
                break;
            }
        }
        let a = self.pair.attractions(Slopes::constant(ln_temperature));
        let (cubic, direction) = place.conditions(a).along_unit();
        Limit::new(share, ln_temperature, cubic, direction)
    }

    /// The limit of stability at a place between two, along the one that leads from one to the other.
    fn follow(&self, share: f64, first: &Limit, last: &Limit) -> Option<Limit> {
        let part = (share - first.share) / (last.share - first.share);
        let middle = first.ln_temperature + part * (last.ln_temperature - first.ln_temperature);
        nearest(&self.limits(&[share]), middle).copied()
    }

    /// The critical points where C comes nearer to zero at the second of three limits than at the others, with one sign.
    fn dip(&self, mut limits: [Limit; 3], found: &mut Vec<Found>) {
        for tried in 0..DIPS {
            let [first, second, third] = limits;
            let sizes = limits.map(|limit| limit.cubic.abs());
            if !dips([&first, &second, &third]) {
                return;
            }
            let shares = limits.map(|limit| limit.share);
            // Below the chords drawn on a smooth dip does not reach.
            let rise = |k: usize| (sizes[k + 1] - sizes[k]) / (shares[k + 1] - shares[k]);
            let reach = (rise(1) * (shares[1] - shares[0])).max(-rise(0) * (shares[2] - shares[1]));
            if tried > 0 && sizes[1] > reach {
                return;
            }
            let share = lowest(shares, sizes);
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
        let on_chord = |from: f64, to: f64| from + (to - from) * part;
        let start = Limit {
            share: on_chord(first.share, last.share),
            ln_temperature: on_chord(first.ln_temperature, last.ln_temperature),
            ..*first
        };
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

    /// Both conditions in ln T and the share, by Newton's method; nothing where it leaves the two limits.
    fn solved(&self, start: &Limit, first: &Limit, last: &Limit) -> Option<Found> {
        let (mut ln_temperature, mut share) = (start.ln_temperature, start.share);
        let reach = last.share - first.share;
        for _ in 0..STEPS {
            let Conditions {
                determinant: limit,
                cubic,
                stiffest,
                ..
            } = self.conditions(ln_temperature, share);
            let ([a, b, _], [c, d, _]) = (limit.slopes, cubic.slopes);
            let per_area = 1.0 / (a * d - b * c);
            let by_t = (d * limit.value - b * cubic.value) * per_area;
            let by_share = (a * cubic.value - c * limit.value) * per_area;
            ln_temperature -= by_t;
            share -= by_share;
            let margin = MARGIN * reach;
            let is_near = (first.share - margin..=last.share + margin).contains(&share)
                && (ln_temperature - start.ln_temperature).abs() < FOLLOWED;
            if !is_near {
                return None;
            }
            if by_t.abs() < SETTLED && by_share.abs() < SETTLED * reach {
                let [filled, fraction] = self.row.place(share);
                return (stiffest > 0.0).then_some([ln_temperature, filled, fraction]);
            }
        }
        None
    }

    /// With slopes in ln T and the share.
    fn conditions(&self, ln_temperature: f64, share: f64) -> Conditions<3> {
        let search = self;
        run(ClosedSlopes {
            search,
            ln_temperature,
            share,
        })
    }
}

/// Both conditions with their slopes side by side.
struct ClosedSlopes<'a> {
    search: &'a RowSearch<'a>,
    ln_temperature: f64,
    share: f64,
}

impl Task for ClosedSlopes<'_> {
    type Output = Conditions<3>;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Conditions<3> {
        let search = self.search;
        let mut found = Conditions::unknown();
        for from in (0..2).step_by(K::LANES) {
            let ln_temperature = side_by_side(kind, self.ln_temperature, 0, from);
            let place = search.place(side_by_side(kind, self.share, 1, from));
            let conditions = place.conditions(search.pair.attractions(ln_temperature));
            conditions.store(kind, from, &mut found);
        }
        found
    }
}

/// A step between levels at a place: the share, and the level below.
#[derive(Debug, Clone, Copy)]
struct Step {
    share: f64,
    level: usize,
}

impl Step {
    /// ln T at both ends.
    fn ends(&self, levels: &Levels) -> [f64; 2] {
        [self.level, self.level + 1].map(|level| levels.ln_temperature[level])
    }
}

/// The limits of stability at some places, those of several side by side in turn, and the steps between levels in which there may be
/// two more.
struct Limiting<'a> {
    search: &'a RowSearch<'a>,
    shares: &'a [f64],
}

impl Task for Limiting<'_> {
    type Output = (Vec<Limit>, Vec<Step>);

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Self::Output {
        let (mut limits, mut turns) = (Vec::with_capacity(2 * PLACES), Vec::new());
        for shares in self.shares.chunks(K::LANES) {
            let place = self.search.place(Slopes::constant(kind.load(shares)));
            let softness = place.softness();
            let [mut changes, turned] = self.signs(kind, &softness).found();
            changes &= lanes(shares.len());
            while changes != 0 {
                self.solve(kind, shares, (&place, &softness), &mut changes, &mut limits);
            }
            list(shares, turned, &mut turns);
        }
        (limits, turns)
    }
}

/// The absolute value.
#[inline(always)]
fn size<T: number::Number>(number: T) -> T {
    number.abs_at_least(0.0)
}

/// The bits of the first places.
fn lanes(count: usize) -> u64 {
    (0..count).map(|lane| FIRST_BITS << lane).sum()
}

impl Limiting<'_> {
    /// How the determinant goes from level to level at places side by side.
    #[inline(always)]
    fn signs<K: Kind>(&self, kind: K, softness: &Softness<K::Number>) -> Signs {
        let mut signs = Signs::default();
        for (level, a) in self.search.levels.attractions.iter().enumerate() {
            let [a_11, a_12, a_22] = a;
            let (determinant, trace) =
                softness.determinant([splat(kind, a_11), splat(kind, a_12), splat(kind, a_22)]);
            let (value, slope) = (determinant.value, determinant.slopes[0]);
            let reach = size(slope) - size(value);
            signs.add(
                level,
                [
                    kind.positive(number::Number::choose(trace, value, trace)),
                    kind.positive(value * slope),
                    kind.positive(reach),
                ],
            );
        }
        signs
    }

    /// Adds the limit in the lowest step in which the stability changes of every place side by side, and takes the steps from the bits
    /// that tell them.
    #[inline(always)]
    fn solve<K: Kind>(
        &self,
        kind: K,
        shares: &[f64],
        (place, softness): (&Packed<0, K::Number>, &Softness<K::Number>),
        changes: &mut u64,
        limits: &mut Vec<Limit>,
    ) {
        let (search, levels) = (self.search, &self.search.levels);
        let steps = [0, 1, 2, 3].map(|lane| taken(changes, lane));
        let of = steps.map(|level| &levels.between[level.unwrap_or(0)]);
        let between = Between::new(kind, of);
        let mut part = between.chord(softness);
        let mut last = part;
        for _ in 0..2 {
            let (determinant, _) = softness.determinant(between.attractions(part));
            last = determinant.value * number::Number::recip(determinant.slopes[0]);
            part = part - last;
        }
        let [a_11, a_12, a_22] = between.attractions(part);
        let conditions = place.conditions([a_11.plain(), a_12.plain(), a_22.plain()]);
        let (cubic, [u, v]) = conditions.along_unit();
        let mut lanes = [[0.0; 4]; 5];
        for (number, lanes) in [part, last, cubic, u, v].into_iter().zip(&mut lanes) {
            kind.store(number, lanes);
        }
        let [part, last, cubic, u, v] = lanes;
        for (lane, share) in shares.iter().enumerate() {
            let Some(level) = steps[lane] else { continue };
            let low = levels.ln_temperature[level];
            let is_near = last[lane].abs() < NEAR && (0.0..=1.0).contains(&part[lane]);
            limits.push(if is_near {
                let ln_temperature = low + levels.width * part[lane];
                Limit::new(*share, ln_temperature, cubic[lane], [u[lane], v[lane]])
            } else {
                search.limit(*share, low, low + levels.width)
            });
        }
    }
}

/// A number with its slope in every lane.
#[inline(always)]
fn splat<K: Kind>(kind: K, number: &Slopes<1>) -> Slopes<1, K::Number> {
    Slopes {
        value: kind.splat(number.value),
        slopes: [kind.splat(number.slopes[0])],
    }
}

/// Takes the lowest of the steps of a place from the bits that tell them.
#[inline(always)]
fn taken(steps: &mut u64, lane: usize) -> Option<usize> {
    let own = *steps >> lane & FIRST_BITS;
    let lowest = own & own.wrapping_neg();
    *steps &= !(lowest << lane);
    (own != 0).then(|| own.trailing_zeros() as usize / BITS - 1)
}

/// Lists the steps of places side by side that bits tell.
#[inline(always)]
fn list(shares: &[f64], mut bits: u64, steps: &mut Vec<Step>) {
    bits &= lanes(shares.len());
    while bits != 0 {
        for (lane, share) in shares.iter().enumerate() {
            if let Some(level) = taken(&mut bits, lane) {
                let share = *share;
                steps.push(Step { share, level });
            }
        }
    }
}

/// How the determinant goes from level to level, of places side by side: told by bits, those of a level together.
#[derive(Default)]
struct Signs {
    /// Where the phase is stable.
    stable: u64,
    /// Where the determinant leads away from zero as ln T rises.
    leaves: u64,
    /// Where its tangent meets zero within a step.
    reaches: u64,
}

/// Bits of a level.
const BITS: usize = 4;

impl Signs {
    #[inline(always)]
    fn add(&mut self, level: usize, [stable, leaves, reaches]: [u32; 3]) {
        let at = BITS * level;
        self.stable |= u64::from(stable) << at;
        self.leaves |= u64::from(leaves) << at;
        self.reaches |= u64::from(reaches) << at;
    }

    /// Of all places the steps between levels, told by the bits of the levels above them, in which the stability changes, and those
    /// without a change in which the determinant nears zero and leaves it again, with a tangent at an end that meets zero.
    fn found(&self) -> [u64; 2] {
        let all = (1 << (BITS * LEVELS)) - (1 << BITS);
        let changes = (self.stable ^ self.stable << BITS) & all;
        let turns = self.leaves & !(self.leaves << BITS) & (self.reaches | self.reaches << BITS);
        [changes, turns & !changes & all]
    }
}

/// The first bit of every level.
const FIRST_BITS: u64 = {
    let mut bits = 0;
    let mut level = 0;
    while level < LEVELS {
        bits |= 1 << (BITS * level);
        level += 1;
    }
    bits
};

/// What makes up the attractions in steps between levels, as polynomials of the part of the step.
struct Between<T>([[T; 4]; 3]);

impl<T: number::Number> Between<T> {
    /// Of up to four steps side by side.
    #[inline(always)]
    fn new<K: Kind<Number = T>>(kind: K, [a, b, c, d]: [&[[f64; 4]; 3]; 4]) -> Self {
        let mut between = Self([[kind.splat(0.0); 4]; 3]);
        for (k, polynomial) in between.0.iter_mut().enumerate() {
            for (power, coefficient) in polynomial.iter_mut().enumerate() {
                let lanes = [a[k][power], b[k][power], c[k][power], d[k][power]];
                *coefficient = kind.load(&lanes);
            }
        }
        between
    }

    /// `a_ij/(RT)` at a part of the step, with their slopes in it.
    #[inline(always)]
    fn attractions(&self, part: T) -> [Slopes<1, T>; 3] {
        let [one, two, like] = &self.0;
        attractions([
            polynomial(one, part),
            polynomial(two, part),
            polynomial(like, part),
        ])
    }

    /// The part of the step at which the chord of the determinant is zero.
    #[inline(always)]
    fn chord(&self, softness: &Softness<T>) -> T {
        let [[zero, ..], ..] = self.0;
        let (from, _) = softness.determinant(self.attractions(zero.like(0.0)));
        let (to, _) = softness.determinant(self.attractions(zero.like(1.0)));
        from.value * (from.value - to.value).recip()
    }
}

/// A cubic with its slope.
#[inline(always)]
fn polynomial<T: number::Number>([c_0, c_1, c_2, c_3]: &[T; 4], x: T) -> Slopes<1, T> {
    let (bend, turn) = (c_3.mul_add(x, *c_2), c_3.times(3.0));
    Slopes {
        value: bend.mul_add(x, *c_1).mul_add(x, *c_0),
        slopes: [turn.mul_add(x, c_2.times(2.0)).mul_add(x, *c_1)],
    }
}

/// The smallest eigenvalue of a place at a logarithm of the temperature.
#[derive(Debug, Clone, Copy)]
struct End {
    place: f64,
    eigenvalue: Slopes<1>,
}

impl Limit {
    /// A limit with C along one side of the direction.
    fn new(share: f64, ln_temperature: f64, cubic: f64, [u, v]: [f64; 2]) -> Self {
        let side = if u < 0.0 { -1.0 } else { 1.0 };
        Self {
            share,
            ln_temperature,
            cubic: side * cubic,
            direction: [side * u, side * v],
        }
    }
}

/// The limit nearest to a value of ln T, if it may be the same one.
fn nearest(limits: &[Limit], ln_temperature: f64) -> Option<&Limit> {
    let (mut found, mut least) = (None, FOLLOWED);
    for limit in limits {
        let distance = (limit.ln_temperature - ln_temperature).abs();
        if distance < least {
            (found, least) = (Some(limit), distance);
        }
    }
    found
}

/// Whether C changes sign from one limit of stability to the next along the same one.
fn changes_sign(last: &Limit, next: &Limit) -> bool {
    let cubic = next.cubic * alignment(&next.direction, &last.direction);
    (cubic < 0.0) != (last.cubic < 0.0)
}

/// Whether C comes nearer to zero at the second of three limits than at the others, with one sign at the first two.
fn dips([first, second, third]: [&Limit; 3]) -> bool {
    let [one, two, three] = [first, second, third].map(|limit| limit.cubic.abs());
    two <= one && two <= three && !changes_sign(first, second)
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
