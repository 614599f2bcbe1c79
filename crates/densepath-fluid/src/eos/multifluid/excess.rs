//! A departure that starts from an excess Gibbs energy.
//!
//! At one reduced density `delta_0` of dense liquids the mixture is to be that of its substances at their own temperature,
//! with an excess energy `G(x, T)` that does not depend on what the reducing functions make of the energies:
//! `alpha^r(delta_0) = sum x_k alpha^r_k(delta_0, T_k/T) + G`. The departure that does it,
//! `F = G - sum x_k (alpha^r_k(delta_0, T_r(x)/T) - alpha^r_k(delta_0, T_k/T))`, is carried to other densities by
//! `q = ln(1 + b delta) / ln(1 + b delta_0)`; after the thought of Jäger, Mickoleit and Breitkopf, Fluid Phase Equilib. 476,
//! 147 (2018), from memory, who take a model of the excess Gibbs energy at the densities of the liquids at low pressure.
//! `G = x_1 x_2 sum n (T_0/T)^t (x_1 - x_2)^k` (Redlich and Kister, Ind. Eng. Chem. 40, 345 (1948),
//! doi 10.1021/ie50458a036).
//!
//! Among more than two substances a pair is asked at its own fractions, and counts as often as its members meet:
//! `(x_i + x_j)^2 F(x_i / (x_i + x_j))`.

use super::super::helmholtz::PointDerivatives;
use super::super::residual::{Residual, ResidualAt};
use super::{Pair, Substance, bridge, bridge_derivatives};
use crate::fluids::binary::{ExcessRecord, ExcessTermRecord};
use crate::num::Amounts;
use crate::num::third::Third;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// The departure of a pair.
#[derive(Debug, Clone)]
pub(super) struct Excess {
    pair: Pair,
    /// Reducing temperatures in K.
    temperatures: [f64; 2],
    /// The equations that take the common inverse temperature.
    residuals: [Residual; 2],
    record: ExcessRecord,
}

/// `F` with its derivatives: in the fraction of the first substance, and scaled ones in inverse temperature.
#[derive(Debug, Clone, Copy, Default)]
struct Energy {
    f: f64,
    f_x: f64,
    f_xx: f64,
    f_t: f64,
    f_tt: f64,
    f_xt: f64,
}

/// The departure at one temperature.
#[derive(Debug, Clone)]
pub(super) struct ExcessAt<'a> {
    pub excess: &'a Excess,
    /// `alpha^r_k(delta_0, T_k/T)` with its first and second scaled derivative in inverse temperature.
    own: [[f64; 3]; 2],
    /// `M / rho` of `psi = M q(delta)` with its scaled derivatives in inverse temperature.
    pub weight: [f64; 3],
    /// Derivatives of M in the amounts per volume, and those of its scaled derivative in inverse temperature.
    pub first: Amounts,
    pub first_t: Amounts,
    /// Second derivatives of M times rho, row after row.
    pub second: Amounts,
}

impl Excess {
    pub fn new(
        pair: Pair,
        substances: [&Substance; 2],
        residuals: [Residual; 2],
        record: &ExcessRecord,
    ) -> Self {
        Self {
            pair,
            temperatures: substances.map(|s| s.temperature),
            residuals,
            record: record.clone(),
        }
    }

    /// `q` with its scaled derivatives in density, `delta dq/ddelta` and `delta^2 d2q/ddelta2`.
    pub fn density_factor(&self, delta: f64) -> [f64; 3] {
        let scale = 1.0 / (self.record.b * self.record.delta_0).ln_1p();
        let share = self.record.b * delta / (1.0 + self.record.b * delta);
        [
            scale * (self.record.b * delta).ln_1p(),
            scale * share,
            -scale * share * share,
        ]
    }

