//! The equation of Peng and Robinson for mixtures, with consistent translation of the volume.
//!
//! `p = R T / (v + c - b) - a(T) / ((v + c)^2 + 2 b (v + c) - b^2)` (Peng and Robinson, Ind. Eng. Chem. Fundam. 15, 59
//! (1976), doi 10.1021/i160057a011), translated by constant volumes `c`, linear in the amounts, which leave every phase
//! equilibrium unchanged (Péneloux, Rauzy and Fréze, Fluid Phase Equilib. 8, 7 (1982),
//! doi 10.1016/0378-3812(82)80002-2).
//! Mixing: `a = sum x_i x_j (a_i a_j)^(1/2) (1 - k_ij)` with `k_ij = k_0 + k_1/T`,
//! `b = sum x_i x_j (b_i + b_j) (1 - l_ij) / 2`, `c = sum x_i c_i`.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

pub(crate) mod conditions;
mod pair;
mod pair_scan;

use core::f64::consts::SQRT_2;

use smallvec::SmallVec;

pub use self::pair::CubicPair;
pub(crate) use self::pair::{PairAt, PairPhase};
pub(crate) use self::pair_scan::{Compositions, POINTS, Scan, compositions};
use super::helmholtz::PointDerivatives;
use super::mixture::{
    CriticalConstants, Densities, DensityDerivatives, MixtureIsotherm, MixtureModel,
    PotentialDerivatives,
};
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::error::{Error, Result};
use crate::fluids::binary::CubicPairRecord;
use crate::fluids::cubic::{AlphaRecord, CubicRecord};
use crate::num::Amounts;
use crate::num::slopes::Slopes;
use crate::num::third::Third;
use conditions::PairConditions;

/// `a_c = OMEGA_A R^2 T_c^2 / p_c` and `b = OMEGA_B R T_c / p_c`: the values that make the critical point exact, of which
/// the paper prints 0.45724 and 0.07780.
const OMEGA_A: f64 = 0.457_235_528_921_382_2;
const OMEGA_B: f64 = 0.077_796_073_903_888_45;
/// The two constants of the denominator, `(v + DELTA_1 b) (v + DELTA_2 b)`, and their difference.
const DELTA_1: f64 = 1.0 + SQRT_2;
const DELTA_2: f64 = 1.0 - SQRT_2;
const WIDTH: f64 = 2.0 * SQRT_2;

/// How the attraction of a substance falls with temperature.
///
/// ```
/// use densepath_fluid::eos::cubic::Attraction;
/// // At the critical temperature every form is one.
/// for form in [Attraction::Soave { m: 0.7 }, Attraction::Twu { l: 0.2, m: 0.8, n: 2.0 }] {
///     assert!((form.alpha(1.0) - 1.0).abs() < 1e-12);
/// }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Attraction {
    /// `alpha^(1/2) = 1 + m (1 - T_r^(1/2))` (Soave, Chem. Eng. Sci. 27, 1197 (1972),
    /// doi 10.1016/0009-2509(72)80096-4).
    Soave {
        /// Slope m.
        m: f64,
    },
    /// `alpha = T_r^(N (M - 1)) exp(L (1 - T_r^(N M)))` (Twu, Bluck, Cunningham and Coon, Fluid Phase Equilib. 69, 33
    /// (1991)).
    Twu {
        /// Constant L.
        l: f64,
        /// Constant M.
        m: f64,
        /// Constant N.
        n: f64,
    },
}

impl Attraction {
    /// The slope m of Soave's form by the acentric factor: Peng and Robinson 1976 up to 0.491, above it the polynomial of
    /// Robinson and Peng, Gas Processors Association Research Report RR-28 (1978), as later authors and libraries print it.
    ///
    /// ```
    /// use densepath_fluid::eos::cubic::Attraction;
    /// // m = 0.37464 + 1.54226 w - 0.26992 w^2 (Peng and Robinson 1976), of carbon dioxide with w = 0.2239.
    /// let attraction = Attraction::by_acentric_factor(0.2239);
    /// assert!(matches!(attraction, Attraction::Soave { m } if (m - 0.70641).abs() < 1e-4));
    /// ```
    pub fn by_acentric_factor(omega: f64) -> Self {
        let m = if omega <= 0.491 {
            0.37464 + omega * (1.54226 - omega * 0.26992)
        } else {
            0.379642 + omega * (1.48503 + omega * (-0.164423 + omega * 0.016666))
        };
        Self::Soave { m }
    }

