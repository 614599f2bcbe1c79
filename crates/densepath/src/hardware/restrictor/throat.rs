//! The throat of an expansion: the place where the fluid is as fast as sound, beyond which the pressure outside has no influence.
//!
//! Near the critical point there may be two such places: sound slows at a jump where a second phase appears, and is faster again below
//! it. The throat is the one of the greater flux; what lies between them is passed in a shock that expands the fluid, whose losses are
//! left out.

use fluid::error::{Error, positive};
use fluid::num::root::{Tolerance, bracketed};
use fluid::{Quantity, Result, State};

use crate::fluid;

/// Share of the inlet pressure below which no throat is sought.
const LOWEST: f64 = 0.02;
/// Pressures at which the fluid is looked at for its being faster than sound.
const LOOKS: u32 = 16;
/// How far beside the throat of a fluid nearby one is looked for, as a share of its pressure.
const NEARBY: f64 = 0.03;
/// Share of the critical temperature above which a substance may have two humps.
pub(super) const NEARLY_CRITICAL: f64 = 0.95;
/// How far below a hump it is first looked whether the fluid is slower than sound again, as a share of its pressure.
const FIRST_LOOK: f64 = 0.01;
/// The flux hardly changes beside its hump.
const CLOSE: Tolerance = Tolerance {
    relative: 1e-10,
    iterations: 100,
};

/// The throat of an expansion.
///
/// ```
/// use densepath::{Fluid, State, hardware::restrictor::throat};
/// let inlet = State::from_tp(&Fluid::new("carbon dioxide")?, 373.15, 100e5)?;
/// let found = throat(&inlet, 101_325.0)?;
/// assert!((found.mass_flux / (found.state.density() * found.velocity) - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Throat {
    /// State of the fluid in the throat.
    pub state: State,
    /// Mass flux G in kg/(m2 s).
    pub mass_flux: f64,
    /// Velocity in m/s.
    pub velocity: f64,
    /// Whether the pressure outside has no influence.
    pub is_choked: bool,
}

/// Isentropic expansion of a fluid at rest to its largest mass flux, or to a pressure outside in Pa if that comes first.
///
/// Errors: 503 if the pressure outside is not below that of the inlet; 502 if solid forms before the throat, for which no law
/// is here.
///
/// ```
/// use densepath::{Fluid, State, hardware::restrictor::throat};
/// let inlet = State::from_tp(&Fluid::new("nitrogen")?, 400.0, 2e5)?;
/// let found = throat(&inlet, 0.1e5)?;
/// // A thin gas chokes at (2 / (kappa + 1))^(kappa / (kappa - 1)) = 0.528 of its pressure, at its speed of sound.
/// assert!(found.is_choked && (found.state.pressure() / 2e5 - 0.528).abs() < 2e-3);
/// assert!((found.velocity / found.state.speed_of_sound()? - 1.0).abs() < 1e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn throat(inlet: &State, outlet_pressure: f64) -> Result<Throat> {
    throat_near(inlet, outlet_pressure, None)
}

/// As [`throat`], begun from that of a fluid nearby at rest: its pressure over that of its inlet.
pub(crate) fn throat_near(
    inlet: &State,
    outlet_pressure: f64,
    near: Option<f64>,
) -> Result<Throat> {
    positive(Quantity::Pressure, outlet_pressure)?;
    let p_0 = inlet.pressure();
    if outlet_pressure >= p_0 {
        return Err(Error::FlowReversed {
            inlet: p_0,
            outlet: outlet_pressure,
        });
    }
    let expansion = Expansion { inlet };
    let lowest = outlet_pressure.max(LOWEST * p_0);
    let choking = match near {
        Some(ratio) => expansion.choking_near(lowest, ratio)?,
        None => expansion.choking(lowest)?,
    };
    let is_choked = choking.is_ok() || lowest > outlet_pressure;
    let (Ok(place) | Err(place)) = choking;
    Ok(Throat {
        mass_flux: place.mass_flux(),
        state: place.state,
        velocity: place.velocity,
        is_choked,
    })
}

/// The fluid at one pressure of its expansion.
#[derive(Clone)]
struct Place {
    pressure: f64,
    state: State,
    velocity: f64,
    /// Velocity less the speed of sound in m/s.
    excess: f64,
}

impl Place {
    /// Mass flux in kg/(m2 s).
    fn mass_flux(&self) -> f64 {
        self.state.density() * self.velocity
    }

    /// Mass fraction of the phase that is the smaller one, of liquid and vapour: near the border of one phase, how far it is away.
    fn young_share(&self) -> f64 {
        let vapour = self.state.vapour_fraction().unwrap_or(0.0);
        vapour.min(1.0 - vapour)
    }
}

