//! Diffusion of a solute at infinite dilution in a dense solvent: estimates from the solvent's viscosity or density and the size
//! of the solute.
//!
//! Three laws are hydrodynamic (`D` proportional to `T / eta`) and were fitted to organic liquids at ambient pressure. The fourth
//! was fitted to supercritical fluids. The fifth takes the Schmidt number from the kinetic theory of hard spheres. None knows
//! that mutual diffusion slows down near the critical point, and all fail at gas-like densities, where the kinetic theory of
//! gases holds instead. The spread of the five is a lower bound of their uncertainty.
//!
//! The numerical constants are quoted from memory from the papers named at each law; their arithmetic is checked against an
//! independent computation.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use core::f64::consts::PI;

use crate::error::{Error, Result, positive, within};
use crate::quantity::Quantity;

/// Density over the critical one below which the laws of this module are refused: common practice, no source. It is 200 kg/m3 in
/// carbon dioxide.
pub const REDUCED_DENSITY_MIN: f64 = 200.0 / 467.6;

/// Relative standard uncertainty of a diffusion coefficient by any of the laws in dense fluids: common practice, no source.
pub const RELATIVE_UNCERTAINTY: f64 = 0.25;

/// Critical temperature `k T_c / epsilon` and density `rho_c sigma^3` of the Lennard-Jones fluid: Potoff, Panagiotopoulos,
/// J. Chem. Phys. 109, 10914 (1998), doi 10.1063/1.477787; from memory.
const LENNARD_JONES_CRITICAL: (f64, f64) = (1.312, 0.316);

/// Density `n sigma^3` at which hard spheres freeze: Hoover, Ree, J. Chem. Phys. 49, 3609 (1968), doi 10.1063/1.1670641; from
/// memory.
const FREEZING: f64 = 0.943;

/// A solvent as the laws of this module see it. A mixed solvent averages every value by amount (for phi M Perkins, Geankoplis,
/// Chem. Eng. Sci. 24, 1035 (1969), doi 10.1016/0009-2509(69)80075-8, from memory; for the others common practice, no source).
///
/// ```
/// use densepath_fluid::{fluids, transport::diffusion::Solvent};
/// // Half carbon dioxide and half methanol by amount; Wilke and Chang associate methanol with 1.9.
/// let co2 = Solvent { associated_molar_mass: 44.01e-3, molar_mass: 44.01e-3, ..Solvent::default() };
/// let methanol = Solvent { associated_molar_mass: 1.9 * 32.04e-3, molar_mass: 32.04e-3, ..Solvent::default() };
/// let mixed = Solvent::mixed(&[(0.5, co2), (0.5, methanol)]);
/// assert!((mixed.molar_mass - 38.025e-3).abs() < 1e-9 && mixed.associated_molar_mass > mixed.molar_mass);
/// ```
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Solvent {
    /// Product of association factor and molar mass, phi M, in kg/mol.
    pub associated_molar_mass: f64,
    /// Molar mass M in kg/mol.
    pub molar_mass: f64,
    /// Molar volume of the liquid at its normal boiling point, V in m3/mol.
    pub molar_volume: f64,
    /// Critical temperature in K.
    pub critical_temperature: f64,
    /// Critical molar volume in m3/mol.
    pub critical_volume: f64,
}

impl Solvent {
    /// A mixed solvent from pairs of amount fraction and solvent.
    ///
    /// *Valid*: small molecules; the viscosity must be that of the mixture.
    ///
    /// ```
    /// use densepath_fluid::transport::diffusion::Solvent;
    /// let co2 = Solvent { associated_molar_mass: 44.01e-3, molar_mass: 44.01e-3, ..Solvent::default() };
    /// assert_eq!(Solvent::mixed(&[(1.0, co2)]), co2);
    /// ```
    #[must_use]
    pub fn mixed(parts: &[(f64, Solvent)]) -> Self {
        parts
            .iter()
            .fold(Self::default(), |sum, (fraction, solvent)| Self {
                associated_molar_mass: sum.associated_molar_mass
                    + fraction * solvent.associated_molar_mass,
                molar_mass: sum.molar_mass + fraction * solvent.molar_mass,
                molar_volume: sum.molar_volume + fraction * solvent.molar_volume,
                critical_temperature: sum.critical_temperature
                    + fraction * solvent.critical_temperature,
                critical_volume: sum.critical_volume + fraction * solvent.critical_volume,
            })
    }
}

