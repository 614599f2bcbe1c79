//! Two substances of the cubic equation at one temperature, on plain numbers.
//!
//! At a given temperature and pressure all lengths of the equation are taken in `R T / p`: `A = a p/(R T)^2`, `B = b p/(R T)` and the
//! compression factor z of the equation without its translation, which moves all phases alike (Péneloux, Rauzy and Fréze 1982). With
//! `y = z - B` the pressure is met where `y^3 + (4B - 1) y^2 + (A + 2B(B - 2)) y - 2 B^2 = 0`. The residual Gibbs energy is
//! `g = z - 1 - ln y - A q(z, B)`, `q = ln((z + DELTA_1 B)/(z + DELTA_2 B)) / (WIDTH B)`, and has no slope in z there: its slope in the
//! amount fraction of the second substance is the difference of both `ln phi_i`, and from its second one follows how they change.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::{Cubic, DELTA_1, DELTA_2, Interaction, WIDTH, compression_factors};
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::mixture::Branch;
use crate::num::lanes::{Kind, Task, run};
use crate::num::number::Number;
use crate::num::once::OnceLock;

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
    /// The pair of a model of two substances.
    pub(super) fn new(cubic: &Cubic, temperature: f64) -> Option<Self> {
        let ([first, second], [b_one, b_two]) =
            (cubic.substances.as_slice(), cubic.covolumes.as_slice())
        else {
            return None;
        };
        let both = cubic.interactions.get(1)?;
        let mut roots = cubic.roots(temperature);
        let (one, two) = (roots.next()?, roots.next()?);
        let alone = Interaction::default();
        let entries = [(alone, one, one), (*both, one, two), (alone, two, two)];
        Some(Self {
            temperature,
            attractions: entries.map(|(interaction, q, r)| {
                let [a, ..] = interaction.attraction(temperature, &q, &r);
                a
            }),
            covolumes: [*b_one, both.covolume(*b_one, *b_two), *b_two],
            translations: [first.translation, second.translation],
        })
    }

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
    attractions: [f64; 3],
    covolumes: [f64; 3],
    /// `c_i p/(R T)`.
    translations: [f64; 2],
    /// `p/(R T)` in mol/m3.
    scale: f64,
}

/// A quadratic form in two amount fractions with its rows and derivatives in the second fraction.
#[derive(Debug, Clone, Copy)]
struct Form<N> {
    value: N,
    rows: [N; 2],
}

/// `sum x_i x_j m_ij` with `sum_j x_j m_ij`.
#[inline(always)]
fn form<N: Number>(entries: [f64; 3], [one, two]: [N; 2]) -> Form<N> {
    let rows = [
        one.times(entries[0]) + two.times(entries[1]),
        one.times(entries[1]) + two.times(entries[2]),
    ];
    Form {
        value: one * rows[0] + two * rows[1],
        rows,
    }
}

/// A phase of two substances at the temperature and pressure of a [`PairAt`].
#[derive(Debug, Clone, Copy)]
pub(crate) struct PairPhase {
    pub(crate) fractions: [f64; 2],
    /// `y = z - B`.
    pub(crate) free: f64,
    /// `dy/d ln p`.
    free_slope: f64,
    /// z.
    pub(crate) compression: f64,
    /// Logarithms of the fugacity coefficients without the translation, by which they differ in all phases alike.
    pub(crate) ln_coefficients: [f64; 2],
    /// Partial molar compression factors without the translation.
    pub(crate) volumes: [f64; 2],
    /// `1 + x_1 x_2 d2g/dx_2^2`: positive while the phase is stable against small changes.
    pub(crate) stability: f64,
}

impl PairPhase {
    /// `ln x_i + ln phi_i`.
    pub(crate) fn potentials(&self) -> [f64; 2] {
        let [one, two] = self.fractions;
        let [of_one, of_two] = self.ln_coefficients;
        [Number::ln(one) + of_one, Number::ln(two) + of_two]
    }

    /// `y` to be expected at a pressure whose logarithm is greater by a step.
    pub(crate) fn free_at(&self, step: f64) -> f64 {
        (self.free + step * self.free_slope).max(0.5 * self.free)
    }
}

