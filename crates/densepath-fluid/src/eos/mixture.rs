//! The residual Helmholtz energy of a mixture, as every equation for mixtures offers it.
//!
//! An equation gives `psi = rho alpha^r(T, rho, x)`, the residual Helmholtz energy per volume over `R T`, as a function of
//! temperature and the amounts per volume `rho_i = x_i rho`. Pressure, fugacities and the conditions of equilibrium and
//! stability are its derivatives (Michelsen and Mollerup, Thermodynamic Models, 2nd ed. 2007, chapter 2; Bell and Deiters,
//! AIChE J. 64, 2745 (2018), doi 10.1002/aic.16074), written once here for all equations.
//!
//! There is one gas constant, [`MOLAR_GAS_CONSTANT`]. An equation of a pure fluid with another R takes part with its molar
//! mass multiplied by `MOLAR_GAS_CONSTANT / R`: R/M, and with it every property per mass, stays as published.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use core::fmt::Debug;

use nalgebra::DMatrix;

use super::cubic::CubicPair;
use super::cubic::conditions::PairConditions;
use super::helmholtz::PointDerivatives;
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::error::{Error, Result};
use crate::num::Amounts;
use crate::num::root::{Tolerance, newton_bisect};

/// An equation of state for mixtures of given substances in any amounts.
///
/// ```
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// assert!(!model.is_empty() && model.critical_constants(0).temperature < model.critical_constants(1).temperature);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub trait MixtureModel: Debug + Send + Sync {
    /// Number of substances.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// assert_eq!(model.len(), 2);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn len(&self) -> usize;

    /// Whether there is no substance.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// assert!(!model.is_empty());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Name with author and year, as results show it.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// assert_eq!(model.name(), "Peng-Robinson");
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn name(&self) -> &str;

    /// The mixture at one temperature in K and one composition, with all that depends on these alone computed once.
    ///
    /// `amount_fractions` has one entry for each substance; the entries are not negative and sum to 1.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// assert_eq!(model.at(320.0, &[0.3, 0.7]).amount_fractions(), [0.3, 0.7]);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn at<'a>(
        &'a self,
        temperature: f64,
        amount_fractions: &[f64],
    ) -> Box<dyn MixtureIsotherm + 'a>;

    /// Whether no composition of the substances parts at a temperature in K and a pressure in Pa, and each has one density there;
    /// only a model that remembers what it found knows it, and of many such states it does not.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// // A model that remembers nothing knows of no such state.
    /// assert!(!model.mixes(320.0, 100e5));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn mixes(&self, temperature: f64, pressure: f64) -> bool {
        let _ = (temperature, pressure);
        false
    }

    /// The equation of two substances at a temperature in K, where it is a cubic one: there phases are found faster.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// assert!(model.cubic_pair(320.0).is_some());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn cubic_pair(&self, temperature: f64) -> Option<CubicPair> {
        let _ = temperature;
        None
    }

    /// Start values of the phase equilibrium of a substance: its critical temperature in K, critical pressure in Pa and
    /// acentric factor.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// assert!((model.critical_constants(0).acentric_factor - 0.224).abs() < 0.002);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn critical_constants(&self, index: usize) -> CriticalConstants;

    /// The molar density in mol/m3 at a composition beside which the equation has terms that make a critical point sharp, if it may have
    /// such: several critical points may lie close together there.
    #[doc(hidden)]
    fn sharp_density(&self, amount_fractions: &[f64]) -> Option<f64> {
        let _ = amount_fractions;
        None
    }

    /// The closed form of the conditions of criticality, where the equation is a cubic one of two substances.
    #[doc(hidden)]
    fn pair_conditions(&self) -> Option<PairConditions> {
        None
    }
}

/// Constants of a pure substance from which iterations start.
///
/// ```
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// // n-Butane: 425.1 K and 38.0 bar.
/// let butane = model.critical_constants(1);
/// assert!((butane.temperature - 425.1).abs() < 0.2 && (butane.pressure / 1e5 - 38.0).abs() < 0.2);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CriticalConstants {
    /// Critical temperature in K.
    pub temperature: f64,
    /// Critical pressure in Pa.
    pub pressure: f64,
    /// Acentric factor, dimensionless.
    pub acentric_factor: f64,
}

/// The residual Helmholtz energy `a = alpha^r` with its scaled derivatives in density at fixed temperature and composition.
///
/// ```
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let isotherm = model.at(320.0, &[0.5, 0.5]);
/// // Z = 1 + a_d.
/// let z = isotherm.pressure(5000.0) / (5000.0 * isotherm.thermal_energy());
/// assert!((1.0 + isotherm.density_derivatives(5000.0).a_d - z).abs() < 1e-12);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, Default, PartialEq)]
#[allow(missing_docs, reason = "the symbols of the line above")]
pub struct DensityDerivatives {
    pub a: f64,
    pub a_d: f64,
    pub a_dd: f64,
}

