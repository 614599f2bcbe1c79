//! The chilled reciprocating pump: mass flow, compression in the stroke, cooling of the head.

use densepath_fluid::error::{Error, Result, fraction, not_negative, positive};
use densepath_fluid::notice::rounded_apart;
use densepath_fluid::units::BAR;
use densepath_fluid::{Notice, NoticeCode, Quantity, State};

use super::set_flow::{CountedAt, CountingConditions, SetFlow};
use super::stroke::{Chamber, Compression, Limits, Stroke};
use super::suction_line::require_liquid;

/// A piston pump with a head of known temperature.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
/// assert_eq!(pump.head_temperature(), 278.15);
/// // 3 mL/min of liquid at 5 degC and 60 bar, 908 kg/m3: 2.7 g/min.
/// let flow = pump.mass_flow_rate(&suction, 150e5, 313.15, 140e5)?;
/// assert!((flow / (50e-9 * suction.density()) - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReciprocatingPump {
    set_flow: SetFlow,
    head_temperature: f64,
    chamber: Chamber,
    isothermal_share: f64,
    relaxation_time: Option<f64>,
    heads: Option<Heads>,
    mechanical_efficiency: f64,
    leak_fraction: f64,
    pressure_limit: Option<f64>,
}

/// The heads of a pump, which deliver one after the other.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
/// let heads = pump.with_heads(2, 50e-9)?.heads();
/// assert!(heads.is_some_and(|heads| heads.count == 2 && heads.swept_volume == 50e-9));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heads {
    /// How many there are.
    pub count: u32,
    /// Volume in m3 that each sweeps in one stroke.
    pub swept_volume: f64,
}

/// Heat flow rates of the head in W.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
/// let warm = State::from_tp(&fluid, 293.15, 60e5)?;
/// let duty = pump.head_duty(&warm, &suction, 150e5, 5e-5)?;
/// // First law: the feed gives off what its enthalpy falls by.
/// let cooling = 5e-5 * (warm.specific_enthalpy() - suction.specific_enthalpy());
/// assert!((duty.feed_cooling / cooling - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeadDuty {
    /// To bring the feed from the state supplied to the temperature of the head.
    pub feed_cooling: f64,
    /// To keep the temperature during compression.
    pub compression_cooling: f64,
    /// Power that an isentropic compression puts into the fluid.
    pub isentropic_power: f64,
    /// Heat of friction at seals and guides, all of it taken to reach the head: an upper bound.
    pub friction: f64,
}

impl HeadDuty {
    /// All that the chiller takes out, in W; the heat of the room comes on top.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// let duty = pump.head_duty(&State::from_tp(&fluid, 293.15, 60e5)?, &suction, 150e5, 5e-5)?;
    /// assert!((duty.total() - duty.feed_cooling - duty.compression_cooling - duty.friction).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn total(&self) -> f64 {
        self.feed_cooling + self.compression_cooling + self.friction
    }
}

impl ReciprocatingPump {
    /// A pump with a head of a temperature T in K, set to a flow, without clearance, leak and limit, with an isothermal
    /// stroke. Error 101 for values that are not above zero.
    ///
    /// ```
    /// use densepath::hardware::{ReciprocatingPump, SetFlow};
    /// assert_eq!(ReciprocatingPump::new(278.15, SetFlow::Mass(0.0)).unwrap_err().code(), 101);
    /// ```
    pub fn new(head_temperature: f64, set_flow: SetFlow) -> Result<Self> {
        Ok(Self {
            head_temperature: positive(Quantity::Temperature, head_temperature)?,
            set_flow: set_flow.checked()?,
            chamber: Chamber::default(),
            isothermal_share: 1.0,
            relaxation_time: None,
            heads: None,
            mechanical_efficiency: 1.0,
            leak_fraction: 0.0,
            pressure_limit: None,
        })
    }

