//! The shape of the blocks on transport, interfacial and electrical properties in a substance's data file.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use serde::Deserialize;

use super::forms::{
    Exponent, PartRecord, ProductRecord, ReducingRecord, SurfaceRecord, VirialRecord,
};
use super::record::{Range, Source, SumRecord};
use super::uncertainty::RegionalUncertainty;

/// Viscosity: the limit of zero density, its virial coefficient, the parts of the dense fluid, and the critical enhancement.
///
/// ```
/// use densepath_fluid::Fluid;
/// // Laesecke and Muzny 2017.
/// let viscosity = Fluid::new("carbon dioxide")?.record()?.viscosity.as_ref();
/// assert!(viscosity.is_some_and(|viscosity| viscosity.source.doi == "10.1063/1.4977429"));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ViscosityRecord {
    /// Name with authors and year.
    pub name: String,
    /// Where it was published.
    pub source: Source,
    /// Range of the whole equation.
    pub valid: Range,
    /// Range above the critical density, where it is another.
    pub valid_dense: Option<Range>,
    /// Uncertainty stated.
    pub(crate) uncertainty: RegionalUncertainty,
    /// Limit of zero density in Pa s, by ranges of rising temperature.
    pub(crate) dilute: Vec<ProductRecord>,
    /// Second viscosity virial coefficient.
    pub(crate) virial: Option<VirialRecord>,
    /// Parts of the dense fluid in Pa s; none where only the curve below is known.
    pub(crate) parts: Vec<PartRecord>,
    /// Curve over residual entropy, for mixtures.
    pub(crate) entropy_scaling: Option<EntropyScalingRecord>,
    /// Critical enhancement; left out where absent.
    pub(crate) critical: Option<ViscosityEnhancementRecord>,
}

/// Thermal conductivity: the limit of zero density, the parts of the dense fluid, and the critical enhancement.
///
/// ```
/// use densepath_fluid::Fluid;
/// let conductivity = Fluid::new("carbon dioxide")?.record()?.thermal_conductivity.as_ref();
/// assert!(conductivity.is_some_and(|conductivity| conductivity.valid.contains(313.15, 150e5)));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ThermalConductivityRecord {
    /// Name with authors and year.
    pub name: String,
    /// Where it was published.
    pub source: Source,
    /// Range stated by the authors.
    pub valid: Range,
    /// Uncertainty stated.
    pub(crate) uncertainty: RegionalUncertainty,
    /// Summands of the limit of zero density.
    pub(crate) dilute: Vec<DiluteConductivityRecord>,
    /// Parts of the dense fluid in W/(m K); none where only the curve below is known.
    pub(crate) parts: Vec<PartRecord>,
    /// Curve over residual entropy, for mixtures.
    pub(crate) entropy_scaling: Option<EntropyScalingRecord>,
    /// Critical enhancement; left out where absent.
    pub(crate) critical: Option<ConductivityEnhancementRecord>,
}

/// A residual transport property as a function of the residual entropy alone: `ln(1 + X) = sum c s^t` with `s = -s_res/R`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct EntropyScalingRecord {
    /// What it was fitted to.
    pub note: String,
    /// Mean relative deviation of the fit.
    pub mean_deviation: f64,
    /// Relative deviation that 95 of 100 states stay below.
    pub deviation_95: f64,
    /// Pairs (c, t).
    pub terms: Vec<(f64, Exponent)>,
}

/// A summand of the thermal conductivity in the limit of zero density.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "form", rename_all = "snake_case")]
pub(crate) enum DiluteConductivityRecord {
    /// A function of temperature in W/(m K).
    Product(ProductRecord),
    /// A multiple of the viscosity in the same limit.
    Viscosity(ViscosityShareRecord),
    /// The relation of Eucken with a factor of the internal degrees of freedom.
    Eucken(EuckenRecord),
}

/// `A eta_0`.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ViscosityShareRecord {
    /// Factor A.
    #[serde(rename = "A / (W/(m K uPa s))")]
    pub factor: f64,
}

/// `R_s eta_0 (15/4 + f_int (c_v0/R_s - 3/2))`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct EuckenRecord {
    /// Specific gas constant R_s used, in J/(kg K).
    #[serde(rename = "R_s / (J/(kg K))")]
    pub specific_gas_constant: f64,
    /// Factor f_int.
    pub internal: ProductRecord,
    /// Viscosity in the limit of zero density that the factor was found with, where the fluid has a newer one.
    #[serde(default)]
    pub viscosity: Vec<ProductRecord>,
}

