//! Whether a critical phase of two substances is the stable one, by a cubic equation.
//!
//! The distance of the tangent plane, `t(w) = sum w_i (ln w_i + ln phi_i(w) - d_i)` with d_i of the phase tested (Michelsen, Fluid
//! Phase Equilib. 9, 1 (1982), doi 10.1016/0378-3812(82)85001-2), is a function of one fraction on each root of the density,
//! and its slope is the difference of both terms (Gibbs-Duhem). It is looked at on a grid of `ln(w_2/w_1)` that is dense around
//! the phase tested, and every minimum between two places of the grid that may lie below zero is sought.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::eos::cubic::PairAt;
use crate::num::once::OnceLock;

/// Distance below zero that rounding can feign.
const ROUNDING: f64 = 1e-11;
/// The grid in `ln(w_2/w_1)`: its end, its steps, and the distances from the phase tested around it. Within the least of them the
/// distance of a critical phase, whose first three derivatives are zero, is below rounding.
const END: f64 = 9.0;
const STEPS: usize = 18;
const AROUND: [f64; 4] = [0.004, 0.03, 0.15, 0.5];
const PLACES: usize = STEPS + 1 + 2 * AROUND.len() + 1;
/// Steps towards a minimum at most, and slope at which it is reached: what is left in the distance is its square.
const REFINED: u32 = 40;
const FLAT: f64 = 1e-7;

/// The distance and its slope in the fraction of the second substance at a place of the grid.
#[derive(Debug, Clone, Copy)]
struct Point {
    /// `ln(w_2/w_1)`.
    place: f64,
    w: [f64; 2],
    distance: f64,
    slope: f64,
}

/// Liquid or vapour.
type Branch = usize;

/// The tangent plane of a phase at a temperature and a pressure.
pub(super) struct TangentPlane {
    pair: PairAt,
    /// Amount fractions of the phase tested, the logarithm of the first and of the ratio of both.
    fractions: [f64; 2],
    ln_fraction: f64,
    tested: f64,
    /// Logarithms of its fugacity coefficients.
    ln_coefficients: [f64; 2],
}

impl TangentPlane {
    /// That of a phase of some amount fractions, with the logarithms of its fugacity coefficients.
    pub(super) fn new(pair: PairAt, fractions: [f64; 2], ln_coefficients: [f64; 2]) -> Self {
        let [z_1, z_2] = fractions;
        Self {
            pair,
            fractions,
            ln_fraction: z_1.ln(),
            tested: (z_2 / z_1).ln(),
            ln_coefficients,
        }
    }

    /// Whether no other phase of the two substances lies below the plane of a critical one.
    pub(super) fn is_lowest(&self) -> bool {
        let [z_1, z_2] = self.fractions;
        if z_1 <= 0.0 || z_2 <= 0.0 {
            return self.is_lowest_alone();
        }
        let Some(points) = self.at(&places(self.tested)) else {
            return false;
        };
        let [first, .., last] = points.as_slice() else {
            return false;
        };
        let below = first.iter().map(|point| point.beyond(-1.0));
        let above = last.iter().map(|point| point.beyond(1.0));
        // Where there is one density everywhere, both branches are one.
        let has_two = points
            .iter()
            .any(|[one, other]| one.distance != other.distance);
        below.chain(above).all(|distance| distance >= -ROUNDING)
            && !self.has_lower(&points, 0)
            && !(has_two && self.has_lower(&points, 1))
    }

    /// Whether a branch leads below the plane at a place or between two.
    fn has_lower(&self, points: &[[Point; 2]], branch: Branch) -> bool {
        let is_below = |point: &[Point; 2]| point[branch].distance < -ROUNDING;
        let dips = |ends: &[[Point; 2]]| match ends {
            [low, high] => self.dips((low[branch], high[branch]), branch),
            _ => false,
        };
        points.iter().any(is_below) || points.windows(2).any(dips)
    }

    /// The same of a substance alone, whose energy is the logarithm of its fugacity coefficient.
    fn is_lowest_alone(&self) -> bool {
        let [z_1, z_2] = self.fractions;
        let own = self.ln_coefficients[usize::from(z_1 <= 0.0)];
        let found = self.pair.scan(&[z_2]);
        found.is_some_and(|found| {
            let mut energies = found.sheets.iter().flat_map(|sheets| sheets.energies);
            energies.all(|energy| energy - own >= -ROUNDING)
        })
    }

