//! The march of a stream along a channel: tube or column, at wall temperature or without heat exchange.

use std::cell::Cell;

use fluid::num::ode::{Control, Step, integrate_in_legs};
use fluid::num::root::{Tolerance, bracketed};
use fluid::{Error, Phase, Quantity, Result, State};

use super::{ProfilePoint, Thermal};
use crate::flow::balance::{Exchange, Local, Slopes, slopes};
use crate::fluid;

/// Tolerance of each step of the march, relative to the density and to the pressure at the inlet.
const TOLERANCE: f64 = 3e-9;

/// Of a channel whose friction is smooth in the Reynolds number.
pub(super) const NO_KINKS: [f64; 2] = [f64::INFINITY; 2];

/// A channel of constant cross-section with a steady stream in it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Channel {
    /// Length L in m.
    pub length: f64,
    /// Cross-section in m2 that is open to the solute and its mobile phase.
    pub open_area: f64,
    /// Mass flow rate `q_m` in kg/s.
    pub mass_flow_rate: f64,
    /// How heat is exchanged.
    pub thermal: Thermal,
    /// Reynolds numbers at which the friction bends or jumps, see [`NO_KINKS`].
    pub kinks: [f64; 2],
    /// Number of intervals of the profile, four or a multiple.
    pub intervals: u32,
}

/// What a part says of one state in its channel.
#[derive(Debug, Clone, Copy)]
pub(super) struct Laws {
    /// Friction -dp/dz in Pa/m.
    pub friction: f64,
    /// Reynolds number Re by which the friction is known; 0 where it has no kinks.
    pub reynolds_number: f64,
    /// Retention factor k of the solute; 0 outside columns and without a solute.
    pub retention_factor: f64,
    /// Local plate height H in m; 0 outside columns and without a solute.
    pub plate_height: f64,
}

/// What the march found.
#[derive(Debug, Clone)]
pub(super) struct March {
    /// State at the outlet.
    pub outlet: State,
    /// Points along the channel.
    pub profile: Vec<ProfilePoint>,
    /// Time of the fluid in the channel in s.
    pub hold_up_time: f64,
    /// Time of the solute in the channel in s.
    pub retention_time: f64,
    /// Time variance that the local plate heights add, in s2.
    pub time_variance: f64,
    /// Heat flow rate into the fluid in W.
    pub heat_flow_rate: f64,
}

/// Smallest step as a share of the length; it places a fault to that share.
const SMALLEST: f64 = 1e-6;
/// Distance over which the pressure would be used up, as a share of the length, that counts as choking.
const NEARLY_CHOKED: f64 = 1e-3;

/// How near to a kink, relative, the Reynolds number at the end of a step counts as being there.
const AT_KINK: f64 = 1e-6;

const KINK: &str = "kink of the friction along a channel";
/// How exactly the place of a kink is found, relative to its distance from the inlet.
const KINK_FOUND: Tolerance = Tolerance {
    relative: 1e-10,
    iterations: 60,
};

/// Temperature and density.
type Vector = [f64; 2];

/// What is remembered of the Reynolds number on the way, so that the steps of the march end where the friction bends.
#[derive(Default)]
struct Course {
    /// At the place to which the march has come.
    here: Cell<Option<f64>>,
    /// At the state asked for last, which of an attempted step is its end.
    latest: Cell<f64>,
}

impl Course {
    fn note(&self, reynolds_number: f64) {
        self.latest.set(reynolds_number);
        if self.here.get().is_none() {
            self.here.set(Some(reynolds_number));
        }
    }

    /// Where an attempted step passes a kink; where it passes none, it is the way that the march takes.
    fn cut(
        &self,
        kinks: [f64; 2],
        step: &Step<2>,
        reynolds_number: impl Fn(f64) -> Result<f64>,
    ) -> Option<f64> {
        let place = self.passed(kinks).and_then(|kink| {
            let beyond = |z: f64| Ok(reynolds_number(z)? / kink - 1.0);
            bracketed(KINK, step.from, step.to, KINK_FOUND, beyond).ok()
        });
        if place.is_none() {
            self.here.set(Some(self.latest.get()));
        }
        place
    }

