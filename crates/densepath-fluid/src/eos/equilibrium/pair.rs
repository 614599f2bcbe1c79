//! The quick way to the phases of two substances of a cubic equation, taken only where it is clearly right.
//!
//! At given temperature and pressure the Gibbs energy of two substances is a curve over one amount fraction. It is computed with its
//! slope at compositions from one pure substance to the other; its lower hull shows which phases to expect (Michelsen and Mollerup,
//! Thermodynamic Models, 2nd ed. 2007, chapter 9). Newton's method in the logarithm of the ratio of the amounts finds the phases, and
//! the curve must lie above their common tangent: between two compositions by the cubic through the energies and slopes of both,
//! where two densities meet by both tangents, and towards a pure substance by the law of dilute solutions. What is not clear by a
//! margin, beside critical points, three phases and limits of stability, is left to the search of [`super::flash`] and
//! [`super::boundary`].

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::boundary::{Boundary, BoundaryKind, kind};
use super::flash::{Equilibrium, PhaseShare};
use crate::eos::cubic::{Compositions, CubicPair, POINTS, PairAt, PairPhase, Scan, compositions};
use crate::eos::mixture::{Branch, CriticalConstants};
use crate::num::Amounts;
use crate::num::lanes::{Kind, Task, run};
use crate::num::number::Number;

/// Smallest amount fraction of a substance for which this way is taken.
const SMALLEST: f64 = 1e-6;
/// Distance above the tangent plane, over RT, by which the curve is clear of it.
const MARGIN: f64 = 1e-3;
/// Distance from which it may rise on from one composition to the next.
const RISING: f64 = 1e-4;
/// Distance below it that rounding can feign beside a phase.
const ROUNDING: f64 = 1e-10;
/// Smallest stability against small changes of a phase that is clear of its limit, and of one whose sheet ends beside it.
const STABLE: f64 = 0.05;
const STABLE_BESIDE_END: f64 = 0.3;
/// Ratio of volumes beyond which two densities, each the only one of its composition, belong to different phases.
const ONE_DENSITY: f64 = 1.75;
/// How near a second density may be to being real between two compositions without one.
const NEARLY_TWO: f64 = 0.95;
/// Ratio of what two neighbours have of it beyond which the greater tells on which side there is most.
const EITHER: f64 = 0.9;
/// Ratio of the volumes of liquid and vapour that are clearly apart.
const APART: f64 = 1.25;
/// Share of the height above its tangent plane that the curve of an ideal mixture has, and of its stability, beyond which a phase is
/// far from parting.
const FAR: f64 = 0.1;
/// Share of the square of a dilute amount by which the law of dilute solutions may be off.
const DILUTE: f64 = 10.0;
/// Steps of Newton's method at most, the longest in the logarithms of a ratio and of a pressure, and the one after which the next
/// would be below the last digit.
const STEPS: u32 = 20;
const LONGEST: (f64, f64) = (1.5, 0.4);
const SETTLED: f64 = 1e-7;
/// Steps of substitution at most, and the change of the logarithm of the pressure at which Newton's method takes over.
const SUBSTITUTIONS: u32 = 8;
const NEAR: f64 = 0.05;

/// Amount fractions whose ratio is that of others times a factor.
fn turned([one, two]: [f64; 2], factor: f64) -> [f64; 2] {
    let sum = one + two * factor;
    [one / sum, two * factor / sum]
}

/// The fractions of two substances present in amounts for which this way is taken.
fn both(fractions: &[f64]) -> Option<[f64; 2]> {
    match fractions {
        [one, two] if *one > SMALLEST && *two > SMALLEST => Some([*one, *two]),
        _ => None,
    }
}

/// The phases of a mixture of given amount fractions at a pressure in Pa; nothing where they are not clear.
pub(super) fn phases(pair: &CubicPair, pressure: f64, fractions: &[f64]) -> Option<Equilibrium> {
    let feed = both(fractions)?;
    let at = pair.at(pressure);
    Some(Equilibrium {
        temperature: pair.temperature(),
        pressure,
        phases: run(Flash { at: &at, feed })?,
    })
}

/// The phases of a mixture, by rising density.
struct Flash<'a> {
    at: &'a PairAt,
    feed: [f64; 2],
}

