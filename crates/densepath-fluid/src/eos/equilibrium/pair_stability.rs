//! Whether a critical phase of two substances is the stable one, by a cubic equation.
//!
//! The distance of the tangent plane, `t(w) = sum w_i (ln w_i + ln phi_i(w) - d_i)` with d_i of the phase tested (Michelsen, Fluid
//! Phase Equilib. 9, 1 (1982), doi 10.1016/0378-3812(82)85001-2), is a function of one fraction on each root of the density,
//! and its slope is the difference of both terms (Gibbs-Duhem). It is looked at on a grid of `ln(w_2/w_1)` that is dense around
//! the phase tested, and every minimum between two places of the grid that may lie below zero is sought.

use crate::eos::cubic::{PairAt, Scan};
use crate::num::lanes::{Kind, Plain, Task, run};
use crate::num::number::Number;
use crate::num::once::OnceLock;

/// Distance below zero that rounding can feign.
const ROUNDING: f64 = 1e-11;
/// The grid in `ln(w_2/w_1)`: its end, its steps, and the distances from the phase tested around it. Within the least of them the
/// distance of a critical phase, whose first three derivatives are zero, is below rounding.
const END: f64 = 9.0;
const STEPS: usize = 18;
const AROUND: [f64; 4] = [0.004, 0.03, 0.15, 0.5];
const GRID: usize = STEPS + 1;
const NEAR: usize = 2 * AROUND.len() + 1;
const PLACES: usize = GRID + NEAR;
/// Steps towards a minimum at most, and slope at which it is reached: what is left in the distance is its square.
const REFINED: u32 = 40;
const FLAT: f64 = 1e-7;

/// The distance and its slope in the fraction of the second substance at a place of the grid.
#[derive(Debug, Clone, Copy)]
struct Point {
    /// `ln(w_2/w_1)`.
    place: f64,
    second: f64,
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
            ln_fraction: Number::ln(z_1),
            tested: Number::ln(z_2 / z_1),
            ln_coefficients,
        }
    }

    /// Whether no other phase of the two substances lies below the plane of a critical one.
    pub(super) fn is_lowest(&self) -> bool {
        let [z_1, z_2] = self.fractions;
        if z_1 <= 0.0 || z_2 <= 0.0 {
            return self.is_lowest_alone();
        }
        run(Testing(self))
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

    /// A place off the grid on both roots of the density.
    fn point(&self, place: f64) -> Option<[Point; 2]> {
        let found = run(Looking { plane: self, place })?;
        Some([found.at(0, 0), found.at(0, 1)])
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
            let Some(found) = self.point(place).map(|found| found[branch]) else {
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

/// The test of a phase against the whole grid.
struct Testing<'a>(&'a TangentPlane);

impl Task for Testing<'_> {
    type Output = bool;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> bool {
        let plane = self.0;
        let Some(points) = Points::new(kind, plane, around(kind, plane.tested)) else {
            return false;
        };
        // Where there is one density everywhere, both branches are one.
        let has_two = points.distances[0] != points.distances[1];
        points.rises_beyond()
            && !points.has_lower(kind, plane, 0)
            && !(has_two && points.has_lower(kind, plane, 1))
    }
}

/// A look at one place.
struct Looking<'a> {
    plane: &'a TangentPlane,
    place: f64,
}

impl Task for Looking<'_> {
    type Output = Option<Points<1>>;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Self::Output {
        Points::new(kind, self.plane, Places::new(kind, [self.place]))
    }
}

/// Compositions by `ln(w_2/w_1)`, with their amount fractions of the second substance and ln w_1.
#[derive(Debug, Clone, Copy)]
struct Places<const P: usize> {
    at: [f64; P],
    second: [f64; P],
    ln_first: [f64; P],
}

impl<const P: usize> Places<P> {
    #[inline(always)]
    fn new<K: Kind>(kind: K, at: [f64; P]) -> Self {
        let (mut second, mut ln_first) = ([0.0; P], [0.0; P]);
        for from in (0..P).step_by(K::LANES) {
            let rise = kind.load(&at[from..]).exp();
            let whole = rise.plus(1.0);
            kind.store(rise * whole.recip(), &mut second[from..]);
            kind.store(-whole.ln(), &mut ln_first[from..]);
        }
        Self {
            at,
            second,
            ln_first,
        }
    }
}

/// The places of the grid that are the same for all phases.
fn grid() -> &'static Places<GRID> {
    static ALL: OnceLock<Places<GRID>> = OnceLock::new();
    let place = |step| END * (2.0 * step as f64 / STEPS as f64 - 1.0);
    ALL.get_or_init(|| Places::new(Plain, core::array::from_fn(place)))
}

/// The grid with the places around the phase tested, in order.
#[inline(always)]
fn around<K: Kind>(kind: K, tested: f64) -> Places<PLACES> {
    let off = |k: usize| match k.checked_sub(AROUND.len()) {
        None => -AROUND[AROUND.len() - 1 - k],
        Some(0) => 0.0,
        Some(above) => AROUND[above - 1],
    };
    let near = Places::new(
        kind,
        core::array::from_fn::<_, NEAR, _>(|k| tested + off(k)),
    );
    merged(grid(), &near)
}

