//! Whether a critical phase of two substances is the stable one, by a cubic equation.
//!
//! The distance of the tangent plane, `t(w) = sum w_i (ln w_i + ln phi_i(w) - d_i)` with d_i of the phase tested (Michelsen, Fluid
//! Phase Equilib. 9, 1 (1982), doi 10.1016/0378-3812(82)85001-2), is a function of one fraction on each root of the density,
//! and its slope is the difference of both terms (Gibbs-Duhem). It is looked at on a grid of `ln(w_2/w_1)` that is dense around
//! the phase tested, and every minimum between two places of the grid that may lie below zero is sought.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use smallvec::SmallVec;

use crate::eos::cubic::conditions::Isobar;

/// Distance below zero that rounding can feign.
const ROUNDING: f64 = 1e-11;
/// The grid in `ln(w_2/w_1)`: its end, its steps, and the distances from the phase tested around it. Within the least of them the
/// distance of a critical phase, whose first three derivatives are zero, is below rounding.
const END: f64 = 9.0;
const STEPS: u32 = 18;
const AROUND: [f64; 4] = [0.004, 0.03, 0.15, 0.5];
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

/// Vapour or liquid.
type Branch = usize;

/// The tangent plane of a phase at a temperature and a pressure.
pub(super) struct TangentPlane {
    pub(super) isobar: Isobar,
    /// Amount fractions of the phase tested.
    pub(super) fractions: [f64; 2],
    /// Logarithms of its fugacity coefficients.
    pub(super) ln_coefficients: [f64; 2],
}

impl TangentPlane {
    /// Whether no other phase of the two substances lies below the plane of a critical one.
    pub(super) fn is_lowest(&self) -> bool {
        let [z_1, z_2] = self.fractions;
        if z_1 <= 0.0 || z_2 <= 0.0 {
            let own = self.isobar.ln_coefficients(self.fractions);
            let present = usize::from(z_1 <= 0.0);
            let lower = |phi: [f64; 2]| phi[present] - self.ln_coefficients[present] < -ROUNDING;
            return own.is_some_and(|own| !own.into_iter().any(lower));
        }
        let tested = (z_2 / z_1).ln();
        let mut places: SmallVec<[f64; 32]> = (0..=STEPS)
            .map(|step| END * (2.0 * f64::from(step) / f64::from(STEPS) - 1.0))
            .chain(
                AROUND
                    .into_iter()
                    .flat_map(|off| [tested - off, tested + off]),
            )
            .chain([tested])
            .collect();
        places.sort_unstable_by(f64::total_cmp);
        let mut ends: Option<([Point; 2], [Point; 2])> = None;
        for place in places {
            let Some(here) = self.at(place) else {
                return false;
            };
            let (first, last) = ends.unwrap_or((here, here));
            let is_lower = |branch: Branch| {
                here[branch].distance < -ROUNDING
                    || self.dips((last[branch], here[branch]), branch, tested)
            };
            if is_lower(0) || is_lower(1) {
                return false;
            }
            ends = Some((first, here));
        }
        ends.is_some_and(|(first, last)| {
            let below = first.map(|point| point.beyond(-1.0));
            let above = last.map(|point| point.beyond(1.0));
            let mut traces = below.into_iter().chain(above);
            traces.all(|point| point.distance >= -ROUNDING)
        })
    }

    /// The distances on both roots of the density.
    fn at(&self, place: f64) -> Option<[Point; 2]> {
        let rise = place.exp();
        let w = [1.0 / (1.0 + rise), rise / (1.0 + rise)];
        let [z_1, z_2] = self.fractions;
        // ln w_1/z_1, and the same of the second substance from it.
        let ideal = -(z_1 * (1.0 + rise)).ln();
        let apart = place - (z_2 / z_1).ln();
        let [own_1, own_2] = self.ln_coefficients;
        let found = self.isobar.ln_coefficients(w)?;
        Some(found.map(|[phi_1, phi_2]| {
            let one = ideal + phi_1 - own_1;
            let slope = apart + phi_2 - own_2 - phi_1 + own_1;
            Point {
                place,
                w,
                distance: one + w[1] * slope,
                slope,
            }
        }))
    }

    /// Whether a minimum between two places lies below zero.
    fn dips(&self, (mut low, mut high): (Point, Point), branch: Branch, tested: f64) -> bool {
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
            let Some(found) = self.at(place).map(|found| found[branch]) else {
                return false;
            };
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

impl Point {
    /// Where the tangents at two points meet: no convex function lies below.
    fn below(&self, other: &Self) -> f64 {
        let (a, b) = (self.slope, other.slope);
        let at = (other.distance - self.distance + a * self.w[1] - b * other.w[1]) / (a - b);
        self.distance + a * (at - self.w[1])
    }

    /// The minimum at the trace beyond this point towards one side, where the coefficients no longer change with the fraction:
    /// `t = t_0 + w (ln w/w_0 - 1)`; the point itself where there is none.
    fn beyond(self, side: f64) -> Self {
        let trace = if side < 0.0 { self.w[1] } else { self.w[0] };
        let ahead = -side * self.slope;
        if ahead <= 0.0 {
            return self;
        }
        let distance = self.distance - trace * (ahead - 1.0) - trace * (-ahead).exp();
        Self { distance, ..self }
    }
}
