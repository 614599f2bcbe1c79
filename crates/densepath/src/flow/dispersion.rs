//! Dispersion of a solute in open tubes: laminar after Taylor and Aris, undeveloped, turbulent, and the bracket between.

use super::friction::{FrictionFactor, Regime};
use crate::fluid::error::{Result, positive};
use crate::fluid::quantity::Quantity;

/// Smallest ratio of residence time to radial diffusion time `a^2/D` at which the law of Taylor and Aris counts as
/// developed; it then overstates the variance by 13 % at most, see [`laminar_second_moment`].
pub const DEVELOPED_RATIO: f64 = 0.5;

/// Reynolds number below which turbulent dispersion is known to exceed the law of Taylor (J. Hart, I. Guymer, A. Jones and
/// V. Stovin, Longitudinal Dispersion Coefficients within Turbulent and Transitional Pipe Flow, 2013, abstract).
pub const REYNOLDS_TAYLOR_LIMIT: f64 = 20_000.0;

/// Band broadening of a solute in a length of open tube.
///
/// ```
/// use densepath::flow::{dispersion::{TubeDispersion, taylor_aris_coefficient}, friction::Wall};
/// let friction = Wall::SMOOTH.friction_factor(500.0, 0.12e-3)?;
/// let band = TubeDispersion::new(1e-7, 0.12e-3, 5.0, 0.5, &friction)?;
/// // Developed laminar flow: sigma_t^2 = 2 K L / u^3.
/// let expected = 2.0 * taylor_aris_coefficient(1e-7, 0.12e-3, 0.5)? * 5.0 / 0.5f64.powi(3);
/// assert!(band.is_developed && (band.time_variance / expected - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TubeDispersion {
    /// Regime of the flow.
    pub regime: Regime,
    /// Residence time over `a^2/D`, with the radius a and the diffusion coefficient D of the solute.
    pub development_ratio: f64,
    /// Time variance `sigma_t^2` in s2: laminar, the smaller of the law of Taylor and Aris and the convective bound;
    /// otherwise the law of Taylor for turbulent flow.
    pub time_variance: f64,
    /// Smallest time variance in s2 that the regime allows.
    pub lowest: f64,
    /// Largest time variance in s2 that the regime allows.
    pub highest: f64,
    /// Whether the law behind `time_variance` holds: laminar and developed, or turbulent above Re = 20000.
    pub is_developed: bool,
}

impl TubeDispersion {
    /// Dispersion over a length L in m of a tube of diameter d in m at the velocity u in m/s and friction factor f, of a
    /// solute with the diffusion coefficient D in m2/s.
    ///
    /// *Valid*: straight tube, band narrow against its residence time. Coiling lowers, fittings raise the variance of real
    /// lines. *Uncertainty*: laminar and developed that of D; elsewhere the bracket from `lowest` to `highest`, which in
    /// the transitional regime reaches from turbulent to laminar dispersion, two orders of magnitude.
    ///
    /// Errors: 101 for an argument not above zero.
    ///
    /// ```
    /// use densepath::flow::{dispersion::TubeDispersion, friction::Wall};
    /// let friction = Wall::SMOOTH.friction_factor(500.0, 0.12e-3)?;
    /// let band = TubeDispersion::new(1e-8, 0.12e-3, 0.3, 0.5, &friction)?;
    /// // The estimate lies in its bracket.
    /// assert!(band.lowest <= band.time_variance && band.time_variance <= band.highest);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn new(
        diffusion_coefficient: f64,
        diameter: f64,
        length: f64,
        velocity: f64,
        friction: &FrictionFactor,
    ) -> Result<Self> {
        let (d_m, d, u) = (diffusion_coefficient, diameter, velocity);
        let time = residence(length, u)?;
        let ratio = development_ratio(d_m, d, time)?;
        let laminar = (2.0 * taylor_aris_coefficient(d_m, d, u)? * time / (u * u))
            .min(convective_bound(length, u)?);
        let turbulent = |f: f64| -> Result<f64> {
            Ok(2.0 * taylor_turbulent_coefficient(d, u, f)? * time / (u * u))
        };
        let (time_variance, lowest, highest) = match friction.regime {
            Regime::Laminar => {
                let moment = laminar_second_moment(d_m, d, length, u)?;
                let at_the_end = laminar_time_variance(d_m, d, length, u)?;
                (laminar, moment.min(laminar), laminar.max(at_the_end))
            }
            Regime::Transitional => {
                let value = turbulent(friction.value)?;
                (value, value.min(laminar), value.max(laminar))
            }
            Regime::Turbulent => {
                let value = turbulent(friction.value)?;
                let measured = 2.0 * d / u * time * water_tracer_fit(friction.reynolds_number);
                (value, value, value.max(measured))
            }
        };
        Ok(Self {
            regime: friction.regime,
            development_ratio: ratio,
            time_variance,
            lowest,
            highest,
            is_developed: match friction.regime {
                Regime::Laminar => ratio >= DEVELOPED_RATIO,
                Regime::Transitional => false,
                Regime::Turbulent => friction.reynolds_number >= REYNOLDS_TAYLOR_LIMIT,
            },
        })
    }
}