/// The fluid in which a solute diffuses.
///
/// ```
/// use densepath_fluid::transport::diffusion::{Diffusing, DiffusionModel, Medium, Solvent};
/// let solvent = Solvent {
///     associated_molar_mass: 44.01e-3,
///     molar_mass: 44.01e-3,
///     molar_volume: 34e-6,
///     critical_temperature: 304.13,
///     critical_volume: 94.1e-6,
/// };
/// let medium = Medium { temperature: 313.15, density: 780.2, dynamic_viscosity: 67e-6, solvent };
/// let naphthalene = Diffusing { molar_volume: 147.6e-6, molar_mass: Some(128.17e-3) };
/// // Some 1e-8 m2/s: ten times as fast as in a liquid.
/// let found = DiffusionModel::WilkeChang.diffusion_coefficient(&medium, naphthalene)?;
/// assert!((8e-9..15e-9).contains(&found));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Medium {
    /// Temperature T in K.
    pub temperature: f64,
    /// Density rho in kg/m3.
    pub density: f64,
    /// Dynamic viscosity eta in Pa s.
    pub dynamic_viscosity: f64,
    /// What it is made of.
    pub solvent: Solvent,
}

impl Medium {
    /// Density over the critical one.
    fn reduced_density(&self) -> f64 {
        self.density * self.solvent.critical_volume / self.solvent.molar_mass
    }
}

/// What diffuses.
///
/// ```
/// use densepath_fluid::{Fluid, State, transport::diffusion::{Diffusing, DiffusionModel}};
/// let column = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
/// // Without the molar mass the laws that need it stay silent.
/// let solute = Diffusing { molar_volume: 147.6e-6, molar_mass: None };
/// assert_eq!(column.diffusion_estimates(solute)?.len(), 3);
/// let solute = Diffusing { molar_mass: Some(128.17e-3), ..solute };
/// assert_eq!(column.diffusion_estimates(solute)?.len(), DiffusionModel::ALL.len());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Diffusing {
    /// Molar volume at the normal boiling point, V in m3/mol.
    pub molar_volume: f64,
    /// Molar mass M in kg/mol, which only [`he_yu`] and [`schmidt_number`] ask for.
    pub molar_mass: Option<f64>,
}

impl Diffusing {
    fn known_mass(self) -> Result<f64> {
        let molar_mass = self.molar_mass.ok_or_else(|| Error::Argument {
            argument: "molar_mass".to_owned(),
            expected: "the molar mass of the solute in kg/mol",
            got: "none".to_owned(),
        })?;
        positive(Quantity::MolarMass, molar_mass)
    }
}

/// A law for the diffusion coefficient at infinite dilution.
///
/// ```
/// use densepath_fluid::{Fluid, State, transport::diffusion::{Diffusing, DiffusionModel}};
/// let co2 = Fluid::new("CO2")?;
/// let solute = Diffusing { molar_volume: 147.6e-6, molar_mass: Some(128.17e-3) };
/// // Every law lets a solute diffuse more slowly in denser fluid.
/// let (thin, dense) = (State::from_tp(&co2, 313.15, 12e6)?, State::from_tp(&co2, 313.15, 30e6)?);
/// for law in DiffusionModel::ALL {
///     assert!(thin.diffusion_coefficient(*law, solute)? > dense.diffusion_coefficient(*law, solute)?);
/// }
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum DiffusionModel {
    /// [`wilke_chang`].
    WilkeChang,
    /// [`scheibel`].
    Scheibel,
    /// [`lusis_ratcliff`].
    LusisRatcliff,
    /// [`he_yu`].
    HeYu,
    /// [`schmidt_number`].
    SchmidtNumber,
}

impl DiffusionModel {
    /// Every law.
    pub const ALL: &[Self] = &[
        Self::WilkeChang,
        Self::Scheibel,
        Self::LusisRatcliff,
        Self::HeYu,
        Self::SchmidtNumber,
    ];

