//! One stroke of a piston pump: what its compression does between isothermal and isentropic, whatever flow the pump is set to.

use densepath_fluid::error::{Error, Result, fraction, not_negative, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::num::root::{Tolerance, bracketed};
use densepath_fluid::{Notice, NoticeCode, Quantity, State};

use super::suction_line::require_liquid;

/// Share of the stroke spent on compression above which flow and pressure pulsate: common practice, no source.
const LARGEST_STROKE_FRACTION: f64 = 0.3;
/// Volumetric efficiency below which a pump is called poor: common practice, no source.
const SMALLEST_VOLUMETRIC_EFFICIENCY: f64 = 0.8;
/// Relative difference of the delivered mass between an isothermal and an isentropic stroke worth a remark.
const SMALL_DIFFERENCE: f64 = 0.01;

/// One way through the stroke, from the suction state to the delivery pressure.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{Chamber, Cushion, Drive, PistonMotion}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let compression = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?.expected;
/// # let drive = Drive { heads: 2, swept_volume: 50e-9, compensated_volume_fraction: 0.0 };
/// assert!((compression.volume_fraction - (1.0 - suction.density() / compression.density)).abs() < 1e-9);
/// // Without clearance the stroke delivers all it sweeps.
/// assert_eq!(compression.volumetric_efficiency, 1.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compression {
    /// Temperature in K of the fluid when the outlet valve opens.
    pub temperature: f64,
    /// Density in kg/m3 of the fluid when the outlet valve opens.
    pub density: f64,
    /// Share of its volume that the fluid loses, `1 - rho_1/rho_2`.
    pub volume_fraction: f64,
    /// Mass delivered over the mass that the swept volume holds at suction, `1 - c (rho_2/rho_1 - 1)`.
    pub volumetric_efficiency: f64,
    /// Share of the stroke before the outlet valve opens, `(1 + c) (1 - rho_1/rho_2)`.
    pub stroke_fraction: f64,
}

/// The stroke between its two limits.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{Chamber, Cushion, Drive, PistonMotion}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let compression = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?.expected;
/// # let drive = Drive { heads: 2, swept_volume: 50e-9, compensated_volume_fraction: 0.0 };
/// let stroke = Chamber::new(0.1)?.stroke(&suction, 150e5, 0.5)?;
/// assert!(stroke.isothermal.temperature < stroke.expected.temperature && stroke.expected.temperature < stroke.isentropic.temperature);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// With a head that keeps its temperature.
    pub isothermal: Compression,
    /// Without heat exchange.
    pub isentropic: Compression,
    /// Between the two by the isothermal share, interpolated in specific volume and temperature.
    pub expected: Compression,
    /// The isothermal share: that of the pump, or what its relaxation time makes of the duration of the stroke.
    pub isothermal_share: f64,
    /// Relative error of the mass flow if it is counted at the density of an isothermal stroke and the stroke is
    /// isentropic, `rho_2s/rho_2T - 1`.
    pub bookkeeping_error: f64,
    /// What to know.
    pub notices: Vec<Notice>,
}

/// What a piston moves in: the volume that it never sweeps over the one that it does.
///
/// ```
/// assert_eq!(densepath::hardware::Chamber::new(0.2)?.clearance_ratio(), 0.2);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Chamber {
    clearance_ratio: f64,
}

impl Chamber {
    /// A chamber with a clearance ratio c: the volume never swept over the volume swept. Error 101 if it is negative or above 1.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::Chamber::new(1.5).unwrap_err().code(), 101);
    /// ```
    pub fn new(clearance_ratio: f64) -> Result<Self> {
        if not_negative(Quantity::ClearanceRatio, clearance_ratio)? > 1.0 {
            return Err(Error::Domain {
                quantity: Quantity::ClearanceRatio,
                value: clearance_ratio,
                rule: "1 at most: the swept volume must not be smaller than the clearance",
            });
        }
        Ok(Self { clearance_ratio })
    }

