//! The travel of a band through a column whose conditions change along it and in time.
//!
//! The centre of the band moves with dz/dt = v(z, t) = u/(1 + k). Its variance along the column grows as
//! `d(sigma_z^2)/dt = 2 (dv/dz) sigma_z^2 + H v`: the gradient of the velocity stretches it, and each plate adds to it. With
//! `sigma_t = sigma_z/v`, the width in time of a band that passes a place, and with z in place of t this becomes
//!
//! - `dt/dz = 1/v`,
//! - `d(sigma_t^2)/dz = H/v^2 - 2 sigma_t^2 (dv/dt)/v^2`,
//!
//! in which the gradient along the column has dropped out: in a steady flow, whatever the expansion, the variance is the integral
//! of `H/v^2`, and only a change in time at one place widens or narrows a band beyond that.
//!
//! *Valid*: bands narrow against the length over which the conditions change; linear chromatography. *Sources*: J. C. Giddings,
//! Dynamics of Chromatography, Dekker 1965 (from memory) for the band in a gradient; H. Poppe, J. Paanakker and M. Bronckhorst,
//! J. Chromatogr. 204, 77 (1981), doi 10.1016/S0021-9673(00)81641-6, for programmed elution (from memory); written here for
//! a velocity of any place and time.

use crate::fluid::error::{Result, finite, not_negative, positive};
use crate::fluid::num::ode::{Control, integrate};
use crate::fluid::quantity::Quantity;

/// Relative tolerance of each step.
const TOLERANCE: f64 = 1e-9;
/// Smallest number of steps, so that no kink of a program is stepped over unseen.
const STEPS: f64 = 32.0;
/// Step in time for the change of the velocity at one place, as a share of the time of the passage: over a shorter one the last digits of
/// densities that are solved for would show.
const INSTANT: f64 = 1e-4;

/// What the solute does at one place and time.
///
/// ```
/// use densepath::flow::travel::{Band, SoluteMotion, travel};
/// let motion = |_, _| Ok(SoluteMotion { velocity: 2e-3, retention_factor: 3.0, plate_height: 10e-6 });
/// let leaving = travel(0.25, Band { time: 0.0, time_variance: 0.0 }, motion)?;
/// // t_R = (1 + k) L / u.
/// assert!((leaving.time - 500.0).abs() < 1e-4);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoluteMotion {
    /// Velocity u of the mobile phase in m/s.
    pub velocity: f64,
    /// Retention factor k.
    pub retention_factor: f64,
    /// Local plate height H in m.
    pub plate_height: f64,
}

impl SoluteMotion {
    fn band_velocity(&self) -> Result<f64> {
        not_negative(Quantity::RetentionFactor, self.retention_factor)?;
        positive(
            Quantity::Velocity,
            self.velocity / (1.0 + self.retention_factor),
        )
    }
}

/// A band at one end of the column, in time.
///
/// ```
/// use densepath::flow::travel::{Band, SoluteMotion, travel};
/// let motion = |_, _| Ok(SoluteMotion { velocity: 2e-3, retention_factor: 3.0, plate_height: 10e-6 });
/// // In a steady flow the column adds its variance to what comes in.
/// let with = |time_variance| travel(0.25, Band { time: 0.0, time_variance }, motion);
/// assert!((with(4.0)?.time_variance - with(0.0)?.time_variance - 4.0).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Time t in s at which its centre passes.
    pub time: f64,
    /// Variance `sigma_t^2` in s2 with which it passes.
    pub time_variance: f64,
}

