//! One law of flow for every bore: the march of a compressible stream, with friction of any regime, kinetic energy, changes of
//! the bore, heat through the wall, two phases in equilibrium, and choking.
//!
//! Momentum and energy (`flow::balance`) are integrated in temperature and density along a parameter that grows with the
//! distance and with the expansion alike, so that the slopes stay finite where the flow reaches the speed of sound: there the
//! distance turns, and the march ends. The mass flow rate is the one whose march comes just to the end of the bore when it
//! chokes or has reached the pressure outside. For that the bore is continued beyond its outlet with its last diameter. Near the
//! critical point sound is slowest where a second phase appears; a flow that is slower than sound again behind that place leaps over it
//! in a shock that expands the fluid, and does not choke there.
//!
//! *Source*: A. H. Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow, vol. 1, Ronald Press, 1953, ch. 6 to 8
//! (from memory), for the balances, for the flow of Fanno and for choking at the speed of the waves that fit the exchange of
//! heat; two phases as one fluid in equilibrium (homogeneous equilibrium; from memory), whose
//! flow is the least of all models: a short hold-up lets more pass.

use super::balance::{Balance, Exchange, Local, balance};
use super::bore::{Bore, Piece, Stretch};
use super::friction::{Regime, Wall, darcy, kinks};
use crate::fluid::error::{Error, Result, positive};
use crate::fluid::num::ode::{Arrival, Control, integrate_until};
use crate::fluid::num::root::{Tolerance, bracketed};
use crate::fluid::quantity::Quantity;
use std::f64::consts::PI;

/// What the march needs of the fluid at one temperature and density.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Point {
    /// Derivatives of the equation of state.
    pub local: Local,
    /// Pressure p in Pa.
    pub pressure: f64,
    /// Dynamic viscosity eta in Pa s; of two phases that of the homogeneous mixture.
    pub dynamic_viscosity: f64,
    /// Specific enthalpy h in J/kg.
    pub specific_enthalpy: f64,
    /// Mass fraction of vapour, where liquid and vapour are in equilibrium.
    pub vapour_fraction: Option<f64>,
}

/// A fluid as the march asks for it.
pub(crate) trait Medium {
    /// Properties at a temperature T in K and a density rho in kg/m3; in equilibrium of liquid and vapour inside the dome.
    ///
    /// Error 502 where the march must not go: where solid forms, or for a fluid whose phases are not modelled.
    fn point(&self, temperature: f64, density: f64) -> Result<Point>;

    /// Whether a fluid is so near its critical point that sound, slow there, may overtake a flow again that has reached it.
    fn is_nearly_critical(&self, _: &Point) -> bool {
        false
    }

    /// Whether liquid and vapour are about to freeze here. Where three phases of a substance are in equilibrium the pressure stays while
    /// the volume grows: sound stands still, and a flow that comes so far chokes.
    fn freezes(&self, _: &Point) -> bool {
        false
    }

    /// Conductance of the film at the wall per length, `pi Nu lambda` in W/(m K), at a Reynolds number.
    fn film_conductance(&self, point: &Point, reynolds_number: f64) -> Result<f64>;
}

/// Temperatures along the passage, linear between points: distance from the inlet in m, temperature in K.
///
/// ```
/// use densepath::flow::passage::Profile;
/// // A restrictor from a cool oven into a hot tip.
/// let profile = Profile::new(vec![(0.0, 323.15), (0.1, 373.15)])?;
/// assert!((profile.at(0.05).0 - 348.15).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    points: Vec<(f64, f64)>,
}

