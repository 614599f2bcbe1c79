//! Flow coefficients of control valves and orifices, on plain numbers.
//!
//! The sizing equations are those of IEC 60534-2-1:2011 without fittings (piping geometry factor 1), written with the flow
//! coefficient as an area, so that they are coherent in SI: a valve of `K_v` in m3/h passes `K_v sqrt(dp/bar * rho_0/rho)`,
//! that is `A_v sqrt(rho dp)` in kg/s with `A_v = K_v/36000` m2 for a density `rho_0` of 1000 kg/m3. Equation numbers are from memory.

use crate::fluid::error::{Error, Result, positive, within};
use crate::fluid::quantity::Quantity;

/// Area in m2 of a flow coefficient `K_v` of 1 m3/h (water of 1000 kg/m3 with a drop of 1 bar).
pub const AREA_OF_KV: f64 = 1.0 / 36_000.0;

/// Flow coefficient `C_v` in US gallons per minute over `K_v` in m3/h (IEC 60534-1: `K_v = 0.865 C_v`; from memory).
pub const CV_OVER_KV: f64 = 1.0 / 0.865;

/// Coefficients of a valve at its opening.
///
/// ```
/// use densepath::flow::valve::Valve;
/// // Beyond its choked ratio a gas flows no faster, however low the pressure behind.
/// let valve = Valve::new(0.9, 0.7)?;
/// let (wide, choked) = valve.gas_flux(100e5, 1e5, 200.0, 1.4)?;
/// assert!(choked && wide == valve.gas_flux(100e5, 2e5, 200.0, 1.4)?.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Valve {
    /// Liquid pressure recovery factor `F_L`, dimensionless.
    pub recovery_factor: f64,
    /// Pressure differential ratio factor `x_T` of choked gas flow, dimensionless.
    pub choked_ratio: f64,
}

impl Default for Valve {
    /// A globe valve or needle, `F_L` 0.9 and `x_T` 0.7 (values of the standard for single-port globe valves; from memory).
    fn default() -> Self {
        Self {
            recovery_factor: 0.9,
            choked_ratio: 0.7,
        }
    }
}

impl Valve {
    /// A valve of its two factors. Errors: 101 for a factor not above zero; 102 for one above 1.
    ///
    /// ```
    /// use densepath::flow::valve::Valve;
    /// assert_eq!(Valve::new(0.0, 0.7).unwrap_err().code(), 101);
    /// assert_eq!(Valve::new(1.2, 0.7).unwrap_err().code(), 102);
    /// ```
    pub fn new(recovery_factor: f64, choked_ratio: f64) -> Result<Self> {
        for factor in [recovery_factor, choked_ratio] {
            positive(Quantity::Ratio, factor)?;
            within(
                Quantity::Ratio,
                factor,
                0.0,
                1.0,
                "the factors of a valve (IEC 60534-2-1)",
            )?;
        }
        Ok(Self {
            recovery_factor,
            choked_ratio,
        })
    }

