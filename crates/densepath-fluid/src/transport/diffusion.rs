//! Diffusion of a solute at infinite dilution in a dense solvent: estimates from the solvent's viscosity and molar volumes.
//!
//! All three laws are hydrodynamic (`D` proportional to `T / eta`) and were fitted to organic liquids at ambient pressure.
//! In dense carbon dioxide they are usually right within 10 to 30 % (common practice, no single source). They do not know
//! that mutual diffusion slows down near the critical point, and they fail at gas-like densities, where the kinetic theory of
//! gases holds instead. The spread of the three is a lower bound of their uncertainty.
//!
//! The numerical constants are quoted from memory from the papers named at each law; their arithmetic is checked against an
//! independent computation.

use crate::error::{Result, positive};
use crate::quantity::Quantity;

/// Molar volume of liquid carbon dioxide at its normal boiling point by the increments of Le Bas, V in m3/mol.
///
/// Source: Le Bas, The Molecular Volumes of Liquid Chemical Compounds, 1915; value from memory.
pub const CARBON_DIOXIDE_MOLAR_VOLUME: f64 = 34.0e-6;

/// Density in kg/m3 below which the laws of this module are refused: common practice, no source.
pub const DENSITY_MIN: f64 = 200.0;

/// Relative standard uncertainty of each law in dense carbon dioxide: common practice, no source.
pub const RELATIVE_UNCERTAINTY: f64 = 0.25;

/// A solvent as the laws of this module see it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solvent {
    /// Product of association factor and molar mass, phi M, in kg/mol.
    pub associated_molar_mass: f64,
    /// Molar volume of the liquid at its normal boiling point, V in m3/mol.
    pub molar_volume: f64,
}

impl Solvent {
    /// Carbon dioxide, which does not associate (phi = 1).
    pub const CARBON_DIOXIDE: Self = Self {
        associated_molar_mass: 0.0440098,
        molar_volume: CARBON_DIOXIDE_MOLAR_VOLUME,
    };

    /// A mixed solvent from pairs of amount fraction and solvent: phi M and V averaged by amount.
    ///
    /// *Valid*: small molecules; the viscosity must be that of the mixture.
    /// *Source*: Perkins, Geankoplis, Chem. Eng. Sci. 24, 1035 (1969), doi 10.1016/0009-2509(69)80075-8, for phi M, from
    /// memory; the average of V is common practice, no source.
    #[must_use]
    pub fn mixed(parts: &[(f64, Solvent)]) -> Self {
        parts.iter().fold(
            Self {
                associated_molar_mass: 0.0,
                molar_volume: 0.0,
            },
            |sum, (fraction, solvent)| Self {
                associated_molar_mass: sum.associated_molar_mass
                    + fraction * solvent.associated_molar_mass,
                molar_volume: sum.molar_volume + fraction * solvent.molar_volume,
            },
        )
    }
}

/// Association factor phi of Wilke and Chang: 1 without hydrogen bonds, 1.5 ethanol, 1.9 methanol, 2.6 water.
///
/// *Source*: Wilke, Chang, A.I.Ch.E. J. 1, 264 (1955), doi 10.1002/aic.690010222, from memory. `None` for other solvents.
pub fn association_factor(solvent: &str) -> Option<f64> {
    match solvent {
        "carbon dioxide" => Some(1.0),
        "ethanol" => Some(1.5),
        "methanol" => Some(1.9),
        "water" => Some(2.6),
        _ => None,
    }
}

/// A law for the diffusion coefficient at infinite dilution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum DiffusionModel {
    /// [`wilke_chang`].
    WilkeChang,
    /// [`scheibel`].
    Scheibel,
    /// [`lusis_ratcliff`].
    LusisRatcliff,
}

impl DiffusionModel {
    /// Every law.
    pub const ALL: &[Self] = &[Self::WilkeChang, Self::Scheibel, Self::LusisRatcliff];

    /// Name, snake case.
    pub const fn name(self) -> &'static str {
        match self {
            Self::WilkeChang => "wilke_chang",
            Self::Scheibel => "scheibel",
            Self::LusisRatcliff => "lusis_ratcliff",
        }
    }

    /// Diffusion coefficient D in m2/s at temperature T (K) in a solvent of dynamic viscosity eta (Pa s), for a solute whose
    /// molar volume at its normal boiling point is V (m3/mol).
    pub fn diffusion_coefficient(
        self,
        temperature: f64,
        dynamic_viscosity: f64,
        solvent: Solvent,
        solute_molar_volume: f64,
    ) -> Result<f64> {
        match self {
            Self::WilkeChang => wilke_chang(
                temperature,
                dynamic_viscosity,
                solvent.associated_molar_mass,
                solute_molar_volume,
            ),
            Self::Scheibel => scheibel(
                temperature,
                dynamic_viscosity,
                solvent.molar_volume,
                solute_molar_volume,
            ),
            Self::LusisRatcliff => lusis_ratcliff(
                temperature,
                dynamic_viscosity,
                solvent.molar_volume,
                solute_molar_volume,
            ),
        }
    }
}

impl std::str::FromStr for DiffusionModel {
    type Err = ();

    fn from_str(name: &str) -> std::result::Result<Self, ()> {
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

    #[test]
    fn agrees_with_an_independent_computation() {
        for (temperature, viscosity, volume, expected) in ROWS {
            for (model, expected) in DiffusionModel::ALL.iter().zip(expected) {
                let solvent = Solvent {
                    associated_molar_mass: 0.04401,
                    ..Solvent::CARBON_DIOXIDE
                };
                let d = model
                    .diffusion_coefficient(*temperature, *viscosity, solvent, volume * 1e-6)
                    .unwrap();
                assert!(
                    (d * 1e8 - expected).abs() < 0.6e-5,
                    "{model:?} {d} {expected}"
                );
            }
        }
    }

    #[test]
    fn a_mixed_solvent_averages_by_amount() {
        let methanol = Solvent {
            associated_molar_mass: association_factor("methanol").unwrap() * 0.03204,
            molar_volume: 37.0e-6,
        };
        let mixed = Solvent::mixed(&[(0.75, Solvent::CARBON_DIOXIDE), (0.25, methanol)]);
        assert!((mixed.associated_molar_mass - 0.04822635).abs() < 1e-15);
        assert!((mixed.molar_volume - 34.75e-6).abs() < 1e-18);
    }

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
        /// Every law is of the form `D = T / eta * f(V)` with `f` falling.
        #[test]
        fn scales_with_mobility_and_falls_with_size(
            temperature in 220.0..500.0f64, viscosity in 1e-5..1e-3, volume in 2e-5..1e-3, factor in 1.01..3.0f64
        ) {
            for model in DiffusionModel::ALL {
                let d = |t: f64, eta: f64, v: f64| {
                    model.diffusion_coefficient(t, eta, Solvent::CARBON_DIOXIDE, v).unwrap()
                };
                let base = d(temperature, viscosity, volume);
                prop_assert!((d(factor * temperature, viscosity, volume) / (factor * base) - 1.0).abs() < 1e-12);
                prop_assert!((d(temperature, factor * viscosity, volume) * factor / base - 1.0).abs() < 1e-12);
                prop_assert!(d(temperature, viscosity, factor * volume) < base);
            }
        }
    }
}
