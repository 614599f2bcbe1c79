//! Equilibria of phases at many temperatures and pressures, as tables.

use densepath::fluid::phase::{Flash, FlashPhase, PhaseBoundary};
use densepath::{Error, Quantity, Result, Saturation, State};
use pyo3::prelude::*;
use rayon::prelude::*;

use crate::arguments::OnError;
use crate::error::{Outcome, enter, exception};
use crate::fluid::PyFluid;
use crate::mixture::given;
use crate::table::{Column, PyTable};

/// Values between two looks for an interrupt.
const BLOCK: usize = 64;

/// What was found for each value, in their order; the values are shared among the cores, and an interrupt ends the work.
fn of_each<V: Sync, T: Send>(
    py: Python<'_>,
    values: &[V],
    find: impl Fn(&V) -> Result<T> + Sync,
) -> Outcome<Vec<Result<T>>> {
    let mut found = Vec::with_capacity(values.len());
    for block in values.chunks(BLOCK) {
        let results = enter(py, || Ok(block.par_iter().map(&find).collect::<Vec<_>>()))?;
        found.extend(results);
        py.check_signals()?;
    }
    Ok(found)
}

/// The results, unless the first failure is to be raised, with its place and the number of failures.
fn settled<T>(py: Python<'_>, found: Vec<Result<T>>, on_error: &str) -> Outcome<Vec<Result<T>>> {
    let rule = OnError::read(on_error)?;
    let failed = found.iter().filter(|result| result.is_err()).count();
    let first = found
        .iter()
        .enumerate()
        .find_map(|(place, result)| Some((place, result.as_ref().err()?)));
    let Some((index, error)) = first.filter(|_| rule != OnError::Nan) else {
        return Ok(found);
    };
    let raised = exception(py, error);
    raised.value(py).setattr("index", index)?;
    raised.value(py).setattr("failed", failed)?;
    if rule == OnError::Raise {
        return Err(raised.into());
    }
    py.import("densepath._arrays")?
        .call_method1("warn", (raised,))?;
    Ok(found)
}

/// Why each of the failures failed, empty where none did.
fn why<T>(found: &[Result<T>]) -> Column {
    let words = found.iter().map(|result| match result {
        Ok(_) => String::new(),
        Err(error) => error.to_string(),
    });
    Column::words("why", words)
}

/// Two phases in equilibrium.
struct Pair<'a> {
    temperature: f64,
    pressure: f64,
    liquid: &'a State,
    vapour: &'a State,
}

impl<'a> From<&'a Saturation> for Pair<'a> {
    fn from(found: &'a Saturation) -> Self {
        Self {
            temperature: found.temperature,
            pressure: found.pressure,
            liquid: &found.liquid,
            vapour: &found.vapour,
        }
    }
}

impl<'a> From<&'a PhaseBoundary> for Pair<'a> {
    fn from(found: &'a PhaseBoundary) -> Self {
        Self {
            temperature: found.temperature,
            pressure: found.pressure,
            liquid: &found.liquid,
            vapour: &found.vapour,
        }
    }
}

/// One of the phases of a pair.
type OfPair = for<'a> fn(&Pair<'a>) -> &'a State;
/// A property of a phase.
type OfState = fn(&State) -> f64;

/// Properties of both phases that the tables hold.
const OF_BOTH: [(Quantity, OfState); 3] = [
    (Quantity::Density, State::density),
    (Quantity::SpecificEnthalpy, State::specific_enthalpy),
    (Quantity::SpecificEntropy, State::specific_entropy),
];

/// Amount fraction of a substance in a phase, by its place in the whole fluid.
fn share_of(phase: &State, place: usize) -> f64 {
    let fractions = phase.fluid().amount_fractions();
    fractions.get(place).copied().unwrap_or(f64::NAN)
}

/// One row for each phase of each flash.
fn phases(points: &[(f64, f64)], substances: &[&str], found: &[Result<Flash>]) -> PyTable {
    type Row<'a> = (usize, Option<&'a FlashPhase>);
    let rows = || {
        found.iter().enumerate().flat_map(|(point, result)| {
            let phases = result.iter().flat_map(|flash| &flash.phases).map(Some);
            let none = result.is_err().then_some(None);
            phases
                .chain(none)
                .map(move |phase| -> Row<'_> { (point, phase) })
        })
    };
    let numbers = |of: &dyn Fn(&FlashPhase) -> f64| {
        rows()
            .map(|(_, phase)| phase.map_or(f64::NAN, of))
            .collect::<Vec<_>>()
    };
    let at = |of: fn(&(f64, f64)) -> f64| {
        rows()
            .map(|(point, _)| points.get(point).map_or(f64::NAN, of))
            .collect::<Vec<_>>()
    };
    let mut columns = vec![
        Column::words(
            "phase",
            rows().map(|(_, phase)| phase.map_or("", |phase| phase.state.phase().name())),
        ),
        Column::named("point", "1", rows().map(|(point, _)| point as f64)),
        Column::numbers(Quantity::Temperature, at(|point| point.0)),
        Column::numbers(Quantity::Pressure, at(|point| point.1)),
        Column::named(
            "amount_fraction",
            "1",
            numbers(&|phase| phase.amount_fraction),
        ),
        Column::named("mass_fraction", "1", numbers(&|phase| phase.mass_fraction)),
        Column::numbers(Quantity::Density, numbers(&|phase| phase.state.density())),
    ];
    columns.extend(substances.iter().enumerate().map(|(place, name)| {
        Column::named(name, "1", numbers(&|phase| share_of(&phase.state, place)))
    }));
    let reasons = rows().map(|(point, _)| match found.get(point) {
        Some(Err(error)) => error.to_string(),
        _ => String::new(),
    });
    columns.push(Column::words("why", reasons));
    PyTable::of("phases", columns)
}