impl Task for Flash<'_> {
    type Output = Option<Vec<PhaseShare>>;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Self::Output {
        let Self { at, feed } = self;
        let curve = Curve::new(kind, at)?;
        let (left, right) = curve.hull_over(kind, feed[1])?;
        if right == left + 1 {
            let whole = at.stable_phase(kind, feed)?;
            let is_clear = curve.is_above(kind, &[whole]);
            return is_clear.then(|| vec![share(at, &whole, 1.0)]);
        }
        let ends = [curve.near(left)?, curve.near(right)?];
        let phases = tie_line(kind, at, ends)?;
        let [one, other] = &phases;
        let width = other.fractions[1] - one.fractions[1];
        let shares = [
            (other.fractions[1] - feed[1]) / width,
            (feed[1] - one.fractions[1]) / width,
        ];
        let are_present = shares.iter().all(|share| *share > SMALLEST);
        if !are_present || !curve.is_above(kind, &phases) {
            return None;
        }
        let mut phases = vec![share(at, one, shares[0]), share(at, other, shares[1])];
        phases.sort_by(|a, b| a.molar_density.total_cmp(&b.molar_density));
        Some(phases)
    }
}

/// Whether a mixture of given amount fractions is one phase far from parting at a pressure in Pa, as it then is around that state:
/// all compositions lie above its tangent plane by more than a share of what they would in an ideal mixture.
pub(super) fn is_far_from_parting(pair: &CubicPair, pressure: f64, fractions: &[f64]) -> bool {
    let at = pair.at(pressure);
    both(fractions).is_some_and(|feed| run(Far { at: &at, feed }) == Some(true))
}

struct Far<'a> {
    at: &'a PairAt,
    feed: [f64; 2],
}

impl Task for Far<'_> {
    type Output = Option<bool>;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Self::Output {
        let curve = Curve::new(kind, self.at)?;
        let whole = self.at.stable_phase(kind, self.feed)?;
        let is_stable = whole.stability > FAR && curve.is_above(kind, &[whole]);
        Some(is_stable && curve.is_far_above(&whole))
    }
}

fn share(at: &PairAt, phase: &PairPhase, fraction: f64) -> PhaseShare {
    PhaseShare {
        fraction,
        fractions: Amounts::from_slice(&phase.fractions),
        molar_density: at.density(phase.fractions, phase.compression),
    }
}

/// Two phases of equal fugacities, from fractions and `y` near them.
///
/// The imbalances `r_i` change with both compositions by the curvatures H of their energies alone:
/// `dr = H_y (-y_2, y_1) dy - H_x (-x_2, x_1) dx`, which is solved in closed form.
#[inline(always)]
fn tie_line<K: Kind>(
    kind: K,
    at: &PairAt,
    [one, other]: [([f64; 2], f64); 2],
) -> Option<[PairPhase; 2]> {
    let mut phases = at.phases_near(kind, [one.0, other.0], [one.1, other.1])?;
    for _ in 0..STEPS {
        let [one, other] = &phases;
        let imbalance = difference(other.potentials(), one.potentials());
        let (x, y) = (one.fractions, other.fractions);
        let apart = y[1] - x[1];
        if one.stability <= 0.0 || other.stability <= 0.0 || apart <= 0.0 {
            return None;
        }
        let steps = [
            dot(y, imbalance) / (apart * one.stability),
            dot(x, imbalance) / (apart * other.stability),
        ];
        let longest = steps[0].abs().max(steps[1].abs());
        let share = (LONGEST.0 / longest).min(1.0);
        let [by_one, by_other] = exponentials(kind, steps.map(|step| share * step));
        let next = [turned(x, by_one), turned(y, by_other)];
        phases = at.phases_near(kind, next, [one.free, other.free])?;
        if longest < SETTLED {
            return Some(phases);
        }
    }
    None
}

/// The exponentials of two numbers.
#[inline(always)]
fn exponentials<K: Kind>(kind: K, numbers: [f64; 2]) -> [f64; 2] {
    let mut found = [0.0; 2];
    for from in (0..2).step_by(K::LANES) {
        kind.store(kind.load(&numbers[from..]).exp(), &mut found[from..]);
    }
    found
}

fn difference(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] - b[0], a[1] - b[1]]
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// The Gibbs energy over all compositions.
struct Curve {
    scan: Scan<POINTS>,
}

impl Curve {
    #[inline(always)]
    fn new<K: Kind>(kind: K, at: &PairAt) -> Option<Self> {
        Some(Self {
            scan: Scan::new(kind, at, &compositions().second)?,
        })
    }