/// First derivatives of psi and their derivatives, at given temperature and amounts per volume.
///
/// ```
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let isotherm = model.at(320.0, &[0.5, 0.5]);
/// let all = isotherm.potential_derivatives(5000.0);
/// assert_eq!((all.potentials.len(), all.curvatures.len()), (2, 4));
/// // The second derivatives are symmetric.
/// assert!((all.curvatures[1] / all.curvatures[2] - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PotentialDerivatives {
    /// Residual chemical potentials over RT: `psi_i = dpsi/drho_i`.
    pub potentials: Amounts,
    /// `T dpsi_i/dT` at constant amounts per volume.
    pub slopes: Amounts,
    /// `d2psi/(drho_i drho_j)` in m3/mol, row after row.
    pub curvatures: Amounts,
    /// `alpha^r` and its derivatives in density.
    pub density: DensityDerivatives,
}

/// A mixture at fixed temperature and composition.
///
/// ```
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let isotherm = model.at(320.0, &[0.5, 0.5]);
/// assert_eq!((isotherm.temperature(), isotherm.amount_fractions().len()), (320.0, 2));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub trait MixtureIsotherm: Debug {
    /// Temperature in K.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// assert_eq!(isotherm.temperature(), 320.0);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn temperature(&self) -> f64;

    /// Amount fractions x.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// assert_eq!(isotherm.amount_fractions(), [0.5, 0.5]);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn amount_fractions(&self) -> &[f64];

    /// Highest molar density in mol/m3 at which the equation is asked.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// // Denser than any liquid of the two.
    /// assert!(isotherm.molar_density_max() > 10e3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn molar_density_max(&self) -> f64;

    /// `alpha^r` and its derivatives in density, at a molar density in mol/m3.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// // a_d is rho da/drho: by a difference.
    /// let a = |rho| isotherm.density_derivatives(rho).a;
    /// let slope = 5000.0 * (a(5001.0) - a(4999.0)) / 2.0;
    /// assert!((isotherm.density_derivatives(5000.0).a_d / slope - 1.0).abs() < 1e-5);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn density_derivatives(&self, molar_density: f64) -> DensityDerivatives;

    /// As [`MixtureIsotherm::density_derivatives`], at several molar densities in mol/m3: the same numbers but for their rounding.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// let many = isotherm.density_derivatives_at(&[1000.0, 5000.0]);
    /// assert!((many[1].a / isotherm.density_derivatives(5000.0).a - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn density_derivatives_at(&self, molar_densities: &[f64]) -> Vec<DensityDerivatives> {
        let densities = molar_densities.iter();
        densities
            .map(|rho| self.density_derivatives(*rho))
            .collect()
    }

    /// `alpha^r` and its derivatives in density and inverse temperature: `a_d = rho da/drho`, `a_t = -T da/dT`,
    /// `a_tt = (1/T)^2 d2a/d(1/T)^2` ... at constant composition, at a molar density in mol/m3.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// assert!((isotherm.residual(5000.0).a / isotherm.density_derivatives(5000.0).a - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn residual(&self, molar_density: f64) -> PointDerivatives;

    /// Turns to another composition at the same temperature, in place: iterations in the composition keep what depends on
    /// temperature alone.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let mut isotherm = model.at(320.0, &[0.5, 0.5]);
    /// isotherm.recompose(&[0.3, 0.7]);
    /// assert!((isotherm.pressure(5000.0) / model.at(320.0, &[0.3, 0.7]).pressure(5000.0) - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn recompose(&mut self, amount_fractions: &[f64]);

    /// Residual chemical potentials over RT, `psi_i`, at a molar density in mol/m3.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// // Euler: sum x_i psi_i = a + a_d.
    /// let (potentials, point) = (isotherm.potentials(5000.0), isotherm.density_derivatives(5000.0));
    /// assert!((0.5 * (potentials[0] + potentials[1]) - point.a - point.a_d).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn potentials(&self, molar_density: f64) -> Amounts;

    /// The potentials with their derivatives, at a molar density in mol/m3.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// let (all, alone) = (isotherm.potential_derivatives(5000.0).potentials, isotherm.potentials(5000.0));
    /// assert!((all[0] - alone[0]).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn potential_derivatives(&self, molar_density: f64) -> PotentialDerivatives;

    /// The third derivative of psi along a direction of amounts per volume,
    /// `sum_ijk psi_ijk v_i v_j v_k`, at a molar density in mol/m3.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// // In no direction nothing changes.
    /// assert_eq!(isotherm.third_derivative(5000.0, &[0.0, 0.0]), 0.0);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn third_derivative(&self, molar_density: f64, direction: &[f64]) -> f64;

    /// The molar densities in mol/m3 at which the pressure in Pa is reached with the pressure rising, the smallest and the
    /// greatest of them.
    ///
    /// Where an equation knows no shorter way, the isotherm is sampled and every rise through the pressure is bracketed. An
    /// equation that swings inside its dome has rises there that are no states of a fluid; they are left out.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// let found = isotherm.densities(20e5)?;
    /// assert!(found.vapour <= found.liquid && (isotherm.pressure(found.liquid) / 20e5 - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    fn densities(&self, pressure: f64) -> Result<Densities> {
        sampled_densities(self, pressure)
    }
}

