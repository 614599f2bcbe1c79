//! Local plate heights: open tubes after Golay, packed columns after Knox and van Deemter.

use crate::fluid::error::{Result, finite, not_negative, positive};
use crate::fluid::num::root::{Tolerance, newton_bisect};
use crate::fluid::quantity::Quantity;

/// The velocity of the smallest plate height.
///
/// ```
/// use densepath::flow::plate_height::GolayColumn;
/// let column = GolayColumn { diameter: 50e-6, film_thickness: 0.0, film_diffusion_coefficient: 1e-10 };
/// let best = column.optimum(1e-8, 0.0)?;
/// // Without retention and film H = d / sqrt(12) at u = sqrt(192) D / d.
/// assert!((best.plate_height / (50e-6 / 12f64.sqrt()) - 1.0).abs() < 1e-6);
/// assert!((best.velocity / (192f64.sqrt() * 1e-8 / 50e-6) - 1.0).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Optimum {
    /// Velocity u of the mobile phase in m/s.
    pub velocity: f64,
    /// Plate height H in m.
    pub plate_height: f64,
}

/// An open tubular column with a film of stationary phase.
///
/// ```
/// use densepath::flow::plate_height::GolayColumn;
/// let column = GolayColumn { diameter: 50e-6, film_thickness: 0.25e-6, film_diffusion_coefficient: 1e-11 };
/// assert!(column.plate_height(1e-8, 0.01, 3.0)? > 0.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GolayColumn {
    /// Bore d in m.
    pub diameter: f64,
    /// Thickness `d_f` of the film in m.
    pub film_thickness: f64,
    /// Diffusion coefficient `D_S` of the solute in the film in m2/s.
    pub film_diffusion_coefficient: f64,
}

impl GolayColumn {
    /// Plate height `H = 2 D/u + (1 + 6k + 11k^2)/(96 (1+k)^2) d^2 u/D + 2 k d_f^2 u/(3 (1+k)^2 D_S)` in m, of a solute with
    /// the diffusion coefficient D in m2/s in the mobile phase and the retention factor k, at the velocity u in m/s.
    ///
    /// *Valid*: laminar flow in a straight tube, film thin against the bore. *Source*: M. J. E. Golay, in: D. H. Desty (ed.),
    /// Gas Chromatography 1958, Butterworths, London 1958, p. 36 (from memory).
    ///
    /// Errors: 101 for an argument or dimension not above zero, or a negative film thickness or retention factor.
    ///
    /// ```
    /// use densepath::flow::plate_height::GolayColumn;
    /// let column = GolayColumn { diameter: 50e-6, film_thickness: 0.0, film_diffusion_coefficient: 1e-11 };
    /// // 2 D / u + d^2 u / (96 D) of what is not retained.
    /// let expected = 2.0 * 1e-8 / 0.01 + 2.5e-9 * 0.01 / (96.0 * 1e-8);
    /// assert!((column.plate_height(1e-8, 0.01, 0.0)? / expected - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn plate_height(
        &self,
        diffusion_coefficient: f64,
        velocity: f64,
        retention_factor: f64,
    ) -> Result<f64> {
        positive(Quantity::Velocity, velocity)?;
        let (b, c) = self.coefficients(diffusion_coefficient, retention_factor)?;
        Ok(b / velocity + c * velocity)
    }

    /// Velocity and height at the minimum of the plate height.
    ///
    /// Valid, source and errors as for [`GolayColumn::plate_height`].
    ///
    /// ```
    /// use densepath::flow::plate_height::GolayColumn;
    /// let column = GolayColumn { diameter: 50e-6, film_thickness: 0.25e-6, film_diffusion_coefficient: 1e-11 };
    /// let best = column.optimum(1e-8, 3.0)?;
    /// // Slower and faster are both worse.
    /// for factor in [0.8, 1.25] {
    ///     assert!(column.plate_height(1e-8, best.velocity * factor, 3.0)? > best.plate_height);
    /// }
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn optimum(&self, diffusion_coefficient: f64, retention_factor: f64) -> Result<Optimum> {
        let (b, c) = self.coefficients(diffusion_coefficient, retention_factor)?;
        Ok(Optimum {
            velocity: (b / c).sqrt(),
            plate_height: 2.0 * (b * c).sqrt(),
        })
    }

    fn coefficients(
        &self,
        diffusion_coefficient: f64,
        retention_factor: f64,
    ) -> Result<(f64, f64)> {
        positive(Quantity::DiffusionCoefficient, diffusion_coefficient)?;
        positive(
            Quantity::DiffusionCoefficient,
            self.film_diffusion_coefficient,
        )?;
        positive(Quantity::Diameter, self.diameter)?;
        not_negative(Quantity::FilmThickness, self.film_thickness)?;
        not_negative(Quantity::RetentionFactor, retention_factor)?;
        let (d, d_f, k) = (self.diameter, self.film_thickness, retention_factor);
        let all = (1.0 + k) * (1.0 + k);
        let mobile = (1.0 + 6.0 * k + 11.0 * k * k) / (96.0 * all) * d * d / diffusion_coefficient;
        let film = 2.0 * k * d_f * d_f / (3.0 * all * self.film_diffusion_coefficient);
        Ok((2.0 * diffusion_coefficient, mobile + film))
    }
}

