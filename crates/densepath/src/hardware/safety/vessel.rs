//! A vessel under pressure: what its fluid can do when it bursts, and how long it takes to let it out.

use densepath_fluid::error::{Error, Result, not_negative, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::num::root::{Tolerance, bracketed};
use densepath_fluid::units::{BAR, MILLILITRE, MINUTE, to_celsius};
use densepath_fluid::{Notice, NoticeCode, Quantity, State};

use super::RATING_SHARE;
use crate::flow::circular_area;
use crate::hardware::restrictor::throat_near;

/// Share of the mass that leaves in one step; the middle of each step gives its rates, so that halving it changes times by less
/// than a thousandth.
const STEP: f64 = 0.05;
/// Share of the mass left at which the march ends in any case.
const EMPTY: f64 = 1e-4;
/// How close the pressure at the end is met, as a share of the last step.
const END: Tolerance = Tolerance {
    relative: 1e-7,
    iterations: 60,
};
/// Difference in K over which the heat capacity at one density is taken, through the boiling fluid too.
const CAPACITY_STEP: f64 = 0.1;
/// Temperature in K below which soft seals turn brittle and skin freezes to metal: -20 degC, common practice, no source.
const BRITTLE: f64 = 253.15;

/// What a fluid under pressure can do when its part bursts or comes apart.
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
/// let stored = densepath::hardware::safety::stored_energy(&stream.state, 10e-6, 293.15, 101_325.0)?;
/// // With heat of the room it is more than at once.
/// assert!(stored.energy > stored.sudden_energy && stored.sudden_energy > 0.0 && !stored.notices.is_empty());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct StoredEnergy {
    /// Largest work in J, with heat that the room gives while the fluid expands: its availability.
    pub energy: f64,
    /// Largest work in J of a part that bursts at once, without heat: along the isentrope.
    pub sudden_energy: f64,
    /// What to know: always a caution.
    pub notices: Vec<Notice>,
}

/// Largest work that a fluid shut in a volume in m3 can do when it expands into a room of a temperature in K and a pressure in Pa:
/// `m (u_1 - u_0 - T_0 (s_1 - s_0) + p_0 (v_1 - v_0))` to the state of the room, and `m (u_1 - u_2 + p_0 (v_1 - v_2))` along the isentrope.
///
/// *Valid* as bounds: what bursts does less than the second, what leaks and tears open between the two. The work against the air of the
/// room is taken off. *Uncertainty*: that of the equation of state, below 1 %. *Source*: first and second law. Error 101 for a value not
/// above zero; those of the states at the end.
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
/// use densepath::hardware::safety::stored_energy;
/// let energy = |volume| stored_energy(&stream.state, volume, 293.15, 101_325.0).map(|stored| stored.energy);
/// assert!((energy(20e-6)? / energy(10e-6)? - 2.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn stored_energy(
    state: &State,
    volume: f64,
    room_temperature: f64,
    room_pressure: f64,
) -> Result<StoredEnergy> {
    let mass = positive(Quantity::Volume, volume)? * state.density();
    let fluid = state.fluid();
    let work = |end: &State, heat: f64| {
        let push = room_pressure * (1.0 / end.density() - 1.0 / state.density());
        let released = state.specific_internal_energy() - end.specific_internal_energy();
        (mass * (released + heat - push)).max(0.0)
    };
    let settled = State::from_tp(fluid, room_temperature, room_pressure)?;
    let taken_up = room_temperature * (settled.specific_entropy() - state.specific_entropy());
    let energy = work(&settled, taken_up);
    let sudden = State::from_ps(fluid, room_pressure, state.specific_entropy())?;
    let sudden_energy = work(&sudden, 0.0);
    let text = format!(
        "{} mL at {} bar(a) can do up to {} J when the part comes apart, {} J of it at once: it throws its pieces. Depressurise before any \
         fitting is loosened, stand behind a shield while a part is tested, test with liquid, and keep to local codes",
        rounded(volume / MILLILITRE),
        rounded(state.pressure() / BAR),
        rounded(energy),
        rounded(sudden_energy),
    );
    Ok(StoredEnergy {
        energy,
        sudden_energy,
        notices: vec![Notice::new(NoticeCode::StoredEnergy, text).about(Quantity::Energy)],
    })
}