    /// Name, snake case.
    ///
    /// ```
    /// use densepath_fluid::transport::diffusion::DiffusionModel;
    /// assert_eq!(DiffusionModel::WilkeChang.name().parse(), Ok(DiffusionModel::WilkeChang));
    /// ```
    pub const fn name(self) -> &'static str {
        match self {
            Self::WilkeChang => "wilke_chang",
            Self::Scheibel => "scheibel",
            Self::LusisRatcliff => "lusis_ratcliff",
            Self::HeYu => "he_yu",
            Self::SchmidtNumber => "schmidt_number",
        }
    }

    /// Whether the law asks for the molar mass of the solute.
    ///
    /// ```
    /// use densepath_fluid::transport::diffusion::DiffusionModel;
    /// assert!(DiffusionModel::HeYu.asks_for_molar_mass() && !DiffusionModel::WilkeChang.asks_for_molar_mass());
    /// ```
    pub const fn asks_for_molar_mass(self) -> bool {
        matches!(self, Self::HeYu | Self::SchmidtNumber)
    }

    /// Mean relative deviation of the law from measurements.
    ///
    /// *Source*: of the hydrodynamic laws in supercritical carbon dioxide Magalhães, Vaz, Gonçalves, Da Silva, Silva, J. Supercrit.
    /// Fluids (2013), abstract of "Accurate hydrodynamic models for the prediction of tracer diffusivities in supercritical carbon
    /// dioxide"; of He and Yu their own figure, from memory; of the Schmidt number an estimate from the two large solutes that
    /// the tests compare it with.
    ///
    /// ```
    /// use densepath_fluid::transport::diffusion::DiffusionModel;
    /// // In carbon dioxide the law of Lusis and Ratcliff is the least to be trusted.
    /// assert!(DiffusionModel::ALL.iter().all(|law| law.mean_deviation() <= DiffusionModel::LusisRatcliff.mean_deviation()));
    /// ```
    pub const fn mean_deviation(self) -> f64 {
        match self {
            Self::WilkeChang => 0.12,
            Self::Scheibel => 0.19,
            Self::LusisRatcliff => 0.27,
            Self::HeYu => 0.08,
            Self::SchmidtNumber => 0.25,
        }
    }

    /// Diffusion coefficient D in m2/s of a solute in a medium.
    ///
    /// Error 102 in a medium of less than [`REDUCED_DENSITY_MIN`], 104 if the law asks for a molar mass that is not given.
    ///
    /// ```
    /// use densepath_fluid::transport::diffusion::{Diffusing, DiffusionModel, Medium, Solvent};
    /// let solvent = Solvent { molar_mass: 44.01e-3, critical_volume: 94.1e-6, ..Solvent::default() };
    /// let gas = Medium { temperature: 313.15, density: 2.0, dynamic_viscosity: 16e-6, solvent };
    /// // A law of dense fluids says nothing of a gas.
    /// let solute = Diffusing { molar_volume: 147.6e-6, molar_mass: None };
    /// assert_eq!(DiffusionModel::WilkeChang.diffusion_coefficient(&gas, solute).unwrap_err().code(), 102);
    /// ```
    pub fn diffusion_coefficient(self, medium: &Medium, solute: Diffusing) -> Result<f64> {
        let unit = medium.solvent.molar_mass / medium.solvent.critical_volume;
        within(
            Quantity::Density,
            medium.density,
            REDUCED_DENSITY_MIN * unit,
            f64::MAX,
            self.name(),
        )?;
        let (t, eta) = (medium.temperature, medium.dynamic_viscosity);
        let (solvent, volume) = (&medium.solvent, solute.molar_volume);
        match self {
            Self::WilkeChang => wilke_chang(t, eta, solvent.associated_molar_mass, volume),
            Self::Scheibel => scheibel(t, eta, solvent.molar_volume, volume),
            Self::LusisRatcliff => lusis_ratcliff(t, eta, solvent.molar_volume, volume),
            Self::HeYu => he_yu(t, medium.reduced_density(), solvent, solute.known_mass()?),
            Self::SchmidtNumber => {
                let schmidt = schmidt_number(t, medium.reduced_density(), solvent, solute)?;
                Ok(positive(Quantity::DynamicViscosity, eta)? / (medium.density * schmidt))
            }
        }
    }
}

impl core::str::FromStr for DiffusionModel {
    type Err = ();

    fn from_str(name: &str) -> core::result::Result<Self, ()> {
        Self::ALL
            .iter()
            .copied()
            .find(|model| model.name() == name)
            .ok_or(())
    }
}

