//! The forms that published correlations of transport properties are made of, as data: curves in temperature, surfaces in
//! temperature and density, and the parts that depend on density.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use serde::Deserialize;

/// An exponent; whole numbers and the common roots are kept apart because they are cheaper to raise to.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(from = "f64")]
pub(crate) enum Exponent {
    /// A whole number.
    Whole(i32),
    /// The square root.
    SquareRoot,
    /// The cube root.
    CubeRoot,
    /// Any other number.
    Real(f64),
}

impl Exponent {
    /// Largest whole number that is raised to by multiplication.
    const WHOLE_MAX: i32 = 32;
}

#[allow(clippy::float_cmp, reason = "exponents of data files are exact")]
impl From<f64> for Exponent {
    fn from(exponent: f64) -> Self {
        let mut whole = -Self::WHOLE_MAX..=Self::WHOLE_MAX;
        match whole.find(|whole| f64::from(*whole) == exponent) {
            Some(whole) => Self::Whole(whole),
            None if exponent == 0.5 => Self::SquareRoot,
            None if exponent == 1.0 / 3.0 => Self::CubeRoot,
            None => Self::Real(exponent),
        }
    }
}

/// `sum n x^t + sum n x^t exp(-g x^l)`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CurveRecord {
    /// Pairs (n, t).
    #[serde(default)]
    pub powers: Vec<(f64, Exponent)>,
    /// Quadruples (n, t, g, l).
    #[serde(default)]
    pub decaying: Vec<(f64, Exponent, f64, Exponent)>,
}

/// `sum n x^t y^d + sum n x^t y^d exp(-g y^l)`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SurfaceRecord {
    /// Triples (n, t, d).
    #[serde(default)]
    pub powers: Vec<(f64, Exponent, Exponent)>,
    /// Quintuples (n, t, d, g, l).
    #[serde(default)]
    pub decaying: Vec<(f64, Exponent, Exponent, f64, Exponent)>,
}

/// A function of temperature alone: `factor * C sqrt(M T) / sigma^2 * numerator / product of denominators *
/// exp(exponent(x)) * exp(log_exponent(ln x))` with `x = T / T_reducing`; what is absent counts as one.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ProductRecord {
    /// Highest temperature in K, where another function takes over.
    #[serde(rename = "T_max / K")]
    pub temperature_max: Option<f64>,
    /// Reducing temperature in K.
    #[serde(rename = "T_reducing / K")]
    pub temperature_reducing: f64,
    /// Factor in the unit of the property.
    #[serde(default = "one")]
    pub factor: f64,
    /// Factor of the kinetic theory of gases.
    pub kinetic: Option<KineticRecord>,
    /// Numerator.
    pub numerator: Option<CurveRecord>,
    /// Denominators.
    #[serde(default)]
    pub denominators: Vec<CurveRecord>,
    /// Exponent as a function of x.
    pub exponent: Option<CurveRecord>,
    /// Exponent as a function of ln x.
    pub log_exponent: Option<CurveRecord>,
}

const fn one() -> f64 {
    1.0
}

/// `C sqrt(M T) / sigma^2`, the viscosity of a gas of hard spheres, in the units of the papers.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct KineticRecord {
    /// Constant C.
    #[serde(rename = "C / (uPa s nm2/(K g/mol)^0.5)")]
    pub constant: f64,
    /// Molar mass M in g/mol.
    #[serde(rename = "M / (g/mol)")]
    pub molar_mass: f64,
    /// Length of the molecular potential in nm.
    #[serde(rename = "sigma / nm")]
    pub sigma: f64,
}

/// Second viscosity virial coefficient `N_A sigma^3 sum b (k T / epsilon)^t` of the theory of Rainwater and Friend.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct VirialRecord {
    /// Length of the molecular potential in nm.
    #[serde(rename = "sigma / nm")]
    pub sigma: f64,
    /// Energy of the molecular potential over the Boltzmann constant in K.
    #[serde(rename = "epsilon_over_k / K")]
    pub epsilon_over_k: f64,
    /// Avogadro constant used, in 1/mol.
    #[serde(rename = "avogadro_constant / (1/mol)")]
    pub avogadro_constant: f64,
    /// The sum.
    pub curve: CurveRecord,
}

/// Reducing temperature and density; the density is given either by mass or by amount.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ReducingRecord {
    /// Temperature in K.
    #[serde(rename = "T / K")]
    pub temperature: f64,
    /// The density.
    pub density: DensityRecord,
}

