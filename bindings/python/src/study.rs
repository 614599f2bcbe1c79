//! Questions about a method: inverse questions, uncertainty, differences, maps.

use densepath::path::Watch;
use densepath::study::{
    Answer, Axis, Budget, Contribution, Difference, Found, Map, Output, Question, Told, Trials,
    UncertainInput, Unresolved, budget, compare, find, hold, map,
    model_uncertainties as doubts_of_models, outputs, trials,
};
use densepath::{Error, Method, Quantity};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::document;
use crate::error::{Outcome, argument, enter};
use crate::record::{Several, record};
use crate::table::{Column, PyTable};
use crate::watched::{Listener, watch_within, watched};

/// The method of a document, and the watch on its solution.
fn watched_method(source: &Bound<'_, PyAny>, time_limit: Option<f64>) -> Outcome<(Method, Watch)> {
    let watch = watch_within(time_limit)?;
    let mut method = document::read(source)?.method;
    method.path.watch = watch.clone();
    Ok((method, watch))
}

/// An input or an output by its two words: whose it is, and what it is.
type Name = (String, String);

fn output_of((of, name): Name) -> Output {
    Output::new(of, name)
}

/// `of: name`.
fn heading(output: &Output) -> String {
    format!("{}: {}", output.of, output.name)
}

fn owners<'a>(outputs: impl Iterator<Item = &'a Output>) -> Column {
    Column::words("of", outputs.map(|output| output.of.as_str()))
}

fn quantities(quantities: &[Quantity]) -> [Column; 2] {
    [
        Column::words(
            "quantity",
            quantities.iter().map(|quantity| quantity.name()),
        ),
        Column::words("unit", quantities.iter().map(|quantity| quantity.unit())),
    ]
}

/// Every value that a method document sets or may set.
///
/// Parameters
/// ----------
/// source : path, str or mapping
///     A method document, as for `solve`.
///
/// Returns
/// -------
/// Table
///     `of` and `key` name the input: a part, a solute, "room" or "document", and its key; `value` is in the SI `unit`, NaN where the
///     document does not state it.
///
/// Raises
/// ------
/// DocumentError
///     If the document cannot be read or describes no instrument.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> inputs = dp.method_inputs("tests/methods/packed.toml")
/// >>> [(row["key"], row["value"], row["unit"]) for row in inputs if row["of"] == "regulator"][:1]
/// [('pressure', 15000000.0, 'Pa')]
#[pyfunction]
pub fn method_inputs(source: &Bound<'_, PyAny>) -> Outcome<PyTable> {
    let inputs = document::read(source)?.method.inputs()?;
    let kinds: Vec<_> = inputs.iter().map(|input| input.quantity).collect();
    let [quantity, unit] = quantities(&kinds);
    let columns = vec![
        Column::words("of", inputs.iter().map(|input| input.of.as_str())),
        Column::words("key", inputs.iter().map(|input| input.key.as_str())),
        quantity,
        Column::named(
            "value",
            "SI",
            inputs.iter().map(|input| input.value.unwrap_or(f64::NAN)),
        ),
        unit,
    ];
    Ok(PyTable::of("inputs", columns))
}

/// Every result of a method by its name.
///
/// Parameters
/// ----------
/// source : path, str or mapping
///     A method document, as for `solve`.
///
/// Returns
/// -------
/// Table
///     `of` and `name` name the result: a part, a solute or "method", and what it is; `value` is in the SI `unit`.
///
/// Raises
/// ------
/// DocumentError
///     If the document cannot be read or describes no instrument.
/// FlowError, ConvergenceError, RangeError
///     As for `solve`.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> outputs = dp.method_outputs("tests/methods/packed.toml")
/// >>> [f"{row['value']:.1f} {row['unit']}" for row in outputs if row["name"] == "mean_density"]
/// ['810.9 kg/m3']
#[pyfunction]
pub fn method_outputs(py: Python<'_>, source: &Bound<'_, PyAny>) -> Outcome<PyTable> {
    let method = document::read(source)?.method;
    let told = enter(py, || Ok(outputs(&method.solve()?)))?;
    let kinds: Vec<_> = told.iter().map(|one| one.quantity).collect();
    let [quantity, unit] = quantities(&kinds);
    let columns = vec![
        owners(told.iter().map(|one| &one.output)),
        Column::words("name", told.iter().map(|one| one.output.name.as_str())),
        quantity,
        Column::named("value", "SI", told.iter().map(|one| one.value)),
        unit,
    ];
    Ok(PyTable::of("outputs", columns))
}