    /// The departure at a temperature in K, of no composition yet.
    pub fn at(&self, temperature: f64) -> ExcessAt<'_> {
        let own = [0, 1].map(|k| self.dense(k, self.temperatures[k] / temperature));
        ExcessAt {
            excess: self,
            own,
            weight: [0.0; 3],
            first: Amounts::new(),
            first_t: Amounts::new(),
            second: Amounts::new(),
        }
    }

    /// `alpha^r_k(delta_0, tau)` with its scaled derivatives in tau.
    fn dense(&self, k: usize, tau: f64) -> [f64; 3] {
        self.dense_of(&self.residuals[k].at(tau))
    }

    /// As [`Excess::dense`], of an equation at its tau.
    fn dense_of(&self, at: &ResidualAt) -> [f64; 3] {
        let point = at.derivatives(self.record.delta_0);
        [point.a, point.a_t, point.a_tt]
    }

    /// The substances of the pair.
    pub fn substances(&self) -> [usize; 2] {
        [self.pair.first, self.pair.second]
    }

    /// The common reducing temperature in K with its derivatives in the fraction of the first substance.
    fn reducing(&self, x: f64) -> [f64; 3] {
        let y = 1.0 - x;
        let [one, two] = self.temperatures;
        let [f, f_x, f_y, f_xx, f_xy, f_yy] = bridge_derivatives(self.pair.beta_temperature, x, y);
        let unlike = self.pair.temperature;
        [
            x * x * one + y * y * two + unlike * f,
            2.0 * (x * one - y * two) + unlike * (f_x - f_y),
            2.0 * (one + two) + unlike * (f_xx - 2.0 * f_xy + f_yy),
        ]
    }

    /// `F` at a temperature in K and the fraction of the first substance; both equations at the common tau of these, where it is
    /// at hand.
    fn energy(
        &self,
        own: &[[f64; 3]; 2],
        common: Option<[&ResidualAt; 2]>,
        temperature: f64,
        x: f64,
    ) -> Energy {
        let mut sum = Energy::default();
        for term in &self.record.terms {
            term.add_to(&mut sum, self.record.temperature / temperature, x);
        }
        let [reducing, slope, curvature] = self.reducing(x);
        let (t_x, t_xx) = (slope / reducing, curvature / reducing);
        let tau = reducing / temperature;
        for (k, share, sign) in [(0, x, 1.0), (1, 1.0 - x, -1.0)] {
            let dense = common.map_or_else(|| self.dense(k, tau), |at| self.dense_of(at[k]));
            let ([a, a_t, a_tt], [b, b_t, b_tt]) = (dense, own[k]);
            let a_x = a_t * t_x;
            sum.f -= share * (a - b);
            sum.f_x -= sign * (a - b) + share * a_x;
            sum.f_xx -= 2.0 * sign * a_x + share * (a_tt * t_x * t_x + a_t * t_xx);
            sum.f_t -= share * (a_t - b_t);
            sum.f_tt -= share * (a_tt - b_tt);
            sum.f_xt -= sign * (a_t - b_t) + share * (a_tt + a_t) * t_x;
        }
        sum
    }

    /// `M q(delta)` with the derivatives that the amounts per volume carry.
    pub(super) fn value(
        &self,
        temperature: f64,
        amounts: &[Third],
        density: Third,
        delta: Third,
    ) -> Third {
        let of = |i: usize| amounts.get(i).copied().unwrap_or(Third::from(f64::NAN));
        let (one, two) = (of(self.pair.first), of(self.pair.second));
        let total = one + two;
        if total.value() == 0.0 {
            return Third::from(0.0);
        }
        let (x, y) = (one / total, two / total);
        let ratio = self.record.temperature / temperature;
        let terms = self.record.terms.iter().map(|term| {
            x * y * (x - y).powi(i32::from(term.order)) * (term.n * ratio.powf(term.t))
        });
        let mut energy = terms.fold(Third::from(0.0), |sum, term| sum + term);
        let reducing = x * x * self.temperatures[0]
            + y * y * self.temperatures[1]
            + bridge(self.pair.beta_temperature, x, y) * self.pair.temperature;
        let dense = Third::from(self.record.delta_0);
        for (k, share) in [(0, x), (1, y)] {
            let common = self.residuals[k].value(dense, reducing / temperature);
            let [own, ..] = self.dense(k, self.temperatures[k] / temperature);
            energy += share * (-common + own);
        }
        let scale = 1.0 / (self.record.b * self.record.delta_0).ln_1p();
        total * total / density * energy * (delta * self.record.b).ln_1p() * scale
    }
}

