//! Pressure drop and mixing in beds of particles.

use crate::fluid::error::{Error, Result, not_negative, positive};
use crate::fluid::quantity::Quantity;

/// Constant of the viscous term in the law of Kozeny and Carman.
///
/// *Source*: P. C. Carman, Trans. Inst. Chem. Eng. 15, 150 (1937), reprinted as doi 10.1016/S0263-8762(97)80003-2. Values
/// from 150 to 270 have been found, so that a measured pressure drop of the column at hand is better than any of them.
pub const KOZENY_CARMAN_CONSTANT: f64 = 180.0;

/// Constant of the inertial term of S. Ergun, Chem. Eng. Prog. 48, 89 (1952).
pub const ERGUN_INERTIAL_CONSTANT: f64 = 1.75;

/// A bed of particles as its pressure drop sees it: -dp/dz = `eta u_s/B_0 + b rho u_s^2` at the superficial velocity `u_s`.
///
/// ```
/// use densepath::flow::packed_bed::PackedBed;
/// // Spheres of 5 um with 40 % between them: d^2 eps^3/(180 (1 - eps)^2).
/// let bed = PackedBed::kozeny_carman(5e-6, 0.4, 180.0)?;
/// assert!((bed.permeability() / (25e-12 * 0.064 / (180.0 * 0.36)) - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PackedBed {
    permeability: f64,
    inertial_coefficient: f64,
}

