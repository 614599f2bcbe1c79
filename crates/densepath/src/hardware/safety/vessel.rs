//! A vessel under pressure: what its fluid can do when it bursts, and how long it takes to let it out.

use densepath_fluid::error::{Error, Result, not_negative, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::units::{BAR, to_celsius};
use densepath_fluid::{Notice, NoticeCode, Quantity, State};

use crate::flow::circular_area;
use crate::hardware::restrictor::throat;

/// Share of the mass that leaves in one step; the middle of each step gives its rates, so that halving it changes times by less
/// than a thousandth.
const STEP: f64 = 0.05;
/// Share of the mass left at which the march ends in any case.
const EMPTY: f64 = 1e-4;
/// Temperature in K below which soft seals turn brittle and skin freezes to metal: -20 degC, common practice, no source.
const BRITTLE: f64 = 253.15;

/// Largest work in J that a fluid shut in a volume in m3 can do when it expands into a room of a pressure in Pa:
/// `m (u_1 - u_2) - p_2 m (v_2 - v_1)` along the isentrope.
///
/// *Valid* as a bound: what bursts does less. The work against the air of the room is taken off. *Source*: first law. Error 101 for a
/// volume or pressure not above zero; those of the state at the end.
pub fn stored_energy(state: &State, volume: f64, room_pressure: f64) -> Result<f64> {
    let mass = positive(Quantity::Volume, volume)? * state.density();
    let end = State::from_ps(state.fluid(), room_pressure, state.specific_entropy())?;
    let push = room_pressure * (1.0 / end.density() - 1.0 / state.density());
    let released = state.specific_internal_energy() - end.specific_internal_energy();
    Ok((mass * (released - push)).max(0.0))
}

/// What is drawn from a vessel.
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
    pub fn time(&self) -> f64 {
        self.points.last().map_or(0.0, |point| point.time)
    }

    /// Lowest temperature in K met.
    pub fn lowest_temperature(&self) -> f64 {
        let temperatures = self.points.iter().map(|point| point.state.temperature());
        temperatures.fold(f64::INFINITY, f64::min)
    }
}

/// Rates of change along the mass that leaves, `s = -ln(m/m_0)`.
struct Rates {
    /// du/ds in J/kg.
    energy: f64,
    /// dt/ds in s.
    time: f64,
    mass_flow_rate: f64,
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
    pub fn course(&self, start: &State, end_pressure: f64) -> Result<LetDownCourse> {
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
        let is_complete = loop {
            let Some(rates) = self.rates(&state, here, area)? else {
                break false;
            };
            points.push(LetDownPoint {
                time,
                state: state.clone(),
                mass: here,
                mass_flow_rate: rates.mass_flow_rate,
            });
            if here < EMPTY * mass {
                break false;
            }
            let middle = self.moved(&state, here, &rates, 0.5 * STEP)?;
            let half = here * (-0.5 * STEP).exp();
            let Some(rates) = self.rates(&middle, half, area)? else {
                break false;
            };
            let next = self.moved(&state, here, &rates, STEP)?;
            if next.pressure() <= end_pressure {
                let left = self.last(points.last(), &next, here, time, &rates, end_pressure)?;
                points.push(left);
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
    fn moved(&self, state: &State, mass: f64, rates: &Rates, step: f64) -> Result<State> {
        let density = mass * (-step).exp() / self.volume;
        let energy = state.specific_internal_energy() + step * rates.energy;
        State::from_rho_u(state.fluid(), density, energy)
    }

    /// The rates at a state; none where dry ice forms in the hole.
    fn rates(&self, state: &State, mass: f64, area: f64) -> Result<Option<Rates>> {
        let leaving = match (self.drawn, state.vapour(), state.liquid()) {
            (Drawn::Vapour, Some(vapour), _) => vapour,
            (Drawn::Liquid, _, Some(liquid)) => liquid,
            _ => state,
        };
        let flux = match throat(leaving, self.room_pressure) {
            Ok(throat) => throat.mass_flux,
            Err(Error::PhaseChange { .. } | Error::Solid { .. }) => return Ok(None),
            Err(error) => return Err(error),
        };
        let mass_flow_rate = area * flux;
        let heat = self.wall_conductance * (self.room_temperature - state.temperature());
        Ok(Some(Rates {
            energy: state.specific_internal_energy() - leaving.specific_enthalpy()
                + heat / mass_flow_rate,
            time: mass / mass_flow_rate,
            mass_flow_rate,
        }))
    }

    /// The point at the end pressure, inside the last step.
    fn last(
        &self,
        before: Option<&LetDownPoint>,
        next: &State,
        mass: f64,
        time: f64,
        rates: &Rates,
        end_pressure: f64,
    ) -> Result<LetDownPoint> {
        let from = before.map_or(next, |point| &point.state);
        let share = (from.pressure() - end_pressure) / (from.pressure() - next.pressure());
        let step = share * STEP;
        Ok(LetDownPoint {
            time: time + step * rates.time,
            state: self.moved(from, mass, rates, step)?,
            mass: mass * (-step).exp(),
            mass_flow_rate: rates.mass_flow_rate,
        })
    }
}

fn judge(points: &[LetDownPoint], is_complete: bool) -> Vec<Notice> {
    let mut notices = Vec::new();
    let coldest = points.iter().min_by(|one, other| {
        one.state
            .temperature()
            .total_cmp(&other.state.temperature())
    });
    if let Some(point) = coldest.filter(|point| point.state.temperature() < BRITTLE) {
        let text = format!(
            "the vessel comes to {} degC after {} s: seals turn brittle and what touches it freezes to it. Let it down slowly and in \
             steps, and warm it between them",
            rounded(to_celsius(point.state.temperature())),
            rounded(point.time),
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

/// Pressure in Pa inside a round tube, above that outside, at which its inner wall reaches a stress in Pa:
/// `S (k^2 - 1)/(k^2 + 1)` with k the ratio of outer to inner diameter, both in m.
///
/// *Valid* for a straight tube without weld, thread or corrosion; a fitting, a bend and heat lower it, and the rating that the maker
/// states goes before it. The stress is the one that the code of the place allows for the metal at its temperature. *Source*: G. Lame,
/// for the hoop stress at the inner wall of a thick cylinder (from memory).
///
/// Errors: 101 for values not above zero, or a wall without thickness.
pub fn tube_rating(inner_diameter: f64, outer_diameter: f64, allowable_stress: f64) -> Result<f64> {
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
    Ok(allowable_stress * (square - 1.0) / (square + 1.0))
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
        assert!(close(rating, 1094.3 * BAR, 1e-4));
        // A thin wall follows the formula of the boiler: S t/r.
        let thin = tube_rating(1.0, 1.0 + 2e-6, 1e8).unwrap();
        assert!(close(thin, 1e8 * 1e-6 / 0.5, 1e-5));
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
        assert!(close(
            stored_energy(&state, volume, room).unwrap(),
            work - push,
            1e-2
        ));
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