    /// alpha at a reduced temperature.
    ///
    /// ```
    /// use densepath_fluid::eos::cubic::Attraction;
    /// // (1 + m (1 - 0.7^(1/2)))^2.
    /// let alpha = Attraction::Soave { m: 0.7 }.alpha(0.7);
    /// assert!((alpha - (1.0 + 0.7 * (1.0 - 0.7f64.sqrt())).powi(2)).abs() < 1e-12);
    /// ```
    pub fn alpha(&self, reduced: f64) -> f64 {
        let [root, ..] = self.root(reduced);
        root * root
    }

    /// `alpha^(1/2)` with its first and second derivative in ln T, at a reduced temperature.
    fn root(&self, reduced: f64) -> [f64; 3] {
        match *self {
            Self::Soave { m } => {
                let slope = -0.5 * m * reduced.sqrt();
                [1.0 + m + 2.0 * slope, slope, 0.5 * slope]
            }
            Self::Twu { l, m, n } => {
                let power = l * reduced.powf(n * m);
                let root = (0.5 * (n * (m - 1.0) * reduced.ln() + l - power)).exp();
                let first = 0.5 * n * (m - 1.0 - m * power);
                let second = -0.5 * n * n * m * m * power;
                [root, root * first, root * (first * first + second)]
            }
        }
    }
}

/// One substance of the equation.
///
/// ```
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// assert!((model.substances()[0].critical.temperature - 304.1).abs() < 0.1);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CubicSubstance {
    /// Name in words.
    pub name: String,
    /// The constants that fix `a_c` and `b`.
    pub critical: CriticalConstants,
    /// Fall of the attraction with temperature.
    pub attraction: Attraction,
    /// Translation of the volume c in m3/mol.
    pub translation: f64,
}

impl CubicSubstance {
    /// A substance of a data record.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// assert_eq!(model.substances()[1].name, "n-butane");
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn new(name: impl Into<String>, record: &CubicRecord) -> Self {
        Self {
            name: name.into(),
            critical: CriticalConstants {
                temperature: record.critical_temperature,
                pressure: record.critical_pressure,
                acentric_factor: record.acentric_factor,
            },
            attraction: match record.alpha {
                AlphaRecord::Soave { m } => Attraction::Soave { m },
                AlphaRecord::Twu { l, m, n } => Attraction::Twu { l, m, n },
            },
            translation: record.translation,
        }
    }
}

/// Interaction of two unlike substances.
///
/// ```
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// // Without interaction the two attract each other more: the pressure is lower.
/// let ideal = Cubic::new("ideal pair", model.substances().to_vec(), |_, _| Interaction { k_0: 0.0, k_1: 0.0, l: 0.0 });
/// assert!(ideal.at(320.0, &[0.5, 0.5]).pressure(5000.0) < model.at(320.0, &[0.5, 0.5]).pressure(5000.0));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Interaction {
    /// Constant part `k_0` of k_ij, dimensionless.
    pub k_0: f64,
    /// Part `k_1` of k_ij in K: `k_ij = k_0 + k_1/T`.
    pub k_1: f64,
    /// `l_ij`, dimensionless.
    pub l: f64,
}

impl From<&CubicPairRecord> for Interaction {
    fn from(record: &CubicPairRecord) -> Self {
        Self {
            k_0: record.k_0,
            k_1: record.k_1,
            l: record.l,
        }
    }
}