record! { @class
    [
        /// The values of an input that lead to a wanted result; immutable. Made by `find_input`.
        ///
        /// Examples
        /// --------
        /// >>> import densepath as dp
        /// >>> found = dp.find_input("tests/methods/packed.toml", input=("pump", "volume_flow_rate"),
        /// ...     output=("column", "pressure_drop"), target=20e5, bounds=(1e-8, 8e-8))
        /// >>> [f"{flow:.3g} m3/s" for flow in found.answers.input]
        /// ['3.66e-08 m3/s']
    ]
    [
        ///
        /// Examples
        /// --------
        /// >>> import densepath as dp
        /// >>> found = dp.find_input("tests/methods/packed.toml", input=("pump", "volume_flow_rate"),
        /// ...     output=("column", "pressure_drop"), target=20e5, bounds=(1e-8, 8e-8))
        /// >>> [f"{flow:.3g} m3/s" for flow in found.to_dict()["answers"]["input"]]
        /// ['3.66e-08 m3/s']
    ]
    PyFoundInput "FoundInput" {
        /// Table: All answers by rising input: `input`, and `output` that it leads to, in SI units.
        answers: PyTable [""],
        /// Table: Values of the input between which the target is passed without an answer, and why.
        unresolved: PyTable [""],
        /// Table: The values that were solved first: `input`, `output` (NaN where refused), `refusal` (empty where accepted).
        scan: PyTable [""],
    }
}

/// All values of an input of a method, between two bounds, for which a result has a wanted value.
///
/// Parameters
/// ----------
/// source : path, str or mapping
///     A method document, as for `solve`.
/// input : tuple of two str, keyword-only
///     Whose value may be changed and which: ("regulator", "pressure"); see `method_inputs`.
/// output : tuple of two str, keyword-only
///     Whose result is wanted and which: ("column", "mean_density"); see `method_outputs`. Of a part also any quantity of the fluid at
///     its outlet.
/// target : float, keyword-only
///     Its wanted value, in SI units.
/// bounds : tuple of two float, keyword-only
///     Lowest and highest value of the input to try, in SI units.
/// samples : int, keyword-only, optional
///     Number of values solved first to see where the target is passed; 16 if not given. Two answers that lie between two of them are
///     found only if the result turns there.
/// progress : bool or callable, keyword-only, optional
///     True for a bar of `tqdm`, where that is installed; or a function that is told the number solved and the number to solve, which
///     is None where it is not known.
/// time_limit : float, keyword-only, optional
///     Seconds after which the work is given up.
///
/// Returns
/// -------
/// FoundInput
///     All answers.
///
/// Raises
/// ------
/// DomainError
///     For bounds that do not rise, or fewer than two samples.
/// DocumentError
///     For an input or a result that the method does not have.
/// ConvergenceError
///     If no value within the bounds leads to the target: code 405 with `min` and `max`, the range that the result has there.
/// StoppedError
///     If the time is over before the work is done.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> found = dp.find_input("tests/methods/packed.toml", input=("regulator", "pressure"),
/// ...     output=("column", "mean_density"), target=800.0, bounds=(100e5, 250e5))
/// >>> [f"{value / 1e5:.1f} bar" for value in found.answers.input]
/// ['141.3 bar']
#[pyfunction]
#[pyo3(signature = (source, *, input, output, target, bounds, samples = 16, progress = None, time_limit = None))]
#[allow(
    clippy::needless_pass_by_value,
    clippy::too_many_arguments,
    reason = "pairs of Python, and its keywords"
)]
pub fn find_input(
    py: Python<'_>,
    source: &Bound<'_, PyAny>,
    input: Name,
    output: Name,
    target: f64,
    bounds: (f64, f64),
    samples: usize,
    progress: Option<&Bound<'_, PyAny>>,
    time_limit: Option<f64>,
) -> Outcome<PyFoundInput> {
    let (method, watch) = watched_method(source, time_limit)?;
    let question = question(&method, &input, output, target, bounds, samples)?;
    let listener = Listener::of(py, progress, None)?;
    let found = watched(py, &watch, &listener, || find(&method, &question))?;
    Ok(found_input(&found))
}

/// What is asked of a method by names and bounds.
fn question(
    method: &Method,
    (of, key): &Name,
    output: Name,
    target: f64,
    (low, high): (f64, f64),
    samples: usize,
) -> Outcome<Question> {
    Ok(Question {
        input: method.input(of, key)?,
        output: output_of(output),
        target,
        low,
        high,
        samples,
    })
}