/// Coefficients of a plate height of a packed column.
///
/// ```
/// use densepath::flow::plate_height::PackedPlateHeight;
/// let knox = PackedPlateHeight::Knox { eddy: 1.0, longitudinal: 2.0, transfer: 0.05 };
/// let power = PackedPlateHeight::Power { eddy: 1.0, exponent: 1.0 / 3.0, longitudinal: 2.0, transfer: 0.05 };
/// // The law of Knox is the power of one third.
/// let ratio = knox.plate_height(1e-8, 5e-6, 3e-3)? / power.plate_height(1e-8, 5e-6, 3e-3)?;
/// assert!((ratio - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PackedPlateHeight {
    /// Reduced plate height `h = A nu^(1/3) + B/nu + C nu`, with `h = H/d_p` and `nu = u d_p/D`.
    ///
    /// *Source*: J. H. Knox, J. Chromatogr. Sci. 15, 352 (1977), doi 10.1093/chromsci/15.9.352 (from memory).
    Knox {
        /// A, of the flow between the particles; 1 for a well-packed column (common practice, no source).
        eddy: f64,
        /// B, of diffusion along the column; about 2.
        longitudinal: f64,
        /// C, of transfer between the phases; about 0.05.
        transfer: f64,
    },
    /// Plate height `H = A + B/u + C u`.
    ///
    /// *Valid*: for the diffusion coefficient of the measurement only; the law of Knox carries over from one density to
    /// another. *Source*: J. J. van Deemter, F. J. Zuiderweg and A. Klinkenberg, Chem. Eng. Sci. 5, 271 (1956),
    /// doi 10.1016/0009-2509(56)80003-1.
    VanDeemter {
        /// A in m.
        eddy: f64,
        /// B in m2/s.
        longitudinal: f64,
        /// C in s.
        transfer: f64,
    },
    /// Reduced plate height `h = A nu^n + B/nu + C nu` with an exponent of the user's own: 1/3 is the law of Knox, 0 that of
    /// van Deemter in reduced form.
    Power {
        /// A.
        eddy: f64,
        /// n, from 0 to 1.
        exponent: f64,
        /// B.
        longitudinal: f64,
        /// C.
        transfer: f64,
    },
    /// Reduced plate height `h = A/(1 + E/nu) + B/nu + C nu`, in which the flow between the particles and diffusion across it
    /// act together.
    ///
    /// *Source*: J. C. Giddings, Dynamics of Chromatography, Dekker 1965 (from memory).
    Coupled {
        /// A, of fast flow.
        eddy: f64,
        /// E, the reduced velocity at which half of A is reached.
        coupling: f64,
        /// B.
        longitudinal: f64,
        /// C.
        transfer: f64,
    },
}

