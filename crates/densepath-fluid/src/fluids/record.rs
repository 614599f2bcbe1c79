//! The shape of a substance's data file. Keys carry their units; every block carries its source.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use serde::{Deserialize, Serialize};

use super::cubic::CubicRecord;
use super::ideal_gas::IdealGasRecord;
use super::solid::{LineRecord, SolidRecord};
use super::transport::{
    PermittivityRecord, RefractivityRecord, SolventRecord, SurfaceTensionRecord,
    ThermalConductivityRecord, ViscosityRecord,
};
use super::uncertainty::EquationUncertainty;
use crate::error::{Error, Result};
use crate::quantity::Quantity;

/// Where a number was published.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let equation = record.reference_equation()?;
/// assert_eq!((equation.source.year, equation.source.doi.as_str()), (1996, "10.1063/1.555991"));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Authors.
    pub authors: String,
    /// Title.
    pub title: String,
    /// Journal, volume and pages.
    pub journal: String,
    /// Year.
    pub year: u16,
    /// Digital object identifier; empty for what has none.
    #[serde(default)]
    pub doi: String,
    /// What a reader of the coefficients must know.
    #[serde(default)]
    pub note: String,
}

/// One substance.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let equation = record.reference_equation()?;
/// assert_eq!((record.formula.as_str(), record.cas_number.as_str()), ("CO2", "124-38-9"));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FluidRecord {
    /// Name in words.
    pub name: String,
    /// Other names.
    pub aliases: Vec<String>,
    /// Chemical formula.
    pub formula: String,
    /// Number in the registry of the Chemical Abstracts Service.
    pub cas_number: String,
    /// The reference equation; none of a substance that only the cubic equation knows.
    pub equation_of_state: Option<EquationOfState>,
    /// Constants in the cubic equation of state.
    pub cubic: Option<CubicRecord>,
    /// What this project judges of the uncertainty of its equation of state where no source states it and nothing was compared.
    pub(crate) judged_uncertainty: Option<EquationUncertainty>,
    /// The ideal gas, of a substance without reference equation.
    pub ideal_gas: Option<IdealGasRecord>,
    /// The viscosity.
    pub viscosity: Option<ViscosityRecord>,
    /// The thermal conductivity.
    pub thermal_conductivity: Option<ThermalConductivityRecord>,
    /// The surface tension between liquid and vapour.
    pub(crate) surface_tension: Option<SurfaceTensionRecord>,
    /// The relative permittivity.
    pub(crate) relative_permittivity: Option<PermittivityRecord>,
    /// The refractive index.
    pub(crate) refractivity: Option<RefractivityRecord>,
    /// What it is as a solvent.
    pub(crate) diffusion_solvent: Option<SolventRecord>,
    /// The solid.
    pub solid: Option<SolidRecord>,
    /// Melting pressure as a function of temperature.
    pub melting_line: Option<LineRecord>,
    /// Sublimation pressure as a function of temperature.
    pub sublimation_line: Option<LineRecord>,
}

/// One model of a substance at a glance.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let equation = record.reference_equation()?;
/// // Every model says where it was published.
/// assert!(record.models().iter().all(|model| !model.source.authors.is_empty()));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModelEntry<'a> {
    /// What it describes, in words.
    pub subject: &'static str,
    /// Name with authors and year.
    pub name: &'a str,
    /// Where it was published.
    pub source: &'a Source,
    /// Range stated by the authors.
    pub valid: Range,
}

impl FluidRecord {
    /// The reference equation; error 202 without one.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let record = Fluid::new("carbon dioxide")?.record()?;
    /// let equation = record.reference_equation()?;
    /// assert!(equation.name.contains("Span"));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn reference_equation(&self) -> Result<&EquationOfState> {
        self.equation_of_state
            .as_ref()
            .ok_or_else(|| Error::MissingModel {
                property: Quantity::Density,
                fluid: self.name.clone(),
                need: "a reference equation of state, and only a cubic equation is known",
            })
    }

    /// Every model of the substance.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let record = Fluid::new("carbon dioxide")?.record()?;
    /// let equation = record.reference_equation()?;
    /// let subjects: Vec<_> = record.models().iter().map(|model| model.subject).collect();
    /// assert!(subjects.contains(&"equation of state") && subjects.contains(&"viscosity") && subjects.contains(&"solid"));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn models(&self) -> Vec<ModelEntry<'_>> {
        macro_rules! entry {
            ($subject:literal, $block:expr) => {
                $block.map(|block| ModelEntry {
                    subject: $subject,
                    name: &block.name,
                    source: &block.source,
                    valid: block.valid,
                })
            };
        }
        [
            entry!("equation of state", self.equation_of_state.as_ref()),
            entry!("cubic equation of state", self.cubic.as_ref()),
            entry!("viscosity", self.viscosity.as_ref()),
            entry!("thermal conductivity", self.thermal_conductivity.as_ref()),
            entry!("surface tension", self.surface_tension.as_ref()),
            entry!("relative permittivity", self.relative_permittivity.as_ref()),
            entry!("refractive index", self.refractivity.as_ref()),
            entry!("solid", self.solid.as_ref()),
            entry!("melting line", self.melting_line.as_ref()),
            entry!("sublimation line", self.sublimation_line.as_ref()),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl core::fmt::Display for Source {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let Source {
            authors,
            journal,
            year,
            doi,
            ..
        } = self;
        write!(f, "{authors}, {journal} ({year})")?;
        if doi.is_empty() {
            return Ok(());
        }
        write!(f, ", doi {doi}")
    }
}

