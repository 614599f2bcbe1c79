//! Critical points of two substances by a cubic equation, whose conditions have a closed form.
//!
//! At every place of a row, of densities or of compositions, the temperatures at which the smallest eigenvalue of the stability is
//! zero are found from levels of the temperature, with its slope for what lies between them, several places side by side. Where C
//! changes sign from one place to the next along one limit of stability, or comes near to zero within, both conditions are solved
//! together.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::critical::MixtureCriticalPoint;
use super::pair_stability::TangentPlane;
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::cubic::conditions::{Composed, Conditions, PairConditions, Softness};
use crate::num::lanes::{Kind, Task, run};
use crate::num::number;
use crate::num::root::{Tolerance, bracketed};
use crate::num::slopes::{Slopes, side_by_side};

/// Places of a row.
const PLACES: usize = 25;
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
    let attractions = pair.attractions(constant(ln_temperature));
    let (scaled, ln_coefficients) = place.phase(attractions);
    let temperature = ln_temperature.exp();
    let pressure = scaled * MOLAR_GAS_CONSTANT * temperature;
    let is_stable = is_tested && pressure > 0.0 && {
        let pair = pair.at(temperature, attractions.map(|a| a.value));
        let fractions = [1.0 - fraction, fraction];
        let plane = TangentPlane::new(pair.at(pressure), fractions, ln_coefficients);
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
    /// C, scaled so that it stays finite as the covolume is filled.
    cubic: f64,
    direction: [f64; 2],
}

/// The search along a row.
struct RowSearch<'a> {
    pair: &'a PairConditions,
    row: Row,
    /// ln T of the levels.
    levels: [f64; LEVELS],
}