impl Profile {
    /// One temperature in K everywhere. Error 101 if it is not above zero.
    ///
    /// ```
    /// use densepath::flow::passage::Profile;
    /// assert!(Profile::constant(373.15)?.is_constant());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn constant(temperature: f64) -> Result<Self> {
        Self::new(vec![(0.0, temperature)])
    }

    /// Linear between points of rising distance in m and a temperature in K. Error 101 for a temperature not above zero, for no
    /// point, or for distances that do not rise.
    ///
    /// ```
    /// use densepath::flow::passage::Profile;
    /// // Distances rise.
    /// assert_eq!(Profile::new(vec![(0.1, 323.15), (0.0, 373.15)]).unwrap_err().code(), 101);
    /// ```
    pub fn new(points: Vec<(f64, f64)>) -> Result<Self> {
        let refuse = |value, rule| Error::Domain {
            quantity: Quantity::Length,
            value,
            rule,
        };
        let mut before = f64::NEG_INFINITY;
        for (distance, temperature) in &points {
            positive(Quantity::Temperature, *temperature)?;
            if !distance.is_finite() || *distance <= before {
                return Err(refuse(*distance, "above the distance of the point before"));
            }
            before = *distance;
        }
        if points.is_empty() {
            return Err(refuse(
                0.0,
                "the distance of one point of a profile at least",
            ));
        }
        Ok(Self { points })
    }

    /// Temperature in K and its slope in K/m at a distance in m; outside the points that of the nearest, without slope.
    ///
    /// ```
    /// use densepath::flow::passage::Profile;
    /// let profile = Profile::new(vec![(0.0, 323.15), (0.1, 373.15)])?;
    /// let (temperature, slope) = profile.at(0.02);
    /// assert!((temperature - 333.15).abs() < 1e-9 && (slope - 500.0).abs() < 1e-9);
    /// assert_eq!(profile.at(0.2), (373.15, 0.0));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn at(&self, distance: f64) -> (f64, f64) {
        let behind = self.points.partition_point(|(z, _)| *z <= distance);
        let before = behind
            .checked_sub(1)
            .and_then(|place| self.points.get(place));
        match (before, self.points.get(behind)) {
            (Some(&(z0, t0)), Some(&(z, temperature))) => {
                let slope = (temperature - t0) / (z - z0);
                (t0 + slope * (distance - z0), slope)
            }
            (Some(&(_, nearest)), None) | (None, Some(&(_, nearest))) => (nearest, 0.0),
            (None, None) => (f64::NAN, 0.0),
        }
    }

    /// Whether it is one temperature everywhere.
    ///
    /// ```
    /// use densepath::flow::passage::Profile;
    /// assert!(!Profile::new(vec![(0.0, 323.15), (0.1, 373.15)])?.is_constant());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn is_constant(&self) -> bool {
        let first = self.points.first().map(|point| point.1);
        self.points.iter().all(|point| Some(point.1) == first)
    }
}

/// How heat comes through the wall.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Heating {
    /// The fluid has the temperature of the wall everywhere: the bound of perfect exchange. Chokes at the isothermal speed of
    /// sound.
    Wall(Profile),
    /// None: the bound of perfect insulation, the flow of Fanno. Chokes at the speed of sound, of two phases in equilibrium.
    Adiabatic,
    /// Through the film of the fluid and what lies outside it.
    Conductance {
        /// Temperatures on the far side in K.
        outside: Profile,
        /// Conductance per length between the far side and the inner face of the wall in W/(m K); infinite for a wall whose inner
        /// face has the temperatures given.
        conductance: f64,
    },
}

/// Why a march ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum End {
    /// The flow reached the speed of sound.
    Choked,
    /// The pressure fell to that outside.
    Outside,
    /// The fluid left its model: it froze, or split into phases that are not modelled.
    Left,
}

/// One place of a march.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Place {
    /// Distance from the inlet in m.
    pub position: f64,
    /// Bore in m.
    pub diameter: f64,
    /// Temperature T in K.
    pub temperature: f64,
    /// Density rho in kg/m3.
    pub density: f64,
    /// Velocity v in m/s.
    pub velocity: f64,
    /// Velocity over the speed of the waves that choke the flow.
    pub mach_number: f64,
    /// Reynolds number Re.
    pub reynolds_number: f64,
    /// The fluid.
    pub point: Point,
}

/// A flow through a passage.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Passed {
    /// Mass flow rate `q_m` in kg/s.
    pub mass_flow_rate: f64,
    /// Why it is no larger.
    pub end: End,
    /// Places from inlet to exit.
    pub places: Vec<Place>,
    /// Time of the fluid in the passage in s.
    pub hold_up_time: f64,
    /// Heat flow rate into the fluid in W.
    pub heat_flow_rate: f64,
}