    /// The compositions between which the lower hull of the curve spans an amount fraction of the second substance.
    #[inline(always)]
    fn hull_over<K: Kind>(&self, kind: K, fraction: f64) -> Option<(usize, usize)> {
        let all = compositions();
        let mut energies = [0.0; POINTS];
        for from in (0..POINTS).step_by(K::LANES) {
            let [one, other] = [0, 1].map(|k| &self.scan.sheets[k].energies[from..]);
            let (one, other) = (kind.load(one), kind.load(other));
            let ideal = kind.load(&all.ideal[from..]);
            kind.store(
                (other - one).choose(one, other) + ideal,
                &mut energies[from..],
            );
        }
        hull_over(&all.second, &energies, fraction)
    }

    /// A composition of the scan with its `y`; a pure substance stands for one that is nearly pure.
    fn near(&self, index: usize) -> Option<([f64; 2], f64)> {
        let all = compositions();
        let free = *self.scan.stable(index).free.get(index)?;
        let fractions = match index {
            0 => turned(*all.fractions.get(1)?, PURER),
            _ if index + 1 == POINTS => turned(*all.fractions.get(POINTS - 2)?, 1.0 / PURER),
            _ => *all.fractions.get(index)?,
        };
        Some((fractions, free))
    }

    /// Whether the whole curve lies above the tangent of a phase by more than a share of what it would in an ideal mixture.
    fn is_far_above(&self, phase: &PairPhase) -> bool {
        let all = compositions();
        let (potentials, ln_z) = (phase.potentials(), phase.fractions.map(Number::ln));
        let mut points = all.fractions.iter().zip(&all.logarithms).enumerate();
        points.all(|(place, (x, ln_x))| {
            let energy = self.scan.stable(place).energies[place];
            let height = energy + dot(*x, difference(*ln_x, potentials));
            height > FAR * dot(*x, difference(*ln_x, ln_z)) - ROUNDING
        })
    }

    /// Whether the whole curve lies clearly above the tangent of phases in equilibrium, which are stable at its touching points.
    #[inline(always)]
    fn is_above<K: Kind>(&self, kind: K, phases: &[PairPhase]) -> bool {
        let Some(potentials) = phases.first().map(PairPhase::potentials) else {
            return false;
        };
        let heights = Heights::new(kind, &self.scan, potentials);
        let are_clear = heights.are_clear_by_corners(kind);
        heights.leave_only(phases, &are_clear)
    }
}

/// Between which of several points the lower hull of all spans a place.
fn hull_over(
    places: &[f64; POINTS],
    energies: &[f64; POINTS],
    sought: f64,
) -> Option<(usize, usize)> {
    let mut hull = [0; POINTS];
    let mut count = 0;
    for (index, (x, g)) in places.iter().zip(energies).enumerate() {
        while let [.., a, b] = hull[..count] {
            let ([x_a, x_b], [g_a, g_b]) = ([places[a], places[b]], [energies[a], energies[b]]);
            if (g_b - g_a) * (x - x_a) < (g - g_a) * (x_b - x_a) {
                break;
            }
            count -= 1;
        }
        hull[count] = index;
        count += 1;
    }
    let hull = &hull[..count];
    let right = hull.iter().position(|index| places[*index] >= sought)?;
    Some((hull[right.checked_sub(1)?], hull[right]))
}

/// The top of the parabola through three equidistant values of which the middle one is the greatest.
fn peak([before, here, after]: [f64; 3]) -> f64 {
    let bend = 2.0 * here - before - after;
    let tilt = after - before;
    if bend > 0.0 {
        here + tilt * tilt / (8.0 * bend)
    } else {
        here
    }
}

/// Ratio of the amounts of a nearly pure substance over those of the first composition beside it.
const PURER: f64 = 0.3;

/// One sheet of the curve above a tangent plane at one composition.
#[derive(Debug, Clone, Copy)]
struct Height {
    value: f64,
    /// Its slope in the second amount fraction, and the part of it without ideal mixing.
    slope: f64,
    residual_slope: f64,
    /// Compression factor.
    volume: f64,
}

impl Height {
    fn is_near(&self, volume: f64) -> bool {
        let ratio = self.volume / volume;
        (1.0 / ONE_DENSITY..ONE_DENSITY).contains(&ratio)
    }
}

/// The curve above a tangent plane at all compositions.
struct Heights<'a> {
    all: &'static Compositions,
    scan: &'a Scan<POINTS>,
    /// Of both sheets.
    values: [[f64; POINTS]; 2],
    slopes: [[f64; POINTS]; 2],
}

/// A sheet from one composition to the next, at both ends or as far as it reaches.
type Chain = [Option<Height>; 2];