/// The smallest and the greatest molar density of an isotherm at a pressure; one and the same where there is one root.
///
/// ```
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let isotherm = model.at(320.0, &[0.5, 0.5]);
/// // Far below the critical pressure there is a gas-like and a liquid-like root.
/// let found = isotherm.densities(20e5)?;
/// assert!(found.liquid > 5.0 * found.vapour);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Densities {
    /// Smallest molar density in mol/m3: that of a vapour.
    pub vapour: f64,
    /// Greatest molar density in mol/m3: that of a liquid.
    pub liquid: f64,
}

/// Which of two densities is meant.
///
/// ```
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let isotherm = model.at(320.0, &[0.5, 0.5]);
/// use densepath_fluid::eos::mixture::Branch;
/// let on = |branch| isotherm.molar_density(20e5, branch);
/// let stable = on(Branch::Stable)?;
/// assert!(stable == on(Branch::Vapour)? || stable == on(Branch::Liquid)?);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Branch {
    /// The smallest.
    Vapour,
    /// The greatest.
    Liquid,
    /// That of the smaller Gibbs energy.
    Stable,
}

/// Fugacity coefficients with their derivatives, at given temperature, pressure and composition.
///
/// ```
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let isotherm = model.at(320.0, &[0.5, 0.5]);
/// let found = isotherm.fugacity(5000.0);
/// // Gibbs and Duhem: weighed with the amounts the derivatives vanish.
/// assert!((0.5 * found.d_amounts[0] + 0.5 * found.d_amounts[1]).abs() < 1e-9);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Fugacity {
    /// Molar density in mol/m3.
    pub molar_density: f64,
    /// Logarithms of the fugacity coefficients.
    pub ln_coefficients: Amounts,
    /// `(d ln phi_i/dT)_p,n` in 1/K.
    pub d_temperature: Amounts,
    /// `(d ln phi_i/dp)_T,n` in 1/Pa.
    pub d_pressure: Amounts,
    /// `n (d ln phi_i/dn_j)_T,p`, row after row; symmetric, and zero when weighed with the amounts (Gibbs-Duhem).
    pub d_amounts: Amounts,
}