impl TubeDispersion {
    /// The same in a coil whose secondary flow brings laminar dispersion down to a ratio of that of the straight tube, see
    /// [`super::coil::dispersion_ratio`]; turbulent flow is left alone. The straight tube stays the upper end of the bracket.
    ///
    /// ```
    /// use densepath::flow::{dispersion::TubeDispersion, friction::Wall};
    /// let friction = Wall::SMOOTH.friction_factor(500.0, 0.12e-3)?;
    /// let straight = TubeDispersion::new(1e-7, 0.12e-3, 5.0, 0.5, &friction)?;
    /// let coiled = straight.clone().in_coil(0.6);
    /// // The secondary flow narrows the band, the straight tube stays the bound.
    /// assert!(coiled.time_variance < straight.time_variance && coiled.highest == straight.highest);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    #[must_use]
    pub fn in_coil(self, ratio: f64) -> Self {
        if self.regime != Regime::Laminar {
            return self;
        }
        Self {
            time_variance: ratio * self.time_variance,
            lowest: ratio * self.lowest,
            ..self
        }
    }

    /// The same with a variance in s2 that was measured: it replaces every estimate, and the bracket closes on it.
    ///
    /// ```
    /// use densepath::flow::{dispersion::TubeDispersion, friction::Wall};
    /// let friction = Wall::SMOOTH.friction_factor(500.0, 0.12e-3)?;
    /// let band = TubeDispersion::new(1e-7, 0.12e-3, 5.0, 0.5, &friction)?.measured(0.02);
    /// assert_eq!((band.lowest, band.time_variance, band.highest), (0.02, 0.02, 0.02));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    #[must_use]
    pub fn measured(self, time_variance: f64) -> Self {
        Self {
            time_variance,
            lowest: time_variance,
            highest: time_variance,
            is_developed: true,
            ..self
        }
    }
}

/// Ratio of a residence time t in s to the radial diffusion time: `t D/a^2` in a tube of diameter d = 2a in m with a
/// diffusion coefficient D in m2/s.
///
/// Errors: 101 for an argument not above zero.
///
/// ```
/// use densepath::flow::dispersion::development_ratio;
/// // t D / a^2: a second of 1e-8 m2/s in a bore of 0.2 mm.
/// assert!((development_ratio(1e-8, 0.2e-3, 1.0)? - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn development_ratio(diffusion_coefficient: f64, diameter: f64, time: f64) -> Result<f64> {
    positive(Quantity::DiffusionCoefficient, diffusion_coefficient)?;
    positive(Quantity::Diameter, diameter)?;
    positive(Quantity::Time, time)?;
    Ok(4.0 * time * diffusion_coefficient / (diameter * diameter))
}