fn found_input(found: &Found) -> PyFoundInput {
    let answers = |of: fn(&Answer) -> f64| found.answers.iter().map(of).collect::<Vec<_>>();
    let open = |of: fn(&Unresolved) -> f64| found.unresolved.iter().map(of).collect::<Vec<_>>();
    let scan = &found.scan;
    PyFoundInput {
        answers: PyTable::of(
            "answers",
            vec![
                Column::named("input", "SI", answers(|answer| answer.input)),
                Column::named("output", "SI", answers(|answer| answer.output)),
            ],
        ),
        unresolved: PyTable::of(
            "unresolved",
            vec![
                Column::named("low", "SI", open(|one| one.low)),
                Column::named("high", "SI", open(|one| one.high)),
                Column::words(
                    "why",
                    found.unresolved.iter().map(|one| one.why.to_string()),
                ),
            ],
        ),
        scan: PyTable::of(
            "scan",
            vec![
                Column::named("input", "SI", scan.iter().map(|(input, _)| *input)),
                Column::named(
                    "output",
                    "SI",
                    scan.iter()
                        .map(|(_, output)| output.clone().unwrap_or(f64::NAN)),
                ),
                Column::words(
                    "refusal",
                    scan.iter()
                        .map(|(_, output)| refusal(output.as_ref().err())),
                ),
            ],
        ),
    }
}

fn refusal(error: Option<&Error>) -> String {
    error.map_or(String::new(), Error::to_string)
}

/// The program of an input that holds a result of a method with programs at a value.
///
/// As the flow for a constant velocity while a pressure rises. At each point of the programs, and at those between at which a run is solved,
/// the question is asked as by `find_input`; of several answers the one nearest to that of the time before counts, at first to what the
/// document states. Between these times the input is straight.
///
/// Parameters
/// ----------
/// source : path, str or mapping
///     A method document with programs, as for `solve`.
/// input : tuple of two str, keyword-only
///     What is to be programmed: a part and its key.
/// output : tuple of two str, keyword-only
///     What is to be held; see `method_outputs`.
/// target : float, keyword-only
///     Its value in SI units.
/// bounds : tuple of two float, keyword-only
///     The lowest and the highest value of the input tried, in SI units.
/// samples : int, keyword-only, optional
///     Number of values solved first at each time; 4 if not given.
/// time_limit : float, keyword-only, optional
///     Seconds after which the work is given up.
///
/// Returns
/// -------
/// document : str
///     The method with the program of the input beside its own.
/// points : Table
///     `time` in s after the injection, the `input` and the `output` that it leads to in steady flow, in SI units.
///
/// Raises
/// ------
/// ArgumentError
///     For an input that is programmed already.
/// DocumentError
///     For a method without programs, or an input that is none of a part.
/// FlowError
///     Where no value within the bounds leads to the target, with the time.
/// StoppedError
///     If the time is over before the work is done.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> from pathlib import Path
/// >>> program = '[[program]]\npart = "regulator"\nkey = "pressure"\ntime = ["0 min", "5 min"]\nvalue = ["150 bar", "200 bar"]\n'
/// >>> text = Path("tests/methods/packed.toml").read_text(encoding="utf-8") + program
/// >>> document, points = dp.hold_output(text, input=("pump", "volume_flow_rate"), output=("column", "velocity"),
/// ...     target=4e-3, bounds=(1e-8, 1e-7))
/// >>> [f"{flow * 6e7:.3f} mL/min" for flow in points.input[[0, -1]]]
/// ['2.237 mL/min', '2.333 mL/min']
#[pyfunction]
#[pyo3(signature = (source, *, input, output, target, bounds, samples = 4, time_limit = None))]
#[allow(
    clippy::needless_pass_by_value,
    clippy::too_many_arguments,
    reason = "sequences of Python, and its keywords"
)]
pub fn hold_output(
    py: Python<'_>,
    source: &Bound<'_, PyAny>,
    input: Name,
    output: Name,
    target: f64,
    bounds: (f64, f64),
    samples: usize,
    time_limit: Option<f64>,
) -> Outcome<(String, PyTable)> {
    let (method, watch) = watched_method(source, time_limit)?;
    let question = question(&method, &input, output, target, bounds, samples)?;
    let listener = Listener::of(py, None, None)?;
    let held = watched(py, &watch, &listener, || hold(&method, &question))?;
    let answers = || held.answers.iter();
    let columns = vec![
        Column::numbers(Quantity::Time, held.times.iter().copied()),
        Column::named(
            "input",
            question.input.quantity.unit(),
            answers().map(|answer| answer.input),
        ),
        Column::named("output", "SI", answers().map(|answer| answer.output)),
    ];
    Ok((
        held.method.document().to_owned(),
        PyTable::of("points", columns),
    ))
}

