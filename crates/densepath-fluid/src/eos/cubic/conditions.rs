//! The conditions of criticality of two substances in closed form.
//!
//! In a volume without translation, `V + n c`, the residual energy over RT is `F = n f(y) - (D/V) h(y)` with
//! `f = -ln(1 - y)`, `h = ln((1 + DELTA_1 y)/(1 + DELTA_2 y)) / (WIDTH y)`, `y = n b/V` and `D = sum n_i n_j a_ij/(R T)`: the
//! substances enter by n, n b and D alone, and every derivative along a change of the amounts is a sum of few products (Michelsen
//! and Heidemann, AIChE J. 27, 521 (1981), doi 10.1002/aic.690270326). The translation changes no equilibrium, and no condition of
//! criticality either.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use core::f64::consts::SQRT_2;

use super::{Attraction, Cubic, CubicPair, CubicSubstance, DELTA_1, DELTA_2, WIDTH};
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::num::lanes::Kind;
use crate::num::number;
use crate::num::slopes::Slopes;

/// The constants of two substances and of their interaction.
///
/// ```
/// use densepath_fluid::eos::{cubic::Cubic, mixture::MixtureModel};
/// // An equation of no substances is none of two.
/// assert!(Cubic::new("none", Vec::new(), |_, _| Default::default()).pair_conditions().is_none());
/// ```
#[derive(Debug, Clone, Copy)]
pub struct PairConditions {
    one: Own,
    two: Own,
    k_0: f64,
    k_1: f64,
    /// `b_11`, `b_12`, `b_22` in m3/mol.
    covolumes: [f64; 3],
}

/// What one substance brings.
#[derive(Debug, Clone, Copy)]
struct Own {
    ln_critical_temperature: f64,
    /// `(a_c/R)^(1/2)` in (m3 K/mol)^(1/2).
    scale: f64,
    attraction: Attraction,
    /// In m3/mol.
    translation: f64,
}

impl Own {
    /// `(a/(RT))^(1/2)` in (m3/mol)^(1/2) at a logarithm of the temperature.
    #[inline(always)]
    fn root<const N: usize, T: number::Number>(
        &self,
        ln_temperature: Slopes<N, T>,
    ) -> Slopes<N, T> {
        match self.attraction {
            Attraction::Soave { m } => {
                let slope = -m * (-0.5 * self.ln_critical_temperature).exp();
                ((ln_temperature * -0.5).exp() * (1.0 + m) + slope) * self.scale
            }
            Attraction::Twu { l, m, n } => {
                let ln_reduced = ln_temperature + -self.ln_critical_temperature;
                let power = (ln_reduced * (n * m)).exp() * -l;
                let whole = ln_reduced * (n * (m - 1.0)) + power + l - ln_temperature;
                (whole * 0.5).exp() * self.scale
            }
        }
    }
}

/// One number for each pair: 11, 12, 22.
pub(crate) type Pairs<T> = [T; 3];

/// Both conditions: the smallest eigenvalue, and C along its direction `u_i`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Conditions<const N: usize, T = f64> {
    pub(crate) eigenvalue: Slopes<N, T>,
    pub(crate) cubic: Slopes<N, T>,
    pub(crate) direction: [T; 2],
}

impl<T: number::Number> Conditions<1, T> {
    /// The values of both conditions, the direction, and the slopes in variables side by side of which the first lane has number `from`.
    #[inline(always)]
    pub(crate) fn store<K: Kind<Number = T>>(
        &self,
        kind: K,
        from: usize,
        conditions: &mut Conditions<3>,
    ) {
        let Conditions {
            eigenvalue, cubic, ..
        } = conditions;
        for (own, of) in [(self.eigenvalue, eigenvalue), (self.cubic, cubic)] {
            kind.store(own.slopes[0], &mut of.slopes[from..]);
            kind.store(own.value, core::slice::from_mut(&mut of.value));
        }
        for (own, of) in self.direction.into_iter().zip(&mut conditions.direction) {
            kind.store(own, core::slice::from_mut(of));
        }
    }
}

impl<const N: usize> Conditions<N> {
    /// Both conditions without a value.
    pub(crate) fn unknown() -> Self {
        Self {
            eigenvalue: Slopes::constant(f64::NAN),
            cubic: Slopes::constant(f64::NAN),
            direction: [f64::NAN; 2],
        }
    }

