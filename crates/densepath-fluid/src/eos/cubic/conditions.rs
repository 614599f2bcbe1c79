//! The conditions of criticality of two substances in closed form.
//!
//! In a volume without translation, `V + n c`, the residual energy over RT is `F = -n ln(1 - y) - D/(n b) h(y)` with
//! `h = ln((1 + DELTA_1 y)/(1 + DELTA_2 y)) / WIDTH`, `y = n b/V` and `D = sum n_i n_j a_ij/(R T)`: the substances enter by n, n b and
//! D alone, and every derivative along a change of the amounts is a sum of few products (Michelsen and Heidemann, AIChE J. 27, 521
//! (1981), doi 10.1002/aic.690270326). Fewest are left along two changes that make up all: the amounts themselves, `x_i`, and
//! `v = (beta_2, -beta_1)`, `beta_i = d ln(n b)/dn_i` of one mole, along which n b does not change; their determinant is one, for
//! `sum x_i beta_i = 1`. The translation changes no equilibrium, and no condition of criticality either.

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

/// Both conditions: the determinant of the stability, which is the product of both eigenvalues of `delta_ij + (x_i x_j)^(1/2) F_ij`, and
/// C along the direction in which it vanishes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Conditions<const N: usize, T = f64> {
    pub(crate) determinant: Slopes<N, T>,
    /// C along `u_i` as it is.
    pub(crate) cubic: Slopes<N, T>,
    /// `u_i`, of no particular length.
    pub(crate) direction: [T; 2],
    /// The greater of both diagonal entries, which is positive where not both eigenvalues are negative.
    pub(crate) stiffest: T,
    /// `p/(RT)` in mol/m3.
    pub(crate) pressure: Slopes<N, T>,
}

impl<T: number::Number> Conditions<1, T> {
    /// Both conditions, the direction, and the slopes in variables side by side of which the first lane has number `from`.
    #[inline(always)]
    pub(crate) fn store<K: Kind<Number = T>>(
        &self,
        kind: K,
        from: usize,
        conditions: &mut Conditions<3>,
    ) {
        let first = |number: T, of: &mut f64| kind.store(number, core::slice::from_mut(of));
        let pairs = [
            (self.determinant, &mut conditions.determinant),
            (self.cubic, &mut conditions.cubic),
            (self.pressure, &mut conditions.pressure),
        ];
        for (own, of) in pairs {
            kind.store(own.slopes[0], &mut of.slopes[from..]);
            first(own.value, &mut of.value);
        }
        for (own, of) in self.direction.into_iter().zip(&mut conditions.direction) {
            first(own, of);
        }
        first(self.stiffest, &mut conditions.stiffest);
    }
}

impl<T: number::Number> Conditions<0, T> {
    /// C along the direction of length one, and that direction.
    #[inline(always)]
    pub(crate) fn along_unit(&self) -> (T, [T; 2]) {
        let [u, v] = self.direction;
        let per_length = u.mul_add(u, v * v).sqrt().recip();
        let per_square = per_length * per_length;
        let cubic = self.cubic.value * per_square * per_length;
        (cubic, [u * per_length, v * per_length])
    }
}

impl<const N: usize> Conditions<N> {
    /// The same with the direction of length one, towards the side of another; C stays that along a direction of any length.
    pub(crate) fn towards(self, other: [f64; 2]) -> Self {
        let [u, v] = self.direction;
        let side = (u * other[0] + v * other[1]).signum();
        let per_length = side / u.hypot(v);
        Self {
            cubic: self.cubic * side,
            direction: [u * per_length, v * per_length],
            ..self
        }
    }

    /// Both conditions without a value.
    pub(crate) fn unknown() -> Self {
        Self {
            determinant: Slopes::constant(f64::NAN),
            cubic: Slopes::constant(f64::NAN),
            direction: [f64::NAN; 2],
            stiffest: f64::NAN,
            pressure: Slopes::constant(f64::NAN),
        }
    }
}

