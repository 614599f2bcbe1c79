//! Two substances of the cubic equation at one temperature, on plain numbers.
//!
//! At a given temperature and pressure all lengths of the equation are taken in `R T / p`: `A = a p/(R T)^2`, `B = b p/(R T)` and the
//! compression factor z of the equation without its translation, which moves all phases alike (Péneloux, Rauzy and Fréze 1982). With
//! `y = z - B` the pressure is met where `y^3 + (4B - 1) y^2 + (A + 2B(B - 2)) y - 2 B^2 = 0`. The residual Gibbs energy is
//! `g = z - 1 - ln y - A q(z, B)`, `q = ln((z + DELTA_1 B)/(z + DELTA_2 B)) / (WIDTH B)`, and has no slope in z there: its slope in the
//! amount fraction of the second substance is the difference of both `ln phi_i`, and from its second one follows how they change.

use super::{DELTA_1, DELTA_2, WIDTH};
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::mixture::Branch;
use crate::num::lanes::Kind;
use crate::num::number::Number;

/// Two substances of a cubic equation at one temperature.
///
/// ```
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::MixtureModel}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// assert_eq!(model.cubic_pair(320.0).map(|pair| pair.temperature()), Some(320.0));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CubicPair {
    pub(super) temperature: f64,
    /// `a_ij / (R T)` and `b_ij` in m3/mol of the first with itself, of both, of the second with itself.
    pub(super) attractions: [f64; 3],
    pub(super) covolumes: [f64; 3],
    /// `c_i` in m3/mol.
    pub(super) translations: [f64; 2],
}

impl CubicPair {
    /// Temperature in K.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::MixtureModel}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// assert!(model.cubic_pair(310.0).is_some_and(|pair| pair.temperature() == 310.0));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn temperature(&self) -> f64 {
        self.temperature
    }

    /// The pair at a pressure in Pa.
    pub(crate) fn at(&self, pressure: f64) -> PairAt {
        let scale = pressure / (MOLAR_GAS_CONSTANT * self.temperature);
        PairAt {
            attractions: self.attractions.map(|a| a * scale),
            covolumes: self.covolumes.map(|b| b * scale),
            translations: self.translations.map(|c| c * scale),
            scale,
        }
    }
}

/// Two substances of a cubic equation at one temperature and pressure.
#[derive(Debug, Clone, Copy)]
pub(crate) struct PairAt {
    /// `A_ij` and `B_ij`.
    pub(super) attractions: [f64; 3],
    pub(super) covolumes: [f64; 3],
    /// `c_i p/(R T)`.
    translations: [f64; 2],
    /// `p/(R T)` in mol/m3.
    scale: f64,
}

/// A quadratic form in two amount fractions with its rows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Form<N> {
    pub(super) value: N,
    rows: [N; 2],
}

impl<N: Number> Form<N> {
    /// `sum x_i x_j m_ij` with `sum_j x_j m_ij`.
    #[inline(always)]
    fn new(entries: [f64; 3], [one, two]: [N; 2]) -> Self {
        let rows = [
            one.times(entries[0]) + two.times(entries[1]),
            one.times(entries[1]) + two.times(entries[2]),
        ];
        Self {
            value: one * rows[0] + two * rows[1],
            rows,
        }
    }

    /// Its derivative in the second fraction.
    #[inline(always)]
    fn slope(&self) -> N {
        (self.rows[1] - self.rows[0]).times(2.0)
    }
}

/// Compositions side by side at the temperature and pressure of a [`PairAt`].
#[derive(Debug, Clone, Copy)]
pub(super) struct Composed<N> {
    fractions: [N; 2],
    /// `A` and `B`.
    a: Form<N>,
    pub(super) b: Form<N>,
}

impl<N: Number> Composed<N> {
    #[inline(always)]
    pub(super) fn new(pair: &PairAt, fractions: [N; 2]) -> Self {
        Self {
            fractions,
            a: Form::new(pair.attractions, fractions),
            b: Form::new(pair.covolumes, fractions),
        }
    }

    /// `c_2`, `c_1` and `c_0` of the polynomial `y^3 + c_2 y^2 + c_1 y + c_0`.
    #[inline(always)]
    pub(super) fn cubic(&self) -> [N; 3] {
        let (a, b) = (self.a.value, self.b.value);
        [
            b.times(4.0).plus(-1.0),
            a + b.times(2.0) * b.plus(-2.0),
            (b * b).times(-2.0),
        ]
    }

    /// `q` and `(z + DELTA_1 B) (z + DELTA_2 B)`, with `1/B`.
    #[inline(always)]
    fn pull(&self, z: N, per_b: N) -> [N; 2] {
        let b = self.b.value;
        let (over, under) = (z + b.times(DELTA_1), z + b.times(DELTA_2));
        let q = (over * under.recip()).ln() * per_b.times(1.0 / WIDTH);
        [q, over * under]
    }