impl dyn MixtureIsotherm + '_ {
    /// `R T` in J/mol.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// assert!((isotherm.thermal_energy() / (8.314_462_618 * 320.0) - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn thermal_energy(&self) -> f64 {
        MOLAR_GAS_CONSTANT * self.temperature()
    }

    /// Pressure p in Pa at a molar density in mol/m3.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// let density = isotherm.densities(20e5)?.vapour;
    /// assert!((isotherm.pressure(density) / 20e5 - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn pressure(&self, molar_density: f64) -> f64 {
        molar_density * self.thermal_energy() * (1.0 + self.density_derivatives(molar_density).a_d)
    }

    /// `(dp/drho)_T,x` in J/mol at a molar density in mol/m3.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// let slope = (isotherm.pressure(1001.0) - isotherm.pressure(999.0)) / 2.0;
    /// assert!((isotherm.dp_drho(1000.0) / slope - 1.0).abs() < 1e-5);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn dp_drho(&self, molar_density: f64) -> f64 {
        let point = self.density_derivatives(molar_density);
        self.thermal_energy() * (1.0 + 2.0 * point.a_d + point.a_dd)
    }

    /// `(dp/dT)_rho,x` in Pa/K at a molar density in mol/m3.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// let at = |temperature| model.at(temperature, &[0.5, 0.5]).pressure(1000.0);
    /// assert!((isotherm.dp_dt(1000.0) / ((at(320.5) - at(319.5)) / 1.0) - 1.0).abs() < 1e-4);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn dp_dt(&self, molar_density: f64) -> f64 {
        let point = self.residual(molar_density);
        molar_density * MOLAR_GAS_CONSTANT * (1.0 + point.a_d - point.a_dt)
    }

    /// Residual Gibbs energy over RT at given temperature and pressure: `alpha^r + Z - 1 - ln Z`, at a molar density in
    /// mol/m3 and its pressure in Pa.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// // Weighed with the fractions the logarithms of the fugacity coefficients are the residual Gibbs energy.
    /// let pressure = isotherm.pressure(1000.0);
    /// let phi = isotherm.ln_fugacity_coefficients(1000.0, pressure);
    /// assert!((0.5 * (phi[0] + phi[1]) - isotherm.residual_gibbs_energy(1000.0, pressure)).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn residual_gibbs_energy(&self, molar_density: f64, pressure: f64) -> f64 {
        let z = pressure / (molar_density * self.thermal_energy());
        self.density_derivatives(molar_density).a + z - 1.0 - z.ln()
    }

    /// Molar density in mol/m3 at a pressure in Pa, on the branch asked.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// use densepath_fluid::eos::mixture::Branch;
    /// assert_eq!(isotherm.molar_density(20e5, Branch::Liquid)?, isotherm.densities(20e5)?.liquid);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn molar_density(&self, pressure: f64, branch: Branch) -> Result<f64> {
        let found = self.densities(pressure)?;
        Ok(match branch {
            Branch::Vapour => found.vapour,
            Branch::Liquid => found.liquid,
            Branch::Stable if found.vapour == found.liquid => found.vapour,
            Branch::Stable => {
                let vapour = self.residual_gibbs_energy(found.vapour, pressure);
                let liquid = self.residual_gibbs_energy(found.liquid, pressure);
                if liquid <= vapour {
                    found.liquid
                } else {
                    found.vapour
                }
            }
        })
    }

    /// Logarithms of the fugacity coefficients at a molar density in mol/m3 and its pressure in Pa:
    /// `ln phi_i = psi_i - ln Z`.
    ///
    /// Z is taken from the pressure: the rounding of the density of a stiff liquid would spoil the Z of the equation.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// // A thin gas is ideal.
    /// let thin = isotherm.ln_fugacity_coefficients(1.0, isotherm.pressure(1.0));
    /// assert!(thin.iter().all(|ln| ln.abs() < 1e-3));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn ln_fugacity_coefficients(&self, molar_density: f64, pressure: f64) -> Amounts {
        let ln_z = (pressure / (molar_density * self.thermal_energy())).ln();
        let mut potentials = self.potentials(molar_density);
        for potential in &mut potentials {
            *potential -= ln_z;
        }
        potentials
    }

    /// The smallest eigenvalue and its unit vector u of
    /// `Q_ij = delta_ij + (x_i x_j)^(1/2) rho psi_ij`, at a molar density in mol/m3.
    ///
    /// The phase is stable against small changes while the eigenvalue is positive; where it is zero the amounts change as
    /// `x_i^(1/2) u_i` without force (Heidemann and Khalil, AIChE J. 26, 769 (1980), doi 10.1002/aic.690260510).
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// // A thin gas is stable against every change of its amounts.
    /// assert!((isotherm.softest(1.0).0 - 1.0).abs() < 1e-2);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn softest(&self, molar_density: f64) -> (f64, Amounts) {
        let curvatures = self.potential_derivatives(molar_density).curvatures;
        let fractions = self.amount_fractions();
        let count = fractions.len();
        let roots: Amounts = fractions.iter().map(|x| x.sqrt()).collect();
        let pairs = roots.iter().flat_map(|r| roots.iter().map(move |s| r * s));
        let entries = pairs
            .zip(&curvatures)
            .map(|(root, c)| root * molar_density * c);
        let matrix =
            DMatrix::from_iterator(count, count, entries) + DMatrix::identity(count, count);
        if let [a, b, _, d] = matrix.as_slice() {
            return softest_of_two(*a, *b, *d);
        }
        let Some(eigen) = matrix.try_symmetric_eigen(f64::EPSILON, EIGEN_ITERATIONS) else {
            return (f64::NAN, Amounts::from_elem(f64::NAN, count));
        };
        let columns = eigen
            .eigenvalues
            .iter()
            .zip(eigen.eigenvectors.column_iter());
        let softest = columns.min_by(|a, b| a.0.total_cmp(b.0));
        softest.map_or((f64::NAN, Amounts::new()), |(value, vector)| {
            (*value, vector.iter().copied().collect())
        })
    }

    /// Logarithms of the fugacity coefficients with all first derivatives, at a molar density in mol/m3.
    ///
    /// Michelsen and Mollerup 2007, eqs. 2.13 to 2.15 and 2.27 to 2.31, for one mole.
    ///
    /// ```
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let isotherm = model.at(320.0, &[0.5, 0.5]);
    /// let phi = isotherm.ln_fugacity_coefficients(1000.0, isotherm.pressure(1000.0));
    /// assert!((isotherm.fugacity(1000.0).ln_coefficients[0] - phi[0]).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn fugacity(&self, molar_density: f64) -> Fugacity {
        let rho = molar_density;
        let PotentialDerivatives {
            potentials,
            slopes,
            curvatures,
            density,
        } = self.potential_derivatives(rho);
        let fractions = self.amount_fractions();
        let count = fractions.len();
        let (temperature, rt) = (self.temperature(), self.thermal_energy());
        let z = 1.0 + density.a_d;
        let pressure = rho * rt * z;
        // p_i = (dp/drho_i) / RT, and volume_i = V_i / (R T) with the partial molar volume V_i.
        let stiffness: Amounts = (0..count)
            .map(|i| {
                let row = curvatures.iter().skip(i * count).take(count);
                1.0 + rho * row.zip(fractions).map(|(c, x)| c * x).sum::<f64>()
            })
            .collect();
        let total: f64 = stiffness.iter().zip(fractions).map(|(s, x)| s * x).sum();
        let volumes = stiffness.iter().map(|s| s / (rho * total * rt));
        let dp_dt = self.dp_dt(rho);
        let rows = curvatures.chunks(count).zip(&stiffness);
        Fugacity {
            molar_density,
            ln_coefficients: potentials.iter().map(|psi| psi - z.ln()).collect(),
            d_temperature: slopes
                .iter()
                .zip(volumes.clone())
                .map(|(slope, volume)| (slope + 1.0) / temperature - volume * dp_dt)
                .collect(),
            d_pressure: volumes.map(|volume| volume - 1.0 / pressure).collect(),
            d_amounts: rows
                .flat_map(|(row, s)| {
                    let columns = row.iter().zip(&stiffness);
                    columns.map(move |(c, other)| 1.0 + rho * c - s * other / total)
                })
                .collect(),
        }
    }
}