impl PackedPlateHeight {
    /// Plate height H in m, of a solute with the diffusion coefficient D in m2/s in a column of particles of the diameter
    /// `d_p` in m, at the velocity u of the mobile phase in m/s.
    ///
    /// Errors: 101 for an argument not above zero or a negative coefficient.
    ///
    /// ```
    /// use densepath::flow::plate_height::PackedPlateHeight;
    /// let knox = PackedPlateHeight::Knox { eddy: 1.0, longitudinal: 2.0, transfer: 0.05 };
    /// // At nu = u d_p / D = 8: h = 2 + 2/8 + 0.4.
    /// assert!((knox.plate_height(1e-8, 5e-6, 16e-3)? / 5e-6 - 2.65).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn plate_height(
        &self,
        diffusion_coefficient: f64,
        particle_diameter: f64,
        velocity: f64,
    ) -> Result<f64> {
        positive(Quantity::DiffusionCoefficient, diffusion_coefficient)?;
        positive(Quantity::ParticleDiameter, particle_diameter)?;
        positive(Quantity::Velocity, velocity)?;
        let (a, b, c) = self.checked()?;
        let nu = velocity * particle_diameter / diffusion_coefficient;
        Ok(match *self {
            PackedPlateHeight::Knox { .. } => particle_diameter * (a * nu.cbrt() + b / nu + c * nu),
            PackedPlateHeight::VanDeemter { .. } => a + b / velocity + c * velocity,
            PackedPlateHeight::Power { exponent, .. } => {
                particle_diameter * (a * nu.powf(exponent) + b / nu + c * nu)
            }
            PackedPlateHeight::Coupled { coupling, .. } => {
                particle_diameter * (a * nu / (nu + coupling) + b / nu + c * nu)
            }
        })
    }

    /// Velocity and height at the minimum of the plate height.
    ///
    /// Errors: 101 as for [`PackedPlateHeight::plate_height`], and for coefficients that have no minimum; 401 of the root.
    ///
    /// ```
    /// use densepath::flow::plate_height::PackedPlateHeight;
    /// let deemter = PackedPlateHeight::VanDeemter { eddy: 5e-6, longitudinal: 2e-8, transfer: 2e-3 };
    /// // H = A + 2 sqrt(B C) at u = sqrt(B / C).
    /// let best = deemter.optimum(1e-8, 5e-6)?;
    /// assert!((best.velocity / (2e-8f64 / 2e-3).sqrt() - 1.0).abs() < 1e-6);
    /// assert!((best.plate_height / (5e-6 + 2.0 * (2e-8f64 * 2e-3).sqrt()) - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn optimum(&self, diffusion_coefficient: f64, particle_diameter: f64) -> Result<Optimum> {
        positive(Quantity::DiffusionCoefficient, diffusion_coefficient)?;
        positive(Quantity::ParticleDiameter, particle_diameter)?;
        let (a, b, c) = self.checked()?;
        positive(Quantity::Ratio, b)?;
        let reduced = diffusion_coefficient / particle_diameter;
        let velocity = match *self {
            PackedPlateHeight::Knox { .. } => reduced * power_optimum(a, b, c, 1.0 / 3.0)?,
            PackedPlateHeight::VanDeemter { .. } => (b / positive(Quantity::Ratio, c)?).sqrt(),
            PackedPlateHeight::Power { exponent, .. } => {
                reduced * power_optimum(a, b, c, exponent)?
            }
            PackedPlateHeight::Coupled { coupling, .. } => {
                reduced * coupled_optimum(a, b, c, coupling)?
            }
        };
        Ok(Optimum {
            velocity,
            plate_height: self.plate_height(diffusion_coefficient, particle_diameter, velocity)?,
        })
    }

    /// A, B and C, with all coefficients checked.
    fn checked(&self) -> Result<(f64, f64, f64)> {
        let (a, b, c, own) = match *self {
            PackedPlateHeight::Knox {
                eddy,
                longitudinal,
                transfer,
            }
            | PackedPlateHeight::VanDeemter {
                eddy,
                longitudinal,
                transfer,
            } => (eddy, longitudinal, transfer, 0.0),
            PackedPlateHeight::Power {
                eddy,
                exponent,
                longitudinal,
                transfer,
            } => {
                not_negative(Quantity::Ratio, 1.0 - exponent)?;
                (eddy, longitudinal, transfer, exponent)
            }
            PackedPlateHeight::Coupled {
                eddy,
                coupling,
                longitudinal,
                transfer,
            } => (eddy, longitudinal, transfer, coupling),
        };
        for coefficient in [a, b, c, own] {
            not_negative(Quantity::Ratio, coefficient)?;
        }
        Ok((a, b, c))
    }
}