/// The isentropic expansion of a fluid at rest.
struct Expansion<'a> {
    inlet: &'a State,
}

impl Expansion<'_> {
    /// The fluid and its velocity at a pressure, sought from a state of the same entropy.
    fn at(&self, from: &State, pressure: f64) -> Result<(State, f64)> {
        let state = from.isentropic_to(pressure)?;
        if state.solid_fraction() > 0.0 {
            return Err(Error::PhaseChange {
                position: 0.0,
                temperature: state.temperature(),
                pressure,
            });
        }
        let drop = self.inlet.specific_enthalpy() - state.specific_enthalpy();
        Ok((state, (2.0 * drop.max(0.0)).sqrt()))
    }

    fn place(&self, from: &State, pressure: f64) -> Result<Place> {
        let (state, velocity) = self.at(from, pressure)?;
        Ok(Place {
            pressure,
            velocity,
            excess: velocity - state.equilibrium_speed_of_sound()?,
            state,
        })
    }

    /// The fluid at rest.
    fn rest(&self) -> Result<Place> {
        self.place(self.inlet, self.inlet.pressure())
    }

    /// The place of the greatest flux above a pressure in Pa, where the fluid is as fast as sound and the flux has a hump; or that at
    /// this pressure, if there the flux is greater.
    ///
    /// Near the critical point sound is slow, so that there may be a hump at the border of two phases and, once sound has overtaken the
    /// fluid again, another one below it.
    fn choking(&self, lowest: f64) -> Result<std::result::Result<Place, Place>> {
        let p_0 = self.inlet.pressure();
        let pressure =
            |step: u32| lowest + (p_0 - lowest) * f64::from(LOOKS - step) / f64::from(LOOKS);
        let mut above = self.rest()?;
        let mut greatest: Option<Place> = None;
        for pressure in (1..=LOOKS).map(pressure) {
            if pressure >= above.pressure {
                continue;
            }
            let below = match (self.place(&above.state, pressure), &greatest) {
                (Err(_), Some(_)) => break,
                (below, _) => below?,
            };
            let Some(hump) = self.hump(&below, &above)? else {
                above = below;
                continue;
            };
            let reopening = self.reopening(&hump, lowest);
            let greater = |other: &Place| hump.mass_flux() > other.mass_flux();
            if greatest.as_ref().is_none_or(greater) {
                greatest = Some(hump);
            }
            match reopening {
                Some(place) => above = place,
                None => return Ok(greatest.ok_or(above)),
            }
        }
        Ok(match greatest {
            Some(hump) if above.pressure > lowest || hump.mass_flux() >= above.mass_flux() => {
                Ok(hump)
            }
            _ => Err(above),
        })
    }

    /// As [`Expansion::choking`], looked for about a share of the pressure at rest first, except where there may be two humps.
    fn choking_near(&self, lowest: f64, share: f64) -> Result<std::result::Result<Place, Place>> {
        let near = share * self.inlet.pressure();
        let [low, high] = [near * (1.0 - NEARBY), near * (1.0 + NEARBY)];
        if low > lowest && high < self.inlet.pressure() {
            let above = self.place(self.inlet, high)?;
            let below = self.place(&above.state, low)?;
            if above.excess < 0.0 && below.excess >= 0.0 && !is_nearly_critical(&below.state)? {
                return self.between(below, above).map(Ok);
            }
        }
        self.choking(lowest)
    }

    /// The hump of the flux between a place and one above it at which the fluid is slower than sound, if there is one: sound, which
    /// slows at a jump where a second phase appears, may overtake the fluid again before the lower place.
    fn hump(&self, below: &Place, above: &Place) -> Result<Option<Place>> {
        if below.excess >= 0.0 {
            return self.between(below.clone(), above.clone()).map(Some);
        }
        if below.young_share() == 0.0 || above.young_share() > 0.0 {
            return Ok(None);
        }
        let has_one_phase = |place: &Place| place.young_share() == 0.0;
        let (inside, _) = self.drawn_together(below.clone(), above.clone(), has_one_phase)?;
        if inside.excess < 0.0 {
            return Ok(None);
        }
        self.between(inside, above.clone()).map(Some)
    }

    /// A place below a hump, above a pressure in Pa, at which sound has overtaken the fluid again: looked for in steps that double, as
    /// long as it gains on it.
    fn reopening(&self, hump: &Place, lowest: f64) -> Option<Place> {
        let mut ahead = f64::INFINITY;
        let mut share = FIRST_LOOK;
        let mut above = hump.state.clone();
        while share < 1.0 && hump.pressure * (1.0 - share) > lowest {
            let place = self.place(&above, hump.pressure * (1.0 - share)).ok()?;
            if place.excess < 0.0 {
                return Some(place);
            }
            if place.excess >= ahead {
                return None;
            }
            (ahead, above) = (place.excess, place.state);
            share *= 2.0;
        }
        None
    }

    /// The place between two that are and are not as fast as sound.
    fn between(&self, below: Place, above: Place) -> Result<Place> {
        let is_slower = |place: &Place| place.excess < 0.0;
        let (mut below, above) = self.drawn_together(below, above, is_slower)?;
        let (low, high) = (below.pressure, above.pressure);
        if is_closed(&below, &above) {
            return Ok(below);
        }
        let ends = [(low, below.excess), (high, above.excess)];
        let excess = |pressure: f64| {
            if let Some((_, known)) = ends.iter().find(|(end, _)| *end == pressure) {
                return Ok(*known);
            }
            below = self.place(&below.state, pressure)?;
            Ok(below.excess)
        };
        let found = bracketed("pressure in the throat", low, high, CLOSE, excess)?;
        if below.pressure == found {
            return Ok(below);
        }
        self.place(&below.state, found)
    }

    /// Draws the two places together about the pressure at which a second phase appears, as long as one has it and the other has not:
    /// sound slows there at a jump, which only halving would close in on, while the share of the young phase leads to its end
    /// like the ordinate of a line. A place between them takes that of the upper one if it is above what is sought.
    fn drawn_together(
        &self,
        mut below: Place,
        mut above: Place,
        is_above: impl Fn(&Place) -> bool,
    ) -> Result<(Place, Place)> {
        let mut line = Line::from(&below);
        for _ in 0..CLOSE.iterations {
            let is_jump = below.young_share() > 0.0 && above.young_share() == 0.0;
            if !is_jump || is_closed(&below, &above) {
                break;
            }
            let pressure = line.next(below.pressure, above.pressure);
            let between = self.place(&below.state, pressure)?;
            if is_above(&between) {
                line.pass(between.pressure);
                above = between;
            } else {
                line.add(&between);
                below = between;
            }
        }
        Ok((below, above))
    }
}

