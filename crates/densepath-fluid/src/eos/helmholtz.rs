//! The reduced Helmholtz energy of a pure fluid along isotherms.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use core::ops::{Add, Mul};

use super::ideal_window::IdealWindow;
use super::kernel::All;
use super::mixture::DensityDerivatives;
use super::residual::{Coefficients, Residual, ResidualAt};
use crate::fluids::record::{EquationOfState, GuessRecord, IdealRecord};
use crate::num::lanes::Kind;

/// A function of tau with its scaled derivatives: `f`, `tau df/dtau`, `tau^2 d2f/dtau2`.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// let ideal = fluid.helmholtz()?.isotherm(313.15).ideal();
/// // -tau^2 d2/dtau2 of the ideal part is its isochoric heat capacity over R: about 3.6 for carbon dioxide at 40 degC.
/// assert!((-ideal.second - 3.55).abs() < 0.1);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct TauDerivatives {
    /// The function.
    pub value: f64,
    /// First scaled derivative.
    pub first: f64,
    /// Second scaled derivative.
    pub second: f64,
}

impl Add for TauDerivatives {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            value: self.value + other.value,
            first: self.first + other.first,
            second: self.second + other.second,
        }
    }
}

/// Residual part alpha^r with its scaled derivatives: `a_d = delta da/ddelta`, `a_dt = delta tau d2a/(ddelta dtau)` ...
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// let isotherm = fluid.helmholtz()?.isotherm(313.15);
/// // p = rho R T (1 + a_d).
/// let pressure = 780.233 * isotherm.thermal_energy() * (1.0 + isotherm.residual(780.233).a_d);
/// assert!((pressure / 150e5 - 1.0).abs() < 1e-5);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, Default, PartialEq)]
#[allow(missing_docs, reason = "the symbols of the line above")]
pub struct PointDerivatives {
    pub a: f64,
    pub a_d: f64,
    pub a_dd: f64,
    pub a_t: f64,
    pub a_tt: f64,
    pub a_dt: f64,
}

impl Add for PointDerivatives {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            a: self.a + other.a,
            a_d: self.a_d + other.a_d,
            a_dd: self.a_dd + other.a_dd,
            a_t: self.a_t + other.a_t,
            a_tt: self.a_tt + other.a_tt,
            a_dt: self.a_dt + other.a_dt,
        }
    }
}

impl Mul<f64> for PointDerivatives {
    type Output = Self;

    fn mul(self, factor: f64) -> Self {
        Self {
            a: self.a * factor,
            a_d: self.a_d * factor,
            a_dd: self.a_dd * factor,
            a_t: self.a_t * factor,
            a_tt: self.a_tt * factor,
            a_dt: self.a_dt * factor,
        }
    }
}

impl PointDerivatives {
    /// `(dp/drho)_T / RT` of a stable phase: rounding may turn the zero of the critical point negative.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let isotherm = fluid.helmholtz()?.isotherm(313.15);
    /// // (dp/drho)_T over R T, and 1 for a gas without density.
    /// let stiffness = isotherm.residual(780.233).stiffness() * isotherm.thermal_energy();
    /// assert!((stiffness / isotherm.pressure(780.233).dp_drho - 1.0).abs() < 1e-9);
    /// assert!((isotherm.residual(1e-9).stiffness() - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn stiffness(&self) -> f64 {
        All::from(*self).stiffness()
    }

    /// `(dp/dT)_rho / (rho R)`.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let equation = fluid.helmholtz()?;
    /// // (dp/dT)_rho over rho R: by a difference of two isotherms.
    /// let pressure = |temperature| equation.isotherm(temperature).pressure(780.233).pressure;
    /// let slope = (pressure(313.25) - pressure(313.05)) / 0.2;
    /// let spring = equation.isotherm(313.15).residual(780.233).spring();
    /// assert!((spring * 780.233 * equation.specific_gas_constant / slope - 1.0).abs() < 1e-5);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn spring(&self) -> f64 {
        All::from(*self).spring()
    }
}

