//! Balances of momentum and energy along a channel, as slopes of temperature and density.
//!
//! In temperature and density every slope is explicit in the derivatives of an equation of state, so that a march needs
//! no inner solve and no choice between roots. With the velocity v = G/rho of the fluid between the walls,
//!
//! - momentum: dp/dz + rho v dv/dz = -F, with the friction F per volume;
//! - energy: dh/dz + v dv/dz = q, with the heat q per mass and length.
//!
//! *Source*: A. H. Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow, vol. 1, Ronald Press, 1953, for
//! the balances (from memory); eliminated here for a general equation of state.

use crate::fluid::error::{Error, Result, not_negative, positive};
use crate::fluid::quantity::Quantity;

/// What the balances need to know of the fluid at one point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Local {
    /// Temperature T in K.
    pub temperature: f64,
    /// Density rho in kg/m3.
    pub density: f64,
    /// Derivative of the pressure with density at constant temperature, in J/kg: the square of the isothermal speed of
    /// sound.
    pub dp_drho_t: f64,
    /// Derivative of the pressure with temperature at constant density, in Pa/K.
    pub dp_dt_rho: f64,
    /// Specific isochoric heat capacity `c_v` in J/(kg K).
    pub specific_isochoric_heat_capacity: f64,
}

/// What passes through the wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Exchange {
    /// As much heat as makes the temperature follow a slope dT/dz in K/m; zero keeps it constant.
    Along(f64),
    /// A given heat q per mass of fluid and length of channel, in J/(kg m), positive into the fluid; zero is adiabatic.
    Heat(f64),
}

/// Slopes along the channel, and the ratio that tells how far the flow is from choking.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slopes {
    /// dT/dz in K/m.
    pub temperature: f64,
    /// d rho/dz in kg/m4.
    pub density: f64,
    /// dp/dz in Pa/m.
    pub pressure: f64,
    /// Heat taken up q in J/(kg m).
    pub heat: f64,
    /// Velocity over the speed of the waves that choke the flow: the isothermal speed of sound if the temperature is
    /// given, the isentropic one otherwise.
    pub mach_number: f64,
}

/// The slopes times `open`, the distance to the speed of sound, so that nothing grows without bound where the flow chokes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// `w^2 - v^2` in J/kg: the square of the speed of the waves that choke the flow less that of the velocity.
    pub open: f64,
    /// `w^2` in J/kg.
    pub wave: f64,
    /// dT/dz times `open`.
    pub temperature: f64,
    /// d rho/dz times `open`.
    pub density: f64,
    /// dp/dz times `open`.
    pub pressure: f64,
    /// Heat taken up q times `open`.
    pub heat: f64,
}

/// The balances at one point, of a mass flux G in kg/(m2 s) in the open cross-section A, a friction F in Pa/m and a widening
/// a = d ln A/dz in 1/m.
///
/// With `w^2 = (dp/drho)_T + T (dp/dT)_rho^2/(rho^2 c_v)`, the square of the speed of sound, and v = G/rho:
///
/// - given heat: `drho/dz (w^2 - v^2) = -F + rho v^2 a - (dp/dT)_rho (q + F/rho)/c_v` and
///   `dT/dz = [q + F/rho + T (dp/dT)_rho/rho^2 drho/dz]/c_v`;
/// - given slope of temperature: `drho/dz ((dp/drho)_T - v^2) = -F + rho v^2 a - (dp/dT)_rho dT/dz`.
///
/// In equilibrium of liquid and vapour the pressure depends on temperature alone, so that `(dp/drho)_T` is zero and
/// `(dp/dT)_rho` the slope of the vapour pressure; with the heat capacity of both phases at constant volume for `c_v`, `w` is the
/// speed of sound of the homogeneous mixture in equilibrium, and nothing else changes.
///
/// Errors: 101 for a flux, density or heat capacity not above zero or a negative friction.
pub fn balance(
    local: &Local,
    mass_flux: f64,
    friction: f64,
    widening: f64,
    exchange: Exchange,
) -> Result<Balance> {
    let Local {
        temperature: t,
        density: rho,
        dp_drho_t: p_rho,
        dp_dt_rho: p_t,
        specific_isochoric_heat_capacity: c_v,
    } = *local;
    positive(Quantity::Temperature, t)?;
    positive(Quantity::Density, rho)?;
    positive(Quantity::SpecificIsochoricHeatCapacity, c_v)?;
    positive(Quantity::MassFlux, mass_flux)?;
    not_negative(Quantity::PressureDrop, friction)?;
    let velocity = mass_flux / rho;
    let kinetic = velocity * velocity;
    let wave = match exchange {
        Exchange::Along(_) => p_rho,
        Exchange::Heat(_) => p_rho + t * p_t * p_t / (rho * rho * c_v),
    };
    let open = wave - kinetic;
    let force = rho * kinetic * widening - friction;
    let spring = t * p_t / (rho * rho);
    let (temperature, density) = match exchange {
        Exchange::Along(slope) => (slope * open, force - p_t * slope),
        Exchange::Heat(q) => {
            let source = q + friction / rho;
            let density = force - p_t * source / c_v;
            ((source * open + spring * density) / c_v, density)
        }
    };
    Ok(Balance {
        open,
        wave,
        temperature,
        density,
        pressure: p_rho * density + p_t * temperature,
        // T ds = q dz + F/rho dz, with ds = c_v/T dT - (dp/dT)_rho/rho^2 drho.
        heat: c_v * temperature - spring * density - friction / rho * open,
    })
}