/// A stream before a passage, and what is outside it.
#[derive(Debug)]
pub(crate) struct Passage<'a, M: Medium> {
    /// The fluid.
    pub medium: &'a M,
    /// The bore.
    pub bore: &'a Bore,
    /// Its wall.
    pub wall: Wall,
    /// How heat comes in.
    pub heating: &'a Heating,
    /// Temperature in K of the fluid that enters.
    pub temperature: f64,
    /// Density in kg/m3 of the fluid that enters.
    pub density: f64,
    /// Pressure outside in Pa.
    pub outlet_pressure: f64,
    /// Relative error allowed of one step of the march.
    pub precision: f64,
}

/// Largest step of the parameter, of which one unit is the whole bore or a factor e of density.
const LARGEST: f64 = 0.25;
/// Smallest step of the parameter, with which a border of phases is crossed, over the error allowed of one step.
const SMALLEST: f64 = 1e-2;
/// Step of the parameter past the speed of sound from which a march looks whether it is slower again, and the logarithm of the ratio of
/// densities over which it looks.
const PAST: f64 = 1e-9;
const LEAP: f64 = 0.5;
/// Most shocks that expand in one piece of the bore, each begun twice as far past the speed of sound as the one before: the noise of
/// the equation of state beside the critical point makes several of one.
const LEAPS: i32 = 12;
/// How much less open to a flow the way may seem by the noise of the equation of state beside the critical point.
const NOISE: f64 = 0.05;
/// What ends the look for sound that is faster where it is slower instead.
const LOST: Error = Error::Internal {
    place: "flow::passage, sound that does not overtake the flow",
};
const MARCH: &str = "march along a passage";
/// Factor between mass flow rates tried for a bracket.
const FACTOR: f64 = 1.6;
/// Number of mass flow rates tried for a bracket.
const TRIALS: u32 = 200;
const ROOT: Tolerance = Tolerance {
    relative: 1e-12,
    iterations: 100,
};
/// Error allowed of one step of a rough march, relative to the drop of pressure; how near to the logarithm of the mass flow rate such
/// marches lead, relative to it; and the first step from there of exact marches to its other side.
const ROUGH: f64 = 1e-6;
const NEAR: Tolerance = Tolerance {
    relative: 1e-6,
    iterations: 100,
};
const ASIDE: f64 = 1e-4;
/// Lengths of the bore beyond its outlet after which a flow surely comes farther than its end: through a wide tube it may come for ever.
const FAR: usize = 64;
/// Relative step of the mass flow rate to the side on which a flow that chokes inside the bore does not.
const BESIDE: f64 = 1e-9;
/// Relative step of the mass flow rate beyond what the march leaves open of it.
const BEYOND: f64 = 5e-9;
/// How far beyond a kink of the friction factor a march leaves it, as a share of the Reynolds number.
const KINK: f64 = 1e-9;
/// How far a jump may lie from the end of the bore, as a share, for an exit that chokes inside it.
const AT_THE_END: f64 = 1e-6;

/// Number of what is marched.
const WIDTH: usize = 7;
/// Temperature, ln density, pressure, coordinate, time, heat taken up, and what has the Reynolds number for its slope.
type Vector = [f64; WIDTH];

/// Result of one march.
struct Run {
    reach: f64,
    end: End,
    fault: Option<Error>,
    /// Whether the flow comes out of the last piece.
    comes_out: bool,
    last: Vector,
    places: Vec<Place>,
}

/// One piece of the way with what flows in it.
struct Way {
    piece: Piece,
    /// Distance in m of its beginning from the inlet.
    before: f64,
    mass_flow_rate: f64,
    /// Pressure in Pa at which the march ends.
    outside: f64,
}

impl Way {
    /// Metres per unit of the coordinate.
    fn metres(&self) -> f64 {
        self.piece.length() / self.piece.span()
    }