    /// The clearance ratio c.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::Chamber::new(0.0)?.clearance_ratio(), 0.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn clearance_ratio(&self) -> f64 {
        self.clearance_ratio
    }

    /// Mass delivered over the mass that the swept volume holds at suction, `1 - c (rho_2/rho_1 - 1)`, from the densities in kg/m3 at
    /// suction and where the outlet valve opens.
    ///
    /// *Source*: mass balance of the cylinder at the ends of the stroke. Error 101 for densities that are not positive, or if the
    /// clearance takes the whole stroke.
    ///
    /// ```
    /// // 1 - 0.2 (970 / 920 - 1).
    /// let efficiency = densepath::hardware::Chamber::new(0.2)?.volumetric_efficiency(920.0, 970.0)?;
    /// assert!((efficiency - 0.98913).abs() < 1e-5);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn volumetric_efficiency(
        &self,
        suction_density: f64,
        delivery_density: f64,
    ) -> Result<f64> {
        let suction = positive(Quantity::Density, suction_density)?;
        let delivery = positive(Quantity::Density, delivery_density)?;
        let efficiency = 1.0 - self.clearance_ratio * (delivery / suction - 1.0);
        if efficiency > 0.0 {
            return Ok(efficiency);
        }
        Err(Error::Domain {
            quantity: Quantity::ClearanceRatio,
            value: self.clearance_ratio,
            rule: "smaller: at this delivery pressure the whole stroke is compression and nothing is delivered",
        })
    }

    /// Mass flow rate in kg/s of a piston that sweeps a volume flow rate in m3/s, `q_V rho_1 (1 - c (rho_2/rho_1 - 1))`; as
    /// [`Chamber::volumetric_efficiency`]. It asks for no memory, for loops that correct a flow.
    ///
    /// ```
    /// use densepath::hardware::Chamber;
    /// let flow = Chamber::new(0.1)?.mass_flow_rate(5e-8, 900.0, 945.0)?;
    /// assert!((flow / (5e-8 * 900.0 * 0.995) - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn mass_flow_rate(
        &self,
        displacement_rate: f64,
        suction_density: f64,
        delivery_density: f64,
    ) -> Result<f64> {
        let swept = positive(Quantity::VolumeFlowRate, displacement_rate)? * suction_density;
        Ok(swept * self.volumetric_efficiency(suction_density, delivery_density)?)
    }

    /// The stroke from a suction state to a delivery pressure in Pa with a share of it that is isothermal, from 0 for isentropic to 1.
    ///
    /// *Valid* for a stroke slow against the speed of sound. *Uncertainty*: that of the equation of state; the share is the user's.
    /// *Source*: mass balance of the cylinder at the ends of the stroke; the isothermal and the isentropic path bound the real one.
    ///
    /// Error 504 if the feed is not liquid, 503 if the delivery pressure is not above the feed, 101 for a share outside 0 to 1 or if the
    /// clearance takes the whole stroke.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{Chamber, Cushion, Drive, PistonMotion}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let compression = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?.expected;
    /// # let drive = Drive { heads: 2, swept_volume: 50e-9, compensated_volume_fraction: 0.0 };
    /// // The stroke that keeps its temperature ends at the density of the state there.
    /// let stroke = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?;
    /// assert!((stroke.isothermal.density / State::from_tp(&fluid, 278.15, 150e5)?.density() - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn stroke(
        &self,
        suction: &State,
        delivery_pressure: f64,
        isothermal_share: f64,
    ) -> Result<Stroke> {
        let share = fraction(Quantity::Ratio, isothermal_share)?;
        self.between(&Limits::new(suction, delivery_pressure)?, share)
    }

    /// The isothermal share that a relaxation time in s makes of strokes whose duration in s follows from their compression.
    ///
    /// The fluid warms evenly while it is compressed and cools towards the head: of the isentropic rise `(tau/t) (1 - e^(-t/tau))` is
    /// left after the time t of the compression, which in turn is longer the more isothermal it is. *Source*: exact solution of
    /// `d theta/dt + theta/tau = const`.
    pub(super) fn relaxed(
        self,
        limits: &Limits<'_>,
        relaxation_time: f64,
        duration: impl Fn(&Compression) -> Result<f64>,
    ) -> Result<f64> {
        let excess = |share: f64| -> Result<f64> {
            let compression = self.part_of(limits, share)?;
            let time = compression.stroke_fraction * duration(&compression)?;
            let turns = time / relaxation_time;
            // Of short strokes the leading term, where the difference would vanish.
            let kept = if turns < 1e-6 {
                1.0 - 0.5 * turns
            } else {
                -(-turns).exp_m1() / turns
            };
            Ok(share - (1.0 - kept))
        };
        let tolerance = Tolerance {
            relative: 1e-12,
            ..Tolerance::default()
        };
        bracketed("isothermal share of a stroke", 0.0, 1.0, tolerance, excess)
    }

    /// The stroke of an isothermal share, with its two limits.
    pub(super) fn between(self, limits: &Limits<'_>, share: f64) -> Result<Stroke> {
        let mut stroke = Stroke {
            isothermal: self.part_of(limits, 1.0)?,
            isentropic: self.part_of(limits, 0.0)?,
            expected: self.part_of(limits, share)?,
            isothermal_share: share,
            bookkeeping_error: limits.hot.density() / limits.cold.density() - 1.0,
            notices: Vec::new(),
        };
        stroke.notices = judge(&stroke);
        Ok(stroke)
    }

    /// The compression of an isothermal share, interpolated in specific volume and temperature.
    fn part_of(self, limits: &Limits<'_>, share: f64) -> Result<Compression> {
        let (cold, hot) = (&limits.cold, &limits.hot);
        let volume = share / cold.density() + (1.0 - share) / hot.density();
        let temperature = share * cold.temperature() + (1.0 - share) * hot.temperature();
        self.compression(limits.suction, temperature, 1.0 / volume)
    }

    fn compression(self, suction: &State, temperature: f64, density: f64) -> Result<Compression> {
        let ratio = suction.density() / density;
        let volumetric_efficiency = self.volumetric_efficiency(suction.density(), density)?;
        Ok(Compression {
            temperature,
            density,
            volume_fraction: 1.0 - ratio,
            volumetric_efficiency,
            stroke_fraction: (1.0 + self.clearance_ratio) * (1.0 - ratio),
        })
    }
}