/// What is drawn from a vessel.
///
/// ```
/// # use densepath::{Fluid, State, hardware::safety::{Drawn, LetDown}};
/// # let let_down = |drawn| LetDown {
/// #     volume: 1e-3,
/// #     diameter: 1e-3,
/// #     discharge_coefficient: 0.8,
/// #     wall_conductance: 0.0,
/// #     room_temperature: 293.15,
/// #     room_pressure: 101_325.0,
/// #     drawn,
/// # };
/// let full = State::from_t_rho(&Fluid::new("carbon dioxide")?, 293.15, 600.0)?;
/// // Drawn from the top, all that leaves must evaporate first: the vessel cools more than where liquid leaves.
/// let coldest = |drawn| let_down(drawn).course(&full, 20e5).map(|course| course.lowest_temperature());
/// assert!(coldest(Drawn::Vapour)? < coldest(Drawn::Liquid)?);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drawn {
    /// All phases as they are mixed, as from a tube or a column.
    Mixed,
    /// Vapour while there is any, as from the top of a vessel.
    Vapour,
    /// Liquid while there is any, as through a dip tube.
    Liquid,
}

/// A vessel let down through a hole.
///
/// ```
/// # use densepath::{Fluid, State, hardware::safety::{Drawn, LetDown}};
/// # let let_down = |drawn| LetDown {
/// #     volume: 1e-3,
/// #     diameter: 1e-3,
/// #     discharge_coefficient: 0.8,
/// #     wall_conductance: 0.0,
/// #     room_temperature: 293.15,
/// #     room_pressure: 101_325.0,
/// #     drawn,
/// # };
/// let full = State::from_t_rho(&Fluid::new("carbon dioxide")?, 293.15, 600.0)?;
/// assert!(let_down(Drawn::Vapour).course(&full, 20e5)?.is_complete);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LetDown {
    /// Volume in m3 of the vessel.
    pub volume: f64,
    /// Diameter in m of the hole.
    pub diameter: f64,
    /// Coefficient of discharge of the hole, see
    /// [`OrificeRestrictor`](crate::hardware::OrificeRestrictor::new).
    pub discharge_coefficient: f64,
    /// Heat flow rate in W/K that the wall gives for each kelvin that the fluid is colder than the room; zero for a fluid left alone.
    pub wall_conductance: f64,
    /// Temperature in K of the room.
    pub room_temperature: f64,
    /// Pressure in Pa behind the hole.
    pub room_pressure: f64,
    /// What is drawn.
    pub drawn: Drawn,
}

/// The fluid in the vessel at one time.
///
/// ```
/// # use densepath::{Fluid, State, hardware::safety::{Drawn, LetDown}};
/// # let let_down = |drawn| LetDown {
/// #     volume: 1e-3,
/// #     diameter: 1e-3,
/// #     discharge_coefficient: 0.8,
/// #     wall_conductance: 0.0,
/// #     room_temperature: 293.15,
/// #     room_pressure: 101_325.0,
/// #     drawn,
/// # };
/// let full = State::from_t_rho(&Fluid::new("carbon dioxide")?, 293.15, 600.0)?;
/// let points = let_down(Drawn::Vapour).course(&full, 20e5)?.points;
/// assert!(points.windows(2).all(|two| two[1].mass < two[0].mass && two[1].state.pressure() < two[0].state.pressure()));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct LetDownPoint {
    /// Time t in s.
    pub time: f64,
    /// State of all that is in the vessel.
    pub state: State,
    /// Mass in kg.
    pub mass: f64,
    /// Mass flow rate in kg/s that leaves.
    pub mass_flow_rate: f64,
}

/// How a vessel empties.
///
/// ```
/// # use densepath::{Fluid, State, hardware::safety::{Drawn, LetDown}};
/// # let let_down = |drawn| LetDown {
/// #     volume: 1e-3,
/// #     diameter: 1e-3,
/// #     discharge_coefficient: 0.8,
/// #     wall_conductance: 0.0,
/// #     room_temperature: 293.15,
/// #     room_pressure: 101_325.0,
/// #     drawn,
/// # };
/// let full = State::from_t_rho(&Fluid::new("carbon dioxide")?, 293.15, 600.0)?;
/// let course = let_down(Drawn::Vapour).course(&full, 20e5)?;
/// assert!(course.points.last().is_some_and(|last| (last.state.pressure() / 20e5 - 1.0).abs() < 0.01));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct LetDownCourse {
    /// Points in time, the start first.
    pub points: Vec<LetDownPoint>,
    /// Whether the end pressure was reached; if not, dry ice forms in the hole at the last point, for which no law is here.
    pub is_complete: bool,
    /// What to know.
    pub notices: Vec<Notice>,
}