/// The uncertain inputs of a dictionary: names and standard uncertainties.
fn uncertain_inputs(method: &Method, given: &Bound<'_, PyDict>) -> Outcome<Vec<UncertainInput>> {
    let read = |(name, u): (Bound<'_, PyAny>, Bound<'_, PyAny>)| {
        let Ok((of, key)) = name.extract::<Name>() else {
            let expected = "a dictionary with (of, key) as keys and standard uncertainties in SI units as values";
            return Err(argument(
                "uncertainties",
                expected,
                name.repr()?.to_string(),
            ));
        };
        Ok(UncertainInput {
            input: method.input(&of, &key)?,
            standard_uncertainty: u.extract()?,
        })
    };
    given.iter().map(read).collect()
}

record! {
    /// The uncertainty of a result of a method; immutable. Made by `uncertainty_budget`.
    PyUncertaintyBudget "UncertaintyBudget"
    from r#"doubts = {("regulator", "pressure"): 0.5e5, ("preheater", "wall_temperature"): 0.3}"#
        r#"(budget,) = dp.uncertainty_budget("tests/methods/packed.toml", doubts, [("column", "mean_density")])"#
        shows budget.standard_uncertainty as ".1f" = "1.9"
    {
        /// str: Whose result it is.
        of: String [""],
        /// str: What it is.
        name: String [""],
        /// str: Its SI unit.
        unit: String [""],
        /// float: The result at the best estimates, in SI units.
        value: f64 [""],
        /// float: Its standard uncertainty, in SI units.
        standard_uncertainty: f64 [""],
        /// Table: What each input adds, the largest first: `contribution` in the unit of the result, `share` of its variance,
        /// `curvature`: departure from a straight line, which must be far below 1.
        contributions: PyTable [""],
    }
}

/// The uncertainty of results of a method by the law of propagation, with what each input adds.
///
/// Only doubts of inputs are propagated. Those of the models are inputs of the document too, and `model_uncertainties` states them:
/// `viscosity_factor`, `density_factor` and the `diffusion_factor` of a solute, 1 with the uncertainty of the model.
///
/// Parameters
/// ----------
/// source : path, str or mapping
///     A method document, as for `solve`; its values are the best estimates.
/// uncertainties : dict
///     Standard uncertainties of independent inputs in SI units by (of, key), as {("regulator", "pressure"): 0.5e5}. Half a tolerance
///     that says "never outside" counts as a/sqrt(3).
/// outputs : sequence of tuple of two str
///     The results, as [("column", "hold_up_time")]; see `method_outputs`.
///
/// Returns
/// -------
/// tuple of UncertaintyBudget
///     One of each result.
///
/// Raises
/// ------
/// DomainError
///     For an uncertainty not above zero.
/// DocumentError
///     For an input or a result that the method does not have, or an input that the document does not state.
///
/// Notes
/// -----
/// JCGM 100:2008 (GUM), eq. 10 with the contributions of 5.1.3, note 2: the method is solved at input - u and input + u.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> (budget,) = dp.uncertainty_budget("tests/methods/packed.toml",
/// ...     {("regulator", "pressure"): 0.5e5, ("preheater", "wall_temperature"): 0.3},
/// ...     [("invented aromatic", "retention_time")])
/// >>> budget.contributions.of[0]
/// 'preheater'
#[pyfunction]
#[allow(clippy::needless_pass_by_value, reason = "sequences of Python")]
pub fn uncertainty_budget(
    py: Python<'_>,
    source: &Bound<'_, PyAny>,
    uncertainties: &Bound<'_, PyDict>,
    outputs: Vec<Name>,
) -> Outcome<Several<PyUncertaintyBudget>> {
    let method = document::read(source)?.method;
    let inputs = uncertain_inputs(&method, uncertainties)?;
    let wanted: Vec<_> = outputs.into_iter().map(output_of).collect();
    let found = enter(py, || budget(&method, &inputs, &wanted))?;
    Ok(Several(found.iter().map(budget_of).collect()))
}