/// The range in which a model was fitted by its authors.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let equation = record.reference_equation()?;
/// // To 1100 K and 800 MPa.
/// assert_eq!((equation.valid.temperature_max, equation.valid.pressure_max), (1100.0, 800e6));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Range {
    /// Lowest temperature in K.
    #[serde(rename = "T_min / K")]
    pub temperature_min: f64,
    /// Highest temperature in K.
    #[serde(rename = "T_max / K")]
    pub temperature_max: f64,
    /// Highest pressure in Pa.
    #[serde(rename = "p_max / Pa")]
    pub pressure_max: f64,
}

impl Range {
    /// Whether a temperature in K and a pressure in Pa lie inside.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let record = Fluid::new("carbon dioxide")?.record()?;
    /// let equation = record.reference_equation()?;
    /// assert!(equation.valid.contains(313.15, 150e5) && !equation.valid.contains(313.15, 900e6));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn contains(&self, temperature: f64, pressure: f64) -> bool {
        (self.temperature_min..=self.temperature_max).contains(&temperature)
            && pressure <= self.pressure_max
    }
}

/// A reduced Helmholtz energy with its constants.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let equation = record.reference_equation()?;
/// // Span and Wagner 1996: R = 8.31451 J/(mol K), M = 44.0098 g/mol.
/// assert_eq!((equation.gas_constant, equation.molar_mass), (8.31451, 44.0098e-3));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EquationOfState {
    /// Name with author and year.
    pub name: String,
    /// Where it was published.
    pub source: Source,
    /// Range stated by the authors.
    pub valid: Range,
    /// Gas constant used by the authors, R in J/(mol K).
    #[serde(rename = "gas_constant / (J/(mol K))")]
    pub gas_constant: f64,
    /// Molar mass M in kg/mol.
    #[serde(rename = "molar_mass / (kg/mol)")]
    pub molar_mass: f64,
    /// Reducing temperature in K.
    #[serde(rename = "T_reducing / K")]
    pub temperature_reducing: f64,
    /// Reducing molar density in mol/m3.
    #[serde(rename = "rho_reducing / (mol/m3)")]
    pub molar_density_reducing: f64,
    /// Critical point stated by the authors.
    pub critical_point: CriticalRecord,
    /// Highest point of the dome of the equation, where it is not the critical point stated.
    pub dome_top: Option<DomeTopRecord>,
    /// Triple point.
    pub triple_point: TripleRecord,
    /// Highest density over the reducing one. Up to it the pressure rises with density on every isotherm outside the dome.
    pub reduced_density_max: f64,
    /// Ideal-gas part.
    pub ideal: IdealRecord,
    /// Residual part.
    pub residual: ResidualRecord,
    /// A smooth equation of the same fluid, for mixtures; none where the residual part is smooth itself.
    pub(crate) smooth_residual: Option<SmoothResidualRecord>,
    /// Start values for the iteration of coexisting phases.
    pub coexistence_guess: GuessRecord,
    /// Bubble and dew pressures, where the equation takes a mixture for one substance.
    pub(crate) bubble_and_dew_lines: Option<BubbleDewRecord>,
    /// Uncertainty stated by the authors.
    pub uncertainty: EquationUncertainty,
}

/// Critical point of an equation.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let equation = record.reference_equation()?;
/// let critical = &equation.critical_point;
/// assert!(critical.temperature == 304.1282 && (critical.pressure - 7.3773e6).abs() < 1e2);
/// assert!((critical.molar_density * equation.molar_mass - 467.6).abs() < 1e-5);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CriticalRecord {
    /// Temperature in K.
    #[serde(rename = "T / K")]
    pub temperature: f64,
    /// Pressure in Pa.
    #[serde(rename = "p / Pa")]
    pub pressure: f64,
    /// Molar density in mol/m3.
    #[serde(rename = "rho / (mol/m3)")]
    pub molar_density: f64,
}

