//! What mixtures bring: borders of their phases, the phases themselves, critical lines.

use densepath::fluid::phase::{
    BoundaryKind, CriticalLine, CriticalLineBranch, Flash, FlashPhase, PhaseBoundary,
};
use densepath::{CriticalPoint, ModelChoice, Quantity};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::error::{Outcome, argument, enter};
use crate::record::{Several, nested, record};
use crate::state::PyState;
use crate::table::{Column, PyTable};

/// The one variable that is given of a temperature and a pressure; error 104 otherwise.
pub fn given<T>(call: &str, temperature: Option<T>, pressure: Option<T>) -> Outcome<(Quantity, T)> {
    let one = "temperature or pressure";
    match (temperature, pressure) {
        (Some(t), None) => Ok((Quantity::Temperature, t)),
        (None, Some(p)) => Ok((Quantity::Pressure, p)),
        (None, None) => Err(argument(call, one, "nothing")),
        (Some(_), Some(_)) => Err(argument(call, one, "both")),
    }
}

/// Fractions by the names of their substances.
pub fn fractions<'py>(
    py: Python<'py>,
    names: &[&str],
    values: &[f64],
) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    for (name, value) in names.iter().zip(values) {
        dict.set_item(name, value)?;
    }
    Ok(dict)
}

record! {
    /// A state in which a fluid begins to part into two phases; immutable. Made by `Fluid.bubble_point`, `Fluid.dew_point` and
    /// `Fluid.phase_boundaries`.
    PyPhaseBoundary "PhaseBoundary"
    from r#"bubble = dp.Fluid({"carbon dioxide": 0.9, "methanol": 0.1}).bubble_point(temperature=303.15)"#
        shows bubble.pressure as ".3g" = "6.46e+06"
    {
        /// str: "bubble" where a thinner phase appears, "dew" where a denser one does.
        kind: String [""],
        /// float: Temperature T in K.
        temperature: f64 ["K"],
        /// float: Pressure p in Pa.
        pressure: f64 ["Pa"],
        /// State: The denser phase: the fluid itself at a bubble point, the first drop at a dew point.
        liquid: PyState [""],
        /// State: The thinner phase: the first bubble at a bubble point, the fluid itself at a dew point.
        vapour: PyState [""],
    }
}

impl From<PhaseBoundary> for PyPhaseBoundary {
    fn from(found: PhaseBoundary) -> Self {
        let kind = match found.kind {
            BoundaryKind::Bubble => "bubble",
            BoundaryKind::Dew => "dew",
        };
        Self {
            kind: kind.to_owned(),
            temperature: found.temperature,
            pressure: found.pressure,
            liquid: found.liquid.into(),
            vapour: found.vapour.into(),
        }
    }
}

#[pymethods]
impl PyPhaseBoundary {
    /// Both phases as a `pandas.DataFrame`, one column a phase.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> frame = dp.Fluid({"carbon dioxide": 0.9, "methanol": 0.1}).bubble_point(temperature=303.15).to_pandas()
    /// >>> frame.columns.tolist(), frame.loc["density"].round(0).tolist()
    /// (['liquid', 'vapour'], [790.0, 216.0])
    fn to_pandas<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py()
            .import("densepath._present")?
            .call_method1("pair_to_pandas", (slf,))
    }
}

record! {
    /// One of the phases of a fluid; immutable. Made by `Fluid.flash`.
    PyFlashPhase "FlashPhase"
    from r#"liquid, vapour = dp.Fluid({"carbon dioxide": 0.7, "methanol": 0.3}).flash(313.15, 6e6).phases"#
        shows liquid.mass_fraction as ".3f" = "0.424"
    {
        /// float: Share of the amount of the whole fluid that is in the phase.
        fraction: f64 ["1"],
        /// float: Share of the mass of the whole fluid that is in the phase.
        mass_fraction: f64 ["1"],
        /// State: The phase, whose fluid has its composition.
        state: PyState [""],
    }
}

nested!(PyFlashPhase);

