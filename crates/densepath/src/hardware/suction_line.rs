//! From the cylinder to the pump head: the losses on the way, and how far from boiling the feed arrives.

use densepath_fluid::consts::STANDARD_GRAVITY;
use densepath_fluid::error::{Error, Result, finite, not_negative, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::units::{BAR, to_celsius};
use densepath_fluid::{Fluid, Notice, NoticeCode, Phase, Quantity, State};

/// Margins below which a pump may lose its prime: common practice, no source.
const TEMPERATURE_MARGIN: f64 = 8.0;
const PRESSURE_MARGIN: f64 = 5.0 * BAR;

/// The line that feeds a pump.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
/// use densepath::hardware::SuctionLine;
/// let cylinder = State::from_tp(&fluid, 293.15, 60e5)?;
/// let feed = SuctionLine::new(1e5)?.feed(&cylinder, 278.15)?;
/// // The line takes a bar, the head cools: the liquid is far from boiling.
/// assert!((feed.state.pressure() / 59e5 - 1.0).abs() < 1e-9 && feed.pressure_margin > 10e5);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SuctionLine {
    pressure_drop: f64,
    filter: f64,
    purifier: f64,
    height: f64,
    length: f64,
    acceleration: f64,
}

/// What the line takes from the pressure, each in Pa.
///
/// ```
/// let losses = densepath::hardware::SuctionLosses { flow: 1e5, filter: 2e4, purifier: 0.0, lift: 1e4, acceleration: 3e4 };
/// assert!((losses.total() - 1.6e5).abs() < 1e-6);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SuctionLosses {
    /// Line and inlet valve together.
    pub flow: f64,
    /// Filter.
    pub filter: f64,
    /// Purifier.
    pub purifier: f64,
    /// Lift: negative where the pump stands below the cylinder.
    pub lift: f64,
    /// Acceleration of the column of liquid at the beginning of the suction stroke.
    pub acceleration: f64,
}

impl SuctionLosses {
    /// All together in Pa.
    ///
    /// ```
    /// // A pump that stands below the cylinder gains pressure.
    /// let losses = densepath::hardware::SuctionLosses { flow: 1e5, filter: 0.0, purifier: 0.0, lift: -1e4, acceleration: 0.0 };
    /// assert!(losses.total() < 1e5);
    /// ```
    pub fn total(&self) -> f64 {
        self.flow + self.filter + self.purifier + self.lift + self.acceleration
    }
}

/// The feed at the pump head.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
/// use densepath::hardware::SuctionLine;
/// // Boiling liquid from the cylinder that loses a bar on the way would flash if the head did not cool.
/// let supply = fluid.saturation_at_temperature(293.15)?.liquid;
/// let feed = SuctionLine::new(1e5)?.feed(&supply, 278.15)?;
/// assert!(feed.vapour_fraction_uncooled > 0.0 && feed.void_fraction_uncooled > feed.vapour_fraction_uncooled);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Suction {
    /// The feed at the temperature of the head.
    pub state: State,
    /// What the line took.
    pub losses: SuctionLosses,
    /// Pressure in Pa above the vapour pressure at the temperature of the head.
    pub pressure_margin: f64,
    /// Temperature in K below boiling, above the critical pressure below the critical temperature.
    pub temperature_margin: f64,
    /// Mass fraction of vapour if the head did not cool.
    pub vapour_fraction_uncooled: f64,
    /// Volume fraction of vapour if the head did not cool.
    pub void_fraction_uncooled: f64,
    /// What to know.
    pub notices: Vec<Notice>,
}

impl SuctionLine {
    /// A line that takes a pressure drop in Pa: tube and inlet valve together. Error 101 if it is negative.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::SuctionLine::new(-1.0).unwrap_err().code(), 101);
    /// ```
    pub fn new(pressure_drop: f64) -> Result<Self> {
        Ok(Self {
            pressure_drop: not_negative(Quantity::PressureDrop, pressure_drop)?,
            filter: 0.0,
            purifier: 0.0,
            height: 0.0,
            length: 0.0,
            acceleration: 0.0,
        })
    }

