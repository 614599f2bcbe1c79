//! The multi-fluid Helmholtz energy of a mixture: the equations of its pure substances at common reduced variables.
//!
//! `alpha^r = sum x_i alpha^r_i(delta, tau) + sum x_i x_j (x_i - x_j)^k alpha^r_ijk(delta, tau)` with
//! `delta = rho / rho_r(x)` and `tau = T_r(x) / T` (Kunz and Wagner, J. Chem. Eng. Data 57, 3032 (2012),
//! doi 10.1021/je300655b, eqs. 10, 11, 16 and 17). Where one substance is alone, the mixture is its pure equation.
//!
//! Some reference equations swing by many times the pressure inside their dome. That never shows in the pure fluid, but a
//! mixture of higher reducing temperature takes just these `delta` and `tau` where it is one stable phase. For such a
//! substance a smooth equation of the same fluid takes the common variables, and the reference equation adds its difference
//! from the smooth one at the substance's own `tau`: `x_i (alpha^r_i - alpha^s_i)(delta, T_r,i / T)`.
//!
//! `psi = rho alpha^r` is written as `sum G_m A_m(delta, tau_m)` with factors `G_m` homogeneous of degree one in the amounts
//! per volume: `rho_i` for a substance, `rho_i rho_j (rho_i - rho_j)^k / rho^(k+1)` for a departure. The reducing functions
//! are homogeneous of degree two, so that no fraction is a dependent one.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

mod excess;

use core::ops::Add;

use super::helmholtz::{DomeTop, Helmholtz, PointDerivatives};
use super::mixture::{
    CriticalConstants, DensityDerivatives, MixtureIsotherm, MixtureModel, PotentialDerivatives,
};
use super::residual::{Residual, ResidualAt};
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::fluids::binary::{DepartureRecord, ExcessRecord, MultiFluidRecord, ReducingRecord};
use crate::fluids::record::{EquationOfState, ResidualRecord};
use crate::num::Amounts;
use crate::num::third::Third;
use excess::{Excess, ExcessAt};

/// A substance of the equation.
#[derive(Debug, Clone)]
struct Substance {
    critical: CriticalConstants,
    /// Reducing temperature in K.
    temperature: f64,
    /// Reducing molar volume in m3/mol, at the one gas constant of mixtures.
    volume: f64,
    /// Highest reduced density.
    delta_max: f64,
}

impl Substance {
    fn new(equation: &EquationOfState) -> Self {
        let helmholtz = Helmholtz::new(equation);
        let ratio = equation.gas_constant / MOLAR_GAS_CONSTANT;
        Self {
            critical: constants(&helmholtz),
            temperature: equation.temperature_reducing,
            volume: 1.0 / (equation.molar_density_reducing * ratio),
            delta_max: equation.reduced_density_max,
        }
    }
}

/// Start values by the auxiliary equation of the vapour pressure: `omega = -1 - lg(p(0.7 T_c)/p_c)` (Pitzer's definition).
fn constants(helmholtz: &Helmholtz) -> CriticalConstants {
    let DomeTop { temperature, .. } = helmholtz.dome_top;
    let pressure = helmholtz.critical_pressure;
    let reduced = super::guess(helmholtz, 0.7 * temperature).pressure / pressure;
    CriticalConstants {
        temperature,
        pressure,
        acentric_factor: -1.0 - reduced.log10(),
    }
}

/// Factor of composition of a part.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Factor {
    /// `rho_i`.
    Substance(usize),
    /// `rho_i rho_j (rho_i - rho_j)^order / rho^(order + 1)`.
    Pair(usize, usize, i32),
}

/// The inverse temperature that a part takes.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Variable {
    /// `T_r(x) / T`.
    Common,
    /// That of a substance with its reducing temperature in K.
    Own(f64),
}

/// One `G_m A_m`.
#[derive(Debug, Clone)]
struct Part {
    factor: Factor,
    variable: Variable,
    sign: f64,
    residual: Residual,
}

/// Parameters of two substances.
#[derive(Debug, Clone, Copy)]
struct Pair {
    first: usize,
    second: usize,
    beta_temperature: f64,
    /// `2 beta_T gamma_T (T_i T_j)^(1/2)` in K.
    temperature: f64,
    beta_volume: f64,
    /// `2 beta_v gamma_v (v_i^(1/3) + v_j^(1/3))^3 / 8` in m3/mol.
    volume: f64,
}

/// The equation for a mixture.
///
/// ```
/// # use densepath_fluid::{Fluid, eos::{mixture::MixtureModel, multifluid::{MultiFluid, PairTerms}}, fluids};
/// # let equation = |name| fluids::record(fluids::find(name)?)?.reference_equation();
/// # let pair = fluids::binary::find("carbon dioxide", "methanol")?.and_then(|pair| pair.multi_fluid.clone());
/// # let Some(pair) = pair else { return Err(densepath_fluid::Error::Internal { place: "the pair is known" }) };
/// let model = MultiFluid::new("two equations", &[equation("carbon dioxide")?, equation("methanol")?], false, |_, _| &pair);
/// assert_eq!(model.len(), 2);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct MultiFluid {
    name: String,
    substances: Vec<Substance>,
    pairs: Vec<Pair>,
    parts: Vec<Part>,
    excesses: Vec<Excess>,
}