#[pymethods]
impl PyFlashPhase {
    /// dict of str to float: Amount fraction of each substance in the phase.
    #[getter]
    fn composition<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let fluid = self.state.state.fluid();
        fractions(py, &fluid.substances(), fluid.amount_fractions())
    }

    /// float: Density rho in kg/m3 of the phase.
    #[getter]
    fn density(&self) -> f64 {
        self.state.state.density()
    }

    /// str: "liquid", "vapour" or "supercritical".
    #[getter]
    fn phase(&self) -> &'static str {
        self.state.state.phase().name()
    }
}

impl From<FlashPhase> for PyFlashPhase {
    fn from(found: FlashPhase) -> Self {
        Self {
            fraction: found.amount_fraction,
            mass_fraction: found.mass_fraction,
            state: found.state.into(),
        }
    }
}

record! { @class
    [
        /// The phases of a fluid at a temperature and a pressure; immutable. Made by `Fluid.flash`.
        ///
        /// Examples
        /// --------
        /// >>> import densepath as dp
        /// >>> flash = dp.Fluid({"carbon dioxide": 0.7, "methanol": 0.3}).flash(313.15, 6e6)
        /// >>> [(phase.phase, round(phase.fraction, 3)) for phase in flash.phases]
        /// [('liquid', 0.468), ('vapour', 0.532)]
    ]
    [
        ///
        /// Examples
        /// --------
        /// >>> import densepath as dp
        /// >>> flash = dp.Fluid({"carbon dioxide": 0.7, "methanol": 0.3}).flash(313.15, 6e6)
        /// >>> [round(phase["mass_fraction"], 3) for phase in flash.to_dict()["phases"]]
        /// [0.424, 0.576]
    ]
    PyFlash "Flash" {
        /// float: Temperature T in K.
        temperature: f64 ["K"],
        /// float: Pressure p in Pa.
        pressure: f64 ["Pa"],
        /// tuple of FlashPhase: The phases by falling density.
        phases: Several<PyFlashPhase> [""],
    }
}

impl From<Flash> for PyFlash {
    fn from(found: Flash) -> Self {
        let phases = found.phases.into_iter().map(PyFlashPhase::from);
        Self {
            temperature: found.temperature,
            pressure: found.pressure,
            phases: Several(phases.collect()),
        }
    }
}

record! {
    /// One critical line of two substances; immutable. Part of a `CriticalLocus`.
    PyCriticalBranch "CriticalBranch"
    from r#"(line,) = dp.critical_locus("carbon dioxide", "acetone", model="cubic").branches"#
        shows line.ends = "'second substance'"
    {
        /// str: Where the line begins: "first substance" or "second substance" for its critical point, "highest pressure" or
        /// "zero pressure", "end of the temperatures", "closed" where it is a loop, "lost" where it could not be followed.
        begins: String [""],
        /// str: Where the line ends, in the same words.
        ends: String [""],
        /// Table: Amount fraction of the second substance, temperature, pressure, density and, as 1 or 0, whether no other
        /// phase is more stable, point by point. Of three points in a row one is tested; those between two that agree have their
        /// answer.
        points: PyTable [""],
    }
}

nested!(PyCriticalBranch);

/// The points of some lines, line by line, with the number of the line.
fn points(branches: &[CriticalLineBranch]) -> PyTable {
    let of = |value: fn(&CriticalPoint) -> f64| {
        let points = branches.iter().flat_map(|branch| &branch.points);
        points.map(value).collect::<Vec<f64>>()
    };
    let numbers = branches.iter().enumerate();
    let numbers = numbers.flat_map(|(i, branch)| branch.points.iter().map(move |_| i as f64));
    let fractions = branches.iter().flat_map(|branch| &branch.amount_fraction);
    let columns = vec![
        Column::named("branch", "1", numbers),
        Column::numbers(Quantity::AmountFraction, fractions.copied()),
        Column::numbers(Quantity::Temperature, of(|point| point.temperature)),
        Column::numbers(Quantity::Pressure, of(|point| point.pressure)),
        Column::numbers(Quantity::Density, of(|point| point.density)),
        Column::named("stable", "1", of(|point| f64::from(point.is_stable))),
    ];
    PyTable::of("critical points", columns)
}