    /// Whether a march has come to the end of the piece.
    fn is_passed(&self, y: &Vector) -> bool {
        y[3] / self.piece.span() >= 1.0 - 1e-12
    }

    /// Whether it has come down to the pressure outside.
    fn is_outside(&self, y: &Vector) -> bool {
        y[2] <= self.outside * (1.0 + 1e-11)
    }
}

/// A stretch of Reynolds numbers between those at which the slope of the friction factor jumps. A march ends its steps there: over a jump
/// the error of a step is not what it is told to be, and sizes found back from flows would know it.
#[derive(Clone, Copy)]
struct Law {
    kinks: [f64; 2],
    stretch: usize,
}

impl Law {
    /// How far a Reynolds number, as a share, is inside the stretch, or a little beside it.
    fn margin(&self, reynolds_number: f64) -> f64 {
        let [above, below] = self.distances(reynolds_number);
        above.min(below) + KINK
    }

    /// Distances above the lower and below the upper end of the stretch.
    fn distances(&self, reynolds_number: f64) -> [f64; 2] {
        let low = self
            .stretch
            .checked_sub(1)
            .and_then(|place| self.kinks.get(place));
        let high = self.kinks.get(self.stretch);
        [
            low.map_or(f64::INFINITY, |low| reynolds_number / low - 1.0),
            high.map_or(f64::INFINITY, |high| 1.0 - reynolds_number / high),
        ]
    }

    /// Whether a march has left the stretch.
    fn is_left(&self, reynolds_number: f64) -> bool {
        self.margin(reynolds_number) < 0.5 * KINK
    }

    /// The stretch beyond the end that is near.
    fn next(self, reynolds_number: f64) -> Self {
        let [above, below] = self.distances(reynolds_number);
        let stretch = if above < below {
            self.stretch - 1
        } else {
            self.stretch + 1
        };
        Self { stretch, ..self }
    }
}