/// Whether a fluid is so near its critical point that sound may be slower there than in equilibrium with more of a second phase.
fn is_nearly_critical(state: &State) -> Result<bool> {
    let fluid = state.fluid();
    Ok(!fluid.is_mixture()
        && state.temperature() > NEARLY_CRITICAL * fluid.critical_point()?.temperature)
}

fn is_closed(below: &Place, above: &Place) -> bool {
    above.pressure - below.pressure <= CLOSE.relative * above.pressure
}

/// Shortest step in Pa from the end of a line that is worth a look.
fn nearest(pressure: f64) -> f64 {
    0.3 * CLOSE.relative * pressure
}

/// The line through the shares of the young phase at the last two pressures.
struct Line {
    last: (f64, f64),
    earlier: Option<(f64, f64)>,
    /// Where the line ends, and how far the border may be from there.
    end: Option<(f64, f64)>,
}

impl Line {
    fn from(place: &Place) -> Self {
        Self {
            last: (place.pressure, place.young_share()),
            earlier: None,
            end: None,
        }
    }

    /// A place with both phases.
    fn add(&mut self, place: &Place) {
        let (low, share) = (place.pressure, place.young_share());
        let (before, share_before) = self.last;
        let end = low + share * (low - before) / (share_before - share);
        // The error of a secant falls with the distances of both of its points, that is with their shares.
        let doubt = match (self.end, self.earlier) {
            (Some((moved, _)), Some((_, earliest))) => (end - moved).abs() * share / earliest,
            _ => 0.1 * (end - low),
        };
        self.end = Some((end, doubt));
        self.earlier = Some(self.last);
        self.last = (low, share);
    }

    /// A place beyond the border: what the line says of it is not as sure as thought if that lies before its end.
    fn pass(&mut self, pressure: f64) {
        if let Some((_, doubt)) = self.end.as_mut().filter(|(end, _)| pressure < *end) {
            *doubt = 10.0 * doubt.max(nearest(pressure));
        }
    }

    /// The pressure to look at next between two: a little beside the end of the line, on the side that is farther away from it.
    fn next(&self, low: f64, high: f64) -> f64 {
        let middle = 0.5 * (low + high);
        let Some((end, doubt)) = self.end.filter(|(end, _)| *end > low) else {
            return middle;
        };
        let (end, step) = (end.min(high), doubt.max(nearest(high)));
        if end > middle {
            end - step.min(0.5 * (end - low))
        } else {
            end + step.min(0.5 * (high - end))
        }
    }
}