impl From<&CriticalLineBranch> for PyCriticalBranch {
    fn from(branch: &CriticalLineBranch) -> Self {
        Self {
            begins: branch.ends.0.name().to_owned(),
            ends: branch.ends.1.name().to_owned(),
            points: points(std::slice::from_ref(branch)),
        }
    }
}

record! {
    /// The critical lines of two substances; immutable. Made by `critical_locus`.
    PyCriticalLocus "CriticalLocus"
    from r#"locus = dp.critical_locus("carbon dioxide", "acetone", model="cubic")"#
        shows locus.kind = "'joined'"
    {
        /// str: "joined" where one line joins the critical points of both substances (type I), "joined, with a line of two
        /// liquids" (type II), "interrupted" where phases on a part within it are not stable (type V; with the line of two
        /// liquids type IV), "broken" where no line joins both (type III), "not known" where a line of stable phases was lost,
        /// or left the temperatures of the mixture, before it told. Solids are not asked for: a line of two liquids may lie
        /// where a substance has frozen.
        kind: String [""],
        /// bool: Whether one line of stable phases joins the critical points of both substances; false where that is not known.
        joined: bool [""],
        /// tuple of CriticalBranch: The lines: first that from the first substance, then, if it does not end there, that from
        /// the second, then others.
        branches: Several<PyCriticalBranch> [""],
        /// Table: The points of all lines, line after line; `branch` is the number of the line.
        points: PyTable [""],
    }
}

macro_rules! of_points {
    ($type:ident: $($name:ident $doc:literal;)*) => {
        #[pymethods]
        impl $type {
            $(
                #[doc = $doc]
                #[getter]
                fn $name<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
                    self.points.get(py, stringify!($name))
                }
            )*
        }
    };
}

of_points! { PyCriticalBranch:
    amount_fraction "array: Amount fraction x of the second substance at each point.";
    temperature "array: Temperature T in K.";
    pressure "array: Pressure p in Pa.";
    density "array: Density rho in kg/m3.";
}

of_points! { PyCriticalLocus:
    amount_fraction "array: Amount fraction x of the second substance at each point, line after line.";
    temperature "array: Temperature T in K, line after line.";
    pressure "array: Pressure p in Pa, line after line.";
    density "array: Density rho in kg/m3, line after line.";
}

impl From<CriticalLine> for PyCriticalLocus {
    fn from(line: CriticalLine) -> Self {
        let branches = line.branches.iter().map(PyCriticalBranch::from);
        Self {
            kind: line.kind.name().to_owned(),
            joined: line.kind.is_joined(),
            branches: Several(branches.collect()),
            points: points(&line.branches),
        }
    }
}

/// Every critical line of two substances, within the range of their mixtures.
///
/// Parameters
/// ----------
/// first, second : str
///     Names of the substances.
/// model : {"best", "multi-fluid", "cubic"}, keyword-only
///     The model wanted, as for `Fluid`.
///
/// Returns
/// -------
/// CriticalLocus
///     The lines with their points, and how they hang together.
///
/// Raises
/// ------
/// MissingModelError
///     If the pair has no parameters, or both names mean one substance.
///
/// Notes
/// -----
/// Valid: in the range of the mixtures.
///
/// Uncertainty: that of the model; critical temperatures and pressures of a multi-fluid equation are seldom fitted.
///
/// Source: conditions of Heidemann and Khalil, AIChE J. 26, 769 (1980), doi 10.1002/aic.690260510, followed by arc length; kinds
/// of van Konynenburg and Scott, Phil. Trans. R. Soc. A 298, 495 (1980), doi 10.1098/rsta.1980.0266.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> locus = dp.critical_locus("carbon dioxide", "acetone")
/// >>> locus.joined, locus.branches[0].begins, locus.branches[0].ends
/// (True, 'first substance', 'second substance')
#[pyfunction]
#[pyo3(signature = (first, second, *, model = "best"))]
pub fn critical_locus(
    py: Python<'_>,
    first: &str,
    second: &str,
    model: &str,
) -> Outcome<PyCriticalLocus> {
    let choice: ModelChoice = model.parse()?;
    let found = enter(py, || densepath::critical_locus(first, second, choice))?;
    Ok(found.into())
}