    /// The same along the direction that points to the side of another.
    pub(crate) fn towards(self, other: [f64; 2]) -> Self {
        let [u, v] = self.direction;
        if u * other[0] + v * other[1] < 0.0 {
            return Self {
                cubic: -self.cubic,
                direction: [-u, -v],
                ..self
            };
        }
        self
    }
}

/// f and h with their first three derivatives in y, each with the factors that go with them.
struct Functions<const N: usize, T> {
    /// f', f'' = f'^2, f''' = 2 f'^3.
    free: Slopes<N, T>,
    h: [Slopes<N, T>; 4],
}

impl<const N: usize, T: number::Number> Functions<N, T> {
    #[inline(always)]
    fn new(y: Slopes<N, T>) -> Self {
        let r = y.recip();
        let edges = (y * DELTA_1 + 1.0, y * DELTA_2 + 1.0);
        let ratio = edges.0 / edges.1;
        // (y h)' = 1/P with P = (1 + DELTA_1 y)(1 + DELTA_2 y), of which the first two derivatives follow.
        let q = (edges.0 * edges.1).recip();
        let p_y = (-y + 1.0) * 2.0;
        let q_y = -(p_y * q * q);
        let q_yy = q * q * (p_y * p_y * q + 1.0) * 2.0;
        let h = ratio.ln() * r * (1.0 / WIDTH);
        let h_y = (q - h) * r;
        let h_yy = (q_y - h_y * 2.0) * r;
        let h_yyy = (q_yy - h_yy * 3.0) * r;
        Self {
            free: (-y + 1.0).recip(),
            h: [h, h_y, h_yy, h_yyy],
        }
    }
}

/// A composition at a density: all that does not depend on the temperature.
pub(crate) struct Composed<const N: usize, T = f64> {
    x: [Slopes<N, T>; 2],
    density: Slopes<N, T>,
    y: Slopes<N, T>,
    /// `dy/dn_i` and `d2y/(dn_i dn_j)`.
    first: [Slopes<N, T>; 2],
    second: Pairs<Slopes<N, T>>,
    functions: Functions<N, T>,
}

impl<const N: usize, T: number::Number> Composed<N, T> {
    /// Of amount fraction x of the second substance at a density without translation in mol/m3.
    #[inline(always)]
    pub(crate) fn new(
        pair: &PairConditions,
        density: Slopes<N, T>,
        fraction: Slopes<N, T>,
    ) -> Self {
        let [b_11, b_12, b_22] = pair.covolumes;
        let x = [-fraction + 1.0, fraction];
        let rows = [x[0] * b_11 + x[1] * b_12, x[0] * b_12 + x[1] * b_22];
        let y = density * (x[0] * rows[0] + x[1] * rows[1]);
        let first = [density * rows[0] * 2.0 - y, density * rows[1] * 2.0 - y];
        let second = [
            density * (2.0 * b_11) - first[0] * 2.0,
            density * (2.0 * b_12) - first[0] - first[1],
            density * (2.0 * b_22) - first[1] * 2.0,
        ];
        Self {
            functions: Functions::new(y),
            x,
            density,
            y,
            first,
            second,
        }
    }

    /// The part of the repulsion in `d2F/(dn_i dn_j)`.
    #[inline(always)]
    fn repulsion(&self) -> Pairs<Slopes<N, T>> {
        let [y_1, y_2] = self.first;
        let [y_11, y_12, y_22] = self.second;
        [
            self.repulsion_of(y_1, y_1, y_11),
            self.repulsion_of(y_1, y_2, y_12),
            self.repulsion_of(y_2, y_2, y_22),
        ]
    }

    #[inline(always)]
    fn repulsion_of(
        &self,
        y_i: Slopes<N, T>,
        y_j: Slopes<N, T>,
        y_ij: Slopes<N, T>,
    ) -> Slopes<N, T> {
        let f = self.functions.free;
        f * (y_i + y_j + y_ij + f * y_i * y_j)
    }

    /// The part of the attraction in it, negative, with `a_ij/(RT)`, `sum_j x_j a_ij/(RT)` and `a/(RT)`.
    #[inline(always)]
    fn attraction(&self, a: Pairs<Slopes<N, T>>, sums: Sums<N, T>) -> Pairs<Slopes<N, T>> {
        let [a_11, a_12, a_22] = a;
        let ([one, two], [y_11, y_12, y_22]) = ([0, 1], self.second);
        [
            self.attraction_of(a_11, sums, (one, one), y_11),
            self.attraction_of(a_12, sums, (one, two), y_12),
            self.attraction_of(a_22, sums, (two, two), y_22),
        ]
    }