    /// g and its slope in the second fraction at a root.
    #[inline(always)]
    pub(super) fn energy_and_slope(&self, free: N) -> [N; 2] {
        let (a, b) = (self.a.value, self.b.value);
        let (z, per_b) = (free + b, b.recip());
        let [q, product] = self.pull(z, per_b);
        let q_b = (z * product.recip() - q) * per_b;
        [
            z.plus(-1.0) - free.ln() - a * q,
            (free.recip() - a * q_b) * self.b.slope() - q * self.a.slope(),
        ]
    }
}

/// A phase of two substances at the temperature and pressure of a [`PairAt`], or several side by side.
#[derive(Debug, Clone, Copy)]
pub(crate) struct PairPhase<N = f64> {
    pub(crate) fractions: [N; 2],
    ln_fractions: [N; 2],
    /// `y = z - B`.
    pub(crate) free: N,
    /// `dy/d ln p`.
    free_slope: N,
    /// z.
    pub(crate) compression: N,
    /// Logarithms of the fugacity coefficients without the translation, by which they differ in all phases alike.
    pub(crate) ln_coefficients: [N; 2],
    /// Partial molar compression factors without the translation.
    pub(crate) volumes: [N; 2],
    /// `1 + x_1 x_2 d2g/dx_2^2`: positive while the phase is stable against small changes.
    pub(crate) stability: N,
}

impl<N: Number> PairPhase<N> {
    /// The phases at roots, with their derivatives: all of `F(x, z) = z - 1 - ln(z - B) - A q`.
    #[inline(always)]
    fn new(pair: &PairAt, composed: &Composed<N>, free: N) -> Self {
        let ([one, two], a, b) = (composed.fractions, composed.a.value, composed.b.value);
        let (a_x, b_x) = (composed.a.slope(), composed.b.slope());
        let (z, per_b) = (free + b, b.recip());
        let [q, product] = composed.pull(z, per_b);
        let (per_free, per_product) = (free.recip(), product.recip());
        let (square, per_square) = (per_free * per_free, per_product * per_product);
        // q and its derivatives are homogeneous in z and B, of degree -1 and below.
        let q_b = (z * per_product - q) * per_b;
        let q_bz = free.times(2.0) * per_square;
        let q_bb = -(q_b.times(2.0) + z * q_bz) * per_b;
        let pushes = per_free - a * q_b;
        let crowds = square + a * q_bz;
        let per_zz = (square - a.times(2.0) * (z + b) * per_square).recip();
        let f_xz = a_x * per_product - b_x * crowds;
        let f_xx = pushes.times(bend(pair.covolumes)) - q.times(bend(pair.attractions))
            + (square - a * q_bb) * b_x * b_x
            - q_b.times(2.0) * a_x * b_x;
        let z_x = -(f_xz * per_zz);
        // A and B grow with the pressure as it does.
        let z_p = (b * crowds - a * per_product) * per_zz;
        let energy = z.plus(-1.0) - free.ln() - a * q;
        let slope = pushes * b_x - q * a_x;
        Self {
            fractions: [one, two],
            ln_fractions: [one.ln(), two.ln()],
            free,
            free_slope: z_p - b,
            compression: z,
            ln_coefficients: [energy - two * slope, energy + one * slope],
            volumes: [z - two * z_x, z + one * z_x],
            stability: (one * two * (f_xx - f_xz * f_xz * per_zz)).plus(1.0),
        }
    }

    #[inline(always)]
    fn rows(&self) -> [N; ROWS] {
        let ([x_1, x_2], [l_1, l_2]) = (self.fractions, self.ln_fractions);
        let ([c_1, c_2], [v_1, v_2]) = (self.ln_coefficients, self.volumes);
        let (free, z) = (self.free, self.compression);
        [
            x_1,
            x_2,
            l_1,
            l_2,
            free,
            self.free_slope,
            z,
            c_1,
            c_2,
            v_1,
            v_2,
            self.stability,
        ]
    }
}

/// Numbers of a phase.
const ROWS: usize = 12;

/// The second derivative of a quadratic form in the second fraction.
fn bend([one, both, two]: [f64; 3]) -> f64 {
    2.0 * (one - 2.0 * both + two)
}