/// The places of two lists, each in order, in order.
fn merged(grid: &Places<GRID>, near: &Places<NEAR>) -> Places<PLACES> {
    let mut all = Places {
        at: [0.0; PLACES],
        second: [0.0; PLACES],
        ln_first: [0.0; PLACES],
    };
    let (mut of_grid, mut of_near) = (0, 0);
    for place in 0..PLACES {
        let is_near = of_grid == GRID || of_near < NEAR && near.at[of_near] < grid.at[of_grid];
        let next = if is_near {
            (
                near.at[of_near],
                near.second[of_near],
                near.ln_first[of_near],
            )
        } else {
            (
                grid.at[of_grid],
                grid.second[of_grid],
                grid.ln_first[of_grid],
            )
        };
        (all.at[place], all.second[place], all.ln_first[place]) = next;
        of_near += usize::from(is_near);
        of_grid += usize::from(!is_near);
    }
    all
}

/// The distances and their slopes at some places, on both roots of the density.
struct Points<const P: usize> {
    places: Places<P>,
    distances: [[f64; P]; 2],
    slopes: [[f64; P]; 2],
}

impl<const P: usize> Points<P> {
    #[inline(always)]
    fn new<K: Kind>(kind: K, plane: &TangentPlane, places: Places<P>) -> Option<Self> {
        let scan = Scan::new(kind, &plane.pair, &places.second)?;
        let (mut distances, mut slopes) = ([[0.0; P]; 2], [[0.0; P]; 2]);
        let [own_1, own_2] = plane.ln_coefficients;
        for from in (0..P).step_by(K::LANES) {
            // ln w_1/z_1 and the same of the second substance from it, with the terms of the phase tested.
            let first = kind
                .load(&places.ln_first[from..])
                .plus(-plane.ln_fraction - own_1);
            let tilt = kind
                .load(&places.at[from..])
                .plus(own_1 - own_2 - plane.tested);
            let base = kind.load(&places.second[from..]) * tilt + first;
            for (branch, sheets) in scan.sheets.iter().enumerate() {
                let distance = kind.load(&sheets.energies[from..]) + base;
                let slope = kind.load(&sheets.slopes[from..]) + tilt;
                kind.store(distance, &mut distances[branch][from..]);
                kind.store(slope, &mut slopes[branch][from..]);
            }
        }
        Some(Self {
            places,
            distances,
            slopes,
        })
    }

    fn at(&self, place: usize, branch: Branch) -> Point {
        Point {
            place: self.places.at[place],
            second: self.places.second[place],
            distance: self.distances[branch][place],
            slope: self.slopes[branch][place],
        }
    }

    /// Whether no trace beyond the ends lies below the plane.
    fn rises_beyond(&self) -> bool {
        let rises = |branch| {
            let (first, last) = (self.at(0, branch), self.at(P - 1, branch));
            first.beyond(-1.0) >= -ROUNDING && last.beyond(1.0) >= -ROUNDING
        };
        rises(0) && rises(1)
    }

    /// Whether a branch leads below the plane at a place or between two.
    #[inline(always)]
    fn has_lower<K: Kind>(&self, kind: K, plane: &TangentPlane, branch: Branch) -> bool {
        let (distances, slopes) = (&self.distances[branch], &self.slopes[branch]);
        let mut minima = [0.0; P];
        for from in (0..P).step_by(K::LANES) {
            if !kind.all_positive(kind.load(&distances[from..]).plus(ROUNDING)) {
                return true;
            }
            // Positive where the curve falls at a place and rises at the next.
            let rise = kind.load(&slopes[(from + 1).min(P - 1)..]);
            let is_minimum = (-kind.load(&slopes[from..])).choose(rise, kind.splat(-1.0));
            kind.store(is_minimum, &mut minima[from..]);
        }
        let dips =
            |low: usize| plane.dips((self.at(low, branch), self.at(low + 1, branch)), branch);
        (0..P - 1).any(|low| minima[low] > 0.0 && dips(low))
    }
}

impl Point {
    /// Where the tangents at two points meet: no convex function lies below.
    fn below(&self, other: &Self) -> f64 {
        let (a, b) = (self.slope, other.slope);
        let at = (other.distance - self.distance + a * self.second - b * other.second) / (a - b);
        self.distance + a * (at - self.second)
    }

    /// The distance of the minimum at the trace beyond this point towards one side, where the coefficients no longer change with the
    /// fraction: `t = t_0 + w (ln w/w_0 - 1)`; that of the point itself where there is none.
    fn beyond(&self, side: f64) -> f64 {
        let trace = if side < 0.0 {
            self.second
        } else {
            1.0 - self.second
        };
        let ahead = -side * self.slope;
        if ahead <= 0.0 {
            return self.distance;
        }
        self.distance - trace * (ahead - 1.0) - trace * Number::exp(-ahead)
    }
}
