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
use crate::eos::cubic::{CubicPair, POINTS, PairAt, PairPhase, Sample, Sheet, compositions};
use crate::eos::mixture::{Branch, CriticalConstants};
use crate::num::Amounts;

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
    let curve = Curve { scan: at.scan()? };
    let (left, right) = curve.hull_over(feed[1])?;
    let phases = if right == left + 1 {
        let whole = at.phase(feed, Branch::Stable)?;
        if !curve.is_above(&[whole]) {
            return None;
        }
        vec![share(&at, &whole, 1.0)]
    } else {
        let (one, other) = tie_line(&at, curve.near(left)?, curve.near(right)?)?;
        let width = other.fractions[1] - one.fractions[1];
        let shares = [
            (other.fractions[1] - feed[1]) / width,
            (feed[1] - one.fractions[1]) / width,
        ];
        let are_present = shares.iter().all(|share| *share > SMALLEST);
        if !are_present || !curve.is_above(&[one, other]) {
            return None;
        }
        let mut phases = vec![share(&at, &one, shares[0]), share(&at, &other, shares[1])];
        phases.sort_by(|a, b| a.molar_density.total_cmp(&b.molar_density));
        phases
    };
    Some(Equilibrium {
        temperature: pair.temperature(),
        pressure,
        phases,
    })
}

/// Whether a mixture of given amount fractions is one phase far from parting at a pressure in Pa, as it then is around that state:
/// all compositions lie above its tangent plane by more than a share of what they would in an ideal mixture.
pub(super) fn is_far_from_parting(pair: &CubicPair, pressure: f64, fractions: &[f64]) -> bool {
    let is_far = || {
        let feed = both(fractions)?;
        let at = pair.at(pressure);
        let curve = Curve { scan: at.scan()? };
        let whole = at.phase(feed, Branch::Stable)?;
        let is_stable = whole.stability > FAR && curve.is_above(&[whole]);
        Some(is_stable && curve.is_far_above(&whole))
    };
    is_far() == Some(true)
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
fn tie_line(
    at: &PairAt,
    one: ([f64; 2], f64),
    other: ([f64; 2], f64),
) -> Option<(PairPhase, PairPhase)> {
    let mut one = at.phase_near(one.0, one.1)?;
    let mut other = at.phase_near(other.0, other.1)?;
    for _ in 0..STEPS {
        let imbalance = difference(other.potentials(), one.potentials());
        let weighed = |phase: &PairPhase| dot(phase.fractions, imbalance);
        let (x, y) = (one.fractions, other.fractions);
        let apart = y[1] - x[1];
        if one.stability <= 0.0 || other.stability <= 0.0 || apart <= 0.0 {
            return None;
        }
        let steps = [
            weighed(&other) / (apart * one.stability),
            weighed(&one) / (apart * other.stability),
        ];
        let longest = steps[0].abs().max(steps[1].abs());
        let share = (LONGEST.0 / longest).min(1.0);
        let [x, y] =
            [(x, steps[0]), (y, steps[1])].map(|(x, step)| turned(x, (share * step).exp()));
        one = at.phase_near(x, one.free)?;
        other = at.phase_near(y, other.free)?;
        if longest < SETTLED {
            return Some((one, other));
        }
    }
    None
}

fn difference(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] - b[0], a[1] - b[1]]
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// The Gibbs energy over all compositions.
struct Curve {
    scan: Vec<Sample>,
}

impl Curve {
    /// The compositions between which the lower hull of the curve spans an amount fraction of the second substance.
    fn hull_over(&self, fraction: f64) -> Option<(usize, usize)> {
        let all = compositions();
        let mut hull = [(0, 0.0, 0.0); POINTS];
        let mut count = 0;
        let points = self.scan.iter().zip(&all.fractions).zip(&all.logarithms);
        for (index, ((sample, x), ln_x)) in points.enumerate() {
            let (x, g) = (x[1], sample.stable().energy + dot(*x, *ln_x));
            while let [.., (_, x_a, g_a), (_, x_b, g_b)] = hull[..count] {
                if (g_b - g_a) * (x - x_a) < (g - g_a) * (x_b - x_a) {
                    break;
                }
                count -= 1;
            }
            hull[count] = (index, x, g);
            count += 1;
        }
        let right = hull[..count].iter().position(|(_, x, _)| *x >= fraction)?;
        let left = right.checked_sub(1)?;
        Some((hull.get(left)?.0, hull.get(right)?.0))
    }

