//! What can hurt: gas in a room, liquid shut in between two valves, vessels under pressure, vapours that burn.
//!
//! These are estimates for planning. Local codes and licensed practice decide.

mod flammable;
mod vessel;

use densepath_fluid::error::{Error, Result, finite, fraction, not_negative, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::units::{BAR, MILLILITRE, MILLILITRE_PER_MINUTE, MINUTE, to_celsius};
use densepath_fluid::{Fluid, Notice, NoticeCode, Phase, Quantity, State};

use super::vent::specific_gas_volume;
pub use flammable::{
    FlammableRecord, VapourInVent, flammable_records, judge_stream, vapour_in_vent,
};
pub use vessel::{
    Drawn, LetDown, LetDownCourse, LetDownPoint, StoredEnergy, TubeRating, stored_energy,
    tube_rating,
};

/// Carbon dioxide in air that may be breathed for a working day, as volume fraction: 5000 ppm, permissible exposure limit
/// of 29 CFR 1910.1000, table Z-1 (seen quoted).
pub const EXPOSURE_LIMIT_DAY: f64 = 5_000e-6;
/// The same for 15 minutes: 30000 ppm, the short-term limit of the ACGIH (seen quoted).
pub const EXPOSURE_LIMIT_SHORT: f64 = 30_000e-6;
/// Immediately dangerous to life or health: 40000 ppm, NIOSH documentation of 1994 (seen quoted).
pub const DANGER_TO_LIFE: f64 = 40_000e-6;
/// Carbon dioxide in clean air, as volume fraction: 420 ppm, common practice, no source.
pub const BACKGROUND: f64 = 420e-6;
/// Oxygen in dry air, as volume fraction: 20.9 %, common practice, no source.
pub const OXYGEN_IN_AIR: f64 = 0.209;
/// Carbon dioxide in a room, as volume fraction, up to which no caution is given: 1000 ppm, usual indoors (common practice, no
/// source).
const USUAL_INDOORS: f64 = 1_000e-6;
/// Share of the rating of a part that a shut-in liquid may reach: common practice, no source.
const RATING_SHARE: f64 = 0.9;

/// A ventilated room.
///
/// ```
/// use densepath::hardware::safety::Room;
/// // 50 m3 with 6 changes of air an hour: 1.6 L/min of gas add 320 ppm in the end.
/// let room = Room::new(50.0, 6.0 / 3600.0)?.with_background(0.0)?;
/// assert!((room.steady_fraction(1.6e-3 / 60.0)? - 320e-6).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    volume: f64,
    air_change_rate: f64,
    background: f64,
}

/// What a vent into a room does to its air.
///
/// ```
/// use densepath::hardware::safety::Room;
/// let exposure = Room::new(50.0, 6.0 / 3600.0)?.exposure(1.6e-3 / 60.0)?;
/// // Far below the limit of a working day, and it never gets there.
/// assert!(exposure.steady_fraction < 0.005 && exposure.time_to_exposure_limit.is_none());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct RoomExposure {
    /// Volume fraction of the gas after a long time, mixed; at most 1.
    pub steady_fraction: f64,
    /// Volume fraction of oxygen then.
    pub oxygen_fraction: f64,
    /// Time in s until the limit of a working day is reached; none if it never is.
    pub time_to_exposure_limit: Option<f64>,
    /// What to know.
    pub notices: Vec<Notice>,
}

impl Room {
    /// A room of a volume in m3 whose air is changed at a rate in 1/s (6 changes an hour are 6/3600).
    /// Error 101 for a volume not above zero or a negative rate.
    ///
    /// ```
    /// use densepath::hardware::safety::Room;
    /// assert!(Room::new(50.0, 0.0).is_ok());
    /// assert_eq!(Room::new(0.0, 1e-3).unwrap_err().code(), 101);
    /// ```
    pub fn new(volume: f64, air_change_rate: f64) -> Result<Self> {
        Ok(Self {
            volume: positive(Quantity::Volume, volume)?,
            air_change_rate: not_negative(Quantity::Frequency, air_change_rate)?,
            background: BACKGROUND,
        })
    }