/// Dispersion coefficient K = `D + u^2 d^2/(192 D)` in m2/s of laminar flow in a tube of diameter d in m at the mean
/// velocity u in m/s.
///
/// *Valid*: residence times above about half of `a^2/D`. *Source*: G. I. Taylor, Proc. R. Soc. Lond. A 219, 186 (1953),
/// doi 10.1098/rspa.1953.0139; R. Aris, Proc. R. Soc. Lond. A 235, 67 (1956), doi 10.1098/rspa.1956.0065.
///
/// Errors: 101 for an argument not above zero.
///
/// ```
/// use densepath::flow::dispersion::taylor_aris_coefficient;
/// // D + u^2 d^2 / (192 D).
/// let expected = 1e-8 + 0.01f64.powi(2) * 1e-8 / (192.0 * 1e-8);
/// assert!((taylor_aris_coefficient(1e-8, 1e-4, 0.01)? / expected - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn taylor_aris_coefficient(
    diffusion_coefficient: f64,
    diameter: f64,
    velocity: f64,
) -> Result<f64> {
    positive(Quantity::DiffusionCoefficient, diffusion_coefficient)?;
    positive(Quantity::Diameter, diameter)?;
    positive(Quantity::Velocity, velocity)?;
    let shear = velocity * diameter;
    Ok(diffusion_coefficient + shear * shear / (192.0 * diffusion_coefficient))
}

/// Dispersion coefficient K = `10.1 a u*` in m2/s of turbulent flow, with the radius a = d/2 in m and the friction velocity
/// `u* = u sqrt(f/8)` of a Darcy friction factor f.
///
/// *Valid*: Reynolds numbers above 20000; the true coefficient is larger below. *Source*: G. I. Taylor, Proc. R. Soc. Lond.
/// A 223, 446 (1954), doi 10.1098/rspa.1954.0130.
///
/// Errors: 101 for an argument not above zero.
///
/// ```
/// use densepath::flow::dispersion::taylor_turbulent_coefficient;
/// // 10.1 a u sqrt(f / 8).
/// let expected = 10.1 * 0.5e-3 * 2.0 * (0.03f64 / 8.0).sqrt();
/// assert!((taylor_turbulent_coefficient(1e-3, 2.0, 0.03)? / expected - 1.0).abs() < 1e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn taylor_turbulent_coefficient(
    diameter: f64,
    velocity: f64,
    friction_factor: f64,
) -> Result<f64> {
    positive(Quantity::Diameter, diameter)?;
    positive(Quantity::Velocity, velocity)?;
    positive(Quantity::FrictionFactor, friction_factor)?;
    Ok(10.1 * 0.5 * diameter * velocity * (friction_factor / 8.0).sqrt())
}

/// Time variance `L^2/(3 u^2)` in s2 of laminar flow without any diffusion, at the time when the mean has gone through the
/// length L in m: the slices of the parabola then lie evenly between 0 and 2 L.
///
/// An upper bound for every diffusion coefficient; the band is far from Gaussian there. *Source*: derived from the
/// parabolic profile.
///
/// Errors: 101 for an argument not above zero.
///
/// ```
/// use densepath::flow::dispersion::convective_bound;
/// // L^2 / (3 u^2).
/// assert!((convective_bound(0.3, 0.5)? - 0.12).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn convective_bound(length: f64, velocity: f64) -> Result<f64> {
    residence(length, velocity).map(|time| time * time / 3.0)
}

/// Zeros of the Bessel function `J_1` (M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 1964, table 9.5).
const ZEROS_OF_J1: [f64; 20] = [
    3.831_705_970_207_512,
    7.015_586_669_815_619,
    10.173_468_135_062_722,
    13.323_691_936_314_223,
    16.470_630_050_877_633,
    19.615_858_510_468_242,
    22.760_084_380_592_77,
    25.903_672_087_618_382,
    29.046_828_534_916_855,
    32.189_679_910_974_4,
    35.332_307_550_083_87,
    38.474_766_234_771_614,
    41.617_094_212_814_45,
    44.759_318_997_652_82,
    47.901_460_887_185_45,
    51.043_535_183_571_51,
    54.185_553_641_061_32,
    57.327_525_437_901_01,
    60.469_457_845_347_49,
    63.611_356_698_481_23,
];