/// Where liquid and vapour of an equation become one.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// let top = fluid.helmholtz()?.dome_top;
/// assert!((top.temperature - 304.1282).abs() < 1e-2 && (top.density - 467.6).abs() < 1.0);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DomeTop {
    /// Temperature T in K.
    pub temperature: f64,
    /// Density rho in kg/m3.
    pub density: f64,
}

impl DomeTop {
    fn of(record: &EquationOfState) -> Self {
        let critical = &record.critical_point;
        let (temperature, molar_density) = record
            .dome_top
            .map_or((critical.temperature, critical.molar_density), |top| {
                (top.temperature, top.molar_density)
            });
        Self {
            temperature,
            density: molar_density * record.molar_mass,
        }
    }
}

/// The reduced Helmholtz energy alpha(delta, tau) of a pure fluid, made from its data record.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// let equation = fluid.helmholtz()?;
/// // An independent implementation of Span and Wagner 1996 has 780.233 kg/m3 at 40 degC and 150 bar.
/// assert!((equation.isotherm(313.15).pressure(780.233).pressure / 150e5 - 1.0).abs() < 1e-5);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Helmholtz {
    /// Specific gas constant R/M in J/(kg K).
    pub specific_gas_constant: f64,
    /// Reducing temperature in K.
    pub temperature_reducing: f64,
    /// Reducing density in kg/m3.
    pub density_reducing: f64,
    /// Highest density in kg/m3 up to which the pressure rises with density on every isotherm outside the dome.
    pub density_max: f64,
    /// Highest point of the dome.
    pub dome_top: DomeTop,
    /// Critical pressure stated, in Pa: the scale of the start values.
    pub(crate) critical_pressure: f64,
    pub(crate) ideal: IdealRecord,
    pub(super) ideal_window: Option<IdealWindow>,
    pub(crate) guess: GuessRecord,
    pub(super) residual: Residual,
}

impl Helmholtz {
    /// The equation of a data record.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// use densepath_fluid::eos::Helmholtz;
    /// let equation = Helmholtz::new(fluid.record()?.reference_equation()?);
    /// assert_eq!(equation.temperature_reducing, 304.1282);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn new(record: &EquationOfState) -> Self {
        let density_reducing = record.molar_density_reducing * record.molar_mass;
        Self {
            specific_gas_constant: record.gas_constant / record.molar_mass,
            temperature_reducing: record.temperature_reducing,
            density_reducing,
            density_max: record.reduced_density_max * density_reducing,
            dome_top: DomeTop::of(record),
            critical_pressure: record.critical_point.pressure,
            ideal: record.ideal.clone(),
            ideal_window: IdealWindow::new(&record.ideal),
            guess: record.coexistence_guess.clone(),
            residual: Residual::new(&record.residual),
        }
    }

    /// The equation along one temperature in K, with all that depends on temperature alone computed once.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert_eq!(fluid.helmholtz()?.isotherm(313.15).temperature(), 313.15);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn isotherm(&self, temperature: f64) -> Isotherm<'_> {
        let tau = self.temperature_reducing / temperature;
        Isotherm {
            helmholtz: self,
            temperature,
            tau,
            residual: self.residual.at(tau),
        }
    }
}

/// A Helmholtz energy at fixed temperature.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// let isotherm = fluid.helmholtz()?.isotherm(313.15);
/// // Above the critical temperature the pressure rises all along.
/// let pressures: Vec<f64> = (1..10).map(|tenth| isotherm.pressure(100.0 * f64::from(tenth)).pressure).collect();
/// assert!(pressures.is_sorted());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Isotherm<'a> {
    helmholtz: &'a Helmholtz,
    temperature: f64,
    tau: f64,
    residual: ResidualAt<'a>,
}

/// Pressure with its derivative in density, and the residual energy, at one density of an isotherm.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// let point = fluid.helmholtz()?.isotherm(313.15).pressure(780.233);
/// assert!((point.pressure / 150e5 - 1.0).abs() < 1e-5 && point.dp_drho > 0.0);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PressurePoint {
    /// Pressure p in Pa.
    pub pressure: f64,
    /// `(dp/drho)_T` in m2/s2.
    pub dp_drho: f64,
    /// Chemical potential less its temperature-dependent ideal part, over RT: `ln delta + alpha^r + delta alpha^r_delta`.
    pub potential: f64,
}