/// Where liquid and vapour of an equation become one: there `(dp/drho)_T` and `(d2p/drho2)_T` are zero.
///
/// It is the critical point stated by the authors where they constrained the equation to it, and differs in the last
/// digits, in some equations in the fourth one, where they did not.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let equation = record.reference_equation()?;
/// // The dome ends at the critical point stated, or hardly beside it.
/// let top = equation.dome_top.map_or(equation.critical_point.temperature, |top| top.temperature);
/// assert!((top - 304.1282).abs() < 0.01);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DomeTopRecord {
    /// Temperature in K.
    #[serde(rename = "T / K")]
    pub temperature: f64,
    /// Molar density in mol/m3.
    #[serde(rename = "rho / (mol/m3)")]
    pub molar_density: f64,
}

/// Triple point.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let equation = record.reference_equation()?;
/// assert!((equation.triple_point.temperature - 216.592).abs() < 1e-3);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TripleRecord {
    /// Temperature in K.
    #[serde(rename = "T / K")]
    pub temperature: f64,
    /// Pressure in Pa.
    #[serde(rename = "p / Pa")]
    pub pressure: f64,
}

/// Ideal-gas part: `ln delta + lead[0] + lead[1] tau + log_tau ln tau` and the sums of the terms below.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let equation = record.reference_equation()?;
/// // Three degrees of translation and two of rotation: c_v / R = 2.5 without vibrations.
/// assert_eq!((equation.ideal.log_tau, equation.ideal.planck_einstein.len()), (2.5, 5));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct IdealRecord {
    /// Constant and slope in tau; they fix the zero of entropy and enthalpy.
    pub lead: [f64; 2],
    /// Factor of ln tau.
    pub log_tau: f64,
    /// Pairs (n, theta) of Planck-Einstein terms `n ln(1 - exp(-theta tau))`.
    #[serde(default)]
    pub planck_einstein: Vec<[f64; 2]>,
    /// Pairs (n, t) of powers `n tau^t`.
    #[serde(default)]
    pub power: Vec<[f64; 2]>,
    /// Pairs (n, theta) of terms `n ln sinh(theta tau)`.
    #[serde(default)]
    pub sinh: Vec<[f64; 2]>,
    /// Pairs (n, theta) of terms `-n ln cosh(theta tau)`.
    #[serde(default)]
    pub cosh: Vec<[f64; 2]>,
    /// Triples (n, theta, c) of terms `n ln(c + exp(theta tau))`.
    #[serde(default)]
    pub logistic: Vec<[f64; 3]>,
}

/// A residual part without great swings inside the dome, at the reducing values of the equation it stands in for.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SmoothResidualRecord {
    /// Where it was published.
    pub source: Source,
    /// The terms.
    pub residual: ResidualRecord,
}

/// Residual part as sums of terms.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let equation = record.reference_equation()?;
/// // Span and Wagner 1996: 34 polynomial and exponential terms, 5 bells.
/// assert_eq!((equation.residual.power.len(), equation.residual.gaussian.len()), (34, 5));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ResidualRecord {
    /// Polynomial and exponential terms.
    #[serde(default)]
    pub power: Vec<PowerRecord>,
    /// Exponential terms whose exponents carry factors.
    #[serde(default)]
    pub exponential: Vec<ExponentialRecord>,
    /// Gaussian bells.
    #[serde(default)]
    pub gaussian: Vec<GaussianRecord>,
    /// Gaussian bells in density whose dependence on temperature levels off.
    #[serde(default)]
    pub(crate) inverse_bell: Vec<InverseBellRecord>,
    /// Non-analytic terms of the critical region.
    #[serde(default)]
    pub(crate) non_analytic: Vec<NonAnalyticRecord>,
}

/// `n delta^d tau^t exp(-delta^l)`, without the exponential where l = 0.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let equation = record.reference_equation()?;
/// // The first: 0.388568 delta tau^0.
/// let first = equation.residual.power[0];
/// assert!((first.n - 0.388568).abs() < 1e-6);
/// assert_eq!((first.d, first.t, first.l), (1, 0.0, 0));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the symbols of the equation above")]
pub struct PowerRecord {
    pub n: f64,
    pub t: f64,
    pub d: i32,
    pub l: i32,
}

/// `n delta^d tau^t exp(-g delta^l - h tau^m)`.
///
/// ```
/// // The equation of methanol has such terms, if any of the library has.
/// use densepath_fluid::fluids::{self, FluidRecord};
/// let records: Vec<&FluidRecord> = (0..fluids::count()).map(fluids::record).collect::<Result<_, _>>()?;
/// let mut terms = records.iter().filter_map(|record| record.equation_of_state.as_ref()).flat_map(|equation| &equation.residual.exponential);
/// assert!(terms.clone().count() > 0 && terms.all(|term| term.l >= 0 && term.m >= 0));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the symbols of the equation above")]
pub struct ExponentialRecord {
    pub n: f64,
    pub t: f64,
    pub d: i32,
    pub g: f64,
    pub l: i32,
    #[serde(default)]
    pub h: f64,
    #[serde(default)]
    pub m: i32,
}