/// What of the energy depends on `y = b/V` alone.
struct Functions<const N: usize, T> {
    y: Slopes<N, T>,
    /// `1/(1 - y)`, and y times it.
    free: Slopes<N, T>,
    filled: Slopes<N, T>,
    /// h and its first three derivatives in y, each times y to that power.
    h: [Slopes<N, T>; 4],
}

impl<const N: usize, T: number::Number> Functions<N, T> {
    #[inline(always)]
    fn new(y: Slopes<N, T>) -> Self {
        let (over, under, rest) = (y * DELTA_1 + 1.0, y * DELTA_2 + 1.0, -y + 1.0);
        let h_y = (over * under).recip();
        let free = rest.recip();
        // h' = 1/P with P = (1 + DELTA_1 y)(1 + DELTA_2 y), P' = 2 (1 - y) and P'' = -2.
        let first = y * h_y;
        let square = first * first * 2.0;
        let second = -(rest * square);
        let third = square * (rest * rest * first * 4.0 + y);
        Self {
            y,
            free,
            filled: y * free,
            h: [
                (over * over * h_y).ln() * (1.0 / WIDTH),
                first,
                second,
                third,
            ],
        }
    }
}

/// A composition: all that depends on neither the temperature nor the volume.
pub(crate) struct Composed<const N: usize, T = f64> {
    x: [Slopes<N, T>; 2],
    /// `x_1 x_2`.
    product: Slopes<N, T>,
    /// b in m3/mol and its reciprocal.
    pub(crate) covolume: Slopes<N, T>,
    per_covolume: Slopes<N, T>,
    beta: [Slopes<N, T>; 2],
    /// v, and along it n, `x_1 x_2 sum v_i^2/x_i`, `(x_1 x_2)^2 sum v_i^3/x_i^2`, and the second derivative of n b over b.
    v: [Slopes<N, T>; 2],
    total: Slopes<N, T>,
    square: Slopes<N, T>,
    cube: Slopes<N, T>,
    bend: Slopes<N, T>,
}

impl<const N: usize, T: number::Number> Composed<N, T> {
    /// Of amount fraction x of the second substance.
    #[inline(always)]
    pub(crate) fn new(pair: &PairConditions, fraction: Slopes<N, T>) -> Self {
        let [b_11, b_12, b_22] = pair.covolumes;
        let x @ [x_1, x_2] = [-fraction + 1.0, fraction];
        let rows = [x_1 * b_11 + x_2 * b_12, x_1 * b_12 + x_2 * b_22];
        let covolume = x_1 * rows[0] + x_2 * rows[1];
        let per_covolume = covolume.recip();
        let twice = per_covolume * 2.0;
        let beta = [rows[0] * twice + -1.0, rows[1] * twice + -1.0];
        let v @ [v_1, v_2] = [beta[1], -beta[0]];
        let bend = v_1 * v_1 * b_11 + v_1 * v_2 * (2.0 * b_12) + v_2 * v_2 * b_22;
        let (one, two) = (v_1 * x_2, v_2 * x_1);
        Self {
            x,
            product: x_1 * x_2,
            covolume,
            per_covolume,
            beta,
            v,
            total: v_1 + v_2,
            square: v_1 * one + v_2 * two,
            cube: v_1 * one * one + v_2 * two * two,
            bend: bend * twice,
        }
    }

    /// `a/(b RT)` and, with v for one of both compositions and for both, twice that.
    #[inline(always)]
    fn pulls(&self, [a_11, a_12, a_22]: Pairs<Slopes<N, T>>) -> Pairs<Slopes<N, T>> {
        let ([x_1, x_2], [v_1, v_2]) = (self.x, self.v);
        let rows = [x_1 * a_11 + x_2 * a_12, x_1 * a_12 + x_2 * a_22];
        let [one, two] = [v_1 * a_11 + v_2 * a_12, v_1 * a_12 + v_2 * a_22];
        let (per_b, twice) = (self.per_covolume, self.per_covolume * 2.0);
        [
            (x_1 * rows[0] + x_2 * rows[1]) * per_b,
            (v_1 * rows[0] + v_2 * rows[1]) * twice,
            (v_1 * one + v_2 * two) * twice,
        ]
    }
}