/// Root of dh/dnu = 0, that is `n A nu^(n+1) + C nu^2 = B`, whose left side rises from zero.
fn power_optimum(a: f64, b: f64, c: f64, n: f64) -> Result<f64> {
    // Each term alone bounds the root from above.
    let by_transfer = (b / c).sqrt();
    let by_eddy = (b / (n * a)).powf(1.0 / (n + 1.0));
    let high = positive(Quantity::Ratio, by_transfer.min(by_eddy))?;
    finite(Quantity::Ratio, high)?;
    rising_root(high, |nu| {
        let power = n * a * nu.powf(n);
        (
            power * nu + c * nu * nu - b,
            (n + 1.0) * power + 2.0 * c * nu,
        )
    })
}

/// Root of dh/dnu = 0, that is `A E nu^2/(nu + E)^2 + C nu^2 = B`, whose left side rises from zero.
fn coupled_optimum(a: f64, b: f64, c: f64, e: f64) -> Result<f64> {
    let high = (b / positive(Quantity::Ratio, c)?).sqrt();
    rising_root(high, |nu| {
        let open = nu + e;
        let eddy = if e == 0.0 {
            0.0
        } else {
            a * e * nu / (open * open)
        };
        (
            eddy * nu + c * nu * nu - b,
            2.0 * eddy * e / open.max(f64::MIN_POSITIVE) + 2.0 * c * nu,
        )
    })
}