impl PairPhase {
    /// One of two from their numbers.
    fn of_rows(rows: &[[f64; 2]; ROWS], place: usize) -> Self {
        let [
            x_1,
            x_2,
            l_1,
            l_2,
            free,
            free_slope,
            z,
            c_1,
            c_2,
            v_1,
            v_2,
            stability,
        ] = rows;
        let both = |one: &[f64; 2], two: &[f64; 2]| [one[place], two[place]];
        Self {
            fractions: both(x_1, x_2),
            ln_fractions: both(l_1, l_2),
            free: free[place],
            free_slope: free_slope[place],
            compression: z[place],
            ln_coefficients: both(c_1, c_2),
            volumes: both(v_1, v_2),
            stability: stability[place],
        }
    }

    /// `ln x_i + ln phi_i`.
    pub(crate) fn potentials(&self) -> [f64; 2] {
        let ([one, two], [of_one, of_two]) = (self.ln_fractions, self.ln_coefficients);
        [one + of_one, two + of_two]
    }

    /// g.
    fn energy(&self) -> f64 {
        let ([one, two], [of_one, of_two]) = (self.fractions, self.ln_coefficients);
        one * of_one + two * of_two
    }

    /// `y` to be expected at a pressure whose logarithm is greater by a step.
    pub(crate) fn free_at(&self, step: f64) -> f64 {
        (self.free + step * self.free_slope).max(0.5 * self.free)
    }
}

impl PairAt {
    /// The phases of two compositions, each at the root next to a value of `y = z - B`.
    #[inline(always)]
    pub(crate) fn phases_near<K: Kind>(
        &self,
        kind: K,
        fractions: [[f64; 2]; 2],
        free: [f64; 2],
    ) -> Option<[PairPhase; 2]> {
        self.phases_from::<K, false>(kind, fractions, free)
    }

    /// The phases of two compositions, each on a branch: at the smallest or at the greatest root.
    #[inline(always)]
    pub(crate) fn phases_on<K: Kind>(
        &self,
        kind: K,
        fractions: [[f64; 2]; 2],
        branches: [Branch; 2],
    ) -> Option<[PairPhase; 2]> {
        let is_smallest = branches.map(|branch| if branch == Branch::Vapour { -1.0 } else { 1.0 });
        self.phases_from::<K, true>(kind, fractions, is_smallest)
    }

    /// The phase of a composition at the root of the smallest Gibbs energy.
    #[inline(always)]
    pub(crate) fn stable_phase<K: Kind>(&self, kind: K, fractions: [f64; 2]) -> Option<PairPhase> {
        let ends = [Branch::Liquid, Branch::Vapour];
        let [liquid, vapour] = self.phases_on(kind, [fractions; 2], ends)?;
        Some(if liquid.energy() <= vapour.energy() {
            liquid
        } else {
            vapour
        })
    }

    /// The phases at the roots next to values of `y`, or from afar at the smallest roots for positive numbers and else the greatest.
    #[inline(always)]
    fn phases_from<K: Kind, const IS_AFAR: bool>(
        &self,
        kind: K,
        [[one_a, two_a], [one_b, two_b]]: [[f64; 2]; 2],
        start: [f64; 2],
    ) -> Option<[PairPhase; 2]> {
        let (ones, twos) = ([one_a, one_b], [two_a, two_b]);
        let mut rows = [[0.0; 2]; ROWS];
        for from in (0..2).step_by(K::LANES) {
            let fractions = [kind.load(&ones[from..]), kind.load(&twos[from..])];
            let composed = Composed::new(self, fractions);
            let mut near = kind.load(&start[from..]);
            if IS_AFAR {
                let roots = Roots::new(kind, composed.cubic())?;
                let is_outer = near * roots.is_smallest;
                near = is_outer.choose(roots.outer, roots.opposite);
            }
            let free = root_near(kind, composed.cubic(), near)?;
            let phase = PairPhase::new(self, &composed, free);
            for (number, row) in phase.rows().into_iter().zip(&mut rows) {
                kind.store(number, &mut row[from..]);
            }
        }
        Some([PairPhase::of_rows(&rows, 0), PairPhase::of_rows(&rows, 1)])
    }

    /// Molar density in mol/m3 of a composition and a compression factor.
    pub(crate) fn density(&self, [one, two]: [f64; 2], z: f64) -> f64 {
        let [of_one, of_two] = self.translations;
        self.scale / (z - one * of_one - two * of_two)
    }

    /// Whether no other root of the composition has a smaller Gibbs energy.
    pub(crate) fn is_stable_root(&self, phase: &PairPhase) -> bool {
        let composed = Composed::new(self, phase.fractions);
        let Others {
            nearness,
            ends: [small, large],
        } = Others::new(phase.free, composed.cubic());
        if nearness < 1.0 {
            return true;
        }
        let other = match phase.free {
            free if free <= small => large,
            free if free >= large => small,
            _ => return false,
        };
        let [energy, _] = composed.energy_and_slope(other);
        phase.energy() <= energy
    }
}