    #[inline(always)]
    fn attraction_of(
        &self,
        a_ij: Slopes<N, T>,
        (rows, sum): Sums<N, T>,
        (i, j): (usize, usize),
        y_ij: Slopes<N, T>,
    ) -> Slopes<N, T> {
        let [h, h_y, h_yy, _] = self.functions.h;
        let (y_i, y_j) = (self.first[i], self.first[j]);
        let bend = h_yy * y_i * y_j + h_y * y_ij;
        self.density * ((a_ij * h + h_y * (rows[i] * y_j + rows[j] * y_i)) * 2.0 + sum * bend)
    }

    /// `sum_j x_j a_ij/(RT)` and `a/(RT)`.
    #[inline(always)]
    fn sums(&self, [a_11, a_12, a_22]: Pairs<Slopes<N, T>>) -> Sums<N, T> {
        let [x_1, x_2] = self.x;
        let rows = [x_1 * a_11 + x_2 * a_12, x_1 * a_12 + x_2 * a_22];
        (rows, x_1 * rows[0] + x_2 * rows[1])
    }

    /// The third derivative of F along a change of the amounts.
    #[inline(always)]
    fn third(
        &self,
        change: [Slopes<N, T>; 2],
        a: Pairs<Slopes<N, T>>,
        (rows, sum): Sums<N, T>,
    ) -> Slopes<N, T> {
        let total = change[0] + change[1];
        let (y_1, y_2) = (along(self.first, change), twice(self.second, change));
        let y_3 = total * y_2 * -3.0;
        let (a_1, a_2) = (along(rows, change) * 2.0, twice(a, change) * 2.0);
        let f = self.functions.free;
        let fy = f * y_1;
        let repulsion =
            f * (total * (fy * y_1 + y_2) * 3.0 + y_3) + fy * (fy * fy * 2.0 + f * y_2 * 3.0);
        let [_, h_y, h_yy, h_yyy] = self.functions.h;
        let bend = h_yy * y_1 * y_1 + h_y * y_2;
        let attraction = (a_2 * h_y * y_1 + a_1 * bend) * 3.0
            + sum * (y_1 * (h_yyy * y_1 * y_1 + h_yy * y_2 * 3.0) + h_y * y_3);
        repulsion - self.density * attraction
    }

    /// Both conditions with `a_ij/(RT)`, along either side of the direction.
    #[inline(always)]
    pub(crate) fn conditions(&self, a: Pairs<Slopes<N, T>>) -> Conditions<N, T> {
        let sums = self.sums(a);
        let [a_11, a_12, a_22] = self.attraction(a, sums);
        let [r_11, r_12, r_22] = self.repulsion();
        let [x_1, x_2] = self.x;
        // With w_i = u_i / x_i^(1/2) the eigenvalues are those of delta_ij + F_ij x_j, which knows no root of a fraction: it goes
        // on smoothly to a substance alone.
        let f_12 = r_12 - a_12;
        let (m_11, m_22) = ((r_11 - a_11) * x_1 + 1.0, (r_22 - a_22) * x_2 + 1.0);
        let half = (m_11 - m_22) * 0.5;
        let root = (half * half + f_12 * f_12 * x_1 * x_2).sqrt();
        let w = [
            Slopes::choose(half.value, -(f_12 * x_2), root - half),
            Slopes::choose(half.value, half + root, -(f_12 * x_1)),
        ];
        let size = x_1 * w[0] * w[0] + x_2 * w[1] * w[1];
        let scale = size.sqrt().recip();
        let w = [w[0] * scale, w[1] * scale];
        let change = [x_1 * w[0], x_2 * w[1]];
        let ideal = change[0] * w[0] * w[0] + change[1] * w[1] * w[1];
        Conditions {
            eigenvalue: (m_11 + m_22) * 0.5 - root,
            cubic: self.third(change, a, sums) - ideal,
            direction: [x_1.value.sqrt() * w[0].value, x_2.value.sqrt() * w[1].value],
        }
    }
}

/// Sums over the pairs with one fraction, and with two.
type Sums<const N: usize, T> = ([Slopes<N, T>; 2], Slopes<N, T>);

/// `sum v_i d_i`.
#[inline(always)]
fn along<const N: usize, T: number::Number>(
    v: [Slopes<N, T>; 2],
    d: [Slopes<N, T>; 2],
) -> Slopes<N, T> {
    v[0] * d[0] + v[1] * d[1]
}