impl ExcessTermRecord {
    /// Adds `n (T_0/T)^t x_1 x_2 (x_1 - x_2)^k` with its derivatives.
    fn add_to(&self, sum: &mut Energy, ratio: f64, x: f64) {
        let k = i32::from(self.order);
        let (order, u, product) = (f64::from(self.order), 2.0 * x - 1.0, x * (1.0 - x));
        let power = |lower: i32| if k >= lower { u.powi(k - lower) } else { 0.0 };
        let n = self.n * ratio.powf(self.t);
        let f = n * product * power(0);
        let f_x = n * (2.0 * product * order * power(1) - u * power(0));
        // d(product)/dx = -u and du/dx = 2.
        let f_xx = n
            * (4.0 * product * order * (order - 1.0) * power(2)
                - 4.0 * u * order * power(1)
                - 2.0 * power(0));
        sum.f += f;
        sum.f_x += f_x;
        sum.f_xx += f_xx;
        sum.f_t += self.t * f;
        sum.f_tt += self.t * (self.t - 1.0) * f;
        sum.f_xt += self.t * f_x;
    }
}

impl ExcessAt<'_> {
    /// Turns to another composition. `common` holds both equations at the common tau of a mixture that has no other substances.
    pub fn recompose(
        &mut self,
        temperature: f64,
        fractions: &[f64],
        common: Option<[&ResidualAt; 2]>,
    ) {
        let count = fractions.len();
        let (i, j) = (self.excess.pair.first, self.excess.pair.second);
        let of = |index: usize| fractions.get(index).copied().unwrap_or(f64::NAN);
        let total = of(i) + of(j);
        // Where both are absent the second derivatives depend on the way there; those of equal amounts are taken.
        let x = if total > 0.0 { of(i) / total } else { 0.5 };
        let energy = self.excess.energy(&self.own, common, temperature, x);
        let square = total * total;
        self.weight = [energy.f, energy.f_t, energy.f_tt].map(|f| square * f);
        self.first = Amounts::from_elem(-self.weight[0], count);
        self.first_t = Amounts::from_elem(-self.weight[1], count);
        self.second = Amounts::from_elem(2.0 * self.weight[0], count * count);
        // With Q = s^2 F(x) of the sum s, M = Q / rho, and each amount changes x by its `toward` over s.
        for (a, toward) in [(i, 1.0 - x), (j, -x)] {
            let slope = total * (2.0 * energy.f + toward * energy.f_x);
            let slope_t = total * (2.0 * energy.f_t + toward * energy.f_xt);
            super::add(&mut self.first, a, slope);
            super::add(&mut self.first_t, a, slope_t);
            for b in 0..count {
                super::add(&mut self.second, a * count + b, -slope);
                super::add(&mut self.second, b * count + a, -slope);
            }
            for (b, other) in [(i, 1.0 - x), (j, -x)] {
                let bent =
                    2.0 * energy.f + (toward + other) * energy.f_x + toward * other * energy.f_xx;
                super::add(&mut self.second, a * count + b, bent);
            }
        }
    }

    /// The part of `alpha^r` at a reduced density, with its derivatives.
    pub fn point(&self, delta: f64) -> PointDerivatives {
        let ([q, q_d, q_dd], [w, w_t, w_tt]) = (self.density_factor(delta), self.weight);
        PointDerivatives {
            a: w * q,
            a_d: w * q_d,
            a_dd: w * q_dd,
            a_t: w_t * q,
            a_tt: w_tt * q,
            a_dt: w_t * q_d,
        }
    }

    /// `q` with its scaled derivatives in density.
    pub fn density_factor(&self, delta: f64) -> [f64; 3] {
        self.excess.density_factor(delta)
    }
}