/// Newton's steps for a root nearby.
const STEPS: u32 = 8;

impl PairAt {
    /// `A` and `B` of a composition.
    fn sums(&self, fractions: [f64; 2]) -> (Form<f64>, Form<f64>) {
        (
            form(self.attractions, fractions),
            form(self.covolumes, fractions),
        )
    }

    /// The phase of a composition on a branch.
    pub(crate) fn phase(&self, fractions: [f64; 2], branch: Branch) -> Option<PairPhase> {
        let (a, b) = self.sums(fractions);
        let (small, large) = compression_factors(a.value, b.value)?;
        let z = match branch {
            Branch::Liquid => small,
            Branch::Vapour => large,
            Branch::Stable => {
                let lower = energy(a.value, b.value, small) <= energy(a.value, b.value, large);
                if small == large || lower {
                    small
                } else {
                    large
                }
            }
        };
        Some(phase_at((a, b), self, fractions, z - b.value))
    }

    /// The phase of a composition at the root next to a value of `y = z - B`.
    pub(crate) fn phase_near(&self, fractions: [f64; 2], free: f64) -> Option<PairPhase> {
        let (a, b) = self.sums(fractions);
        let free = root_near(a.value, b.value, free)?;
        Some(phase_at((a, b), self, fractions, free))
    }

    /// Molar density in mol/m3 of a composition and a compression factor.
    pub(crate) fn density(&self, [one, two]: [f64; 2], z: f64) -> f64 {
        let [of_one, of_two] = self.translations;
        self.scale / (z - one * of_one - two * of_two)
    }

    /// Whether no other root of the composition has a smaller Gibbs energy.
    pub(crate) fn is_stable_root(&self, phase: &PairPhase) -> bool {
        let (a, b) = self.sums(phase.fractions);
        let Some((small, large)) = compression_factors(a.value, b.value) else {
            return false;
        };
        let is_here = |z: f64| (z / phase.compression - 1.0).abs() < SAME_ROOT;
        if small == large {
            return is_here(small);
        }
        let lower = energy(a.value, b.value, small) <= energy(a.value, b.value, large);
        is_here(if lower { small } else { large })
    }

    /// The Gibbs energy of all compositions of [`compositions`]; nothing where a root is not found.
    pub(crate) fn scan(&self) -> Option<Vec<Sample>> {
        self.samples(&compositions().second)
    }

    /// The Gibbs energy of compositions, told by the amount fractions of the second substance; nothing where a root is not found.
    pub(crate) fn samples(&self, second: &[f64]) -> Option<Vec<Sample>> {
        run(Scanning { pair: self, second })
    }
}

/// Relative difference below which two roots are one.
const SAME_ROOT: f64 = 1e-6;

/// The residual Gibbs energy over R T.
fn energy(a: f64, b: f64, z: f64) -> f64 {
    z - 1.0 - Number::ln(z - b) - a * ratio(z, b).0
}

/// `q` and its argument's product `(z + DELTA_1 B) (z + DELTA_2 B)`.
#[inline(always)]
fn ratio(z: f64, b: f64) -> (f64, f64) {
    let (over, under) = (z + DELTA_1 * b, z + DELTA_2 * b);
    ((WIDTH * b / under).ln_1p() / (WIDTH * b), over * under)
}

/// The root of `y^3 + (4B - 1) y^2 + (A + 2B(B - 2)) y - 2 B^2` next to a value, with the polynomial rising.
fn root_near(a: f64, b: f64, start: f64) -> Option<f64> {
    let (c_2, c_1, c_0) = (4.0 * b - 1.0, a + 2.0 * b * (b - 2.0), -2.0 * b * b);
    let mut y = start;
    for _ in 0..STEPS {
        let value = ((y + c_2) * y + c_1) * y + c_0;
        let slope = (3.0 * y + 2.0 * c_2) * y + c_1;
        let step = value / slope;
        if slope.is_nan() || slope <= 0.0 || step.abs() > 0.5 * y {
            return None;
        }
        y -= step;
        // The next step would be below the last digit.
        if step.abs() < 1e-9 * y {
            return (y > 0.0).then_some(y);
        }
    }
    None
}

