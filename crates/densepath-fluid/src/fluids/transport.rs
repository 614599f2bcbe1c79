//! The shape of the blocks on transport, interfacial and electrical properties in a substance's data file.

use serde::Deserialize;

use super::record::{Range, Source, SumRecord};

/// Uncertainty stated by the authors of a model, region by region.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RegionalUncertainty {
    /// What the numbers mean and where they stand.
    pub note: String,
    /// Coverage factor of the relative uncertainties below.
    pub coverage_factor: f64,
    /// Regions; the first that holds a state counts.
    #[serde(default)]
    pub regions: Vec<UncertaintyRegion>,
    /// Relative uncertainty outside all regions.
    pub elsewhere: f64,
}

impl RegionalUncertainty {
    /// Relative standard uncertainty at a temperature in K and a pressure in Pa.
    pub fn at(&self, temperature: f64, pressure: f64) -> f64 {
        self.regions
            .iter()
            .find(|region| region.contains(temperature, pressure))
            .map_or(self.elsewhere, |region| region.relative)
            / self.coverage_factor
    }
}

/// One region with its uncertainty.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UncertaintyRegion {
    /// Lowest temperature in K.
    #[serde(rename = "T_min / K")]
    pub temperature_min: f64,
    /// Highest temperature in K.
    #[serde(rename = "T_max / K")]
    pub temperature_max: f64,
    /// Highest pressure in Pa.
    #[serde(rename = "p_max / Pa")]
    pub pressure_max: f64,
    /// Relative uncertainty.
    pub relative: f64,
}

impl UncertaintyRegion {
    fn contains(&self, temperature: f64, pressure: f64) -> bool {
        (self.temperature_min..=self.temperature_max).contains(&temperature)
            && pressure <= self.pressure_max
    }
}

/// Viscosity of carbon dioxide in the form of Laesecke and Muzny 2017.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ViscosityRecord {
    /// Name with authors and year.
    pub name: String,
    /// Where it was published.
    pub source: Source,
    /// Range of the whole equation.
    pub valid: Range,
    /// Range above the critical density.
    pub valid_dense: Range,
    /// Uncertainty stated.
    pub uncertainty: RegionalUncertainty,
    /// Constants a_0 to a_6 of the limit of zero density (eq. 4).
    pub dilute: [f64; 7],
    /// Factor of the limit of zero density (eq. 4).
    pub dilute_factor: f64,
    /// Length of the molecular potential in m.
    #[serde(rename = "sigma / m")]
    pub sigma: f64,
    /// Energy of the molecular potential over the Boltzmann constant in K.
    #[serde(rename = "epsilon_over_k / K")]
    pub epsilon_over_k: f64,
    /// Reduced second viscosity virial coefficient as a sum over powers of `k T / epsilon`.
    pub virial: SumRecord,
    /// Temperature of the triple point in K.
    #[serde(rename = "T_triple / K")]
    pub temperature_triple: f64,
    /// Density of the liquid at the triple point in kg/m3.
    #[serde(rename = "rho_triple_liquid / (kg/m3)")]
    pub density_triple_liquid: f64,
    /// Constant c_1 of the residual part (eq. 8).
    pub c_1: f64,
    /// Constant c_2 of the residual part (eq. 8).
    pub c_2: f64,
    /// Exponent gamma of the residual part (eq. 8).
    pub gamma: f64,
    /// Avogadro constant used, in 1/mol.
    #[serde(rename = "avogadro_constant / (1/mol)")]
    pub avogadro_constant: f64,
    /// Gas constant used, in J/(mol K).
    #[serde(rename = "gas_constant / (J/(mol K))")]
    pub gas_constant: f64,
    /// Molar mass used, in kg/mol.
    #[serde(rename = "molar_mass / (kg/mol)")]
    pub molar_mass: f64,
}

