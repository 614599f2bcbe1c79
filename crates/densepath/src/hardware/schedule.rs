//! Programs of density as pressures that an instrument can run, and how fast pressure may change.

use densepath_fluid::error::{Error, Result, finite, positive};
use densepath_fluid::{Fluid, Phase, Quantity, State};

/// Largest number of points of a schedule.
const MOST_POINTS: u16 = 10_000;

/// One point of a density program.
///
/// ```
/// use densepath::{Fluid, State, hardware::schedule::DensityPoint};
/// let point = DensityPoint { time: 0.0, temperature: 313.15, density: 780.2 };
/// let state = State::from_t_rho(&Fluid::new("carbon dioxide")?, point.temperature, point.density)?;
/// assert!((state.pressure() / 1e5 - 150.0).abs() < 0.1);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DensityPoint {
    /// Time t in s.
    pub time: f64,
    /// Temperature T in K.
    pub temperature: f64,
    /// Density in kg/m3.
    pub density: f64,
}

impl DensityPoint {
    fn between(&self, other: &Self, share: f64) -> Self {
        let mix = |a: f64, b: f64| a + share * (b - a);
        Self {
            time: mix(self.time, other.time),
            temperature: mix(self.temperature, other.temperature),
            density: mix(self.density, other.density),
        }
    }
}

/// One point of a pressure program.
///
/// ```
/// # let fluid = densepath::Fluid::new("carbon dioxide")?;
/// use densepath::hardware::schedule::{DensityPoint, schedule};
/// let at = |time, density| DensityPoint { time, temperature: 313.15, density };
/// let points = schedule(&fluid, &[at(0.0, 500.0), at(600.0, 780.2)], 1e-3)?.points;
/// // The program ends at 150 bar.
/// assert!(points.last().is_some_and(|last| last.time == 600.0 && (last.pressure / 1e5 - 150.0).abs() < 0.1));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PressurePoint {
    /// Time t in s.
    pub time: f64,
    /// Temperature T in K.
    pub temperature: f64,
    /// Pressure p in Pa.
    pub pressure: f64,
}

/// Pressures for a density program, straight between the points.
///
/// ```
/// # let fluid = densepath::Fluid::new("carbon dioxide")?;
/// use densepath::hardware::schedule::{DensityPoint, schedule};
/// let at = |time, density| DensityPoint { time, temperature: 313.15, density };
/// let found = schedule(&fluid, &[at(0.0, 500.0), at(600.0, 780.2)], 1e-3)?;
/// // A density that rises steadily is no pressure that rises steadily: the fluid is soft at first.
/// assert!(found.points.len() > 2 && found.density_error <= 1e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Schedule {
    /// The points.
    pub points: Vec<PressurePoint>,
    /// Largest relative error of the density in the middle between two points.
    pub density_error: f64,
    /// Fastest rise of the pressure in Pa/s; negative if it only falls.
    pub fastest_rise: f64,
    /// Fastest fall of the pressure in Pa/s, as a negative rate; positive if it only rises.
    pub fastest_fall: f64,
}

impl Schedule {
    /// The schedule, if it keeps the fastest rise and the fastest fall in Pa/s that an instrument can follow, both told above zero.
    ///
    /// Errors: 505 where it does not; 101 for limits not above zero.
    ///
    /// ```
    /// # let fluid = densepath::Fluid::new("carbon dioxide")?;
    /// use densepath::hardware::schedule::{DensityPoint, schedule};
    /// let at = |time, density| DensityPoint { time, temperature: 313.15, density };
    /// let found = schedule(&fluid, &[at(0.0, 500.0), at(600.0, 780.2)], 1e-3)?;
    /// assert!(found.clone().within(found.fastest_rise * 1.01, 1e5).is_ok());
    /// assert_eq!(found.clone().within(found.fastest_rise * 0.99, 1e5).unwrap_err().code(), 505);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn within(self, rise: f64, fall: f64) -> Result<Self> {
        let keeps = |value: f64, limit: f64, because| {
            if value <= positive(Quantity::PressureRate, limit)? {
                return Ok(());
            }
            Err(Error::TooFast {
                quantity: Quantity::PressureRate,
                value,
                limit,
                because,
            })
        };
        keeps(
            self.fastest_rise,
            rise,
            "the fastest rise of the instrument",
        )?;
        keeps(
            -self.fastest_fall,
            fall,
            "the fastest fall of the instrument",
        )?;
        Ok(self)
    }
}