impl LetDownCourse {
    /// Time in s to the last point.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::safety::{Drawn, LetDown}};
    /// # let let_down = |drawn| LetDown {
    /// #     volume: 1e-3,
    /// #     diameter: 1e-3,
    /// #     discharge_coefficient: 0.8,
    /// #     wall_conductance: 0.0,
    /// #     room_temperature: 293.15,
    /// #     room_pressure: 101_325.0,
    /// #     drawn,
    /// # };
    /// let full = State::from_t_rho(&Fluid::new("carbon dioxide")?, 293.15, 600.0)?;
    /// let course = let_down(Drawn::Vapour).course(&full, 20e5)?;
    /// assert!(course.points.last().is_some_and(|last| last.time == course.time()));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn time(&self) -> f64 {
        self.points.last().map_or(0.0, |point| point.time)
    }

    /// Lowest temperature in K met.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::safety::{Drawn, LetDown}};
    /// # let let_down = |drawn| LetDown {
    /// #     volume: 1e-3,
    /// #     diameter: 1e-3,
    /// #     discharge_coefficient: 0.8,
    /// #     wall_conductance: 0.0,
    /// #     room_temperature: 293.15,
    /// #     room_pressure: 101_325.0,
    /// #     drawn,
    /// # };
    /// let full = State::from_t_rho(&Fluid::new("carbon dioxide")?, 293.15, 600.0)?;
    /// // Boiling liquid at 20 bar has -19.5 degC.
    /// let coldest = let_down(Drawn::Vapour).course(&full, 20e5)?.lowest_temperature();
    /// assert!((coldest - 253.65).abs() < 0.2);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn lowest_temperature(&self) -> f64 {
        let temperatures = self.points.iter().map(|point| point.state.temperature());
        temperatures.fold(f64::INFINITY, f64::min)
    }
}

/// Rates of change along the mass that leaves, `s = -ln(m/m_0)`.
struct Rates {
    /// du/ds in J/kg without heat.
    energy: f64,
    /// Heat over ds and per kelvin that the fluid is colder than the room, in J/(kg K).
    conductance: f64,
    /// dt/ds in s.
    time: f64,
    mass_flow_rate: f64,
    /// Pressure in the throat over that before it, near which that of the next step lies.
    throat: f64,
}