/// The phase at a root, with its derivatives: all of `F(x, z) = z - 1 - ln(z - B) - A q`.
fn phase_at(
    (a, b): (Form<f64>, Form<f64>),
    pair: &PairAt,
    fractions: [f64; 2],
    free: f64,
) -> PairPhase {
    let bend = |entries: [f64; 3]| 2.0 * (entries[0] - 2.0 * entries[1] + entries[2]);
    let slope = |form: &Form<f64>| 2.0 * (form.rows[1] - form.rows[0]);
    let (a_x, b_x) = (slope(&a), slope(&b));
    let (a_xx, b_xx) = (bend(pair.attractions), bend(pair.covolumes));
    let (a_of, b_of) = (a.value, b.value);
    let z = free + b_of;
    let (q, product) = ratio(z, b_of);
    let (per_free, per_product) = (1.0 / free, 1.0 / product);
    // q and its derivatives are homogeneous in z and B, of degree -1 and below.
    let q_b = (z * per_product - q) / b_of;
    let q_bz = 2.0 * (z - b_of) * per_product * per_product;
    let q_bb = -(2.0 * q_b + z * q_bz) / b_of;
    let square = per_free * per_free;
    let pushes = per_free - a_of * q_b;
    let f_zz = square - 2.0 * a_of * (z + b_of) * per_product * per_product;
    let f_xz = a_x * per_product - b_x * (square + a_of * q_bz);
    let f_xx =
        pushes * b_xx - q * a_xx + (square - a_of * q_bb) * b_x * b_x - 2.0 * q_b * a_x * b_x;
    let z_x = -f_xz / f_zz;
    // A and B grow with the pressure as it does.
    let z_p = (b_of * (square + a_of * q_bz) - a_of * per_product) / f_zz;
    let [one, two] = fractions;
    let energy = z - 1.0 - Number::ln(free) - a_of * q;
    let slope = pushes * b_x - q * a_x;
    PairPhase {
        fractions,
        free,
        free_slope: z_p - b_of,
        compression: z,
        ln_coefficients: [energy - two * slope, energy + one * slope],
        volumes: [z - two * z_x, z + one * z_x],
        stability: 1.0 + one * two * (f_xx - f_xz * f_xz / f_zz),
    }
}

/// Compositions at which the Gibbs energy of a pair is looked at.
pub(crate) const POINTS: usize = 24;

/// Amount fractions of compositions, denser towards the pure substances, with their logarithms, zero for an absent substance.
#[derive(Debug)]
pub(crate) struct Compositions {
    pub(crate) fractions: [[f64; 2]; POINTS],
    pub(crate) logarithms: [[f64; 2]; POINTS],
    second: [f64; POINTS],
}

/// The compositions of every scan.
pub(crate) fn compositions() -> &'static Compositions {
    static ALL: OnceLock<Compositions> = OnceLock::new();
    ALL.get_or_init(|| {
        let last = (POINTS - 1) as f64;
        let fractions = core::array::from_fn(|point| {
            let turn = |point: usize| (core::f64::consts::FRAC_PI_2 * point as f64 / last).sin();
            [POINTS - 1 - point, point].map(|point| turn(point) * turn(point))
        });
        let logarithm = |x: f64| if x > 0.0 { Number::ln(x) } else { 0.0 };
        Compositions {
            logarithms: fractions.map(|both: [f64; 2]| both.map(logarithm)),
            second: fractions.map(|[_, two]| two),
            fractions,
        }
    })
}

/// The residual Gibbs energy of one composition at one root.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sheet {
    /// g and `dg/dx_2`.
    pub(crate) energy: f64,
    pub(crate) slope: f64,
    /// `y = z - B` and z.
    pub(crate) free: f64,
    pub(crate) compression: f64,
}