    /// A composition of the scan with its `y`; a pure substance stands for one that is nearly pure.
    fn near(&self, index: usize) -> Option<([f64; 2], f64)> {
        let all = compositions();
        let free = self.scan.get(index)?.stable().free;
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
        let (potentials, ln_z) = (phase.potentials(), phase.fractions.map(f64::ln));
        let mut points = self.scan.iter().zip(&all.fractions).zip(&all.logarithms);
        points.all(|((sample, x), ln_x)| {
            let height = sample.stable().energy + dot(*x, difference(*ln_x, potentials));
            height > FAR * dot(*x, difference(*ln_x, ln_z)) - ROUNDING
        })
    }

    /// Whether the whole curve lies clearly above the tangent of phases in equilibrium, which are stable at its touching points.
    fn is_above(&self, phases: &[PairPhase]) -> bool {
        let Some(potentials) = phases.first().map(PairPhase::potentials) else {
            return false;
        };
        let all = compositions();
        let points = self.scan.iter().zip(&all.fractions).zip(&all.logarithms);
        let mut heights: Vec<Heights> = points
            .map(|((sample, x), ln_x)| Heights::new(sample, *x, *ln_x, potentials))
            .collect();
        let neighbours = self.scan.windows(3).enumerate();
        for (place, window) in neighbours {
            let [before, here, after] = [0, 1, 2].map(|index| window[index].others);
            if here >= before && here >= after && peak([before, here, after]) > NEARLY_TWO {
                // The peak lies on the side of the greater neighbour, or on either side.
                heights[place].is_doubtful |= before > EITHER * after;
                heights[place + 1].is_doubtful |= after > EITHER * before;
            }
        }
        // The place of each phase among the intervals; no two of them in one.
        let mut places = [POINTS; 2];
        for (place, phase) in places.iter_mut().zip(phases) {
            let beyond = all.fractions.iter().position(|x| x[1] > phase.fractions[1]);
            *place = beyond.map_or(POINTS, |beyond| beyond.wrapping_sub(1));
        }
        if places[0] == places[1] {
            return false;
        }
        heights.windows(2).enumerate().all(|(place, ends)| {
            let [low, high] = ends else {
                return false;
            };
            let [one, other] = places;
            let holds = |place: usize| one == place || other == place;
            let interval = Interval {
                fractions: [low.fractions, high.fractions],
                is_beside: [holds(place.wrapping_sub(1)), holds(place + 1)],
            };
            if holds(place) {
                let phase = if one == place {
                    phases.first()
                } else {
                    phases.last()
                };
                let chains = low.chains(high).zip(phase);
                return chains.is_some_and(|(chains, phase)| interval.is_touched(chains, phase));
            }
            // Mostly there is one density at both ends.
            if let Some([low, high]) = low.alone_with(high) {
                return interval.is_clear_between(low, high);
            }
            let chains = low.chains(high);
            chains.is_some_and(|chains| chains.iter().flatten().all(|c| interval.is_clear(c)))
        })
    }
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

/// Both sheets of the curve above a tangent plane at one composition.
#[derive(Debug, Clone, Copy)]
struct Heights {
    fractions: [f64; 2],
    sheets: [Height; 2],
    is_lone: bool,
    /// Whether a second density may be real between this composition and the next though it is so at neither.
    is_doubtful: bool,
}

/// A sheet from one composition to the next, at both ends or as far as it reaches.
type Chain = [Option<Height>; 2];

impl Heights {
    fn new(sample: &Sample, x: [f64; 2], ln_x: [f64; 2], potentials: [f64; 2]) -> Self {
        let ideal = dot(x, difference(ln_x, potentials));
        let tilt = potentials[0] - potentials[1];
        let height = |sheet: &Sheet| Height {
            value: sheet.energy + ideal,
            slope: sheet.slope + tilt + ln_x[1] - ln_x[0],
            residual_slope: sheet.slope + tilt,
            volume: sheet.compression,
        };
        let [liquid, vapour] = &sample.sheets;
        let (is_lone, first) = (sample.is_lone(), height(liquid));
        Self {
            fractions: x,
            sheets: [first, if is_lone { first } else { height(vapour) }],
            is_lone,
            is_doubtful: false,
        }
    }

    /// The only sheet of both where neither is a pure substance.
    fn alone_with<'h>(&'h self, next: &'h Self) -> Option<[&'h Height; 2]> {
        let [low, high] = [&self.sheets[0], &next.sheets[0]];
        let is_alone = self.is_lone && next.is_lone && !self.is_doubtful;
        let is_mixed = self.fractions[1] > 0.0 && next.fractions[0] > 0.0;
        (is_alone && is_mixed && low.is_near(high.volume)).then_some([low, high])
    }