/// What is known of two substances.
///
/// ```
/// # use densepath_fluid::{Fluid, eos::{mixture::MixtureModel, multifluid::{MultiFluid, PairTerms}}, fluids};
/// # let equation = |name| fluids::record(fluids::find(name)?)?.reference_equation();
/// # let pair = fluids::binary::find("carbon dioxide", "methanol")?.and_then(|pair| pair.multi_fluid.clone());
/// # let Some(pair) = pair else { return Err(densepath_fluid::Error::Internal { place: "the pair is known" }) };
/// let model = MultiFluid::new("two equations", &[equation("carbon dioxide")?, equation("methanol")?], false, |_, _| &pair);
/// // What is known of the pair, from the library's record of it.
/// let pair = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")?;
/// let terms = pair.as_ref().and_then(|pair| pair.multi_fluid.as_ref()).map(PairTerms::from);
/// assert!(terms.is_some());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy)]
pub struct PairTerms<'r> {
    /// The reducing functions.
    pub reducing: ReducingRecord,
    /// Departures.
    pub departures: &'r [DepartureRecord],
    /// The departure that starts from an excess Gibbs energy.
    pub excess: Option<&'r ExcessRecord>,
}

impl<'r> From<(ReducingRecord, &'r [DepartureRecord])> for PairTerms<'r> {
    fn from((reducing, departures): (ReducingRecord, &'r [DepartureRecord])) -> Self {
        Self {
            reducing,
            departures,
            excess: None,
        }
    }
}

impl<'r, const N: usize> From<(ReducingRecord, &'r [DepartureRecord; N])> for PairTerms<'r> {
    fn from((reducing, departures): (ReducingRecord, &'r [DepartureRecord; N])) -> Self {
        (reducing, &departures[..]).into()
    }
}

impl<'r> From<&'r MultiFluidRecord> for PairTerms<'r> {
    fn from(record: &'r MultiFluidRecord) -> Self {
        Self {
            reducing: record.reducing,
            departures: &record.departures,
            excess: record.excess.as_ref(),
        }
    }
}

impl MultiFluid {
    /// The equation for substances with their pure equations, and for each pair, told by the indices of both with the first
    /// the smaller, its reducing parameters and departure.
    ///
    /// Where `smooth` is true, equations that have a smooth stand-in use it as told at the head of this module.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, eos::{mixture::MixtureModel, multifluid::{MultiFluid, PairTerms}}, fluids};
    /// # let equation = |name| fluids::record(fluids::find(name)?)?.reference_equation();
    /// # let pair = fluids::binary::find("carbon dioxide", "methanol")?.and_then(|pair| pair.multi_fluid.clone());
    /// # let Some(pair) = pair else { return Err(densepath_fluid::Error::Internal { place: "the pair is known" }) };
    /// let model = MultiFluid::new("two equations", &[equation("carbon dioxide")?, equation("methanol")?], false, |_, _| &pair);
    /// // Pure carbon dioxide follows its own equation: 780.233 kg/m3 at 40 degC and 150 bar.
    /// let pressure = model.at(313.15, &[1.0, 0.0]).pressure(780.233 / 44.0098e-3);
    /// assert!((pressure / 150e5 - 1.0).abs() < 2e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn new<'r, T: Into<PairTerms<'r>>>(
        name: impl Into<String>,
        equations: &[&EquationOfState],
        smooth: bool,
        pair: impl Fn(usize, usize) -> T,
    ) -> Self {
        let substances: Vec<Substance> = equations.iter().map(|e| Substance::new(e)).collect();
        let mut parts: Vec<Part> = equations
            .iter()
            .enumerate()
            .flat_map(|(index, equation)| parts_of(index, equation, smooth))
            .collect();
        let mut pairs = Vec::new();
        let mut excesses = Vec::new();
        for (second, two) in substances.iter().enumerate() {
            for (first, one) in substances.iter().enumerate().take(second) {
                let terms: PairTerms = pair(first, second).into();
                let pair = Pair::new(first, second, one, two, terms.reducing);
                pairs.push(pair);
                let residuals = [first, second].map(|index| {
                    let equation = equations.get(index).copied();
                    equation.map(|equation| common_residual(equation, smooth))
                });
                if let (Some(record), [Some(a), Some(b)]) = (terms.excess, residuals) {
                    let residuals = [a, b].map(Residual::new);
                    excesses.push(Excess::new(pair, [one, two], residuals, record));
                }
                parts.extend(terms.departures.iter().map(|record| Part {
                    factor: Factor::Pair(first, second, i32::from(record.order)),
                    variable: Variable::Common,
                    sign: 1.0,
                    residual: Residual::new(&record.residual()),
                }));
            }
        }
        Self {
            name: name.into(),
            substances,
            pairs,
            parts,
            excesses,
        }
    }

    fn temperatures(&self) -> impl Iterator<Item = f64> + Clone {
        self.substances.iter().map(|s| s.temperature)
    }

    fn volumes(&self) -> impl Iterator<Item = f64> + Clone {
        self.substances.iter().map(|s| s.volume)
    }

    /// The reducing molar volume in m3/mol.
    fn volume(&self, fractions: &[f64]) -> Reducing {
        Reducing::new(self.volumes(), &self.pairs, fractions, |pair| {
            (pair.beta_volume, pair.volume)
        })
    }
}

/// What of a substance takes the common inverse temperature.
fn common_residual(equation: &EquationOfState, smooth: bool) -> &ResidualRecord {
    let stand_in = equation.smooth_residual.as_ref().filter(|_| smooth);
    stand_in.map_or(&equation.residual, |stand_in| &stand_in.residual)
}

