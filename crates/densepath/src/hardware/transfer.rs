//! A method carried over to another column: the density that must match, flow, injection and program in scale, and what cannot match.

use fluid::error::{Error, positive, significant};
use fluid::num::root::{Tolerance, bracketed};
use fluid::units::BAR;
use fluid::{Fluid, Notice, NoticeCode, Quantity, Result, State};

use super::{Element, PackedColumn, Stream, Surroundings};
use crate::fluid;

/// Highest inlet pressure tried in Pa: above any instrument.
const HIGHEST: f64 = 1.5e8;
/// Places looked at for the lowest inlet pressure that passes the flow.
const PLACES: u32 = 60;
/// Relative difference of densities, plates or drops that is worth a word (common practice, no source).
const WORTH_A_WORD: f64 = 0.05;

/// The fluid at both ends of a column.
///
/// ```
/// # use densepath::hardware::PackedColumn;
/// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
/// use densepath::{Fluid, hardware::ends_for_mean_density};
/// let ends = ends_for_mean_density(&column, &Fluid::new("carbon dioxide")?, 313.15, 5e-5, 750.0)?;
/// assert!(ends.inlet.pressure() > ends.outlet.pressure() && ends.hold_up_time > 0.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct ColumnEnds {
    /// State at the inlet.
    pub inlet: State,
    /// State at the outlet; its pressure is the one to hold.
    pub outlet: State,
    /// Hold-up time in s.
    pub hold_up_time: f64,
}

impl ColumnEnds {
    /// Mean of the densities at both ends in kg/m3.
    ///
    /// ```
    /// # use densepath::hardware::PackedColumn;
    /// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
    /// use densepath::{Fluid, hardware::ends_for_mean_density};
    /// let ends = ends_for_mean_density(&column, &Fluid::new("carbon dioxide")?, 313.15, 5e-5, 750.0)?;
    /// assert!((ends.mean_density() - 0.5 * (ends.inlet.density() + ends.outlet.density())).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn mean_density(&self) -> f64 {
        0.5 * (self.inlet.density() + self.outlet.density())
    }
}

/// The ends of a column whose densities have a given mean in kg/m3, of a fluid that enters at a temperature T in K with a mass flow
/// rate in kg/s.
///
/// The inlet pressure is sought, from which the march follows.
///
/// Errors: 101 for arguments not above zero; 402 if no inlet pressure up to 1500 bar passes the flow with this mean density; those of
/// the column.
///
/// ```
/// # use densepath::hardware::PackedColumn;
/// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
/// use densepath::{Fluid, hardware::ends_for_mean_density};
/// let ends = ends_for_mean_density(&column, &Fluid::new("carbon dioxide")?, 313.15, 5e-5, 750.0)?;
/// assert!((ends.mean_density() - 750.0).abs() < 1e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn ends_for_mean_density(
    column: &dyn Element,
    fluid: &Fluid,
    temperature: f64,
    mass_flow_rate: f64,
    mean_density: f64,
) -> Result<ColumnEnds> {
    positive(Quantity::MassFlowRate, mass_flow_rate)?;
    positive(Quantity::Density, mean_density)?;
    let ends = |pressure: f64| ends(column, fluid, temperature, mass_flow_rate, pressure);
    // A trial that boils or is used up has too little pressure, unless its inlet is no such fluid at all.
    let excess = |pressure: f64| {
        State::from_tp(fluid, temperature, pressure)?;
        Ok(ends(pressure).map_or(-1.0, |ends| ends.mean_density() / mean_density - 1.0))
    };
    let step = (HIGHEST / BAR).ln() / f64::from(PLACES);
    let mut low = BAR;
    for place in 1..=PLACES {
        let high = BAR * (step * f64::from(place)).exp();
        if excess(high)? >= 0.0 {
            let tolerance = Tolerance {
                relative: 1e-12,
                iterations: 200,
            };
            let found = bracketed(
                "inlet pressure of a mean density",
                low,
                high,
                tolerance,
                excess,
            )?;
            let ends = ends(found)?;
            let off = ends.mean_density() / mean_density - 1.0;
            // A jump across a phase change brackets, too, and is no answer.
            if off.abs() < 1e-6 {
                return Ok(ends);
            }
            break;
        }
        low = high;
    }
    Err(Error::Unreachable {
        quantity: Quantity::Pressure,
        min: BAR,
        max: HIGHEST,
        reason: "no inlet pressure passes the flow with this mean density",
    })
}