/// The band at the end of a length in m of column, of one that enters it; see the head of the module for the equations.
///
/// `motion` tells what the solute does at a distance in m from the inlet and a time in s.
///
/// *Uncertainty*: of the integration 1e-8.
///
/// Errors: 101 for a length not above zero, a negative variance, or a motion with a velocity not above zero or a negative
/// retention factor; those of the motion; 401 of the integration.
///
/// ```
/// use densepath::flow::travel::{Band, SoluteMotion, travel};
/// let motion = |_, _| Ok(SoluteMotion { velocity: 2e-3, retention_factor: 3.0, plate_height: 10e-6 });
/// let leaving = travel(0.25, Band { time: 0.0, time_variance: 0.0 }, motion)?;
/// // N = t_R^2 / sigma^2 = L / H.
/// assert!((leaving.time.powi(2) / leaving.time_variance / 25_000.0 - 1.0).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn travel<F>(length: f64, entering: Band, motion: F) -> Result<Band>
where
    F: Fn(f64, f64) -> Result<SoluteMotion>,
{
    positive(Quantity::Length, length)?;
    finite(Quantity::Time, entering.time)?;
    not_negative(Quantity::TimeVariance, entering.time_variance)?;
    let first = motion(0.0, entering.time)?;
    let slowness = 1.0 / first.band_velocity()?;
    let passage = length * slowness;
    let width =
        length * not_negative(Quantity::PlateHeight, first.plate_height)? * slowness * slowness;
    let scale = [
        passage,
        width.max(entering.time_variance).max(f64::MIN_POSITIVE),
    ];
    let mut control = Control::new(TOLERANCE, scale);
    control.largest = 1.0 / STEPS;
    control.first = control.largest;
    let instant = INSTANT * passage;
    let slopes = |z: f64, y: &[f64; 2]| {
        let [elapsed, variance] = *y;
        let now = entering.time + elapsed;
        let here = motion(z, now)?;
        let v = here.band_velocity()?;
        let (later, sooner) = (motion(z, now + instant)?, motion(z, now - instant)?);
        let change = (later.band_velocity()? - sooner.band_velocity()?) / (2.0 * instant);
        let growth = (not_negative(Quantity::PlateHeight, here.plate_height)?
            - 2.0 * variance * change)
            / (v * v);
        Ok([1.0 / v, growth])
    };
    let start = [0.0, entering.time_variance];
    let [elapsed, time_variance] = integrate(
        "travel of a band",
        0.0,
        length,
        start,
        control,
        slopes,
        |_| Ok(()),
    )?;
    Ok(Band {
        time: entering.time + elapsed,
        time_variance,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::close;
    use crate::fluid::num::quad;

    const START: Band = Band {
        time: 0.0,
        time_variance: 0.0,
    };

    #[allow(clippy::unnecessary_wraps, reason = "what a motion returns")]
    fn motion(velocity: f64, retention_factor: f64, plate_height: f64) -> Result<SoluteMotion> {
        Ok(SoluteMotion {
            velocity,
            retention_factor,
            plate_height,
        })
    }

    #[test]
    fn an_incompressible_column_gives_the_textbook_plates() {
        let end = travel(0.25, START, |_, _| motion(5e-3, 2.0, 1e-5)).unwrap();
        assert!(close(end.time, 150.0, 1e-12));
        assert!(close(
            end.time * end.time / end.time_variance,
            25_000.0,
            1e-9
        ));
        let unretained = travel(0.25, START, |_, _| motion(5e-3, 0.0, 1e-5)).unwrap();
        assert!(close(unretained.time, 50.0, 1e-12));
    }

    #[test]
    fn a_steady_expansion_adds_plates_over_the_square_of_the_velocity() {
        let u = |z: f64| 4e-3 * (1.0 + 3.0 * z + 5.0 * z * z);
        let k = |z: f64| (1.2 + 4.0 * z).exp();
        let h = |z: f64| 1e-5 * (1.0 + z);
        let end = travel(0.25, START, |z, _| motion(u(z), k(z), h(z))).unwrap();
        let integral =
            |f: &dyn Fn(f64) -> f64| quad::integrate::<(), _>(0.0, 0.25, 8, |z| Ok(f(z))).unwrap();
        let slowness = |z: f64| (1.0 + k(z)) / u(z);
        assert!(close(end.time, integral(&slowness), 1e-8));
        assert!(close(
            end.time_variance,
            integral(&|z| h(z) * slowness(z).powi(2)),
            1e-8
        ));
    }

    #[test]
    fn a_flow_that_grows_in_time_carries_a_width_that_does_not() {
        // v = v_0 exp(a t), the same everywhere: sigma_z^2 = sigma_0^2 + H L, and the exit velocity turns it into time.
        let (v_0, a, h, length) = (2e-3, 0.01, 1e-5, 0.25);
        let entering = Band {
            time: 3.0,
            time_variance: 4.0,
        };
        let v = |t: f64| v_0 * (a * t).exp();
        let end = travel(length, entering, |_, t| motion(v(t), 0.0, h)).unwrap();
        let time = ((a * 3.0f64).exp() + a * length / v_0).ln() / a;
        assert!(close(end.time, time, 1e-9));
        let along = 4.0 * v(3.0).powi(2) + h * length;
        assert!(close(end.time_variance, along / v(time).powi(2), 1e-7));
    }

    #[test]
    fn the_two_forms_of_the_variance_agree() {
        // The equations in t of the head of the module, by small steps of the midpoint rule.
        let v = |z: f64, t: f64| {
            2e-3 * (1.0 + 2.0 * z) * (1.0 + 0.004 * t)
                / (1.0 + 3.0 * (-0.02 * (t - 100.0 * z)).exp())
        };
        let h = 2e-5;
        let end = travel(0.2, START, |z, t| motion(v(z, t), 0.0, h)).unwrap();
        let (mut z, mut t, mut along, dt) = (0.0, 0.0, 0.0, 2e-3);
        let slopes = |z: f64, t: f64, along: f64| {
            let stretch = (v(z + 1e-6, t) - v(z - 1e-6, t)) / 2e-6;
            (v(z, t), 2.0 * stretch * along + h * v(z, t))
        };
        while z < 0.2 {
            let (dz, da) = slopes(z, t, along);
            let (dz, da) = slopes(z + 0.5 * dt * dz, t + 0.5 * dt, along + 0.5 * dt * da);
            let step = dt.min((0.2 - z) / dz);
            (z, t, along) = (z + step * dz, t + step, along + step * da);
            if 0.2 - z < 1e-12 {
                break;
            }
        }
        assert!(close(end.time, t, 1e-7), "{} {t}", end.time);
        assert!(close(end.time_variance, along / v(0.2, t).powi(2), 1e-5));
    }

    #[test]
    fn nonsense_is_refused() {
        assert!(travel(0.0, START, |_, _| motion(1.0, 0.0, 0.0)).is_err());
        assert!(travel(1.0, START, |_, _| motion(0.0, 0.0, 0.0)).is_err());
        assert!(travel(1.0, START, |_, _| motion(1.0, -0.5, 0.0)).is_err());
        assert!(travel(1.0, START, |_, _| motion(1.0, 0.0, -1.0)).is_err());
        let negative = Band {
            time: 0.0,
            time_variance: -1.0,
        };
        assert!(travel(1.0, negative, |_, _| motion(1.0, 0.0, 0.0)).is_err());
    }
}