    /// The room with a volume fraction of the gas in the air that comes in.
    ///
    /// ```
    /// use densepath::hardware::safety::Room;
    /// let with = |background| Room::new(50.0, 1e-3)?.with_background(background);
    /// // Outdoor air brings 0.04 % of carbon dioxide.
    /// let (clean, real) = (with(0.0)?, with(4e-4)?);
    /// assert!(real.steady_fraction(2e-5)? > clean.steady_fraction(2e-5)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_background(self, background: f64) -> Result<Self> {
        Ok(Self {
            background: fraction(Quantity::VolumeFraction, background)?,
            ..self
        })
    }

    /// Volume fraction of a gas after a time in s, from a source in m3/s at room conditions; at most 1.
    ///
    /// *Valid* for a room that is mixed and from which the volume of air changed is drawn off. Heavy gas collects near the
    /// floor and in pits, where it is several times more (3 to 10: common practice, no source).
    /// *Source*: mass balance of one zone, `C_0 + (q/Q) (1 - exp(-Q t/V))`.
    ///
    /// ```
    /// use densepath::hardware::safety::Room;
    /// let room = Room::new(50.0, 6.0 / 3600.0)?.with_background(0.0)?;
    /// // After one change of air 1 - 1/e of the end is reached.
    /// let share = room.fraction_after(2e-5, 600.0)? / room.steady_fraction(2e-5)?;
    /// assert!((share - 0.632).abs() < 1e-3);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn fraction_after(&self, gas_volume_flow_rate: f64, time: f64) -> Result<f64> {
        not_negative(Quantity::VolumeFlowRate, gas_volume_flow_rate)?;
        not_negative(Quantity::Time, time)?;
        // (1 - exp(-n t))/n, which is t without ventilation.
        let effective = if self.air_change_rate > 0.0 {
            -(-self.air_change_rate * time).exp_m1() / self.air_change_rate
        } else {
            time
        };
        Ok((self.background + gas_volume_flow_rate / self.volume * effective).min(1.0))
    }

    /// Volume fraction of a gas in the end, from a source in m3/s; 1 without ventilation.
    ///
    /// ```
    /// use densepath::hardware::safety::Room;
    /// // Without ventilation the gas fills the room.
    /// assert_eq!(Room::new(50.0, 0.0)?.steady_fraction(2e-5)?, 1.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn steady_fraction(&self, gas_volume_flow_rate: f64) -> Result<f64> {
        not_negative(Quantity::VolumeFlowRate, gas_volume_flow_rate)?;
        if gas_volume_flow_rate == 0.0 {
            return Ok(self.background);
        }
        let ventilation = self.air_change_rate * self.volume;
        Ok((self.background + gas_volume_flow_rate / ventilation).min(1.0))
    }

    /// Time in s until a volume fraction of a gas is reached from a source in m3/s; none if it never is.
    ///
    /// ```
    /// use densepath::hardware::safety::Room;
    /// let shut = Room::new(50.0, 0.0)?;
    /// let time = shut.time_to(2e-4, 0.005)?.unwrap_or(f64::INFINITY);
    /// assert!((shut.fraction_after(2e-4, time)? - 0.005).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn time_to(&self, gas_volume_flow_rate: f64, limit: f64) -> Result<Option<f64>> {
        fraction(Quantity::VolumeFraction, limit)?;
        not_negative(Quantity::VolumeFlowRate, gas_volume_flow_rate)?;
        let rise = limit - self.background;
        if rise <= 0.0 {
            return Ok(Some(0.0));
        }
        if gas_volume_flow_rate == 0.0 {
            return Ok(None);
        }
        let without_ventilation = rise * self.volume / gas_volume_flow_rate;
        if self.air_change_rate == 0.0 {
            return Ok(Some(without_ventilation));
        }
        let share = without_ventilation * self.air_change_rate;
        Ok((share < 1.0).then(|| -(-share).ln_1p() / self.air_change_rate))
    }

    /// Volume fraction of a gas if a mass in kg of a fluid is set free at once and mixes while it pushes air out.
    ///
    /// *Source*: mass balance of a mixed zone, `1 - (1 - C_0) exp(-V_gas/V)`.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::safety::Room};
    /// // A cylinder of 30 kg in a room of 50 m3: 16.3 m3 of gas, 1 - exp(-0.326).
    /// let fraction = Room::new(50.0, 0.0)?.fraction_after_release(&Fluid::new("carbon dioxide")?, 30.0)?;
    /// assert!((fraction - 0.278).abs() < 2e-3);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn fraction_after_release(&self, fluid: &Fluid, mass: f64) -> Result<f64> {
        positive(Quantity::Mass, mass)?;
        let gas = mass * specific_gas_volume(fluid)?;
        Ok(1.0 - (1.0 - self.background) * (-gas / self.volume).exp())
    }

    /// What a mass in kg of a fluid set free at once does to the air of the room, such as a whole cylinder.
    ///
    /// *Valid*: mixed. Errors: 101 for a mass not above zero; those of the gas.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::safety::Room};
    /// let release = Room::new(50.0, 0.0)?.release(&Fluid::new("carbon dioxide")?, 30.0)?;
    /// // Nobody may stay there: more than a quarter of the air is gas, and that is told.
    /// assert!(release.fraction > 0.25 && !release.notices.is_empty());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn release(&self, fluid: &Fluid, mass: f64) -> Result<RoomRelease> {
        let fraction = self.fraction_after_release(fluid, mass)?;
        Ok(RoomRelease {
            fraction,
            oxygen_fraction: oxygen_fraction(fraction)?,
            notices: judge_release(mass, fraction),
        })
    }

    /// Mass in kg of a fluid that brings a volume fraction of its gas into the room: the gas at 20 degC and 101325 Pa that
    /// this share of the room holds.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::safety::Room};
    /// // 3 % of 50 m3 are 1.5 m3 of gas: 2.76 kg.
    /// let mass = Room::new(50.0, 0.0)?.mass_for_fraction(&Fluid::new("carbon dioxide")?, 0.03)?;
    /// assert!((mass - 2.76).abs() < 0.01);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn mass_for_fraction(&self, fluid: &Fluid, limit: f64) -> Result<f64> {
        fraction(Quantity::VolumeFraction, limit)?;
        Ok(limit * self.volume / specific_gas_volume(fluid)?)
    }

    /// What a source of carbon dioxide in m3/s, at 20 degC and 101325 Pa, does to the air of the room.
    ///
    /// ```
    /// use densepath::hardware::safety::{Room, oxygen_fraction};
    /// let exposure = Room::new(20.0, 0.0)?.exposure(2e-5)?;
    /// // A shut room reaches the limit of a working day some time.
    /// assert!(exposure.time_to_exposure_limit.is_some());
    /// assert_eq!(exposure.oxygen_fraction, oxygen_fraction(exposure.steady_fraction)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn exposure(&self, gas_volume_flow_rate: f64) -> Result<RoomExposure> {
        let steady_fraction = self.steady_fraction(gas_volume_flow_rate)?;
        let time = self.time_to(gas_volume_flow_rate, EXPOSURE_LIMIT_DAY)?;
        Ok(RoomExposure {
            steady_fraction,
            oxygen_fraction: oxygen_fraction(steady_fraction)?,
            time_to_exposure_limit: time,
            notices: judge_room(gas_volume_flow_rate, steady_fraction, time),
        })
    }
}