/// The pressures that give a program of density and temperature, linear in time between its points, with as few points as keep the
/// density within a relative tolerance.
///
/// A fluid of two phases has no density of its own: a program that passes the dome is refused where it enters. *Uncertainty*: the
/// tolerance, and that of the equation of state; near the critical point a small error of the pressure is a large one of the density.
/// *Source*: the equation of state.
///
/// Errors: 101 for times that do not rise, fewer than two points or a tolerance not above zero; 301 for a point of two phases; 401 if
/// more than 10000 points would be needed; those of the state.
///
/// ```
/// # let fluid = densepath::Fluid::new("carbon dioxide")?;
/// use densepath::{State, hardware::schedule::{DensityPoint, schedule}};
/// let at = |time, density| DensityPoint { time, temperature: 313.15, density };
/// let found = schedule(&fluid, &[at(0.0, 500.0), at(600.0, 780.2)], 1e-3)?;
/// // Every point has the density of the straight program at its time.
/// for point in &found.points {
///     let state = State::from_tp(&fluid, point.temperature, point.pressure)?;
///     assert!((state.density() - (500.0 + 280.2 * point.time / 600.0)).abs() < 1e-3);
/// }
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn schedule(fluid: &Fluid, program: &[DensityPoint], tolerance: f64) -> Result<Schedule> {
    positive(Quantity::Ratio, tolerance)?;
    let [first, ..] = program else {
        return Err(no_program(0.0));
    };
    let mut points = vec![pressure_of(fluid, first)?];
    let mut largest: f64 = 0.0;
    for pair in program.windows(2) {
        let [from, to] = pair else { continue };
        if to.time <= from.time || !to.time.is_finite() {
            return Err(no_program(to.time));
        }
        largest = largest.max(segment(fluid, (from, to), tolerance, &mut points)?);
    }
    if points.len() < 2 {
        return Err(no_program(first.time));
    }
    let rates = || {
        points.windows(2).filter_map(|pair| {
            let [a, b] = pair else { return None };
            Some((b.pressure - a.pressure) / (b.time - a.time))
        })
    };
    Ok(Schedule {
        density_error: largest,
        fastest_rise: rates().fold(f64::NEG_INFINITY, f64::max),
        fastest_fall: rates().fold(f64::INFINITY, f64::min),
        points,
    })
}

fn no_program(time: f64) -> Error {
    Error::Domain {
        quantity: Quantity::Time,
        value: time,
        rule: "two points at least, with times that rise",
    }
}

/// Adds the points of one segment behind the one that is there; the largest relative error of the density between them.
fn segment(
    fluid: &Fluid,
    (from, to): (&DensityPoint, &DensityPoint),
    tolerance: f64,
    points: &mut Vec<PressurePoint>,
) -> Result<f64> {
    // A list of what is still to do instead of a recursion, the nearest on top.
    let mut ahead = vec![*to];
    let (mut here, mut largest) = (*from, 0.0_f64);
    while let Some(next) = ahead.last().copied() {
        let before = pressure_of(fluid, &here)?;
        let after = pressure_of(fluid, &next)?;
        let middle = here.between(&next, 0.5);
        pressure_of(fluid, &middle)?;
        let straight = State::from_tp(
            fluid,
            middle.temperature,
            0.5 * (before.pressure + after.pressure),
        )?;
        let error = (straight.density() / middle.density - 1.0).abs();
        if error > tolerance {
            if points.len() + ahead.len() > usize::from(MOST_POINTS) {
                return Err(Error::NoConvergence {
                    solver: "pressure schedule of a density program",
                    iterations: u32::from(MOST_POINTS),
                    residual: error,
                    tolerance,
                });
            }
            ahead.push(middle);
            continue;
        }
        largest = largest.max(error);
        points.push(after);
        here = next;
        ahead.pop();
    }
    Ok(largest)
}

fn pressure_of(fluid: &Fluid, point: &DensityPoint) -> Result<PressurePoint> {
    finite(Quantity::Time, point.time)?;
    let state = State::from_t_rho(fluid, point.temperature, point.density)?;
    if let (Phase::LiquidVapour, Some(vapour_fraction)) = (state.phase(), state.vapour_fraction()) {
        return Err(Error::TwoPhase {
            property: Quantity::Density,
            temperature: point.temperature,
            pressure: state.pressure(),
            vapour_fraction,
        });
    }
    Ok(PressurePoint {
        time: point.time,
        temperature: point.temperature,
        pressure: state.pressure(),
    })
}

