//! The residual Gibbs energy of two substances of the cubic equation at many compositions, several of them side by side.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::pair::{Composed, PairAt, Roots};
use crate::num::lanes::{Kind, Task, run};
use crate::num::number::Number;
use crate::num::once::OnceLock;

/// Compositions at which the Gibbs energy of a pair is looked at.
pub(crate) const POINTS: usize = 24;

/// Amount fractions of compositions, denser towards the pure substances, with their logarithms, zero for an absent substance.
#[derive(Debug)]
pub(crate) struct Compositions {
    pub(crate) fractions: [[f64; 2]; POINTS],
    pub(crate) logarithms: [[f64; 2]; POINTS],
    /// The fraction of the second substance.
    pub(crate) second: [f64; POINTS],
    /// `sum x_i ln x_i`, and its slope in the fraction of the second substance.
    pub(crate) ideal: [f64; POINTS],
    pub(crate) ideal_slopes: [f64; POINTS],
    /// From each composition to the next.
    pub(crate) widths: [f64; POINTS],
}

/// The compositions of every scan.
pub(crate) fn compositions() -> &'static Compositions {
    static ALL: OnceLock<Compositions> = OnceLock::new();
    ALL.get_or_init(|| {
        let last = (POINTS - 1) as f64;
        let fractions: [[f64; 2]; POINTS] = core::array::from_fn(|point| {
            let turn = |point: usize| (core::f64::consts::FRAC_PI_2 * point as f64 / last).sin();
            [POINTS - 1 - point, point].map(|point| turn(point) * turn(point))
        });
        let logarithm = |x: f64| if x > 0.0 { Number::ln(x) } else { 0.0 };
        let logarithms = fractions.map(|both| both.map(logarithm));
        let second = fractions.map(|[_, two]| two);
        Compositions {
            ideal: core::array::from_fn(|point| {
                let ([one, two], [ln_one, ln_two]) = (fractions[point], logarithms[point]);
                one * ln_one + two * ln_two
            }),
            ideal_slopes: logarithms.map(|[one, two]| two - one),
            widths: core::array::from_fn(|point| {
                second
                    .get(point + 1)
                    .map_or(0.0, |next| next - second[point])
            }),
            fractions,
            logarithms,
            second,
        }
    })
}

/// The residual Gibbs energy of some compositions.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Scan<const P: usize> {
    /// At the smallest and the greatest root, which are the same where there is one.
    pub(crate) sheets: [Sheets<P>; 2],
    /// How near two other roots are to being real: up to one where there is one root, and infinite where there are three.
    pub(crate) others: [f64; P],
}

/// The residual Gibbs energy of some compositions at one root of each.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sheets<const P: usize> {
    /// g and `dg/dx_2`.
    pub(crate) energies: [f64; P],
    pub(crate) slopes: [f64; P],
    /// `y = z - B` and z.
    pub(crate) free: [f64; P],
    pub(crate) compressions: [f64; P],
}

/// Compositions side by side at one root of each.
#[derive(Clone, Copy)]
struct Side<N> {
    free: N,
    energy: N,
    slope: N,
    compression: N,
}

impl<N: Number> Side<N> {
    #[inline(always)]
    fn new(composed: &Composed<N>, free: N) -> Self {
        let [energy, slope] = composed.energy_and_slope(free);
        Self {
            free,
            energy,
            slope,
            compression: free + composed.b.value,
        }
    }

    /// One where a number is positive, else another.
    #[inline(always)]
    fn choose(by: N, one: &Self, other: &Self) -> Self {
        Self {
            free: by.choose(one.free, other.free),
            energy: by.choose(one.energy, other.energy),
            slope: by.choose(one.slope, other.slope),
            compression: by.choose(one.compression, other.compression),
        }
    }
}

impl<const P: usize> Sheets<P> {
    const EMPTY: Self = Self {
        energies: [0.0; P],
        slopes: [0.0; P],
        free: [0.0; P],
        compressions: [0.0; P],
    };

    #[inline(always)]
    fn store<K: Kind>(&mut self, kind: K, from: usize, side: &Side<K::Number>) {
        kind.store(side.energy, &mut self.energies[from..]);
        kind.store(side.slope, &mut self.slopes[from..]);
        kind.store(side.free, &mut self.free[from..]);
        kind.store(side.compression, &mut self.compressions[from..]);
    }
}

impl<const P: usize> Scan<P> {
    /// Of compositions told by the amount fractions of the second substance; nothing where a root is not found.
    #[inline(always)]
    pub(crate) fn new<K: Kind>(kind: K, pair: &PairAt, second: &[f64; P]) -> Option<Self> {
        let mut scan = Self {
            sheets: [Sheets::EMPTY; 2],
            others: [0.0; P],
        };
        for from in (0..P).step_by(K::LANES) {
            let two = kind.load(&second[from..]);
            let composed = Composed::new(pair, [kind.splat(1.0) - two, two]);
            let roots = Roots::new(kind, composed.cubic())?;
            let outer = Side::new(&composed, roots.outer);
            let is_lone = kind.splat(1.0) - roots.nearness;
            let others = is_lone.choose(roots.nearness, kind.splat(f64::INFINITY));
            kind.store(others, &mut scan.others[from..]);
            let mut ends = [outer; 2];
            // Mostly there is one root at all these compositions.
            if !kind.all_positive(is_lone) {
                let opposite = Side::new(&composed, roots.opposite);
                ends = [
                    Side::choose(roots.is_smallest, &outer, &opposite),
                    Side::choose(roots.is_smallest, &opposite, &outer),
                ];
            }
            for (end, sheets) in ends.iter().zip(&mut scan.sheets) {
                sheets.store(kind, from, end);
            }
        }
        Some(scan)
    }

    /// Whether there is one root at a composition.
    pub(crate) fn is_lone(&self, place: usize) -> bool {
        self.others[place] <= 1.0
    }

    /// The sheets of the smaller energy at a composition.
    pub(crate) fn stable(&self, place: usize) -> &Sheets<P> {
        let [liquid, vapour] = &self.sheets;
        if liquid.energies[place] <= vapour.energies[place] {
            liquid
        } else {
            vapour
        }
    }
}

impl PairAt {
    /// The Gibbs energy of compositions, told by the amount fractions of the second substance; nothing where a root is not found.
    pub(crate) fn scan<const P: usize>(&self, second: &[f64; P]) -> Option<Scan<P>> {
        run(Scanning { pair: self, second })
    }
}

struct Scanning<'a, const P: usize> {
    pair: &'a PairAt,
    second: &'a [f64; P],
}

impl<const P: usize> Task for Scanning<'_, P> {
    type Output = Option<Scan<P>>;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Self::Output {
        Scan::new(kind, self.pair, self.second)
    }
}