/// What a release does to the air of a room.
///
/// ```
/// use densepath::{Fluid, hardware::safety::{Room, oxygen_fraction}};
/// let release = Room::new(50.0, 0.0)?.release(&Fluid::new("nitrogen")?, 5.0)?;
/// assert_eq!(release.oxygen_fraction, oxygen_fraction(release.fraction)?);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct RoomRelease {
    /// Volume fraction of the gas, mixed.
    pub fraction: f64,
    /// Volume fraction of oxygen then.
    pub oxygen_fraction: f64,
    /// What to know.
    pub notices: Vec<Notice>,
}

/// A release is told of at any size: nobody knows where it gathers.
fn judge_release(mass: f64, fraction: f64) -> Vec<Notice> {
    let danger = if fraction >= DANGER_TO_LIFE {
        "dangerous to life"
    } else if fraction >= EXPOSURE_LIMIT_SHORT {
        "above the limit of 15 minutes"
    } else if fraction >= EXPOSURE_LIMIT_DAY {
        "above the limit of a working day"
    } else {
        "below the limit of a working day if it were mixed"
    };
    let text = format!(
        "{} kg set free at once bring the room to {} % by volume of gas, {danger}. Cold heavy gas flows along the floor and into pits \
         before it mixes: leave, ventilate, and come back only with a monitor of the gas itself; keep to local codes",
        rounded(mass),
        rounded(100.0 * fraction)
    );
    vec![Notice::new(NoticeCode::Asphyxiation, text).about(Quantity::VolumeFraction)]
}

