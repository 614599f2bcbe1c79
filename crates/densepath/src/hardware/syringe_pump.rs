//! The syringe pump: it holds a pressure from one filling of its barrel. Filling, compression before the run, run time, and
//! what a pressure program asks of the piston.

use densepath_fluid::error::{Error, Result, finite, fraction, not_negative, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::units::{BAR, MILLILITRE};
use densepath_fluid::{Fluid, Notice, NoticeCode, Quantity, State};

use super::suction_line::require_liquid;

/// Rise of the temperature in K by fast compression that is worth a remark: the density drifts while it decays.
const SMALL_RISE: f64 = 1.0;

/// A pump with one barrel that is filled before the run and then holds a pressure at whatever flow the path takes.
///
/// ```
/// # use densepath::{Fluid, State, hardware::SyringePump};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
/// assert_eq!((pump.barrel_volume(), pump.set_pressure()), (100e-6, 150e5));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SyringePump {
    barrel_volume: f64,
    barrel_temperature: f64,
    set_pressure: f64,
    reserve_fraction: f64,
    pressure_limit: Option<f64>,
    largest_displacement: Option<f64>,
}

/// The barrel on its way from filling to the pressure of the run.
///
/// ```
/// # use densepath::{Fluid, State, hardware::SyringePump};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
/// let barrel = pump.precompress(pump.fill(&fluid, 60e5)?)?;
/// // The mass stays while the piston goes in.
/// let left = 100e-6 - barrel.displaced_volume;
/// assert!((left * barrel.settled.density() / barrel.mass - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Precompression {
    /// Mass in kg that was filled in.
    pub mass: f64,
    /// The liquid as filled.
    pub filled: State,
    /// The liquid at the pressure of the run and the temperature of the barrel.
    pub settled: State,
    /// The liquid right after a fast compression, before it has cooled.
    pub fresh: State,
    /// Volume in m3 that the piston displaces before the pressure is reached.
    pub displaced_volume: f64,
    /// Rise of the temperature in K by a fast compression.
    pub temperature_rise: f64,
    /// Relative difference of the density right after a fast compression from the settled one; it drifts away as the
    /// barrel cools.
    pub density_deficit: f64,
    /// Mass in kg that can leave the pump before the reserve is reached.
    pub usable_mass: f64,
    /// What to know.
    pub notices: Vec<Notice>,
}

impl SyringePump {
    /// A pump with a barrel of a volume in m3 at a temperature T in K that holds a pressure in Pa, without reserve and limit.
    /// Error 101 for values that are not above zero.
    ///
    /// ```
    /// use densepath::hardware::SyringePump;
    /// assert_eq!(SyringePump::new(0.0, 278.15, 150e5).unwrap_err().code(), 101);
    /// ```
    pub fn new(barrel_volume: f64, barrel_temperature: f64, set_pressure: f64) -> Result<Self> {
        Ok(Self {
            barrel_volume: positive(Quantity::Volume, barrel_volume)?,
            barrel_temperature: positive(Quantity::Temperature, barrel_temperature)?,
            set_pressure: positive(Quantity::Pressure, set_pressure)?,
            reserve_fraction: 0.0,
            pressure_limit: None,
            largest_displacement: None,
        })
    }