fn ends(
    column: &dyn Element,
    fluid: &Fluid,
    temperature: f64,
    mass_flow_rate: f64,
    pressure: f64,
) -> Result<ColumnEnds> {
    let inlet = Stream {
        state: State::from_tp(fluid, temperature, pressure)?,
        mass_flow_rate,
    };
    let surroundings = Surroundings {
        delivery_pressure: pressure,
        room_temperature: temperature,
        room_pressure: BAR,
        solute: None,
        carrier: super::carrier_of(fluid),
        additives: &[],
    };
    let outlet = column.pass(&inlet, &surroundings)?;
    Ok(ColumnEnds {
        inlet: inlet.state,
        outlet: outlet.stream.state,
        hold_up_time: outlet.hold_up_time,
    })
}

/// What is set on the other column.
///
/// ```
/// # use densepath::hardware::PackedColumn;
/// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
/// use densepath::hardware::transfer;
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
/// // To the same column nothing changes.
/// let same = transfer(&column, &column, &stream, None)?;
/// assert!((same.mass_flow_rate / 5e-5 - 1.0).abs() < 1e-9 && (same.time_factor - 1.0).abs() < 1e-9 && (same.plate_ratio - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct MethodTransfer {
    /// Mass flow rate in kg/s.
    pub mass_flow_rate: f64,
    /// Factor of the injected volume.
    pub injection_factor: f64,
    /// Factor of all times of a program.
    pub time_factor: f64,
    /// The other column at the mean density of the first; the pressure to hold is that of its outlet.
    pub ends: ColumnEnds,
    /// Ratio of the plate numbers to expect, of the other over the first.
    pub plate_ratio: f64,
    /// What cannot be matched.
    pub notices: Vec<Notice>,
}

/// A method carried over from one packed column to another, both of the same packing but for the size of the particles, with the same
/// mobile phase entering at the same temperature.
///
/// The mean density is matched, so that retention is about the same; the flow goes with the cross-section over the particle diameter, so
/// that the reduced velocity stays; injection with the hold-up volume; program times with the hold-up time.
///
/// *Valid*: as a start: matching the mean does not match the profile. *Source*: common practice; the reduced velocity after J. H. Knox,
/// J. Chromatogr. Sci. 15, 352 (1977), doi 10.1093/chromsci/15.9.352 (from memory).
///
/// Errors: those of the march of the first column and of [`ends_for_mean_density`].
///
/// ```
/// # use densepath::hardware::PackedColumn;
/// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
/// use densepath::hardware::transfer;
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
/// // To half of the bore: a quarter of the flow and of the injected volume.
/// let narrow = PackedColumn::new(2.3e-3, 0.25, 5e-6, 0.4, 0.7)?;
/// let found = transfer(&column, &narrow, &stream, None)?;
/// assert!((found.mass_flow_rate / 5e-5 - 0.25).abs() < 1e-9 && (found.injection_factor - 0.25).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn transfer(
    from: &PackedColumn,
    to: &PackedColumn,
    inlet: &Stream,
    pressure_limit: Option<f64>,
) -> Result<MethodTransfer> {
    let (fluid, temperature) = (inlet.state.fluid(), inlet.state.temperature());
    let first = ends(
        from,
        fluid,
        temperature,
        inlet.mass_flow_rate,
        inlet.state.pressure(),
    )?;
    let particles = from.particle_diameter() / to.particle_diameter();
    let mass_flow_rate = inlet.mass_flow_rate * open_area(to) / open_area(from) * particles;
    let other =
        ends_for_mean_density(to, fluid, temperature, mass_flow_rate, first.mean_density())?;
    let plate_ratio = to.length() / from.length() * particles;
    Ok(MethodTransfer {
        mass_flow_rate,
        injection_factor: to.hold_up_volume() / from.hold_up_volume(),
        time_factor: other.hold_up_time / first.hold_up_time,
        plate_ratio,
        notices: mismatches(&first, &other, plate_ratio, to, from, pressure_limit),
        ends: other,
    })
}

/// Cross-section open to the mobile phase, up to a factor that both columns share.
fn open_area(column: &PackedColumn) -> f64 {
    column.hold_up_volume() / column.length()
}