/// A density in the unit of its source.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
pub(crate) enum DensityRecord {
    /// By mass.
    #[serde(rename = "rho / (kg/m3)")]
    Mass(f64),
    /// By amount.
    #[serde(rename = "rho / (mol/m3)")]
    Amount(f64),
}

/// A part of a transport property that vanishes with the density.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "form", rename_all = "snake_case")]
pub(crate) enum PartRecord {
    /// Ratios of surfaces.
    Fractions(FractionsRecord),
    /// The term of Batschinski and Hildebrand, by which fluidity is proportional to free volume.
    FreeVolume(FreeVolumeRecord),
    /// Friction theory: powers of the repulsive and attractive pressure.
    Friction(FrictionRecord),
    /// The limit of zero density times an exponential of temperature and density.
    Exponential(ExponentialPartRecord),
    /// The limit of zero density times an exponential series in density.
    DensitySeries(DensitySeriesRecord),
    /// Gas with viscosity virial coefficients that turns into a fluid of hard spheres.
    HardSpheres(Box<HardSpheresRecord>),
    /// Mean of a gas and a liquid that freezes at a limiting density.
    Blend(BlendRecord),
    /// Peaks that stand for the critical enhancement.
    Peaks(PeaksRecord),
    /// A thin gas, a gas and a liquid that take over from each other with rising density.
    Switched(Box<SwitchedRecord>),
}

/// `f_2 G + (1 - f_2) (dilute B rho_m + scale L)` with `G = f_1 thin + (1 - f_1) gas(y)`, where `y = rho / rho_r`,
/// `f_i = exp(-x^3 (x - 1)^3)` with `x = rho / rho_i`, and L is a part of ratios.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SwitchedRecord {
    /// Reducing values.
    pub reducing: ReducingRecord,
    /// Second viscosity virial coefficient B.
    pub virial: VirialRecord,
    /// Molar mass used with it, in kg/mol.
    #[serde(rename = "molar_mass / (kg/mol)")]
    pub molar_mass: f64,
    /// Limit of thin gas, in the unit of the property.
    pub thin_gas: f64,
    /// Density rho_1 in kg/m3.
    #[serde(rename = "rho_thin / (kg/m3)")]
    pub thin_density: f64,
    /// Gas, in the unit of the property.
    pub gas: CurveRecord,
    /// Density rho_2 in kg/m3.
    #[serde(rename = "rho_gas / (kg/m3)")]
    pub gas_density: f64,
    /// Scale of the liquid, in the unit of the property.
    pub scale: ProductRecord,
    /// The liquid L.
    pub liquid: FractionsRecord,
}

/// `sum n (y/x) exp(-beta (y - 1)^2 - epsilon |1/x - 1|)` with `x = T / T_r` and `y = rho / rho_r`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct PeaksRecord {
    /// Reducing values.
    pub reducing: ReducingRecord,
    /// Triples (n, beta, epsilon), n in the unit of the property.
    pub terms: Vec<[f64; 3]>,
}

/// `n x^t y^d sum(numerator / denominator)` with `x = T / T_r` and `y = rho / rho_r`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct FractionsRecord {
    /// Reducing values.
    pub reducing: ReducingRecord,
    /// Triple (n, t, d) before the sum.
    pub prefactor: (f64, Exponent, Exponent),
    /// Whether the sum is multiplied by ln y.
    #[serde(default)]
    pub logarithm: bool,
    /// The ratios.
    pub fractions: Vec<FractionRecord>,
}

/// One ratio.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct FractionRecord {
    /// Numerator.
    pub numerator: SurfaceRecord,
    /// Denominator; one where absent.
    pub denominator: Option<SurfaceRecord>,
}

/// `factor(x, y) (1 / (y_0 - y) - 1 / y_0)` with `y_0 = numerator(x) / denominator(x)`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct FreeVolumeRecord {
    /// Reducing values.
    pub reducing: ReducingRecord,
    /// Factor.
    pub factor: SurfaceRecord,
    /// Numerator of the close-packed density.
    pub numerator: CurveRecord,
    /// Denominator of the close-packed density; one where absent.
    pub denominator: Option<CurveRecord>,
}