    /// Pressure drop in Pa that drives a liquid from one pressure to another, both in Pa: never more than that at which it chokes,
    /// `F_L^2 (p_1 - p_t)`, with the pressure `p_t` in Pa to which the throat falls then; and whether it chokes.
    ///
    /// *Source*: IEC 60534-2-1:2011, eq. 1 and 3. For a boiling liquid [`throat_pressure`] is that of the standard.
    ///
    /// Errors: 503 for pressures that drive no flow.
    ///
    /// ```
    /// use densepath::flow::valve::Valve;
    /// // A liquid far from boiling feels the whole difference.
    /// let (drop, choked) = Valve::new(0.9, 0.7)?.liquid_drop(100e5, 90e5, 40e5)?;
    /// assert!((drop - 10e5).abs() < 1e-6 && !choked);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn liquid_drop(
        &self,
        inlet_pressure: f64,
        outlet_pressure: f64,
        throat_pressure: f64,
    ) -> Result<(f64, bool)> {
        let drop = drop_between(inlet_pressure, outlet_pressure)?;
        let choked = self.recovery_factor.powi(2) * (inlet_pressure - throat_pressure);
        Ok((drop.min(choked), drop >= choked))
    }

    /// Mass flux in kg/(m2 s) of a gas on the area `A_v`, `Y sqrt(x p_1 rho_1)`, with `x = dp/p_1` up to `F_gamma x_T` and
    /// `Y = 1 - x/(3 F_gamma x_T)`, of a density in kg/m3 and an isentropic exponent gamma; and whether it chokes.
    ///
    /// *Valid*: gases far from the critical point. *Source*: IEC 60534-2-1:2011, eq. 6 to 9.
    ///
    /// Errors: 503 for pressures that drive no flow; 101 for a density or exponent not above zero.
    ///
    /// ```
    /// use densepath::flow::valve::Valve;
    /// let valve = Valve::new(0.9, 0.7)?;
    /// assert!(valve.gas_flux(100e5, 95e5, 200.0, 1.4)?.0 < valve.gas_flux(100e5, 90e5, 200.0, 1.4)?.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn gas_flux(
        &self,
        inlet_pressure: f64,
        outlet_pressure: f64,
        density: f64,
        isentropic_exponent: f64,
    ) -> Result<(f64, bool)> {
        positive(Quantity::Density, density)?;
        positive(Quantity::Ratio, isentropic_exponent)?;
        let limit = isentropic_exponent / 1.4 * self.choked_ratio;
        let ratio = drop_between(inlet_pressure, outlet_pressure)? / inlet_pressure;
        let x = ratio.min(limit);
        let expansion = 1.0 - x / (3.0 * limit);
        Ok((
            expansion * (x * inlet_pressure * density).sqrt(),
            ratio >= limit,
        ))
    }
}

/// The drop in Pa; error 503 if there is none.
fn drop_between(inlet_pressure: f64, outlet_pressure: f64) -> Result<f64> {
    positive(Quantity::Pressure, outlet_pressure)?;
    if outlet_pressure >= inlet_pressure {
        return Err(Error::FlowReversed {
            inlet: inlet_pressure,
            outlet: outlet_pressure,
        });
    }
    Ok(inlet_pressure - outlet_pressure)
}

/// Pressure in Pa to which the throat of a valve with a boiling liquid falls when it chokes, `F_F p_v` with
/// `F_F = 0.96 - 0.28 sqrt(p_v/p_c)`, of the vapour pressure and the critical pressure in Pa.
///
/// *Source*: IEC 60534-2-1:2011, eq. 4. Errors: 101 for a pressure not above zero.
///
/// ```
/// use densepath::flow::valve::throat_pressure;
/// // IEC 60534-2-1: F_F = 0.96 - 0.28 sqrt(p_v/p_c).
/// let expected = (0.96 - 0.28 * (50e5_f64 / 73.773e5).sqrt()) * 50e5;
/// assert!((throat_pressure(50e5, 73.773e5)? / expected - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn throat_pressure(vapour_pressure: f64, critical_pressure: f64) -> Result<f64> {
    positive(Quantity::Pressure, critical_pressure)?;
    let ratio = positive(Quantity::Pressure, vapour_pressure)? / critical_pressure;
    Ok((0.96 - 0.28 * ratio.sqrt()) * vapour_pressure)
}