fn mismatches(
    first: &ColumnEnds,
    other: &ColumnEnds,
    plate_ratio: f64,
    to: &PackedColumn,
    from: &PackedColumn,
    pressure_limit: Option<f64>,
) -> Vec<Notice> {
    let mut notices = Vec::new();
    let drop = |ends: &ColumnEnds| ends.inlet.pressure() - ends.outlet.pressure();
    let spread = |ends: &ColumnEnds| ends.inlet.density() - ends.outlet.density();
    let differs = |a: f64, b: f64| (a / b - 1.0).abs() > WORTH_A_WORD;
    let mut tell =
        |code, quantity, text: String| notices.push(Notice::new(code, text).about(quantity));
    if differs(spread(other), spread(first)) {
        let text = format!(
            "the density falls by {} kg/m3 along the other column and by {} along the first: the mean is matched, the profile is not, and \
             solutes whose retention is not linear in density move against each other",
            significant(spread(other)),
            significant(spread(first))
        );
        tell(NoticeCode::Estimated, Quantity::Density, text);
    }
    if differs(drop(other), drop(first)) {
        let text = format!(
            "the pressure drop is {} bar and was {} bar: with it the cooling of the column differs",
            significant(drop(other) / BAR),
            significant(drop(first) / BAR)
        );
        tell(NoticeCode::Estimated, Quantity::PressureDrop, text);
    }
    if differs(plate_ratio, 1.0) {
        let text = format!(
            "about {} times the plates of the first column: resolution goes with the root",
            significant(plate_ratio)
        );
        tell(NoticeCode::Estimated, Quantity::PlateNumber, text);
    }
    let volumes = to.hold_up_volume() / from.hold_up_volume();
    if volumes < 1.0 / (1.0 + WORTH_A_WORD) {
        let text = format!(
            "the variance that tubes and cell may add falls with the square of the hold-up volume, to {} of what it was",
            significant(volumes * volumes / plate_ratio)
        );
        tell(NoticeCode::Estimated, Quantity::VolumeVariance, text);
    }
    if let Some(limit) = pressure_limit.filter(|limit| other.inlet.pressure() > *limit) {
        let text = format!(
            "the inlet needs {} bar(a), above the limit of {} bar(a)",
            significant(other.inlet.pressure() / BAR),
            significant(limit / BAR)
        );
        tell(NoticeCode::Overpressure, Quantity::Pressure, text);
    }
    notices
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::Thermal;
    use crate::hardware::testing::{close, co2, pass_to};

    /// 1 mL/min counted at 278.15 K and 15 MPa, in kg/s (CoolProp 8.0.0).
    const FLOW: f64 = 977.3816e-6 / 60.0;

    fn column(length: f64, diameter: f64, particle: f64) -> PackedColumn {
        PackedColumn::new(diameter * 1e-3, length * 1e-3, particle * 1e-6, 0.4, 0.7)
            .and_then(|column| {
                column.with_thermal(Thermal::Isothermal {
                    temperature: 313.15,
                })
            })
            .unwrap()
    }

    /// Outlet density in kg/m3 and pressure drop in bar: independent computation with CoolProp 8.0.0 and scipy 1.17.1.
    #[test]
    fn the_regulator_that_matches_a_mean_density_agrees_with_an_independent_computation() {
        let ends =
            ends_for_mean_density(&column(150.0, 3.0, 1.8), &co2(), 313.15, 2.0 * FLOW, 798.1)
                .unwrap();
        assert!(close(ends.mean_density(), 798.1, 1e-9));
        assert!(
            close(ends.outlet.density(), 679.315, 1e-3),
            "{}",
            ends.outlet.density()
        );
        let drop = ends.inlet.pressure() - ends.outlet.pressure();
        assert!(close(drop / BAR, 204.045, 1e-3), "{}", drop / BAR);
    }

    #[test]
    fn a_method_carried_to_the_same_column_is_the_same() {
        let own = column(250.0, 4.6, 5.0);
        let (bar, _) = pass_to(&own, 40.0, 150.0, 3.0 * FLOW, None);
        let inlet = crate::hardware::testing::stream_at(40.0, bar, 3.0 * FLOW);
        let same = transfer(&own, &own, &inlet, None).unwrap();
        assert!(close(same.ends.outlet.pressure(), 150e5, 1e-7));
        assert!(close(same.mass_flow_rate, 3.0 * FLOW, 1e-12));
        assert!(close(same.time_factor, 1.0, 1e-7) && same.injection_factor == 1.0);
        assert!(same.notices.is_empty());
        let small = transfer(&own, &column(150.0, 3.0, 1.8), &inlet, Some(200e5)).unwrap();
        assert!(close(
            small.mass_flow_rate / inlet.mass_flow_rate,
            (3.0f64 / 4.6).powi(2) * 5.0 / 1.8,
            1e-12
        ));
        assert!(close(
            small.injection_factor,
            0.6 * (3.0f64 / 4.6).powi(2),
            1e-12
        ));
        assert_eq!(small.notices.len(), 5);
    }

    #[test]
    fn what_no_pressure_reaches_is_refused() {
        let own = column(250.0, 4.6, 5.0);
        let error = ends_for_mean_density(&own, &co2(), 313.15, FLOW, 1500.0).unwrap_err();
        assert!(
            error.code() == 402 || error.code() == 303 || error.code() == 102,
            "{error}"
        );
        assert_eq!(
            ends_for_mean_density(&own, &co2(), 313.15, 0.0, 800.0)
                .unwrap_err()
                .code(),
            101
        );
    }
}