/// `sum (a_0 + a_1 psi_1 + a_2 psi_2) tau^n p^m` with `psi_1 = exp(tau) - c_1`, `psi_2 = exp(tau^2) - c_2`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct FrictionRecord {
    /// Temperature T_r of `tau = T_r / T` in K.
    #[serde(rename = "T_reducing / K")]
    pub temperature_reducing: f64,
    /// Constants c_1 and c_2.
    pub c: [f64; 2],
    /// The terms.
    pub terms: Vec<FrictionTermRecord>,
}

/// One term of friction theory.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct FrictionTermRecord {
    /// Which pressure.
    pub pressure: FrictionPressure,
    /// Exponent m of the pressure.
    pub m: i32,
    /// Exponent n of tau.
    pub n: i32,
    /// Coefficients a_0, a_1, a_2.
    #[serde(rename = "a / (Pa s/bar^m)")]
    pub a: [f64; 3],
}

/// A share of the pressure: `p = ideal + residual repulsive + attractive`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum FrictionPressure {
    /// `rho R T`.
    Ideal,
    /// `T (dp/dT)_rho`.
    Repulsive,
    /// `T (dp/dT)_rho - rho R T`.
    ResidualRepulsive,
    /// `p - T (dp/dT)_rho`.
    Attractive,
}

/// `dilute (exp(y sum n (1/x - 1)^i (y - 1)^j) - 1)`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ExponentialPartRecord {
    /// Reducing values.
    pub reducing: ReducingRecord,
    /// Triples (n, i, j).
    pub terms: Vec<(f64, i32, i32)>,
}

/// `level (exp(sum_k y^k curve_k(ln T)) - 1)`, with `ln T` held above a temperature.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct DensitySeriesRecord {
    /// Unit of temperature in K and of density.
    pub reducing: ReducingRecord,
    /// Temperature in K above which the logarithm is held.
    #[serde(rename = "T_held / K")]
    pub temperature_held: f64,
    /// Factor of the level.
    pub factor: f64,
    /// Logarithm of the level.
    pub level: CurveRecord,
    /// Curves of rising powers of the density, from 1.
    pub series: Vec<CurveRecord>,
}

/// `dilute (f (1 + B rho + C rho^2) + (1 - f) E - 1)` with the viscosity ratio E of hard spheres and
/// `f = 1 / (1 + exp(s (rho / rho_r - 1)))`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct HardSpheresRecord {
    /// Reducing values.
    pub reducing: ReducingRecord,
    /// Avogadro constant used, in 1/mol.
    #[serde(rename = "avogadro_constant / (1/mol)")]
    pub avogadro_constant: f64,
    /// Second viscosity virial coefficient.
    pub virial: VirialRecord,
    /// Third viscosity virial coefficient over `(N_A sigma^3)^2` as a function of `k T / epsilon`.
    pub third_virial: ProductRecord,
    /// Length of the hard spheres in nm at the critical point.
    #[serde(rename = "sigma_c / nm")]
    pub sigma: f64,
    /// Diameter over sigma_c as a sum of a curve in `T_r / T` and a curve in `rho / rho_r`.
    pub diameter_of_temperature: CurveRecord,
    /// See above.
    pub diameter_of_density: CurveRecord,
    /// Steepness s of the transition from gas to hard spheres.
    pub steepness: f64,
    /// Factors of `b rho` and `g (b rho)^2` in the viscosity of hard spheres.
    pub enskog: [f64; 2],
}

/// `(1 - y)^c dilute + y^c liquid + peak`, less the dilute gas itself, with `y = rho / rho_L`.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct BlendRecord {
    /// Exponent c.
    pub c_1: f64,
    /// Factor of the liquid, in the unit of the property times `(mol/L)^-1 K^-0.5`.
    pub c_2: f64,
    /// Molar activation energy in J/mol.
    #[serde(rename = "G / (J/mol)")]
    pub activation_energy: f64,
    /// Gas constant used, in J/(mol K).
    #[serde(rename = "gas_constant / (J/(mol K))")]
    pub gas_constant: f64,
    /// Limiting density in mol/L.
    #[serde(rename = "rho_L / (mol/L)")]
    pub liquid_density: f64,
    /// Critical density in mol/L.
    #[serde(rename = "rho_c / (mol/L)")]
    pub critical_density: f64,
    /// Critical temperature in K.
    #[serde(rename = "T_c / K")]
    pub critical_temperature: f64,
    /// Height of the peak at the critical point, in the unit of the property.
    pub peak: f64,
}