/// The parts that a substance brings.
fn parts_of(index: usize, equation: &EquationOfState, smooth: bool) -> Vec<Part> {
    let part = |variable, sign, residual: &_| Part {
        factor: Factor::Substance(index),
        variable,
        sign,
        residual: Residual::new(residual),
    };
    match equation.smooth_residual.as_ref().filter(|_| smooth) {
        None => vec![part(Variable::Common, 1.0, &equation.residual)],
        Some(stand_in) => {
            let own = Variable::Own(equation.temperature_reducing);
            vec![
                part(Variable::Common, 1.0, &stand_in.residual),
                part(own, 1.0, &equation.residual),
                part(own, -1.0, &stand_in.residual),
            ]
        }
    }
}

impl Pair {
    fn new(
        first: usize,
        second: usize,
        one: &Substance,
        two: &Substance,
        reducing: ReducingRecord,
    ) -> Self {
        let side = one.volume.cbrt() + two.volume.cbrt();
        Self {
            first,
            second,
            beta_temperature: reducing.beta_temperature,
            temperature: 2.0
                * reducing.beta_temperature
                * reducing.gamma_temperature
                * (one.temperature * two.temperature).sqrt(),
            beta_volume: reducing.beta_volume,
            volume: 0.25 * reducing.beta_volume * reducing.gamma_volume * side.powi(3),
        }
    }
}

/// `x_i x_j (x_i + x_j) / (beta^2 x_i + x_j)`, homogeneous of degree two.
fn bridge(beta: f64, x: Third, y: Third) -> Third {
    let divisor = x * (beta * beta) + y;
    if divisor.value() == 0.0 {
        Third::from(0.0)
    } else {
        x * y * (x + y) / divisor
    }
}

/// A reducing function with its derivatives in the amounts, taken as independent.
#[derive(Debug, Clone)]
struct Reducing {
    value: f64,
    first: Amounts,
    /// Row after row.
    second: Amounts,
}

impl Reducing {
    /// `sum x_i^2 Y_i + sum Y_ij x_i x_j (x_i + x_j) / (beta_ij^2 x_i + x_j)`; `pairs` gives beta and `Y_ij`.
    fn new(
        pure: impl Iterator<Item = f64>,
        pairs: &[Pair],
        fractions: &[f64],
        of: impl Fn(&Pair) -> (f64, f64),
    ) -> Self {
        let count = fractions.len();
        let mut sum = Self {
            value: 0.0,
            first: Amounts::from_elem(0.0, count),
            second: Amounts::from_elem(0.0, count * count),
        };
        for (i, (x, y)) in fractions.iter().zip(pure).enumerate() {
            sum.value += x * x * y;
            add(&mut sum.first, i, 2.0 * x * y);
            add(&mut sum.second, i * count + i, 2.0 * y);
        }
        for pair in pairs {
            let (i, j) = (pair.first, pair.second);
            let (beta, y) = of(pair);
            let [f, f_i, f_j, f_ii, f_ij, f_jj] =
                bridge_derivatives(beta, entry(fractions, i), entry(fractions, j));
            sum.value += y * f;
            add(&mut sum.first, i, y * f_i);
            add(&mut sum.first, j, y * f_j);
            add(&mut sum.second, i * count + i, y * f_ii);
            add(&mut sum.second, i * count + j, y * f_ij);
            add(&mut sum.second, j * count + i, y * f_ij);
            add(&mut sum.second, j * count + j, y * f_jj);
        }
        sum
    }
}

/// [`bridge`] with its derivatives: in x, in y, in x twice, in both, in y twice.
///
/// Where both amounts are zero the second derivatives depend on the way there; those of equal amounts are taken, which no
/// property of a mixture without the two substances shows.
fn bridge_derivatives(beta: f64, x: f64, y: f64) -> [f64; 6] {
    let square = beta * beta;
    let of = |x: f64, y: f64| {
        let divisor = square * x + y;
        let f = x * y * (x + y) / divisor;
        let f_x = (y * (2.0 * x + y) - square * f) / divisor;
        let f_y = (x * (x + 2.0 * y) - f) / divisor;
        [
            f,
            f_x,
            f_y,
            2.0 * (y - square * f_x) / divisor,
            (2.0 * (x + y) - f_x - square * f_y) / divisor,
            2.0 * (x - f_y) / divisor,
        ]
    };
    if square * x + y == 0.0 {
        let [_, _, _, f_xx, f_xy, f_yy] = of(1.0, 1.0);
        [0.0, 0.0, 0.0, f_xx, f_xy, f_yy]
    } else {
        of(x, y)
    }
}

fn add(values: &mut Amounts, index: usize, change: f64) {
    if let Some(value) = values.get_mut(index) {
        *value += change;
    }
}

fn entry(values: &[f64], index: usize) -> f64 {
    values.get(index).copied().unwrap_or(f64::NAN)
}

impl Factor {
    /// The factor with the derivatives that the amounts per volume carry.
    fn value(self, amounts: &[Third], total: Third) -> Third {
        let of = |i: usize| amounts.get(i).copied().unwrap_or(Third::from(f64::NAN));
        match self {
            Self::Substance(i) => of(i),
            Self::Pair(i, j, order) => {
                let (x, y) = (of(i) / total, of(j) / total);
                x * y * (x - y).powi(order) * total
            }
        }
    }