impl Interaction {
    /// `a_ij / (R T)` in m3/mol with its derivatives in inverse temperature, `f`, `tau df/dtau`, `tau^2 d2f/dtau2`, by `a_i^(1/2)`
    /// of both with theirs in ln T.
    fn attraction(&self, temperature: f64, q: &[f64; 3], r: &[f64; 3]) -> [f64; 3] {
        let rt = MOLAR_GAS_CONSTANT * temperature;
        let change = self.k_1 / temperature;
        let like = 1.0 - self.k_0 - change;
        // Derivatives in ln T; those of k_ij are -change and change.
        let (product, first) = (q[0] * r[0], q[1] * r[0] + q[0] * r[1]);
        let second = q[2] * r[0] + 2.0 * q[1] * r[1] + q[0] * r[2];
        let a = product * like;
        let a_l = first * like + product * change;
        let a_ll = second * like + 2.0 * first * change - product * change;
        [a / rt, (a - a_l) / rt, (a_ll - a_l) / rt]
    }

    /// `b_ij` in m3/mol, by `b` of both.
    fn covolume(&self, one: f64, other: f64) -> f64 {
        0.5 * (one + other) * (1.0 - self.l)
    }
}

/// The equation for a mixture.
///
/// ```
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// assert_eq!((model.len(), model.name()), (2, "Peng-Robinson"));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Cubic {
    name: String,
    substances: Vec<CubicSubstance>,
    /// For each pair, row after row.
    interactions: Vec<Interaction>,
    /// `a_c^(1/2)` of each substance in (J m3)^(1/2)/mol.
    attractions: Amounts,
    /// b of each substance in m3/mol.
    covolumes: Amounts,
    /// The constants of two substances.
    pair: Option<PairConditions>,
}

impl Cubic {
    /// The equation for substances and the interaction of each pair, told by the indices of both with the first the
    /// smaller.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// // A thin mixture is an ideal gas: rho R T.
    /// let thin = model.at(320.0, &[0.5, 0.5]).pressure(1.0);
    /// assert!((thin / (8.314_462_618 * 320.0) - 1.0).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn new(
        name: impl Into<String>,
        substances: Vec<CubicSubstance>,
        interaction: impl Fn(usize, usize) -> Interaction,
    ) -> Self {
        let of = |i: usize, j: usize| {
            if i == j {
                Interaction::default()
            } else {
                interaction(i.min(j), i.max(j))
            }
        };
        let count = substances.len();
        let scale = |s: &CubicSubstance| MOLAR_GAS_CONSTANT * s.critical.temperature;
        let mut cubic = Self {
            name: name.into(),
            interactions: (0..count * count)
                .map(|k| of(k / count, k % count))
                .collect(),
            attractions: substances
                .iter()
                .map(|s| scale(s) * (OMEGA_A / s.critical.pressure).sqrt())
                .collect(),
            covolumes: substances
                .iter()
                .map(|s| OMEGA_B * scale(s) / s.critical.pressure)
                .collect(),
            substances,
            pair: None,
        };
        cubic.pair = PairConditions::new(&cubic);
        cubic
    }

    /// The substances.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// assert_eq!(model.substances().len(), 2);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn substances(&self) -> &[CubicSubstance] {
        &self.substances
    }

    /// `a_i^(1/2)` of each substance in (J m3)^(1/2)/mol with its first and second derivative in ln T.
    fn roots(&self, temperature: f64) -> impl Iterator<Item = [f64; 3]> + Clone {
        let substances = self.substances.iter().zip(&self.attractions);
        substances.map(move |(s, scale)| {
            let root = s.attraction.root(temperature / s.critical.temperature);
            root.map(|r| r * scale)
        })
    }

    /// What each pair has at a temperature in K, row after row.
    fn pairs(&self, temperature: f64) -> Square {
        let roots: SmallVec<[[f64; 3]; 4]> = self.roots(temperature).collect();
        let mut pairs = Square::new();
        let mut interactions = self.interactions.iter();
        for (q, b_q) in roots.iter().zip(&self.covolumes) {
            let others = roots.iter().zip(&self.covolumes);
            for ((r, b_r), interaction) in others.zip(&mut interactions) {
                let [a, a_t, a_tt] = interaction.attraction(temperature, q, r);
                pairs.push([a, a_t, a_tt, interaction.covolume(*b_q, *b_r)]);
            }
        }
        pairs
    }
}

impl MixtureModel for Cubic {
    fn len(&self) -> usize {
        self.substances.len()
    }