impl PackedBed {
    /// Bed of spheres by the law of Kozeny and Carman, `B_0 = d_p^2 eps^3/(K (1-eps)^2)`, without inertia.
    ///
    /// Takes the particle diameter `d_p` in m, the interparticle porosity eps and the constant K
    /// ([`KOZENY_CARMAN_CONSTANT`]).
    ///
    /// *Valid*: creeping flow, particle Reynolds number below about 1. *Uncertainty*: 20 % in K.
    /// *Source*: P. C. Carman, Trans. Inst. Chem. Eng. 15, 150 (1937).
    ///
    /// Errors: 101 for a diameter or constant not above zero or a porosity outside ]0, 1[.
    ///
    /// ```
    /// use densepath::flow::packed_bed::PackedBed;
    /// // Half the particles, four times the resistance.
    /// let (coarse, fine) = (PackedBed::kozeny_carman(5e-6, 0.4, 180.0)?, PackedBed::kozeny_carman(2.5e-6, 0.4, 180.0)?);
    /// assert!((coarse.permeability() / fine.permeability() - 4.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn kozeny_carman(
        particle_diameter: f64,
        interparticle_porosity: f64,
        constant: f64,
    ) -> Result<Self> {
        positive(Quantity::ParticleDiameter, particle_diameter)?;
        positive(Quantity::Ratio, constant)?;
        let eps = open_unit(interparticle_porosity)?;
        let solid = 1.0 - eps;
        Ok(Self {
            permeability: particle_diameter * particle_diameter * eps.powi(3)
                / (constant * solid * solid),
            inertial_coefficient: 0.0,
        })
    }

    /// Bed of spheres by the law of Ergun: Kozeny-Carman with the inertial term `b = 1.75 (1-eps)/(eps^3 d_p)`.
    ///
    /// Takes the particle diameter `d_p` in m, the interparticle porosity eps and the constant K of the viscous term:
    /// 150 in the original, [`KOZENY_CARMAN_CONSTANT`] for the well-packed beds of chromatography (common practice, no
    /// source).
    ///
    /// *Valid*: particle Reynolds number divided by (1-eps) up to about 2000 (from memory).
    /// *Source*: S. Ergun, Chem. Eng. Prog. 48, 89 (1952).
    ///
    /// Errors: those of [`PackedBed::kozeny_carman`].
    ///
    /// ```
    /// use densepath::flow::packed_bed::PackedBed;
    /// // 1.75 (1 - eps)/(eps^3 d_p)
    /// let bed = PackedBed::ergun(5e-6, 0.4, 150.0)?;
    /// assert!((bed.inertial_coefficient() / (1.75 * 0.6 / (0.064 * 5e-6)) - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn ergun(
        particle_diameter: f64,
        interparticle_porosity: f64,
        constant: f64,
    ) -> Result<Self> {
        let viscous = Self::kozeny_carman(particle_diameter, interparticle_porosity, constant)?;
        let eps = interparticle_porosity;
        Ok(Self {
            inertial_coefficient: ERGUN_INERTIAL_CONSTANT * (1.0 - eps)
                / (eps.powi(3) * particle_diameter),
            ..viscous
        })
    }

    /// Bed of measured permeability `B_0` in m2 and inertial coefficient b in 1/m (zero where it was not measured).
    ///
    /// *Source*: law of Darcy, extended by Forchheimer's term.
    ///
    /// Errors: 101 for a permeability not above zero or a negative inertial coefficient.
    ///
    /// ```
    /// use densepath::flow::packed_bed::PackedBed;
    /// let bed = PackedBed::from_permeability(2.5e-14, 0.0)?;
    /// assert_eq!((bed.permeability(), bed.inertial_coefficient()), (2.5e-14, 0.0));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn from_permeability(permeability: f64, inertial_coefficient: f64) -> Result<Self> {
        positive(Quantity::Permeability, permeability)?;
        not_negative(Quantity::Ratio, inertial_coefficient)?;
        Ok(Self {
            permeability,
            inertial_coefficient,
        })
    }

    /// Permeability `B_0` in m2, that of the superficial velocity.
    ///
    /// ```
    /// use densepath::flow::packed_bed::PackedBed;
    /// assert_eq!(PackedBed::from_permeability(2.5e-14, 0.0)?.permeability(), 2.5e-14);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn permeability(&self) -> f64 {
        self.permeability
    }

    /// Inertial coefficient b in 1/m.
    ///
    /// ```
    /// use densepath::flow::packed_bed::PackedBed;
    /// // The law of Kozeny and Carman has no inertia.
    /// assert_eq!(PackedBed::kozeny_carman(5e-6, 0.4, 180.0)?.inertial_coefficient(), 0.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn inertial_coefficient(&self) -> f64 {
        self.inertial_coefficient
    }

    /// Flow resistance `d_p^2/B_0` for a particle diameter `d_p` in m.
    ///
    /// Errors: 101 for a diameter not above zero.
    ///
    /// ```
    /// use densepath::flow::packed_bed::PackedBed;
    /// // 180 (1 - eps)^2/eps^3 whatever the particles.
    /// let bed = PackedBed::kozeny_carman(5e-6, 0.4, 180.0)?;
    /// assert!((bed.flow_resistance(5e-6)? / (180.0 * 0.36 / 0.064) - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn flow_resistance(&self, particle_diameter: f64) -> Result<f64> {
        positive(Quantity::ParticleDiameter, particle_diameter).map(|d| d * d / self.permeability)
    }

    /// Pressure gradient -dp/dz = `(eta G/B_0 + b G^2)/rho` in Pa/m, of a density rho in kg/m3, a dynamic viscosity eta in
    /// Pa s and a mass flux G in kg/(m2 s) over the whole cross-section.
    ///
    /// Errors: 101 for an argument not above zero.
    ///
    /// ```
    /// use densepath::flow::packed_bed::PackedBed;
    /// // Darcy: eta u/B_0 with the superficial velocity u = G/rho.
    /// let bed = PackedBed::from_permeability(2.5e-14, 0.0)?;
    /// let expected = 70e-6 * (3.2 / 800.0) / 2.5e-14;
    /// assert!((bed.pressure_gradient(800.0, 70e-6, 3.2)? / expected - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn pressure_gradient(
        &self,
        density: f64,
        dynamic_viscosity: f64,
        mass_flux: f64,
    ) -> Result<f64> {
        positive(Quantity::Density, density)?;
        positive(Quantity::DynamicViscosity, dynamic_viscosity)?;
        positive(Quantity::MassFlux, mass_flux)?;
        let viscous = dynamic_viscosity * mass_flux / self.permeability;
        let inertial = self.inertial_coefficient * mass_flux * mass_flux;
        Ok((viscous + inertial) / density)
    }
}