/// A composition with a share of the volume filled, `y = b/V` in a volume without translation.
pub(crate) struct Packed<const N: usize, T = f64> {
    composed: Composed<N, T>,
    functions: Functions<N, T>,
}

impl<const N: usize, T: number::Number> Packed<N, T> {
    #[inline(always)]
    pub(crate) fn new(composed: Composed<N, T>, y: Slopes<N, T>) -> Self {
        Self {
            functions: Functions::new(y),
            composed,
        }
    }

    /// Both conditions with `a_ij/(RT)`.
    #[inline(always)]
    pub(crate) fn conditions(&self, a: Pairs<Slopes<N, T>>) -> Conditions<N, T> {
        let Composed {
            product,
            total,
            square,
            bend,
            per_covolume,
            ..
        } = self.composed;
        let pulls @ [pull, pull_v, pull_vv] = self.composed.pulls(a);
        let (free, filled) = (self.functions.free, self.functions.filled);
        let [h_0, h_1, h_2, _] = self.functions.h;
        // The second derivatives of the energy along x twice, along both, and along v twice times x_1 x_2.
        let along = free * free - pull * (h_1 * 2.0 + h_2);
        let mixed = total * free - pull_v * h_1;
        let across = square + product * (bend * (filled - pull * (h_1 - h_0)) - pull_vv * h_0);
        let shift = product * mixed;
        // The direction x + x_1 x_2 q v or p x + x_1 x_2 v in which they vanish, with the greater entry below.
        let by = (across - along).value;
        let per = Slopes::choose(by, across, along).recip();
        let one = Slopes::constant(by.like(1.0));
        let p = Slopes::choose(by, one, -(shift * per));
        let q = Slopes::choose(by, -(mixed * per), one);
        Conditions {
            determinant: along * across - shift * mixed,
            cubic: self.third([p, q], pulls),
            direction: self.composed.direction([p.value, q.value]),
            stiffest: by.choose(across.value, along.value),
            pressure: self.functions.y * per_covolume * (free - pull * h_1),
        }
    }

    /// The third derivative of the energy along `p x + x_1 x_2 q v`.
    #[inline(always)]
    fn third(
        &self,
        [p, q]: [Slopes<N, T>; 2],
        [pull, pull_v, pull_vv]: Pairs<Slopes<N, T>>,
    ) -> Slopes<N, T> {
        let Composed {
            product,
            total,
            square,
            cube,
            bend,
            ..
        } = self.composed;
        let (filled, [h_0, h_1, h_2, h_3]) = (self.functions.filled, self.functions.h);
        let (push, turn) = (filled * filled, h_1 - h_0);
        let c_30 = push * (filled * 2.0 + 3.0) + -1.0 - pull * (h_2 * 3.0 + h_3);
        let c_21 = total * (push + -1.0) - pull_v * h_2;
        let c_12 = product * (bend * (push - pull * (h_2 - turn)) - pull_vv * turn) - square;
        let c_03 = cube + product * product * bend * turn * (pull_v - pull * total) * 3.0;
        let qx = product * q;
        p * (p * (p * c_30 + qx * c_21 * 3.0) + qx * q * c_12 * 3.0) - qx * q * q * c_03
    }
}

impl<const N: usize, T: number::Number> Composed<N, T> {
    /// `u_i` of the change `u_i x_i^(1/2) = p x_i + x_1 x_2 q v_i` of the amounts.
    #[inline(always)]
    fn direction(&self, [p, q]: [T; 2]) -> [T; 2] {
        let [x_1, x_2] = [self.x[0].value, self.x[1].value];
        let [v_1, v_2] = [self.v[0].value, self.v[1].value];
        [
            x_1.sqrt() * (q * v_1).mul_add(x_2, p),
            x_2.sqrt() * (q * v_2).mul_add(x_1, p),
        ]
    }
}