/// Correlation length of density fluctuations near the critical point.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CorrelationLengthRecord {
    /// Critical exponent nu.
    pub nu: f64,
    /// Critical exponent gamma.
    pub gamma: f64,
    /// Amplitude Gamma of the compressibility.
    #[serde(rename = "Gamma")]
    pub compressibility_amplitude: f64,
    /// Amplitude xi_0 of the correlation length in m.
    #[serde(rename = "xi_0 / m")]
    pub amplitude: f64,
    /// Reference temperature in K, far above the critical one, where the enhancement vanishes.
    #[serde(rename = "T_reference / K")]
    pub temperature_reference: f64,
    /// Critical pressure in Pa.
    #[serde(rename = "p_c / Pa")]
    pub critical_pressure: f64,
    /// Critical density in kg/m3.
    #[serde(rename = "rho_c / (kg/m3)")]
    pub critical_density: f64,
}

/// Critical enhancement of the thermal conductivity in the simplified form of Olchowy and Sengers.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ConductivityEnhancementRecord {
    /// Where the form was published.
    pub source: Source,
    /// Correlation length.
    pub correlation_length: CorrelationLengthRecord,
    /// Universal amplitude R_D.
    #[serde(rename = "R_D")]
    pub amplitude: f64,
    /// Cut-off length 1/q_D in m.
    #[serde(rename = "cut_off_length / m")]
    pub cut_off_length: f64,
    /// Boltzmann constant used, in J/K.
    #[serde(rename = "boltzmann_constant / (J/K)")]
    pub boltzmann_constant: f64,
}

/// Critical enhancement of the viscosity in the form of Bhattacharjee, Ferrell, Basu and Sengers.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ViscosityEnhancementRecord {
    /// Where the form was published.
    pub source: Source,
    /// Correlation length.
    pub correlation_length: CorrelationLengthRecord,
    /// Critical exponent of the viscosity.
    pub x_eta: f64,
    /// Correlation length in m up to which the crossover function is taken as its series.
    #[serde(rename = "xi_series / m")]
    pub series_max: f64,
    /// Cut-off length 1/q_C in m.
    #[serde(rename = "q_C^-1 / m")]
    pub background_length: f64,
    /// Cut-off length 1/q_D in m.
    #[serde(rename = "q_D^-1 / m")]
    pub cut_off_length: f64,
}

/// Surface tension `sum sigma_i (1 - T/T_c)^n_i` (Mulero, Cachadiña and Parra 2012).
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SurfaceTensionRecord {
    /// Name with authors and year.
    pub name: String,
    /// Where it was published.
    pub source: Source,
    /// Range in temperature; the pressure is that of saturation.
    pub valid: Range,
    /// Uncertainty stated.
    pub uncertainty: RegionalUncertainty,
    /// Critical temperature in K.
    #[serde(rename = "T_c / K")]
    pub critical_temperature: f64,
    /// Coefficients in N/m and exponents.
    #[serde(rename = "terms / (N/m)")]
    pub terms: SumRecord,
}

/// What the laws of diffusion need to know of a fluid as solvent.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SolventRecord {
    /// Association factor phi of Wilke and Chang.
    pub association_factor: f64,
    /// Molar volume of the liquid at its normal boiling point in m3/mol.
    #[serde(rename = "V / (m3/mol)")]
    pub molar_volume: f64,
    /// Critical molar volume in m3/mol, where that of the equation of state is wrong.
    #[serde(rename = "V_c / (m3/mol)")]
    pub critical_volume: Option<f64>,
    /// Where it comes from.
    #[serde(default)]
    pub critical_volume_note: String,
    /// Where the others come from.
    pub note: String,
}

/// Relative permittivity of a fluid.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct PermittivityRecord {
    /// Name with authors and year.
    pub name: String,
    /// Where it was published.
    pub source: Source,
    /// Range.
    pub valid: Range,
    /// Lowest density in kg/m3, where the equation is one of the liquid.
    #[serde(rename = "rho_min / (kg/m3)", default)]
    pub density_min: f64,
    /// Uncertainty.
    pub uncertainty: RegionalUncertainty,
    /// The equation.
    pub equation: PermittivityEquation,
}

/// An equation of the relative permittivity.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "form", rename_all = "snake_case")]
pub(crate) enum PermittivityEquation {
    /// Polarization as a polynomial in density (Harvey and Lemmon 2005).
    Polarization(PolarizationRecord),
    /// Kirkwood's function proportional to density, from the measured liquid.
    Liquid(LiquidPermittivityRecord),
    /// Dipoles with a correlation factor (Fernández et al. 1997).
    Dipoles(DipolesRecord),
}