    /// The distances on both roots of the density.
    fn at<const P: usize>(&self, places: &[Place; P]) -> Option<Vec<[Point; 2]>> {
        let [own_1, own_2] = self.ln_coefficients;
        let scan = self.pair.scan(&places.map(|place| place.w[1]))?;
        let points = places.iter().enumerate().map(|(index, place)| {
            // ln w_1/z_1, and the same of the second substance from it.
            let ideal = place.ln_w - self.ln_fraction;
            let tilt = place.at - self.tested - own_2 + own_1;
            scan.sheets.each_ref().map(|sheets| Point {
                place: place.at,
                w: place.w,
                distance: ideal - own_1 + sheets.energies[index] + place.w[1] * tilt,
                slope: tilt + sheets.slopes[index],
            })
        });
        Some(points.collect())
    }

    /// Whether a minimum between two places lies below zero.
    fn dips(&self, (mut low, mut high): (Point, Point), branch: Branch) -> bool {
        let tested = self.tested;
        let is_tested = |a: &Point, b: &Point| {
            (a.place - tested).abs() <= AROUND[0] && (b.place - tested).abs() <= AROUND[0]
        };
        // The weights of the ends: one that stays where it is loses half (the method of Illinois).
        let mut weights = [1.0, 1.0];
        for _ in 0..REFINED {
            let is_minimum = low.slope < 0.0 && high.slope > 0.0;
            if !is_minimum || low.below(&high) >= 0.0 || is_tested(&low, &high) {
                return false;
            }
            let (a, b) = (weights[0] * low.slope, weights[1] * high.slope);
            let place = (low.place * b - high.place * a) / (b - a);
            let found = self.at(&[Place::new(place)]);
            let Some([found]) = found.as_deref() else {
                return false;
            };
            let found = found[branch];
            if found.distance < -ROUNDING {
                return true;
            }
            if found.slope.abs() < FLAT || high.place - low.place < FLAT {
                return false;
            }
            if found.slope < 0.0 {
                low = found;
                weights = [1.0, 0.5 * weights[1]];
            } else {
                high = found;
                weights = [0.5 * weights[0], 1.0];
            }
        }
        false
    }
}

/// A composition by `ln(w_2/w_1)`, with its amount fractions and ln w_1.
#[derive(Debug, Clone, Copy)]
struct Place {
    at: f64,
    w: [f64; 2],
    ln_w: f64,
}

impl Place {
    fn new(at: f64) -> Self {
        let rise = at.exp();
        let w = 1.0 / (1.0 + rise);
        Self {
            at,
            w: [w, rise * w],
            ln_w: -rise.ln_1p(),
        }
    }
}

/// The places of the grid that are the same for all phases.
fn grid() -> &'static [Place; STEPS + 1] {
    static GRID: OnceLock<[Place; STEPS + 1]> = OnceLock::new();
    let place = |step| Place::new(END * (2.0 * step as f64 / STEPS as f64 - 1.0));
    GRID.get_or_init(|| core::array::from_fn(place))
}

/// The grid around the phase tested, in order.
fn places(tested: f64) -> [Place; PLACES] {
    let below = AROUND.into_iter().rev().map(|off| tested - off);
    let above = AROUND.into_iter().map(|off| tested + off);
    let mut around = below
        .chain([tested])
        .chain(above)
        .map(Place::new)
        .peekable();
    let mut grid = grid().iter().peekable();
    let mut last = Place::new(tested);
    core::array::from_fn(|_| {
        let is_around = match (grid.peek(), around.peek()) {
            (Some(grid), Some(around)) => around.at < grid.at,
            (grid, _) => grid.is_none(),
        };
        let next = if is_around {
            around.next()
        } else {
            grid.next().copied()
        };
        last = next.unwrap_or(last);
        last
    })
}

impl Point {
    /// Where the tangents at two points meet: no convex function lies below.
    fn below(&self, other: &Self) -> f64 {
        let (a, b) = (self.slope, other.slope);
        let at = (other.distance - self.distance + a * self.w[1] - b * other.w[1]) / (a - b);
        self.distance + a * (at - self.w[1])
    }

    /// The distance of the minimum at the trace beyond this point towards one side, where the coefficients no longer change with the
    /// fraction: `t = t_0 + w (ln w/w_0 - 1)`; that of the point itself where there is none.
    fn beyond(&self, side: f64) -> f64 {
        let trace = if side < 0.0 { self.w[1] } else { self.w[0] };
        let ahead = -side * self.slope;
        if ahead <= 0.0 {
            return self.distance;
        }
        self.distance - trace * (ahead - 1.0) - trace * (-ahead).exp()
    }
}