    /// The derivatives of the factor in the amounts per volume, at a total of 1: the first ones, and the second ones, which
    /// are inversely proportional to the total. The factor itself is the sum of the first ones weighed with the amounts.
    fn derivatives(self, fractions: &[f64]) -> (Amounts, Amounts) {
        let count = fractions.len();
        let mut first = Amounts::from_elem(0.0, count);
        let mut second = Amounts::from_elem(0.0, count * count);
        let Self::Pair(i, j, order) = self else {
            if let Self::Substance(i) = self {
                add(&mut first, i, 1.0);
            }
            return (first, second);
        };
        // P = x y (x - y)^k is of degree k + 2, and the factor is P / rho^(k+1).
        let (x, y) = (entry(fractions, i), entry(fractions, j));
        let (k, u) = (f64::from(order), x - y);
        let (p0, p1) = (
            u.powi(order),
            if order > 0 {
                k * u.powi(order - 1)
            } else {
                0.0
            },
        );
        let p2 = if order > 1 {
            k * (k - 1.0) * u.powi(order - 2)
        } else {
            0.0
        };
        let product = x * y;
        let p = product * p0;
        let slope = |index: usize| {
            if index == i {
                y * p0 + product * p1
            } else if index == j {
                x * p0 - product * p1
            } else {
                0.0
            }
        };
        let curvature = |a: usize, b: usize| match (a == i, a == j, b == i, b == j) {
            (true, _, true, _) => 2.0 * y * p1 + product * p2,
            (_, true, _, true) => -2.0 * x * p1 + product * p2,
            (true, _, _, true) | (_, true, true, _) => p0 + u * p1 - product * p2,
            _ => 0.0,
        };
        for a in 0..count {
            add(&mut first, a, slope(a) - (k + 1.0) * p);
            for b in 0..count {
                let change =
                    curvature(a, b) - (k + 1.0) * (slope(a) + slope(b)) + (k + 1.0) * (k + 2.0) * p;
                add(&mut second, a * count + b, change);
            }
        }
        (first, second)
    }
}

impl MixtureModel for MultiFluid {
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
        Box::new(MultiFluidIsotherm::new(self, temperature, amount_fractions))
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

    fn sharp_density(&self, amount_fractions: &[f64]) -> Option<f64> {
        Some(1.0 / self.volume(amount_fractions).value)
    }
}

/// A part at one temperature and composition.
#[derive(Debug, Clone)]
struct PartAt<'a> {
    /// Which part of the model it is.
    index: usize,
    residual: ResidualAt<'a>,
    /// Whether its tau follows the composition.
    common: bool,
    /// `G / rho`, with the sign of the part.
    weight: f64,
    /// Derivatives of G in the amounts per volume, with the sign of the part.
    first: Amounts,
    /// Second derivatives times rho, with the sign of the part.
    second: Amounts,
}

/// The equation at one temperature and composition.
#[derive(Debug, Clone)]
struct MultiFluidIsotherm<'a> {
    model: &'a MultiFluid,
    temperature: f64,
    fractions: Amounts,
    /// Reducing molar volume in m3/mol.
    volume: f64,
    delta_max: f64,
    /// `rho (ddelta/drho_i) / delta` and `rho (dtau/drho_i) / tau`.
    delta_first: Amounts,
    tau_first: Amounts,
    /// `rho^2 (d2delta/drho_i drho_j) / delta` and that of tau, row after row.
    delta_second: Amounts,
    tau_second: Amounts,
    parts: Vec<PartAt<'a>>,
    excesses: Vec<ExcessAt<'a>>,
}

impl<'a> MultiFluidIsotherm<'a> {
    fn new(model: &'a MultiFluid, temperature: f64, amount_fractions: &[f64]) -> Self {
        let mut isotherm = Self {
            model,
            temperature,
            fractions: Amounts::new(),
            volume: f64::NAN,
            delta_max: f64::NAN,
            delta_first: Amounts::new(),
            tau_first: Amounts::new(),
            delta_second: Amounts::new(),
            tau_second: Amounts::new(),
            parts: Vec::with_capacity(model.parts.len()),
            excesses: model
                .excesses
                .iter()
                .map(|excess| excess.at(temperature))
                .collect(),
        };
        isotherm.turn(amount_fractions);
        isotherm
    }

    /// All that depends on the composition.
    fn turn(&mut self, amount_fractions: &[f64]) {
        let (model, fractions) = (self.model, Amounts::from_slice(amount_fractions));
        let volume = model.volume(&fractions);
        let reducing = Reducing::new(model.temperatures(), &model.pairs, &fractions, |pair| {
            (pair.beta_temperature, pair.temperature)
        });
        self.volume = volume.value;
        let present = |x: &(&Substance, &f64)| *x.1 > 0.0;
        let substances = model.substances.iter().zip(&fractions).filter(present);
        self.delta_max = substances.fold(f64::INFINITY, |least, (s, _)| least.min(s.delta_max));
        // delta = V(rho_1 ...)/rho and tau = Y(rho_1 ...)/(rho^2 T) with V and Y of degree two.
        self.delta_first = volume.relative_slopes(1.0);
        self.tau_first = reducing.relative_slopes(2.0);
        self.delta_second = volume.relative_curvatures(1.0, 2.0);
        self.tau_second = reducing.relative_curvatures(2.0, 6.0);
        self.turn_parts(reducing.value / self.temperature, &fractions);
        for excess in &mut self.excesses {
            let alone = fractions.len() == 2;
            let [one, two] = excess.excess.substances();
            let at_hand = |substance: usize| {
                let common = |part: &&PartAt| {
                    let factor = model.parts.get(part.index).map(|part| part.factor);
                    part.common && factor == Some(Factor::Substance(substance))
                };
                self.parts.iter().find(common).map(|part| &part.residual)
            };
            let common = at_hand(one).zip(at_hand(two)).filter(|_| alone);
            let common = common.map(|(one, two)| [one, two]);
            excess.recompose(self.temperature, &fractions, common);
        }
        self.fractions = fractions;
    }