    fn name(&self) -> &str {
        &self.name
    }

    fn at<'a>(
        &'a self,
        temperature: f64,
        amount_fractions: &[f64],
    ) -> Box<dyn MixtureIsotherm + 'a> {
        Box::new(CubicIsotherm::new(self, temperature, amount_fractions))
    }

    fn cubic_pair(&self, temperature: f64) -> Option<CubicPair> {
        let pair = self.pair.as_ref()?;
        let attractions = pair.attractions(Slopes::<0>::constant(temperature.ln()));
        Some(pair.at(temperature, attractions.map(|a| a.value)))
    }

    fn pair_conditions(&self) -> Option<PairConditions> {
        self.pair
    }

    fn critical_constants(&self, index: usize) -> CriticalConstants {
        self.substances.get(index).map_or(
            CriticalConstants {
                temperature: f64::NAN,
                pressure: f64::NAN,
                acentric_factor: f64::NAN,
            },
            |substance| substance.critical,
        )
    }
}

/// `a_ij / (R T)` with its first two derivatives in inverse temperature and `b_ij`, all in m3/mol; sums of them over pairs.
type Entry = [f64; 4];
/// One entry for each pair, row after row, on the stack for two substances.
type Square = SmallVec<[Entry; 4]>;

/// The equation at one temperature and composition.
#[derive(Debug, Clone)]
struct CubicIsotherm<'a> {
    cubic: &'a Cubic,
    temperature: f64,
    fractions: Amounts,
    pairs: Square,
    /// `sum_j x_j m_ij` of each substance and `sum_ij x_i x_j m_ij`.
    rows: SmallVec<[Entry; 4]>,
    sum: Entry,
    translation: f64,
}

/// `sum_j x_j m_j` of a row.
#[inline]
fn weighed(row: &[Entry], weights: &[f64]) -> Entry {
    let mut sum = [0.0; 4];
    for (entry, weight) in row.iter().zip(weights) {
        for (sum, e) in sum.iter_mut().zip(entry) {
            *sum += weight * e;
        }
    }
    sum
}

impl<'a> CubicIsotherm<'a> {
    fn new(cubic: &'a Cubic, temperature: f64, amount_fractions: &[f64]) -> Self {
        let mut isotherm = Self {
            cubic,
            temperature,
            fractions: Amounts::new(),
            pairs: cubic.pairs(temperature),
            rows: SmallVec::new(),
            sum: [0.0; 4],
            translation: 0.0,
        };
        isotherm.recompose(amount_fractions);
        isotherm
    }

    /// b in m3/mol.
    fn covolume(&self) -> f64 {
        let [.., covolume] = self.sum;
        covolume
    }

    /// a / (R T) in m3/mol.
    fn attraction(&self) -> f64 {
        let [attraction, ..] = self.sum;
        attraction
    }

    fn point(&self, rho: f64) -> Point {
        Point::new(self.covolume() * rho, self.translation * rho)
    }

    /// What each substance takes part with at a point.
    fn shares<'p>(&'p self, point: &'p Point) -> impl Iterator<Item = Share> + 'p {
        let covolume = self.covolume();
        let own = self.rows.iter().zip(&self.cubic.substances);
        own.map(move |([row, row_t, _, b_row], substance)| {
            // d(n b)/dn_i.
            let (b, c) = (2.0 * b_row - covolume, substance.translation);
            Share {
                b,
                c,
                row: *row,
                row_t: *row_t,
                h: point.h_b * b + point.h_c * c,
            }
        })
    }

    /// `psi_i` of a substance at a point of a molar density in mol/m3.
    fn potential(&self, rho: f64, point: &Point, share: &Share) -> f64 {
        let push = (share.b - share.c) / point.free;
        rho * (push - 2.0 * share.row * point.h - rho * self.attraction() * share.h) - point.ln_free
    }

    fn density_derivatives_at_point(&self, rho: f64, point: &Point) -> DensityDerivatives {
        let attraction = self.attraction();
        let pull = rho * attraction / (point.e_1 * point.e_2);
        let push = point.filled / point.free;
        DensityDerivatives {
            a: -point.ln_free - rho * attraction * point.h,
            a_d: push - pull,
            a_dd: push * push + pull * (2.0 - 1.0 / point.e_1 - 1.0 / point.e_2),
        }
    }