fn budget_of(found: &Budget) -> PyUncertaintyBudget {
    let rows = &found.contributions;
    let numbers = |of: fn(&Contribution) -> f64| rows.iter().map(of).collect::<Vec<_>>();
    let kinds: Vec<_> = rows.iter().map(|row| row.input.quantity).collect();
    let [_, unit] = quantities(&kinds);
    let Told {
        output,
        quantity,
        value,
    } = found.estimate.clone();
    PyUncertaintyBudget {
        of: output.of,
        name: output.name,
        unit: quantity.unit().to_owned(),
        value,
        standard_uncertainty: found.standard_uncertainty,
        contributions: PyTable::of(
            "contributions",
            vec![
                Column::words("of", rows.iter().map(|row| row.input.of.as_str())),
                Column::words("key", rows.iter().map(|row| row.input.key.as_str())),
                Column::named(
                    "standard_uncertainty",
                    "SI",
                    numbers(|row| row.standard_uncertainty),
                ),
                unit,
                Column::named("sensitivity", "SI", numbers(|row| row.sensitivity)),
                Column::named(
                    "contribution",
                    quantity.unit(),
                    numbers(|row| row.contribution),
                ),
                Column::named("share", "1", numbers(|row| row.share)),
                Column::named("curvature", "1", numbers(|row| row.curvature)),
            ],
        ),
    }
}

/// What the models of a method leave open, ready for `uncertainty_budget` and `draw_trials`.
///
/// The uncertainties that the models of density, viscosity and diffusion state at the inlet of the first column, or where the path has
/// none at its first station. A factor that the document states is a measured one, and its doubt is for those who measured it: it is left
/// out. Of plate heights and retention no model states one.
///
/// Parameters
/// ----------
/// source : path, str or mapping
///     A method document, as for `solve`.
///
/// Returns
/// -------
/// document : str
///     The same method, which states a factor of 1 for each of its models; its results are those without.
/// uncertainties : dict
///     Relative standard uncertainties of the factors by (of, key).
/// unknown : dict of str to str
///     Properties whose uncertainty is not known there, and why.
///
/// Raises
/// ------
/// DocumentError
///     If the document cannot be read or describes no instrument.
/// FlowError, ConvergenceError, RangeError
///     As for `solve`.
///
/// Notes
/// -----
/// One factor holds for all states of a method, which errors of one model at neighbouring states nearly are. The density moves by a
/// constant shift of the specific volume, as in `Fluid.with_density_factor`.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> document, models, unknown = dp.model_uncertainties("tests/methods/packed.toml")
/// >>> for (of, key), u in models.items():
/// ...     print(of, key, f"{100 * u:.3g} %")
/// document density_factor 0.05 %
/// document viscosity_factor 2 %
/// invented aromatic diffusion_factor 25 %
/// >>> (budget,) = dp.uncertainty_budget(document, {**models, ("regulator", "pressure"): 0.5e5},
/// ...     [("invented aromatic", "apparent_plate_number")])
/// >>> budget.contributions.key[0], unknown
/// ('diffusion_factor', {})
#[pyfunction]
pub fn model_uncertainties<'py>(
    py: Python<'py>,
    source: &Bound<'py, PyAny>,
) -> Outcome<(String, Bound<'py, PyDict>, Bound<'py, PyDict>)> {
    let method = document::read(source)?.method;
    let found = enter(py, || doubts_of_models(&method))?;
    let (known, unknown) = (PyDict::new(py), PyDict::new(py));
    for one in &found.inputs {
        let name = (one.input.of.as_str(), one.input.key.as_str());
        known.set_item(name, one.standard_uncertainty)?;
    }
    for (quantity, why) in &found.unknown {
        unknown.set_item(quantity.name(), why.to_string())?;
    }
    Ok((found.method.document().to_owned(), known, unknown))
}

record! { @class
    [
        /// Results of many methods whose inputs were drawn at random; immutable. Made by `draw_trials`.
        ///
        /// Examples
        /// --------
        /// >>> import densepath as dp
        /// >>> trials = dp.draw_trials("tests/methods/packed.toml", {("regulator", "pressure"): 0.5e5},
        /// ...     [("column", "mean_density")], count=50, seed=1)
        /// >>> print(f"{trials.summary.mean[0]:.1f} +- {trials.summary.standard_deviation[0]:.1f} kg/m3")
        /// 810.9 +- 0.6 kg/m3
    ]
    [
        ///
        /// Examples
        /// --------
        /// >>> import densepath as dp
        /// >>> trials = dp.draw_trials("tests/methods/packed.toml", {("regulator", "pressure"): 0.5e5},
        /// ...     [("column", "mean_density")], count=50, seed=1)
        /// >>> told = trials.to_dict()
        /// >>> len(told["draws"]["column: mean_density"]), told["summary"]["unit"], told["refusals"]["why"]
        /// (50, ['kg/m3'], [])
    ]
    PyTrials "Trials" {
        /// Table: Mean and standard deviation of each result, and the interval that holds 95 % of the draws, in SI units.
        summary: PyTable [""],
        /// Table: The results of each draw, in SI units, NaN where the method refused it; the columns are named "of: name".
        draws: PyTable [""],
        /// Table: The number of each refused draw, and why.
        refusals: PyTable [""],
    }
}