    /// The line with a filter that takes a pressure drop in Pa. Error 101 if it is negative.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// use densepath::hardware::SuctionLine;
    /// let feed = SuctionLine::new(1e5)?.with_filter(2e4)?.feed(&suction, 278.15)?;
    /// assert!((feed.losses.total() - 1.2e5).abs() < 1e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_filter(self, pressure_drop: f64) -> Result<Self> {
        Ok(Self {
            filter: not_negative(Quantity::PressureDrop, pressure_drop)?,
            ..self
        })
    }

    /// The line with a purifier that takes a pressure drop in Pa. Error 101 if it is negative.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// use densepath::hardware::SuctionLine;
    /// let feed = SuctionLine::new(1e5)?.with_purifier(3e4)?.feed(&suction, 278.15)?;
    /// assert!((feed.losses.purifier - 3e4).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_purifier(self, pressure_drop: f64) -> Result<Self> {
        Ok(Self {
            purifier: not_negative(Quantity::PressureDrop, pressure_drop)?,
            ..self
        })
    }

    /// The line with the pump at a height in m above the cylinder's outlet; negative below.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// use densepath::hardware::SuctionLine;
    /// let feed = SuctionLine::new(0.0)?.with_height(1.0)?.feed(&suction, 278.15)?;
    /// // rho g h: a metre of liquid carbon dioxide weighs 0.09 bar.
    /// assert!((feed.losses.lift / (suction.density() * 9.80665) - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_height(self, height: f64) -> Result<Self> {
        Ok(Self {
            height: finite(Quantity::Length, height)?,
            ..self
        })
    }

    /// The line with a length in m in which the liquid is accelerated, at most by `acceleration` in m/s2: that of the
    /// piston times its cross-section over that of the line.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// use densepath::hardware::SuctionLine;
    /// let feed = SuctionLine::new(0.0)?.with_acceleration(2.0, 5.0)?.feed(&suction, 278.15)?;
    /// // rho L a.
    /// assert!((feed.losses.acceleration / (suction.density() * 10.0) - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_acceleration(self, length: f64, acceleration: f64) -> Result<Self> {
        Ok(Self {
            length: positive(Quantity::Length, length)?,
            acceleration: not_negative(Quantity::Acceleration, acceleration)?,
            ..self
        })
    }

    /// The feed at a head of a temperature in K, from the fluid that the cylinder supplies.
    ///
    /// *Valid* for a line that takes up no heat on the way; what it takes up the head has to remove.
    /// *Source*: Bernoulli's equation with losses; the margins are common practice, no source.
    ///
    /// Error 504 if the fluid at the head is not liquid.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
    /// use densepath::hardware::SuctionLine;
    /// // The margin is counted from the vapour pressure at the temperature of the head.
    /// let feed = SuctionLine::new(1e5)?.feed(&suction, 278.15)?;
    /// let vapour = fluid.saturation_at_temperature(278.15)?.liquid.pressure();
    /// assert!((feed.pressure_margin - (59e5 - vapour)).abs() < 1.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn feed(&self, supply: &State, head_temperature: f64) -> Result<Suction> {
        let losses = SuctionLosses {
            flow: self.pressure_drop,
            filter: self.filter,
            purifier: self.purifier,
            lift: supply.density() * STANDARD_GRAVITY * self.height,
            acceleration: supply.density() * self.length * self.acceleration,
        };
        let pressure = positive(Quantity::Pressure, supply.pressure() - losses.total())?;
        let fluid = supply.fluid();
        let state = State::from_tp(fluid, head_temperature, pressure)?;
        require_liquid(&state)?;
        let boiling = boiling_temperature(fluid, pressure)?;
        let uncooled = State::from_ph(fluid, pressure, supply.specific_enthalpy())?;
        let mut suction = Suction {
            pressure_margin: pressure - vapour_pressure(fluid, head_temperature)?,
            temperature_margin: boiling - head_temperature,
            vapour_fraction_uncooled: uncooled.vapour_fraction().unwrap_or(0.0),
            void_fraction_uncooled: void_fraction(&uncooled),
            notices: Vec::new(),
            losses,
            state,
        };
        suction.notices = suction.judge();
        Ok(suction)
    }
}

impl Suction {
    fn judge(&self) -> Vec<Notice> {
        if self.temperature_margin >= TEMPERATURE_MARGIN && self.pressure_margin >= PRESSURE_MARGIN
        {
            return Vec::new();
        }
        let text = format!(
            "the feed reaches the head only {} K and {} bar from boiling, at {} degC and {} bar(a); {} K and {} bar are \
             common practice. Chill the head, warm the cylinder, or cut the losses of the line ({} bar)",
            rounded(self.temperature_margin),
            rounded(self.pressure_margin / BAR),
            rounded(to_celsius(self.state.temperature())),
            rounded(self.state.pressure() / BAR),
            TEMPERATURE_MARGIN,
            PRESSURE_MARGIN / BAR,
            rounded(self.losses.total() / BAR),
        );
        vec![Notice::new(NoticeCode::SuctionMargin, text).about(Quantity::Pressure)]
    }
}

/// Error 504 if a state is not liquid.
pub(super) fn require_liquid(state: &State) -> Result<()> {
    if state.phase() == Phase::Liquid {
        return Ok(());
    }
    Err(Error::FeedNotLiquid {
        temperature: state.temperature(),
        pressure: state.pressure(),
        limit: vapour_pressure(state.fluid(), state.temperature()).unwrap_or(f64::INFINITY),
    })
}

/// Pressure in Pa at which a liquid begins to boil.
fn vapour_pressure(fluid: &Fluid, temperature: f64) -> Result<f64> {
    Ok(fluid.bubble_point_at_temperature(temperature)?.pressure)
}