/// `n delta^d tau^t exp(-eta (delta - epsilon)^2 - beta (tau - gamma)^2)`.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let equation = record.reference_equation()?;
/// // Bells about the critical density.
/// assert!(equation.residual.gaussian.iter().all(|bell| bell.epsilon == 1.0 && bell.eta > 0.0));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the symbols of the equation above")]
pub struct GaussianRecord {
    pub n: f64,
    pub t: f64,
    pub d: i32,
    pub eta: f64,
    pub epsilon: f64,
    pub beta: f64,
    pub gamma: f64,
}

/// `n delta^d tau^t exp(-eta (delta - epsilon)^2 + 1 / (beta (tau - gamma)^2 + b))`.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the symbols of the equation above")]
pub(crate) struct InverseBellRecord {
    pub n: f64,
    pub t: f64,
    pub d: i32,
    pub eta: f64,
    pub epsilon: f64,
    pub beta: f64,
    pub gamma: f64,
    pub b: f64,
}

/// `n Delta^b delta psi` with `Delta = theta^2 + B ((delta-1)^2)^a`,
/// `theta = (1-tau) + A ((delta-1)^2)^(1/(2 beta))` and `psi = exp(-C (delta-1)^2 - D (tau-1)^2)`.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the symbols of the equation above")]
pub(crate) struct NonAnalyticRecord {
    pub n: f64,
    pub a: f64,
    pub b: f64,
    pub beta: f64,
    #[serde(rename = "A")]
    pub big_a: f64,
    #[serde(rename = "B")]
    pub big_b: f64,
    #[serde(rename = "C")]
    pub big_c: f64,
    #[serde(rename = "D")]
    pub big_d: f64,
}

/// Sums over `theta = 1 - T/Tc` that start the iteration of the coexisting phases.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let equation = record.reference_equation()?;
/// // The start value of the vapour pressure at 20 degC is near the 57.29 bar of the equation.
/// let theta = 1.0 - 293.15 / 304.1282;
/// let pressure = 7.3773e6 * (304.1282 / 293.15 * equation.coexistence_guess.pressure.at(theta)).exp();
/// assert!((pressure / 57.29e5 - 1.0).abs() < 0.01);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GuessRecord {
    /// What the start values are.
    pub note: String,
    /// Relative error that the densities do not exceed.
    pub density_tolerance: f64,
    /// `ln(p/pc) = Tc/T sum`.
    pub pressure: SumRecord,
    /// `ln(rho'/rhoc) = sum`.
    pub liquid_density: SumRecord,
    /// `ln(rho''/rhoc) = sum`.
    pub vapour_density: SumRecord,
}

/// Bubble and dew pressures of a mixture whose equation takes it for one substance.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct BubbleDewRecord {
    /// Where the lines come from.
    pub note: String,
    /// Highest temperature of the dew line T_j in K, where both lines meet.
    #[serde(rename = "T_j / K")]
    pub temperature: f64,
    /// Pressure p_j there in Pa.
    #[serde(rename = "p_j / Pa")]
    pub pressure: f64,
    /// `ln(p/p_j) = T_j/T sum n (1 - T/T_j)^t` of the bubble point.
    pub bubble_pressure: SumRecord,
    /// The same of the dew point.
    pub dew_pressure: SumRecord,
}

/// Coefficients and exponents of a sum.
///
/// ```
/// use densepath_fluid::fluids::record::SumRecord;
/// let sum = SumRecord { n: vec![2.0, 3.0], t: vec![1.0, 2.0] };
/// assert_eq!(sum.at(1.0), 5.0);
/// ```
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SumRecord {
    /// Coefficients.
    pub n: Vec<f64>,
    /// Exponents.
    pub t: Vec<f64>,
}

impl SumRecord {
    /// `sum n x^t`.
    ///
    /// ```
    /// use densepath_fluid::fluids::record::SumRecord;
    /// // 2 x + 3 x^2 at x = 2.
    /// assert!((SumRecord { n: vec![2.0, 3.0], t: vec![1.0, 2.0] }.at(2.0) - 16.0).abs() < 1e-12);
    /// ```
    pub fn at(&self, x: f64) -> f64 {
        self.n
            .iter()
            .zip(&self.t)
            .map(|(n, t)| n * x.powf(*t))
            .sum()
    }
}