/// `sum v_ij d_i d_j`.
#[inline(always)]
fn twice<const N: usize, T: number::Number>(
    v: Pairs<Slopes<N, T>>,
    d: [Slopes<N, T>; 2],
) -> Slopes<N, T> {
    v[0] * d[0] * d[0] + v[1] * d[0] * d[1] * 2.0 + v[2] * d[1] * d[1]
}

/// Numbers of pairs, each times a weight of its own.
#[inline(always)]
fn weighed<T: number::Number>(weights: Pairs<T>, [m_11, m_12, m_22]: Pairs<T>) -> Pairs<T> {
    [weights[0] * m_11, weights[1] * m_12, weights[2] * m_22]
}

impl Composed<0> {
    /// `p/(RT)` in mol/m3 and the logarithms of the fugacity coefficients over it, with `a_ij/(RT)`.
    pub(crate) fn phase(&self, a: Pairs<Slopes<0>>) -> (f64, [f64; 2]) {
        let (rows, sum) = self.sums(a);
        let ([h, h_y, ..], f) = (self.functions.h.map(|h| h.value), self.functions.free.value);
        let (rho, y, sum) = (self.density.value, self.y.value, sum.value);
        let pressure = rho * (1.0 + f * y - rho * sum * (h + h_y * y));
        let ln_free = (1.0 - y).ln();
        let potential = |i: usize| {
            let first = self.first[i].value;
            f * first - ln_free - rho * (2.0 * rows[i].value * h + sum * h_y * first)
        };
        let ln_z = (pressure / rho).ln();
        (pressure, [potential(0) - ln_z, potential(1) - ln_z])
    }
}

impl<T: number::Number> Composed<0, T> {
    /// What the smallest eigenvalue takes from the attraction.
    #[inline(always)]
    pub(crate) fn softness(&self) -> Softness<T> {
        let [x_1, x_2] = [self.x[0].value, self.x[1].value];
        let weights = [x_1, (x_1 * x_2).sqrt(), x_2];
        let [r_11, r_12, r_22] = self.repulsion();
        let repulsion = [r_11.value, r_12.value, r_22.value];
        let [r_11, r_12, r_22] = weighed(weights, repulsion);
        let [of_11, of_12, of_22] = self.attraction_shares();
        Softness {
            repulsion: [r_11.plus(1.0), r_12, r_22.plus(1.0)],
            attraction: [
                weighed(weights, of_11),
                weighed(weights, of_12),
                weighed(weights, of_22),
            ],
        }
    }

    /// What each of `a_11`, `a_12` and `a_22` takes part with in [`Composed::attraction`].
    #[inline(always)]
    fn attraction_shares(&self) -> Pairs<Pairs<T>> {
        let [x_1, x_2] = [self.x[0].value, self.x[1].value];
        let [y_1, y_2] = [self.first[0].value, self.first[1].value];
        let [h, h_y, h_yy, _] = self.functions.h;
        let (rho, h_y, h_yy) = (self.density.value, h_y.value, h_yy.value);
        let (own, cross) = ((rho * h.value).times(2.0), (rho * h_y).times(2.0));
        let [z_1, z_2] = [cross * y_1, cross * y_2];
        let [y_11, y_12, y_22] = self.second;
        let bends = [
            rho * (h_yy * y_1).mul_add(y_1, h_y * y_11.value),
            rho * (h_yy * y_1).mul_add(y_2, h_y * y_12.value),
            rho * (h_yy * y_2).mul_add(y_2, h_y * y_22.value),
        ];
        let [xx_11, xx_12, xx_22] = [x_1 * x_1, (x_1 * x_2).times(2.0), x_2 * x_2];
        let [b_11, b_12, b_22] = bends;
        [
            [
                xx_11.mul_add(b_11, (x_1 * z_1).times(2.0)) + own,
                xx_11.mul_add(b_12, x_1 * z_2),
                xx_11 * b_22,
            ],
            [
                xx_12.mul_add(b_11, (x_2 * z_1).times(2.0)),
                xx_12.mul_add(b_12, x_2.mul_add(z_2, x_1 * z_1)) + own,
                xx_12.mul_add(b_22, (x_1 * z_2).times(2.0)),
            ],
            [
                xx_22 * b_11,
                xx_22.mul_add(b_12, x_2 * z_1),
                xx_22.mul_add(b_22, (x_2 * z_2).times(2.0)) + own,
            ],
        ]
    }
}