impl<M: Medium> Passage<'_, M> {
    /// The flow that establishes itself.
    ///
    /// *Uncertainty* of the integration 1e-8; that of the law: friction 2 % laminar and 5 to 10 % turbulent, two phases 10 to
    /// 30 % (common practice, no source); the bore counts with its fourth power.
    ///
    /// Errors: 503 if the pressure outside is not below that of the inlet; 502 where the fluid freezes or splits before its
    /// exit; 402 if no mass flow rate fits.
    pub fn flow(&self) -> Result<Passed> {
        let entering = self.medium.point(self.temperature, self.density)?;
        if self.outlet_pressure >= entering.pressure {
            return Err(Error::FlowReversed {
                inlet: entering.pressure,
                outlet: self.outlet_pressure,
            });
        }
        // Rough marches tell where the flow lies, so that few exact ones are left.
        let drop = 1.0 - self.outlet_pressure / entering.pressure;
        let rough = Passage {
            precision: self.precision.max(ROUGH * drop),
            ..*self
        };
        let root = "mass flow rate of a passage";
        let first = self.first_flow(&entering)?;
        let (low, high) = bracket(first, FACTOR.ln(), &|flow| rough.excess(flow))?;
        let near = bracketed(root, low, high, NEAR, |flow| rough.excess(flow))?;
        let (low, high) = bracket(near, ASIDE, &|flow| self.excess(flow))?;
        self.describe(bracketed(root, low, high, ROOT, |flow| self.excess(flow))?)
    }

    /// How much shorter than the bore the logarithm of a mass flow rate comes, between -1 and 1.
    fn excess(&self, logarithm: f64) -> Result<f64> {
        let length = self.bore.length();
        let run = self.run(logarithm.exp(), false, true)?;
        Ok((length - run.reach) / (length + run.reach))
    }

    /// The flow that a mass flow rate in kg/s would make, and how far it comes: the length in m at which it chokes or meets the
    /// pressure outside, with the bore continued beyond its outlet.
    ///
    /// Errors: 101 for a mass flow rate not above zero; 502 where the fluid freezes or splits; 402 if the bore cannot pass it at
    /// the speed of sound.
    #[cfg(test)]
    pub fn reach(&self, mass_flow_rate: f64) -> Result<(f64, Passed)> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let run = self.run(mass_flow_rate, true, true)?;
        if let Some(fault) = run.fault {
            return Err(fault);
        }
        if run.reach <= 0.0 {
            return Err(Error::Unreachable {
                quantity: Quantity::Length,
                min: 0.0,
                max: f64::INFINITY,
                reason: "the bore is too narrow to pass this mass flow rate at the speed of sound",
            });
        }
        let reach = run.reach;
        Ok((reach, passed(mass_flow_rate, run)))
    }

    /// Logarithm of a mass flow rate to begin with: that of viscous flow at the density of the inlet, or of sound in the narrowest
    /// bore.
    fn first_flow(&self, entering: &Point) -> Result<f64> {
        let drop = entering.pressure - self.outlet_pressure;
        let viscous =
            self.density * drop / entering.dynamic_viscosity / self.bore.viscous_resistance();
        let local = entering.local;
        let spring = local.dp_dt_rho / local.density;
        let wave = local.dp_drho_t
            + local.temperature * spring * spring / local.specific_isochoric_heat_capacity;
        let sonic = self.density * wave.sqrt() * self.bore.narrowest_area()?;
        Ok(viscous.min(sonic).ln())
    }

    /// The flow at the logarithm of its mass flow rate, on the side that comes to the end.
    fn describe(&self, logarithm: f64) -> Result<Passed> {
        let length = self.bore.length();
        let mass_flow_rate = logarithm.exp();
        let mut run = self.run(mass_flow_rate, true, false)?;
        let ends_inside = |run: &Run| !run.comes_out && run.reach < length * (1.0 - AT_THE_END);
        if ends_inside(&run) {
            // A flow that chokes inside the bore: the largest that does not, which then has its least distance to the speed of
            // sound there and comes to the end at a pressure above that outside.
            run = self.run((logarithm - BESIDE).exp(), true, false)?;
            if run.fault.is_some() {
                // What freezes there is found less closely.
                run = self.run((logarithm - 4.0 * BESIDE).exp(), true, false)?;
            }
        }
        if let Some(fault) = run.fault.take() {
            if ends_inside(&run) || !self.is_freezing(&run.last)? {
                return Err(fault);
            }
            run.end = End::Choked;
        }
        if ends_inside(&run) {
            return Err(Error::Choked {
                position: run.reach,
                pressure: run.last[2],
            });
        }
        if run.comes_out && run.end == End::Choked {
            // The pressure at the end changes by thousands of times as much as the flow: whether it is above that outside because
            // the flow chokes, or by what the flow is not known better, a little more flow tells; and whether the fluid leaves its
            // model at the end, which then is what holds the flow, and no law, unless it freezes there.
            let more = self.run((logarithm + BEYOND).exp(), false, false)?;
            match more.fault {
                Some(_) if self.is_freezing(&more.last)? => {}
                Some(fault) => return Err(fault),
                None => run.end = more.end,
            }
        }
        Ok(passed(mass_flow_rate, run))
    }

    fn is_freezing(&self, y: &Vector) -> Result<bool> {
        Ok(self.medium.freezes(&self.medium.point(y[0], y[1].exp())?))
    }

    /// The march of a mass flow rate to the place where it ends, or no farther than the end of the bore.
    fn run(&self, mass_flow_rate: f64, with_places: bool, goes_on: bool) -> Result<Run> {
        let entering = self.medium.point(self.temperature, self.density)?;
        let mut run = Run {
            reach: 0.0,
            end: End::Choked,
            fault: None,
            comes_out: true,
            last: [
                self.temperature,
                self.density.ln(),
                entering.pressure,
                0.0,
                0.0,
                0.0,
                0.0,
            ],
            places: Vec::new(),
        };
        let beyond = Stretch::straight(self.bore.outlet_diameter(), self.bore.length());
        let pieces = self.bore.pieces();
        let (count, widens) = (pieces.len(), pieces.iter().any(Piece::widens));
        let pieces = pieces
            .into_iter()
            .chain(std::iter::repeat(Piece::Tube(beyond)))
            .take(if goes_on { count + FAR } else { count });
        for (index, piece) in pieces.enumerate() {
            run.last[3] = 0.0;
            let way = Way {
                piece,
                before: run.reach,
                mass_flow_rate,
                // A widening bore can regain pressure, so that what is below the pressure outside may still come out.
                outside: if widens && index < count {
                    0.0
                } else {
                    self.outlet_pressure
                },
            };
            run.comes_out = self.through(&way, &mut run, with_places)?;
            if !run.comes_out {
                break;
            }
        }
        if run.comes_out {
            // What comes out above the pressure outside is choked.
            let is_outside = run.last[2] <= self.outlet_pressure * (1.0 + AT_THE_END);
            run.end = if is_outside {
                End::Outside
            } else {
                End::Choked
            };
        }
        if widens && run.reach <= self.bore.length() {
            run.reach *= (run.last[2] / self.outlet_pressure).min(1.0);
        }
        Ok(run)
    }

    /// Marches through one piece; whether the flow comes out of it.
    fn through(&self, way: &Way, run: &mut Run, with_places: bool) -> Result<bool> {
        let mut last = run.last;
        let mut places = Vec::new();
        let observe = |arrival: &Arrival<WIDTH>| {
            // The end of one leg is the beginning of the next.
            if with_places && (places.is_empty() || arrival.y != last) {
                places.push(self.slopes(way, &arrival.y)?.1);
            }
            last = arrival.y;
            Ok(())
        };
        let ended = self.legs(way, run.last, observe);
        run.places.append(&mut places);
        run.last = last;
        run.reach = way.before + way.metres() * last[3];
        match ended {
            Ok(end) if way.is_passed(&end.y) => Ok(true),
            Ok(end) => {
                run.end = if way.is_outside(&end.y) {
                    End::Outside
                } else {
                    End::Choked
                };
                Ok(false)
            }
            Err(Error::PhaseChange { .. } | Error::OutOfRange { .. } | Error::Solid { .. }) => {
                run.end = End::Left;
                run.fault = Some(Error::PhaseChange {
                    position: run.reach,
                    temperature: last[0],
                    pressure: last[2],
                });
                Ok(false)
            }
            Err(fault) => Err(fault),
        }
    }

    /// Marches to the end of a piece, the pressure outside or the speed of sound, from one change of the law of friction to the next.
    fn legs(
        &self,
        way: &Way,
        mut start: Vector,
        mut observe: impl FnMut(&Arrival<WIDTH>) -> Result<()>,
    ) -> Result<Arrival<WIDTH>> {
        let span = way.piece.span();
        let (mut law, mut leaps) = (self.law(way, &start)?, 0..LEAPS);
        loop {
            let margin = |y: &Vector, slope: &Vector| {
                let to_sound = slope[3] / span;
                let to_end = 1.0 - y[3] / span;
                let to_outside = (y[2] - way.outside) / self.outlet_pressure;
                let margins = [to_end, to_outside, law.margin(slope[6])];
                margins.into_iter().fold(to_sound, f64::min)
            };
            let slopes = |y: &Vector| self.slopes(way, y).map(|(slopes, _)| slopes);
            let control = self.control(span);
            let end = integrate_until(MARCH, start, control, slopes, margin, &mut observe)?;
            if way.is_passed(&end.y) || way.is_outside(&end.y) {
                return Ok(end);
            }
            if law.is_left(end.slope[6]) {
                (start, law) = (end.y, law.next(end.slope[6]));
                continue;
            }
            match leaps
                .next()
                .and_then(|leap| self.reopening(way, &end, leap))
            {
                Some(beyond) => (start, law) = (beyond, self.law(way, &beyond)?),
                None => return Ok(end),
            }
        }
    }

    /// The law of friction that holds at a place.
    fn law(&self, way: &Way, y: &Vector) -> Result<Law> {
        let kinks = match way.piece {
            Piece::Tube(_) => kinks(self.wall),
            Piece::Joint { .. } => [f64::INFINITY; 2],
        };
        let (_, place) = self.slopes(way, y)?;
        let stretch = kinks
            .iter()
            .filter(|kink| place.reynolds_number > **kink)
            .count();
        Ok(Law { kinks, stretch })
    }

    /// How steps along a piece of a span are controlled.
    fn control(&self, span: f64) -> Control<WIDTH> {
        let not_controlled = f64::INFINITY;
        let scale = [
            0.0,
            1.0,
            0.0,
            span,
            not_controlled,
            not_controlled,
            not_controlled,
        ];
        Control {
            largest: LARGEST,
            first: 0.02,
            smallest: SMALLEST * self.precision,
            ..Control::new(self.precision, scale)
        }
    }

    /// Where a flow that has reached the speed of sound is slower again at the same place, at a lower pressure: near the critical point
    /// sound is slowest at the border of two phases and faster beyond it, and the flow leaps there, as a shock that expands the fluid.
    /// Nothing where there is no such state, and the flow chokes.
    ///
    /// Along the parameter the distance turns back while the flow is faster than sound, and forward again where it is slower: over the
    /// shock mass, energy and place are the same, and momentum but for the friction of the loop. In two phases sound that falls behind
    /// once more does not catch up. Shocks that expand are what equilibrium makes of a fluid whose sound is faster at lower density, as
    /// two phases are near the critical point (N. R. Nannan, A. Guardone and P. Colonna, Phys. Fluids 26, 021701 (2014); from memory).
    fn reopening(&self, way: &Way, sonic: &Arrival<WIDTH>, leap: i32) -> Option<Vector> {
        let (_, place) = self.slopes(way, &sonic.y).ok()?;
        let held = matches!(self.heating, Heating::Wall(_));
        if held || !self.medium.is_nearly_critical(&place.point) {
            return None;
        }
        let mut start = sonic.y;
        let past = PAST * 2.0_f64.powi(leap);
        for (start, slope) in start.iter_mut().zip(sonic.slope) {
            *start += past * slope;
        }
        let slopes = |y: &Vector| self.slopes(way, y).map(|(slopes, _)| slopes);
        let lowest = sonic.y[1] - LEAP;
        let margin = |y: &Vector, slope: &Vector| {
            let back = if slope[3] > 0.0 {
                sonic.y[3] - y[3]
            } else {
                1.0
            };
            back.min(y[1] - lowest)
        };
        let span = way.piece.span();
        let mut most = f64::NEG_INFINITY;
        let gains = |at: &Arrival<WIDTH>| {
            let (slope, place) = self.slopes(way, &at.y)?;
            let open = slope[3] / span;
            let is_lost = place.point.vapour_fraction.is_some() && open < most.min(0.0) - NOISE;
            most = most.max(open);
            if is_lost { Err(LOST) } else { Ok(()) }
        };
        let ended =
            integrate_until(MARCH, start, self.control(span), slopes, margin, gains).ok()?;
        let [_, logarithm, pressure, back, ..] = ended.y;
        let is_back = logarithm > lowest + PAST && sonic.y[3] - back < AT_THE_END * span;
        let mut beyond = sonic.y;
        beyond[..3].copy_from_slice(&ended.y[..3]);
        (is_back && pressure > self.outlet_pressure).then_some(beyond)
    }

    /// Slopes of all that is marched along the parameter, and the place.
    fn slopes(&self, way: &Way, y: &Vector) -> Result<(Vector, Place)> {
        let [temperature, logarithm, _, coordinate, ..] = *y;
        let (piece, metres) = (&way.piece, way.metres());
        let position = way.before + metres * coordinate;
        let density = logarithm.exp();
        let temperature = match self.heating {
            Heating::Wall(profile) => profile.at(position).0,
            Heating::Adiabatic | Heating::Conductance { .. } => temperature,
        };
        let point = self.medium.point(temperature, density)?;
        let bore = piece.place(coordinate);
        let flux = way.mass_flow_rate / (0.25 * PI * bore.diameter * bore.diameter);
        let velocity = flux / density;
        let reynolds_number = flux * bore.diameter / point.dynamic_viscosity;
        let friction = match piece {
            Piece::Tube(_) => {
                let f = darcy(
                    self.wall,
                    reynolds_number,
                    self.wall.roughness / bore.diameter,
                );
                0.5 * f * flux * velocity / bore.diameter
            }
            Piece::Joint { .. } => piece.joint_friction(bore, density, velocity),
        };
        let exchange = self.exchange(way, position, &point, reynolds_number)?;
        let balance = balance(&point.local, flux, friction, bore.widening, exchange)?;
        let Balance {
            open,
            wave,
            temperature: warming,
            density: thinning,
            pressure,
            heat,
        } = balance;
        // Along the parameter the distance and the logarithm of density together change by one unit.
        let scale = (open / piece.span()).hypot(thinning / density);
        let slopes = [
            warming / scale,
            thinning / density / scale,
            pressure / scale,
            open / scale,
            metres * open / velocity / scale,
            heat / scale,
            reynolds_number,
        ];
        let place = Place {
            position,
            diameter: bore.diameter,
            temperature,
            density,
            velocity,
            mach_number: velocity / wave.sqrt(),
            reynolds_number,
            point,
        };
        Ok((slopes, place))
    }

    /// The exchange per unit of the coordinate of a piece.
    fn exchange(
        &self,
        way: &Way,
        position: f64,
        point: &Point,
        reynolds_number: f64,
    ) -> Result<Exchange> {
        let metres = way.metres();
        Ok(match self.heating {
            Heating::Wall(profile) => Exchange::Along(metres * profile.at(position).1),
            Heating::Adiabatic => Exchange::Heat(0.0),
            Heating::Conductance {
                outside,
                conductance,
            } => {
                let film = self.medium.film_conductance(point, reynolds_number)?;
                let whole = 1.0 / (1.0 / film + 1.0 / conductance);
                let difference = outside.at(position).0 - point.local.temperature;
                Exchange::Heat(metres * whole * difference / way.mass_flow_rate)
            }
        })
    }
}