    /// `c_i` of each substance.
    fn translations(&self) -> impl Iterator<Item = f64> + Clone {
        self.cubic.substances.iter().map(|s| s.translation)
    }
}

/// What a substance takes part with at a point.
#[derive(Debug, Clone, Copy)]
struct Share {
    /// `d(n b)/dn_i` and `c_i` in m3/mol.
    b: f64,
    c: f64,
    /// `sum_j x_j a_ij / (R T)` in m3/mol and its derivative in inverse temperature.
    row: f64,
    row_t: f64,
    /// `H_B b + H_C c`.
    h: f64,
}

/// What the energy takes from `B = b rho` and `C = c rho`:
/// `psi = -rho ln(1 + C - B) - rho^2 a/(RT) H(B, C)`, `H = ln(E_1/E_2) / (WIDTH B)`, `E_k = 1 + C + DELTA_k B`.
#[derive(Debug, Clone, Copy)]
struct Point {
    /// `1 + C - B` and its logarithm.
    free: f64,
    ln_free: f64,
    /// `B - C`.
    filled: f64,
    e_1: f64,
    e_2: f64,
    h: f64,
    h_b: f64,
    h_c: f64,
    b: f64,
    c: f64,
}

impl Point {
    fn new(b: f64, c: f64) -> Self {
        let (e_1, e_2) = (1.0 + c + DELTA_1 * b, 1.0 + c + DELTA_2 * b);
        let product = e_1 * e_2;
        let h = (WIDTH * b / e_2).ln_1p() / (WIDTH * b);
        Self {
            free: 1.0 + c - b,
            ln_free: (c - b).ln_1p(),
            filled: b - c,
            e_1,
            e_2,
            h,
            h_b: ((1.0 + c) / product - h) / b,
            h_c: -1.0 / product,
            b,
            c,
        }
    }

    /// Second derivatives of H: in B twice, in B and C, in C twice.
    fn second(&self) -> [f64; 3] {
        let product = self.e_1 * self.e_2;
        let sum = self.e_1 + self.e_2;
        let square = product * product;
        // d(E_1 E_2)/dB = DELTA_1 E_2 + DELTA_2 E_1 = 2 (1 + C) - 2 B.
        let product_b = 2.0 * (1.0 + self.c - self.b);
        [
            (-(1.0 + self.c) * product_b / square - 2.0 * self.h_b) / self.b,
            product_b / square,
            sum / square,
        ]
    }
}