impl Packed<0> {
    /// `p V/(RT)` and the logarithms of the fugacity coefficients, with `a_ij/(RT)`.
    pub(crate) fn phase(&self, a: Pairs<Slopes<0>>) -> (f64, [f64; 2]) {
        let Composed {
            x,
            beta,
            per_covolume,
            ..
        } = &self.composed;
        let [pull, ..] = self.composed.pulls(a).map(|pull| pull.value);
        let [h_0, h_1, ..] = self.functions.h.map(|h| h.value);
        let (free, filled) = (self.functions.free.value, self.functions.filled.value);
        let compression = free - pull * h_1;
        let [a_11, a_12, a_22] = a;
        let rows = [x[0] * a_11 + x[1] * a_12, x[0] * a_12 + x[1] * a_22];
        let crowding = filled - pull * (h_1 - h_0);
        let ln_free = (free / compression).ln();
        let potential = |i: usize| {
            let row = rows[i].value * per_covolume.value;
            ln_free - 2.0 * row * h_0 + beta[i].value * crowding
        };
        (compression, [potential(0), potential(1)])
    }
}

impl<T: number::Number> Packed<0, T> {
    /// The second derivatives of the energy as they depend on the attraction.
    #[inline(always)]
    pub(crate) fn softness(&self) -> Softness<T> {
        let Composed {
            product,
            total,
            square,
            bend,
            per_covolume,
            ..
        } = &self.composed;
        let [x_1, x_2] = [self.composed.x[0].value, self.composed.x[1].value];
        let [v_1, v_2] = [self.composed.v[0].value, self.composed.v[1].value];
        let (free, filled) = (self.functions.free.value, self.functions.filled.value);
        let [h_0, h_1, h_2, _] = self.functions.h;
        let (h_0, h_1, h_2) = (h_0.value, h_1.value, h_2.value);
        let (product, bend, per_b) = (product.value, bend.value, per_covolume.value);
        let root = product.sqrt();
        let xx = [x_1 * x_1, product.times(2.0), x_2 * x_2];
        let xv = [x_1 * v_1, x_1.mul_add(v_2, x_2 * v_1), x_2 * v_2];
        let vv = [v_1 * v_1, (v_1 * v_2).times(2.0), v_2 * v_2];
        let along = per_b * (h_1.times(2.0) + h_2);
        let mixed = (per_b * h_1).times(2.0) * root;
        let (bent, across) = (
            per_b * product * bend * (h_1 - h_0),
            per_b * product * h_0.times(2.0),
        );
        Softness {
            trace: [square.value, (root * total.value).times(2.0)],
            repulsion: [
                free * free,
                root * total.value * free,
                square.value + product * bend * filled,
            ],
            attraction: [
                [along * xx[0], along * xx[1], along * xx[2]],
                [mixed * xv[0], mixed * xv[1], mixed * xv[2]],
                [
                    across.mul_add(vv[0], bent * xx[0]),
                    across.mul_add(vv[1], bent * xx[1]),
                    across.mul_add(vv[2], bent * xx[2]),
                ],
            ],
        }
    }
}

/// The second derivatives of the energy of a composition at a density, as they depend on the temperature: along the amounts twice,
/// along both changes times `(x_1 x_2)^(1/2)`, and along v twice times `x_1 x_2`.
pub(crate) struct Softness<T = f64> {
    /// Of the ideal mixture and the repulsion.
    repulsion: Pairs<T>,
    /// Of each `a_kl/(RT)` the share in the entries.
    attraction: Pairs<Pairs<T>>,
    /// How often the trace of `delta_ij + (x_i x_j)^(1/2) F_ij` holds the first entry, and how often it lacks the second.
    trace: [T; 2],
}

impl<T: number::Number> Softness<T> {
    /// The determinant with `a_ij/(RT)`, and the trace of the entries: where not both are positive the phase is not stable.
    #[inline(always)]
    pub(crate) fn determinant<const N: usize>(&self, a: Pairs<Slopes<N, T>>) -> (Slopes<N, T>, T) {
        let (along, mixed, across) = (self.entry(0, a), self.entry(1, a), self.entry(2, a));
        let trace = along.value + across.value;
        (along * across - mixed * mixed, trace)
    }