impl<'a> Heights<'a> {
    #[inline(always)]
    fn new<K: Kind>(kind: K, scan: &'a Scan<POINTS>, potentials: [f64; 2]) -> Self {
        let all = compositions();
        let mut heights = Self {
            all,
            scan,
            values: [[0.0; POINTS]; 2],
            slopes: [[0.0; POINTS]; 2],
        };
        let (level, tilt) = (
            kind.splat(potentials[0]),
            kind.splat(potentials[0] - potentials[1]),
        );
        for from in (0..POINTS).step_by(K::LANES) {
            let plane = kind.load(&all.second[from..]) * tilt - level;
            let above = kind.load(&all.ideal[from..]) + plane;
            let rise = kind.load(&all.ideal_slopes[from..]) + tilt;
            for (k, sheets) in scan.sheets.iter().enumerate() {
                let value = kind.load(&sheets.energies[from..]) + above;
                let slope = kind.load(&sheets.slopes[from..]) + rise;
                kind.store(value, &mut heights.values[k][from..]);
                kind.store(slope, &mut heights.slopes[k][from..]);
            }
        }
        heights
    }

    /// For each composition a positive number if both sheets, or the only one, stay off the plane by the corners of the cubic from
    /// there to the next.
    #[inline(always)]
    fn are_clear_by_corners<K: Kind>(&self, kind: K) -> [f64; POINTS] {
        let mut found = [0.0; POINTS];
        let no = kind.splat(-1.0);
        for low in (0..POINTS - 1).step_by(K::LANES) {
            let (ends, third) = (
                [low, low + 1],
                kind.load(&self.all.widths[low..]).times(1.0 / 3.0),
            );
            let mut is_clear = self.has_same_sheets(kind, low);
            for k in 0..2 {
                let (values, slopes) = (&self.values[k], &self.slopes[k]);
                let (from, to) = (kind.load(&values[ends[0]..]), kind.load(&values[ends[1]..]));
                let (rise, fall) = (kind.load(&slopes[ends[0]..]), kind.load(&slopes[ends[1]..]));
                for corner in [from, from + rise * third, to - fall * third, to] {
                    is_clear = corner.plus(-MARGIN).choose(is_clear, no);
                }
            }
            kind.store(is_clear, &mut found[low..]);
        }
        found
    }

    /// Positive numbers for compositions that have as many sheets as the next: one, of about one density at both, or two.
    #[inline(always)]
    fn has_same_sheets<K: Kind>(&self, kind: K, low: usize) -> K::Number {
        let (others, volumes) = (&self.scan.others, &self.scan.sheets[0].compressions);
        let (one, next) = (kind.load(&others[low..]), kind.load(&others[low + 1..]));
        let (v, w) = (kind.load(&volumes[low..]), kind.load(&volumes[low + 1..]));
        // Negative where there are two sheets; infinitely so.
        let (one, next) = (kind.splat(1.0) - one, kind.splat(1.0) - next);
        let is_near = (v.times(ONE_DENSITY) - w) * (w.times(ONE_DENSITY) - v);
        (one * next).choose(one.choose(is_near, kind.splat(1.0)), kind.splat(-1.0))
    }

    /// Whether the curve touches the plane at some phases and nowhere else; between some compositions it is known to be clear of it.
    fn leave_only(&self, phases: &[PairPhase], are_clear: &[f64; POINTS]) -> bool {
        let second = &self.all.second;
        // The place of each phase among the intervals; no two of them in one.
        let mut places = [POINTS; 2];
        for (place, phase) in places.iter_mut().zip(phases) {
            let beyond = second.iter().position(|x| *x > phase.fractions[1]);
            *place = beyond.map_or(POINTS, |beyond| beyond.wrapping_sub(1));
        }
        let doubtful = doubtful(&self.scan.others);
        places[0] != places[1]
            && (0..POINTS - 1).all(|place| {
                let phase = places.iter().position(|holds| *holds == place);
                let is_mixed = place > 0 && place + 2 < POINTS;
                let is_clear = is_mixed && !doubtful[place] && are_clear[place] > 0.0;
                is_clear && phase.is_none()
                    || self.is_clear(
                        place,
                        places,
                        phase.and_then(|k| phases.get(k)),
                        doubtful[place],
                    )
            })
    }