impl MixtureIsotherm for CubicIsotherm<'_> {
    fn temperature(&self) -> f64 {
        self.temperature
    }

    fn amount_fractions(&self) -> &[f64] {
        &self.fractions
    }

    fn recompose(&mut self, amount_fractions: &[f64]) {
        self.rows.clear();
        for row in self.pairs.chunks(amount_fractions.len().max(1)) {
            self.rows.push(weighed(row, amount_fractions));
        }
        self.sum = weighed(&self.rows, amount_fractions);
        let translations = self.translations().zip(amount_fractions);
        self.translation = translations.map(|(c, x)| c * x).sum();
        self.fractions.clear();
        self.fractions.extend_from_slice(amount_fractions);
    }

    fn molar_density_max(&self) -> f64 {
        (1.0 - 1e-9) / (self.covolume() - self.translation)
    }

    fn density_derivatives(&self, molar_density: f64) -> DensityDerivatives {
        self.density_derivatives_at_point(molar_density, &self.point(molar_density))
    }

    fn residual(&self, molar_density: f64) -> PointDerivatives {
        let point = self.point(molar_density);
        let DensityDerivatives { a, a_d, a_dd } =
            self.density_derivatives_at_point(molar_density, &point);
        let [_, first, second, _] = self.sum;
        PointDerivatives {
            a,
            a_d,
            a_dd,
            a_t: -molar_density * first * point.h,
            a_tt: -molar_density * second * point.h,
            a_dt: -molar_density * first / (point.e_1 * point.e_2),
        }
    }

    fn potentials(&self, molar_density: f64) -> Amounts {
        let point = self.point(molar_density);
        let mut potentials = Amounts::new();
        for share in self.shares(&point) {
            potentials.push(self.potential(molar_density, &point, &share));
        }
        potentials
    }

    fn potential_derivatives(&self, molar_density: f64) -> PotentialDerivatives {
        let rho = molar_density;
        let point = self.point(rho);
        let [h_bb, h_bc, h_cc] = point.second();
        let [attraction, attraction_t, ..] = self.sum;
        let mut shares: SmallVec<[Share; 4]> = SmallVec::new();
        let mut found = PotentialDerivatives {
            density: self.density_derivatives_at_point(rho, &point),
            ..PotentialDerivatives::default()
        };
        for share in self.shares(&point) {
            found.potentials.push(self.potential(rho, &point, &share));
            let slope = 2.0 * share.row_t * point.h + rho * attraction_t * share.h;
            found.slopes.push(rho * slope);
            shares.push(share);
        }
        let mut entries = self.pairs.iter();
        for one in &shares {
            for (two, [pair, .., covolume]) in shares.iter().zip(&mut entries) {
                // n d2(n b)/(dn_i dn_j).
                let b_ij = 2.0 * covolume - one.b - two.b;
                let (g_i, g_j) = (one.b - one.c, two.b - two.c);
                let repulsion = (g_i + g_j + b_ij + rho * g_i * g_j / point.free) / point.free;
                let bend = h_bb * one.b * two.b
                    + h_bc * (one.b * two.c + two.b * one.c)
                    + h_cc * one.c * two.c;
                let pull = 2.0 * pair * point.h
                    + 2.0 * rho * (one.row * two.h + two.row * one.h)
                    + rho * attraction * (rho * bend + point.h_b * b_ij);
                found.curvatures.push(repulsion - pull);
            }
        }
        found
    }

    fn third_derivative(&self, molar_density: f64, direction: &[f64]) -> f64 {
        use crate::num::number::Number;

        let rho = molar_density;
        let change: f64 = direction.iter().sum();
        let density = Third::new(rho, change, 0.0);
        // Sums over the pairs with two directions, and with one direction and the fractions.
        let turned = self.pairs.chunks(direction.len().max(1));
        let turned: SmallVec<[Entry; 4]> = turned.map(|row| weighed(row, direction)).collect();
        let (twice, once) = (weighed(&turned, direction), weighed(&self.rows, direction));
        let quadratic = |[whole, once, twice]: [f64; 3]| {
            Third::new(rho * rho * whole, 2.0 * rho * once, 2.0 * twice)
        };
        let ([a, .., b], [a_v, .., b_v], [a_vv, .., b_vv]) = (self.sum, once, twice);
        let b = quadratic([b, b_v, b_vv]) / density;
        let shift: f64 = self.translations().zip(direction).map(|(c, v)| c * v).sum();
        let c = Third::new(rho * self.translation, shift, 0.0);
        let attraction = quadratic([a, a_v, a_vv]);
        let edge = c + 1.0;
        let ratio = (edge + b * DELTA_1) / (edge + b * DELTA_2);
        let psi = -density * (edge - b).ln() - attraction * ratio.ln() / (b * WIDTH);
        psi.third()
    }

    fn densities(&self, pressure: f64) -> Result<Densities> {
        let rt = MOLAR_GAS_CONSTANT * self.temperature;
        let scale = pressure / rt;
        let (a, b) = (self.attraction() * scale, self.covolume() * scale);
        let (smallest, greatest) = compression_factors(a, b).ok_or(Error::NoConvergence {
            solver: "roots of the cubic equation",
            iterations: 0,
            residual: f64::NAN,
            tolerance: 0.0,
        })?;
        let density = |z: f64| 1.0 / (z / scale - self.translation);
        Ok(Densities {
            vapour: density(greatest),
            liquid: density(smallest),
        })
    }
}