    /// The sheets between this composition and the next; nothing where another may lie unseen.
    fn chains(&self, next: &Self) -> Option<[Option<Chain>; 2]> {
        let ([a, b], [c, d]) = (self.sheets, next.sheets);
        let nearer = |one: Height, other: Height, to: Height| {
            (one.volume * other.volume < to.volume * to.volume) == (one.volume < other.volume)
        };
        let (lonely, both) = (
            |one| Some([Some(one), None]),
            |one, other| Some([Some(one), Some(other)]),
        );
        Some(match (self.is_lone, next.is_lone) {
            (true, true) if a.is_near(c.volume) => {
                if self.is_doubtful {
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
        })
    }
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
            let volumes = ends.map(|end| (end.volume / phase.compression).ln().abs());
            volumes.fold(f64::INFINITY, f64::min)
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
        let trace = (-e).exp();
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
    let found = Parting::solve(pair, constants, feed, kind_wanted)?;
    let Parting {
        at,
        pressure,
        whole,
        incipient,
    } = found;
    let density = |phase: &PairPhase| at.density(phase.fractions, phase.compression);
    let (molar_density, incipient_molar_density) = (density(&whole), density(&incipient));
    let ratio = whole.compression / incipient.compression;
    let are_liquid_and_vapour = !(1.0 / APART..APART).contains(&ratio);
    let is_real = are_liquid_and_vapour
        && kind(molar_density, incipient_molar_density) == kind_wanted
        && at.is_stable_root(&whole)
        && at.is_stable_root(&incipient)
        && Curve { scan: at.scan()? }.is_above(&[whole, incipient]);
    is_real.then(|| Boundary {
        kind: kind_wanted,
        temperature: pair.temperature(),
        pressure,
        molar_density,
        incipient_fractions: Amounts::from_slice(&incipient.fractions),
        incipient_molar_density,
    })
}

/// A mixture with the first of another phase.
struct Parting {
    at: PairAt,
    pressure: f64,
    whole: PairPhase,
    incipient: PairPhase,
}

impl Parting {
    /// Newton's method from an ideal mixture with the vapour pressures of Wilson's equation, refined by substitution.
    fn solve(
        pair: &CubicPair,
        constants: [CriticalConstants; 2],
        feed: [f64; 2],
        kind: BoundaryKind,
    ) -> Option<Self> {
        let vapour_pressures = constants.map(|critical| {
            let exponent = 5.373
                * (1.0 + critical.acentric_factor)
                * (1.0 - critical.temperature / pair.temperature());
            critical.pressure * exponent.exp()
        });
        let [one, two] = vapour_pressures;
        let (branches, pressure, ratio) = match kind {
            BoundaryKind::Bubble => (
                (Branch::Liquid, Branch::Vapour),
                dot(feed, vapour_pressures),
                two / one,
            ),
            BoundaryKind::Dew => (
                (Branch::Vapour, Branch::Liquid),
                1.0 / (feed[0] / one + feed[1] / two),
                one / two,
            ),
        };
        let mut place = Self::at_branches(pair, pressure, (feed, turned(feed, ratio)), branches)?;
        for _ in 0..SUBSTITUTIONS {
            let (whole, incipient) = (&place.whole, &place.incipient);
            let ratios = difference(whole.ln_coefficients, incipient.ln_coefficients);
            let amounts = [feed[0] * ratios[0].exp(), feed[1] * ratios[1].exp()];
            let sum = amounts[0] + amounts[1];
            let change = match kind {
                BoundaryKind::Bubble => sum.ln(),
                BoundaryKind::Dew => -sum.ln(),
            };
            let pressure = place.pressure * change.clamp(-0.5, 0.5).exp();
            let next = amounts.map(|amount| amount / sum);
            place = Self::at_branches(pair, pressure, (feed, next), branches)?;
            if change.abs() < NEAR {
                break;
            }
        }
        place.newton(pair)
    }

    fn at_branches(
        pair: &CubicPair,
        pressure: f64,
        fractions: ([f64; 2], [f64; 2]),
        branches: (Branch, Branch),
    ) -> Option<Self> {
        let at = pair.at(pressure);
        Some(Self {
            at,
            pressure,
            whole: at.phase(fractions.0, branches.0)?,
            incipient: at.phase(fractions.1, branches.1)?,
        })
    }

    /// The imbalances change with the pressure by the partial molar volumes, and with the composition of the first of the other
    /// phase as those of [`tie_line`].
    fn newton(mut self, pair: &CubicPair) -> Option<Self> {
        for _ in 0..STEPS {
            let (whole, incipient) = (&self.whole, &self.incipient);
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
            self.pressure *= (share * ahead).exp();
            self.at = pair.at(self.pressure);
            let next = turned(y, (share * step).exp());
            let guesses = [whole, incipient].map(|phase| phase.free_at(share * ahead));
            self.whole = self.at.phase_near(whole.fractions, guesses[0])?;
            self.incipient = self.at.phase_near(next, guesses[1])?;
            if step.abs().max(ahead.abs()) < SETTLED {
                return Some(self);
            }
        }
        None
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