/// Diffusion coefficient D in m2/s by Wilke and Chang, from the associated molar mass phi M of the solvent (kg/mol).
///
/// *Valid*: solutes of molar volume up to about 0.5e-3 m3/mol in dense solvents, away from the critical point.
/// *Uncertainty*: about 10 % in the ambient liquids of the fit (authors' figure, from memory), 10 to 30 % in dense carbon
/// dioxide (common practice, no source); for liquids at large 29 to 41 % on average (Aniceto, Zêzere, Silva, Materials 14,
/// 542 (2021), doi 10.3390/ma14030542, abstract).
/// *Source*: Wilke, Chang, A.I.Ch.E. J. 1, 264 (1955), doi 10.1002/aic.690010222; constants from memory.
/// *Errors*: 101 if an argument is not positive.
///
/// ```
/// use densepath_fluid::transport::diffusion::wilke_chang;
/// // The equation in the units of its paper: cm2/s, cP, g/mol and cm3/mol.
/// let found = wilke_chang(313.15, 0.067e-3, 44.01e-3, 147.6e-6)?;
/// let expected = 7.4e-8 * 44.01_f64.sqrt() * 313.15 / (0.067 * 147.6_f64.powf(0.6)) * 1e-4;
/// assert!((found / expected - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn wilke_chang(
    temperature: f64,
    dynamic_viscosity: f64,
    associated_molar_mass: f64,
    solute_molar_volume: f64,
) -> Result<f64> {
    let mobility = mobility(temperature, dynamic_viscosity)?;
    let phi_m = grams(positive(Quantity::MolarMass, associated_molar_mass)?);
    let v = cubic_centimetres(solute_molar_volume)?;
    Ok(SQUARE_CENTIMETRE * 7.4e-8 * phi_m.sqrt() * mobility / v.powf(0.6))
}

/// Diffusion coefficient D in m2/s by Scheibel, from the molar volumes of solvent and solute (m3/mol).
///
/// *Valid*: as [`wilke_chang`]; needs no association factor.
/// *Uncertainty*: 10 to 30 % in dense carbon dioxide (common practice, no source).
/// *Source*: Scheibel, Ind. Eng. Chem. 46, 2007 (1954), doi 10.1021/ie50537a062; constants from memory. The variants of the
/// constant for small solutes in water, benzene and other solvents do not apply to carbon dioxide and are left out.
/// *Errors*: 101 if an argument is not positive.
///
/// ```
/// use densepath_fluid::transport::diffusion::scheibel;
/// // Twice the viscosity, half the coefficient.
/// let (thin, thick) = (scheibel(313.15, 67e-6, 34e-6, 147.6e-6)?, scheibel(313.15, 134e-6, 34e-6, 147.6e-6)?);
/// assert!((thin / thick - 2.0).abs() < 1e-12);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn scheibel(
    temperature: f64,
    dynamic_viscosity: f64,
    solvent_molar_volume: f64,
    solute_molar_volume: f64,
) -> Result<f64> {
    let mobility = mobility(temperature, dynamic_viscosity)?;
    let v_solvent = cubic_centimetres(solvent_molar_volume)?;
    let v = cubic_centimetres(solute_molar_volume)?;
    let shape = 1.0 + (3.0 * v_solvent / v).powf(2.0 / 3.0);
    Ok(SQUARE_CENTIMETRE * 8.2e-8 * shape * mobility / v.cbrt())
}

/// Diffusion coefficient D in m2/s by Lusis and Ratcliff, from the molar volumes of solvent and solute (m3/mol).
///
/// *Valid*: as [`wilke_chang`]; fitted to organic solvents.
/// *Uncertainty*: 10 to 30 % in dense carbon dioxide (common practice, no source).
/// *Source*: Lusis, Ratcliff, Can. J. Chem. Eng. 46, 385 (1968), doi 10.1002/cjce.5450460518; constants from memory.
/// *Errors*: 101 if an argument is not positive.
///
/// ```
/// use densepath_fluid::transport::diffusion::lusis_ratcliff;
/// // A larger molecule diffuses more slowly.
/// assert!(lusis_ratcliff(313.15, 67e-6, 34e-6, 300e-6)? < lusis_ratcliff(313.15, 67e-6, 34e-6, 147.6e-6)?);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn lusis_ratcliff(
    temperature: f64,
    dynamic_viscosity: f64,
    solvent_molar_volume: f64,
    solute_molar_volume: f64,
) -> Result<f64> {
    let mobility = mobility(temperature, dynamic_viscosity)?;
    let v_solvent = cubic_centimetres(solvent_molar_volume)?;
    let ratio = v_solvent / cubic_centimetres(solute_molar_volume)?;
    Ok(SQUARE_CENTIMETRE * 8.52e-8 * mobility / v_solvent.cbrt() * (1.40 * ratio.cbrt() + ratio))
}