fn judge_room(flow: f64, steady: f64, time: Option<f64>) -> Vec<Notice> {
    if steady <= USUAL_INDOORS {
        return Vec::new();
    }
    let ppm = |value: f64| rounded(1e6 * value);
    let verdict = match time {
        Some(time) => format!(
            "above {} ppm, the limit of a working day, after {} min",
            ppm(EXPOSURE_LIMIT_DAY),
            rounded(time / 60.0)
        ),
        None => format!(
            "below {} ppm, the limit of a working day, if the air is mixed",
            ppm(EXPOSURE_LIMIT_DAY)
        ),
    };
    let danger = if steady >= DANGER_TO_LIFE {
        ", and dangerous to life in the end"
    } else if steady >= EXPOSURE_LIMIT_SHORT {
        ", and above the limit of 15 minutes in the end"
    } else {
        ""
    };
    let text = format!(
        "{} mL/min of carbon dioxide (20 degC, 1 atm) let out into the room bring it to {} ppm, {verdict}{danger}. Near the \
         floor and in pits it is several times more. Lead the gas outdoors, monitor carbon dioxide itself low in the room \
         (it poisons before oxygen is short), and keep to local codes",
        rounded(flow / MILLILITRE_PER_MINUTE),
        ppm(steady)
    );
    vec![Notice::new(NoticeCode::Asphyxiation, text).about(Quantity::VolumeFraction)]
}

/// Volume fraction of oxygen in air that holds a volume fraction of another gas.
///
/// ```
/// use densepath::hardware::safety::oxygen_fraction;
/// // Every gas takes its share of the 20.9 % away.
/// assert!((oxygen_fraction(0.1)? / oxygen_fraction(0.0)? - 0.9).abs() < 1e-12);
/// assert!((oxygen_fraction(0.0)? - 0.209).abs() < 1e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn oxygen_fraction(gas_fraction: f64) -> Result<f64> {
    Ok(OXYGEN_IN_AIR * (1.0 - fraction(Quantity::VolumeFraction, gas_fraction)?))
}

/// Volume fraction of a gas that brings the oxygen of the air down to a volume fraction.
///
/// ```
/// use densepath::hardware::safety::{gas_fraction_at_oxygen, oxygen_fraction};
/// let gas = gas_fraction_at_oxygen(0.195)?;
/// assert!((oxygen_fraction(gas)? - 0.195).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn gas_fraction_at_oxygen(oxygen: f64) -> Result<f64> {
    if (0.0..=OXYGEN_IN_AIR).contains(&oxygen) {
        return Ok(1.0 - oxygen / OXYGEN_IN_AIR);
    }
    Err(Error::Domain {
        quantity: Quantity::VolumeFraction,
        value: oxygen,
        rule: "between 0 and that of air, 0.209",
    })
}

/// A fluid shut in a rigid volume that warms.
///
/// ```
/// use densepath::{Fluid, State, hardware::safety::blocked_in};
/// let cold = State::from_tp(&Fluid::new("carbon dioxide")?, 278.15, 60e5)?;
/// let shut = blocked_in(&cold, 303.15, None)?;
/// // The mass and the volume stay, so the density does.
/// assert!((shut.warmed.density() / cold.density() - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct BlockedIn {
    /// Rise of the pressure with temperature at the start, `(dp/dT)_rho` in Pa/K; none where two phases coexist.
    pub pressure_coefficient: Option<f64>,
    /// The fluid at the end: the same density, the new temperature.
    pub warmed: State,
    /// What to know.
    pub notices: Vec<Notice>,
}

/// What becomes of a fluid shut in at a state and brought to a temperature in K, against the rating of the weakest part
/// in Pa, if it is known.
///
/// *Valid* for a rigid volume, which is on the safe side. *Source*: the equation of state at constant density.
///
/// Error 102 if the end lies outside the equation of state: then nothing holds it.
///
/// ```
/// use densepath::{Fluid, State, hardware::safety::blocked_in};
/// let cold = State::from_tp(&Fluid::new("carbon dioxide")?, 278.15, 60e5)?;
/// // Cold liquid between two shut valves that warms by 25 K passes 200 bar.
/// assert!(blocked_in(&cold, 303.15, Some(400e5))?.warmed.pressure() > 200e5);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn blocked_in(state: &State, temperature: f64, rating: Option<f64>) -> Result<BlockedIn> {
    if let Some(rating) = rating {
        positive(Quantity::Pressure, rating)?;
    }
    let warmed = State::from_t_rho(state.fluid(), temperature, state.density())?;
    let pressure_coefficient = match state.phase() {
        Phase::LiquidVapour => None,
        _ => Some(state.dp_dt_rho()?),
    };
    let notices = judge_blocked_in(state, &warmed, pressure_coefficient, rating);
    Ok(BlockedIn {
        pressure_coefficient,
        warmed,
        notices,
    })
}

