//! The rows of a solution: stations, bands, columns with their profiles, duties, facts and notices.

use std::ffi::{CString, c_char};

use densepath_core::hardware::ProfilePoint;
use densepath_core::path::{BandRow, Solution, Station};
use densepath_core::{Error, Notice};

use crate::argument::{output, refused, text, value};
use crate::dp_status;
use crate::guard::guard;
use crate::handle::{c_text, dp_solution, dp_state, owned};
use crate::lookup::{notice_number, phase_number, quantity, quantity_number, severity_number};
use crate::solution::{Solved, bands, tell};
use crate::tables::dp_quantity;

/// The two texts of a row.
pub struct Labels {
    /// Name of the part.
    part: CString,
    /// What the row is about.
    about: CString,
}

impl Labels {
    /// The texts as C reads them.
    pub fn new(part: &str, about: &str) -> Self {
        Self {
            part: c_text(part),
            about: c_text(about),
        }
    }
}

/// Texts of the rows of a solution, in their order.
pub struct RowTexts {
    stations: Vec<Labels>,
    tees: Vec<CString>,
    bands: Vec<CString>,
    columns: Vec<CString>,
    duties: Vec<Labels>,
    facts: Vec<Labels>,
    notices: Vec<Labels>,
}

impl RowTexts {
    /// The texts of a solution.
    pub fn new(solution: &Solution) -> Self {
        let bands = solution.bands.iter().flat_map(|bands| &bands.rows);
        Self {
            stations: solution
                .all_stations()
                .map(|station| Labels::new(&station.name, station.kind))
                .collect(),
            tees: tees(solution).map(c_text).collect(),
            bands: bands.map(|row| c_text(&row.part)).collect(),
            columns: solution
                .columns
                .iter()
                .map(|column| c_text(&column.name))
                .collect(),
            duties: solution
                .duties
                .iter()
                .map(|duty| Labels::new(&duty.part, &duty.purpose))
                .collect(),
            facts: solution
                .facts
                .iter()
                .map(|entry| Labels::new(&entry.part, entry.fact.name))
                .collect(),
            notices: solution
                .notices
                .iter()
                .map(|notice| Labels::new(&notice.station, &notice.text))
                .collect(),
        }
    }
}

/// For each station the part at whose outlet its branch begins; empty on the main line.
fn tees(solution: &Solution) -> impl Iterator<Item = &str> {
    let of_branches = solution.branches.iter().flat_map(|branch| {
        let stations = branch.stations.iter();
        stations.map(|_| branch.tee.as_str())
    });
    solution.stations.iter().map(|_| "").chain(of_branches)
}

/// The row at an index; error 104 beyond the last.
pub fn at<'a, T>(rows: &'a [T], argument: &str, index: usize) -> Result<&'a T, Error> {
    rows.get(index)
        .ok_or_else(|| beyond(argument, index, rows.len()))
}

/// Error 104 for an index beyond the last of some rows.
fn beyond(argument: &str, index: usize, rows: usize) -> Error {
    let got = format!("{index}, with {rows} rows");
    refused(argument, "below the number of rows", &got)
}

/// Number of stations: the supply, the pump, and the outlet of each part, in the order of the flow; those of branches come behind those
/// of the main line.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_station_count(
    solution: *const dp_solution,
    out: *mut usize,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(solution, out, |solved| Ok(solved.texts.stations.len())) }
}

/// Index, from 0, of the station at the outlet of the part called `name`. Error 104 if there is no part of that name.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_station_find(
    solution: *const dp_solution,
    name: *const c_char,
    out: *mut usize,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (solved, name, out) = unsafe {
            let solved = value(solution, "solution")?;
            (solved, text(name, "name")?, output(out, "out")?)
        };
        let mut stations = solved.solution.all_stations();
        let found = stations.position(|station| station.name == name);
        out.write(found.ok_or_else(|| refused("name", "the name of a part of the method", &name))?);
        Ok(())
    })
}

/// Name of the station at `index`, from 0: that of its part. The text belongs to the solution and is valid as long as it.
/// Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_station_name(
    solution: *const dp_solution,
    index: usize,
    out: *mut *const c_char,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            Ok(at(&solved.texts.stations, "index", index)?.part.as_ptr())
        })
    }
}

/// Sort of part of the station at `index`, from 0, such as "tube". The text belongs to the solution and is valid as long as it.
/// Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_station_kind(
    solution: *const dp_solution,
    index: usize,
    out: *mut *const c_char,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            Ok(at(&solved.texts.stations, "index", index)?.about.as_ptr())
        })
    }
}

/// Name of the part at whose outlet the branch begins that the station at `index`, from 0, lies on; empty on the main line. The text
/// belongs to the solution and is valid as long as it. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_station_branch_of(
    solution: *const dp_solution,
    index: usize,
    out: *mut *const c_char,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            Ok(at(&solved.texts.tees, "index", index)?.as_ptr())
        })
    }
}