#[cfg(test)]
thread_local! {
    /// How often a pressure was asked for on this thread: the tests bound the work of the solvers by it.
    pub(crate) static EVALUATIONS: std::cell::Cell<u32> = const { core::cell::Cell::new(0) };
}

impl Isotherm<'_> {
    /// Temperature in K.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert_eq!(fluid.helmholtz()?.isotherm(313.15).temperature(), 313.15);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn temperature(&self) -> f64 {
        self.temperature
    }

    /// `R T` of the fluid in J/kg.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// // R T / M.
    /// let isotherm = fluid.helmholtz()?.isotherm(313.15);
    /// assert!((isotherm.thermal_energy() / (8.31451 / 44.0098e-3 * 313.15) - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn thermal_energy(&self) -> f64 {
        self.helmholtz.specific_gas_constant * self.temperature
    }

    /// Pressure, its slope and the chemical potential at a density in kg/m3 (Span and Wagner 1996, table 3).
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// // An independent implementation of Span and Wagner 1996 has 780.233 kg/m3 at 40 degC and 150 bar.
    /// assert!((fluid.helmholtz()?.isotherm(313.15).pressure(780.233).pressure / 150e5 - 1.0).abs() < 1e-5);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn pressure(&self, density: f64) -> PressurePoint {
        #[cfg(test)]
        EVALUATIONS.with(|count| count.set(count.get() + 1));
        let delta = self.delta(density);
        let DensityDerivatives { a, a_d, a_dd } = self.residual.density_derivatives(delta);
        let rt = self.thermal_energy();
        PressurePoint {
            pressure: density * rt * (1.0 + a_d),
            dp_drho: rt * (1.0 + 2.0 * a_d + a_dd),
            potential: delta.ln() + a + a_d,
        }
    }

    /// All derivatives of the residual part at a density in kg/m3.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let isotherm = fluid.helmholtz()?.isotherm(313.15);
    /// // Z = 1 + a_d, about 0.33 at 40 degC and 150 bar.
    /// let z = isotherm.pressure(780.233).pressure / (780.233 * isotherm.thermal_energy());
    /// assert!((1.0 + isotherm.residual(780.233).a_d - z).abs() < 1e-12 && (z - 0.325).abs() < 0.01);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn residual(&self, density: f64) -> PointDerivatives {
        self.residual.derivatives(self.delta(density))
    }

    /// Ideal-gas part without its `ln delta`.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// use densepath_fluid::State;
    /// // The ideal part alone is the enthalpy of a gas without density: h = R T (1 + tau da/dtau).
    /// let isotherm = fluid.helmholtz()?.isotherm(313.15);
    /// let thin = State::from_tp(&fluid, 313.15, 1e3)?.specific_enthalpy();
    /// assert!((isotherm.thermal_energy() * (1.0 + isotherm.ideal().first) - thin).abs() < 50.0);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn ideal(&self) -> TauDerivatives {
        self.helmholtz.ideal.at(self.tau)
    }

    /// The residual part with what depends on temperature alone in every lane.
    #[inline(always)]
    pub(super) fn residual_in_lanes<K: Kind>(
        &self,
        kind: K,
    ) -> (&Residual, Coefficients<K::Number>) {
        self.residual.in_lanes(kind)
    }

    /// Adds the derivatives in density at several reduced densities, side by side.
    pub(super) fn add_density_derivatives(&self, deltas: &[f64], sums: &mut [DensityDerivatives]) {
        self.residual.add_density_derivatives(1.0, deltas, sums);
    }

    /// Reducing density in kg/m3.
    pub(super) fn density_reducing(&self) -> f64 {
        self.helmholtz.density_reducing
    }

    /// Reduced density at a density in kg/m3.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// // Reduced by the critical density of 467.6 kg/m3.
    /// assert!((fluid.helmholtz()?.isotherm(313.15).delta(467.6) - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn delta(&self, density: f64) -> f64 {
        density / self.helmholtz.density_reducing
    }
}