impl LetDown {
    /// The course of the vessel from a state down to a pressure in Pa.
    ///
    /// Mass and energy of the whole content, in equilibrium at one temperature: `du/ds = u - h_out + Phi/q_m` and `dt/ds = m/q_m` with
    /// `s = -ln(m/m_0)` and the isentropic flow of the hole in equilibrium. *Valid* for a vessel that is mixed and a hole that is small
    /// against it; a fluid that boils late passes more and cools later. *Uncertainty*: that of the flow through the hole, 10 to 30 %
    /// (common practice, no source). *Source*: first law for an open vessel; the flow as for
    /// [`OrificeRestrictor`](crate::hardware::OrificeRestrictor).
    ///
    /// Errors: 101 for values not above zero; 503 for an end pressure not between those of the start and behind the hole.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::safety::{Drawn, LetDown}};
    /// # let let_down = |drawn| LetDown {
    /// #     volume: 1e-3,
    /// #     diameter: 1e-3,
    /// #     discharge_coefficient: 0.8,
    /// #     wall_conductance: 0.0,
    /// #     room_temperature: 293.15,
    /// #     room_pressure: 101_325.0,
    /// #     drawn,
    /// # };
    /// let full = State::from_t_rho(&Fluid::new("carbon dioxide")?, 293.15, 600.0)?;
    /// let time = |diameter| LetDown { diameter, ..let_down(Drawn::Vapour) }.course(&full, 20e5).map(|course| course.time());
    /// // Twice the hole, a quarter of the time.
    /// assert!((time(0.5e-3)? / time(1e-3)? - 4.0).abs() < 0.01);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn course(&self, start: &State, end_pressure: f64) -> Result<LetDownCourse> {
        self.course_followed(start, end_pressure, |_| Ok(()))
    }

    /// As [`LetDown::course`], each point told to a function as soon as it is known: a mixture takes tenths of a second for each of
    /// some fifty points, and an error that the function gives back ends the work.
    ///
    /// Errors as for [`LetDown::course`], and what the function gives back.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::safety::{Drawn, LetDown}};
    /// use densepath::path::Watch;
    /// let vessel = LetDown {
    ///     volume: 1e-3,
    ///     diameter: 1e-3,
    ///     discharge_coefficient: 0.8,
    ///     wall_conductance: 0.0,
    ///     room_temperature: 293.15,
    ///     room_pressure: 101_325.0,
    ///     drawn: Drawn::Vapour,
    /// };
    /// let full = State::from_t_rho(&Fluid::new("carbon dioxide")?, 293.15, 600.0)?;
    /// // No longer than it is wanted.
    /// let watch = Watch::within(0.0)?;
    /// assert_eq!(vessel.course_followed(&full, 20e5, |_| watch.check()).unwrap_err().code(), 406);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn course_followed(
        &self,
        start: &State,
        end_pressure: f64,
        mut follow: impl FnMut(&LetDownPoint) -> Result<()>,
    ) -> Result<LetDownCourse> {
        let area =
            circular_area(self.diameter)? * positive(Quantity::Ratio, self.discharge_coefficient)?;
        let mass = positive(Quantity::Volume, self.volume)? * start.density();
        positive(Quantity::Temperature, self.room_temperature)?;
        not_negative(Quantity::HeatFlowRate, self.wall_conductance)?;
        for (inlet, outlet) in [
            (start.pressure(), end_pressure),
            (
                end_pressure,
                positive(Quantity::Pressure, self.room_pressure)?,
            ),
        ] {
            if outlet >= inlet {
                return Err(Error::FlowReversed { inlet, outlet });
            }
        }
        let mut points: Vec<LetDownPoint> = Vec::new();
        let (mut state, mut here, mut time) = (start.clone(), mass, 0.0);
        let mut throat = None;
        let is_complete = loop {
            let Some(rates) = self.rates(&state, here, area, throat)? else {
                break false;
            };
            let point = LetDownPoint {
                time,
                state: state.clone(),
                mass: here,
                mass_flow_rate: rates.mass_flow_rate,
            };
            follow(&point)?;
            points.push(point);
            if here < EMPTY * mass {
                break false;
            }
            let middle = self.moved(&state, here, &rates, 0.5 * STEP)?;
            let half = here * (-0.5 * STEP).exp();
            let Some(rates) = self.rates(&middle, half, area, Some(rates.throat))? else {
                break false;
            };
            throat = Some(rates.throat);
            let next = self.moved(&state, here, &rates, STEP)?;
            if next.pressure() <= end_pressure {
                let step = Step {
                    from: &state,
                    to: &next,
                    mass: here,
                    rates: &rates,
                };
                let (share, state) = self.last(&step, end_pressure)?;
                points.push(LetDownPoint {
                    time: time + share * STEP * rates.time,
                    state,
                    mass: here * (-share * STEP).exp(),
                    mass_flow_rate: rates.mass_flow_rate,
                });
                break true;
            }
            (state, here, time) = (next, here * (-STEP).exp(), time + STEP * rates.time);
        };
        let notices = judge(&points, is_complete);
        Ok(LetDownCourse {
            points,
            is_complete,
            notices,
        })
    }

    /// The state after a share of the mass has left.
    ///
    /// Heat goes by the temperature at `(1 - a) T_1 + a T_2` with `a = 1/(1 - e^(-z)) - 1/z`, which is exact for a body of one heat
    /// capacity that relaxes by z in the step, and keeps a vessel that is let down slowly at the temperature of the room.
    fn moved(&self, state: &State, mass: f64, rates: &Rates, step: f64) -> Result<State> {
        let density = mass * (-step).exp() / self.volume;
        let energy = state.specific_internal_energy() + step * rates.energy;
        let alone = State::from_rho_u(state.fluid(), density, energy);
        if rates.conductance == 0.0 {
            return alone;
        }
        let conducted = step * rates.conductance;
        let room = self.room_temperature;
        let warm = State::from_t_rho(state.fluid(), room, density)?;
        let warmer = warm.isochoric_to(room + CAPACITY_STEP)?;
        let capacity =
            (warmer.specific_internal_energy() - warm.specific_internal_energy()) / CAPACITY_STEP;
        let mut last = warm;
        let mut at = |temperature: f64| -> Result<State> {
            last = last.isochoric_to(temperature)?;
            Ok(last.clone())
        };
        let late = share_of_end(conducted / capacity);
        let excess = |temperature: f64| {
            let mean = (1.0 - late) * state.temperature() + late * temperature;
            let given = energy + conducted * (room - mean);
            Ok(at(temperature)?.specific_internal_energy() - given)
        };
        // Between what it comes to without heat and the room, and as much beyond as it begins away from the room; a fluid that would
        // freeze without heat begins at its triple point, a mixture where it is known from.
        let fluid = state.fluid();
        let triple = fluid
            .triple_temperature()
            .unwrap_or_else(|_| fluid.range().temperature_min);
        let without = alone.map_or(triple, |alone| alone.temperature());
        let here = state.temperature();
        let beyond = (here - room).abs();
        let low = (without.min(here).min(room) - beyond).max(triple);
        let high = without.max(here).max(room) + beyond;
        let solver = "temperature of a vessel let down";
        let found = bracketed(solver, low, high, Tolerance::default(), excess)?;
        at(found)
    }

    /// The rates at a state; none where dry ice forms in the hole.
    fn rates(
        &self,
        state: &State,
        mass: f64,
        area: f64,
        near: Option<f64>,
    ) -> Result<Option<Rates>> {
        let leaving = match (self.drawn, state.vapour(), state.liquid()) {
            (Drawn::Vapour, Some(vapour), _) => vapour,
            (Drawn::Liquid, _, Some(liquid)) => liquid,
            _ => state,
        };
        let throat = match throat_near(leaving, self.room_pressure, near) {
            Ok(throat) => throat,
            Err(Error::PhaseChange { .. } | Error::Solid { .. }) => return Ok(None),
            Err(error) => return Err(error),
        };
        let mass_flow_rate = area * throat.mass_flux;
        Ok(Some(Rates {
            energy: state.specific_internal_energy() - leaving.specific_enthalpy(),
            conductance: self.wall_conductance / mass_flow_rate,
            time: mass / mass_flow_rate,
            mass_flow_rate,
            throat: throat.state.pressure() / leaving.pressure(),
        }))
    }

    /// The share of a step at whose end the pressure has come to that wanted, with the state there.
    fn last(&self, step: &Step<'_>, end_pressure: f64) -> Result<(f64, State)> {
        let Step {
            from,
            to,
            mass,
            rates,
        } = *step;
        let mut best = (1.0, to.clone(), to.pressure() - end_pressure);
        // The pressure may have a kink inside the step, where the first bubble appears.
        let excess = |share: f64| {
            if share == 0.0 {
                return Ok(from.pressure() - end_pressure);
            }
            if share == 1.0 {
                return Ok(to.pressure() - end_pressure);
            }
            let state = self.moved(from, mass, rates, share * STEP)?;
            let excess = state.pressure() - end_pressure;
            if excess.abs() < best.2.abs() {
                best = (share, state, excess);
            }
            Ok(excess)
        };
        bracketed("end of a vessel let down", 0.0, 1.0, END, excess)?;
        Ok((best.0, best.1))
    }
}