/// Fastest rise of the pressure in Pa/s that a mass flow rate in kg/s can bring about in a volume in m3 of one state while nothing
/// leaves it: `q_m/(V rho kappa_T)`.
///
/// *Valid* at constant temperature. *Source*: mass balance. Errors: 101 for values not above zero; 301 for two phases.
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
/// use densepath::hardware::schedule::fastest_rise;
/// // q_m / (V rho kappa_T): 3 g/min into 10 mL at 40 degC and 150 bar.
/// let expected = 5e-5 / (10e-6 * stream.state.density() * stream.state.isothermal_compressibility()?);
/// assert!((fastest_rise(&stream.state, 10e-6, 5e-5)? / expected - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn fastest_rise(state: &State, volume: f64, mass_flow_rate: f64) -> Result<f64> {
    Ok(positive(Quantity::MassFlowRate, mass_flow_rate)? / yielding(state, volume)?)
}

/// The rate in Pa/s, if the flow in kg/s of the pumps can bring it about in a volume in m3 of one state: see [`fastest_rise`]. A fall is
/// bounded by the outlet, not by the pumps.
///
/// Errors: 505 where it cannot, and those of the fastest rise.
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
/// use densepath::hardware::schedule::{fastest_rise, require_rise};
/// let fastest = fastest_rise(&stream.state, 10e-6, 5e-5)?;
/// assert_eq!(require_rise(&stream.state, 10e-6, 5e-5, 0.9 * fastest)?, 0.9 * fastest);
/// assert_eq!(require_rise(&stream.state, 10e-6, 5e-5, 1.1 * fastest).unwrap_err().code(), 505);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn require_rise(
    state: &State,
    volume: f64,
    mass_flow_rate: f64,
    pressure_rate: f64,
) -> Result<f64> {
    let limit = fastest_rise(state, volume, mass_flow_rate)?;
    if finite(Quantity::PressureRate, pressure_rate)? > limit {
        return Err(Error::TooFast {
            quantity: Quantity::PressureRate,
            value: pressure_rate,
            limit,
            because: "the flow of the pumps into this volume",
        });
    }
    Ok(pressure_rate)
}

/// Mass flow rate in kg/s that a volume in m3 of one state takes up while its pressure changes at a rate in Pa/s: `V rho kappa_T dp/dt`.
///
/// Against the flow through it this is what a steady flow leaves out: below a fifth of it a program may be taken as a row of steady
/// flows (common practice, no source). *Valid* at constant temperature. *Source*: mass balance. Errors as [`fastest_rise`].
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
/// use densepath::hardware::schedule::{fastest_rise, storage_mass_flow_rate};
/// // At the fastest rise that a flow can bring about all of it is stored.
/// let fastest = fastest_rise(&stream.state, 10e-6, 5e-5)?;
/// assert!((storage_mass_flow_rate(&stream.state, 10e-6, fastest)? / 5e-5 - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn storage_mass_flow_rate(state: &State, volume: f64, pressure_rate: f64) -> Result<f64> {
    Ok(finite(Quantity::PressureRate, pressure_rate)? * yielding(state, volume)?)
}