fn judge_blocked_in(
    state: &State,
    warmed: &State,
    slope: Option<f64>,
    rating: Option<f64>,
) -> Vec<Notice> {
    let dense = |state: &State| matches!(state.phase(), Phase::Liquid | Phase::Supercritical);
    let exceeds = rating.is_some_and(|rating| warmed.pressure() > RATING_SHARE * rating);
    // A rating only changes the words: one of the parts between two valves may be weaker.
    let threatens = exceeds || dense(state) || dense(warmed);
    if warmed.pressure() <= state.pressure() || !threatens {
        return Vec::new();
    }
    let rise = slope.map_or(String::new(), |slope| {
        format!(" ({} bar/K at first)", rounded(slope / BAR))
    });
    let against = rating.map_or(String::new(), |rating| {
        let word = if exceeds { "above" } else { "below" };
        format!(
            ", {word} {} % of the rating of {} bar(a) that is stated",
            rounded(100.0 * RATING_SHARE),
            rounded(rating / BAR)
        )
    });
    let text = format!(
        "shut in at {} degC and {} bar(a) and warmed to {} degC the fluid reaches {} bar(a){rise}{against}. Put a relief \
         device set at most to {} % of the lowest rating between any two valves, with a short, wide, warm outlet that dry ice \
         cannot plug, and have it sized by licensed practice",
        rounded(to_celsius(state.temperature())),
        rounded(state.pressure() / BAR),
        rounded(to_celsius(warmed.temperature())),
        rounded(warmed.pressure() / BAR),
        rounded(100.0 * RATING_SHARE),
    );
    vec![Notice::new(NoticeCode::BlockedInLiquid, text).about(Quantity::Pressure)]
}

/// A shut-in fluid that takes up heat.
///
/// ```
/// use densepath::{Fluid, State, hardware::safety::heated_shut_in};
/// let cold = State::from_tp(&Fluid::new("carbon dioxide")?, 278.15, 60e5)?;
/// assert!(!heated_shut_in(&cold, 10e-6, 5.0)?.notices.is_empty());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct HeatedShutIn {
    /// Rise of the pressure in Pa/s while nothing leaves.
    pub pressure_rate: f64,
    /// Volume flow rate in m3/s, at the state of the fluid, that a relief device has to pass to hold the pressure.
    pub relief_volume_flow_rate: f64,
    /// What to know: always a caution.
    pub notices: Vec<Notice>,
}

/// What becomes of a fluid shut in a volume in m3 that takes up heat at a rate in W: its pressure rises by `(dp/dT)_rho Phi/(m c_v)`,
/// or a relief device passes `alpha_V Phi/(rho c_p)`.
///
/// *Valid* for a rigid volume of one phase at the start. *Uncertainty*: that of the equation of state; the heat is the user's. *Source*:
/// first law. Errors: 101 for a volume not above zero or a heat flow rate that is negative; 301 for a state of two phases.
///
/// ```
/// use densepath::{Fluid, State, hardware::safety::heated_shut_in};
/// let cold = State::from_tp(&Fluid::new("carbon dioxide")?, 278.15, 60e5)?;
/// // A relief device passes alpha_V Phi / (rho c_p).
/// let expected = cold.isobaric_expansivity()? * 5.0 / (cold.density() * cold.specific_isobaric_heat_capacity()?);
/// let relief = heated_shut_in(&cold, 10e-6, 5.0)?.relief_volume_flow_rate;
/// assert!((relief / expected - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn heated_shut_in(state: &State, volume: f64, heat_flow_rate: f64) -> Result<HeatedShutIn> {
    positive(Quantity::Volume, volume)?;
    not_negative(Quantity::HeatFlowRate, heat_flow_rate)?;
    let capacity = state.density() * volume * state.specific_isochoric_heat_capacity()?;
    let pressure_rate = state.dp_dt_rho()? * heat_flow_rate / capacity;
    let capacity_flow = state.density() * state.specific_isobaric_heat_capacity()?;
    let relief_volume_flow_rate = state.isobaric_expansivity()? * heat_flow_rate / capacity_flow;
    let text = format!(
        "{} mL shut in at {} degC and {} bar(a) gain {} bar/min from {} W, unless a relief device passes {} mL/min at this state. Behind \
         it the fluid expands, cools, and can plug it with dry ice: give it a short, wide, warm outlet and have it sized by licensed practice",
        rounded(volume / MILLILITRE),
        rounded(to_celsius(state.temperature())),
        rounded(state.pressure() / BAR),
        rounded(pressure_rate / BAR * MINUTE),
        rounded(heat_flow_rate),
        rounded(relief_volume_flow_rate / MILLILITRE_PER_MINUTE),
    );
    Ok(HeatedShutIn {
        pressure_rate,
        relief_volume_flow_rate,
        notices: vec![Notice::new(NoticeCode::BlockedInLiquid, text).about(Quantity::Pressure)],
    })
}

