//! Every gathered row on chromatography: held by a check, or an exception with its reason.

use std::collections::BTreeMap;

use densepath::flow::bands::{PLUG, largest_volume, peak_variance, variance};
use densepath::flow::circular_area;
use densepath::flow::dispersion::taylor_aris_coefficient;
use densepath::flow::friction::{Wall, pressure_gradient};
use densepath::flow::packed_bed::{KOZENY_CARMAN_CONSTANT, PackedBed};
use densepath::flow::plate_height::{GolayColumn, PackedPlateHeight};
use densepath::flow::separation::{
    compressibility_correction, expected_resolution, plate_number_at_half_height,
    retardation_factor,
};
use densepath::hardware::cut_off_of;
use densepath::{Quantity, Result};
use densepath_tests::published;
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Gathered {
    about: String,
    reasons: BTreeMap<String, String>,
    rows: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    quantity: String,
    source: String,
    #[serde(rename = "doi")]
    _doi: String,
    /// Symbol of a term.
    symbol: Option<String>,
    /// Substance of a cut-off.
    substance: Option<String>,
    /// Numbers that go in, by symbol and unit.
    #[serde(default)]
    inputs: BTreeMap<String, f64>,
    /// The value as gathered, and half a unit of its last digit.
    value: Option<f64>,
    u: Option<f64>,
    /// The value to fifteen digits.
    exact: Option<f64>,
    /// What the library answers where that is another thing.
    answer: Option<serde_json::Value>,
    check: String,
}

/// Without Aris's term for diffusion along the tube, which the law of Taylor leaves out.
fn taylor_volume_variance(diameter: f64, length: f64, flow: f64, diffusion: f64) -> Result<f64> {
    let area = circular_area(diameter)?;
    let velocity = flow / area;
    let shear = taylor_aris_coefficient(diffusion, diameter, velocity)? - diffusion;
    Ok(2.0 * shear * length / velocity * area * area)
}

/// Pressure drop of laminar flow; the density cancels.
fn laminar_drop(diameter: f64, length: f64, flow: f64, viscosity: f64) -> Result<f64> {
    let density = 800.0;
    let flux = density * flow / circular_area(diameter)?;
    let f = Wall::SMOOTH.friction_factor(flux * diameter / viscosity, diameter)?;
    Ok(length * pressure_gradient(density, diameter, flux, f.value)?)
}

/// Least reduced plate height of an open tube without a film.
fn least_golay_height(retention_factor: f64) -> Result<f64> {
    let column = GolayColumn {
        diameter: 5e-5,
        film_thickness: 0.0,
        film_diffusion_coefficient: 1.0,
    };
    Ok(column.optimum(1e-8, retention_factor)?.plate_height / 5e-5)
}

impl Row {
    fn input(&self, name: &str) -> f64 {
        let found = self.inputs.get(name);
        *found.unwrap_or_else(|| panic!("{}: no {name}", self.id))
    }

    fn bed(&self) -> Result<PackedBed> {
        let (particle, porosity) = (self.input("d_p / m"), self.input("epsilon / 1"));
        PackedBed::kozeny_carman(particle, porosity, KOZENY_CARMAN_CONSTANT)
    }

    fn closed_form(&self) -> Result<f64> {
        let x = |name: &str| self.input(name);
        let terms = || (x("A / 1"), x("B / 1"), x("C / 1"));
        let knox = |(eddy, longitudinal, transfer)| {
            PackedPlateHeight::Knox {
                eddy,
                longitudinal,
                transfer,
            }
            .optimum(1.0, 1.0)
        };
        match self.quantity.as_str() {
            "maximum_sample_volume" => {
                let (of_hold_up, k) = (x("V_0 / m3"), x("k / 1"));
                let largest = |k| largest_volume(peak_variance(1e-6, 1e4, k)?, 0.1, PLUG);
                Ok(of_hold_up * largest(k)? / largest(0.0)?)
            }
            "variance_of_rectangular_plug" => variance(x("V / m3"), PLUG),
            "injection_volume_for_10pct_variance" => {
                let column = peak_variance(x("V_R / m3"), x("N / 1"), 0.0)?;
                // A tenth of the column's variance is an eleventh of the sum.
                largest_volume(column, 0.1 / 1.1, PLUG)
            }
            "hagen_poiseuille_pressure_drop" => {
                laminar_drop(x("d / m"), x("L / m"), x("q_V / (m3/s)"), x("eta / (Pa s)"))
            }
            "tube_variance_Taylor" => {
                taylor_volume_variance(x("d / m"), x("L / m"), x("q_V / (m3/s)"), x("D / (m2/s)"))
            }
            "golay_plate_height" => GolayColumn {
                diameter: x("d_c / m"),
                film_thickness: x("d_f / m"),
                film_diffusion_coefficient: x("D_S / (m2/s)"),
            }
            .plate_height(x("D_M / (m2/s)"), x("u / (m/s)"), x("k / 1")),
            "golay_minimum_reduced_plate_height_k0" => least_golay_height(0.0),
            "golay_minimum_reduced_plate_height_kinf" => least_golay_height(1e12),
            "kozeny_carman_permeability" => Ok(self.bed()?.permeability()),
            "flow_resistance_parameter" => self.bed()?.flow_resistance(x("d_p / m")),
            "knox_minimum_reduced_plate_height" => Ok(knox(terms())?.plate_height),
            "knox_optimum_reduced_velocity" => Ok(knox(terms())?.velocity),
            "van_deemter_minimum_plate_height" => {
                let (eddy, longitudinal, transfer) = terms();
                let law = PackedPlateHeight::VanDeemter {
                    eddy,
                    longitudinal,
                    transfer,
                };
                Ok(law.optimum(1e-8, 5e-6)?.plate_height)
            }
            "resolution_Purnell" => expected_resolution(x("N / 1"), x("alpha / 1"), x("k / 1")),
            "compressibility_correction_factor_j" => compressibility_correction(x("P / 1")),
            "plate_number_half_height" => plate_number_at_half_height(x("t_R / s"), x("w_h / s")),
            "retention_fraction_R" => retardation_factor(x("k / 1")),
            other => panic!("{}: no closed form for {other}", self.id),
        }
    }