    /// Whether the curve stays off the plane from a composition to the next but at a phase in between.
    fn is_clear(
        &self,
        place: usize,
        [one, other]: [usize; 2],
        phase: Option<&PairPhase>,
        is_doubtful: bool,
    ) -> bool {
        let all = &self.all.fractions;
        let holds = |place: usize| one == place || other == place;
        let interval = Interval {
            fractions: [all[place], all[place + 1]],
            is_beside: [holds(place.wrapping_sub(1)), holds(place + 1)],
        };
        // Mostly there is one density at both ends.
        if phase.is_none()
            && let Some([low, high]) = self.alone(place, is_doubtful)
        {
            return interval.is_clear_between(&low, &high);
        }
        let Some(chains) = self.chains(place, is_doubtful) else {
            return false;
        };
        match phase {
            Some(phase) => interval.is_touched(chains, phase),
            None => chains.iter().flatten().all(|c| interval.is_clear(c)),
        }
    }

    /// The only sheet at a composition and at the next, of which neither is a pure substance.
    fn alone(&self, place: usize, is_doubtful: bool) -> Option<[Height; 2]> {
        let is_mixed = place > 0 && place + 2 < POINTS;
        let is_lone = self.scan.is_lone(place) && self.scan.is_lone(place + 1);
        if !is_mixed || !is_lone || is_doubtful {
            return None;
        }
        let ends = [self.at(place, 0), self.at(place + 1, 0)];
        ends[0].is_near(ends[1].volume).then_some(ends)
    }

    /// A sheet at a composition.
    fn at(&self, place: usize, k: usize) -> Height {
        Height {
            value: self.values[k][place],
            slope: self.slopes[k][place],
            residual_slope: self.slopes[k][place] - self.all.ideal_slopes[place],
            volume: self.scan.sheets[k].compressions[place],
        }
    }

    /// The sheets between a composition and the next; nothing where another may lie unseen.
    fn chains(&self, place: usize, is_doubtful: bool) -> Option<[Option<Chain>; 2]> {
        let [a, b] = [self.at(place, 0), self.at(place, 1)];
        let [c, d] = [self.at(place + 1, 0), self.at(place + 1, 1)];
        let nearer = |one: Height, other: Height, to: Height| {
            (one.volume * other.volume < to.volume * to.volume) == (one.volume < other.volume)
        };
        let (lonely, both) = (
            |one| Some([Some(one), None]),
            |one, other| Some([Some(one), Some(other)]),
        );
        Some(
            match (self.scan.is_lone(place), self.scan.is_lone(place + 1)) {
                (true, true) if a.is_near(c.volume) => {
                    if is_doubtful {
                        return None;
                    }
                    [both(a, c), None]
                }
                (true, true) => [lonely(a), Some([None, Some(c)])],
                (false, false) => [both(a, c), both(b, d)],
                (false, true) if nearer(a, b, c) => [both(b, c), lonely(a)],
                (false, true) => [both(a, c), lonely(b)],
                (true, false) if nearer(c, d, a) => [both(a, d), Some([None, Some(c)])],
                (true, false) => [both(a, c), Some([None, Some(d)])],
            },
        )
    }
}

/// Whether a second density may be real between a composition and the next though it is so at neither, by how near it is to being so at
/// all of them.
fn doubtful(others: &[f64; POINTS]) -> [bool; POINTS] {
    let mut found = [false; POINTS];
    for (place, window) in others.windows(3).enumerate() {
        let &[before, here, after] = window else {
            continue;
        };
        // A parabola rises above its greatest of three values by an eighth of that at most.
        let may_be = here > NEARLY_TWO / 1.125 && here >= before && here >= after;
        if may_be && peak([before, here, after]) > NEARLY_TWO {
            // The peak lies on the side of the greater neighbour, or on either side.
            found[place] |= before > EITHER * after;
            found[place + 1] |= after > EITHER * before;
        }
    }
    found
}

/// Two neighbouring compositions.
struct Interval {
    fractions: [[f64; 2]; 2],
    /// Whether a phase lies just beyond either end.
    is_beside: [bool; 2],
}

impl Interval {
    /// Whether the curve touches the plane nowhere but at a phase in between.
    fn is_touched(&self, chains: [Option<Chain>; 2], phase: &PairPhase) -> bool {
        let distance = |chain: &Option<Chain>| {
            let ends = chain.iter().flatten().flatten();
            let ratios = ends.map(|end| end.volume / phase.compression);
            ratios.fold(f64::INFINITY, |least, ratio| {
                least.min(ratio.max(1.0 / ratio))
            })
        };
        let [one, other] = &chains;
        let (own, rest) = if distance(one) <= distance(other) {
            (one, other)
        } else {
            (other, one)
        };
        own.as_ref().is_some_and(|own| self.is_bowl(own, phase))
            && rest.iter().all(|rest| self.is_clear(rest))
    }

    fn width(&self) -> f64 {
        let [low, high] = self.fractions;
        high[1] - low[1]
    }