/// Diameter in m of the spheres whose bed has a permeability `B_0` in m2 and an interparticle porosity, with the constant K of Kozeny
/// and Carman: the inverse of [`PackedBed::kozeny_carman`], whose range, source and errors it has.
///
/// ```
/// use densepath::flow::packed_bed::{PackedBed, particle_diameter_for};
/// let bed = PackedBed::kozeny_carman(5e-6, 0.4, 180.0)?;
/// assert!((particle_diameter_for(bed.permeability(), 0.4, 180.0)? / 5e-6 - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn particle_diameter_for(
    permeability: f64,
    interparticle_porosity: f64,
    constant: f64,
) -> Result<f64> {
    positive(Quantity::Permeability, permeability)?;
    positive(Quantity::Ratio, constant)?;
    let eps = open_unit(interparticle_porosity)?;
    Ok((1.0 - eps) * (constant * permeability / eps.powi(3)).sqrt())
}

/// Share of the diffusion coefficient that counts along a bed, for the detours between its grains.
const OBSTRUCTION: f64 = 0.73;
/// Mixing between the grains in `u d_p`, of a fast flow, and how soon diffusion across the ways through the bed takes it back.
const MIXING: f64 = 0.5;
const TAKEN_BACK: f64 = 9.7;
/// Greatest mixing between the grains in `u d_p`: what liquids with large Schmidt numbers come to (common practice, no source: 1 to 2).
const MOST_MIXING: f64 = 2.0;

/// Axial dispersion in a bed of grains, as coefficients K in m2/s with which a band spreads by `2 K t`.
///
/// ```
/// use densepath::flow::packed_bed::AxialDispersion;
/// let slow = AxialDispersion::new(1e-8, 1e-6, 1e-6)?;
/// // A slow flow does not stir: what is left is diffusion.
/// assert!((slow.coefficient / 0.73e-8 - 1.0).abs() < 1e-4);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxialDispersion {
    /// Coefficient K in m2/s.
    pub coefficient: f64,
    /// The least it can be in m2/s: diffusion alone.
    pub lowest: f64,
    /// The most it can be in m2/s: with the mixing of a liquid whose diffusion takes nothing back.
    pub highest: f64,
}

impl AxialDispersion {
    /// Dispersion of a solute of a diffusion coefficient D in m2/s between grains of a diameter `d_p` in m at the velocity u in m/s of
    /// the fluid between them, `K = 0.73 D + 0.5 u d_p/(1 + 9.7 D/(u d_p))`.
    ///
    /// *Valid*: unretained solutes, Reynolds numbers of the grains from 0.008 to 50 and gases; at Peclet numbers `u d_p/D` below
    /// about 1, where diffusion rules, slower flows and liquids too. *Uncertainty*: 30 % there (common practice, no source), else
    /// that of the bracket. *Source*: M. F. Edwards and J. F. Richardson, Chem. Eng. Sci. 23, 109 (1968) (from memory).
    ///
    /// Errors: 101 for an argument not above zero.
    ///
    /// ```
    /// use densepath::flow::packed_bed::AxialDispersion;
    /// let fast = AxialDispersion::new(1e-8, 100e-6, 0.1)?;
    /// // By hand: 0.73e-8 + 0.5 * 1e-5/(1 + 9.7e-3).
    /// assert!((fast.coefficient / 4.9593e-6 - 1.0).abs() < 1e-4);
    /// assert!(fast.lowest < fast.coefficient && fast.coefficient < fast.highest);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn new(diffusion_coefficient: f64, particle_diameter: f64, velocity: f64) -> Result<Self> {
        let diffusion = positive(Quantity::DiffusionCoefficient, diffusion_coefficient)?;
        let stirred = positive(Quantity::ParticleDiameter, particle_diameter)?
            * positive(Quantity::Velocity, velocity)?;
        let lowest = OBSTRUCTION * diffusion;
        Ok(Self {
            coefficient: lowest + MIXING * stirred / (1.0 + TAKEN_BACK * diffusion / stirred),
            lowest,
            highest: lowest + MOST_MIXING * stirred,
        })
    }
}