/// One step of a course.
struct Step<'a> {
    from: &'a State,
    to: &'a State,
    /// Mass in kg at its beginning.
    mass: f64,
    rates: &'a Rates,
}

fn judge(points: &[LetDownPoint], is_complete: bool) -> Vec<Notice> {
    let mut notices = Vec::new();
    let coldest = points.iter().min_by(|one, other| {
        one.state
            .temperature()
            .total_cmp(&other.state.temperature())
    });
    // Told however warm the vessel stays: the jet is colder than it, and seals tear at any temperature.
    if let Some(point) = coldest {
        let brittle = if point.state.temperature() < BRITTLE {
            ": seals turn brittle and what touches it freezes to it"
        } else {
            ""
        };
        let text = format!(
            "the vessel comes to {} degC after {} s{brittle}, and the jet is colder still. The pressure falls by up to {} bar/min: seals \
             that are swollen with the fluid tear from 5 to 10 bar/min on (common practice, no source). Let it down slowly and in steps, \
             warm it between them, and lead the jet away from skin and eyes",
            rounded(to_celsius(point.state.temperature())),
            rounded(point.time),
            rounded(fastest_fall(points) / BAR * MINUTE),
        );
        notices.push(Notice::new(NoticeCode::ColdBurn, text).about(Quantity::Temperature));
    }
    if let Some(last) = points.last().filter(|_| !is_complete) {
        let text = format!(
            "from {} bar(a) on dry ice forms in the hole and can plug it while the vessel is still under pressure: a gauge behind the \
             plug shows nothing. Wait until it is warm, never loosen a fitting on it, and keep to local codes",
            rounded(last.state.pressure() / BAR),
        );
        notices.push(Notice::new(NoticeCode::SolidForms, text).about(Quantity::Pressure));
    }
    notices
}

/// The share a of the end of a step by which a body that relaxes by z in it has the mean temperature `(1 - a) T_1 + a T_2`:
/// `1/(1 - e^(-z)) - 1/z`, from one half to one.
fn share_of_end(relaxed: f64) -> f64 {
    // The leading terms, where the difference would vanish.
    if relaxed < 1e-3 {
        return 0.5 + relaxed / 12.0;
    }
    -1.0 / (-relaxed).exp_m1() - 1.0 / relaxed
}