    /// The sum of the excesses at a molar density.
    fn excess(&self, delta: f64) -> PointDerivatives {
        let points = self.excesses.iter().map(|excess| excess.point(delta));
        points.fold(PointDerivatives::default(), Add::add)
    }

    /// The parts at another common tau and composition; those at a tau of their own keep their factors of temperature.
    fn turn_parts(&mut self, tau: f64, fractions: &[f64]) {
        let mut before = core::mem::take(&mut self.parts).into_iter().peekable();
        for (index, part) in self.model.parts.iter().enumerate() {
            let last = before.next_if(|last| last.index == index);
            if !part.is_present(fractions) {
                continue;
            }
            let kept = last.filter(|_| part.variable != Variable::Common);
            let residual = kept.map_or_else(
                || part.residual.at(part.tau(tau, self.temperature)),
                |last| last.residual,
            );
            self.parts.push(part.at(index, residual, fractions));
        }
    }

    fn delta(&self, molar_density: f64) -> f64 {
        molar_density * self.volume
    }

    /// The derivatives of each part at a molar density.
    fn points(&self, molar_density: f64) -> impl Iterator<Item = (&PartAt<'a>, PointDerivatives)> {
        let delta = self.delta(molar_density);
        self.parts
            .iter()
            .map(move |part| (part, part.residual.derivatives(delta)))
    }
}

impl Reducing {
    /// `Y_i / Y - degree` for each substance.
    fn relative_slopes(&self, degree: f64) -> Amounts {
        let slopes = self.first.iter();
        slopes.map(|slope| slope / self.value - degree).collect()
    }

    /// `(Y_ij - degree (Y_i + Y_j)) / Y + constant` for each pair of substances.
    fn relative_curvatures(&self, degree: f64, constant: f64) -> Amounts {
        let sums = self
            .first
            .iter()
            .flat_map(|a| self.first.iter().map(move |b| a + b));
        let curvatures = self.second.iter().zip(sums);
        curvatures
            .map(|(second, sum)| (second - degree * sum) / self.value + constant)
            .collect()
    }
}

impl Part {
    /// Whether the part has a value or a derivative in a mixture of these amounts that differs from zero.
    ///
    /// A substance of amount zero still has a chemical potential, hence all parts of substances count; departures of two
    /// absent substances have neither.
    fn is_present(&self, fractions: &[f64]) -> bool {
        match self.factor {
            Factor::Substance(_) => true,
            Factor::Pair(i, j, _) => entry(fractions, i) > 0.0 || entry(fractions, j) > 0.0,
        }
    }

    /// The inverse temperature of the part.
    fn tau(&self, common: f64, temperature: f64) -> f64 {
        match self.variable {
            Variable::Common => common,
            Variable::Own(reducing) => reducing / temperature,
        }
    }

    fn at<'a>(&self, index: usize, residual: ResidualAt<'a>, fractions: &[f64]) -> PartAt<'a> {
        let (mut first, mut second) = self.factor.derivatives(fractions);
        for value in first.iter_mut().chain(second.iter_mut()) {
            *value *= self.sign;
        }
        PartAt {
            index,
            residual,
            common: self.variable == Variable::Common,
            weight: first.iter().zip(fractions).map(|(g, x)| g * x).sum(),
            first,
            second,
        }
    }
}