/// Diffusion coefficient D in m2/s by He and Yu, from the density of the solvent over its critical one and the molar mass of the
/// solute (kg/mol).
///
/// *Valid*: liquids and supercritical fluids with a reduced density of 0.66 to 2.2 (from memory).
/// *Uncertainty*: 8 % on average over the 107 solutes and 9 solvents of the fit (authors' figure, from memory).
/// *Source*: He, Yu, Chem. Eng. Sci. 53, 3069 (1998), doi 10.1016/S0009-2509(98)00132-0; constants and identifier from memory.
/// The power of ten of the last constant was settled by the size of D: the next higher one gives values tenfold too high.
/// *Errors*: 101 if an argument is not positive or the density is beyond the close packing of the law.
///
/// ```
/// use densepath_fluid::transport::diffusion::{Solvent, he_yu};
/// let co2 = Solvent { molar_mass: 44.01e-3, critical_temperature: 304.13, critical_volume: 94.1e-6, ..Solvent::default() };
/// // At one density the coefficient goes with the root of T/M.
/// let (one, other) = (he_yu(313.15, 1.67, &co2, 128.17e-3)?, he_yu(313.15, 1.67, &co2, 4.0 * 128.17e-3)?);
/// assert!((one / other - 2.0).abs() < 1e-12);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn he_yu(
    temperature: f64,
    reduced_density: f64,
    solvent: &Solvent,
    solute_molar_mass: f64,
) -> Result<f64> {
    let t = positive(Quantity::Temperature, temperature)?;
    let m = grams(positive(Quantity::MolarMass, solute_molar_mass)?);
    let free = positive(Quantity::SpecificVolume, 1.0 / reduced_density - 0.23)?;
    let x = solvent.critical_temperature * cubic_centimetres(solvent.critical_volume)?
        / grams(positive(Quantity::MolarMass, solvent.molar_mass)?);
    let alpha = 14.882 + 0.005_908 * x + 2.0821e-6 * x * x;
    Ok(SQUARE_CENTIMETRE * 1e-5 * alpha * (t / m).sqrt() * (-0.3887 / free).exp())
}

/// Schmidt number `Sc = eta / (rho D)` of a solute in a solvent, from the temperature in K, the density of the solvent over its
/// critical one, and the sizes and masses of both: `Sc = Sc_0 (eta/eta_0)/(D/D_0)`.
///
/// `Sc_0 = 5/6 ((1 + r)/2)^2 sqrt(2 M/(M + M_s))` is that of a thin gas of hard spheres, r the ratio of diameters of solute and
/// solvent, the cube root of that of their molar volumes. The two ratios are those of dense hard spheres: the viscosity of
/// Enskog with the contact value of Carnahan and Starling, and the self-diffusion that Speedy 1987 fitted to simulations. The
/// hard spheres of the solvent take the diameter of Lennard-Jones molecules by corresponding states.
///
/// *Valid*: dense fluids of small molecules below the freezing density of hard spheres; error 102 above it.
/// *Uncertainty*: 25 % from two large solutes, see the tests; no measured small ones could be read.
/// *Source*: the form, Schmidt number over packing, is that of Funazukuri, Ishiwata, Wakao, AIChE J. 38, 1761 (1992), doi
/// 10.1002/aic.690381109, whose fitted constants could not be read and are not used; Speedy, Mol. Phys. 62, 509 (1987), doi
/// 10.1080/00268978700102371 (the constants from memory, `D_0` and the singular density 1.09 from the abstract); Chapman,
/// Cowling, The Mathematical Theory of Non-Uniform Gases (1970), section 16.5; Carnahan, Starling, J. Chem. Phys. 51, 635 (1969),
/// doi 10.1063/1.1672048; diameter over temperature of Cotterman, Schwarz, Prausnitz, AIChE J. 32, 1787 (1986), doi
/// 10.1002/aic.690321104; all from memory.
/// *Errors*: 101 if an argument is not positive, 104 without a molar mass.
///
/// ```
/// use densepath_fluid::transport::diffusion::{Diffusing, Solvent, schmidt_number};
/// let co2 = Solvent { molar_mass: 44.01e-3, critical_temperature: 304.13, critical_volume: 94.1e-6, molar_volume: 34e-6, ..Solvent::default() };
/// let solute = Diffusing { molar_volume: 147.6e-6, molar_mass: Some(128.17e-3) };
/// // Momentum diffuses some ten times as fast as the solute, and faster the denser the fluid.
/// let (thin, dense) = (schmidt_number(313.15, 1.0, &co2, solute)?, schmidt_number(313.15, 1.8, &co2, solute)?);
/// assert!(1.0 < thin && thin < dense && dense < 30.0);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn schmidt_number(
    temperature: f64,
    reduced_density: f64,
    solvent: &Solvent,
    solute: Diffusing,
) -> Result<f64> {
    let t = positive(Quantity::Temperature, temperature)?;
    let (t_c, n_c) = LENNARD_JONES_CRITICAL;
    let x = t_c * t / positive(Quantity::Temperature, solvent.critical_temperature)?;
    let diameter = (1.0 + 0.2977 * x) / (1.0 + 0.331_63 * x + 0.001_047_7 * x * x);
    let packed = n_c * diameter.powi(3);
    let name = DiffusionModel::SchmidtNumber.name();
    let (quantity, largest) = (Quantity::Ratio, FREEZING / packed);
    let n = packed * within(quantity, reduced_density, 0.0, largest, name)?;
    let size =
        (cubic_centimetres(solute.molar_volume)? / cubic_centimetres(solvent.molar_volume)?).cbrt();
    let mass = solute.known_mass()?;
    let pair = mass + positive(Quantity::MolarMass, solvent.molar_mass)?;
    let thin = 5.0 / 6.0 * (0.5 * (1.0 + size)).powi(2) * (2.0 * mass / pair).sqrt();
    Ok(thin * viscosity_of_spheres(n) / diffusion_of_spheres(n))
}