/// The residual Gibbs energy of one composition.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sample {
    /// At the smallest and the greatest root, which are the same where there is one.
    pub(crate) sheets: [Sheet; 2],
    /// How near two other roots are to being real: up to one where there is one root, and infinite where there are three.
    pub(crate) others: f64,
}

impl Sample {
    /// Whether there is one root.
    pub(crate) fn is_lone(&self) -> bool {
        self.others <= 1.0
    }

    /// That of the smaller energy.
    pub(crate) fn stable(&self) -> &Sheet {
        let [liquid, vapour] = &self.sheets;
        if liquid.energy <= vapour.energy {
            liquid
        } else {
            vapour
        }
    }
}

struct Scanning<'a> {
    pair: &'a PairAt,
    second: &'a [f64],
}

/// Steps of the iteration of a root, and its last relative step within which it has settled: the energy has no slope in z.
const ROOT_STEPS: u32 = 6;
const SETTLED: f64 = 1e-3;

/// A root with the relative last step towards it.
#[derive(Clone, Copy)]
struct Root<N> {
    free: N,
    step: N,
}

/// Laguerre's method from a value beyond all roots, or from zero below those wanted: cubic, and it passes over no root.
#[inline(always)]
fn root_from<N: Number>([c_2, c_1, c_0]: [N; 3], start: N) -> Root<N> {
    let mut free = start;
    let mut step = start;
    for _ in 0..ROOT_STEPS {
        let value = ((free + c_2) * free + c_1) * free + c_0;
        let slope = (free.times(3.0) + c_2.times(2.0)) * free + c_1;
        let bend = free.times(3.0) + c_2;
        let square = (slope * slope - (value * bend).times(3.0)).abs_at_least(1e-300);
        step = value.times(3.0) * (slope + square.sqrt().times(2.0)).recip();
        free = free - step;
    }
    Root { free, step }
}

/// g and its slope at a root.
#[inline(always)]
fn energy_and_slope<N: Number>(a: Form<N>, b: Form<N>, free: N) -> [N; 2] {
    let z = free + b.value;
    let (over, under) = (z + b.value.times(DELTA_1), z + b.value.times(DELTA_2));
    let per_b = b.value.recip();
    let q = (over * under.recip()).ln() * per_b.times(1.0 / WIDTH);
    let b_x = (b.rows[1] - b.rows[0]).times(2.0);
    let a_x = (a.rows[1] - a.rows[0]).times(2.0);
    let q_b = (z * (over * under).recip() - q) * per_b;
    [
        z.plus(-1.0) - free.ln() - a.value * q,
        (free.recip() - a.value * q_b) * b_x - q * a_x,
    ]
}

/// y at the root from a start, with the last step towards it, g and its slope.
#[inline(always)]
fn end<N: Number>(a: Form<N>, b: Form<N>, cubic: [N; 3], start: N) -> [N; 4] {
    let root = root_from(cubic, start);
    let [energy, slope] = energy_and_slope(a, b, root.free.abs_at_least(1e-300));
    [root.free, root.step, energy, slope]
}

/// How near two roots of the polynomial beside a root are to being real, as in [`others`]: below one they are not.
#[inline(always)]
fn nearness<N: Number>(free: N, c_1: N, c_0: N) -> N {
    let per_free = free.recip();
    let product = -(c_0 * per_free);
    let sum = (c_1 - product) * per_free;
    let square = (sum * sum).times(0.25);
    sum.choose(square * product.recip(), sum.like(0.0))
}

/// The roots of the polynomial beside one of its roots, whose product is `-c_0/y`, with their sum as in [`compression_factors`].
#[inline(always)]
fn others(free: f64, [c_1, c_0]: [f64; 2]) -> Others {
    let product = -c_0 / free;
    let sum = (c_1 - product) / free;
    let square = 0.25 * sum * sum;
    if sum <= 0.0 {
        Others::None(0.0)
    } else if square < product {
        Others::None(square / product)
    } else {
        let large = 0.5 * sum + Number::sqrt(square - product);
        Others::Two(product / large, large)
    }
}