/// The matrix of the stability at a composition and a density, as it depends on the temperature.
pub(crate) struct Softness<T = f64> {
    /// `delta_ij` and the repulsion.
    repulsion: Pairs<T>,
    /// Of each `a_kl/(RT)` the share in the entries.
    attraction: Pairs<Pairs<T>>,
}

impl<T: number::Number> Softness<T> {
    /// The smallest eigenvalue with `a_ij/(RT)`.
    #[inline(always)]
    pub(crate) fn eigenvalue<const N: usize>(&self, a: Pairs<Slopes<N, T>>) -> Slopes<N, T> {
        let (m_11, m_12, m_22) = (self.entry(0, a), self.entry(1, a), self.entry(2, a));
        let half = (m_11 - m_22) * 0.5;
        (m_11 + m_22) * 0.5 - (half * half + m_12 * m_12).sqrt()
    }

    #[inline(always)]
    fn entry<const N: usize>(&self, k: usize, a: Pairs<Slopes<N, T>>) -> Slopes<N, T> {
        let mut entry = Slopes::constant(self.repulsion[k]);
        for (a, of) in a.into_iter().zip(self.attraction) {
            entry = entry.less(a, of[k]);
        }
        entry
    }
}

impl PairConditions {
    /// The pair that an equation of two substances is.
    pub(super) fn new(cubic: &Cubic) -> Option<Self> {
        let ([first, second], [a_1, a_2]) = (&cubic.substances[..], &cubic.attractions[..]) else {
            return None;
        };
        let [b_11, b_22] = cubic.covolumes[..] else {
            return None;
        };
        let own = |substance: &CubicSubstance, root: f64| Own {
            ln_critical_temperature: substance.critical.temperature.ln(),
            scale: root / MOLAR_GAS_CONSTANT.sqrt(),
            attraction: substance.attraction,
            translation: substance.translation,
        };
        let interaction = cubic.interactions.get(1)?;
        Some(Self {
            one: own(first, *a_1),
            two: own(second, *a_2),
            k_0: interaction.k_0,
            k_1: interaction.k_1,
            covolumes: [b_11, interaction.covolume(b_11, b_22), b_22],
        })
    }

    /// `a_ij/(RT)` of each pair in m3/mol at a logarithm of the temperature.
    #[inline(always)]
    pub(crate) fn attractions<const N: usize, T: number::Number>(
        &self,
        ln_temperature: Slopes<N, T>,
    ) -> Pairs<Slopes<N, T>> {
        let (q, r) = (self.one.root(ln_temperature), self.two.root(ln_temperature));
        let like = if self.k_1 == 0.0 {
            Slopes::constant(ln_temperature.value.like(1.0 - self.k_0))
        } else {
            (-ln_temperature).exp() * -self.k_1 + (1.0 - self.k_0)
        };
        [q * q, q * r * like, r * r]
    }

    /// The pair at a temperature in K with `a_ij/(RT)` there.
    pub(crate) fn at(&self, temperature: f64, attractions: Pairs<f64>) -> CubicPair {
        CubicPair {
            temperature,
            attractions,
            covolumes: self.covolumes,
            translations: [self.one.translation, self.two.translation],
        }
    }

    /// b in m3/mol at an amount fraction of the second substance.
    #[inline(always)]
    pub(crate) fn covolume<const N: usize, T: number::Number>(
        &self,
        fraction: Slopes<N, T>,
    ) -> Slopes<N, T> {
        let [b_11, b_12, b_22] = self.covolumes;
        let other = -fraction + 1.0;
        other * (other * b_11 + fraction * (2.0 * b_12)) + fraction * fraction * b_22
    }

    /// The logarithms of temperature and molar density at the critical point of a substance: there `b/V` without translation is the
    /// root of `3 y^-1 = 1 + (4 - 2 2^(1/2))^(1/3) + (4 + 2 2^(1/2))^(1/3)`, by the conditions of the equation alone.
    pub(crate) fn pure_critical(&self, index: usize) -> [f64; 2] {
        let (own, covolume, fraction) = match index {
            0 => (self.one, self.covolumes[0], 0.0),
            _ => (self.two, self.covolumes[2], 1.0),
        };
        let side = 2.0 * SQRT_2;
        let volume = covolume * (1.0 + (4.0 - side).cbrt() + (4.0 + side).cbrt());
        let translation = self.translation(Slopes::<0>::constant(fraction)).value;
        [own.ln_critical_temperature, -(volume - translation).ln()]
    }