/// Results of a method whose inputs are drawn from normal distributions, independent of each other.
///
/// Parameters
/// ----------
/// source : path, str or mapping
///     A method document, as for `solve`; its values are the means.
/// uncertainties : dict
///     Standard deviations of the inputs in SI units by (of, key), as for `uncertainty_budget`.
/// outputs : sequence of tuple of two str
///     The results, as for `uncertainty_budget`.
/// count : int, keyword-only, optional
///     Number of draws; 1000 if not given.
/// seed : int, keyword-only, optional
///     Seed; 0 if not given. A draw depends on the seed and on its number alone.
/// progress : bool or callable, keyword-only, optional
///     True for a bar of `tqdm`, where that is installed; or a function that is told the number solved and the number to solve, which
///     is None where it is not known.
/// time_limit : float, keyword-only, optional
///     Seconds after which the work is given up.
///
/// Returns
/// -------
/// Trials
///     The draws with their mean, standard deviation and interval.
///
/// Raises
/// ------
/// DomainError
///     For an uncertainty not above zero.
/// DocumentError
///     For an input or a result that the method does not have, or an input that the document does not state.
/// StoppedError
///     If the time is over before the work is done.
///
/// Notes
/// -----
/// JCGM 101:2008. All cores are used, and the interpreter is free for other threads. Only doubts of inputs are drawn, as in
/// `uncertainty_budget`.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> trials = dp.draw_trials("tests/methods/packed.toml", {("regulator", "pressure"): 0.5e5},
/// ...     [("column", "mean_density")], count=20, seed=1)
/// >>> trials.summary.of, len(trials.draws)
/// (('column',), 20)
#[pyfunction]
#[pyo3(signature = (source, uncertainties, outputs, *, count = 1000, seed = 0, progress = None, time_limit = None))]
#[allow(
    clippy::needless_pass_by_value,
    clippy::too_many_arguments,
    reason = "sequences of Python, and its keywords"
)]
pub fn draw_trials(
    py: Python<'_>,
    source: &Bound<'_, PyAny>,
    uncertainties: &Bound<'_, PyDict>,
    outputs: Vec<Name>,
    count: usize,
    seed: u64,
    progress: Option<&Bound<'_, PyAny>>,
    time_limit: Option<f64>,
) -> Outcome<PyTrials> {
    let (method, watch) = watched_method(source, time_limit)?;
    let inputs = uncertain_inputs(&method, uncertainties)?;
    let wanted: Vec<_> = outputs.into_iter().map(output_of).collect();
    let listener = Listener::of(py, progress, Some(count))?;
    let draw = || trials(&method, &inputs, &wanted, count, seed);
    let found = watched(py, &watch, &listener, draw)?;
    trials_of(&found)
}

fn trials_of(found: &Trials) -> Outcome<PyTrials> {
    const SHARE: f64 = 0.95;
    let places = 0..found.outputs.len();
    let intervals = places
        .clone()
        .map(|place| Ok(found.coverage_interval(place, SHARE)?))
        .collect::<Outcome<Vec<_>>>()?;
    let [_, unit] = quantities(&found.quantities);
    let refused = &found.refusals;
    let named = found
        .outputs
        .iter()
        .zip(&found.quantities)
        .zip(&found.values);
    Ok(PyTrials {
        summary: PyTable::of(
            "summary",
            vec![
                owners(found.outputs.iter()),
                Column::words(
                    "name",
                    found.outputs.iter().map(|output| output.name.as_str()),
                ),
                Column::named("mean", "SI", places.clone().map(|place| found.mean(place))),
                Column::named(
                    "standard_deviation",
                    "SI",
                    places.map(|place| found.standard_deviation(place)),
                ),
                Column::named("low", "SI", intervals.iter().map(|(low, _)| *low)),
                Column::named("high", "SI", intervals.iter().map(|(_, high)| *high)),
                unit,
            ],
        ),
        draws: PyTable::of(
            "draws",
            named
                .map(|((output, quantity), values)| {
                    Column::named(&heading(output), quantity.unit(), values.iter().copied())
                })
                .collect(),
        ),
        refusals: PyTable::of(
            "refusals",
            vec![
                Column::named(
                    "draw",
                    "1",
                    refused.iter().map(|(number, _)| *number as f64),
                ),
                Column::words("why", refused.iter().map(|(_, error)| error.to_string())),
            ],
        ),
    })
}