/// The smallest eigenvalue of a symmetric matrix of two rows, by its entries on and off the diagonal, and its unit vector.
fn softest_of_two(a: f64, b: f64, d: f64) -> (f64, Amounts) {
    let half = 0.5 * (a - d);
    let root = half.hypot(b);
    let value = 0.5 * (a + d) - root;
    // Of both rows of the matrix less the eigenvalue the one whose entries do not cancel.
    let (x, y) = if half > 0.0 {
        (-b, half + root)
    } else {
        (root - half, -b)
    };
    let length = x.hypot(y);
    if length == 0.0 {
        return (value, [1.0, 0.0].into_iter().collect());
    }
    (value, [x / length, y / length].into_iter().collect())
}

/// Iterations allowed for the eigenvalues of a small symmetric matrix; a few per row are usual.
const EIGEN_ITERATIONS: usize = 1000;

/// Even intervals into which the densities are cut at first, below which they follow a geometric series.
const INTERVALS: u32 = 16;
/// Halvings of an interval at most.
const HALVINGS: u32 = 3;
/// Share of the spread of the pressure in an interval by which it may leave the cubic through both ends.
const MARGIN: f64 = 0.25;

/// A density with `p/(RT)` less the one sought, and its slope.
#[derive(Debug, Clone, Copy)]
struct Sample {
    density: f64,
    excess: f64,
    slope: f64,
}

/// The isotherm as its samples see it.
struct Sampled<'a, M: ?Sized> {
    isotherm: &'a M,
    /// `p/(RT)`.
    scaled_pressure: f64,
    /// Brackets in which the pressure is reached with the pressure rising, by rising density.
    rises: Vec<(f64, f64)>,
    /// The smallest and the greatest density at which the pressure was seen to fall.
    falls: (f64, f64),
}

impl<M: MixtureIsotherm + ?Sized> Sampled<'_, M> {
    fn sample(&mut self, density: f64) -> Sample {
        self.sample_of(density, self.isotherm.density_derivatives(density))
    }

    fn sample_of(&mut self, density: f64, point: DensityDerivatives) -> Sample {
        let slope = 1.0 + 2.0 * point.a_d + point.a_dd;
        if slope < 0.0 {
            self.falls = (self.falls.0.min(density), self.falls.1.max(density));
        }
        Sample {
            density,
            excess: density * (1.0 + point.a_d) - self.scaled_pressure,
            slope,
        }
    }

    /// The brackets of the vapour and of the liquid: that reached with the pressure rising all the way from zero density, and
    /// that reached with it falling all the way from the highest. One that is not reached so is the other one.
    fn ends(&self) -> Option<((f64, f64), (f64, f64))> {
        let (first, last) = (*self.rises.first()?, *self.rises.last()?);
        let (is_vapour, is_liquid) = (first.0 < self.falls.0, last.1 > self.falls.1);
        Some(match (is_vapour, is_liquid) {
            (true, false) => (first, first),
            (false, true) => (last, last),
            _ => (first, last),
        })
    }

    /// Looks for rises between two samples: an interval is cut where the cubic through its ends neither rises throughout nor
    /// stays away from the pressure.
    fn look_between(&mut self, low: Sample, high: Sample, halvings: u32) {
        let third = (high.density - low.density) / 3.0;
        // The cubic lies between the least and the greatest of these four (Bernstein form).
        let inner = (
            low.excess + third * low.slope,
            high.excess - third * high.slope,
        );
        let corners = [low.excess, inner.0, inner.1, high.excess];
        let least = corners.iter().copied().fold(f64::INFINITY, f64::min);
        let greatest = corners.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let margin = MARGIN * (greatest - least);
        if least - margin > 0.0 || greatest + margin < 0.0 {
            return;
        }
        let is_rising = corners.is_sorted();
        if halvings == 0 || is_rising {
            if low.excess < 0.0 && high.excess >= 0.0 {
                self.rises.push((low.density, high.density));
            }
            return;
        }
        let middle = self.sample(0.5 * (low.density + high.density));
        self.look_between(low, middle, halvings - 1);
        self.look_between(middle, high, halvings - 1);
    }
}