/// `(epsilon_r - 1)/(epsilon_r + 2) = rho (A + A_mu T_0/T + B rho + C rho^D)` with `A = A_0 + A_1 (T/T_0 - 1)` and
/// `B = B_0 + B_1 (T_0/T - 1)`, C likewise.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct PolarizationRecord {
    /// Reference temperature T_0 in K.
    #[serde(rename = "T_0 / K")]
    pub temperature_reference: f64,
    /// First polarizability coefficients (A_0, A_1) in cm3/mol.
    #[serde(rename = "A / (cm3/mol)")]
    pub a: [f64; 2],
    /// Share A_mu of the dipole in cm3/mol.
    #[serde(rename = "A_mu / (cm3/mol)", default)]
    pub a_mu: f64,
    /// Second coefficients (B_0, B_1), with the density in mol/cm3.
    #[serde(rename = "B / (cm6/mol2)")]
    pub b: [f64; 2],
    /// Coefficients (C_0, C_1) of the power D of the density, with the density in mol/cm3.
    #[serde(rename = "C / (cm3/mol)^(D+1)")]
    pub c: [f64; 2],
    /// Exponent D.
    #[serde(rename = "D")]
    pub d: f64,
}

/// `(epsilon_r - 1)(2 epsilon_r + 1)/(9 epsilon_r) = rho A(T)`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct LiquidPermittivityRecord {
    /// A in cm3/mol as a function of temperature.
    #[serde(rename = "A / (cm3/mol)")]
    pub a: ProductRecord,
}

/// Equation of Kirkwood and Fröhlich with a fitted correlation factor g.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct DipolesRecord {
    /// Mean molecular polarizability in C2 m2/J.
    #[serde(rename = "alpha / (C2 m2/J)")]
    pub polarizability: f64,
    /// Molecular dipole moment in C m.
    #[serde(rename = "mu / (C m)")]
    pub dipole_moment: f64,
    /// Avogadro constant used, in 1/mol.
    #[serde(rename = "avogadro_constant / (1/mol)")]
    pub avogadro_constant: f64,
    /// Boltzmann constant used, in J/K.
    #[serde(rename = "boltzmann_constant / (J/K)")]
    pub boltzmann_constant: f64,
    /// Molar mass used, in kg/mol.
    #[serde(rename = "molar_mass / (kg/mol)")]
    pub molar_mass: f64,
    /// Reducing values of g.
    pub reducing: ReducingRecord,
    /// Terms of `g - 1` in `T/T_r` and `rho/rho_r`.
    pub g: SurfaceRecord,
    /// Factor n of the last term `n (rho/rho_r) (T/T_q - 1)^-q`.
    pub n: f64,
    /// Temperature T_q in K.
    #[serde(rename = "T_q / K")]
    pub singular_temperature: f64,
    /// Exponent q.
    pub q: f64,
}

/// Refractive index of a fluid.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RefractivityRecord {
    /// Name with authors and year.
    pub name: String,
    /// Where it was published.
    pub source: Source,
    /// Range.
    pub valid: Range,
    /// Uncertainty of n - 1.
    pub uncertainty: RegionalUncertainty,
    /// Shortest vacuum wavelength in m.
    #[serde(rename = "wavelength_min / m")]
    pub wavelength_min: f64,
    /// Longest vacuum wavelength in m.
    #[serde(rename = "wavelength_max / m")]
    pub wavelength_max: f64,
    /// The molar refraction.
    pub refraction: RefractionRecord,
}

/// The molar refraction `(n^2 - 1)/(n^2 + 2) / rho`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "form", rename_all = "snake_case")]
pub(crate) enum RefractionRecord {
    /// One number for all states.
    Constant(ConstantRefractionRecord),
    /// That of a gas whose dispersion was measured, kept at all states.
    Gas(GasRefractionRecord),
    /// A function of temperature, density and wavelength (Harvey, Gallagher and Levelt Sengers 1998).
    Formula(FormulaRefractionRecord),
}

/// A molar refraction.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ConstantRefractionRecord {
    /// In cm3/mol.
    #[serde(rename = "R / (cm3/mol)")]
    pub refraction: f64,
}

/// Refractivity of a dilute gas.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct GasRefractionRecord {
    /// Density of the gas of the measurements in mol/m3.
    #[serde(rename = "rho / (mol/m3)")]
    pub molar_density: f64,
    /// Pairs (B, C) of `n - 1 = sum B / (C - sigma^2)`, with the wavenumber sigma in 1/um.
    #[serde(rename = "terms / um-2")]
    pub terms: Vec<[f64; 2]>,
}

/// `(n^2 - 1)/(n^2 + 2) = y (a_0 + a_1 y + a_2 x + a_3 w^2 x + a_4/w^2 + a_5/(w^2 - w_u^2) + a_6/(w^2 - w_i^2) + a_7 y^2)` with
/// temperature x, density y and wavelength w over their reducing values.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct FormulaRefractionRecord {
    /// Reducing values.
    pub reducing: ReducingRecord,
    /// Reducing wavelength in m.
    #[serde(rename = "wavelength_reducing / m")]
    pub wavelength_reducing: f64,
    /// Coefficients a_0 to a_7.
    pub a: [f64; 8],
    /// Resonances w_u in the ultraviolet and w_i in the infrared.
    pub resonances: [f64; 2],
}