/// Logarithms of mass flow rates of which the first comes beyond the end and the second not, from a first one on in steps that double
/// up to [`FACTOR`]; twice the same if it comes to the end.
fn bracket(first: f64, mut step: f64, excess: &impl Fn(f64) -> Result<f64>) -> Result<(f64, f64)> {
    let mut flow = first;
    let mut found = excess(flow)?;
    for _ in 0..TRIALS {
        if found == 0.0 {
            return Ok((flow, flow));
        }
        let next = if found < 0.0 {
            flow + step
        } else {
            flow - step
        };
        let other = excess(next)?;
        if (found < 0.0) != (other < 0.0) {
            return Ok((flow.min(next), flow.max(next)));
        }
        (flow, found) = (next, other);
        step = (2.0 * step).min(FACTOR.ln());
    }
    Err(Error::Unreachable {
        quantity: Quantity::MassFlowRate,
        min: flow.min(first).exp(),
        max: flow.max(first).exp(),
        reason: "no mass flow rate ends its march at the end of the bore",
    })
}

fn passed(mass_flow_rate: f64, run: Run) -> Passed {
    Passed {
        mass_flow_rate,
        end: run.end,
        places: run.places,
        hold_up_time: run.last[4],
        heat_flow_rate: mass_flow_rate * run.last[5],
    }
}

impl Passed {
    /// The place at the inlet.
    pub fn inlet(&self) -> Option<&Place> {
        self.places.first()
    }

    /// The place at the exit.
    pub fn exit(&self) -> Option<&Place> {
        self.places.last()
    }

    /// Regime of the flow: transitional if it is so anywhere, otherwise that of the higher Reynolds number.
    pub fn regime(&self) -> Regime {
        let regimes = || {
            self.places
                .iter()
                .map(|place| Regime::of(place.reynolds_number))
        };
        if regimes().all(|regime| regime == Regime::Laminar) {
            Regime::Laminar
        } else if regimes().all(|regime| regime == Regime::Turbulent) {
            Regime::Turbulent
        } else {
            Regime::Transitional
        }
    }
}

#[cfg(test)]
mod tests;