/// The two ends between which a stroke ends.
pub(super) struct Limits<'a> {
    suction: &'a State,
    cold: State,
    hot: State,
    delivery_pressure: f64,
}

impl<'a> Limits<'a> {
    /// The isothermal and the isentropic end of a stroke to a pressure in Pa.
    pub(super) fn new(suction: &'a State, delivery_pressure: f64) -> Result<Self> {
        require_liquid(suction)?;
        if delivery_pressure <= suction.pressure() {
            return Err(Error::FlowReversed {
                inlet: delivery_pressure,
                outlet: suction.pressure(),
            });
        }
        let fluid = suction.fluid();
        Ok(Self {
            suction,
            cold: State::from_tp(fluid, suction.temperature(), delivery_pressure)?,
            hot: State::from_ps(fluid, delivery_pressure, suction.specific_entropy())?,
            delivery_pressure,
        })
    }

    /// Density in kg/m3 at the end of the isothermal stroke.
    pub(super) fn isothermal_density(&self) -> f64 {
        self.cold.density()
    }

    /// Pressure in Pa at which the outlet valve opens.
    pub(super) fn delivery_pressure(&self) -> f64 {
        self.delivery_pressure
    }
}

fn judge(stroke: &Stroke) -> Vec<Notice> {
    let mut notices = Vec::new();
    let expected = &stroke.expected;
    if expected.stroke_fraction > LARGEST_STROKE_FRACTION
        || expected.volumetric_efficiency < SMALLEST_VOLUMETRIC_EFFICIENCY
    {
        notices.push(Notice::new(
            NoticeCode::Pulsation,
            format!(
                "{} % of the stroke is compression and the volumetric efficiency is {}: flow and pressure pulsate, and \
                 so does the baseline. Chill the head, or take a pump with less clearance",
                rounded(100.0 * expected.stroke_fraction),
                rounded(expected.volumetric_efficiency),
            ),
        ));
    }
    if stroke.bookkeeping_error.abs() > SMALL_DIFFERENCE {
        notices.push(
            Notice::new(
                NoticeCode::Estimated,
                format!(
                    "an isentropic stroke delivers {} % less mass than an isothermal one; the real stroke lies between: \
                     measure the mass flow at the vent",
                    rounded(-100.0 * stroke.bookkeeping_error)
                ),
            )
            .about(Quantity::MassFlowRate),
        );
    }
    notices
}