/// Fastest fall of the pressure between two points of a course, in Pa/s.
fn fastest_fall(points: &[LetDownPoint]) -> f64 {
    let pairs = points.iter().zip(points.iter().skip(1));
    let rates = pairs.map(|(before, after)| {
        (before.state.pressure() - after.state.pressure()) / (after.time - before.time)
    });
    rates.fold(0.0, f64::max)
}

/// The pressure that a tube stands.
///
/// ```
/// let rating = densepath::hardware::safety::tube_rating(0.25e-3, 1.59e-3, 115e6)?;
/// assert!(rating.pressure > 1000e5 && !rating.notices.is_empty());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct TubeRating {
    /// Pressure in Pa inside, above that outside, at which the inner wall reaches the stress.
    pub pressure: f64,
    /// What to know: always a caution.
    pub notices: Vec<Notice>,
}

/// Pressure inside a round tube, above that outside, at which its inner wall reaches a stress in Pa:
/// `S (k^2 - 1)/(k^2 + 1)` with k the ratio of outer to inner diameter, both in m.
///
/// *Valid* for a straight tube without weld, thread or corrosion; a fitting, a bend and heat lower it, and the rating that the maker
/// states goes before it. The stress is the one that the code of the place allows for the metal at its temperature. *Uncertainty*: that of
/// the diameters, to the second power. *Source*: G. Lame, for the hoop stress at the inner wall of a thick cylinder (from memory).
///
/// Errors: 101 for values not above zero, or a wall without thickness.
///
/// ```
/// use densepath::hardware::safety::tube_rating;
/// // S (k^2 - 1) / (k^2 + 1) with k = 2.
/// assert!((tube_rating(1e-3, 2e-3, 100e6)?.pressure / 60e6 - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn tube_rating(
    inner_diameter: f64,
    outer_diameter: f64,
    allowable_stress: f64,
) -> Result<TubeRating> {
    positive(Quantity::Diameter, inner_diameter)?;
    positive(Quantity::Pressure, allowable_stress)?;
    if !(outer_diameter > inner_diameter && outer_diameter.is_finite()) {
        return Err(Error::Domain {
            quantity: Quantity::Diameter,
            value: outer_diameter,
            rule: "an outer diameter above the inner one",
        });
    }
    let square = (outer_diameter / inner_diameter).powi(2);
    let pressure = allowable_stress * (square - 1.0) / (square + 1.0);
    let text = format!(
        "{} bar is what a straight tube stands at a stress of {} MPa in its metal. A fitting, a bend, a weld, heat and corrosion lower it, \
         and the rating that the maker states goes before it: set relief to {} % of the weakest part at most, and keep to local codes",
        rounded(pressure / BAR),
        rounded(allowable_stress / 1e6),
        rounded(100.0 * RATING_SHARE),
    );
    Ok(TubeRating {
        pressure,
        notices: vec![Notice::new(NoticeCode::Overpressure, text).about(Quantity::Pressure)],
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};
    use densepath_fluid::units::from_celsius;

    fn state(degc: f64, bar: f64) -> State {
        State::from_tp(&co2(), from_celsius(degc), bar * BAR).unwrap()
    }

    fn let_down() -> LetDown {
        LetDown {
            volume: 5e-6,
            diameter: 1e-4,
            discharge_coefficient: 0.8,
            wall_conductance: 0.0,
            room_temperature: 293.15,
            room_pressure: 1e5,
            drawn: Drawn::Mixed,
        }
    }

    /// 1/16 inch outside, 0.25 mm inside, 115 MPa: independent arithmetic.
    #[test]
    fn the_rating_of_a_capillary() {
        let rating = tube_rating(0.25e-3, 1.5875e-3, 115e6).unwrap();
        assert!(close(rating.pressure, 1094.3 * BAR, 1e-4));
        assert_eq!(rating.notices[0].code, NoticeCode::Overpressure);
        // A thin wall follows the formula of the boiler: S t/r.
        let thin = tube_rating(1.0, 1.0 + 2e-6, 1e8).unwrap();
        assert!(close(thin.pressure, 1e8 * 1e-6 / 0.5, 1e-5));
        assert!(tube_rating(1.0, 1.0, 1e8).is_err());
        assert!(tube_rating(1.0, f64::NAN, 1e8).is_err());
    }

    #[test]
    fn a_gas_stores_what_the_ideal_gas_law_says() {
        // Nitrogen at 2 bar: isentropic work of an ideal gas less that against the room; real nitrogen is within 1 %.
        let nitrogen = densepath_fluid::Fluid::new("nitrogen").unwrap();
        let state = State::from_tp(&nitrogen, 300.0, 2e5).unwrap();
        let (volume, room, gamma) = (1.0, 1e5, 1.4_f64);
        let ratio: f64 = room / 2e5;
        let work = 2e5 * volume / (gamma - 1.0) * (1.0 - ratio.powf((gamma - 1.0) / gamma));
        let push = room * volume * (ratio.powf(-1.0 / gamma) - 1.0);
        let stored = stored_energy(&state, volume, 300.0, room).unwrap();
        assert!(close(stored.sudden_energy, work - push, 1e-2));
        // At one temperature: p V ln(p/p_0) less the push.
        let slow = 2e5 * volume * 2.0_f64.ln() - room * volume * (2e5 / room - 1.0);
        assert!(close(stored.energy, slow, 1e-2) && stored.energy > stored.sudden_energy);
        assert_eq!(stored.notices[0].code, NoticeCode::StoredEnergy);
    }

    /// kJ of 20 and of 250 mL at 40 degC and 400 bar in a room of 20 degC and 1 atm: independent computation with CoolProp 8.0.0.
    #[test]
    fn a_dense_fluid_can_do_more_than_bursts_at_once() {
        for (millilitres, kilojoules) in [(20.0, 3.829_890_7), (250.0, 47.873_634)] {
            let stored = stored_energy(
                &state(40.0, 400.0),
                millilitres * MILLILITRE,
                293.15,
                101_325.0,
            )
            .unwrap();
            assert!(close(stored.energy / 1e3, kilojoules, 1e-6));
            // Part of it ends as dry ice.
            assert!(stored.sudden_energy < 0.5 * stored.energy);
        }
    }

    #[test]
    fn a_gas_lets_down_as_the_ideal_gas_law_says() {
        // Isentropic: T/T_0 = (p/p_0)^((g-1)/g); choked: t = 2/(g-1) (r^(-(g-1)/2g) - 1) m_0/q_0 (from the balance of an ideal gas).
        let nitrogen = densepath_fluid::Fluid::new("nitrogen").unwrap();
        let start = State::from_tp(&nitrogen, 300.0, 8e5).unwrap();
        let course = let_down().course(&start, 3e5).unwrap();
        assert!(course.is_complete);
        let (first, last) = (&course.points[0], course.points.last().unwrap());
        let (gamma, ratio) = (1.4_f64, 3.0_f64 / 8.0);
        assert!(close(last.state.pressure(), 3e5, 2e-3));
        assert!(close(
            last.state.temperature(),
            300.0 * ratio.powf((gamma - 1.0) / gamma),
            5e-3
        ));
        let time =
            2.0 / (gamma - 1.0) * (ratio.powf(-(gamma - 1.0) / (2.0 * gamma)) - 1.0) * first.mass
                / first.mass_flow_rate;
        assert!(close(course.time(), time, 1e-2), "{} {time}", course.time());
    }

    /// Beside a wall that conducts well a mixture keeps the temperature of the room; its points can be followed.
    #[test]
    fn a_mixture_is_let_down_beside_a_wall() {
        let shares = [("carbon dioxide", 0.9), ("methanol", 0.1)];
        let fluid = densepath_fluid::Fluid::mixture(&shares).unwrap();
        let start = State::from_tp(&fluid, 293.15, 15e6).unwrap();
        let vessel = LetDown {
            wall_conductance: 1e5,
            ..let_down()
        };
        let mut told = 0;
        let follow = |_: &LetDownPoint| {
            told += 1;
            Ok(())
        };
        let course = vessel.course_followed(&start, 5.5e6, follow).unwrap();
        assert!(course.is_complete && told + 1 == course.points.len());
        let last = course.points.last().unwrap();
        // 1e5 J/kg over the 2e8 J/(kg K) that come through the wall.
        let warmth = last.state.temperature();
        assert!(close(warmth, 293.15, 1e-5), "{warmth}");
        let pressures: Vec<f64> = course.points.iter().map(|p| p.state.pressure()).collect();
        assert!(close(last.state.pressure(), 5.5e6, 1e-5), "{pressures:?}");
    }

    #[test]
    fn mass_and_energy_are_kept() {
        let course = let_down().course(&state(40.0, 150.0), 20.0 * BAR).unwrap();
        // Without heat the entropy of what stays behind never changes as long as all that leaves is like it.
        let entropies: Vec<f64> = course
            .points
            .iter()
            .map(|point| point.state.specific_entropy())
            .collect();
        for entropy in &entropies {
            assert!(
                (entropy - entropies[0]).abs() < 2.0,
                "{entropy} {}",
                entropies[0]
            );
        }
        assert!(
            course
                .points
                .windows(2)
                .all(|pair| pair[1].mass < pair[0].mass && pair[1].time > pair[0].time)
        );
        assert!(
            course
                .points
                .iter()
                .all(|point| { close(point.mass, point.state.density() * 5e-6, 1e-9) })
        );
    }

    #[test]
    fn dry_ice_in_the_hole_ends_the_course_with_a_warning() {
        let course = let_down().course(&state(40.0, 150.0), 1.2 * BAR).unwrap();
        assert!(!course.is_complete);
        let codes: Vec<_> = course.notices.iter().map(|notice| notice.code).collect();
        assert!(codes.contains(&NoticeCode::SolidForms) && codes.contains(&NoticeCode::ColdBurn));
        let warm = LetDown {
            wall_conductance: 1.0,
            ..let_down()
        };
        let warmed = warm.course(&state(40.0, 150.0), 20.0 * BAR).unwrap();
        let alone = let_down().course(&state(40.0, 150.0), 20.0 * BAR).unwrap();
        assert!(warmed.lowest_temperature() > alone.lowest_temperature());
    }

    /// A wall that conducts well keeps the fluid at the temperature of the room, however slowly it is let down: the course of an ideal gas
    /// at one temperature, `t = ln(p_0/p) m_0/q_0` (balance of an ideal gas).
    #[test]
    fn a_vessel_let_down_slowly_keeps_the_temperature_of_the_room() {
        let nitrogen = densepath_fluid::Fluid::new("nitrogen").unwrap();
        let start = State::from_tp(&nitrogen, 293.15, 8e5).unwrap();
        for (diameter, conductance) in [(1e-5, 0.1), (1e-5, 10.0), (1e-4, 1e3), (1e-6, 100.0)] {
            let vessel = LetDown {
                diameter,
                wall_conductance: conductance,
                ..let_down()
            };
            let course = vessel.course(&start, 3e5).unwrap();
            let first = &course.points[0];
            let time = (8.0_f64 / 3.0).ln() * first.mass / first.mass_flow_rate;
            assert!(course.is_complete && course.lowest_temperature() > 293.0);
            assert!(close(course.time(), time, 1e-2), "{} {time}", course.time());
        }
        // Carbon dioxide boils at nearly that temperature, and lasts as many times longer as the hole is smaller.
        let liquid = state(5.0, 57.3);
        let boiling = |diameter| LetDown {
            diameter,
            wall_conductance: 10.0,
            ..let_down()
        };
        let (wide, narrow) = (
            boiling(3e-5).course(&liquid, 20e5).unwrap(),
            boiling(1e-5).course(&liquid, 20e5).unwrap(),
        );
        assert!(wide.lowest_temperature() > 277.0 && narrow.lowest_temperature() > 278.0);
        assert!(
            close(narrow.time() / wide.time(), 9.0, 2e-2),
            "{}",
            narrow.time() / wide.time()
        );
    }

    /// Without heat and with very little of it the course is the same; the heat given is that of the balance.
    #[test]
    fn little_heat_changes_little_and_what_is_given_is_kept() {
        let start = state(40.0, 150.0);
        let course = |wall_conductance| {
            let vessel = LetDown {
                wall_conductance,
                ..let_down()
            };
            vessel.course(&start, 20.0 * BAR).unwrap()
        };
        let (alone, nearly) = (course(0.0), course(1e-9));
        // Liquid and vapour at 20 bar have one temperature; how much of each there is tells of the heat.
        let last = |course: &LetDownCourse| course.points.last().unwrap().state.specific_entropy();
        assert!(
            close(last(&alone), last(&nearly), 1e-6) && close(alone.time(), nearly.time(), 1e-6)
        );
        let (little, more) = (course(0.05), course(0.2));
        assert!(last(&alone) < last(&little) && last(&little) < last(&more));
    }

    #[test]
    fn vapour_drawn_leaves_the_vessel_colder_than_liquid_drawn() {
        let full = State::from_t_rho(&co2(), 293.15, 600.0).unwrap();
        let drawn = |drawn| {
            LetDown {
                drawn,
                ..let_down()
            }
            .course(&full, 30.0 * BAR)
            .unwrap()
        };
        let (vapour, liquid) = (drawn(Drawn::Vapour), drawn(Drawn::Liquid));
        let left = |course: &LetDownCourse| course.points.last().unwrap().mass;
        assert!(left(&vapour) > left(&liquid));
        assert!(let_down().course(&full, 60.0 * BAR).is_err());
    }
}