/// Steps of Newton's method for a root nearby, and its relative step after which the next would be below the last digit.
const NEAR_STEPS: u32 = 8;
const LAST_STEP: f64 = 1e-9;

/// The roots of `y^3 + c_2 y^2 + c_1 y + c_0` next to values, with the polynomial rising.
#[inline(always)]
fn root_near<K: Kind>(
    kind: K,
    [c_2, c_1, c_0]: [K::Number; 3],
    start: K::Number,
) -> Option<K::Number> {
    let mut y = start;
    for _ in 0..NEAR_STEPS {
        let value = ((y + c_2).mul_add(y, c_1)).mul_add(y, c_0);
        let slope = (y.times(3.0) + c_2.times(2.0)).mul_add(y, c_1);
        let step = value * slope.recip();
        let size = step.abs_at_least(0.0);
        let room = y.times(0.5) - size;
        if !kind.all_positive(slope.choose(room, slope)) {
            return None;
        }
        let left = y.times(LAST_STEP) - size;
        y = y - step;
        if kind.all_positive(left) {
            return Some(y);
        }
    }
    None
}

/// Steps of the iteration of a root from afar at most, and its relative step within which it has settled: what is left goes with the
/// third power.
const FAR_STEPS: u32 = 10;
const SETTLED: f64 = 1e-3;

/// The smallest and the greatest roots of polynomials `y^3 + c_2 y^2 + c_1 y + c_0` side by side.
#[derive(Clone, Copy)]
pub(super) struct Roots<N> {
    /// The root beyond the point of inflection: the smallest where a number is positive, else the greatest.
    pub(super) outer: N,
    pub(super) is_smallest: N,
    /// The one at the other end, the same where there is only one.
    pub(super) opposite: N,
    /// How near other roots are to being real: below one they are not.
    pub(super) nearness: N,
}

impl<N: Number> Roots<N> {
    /// By Laguerre's method, cubic, from zero or one, between which all lie: from there to the root beyond the point of inflection the
    /// polynomial bends to one side. The others are those of a quadratic.
    #[inline(always)]
    pub(super) fn new<K: Kind<Number = N>>(kind: K, cubic: [N; 3]) -> Option<Self> {
        let [c_2, c_1, c_0] = cubic;
        let inflection = c_2.times(-1.0 / 3.0);
        let height = ((inflection + c_2).mul_add(inflection, c_1)).mul_add(inflection, c_0);
        let is_smallest = inflection.choose(height, kind.splat(-1.0));
        let start = is_smallest.choose(kind.splat(0.0), kind.splat(1.0));
        let outer = root_from(kind, cubic, start)?;
        let Others {
            nearness,
            ends: [small, large],
        } = Others::new(outer, cubic);
        let other = is_smallest.choose(large, small);
        let is_lone = kind.splat(1.0) - nearness;
        Some(Self {
            outer,
            is_smallest,
            opposite: is_lone.choose(outer, other),
            nearness,
        })
    }
}

#[inline(always)]
fn root_from<K: Kind>(
    kind: K,
    [c_2, c_1, c_0]: [K::Number; 3],
    start: K::Number,
) -> Option<K::Number> {
    let mut y = start;
    for _ in 0..FAR_STEPS {
        let value = ((y + c_2).mul_add(y, c_1)).mul_add(y, c_0);
        let bend = y.times(3.0) + c_2;
        let slope = (bend + c_2).mul_add(y, c_1);
        let square = slope.mul_add(slope, (value * bend).times(-3.0));
        let below = square
            .abs_at_least(1e-300)
            .sqrt()
            .mul_add(y.like(2.0), slope);
        let step = value.times(3.0) * below.recip();
        y = y - step;
        if kind.all_positive(y.times(SETTLED) - step.abs_at_least(0.0)) {
            return Some(y);
        }
    }
    None
}

/// The roots of the polynomial beside one of its roots.
struct Others<N> {
    /// How near they are to being real: below one they are not, and zero where they would not be positive.
    nearness: N,
    /// The smaller and the greater one, without a meaning where they are not real.
    ends: [N; 2],
}

impl<N: Number> Others<N> {
    /// From their product `-c_0/y` and their sum, as in [`compression_factors`](super::compression_factors).
    #[inline(always)]
    fn new(root: N, [_, c_1, c_0]: [N; 3]) -> Self {
        let per_root = root.recip();
        let product = -(c_0 * per_root);
        let sum = (c_1 - product) * per_root;
        let square = (sum * sum).times(0.25);
        let large = sum.times(0.5) + (square - product).abs_at_least(0.0).sqrt();
        Self {
            nearness: sum.choose(square * product.recip(), sum.like(0.0)),
            ends: [product * large.recip(), large],
        }
    }
}