fn open_unit(interparticle_porosity: f64) -> Result<f64> {
    if interparticle_porosity > 0.0 && interparticle_porosity < 1.0 {
        Ok(interparticle_porosity)
    } else {
        Err(Error::Domain {
            quantity: Quantity::InterparticlePorosity,
            value: interparticle_porosity,
            rule: "between 0 and 1",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::{close, units};
    use proptest::prelude::*;

    #[test]
    fn permeability_of_spheres_is_the_closed_form() {
        // d_p^2 eps^3/(180 (1-eps)^2), by hand: 25e-12 * 0.064/(180 * 0.36) and so on.
        for (d_p, eps, permeability) in [
            (5e-6, 0.40, 2.469_135_8e-14),
            (3e-6, 0.38, 7.137_356_9e-15),
            (1.8e-6, 0.40, 3.2e-15),
            (5e-6, 0.36, 1.582_031_2e-14),
        ] {
            let bed = PackedBed::kozeny_carman(d_p, eps, KOZENY_CARMAN_CONSTANT).unwrap();
            assert!(close(bed.permeability(), permeability, 1e-7));
        }
        let bed = PackedBed::ergun(5e-6, 0.40, KOZENY_CARMAN_CONSTANT).unwrap();
        assert!(close(bed.flow_resistance(5e-6).unwrap(), 1012.5, 1e-12));
        assert!(close(bed.inertial_coefficient(), 3_281_250.0, 1e-12));
    }

    #[test]
    fn a_measured_permeability_gives_the_same_gradient_as_the_bed_it_came_from() {
        let spheres = PackedBed::ergun(1.8e-6, 0.4, KOZENY_CARMAN_CONSTANT).unwrap();
        let measured =
            PackedBed::from_permeability(spheres.permeability(), spheres.inertial_coefficient())
                .unwrap();
        assert_eq!(
            spheres.pressure_gradient(780.0, 6.8e-5, 3.0),
            measured.pressure_gradient(780.0, 6.8e-5, 3.0)
        );
    }

    /// The numbers of Peclet by hand: 0.73/Pe + 0.5/(1 + 9.7/Pe) of u d_p.
    #[test]
    fn axial_dispersion_is_diffusion_in_slow_flow_and_half_a_grain_in_fast() {
        for (peclet, expected) in [
            (0.01, 73.000_515),
            (1.0, 0.776_729),
            (100.0, 0.463_089),
            (1e6, 0.499_996),
        ] {
            let (d_p, u) = (2e-6, 3e-3);
            let found = AxialDispersion::new(u * d_p / peclet, d_p, u).unwrap();
            assert!(
                close(found.coefficient / (u * d_p), expected, 1e-5),
                "{peclet}"
            );
            assert!(found.lowest <= found.coefficient && found.coefficient <= found.highest);
        }
        for arguments in [(0.0, 1e-6, 1.0), (1e-8, 0.0, 1.0), (1e-8, 1e-6, f64::NAN)] {
            let (d, d_p, u) = arguments;
            assert_eq!(AxialDispersion::new(d, d_p, u).unwrap_err().code(), 101);
        }
    }

    #[test]
    fn an_impossible_bed_is_refused() {
        for eps in [0.0, 1.0, -0.4, 40.0, f64::NAN] {
            assert_eq!(PackedBed::ergun(5e-6, eps, 180.0).unwrap_err().code(), 101);
        }
        assert!(PackedBed::from_permeability(0.0, 0.0).is_err());
        assert!(PackedBed::from_permeability(1e-14, -1.0).is_err());
    }

    proptest! {
        #[test]
        fn dimensions_are_right(units in units(), d_p in 1e-6..2e-5f64, eps in 0.3..0.5f64, flux in 0.1..10.0f64) {
            let (rho, eta) = (780.0, 6.8e-5);
            let bed = PackedBed::ergun(d_p, eps, 180.0).unwrap();
            let scaled = PackedBed::ergun(d_p * units.length, eps, 180.0).unwrap();
            prop_assert!(close(bed.permeability() * units.factor(2, 0, 0), scaled.permeability(), 1e-12));
            let slope = bed.pressure_gradient(rho, eta, flux).unwrap();
            let other = scaled.pressure_gradient(
                rho * units.density(), eta * units.viscosity(), flux * units.mass_flux(),
            ).unwrap();
            prop_assert!(close(slope * units.pressure() / units.length, other, 1e-12));
        }
    }
}