/// What a flow that is stopped does to its line.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{Element, Stream, Surroundings}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let stream = Stream { state: State::from_tp(&fluid, 313.15, 150e5)?, mass_flow_rate: 5e-5 };
/// # let room = Surroundings {
/// #     delivery_pressure: 200e5,
/// #     room_temperature: 293.15,
/// #     room_pressure: 101_325.0,
/// #     solute: None,
/// #     carrier: "carbon dioxide",
/// #     additives: &[],
/// # };
/// let hammer = densepath::hardware::safety::hammer(&stream.state, 1.0)?;
/// assert!(hammer.pressure_rise > 0.0 && !hammer.notices.is_empty());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct PressureHammer {
    /// Rise of the pressure in Pa.
    pub pressure_rise: f64,
    /// What to know: always a caution.
    pub notices: Vec<Notice>,
}

/// Rise of the pressure where a flow is stopped, or a gap behind a slug closes, at a velocity in m/s: `rho w u`.
///
/// *Valid*: a stop faster than sound runs through the line and back, in a stiff tube: an upper bound. *Uncertainty*: that of the equation
/// of state. *Source*: Joukowsky 1898, from memory.
///
/// Errors: 101 for a velocity that is not finite; those of the speed of sound.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{Element, Stream, Surroundings}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let stream = Stream { state: State::from_tp(&fluid, 313.15, 150e5)?, mass_flow_rate: 5e-5 };
/// # let room = Surroundings {
/// #     delivery_pressure: 200e5,
/// #     room_temperature: 293.15,
/// #     room_pressure: 101_325.0,
/// #     solute: None,
/// #     carrier: "carbon dioxide",
/// #     additives: &[],
/// # };
/// use densepath::hardware::safety::hammer;
/// // Joukowsky: rho w u.
/// let expected = stream.state.density() * stream.state.speed_of_sound()? * 0.5;
/// assert!((hammer(&stream.state, 0.5)?.pressure_rise / expected - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn hammer(state: &State, velocity: f64) -> Result<PressureHammer> {
    finite(Quantity::Velocity, velocity)?;
    let pressure_rise = state.density() * state.speed_of_sound()? * velocity.abs();
    let text = format!(
        "stopping a flow of {} m/s at once adds {} bar to {} bar(a). A slug of liquid or dry ice set free behind a plug comes at tens of \
         m/s: never loosen a fitting on a plug, depressurise on both sides, warm it, and wait",
        rounded(velocity.abs()),
        rounded(pressure_rise / BAR),
        rounded(state.pressure() / BAR),
    );
    Ok(PressureHammer {
        pressure_rise,
        notices: vec![Notice::new(NoticeCode::Overpressure, text).about(Quantity::Pressure)],
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};
    use crate::hardware::vent::gas_volume_flow_rate;
    use densepath_fluid::units::{GRAM_PER_MINUTE, HOUR, from_celsius};
    use proptest::prelude::*;

    fn room(changes_an_hour: f64) -> Room {
        Room::new(60.0, changes_an_hour / HOUR).unwrap()
    }

    fn gas(grams_per_minute: f64) -> f64 {
        gas_volume_flow_rate(&co2(), grams_per_minute * GRAM_PER_MINUTE).unwrap()
    }

    /// ppm in a room of 60 m3: independent computation with CoolProp 8.0.0.
    #[test]
    fn carbon_dioxide_of_a_vent_indoors() {
        for (grams, changes, ppm) in [
            (3.0, 0.5, 3682.03),
            (3.0, 6.0, 691.836),
            (100.0, 0.5, 109_154.0),
            (100.0, 6.0, 9481.2),
        ] {
            let exposure = room(changes).exposure(gas(grams)).unwrap();
            let found = 1e6 * exposure.steady_fraction;
            assert!(close(found, ppm, 1e-5), "{found}");
            assert_eq!(
                exposure.time_to_exposure_limit.is_some(),
                exposure.steady_fraction > EXPOSURE_LIMIT_DAY
            );
            let cautions = exposure.notices.iter().map(|n| n.code);
            assert!(cautions.eq((ppm > 1000.0).then_some(NoticeCode::Asphyxiation)));
        }
        let time = room(0.5)
            .exposure(gas(100.0))
            .unwrap()
            .time_to_exposure_limit;
        assert!(close(time.unwrap() / MINUTE, 5.16406, 1e-5));
    }

    /// Independent computation with CoolProp 8.0.0; 23.8 % is printed with three digits.
    #[test]
    fn a_release_at_once() {
        let bare = room(0.0).with_background(0.0).unwrap();
        let fraction = bare.fraction_after_release(&co2(), 30.0).unwrap();
        assert!(close(fraction, 0.238, 2e-3), "{fraction}");
        let mass = bare.mass_for_fraction(&co2(), 0.03).unwrap();
        assert!(close(mass, 3.31082, 1e-5), "{mass}");
        let poisoned = gas_fraction_at_oxygen(0.195).unwrap();
        assert!(close(100.0 * poisoned, 6.69856, 1e-6));
        assert!(close(oxygen_fraction(poisoned).unwrap(), 0.195, 1e-12));
    }

    #[test]
    fn a_room_without_ventilation_fills() {
        let tight = room(0.0);
        let q = gas(100.0);
        assert_eq!(tight.steady_fraction(q), Ok(1.0));
        let hour = tight.fraction_after(q, HOUR).unwrap();
        assert!(close(hour, BACKGROUND + q * HOUR / 60.0, 1e-12));
        let time = tight.time_to(q, 0.03).unwrap().unwrap();
        assert!(close(tight.fraction_after(q, time).unwrap(), 0.03, 1e-12));
        assert_eq!(tight.time_to(0.0, 0.03), Ok(None));
        assert_eq!(tight.steady_fraction(0.0), Ok(BACKGROUND));
        assert_eq!(tight.time_to(q, 0.0), Ok(Some(0.0)));
    }

    fn warmed(degc: f64, bar: f64, to_degc: f64) -> BlockedIn {
        let state = State::from_tp(&co2(), from_celsius(degc), bar * BAR).unwrap();
        blocked_in(&state, from_celsius(to_degc), None).unwrap()
    }

    /// bar and bar/K: independent computation with CoolProp 8.0.0.
    #[test]
    fn a_shut_in_liquid_that_warms() {
        for (degc, bar, to_degc, expected) in [
            (5.0, 57.3, 20.0, 164.624),
            (5.0, 57.3, 25.0, 200.6),
            (5.0, 57.3, 40.0, 308.9),
            (5.0, 57.3, 60.0, 453.2),
            (-10.0, 60.0, 20.0, 346.127),
            (-10.0, 60.0, 25.0, 393.57),
            (-10.0, 60.0, 40.0, 535.4),
            (-10.0, 60.0, 60.0, 722.919),
            (20.0, 57.4, 25.0, 78.9536),
            (20.0, 57.4, 40.0, 146.015),
        ] {
            let end = warmed(degc, bar, to_degc).warmed.pressure() / BAR;
            assert!(close(end, expected, 2e-4), "{end}");
        }
        let slope = |degc, bar| warmed(degc, bar, 20.0).pressure_coefficient.unwrap() / BAR;
        assert!(close(slope(5.0, 57.3), 7.08102, 1e-5));
        assert!(close(slope(-10.0, 60.0), 9.56295, 1e-5));
    }

    /// A vessel filled to 80 % with liquid at 5 degC, bar at 40 degC: independent computation with CoolProp 8.0.0.
    #[test]
    fn a_vessel_with_headspace_rises_less() {
        let found = co2().saturation_at_temperature(from_celsius(5.0)).unwrap();
        let density = 0.8 * found.liquid.density() + 0.2 * found.vapour.density();
        let state = State::from_t_rho(&co2(), from_celsius(5.0), density).unwrap();
        let end = blocked_in(&state, from_celsius(40.0), Some(100.0 * BAR)).unwrap();
        assert!(close(end.warmed.pressure() / BAR, 128.6, 5e-4));
        assert_eq!(end.pressure_coefficient, None);
        assert_eq!(end.notices[0].code, NoticeCode::BlockedInLiquid);
    }

    /// 50 mL at 5 degC and 57.3 bar with 10 W: independent computation with CoolProp 8.0.0.
    #[test]
    fn heat_into_a_shut_in_volume() {
        let state = State::from_tp(&co2(), from_celsius(5.0), 57.3 * BAR).unwrap();
        let heated = heated_shut_in(&state, 50.0 * MILLILITRE, 10.0).unwrap();
        let rate = heated.pressure_rate / BAR;
        assert!(close(rate, 1.65, 3e-3), "{rate}");
        let relief = heated.relief_volume_flow_rate / MILLILITRE_PER_MINUTE;
        assert!(close(relief, 1.91134, 1e-4), "{relief}");
        assert_eq!(heated.notices[0].code, NoticeCode::BlockedInLiquid);
    }

    /// No rating silences the caution of a liquid that warms: it only changes its words.
    #[test]
    fn a_rating_changes_the_words_and_never_silences() {
        let state = State::from_tp(&co2(), from_celsius(5.0), 57.3 * BAR).unwrap();
        let told = |state: &State, degc: f64, rating: Option<f64>| {
            blocked_in(state, from_celsius(degc), rating)
                .unwrap()
                .notices
        };
        assert!(
            told(&state, 40.0, Some(300.0 * BAR))[0]
                .text
                .contains("above 90 %")
        );
        for rating in [400.0, 1e4, 1e12] {
            assert!(
                told(&state, 40.0, Some(rating * BAR))[0]
                    .text
                    .contains("below 90 %")
            );
        }
        assert_eq!(told(&state, 40.0, None).len(), 1);
        // What cools, and a gas that stays one, threaten nothing.
        assert!(told(&state, 0.0, None).is_empty());
        let gas = State::from_tp(&co2(), 293.15, 10.0 * BAR).unwrap();
        assert!(told(&gas, 40.0, None).is_empty());
        // A vessel that fills up as it warms is told of without a rating too.
        let found = co2().saturation_at_temperature(from_celsius(5.0)).unwrap();
        let full = 0.8 * found.liquid.density() + 0.2 * found.vapour.density();
        let vessel = State::from_t_rho(&co2(), from_celsius(5.0), full).unwrap();
        assert_eq!(told(&vessel, 40.0, None).len(), 1);
    }

    #[test]
    fn nonsense_is_an_error() {
        for bad in [-1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(Room::new(bad, 1.0).unwrap_err().code(), 101);
            assert_eq!(Room::new(1.0, bad).unwrap_err().code(), 101);
            assert_eq!(room(1.0).steady_fraction(bad).unwrap_err().code(), 101);
            assert_eq!(room(1.0).with_background(bad).unwrap_err().code(), 101);
        }
        assert_eq!(gas_fraction_at_oxygen(0.3).unwrap_err().code(), 101);
        let state = State::from_tp(&co2(), 280.0, 6e6).unwrap();
        assert_eq!(blocked_in(&state, 2000.0, None).unwrap_err().code(), 102);
        assert_eq!(
            blocked_in(&state, 300.0, Some(-1.0)).unwrap_err().code(),
            101
        );
    }

    proptest! {
        #[test]
        fn the_air_never_holds_more_than_in_the_end(
            q in 1e-9f64..1e-2, changes in 0.01f64..20.0, time in 0.0f64..1e6,
        ) {
            let room = room(changes);
            let now = room.fraction_after(q, time).unwrap();
            prop_assert!(now >= BACKGROUND && now <= room.steady_fraction(q).unwrap() * (1.0 + 1e-12));
        }
    }
}