fn station(solved: &Solved, index: usize) -> Result<&Station, Error> {
    let mut stations = solved.solution.all_stations();
    let found = stations.nth(index);
    found.ok_or_else(|| beyond("index", index, solved.texts.stations.len()))
}

/// The quantity with the number `property` of `dp_quantity` at the station with `index`, from 0, in its SI unit: every property of
/// a state, mass_flow_rate, volume_flow_rate, velocity, reynolds_number, vapour_fraction, solid_fraction, single_phase_margin,
/// which is infinite where no second phase is known at any pressure.
///
/// Errors: 104 for an index beyond the last or a number that is not in `dp_quantity`, 202 for a quantity that is not defined
/// there, 301 for a property of one phase where there are two.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_station_get(
    solution: *const dp_solution,
    index: usize,
    property: i32,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            station(solved, index)?.get(quantity(property)?)
        })
    }
}

/// Phase, one of `dp_phase`, at the station with `index`, from 0. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_station_phase(
    solution: *const dp_solution,
    index: usize,
    out: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            phase_number(station(solved, index)?.state.phase())
        })
    }
}

/// State at the station with `index`, from 0.
///
/// The caller owns the result and frees it with `dp_state_free`; it outlives the solution.
/// Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_station_state(
    solution: *const dp_solution,
    index: usize,
    out: *mut *mut dp_state,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            Ok(owned(station(solved, index)?.state.clone()))
        })
    }
}

/// Share of the injected amount of every solute that goes on at the station with `index`, from 0; NaN before the injector. Where a branch
/// begins it is that of the stream behind the tee. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_station_injected_share(
    solution: *const dp_solution,
    index: usize,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            Ok(station(solved, index)?.injected_share.unwrap_or(f64::NAN))
        })
    }
}

/// What one part does to the band of the solute.
#[repr(C)]
pub struct dp_band {
    /// Name of the part; it belongs to the solution and is valid as long as it.
    pub part: *const c_char,
    /// Time t that the solute spends in it, in s.
    pub time: f64,
    /// Variance in time that it adds, sigma_t^2, in s2.
    pub time_variance: f64,
    /// Share of the sum of all variances.
    pub share: f64,
    /// Smallest variance in s2 where the law leaves a bracket; NaN elsewhere.
    pub time_variance_min: f64,
    /// Largest variance in s2 where the law leaves a bracket; NaN elsewhere.
    pub time_variance_max: f64,
}

/// Number of the parts that add to the band of the solute.
/// Error 202 if the method has no injection, no column or no solute.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_band_count(solution: *const dp_solution, out: *mut usize) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(solution, out, |solved| Ok(bands(solved)?.rows.len())) }
}

/// What the part at `index`, from 0, does to the band of the solute.
/// Error 202 if the method has no injection, no column or no solute, 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_band_at(
    solution: *const dp_solution,
    index: usize,
    out: *mut dp_band,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            let row = at(&bands(solved)?.rows, "index", index)?;
            Ok(band_row(row, at(&solved.texts.bands, "index", index)?))
        })
    }
}

/// What a part does to a band, with its name.
pub fn band_row(row: &BandRow, part: &CString) -> dp_band {
    let (least, most) = row.bracket.unwrap_or((f64::NAN, f64::NAN));
    dp_band {
        part: part.as_ptr(),
        time: row.time,
        time_variance: row.time_variance,
        share: row.share,
        time_variance_min: least,
        time_variance_max: most,
    }
}

/// A column at a glance.
#[repr(C)]
pub struct dp_column {
    /// Name of the part; it belongs to the solution and is valid as long as it.
    pub name: *const c_char,
    /// Pressure drop Delta p in Pa.
    pub pressure_drop: f64,
    /// Hold-up time t_M in s.
    pub hold_up_time: f64,
    /// Number of points of its profile.
    pub points: usize,
}

/// Number of columns.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_column_count(
    solution: *const dp_solution,
    out: *mut usize,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(solution, out, |solved| Ok(solved.solution.columns.len())) }
}

/// The column at `index`, from 0. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_column_at(
    solution: *const dp_solution,
    index: usize,
    out: *mut dp_column,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            let column = at(&solved.solution.columns, "index", index)?;
            Ok(dp_column {
                name: at(&solved.texts.columns, "index", index)?.as_ptr(),
                pressure_drop: column.pressure_drop,
                hold_up_time: column.hold_up_time,
                points: column.profile.len(),
            })
        })
    }
}

/// One point along a column.
#[repr(C)]
pub struct dp_profile_point {
    /// Distance from the inlet in m.
    pub position: f64,
    /// Temperature T in K.
    pub temperature: f64,
    /// Pressure p in Pa.
    pub pressure: f64,
    /// Density rho in kg/m3.
    pub density: f64,
    /// Mean velocity u in m/s.
    pub velocity: f64,
    /// Retention factor k of the solute.
    pub retention_factor: f64,
    /// Local plate height H in m.
    pub plate_height: f64,
}

impl From<&ProfilePoint> for dp_profile_point {
    fn from(point: &ProfilePoint) -> Self {
        Self {
            position: point.position,
            temperature: point.temperature,
            pressure: point.pressure,
            density: point.density,
            velocity: point.velocity,
            retention_factor: point.retention_factor,
            plate_height: point.plate_height,
        }
    }
}