/// Positive roots beside one.
#[derive(Clone, Copy, PartialEq)]
enum Others {
    /// How near two are to being real ones, from zero to one.
    None(f64),
    Two(f64, f64),
}

impl Sheet {
    /// The sheet of a composition at a root.
    fn new(pair: &PairAt, fractions: [f64; 2], free: f64) -> Self {
        let (a, b) = pair.sums(fractions);
        let [energy, slope] = energy_and_slope(a, b, free);
        Self {
            energy,
            slope,
            free,
            compression: free + b.value,
        }
    }
}

impl Task for Scanning<'_> {
    type Output = Option<Vec<Sample>>;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Self::Output {
        let mut scan = Vec::with_capacity(self.second.len());
        let (mut lanes, mut lone) = ([[[0.0; 8]; 4]; 2], [[0.0; 8]; 2]);
        for second in self.second.chunks(K::LANES) {
            let two = kind.load(second);
            let one = kind.splat(1.0) - two;
            let a = form(self.pair.attractions, [one, two]);
            let b = form(self.pair.covolumes, [one, two]);
            let c_1 = a.value + b.value.times(2.0) * b.value.plus(-2.0);
            let c_0 = (b.value * b.value).times(-2.0);
            let cubic = [b.value.times(4.0).plus(-1.0), c_1, c_0];
            let liquid = end(a, b, cubic, kind.splat(0.0));
            for (row, lanes) in liquid.into_iter().zip(&mut lanes[0]) {
                kind.store(row, lanes);
            }
            // Mostly there is one root at all these compositions.
            kind.store(nearness(liquid[0], c_1, cubic[2]), &mut lone[0]);
            kind.store(b.value, &mut lone[1]);
            let [free, step, ..] = &lanes[0];
            let count = second.len().min(8);
            let mut roots = step.iter().zip(free).zip(&lone[0]).take(count);
            if roots.all(|((step, free), near)| step.abs() < SETTLED * free && *near < 1.0) {
                for lane in 0..count {
                    let [free, _, energy, slope] = lanes[0].map(|row| row[lane]);
                    let sheet = Sheet {
                        energy,
                        slope,
                        free,
                        compression: free + lone[1][lane],
                    };
                    scan.push(Sample {
                        sheets: [sheet; 2],
                        others: lone[0][lane],
                    });
                }
                continue;
            }
            let vapour = end(a, b, cubic, kind.splat(1.0));
            for (row, lanes) in vapour.into_iter().zip(&mut lanes[1]) {
                kind.store(row, lanes);
            }
            let mut forms = [[0.0; 8]; 3];
            for (row, lanes) in [b.value, c_1, c_0].into_iter().zip(&mut forms) {
                kind.store(row, lanes);
            }
            for lane in 0..count {
                let [covolume, c_1, c_0] = [forms[0][lane], forms[1][lane], forms[2][lane]];
                let of = |end: usize| {
                    let [free, step, energy, slope] = &lanes[end];
                    let has_settled = step[lane].abs() < SETTLED * free[lane];
                    has_settled.then(|| Sheet {
                        energy: energy[lane],
                        slope: slope[lane],
                        free: free[lane],
                        compression: free[lane] + covolume,
                    })
                };
                let (liquid, vapour) = (of(0), of(1));
                let any = liquid.or(vapour)?;
                let others = others(any.free, [c_1, c_0]);
                let mut sheets = [liquid.unwrap_or(any), vapour.unwrap_or(any)];
                if let Others::Two(small, large) = others {
                    // One that has not settled lies close to the third, where the sheets of both end.
                    let fractions = [1.0 - second[lane], second[lane]];
                    if liquid.is_none() {
                        sheets[0] = Sheet::new(self.pair, fractions, small.min(any.free));
                    }
                    if vapour.is_none() {
                        sheets[1] = Sheet::new(self.pair, fractions, large.max(any.free));
                    }
                }
                scan.push(Sample {
                    sheets,
                    others: match others {
                        Others::None(nearness) => nearness,
                        Others::Two(..) => f64::INFINITY,
                    },
                });
            }
        }
        Some(scan)
    }
}