    /// The kink that an attempted step passes; of two the first.
    fn passed(&self, kinks: [f64; 2]) -> Option<f64> {
        let (here, latest) = (self.here.get()?, self.latest.get());
        let side = |reynolds: f64, kink: f64| {
            let distance = reynolds / kink - 1.0;
            if distance.abs() < AT_KINK {
                0.0
            } else {
                distance.signum()
            }
        };
        let is_passed = |kink: &f64| side(here, *kink) * side(latest, *kink) < 0.0;
        let passed = kinks.into_iter().filter(is_passed);
        passed.min_by(|one, other| (one - here).abs().total_cmp(&(other - here).abs()))
    }
}

impl Channel {
    /// Marches from an inlet to the end, with the laws that the part gives for each state and velocity.
    ///
    /// The balances are integrated in temperature and density. Trial states with two phases are survived; error 502 where
    /// the stream itself forms a second phase, 501 where it reaches the speed of sound or has used up its pressure.
    pub fn march<F>(&self, inlet: &State, laws: F) -> Result<March>
    where
        F: Fn(&State, f64) -> Result<Laws>,
    {
        let start = self.enter(inlet)?;
        let flux = self.mass_flow_rate / self.open_area;
        let at = |z: f64, state: &State| {
            one_phase(state, z)?;
            let velocity = flux / state.density();
            Ok(point(z, state, velocity, &laws(state, velocity)?))
        };
        let inner = (1..self.intervals).map(|place| f64::from(place) / f64::from(self.intervals));
        let inner = inner.map(|share| share * self.length);
        // The end is exact, so that the last step reaches it.
        let mut places = inner.chain([self.length]).peekable();
        let mut profile = vec![at(0.0, &start)?];
        let mut outlet = start.clone();
        self.integrate(&start, &laws, |step| {
            while let Some(&z) = places.peek().filter(|z| **z <= step.to) {
                places.next();
                let y = step.at(z);
                outlet = self.conserve(&start, y)?;
                profile.push(at(z, &outlet)?);
            }
            Ok(())
        })?;
        let kinetic = |state: &State| 0.5 * (flux / state.density()).powi(2);
        let taken = outlet.specific_enthalpy() + kinetic(&outlet)
            - inlet.specific_enthalpy()
            - kinetic(&start);
        let slowness = |point: &ProfilePoint| (1.0 + point.retention_factor) / point.velocity;
        Ok(March {
            hold_up_time: along(&profile, |point| 1.0 / point.velocity),
            retention_time: along(&profile, slowness),
            time_variance: along(&profile, |point| {
                point.plate_height * slowness(point).powi(2)
            }),
            profile,
            heat_flow_rate: match self.thermal {
                Thermal::Isothermal { .. } | Thermal::Wall { .. } => self.mass_flow_rate * taken,
                Thermal::Adiabatic => 0.0,
            },
            outlet,
        })
    }

    /// The state at the end alone, as the trials of a solve ask for it. Errors as [`Channel::march`].
    pub fn outlet<F>(&self, inlet: &State, laws: F) -> Result<State>
    where
        F: Fn(&State, f64) -> Result<Laws>,
    {
        let start = self.enter(inlet)?;
        let end = self.integrate(&start, &laws, |_| Ok(()))?;
        let outlet = self.conserve(&start, end)?;
        one_phase(&outlet, self.length)?;
        Ok(outlet)
    }

    /// The state of a vector of the march. Without heat its temperature is moved, within the error of the integration, to where the
    /// total enthalpy is the one that entered: projection onto an invariant (E. Hairer, C. Lubich and G. Wanner, Geometric Numerical
    /// Integration, Springer 2006, section IV.4, from memory).
    fn conserve(&self, start: &State, [temperature, density]: Vector) -> Result<State> {
        let fluid = start.fluid();
        let exchanges = match self.thermal {
            Thermal::Isothermal { .. } => true,
            Thermal::Adiabatic => false,
            Thermal::Wall { conductance, .. } => conductance > 0.0,
        };
        if exchanges {
            return State::from_t_rho(fluid, temperature, density);
        }
        let found = State::one_phase_from_t_rho(fluid, temperature, density)?;
        let flux = self.mass_flow_rate / self.open_area;
        let total =
            |state: &State| state.specific_enthalpy() + 0.5 * (flux / state.density()).powi(2);
        let slope = found.specific_isochoric_heat_capacity()? + found.dp_dt_rho()? / density;
        let missing = total(start) - total(&found);
        State::from_t_rho(fluid, temperature + missing / slope, density)
    }