    /// The pump with a share of the barrel that is never emptied.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// let usable = |pump: SyringePump| pump.precompress(pump.fill(&fluid, 60e5)?).map(|barrel| barrel.usable_mass);
    /// assert!(usable(pump.clone().with_reserve_fraction(0.1)?)? < usable(pump)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_reserve_fraction(self, reserve_fraction: f64) -> Result<Self> {
        Ok(Self {
            reserve_fraction: fraction(Quantity::VolumeFraction, reserve_fraction)?,
            ..self
        })
    }

    /// The pump with a highest pressure in Pa.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// assert_eq!(pump.with_pressure_limit(400e5)?.pressure_limit(), Some(400e5));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_pressure_limit(self, pressure_limit: f64) -> Result<Self> {
        Ok(Self {
            pressure_limit: Some(positive(Quantity::Pressure, pressure_limit)?),
            ..self
        })
    }

    /// The pump with the largest volume flow rate in m3/s that its piston displaces.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// let state = State::from_tp(&fluid, 278.15, 150e5)?;
    /// let slow = pump.with_largest_displacement(1e-9)?;
    /// // 5e-5 kg/s are 53 uL/s.
    /// assert_eq!(slow.require_displacement(&state, 50e-6, 0.0, 5e-5).unwrap_err().code(), 505);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_largest_displacement(self, largest_displacement: f64) -> Result<Self> {
        Ok(Self {
            largest_displacement: Some(positive(Quantity::VolumeFlowRate, largest_displacement)?),
            ..self
        })
    }

    /// Volume of the barrel in m3.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// assert_eq!(pump.barrel_volume(), 100e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn barrel_volume(&self) -> f64 {
        self.barrel_volume
    }

    /// Temperature of the barrel in K.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// assert_eq!(pump.barrel_temperature(), 278.15);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn barrel_temperature(&self) -> f64 {
        self.barrel_temperature
    }

    /// Pressure in Pa that it holds.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// assert_eq!(pump.set_pressure(), 150e5);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn set_pressure(&self) -> f64 {
        self.set_pressure
    }

    /// Highest pressure in Pa, if one is stated.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// assert_eq!(pump.pressure_limit(), None);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn pressure_limit(&self) -> Option<f64> {
        self.pressure_limit
    }

    /// The liquid in a barrel filled at a pressure in Pa.
    ///
    /// Error 504 if it is not liquid: a barrel warmer than the cylinder fills with vapour.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// let filled = pump.fill(&fluid, 60e5)?;
    /// assert_eq!((filled.temperature(), filled.pressure()), (278.15, 60e5));
    /// // At 25 degC 60 bar are below the vapour pressure of 64 bar: the barrel fills with vapour.
    /// let warm = SyringePump::new(100e-6, 298.15, 150e5)?;
    /// assert_eq!(warm.fill(&fluid, 60e5).unwrap_err().code(), 504);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn fill(&self, fluid: &Fluid, supply_pressure: f64) -> Result<State> {
        let filled = State::from_tp(fluid, self.barrel_temperature, supply_pressure)?;
        require_liquid(&filled)?;
        Ok(filled)
    }

    /// The barrel from its filling, a liquid at the temperature of the barrel, to the pressure it holds.
    ///
    /// *Valid* for a barrel of uniform temperature. *Source*: mass balance of the barrel, `V (1 - rho_f/rho)`; a fast
    /// compression is isentropic.
    ///
    /// Error 504 if the filling is not liquid, 503 if the pressure is not above that of the filling.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// let filled = pump.fill(&fluid, 60e5)?;
    /// let barrel = pump.precompress(filled.clone())?;
    /// // V (1 - rho_f / rho).
    /// let expected = 100e-6 * (1.0 - filled.density() / barrel.settled.density());
    /// assert!((barrel.displaced_volume / expected - 1.0).abs() < 1e-9 && barrel.temperature_rise > 0.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn precompress(&self, filled: State) -> Result<Precompression> {
        let pressure = self.set_pressure;
        require_liquid(&filled)?;
        if pressure <= filled.pressure() {
            return Err(Error::FlowReversed {
                inlet: pressure,
                outlet: filled.pressure(),
            });
        }
        let settled = State::from_tp(filled.fluid(), filled.temperature(), pressure)?;
        let fresh = State::from_ps(filled.fluid(), pressure, filled.specific_entropy())?;
        let mass = filled.density() * self.barrel_volume;
        let reserve = settled.density() * self.barrel_volume * self.reserve_fraction;
        let mut barrel = Precompression {
            mass,
            displaced_volume: self.barrel_volume * (1.0 - filled.density() / settled.density()),
            temperature_rise: fresh.temperature() - filled.temperature(),
            density_deficit: fresh.density() / settled.density() - 1.0,
            usable_mass: (mass - reserve).max(0.0),
            notices: Vec::new(),
            filled,
            settled,
            fresh,
        };
        barrel.notices = self.judge(&barrel);
        Ok(barrel)
    }

    fn judge(&self, barrel: &Precompression) -> Vec<Notice> {
        let mut notices = Vec::new();
        let pressure = barrel.settled.pressure();
        if barrel.temperature_rise > SMALL_RISE {
            notices.push(
                Notice::new(
                    NoticeCode::Estimated,
                    format!(
                        "fast compression to {} bar(a) warms the barrel by {} K, with a density {} % below the settled one: \
                         wait until it has cooled, or the flow drifts",
                        rounded(pressure / BAR),
                        rounded(barrel.temperature_rise),
                        rounded(-100.0 * barrel.density_deficit)
                    ),
                )
                .about(Quantity::Density),
            );
        }
        if let Some(limit) = self.pressure_limit.filter(|limit| pressure > *limit) {
            notices.push(
                Notice::new(
                    NoticeCode::Overpressure,
                    format!(
                        "the pump would have to deliver {} bar(a), above its limit of {} bar(a)",
                        rounded(pressure / BAR),
                        rounded(limit / BAR)
                    ),
                )
                .about(Quantity::Pressure),
            );
        }
        if barrel.usable_mass <= 0.0 {
            notices.push(
                Notice::new(
                    NoticeCode::CylinderLevel,
                    format!(
                        "compression displaces {} mL of the barrel and leaves nothing above the reserve: fill the barrel \
                         cold, or top it up at pressure",
                        rounded(barrel.displaced_volume / MILLILITRE)
                    ),
                )
                .about(Quantity::Volume),
            );
        }
        notices
    }

    /// Time in s for which a barrel full at a state can deliver a mass flow rate in kg/s, down to the reserve.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// let full = State::from_tp(&fluid, 278.15, 150e5)?;
    /// // Without reserve all the mass can go.
    /// assert!((pump.run_time(&full, 5e-5)? * 5e-5 / (100e-6 * full.density()) - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn run_time(&self, full: &State, mass_flow_rate: f64) -> Result<f64> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let volume = self.barrel_volume * (1.0 - self.reserve_fraction);
        Ok(volume * full.density() / mass_flow_rate)
    }

    /// Time in s that it takes to draw the barrel full, from what a run leaves in it, at a volume flow rate of the refill in m3/s.
    ///
    /// *Valid* where the supply follows: a refill faster than the line allows flashes, see `SuctionLine`. Error 101 for a flow not above
    /// zero.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// // 100 mL at 50 mL/min.
    /// assert!((pump.refill_time(50e-6 / 60.0)? - 120.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn refill_time(&self, refill_flow_rate: f64) -> Result<f64> {
        positive(Quantity::VolumeFlowRate, refill_flow_rate)?;
        Ok(self.barrel_volume * (1.0 - self.reserve_fraction) / refill_flow_rate)
    }

    /// Volume flow rate in m3/s by which a barrel falls short of what its piston displaces, while it cools after a compression: a time in
    /// s after that, with a volume in m3 left and a time constant in s of the barrel.
    ///
    /// *Valid* at constant pressure, and for a barrel that cools like one body. *Source*: mass balance `V alpha_V dT/dt` with
    /// `T - T_b = Delta T exp(-t/tau)`. The time constant is measured, some minutes for steel (common practice, no source).
    ///
    /// Errors: 101 for a volume or a time constant not above zero, or a negative time; those of the expansivity.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// let barrel = pump.precompress(pump.fill(&fluid, 60e5)?)?;
    /// let drift = |time| SyringePump::thermal_drift(&barrel, 90e-6, 600.0, time);
    /// // It dies away with the time constant of the barrel.
    /// assert!(drift(0.0)? > 0.0 && drift(3000.0)? < 0.02 * drift(0.0)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn thermal_drift(
        barrel: &Precompression,
        volume: f64,
        time_constant: f64,
        time: f64,
    ) -> Result<f64> {
        positive(Quantity::Volume, volume)?;
        positive(Quantity::Time, time_constant)?;
        not_negative(Quantity::Time, time)?;
        let rise = barrel.temperature_rise * (-time / time_constant).exp();
        let pressure = barrel.settled.pressure();
        let temperature = barrel.settled.temperature() + rise;
        let warm = State::from_tp(barrel.settled.fluid(), temperature, pressure)?;
        Ok(volume * warm.isobaric_expansivity()? * rise / time_constant)
    }

    /// Volume flow rate in m3/s that the piston displaces while a volume in m3 is left in the barrel, the pressure rises
    /// at a rate in Pa/s and a mass flow rate in kg/s leaves.
    ///
    /// *Valid* at constant temperature. *Source*: mass balance, `V kappa_T dp/dt + q_m/rho`. During a program this is not
    /// the flow of the column.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// let state = State::from_tp(&fluid, 278.15, 150e5)?;
    /// // At steady pressure the piston makes the volume flow that leaves; a rising pressure asks for more.
    /// let steady = SyringePump::displacement_rate(&state, 50e-6, 0.0, 5e-5)?;
    /// assert!((steady / (5e-5 / state.density()) - 1.0).abs() < 1e-12);
    /// assert!(SyringePump::displacement_rate(&state, 50e-6, 1e5, 5e-5)? > steady);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn displacement_rate(
        barrel: &State,
        volume: f64,
        pressure_rate: f64,
        mass_flow_rate: f64,
    ) -> Result<f64> {
        positive(Quantity::Volume, volume)?;
        finite(Quantity::PressureRate, pressure_rate)?;
        finite(Quantity::MassFlowRate, mass_flow_rate)?;
        let compression = volume * barrel.isothermal_compressibility()? * pressure_rate;
        Ok(compression + mass_flow_rate / barrel.density())
    }

    /// As [`SyringePump::displacement_rate`], refused where the piston of this pump is too slow.
    ///
    /// Error 505 beyond the largest displacement of the pump, and those of the displacement.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::SyringePump};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let pump = SyringePump::new(100e-6, 278.15, 150e5)?;
    /// let state = State::from_tp(&fluid, 278.15, 150e5)?;
    /// // A pump whose limit is not known follows.
    /// assert!(pump.require_displacement(&state, 50e-6, 1e4, 5e-5)? > 5e-5 / state.density());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn require_displacement(
        &self,
        barrel: &State,
        volume: f64,
        pressure_rate: f64,
        mass_flow_rate: f64,
    ) -> Result<f64> {
        let rate = Self::displacement_rate(barrel, volume, pressure_rate, mass_flow_rate)?;
        match self.largest_displacement {
            Some(limit) if rate.abs() > limit => Err(Error::TooFast {
                quantity: Quantity::VolumeFlowRate,
                value: rate,
                limit,
                because: "the piston of the pump",
            }),
            _ => Ok(rate),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};
    use densepath_fluid::units::{GRAM, MICROLITRE, MINUTE, from_celsius};

    fn pump(millilitres: f64, degc: f64) -> SyringePump {
        SyringePump::new(millilitres * MILLILITRE, from_celsius(degc), 200.0 * BAR).unwrap()
    }

    /// A barrel fed from a cylinder at 20 degC and brought to 200 bar.
    fn at_200_bar(millilitres: f64, degc: f64) -> Precompression {
        let pump = pump(millilitres, degc);
        let cylinder = co2().saturation_at_temperature(from_celsius(20.0)).unwrap();
        let filled = if degc == 20.0 {
            cylinder.liquid
        } else {
            pump.fill(&co2(), cylinder.pressure).unwrap()
        };
        pump.precompress(filled).unwrap()
    }

    /// Mass in g and travel in mL: independent computation with CoolProp 8.0.0.
    #[test]
    fn filling_and_travel_of_the_piston() {
        for (millilitres, degc, grams, travel) in [
            (50.0, 5.0, 45.7316, 4.29871),
            (50.0, 20.0, 38.6693, 8.73247),
            (250.0, 5.0, 228.658, 21.49),
            (250.0, 20.0, 193.35, 43.6624),
        ] {
            let barrel = at_200_bar(millilitres, degc);
            assert!(close(barrel.mass / GRAM, grams, 2e-5), "{grams}");
            let displaced = barrel.displaced_volume / MILLILITRE;
            let tolerance = if travel == 21.49 { 3e-4 } else { 1e-5 };
            assert!(close(displaced, travel, tolerance), "{travel}");
        }
        assert!(close(at_200_bar(150.0, 20.0).mass / GRAM, 116.008, 1e-5));
    }

    /// Rise in K and deficit in percent: independent computation with CoolProp 8.0.0.
    #[test]
    fn a_fast_compression_warms_the_barrel() {
        let barrel = at_200_bar(250.0, 20.0);
        assert!(close(barrel.temperature_rise, 18.3723, 1e-5));
        assert!(close(100.0 * barrel.density_deficit, -9.46204, 1e-5));
        assert_eq!(barrel.notices[0].code, NoticeCode::Estimated);
    }

    /// uL/min at 20 degC, 100 bar and 5 bar/min: independent computation with CoolProp 8.0.0.
    #[test]
    fn a_pressure_program_moves_the_piston_more_than_the_column_does() {
        let barrel = State::from_tp(&co2(), from_celsius(20.0), 100.0 * BAR).unwrap();
        let rate = 5.0 * BAR / MINUTE;
        for (millilitres, expected) in [(50.0, 357.164), (250.0, 1785.82)] {
            let flow = SyringePump::displacement_rate(&barrel, millilitres * MILLILITRE, rate, 0.0)
                .unwrap();
            assert!(close(flow * MINUTE / MICROLITRE, expected, 1e-5));
        }
        let steady = SyringePump::displacement_rate(&barrel, 1.0, 0.0, 1e-8).unwrap();
        assert!(close(steady, 1e-8 / barrel.density(), 1e-15));
    }

    /// Hours of a 50 um tube at 2 cm/s, 100 degC and 200 bar from 50 mL at 20 degC: independent computation with
    /// CoolProp 8.0.0.
    #[test]
    fn a_barrel_lasts_for_weeks_without_split() {
        let pump = pump(50.0, 20.0).with_reserve_fraction(0.1).unwrap();
        let full = State::from_tp(&co2(), from_celsius(20.0), 200.0 * BAR).unwrap();
        let column = State::from_tp(&co2(), from_celsius(100.0), 200.0 * BAR).unwrap();
        let area = std::f64::consts::PI / 4.0 * 50e-6_f64.powi(2);
        let rate = column.density() * area * 0.02;
        let hours = |rate| pump.run_time(&full, rate).unwrap() / 3600.0;
        assert!(close(hours(rate), 620.711, 1e-5), "{}", hours(rate));
        assert!(close(hours(51.0 * rate), 12.1708, 1e-5));
    }

    #[test]
    fn nothing_is_left_above_a_large_reserve() {
        let pump = pump(50.0, 20.0).with_reserve_fraction(0.95).unwrap();
        let filled = pump.fill(&co2(), 60.0 * BAR).unwrap();
        let barrel = pump.precompress(filled).unwrap();
        assert_eq!(barrel.usable_mass, 0.0);
        let codes: Vec<_> = barrel.notices.iter().map(|n| n.code).collect();
        assert_eq!(codes, [NoticeCode::Estimated, NoticeCode::CylinderLevel]);
    }

    #[test]
    fn what_cannot_be_filled_or_compressed_is_an_error() {
        let warm = pump(50.0, 25.0);
        let cylinder = 57.29 * BAR;
        assert_eq!(warm.fill(&co2(), cylinder).unwrap_err().code(), 504);
        let cold = pump(50.0, 5.0).with_pressure_limit(150.0 * BAR).unwrap();
        let filled = cold.fill(&co2(), cylinder).unwrap();
        let idle = SyringePump::new(5e-5, from_celsius(5.0), cylinder).unwrap();
        assert_eq!(idle.precompress(filled.clone()).unwrap_err().code(), 503);
        let barrel = cold.precompress(filled).unwrap();
        assert!(
            barrel
                .notices
                .iter()
                .any(|n| n.code == NoticeCode::Overpressure)
        );
        for bad in [0.0, -1.0, f64::NAN] {
            assert_eq!(SyringePump::new(bad, 293.0, 2e7).unwrap_err().code(), 101);
            assert_eq!(SyringePump::new(5e-5, bad, 2e7).unwrap_err().code(), 101);
            assert_eq!(SyringePump::new(5e-5, 293.0, bad).unwrap_err().code(), 101);
            assert_eq!(cold.run_time(&barrel.settled, bad).unwrap_err().code(), 101);
        }
        assert_eq!(cold.with_reserve_fraction(1.5).unwrap_err().code(), 101);
    }

    /// What the piston displaces beyond the delivery, added up until the barrel has cooled, is the volume by which its content shrinks.
    #[test]
    fn the_drift_of_a_cooling_barrel_adds_up_to_its_shrinking() {
        let pump = SyringePump::new(250e-6, 293.15, 200e5)
            .and_then(|pump| pump.with_reserve_fraction(0.0))
            .unwrap();
        let filled = pump.fill(&co2(), 60e5).unwrap();
        let barrel = pump.precompress(filled).unwrap();
        let (volume, time_constant) = (200e-6, 300.0);
        let rate =
            |time: f64| SyringePump::thermal_drift(&barrel, volume, time_constant, time).unwrap();
        // By the trapezoid, over ten time constants.
        let step = 5.0;
        let sum: f64 = (0..600)
            .map(|i| 0.5 * step * (rate(step * f64::from(i)) + rate(step * f64::from(i + 1))))
            .sum();
        let shrinking = volume * (barrel.settled.density() / barrel.fresh.density()).ln();
        assert!(close(sum, shrinking, 1e-3), "{sum} {shrinking}");
        assert_eq!(
            SyringePump::thermal_drift(&barrel, volume, 0.0, 1.0)
                .unwrap_err()
                .code(),
            101
        );
        assert!(close(pump.refill_time(1e-6).unwrap(), 250.0, 1e-12));
        assert_eq!(pump.refill_time(0.0).unwrap_err().code(), 101);
    }
}
