//! A solution as JSON in SI units, with the unit in each key.

use fluid::Quantity;
use serde_json::{Map, Value, json};

use crate::fluid;
use crate::path::{BandBudget, ColumnSummary, Detection, Solution, Station};

/// Quantities that reports tell of each station where they are defined; the fractions are those of the modifier.
pub const STATION_QUANTITIES: &[Quantity] = &[
    Quantity::Temperature,
    Quantity::Pressure,
    Quantity::Density,
    Quantity::SpecificEnthalpy,
    Quantity::SpecificEntropy,
    Quantity::DynamicViscosity,
    Quantity::MassFlowRate,
    Quantity::VolumeFlowRate,
    Quantity::Velocity,
    Quantity::ReynoldsNumber,
    Quantity::VapourFraction,
    Quantity::SolidFraction,
    Quantity::SinglePhaseMargin,
    Quantity::SinglePhaseTemperatureMargin,
    Quantity::AmountFraction,
    Quantity::MassFraction,
];

/// A solution as JSON in SI units; a number that is not finite is left out.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// let json = densepath::report::to_json(&solution);
/// assert_eq!(json["title"], "Purity check on a 4.6 mm packed column");
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn to_json(solution: &Solution) -> Value {
    let facts = solution.facts.iter().map(|entry| {
        json!({ "part": entry.part, "name": entry.fact.name, "value": entry.fact.value, "unit": entry.fact.quantity.unit() })
    });
    let notices = solution.notices.iter().map(|notice| {
        json!({
            "severity": notice.code.severity().name(),
            "code": notice.code.name(),
            "station": notice.station,
            "text": notice.text,
        })
    });
    let duties = solution.duties.iter().map(|duty| {
        json!({ "part": duty.part, "purpose": duty.purpose, "heat_flow_rate / W": duty.heat_flow_rate })
    });
    let branches = solution.branches.iter().map(|branch| {
        json!({ "branch_of": branch.tee, "stations": branch.stations.iter().map(station).collect::<Vec<_>>() })
    });
    json!({
        "title": solution.title,
        "fluid": solution.fluid,
        "model": solution.model,
        "delivery_pressure / Pa": solution.delivery_pressure,
        "mass_flow_rate / (kg/s)": solution.mass_flow_rate,
        "stations": solution.stations.iter().map(station).collect::<Vec<_>>(),
        "branches": branches.collect::<Vec<_>>(),
        "columns": solution.columns.iter().map(column).collect::<Vec<_>>(),
        "bands": solution.bands.as_ref().map(bands),
        "bands_of_solutes": solution.bands_of_solutes.iter().map(bands).collect::<Vec<_>>(),
        "detections": solution.detections.iter().map(detection).collect::<Vec<_>>(),
        "duties": duties.collect::<Vec<_>>(),
        "facts": facts.collect::<Vec<_>>(),
        "consumption": {
            "gas_volume_flow_rate / (m3/s)": solution.consumption.gas_volume_flow_rate,
            "running_time / s": solution.consumption.running_time,
        },
        "notices": notices.collect::<Vec<_>>(),
    })
}

/// `name / unit`, the unit in brackets where it has a stroke of its own, the name alone where it is 1.
fn key(quantity: Quantity) -> String {
    match quantity.unit() {
        "1" => quantity.name().to_owned(),
        unit if unit.contains('/') => format!("{} / ({unit})", quantity.name()),
        unit => format!("{} / {unit}", quantity.name()),
    }
}

fn station(station: &Station) -> Value {
    let mut object = Map::new();
    object.insert("name".to_owned(), json!(station.name));
    object.insert("kind".to_owned(), json!(station.kind));
    object.insert("phase".to_owned(), json!(station.state.phase().name()));
    let finite = |quantity: &Quantity| {
        station
            .get(*quantity)
            .ok()
            .filter(|value| value.is_finite())
    };
    for quantity in STATION_QUANTITIES {
        if let Some(value) = finite(quantity) {
            object.insert(key(*quantity), json!(value));
        }
    }
    if station.modifier.is_some() {
        let fluid = station.state.fluid();
        let pairs = fluid.substances().into_iter().zip(fluid.amount_fractions());
        let composition = pairs.map(|(name, x)| (name.to_owned(), json!(x)));
        object.insert("composition".to_owned(), composition.collect());
    }
    Value::Object(object)
}

fn column(column: &ColumnSummary) -> Value {
    let profile = |of: &dyn Fn(&crate::hardware::ProfilePoint) -> f64| {
        column.profile.iter().map(of).collect::<Vec<_>>()
    };
    json!({
        "name": column.name,
        "pressure_drop / Pa": column.pressure_drop,
        "hold_up_time / s": column.hold_up_time,
        "position / m": profile(&|point| point.position),
        "temperature / K": profile(&|point| point.temperature),
        "pressure / Pa": profile(&|point| point.pressure),
        "density / (kg/m3)": profile(&|point| point.density),
        "velocity / (m/s)": profile(&|point| point.velocity),
        "retention_factor": profile(&|point| point.retention_factor),
        "plate_height / m": profile(&|point| point.plate_height),
    })
}

fn detection(detection: &Detection) -> Value {
    json!({
        "part": detection.part,
        "branch_of": detection.branch_of,
        "injected_share": detection.injected_share,
        "volume_flow_rate / (m3/s)": detection.volume_flow_rate,
        "bands_of_solutes": detection.bands_of_solutes.iter().map(bands).collect::<Vec<_>>(),
    })
}

fn bands(bands: &BandBudget) -> Value {
    let rows = bands.rows.iter().map(|row| {
        json!({ "part": row.part, "time / s": row.time, "time_variance / s2": row.time_variance, "share": row.share })
    });
    json!({
        "solute": bands.solute,
        "rows": rows.collect::<Vec<_>>(),
        "time_variance / s2": bands.time_variance,
        "time / s": bands.time,
        "retention_time / s": bands.retention_time,
        "hold_up_time / s": bands.hold_up_time,
        "retention_factor": bands.retention_factor,
        "column_plate_number": bands.column_plate_number,
        "apparent_plate_number": bands.apparent_plate_number,
    })
}