fn rising_root(high: f64, slope: impl Fn(f64) -> (f64, f64)) -> Result<f64> {
    newton_bisect(
        "velocity of the smallest plate height",
        0.0,
        high * (1.0 + 1e-9),
        high,
        Tolerance::default(),
        |nu| Ok(slope(nu)),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::{close, units};
    use proptest::prelude::*;

    #[test]
    fn golay_agrees_with_independent_arithmetic() {
        // u in m/s, d, k, D, d_f, D_S, then H in m.
        for (u, d, k, d_m, d_f, d_s, h) in [
            (0.01, 5e-5, 0.0, 1e-8, 0.0, 1.0, 2.804_166_7e-5),
            (0.02, 1e-4, 5.0, 2e-8, 5e-7, 5e-12, 9.800_092_6e-4),
            (0.03, 2.5e-4, 1.0, 1e-5, 0.0, 1.0, 6.754_557_3e-4),
        ] {
            let column = GolayColumn {
                diameter: d,
                film_thickness: d_f,
                film_diffusion_coefficient: d_s,
            };
            assert!(close(column.plate_height(d_m, u, k).unwrap(), h, 2e-8));
        }
    }

    #[test]
    fn the_optimum_of_a_capillary_in_carbon_dioxide_agrees_with_independent_arithmetic() {
        // 50 um, film 0.25 um, D_S = 1e-10 m2/s. D in m2/s is that of naphthalene after Wilke and Chang with the
        // viscosity of CoolProp 8.0.0, to four digits; k; then u_opt in cm/s, H_min and H at 2 cm/s in mm.
        let column = GolayColumn {
            diameter: 5e-5,
            film_thickness: 2.5e-7,
            film_diffusion_coefficient: 1e-10,
        };
        for (d, k, u_opt, h_min, h) in [
            (2.493e-8, 1.0, 0.322092, 0.030956, Some(0.0986018)),
            (2.493e-8, 3.0, 0.253089, 0.0394, Some(0.158153)),
            (4.175e-8, 1.0, 0.535519, 0.0311815, None),
            (1.367e-8, 3.0, 0.139115, 0.0393065, Some(0.283914)),
            (1.781e-8, 3.0, 0.181046, 0.0393394, Some(0.21907)),
        ] {
            let optimum = column.optimum(d, k).unwrap();
            assert!(close(optimum.velocity * 100.0, u_opt, 3e-4));
            assert!(close(optimum.plate_height * 1e3, h_min, 3e-4));
            let at_two = column.plate_height(d, 0.02, k).unwrap() * 1e3;
            assert!(
                h.is_none_or(|h| close(at_two, h, 3e-4)),
                "{at_two} against {h:?}"
            );
        }
        // Without retention and film, and with much: H_min/d = sqrt(1/12) and sqrt(11/12).
        let bare = GolayColumn {
            film_thickness: 0.0,
            ..column
        };
        let least = |k: f64| bare.optimum(1e-8, k).unwrap().plate_height / 5e-5;
        assert!(close(least(0.0), (1f64 / 12.0).sqrt(), 1e-14));
        assert!(close(least(1e9), (11f64 / 12.0).sqrt(), 1e-8));
    }

    #[test]
    fn the_optimum_of_knox_agrees_with_independent_arithmetic() {
        // A, B, C, then nu_opt and h_min.
        for (a, b, c, nu, h) in [
            (1.0, 2.0, 0.05, 3.11334, Some(2.258_252_2)),
            (0.5, 2.0, 0.02, 5.12842, Some(1.354_798_1)),
            (1.0, 2.0, 0.1, 2.71531, Some(2.403_198_8)),
            (2.0, 1.5, 0.05, 1.70234, None),
        ] {
            let law = PackedPlateHeight::Knox {
                eddy: a,
                longitudinal: b,
                transfer: c,
            };
            let (d_m, d_p) = (1e-8, 5e-6);
            let optimum = law.optimum(d_m, d_p).unwrap();
            assert!(close(optimum.velocity * d_p / d_m, nu, 3e-6));
            assert!(h.is_none_or(|h| close(optimum.plate_height / d_p, h, 1e-7)));
        }
    }

    #[test]
    fn the_optimum_of_van_deemter_is_the_closed_form() {
        let law = PackedPlateHeight::VanDeemter {
            eddy: 5e-6,
            longitudinal: 3e-8,
            transfer: 2e-4,
        };
        let optimum = law.optimum(1e-8, 5e-6).unwrap();
        assert!(close(optimum.plate_height, 9.898_979_5e-6, 1e-8));
        assert!(close(optimum.velocity, 1.5e-4f64.sqrt(), 1e-12));
    }

    #[test]
    fn coefficients_without_a_minimum_are_refused() {
        let knox = |eddy, longitudinal, transfer| PackedPlateHeight::Knox {
            eddy,
            longitudinal,
            transfer,
        };
        assert!(knox(1.0, 2.0, 0.0).optimum(1e-8, 5e-6).is_ok());
        assert!(knox(0.0, 2.0, 0.05).optimum(1e-8, 5e-6).is_ok());
        assert!(knox(0.0, 2.0, 0.0).optimum(1e-8, 5e-6).is_err());
        assert!(knox(1.0, 0.0, 0.05).optimum(1e-8, 5e-6).is_err());
        assert!(
            knox(-1.0, 2.0, 0.05)
                .plate_height(1e-8, 5e-6, 1e-3)
                .is_err()
        );
    }

    proptest! {
        #[test]
        fn dimensions_are_right(units in units(), u in 1e-4..1e-1f64, k in 0.0..20.0f64, d_m in 1e-9..1e-7f64) {
            let column = GolayColumn { diameter: 5e-5, film_thickness: 2.5e-7, film_diffusion_coefficient: 1e-10 };
            let scaled = GolayColumn {
                diameter: 5e-5 * units.length,
                film_thickness: 2.5e-7 * units.length,
                film_diffusion_coefficient: 1e-10 * units.diffusion(),
            };
            let (d_new, u_new) = (d_m * units.diffusion(), u * units.velocity());
            let h = column.plate_height(d_m, u, k).unwrap() * units.length;
            prop_assert!(close(h, scaled.plate_height(d_new, u_new, k).unwrap(), 1e-12));
            let best = column.optimum(d_m, k).unwrap().velocity * units.velocity();
            prop_assert!(close(best, scaled.optimum(d_new, k).unwrap().velocity, 1e-12));
            let knox = PackedPlateHeight::Knox { eddy: 1.0, longitudinal: 2.0, transfer: 0.06 };
            let h = knox.plate_height(d_m, 5e-6, u).unwrap() * units.length;
            prop_assert!(close(h, knox.plate_height(d_new, 5e-6 * units.length, u_new).unwrap(), 1e-12));
        }

        #[test]
        fn no_velocity_beats_the_optimum(factor in 0.1..10.0f64, a in 0.0..3.0f64, c in 0.001..0.5f64) {
            let law = PackedPlateHeight::Knox { eddy: a, longitudinal: 2.0, transfer: c };
            let best = law.optimum(1e-8, 5e-6).unwrap();
            let other = law.plate_height(1e-8, 5e-6, best.velocity * factor).unwrap();
            prop_assert!(other >= best.plate_height * (1.0 - 1e-12));
        }
    }

    #[test]
    fn the_laws_of_the_user_contain_the_published_ones() {
        let (a, b, c) = (1.0, 2.0, 0.05);
        let knox = PackedPlateHeight::Knox {
            eddy: a,
            longitudinal: b,
            transfer: c,
        };
        let power = PackedPlateHeight::Power {
            eddy: a,
            exponent: 1.0 / 3.0,
            longitudinal: b,
            transfer: c,
        };
        let flat = PackedPlateHeight::Power {
            eddy: a,
            exponent: 0.0,
            longitudinal: b,
            transfer: c,
        };
        let loose = PackedPlateHeight::Coupled {
            eddy: a,
            coupling: 0.0,
            longitudinal: b,
            transfer: c,
        };
        for u in [1e-4, 1e-3, 2e-2] {
            let at = |law: &PackedPlateHeight| law.plate_height(1e-8, 5e-6, u).unwrap();
            assert!(close(at(&knox), at(&power), 1e-13));
            assert!(close(at(&flat), at(&loose), 1e-13));
        }
        assert!(close(
            power.optimum(1e-8, 5e-6).unwrap().velocity,
            knox.optimum(1e-8, 5e-6).unwrap().velocity,
            1e-12
        ));
        assert!(close(
            flat.optimum(1.0, 1.0).unwrap().velocity,
            (b / c).sqrt(),
            1e-12
        ));
        let coupled = PackedPlateHeight::Coupled {
            eddy: 2.0,
            coupling: 3.0,
            longitudinal: b,
            transfer: c,
        };
        let best = coupled.optimum(1.0, 1.0).unwrap();
        for aside in [0.99, 1.01] {
            assert!(
                coupled
                    .plate_height(1.0, 1.0, aside * best.velocity)
                    .unwrap()
                    > best.plate_height
            );
        }
        let steep = PackedPlateHeight::Power {
            eddy: a,
            exponent: 1.5,
            longitudinal: b,
            transfer: c,
        };
        assert!(steep.plate_height(1.0, 1.0, 1.0).is_err());
    }
}