impl MixtureIsotherm for MultiFluidIsotherm<'_> {
    fn temperature(&self) -> f64 {
        self.temperature
    }

    fn amount_fractions(&self) -> &[f64] {
        &self.fractions
    }

    fn recompose(&mut self, amount_fractions: &[f64]) {
        self.turn(amount_fractions);
    }

    fn molar_density_max(&self) -> f64 {
        self.delta_max / self.volume
    }

    fn density_derivatives(&self, molar_density: f64) -> DensityDerivatives {
        let delta = self.delta(molar_density);
        let mut sum = DensityDerivatives::default();
        for part in self.parts.iter().filter(|part| part.weight != 0.0) {
            let point = part.residual.density_derivatives(delta);
            sum.a += part.weight * point.a;
            sum.a_d += part.weight * point.a_d;
            sum.a_dd += part.weight * point.a_dd;
        }
        if !self.excesses.is_empty() {
            let added = self.excess(delta);
            sum.a += added.a;
            sum.a_d += added.a_d;
            sum.a_dd += added.a_dd;
        }
        sum
    }

    fn density_derivatives_at(&self, molar_densities: &[f64]) -> Vec<DensityDerivatives> {
        let deltas: Vec<f64> = molar_densities.iter().map(|rho| self.delta(*rho)).collect();
        let mut sums = vec![DensityDerivatives::default(); deltas.len()];
        for part in self.parts.iter().filter(|part| part.weight != 0.0) {
            let residual = &part.residual;
            residual.add_density_derivatives(part.weight, &deltas, &mut sums);
        }
        if !self.excesses.is_empty() {
            for (sum, delta) in sums.iter_mut().zip(deltas) {
                let added = self.excess(delta);
                sum.a += added.a;
                sum.a_d += added.a_d;
                sum.a_dd += added.a_dd;
            }
        }
        sums
    }

    fn residual(&self, molar_density: f64) -> PointDerivatives {
        let parts = self
            .points(molar_density)
            .filter(|(part, _)| part.weight != 0.0)
            .fold(PointDerivatives::default(), |sum, (part, point)| {
                sum + point * part.weight
            });
        parts + self.excess(self.delta(molar_density))
    }

    fn potentials(&self, molar_density: f64) -> Amounts {
        self.potential_derivatives(molar_density).potentials
    }

    fn potential_derivatives(&self, molar_density: f64) -> PotentialDerivatives {
        let count = self.fractions.len();
        let points: Vec<_> = self.points(molar_density).collect();
        let sum = |common: bool| {
            let chosen = points.iter().filter(|(part, _)| part.common || !common);
            chosen.fold(PointDerivatives::default(), |sum, (part, point)| {
                sum + *point * part.weight
            })
        };
        let delta = self.delta(molar_density);
        let (all, common) = (sum(false) + self.excess(delta), sum(true));
        let excesses: Vec<_> = self
            .excesses
            .iter()
            .map(|excess| (excess, excess.density_factor(delta)))
            .collect();
        let (d, t) = (&self.delta_first, &self.tau_first);
        let potential = |i: usize| {
            let own: f64 = points.iter().map(|(p, a)| entry(&p.first, i) * a.a).sum();
            let added = excesses.iter().map(|(e, q)| entry(&e.first, i) * q[0]);
            own + added.sum::<f64>() + all.a_d * entry(d, i) + common.a_t * entry(t, i)
        };
        let slope = |i: usize| {
            let own: f64 = points.iter().map(|(p, a)| entry(&p.first, i) * a.a_t).sum();
            let added = excesses.iter().map(|(e, q)| entry(&e.first_t, i) * q[0]);
            -(own
                + added.sum::<f64>()
                + all.a_dt * entry(d, i)
                + (common.a_tt + common.a_t) * entry(t, i))
        };
        let curvature = |k: usize| {
            let (i, j) = (k / count, k % count);
            let (d_i, d_j, t_i, t_j) = (entry(d, i), entry(d, j), entry(t, i), entry(t, j));
            let own: f64 = points
                .iter()
                .map(|(part, point)| {
                    let (g_i, g_j) = (entry(&part.first, i), entry(&part.first, j));
                    let turned = if part.common {
                        g_i * t_j + g_j * t_i
                    } else {
                        0.0
                    };
                    entry(&part.second, k) * point.a
                        + point.a_d * (g_i * d_j + g_j * d_i)
                        + point.a_t * turned
                })
                .sum();
            let added = excesses.iter().map(|(excess, [q, q_d, _])| {
                let (g_i, g_j) = (entry(&excess.first, i), entry(&excess.first, j));
                entry(&excess.second, k) * q + q_d * (g_i * d_j + g_j * d_i)
            });
            let bent = added.sum::<f64>()
                + all.a_dd * d_i * d_j
                + common.a_dt * (d_i * t_j + d_j * t_i)
                + common.a_tt * t_i * t_j;
            let shifted =
                all.a_d * entry(&self.delta_second, k) + common.a_t * entry(&self.tau_second, k);
            (own + bent + shifted) / molar_density
        };
        PotentialDerivatives {
            potentials: (0..count).map(potential).collect(),
            slopes: (0..count).map(slope).collect(),
            curvatures: (0..count * count).map(curvature).collect(),
            density: DensityDerivatives {
                a: all.a,
                a_d: all.a_d,
                a_dd: all.a_dd,
            },
        }
    }

    fn third_derivative(&self, molar_density: f64, direction: &[f64]) -> f64 {
        let amounts: Vec<Third> = self
            .fractions
            .iter()
            .zip(direction)
            .map(|(x, v)| Third::new(x * molar_density, *v, 0.0))
            .collect();
        self.model.psi(self.temperature, &amounts).third()
    }
}

impl MultiFluid {
    /// `psi` at a temperature in K, with the derivatives that the amounts per volume carry.
    fn psi(&self, temperature: f64, amounts: &[Third]) -> Third {
        let zero = Third::from(0.0);
        let total = amounts.iter().fold(zero, |sum, amount| sum + *amount);
        let of = |i: usize| amounts.get(i).copied().unwrap_or(Third::from(f64::NAN));
        let squares = |pure: &mut dyn Iterator<Item = f64>| {
            let like = amounts.iter().zip(pure).map(|(x, y)| *x * *x * y);
            like.fold(zero, |sum, part| sum + part)
        };
        let mut volume = squares(&mut self.volumes());
        let mut reducing = squares(&mut self.temperatures());
        for pair in &self.pairs {
            let (x, y) = (of(pair.first), of(pair.second));
            volume += bridge(pair.beta_volume, x, y) * pair.volume;
            reducing += bridge(pair.beta_temperature, x, y) * pair.temperature;
        }
        let delta = volume / total;
        let tau = reducing / (total * total * temperature);
        let parts = self.parts.iter().map(|part| {
            let tau = match part.variable {
                Variable::Common => tau,
                Variable::Own(reducing) => Third::from(reducing / temperature),
            };
            part.factor.value(amounts, total) * part.residual.value(delta, tau) * part.sign
        });
        let excesses = self.excesses.iter();
        parts
            .chain(excesses.map(|excess| excess.value(temperature, amounts, total, delta)))
            .fold(zero, |sum, part| sum + part)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::mixture::checks::{
        derivatives_are_those_of_the_energy, fugacities_are_consistent,
    };
    use super::*;
    use crate::fluids::binary::{ExcessTermRecord, SpecialRecord};
    use crate::fluids::record::PowerRecord;
    use crate::fluids::{find, record};

    fn equation(name: &str) -> &'static EquationOfState {
        record(find(name).unwrap())
            .unwrap()
            .reference_equation()
            .unwrap()
    }