/// Mass in kg that a volume takes up per Pa.
fn yielding(state: &State, volume: f64) -> Result<f64> {
    Ok(positive(Quantity::Volume, volume)?
        * state.density()
        * state.isothermal_compressibility()?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};
    use densepath_fluid::units::{BAR, GRAM_PER_MINUTE, MINUTE, from_celsius};

    fn state(degc: f64, bar: f64) -> State {
        State::from_tp(&co2(), from_celsius(degc), bar * BAR).unwrap()
    }

    /// 5 mL at 40 degC fed with 2.932 g/min: bar/min, independent computation with CoolProp 8.0.0.
    #[test]
    fn a_regulator_cannot_rise_faster_than_the_pump_fills() {
        for (bar, expected) in [(100.0, 77.7045), (150.0, 373.589), (300.0, 1075.69)] {
            let flow = 2.932_14 * GRAM_PER_MINUTE;
            let rise = fastest_rise(&state(40.0, bar), 5e-6, flow).unwrap();
            let require = |rate| require_rise(&state(40.0, bar), 5e-6, flow, rate);
            assert_eq!(require(0.99 * rise), Ok(0.99 * rise));
            assert_eq!(require(-2.0 * rise), Ok(-2.0 * rise));
            assert_eq!(require(1.01 * rise).unwrap_err().code(), 505);
            assert!(
                close(rise * MINUTE / BAR, expected, 1e-4),
                "{}",
                rise * MINUTE / BAR
            );
        }
    }

    /// 10 m of 50 um at 100 degC and 400 bar, 10 bar/min, 2 cm/s: independent computation with CoolProp 8.0.0.
    #[test]
    fn a_capillary_stores_a_share_of_its_flow() {
        let here = state(100.0, 400.0);
        let area = std::f64::consts::FRAC_PI_4 * 2.5e-9;
        let stored = storage_mass_flow_rate(&here, 10.0 * area, 10.0 * BAR / MINUTE).unwrap();
        assert!(close(
            stored / (area * 0.02 * here.density()),
            0.081_577,
            1e-4
        ));
    }

    fn program(rows: &[(f64, f64, f64)]) -> Vec<DensityPoint> {
        let point = |&(minutes, degc, density): &(f64, f64, f64)| DensityPoint {
            time: minutes * MINUTE,
            temperature: from_celsius(degc),
            density,
        };
        rows.iter().map(point).collect()
    }

    /// 10 (kg/m3)/min at 100 degC: bar/min, independent computation with CoolProp 8.0.0.
    #[test]
    fn a_straight_density_takes_a_bent_pressure() {
        let made = schedule(
            &co2(),
            &program(&[(0.0, 100.0, 200.0), (55.0, 100.0, 750.0)]),
            1e-6,
        )
        .unwrap();
        let rate = |pair: &[PressurePoint]| {
            (pair[1].pressure - pair[0].pressure) / (pair[1].time - pair[0].time)
        };
        let first = rate(&made.points[..2]) * MINUTE / BAR;
        let last = rate(&made.points[made.points.len() - 2..]) * MINUTE / BAR;
        assert!(close(first, 3.863_02, 0.01), "{first}");
        assert!(close(last, 13.0136, 0.01), "{last}");
        assert!(close(made.fastest_rise * MINUTE / BAR, last, 1e-12));
        assert!(made.fastest_fall > 0.0 && made.density_error <= 1e-6);
        let (rise, slow) = (made.fastest_rise, 0.5 * made.fastest_rise);
        let refused = made.clone().within(slow, 1.0).unwrap_err();
        assert_eq!(
            (refused.code(), refused.value(), refused.max()),
            (505, Some(rise), Some(slow))
        );
        assert_eq!(made.clone().within(1.1 * rise, 1.0), Ok(made.clone()));
        assert_eq!(made.within(0.0, 1.0).unwrap_err().code(), 101);
    }

    #[test]
    fn a_tolerance_that_no_points_keep_is_refused() {
        let rows = program(&[(0.0, 60.0, 250.0), (10.0, 80.0, 700.0)]);
        let refused = schedule(&co2(), &rows, 1e-50).unwrap_err();
        assert_eq!(refused.code(), 401);
    }

    #[test]
    fn the_density_is_kept_everywhere_between_the_points() {
        let rows = program(&[
            (0.0, 60.0, 250.0),
            (10.0, 80.0, 700.0),
            (12.0, 80.0, 700.0),
            (20.0, 50.0, 300.0),
        ]);
        let tolerance = 1e-3;
        let made = schedule(&co2(), &rows, tolerance).unwrap();
        assert!(made.points.len() < 60, "{}", made.points.len());
        for pair in made.points.windows(2) {
            for share in [0.25, 0.5, 0.75] {
                let mix = |a: f64, b: f64| a + share * (b - a);
                let time = mix(pair[0].time, pair[1].time);
                let legs = rows.windows(2).find(|leg| leg[1].time >= time).unwrap();
                let wanted = legs[0].between(
                    &legs[1],
                    (time - legs[0].time) / (legs[1].time - legs[0].time),
                );
                let pressure = mix(pair[0].pressure, pair[1].pressure);
                let got = State::from_tp(&co2(), wanted.temperature, pressure)
                    .unwrap()
                    .density();
                assert!(
                    close(got, wanted.density, 1.5 * tolerance),
                    "{time} {got} {wanted:?}"
                );
            }
        }
    }

    #[test]
    fn a_program_through_the_dome_is_refused() {
        let through = program(&[(0.0, 20.0, 900.0), (10.0, 20.0, 100.0)]);
        assert_eq!(schedule(&co2(), &through, 1e-3).unwrap_err().code(), 301);
        for bad in [
            &program(&[(0.0, 60.0, 300.0)])[..],
            &program(&[(1.0, 60.0, 300.0), (1.0, 60.0, 400.0)]),
            &[],
        ] {
            assert_eq!(schedule(&co2(), bad, 1e-3).unwrap_err().code(), 101);
        }
        let good = program(&[(0.0, 60.0, 300.0), (1.0, 60.0, 400.0)]);
        assert_eq!(schedule(&co2(), &good, 0.0).unwrap_err().code(), 101);
    }
}