impl PyFluid {
    /// The table of pairs of phases; `given` keeps its values where there is no pair.
    fn pairs<T>(
        &self,
        py: Python<'_>,
        title: &str,
        (given, values): &(Quantity, Vec<f64>),
        found: Vec<Result<T>>,
        on_error: &str,
    ) -> Outcome<PyTable>
    where
        for<'a> Pair<'a>: From<&'a T>,
    {
        let found = settled(py, found, on_error)?;
        let substances = self.fluid.substances();
        let numbers = |of: &dyn Fn(&Pair<'_>) -> f64| {
            let value = |result: &Result<T>| {
                let found = result.as_ref().ok();
                found.map_or(f64::NAN, |found| of(&Pair::from(found)))
            };
            found.iter().map(value).collect::<Vec<_>>()
        };
        let mut columns = match given {
            Quantity::Temperature => vec![
                Column::numbers(*given, values.iter().copied()),
                Column::numbers(Quantity::Pressure, numbers(&|pair| pair.pressure)),
            ],
            _ => vec![
                Column::numbers(Quantity::Temperature, numbers(&|pair| pair.temperature)),
                Column::numbers(*given, values.iter().copied()),
            ],
        };
        let phases: [(&str, OfPair); 2] = [
            ("liquid", |pair| pair.liquid),
            ("vapour", |pair| pair.vapour),
        ];
        for (word, phase) in phases {
            columns.extend(OF_BOTH.map(|(quantity, of)| {
                let name = format!("{word}_{}", quantity.name());
                Column::named(&name, quantity.unit(), numbers(&|pair| of(phase(pair))))
            }));
            if substances.len() > 1 {
                columns.extend(substances.iter().enumerate().map(|(place, name)| {
                    let share = |pair: &Pair<'_>| share_of(phase(pair), place);
                    Column::named(&format!("{word}: {name}"), "1", numbers(&share))
                }));
            }
        }
        columns.push(why(&found));
        Ok(PyTable::of(title, columns))
    }
}

#[pymethods]
impl PyFluid {
    /// Saturation at many temperatures or pressures.
    ///
    /// Parameters
    /// ----------
    /// temperature : sequence of float, keyword-only, optional
    ///     Temperatures T in K.
    /// pressure : sequence of float, keyword-only, optional
    ///     Pressures p in Pa, absolute.
    /// on_error : {"raise", "nan", "warn"}, keyword-only
    ///     What to do where there is no saturation: raise the first error, or leave not-a-number and the reason in `why`, with or
    ///     without a warning.
    ///
    /// Returns
    /// -------
    /// Table
    ///     A row a value: temperature, pressure, density, specific enthalpy and specific entropy of both phases, and `why`.
    ///
    /// Raises
    /// ------
    /// PhaseError, RangeError, MissingModelError
    ///     As `saturation`, with the place of the value in `index`.
    ///
    /// Notes
    /// -----
    /// All cores are used, and the interpreter is free for other threads. Each row is what `saturation` gives.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> table = dp.Fluid("carbon dioxide").saturations(temperature=[280.0, 290.0, 300.0])
    /// >>> [f"{pressure / 1e5:.2f} bar" for pressure in table.pressure]
    /// ['41.61 bar', '53.18 bar', '67.13 bar']
    #[pyo3(signature = (*, temperature = None, pressure = None, on_error = "raise"))]
    fn saturations(
        &self,
        py: Python<'_>,
        temperature: Option<Vec<f64>>,
        pressure: Option<Vec<f64>>,
        on_error: &str,
    ) -> Outcome<PyTable> {
        let given = given("saturations", temperature, pressure)?;
        let found = of_each(py, &given.1, |value| match given.0 {
            Quantity::Temperature => self.fluid.saturation_at_temperature(*value),
            _ => self.fluid.saturation_at_pressure(*value),
        })?;
        self.pairs(py, "saturation", &given, found, on_error)
    }