/// Exact time variance in s2 of a thin plug, evenly spread over the cross-section, in laminar flow: the second moment at
/// any residence time.
///
/// `sigma^2 = 2 D t + 128 u^2 sum over n of [t a^2/(D m_n^6) - a^4/(D^2 m_n^8) (1 - exp(-m_n^2 D t/a^2))]` with the zeros
/// `m_n` of the Bessel function `J_1`, divided by `u^2`. It tends to the convective bound for short and to the law of Taylor
/// and Aris, less a constant, for long residence.
///
/// *Source*: moments of R. Aris, Proc. R. Soc. Lond. A 235, 67 (1956), doi 10.1098/rspa.1956.0065; series derived here
/// from the velocity's expansion in Bessel functions.
///
/// Errors: 101 for an argument not above zero.
///
/// ```
/// use densepath::flow::dispersion::{laminar_second_moment, taylor_aris_coefficient};
/// // A long residence leaves the law of Taylor and Aris.
/// let exact = laminar_second_moment(1e-7, 0.12e-3, 50.0, 0.5)?;
/// let limit = 2.0 * taylor_aris_coefficient(1e-7, 0.12e-3, 0.5)? * 50.0 / 0.5f64.powi(3);
/// assert!((exact / limit - 1.0).abs() < 0.01);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn laminar_second_moment(
    diffusion_coefficient: f64,
    diameter: f64,
    length: f64,
    velocity: f64,
) -> Result<f64> {
    let time = residence(length, velocity)?;
    let tau = development_ratio(diffusion_coefficient, diameter, time)?;
    // Twenty terms leave out 1e-4 of the convective and 2e-7 of the developed variance.
    let convective: f64 = ZEROS_OF_J1.iter().map(|m| shear_term(m * m, tau)).sum();
    let axial = 2.0 * diffusion_coefficient / (velocity * velocity);
    Ok(axial * time + convective * time * time)
}

/// One term of the series over `t^2`: `128/m^4 [1/x - (1 - exp(-x))/x^2]` with `x = m^2 tau`, whose limit is `64/m^4`.
fn shear_term(square: f64, tau: f64) -> f64 {
    let x = square * tau;
    let bracket = if x < 1e-3 {
        0.5 - x / 6.0 + x * x / 24.0
    } else {
        1.0 / x + (-x).exp_m1() / (x * x)
    };
    128.0 / (square * square) * bracket
}

/// Eigenvalues `l_n` of `(x f')' = -l (1 - x) f` on [0, 1] without flux at the wall, with `x = (r/a)^2`, and the weights `c_n` with
/// which the approach to the developed profile of arrival times decays: computed here by the method of Galerkin with 70
/// polynomials of Legendre.
const ARRIVALS: [(f64, f64); 24] = [
    (6.4199030149992, 0.0624312886127227),
    (20.9654389122215, 0.0116618598164832),
    (43.5416854613602, 0.00406122183575326),
    (74.1340752769675, 0.0018717215454135),
    (112.736798674023, 0.00101367190551341),
    (159.346834406561, 0.000609932730177172),
    (213.962374746973, 0.000395288604484341),
    (276.582240274112, 0.00027072602802403),
    (347.205611999859, 0.000193504046515066),
    (425.831894664055, 0.000143094106842103),
    (512.460640889061, 0.000108792741643048),
    (607.091504162727, 8.46430323120365e-05),
    (709.72420992473, 6.71487540143618e-05),
    (820.358537761976, 5.41651865059481e-05),
    (938.994305524392, 4.43266341485578e-05),
    (1065.63136177297, 3.67352062804461e-05),
    (1200.26958054375, 3.07839834370508e-05),
    (1342.90885263577, 2.60526647543288e-05),
    (1493.54908599541, 2.22438887632759e-05),
    (1652.19020001905, 1.91432308149118e-05),
    (1818.83212439018, 1.6593417135437e-05),
    (1993.47479767296, 1.44773101210052e-05),
    (2176.11816557643, 1.27064450669868e-05),
    (2366.76217965091, 1.1213162431657e-05),
];