/// All results that two methods tell differently, those that only one of them tells first, then the most different.
///
/// Parameters
/// ----------
/// first, second : path, str or mapping
///     Method documents, as for `solve`. Results are matched by the names of parts and solutes.
///
/// Returns
/// -------
/// Table
///     `of` and `name` of each result, its value in both in the SI `unit` (NaN where one does not tell it), and the difference
///     `relative` to the larger.
///
/// Raises
/// ------
/// DocumentError
///     If a document cannot be read or describes no instrument.
/// FlowError, ConvergenceError, RangeError
///     As for `solve`.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> len(dp.compare_methods("tests/methods/packed.toml", "tests/methods/packed.toml"))
/// 0
#[pyfunction]
pub fn compare_methods(
    py: Python<'_>,
    first: &Bound<'_, PyAny>,
    second: &Bound<'_, PyAny>,
) -> Outcome<PyTable> {
    let (first, second) = (
        document::read(first)?.method,
        document::read(second)?.method,
    );
    let rows = enter(py, || Ok(compare(&first.solve()?, &second.solve()?)))?;
    let kinds: Vec<_> = rows.iter().map(|row| row.quantity).collect();
    let [quantity, unit] = quantities(&kinds);
    let value = |of: fn(&Difference) -> Option<f64>| {
        rows.iter()
            .map(|row| of(row).unwrap_or(f64::NAN))
            .collect::<Vec<_>>()
    };
    let columns = vec![
        owners(rows.iter().map(|row| &row.output)),
        Column::words("name", rows.iter().map(|row| row.output.name.as_str())),
        quantity,
        Column::named("first", "SI", value(|row| row.first)),
        Column::named("second", "SI", value(|row| row.second)),
        unit,
        Column::named("relative", "1", rows.iter().map(Difference::relative)),
    ];
    Ok(PyTable::of("differences", columns))
}

record! {
    /// Results of a method over a plane of two inputs; immutable. Made by `map_method`.
    PyMethodMap "MethodMap"
    from r#"plane = dp.map_method("tests/methods/packed.toml", across=(("regulator", "pressure"), [120e5, 150e5]),
...     down=(("preheater", "wall_temperature"), [310.0, 320.0]), outputs=[("column", "hold_up_time")])"#
        shows plane.across_count = "2"
    {
        /// int: How many values the input across takes.
        across_count: usize [""],
        /// int: How many values the input down takes.
        down_count: usize [""],
        /// Table: One row a point, `across` changing first: both inputs and the results, in SI units, NaN where the point is refused;
        /// the results are named "of: name".
        points: PyTable [""],
        /// Table: Name, quantity and SI unit of each column of `points`.
        columns: PyTable [""],
        /// Table: The refused points, and why.
        refusals: PyTable [""],
    }
}

#[pymethods]
impl PyMethodMap {
    /// The map as an `xarray.Dataset`: the two inputs are its dimensions, with their values as coordinates, and each result a variable,
    /// with the SI unit of each in `attrs["units"]`.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> plane = dp.map_method("tests/methods/packed.toml", across=(("regulator", "pressure"), [120e5, 150e5]),
    /// ...     down=(("preheater", "wall_temperature"), [310.0, 320.0]), outputs=[("column", "hold_up_time")])
    /// >>> times = plane.to_xarray()["column: hold_up_time"]
    /// >>> times.dims, times.attrs["units"]
    /// (('preheater: wall_temperature', 'regulator: pressure'), 's')
    fn to_xarray<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py()
            .import("densepath._present")?
            .call_method1("map_to_xarray", (slf,))
    }
}