    /// The pump with a clearance ratio c: the volume that the piston never sweeps over the volume it does. Error 101 above 1.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// let real = pump.clone().with_clearance_ratio(0.2)?;
    /// // What the clearance holds back is not delivered.
    /// let flow = |pump: &ReciprocatingPump| pump.mass_flow_rate(&suction, 150e5, 313.15, 140e5);
    /// assert!(flow(&real)? < flow(&pump)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_clearance_ratio(self, clearance_ratio: f64) -> Result<Self> {
        Ok(Self {
            chamber: Chamber::new(clearance_ratio)?,
            ..self
        })
    }

    /// The pump with a number of heads that deliver one after the other, each sweeping a volume in m3: how long a stroke lasts. Error
    /// 101 without heads, or for a volume not above zero.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// assert_eq!(pump.with_heads(0, 50e-9).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_heads(self, count: u32, swept_volume: f64) -> Result<Self> {
        positive(Quantity::Ratio, f64::from(count))?;
        positive(Quantity::Volume, swept_volume)?;
        Ok(Self {
            heads: Some(Heads {
                count,
                swept_volume,
            }),
            ..self
        })
    }

    /// The pump with a volume in m3 that the pistons of its heads never sweep, in place of a clearance ratio. Error 104 for a pump without
    /// heads, 101 for a volume that is negative or larger than the swept one.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// let pump = pump.with_heads(2, 50e-9)?.with_clearance_volume(10e-9)?;
    /// assert!((pump.clearance_ratio() - 0.2).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_clearance_volume(self, clearance_volume: f64) -> Result<Self> {
        let heads = self.heads_for("clearance_volume")?;
        not_negative(Quantity::Volume, clearance_volume)?;
        self.with_clearance_ratio(clearance_volume / heads.swept_volume)
    }

    /// The pump with a stroke between isothermal (1) and isentropic (0).
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// let isentropic = pump.with_isothermal_share(0.0)?.stroke(&suction, 150e5)?;
    /// // Without heat the fluid is warmer when the outlet valve opens.
    /// assert!(isentropic.expected.temperature > 278.15 + 1.0);
    /// assert_eq!(isentropic.expected.temperature, isentropic.isentropic.temperature);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_isothermal_share(self, isothermal_share: f64) -> Result<Self> {
        Ok(Self {
            isothermal_share: fraction(Quantity::Ratio, isothermal_share)?,
            relaxation_time: None,
            ..self
        })
    }

    /// The pump with a time constant in s in which its fluid takes on the temperature of the head, in place of an isothermal share: short
    /// against the compression it is isothermal, long against it isentropic.
    ///
    /// *Valid*: a head that cools its fluid like one body. *Uncertainty*: the time constant is measured; parts of a second to some
    /// seconds (common practice, no source). Error 104 for a pump without heads, 101 for a time not above zero.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// let pump = pump.with_heads(2, 50e-9)?;
    /// let share = |time| pump.clone().with_relaxation_time(time)?.stroke_at_flow(&suction, 150e5, 5e-5).map(|stroke| stroke.isothermal_share);
    /// // A quick head keeps the temperature, a slow one none of it.
    /// assert!(share(1e-4)? > 0.95 && share(100.0)? < 0.05);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_relaxation_time(self, relaxation_time: f64) -> Result<Self> {
        self.heads_for("relaxation_time")?;
        Ok(Self {
            relaxation_time: Some(positive(Quantity::Time, relaxation_time)?),
            ..self
        })
    }

    /// The pump with a mechanical efficiency from above 0 to 1: the work on the fluid over that of the piston. What is lost is friction,
    /// and heats the head.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// let friction = |efficiency| pump.clone().with_mechanical_efficiency(efficiency)?.head_duty(&suction, &suction, 150e5, 5e-5).map(|duty| duty.friction);
    /// // Half of the work of the piston lost is as much as the fluid gets.
    /// assert!(friction(1.0)? == 0.0 && friction(0.5)? > 0.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_mechanical_efficiency(self, mechanical_efficiency: f64) -> Result<Self> {
        positive(Quantity::Ratio, mechanical_efficiency)?;
        Ok(Self {
            mechanical_efficiency: fraction(Quantity::Ratio, mechanical_efficiency)?,
            ..self
        })
    }

    fn heads_for(&self, argument: &str) -> Result<Heads> {
        self.heads.ok_or_else(|| Error::Argument {
            argument: argument.to_owned(),
            expected: "a pump whose heads and swept volume are known",
            got: "a pump without them".to_owned(),
        })
    }

    /// The pump with a share of the mass flow lost at seals and valves.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// let flow = |pump: &ReciprocatingPump| pump.mass_flow_rate(&suction, 150e5, 313.15, 140e5);
    /// assert!((flow(&pump.clone().with_leak_fraction(0.02)?)? / flow(&pump)? - 0.98).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_leak_fraction(self, leak_fraction: f64) -> Result<Self> {
        Ok(Self {
            leak_fraction: fraction(Quantity::MassFraction, leak_fraction)?,
            ..self
        })
    }

    /// The pump with a highest pressure in Pa.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// assert_eq!(pump.with_pressure_limit(400e5)?.pressure_limit(), Some(400e5));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_pressure_limit(self, pressure_limit: f64) -> Result<Self> {
        Ok(Self {
            pressure_limit: Some(positive(Quantity::Pressure, pressure_limit)?),
            ..self
        })
    }

    /// Temperature of the head in K.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// assert_eq!(pump.head_temperature(), 278.15);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn head_temperature(&self) -> f64 {
        self.head_temperature
    }

    /// The clearance ratio c.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// assert_eq!((pump.clearance_ratio(), pump.with_clearance_ratio(0.2)?.clearance_ratio()), (0.0, 0.2));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn clearance_ratio(&self) -> f64 {
        self.chamber.clearance_ratio()
    }

    /// Its heads, if they are known.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// assert!(pump.heads().is_none() && pump.with_heads(2, 50e-9)?.heads().is_some());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn heads(&self) -> Option<Heads> {
        self.heads
    }

    /// Share of the mass flow lost at seals and valves.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// assert_eq!(pump.with_leak_fraction(0.02)?.leak_fraction(), 0.02);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn leak_fraction(&self) -> f64 {
        self.leak_fraction
    }

    /// The flow it is set to.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// assert_eq!(pump.set_flow(), SetFlow::Volume(50e-9, CountedAt::Suction));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn set_flow(&self) -> SetFlow {
        self.set_flow
    }

    /// Highest pressure in Pa, if one is stated.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// assert_eq!(pump.pressure_limit(), None);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn pressure_limit(&self) -> Option<f64> {
        self.pressure_limit
    }

    /// Mass flow rate `q_m` in kg/s that leaves the pump.
    ///
    /// A volume counted at suction is what the pistons sweep, of which the clearance holds back what its fluid expands to; other volumes
    /// and a mass are what the pump is told to deliver. *Uncertainty*: how well the pump corrects for compression is not in it; see
    /// [`Stroke::bookkeeping_error`].
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// // A set mass is delivered whatever the density.
    /// let pump = ReciprocatingPump::new(278.15, SetFlow::Mass(5e-5))?;
    /// assert_eq!(pump.mass_flow_rate(&suction, 150e5, 313.15, 140e5)?, 5e-5);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn mass_flow_rate(
        &self,
        suction: &State,
        delivery_pressure: f64,
        oven_temperature: f64,
        oven_pressure: f64,
    ) -> Result<f64> {
        require_liquid(suction)?;
        let conditions = CountingConditions {
            head_temperature: self.head_temperature,
            suction_pressure: suction.pressure(),
            delivery_pressure,
            oven_temperature,
            oven_pressure,
        };
        let set = self.set_flow.mass_flow_rate(suction.fluid(), &conditions)?;
        let is_swept = matches!(self.set_flow, SetFlow::Volume(_, CountedAt::Suction));
        let efficiency =
            if is_swept && self.clearance_ratio() > 0.0 && delivery_pressure > suction.pressure() {
                let stroke = self.stroke(suction, delivery_pressure)?;
                stroke.expected.volumetric_efficiency
            } else {
                1.0
            };
        Ok(set * efficiency * (1.0 - self.leak_fraction))
    }

    /// Frequency in Hz of the strokes of one head at a mass flow rate in kg/s that leaves the pump: `q_m/((1 - l) n V_s rho_1 eta)`, with
    /// the share l that leaks. *Source*: mass balance.
    ///
    /// Error 104 for a pump without heads, 101 for a flow not above zero.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// let pump = pump.with_heads(2, 50e-9)?;
    /// let stroke = pump.stroke(&suction, 150e5)?.expected;
    /// // Without clearance: q_m / (n V_s rho), half a stroke a second for 3 mL/min.
    /// let frequency = pump.stroke_frequency(&suction, &stroke, 50e-9 * suction.density())?;
    /// assert!((frequency - 0.5).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn stroke_frequency(
        &self,
        suction: &State,
        compression: &Compression,
        mass_flow_rate: f64,
    ) -> Result<f64> {
        let heads = self.heads_for("stroke_frequency")?;
        let pumped = positive(Quantity::MassFlowRate, mass_flow_rate)? / (1.0 - self.leak_fraction);
        let stroke = heads.swept_volume * suction.density() * compression.volumetric_efficiency;
        Ok(pumped / (stroke * f64::from(heads.count)))
    }

    /// The stroke from a suction state to a delivery pressure in Pa.
    ///
    /// *Valid* for a stroke slow against the speed of sound. *Source*: mass balance of the cylinder at the ends of the
    /// stroke; the isothermal and the isentropic path bound the real one.
    ///
    /// Error 504 if the feed is not liquid, 503 if the delivery pressure is not above the feed, 101 if the clearance takes
    /// the whole stroke, 104 for a relaxation time where the flow is counted at the oven: see [`ReciprocatingPump::stroke_at_flow`].
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// let stroke = pump.stroke(&suction, 150e5)?;
    /// // The real stroke lies between the two limits.
    /// assert!(stroke.isothermal.density >= stroke.expected.density && stroke.expected.density >= stroke.isentropic.density);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn stroke(&self, suction: &State, delivery_pressure: f64) -> Result<Stroke> {
        let limits = Limits::new(suction, delivery_pressure)?;
        let share = match self.relaxation_time {
            None => self.isothermal_share,
            Some(time) => {
                let heads = self.heads_for("relaxation_time")?;
                let swept = heads.swept_volume;
                self.chamber.relaxed(&limits, time, |compression| {
                    let mass = swept * suction.density() * compression.volumetric_efficiency;
                    match self.set_flow {
                        SetFlow::Mass(rate) => Ok(mass / rate),
                        SetFlow::Volume(rate, CountedAt::Suction) => Ok(swept / rate),
                        SetFlow::Volume(rate, CountedAt::Delivery) => {
                            Ok(mass / (rate * limits.isothermal_density()))
                        }
                        SetFlow::Volume(..) => Err(Error::Argument {
                            argument: "relaxation_time".to_owned(),
                            expected: "a flow by mass, or counted at suction or delivery",
                            got: "a flow counted elsewhere".to_owned(),
                        }),
                    }
                })?
            }
        };
        self.within_limit(&limits, share)
    }

    /// The stroke as [`ReciprocatingPump::stroke`] at a mass flow rate in kg/s that leaves the pump, which tells how long it lasts.
    ///
    /// Errors as there, and 101 for a flow not above zero.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// let pump = pump.with_heads(2, 50e-9)?.with_relaxation_time(0.1)?;
    /// let share = |flow| pump.stroke_at_flow(&suction, 150e5, flow).map(|stroke| stroke.isothermal_share);
    /// // The faster the pump, the less heat it can give off.
    /// assert!(share(5e-5)? < share(1e-5)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn stroke_at_flow(
        &self,
        suction: &State,
        delivery_pressure: f64,
        mass_flow_rate: f64,
    ) -> Result<Stroke> {
        let Some(time) = self.relaxation_time else {
            return self.stroke(suction, delivery_pressure);
        };
        let limits = Limits::new(suction, delivery_pressure)?;
        let heads = f64::from(self.heads_for("relaxation_time")?.count);
        let share = self.chamber.relaxed(&limits, time, |compression| {
            let frequency = self.stroke_frequency(suction, compression, mass_flow_rate)?;
            Ok(1.0 / (heads * frequency))
        })?;
        self.within_limit(&limits, share)
    }

    /// The stroke of an isothermal share, told of where it needs more pressure than the pump has.
    fn within_limit(&self, limits: &Limits<'_>, share: f64) -> Result<Stroke> {
        let mut stroke = self.chamber.between(limits, share)?;
        let delivery_pressure = limits.delivery_pressure();
        if let Some(limit) = self
            .pressure_limit
            .filter(|limit| delivery_pressure > *limit)
        {
            let (needed, limit) = rounded_apart(delivery_pressure / BAR, limit / BAR);
            let text = format!(
                "the pump would have to deliver {needed} bar(a), above its limit of {limit} bar(a)"
            );
            let notice = Notice::new(NoticeCode::Overpressure, text);
            stroke.notices.push(notice.about(Quantity::Pressure));
        }
        Ok(stroke)
    }

    /// Heat flow rates of the head at a mass flow rate in kg/s, from the state supplied and the feed at the head.
    ///
    /// *Valid* for a steady flow; a vapour supplied is condensed. *Source*: first law; the heat of an isothermal
    /// compression is `q_m T (s_1 - s_2)`.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// let duty = pump.head_duty(&suction, &suction, 150e5, 5e-5)?;
    /// // A cold feed costs nothing; the isothermal compression gives off q_m T (s_1 - s_2).
    /// let end = State::from_tp(&fluid, 278.15, 150e5)?;
    /// let heat = 5e-5 * 278.15 * (suction.specific_entropy() - end.specific_entropy());
    /// assert!(duty.feed_cooling.abs() < 1e-9 && (duty.compression_cooling / heat - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn head_duty(
        &self,
        supply: &State,
        suction: &State,
        delivery_pressure: f64,
        mass_flow_rate: f64,
    ) -> Result<HeadDuty> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let fluid = suction.fluid();
        let cold = State::from_tp(fluid, suction.temperature(), delivery_pressure)?;
        let hot = State::from_ps(fluid, delivery_pressure, suction.specific_entropy())?;
        let heat = suction.temperature() * (suction.specific_entropy() - cold.specific_entropy());
        let isentropic_power =
            mass_flow_rate * (hot.specific_enthalpy() - suction.specific_enthalpy());
        Ok(HeadDuty {
            feed_cooling: mass_flow_rate
                * (supply.specific_enthalpy() - suction.specific_enthalpy()),
            compression_cooling: mass_flow_rate * heat,
            isentropic_power,
            friction: isentropic_power * (1.0 / self.mechanical_efficiency - 1.0),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};
    use densepath_fluid::units::{MILLILITRE_PER_MINUTE, from_celsius, to_celsius};
    use proptest::prelude::*;

    const THREE: SetFlow = SetFlow::Volume(3.0 * MILLILITRE_PER_MINUTE, CountedAt::Delivery);

    fn pump(clearance_ratio: f64) -> ReciprocatingPump {
        ReciprocatingPump::new(from_celsius(5.0), THREE)
            .and_then(|pump| pump.with_clearance_ratio(clearance_ratio))
            .unwrap()
    }

    fn suction() -> State {
        State::from_tp(&co2(), from_celsius(5.0), 57.3 * BAR).unwrap()
    }

    fn stroke(clearance_ratio: f64, bar: f64) -> Stroke {
        pump(clearance_ratio).stroke(&suction(), bar * BAR).unwrap()
    }

    /// Suction 5 degC, 57.3 bar: independent computation with CoolProp 8.0.0.
    #[test]
    fn compression_fractions_and_temperatures() {
        for (bar, isothermal, isentropic, degc) in [
            (150.0, 0.0641922, 0.029722, 12.3934),
            (300.0, 0.118319, 0.0637192, 22.162),
            (600.0, 0.1770, 0.108956, 37.5513),
        ] {
            let stroke = stroke(0.0, bar);
            let tolerance = if bar == 600.0 { 3e-4 } else { 1e-5 };
            assert!(close(
                stroke.isothermal.volume_fraction,
                isothermal,
                tolerance
            ));
            assert!(close(stroke.isentropic.volume_fraction, isentropic, 1e-5));
            assert!(close(to_celsius(stroke.isentropic.temperature), degc, 1e-5));
            assert_eq!(stroke.isothermal.volumetric_efficiency, 1.0);
        }
    }

    /// Efficiency of the isothermal stroke, then stroke fractions, isothermal and isentropic: independent computation with
    /// CoolProp 8.0.0.
    #[test]
    fn clearance_costs_efficiency_and_stroke() {
        for (clearance, bar, efficiency, isothermal, isentropic) in [
            (0.2, 150.0, 0.986281, 0.0770307, 0.0356664),
            (1.0, 150.0, 0.931404, 0.128384, 0.059444),
            (0.2, 300.0, 0.97316, 0.141983, 0.076463),
            (1.0, 300.0, 0.865802, 0.236639, 0.127438),
            (1.0, 600.0, 0.784953, 0.353973, 0.217911),
        ] {
            let stroke = stroke(clearance, bar);
            assert!(close(
                stroke.isothermal.volumetric_efficiency,
                efficiency,
                1e-5
            ));
            assert!(close(stroke.isothermal.stroke_fraction, isothermal, 1e-5));
            assert!(close(stroke.isentropic.stroke_fraction, isentropic, 1e-5));
        }
        let narrow = stroke(0.2, 600.0);
        assert!(close(narrow.isothermal.stroke_fraction, 0.212384, 1e-5));
        assert!(close(narrow.isentropic.stroke_fraction, 0.130747, 1e-5));
    }

    /// Percent at 300 bar: independent computation with CoolProp 8.0.0.
    #[test]
    fn isothermal_bookkeeping_of_an_isentropic_stroke() {
        let stroke = stroke(0.0, 300.0);
        assert!(close(100.0 * stroke.bookkeeping_error, -5.83161, 1e-4));
        assert_eq!(stroke.notices[0].code, NoticeCode::Estimated);
    }

    /// W at 10 mL/min counted at 5 degC and 150 bar, feed 5 degC at the pressure of the cylinder: independent computation
    /// with CoolProp 8.0.0.
    #[test]
    fn heat_of_the_head() {
        let flow = SetFlow::Volume(10.0 * MILLILITRE_PER_MINUTE, CountedAt::Delivery);
        let pump = ReciprocatingPump::new(from_celsius(5.0), flow).unwrap();
        let duty = |degc: f64, vapour: bool| {
            let saturation = co2().saturation_at_temperature(from_celsius(degc)).unwrap();
            let supply = if vapour {
                saturation.vapour
            } else {
                saturation.liquid
            };
            let suction = State::from_tp(&co2(), from_celsius(5.0), supply.pressure()).unwrap();
            let rate = pump
                .mass_flow_rate(&suction, 150.0 * BAR, 313.15, 150.0 * BAR)
                .unwrap();
            pump.head_duty(&supply, &suction, 150.0 * BAR, rate)
                .unwrap()
        };
        let at_20 = duty(20.0, false);
        assert!(close(at_20.feed_cooling, 7.44892, 1e-5));
        assert!(close(at_20.compression_cooling, 2.52063, 1e-5));
        assert!(close(at_20.isentropic_power, 1.62522, 1e-5));
        assert!(close(at_20.total(), 7.44892 + 2.52063, 1e-5));
        let at_25 = duty(25.0, false);
        assert!(close(at_25.feed_cooling, 10.6535, 1e-5));
        assert!(close(at_25.compression_cooling, 2.27225, 1e-5));
        assert!(close(at_25.isentropic_power, 1.49379, 1e-5));
        assert!(close(duty(20.0, true).feed_cooling, 32.2087, 1e-5));
    }

    #[test]
    fn a_leak_takes_its_share_and_a_limit_is_watched() {
        let tight = pump(0.0);
        let leaking = tight
            .with_leak_fraction(0.02)
            .and_then(|pump| pump.with_pressure_limit(140.0 * BAR))
            .unwrap();
        let rate = |pump: ReciprocatingPump| {
            pump.mass_flow_rate(&suction(), 150.0 * BAR, 313.15, 150.0 * BAR)
                .unwrap()
        };
        assert!(close(rate(leaking), 0.98 * rate(tight), 1e-12));
        let notices = leaking.stroke(&suction(), 150.0 * BAR).unwrap().notices;
        assert!(notices.iter().any(|n| n.code == NoticeCode::Overpressure));
    }

    #[test]
    fn a_stroke_that_is_mostly_compression_pulsates() {
        let codes: Vec<_> = stroke(1.0, 600.0).notices.iter().map(|n| n.code).collect();
        assert_eq!(codes, [NoticeCode::Pulsation, NoticeCode::Estimated]);
    }

    #[test]
    fn what_cannot_be_pumped_is_an_error() {
        let pump = pump(0.0);
        let vapour = State::from_tp(&co2(), from_celsius(20.0), 50.0 * BAR).unwrap();
        assert_eq!(pump.stroke(&vapour, 150e5).unwrap_err().code(), 504);
        let error = pump
            .mass_flow_rate(&vapour, 150e5, 313.15, 150e5)
            .unwrap_err();
        assert_eq!(error.code(), 504);
        assert_eq!(pump.stroke(&suction(), 57.3e5).unwrap_err().code(), 503);
        // Near the critical point the density may double and more on compression: then the clearance takes the whole stroke.
        let near = co2().saturation_at_temperature(304.12).unwrap().liquid;
        let wide = pump.with_clearance_ratio(1.0).unwrap();
        let refused = wide.stroke(&near, 1500e5).unwrap_err();
        assert_eq!((refused.code(), refused.value()), (101, Some(1.0)));
        for bad in [-0.1, 1.1, f64::NAN] {
            assert_eq!(pump.with_clearance_ratio(bad).unwrap_err().code(), 101);
            assert_eq!(pump.with_isothermal_share(bad).unwrap_err().code(), 101);
            assert_eq!(pump.with_leak_fraction(bad).unwrap_err().code(), 101);
        }
        for bad in [-0.1, f64::NAN] {
            assert_eq!(pump.with_pressure_limit(bad).unwrap_err().code(), 101);
            assert_eq!(ReciprocatingPump::new(bad, THREE).unwrap_err().code(), 101);
        }
    }

    fn of_geometry(relaxation_time: f64, clearance_volume: f64) -> ReciprocatingPump {
        ReciprocatingPump::new(from_celsius(5.0), THREE)
            .and_then(|pump| pump.with_heads(2, 50e-9))
            .and_then(|pump| pump.with_clearance_volume(clearance_volume))
            .and_then(|pump| pump.with_relaxation_time(relaxation_time))
            .unwrap()
    }

    /// Short against the compression the head keeps its temperature, long against it nothing is exchanged; between, the heat that is left
    /// is that of a fine-step integration of `d theta/dt = q - theta/tau`.
    #[test]
    fn a_relaxation_time_places_the_stroke_between_its_limits() {
        let stroke = |tau| {
            of_geometry(tau, 10e-9)
                .stroke(&suction(), 300.0 * BAR)
                .unwrap()
        };
        assert!(stroke(1e-6).isothermal_share > 0.9999);
        assert!(stroke(1e6).isothermal_share < 1e-6);
        let tau = 0.2;
        let found = stroke(tau);
        let (real, cold) = (found.expected, found.isothermal);
        let flow = 3.0 * MILLILITRE_PER_MINUTE * cold.density;
        let duration = 50e-9 * suction().density() * real.volumetric_efficiency / flow;
        let time = real.stroke_fraction * duration;
        let steps = 100_000;
        let dt = time / f64::from(steps);
        let (mut left, rate) = (0.0, 1.0 / time);
        for _ in 0..steps {
            let middle = left + 0.5 * dt * (rate - left / tau);
            left += dt * (rate - middle / tau);
        }
        assert!(close(1.0 - found.isothermal_share, left, 1e-8), "{left}");
        let at_flow = of_geometry(tau, 10e-9)
            .stroke_at_flow(&suction(), 300.0 * BAR, flow)
            .unwrap();
        assert!(close(
            at_flow.isothermal_share,
            found.isothermal_share,
            1e-9
        ));
        let pump = of_geometry(tau, 10e-9);
        let frequency = pump.stroke_frequency(&suction(), &real, flow).unwrap();
        assert!(close(1.0 / frequency, 2.0 * duration, 1e-12));
    }

    #[test]
    fn a_geometry_makes_the_clearance_and_is_refused_where_it_cannot_be() {
        let made = of_geometry(1.0, 10e-9);
        assert!(close(made.clearance_ratio(), 0.2, 1e-15));
        let bare = ReciprocatingPump::new(from_celsius(5.0), THREE).unwrap();
        assert_eq!(bare.with_clearance_volume(1e-9).unwrap_err().code(), 104);
        assert_eq!(bare.with_relaxation_time(1.0).unwrap_err().code(), 104);
        assert_eq!(bare.with_heads(0, 5e-8).unwrap_err().code(), 101);
        assert_eq!(
            bare.with_mechanical_efficiency(1.1).unwrap_err().code(),
            101
        );
        let heads = bare.with_heads(2, 50e-9).unwrap();
        let refused = heads.with_clearance_volume(51e-9).unwrap_err();
        assert_eq!(refused.quantity(), Some(Quantity::ClearanceRatio));
        assert!(refused.to_string().contains("swept volume"), "{refused}");
        assert!(heads.with_clearance_volume(50e-9).is_ok());
    }

    /// What the pistons sweep at suction is held back in part by the clearance; what a pump is told to deliver is not.
    #[test]
    fn a_volume_counted_at_suction_is_swept() {
        let swept = SetFlow::Volume(3.0 * MILLILITRE_PER_MINUTE, CountedAt::Suction);
        let flow = |set, clearance| {
            ReciprocatingPump::new(from_celsius(5.0), set)
                .and_then(|pump| pump.with_clearance_ratio(clearance))
                .and_then(|pump| pump.mass_flow_rate(&suction(), 150.0 * BAR, 313.15, 150.0 * BAR))
                .unwrap()
        };
        let whole = 3.0 * MILLILITRE_PER_MINUTE * suction().density();
        assert!(close(flow(swept, 0.0), whole, 1e-14));
        let efficiency = stroke(0.2, 150.0).isothermal.volumetric_efficiency;
        assert!(close(flow(swept, 0.2), whole * efficiency, 1e-12));
        assert_eq!(flow(THREE, 0.2), flow(THREE, 0.0));
    }

    #[test]
    fn friction_heats_the_head() {
        let duty = |efficiency| {
            ReciprocatingPump::new(from_celsius(5.0), THREE)
                .and_then(|pump| pump.with_mechanical_efficiency(efficiency))
                .and_then(|pump| pump.head_duty(&suction(), &suction(), 150.0 * BAR, 5e-5))
                .unwrap()
        };
        let (without, with) = (duty(1.0), duty(0.8));
        assert_eq!(without.friction, 0.0);
        // Piston work is that of the fluid over 0.8.
        let work = with.isentropic_power + with.friction;
        assert!(close(0.8 * work, with.isentropic_power, 1e-14));
        assert!(close(with.total() - without.total(), with.friction, 1e-12));
    }

    proptest! {
        #[test]
        fn the_real_stroke_lies_between_its_bounds(
            share in 0.0f64..1.0, clearance in 0.0f64..1.0, bar in 60.0f64..600.0,
        ) {
            let stroke = pump(clearance)
                .with_isothermal_share(share)
                .and_then(|pump| pump.stroke(&suction(), bar * BAR))
                .unwrap();
            let (cold, hot, real) = (stroke.isothermal, stroke.isentropic, stroke.expected);
            prop_assert!(cold.density >= hot.density);
            prop_assert!(real.density <= cold.density * (1.0 + 1e-12));
            prop_assert!(real.density >= hot.density * (1.0 - 1e-12));
            prop_assert!(real.volumetric_efficiency > 0.0 && real.volumetric_efficiency <= 1.0);
            // What enters per stroke leaves it: efficiency and stroke fraction say the same.
            let delivered = (1.0 - real.stroke_fraction) * real.density / suction().density();
            prop_assert!(close(delivered, real.volumetric_efficiency, 1e-9));
        }
    }
}