/// Time variance in s2 with which a sharp plug leaves a tube in laminar flow, weighed by the flow, at any residence time: what a
/// collector at the end sees.
///
/// `(a^2/4D)^2 [z/3 - 4 sum over n of c_n (1 - exp(-l_n z))/l_n] + 2 D L/u^3` with `z = 2 D L/(a^2 u)`. It tends to the law of Taylor
/// and Aris less `a^4/(384 D^2)` for long residence. For short residence it exceeds the spread along the tube,
/// [`convective_bound`], since the slow fluid at the wall arrives very late.
///
/// *Valid*: `u a/D` above about 20. *Uncertainty*: 1 % down to a hundredth of the radial diffusion time, less beyond half of
/// it. *Source*: temporal moments of the convection-diffusion equation, solved here.
///
/// Errors: 101 for an argument not above zero.
///
/// ```
/// use densepath::flow::dispersion::{laminar_time_variance, taylor_aris_coefficient};
/// let exact = laminar_time_variance(1e-7, 0.12e-3, 50.0, 0.5)?;
/// let limit = 2.0 * taylor_aris_coefficient(1e-7, 0.12e-3, 0.5)? * 50.0 / 0.5f64.powi(3);
/// assert!(exact < limit && (exact / limit - 1.0).abs() < 0.01);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn laminar_time_variance(
    diffusion_coefficient: f64,
    diameter: f64,
    length: f64,
    velocity: f64,
) -> Result<f64> {
    let time = residence(length, velocity)?;
    let z = 2.0 * development_ratio(diffusion_coefficient, diameter, time)?;
    let unit = diameter * diameter / (16.0 * diffusion_coefficient);
    let late: f64 = ARRIVALS
        .iter()
        .map(|(l, c)| -c * (-l * z).exp_m1() / l)
        .sum();
    let axial = 2.0 * diffusion_coefficient / (velocity * velocity) * time;
    Ok(unit * unit * (z / 3.0 - 4.0 * late) + axial)
}

/// Density in 1/s of the times at which fluid that enters a tube at once leaves it in laminar flow without any diffusion:
/// `t_m^2/(2 t^3)` from half the mean residence time `t_m` on, zero before. Its variance is infinite.
///
/// *Source*: derived from the parabolic profile.
///
/// Errors: 101 for times not above zero.
///
/// ```
/// use densepath::flow::dispersion::convective_profile;
/// // The core of the stream is twice as fast as the mean: nothing leaves before half of the mean time.
/// assert_eq!(convective_profile(0.4, 1.0)?, 0.0);
/// assert!((convective_profile(1.0, 1.0)? - 0.5).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn convective_profile(time: f64, mean_residence_time: f64) -> Result<f64> {
    let t = positive(Quantity::Time, time)?;
    let mean = positive(Quantity::Time, mean_residence_time)?;
    Ok(if t < 0.5 * mean {
        0.0
    } else {
        mean * mean / (2.0 * t.powi(3))
    })
}

/// Measured K/(u d) of tracers in water between Re = 2000 and 50000, after J. Hart et al., 2013 (the coefficients from
/// memory; not verified, and of a Schmidt number near 1000). It serves as the upper end of a bracket only.
fn water_tracer_fit(reynolds_number: f64) -> f64 {
    1.17e9 * reynolds_number.powf(-2.5) + 0.41
}