/// The smallest and the greatest root above b of `z^3 - (1-b) z^2 + (a - 2b - 3b^2) z - (ab - b^2 - b^3) = 0`.
///
/// Own code: a published solver in floating point would need the same polish and the same choice of roots around it.
/// With `z = b + y` the polynomial has only terms of one sign at `y = 0`, and the roots wanted are its positive ones.
fn compression_factors(a: f64, b: f64) -> Option<(f64, f64)> {
    // y^3 + c_2 y^2 + c_1 y + c_0 with c_0 = -2 b^2 < 0: there is always a positive root.
    let (c_2, c_1, c_0) = (4.0 * b - 1.0, a + 2.0 * b * (b - 2.0), -2.0 * b * b);
    let value = |y: f64| ((y + c_2) * y + c_1) * y + c_0;
    let slope = |y: f64| (3.0 * y + 2.0 * c_2) * y + c_1;
    let polished = |start: f64| {
        let mut y = start;
        for _ in 0..POLISHING_STEPS {
            let step = value(y) / slope(y);
            if !step.is_finite() || step.abs() > 0.5 * y.abs() {
                break;
            }
            y -= step;
            if step.abs() <= f64::EPSILON * y.abs() {
                break;
            }
        }
        y
    };
    // Depressed cubic t^3 - 3 q t - 2 r = 0 with y = t - c_2/3; its greatest root where there are three.
    let third = c_2 / 3.0;
    let q = third * third - c_1 / 3.0;
    let r = third * (0.5 * c_1 - third * third) - 0.5 * c_0;
    let discriminant = r * r - q * q * q;
    let start = if discriminant < 0.0 {
        let angle = (r / (q * q.sqrt())).clamp(-1.0, 1.0).acos() / 3.0;
        2.0 * q.sqrt() * angle.cos() - third
    } else {
        let size = (r.abs() + discriminant.sqrt()).cbrt();
        let other = if size == 0.0 { 0.0 } else { q / size };
        (size + other).copysign(r) - third
    };
    let root = polished(start);
    if root.is_nan() || root <= 0.0 {
        return None;
    }
    // The other two, from their product and their sum without the digits that c_2 + root would lose.
    let product = -c_0 / root;
    let sum = (c_1 - product) / root;
    let difference = 0.25 * sum * sum - product;
    if difference < 0.0 || sum <= 0.0 {
        return Some((b + root, b + root));
    }
    let large = 0.5 * sum + difference.sqrt();
    let (small, large) = (polished(product / large), polished(large));
    Some((b + small.min(root), b + large.max(root)))
}

/// Newton steps that bring a root from the digits lost in the closed form to the last digit.
const POLISHING_STEPS: u32 = 12;

#[cfg(test)]
mod tests {
    use super::super::mixture::checks::{
        derivatives_are_those_of_the_energy, fugacities_are_consistent,
    };
    use super::*;
    use proptest::prelude::*;

    /// Invented constants of about the size of carbon dioxide, methanol and water, every feature of the equation in use.
    fn ternary() -> Cubic {
        let substance = |name: &str, t, p, omega, attraction, translation| CubicSubstance {
            name: name.to_owned(),
            critical: CriticalConstants {
                temperature: t,
                pressure: p,
                acentric_factor: omega,
            },
            attraction,
            translation,
        };
        let twu = Attraction::Twu {
            l: 0.66,
            m: 0.91,
            n: 1.78,
        };
        let substances = vec![
            substance(
                "a",
                304.0,
                7.38e6,
                0.224,
                Attraction::by_acentric_factor(0.224),
                -1e-6,
            ),
            substance("b", 512.5, 8.1e6, 0.565, twu, 9e-6),
            substance(
                "c",
                647.0,
                2.2e7,
                0.344,
                Attraction::by_acentric_factor(0.344),
                5e-6,
            ),
        ];
        Cubic::new("invented", substances, |i, j| Interaction {
            k_0: 0.05 * (i + j) as f64,
            k_1: -6.0,
            l: 0.02 * (j - i) as f64,
        })
    }

    fn fractions(a: f64, b: f64) -> [f64; 3] {
        [a * b, a * (1.0 - b), 1.0 - a]
    }