    /// What is wrong with a row that a check holds; nothing if it is met.
    fn fault_of_closed_form(&self) -> Option<String> {
        let (Some(value), Some(u), Some(exact)) = (self.value, self.u, self.exact) else {
            return Some(format!("{}: no value", self.id));
        };
        match self.closed_form() {
            Ok(ours) if (ours / exact - 1.0).abs() < 1e-9 && (ours - value).abs() <= u * 1.001 => {
                None
            }
            other => Some(format!("{}: {other:?} against {exact}, {value}", self.id)),
        }
    }

    fn fault_of_cut_off(&self, longer: bool) -> Option<String> {
        let substance = self.substance.as_deref().unwrap_or_default();
        let ours = match cut_off_of([substance]) {
            Ok(Some(entry)) => entry.wavelength,
            other => return Some(format!("{}: {other:?}", self.id)),
        };
        let value = self.value.unwrap_or(f64::NAN);
        let answer = self.answer.as_ref().and_then(serde_json::Value::as_f64);
        let met = if longer {
            ours > value + self.u.unwrap_or(0.0) && Some(ours) == answer
        } else {
            (ours - value).abs() <= self.u.unwrap_or(0.0)
        };
        (!met).then(|| format!("{}: {ours} against {value}", self.id))
    }

    /// A term of which the library has the quantity, with the symbol of the term or one of its own.
    fn fault_of_term(&self, same_symbol: bool) -> Option<String> {
        let symbol = self.symbol.as_deref().unwrap_or_default();
        let answer = self.answer.as_ref().and_then(serde_json::Value::as_str);
        let Some((name, ours)) = answer.and_then(|answer| answer.split_once(' ')) else {
            return Some(format!("{}: no quantity", self.id));
        };
        let met = name
            .parse::<Quantity>()
            .is_ok_and(|known| known.symbol() == ours)
            && (ours == symbol) == same_symbol;
        (!met).then(|| format!("{}: {answer:?} against {symbol}", self.id))
    }

    fn fault(&self) -> Option<String> {
        match self.check.as_str() {
            "closed_form" => self.fault_of_closed_form(),
            "cut_off" => self.fault_of_cut_off(false),
            "longer_by_a_source" => self.fault_of_cut_off(true),
            "quantity" => self.fault_of_term(true),
            "quantity_of_more" => self.fault_of_term(false),
            _ => None,
        }
    }
}

#[test]
fn every_row_on_chromatography_is_met_or_an_exception_with_its_reason() {
    let file: Gathered = published("chromatography");
    assert!(file.about.len() > 50);
    let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
    for row in &file.rows {
        assert!(!row.source.is_empty(), "{}: no source", row.id);
        let is_check = ["closed_form", "cut_off", "quantity"].contains(&row.check.as_str());
        assert!(
            is_check || file.reasons.contains_key(&row.check),
            "{}: neither a check nor a reason",
            row.id
        );
        *counts.entry(row.check.as_str()).or_default() += 1;
    }
    let faults: Vec<String> = file.rows.iter().filter_map(Row::fault).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert_eq!(file.rows.len(), 135);
    assert_eq!(counts.get("closed_form"), Some(&41));
    assert_eq!(counts.get("cut_off"), Some(&10));
    assert_eq!(counts.get("quantity"), Some(&11));
    for reason in file.reasons.keys() {
        assert!(counts.contains_key(reason.as_str()), "no row for {reason}");
    }
}