fn residence(length: f64, velocity: f64) -> Result<f64> {
    positive(Quantity::Length, length)?;
    positive(Quantity::Velocity, velocity)?;
    Ok(length / velocity)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::friction::{Transition, TurbulentLaw, Wall};
    use crate::flow::testing::{close, units};
    use proptest::prelude::*;
    use std::f64::consts::PI;

    const DIFFUSION: f64 = 1.2e-8;
    const LENGTH: f64 = 0.5;
    const STEEL: Wall = Wall {
        roughness: 1e-6,
        law: TurbulentLaw::Colebrook,
        transition: Transition::Early,
    };

    fn laminar() -> FrictionFactor {
        Wall::SMOOTH.friction_factor(1000.0, 1e-4).unwrap()
    }

    #[test]
    fn the_volume_variance_of_taylor_is_the_closed_form() {
        // pi a^4 L Q/(24 D) in uL2 for the velocity and bore, independent arithmetic.
        for (d, u, microlitres) in [
            (0.12e-3, 1.84602, 1.47578),
            (0.17e-3, 0.919816, 5.94418),
            (0.17e-3, 2.75945, 17.8325),
            (0.25e-3, 1.27597, 83.4022),
        ] {
            let area = 0.25 * PI * d * d;
            let q = u * area;
            let k = taylor_aris_coefficient(DIFFUSION, d, u).unwrap();
            let variance = 2.0 * k * LENGTH / u.powi(3) * q * q;
            assert!(
                close(variance * 1e18, microlitres, 1e-5),
                "{}",
                variance * 1e18
            );
            let dispersion = TubeDispersion::new(DIFFUSION, d, LENGTH, u, &laminar()).unwrap();
            assert!(close(dispersion.time_variance * q * q, variance, 1e-12));
        }
        let k = |d: f64, q: f64, length: f64, d_m: f64| {
            let u = q / (0.25 * PI * d * d);
            2.0 * (taylor_aris_coefficient(d_m, d, u).unwrap() - d_m) * length / u.powi(3) * q * q
        };
        assert!(close(
            k(0.12e-3, 3.333_33e-8, 0.6, 8e-9),
            4.241_150_1e-18,
            2e-6
        ));
        assert!(close(
            k(5e-5, 1.666_67e-10, 0.3, 1e-8),
            2.556_634_6e-22,
            1e-5
        ));
    }

    #[test]
    fn residence_over_radial_diffusion() {
        for (d, u, ratio) in [
            (0.17e-3, 0.919816, 0.902844),
            (0.12e-3, 3.0 * 1.84602, 0.300948),
            (0.25e-3, 2.12661, 0.180569),
        ] {
            let dispersion = TubeDispersion::new(DIFFUSION, d, LENGTH, u, &laminar()).unwrap();
            assert!(close(dispersion.development_ratio, ratio, 1e-5));
            assert_eq!(dispersion.is_developed, ratio > 0.5);
        }
    }

    #[test]
    fn turbulent_dispersion_in_dense_carbon_dioxide_agrees_with_independent_arithmetic() {
        // Variance in uL2 of 2*10.1*a*u*/u^3*L*Q^2 with Re and u from CoolProp 8.0.0 and f from fluids 1.3.1.
        for (d, u, re, microlitres) in [
            (0.17e-3, 2.75945, 5346.23, 0.0323918),
            (0.12e-3, 9.2301, 12623.0, 0.00550489),
            (0.17e-3, 4.59908, 8910.4, 0.03101),
            (0.25e-3, 2.12661, 6059.06, 0.215003),
        ] {
            let f = STEEL.friction_factor(re, d).unwrap();
            let dispersion = TubeDispersion::new(DIFFUSION, d, LENGTH, u, &f).unwrap();
            let q = u * 0.25 * PI * d * d;
            assert!(close(
                dispersion.time_variance * q * q * 1e18,
                microlitres,
                1e-4
            ));
            assert!(dispersion.highest > dispersion.time_variance);
            assert!(!dispersion.is_developed);
        }
    }

    #[test]
    fn a_transitional_flow_is_bracketed_by_both_laws() {
        let f = STEEL.friction_factor(3635.0, 0.25e-3).unwrap();
        let dispersion = TubeDispersion::new(DIFFUSION, 0.25e-3, LENGTH, 1.27597, &f).unwrap();
        let q = 1.27597 * 0.25 * PI * 0.25e-3f64.powi(2);
        assert!(close(dispersion.highest * q * q * 1e18, 83.4022, 1e-5));
        assert_eq!(dispersion.lowest, dispersion.time_variance);
        assert!(dispersion.highest > 100.0 * dispersion.lowest);
    }

    #[test]
    fn the_exact_moment_has_both_limits() {
        let (d, u): (f64, f64) = (0.2e-3, 0.5);
        let radial = d * d / 4.0 / DIFFUSION;
        let at = |tau: f64| laminar_second_moment(DIFFUSION, d, tau * radial * u, u).unwrap();
        // Short: no diffusion yet.
        let short = convective_bound(1e-5 * radial * u, u).unwrap();
        let axial = 2.0 * DIFFUSION * 1e-5 * radial / (u * u);
        assert!(close(at(1e-5) - axial, short, 1e-3));
        // Long: the law of Taylor and Aris less a^4/(360 D^2), by the eighth-power sum of the zeros, 1/46080.
        let long = 50.0;
        let k = taylor_aris_coefficient(DIFFUSION, d, u).unwrap();
        let taylor = 2.0 * k * long * radial / (u * u);
        assert!(close(at(long), taylor - radial * radial / 360.0, 1e-6));
        // Half developed: the law of Taylor is 13 % too large.
        let half = 2.0 * k * 0.5 * radial / (u * u);
        assert!(close(half / at(0.5), 1.154, 2e-3), "{}", half / at(0.5));
    }

    #[test]
    fn the_variance_of_arrivals_tends_to_taylor_less_a_constant() {
        let (d, u): (f64, f64) = (0.2e-3, 0.5);
        let radial = d * d / 4.0 / DIFFUSION;
        let at = |tau: f64| laminar_time_variance(DIFFUSION, d, tau * radial * u, u).unwrap();
        let k = taylor_aris_coefficient(DIFFUSION, d, u).unwrap();
        let taylor = |tau: f64| 2.0 * k * tau * radial / (u * u);
        assert!(close(
            at(20.0),
            taylor(20.0) - radial * radial / 384.0,
            1e-6
        ));
        // Moments of the same equation by 400 finite volumes along the radius and small steps along the tube.
        for tau in [0.05, 0.25, 1.0] {
            let axial = 2.0 * DIFFUSION * tau * radial / (u * u);
            let expected = by_finite_volumes(2.0 * tau) * (radial / 4.0).powi(2);
            assert!(
                close(at(tau) - axial, expected, 2e-3),
                "{tau}: {} {expected}",
                at(tau) - axial
            );
        }
        // The bracket holds both the spread along the tube and that of the arrivals.
        let short = TubeDispersion::new(DIFFUSION, d, 0.05 * radial * u, u, &laminar()).unwrap();
        assert!(short.highest >= at(0.05) && short.lowest <= short.time_variance);
    }

    /// Variance of the arrivals in units of `(a^2/4D)^2`: `(1 - x) dm/dz = (x m')' + n m_(n-1)`, implicit along z.
    fn by_finite_volumes(end: f64) -> f64 {
        const CELLS: usize = 400;
        let dx = 1.0 / CELLS as f64;
        let speed = |i: usize| 1.0 - (i as f64 + 0.5) * dx;
        let steps = 2000;
        let dz = end / f64::from(steps);
        let mut first = vec![0.0; CELLS];
        let mut second = vec![0.0; CELLS];
        // Half a step of the diffusion at either end (Crank and Nicolson), tridiagonal.
        let advance = |m: &[f64], source: &[f64]| -> Vec<f64> {
            let face = |i: usize| i as f64 * dx / (dx * dx);
            let flux = |i: usize| {
                let left = if i > 0 {
                    face(i) * (m[i - 1] - m[i])
                } else {
                    0.0
                };
                let right = if i + 1 < CELLS {
                    face(i + 1) * (m[i + 1] - m[i])
                } else {
                    0.0
                };
                left + right
            };
            let (mut c, mut out) = (vec![0.0; CELLS], vec![0.0; CELLS]);
            for i in 0..CELLS {
                let lower = if i > 0 { -0.5 * dz * face(i) } else { 0.0 };
                let upper = if i + 1 < CELLS {
                    -0.5 * dz * face(i + 1)
                } else {
                    0.0
                };
                let right = speed(i) * m[i] + dz * (0.5 * flux(i) + source[i]);
                let before = if i > 0 {
                    (c[i - 1], out[i - 1])
                } else {
                    (0.0, 0.0)
                };
                let pivot = speed(i) - lower - upper - lower * before.0;
                c[i] = upper / pivot;
                out[i] = (right - lower * before.1) / pivot;
            }
            for i in (0..CELLS - 1).rev() {
                out[i] -= c[i] * out[i + 1];
            }
            out
        };
        for _ in 0..steps {
            let next = advance(&first, &vec![1.0; CELLS]);
            let mean: Vec<f64> = first.iter().zip(&next).map(|(a, b)| a + b).collect();
            second = advance(&second, &mean);
            first = next;
        }
        let cup =
            |m: &[f64]| 2.0 * dx * m.iter().enumerate().map(|(i, m)| speed(i) * m).sum::<f64>();
        cup(&second) - cup(&first).powi(2)
    }

    #[test]
    fn fluid_without_diffusion_leaves_after_half_the_mean_time() {
        assert_eq!(convective_profile(0.49, 1.0), Ok(0.0));
        let area = crate::fluid::num::quad::integrate::<(), _>(0.5, 50.0, 4000, |t| {
            Ok(convective_profile(t, 1.0).unwrap())
        });
        // What leaves after 50 mean times is 1/(4 50^2).
        assert!(close(area.unwrap(), 1.0 - 1e-4, 1e-6));
    }

    proptest! {
        #[test]
        fn the_exact_moment_stays_below_both_bounds(tau in -4.0..3.0f64, d in 1e-5..1e-3f64, u in 0.01..10.0f64) {
            let time = 10f64.powf(tau) * d * d / 4.0 / DIFFUSION;
            let exact = laminar_second_moment(DIFFUSION, d, time * u, u).unwrap();
            let axial = 2.0 * DIFFUSION * time / (u * u);
            let taylor = 2.0 * taylor_aris_coefficient(DIFFUSION, d, u).unwrap() * time / (u * u);
            prop_assert!(exact <= taylor * (1.0 + 1e-12));
            prop_assert!(exact - axial <= convective_bound(time * u, u).unwrap() * (1.0 + 1e-12));
            prop_assert!(exact > 0.0);
        }

        #[test]
        fn dimensions_are_right(units in units(), d in 1e-5..1e-3f64, u in 0.01..10.0f64, re in 100.0..30_000.0f64) {
            let f = Wall::SMOOTH.friction_factor(re, d).unwrap();
            let a = TubeDispersion::new(DIFFUSION, d, LENGTH, u, &f).unwrap();
            let b = TubeDispersion::new(
                DIFFUSION * units.diffusion(), d * units.length, LENGTH * units.length, u * units.velocity(), &f,
            ).unwrap();
            let square = units.time * units.time;
            prop_assert!(close(a.time_variance * square, b.time_variance, 1e-10));
            prop_assert!(close(a.lowest * square, b.lowest, 1e-10));
            prop_assert!(close(a.highest * square, b.highest, 1e-10));
            prop_assert!(close(a.development_ratio, b.development_ratio, 1e-10));
        }
    }
}