/// Thermal conductivity as dilute gas, residual part and critical enhancement (Huber et al. 2016).
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
    pub uncertainty: RegionalUncertainty,
    /// Reducing temperature in K.
    #[serde(rename = "T_reducing / K")]
    pub temperature_reducing: f64,
    /// Reducing density in kg/m3.
    #[serde(rename = "rho_reducing / (kg/m3)")]
    pub density_reducing: f64,
    /// Constants of the dilute gas, in the order of rising powers of `1/T_r`, for mW/(m K) (eq. 3).
    pub dilute: Vec<f64>,
    /// Pairs (B_1, B_2) in W/(m K), in the order of rising powers of the reduced density from 1 (eq. 4).
    #[serde(rename = "residual / (W/(m K))")]
    pub residual: Vec<[f64; 2]>,
    /// The critical enhancement.
    pub critical: CriticalEnhancementRecord,
}

/// Critical enhancement of the thermal conductivity in the simplified form of Olchowy and Sengers.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CriticalEnhancementRecord {
    /// Where the form was published.
    pub source: Source,
    /// Universal amplitude R_D.
    #[serde(rename = "R_D")]
    pub amplitude: f64,
    /// Critical exponent nu.
    pub nu: f64,
    /// Critical exponent gamma.
    pub gamma: f64,
    /// Amplitude Gamma of the compressibility.
    #[serde(rename = "Gamma")]
    pub compressibility_amplitude: f64,
    /// Amplitude xi_0 of the correlation length in m.
    #[serde(rename = "xi_0 / m")]
    pub correlation_length_amplitude: f64,
    /// Cut-off length 1/q_D in m.
    #[serde(rename = "cut_off_length / m")]
    pub cut_off_length: f64,
    /// Reference temperature in K, far above the critical one, where the enhancement vanishes.
    #[serde(rename = "T_reference / K")]
    pub temperature_reference: f64,
    /// Critical pressure in Pa.
    #[serde(rename = "p_c / Pa")]
    pub critical_pressure: f64,
    /// Boltzmann constant used, in J/K.
    #[serde(rename = "boltzmann_constant / (J/K)")]
    pub boltzmann_constant: f64,
}

/// Surface tension `sum sigma_i (1 - T/T_c)^n_i` (Mulero, Cachadiña and Parra 2012).
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SurfaceTensionRecord {
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

/// Relative permittivity from the polarization per volume (Harvey and Lemmon 2005).
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PermittivityRecord {
    /// Name with authors and year.
    pub name: String,
    /// Where it was published.
    pub source: Source,
    /// Range.
    pub valid: Range,
    /// Uncertainty.
    pub uncertainty: RegionalUncertainty,
    /// Reference temperature T_0 in K.
    #[serde(rename = "T_0 / K")]
    pub temperature_reference: f64,
    /// First polarizability coefficients (A_0, A_1) in cm3/mol.
    #[serde(rename = "A / (cm3/mol)")]
    pub a: [f64; 2],
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

/// Refractivity of the dilute gas, from which the refractive index at any density follows.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RefractivityRecord {
    /// Name with authors and year.
    pub name: String,
    /// Where it was published.
    pub source: Source,
    /// Range.
    pub valid: Range,
    /// Uncertainty of n - 1.
    pub uncertainty: RegionalUncertainty,
    /// Temperature of the measurements in K.
    #[serde(rename = "T / K")]
    pub temperature: f64,
    /// Pressure of the measurements in Pa.
    #[serde(rename = "p / Pa")]
    pub pressure: f64,
    /// Shortest wavelength in m.
    #[serde(rename = "wavelength_min / m")]
    pub wavelength_min: f64,
    /// Longest wavelength in m.
    #[serde(rename = "wavelength_max / m")]
    pub wavelength_max: f64,
    /// Pairs (B, C) of `n - 1 = sum B / (C - sigma^2)`, with the wavenumber sigma in 1/um.
    #[serde(rename = "terms / um-2")]
    pub terms: Vec<[f64; 2]>,
}