    /// The paper's slope below 0.491 and that of 1978 above; the two differ by 0.4 % there.
    #[test]
    fn the_slope_of_the_attraction_follows_the_acentric_factor() {
        let m = |omega| match Attraction::by_acentric_factor(omega) {
            Attraction::Soave { m } => m,
            Attraction::Twu { .. } => f64::NAN,
        };
        assert!((m(0.22394) - 0.7064774).abs() < 1e-7);
        assert!((m(0.491) / m(0.4910001) - 1.0).abs() < 5e-3);
    }

    #[test]
    fn the_critical_point_of_a_pure_substance_is_exact() {
        let cubic = ternary();
        for (i, x) in [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]
            .iter()
            .enumerate()
        {
            let critical = cubic.critical_constants(i);
            let isotherm = cubic.at(critical.temperature, x);
            // Z_c = 0.307 401 308 698 703 8 before the translation.
            let volume = 0.307_401_308_698_703_8 * isotherm.thermal_energy() / critical.pressure
                - cubic.substances[i].translation;
            let rho = 1.0 / volume;
            assert!((isotherm.pressure(rho) / critical.pressure - 1.0).abs() < 1e-12);
            assert!((isotherm.dp_drho(rho) / isotherm.thermal_energy()).abs() < 1e-12);
        }
    }

    #[test]
    fn the_sampled_roots_are_those_of_the_closed_form() {
        let cubic = ternary();
        for temperature in [230.0, 300.0, 380.0, 500.0] {
            for pressure in [1e2, 1e5, 3e6, 1e7, 6e7] {
                let x = fractions(0.9, 0.6);
                let isotherm = CubicIsotherm::new(&cubic, temperature, &x);
                let closed = isotherm.densities(pressure).unwrap();
                let sampled =
                    super::super::mixture::sampled_densities(&isotherm, pressure).unwrap();
                for (a, b) in [
                    (closed.vapour, sampled.vapour),
                    (closed.liquid, sampled.liquid),
                ] {
                    assert!(
                        (a / b - 1.0).abs() < 1e-11,
                        "{temperature} {pressure}: {a} {b}"
                    );
                }
            }
        }
    }

    proptest! {
        #[test]
        fn derivatives_agree_with_differences(
            temperature in 220.0..600.0f64, a in 0.02..0.98f64, b in 0.02..0.98f64, filled in 0.01..0.9f64
        ) {
            let cubic = ternary();
            let x = fractions(a, b);
            let rho = filled * cubic.at(temperature, &x).molar_density_max();
            derivatives_are_those_of_the_energy(&cubic, temperature, &x, rho, 2e-6);
        }

        #[test]
        fn fugacities_agree_with_differences(
            temperature in 450.0..700.0f64, a in 0.02..0.98f64, b in 0.02..0.98f64, log_pressure in 5.0..7.7f64
        ) {
            let cubic = ternary();
            let x = fractions(a, b);
            let isotherm = cubic.at(temperature, &x);
            let ends = isotherm.densities(10f64.powf(log_pressure)).unwrap();
            prop_assume!(ends.vapour == ends.liquid && isotherm.dp_drho(ends.liquid) > 0.3 * isotherm.thermal_energy());
            fugacities_are_consistent(&cubic, temperature, &x, ends.liquid, 2e-5);
        }

        #[test]
        fn densities_give_the_pressure_back(
            temperature in 220.0..700.0f64, a in 0.0..1.0f64, b in 0.0..1.0f64, log_pressure in 0.0..8.0f64
        ) {
            let cubic = ternary();
            let isotherm = cubic.at(temperature, &fractions(a, b));
            let pressure = 10f64.powf(log_pressure);
            let found = isotherm.densities(pressure).unwrap();
            for rho in [found.vapour, found.liquid] {
                let size = rho * (isotherm.dp_drho(rho) + isotherm.thermal_energy());
                prop_assert!(
                    (isotherm.pressure(rho) - pressure).abs() < 1e-12 * (pressure + size),
                    "{rho}: {} for {pressure}",
                    isotherm.pressure(rho)
                );
                prop_assert!(isotherm.dp_drho(rho) >= 0.0);
            }
            prop_assert!(found.vapour <= found.liquid);
        }
    }
}