    /// ln T, ln of the density without translation and the fraction of the second substance at a logarithm of the molar density.
    pub(crate) fn place(&self, ln_temperature: f64, ln_density: f64, fraction: f64) -> [f64; 3] {
        let shift = ln_density.exp() * self.translation(Slopes::<0>::constant(fraction)).value;
        [ln_temperature, ln_density - shift.ln_1p(), fraction]
    }

    /// c in m3/mol at an amount fraction of the second substance.
    #[inline(always)]
    pub(crate) fn translation<const N: usize, T: number::Number>(
        &self,
        fraction: Slopes<N, T>,
    ) -> Slopes<N, T> {
        let (one, two) = (self.one.translation, self.two.translation);
        fraction * (two - one) + one
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::eos::equilibrium::samples::binary;
    use crate::eos::mixture::MixtureModel;

    type Three = Slopes<3>;

    fn conditions(
        pair: &PairConditions,
        [t, d, x]: [Three; 3],
        towards: [f64; 2],
    ) -> Conditions<3> {
        let place = Composed::new(pair, d.exp(), x);
        place.conditions(pair.attractions(t)).towards(towards)
    }

    proptest! {
        /// The general form by the derivatives of the energy, of equations without translation.
        #[test]
        fn conditions_are_those_of_the_general_form(
            model in binary(), t in 150.0..900.0f64, filled in 0.05..0.95f64, x in 0.001..0.999f64
        ) {
            let isotherm = model.at(t, &[1.0 - x, x]);
            let density = filled * isotherm.molar_density_max();
            let (eigenvalue, direction) = isotherm.softest(density);
            let pair = model.pair_conditions().unwrap();
            let variables = [t.ln(), density.ln(), x].map(Three::constant);
            let found = conditions(&pair, variables, [direction[0], direction[1]]);
            let change = [(1.0 - x).sqrt() * direction[0], x.sqrt() * direction[1]];
            let ideal = direction[0].powi(3) / (1.0 - x).sqrt() + direction[1].powi(3) / x.sqrt();
            let cubic = density * density * isotherm.third_derivative(density, &change) - ideal;
            let close = |a: f64, b: f64, size: f64| (a - b).abs() < 1e-9 * (1.0 + size);
            prop_assert!(close(found.eigenvalue.value, eigenvalue, eigenvalue.abs()), "{found:?} {eigenvalue}");
            let size = cubic.abs() + ideal.abs() + 1.0 / (1.0 - filled).powi(3);
            prop_assert!(close(found.cubic.value, cubic, size), "{found:?} {cubic}");
            let place = Composed::new(&pair, Slopes::constant(density), Slopes::constant(x));
            let soft = place.softness().eigenvalue(pair.attractions(Slopes::<0>::constant(t.ln())));
            prop_assert!(close(soft.value, eigenvalue, eigenvalue.abs()));
        }

        #[test]
        fn slopes_of_the_conditions_are_those_of_differences(
            model in binary(), t in 150.0..900.0f64, filled in 0.05..0.9f64, x in 0.01..0.99f64
        ) {
            let pair = model.pair_conditions().unwrap();
            let density = filled * model.at(t, &[1.0 - x, x]).molar_density_max();
            let place = [t.ln(), density.ln(), x];
            let variables = [0, 1, 2].map(|k| Three::variable(place[k], k));
            let found = conditions(&pair, variables, [1.0, 0.0]);
            let step = 1e-5 * x.min(1.0 - x);
            for k in 0..3 {
                let at = |moved: f64| {
                    let mut there = place.map(Three::constant);
                    there[k].value += moved;
                    let found = conditions(&pair, there, found.direction);
                    [found.eigenvalue.value, found.cubic.value]
                };
                let (ahead, behind) = (at(step), at(-step));
                let slopes = [found.eigenvalue.slopes[k], found.cubic.slopes[k]];
                for (i, slope) in slopes.into_iter().enumerate() {
                    let expected = (ahead[i] - behind[i]) / (2.0 * step);
                    prop_assert!(
                        (slope - expected).abs() < 1e-3 * (1.0 + expected.abs() + ahead[i].abs()),
                        "{k} {i}: {slope} {expected}"
                    );
                }
            }
        }
    }
}