    /// Bubble points at many temperatures or pressures.
    ///
    /// Parameters
    /// ----------
    /// temperature : sequence of float, keyword-only, optional
    ///     Temperatures T in K.
    /// pressure : sequence of float, keyword-only, optional
    ///     Pressures p in Pa, absolute.
    /// on_error : {"raise", "nan", "warn"}, keyword-only
    ///     What to do where there is none, as for `saturations`.
    ///
    /// Returns
    /// -------
    /// Table
    ///     As that of `saturations`, with the amount fraction of each substance in both phases as "vapour: methanol" and the like.
    ///
    /// Raises
    /// ------
    /// PhaseError, RangeError, ConvergenceError
    ///     As `bubble_point`, with the place of the value in `index`.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> fluid = dp.Fluid({"carbon dioxide": 0.5, "acetone": 0.5})
    /// >>> table = fluid.bubble_points(temperature=[300.0, 310.0])
    /// >>> bool(table.pressure[0] == fluid.bubble_point(temperature=300.0).pressure)
    /// True
    #[pyo3(signature = (*, temperature = None, pressure = None, on_error = "raise"))]
    fn bubble_points(
        &self,
        py: Python<'_>,
        temperature: Option<Vec<f64>>,
        pressure: Option<Vec<f64>>,
        on_error: &str,
    ) -> Outcome<PyTable> {
        let given = given("bubble_points", temperature, pressure)?;
        let found = of_each(py, &given.1, |value| match given.0 {
            Quantity::Temperature => self.fluid.bubble_point_at_temperature(*value),
            _ => self.fluid.bubble_point_at_pressure(*value),
        })?;
        self.pairs(py, "bubble points", &given, found, on_error)
    }

    /// Dew points at many temperatures or pressures.
    ///
    /// Parameters
    /// ----------
    /// temperature : sequence of float, keyword-only, optional
    ///     Temperatures T in K.
    /// pressure : sequence of float, keyword-only, optional
    ///     Pressures p in Pa, absolute.
    /// on_error : {"raise", "nan", "warn"}, keyword-only
    ///     What to do where there is none, as for `saturations`.
    ///
    /// Returns
    /// -------
    /// Table
    ///     As that of `bubble_points`.
    ///
    /// Raises
    /// ------
    /// PhaseError, RangeError, ConvergenceError
    ///     As `dew_point`, with the place of the value in `index`.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> fluid = dp.Fluid({"carbon dioxide": 0.5, "acetone": 0.5})
    /// >>> table = fluid.dew_points(temperature=[300.0, 310.0])
    /// >>> bool((table["liquid: acetone"] > table["vapour: acetone"]).all())
    /// True
    #[pyo3(signature = (*, temperature = None, pressure = None, on_error = "raise"))]
    fn dew_points(
        &self,
        py: Python<'_>,
        temperature: Option<Vec<f64>>,
        pressure: Option<Vec<f64>>,
        on_error: &str,
    ) -> Outcome<PyTable> {
        let given = given("dew_points", temperature, pressure)?;
        let found = of_each(py, &given.1, |value| match given.0 {
            Quantity::Temperature => self.fluid.dew_point_at_temperature(*value),
            _ => self.fluid.dew_point_at_pressure(*value),
        })?;
        self.pairs(py, "dew points", &given, found, on_error)
    }

    /// The phases at many temperatures and pressures.
    ///
    /// Parameters
    /// ----------
    /// temperature : sequence of float
    ///     Temperatures T in K.
    /// pressure : sequence of float
    ///     Pressures p in Pa, absolute, as many.
    /// on_error : {"raise", "nan", "warn"}, keyword-only
    ///     What to do where the phases are not found, as for `saturations`.
    ///
    /// Returns
    /// -------
    /// Table
    ///     A row for each phase, by falling density: `phase` names it, `point` is the place of its temperature and pressure,
    ///     `amount_fraction` and `mass_fraction` its shares of the whole; then its density and the amount fraction of each
    ///     substance in it.
    ///
    /// Raises
    /// ------
    /// ArgumentError
    ///     If there are not as many pressures as temperatures.
    /// RangeError, ConvergenceError
    ///     As `flash`, with the place of the values in `index`.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> fluid = dp.Fluid({"carbon dioxide": 0.5, "acetone": 0.5})
    /// >>> fluid.flashes([313.15, 313.15], [20e5, 200e5]).point
    /// array([0., 0., 1.])
    #[pyo3(signature = (temperature, pressure, *, on_error = "raise"))]
    #[allow(clippy::needless_pass_by_value, reason = "lists of Python")]
    fn flashes(
        &self,
        py: Python<'_>,
        temperature: Vec<f64>,
        pressure: Vec<f64>,
        on_error: &str,
    ) -> Outcome<PyTable> {
        if temperature.len() != pressure.len() {
            let expected = "as many pressures as temperatures";
            let got = format!("{} beside {}", pressure.len(), temperature.len());
            return Err(Error::Argument {
                argument: "pressure".to_owned(),
                expected,
                got,
            }
            .into());
        }
        let points: Vec<_> = temperature.into_iter().zip(pressure).collect();
        let found = of_each(py, &points, |(t, p)| self.fluid.flash(*t, *p))?;
        let found = settled(py, found, on_error)?;
        Ok(phases(&points, &self.fluid.substances(), &found))
    }
}