    fn reducing(numbers: [f64; 4]) -> ReducingRecord {
        ReducingRecord {
            beta_temperature: numbers[0],
            gamma_temperature: numbers[1],
            beta_volume: numbers[2],
            gamma_volume: numbers[3],
        }
    }

    /// Carbon dioxide + nitrogen: Gernert, Ph.D. thesis, Ruhr-Universität Bochum (2013), and the departure of Kunz and
    /// Wagner 2012, table A8.
    fn with_nitrogen(smooth: bool) -> MultiFluid {
        let special = |n, t, d, eta, epsilon, beta, gamma| SpecialRecord {
            n,
            t,
            d,
            eta,
            epsilon,
            beta,
            gamma,
        };
        let departure = [DepartureRecord {
            order: 0,
            power: [(0.28661625028399, 1.85, 2), (-0.10919833861247, 1.4, 3)]
                .map(|(n, t, d)| PowerRecord { n, t, d, l: 0 })
                .to_vec(),
            special: vec![
                special(-1.137403208227, 3.2, 1, 0.25, 0.5, 0.75, 0.5),
                special(0.76580544237358, 2.5, 1, 0.25, 0.5, 1.0, 0.5),
                special(0.0042638000926819, 8.0, 1, 0.0, 0.5, 2.0, 0.5),
                special(0.17673538204534, 3.75, 2, 0.0, 0.5, 3.0, 0.5),
            ],
        }];
        MultiFluid::new(
            "carbon dioxide + nitrogen",
            &[equation("carbon dioxide"), equation("nitrogen")],
            smooth,
            |_, _| {
                (
                    reducing([0.994140013, 1.107654104, 1.022709642, 1.047578256]),
                    &departure[..],
                )
            },
        )
    }

    /// Every feature of the equation at once, with invented parameters.
    fn ternary() -> MultiFluid {
        let power = |n, t, d, l| PowerRecord { n, t, d, l };
        let departures = [
            DepartureRecord {
                order: 0,
                power: vec![power(0.3, 1.2, 1, 0), power(-0.2, 2.5, 2, 1)],
                special: Vec::new(),
            },
            DepartureRecord {
                order: 1,
                power: vec![power(0.25, 0.5, 1, 2)],
                special: Vec::new(),
            },
            DepartureRecord {
                order: 2,
                power: vec![power(-0.15, 1.5, 2, 1)],
                special: Vec::new(),
            },
        ];
        let term = |order, t, n| ExcessTermRecord { order, t, n };
        let excess = ExcessRecord {
            temperature: 300.0,
            delta_0: 2.6,
            b: 0.4,
            terms: vec![
                term(0, 0.0, 0.4),
                term(1, 1.0, -0.3),
                term(2, 2.0, 0.2),
                term(3, 1.5, 0.1),
            ],
        };
        MultiFluid::new(
            "three substances",
            &["carbon dioxide", "methanol", "ethanol"].map(equation),
            true,
            |i, j| {
                let numbers = if (i, j) == (0, 1) {
                    [0.98, 1.06, 1.1, 1.03]
                } else {
                    [1.02, 0.97, 0.96, 1.05]
                };
                PairTerms {
                    reducing: reducing(numbers),
                    departures: &departures,
                    excess: ((i, j) != (0, 2)).then_some(&excess),
                }
            },
        )
    }

    /// Independent computation with CoolProp 8.0.0, its gas constants not normalized: temperature in K, molar density in
    /// mol/m3, fraction of nitrogen; pressure in Pa, `alpha^r`, `tau dalpha^r/dtau`, fugacity coefficients.
    const NITROGEN: [(f64, f64, f64, [f64; 5]); 5] = [
        (
            320.0,
            12000.0,
            0.1,
            [
                14139525.91489859,
                -0.8171860483616195,
                -2.1136057515445716,
                0.5022514839573674,
                1.8214588450326725,
            ],
        ),
        (
            290.0,
            18000.0,
            0.05,
            [
                9172174.88113252,
                -1.4505631532411707,
                -3.548549986735461,
                0.4524126896229995,
                3.942946247894339,
            ],
        ),
        (
            350.0,
            3000.0,
            0.5,
            [
                8048388.489015908,
                -0.0883038400279535,
                -0.3172867192105494,
                0.8085015854632345,
                1.0433141241872794,
            ],
        ),
        (
            310.0,
            9000.0,
            0.2,
            [
                12390714.547633871,
                -0.6122836952241648,
                -1.593201385181964,
                0.5176820849136234,
                1.4598618440713877,
            ],
        ),
        (
            400.0,
            20000.0,
            0.8,
            [
                135495049.08024096,
                0.3932280609910288,
                -1.0376561482498954,
                0.9859478355361079,
                2.4645088217460396,
            ],
        ),
    ];