/// Results of a method over a plane of two inputs.
///
/// Parameters
/// ----------
/// source : path, str or mapping
///     A method document, as for `solve`.
/// across, down : tuple of a tuple of two str and a sequence of float, keyword-only
///     The inputs with their values in SI units: (("regulator", "pressure"), [100e5, 150e5]); see `method_inputs`.
/// outputs : sequence of tuple of two str, keyword-only
///     The results, as [("method", "single_phase_margin")]; see `method_outputs`.
/// progress : bool or callable, keyword-only, optional
///     True for a bar of `tqdm`, where that is installed; or a function that is told the number solved and the number to solve, which
///     is None where it is not known.
/// time_limit : float, keyword-only, optional
///     Seconds after which the work is given up.
///
/// Returns
/// -------
/// MethodMap
///     The results at each point, and why points are refused.
///
/// Raises
/// ------
/// DocumentError
///     For an input or a result that the method does not have.
/// StoppedError
///     If the time is over before the work is done.
///
/// Notes
/// -----
/// All cores are used, and the interpreter is free for other threads. `densepath.plot.method_map` draws it.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> plane = dp.map_method("tests/methods/packed.toml", across=(("regulator", "pressure"), [120e5, 150e5]),
/// ...     down=(("preheater", "wall_temperature"), [310.0, 320.0]), outputs=[("column", "hold_up_time")])
/// >>> plane.points["column: hold_up_time"].shape
/// (4,)
#[pyfunction]
#[pyo3(signature = (source, *, across, down, outputs, progress = None, time_limit = None))]
#[allow(clippy::needless_pass_by_value, reason = "sequences of Python")]
pub fn map_method(
    py: Python<'_>,
    source: &Bound<'_, PyAny>,
    across: (Name, Vec<f64>),
    down: (Name, Vec<f64>),
    outputs: Vec<Name>,
    progress: Option<&Bound<'_, PyAny>>,
    time_limit: Option<f64>,
) -> Outcome<PyMethodMap> {
    let (method, watch) = watched_method(source, time_limit)?;
    let axis = |((of, key), values): (Name, Vec<f64>)| {
        Ok::<_, Error>(Axis {
            input: method.input(&of, &key)?,
            values,
        })
    };
    let (across, down) = (axis(across)?, axis(down)?);
    let wanted: Vec<_> = outputs.into_iter().map(output_of).collect();
    let listener = Listener::of(py, progress, Some(across.values.len() * down.values.len()))?;
    let found = watched(py, &watch, &listener, || map(&method, across, down, wanted))?;
    Ok(map_of(&found))
}

fn map_of(found: &Map) -> PyMethodMap {
    let (across, down) = (&found.across, &found.down);
    let place = |axis: &Axis| format!("{}: {}", axis.input.of, axis.input.key);
    let rows = || {
        let columns = |row| across.values.iter().map(move |column| (*column, row));
        down.values.iter().flat_map(move |row| columns(*row))
    };
    let mut columns = vec![
        Column::named(
            &place(across),
            across.input.quantity.unit(),
            rows().map(|(x, _)| x),
        ),
        Column::named(
            &place(down),
            down.input.quantity.unit(),
            rows().map(|(_, y)| y),
        ),
    ];
    let results = found.outputs.iter().zip(&found.values).enumerate();
    columns.extend(results.map(|(place, (output, values))| {
        let unit = found
            .quantities
            .get(place)
            .map_or("", |quantity| quantity.unit());
        Column::named(&heading(output), unit, values.iter().copied())
    }));
    let names = [&across.input, &down.input]
        .map(|input| format!("{}: {}", input.of, input.key))
        .into_iter()
        .chain(found.outputs.iter().map(heading));
    let kinds: Vec<_> = [across.input.quantity, down.input.quantity]
        .into_iter()
        .chain(found.quantities.iter().copied())
        .collect();
    let [quantity, unit] = quantities(&kinds);
    let refused = &found.refusals;
    PyMethodMap {
        across_count: across.values.len(),
        down_count: down.values.len(),
        points: PyTable::of("points", columns),
        columns: PyTable::of(
            "columns",
            vec![
                Column::words("name", names.take(kinds.len())),
                quantity,
                unit,
            ],
        ),
        refusals: PyTable::of(
            "refusals",
            vec![
                Column::named(
                    &place(across),
                    across.input.quantity.unit(),
                    refused.iter().map(|(column, _, _)| {
                        across.values.get(*column).copied().unwrap_or(f64::NAN)
                    }),
                ),
                Column::named(
                    &place(down),
                    down.input.quantity.unit(),
                    refused
                        .iter()
                        .map(|(_, row, _)| down.values.get(*row).copied().unwrap_or(f64::NAN)),
                ),
                Column::words("why", refused.iter().map(|(_, _, error)| error.to_string())),
            ],
        ),
    }
}