    /// Whether a sheet stays off the plane all the way.
    fn is_clear(&self, chain: &Chain) -> bool {
        let [low, high] = self.fractions;
        match chain {
            [Some(pure), other] if low[1] == 0.0 => {
                let e = pure.value + pure.residual_slope;
                self.is_clear_of_traces(pure, e, other.as_ref(), [1.0, high[1]])
            }
            [other, Some(pure)] if high[0] == 0.0 => {
                let e = pure.value - pure.residual_slope;
                self.is_clear_of_traces(pure, e, other.as_ref(), [0.0, low[0]])
            }
            [Some(low), Some(high)] => self.is_clear_between(low, high),
            [Some(low), None] => self.is_clear_onwards(low.value, low.slope, self.is_beside[0]),
            [None, Some(high)] => self.is_clear_onwards(high.value, -high.slope, self.is_beside[1]),
            [None, None] => true,
        }
    }

    /// By the straight continuation of a sheet that ends before the next composition, from a value with a rise.
    fn is_clear_onwards(&self, value: f64, rise: f64, is_beside: bool) -> bool {
        let onwards = value + rise * self.width();
        let leaves_phase = is_beside && value > -ROUNDING && rise > 0.0 && onwards > RISING;
        leaves_phase || value > MARGIN && onwards > MARGIN
    }

    /// At a pure substance: with a trace of the other the curve is `D + x (ln x + e - 1)`, least where `ln x = -e`.
    fn is_clear_of_traces(
        &self,
        pure: &Height,
        e: f64,
        other: Option<&Height>,
        [side, reach]: [f64; 2],
    ) -> bool {
        let is_other_clear = other.is_none_or(|other| {
            let [is_beside, rise] = if side == 1.0 {
                [self.is_beside[1], other.slope < 0.0]
            } else {
                [self.is_beside[0], other.slope > 0.0]
            };
            other.value > MARGIN || is_beside && rise && other.value > -ROUNDING
        });
        let trace = Number::exp(-e);
        let slack = MARGIN + DILUTE * trace * trace;
        is_other_clear && (trace >= reach || pure.value - trace > slack)
    }

    /// By the corners of the cubic through energies and slopes of both ends.
    fn is_clear_between(&self, low: &Height, high: &Height) -> bool {
        let third = self.width() / 3.0;
        let (one, other) = (
            low.value + low.slope * third,
            high.value - high.slope * third,
        );
        let corners = [low.value, one, other, high.value];
        if corners.iter().all(|corner| *corner > MARGIN) {
            return true;
        }
        // Where it rises all the way from beside a phase, the curve begins on the plane.
        let least = |is_beside: bool| if is_beside { -ROUNDING } else { RISING };
        let [left, right] = self.is_beside;
        if low.value > least(left) && corners.is_sorted() {
            return true;
        }
        if high.value > least(right) && corners.is_sorted_by(|a, b| a >= b) {
            return true;
        }
        let is_clear = |value: f64, inner: f64, rise: f64, is_beside: bool| {
            let is_high = value > MARGIN && inner > MARGIN;
            is_high || is_beside && value > -ROUNDING && rise > 0.0
        };
        is_clear(low.value, one, low.slope, left) && is_clear(high.value, other, -high.slope, right)
    }

    /// Whether a sheet touches the plane nowhere but at a phase in between.
    fn is_bowl(&self, chain: &Chain, phase: &PairPhase) -> bool {
        let (width, [x_low, x_high]) = (self.width(), self.fractions);
        let is_pure = [x_low[1] == 0.0, x_high[0] == 0.0];
        let mut needed = STABLE;
        for ((end, away), is_pure) in chain.iter().zip([-1.0, 1.0]).zip(is_pure) {
            let Some(end) = end else {
                needed = STABLE_BESIDE_END;
                continue;
            };
            let rises = is_pure || away * end.slope > 0.0;
            if rises && end.value > -ROUNDING && end.is_near(phase.compression) {
                continue;
            }
            let continued = end.value - away * end.slope * width;
            if is_pure || end.value < MARGIN || continued < MARGIN {
                return false;
            }
            needed = STABLE_BESIDE_END;
        }
        phase.stability > needed
    }
}