/// The smallest and the greatest density with a pressure, by sampling the isotherm.
pub(crate) fn sampled_densities<M: MixtureIsotherm + ?Sized>(
    isotherm: &M,
    pressure: f64,
) -> Result<Densities> {
    let scaled_pressure = pressure / (MOLAR_GAS_CONSTANT * isotherm.temperature());
    let mut sampled = Sampled {
        isotherm,
        scaled_pressure,
        rises: Vec::new(),
        falls: (f64::INFINITY, 0.0),
    };
    let highest = isotherm.molar_density_max();
    let widest = highest / f64::from(INTERVALS);
    let mut low = Sample {
        density: 0.0,
        excess: -scaled_pressure,
        slope: 1.0,
    };
    let mut densities = Vec::new();
    let mut last = low.density;
    while last < highest {
        let next = (2.0 * last).max(0.5 * scaled_pressure);
        last = next.min(last + widest).min(highest);
        densities.push(last);
    }
    let points = isotherm.density_derivatives_at(&densities);
    for (density, point) in densities.into_iter().zip(points) {
        let high = sampled.sample_of(density, point);
        sampled.look_between(low, high, HALVINGS);
        low = high;
    }
    let Some((first, last)) = sampled.ends() else {
        return Err(Error::NoConvergence {
            solver: "molar density at given pressure",
            iterations: INTERVALS << HALVINGS,
            residual: low.excess / scaled_pressure,
            tolerance: 0.0,
        });
    };
    let vapour = rising_root(isotherm, pressure, first)?;
    if first == last {
        let liquid = vapour;
        return Ok(Densities { vapour, liquid });
    }
    let liquid = rising_root(isotherm, pressure, last)?;
    let vapour = if is_vapour(isotherm, pressure, vapour) {
        vapour
    } else {
        liquid
    };
    Ok(Densities { vapour, liquid })
}

/// Share of the greatest pressure of a vapour by its second virial coefficient above which a thin root is doubted.
const DOUBTED: f64 = 1.5;
/// Samples of the way to a doubted root, and the ratio of their densities.
const WAY: (i32, f64) = (24, 0.8);

/// Whether the pressure rises all the way from zero density to a density.
///
/// Reference equations swing inside their dome, and the first samples of a pressure far above that of any vapour lie there
/// already. The equation cut after its second virial coefficient B has its greatest pressure at R T / (4 |B|), which vapours
/// do not exceed by much; beyond, the way is looked at.
fn is_vapour<M: MixtureIsotherm + ?Sized>(isotherm: &M, pressure: f64, density: f64) -> bool {
    let rt = MOLAR_GAS_CONSTANT * isotherm.temperature();
    let thin = 1e-6 * density;
    let virial = isotherm.density_derivatives(thin).a_d / thin;
    if virial >= 0.0 || pressure * 4.0 * virial.abs() <= DOUBTED * rt {
        return true;
    }
    let (samples, ratio) = WAY;
    (1..=samples).all(|step| rises_at(isotherm, density * ratio.powi(step)))
}

/// Whether the pressure rises with the density, or does not fall, at a density.
fn rises_at<M: MixtureIsotherm + ?Sized>(isotherm: &M, density: f64) -> bool {
    let point = isotherm.density_derivatives(density);
    1.0 + 2.0 * point.a_d + point.a_dd >= 0.0
}

/// Samples of the way from a density to zero or to the highest.
const STRETCH: i32 = 24;

/// Whether the pressure rises all the way from zero density to a density, as to a vapour, or on from it to the highest, as from a liquid.
///
/// What reference equations reach in the swings inside their dome is neither.
pub(crate) fn is_phase<M: MixtureIsotherm + ?Sized>(isotherm: &M, density: f64) -> bool {
    let rises = |density: f64| rises_at(isotherm, density);
    let on = isotherm.molar_density_max() - density;
    let share = |step: i32| f64::from(step) / f64::from(STRETCH);
    (1..=STRETCH).all(|step| rises(density * share(step)))
        || (0..STRETCH).all(|step| rises(density + on * share(step)))
}