/// Viscosity of hard spheres over that of the thin gas at a density `n sigma^3` (Enskog).
fn viscosity_of_spheres(n: f64) -> f64 {
    let packing = PI / 6.0 * n;
    let contact = (1.0 - 0.5 * packing) / (1.0 - packing).powi(3);
    let b = 4.0 * packing;
    1.0 / contact + 0.8 * b + 0.7614 * b * b * contact
}

/// Product of density and self-diffusion coefficient of hard spheres over that of the thin gas (Speedy 1987).
fn diffusion_of_spheres(n: f64) -> f64 {
    (1.0 - n / 1.09) * (1.0 + n * n * (0.4 - 0.83 * n * n))
}

/// The laws give D in cm2/s.
const SQUARE_CENTIMETRE: f64 = 1e-4;

/// `T / eta` with the viscosity in the centipoise of the laws.
fn mobility(temperature: f64, dynamic_viscosity: f64) -> Result<f64> {
    let temperature = positive(Quantity::Temperature, temperature)?;
    Ok(temperature / (positive(Quantity::DynamicViscosity, dynamic_viscosity)? * 1e3))
}

fn grams(molar_mass: f64) -> f64 {
    molar_mass * 1e3
}

fn cubic_centimetres(molar_volume: f64) -> Result<f64> {
    Ok(positive(Quantity::MolarVolume, molar_volume)? * 1e6)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Independent computation with CoolProp 8.0.0 viscosities: T in K, eta in Pa s, V in cm3/mol (Le Bas: benzene 96.0,
    /// naphthalene 147.6), then D in 1e-4 cm2/s by Wilke-Chang, Scheibel, Lusis-Ratcliff.
    const ROWS: &[(f64, f64, f64, [f64; 3])] = &[
        (
            313.15,
            4.765199145869375e-05,
            96.0,
            [2.08601, 2.40228, 2.32402],
        ),
        (
            313.15,
            6.846172890423862e-05,
            96.0,
            [1.45194, 1.67208, 1.61761],
        ),
        (
            313.15,
            6.846172890423862e-05,
            147.6,
            [1.12166, 1.26448, 1.30949],
        ),
        (
            333.15,
            4.588163492420339e-05,
            147.6,
            [1.78056, 2.00728, 2.07874],
        ),
        (
            373.15,
            3.670919738790364e-05,
            96.0,
            [3.22666, 3.71587, 3.59482],
        ),
        (
            373.15,
            3.670919738790364e-05,
            147.6,
            [2.49267, 2.81005, 2.91010],
        ),
    ];

    /// Carbon dioxide at the critical constants of Span and Wagner 1996, with M = 44.01 g/mol.
    const CARBON_DIOXIDE: Solvent = Solvent {
        associated_molar_mass: 0.04401,
        molar_mass: 0.04401,
        molar_volume: 34.0e-6,
        critical_temperature: 304.1282,
        critical_volume: 94.1185e-6,
    };

    fn medium(temperature: f64, dynamic_viscosity: f64) -> Medium {
        Medium {
            temperature,
            density: 780.0,
            dynamic_viscosity,
            solvent: CARBON_DIOXIDE,
        }
    }

    fn of_volume(molar_volume: f64) -> Diffusing {
        Diffusing {
            molar_volume,
            molar_mass: Some(0.128),
        }
    }

    #[test]
    fn agrees_with_an_independent_computation() {
        for (temperature, viscosity, volume, expected) in ROWS {
            for (model, expected) in DiffusionModel::ALL.iter().zip(expected) {
                let medium = medium(*temperature, *viscosity);
                let d = model
                    .diffusion_coefficient(&medium, of_volume(volume * 1e-6))
                    .unwrap();
                assert!(
                    (d * 1e8 - expected).abs() < 0.6e-5,
                    "{model:?} {d} {expected}"
                );
            }
        }
    }

    /// Independent computation: benzene (78.11 g/mol) at 313.15 K and 700 kg/m3, and at twice the temperature.
    #[test]
    fn the_law_of_he_and_yu_follows_its_equation() {
        let reduced = 700.0 * CARBON_DIOXIDE.critical_volume / 0.04401;
        let d = he_yu(313.15, reduced, &CARBON_DIOXIDE, 0.07811).unwrap();
        assert!((d / HE_YU - 1.0).abs() < 1e-5, "{d}");
        let hot = he_yu(626.3, reduced, &CARBON_DIOXIDE, 0.07811).unwrap();
        assert!((hot / d - 2f64.sqrt()).abs() < 1e-12);
        let error = he_yu(313.15, 5.0, &CARBON_DIOXIDE, 0.07811).unwrap_err();
        assert_eq!(error.code(), 101);
        let unknown = Diffusing {
            molar_volume: 96e-6,
            molar_mass: None,
        };
        let refused = DiffusionModel::HeYu.diffusion_coefficient(&medium(313.15, 6e-5), unknown);
        assert_eq!(refused.unwrap_err().code(), 104);
    }

    #[test]
    fn a_mixed_solvent_averages_by_amount() {
        let methanol = Solvent {
            associated_molar_mass: 1.9 * 0.03204,
            molar_mass: 0.03204,
            molar_volume: 42.8e-6,
            critical_temperature: 512.5,
            critical_volume: 117e-6,
        };
        let mixed = Solvent::mixed(&[(0.75, CARBON_DIOXIDE), (0.25, methanol)]);
        assert!((mixed.associated_molar_mass - 0.0482265).abs() < 1e-12);
        assert!((mixed.molar_volume - 36.2e-6).abs() < 1e-18);
        assert!((mixed.molar_mass - 0.0410175).abs() < 1e-15);
    }

    /// Han, Yang, Wu, J. Chem. Eng. Data 52, 555 (2007), abstract: ethyl esters of arachidonic, eicosapentaenoic and
    /// docosahexaenoic acid in carbon dioxide between 308.15 and 338.15 K and 8.42 and 29.95 MPa diffuse with 5.54e-9 to
    /// 1.38e-8 m2/s. At the coldest and densest of these states the laws give, for the first ester (332.5 g/mol, 480 cm3/mol by
    /// the increments of Le Bas, from memory), these shares of the smallest value measured; none is asserted to be right.
    #[test]
    fn scores_against_the_measured_range_of_large_esters() {
        use crate::{Fluid, State};
        let fluid = Fluid::new("carbon dioxide").unwrap();
        let state = State::from_tp(&fluid, 308.15, 29.95e6).unwrap();
        let ester = Diffusing {
            molar_volume: 480e-6,
            molar_mass: Some(0.3325),
        };
        for (model, share) in DiffusionModel::ALL.iter().zip(SHARES) {
            let d = state.diffusion_coefficient(*model, ester).unwrap();
            assert!(
                (d / 5.54e-9 - share).abs() < 0.005,
                "{model:?} {}",
                d / 5.54e-9
            );
        }
    }

    const HE_YU: f64 = 1.616174e-08;
    const SHARES: [f64; 5] = [0.671, 0.789, 0.950, 0.822, 0.750];

    /// Independent computation: T in K, rho in kg/m3, eta in Pa s, V in cm3/mol, M in g/mol, D in 1e-8 m2/s.
    #[test]
    fn the_schmidt_number_follows_its_equation() {
        for (temperature, density, eta, volume, mass, expected) in [
            (
                313.15,
                780.23319,
                6.846172890423862e-05,
                96.0,
                78.11,
                1.32001,
            ),
            (313.15, 628.6, 4.765199145869375e-05, 96.0, 78.11, 1.78967),
            (373.15, 480.5, 3.670919738790364e-05, 147.6, 128.17, 2.08579),
        ] {
            let medium = Medium {
                density,
                ..medium(temperature, eta)
            };
            let solute = Diffusing {
                molar_volume: volume * 1e-6,
                molar_mass: Some(mass * 1e-3),
            };
            let d = DiffusionModel::SchmidtNumber.diffusion_coefficient(&medium, solute);
            let d = d.unwrap();
            assert!((d * 1e8 / expected - 1.0).abs() < 5e-6, "{d}");
        }
        let solid = schmidt_number(313.15, 4.0, &CARBON_DIOXIDE, of_volume(96e-6));
        assert_eq!(solid.unwrap_err().code(), 102);
    }

    /// In thin gas a molecule of the solvent itself has the Schmidt number 5/6 of hard spheres.
    #[test]
    fn the_schmidt_number_of_thin_gas_is_that_of_kinetic_theory() {
        let own = Diffusing {
            molar_volume: CARBON_DIOXIDE.molar_volume,
            molar_mass: Some(CARBON_DIOXIDE.molar_mass),
        };
        let thin = schmidt_number(313.15, 1e-9, &CARBON_DIOXIDE, own).unwrap();
        assert!((thin / (5.0 / 6.0) - 1.0).abs() < 1e-8, "{thin}");
    }

    /// Aniceto, Zêzere, Silva, J. Mol. Liq. 326, 115281 (2021): their model, trained on 4000 measurements, gives 5.818e-9 m2/s for
    /// alpha-tocopherol (430.71 g/mol; 599 cm3/mol by the increments of Le Bas, from memory) at 313.15 K and 830 kg/m3. The laws
    /// give these shares of it.
    #[test]
    fn scores_against_a_model_of_many_measurements() {
        use crate::{Fluid, State};
        let fluid = Fluid::new("carbon dioxide").unwrap();
        let state = State::from_t_rho(&fluid, 313.15, 830.000647).unwrap();
        let tocopherol = Diffusing {
            molar_volume: 599e-6,
            molar_mass: Some(0.43071),
        };
        for (model, share) in DiffusionModel::ALL.iter().zip(SHARES_OF_TOCOPHEROL) {
            let d = state.diffusion_coefficient(*model, tocopherol).unwrap();
            assert!(
                (d / 5.81821846e-9 - share).abs() < 0.005,
                "{model:?} {}",
                d / 5.81821846e-9
            );
        }
    }

    const SHARES_OF_TOCOPHEROL: [f64; 5] = [0.735, 0.884, 1.087, 0.895, 0.774];

    #[test]
    fn refuses_what_is_not_positive() {
        let error = scheibel(313.15, 5e-5, 34e-6, -1.0).unwrap_err();
        assert_eq!(
            (error.code(), error.quantity()),
            (101, Some(Quantity::MolarVolume))
        );
        assert_eq!(
            wilke_chang(313.15, 0.0, 0.044, 1e-4).unwrap_err().code(),
            101
        );
        assert_eq!(
            lusis_ratcliff(f64::NAN, 5e-5, 34e-6, 1e-4)
                .unwrap_err()
                .code(),
            101
        );
    }

    proptest! {
        /// Every hydrodynamic law is of the form `D = T / eta * f(V)` with `f` falling.
        #[test]
        fn scales_with_mobility_and_falls_with_size(
            temperature in 220.0..500.0f64, viscosity in 1e-5..1e-3, volume in 2e-5..1e-3, factor in 1.01..3.0f64
        ) {
            for model in &DiffusionModel::ALL[..3] {
                let d = |t: f64, eta: f64, v: f64| {
                    model.diffusion_coefficient(&medium(t, eta), of_volume(v)).unwrap()
                };
                let base = d(temperature, viscosity, volume);
                prop_assert!((d(factor * temperature, viscosity, volume) / (factor * base) - 1.0).abs() < 1e-12);
                prop_assert!((d(temperature, factor * viscosity, volume) * factor / base - 1.0).abs() < 1e-12);
                prop_assert!(d(temperature, viscosity, factor * volume) < base);
            }
        }
    }
}