/// The point at `point`, from 0 at the inlet, of the profile of the column at `column`, from 0.
/// Error 104 for a number beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_column_point(
    solution: *const dp_solution,
    column: usize,
    point: usize,
    out: *mut dp_profile_point,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            let column = at(&solved.solution.columns, "column", column)?;
            Ok(at(&column.profile, "point", point)?.into())
        })
    }
}

/// Heat that a part takes up or gives off.
#[repr(C)]
pub struct dp_duty {
    /// Name of the part; it belongs to the solution and is valid as long as it.
    pub part: *const c_char,
    /// What the heat is for; it belongs to the solution and is valid as long as it.
    pub purpose: *const c_char,
    /// Heat flow rate Phi in W into the fluid; negative where the fluid is cooled.
    pub heat_flow_rate: f64,
}

/// Number of parts that are heated or cooled.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_duty_count(solution: *const dp_solution, out: *mut usize) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(solution, out, |solved| Ok(solved.solution.duties.len())) }
}

/// Heat that the part at `index` of the list, from 0, takes up or gives off. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_duty_at(
    solution: *const dp_solution,
    index: usize,
    out: *mut dp_duty,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            let labels = at(&solved.texts.duties, "index", index)?;
            let duty = at(&solved.solution.duties, "index", index)?;
            Ok(dp_duty {
                part: labels.part.as_ptr(),
                purpose: labels.about.as_ptr(),
                heat_flow_rate: duty.heat_flow_rate,
            })
        })
    }
}

/// A result that only one part has to tell, or a number of a danger.
#[repr(C)]
pub struct dp_fact {
    /// Name of the part; it belongs to what was asked and is valid as long as that.
    pub part: *const c_char,
    /// What it is, in words; they belong to what was asked and are valid as long as that.
    pub name: *const c_char,
    /// Its quantity, one of `dp_quantity`.
    pub quantity: i32,
    /// Its value in the SI unit of the quantity.
    pub value: f64,
}

/// Number of results that only single parts have to tell.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fact_count(solution: *const dp_solution, out: *mut usize) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(solution, out, |solved| Ok(solved.solution.facts.len())) }
}

/// The result at `index`, from 0, of those that only single parts have to tell. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fact_at(
    solution: *const dp_solution,
    index: usize,
    out: *mut dp_fact,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            let labels = at(&solved.texts.facts, "index", index)?;
            let fact = &at(&solved.solution.facts, "index", index)?.fact;
            Ok(dp_fact {
                part: labels.part.as_ptr(),
                name: labels.about.as_ptr(),
                quantity: quantity_number(fact.quantity),
                value: fact.value,
            })
        })
    }
}

/// Doubt or caution that belongs to a solution or a danger.
#[repr(C)]
pub struct dp_notice {
    /// What it is about, one of `dp_notice_code`.
    pub code: i32,
    /// How much it matters, one of `dp_severity`.
    pub severity: i32,
    /// Quantity concerned, one of `dp_quantity`; `DP_QUANTITY_NONE` if there is none.
    pub quantity: i32,
    /// Name of the part, empty if it concerns the whole; it belongs to what was asked and is valid as long as that.
    pub station: *const c_char,
    /// What to know and to do; it belongs to what was asked and is valid as long as that.
    pub text: *const c_char,
}

/// A notice with its texts, which have to live as long as what the caller holds.
pub fn notice_row(labels: &Labels, notice: &Notice) -> Result<dp_notice, Error> {
    let none = dp_quantity::DP_QUANTITY_NONE as i32;
    Ok(dp_notice {
        code: notice_number(notice.code)?,
        severity: severity_number(notice.code.severity())?,
        quantity: notice.quantity.map_or(none, quantity_number),
        station: labels.part.as_ptr(),
        text: labels.about.as_ptr(),
    })
}

/// Number of notices.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_notice_count(
    solution: *const dp_solution,
    out: *mut usize,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(solution, out, |solved| Ok(solved.solution.notices.len())) }
}

/// The notice at `index`, from 0, cautions first. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_notice_at(
    solution: *const dp_solution,
    index: usize,
    out: *mut dp_notice,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            let labels = at(&solved.texts.notices, "index", index)?;
            notice_row(labels, at(&solved.solution.notices, "index", index)?)
        })
    }
}

/// The result called `name` of the part called `part`, in the SI unit of its quantity.
/// Error 104 if there is no such part or result.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fact_find(
    solution: *const dp_solution,
    part: *const c_char,
    name: *const c_char,
    out: *mut f64,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (solved, part, name, out) = unsafe {
            let solved = value(solution, "solution")?;
            let (part, name) = (text(part, "part")?, text(name, "name")?);
            (solved, part, name, output(out, "out")?)
        };
        let found = solved.solution.fact(part, name);
        out.write(found.ok_or_else(|| refused("name", "a result of the part", &name))?);
        Ok(())
    })
}