    /// The integration from the state in which the stream enters; `observe` sees every step.
    fn integrate<F>(
        &self,
        start: &State,
        laws: &F,
        mut observe: impl FnMut(&Step<2>) -> Result<()>,
    ) -> Result<Vector>
    where
        F: Fn(&State, f64) -> Result<Laws>,
    {
        let flux = self.mass_flow_rate / self.open_area;
        // In a liquid an error of the density is one of the pressure many times as large.
        let stiffness = start.density() * start.dp_drho_t()? / start.pressure();
        let mut control = Control::new(TOLERANCE / stiffness.max(1.0), [0.0; 2]);
        control.smallest = SMALLEST;
        let (mut last, mut position) = (start.clone(), 0.0);
        let course = Course::default();
        let laws_at = |z: f64, y: &Vector| {
            let state = State::one_phase_from_t_rho(start.fluid(), y[0], y[1])?;
            one_phase(&state, z)?;
            let laws = laws(&state, flux / state.density())?;
            Ok((state, laws))
        };
        let end = integrate_in_legs(
            "march along a channel",
            [0.0, self.length],
            [start.temperature(), start.density()],
            control,
            |z, y| {
                let (state, laws) = laws_at(z, y)?;
                course.note(laws.reynolds_number);
                let slopes = self.balance(z, &state, laws.friction)?;
                Ok([slopes.temperature, slopes.density])
            },
            |step| {
                course.cut(self.kinks, step, |z| {
                    Ok(laws_at(z, &step.at(z))?.1.reynolds_number)
                })
            },
            |step| {
                position = step.to;
                // The slopes of a substance have asked for its phase already; of a mixture it costs more than all else.
                if start.fluid().is_mixture() || step.to < self.length {
                    last = State::from_t_rho(start.fluid(), step.end[0], step.end[1])?;
                    one_phase(&last, step.to)?;
                }
                observe(step)
            },
        );
        end.map_err(|fault| self.explain(fault, position, &last, laws))
    }

    /// Slopes of temperature, density and pressure.
    fn balance(&self, position: f64, state: &State, friction: f64) -> Result<Slopes> {
        let local = Local {
            temperature: state.temperature(),
            density: state.density(),
            dp_drho_t: state.dp_drho_t()?,
            dp_dt_rho: state.dp_dt_rho()?,
            specific_isochoric_heat_capacity: state.specific_isochoric_heat_capacity()?,
        };
        let exchange = match self.thermal {
            Thermal::Isothermal { .. } => Exchange::Along(0.0),
            Thermal::Adiabatic => Exchange::Heat(0.0),
            Thermal::Wall {
                temperature,
                conductance,
            } => Exchange::Heat(
                conductance * (temperature - state.temperature()) / self.mass_flow_rate,
            ),
        };
        let flux = self.mass_flow_rate / self.open_area;
        slopes(&local, flux, friction, exchange).map_err(|fault| match fault {
            Error::Choked { .. } => choked(position, state),
            other => other,
        })
    }

    /// What stopped a march: steps that vanish before a point where the pressure is used up mean choking.
    fn explain<F>(&self, fault: Error, position: f64, last: &State, laws: &F) -> Error
    where
        F: Fn(&State, f64) -> Result<Laws>,
    {
        let Error::NoConvergence { .. } = fault else {
            return fault;
        };
        let velocity = self.mass_flow_rate / (self.open_area * last.density());
        let left = laws(last, velocity)
            .and_then(|laws| self.balance(position, last, laws.friction))
            .map_or(0.0, |slopes| last.pressure() / -slopes.pressure);
        if left < NEARLY_CHOKED * self.length {
            choked(position, last)
        } else {
            fault
        }
    }