/// The boundary of a kind at which a mixture of given amount fractions begins to part; nothing where it is not clear.
pub(super) fn boundary(
    pair: &CubicPair,
    constants: [CriticalConstants; 2],
    fractions: &[f64],
    kind_wanted: BoundaryKind,
) -> Option<Boundary> {
    let feed = both(fractions)?;
    let Parting {
        at,
        pressure,
        phases,
    } = run(Start {
        pair,
        constants,
        feed,
        wanted: kind_wanted,
    })?;
    let density = |phase: &PairPhase| at.density(phase.fractions, phase.compression);
    let [molar_density, incipient_molar_density] = phases.each_ref().map(density);
    (kind(molar_density, incipient_molar_density) == kind_wanted).then(|| Boundary {
        kind: kind_wanted,
        temperature: pair.temperature(),
        pressure,
        molar_density,
        incipient_fractions: Amounts::from_slice(&phases[1].fractions),
        incipient_molar_density,
    })
}

/// From where the boundary of a mixture is sought.
struct Start<'a> {
    pair: &'a CubicPair,
    constants: [CriticalConstants; 2],
    feed: [f64; 2],
    wanted: BoundaryKind,
}

impl Task for Start<'_> {
    type Output = Option<Parting>;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Self::Output {
        let found = self.substituted(kind)?.newton(kind, self.pair)?;
        found.is_real(kind).then_some(found)
    }
}

impl Start<'_> {
    /// From an ideal mixture with the vapour pressures of Wilson's equation, refined by substitution.
    #[inline(always)]
    fn substituted<K: Kind>(&self, kind: K) -> Option<Parting> {
        let (feed, temperature) = (self.feed, self.pair.temperature());
        let exponents = self.constants.map(|critical| {
            5.373 * (1.0 + critical.acentric_factor) * (1.0 - critical.temperature / temperature)
        });
        let [p_one, p_two] = self.constants.map(|critical| critical.pressure);
        let [one, two] = exponentials(kind, exponents);
        let [one, two] = [p_one * one, p_two * two];
        let (branches, pressure, ratio) = match self.wanted {
            BoundaryKind::Bubble => (
                [Branch::Liquid, Branch::Vapour],
                dot(feed, [one, two]),
                two / one,
            ),
            BoundaryKind::Dew => (
                [Branch::Vapour, Branch::Liquid],
                1.0 / (feed[0] / one + feed[1] / two),
                one / two,
            ),
        };
        let mut place = Parting::on(
            kind,
            self.pair,
            pressure,
            [feed, turned(feed, ratio)],
            branches,
        )?;
        for _ in 0..SUBSTITUTIONS {
            let [whole, incipient] = &place.phases;
            let ratios = difference(whole.ln_coefficients, incipient.ln_coefficients);
            let ratios = exponentials(kind, ratios);
            let amounts = [feed[0] * ratios[0], feed[1] * ratios[1]];
            let sum = amounts[0] + amounts[1];
            let change = match self.wanted {
                BoundaryKind::Bubble => Number::ln(sum),
                BoundaryKind::Dew => -Number::ln(sum),
            };
            let pressure = place.pressure * Number::exp(change.clamp(-0.5, 0.5));
            let next = amounts.map(|amount| amount / sum);
            place = Parting::on(kind, self.pair, pressure, [feed, next], branches)?;
            if change.abs() < NEAR {
                break;
            }
        }
        Some(place)
    }
}

/// A mixture with the first of another phase.
struct Parting {
    at: PairAt,
    pressure: f64,
    /// The mixture and the other phase.
    phases: [PairPhase; 2],
}

impl Parting {
    #[inline(always)]
    fn on<K: Kind>(
        kind: K,
        pair: &CubicPair,
        pressure: f64,
        fractions: [[f64; 2]; 2],
        branches: [Branch; 2],
    ) -> Option<Self> {
        let at = pair.at(pressure);
        let phases = at.phases_on(kind, fractions, branches)?;
        Some(Self {
            at,
            pressure,
            phases,
        })
    }

    /// Newton's method: the imbalances change with the pressure by the partial molar volumes, and with the composition of the first of
    /// the other phase as those of [`tie_line`].
    #[inline(always)]
    fn newton<K: Kind>(mut self, kind: K, pair: &CubicPair) -> Option<Self> {
        for _ in 0..STEPS {
            let [whole, incipient] = &self.phases;
            let imbalance = difference(incipient.potentials(), whole.potentials());
            let volumes = difference(incipient.volumes, whole.volumes);
            let y = incipient.fractions;
            let ahead = -dot(y, imbalance) / dot(y, volumes);
            let left = imbalance[0] - imbalance[1] + (volumes[0] - volumes[1]) * ahead;
            let step = left / incipient.stability;
            if incipient.stability <= 0.0 || !(step.is_finite() && ahead.is_finite()) {
                return None;
            }
            let longest = (step / LONGEST.0).abs().max((ahead / LONGEST.1).abs());
            let share = 1.0 / longest.max(1.0);
            let [by_pressure, by_ratio] = exponentials(kind, [share * ahead, share * step]);
            self.pressure *= by_pressure;
            self.at = pair.at(self.pressure);
            let next = [whole.fractions, turned(y, by_ratio)];
            let guesses = [whole, incipient].map(|phase| phase.free_at(share * ahead));
            self.phases = self.at.phases_near(kind, next, guesses)?;
            if step.abs().max(ahead.abs()) < SETTLED {
                return Some(self);
            }
        }
        None
    }