/// Amplitude in Pa, lowest to highest, of the pressure before a valve that opens and shuts: while it is shut the flow packs the
/// volume before it, `dp = q_m (1 - s)/(f V rho kappa_T)`.
///
/// Takes the isothermal compressibility in 1/Pa, the density in kg/m3, the volume in m3, the mass flow rate in kg/s, the
/// frequency in Hz and the share of the time that the valve is open. *Valid* while the change is small, and slow beside sound.
/// *Source*: balance of mass. Errors: 101 for a value not above zero; 102 for a share above 1.
///
/// ```
/// use densepath::flow::valve::ripple;
/// // Twice the volume before the valve, half the ripple.
/// let of = |volume| ripple(2e-8, 800.0, volume, 5e-5, 10.0, 0.5);
/// assert!((of(100e-9)? / of(200e-9)? - 2.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn ripple(
    isothermal_compressibility: f64,
    density: f64,
    volume: f64,
    mass_flow_rate: f64,
    frequency: f64,
    open_share: f64,
) -> Result<f64> {
    positive(
        Quantity::IsothermalCompressibility,
        isothermal_compressibility,
    )?;
    positive(Quantity::Density, density)?;
    positive(Quantity::Volume, volume)?;
    positive(Quantity::MassFlowRate, mass_flow_rate)?;
    positive(Quantity::Frequency, frequency)?;
    within(
        Quantity::Ratio,
        open_share,
        0.0,
        1.0,
        "the share of time that a valve is open",
    )?;
    Ok(mass_flow_rate * (1.0 - open_share)
        / (frequency * volume * density * isothermal_compressibility))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::{close, units};
    use proptest::prelude::*;

    #[test]
    fn water_through_a_valve_of_one_is_one_cubic_metre_in_an_hour() {
        let (drop, choked) = Valve::default().liquid_drop(2e5, 1e5, 1e3).unwrap();
        assert!(!choked);
        let flow = AREA_OF_KV * f64::sqrt(1000.0 * drop);
        assert!(close(flow, 1000.0 / 3600.0, 1e-12));
    }

    #[test]
    fn a_gas_chokes_at_its_ratio() {
        // Air-like: gamma 1.4, x_T 0.7, Y = 2/3 when choked.
        let valve = Valve::new(0.9, 0.7).unwrap();
        let (flux, choked) = valve.gas_flux(10e5, 1e5, 11.6, 1.4).unwrap();
        assert!(choked && close(flux, 2.0 / 3.0 * f64::sqrt(0.7 * 10e5 * 11.6), 1e-12));
        let (flux, choked) = valve.gas_flux(10e5, 9e5, 11.6, 1.4).unwrap();
        assert!(!choked && close(flux, (1.0 - 0.1 / 2.1) * f64::sqrt(1e5 * 11.6), 1e-12));
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert_eq!(Valve::new(1.1, 0.7).unwrap_err().code(), 102);
        assert_eq!(Valve::new(0.9, 0.0).unwrap_err().code(), 101);
        assert_eq!(
            Valve::default()
                .liquid_drop(1e5, 2e5, 0.0)
                .unwrap_err()
                .code(),
            503
        );
        assert_eq!(throat_pressure(-1.0, 7e6).unwrap_err().code(), 101);
        assert_eq!(
            ripple(1e-8, 800.0, 1e-6, 1e-5, 0.0, 0.5)
                .unwrap_err()
                .code(),
            101
        );
    }

    proptest! {
        #[test]
        fn dimensions_are_right(units in units(), p in 1e5..4e7f64, share in 0.1..0.9f64, rho in 1.0..900.0f64) {
            let valve = Valve::default();
            let flux = valve.gas_flux(p, share * p, rho, 1.3).unwrap().0;
            let scaled = valve
                .gas_flux(p * units.pressure(), share * p * units.pressure(), rho * units.density(), 1.3)
                .unwrap().0;
            prop_assert!(close(flux * units.mass_flux(), scaled, 1e-12));
            let amplitude = ripple(1e-8, rho, 1e-6, 1e-5, 5.0, share).unwrap();
            let scaled = ripple(
                1e-8 / units.pressure(), rho * units.density(), 1e-6 * units.length.powi(3), 1e-5 * units.mass_flow(),
                5.0 / units.time, share,
            ).unwrap();
            prop_assert!(close(amplitude * units.pressure(), scaled, 1e-12));
        }
    }
}