impl<'a> RowSearch<'a> {
    /// Along a row between two temperatures in K.
    fn new(pair: &'a PairConditions, row: Row, temperatures: (f64, f64)) -> Self {
        let (low, high) = (temperatures.0.ln() - BEYOND, temperatures.1.ln() + BEYOND);
        let part = (high - low) / (LEVELS - 1) as f64;
        Self {
            pair,
            row,
            levels: core::array::from_fn(|k| low + part * k as f64),
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
                } else if let Some(first) = nearest(first, last.ln_temperature) {
                    self.dip([*first, *last, *limit], &mut found);
                }
            }
            rows = [before, here];
        }
        found
    }

    /// The place of a share of the row.
    #[inline(always)]
    fn place<const N: usize, T: number::Number>(&self, share: Slopes<N, T>) -> Composed<N, T> {
        let (from, to) = (self.row.from, self.row.to);
        let filled = share * (to[0] - from[0]) + from[0];
        let fraction = share * (to[1] - from[1]) + from[1];
        Composed::new(self.pair, filled / self.pair.covolume(fraction), fraction)
    }

    /// All limits of stability at some places, place after place.
    fn limits(&self, shares: &[f64]) -> Vec<Limit> {
        let brackets = run(Bracketing {
            search: self,
            shares,
        });
        run(Solving {
            search: self,
            brackets: &brackets,
        })
    }

    /// Adds the brackets of the limits at a place, by its smallest eigenvalue at all levels, between some of which it changes its sign or
    /// turns, told by the bits of the levels above.
    fn bracket(
        &self,
        profile: &Profile<'_>,
        [changes, turns]: [u64; 2],
        brackets: &mut Vec<Bracket>,
    ) {
        let share = profile.share;
        let mut add = |low, high| brackets.push(Bracket { share, low, high });
        let end = |level: usize| profile.end(level, self.levels[level]);
        let mut wanted = changes | turns;
        while wanted != 0 {
            let bit = wanted & wanted.wrapping_neg();
            let k = bit.trailing_zeros() as usize / BITS;
            wanted &= !bit;
            let (low, high) = (end(k - 1), end(k));
            if changes & bit != 0 {
                add(low, high);
            } else if let Some(turn) = self.turn(share, low, high) {
                add(low, turn);
                add(turn, high);
            }
        }
    }

    /// The smallest eigenvalue with its slope in ln T at a place.
    fn eigenvalue(&self, softness: &Softness, ln_temperature: f64) -> End {
        let a = self
            .pair
            .attractions(Slopes::<1>::variable(ln_temperature, 0));
        End {
            place: ln_temperature,
            eigenvalue: softness.eigenvalue(a),
        }
    }

    /// Where between two levels the smallest eigenvalue has the other sign than at both, if its slopes lead there.
    fn turn(&self, share: f64, mut low: End, mut high: End) -> Option<End> {
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
            let middle = low.place + width * rise / (rise - fall);
            let softness = self.place(Slopes::constant(share)).softness();
            let middle = self.eigenvalue(&softness, middle);
            if (middle.eigenvalue.value < 0.0) != is_negative {
                return Some(middle);
            }
            if side * middle.eigenvalue.slopes[0] > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        None
    }

    /// The limit of stability in a bracket, roughly: by Newton's method, and halving where it leaves the bracket.
    fn limit(&self, bracket: &Bracket) -> Limit {
        let place = self.place(Slopes::constant(bracket.share));
        let softness = place.softness();
        let (mut below, mut above) = (bracket.low.place, bracket.high.place);
        let rises = bracket.low.eigenvalue.value < 0.0;
        let mut ln_temperature = 0.5 * (below + above);
        for _ in 0..STEPS {
            let found = self.eigenvalue(&softness, ln_temperature).eigenvalue;
            if (found.value < 0.0) == rises {
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
        let found = place.conditions(a);
        Limit::new(
            bracket.share,
            ln_temperature,
            self.scaled(bracket.share, found.cubic.value),
            found.direction,
        )
    }

    /// C so that it stays finite as the covolume is filled.
    #[inline(always)]
    fn scaled<T: number::Number>(&self, share: T, cubic: T) -> T {
        let (from, to) = (self.row.from[0], self.row.to[0]);
        let free = share.times(from - to).plus(1.0 - from);
        cubic * free * free * free
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
            if changes_sign(&first, &second) || sizes[1] > sizes[0] || sizes[1] > sizes[2] {
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
            let ([a, b, _], [c, d, _]) = (eigenvalue.slopes, cubic.slopes);
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

    /// With slopes in ln T and the share.
    fn conditions(&self, ln_temperature: f64, share: f64, towards: [f64; 2]) -> Conditions<3> {
        let search = self;
        let found = run(ClosedSlopes {
            search,
            ln_temperature,
            share,
        });
        found.towards(towards)
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

/// The brackets of all limits of stability at some places.
struct Bracketing<'a> {
    search: &'a RowSearch<'a>,
    shares: &'a [f64],
}

impl Task for Bracketing<'_> {
    type Output = Vec<Bracket>;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Vec<Bracket> {
        let search = self.search;
        // `a_ij/(RT)` and their slopes at all levels.
        let mut attractions = [[[0.0; LEVELS]; 2]; 3];
        for block in (0..LEVELS).step_by(K::LANES) {
            let levels = Slopes::<1, _>::variable(kind.load(&search.levels[block..]), 0);
            let found = search.pair.attractions(levels);
            for (of, a) in attractions.iter_mut().zip(found) {
                kind.store(a.value, &mut of[0][block..]);
                kind.store(a.slopes[0], &mut of[1][block..]);
            }
        }
        let mut brackets = Vec::with_capacity(self.shares.len());
        let mut values = [[[0.0; 8]; 2]; LEVELS];
        for shares in self.shares.chunks(K::LANES) {
            let softness = search.place(Slopes::constant(kind.load(shares))).softness();
            let mut steps = Steps::default();
            let mut below = kind.splat(f64::INFINITY);
            for (level, values) in values.iter_mut().enumerate() {
                let mut a = [Slopes::constant(kind.splat(0.0)); 3];
                for (a, of) in a.iter_mut().zip(&attractions) {
                    a.value = kind.splat(of[0][level]);
                    a.slopes = [kind.splat(of[1][level])];
                }
                let found = softness.eigenvalue(a);
                kind.store(found.value, &mut values[0]);
                kind.store(found.slopes[0], &mut values[1]);
                let size = number::Number::abs_at_least(found.value, 0.0);
                steps.add(
                    level,
                    kind.positive(-found.value),
                    kind.positive(below - size),
                );
                below = size;
            }
            let found = steps.found();
            for (lane, share) in shares.iter().enumerate().take(K::LANES) {
                let (share, values) = (*share, &values);
                let steps = found.map(|bits| bits >> lane & FIRST_BITS);
                search.bracket(
                    &Profile {
                        share,
                        values,
                        lane,
                    },
                    steps,
                    &mut brackets,
                );
            }
        }
        brackets
    }
}

/// How the smallest eigenvalue goes from level to level, of places side by side: told by bits, those of a level together.
#[derive(Default)]
struct Steps {
    /// Where it is negative, and where it is nearer to zero than at the level below.
    negative: u64,
    nearer: u64,
}

/// Bits of a level.
const BITS: usize = 4;

impl Steps {
    #[inline(always)]
    fn add(&mut self, level: usize, negative: u32, nearer: u32) {
        self.negative |= u64::from(negative) << (BITS * level);
        self.nearer |= u64::from(nearer) << (BITS * level);
    }

    /// Of all places the steps between levels, told by the bits of the levels above them, in which the smallest eigenvalue changes its
    /// sign, and those beside a level at which it is nearer to zero than at both others, with one sign.
    fn found(&self) -> [u64; 2] {
        let all = (1 << (BITS * LEVELS)) - (1 << BITS);
        let (first, last) = ((1 << BITS) - 1, ((1 << BITS) - 1) << (BITS * (LEVELS - 1)));
        let changes = (self.negative ^ self.negative << BITS) & all;
        let falls = self.nearer & !changes & all;
        let rises = all & !self.nearer & !changes;
        let nearest = (falls | first) & (rises >> BITS | last);
        [changes, (nearest | nearest << BITS) & !changes & all]
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

/// The smallest eigenvalue at all levels and its slopes, of one of several places side by side.
struct Profile<'a> {
    share: f64,
    values: &'a [[[f64; 8]; 2]; LEVELS],
    lane: usize,
}

impl Profile<'_> {
    fn end(&self, level: usize, place: f64) -> End {
        let [value, slope] = self.values[level].map(|lanes| lanes[self.lane]);
        let slopes = [slope];
        End {
            place,
            eigenvalue: Slopes { value, slopes },
        }
    }
}

/// Two values of ln T at a place, between which the smallest eigenvalue changes its sign.
#[derive(Debug, Clone, Copy)]
struct Bracket {
    share: f64,
    low: End,
    high: End,
}

/// The limits of stability in brackets.
struct Solving<'a> {
    search: &'a RowSearch<'a>,
    brackets: &'a [Bracket],
}

impl Task for Solving<'_> {
    type Output = Vec<Limit>;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Vec<Limit> {
        let (search, pair) = (self.search, self.search.pair);
        let mut limits = Vec::with_capacity(self.brackets.len());
        for brackets in self.brackets.chunks(K::LANES) {
            let mut given = [[0.0; 8]; 7];
            for (lane, bracket) in brackets.iter().enumerate().take(8) {
                let [from, to] = [bracket.low, bracket.high].map(|end| end.numbers());
                let numbers = [bracket.share].into_iter().chain(from).chain(to);
                for (number, lanes) in numbers.zip(&mut given) {
                    lanes[lane] = number;
                }
            }
            let count = brackets.len();
            let share = kind.load(&given[0][..count]);
            let (low, high) = (
                end_of(kind, [&given[1], &given[2], &given[3]], count),
                end_of(kind, [&given[4], &given[5], &given[6]], count),
            );
            let place = search.place(Slopes::constant(share));
            let softness = place.softness();
            let start = start(low, high);
            let a = pair.attractions(Slopes::<1, _>::variable(start, 0));
            let found = softness.eigenvalue(a);
            let step = -(found.value * number::Number::recip(found.slopes[0]));
            let conditions = place.conditions([
                Slopes::constant(a[0].value + a[0].slopes[0] * step),
                Slopes::constant(a[1].value + a[1].slopes[0] * step),
                Slopes::<0, _>::constant(a[2].value + a[2].slopes[0] * step),
            ]);
            let cubic = search.scaled(share, conditions.cubic.value);
            let [u, v] = conditions.direction;
            let mut lanes = [[0.0; 8]; 5];
            for (number, lanes) in [start, step, cubic, u, v].into_iter().zip(&mut lanes) {
                kind.store(number, lanes);
            }
            let [start, step, cubic, u, v] = lanes;
            for (lane, bracket) in brackets.iter().enumerate().take(8) {
                let ln_temperature = start[lane] + step[lane];
                let is_inside = (bracket.low.place..=bracket.high.place).contains(&ln_temperature);
                // What a step of Newton's method leaves goes with its square.
                limits.push(if is_inside && step[lane] * step[lane] < ROUGH {
                    let direction = [u[lane], v[lane]];
                    Limit::new(bracket.share, ln_temperature, cubic[lane], direction)
                } else {
                    search.limit(bracket)
                });
            }
        }
        limits
    }
}

/// Ends of brackets side by side, from their numbers.
#[inline(always)]
fn end_of<K: Kind>(kind: K, numbers: [&[f64; 8]; 3], count: usize) -> End<K::Number> {
    let [place, value, slope] = numbers;
    End {
        place: kind.load(&place[..count]),
        eigenvalue: Slopes {
            value: kind.load(&value[..count]),
            slopes: [kind.load(&slope[..count])],
        },
    }
}

/// Where ln T as the cubic in the smallest eigenvalue through two of its values with their slopes leads to zero; else the chord.
#[inline(always)]
fn start<T: number::Number>(low: End<T>, high: End<T>) -> T {
    let (from, to) = (low.eigenvalue, high.eigenvalue);
    let (width, rise) = (high.place - low.place, to.value - from.value);
    let part = -(from.value * rise.recip());
    let rest = (-part).plus(1.0);
    let bend_from = (rise * (width * from.slopes[0]).recip()).plus(-1.0);
    let bend_to = (rise * (width * to.slopes[0]).recip()).plus(-1.0);
    let bend = part * rest * (rest * bend_from - part * bend_to);
    let chord = low.place + width * part;
    let bent = chord + width * bend;
    ((bent - low.place) * (high.place - bent)).choose(bent, chord)
}

/// The smallest eigenvalue at a logarithm of the temperature.
#[derive(Debug, Clone, Copy)]
struct End<T = f64> {
    place: T,
    eigenvalue: Slopes<1, T>,
}

impl End {
    fn numbers(&self) -> [f64; 3] {
        let [slope] = self.eigenvalue.slopes;
        [self.place, self.eigenvalue.value, slope]
    }
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
