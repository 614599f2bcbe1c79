//! The residual Gibbs energy of two substances of the cubic equation at many compositions, several of them side by side.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::pair::{Composed, Others, PairAt, Root, others, root_from};
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
                second.get(point + 1).map_or(0.0, |next| next - second[point])
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

/// Relative last step towards a root within which it has settled: the energy has no slope in z.
const SETTLED: f64 = 1e-3;

/// Compositions side by side at one root of each.
struct Side<N> {
    free: N,
    energy: N,
    slope: N,
    compression: N,
    /// Positive where the root has settled.
    is_settled: N,
}

impl<N: Number> Side<N> {
    /// At the roots next to a start.
    #[inline(always)]
    fn new(composed: &Composed<N>, start: N) -> Self {
        let Root { free, step } = root_from(composed.cubic(), start);
        let [energy, slope] = composed.energy_and_slope(free.abs_at_least(1e-300));
        Self {
            free,
            energy,
            slope,
            compression: free + composed.b.value,
            is_settled: free.times(SETTLED) - step.abs_at_least(0.0),
        }
    }
}

/// How near two roots of the polynomial beside a root are to being real, as in [`others`]: below one they are not.
#[inline(always)]
fn nearness<N: Number>(free: N, [_, c_1, c_0]: [N; 3]) -> N {
    let per_free = free.recip();
    let product = -(c_0 * per_free);
    let sum = (c_1 - product) * per_free;
    let square = (sum * sum).times(0.25);
    sum.choose(square * product.recip(), sum.like(0.0))
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

    /// Puts a composition at another root.
    fn set(&mut self, place: usize, composed: &Composed<f64>, free: f64) {
        let [energy, slope] = composed.energy_and_slope(free);
        self.energies[place] = energy;
        self.slopes[place] = slope;
        self.free[place] = free;
        self.compressions[place] = free + composed.b.value;
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
            let liquid = Side::new(&composed, kind.splat(0.0));
            let near = nearness(liquid.free, composed.cubic());
            let lonely = kind.splat(1.0) - near;
            scan.sheets[0].store(kind, from, &liquid);
            kind.store(lonely.choose(near, kind.splat(f64::INFINITY)), &mut scan.others[from..]);
            let is_settled = kind.all_positive(liquid.is_settled);
            // Mostly there is one root at all these compositions.
            if is_settled && kind.all_positive(lonely) {
                scan.sheets[1].store(kind, from, &liquid);
                continue;
            }
            let vapour = Side::new(&composed, kind.splat(1.0));
            scan.sheets[1].store(kind, from, &vapour);
            if !is_settled || !kind.all_positive(vapour.is_settled) {
                let mut settled = [[0.0; 8]; 2];
                kind.store(liquid.is_settled, &mut settled[0]);
                kind.store(vapour.is_settled, &mut settled[1]);
                for (lane, two) in second[from..].iter().enumerate().take(K::LANES) {
                    let are_settled = settled.map(|lanes| lanes[lane] > 0.0);
                    scan.mend(from + lane, pair, *two, are_settled)?;
                }
            }
        }
        Some(scan)
    }

    /// Completes a composition of which a root has not settled: it lies close to the third, where the sheets of both end.
    fn mend(&mut self, place: usize, pair: &PairAt, two: f64, are_settled: [bool; 2]) -> Option<()> {
        let composed = Composed::new(pair, [1.0 - two, two]);
        let any = are_settled.iter().position(|is_settled| *is_settled)?;
        let known = self.sheets[any].free[place];
        let others = others(known, composed.cubic());
        let [small, large] = match others {
            Others::None(_) => [known; 2],
            Others::Two(small, large) => [small.min(known), large.max(known)],
        };
        let roots = are_settled.into_iter().zip([small, large]);
        for ((is_settled, root), sheets) in roots.zip(&mut self.sheets) {
            if !is_settled {
                sheets.set(place, &composed, root);
            }
        }
        self.others[place] = match others {
            Others::None(nearness) => nearness,
            Others::Two(..) => f64::INFINITY,
        };
        Some(())
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