    #[test]
    fn the_standard_form_agrees_with_an_independent_library() {
        let model = with_nitrogen(false);
        // The library keeps the gas constant of the two equations, and this one carries it in the amounts.
        let ratio = 8.31451 / MOLAR_GAS_CONSTANT;
        for (temperature, density, fraction, wanted) in NITROGEN {
            let isotherm = model.at(temperature, &[1.0 - fraction, fraction]);
            let rho = density * ratio;
            let point = isotherm.residual(rho);
            let phi = isotherm.ln_fugacity_coefficients(rho, isotherm.pressure(rho));
            let found = [
                isotherm.pressure(rho),
                point.a,
                point.a_t,
                phi[0].exp(),
                phi[1].exp(),
            ];
            for (found, wanted) in found.into_iter().zip(wanted) {
                assert!((found / wanted - 1.0).abs() < 1e-9, "{found} for {wanted}");
            }
        }
    }

    /// Where the reference equations are smooth the stand-in changes little.
    #[test]
    fn the_smooth_form_stays_near_the_standard_one() {
        let (smooth, standard) = (with_nitrogen(true), with_nitrogen(false));
        for (temperature, density, fraction, _) in NITROGEN {
            let x = [1.0 - fraction, fraction];
            let [a, b] = [&smooth, &standard].map(|m| m.at(temperature, &x).pressure(density));
            assert!((a / b - 1.0).abs() < 0.01, "{a} against {b}");
        }
    }

    #[test]
    fn one_substance_alone_is_its_pure_equation() {
        let model = ternary();
        for (index, name) in ["carbon dioxide", "methanol", "ethanol"].iter().enumerate() {
            let pure = Helmholtz::new(equation(name));
            let mut x = [0.0; 3];
            x[index] = 1.0;
            for (temperature, delta) in [(300.0, 0.05), (330.0, 2.2), (700.0, 1.3)] {
                let density = delta * pure.density_reducing;
                let isotherm = model.at(temperature, &x);
                let rho = delta / model.substances[index].volume;
                let (found, wanted) = (
                    isotherm.residual(rho),
                    pure.isotherm(temperature).residual(density),
                );
                let pairs = [
                    (found.a, wanted.a),
                    (found.a_d, wanted.a_d),
                    (found.a_dd, wanted.a_dd),
                    (found.a_t, wanted.a_t),
                    (found.a_tt, wanted.a_tt),
                    (found.a_dt, wanted.a_dt),
                ];
                for (found, wanted) in pairs {
                    assert!(
                        (found - wanted).abs() < 1e-12 * (1.0 + wanted.abs()),
                        "{name}: {found} for {wanted}"
                    );
                }
                let p = pure.isotherm(temperature).pressure(density).pressure;
                let size = rho * isotherm.thermal_energy() * (1.0 + wanted.a_d.abs());
                assert!((isotherm.pressure(rho) - p).abs() < 1e-12 * size);
            }
        }
    }

    /// A trace changes a property in proportion to its amount.
    #[test]
    fn a_trace_leads_to_the_pure_equation() {
        let model = ternary();
        let rho = 15_000.0;
        let pure = model.at(320.0, &[1.0, 0.0, 0.0]).pressure(rho);
        for trace in [1e-6, 1e-9, 1e-13] {
            let mixed = model.at(320.0, &[1.0 - trace, trace, 0.0]).pressure(rho);
            assert!((mixed / pure - 1.0).abs() < 20.0 * trace + 1e-12);
        }
    }

    #[test]
    fn absent_substances_have_potentials() {
        let model = ternary();
        let limit = model.at(320.0, &[1.0, 0.0, 0.0]).potentials(9_000.0);
        let near = model
            .at(320.0, &[1.0 - 2e-9, 1e-9, 1e-9])
            .potentials(9_000.0);
        for (limit, near) in limit.iter().zip(&near) {
            assert!((limit - near).abs() < 1e-6 * (1.0 + near.abs()));
        }
    }

    /// Inside the dome of its own dense side the reference equation alone would give pressures of thousands of megapascals.
    #[test]
    fn the_smooth_form_does_not_swing() {
        let pair = [equation("carbon dioxide"), equation("n-heptane")];
        let published = reducing([1.011806317, 1.046169823, 1.205469976, 1.164585914]);
        let at = |smooth| {
            let model = MultiFluid::new("pair", &pair, smooth, |_, _| (published, &[][..]));
            model.at(350.0, &[0.5, 0.5]).pressure(6_000.0)
        };
        assert!(at(false) > 1e9);
        assert!(at(true).abs() < 2e7);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        #[test]
        fn derivatives_agree_with_differences(
            temperature in 305.0..600.0f64, a in 0.05..0.95f64, b in 0.05..0.95f64, delta in 0.02..2.6f64
        ) {
            let model = ternary();
            let x = [a, (1.0 - a) * b, (1.0 - a) * (1.0 - b)];
            let rho = delta * model.at(temperature, &x).molar_density_max() / 4.5;
            derivatives_are_those_of_the_energy(&model, temperature, &x, rho, 2e-5);
        }

        #[test]
        fn fugacities_agree_with_differences(
            temperature in 450.0..600.0f64, a in 0.05..0.95f64, b in 0.05..0.95f64, log_pressure in 5.0..7.7f64
        ) {
            let model = ternary();
            let x = [a, (1.0 - a) * b, (1.0 - a) * (1.0 - b)];
            let isotherm = model.at(temperature, &x);
            let ends = isotherm.densities(10f64.powf(log_pressure)).unwrap();
            prop_assume!(ends.vapour == ends.liquid && isotherm.dp_drho(ends.liquid) > 0.3 * isotherm.thermal_energy());
            fugacities_are_consistent(&model, temperature, &x, ends.liquid, 5e-5);
        }
    }
}