/// Slopes of temperature, density and pressure at one point of a channel of constant cross-section; see [`balance()`].
///
/// Errors: those of [`balance()`]; 501, with the position to be filled in by the march, where the velocity reaches the speed of
/// sound or the fluid is not stable; its pressure is not known here and not a number.
pub fn slopes(local: &Local, mass_flux: f64, friction: f64, exchange: Exchange) -> Result<Slopes> {
    let Balance {
        open,
        wave,
        temperature,
        density,
        pressure,
        heat,
    } = balance(local, mass_flux, friction, 0.0, exchange)?;
    if open.is_nan() || open <= 0.0 {
        return Err(Error::Choked {
            position: f64::NAN,
            pressure: f64::NAN,
        });
    }
    Ok(Slopes {
        temperature: temperature / open,
        density: density / open,
        pressure: pressure / open,
        heat: heat / open,
        mach_number: ((wave - open) / wave).sqrt(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::{close, units};
    use crate::fluid::num::ode::{Control, integrate};
    use proptest::prelude::*;

    /// A perfect gas: specific gas constant and isochoric heat capacity in J/(kg K).
    const GAS: (f64, f64) = (188.9, 660.0);

    fn gas(temperature: f64, density: f64) -> Local {
        Local {
            temperature,
            density,
            dp_drho_t: GAS.0 * temperature,
            dp_dt_rho: GAS.0 * density,
            specific_isochoric_heat_capacity: GAS.1,
        }
    }

    /// The Fanno relation of a perfect gas, `f L/d` from a Mach number to 1 (Shapiro 1953, eq. 6.20, from memory; derived
    /// in any textbook of gas dynamics).
    fn fanno(mach: f64) -> f64 {
        let gamma = 1.0 + GAS.0 / GAS.1;
        let m2 = mach * mach;
        let bracket = (gamma + 1.0) * m2 / (2.0 + (gamma - 1.0) * m2);
        (1.0 - m2) / (gamma * m2) + (gamma + 1.0) / (2.0 * gamma) * bracket.ln()
    }

    #[test]
    fn adiabatic_flow_of_a_perfect_gas_is_the_closed_form_of_fanno() {
        let (t, rho, mach, friction_over_diameter) = (330.0, 12.0, 0.2, 30.0);
        let gamma = 1.0 + GAS.0 / GAS.1;
        let flux = rho * mach * (gamma * GAS.0 * t).sqrt();
        let mut last = mach;
        let length = 0.9 * fanno(mach) / friction_over_diameter;
        let end = integrate(
            "test",
            0.0,
            length,
            [t, rho],
            Control::new(1e-11, [0.0; 2]),
            |_, y| {
                let friction = 0.5 * friction_over_diameter * flux * flux / y[1];
                let s = slopes(&gas(y[0], y[1]), flux, friction, Exchange::Heat(0.0))?;
                Ok([s.temperature, s.density])
            },
            |step| {
                let [t, rho] = step.end;
                let s = slopes(&gas(t, rho), flux, 0.0, Exchange::Heat(0.0))?;
                last = s.mach_number;
                Ok(())
            },
        )
        .unwrap();
        let left = fanno(mach) - fanno(last);
        assert!(close(left, friction_over_diameter * length, 1e-8));
        // h + v^2/2 is constant.
        let total = |t: f64, rho: f64| (GAS.0 + GAS.1) * t + 0.5 * (flux / rho).powi(2);
        assert!(close(total(t, rho), total(end[0], end[1]), 1e-10));
    }

    #[test]
    fn isothermal_flow_takes_up_the_heat_of_its_expansion() {
        // A perfect gas at constant temperature keeps its enthalpy: the heat is the kinetic energy gained.
        let (rho, flux, friction) = (10.0, 300.0, 4e4);
        let s = slopes(&gas(300.0, rho), flux, friction, Exchange::Along(0.0)).unwrap();
        let kinetic_slope = -flux * flux / rho.powi(3) * s.density;
        assert!(close(s.heat, kinetic_slope, 1e-12));
        assert_eq!(s.temperature, 0.0);
        assert!(close(
            s.pressure + flux * flux / rho.powi(2) * -s.density,
            -friction,
            1e-12
        ));
    }

    #[test]
    fn a_velocity_of_sound_is_choked_and_not_a_slope() {
        let fast = 10.001 * (GAS.0 * 300.0f64).sqrt();
        let error = slopes(&gas(300.0, 10.0), fast, 1e3, Exchange::Along(0.0)).unwrap_err();
        assert_eq!(error.code(), 501);
        // The same flow without heat is still slower than sound.
        assert!(slopes(&gas(300.0, 10.0), fast, 1e3, Exchange::Heat(0.0)).is_ok());
    }

    proptest! {
        #[test]
        fn energy_and_momentum_are_kept(
            t in 250.0..500.0f64, rho in 1.0..900.0f64, flux in 1.0..500.0f64, friction in 0.0..1e6f64,
            q in -1e5..1e5f64, p_rho in 1e4..1e6f64, p_t in 1e3..1e6f64, c_v in 500.0..2e3f64,
        ) {
            let local = Local {
                temperature: t, density: rho, dp_drho_t: p_rho, dp_dt_rho: p_t,
                specific_isochoric_heat_capacity: c_v,
            };
            prop_assume!(flux * flux / (rho * rho) < 0.9 * p_rho);
            let s = slopes(&local, flux, friction, Exchange::Heat(q)).unwrap();
            let dv = -flux / (rho * rho) * s.density;
            let scale = s.pressure.abs() + friction + (flux * dv).abs();
            prop_assert!((s.pressure + flux * dv + friction).abs() <= 1e-9 * scale);
            // dh = c_v dT + (dp/dT)_rho/rho dT + [(dp/drho)_T/rho - T (dp/dT)_rho/rho^2] drho
            let terms = [
                (c_v + p_t / rho) * s.temperature,
                p_rho / rho * s.density,
                -t * p_t / (rho * rho) * s.density,
                flux / rho * dv,
                -q,
            ];
            let size: f64 = terms.iter().map(|x| x.abs()).sum();
            prop_assert!(terms.iter().sum::<f64>().abs() <= 1e-9 * size);
            prop_assert!((s.heat - q).abs() <= 1e-9 * size);
        }

        #[test]
        fn dimensions_are_right(units in units(), t in 280.0..400.0f64, rho in 1.0..900.0f64, q in -1e4..1e4f64) {
            let (flux, friction) = (100.0, 1e5);
            let local = Local {
                temperature: t, density: rho, dp_drho_t: 8e4, dp_dt_rho: 4e5,
                specific_isochoric_heat_capacity: 900.0,
            };
            let scaled = Local {
                temperature: t * units.temperature,
                density: rho * units.density(),
                dp_drho_t: 8e4 * units.factor(2, 0, -2),
                dp_dt_rho: 4e5 * units.pressure() / units.temperature,
                specific_isochoric_heat_capacity: 900.0 * units.heat_capacity(),
            };
            let heat = units.factor(1, 0, -2);
            let s = slopes(&local, flux, friction, Exchange::Heat(q)).unwrap();
            let r = slopes(
                &scaled, flux * units.mass_flux(), friction * units.pressure() / units.length, Exchange::Heat(q * heat),
            ).unwrap();
            // The slope of temperature is a difference of the terms of heat, friction and expansion.
            let terms = (q.abs() + friction / rho) / 900.0 + 300.0 * 4e5 * s.density.abs() / (rho * rho * 900.0);
            let kelvin = units.temperature / units.length;
            prop_assert!((s.temperature * kelvin - r.temperature).abs() <= 1e-12 * terms * kelvin);
            prop_assert!(close(s.density * units.density() / units.length, r.density, 1e-9));
            prop_assert!(close(s.pressure * units.pressure() / units.length, r.pressure, 1e-9));
        }
    }
}