    /// The smallest eigenvalue with `a_ij/(RT)`, of `delta_ij + (x_i x_j)^(1/2) F_ij`: negative where the phase is not stable.
    #[inline(always)]
    pub(crate) fn eigenvalue<const N: usize>(&self, a: Pairs<Slopes<N, T>>) -> Slopes<N, T> {
        let (along, mixed, across) = (self.entry(0, a), self.entry(1, a), self.entry(2, a));
        let [of_along, of_mixed] = self.trace;
        let half = (along.scaled(of_along) + across).less(mixed, of_mixed) * 0.5;
        half - (half * half - along * across + mixed * mixed).sqrt()
    }

    #[inline(always)]
    fn entry<const N: usize>(&self, k: usize, a: Pairs<Slopes<N, T>>) -> Slopes<N, T> {
        let [of_11, of_12, of_22] = self.attraction[k];
        let repulsion = Slopes::constant(self.repulsion[k]);
        repulsion
            .less(a[0], of_11)
            .less(a[1], of_12)
            .less(a[2], of_22)
    }
}

/// `a_ij/(RT)` of each pair from [`PairConditions::roots`].
#[inline(always)]
pub(crate) fn attractions<const N: usize, T: number::Number>(
    [q, r, like]: Pairs<Slopes<N, T>>,
) -> Pairs<Slopes<N, T>> {
    [q * q, q * r * like, r * r]
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

    /// What makes up `a_ij/(RT)` at a logarithm of the temperature: of each substance `(a/(RT))^(1/2)` in (m3/mol)^(1/2), and
    /// `1 - k_ij`.
    #[inline(always)]
    pub(crate) fn roots<const N: usize, T: number::Number>(
        &self,
        ln_temperature: Slopes<N, T>,
    ) -> Pairs<Slopes<N, T>> {
        let like = if self.k_1 == 0.0 {
            Slopes::constant(ln_temperature.value.like(1.0 - self.k_0))
        } else {
            (-ln_temperature).exp() * -self.k_1 + (1.0 - self.k_0)
        };
        [
            self.one.root(ln_temperature),
            self.two.root(ln_temperature),
            like,
        ]
    }

    /// `a_ij/(RT)` of each pair in m3/mol at a logarithm of the temperature.
    #[inline(always)]
    pub(crate) fn attractions<const N: usize, T: number::Number>(
        &self,
        ln_temperature: Slopes<N, T>,
    ) -> Pairs<Slopes<N, T>> {
        attractions(self.roots(ln_temperature))
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

    /// ln T, `b/V` in a volume without translation and the fraction of the second substance at a logarithm of the molar density.
    pub(crate) fn place(&self, ln_temperature: f64, ln_density: f64, fraction: f64) -> [f64; 3] {
        let constant = Slopes::<0>::constant(fraction);
        let volume = (-ln_density).exp() + self.translation(constant).value;
        [
            ln_temperature,
            Composed::new(self, constant).covolume.value / volume,
            fraction,
        ]
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

    fn packed(pair: &PairConditions, density: Three, x: Three) -> Packed<3> {
        let composed = Composed::new(pair, x);
        let y = density * composed.covolume;
        Packed::new(composed, y)
    }

    fn conditions(pair: &PairConditions, [t, d, x]: [Three; 3]) -> Conditions<3> {
        packed(pair, d.exp(), x).conditions(pair.attractions(t))
    }

    proptest! {
        /// The general form by the derivatives of the energy, of equations without translation.
        #[test]
        fn conditions_are_those_of_the_general_form(
            model in binary(), t in 150.0..900.0f64, filled in 0.05..0.95f64, x in 0.001..0.999f64
        ) {
            let isotherm = model.at(t, &[1.0 - x, x]);
            let density = filled * isotherm.molar_density_max();
            let curvatures = isotherm.potential_derivatives(density).curvatures;
            let entry = |k: usize, weight: f64| weight * density * curvatures[k];
            let (one, two) = (1.0 + entry(0, 1.0 - x), 1.0 + entry(3, x));
            let (both, root) = (one * two, (x * (1.0 - x)).sqrt());
            let determinant = both - entry(1, root).powi(2);
            let pair = model.pair_conditions().unwrap();
            let variables = [t.ln(), density.ln(), x].map(Three::constant);
            let found = conditions(&pair, variables);
            let size = 1e-9 * (1.0 + both.abs() + entry(1, root).powi(2));
            prop_assert!((found.determinant.value - determinant).abs() < size, "{found:?} {determinant}");
            let [u, v] = found.direction;
            let change = [(1.0 - x).sqrt() * u, x.sqrt() * v];
            let ideal = change[0].powi(3) / (1.0 - x).powi(2) + change[1].powi(3) / x.powi(2);
            let cubic = density * density * isotherm.third_derivative(density, &change) - ideal;
            let size = cubic.abs() + ideal.abs() + u.hypot(v).powi(3) / (1.0 - filled).powi(3);
            prop_assert!((found.cubic.value - cubic).abs() < 1e-8 * (1.0 + size), "{found:?} {cubic}");
            let pressure = found.pressure.value * MOLAR_GAS_CONSTANT * t;
            prop_assert!((pressure / isotherm.pressure(density) - 1.0).abs() < 1e-8);
        }

        /// What the softness tells is what the conditions tell.
        #[test]
        fn softness_is_that_of_the_conditions(
            model in binary(), t in 150.0..900.0f64, filled in 0.05..0.95f64, x in 0.001..0.999f64
        ) {
            let pair = model.pair_conditions().unwrap();
            let [t, y, x] = [t.ln(), filled, x].map(Slopes::<0>::constant);
            let place = Packed::new(Composed::new(&pair, x), y);
            let found = place.conditions(pair.attractions(t));
            let one = place.softness().determinant(pair.attractions(t)).0.value;
            let other = found.determinant.value;
            prop_assert!((one - other).abs() < 1e-9 * (1.0 + found.stiffest.powi(2)), "{one} {other}");
            let isotherm = model.at(t.value.exp(), &[1.0 - x.value, x.value]);
            let (expected, _) = isotherm.softest(filled / Composed::new(&pair, x).covolume.value);
            let smallest = place.softness().eigenvalue(pair.attractions(t)).value;
            let size = 1.0 + expected.abs() + found.stiffest.abs();
            prop_assert!((smallest - expected).abs() < 1e-9 * size, "{smallest} {expected}");
            let (_, [u, v]) = found.along_unit();
            prop_assert!((u.hypot(v) - 1.0).abs() < 1e-12);
        }

        #[test]
        fn slopes_of_the_conditions_are_those_of_differences(
            model in binary(), t in 150.0..900.0f64, filled in 0.05..0.9f64, x in 0.01..0.99f64
        ) {
            let pair = model.pair_conditions().unwrap();
            let density = filled * model.at(t, &[1.0 - x, x]).molar_density_max();
            let place = [t.ln(), density.ln(), x];
            let variables = [0, 1, 2].map(|k| Three::variable(place[k], k));
            let found = conditions(&pair, variables);
            // The direction has a length without bound where no entry is left to divide by, which no limit of stability is near.
            prop_assume!(found.stiffest > 0.1);
            let step = 1e-5 * x.min(1.0 - x);
            for k in 0..3 {
                let at = |moved: f64| {
                    let mut there = place.map(Three::constant);
                    there[k].value += moved;
                    let found = conditions(&pair, there);
                    [found.determinant.value, found.cubic.value, found.pressure.value / density]
                };
                let (ahead, behind) = (at(step), at(-step));
                let pressure = found.pressure * (1.0 / density);
                let slopes = [found.determinant, found.cubic, pressure].map(|of| of.slopes[k]);
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