/// The density with a pressure inside a bracket of densities at whose ends the pressure lies below and above it.
pub(crate) fn rising_root<M: MixtureIsotherm + ?Sized>(
    isotherm: &M,
    pressure: f64,
    (low, high): (f64, f64),
) -> Result<f64> {
    let rt = MOLAR_GAS_CONSTANT * isotherm.temperature();
    newton_bisect(
        "molar density at given pressure",
        low,
        high,
        pressure / rt,
        Tolerance::default(),
        |rho| {
            let point = isotherm.density_derivatives(rho);
            let excess = rho * rt * (1.0 + point.a_d) - pressure;
            Ok((excess, rt * (1.0 + 2.0 * point.a_d + point.a_dd)))
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// A vector that the matrix shrinks to its eigenvalue, the smaller of two by their sum and product.
        #[test]
        fn the_softest_of_two_is_an_eigenvector(a in -3.0..3.0f64, b in -2.0..2.0f64, d in -3.0..3.0f64) {
            let (value, vector) = softest_of_two(a, b, d);
            let [x, y] = vector[..] else { panic!("{vector:?}") };
            prop_assert!((a * x + b * y - value * x).abs() < 1e-14);
            prop_assert!((b * x + d * y - value * y).abs() < 1e-14);
            prop_assert!((x.hypot(y) - 1.0).abs() < 1e-14);
            let other = a + d - value;
            prop_assert!(value <= other);
            prop_assert!((value * other - (a * d - b * b)).abs() < 1e-13);
        }
    }
}

/// Checks that hold for every equation; each compares derivatives with differences.
#[cfg(test)]
pub(crate) mod checks {
    use super::*;

    /// Central difference extrapolated once (Richardson).
    fn slope(f: impl Fn(f64) -> f64, x: f64, step: f64) -> f64 {
        let central = |h: f64| (f(x + h) - f(x - h)) / (2.0 * h);
        (4.0 * central(0.5 * step) - central(step)) / 3.0
    }

    fn close(what: &str, exact: f64, difference: f64, size: f64, tolerance: f64) {
        assert!(
            (exact - difference).abs() < tolerance * (exact.abs() + size),
            "{what}: {exact} against {difference}"
        );
    }

    /// The mixture with the amounts per volume moved by `amount` along substance `index`: its isotherm and density.
    fn moved<'a>(
        model: &'a dyn MixtureModel,
        temperature: f64,
        fractions: &[f64],
        rho: f64,
        change: &[f64],
    ) -> (Box<dyn MixtureIsotherm + 'a>, f64) {
        let amounts: Vec<f64> = fractions
            .iter()
            .zip(change)
            .map(|(x, d)| x * rho + d)
            .collect();
        let total: f64 = amounts.iter().sum();
        let fractions: Vec<f64> = amounts.iter().map(|amount| amount / total).collect();
        (model.at(temperature, &fractions), total)
    }

    /// Every derivative of the trait against differences of the one before it; `tolerance` is relative.
    pub(crate) fn derivatives_are_those_of_the_energy(
        model: &dyn MixtureModel,
        temperature: f64,
        fractions: &[f64],
        rho: f64,
        tolerance: f64,
    ) {
        let here = model.at(temperature, fractions);
        let point = here.residual(rho);
        let density = here.density_derivatives(rho);
        assert_eq!(
            (point.a, point.a_d, point.a_dd),
            (density.a, density.a_d, density.a_dd)
        );
        let at_t = |t: f64| model.at(t, fractions);
        let (dt, dr) = (2e-3 * temperature, 2e-3 * rho);
        let t_slope = |f: &dyn Fn(&dyn MixtureIsotherm) -> f64| {
            -temperature * slope(|t| f(at_t(t).as_ref()), temperature, dt)
        };
        let r_slope = |f: &dyn Fn(f64) -> f64| rho * slope(f, rho, dr);
        let residual = |r: f64| here.residual(r);
        close(
            "a_d",
            point.a_d,
            r_slope(&|r| residual(r).a),
            1.0,
            tolerance,
        );
        close(
            "a_dd",
            point.a_dd,
            r_slope(&|r| residual(r).a_d) - point.a_d,
            1.0,
            tolerance,
        );
        close(
            "a_t",
            point.a_t,
            t_slope(&|i| i.residual(rho).a),
            1.0,
            tolerance,
        );
        let a_tt = t_slope(&|i| i.residual(rho).a_t) - point.a_t;
        close("a_tt", point.a_tt, a_tt, 1.0, tolerance);
        close(
            "a_dt",
            point.a_dt,
            t_slope(&|i| i.residual(rho).a_d),
            1.0,
            tolerance,
        );
        potentials_are_those_of_the_energy(model, temperature, fractions, rho, tolerance);
    }

    fn potentials_are_those_of_the_energy(
        model: &dyn MixtureModel,
        temperature: f64,
        fractions: &[f64],
        rho: f64,
        tolerance: f64,
    ) {
        let here = model.at(temperature, fractions);
        let count = fractions.len();
        let found = here.potential_derivatives(rho);
        assert_eq!(found.potentials, here.potentials(rho));
        let along = |direction: &[f64], s: f64| {
            let change: Vec<f64> = direction.iter().map(|v| v * s).collect();
            moved(model, temperature, fractions, rho, &change)
        };
        let unit = |i: usize| {
            (0..count)
                .map(|k| f64::from(u8::from(k == i)))
                .collect::<Vec<_>>()
        };
        let smallest = fractions.iter().copied().fold(1.0, f64::min);
        let step = 2e-3 * rho * smallest.max(1e-3);
        for i in 0..count {
            let psi = |s: f64| {
                let (mixture, total) = along(&unit(i), s);
                total * mixture.residual(total).a
            };
            close(
                "psi_i",
                found.potentials[i],
                slope(psi, 0.0, step),
                1.0,
                tolerance,
            );
            let psi_i = |t: f64| model.at(t, fractions).potentials(rho)[i];
            let t_slope = temperature * slope(psi_i, temperature, 2e-3 * temperature);
            close("slope", found.slopes[i], t_slope, 1.0, tolerance);
            for j in 0..count {
                let psi_i = |s: f64| {
                    let (mixture, total) = along(&unit(j), s);
                    mixture.potentials(total)[i]
                };
                let curvature = slope(psi_i, 0.0, step);
                close(
                    "psi_ij",
                    found.curvatures[i * count + j],
                    curvature,
                    1.0 / rho,
                    tolerance,
                );
            }
        }
        let direction: Vec<f64> = (0..count).map(|k| 1.0 - 0.7 * k as f64).collect();
        let bend = |s: f64| {
            let (mixture, total) = along(&direction, s);
            let curvatures = mixture.potential_derivatives(total).curvatures;
            let turned = curvatures
                .chunks(count)
                .map(|row| row.iter().zip(&direction).map(|(c, v)| c * v).sum::<f64>());
            turned.zip(&direction).map(|(c, v)| c * v).sum::<f64>()
        };
        let third = here.third_derivative(rho, &direction);
        close(
            "third",
            third,
            slope(bend, 0.0, step),
            1.0 / (rho * rho),
            tolerance,
        );
    }

    /// Fugacity coefficients: derivatives against differences, symmetry and the equation of Gibbs and Duhem.
    pub(crate) fn fugacities_are_consistent(
        model: &dyn MixtureModel,
        temperature: f64,
        fractions: &[f64],
        rho: f64,
        tolerance: f64,
    ) {
        let here = model.at(temperature, fractions);
        let pressure = here.pressure(rho);
        let found = here.fugacity(rho);
        let count = fractions.len();
        let at = |t: f64, p: f64, x: &[f64]| {
            let mixture = model.at(t, x);
            let ends = mixture.densities(p).unwrap();
            let near = |r: f64| (r / rho).ln().abs();
            let density = if near(ends.vapour) < near(ends.liquid) {
                ends.vapour
            } else {
                ends.liquid
            };
            mixture.ln_fugacity_coefficients(density, p)
        };
        for i in 0..count {
            let of_t = slope(
                |t| at(t, pressure, fractions)[i],
                temperature,
                5e-4 * temperature,
            );
            close(
                "d ln phi/dT",
                temperature * found.d_temperature[i],
                temperature * of_t,
                1.0,
                tolerance,
            );
            let of_p = slope(
                |p| at(temperature, p, fractions)[i],
                pressure,
                5e-4 * pressure,
            );
            close(
                "d ln phi/dp",
                pressure * found.d_pressure[i],
                pressure * of_p,
                1.0,
                tolerance,
            );
            for j in 0..count {
                let of_n = |s: f64| {
                    let amounts = fractions
                        .iter()
                        .enumerate()
                        .map(|(k, x)| if k == j { x + s } else { *x });
                    let fractions: Vec<f64> = amounts.map(|amount| amount / (1.0 + s)).collect();
                    at(temperature, pressure, &fractions)[i]
                };
                let entry = found.d_amounts[i * count + j];
                let step = 1e-3 * fractions[j].max(1e-3);
                close(
                    "n d ln phi/dn",
                    entry,
                    slope(of_n, 0.0, step),
                    1.0,
                    tolerance,
                );
                let mirrored = found.d_amounts[j * count + i];
                assert!((entry - mirrored).abs() < 1e-9 * (1.0 + entry.abs()));
            }
            let duhem: f64 = (0..count)
                .map(|j| fractions[j] * found.d_amounts[j * count + i])
                .sum();
            let size: f64 = (0..count)
                .map(|j| fractions[j] * found.d_amounts[j * count + i].abs())
                .sum();
            assert!(
                duhem.abs() < 1e-10 * (1.0 + size),
                "Gibbs and Duhem: {duhem}"
            );
        }
    }
}