/// The temperature in K at which a liquid begins to boil, that of the critical point where it no longer does.
fn boiling_temperature(fluid: &Fluid, pressure: f64) -> Result<f64> {
    match fluid.bubble_point_at_pressure(pressure) {
        Ok(found) => Ok(found.temperature),
        Err(_) => Ok(fluid.critical_point()?.temperature),
    }
}

/// Volume fraction of vapour.
fn void_fraction(state: &State) -> f64 {
    let mass_fraction = state.vapour_fraction().unwrap_or(0.0);
    state.vapour().map_or(mass_fraction, |vapour| {
        mass_fraction * state.density() / vapour.density()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::cylinder::{Cylinder, Withdrawal};
    use crate::hardware::testing::{close, co2};
    use densepath_fluid::units::from_celsius;

    fn supply(degc: f64) -> State {
        Cylinder::new(0.04, 20.0, Withdrawal::Liquid)
            .unwrap()
            .supply(&co2(), from_celsius(degc))
            .unwrap()
    }

    fn feed(cylinder_degc: f64, head_degc: f64) -> Suction {
        SuctionLine::new(1.5 * BAR)
            .unwrap()
            .feed(&supply(cylinder_degc), from_celsius(head_degc))
            .unwrap()
    }

    /// Margins in bar and K behind a loss of 1.5 bar: independent computation with CoolProp 8.0.0.
    #[test]
    fn margins_of_the_feed() {
        let cold = feed(20.0, 5.0);
        assert!(close(cold.temperature_margin, 13.8726, 1e-5));
        assert!(close(cold.pressure_margin / BAR, 16.10, 1e-3));
        assert!(cold.notices.is_empty());
        assert!(close(feed(25.0, 5.0).temperature_margin, 18.9759, 1e-5));
        let warm = feed(20.0, 12.0);
        assert!(close(warm.temperature_margin, 6.87258, 1e-5));
        assert!(close(warm.pressure_margin / BAR, 8.49, 1e-3));
        assert_eq!(warm.notices[0].code, NoticeCode::SuctionMargin);
    }

    /// Fractions after the same loss without heat exchange: independent computation with CoolProp 8.0.0.
    #[test]
    fn without_chilling_the_feed_flashes() {
        let cold = feed(20.0, 5.0);
        assert!(close(cold.vapour_fraction_uncooled, 0.0238634, 1e-4));
        assert!(close(cold.void_fraction_uncooled, 0.0936668, 1e-4));
    }

    #[test]
    fn a_feed_that_is_not_liquid_is_refused() {
        let line = SuctionLine::new(1.5 * BAR).unwrap();
        let error = line.feed(&supply(20.0), from_celsius(20.0)).unwrap_err();
        let Error::FeedNotLiquid { limit, .. } = error else {
            panic!("{error}");
        };
        assert!(close(limit / BAR, 57.2905, 1e-5));
        let error = line.feed(&supply(20.0), from_celsius(35.0)).unwrap_err();
        assert!(error.to_string().contains("no pressure makes it liquid"));
        let vapour = Cylinder::new(0.04, 6.0, Withdrawal::Liquid)
            .unwrap()
            .supply(&co2(), from_celsius(20.0))
            .unwrap();
        let error = line.feed(&vapour, from_celsius(19.0)).unwrap_err();
        assert_eq!(error.code(), 504);
    }

    #[test]
    fn lift_and_acceleration_are_losses_too() {
        let line = SuctionLine::new(1.0 * BAR)
            .and_then(|line| line.with_height(-2.0))
            .and_then(|line| line.with_acceleration(3.0, 10.0))
            .unwrap();
        let liquid = supply(20.0);
        let losses = line.feed(&liquid, from_celsius(5.0)).unwrap().losses;
        assert!(close(losses.lift, -2.0 * 9.80665 * liquid.density(), 1e-12));
        assert!(close(losses.acceleration, 30.0 * liquid.density(), 1e-12));
        assert!(close(
            losses.total(),
            1e5 + losses.lift + losses.acceleration,
            1e-12
        ));
    }

    #[test]
    fn impossible_lines_are_errors() {
        assert_eq!(SuctionLine::new(-1.0).unwrap_err().code(), 101);
        assert_eq!(SuctionLine::new(f64::NAN).unwrap_err().code(), 101);
        let line = SuctionLine::new(0.0).unwrap();
        assert_eq!(line.with_height(f64::NAN).unwrap_err().code(), 101);
        assert_eq!(line.with_acceleration(0.0, 1.0).unwrap_err().code(), 101);
        let greedy = SuctionLine::new(100.0 * BAR).unwrap();
        let error = greedy.feed(&supply(20.0), 278.15).unwrap_err();
        assert_eq!(error.code(), 101);
    }
}