    /// The state in which the stream enters: that of the wall's temperature if the fluid takes it on.
    fn enter(&self, inlet: &State) -> Result<State> {
        one_phase(inlet, 0.0)?;
        let Thermal::Isothermal { temperature } = self.thermal else {
            return Ok(inlet.clone());
        };
        if temperature == inlet.temperature() {
            return Ok(inlet.clone());
        }
        let state = State::from_tp(inlet.fluid(), temperature, inlet.pressure())?;
        one_phase(&state, 0.0)?;
        crosses_no_border(inlet, &state)?;
        Ok(state)
    }
}

/// Ratio of densities from which two states of a mixture at one pressure may have boiling between them.
const FAR_APART: f64 = 1.5;
/// Places between two states at one pressure where a mixture is looked at.
const BETWEEN: u32 = 4;

/// Error 502 if the way at one pressure from one state of one phase to another goes through boiling.
fn crosses_no_border(from: &State, to: &State) -> Result<()> {
    if !from.fluid().is_mixture() {
        // At a pressure below the critical one, the way from one to the other goes through boiling.
        let phases = [from.phase(), to.phase()];
        return if phases.contains(&Phase::Liquid) && phases.contains(&Phase::Vapour) {
            Err(phase_change(to, 0.0))
        } else {
            Ok(())
        };
    }
    let ratio = from.density() / to.density();
    if (FAR_APART.recip()..=FAR_APART).contains(&ratio) {
        return Ok(());
    }
    for place in 1..=BETWEEN {
        let share = f64::from(place) / f64::from(BETWEEN + 1);
        let temperature = from.temperature() + share * (to.temperature() - from.temperature());
        let state = State::from_tp(from.fluid(), temperature, from.pressure())?;
        one_phase(&state, 0.0)?;
    }
    Ok(())
}

/// Error 502 if a state is not one fluid phase.
pub(super) fn one_phase(state: &State, position: f64) -> Result<()> {
    if state.is_one_phase() {
        Ok(())
    } else {
        Err(phase_change(state, position))
    }
}

fn phase_change(state: &State, position: f64) -> Error {
    Error::PhaseChange {
        position,
        temperature: state.temperature(),
        pressure: state.pressure(),
    }
}

fn choked(position: f64, state: &State) -> Error {
    Error::Choked {
        position,
        pressure: state.pressure(),
    }
}

/// Integral over the length of a function of the profile by the rule of Boole, of order six in its intervals.
fn along(profile: &[ProfilePoint], f: impl Fn(&ProfilePoint) -> f64) -> f64 {
    const WEIGHTS: [f64; 5] = [7.0, 32.0, 12.0, 32.0, 7.0];
    let panels = profile.windows(5).step_by(4);
    let panel = |panel: &[ProfilePoint]| {
        let ends = panel.first().zip(panel.last());
        let width = ends.map_or(0.0, |(from, to)| to.position - from.position);
        let sum: f64 = WEIGHTS
            .iter()
            .zip(panel)
            .map(|(w, point)| w * f(point))
            .sum();
        width * sum / 90.0
    };
    panels.map(panel).sum()
}

fn point(position: f64, state: &State, velocity: f64, laws: &Laws) -> ProfilePoint {
    ProfilePoint {
        position,
        temperature: state.temperature(),
        pressure: state.pressure(),
        density: state.density(),
        velocity,
        retention_factor: laws.retention_factor,
        plate_height: laws.plate_height,
    }
}

/// Checks the temperature and the conductance of a wall.
pub(super) fn checked(thermal: Thermal) -> Result<Thermal> {
    match thermal {
        Thermal::Isothermal { temperature } => {
            fluid::error::positive(Quantity::Temperature, temperature)?;
        }
        Thermal::Wall {
            temperature,
            conductance,
        } => {
            fluid::error::positive(Quantity::Temperature, temperature)?;
            fluid::error::not_negative(Quantity::ThermalConductivity, conductance)?;
        }
        Thermal::Adiabatic => {}
    }
    Ok(thermal)
}