    /// Whether the phases are liquid and vapour, and no others have a smaller energy.
    #[inline(always)]
    fn is_real<K: Kind>(&self, kind: K) -> bool {
        let [whole, incipient] = &self.phases;
        let ratio = whole.compression / incipient.compression;
        let are_liquid_and_vapour = !(1.0 / APART..APART).contains(&ratio);
        are_liquid_and_vapour
            && self.at.is_stable_root(whole)
            && self.at.is_stable_root(incipient)
            && Curve::new(kind, &self.at).is_some_and(|curve| curve.is_above(kind, &self.phases))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::eos::equilibrium::Given;
    use crate::eos::equilibrium::boundary::searched_boundary;
    use crate::eos::equilibrium::flash::searched;
    use crate::eos::equilibrium::samples::binary;
    use crate::eos::mixture::MixtureModel;
    use core::sync::atomic::{AtomicU32, Ordering::Relaxed};
    use proptest::prelude::*;

    const CASES: u32 = 4000;

    fn close(a: f64, b: f64) -> bool {
        (a - b).abs() < 1e-8 * (1.0 + b.abs())
    }

    /// What is clear is what the search finds, and most is clear.
    #[test]
    fn clear_phases_are_those_of_the_search() {
        let clear = AtomicU32::new(0);
        let config = ProptestConfig::with_cases(CASES);
        let states = (binary(), 200.0..600.0f64, 4.0..7.9f64, 0.001..0.999f64);
        proptest!(config, |((model, temperature, log_pressure, z) in states)| {
            let (pressure, feed) = (10f64.powf(log_pressure), [1.0 - z, z]);
            let pair = model.cubic_pair(temperature).unwrap();
            if let Some(found) = phases(&pair, pressure, &feed) {
                let other = searched(&model, temperature, pressure, &feed).unwrap();
                prop_assert_eq!(found.phases.len(), other.phases.len());
                for (a, b) in found.phases.iter().zip(&other.phases) {
                    let alike = close(a.fraction, b.fraction)
                        && close(a.fractions[1], b.fractions[1])
                        && close(a.molar_density / b.molar_density, 1.0);
                    prop_assert!(alike, "{found:?} {other:?}");
                }
                clear.fetch_add(1, Relaxed);
            }
        });
        assert!(clear.into_inner() > CASES * 9 / 10);
    }

    /// As above, of the first bubble or drop; where estimates of the search lead nowhere, the phases on both sides tell.
    #[test]
    fn clear_boundaries_are_those_of_the_search() {
        let clear = AtomicU32::new(0);
        let config = ProptestConfig::with_cases(CASES / 2);
        let states = (binary(), 200.0..600.0f64, 0.001..0.999f64, any::<bool>());
        proptest!(config, |((model, temperature, z, is_bubble) in states)| {
            let kind = if is_bubble { BoundaryKind::Bubble } else { BoundaryKind::Dew };
            let feed = [1.0 - z, z];
            let pair = model.cubic_pair(temperature).unwrap();
            let constants = [0, 1].map(|index| model.critical_constants(index));
            let Some(found) = boundary(&pair, constants, &feed, kind) else {
                return Ok(());
            };
            clear.fetch_add(1, Relaxed);
            let given = Given::Temperature(temperature);
            if let Some(other) = searched_boundary(&model, given, &feed, kind).unwrap() {
                let alike = close(found.pressure / other.pressure, 1.0)
                    && close(found.incipient_fractions[1], other.incipient_fractions[1]);
                prop_assert!(alike || found.pressure < other.pressure, "{found:?} {other:?}");
            } else if found.pressure > 1.0 {
                let count = |pressure| searched(&model, temperature, pressure, &feed).unwrap().phases.len();
                let sides = [count(found.pressure * (1.0 - 1e-4)), count(found.pressure * (1.0 + 1e-4))];
                prop_assert!(sides == [1, 2] || sides == [2, 1], "{found:?} {sides:?}");
            }
        });
        assert!(clear.into_inner() > CASES / 8);
    }
}
