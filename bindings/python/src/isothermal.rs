//! The phases of two substances at one temperature.

use densepath::fluid::phase::{IsothermalDiagram, TieLine, TwoPhaseRegion};
use densepath::{ModelChoice, Quantity};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::error::{Outcome, enter};
use crate::record::{Several, nested, record};
use crate::table::{Column, PyTable};

record! {
    /// One region of two phases at a temperature; immutable. Part of an `IsothermalDiagram`.
    PyTwoPhaseRegion "TwoPhaseRegion"
    from r#"(region,) = dp.isothermal_phase_diagram("carbon dioxide", "acetone", 313.15, model="cubic").regions"#
        shows region.ends = "'critical point'"
    {
        /// str: "liquid and vapour" or "two liquids".
        kind: String [""],
        /// str: Where the region begins: "first substance" or "second substance" for its boiling, "critical point",
        /// "three phases", "lowest pressure" or "highest pressure", "lost" where it could not be followed.
        begins: String [""],
        /// str: Where the region ends, in the same words.
        ends: String [""],
        /// Table: Pressure, amount fraction of the second substance and density of both phases, tie line by tie line; each
        /// phase keeps its columns along the region.
        tie_lines: PyTable [""],
    }
}

nested!(PyTwoPhaseRegion);

record! { @class
    [
        /// The fluid phases of two substances at a temperature; immutable. Made by `isothermal_phase_diagram`.
        ///
        /// Examples
        /// --------
        /// >>> import densepath as dp
        /// >>> diagram = dp.isothermal_phase_diagram("carbon dioxide", "acetone", 313.15, model="cubic")
        /// >>> print(f"critical at {diagram.critical_points.pressure[0] / 1e5:.1f} bar, {len(diagram.three_phase_lines)} lines of three phases")
        /// critical at 81.7 bar, 0 lines of three phases
    ]
    [
        ///
        /// Examples
        /// --------
        /// >>> import densepath as dp
        /// >>> diagram = dp.isothermal_phase_diagram("carbon dioxide", "acetone", 313.15, model="cubic")
        /// >>> [region["kind"] for region in diagram.to_dict()["regions"]]
        /// ['liquid and vapour']
    ]
    PyIsothermalDiagram "IsothermalDiagram" {
        /// float: Temperature T in K.
        temperature: f64 ["K"],
        /// tuple of TwoPhaseRegion: The regions of two phases.
        regions: Several<PyTwoPhaseRegion> [""],
        /// Table: Pressures at which three phases meet, with the amount fractions of the second substance, rising, and the
        /// densities of the phases.
        three_phase_lines: PyTable [""],
        /// Table: States in which liquid and vapour have one composition.
        azeotropes: PyTable [""],
        /// Table: Critical points at which regions end.
        critical_points: PyTable [""],
    }
}

fn tie_lines(pairs: &[TieLine]) -> PyTable {
    let of = |value: fn(&TieLine) -> f64| pairs.iter().map(value).collect::<Vec<f64>>();
    let columns = vec![
        Column::numbers(Quantity::Pressure, of(|pair| pair.pressure)),
        Column::numbers(
            Quantity::AmountFraction,
            of(|pair| pair.amount_fractions[0]),
        ),
        Column::named(
            "other_amount_fraction",
            "1",
            of(|pair| pair.amount_fractions[1]),
        ),
        Column::numbers(Quantity::Density, of(|pair| pair.densities[0])),
        Column::named("other_density", "kg/m3", of(|pair| pair.densities[1])),
    ];
    PyTable::of("tie lines", columns)
}

impl From<&TwoPhaseRegion> for PyTwoPhaseRegion {
    fn from(region: &TwoPhaseRegion) -> Self {
        let kind = if region.is_of_liquids {
            "two liquids"
        } else {
            "liquid and vapour"
        };
        Self {
            kind: kind.to_owned(),
            begins: region.ends.0.name().to_owned(),
            ends: region.ends.1.name().to_owned(),
            tie_lines: tie_lines(&region.tie_lines),
        }
    }
}

impl From<IsothermalDiagram> for PyIsothermalDiagram {
    fn from(found: IsothermalDiagram) -> Self {
        let three = |value: &dyn Fn(usize) -> f64| {
            let places = 0..found.three_phase_lines.len();
            places.map(value).collect::<Vec<f64>>()
        };
        let lines = &found.three_phase_lines;
        let names = [
            ("amount_fraction_low", "density_low"),
            ("amount_fraction_middle", "density_middle"),
            ("amount_fraction_high", "density_high"),
        ];
        let mut columns = vec![Column::numbers(
            Quantity::Pressure,
            three(&|k| lines[k].pressure),
        )];
        for (phase, (fraction, _)) in names.iter().enumerate() {
            columns.push(Column::named(
                fraction,
                "1",
                three(&|k| lines[k].amount_fractions[phase]),
            ));
        }
        for (phase, (_, density)) in names.iter().enumerate() {
            columns.push(Column::named(
                density,
                "kg/m3",
                three(&|k| lines[k].densities[phase]),
            ));
        }
        let points = || found.critical_points.iter();
        let critical = vec![
            Column::numbers(Quantity::AmountFraction, points().map(|(x, _)| *x)),
            Column::numbers(Quantity::Temperature, points().map(|(_, p)| p.temperature)),
            Column::numbers(Quantity::Pressure, points().map(|(_, p)| p.pressure)),
            Column::numbers(Quantity::Density, points().map(|(_, p)| p.density)),
        ];
        Self {
            temperature: found.temperature,
            regions: Several(found.regions.iter().map(PyTwoPhaseRegion::from).collect()),
            three_phase_lines: PyTable::of("lines of three phases", columns),
            azeotropes: tie_lines(&found.azeotropes),
            critical_points: PyTable::of("critical points", critical),
        }
    }
}

/// The fluid phases of two substances at a temperature, from 1 kPa to the highest pressure of the range of their mixtures.
///
/// Parameters
/// ----------
/// first, second : str
///     Names of the substances.
/// temperature : float
///     Temperature T in K.
/// model : {"best", "multi-fluid", "cubic"}, keyword-only
///     The model wanted, as for `Fluid`.
///
/// Returns
/// -------
/// IsothermalDiagram
///     The regions of two phases by their tie lines, with their critical points, azeotropes and lines of three phases.
///
/// Raises
/// ------
/// OutOfRangeError
///     If the temperature is outside the range of the mixtures.
/// MissingModelError
///     If the pair has no parameters, or both names mean one substance.
///
/// Notes
/// -----
/// Valid: in the range of the mixtures. Solids are left out, and so is a region that touches neither the boiling of a substance
/// nor the highest pressure nor a line of three phases.
///
/// Uncertainty: that of the model.
///
/// Source: the conditions of equilibrium, followed by arc length; critical points by the conditions of Heidemann and Khalil,
/// AIChE J. 26, 769 (1980), doi 10.1002/aic.690260510.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> diagram = dp.isothermal_phase_diagram("carbon dioxide", "ethane", 250.0)
/// >>> [(region.begins, region.ends) for region in diagram.regions], len(diagram.azeotropes.pressure)
/// ([('first substance', 'second substance')], 1)
#[pyfunction]
#[pyo3(signature = (first, second, temperature, *, model = "best"))]
pub fn isothermal_phase_diagram(
    py: Python<'_>,
    first: &str,
    second: &str,
    temperature: f64,
    model: &str,
) -> Outcome<PyIsothermalDiagram> {
    let choice: ModelChoice = model.parse()?;
    let found = enter(py, || {
        densepath::isothermal_phase_diagram(first, second, temperature, choice)
    })?;
    Ok(found.into())
}
