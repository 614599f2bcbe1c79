//! Bands from Python: laws of retention and their fit, travel, peaks, chromatograms, transfer, the choice of a detector.

use std::str::FromStr;

use densepath::flow::dispersion;
use densepath::flow::injection::{SampleEntry, dilution, flooding};
use densepath::flow::peak::{Peak, Tail};
use densepath::flow::recording::Sampling;
use densepath::flow::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
use densepath::flow::retention_fit::{self, RetentionFit, Run};
use densepath::flow::separation::{PeakMoments, resolution};
use densepath::flow::travel::{Band, SoluteMotion, travel};
use densepath::hardware::{
    CutOff, DetectorQuestion, RankedDetector, Stream, Verdict, cut_offs, plug_phases,
    rank_detectors as ranked, refractive_index_noise, transfer,
};
use densepath::path::Chromatogram;
use densepath::{Error, Quantity};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::error::{Fault, Outcome, argument, enter};
use crate::fluid::PyFluid;
use crate::hardware::PyPackedColumn;
use crate::pickle::{Reduced, reduced};
use crate::record::{Notices, nested, record};
use crate::state::PyState;
use crate::table::{Column, PyTable};

/// Smallest and largest value.
type Sides = (f64, f64);

fn span(sides: Option<Sides>) -> Span {
    sides.map_or(Span::UNLIMITED, |(min, max)| Span { min, max })
}

fn sides(span: Span) -> Sides {
    (span.min, span.max)
}

fn word<T: FromStr>(name: &str, expected: &'static str, text: &str) -> Outcome<T> {
    text.parse()
        .map_err(|_| argument(name, expected, format!("\"{text}\"")))
}

fn term(name: &str) -> Outcome<Term> {
    let expected = "\"constant\", \"density\", \"density_squared\", \"reciprocal_temperature\", \"modifier\", \"modifier_squared\", \
                    \"log_modifier\", \"gradient_slope\" or \"gradient_curvature\"";
    word("terms", expected, name)
}

fn basis(name: &str) -> Outcome<ModifierBasis> {
    word(
        "modifier_basis",
        "\"amount_fraction\" or \"mass_fraction\"",
        name,
    )
}

/// A law of the retention factor k in named terms, with the box of conditions in which it holds; immutable.
///
/// ``ln k = a + b rho + c rho^2 + e/T + s x + q x^2 - n ln x + 2 ln(1 + S2 x) - S1 x/(1 + S2 x)``, any subset of the terms.
///
/// Parameters
/// ----------
/// coefficients : dict of str to float
///     Coefficients in SI by the names of their terms: ``constant`` a, ``density`` b, ``density_squared`` c,
///     ``reciprocal_temperature`` e, ``modifier`` s, ``modifier_squared`` q, ``log_modifier`` n, ``gradient_slope`` S1,
///     ``gradient_curvature`` S2.
/// modifier_basis : {"amount_fraction", "mass_fraction"}
///     What x is.
/// temperature, density, modifier_fraction : tuple of two floats, optional
///     Smallest and largest value of the fit, in K, kg/m3 and 1; without limit if not given.
///
/// Raises
/// ------
/// DomainError
///     If a coefficient is not finite, or the sides of the box are in the wrong order.
///
/// Notes
/// -----
/// Source: see the documentation of the Rust module ``densepath::flow::retention``; all from memory.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> law = dp.RetentionLaw({"constant": 6.0, "density": -7e-3}, density=(300.0, 1000.0))
/// >>> round(law.retention_factor(313.15, 800.0), 6)
/// 1.491825
#[pyclass(
    frozen,
    eq,
    from_py_object,
    module = "densepath",
    name = "RetentionLaw"
)]
#[derive(Debug, Clone, PartialEq)]
pub struct PyRetentionLaw {
    law: RetentionLaw,
}

fn conditions(temperature: f64, density: f64, modifier_fraction: f64) -> Conditions {
    Conditions {
        temperature,
        density,
        modifier_fraction,
    }
}

#[pymethods]
impl PyRetentionLaw {
    #[new]
    #[pyo3(signature = (coefficients, modifier_basis = "amount_fraction", temperature = None, density = None, modifier_fraction = None))]
    fn new(
        coefficients: &Bound<'_, PyDict>,
        modifier_basis: &str,
        temperature: Option<Sides>,
        density: Option<Sides>,
        modifier_fraction: Option<Sides>,
    ) -> Outcome<Self> {
        let mut terms = Vec::new();
        for (name, value) in coefficients.iter() {
            let (name, value): (String, f64) = (name.extract()?, value.extract()?);
            terms.push((term(&name)?, value));
        }
        let fitted = FittedBox {
            temperature: span(temperature),
            density: span(density),
            modifier_fraction: span(modifier_fraction),
        };
        let law = RetentionLaw::new(&terms, basis(modifier_basis)?, fitted)?;
        Ok(Self { law })
    }

    /// dict of str to float: Coefficients in SI, without those that are zero.
    #[getter]
    fn coefficients<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        for term in Term::ALL {
            let coefficient = self.law.coefficient(*term);
            if coefficient != 0.0 {
                dict.set_item(term.name(), coefficient)?;
            }
        }
        Ok(dict)
    }

    /// str: What the modifier's fraction is.
    #[getter]
    fn modifier_basis(&self) -> &'static str {
        self.law.basis().name()
    }

    /// tuple of two floats: Smallest and largest temperature of the fit in K.
    #[getter]
    fn temperature(&self) -> Sides {
        sides(self.law.fitted().temperature)
    }

    /// tuple of two floats: Smallest and largest density of the fit in kg/m3.
    #[getter]
    fn density(&self) -> Sides {
        sides(self.law.fitted().density)
    }

    /// tuple of two floats: Smallest and largest fraction of the modifier of the fit.
    #[getter]
    fn modifier_fraction(&self) -> Sides {
        sides(self.law.fitted().modifier_fraction)
    }

    /// Retention factor k at a place.
    ///
    /// Parameters
    /// ----------
    /// temperature : float
    ///     Temperature T in K.
    /// density : float
    ///     Density rho in kg/m3.
    /// modifier_fraction : float
    ///     Fraction x of the modifier.
    ///
    /// Returns
    /// -------
    /// float
    ///     The retention factor.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Outside the box of the fit.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> law = dp.RetentionLaw({"constant": 6.0, "density": -7e-3}, density=(300.0, 1000.0))
    /// >>> [round(law.retention_factor(313.15, density), 3) for density in (700.0, 800.0, 900.0)]
    /// [3.004, 1.492, 0.741]
    #[pyo3(signature = (temperature, density, modifier_fraction = 0.0))]
    fn retention_factor(
        &self,
        temperature: f64,
        density: f64,
        modifier_fraction: f64,
    ) -> Outcome<f64> {
        Ok(self
            .law
            .retention_factor(&conditions(temperature, density, modifier_fraction))?)
    }

    /// float: Molar enthalpy in J/mol of the transfer to the stationary phase at constant density, by van't Hoff's law.
    #[getter]
    fn transfer_enthalpy_at_density(&self) -> f64 {
        self.law.transfer_enthalpy_at_density()
    }

    /// Molar enthalpy in J/mol of the apparent transfer at constant pressure, which counts the thinning of the mobile phase.
    ///
    /// Parameters
    /// ----------
    /// temperature, density : float
    ///     Temperature T in K and density rho in kg/m3.
    /// isobaric_expansivity : float
    ///     Isobaric expansivity of the mobile phase in 1/K.
    /// modifier_fraction : float
    ///     Fraction x of the modifier.
    ///
    /// Returns
    /// -------
    /// float
    ///     The enthalpy in J/mol.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> law = dp.RetentionLaw({"constant": 0.5, "density": -7e-3, "reciprocal_temperature": 2000.0})
    /// >>> state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
    /// >>> apparent = law.transfer_enthalpy_at_pressure(313.15, state.density, state.isobaric_expansivity)
    /// >>> print(f"{apparent / 1e3:.1f} kJ/mol, at constant density {law.transfer_enthalpy_at_density / 1e3:.1f} kJ/mol")
    /// 25.0 kJ/mol, at constant density -16.6 kJ/mol
    #[pyo3(signature = (temperature, density, isobaric_expansivity, modifier_fraction = 0.0))]
    fn transfer_enthalpy_at_pressure(
        &self,
        temperature: f64,
        density: f64,
        isobaric_expansivity: f64,
        modifier_fraction: f64,
    ) -> Outcome<f64> {
        let at = conditions(temperature, density, modifier_fraction);
        Ok(self
            .law
            .transfer_enthalpy_at_pressure(&at, isobaric_expansivity)?)
    }

    /// The law as plain values.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> told = dp.RetentionLaw({"constant": 6.0, "density": -7e-3}, density=(300.0, 1000.0)).to_dict()
    /// >>> told["coefficients"], told["density"]
    /// ({'constant': 6.0, 'density': -0.007}, (300.0, 1000.0))
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("coefficients", self.coefficients(py)?)?;
        dict.set_item("modifier_basis", self.modifier_basis())?;
        dict.set_item("temperature", self.temperature())?;
        dict.set_item("density", self.density())?;
        dict.set_item("modifier_fraction", self.modifier_fraction())?;
        Ok(dict)
    }

    fn __repr__(&self) -> String {
        let terms = Term::ALL
            .iter()
            .filter(|term| self.law.coefficient(**term) != 0.0);
        let told: Vec<_> = terms
            .map(|term| format!("{} = {}", term.name(), self.law.coefficient(*term)))
            .collect();
        format!("RetentionLaw({})", told.join(", "))
    }

    #[allow(clippy::type_complexity, reason = "the arguments of the constructor")]
    fn __reduce__<'py>(
        &self,
        py: Python<'py>,
    ) -> Reduced<'py, (Bound<'py, PyDict>, &'static str, Sides, Sides, Sides)> {
        let arguments = (
            self.coefficients(py)?,
            self.modifier_basis(),
            self.temperature(),
            self.density(),
            self.modifier_fraction(),
        );
        reduced(py, "RetentionLaw", arguments)
    }
}

nested!(PyRetentionLaw);

record! {
    /// A law of retention fitted to measured runs; immutable. Made by `fit_retention`.
    PyRetentionFit "RetentionFit"
    from "density = [650.0, 750.0, 850.0, 950.0]"
        r#"fit = dp.fit_retention([4.1, 2.0, 1.01, 0.5], [313.15] * 4, density, ["constant", "density"])"#
        shows fit.residual_standard_deviation as ".3f" = "0.010"
    {
        /// RetentionLaw: The law, in the box of the runs.
        law: PyRetentionLaw [""],
        /// Table: Coefficient and standard error of each term.
        coefficients: PyTable [""],
        /// Table: Covariance of the coefficients, one row and one column a term.
        covariance: PyTable [""],
        /// Table: Each run with its residual of ln k, measured less fitted, and its leverage.
        runs: PyTable [""],
        /// float: Standard deviation of the residuals of ln k, for a run of relative uncertainty 1 as weight.
        residual_standard_deviation: f64 ["1"],
        /// float: Runs less terms.
        degrees_of_freedom: f64 ["1"],
    }
}

impl PyRetentionFit {
    fn of(fit: &RetentionFit, runs: &[Run]) -> Self {
        let names = || fit.terms.iter().map(|term| term.name());
        let mut covariance = vec![Column::words("term", names())];
        for (term, row) in fit.terms.iter().zip(&fit.covariance) {
            covariance.push(Column::named(term.name(), "", row.iter().copied()));
        }
        let of = |value: fn(&Run) -> f64| runs.iter().map(value).collect::<Vec<f64>>();
        Self {
            law: PyRetentionLaw { law: fit.law },
            coefficients: PyTable::of(
                "coefficients",
                vec![
                    Column::words("term", names()),
                    Column::named("coefficient", "SI", fit.coefficients.iter().copied()),
                    Column::named("standard_error", "SI", fit.standard_errors.iter().copied()),
                    Column::words("unit", fit.terms.iter().map(|term| term.unit())),
                ],
            ),
            covariance: PyTable::of("covariance", covariance),
            runs: PyTable::of(
                "runs",
                vec![
                    Column::numbers(Quantity::RetentionFactor, of(|run| run.retention_factor)),
                    Column::numbers(Quantity::Temperature, of(|run| run.conditions.temperature)),
                    Column::numbers(Quantity::Density, of(|run| run.conditions.density)),
                    Column::named(
                        "modifier_fraction",
                        "1",
                        of(|run| run.conditions.modifier_fraction),
                    ),
                    Column::named("residual", "1", fit.residuals.iter().copied()),
                    Column::named("leverage", "1", fit.leverages.iter().copied()),
                ],
            ),
            residual_standard_deviation: fit.residual_standard_deviation,
            degrees_of_freedom: fit.degrees_of_freedom as f64,
        }
    }
}

/// Fits a law of retention to a table of measured runs of one solute, by least squares of ln k.
///
/// Parameters
/// ----------
/// retention_factor, temperature, density : sequence of float
///     Retention factor k of each run, and the temperature in K and the density in kg/m3 it was measured at (means over the
///     column).
/// terms : sequence of str
///     Names of the terms, as in `RetentionLaw`; ``gradient_slope`` and ``gradient_curvature`` together ask for the form of Neue
///     and Kuss.
/// modifier_fraction : sequence of float, keyword-only, optional
///     Fraction x of the modifier of each run; 0 if not given.
/// modifier_basis : {"amount_fraction", "mass_fraction"}, keyword-only
///     What x is.
/// relative_uncertainty : sequence of float, keyword-only, optional
///     Relative standard uncertainty of k of each run, as a weight; 1 if not given.
///
/// Returns
/// -------
/// RetentionFit
///     The law with covariance, standard errors, residuals and leverages.
///
/// Raises
/// ------
/// DomainError
///     If a value is impossible.
/// ConvergenceError
///     If the runs do not tell the terms apart; the message names the term.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> fit = dp.fit_retention([4.1, 2.0, 1.01], [313.15] * 3, [650.0, 750.0, 850.0], ["constant", "density"])
/// >>> [f"{value:.3g}" for value in fit.coefficients.coefficient]
/// ['5.96', '-0.00701']
#[pyfunction]
#[pyo3(signature = (retention_factor, temperature, density, terms, *, modifier_fraction = None, modifier_basis = "amount_fraction", relative_uncertainty = None))]
#[allow(
    clippy::needless_pass_by_value,
    clippy::too_many_arguments,
    reason = "sequences of Python by keyword"
)]
pub fn fit_retention(
    py: Python<'_>,
    retention_factor: Vec<f64>,
    temperature: Vec<f64>,
    density: Vec<f64>,
    terms: Vec<String>,
    modifier_fraction: Option<Vec<f64>>,
    modifier_basis: &str,
    relative_uncertainty: Option<Vec<f64>>,
) -> Outcome<PyRetentionFit> {
    let count = retention_factor.len();
    let fractions = modifier_fraction.unwrap_or_else(|| vec![0.0; count]);
    let weights = relative_uncertainty.unwrap_or_else(|| vec![1.0; count]);
    if [&temperature, &density, &fractions, &weights]
        .iter()
        .any(|column| column.len() != count)
    {
        return Err(argument(
            "retention_factor and its conditions",
            "of one length",
            format!("{count} and others"),
        ));
    }
    let places = temperature.into_iter().zip(density).zip(fractions);
    let runs: Vec<Run> = retention_factor
        .into_iter()
        .zip(places)
        .zip(weights)
        .map(
            |((retention_factor, ((t, rho), x)), relative_uncertainty)| Run {
                retention_factor,
                conditions: conditions(t, rho, x),
                relative_uncertainty,
            },
        )
        .collect();
    let terms = terms
        .iter()
        .map(|name| term(name))
        .collect::<Outcome<Vec<_>>>()?;
    let basis = basis(modifier_basis)?;
    let fit = enter(py, || retention_fit::fit(&runs, &terms, basis))?;
    Ok(PyRetentionFit::of(&fit, &runs))
}

record! {
    /// The line of van't Hoff through runs at one density or at one pressure; immutable. Made by `van_t_hoff`.
    PyVanTHoff "VanTHoff"
    from "line = dp.van_t_hoff([308.15, 318.15, 328.15, 338.15], [3.10, 2.55, 2.12, 1.80])"
        shows line.curvature_over_error as ".1f" = "1.6"
    {
        /// float: Molar enthalpy of the transfer to the stationary phase in J/mol.
        transfer_enthalpy: f64 ["J/mol"],
        /// float: Its standard error in J/mol.
        transfer_enthalpy_error: f64 ["J/mol"],
        /// float: Intercept of ln k.
        intercept: f64 ["1"],
        /// float: Standard error of the intercept.
        intercept_error: f64 ["1"],
        /// float: Curvature over its standard error; beyond about 2 the line is no line.
        curvature_over_error: f64 ["1"],
    }
}

/// The line of van't Hoff, ln k against 1/T.
///
/// Parameters
/// ----------
/// temperature, retention_factor : sequence of float
///     Temperatures in K and retention factors of runs at one density, or at one pressure.
///
/// Returns
/// -------
/// VanTHoff
///     Enthalpy and intercept with their standard errors; apparent where the pressure was held.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> line = dp.van_t_hoff([308.15, 318.15, 328.15, 338.15], [3.10, 2.55, 2.12, 1.80])
/// >>> print(f"{line.transfer_enthalpy / 1e3:.1f} +- {line.transfer_enthalpy_error / 1e3:.1f} kJ/mol")
/// -15.7 +- 0.1 kJ/mol
#[pyfunction]
#[allow(clippy::needless_pass_by_value, reason = "sequences of Python")]
pub fn van_t_hoff(temperature: Vec<f64>, retention_factor: Vec<f64>) -> Outcome<PyVanTHoff> {
    if temperature.len() != retention_factor.len() {
        return Err(argument(
            "retention_factor",
            "as long as temperature",
            retention_factor.len().to_string(),
        ));
    }
    let line = retention_fit::van_t_hoff(&temperature, &retention_factor)?;
    Ok(PyVanTHoff {
        transfer_enthalpy: line.transfer_enthalpy,
        transfer_enthalpy_error: line.transfer_enthalpy_error,
        intercept: line.intercept,
        intercept_error: line.intercept_error,
        curvature_over_error: line.curvature_over_error,
    })
}

/// The band at the end of a column whose conditions change along it and in time.
///
/// Parameters
/// ----------
/// length : float
///     Length L in m.
/// motion : callable
///     ``motion(position, time)`` returns the velocity u of the mobile phase in m/s, the retention factor k and the local plate
///     height H in m.
/// time, time_variance : float, keyword-only
///     When the band enters in s, and its variance then in s2.
///
/// Returns
/// -------
/// tuple of two floats
///     Time in s at which the band leaves, and its variance in s2.
///
/// Raises
/// ------
/// DomainError
///     If the motion has no velocity above zero, or a retention factor or plate height below it.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> time, variance = dp.travel(0.25, lambda z, t: (5e-3, 2.0, 1e-5))
/// >>> round(time), round(time**2 / variance)
/// (150, 25000)
#[pyfunction(name = "travel")]
#[pyo3(signature = (length, motion, *, time = 0.0, time_variance = 0.0))]
pub fn travel_of(
    length: f64,
    motion: &Bound<'_, PyAny>,
    time: f64,
    time_variance: f64,
) -> Outcome<(f64, f64)> {
    let failure = std::cell::RefCell::new(None);
    let end = travel(
        length,
        Band {
            time,
            time_variance,
        },
        |position, time| {
            let told = motion
                .call1((position, time))
                .and_then(|told| told.extract::<(f64, f64, f64)>());
            match told {
                Ok((velocity, retention_factor, plate_height)) => Ok(SoluteMotion {
                    velocity,
                    retention_factor,
                    plate_height,
                }),
                Err(error) => {
                    failure.replace(Some(error));
                    Err(Error::Internal {
                        place: "a motion in Python",
                    })
                }
            }
        },
    );
    if let Some(error) = failure.take() {
        return Err(Fault::Python(error));
    }
    let end = end?;
    Ok((end.time, end.time_variance))
}

/// Density in 1/s of a peak of unit area: the exact convolution of a plug, a Gaussian and an exponential decay.
///
/// Parameters
/// ----------
/// time : sequence of float
///     Times in s.
/// mean, time_variance : float, keyword-only
///     Mean in s and variance in s2 of the whole peak.
/// plug_width, time_constant : float, keyword-only
///     Width of the plug and time constant of the decay in s, which are a part of the variance.
///
/// Returns
/// -------
/// numpy.ndarray
///     The density at each time.
///
/// Raises
/// ------
/// DomainError
///     If plug and decay alone exceed the variance.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> dp.peak_density([118.0, 120.0, 122.0], mean=120.0, time_variance=1.0, time_constant=0.3).round(4)
/// array([0.0528, 0.4007, 0.0541])
#[pyfunction]
#[pyo3(signature = (time, *, mean, time_variance, plug_width = 0.0, time_constant = 0.0))]
#[allow(clippy::needless_pass_by_value, reason = "a sequence of Python")]
pub fn peak_density(
    py: Python<'_>,
    time: Vec<f64>,
    mean: f64,
    time_variance: f64,
    plug_width: f64,
    time_constant: f64,
) -> Outcome<Bound<'_, PyArray1<f64>>> {
    let peak = Peak::new(
        mean,
        time_variance,
        Tail {
            plug_width,
            time_constant,
        },
    )?;
    Ok(PyArray1::from_vec(
        py,
        time.into_iter().map(|t| peak.density(t)).collect(),
    ))
}

/// Time variance in s2 with which a sharp plug leaves a tube in laminar flow, weighed by the flow, at any residence time.
///
/// Parameters
/// ----------
/// diffusion_coefficient : float
///     Diffusion coefficient D in m2/s.
/// diameter, length : float
///     Bore and length in m.
/// velocity : float
///     Mean velocity in m/s.
///
/// Returns
/// -------
/// float
///     The variance; it tends to the law of Taylor and Aris for long residence.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> print(f"{dp.laminar_time_variance(1.5e-8, 0.17e-3, 1.0, 0.5):.3g} s2 in 1 m of 0.17 mm")
/// 0.0395 s2 in 1 m of 0.17 mm
#[pyfunction]
pub fn laminar_time_variance(
    diffusion_coefficient: f64,
    diameter: f64,
    length: f64,
    velocity: f64,
) -> Outcome<f64> {
    Ok(dispersion::laminar_time_variance(
        diffusion_coefficient,
        diameter,
        length,
        velocity,
    )?)
}

/// Density of the times at which fluid that enters a tube at once leaves it in laminar flow without any diffusion: the other end of the
/// bracket where a band is not yet developed.
///
/// Parameters
/// ----------
/// time : sequence of float
///     Times t in s.
/// mean_residence_time : float
///     Length over mean velocity in s.
///
/// Returns
/// -------
/// numpy.ndarray
///     t_m^2/(2 t^3) in 1/s from half the mean residence time t_m on, zero before. Its variance is infinite.
///
/// Raises
/// ------
/// DomainError
///     For times not above zero.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> dp.convective_profile([0.4, 0.5, 1.0, 2.0], 1.0)
/// array([0.    , 4.    , 0.5   , 0.0625])
#[pyfunction]
#[allow(clippy::needless_pass_by_value, reason = "a sequence of Python")]
pub fn convective_profile(
    py: Python<'_>,
    time: Vec<f64>,
    mean_residence_time: f64,
) -> Outcome<Bound<'_, PyArray1<f64>>> {
    let of = |time: f64| dispersion::convective_profile(time, mean_residence_time);
    let values: Vec<f64> = time.into_iter().map(of).collect::<Result<_, _>>()?;
    Ok(PyArray1::from_vec(py, values))
}

record! { @class
    [
        /// What the detector records of one injection, without noise; immutable. Made by `Solution.chromatogram`.
        ///
        /// Examples
        /// --------
        /// >>> import densepath as dp
        /// >>> record = dp.solve("tests/methods/packed_modifier.toml").chromatogram(0.0, 300.0, 10.0)
        /// >>> print(f"{record.peaks.solute[0]} at {record.peaks.time[0]:.1f} s, {record.peaks.time_variance[0] ** 0.5:.2f} s wide")
        /// invented alkaloid at 107.3 s, 0.94 s wide
    ]
    [
        ///
        /// Examples
        /// --------
        /// >>> import densepath as dp
        /// >>> record = dp.solve("tests/methods/packed_modifier.toml").chromatogram(0.0, 300.0, 10.0)
        /// >>> told = record.to_dict()
        /// >>> told["peaks"]["solute"], max(told["record"]["time"])
        /// (['invented alkaloid'], 300.0)
    ]
    PyChromatogram "Chromatogram" {
        /// Table: Time in s and signal of each sample.
        record: PyTable [""],
        /// Table: Solute, mean time, variance, area and skewness of each peak.
        peaks: PyTable [""],
        /// Table: Neighbours in time with their resolution, the critical pair first.
        resolutions: PyTable [""],
        /// float: Number of peaks that fit side by side between the first and the last.
        peak_capacity: f64 ["1"],
        /// tuple of Notice: Doubts.
        notices: Notices [""],
    }
}

impl PyChromatogram {
    /// The chromatogram as plain values.
    pub fn of(chromatogram: &Chromatogram) -> Outcome<Self> {
        let peaks = &chromatogram.peaks;
        let of = |value: &dyn Fn(&PeakMoments) -> f64| {
            peaks
                .iter()
                .map(|peak| value(&peak.moments()))
                .collect::<Vec<f64>>()
        };
        let sampling: &Sampling = &chromatogram.sampling;
        Ok(Self {
            record: PyTable::of(
                "record",
                vec![
                    Column::numbers(Quantity::Time, sampling.times()),
                    Column::named("signal", "1/s", chromatogram.signal.iter().copied()),
                ],
            ),
            peaks: PyTable::of(
                "peaks",
                vec![
                    Column::words("solute", peaks.iter().map(|peak| peak.solute.as_str())),
                    Column::numbers(Quantity::Time, of(&|peak| peak.time)),
                    Column::numbers(Quantity::TimeVariance, of(&|peak| peak.time_variance)),
                    Column::named("area", "1", peaks.iter().map(|peak| peak.area)),
                    Column::named(
                        "skewness",
                        "1",
                        peaks.iter().map(|peak| peak.peak.skewness()),
                    ),
                ],
            ),
            resolutions: resolutions(chromatogram)?,
            peak_capacity: chromatogram.peak_capacity()?,
            notices: chromatogram.notices.as_slice().into(),
        })
    }
}

/// Neighbours in time, the least resolved first.
fn resolutions(chromatogram: &Chromatogram) -> Outcome<PyTable> {
    let mut order: Vec<_> = chromatogram.peaks.iter().collect();
    order.sort_by(|one, other| one.moments().time.total_cmp(&other.moments().time));
    let mut pairs = Vec::new();
    for pair in order.windows(2) {
        let [first, second] = pair else { continue };
        pairs.push((
            first.solute.clone(),
            second.solute.clone(),
            resolution(&first.moments(), &second.moments())?,
        ));
    }
    pairs.sort_by(|one, other| one.2.total_cmp(&other.2));
    let columns = vec![
        Column::words("first", pairs.iter().map(|pair| pair.0.as_str())),
        Column::words("second", pairs.iter().map(|pair| pair.1.as_str())),
        Column::named("resolution", "1", pairs.iter().map(|pair| pair.2)),
    ];
    Ok(PyTable::of("resolutions", columns))
}

record! {
    /// What is set on another column to carry a method over; immutable. Made by `transfer_method`.
    PyMethodTransfer "MethodTransfer"
    from r#"porosities = {"interparticle_porosity": 0.4, "total_porosity": 0.7}"#
        "column = dp.PackedColumn(diameter=4.6e-3, length=0.25, particle_diameter=5e-6, **porosities)"
        "other = dp.PackedColumn(diameter=3.0e-3, length=0.15, particle_diameter=3e-6, **porosities)"
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=180e5)"#
        "found = dp.transfer_method(column, other, inlet, 5e-5)"
        shows found.injection_factor as ".3f" = "0.255"
    {
        /// float: Mass flow rate in kg/s.
        mass_flow_rate: f64 ["kg/s"],
        /// float: Pressure to hold at the outlet in Pa.
        outlet_pressure: f64 ["Pa"],
        /// float: Pressure at the inlet in Pa.
        inlet_pressure: f64 ["Pa"],
        /// float: Mean of the densities at both ends in kg/m3, that of the first column.
        mean_density: f64 ["kg/m3"],
        /// float: Factor of the injected volume.
        injection_factor: f64 ["1"],
        /// float: Factor of all times of a program.
        time_factor: f64 ["1"],
        /// float: Ratio of the plate numbers to expect.
        plate_ratio: f64 ["1"],
        /// tuple of Notice: What cannot be matched.
        notices: Notices [""],
    }
}

/// Carries a method over from one packed column to another: mean density matched, flow, injection and program in scale.
///
/// Parameters
/// ----------
/// column, other : PackedColumn
///     The column of the method, and the one to carry it to.
/// inlet : State
///     The mobile phase at the inlet of the first.
/// mass_flow_rate : float
///     Mass flow rate on the first in kg/s.
/// pressure_limit : float, keyword-only, optional
///     Highest pressure in Pa that the instrument stands.
///
/// Returns
/// -------
/// MethodTransfer
///     What to set, and what cannot be matched.
///
/// Raises
/// ------
/// ConvergenceError
///     If no pressure passes the flow with this mean density.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> porosities = {"interparticle_porosity": 0.4, "total_porosity": 0.7}
/// >>> column = dp.PackedColumn(diameter=4.6e-3, length=0.25, particle_diameter=5e-6, **porosities)
/// >>> other = dp.PackedColumn(diameter=3.0e-3, length=0.15, particle_diameter=3e-6, **porosities)
/// >>> inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=180e5)
/// >>> found = dp.transfer_method(column, other, inlet, 5e-5, pressure_limit=180e5)
/// >>> print(f"{found.mass_flow_rate:.3g} kg/s, outlet at {found.outlet_pressure / 1e5:.1f} bar")
/// 3.54e-05 kg/s, outlet at 122.3 bar
/// >>> found.notices[-1].text
/// 'the inlet needs 199.506 bar(a), above the limit of 180 bar(a)'
#[pyfunction]
#[pyo3(signature = (column, other, inlet, mass_flow_rate, *, pressure_limit = None))]
pub fn transfer_method(
    py: Python<'_>,
    column: &PyPackedColumn,
    other: &PyPackedColumn,
    inlet: &PyState,
    mass_flow_rate: f64,
    pressure_limit: Option<f64>,
) -> Outcome<PyMethodTransfer> {
    let stream = Stream {
        state: inlet.state.clone(),
        mass_flow_rate,
    };
    let found = enter(py, || {
        transfer(column.core(), other.core(), &stream, pressure_limit)
    })?;
    Ok(PyMethodTransfer {
        mass_flow_rate: found.mass_flow_rate,
        outlet_pressure: found.ends.outlet.pressure(),
        inlet_pressure: found.ends.inlet.pressure(),
        mean_density: found.ends.mean_density(),
        injection_factor: found.injection_factor,
        time_factor: found.time_factor,
        plate_ratio: found.plate_ratio,
        notices: found.notices.as_slice().into(),
    })
}

/// All detectors, the best suited first, with what speaks for or against each.
///
/// Parameters
/// ----------
/// modifiers : sequence of str, keyword-only
///     Names of all that flows beside the carrier: modifiers and additives.
/// modifier_fraction : float, keyword-only
///     Largest volume fraction of the modifiers.
/// gas_flow : float, keyword-only
///     Flow of gas in m3/s at 20 degC and 101325 Pa, after decompression.
/// is_programmed : bool, keyword-only
///     Whether composition or density change during the run.
/// pressure_ripple : float, keyword-only
///     Ripple of the pressure at the detector over the pressure.
/// has_chromophore, is_volatile : bool or None, keyword-only
///     Whether the solute absorbs light, and whether it evaporates below some 300 degC; None if not known.
/// wavelength : float or None, keyword-only
///     Wavelength in m to look at.
/// is_collected : bool, keyword-only
///     Whether the solute is to be collected.
///
/// Returns
/// -------
/// Table
///     Name, verdict (``suits``, ``conditions``, ``unsuited``), reasons, what it sees, where it looks, where the regulator goes.
///
/// Raises
/// ------
/// MissingModelError
///     If a wavelength is asked and the cut-off of a modifier is not known.
///
/// Notes
/// -----
/// The table of detectors is common practice, no source; the sources of the cut-offs are in ``ultraviolet_cut_offs()``, and a cut-off
/// that decides says whether it is sourced or from memory.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> ranked = dp.rank_detectors(modifiers=["methanol"], modifier_fraction=0.1, wavelength=220e-9, has_chromophore=True)
/// >>> ranked.row("flame ionisation")["verdict"]
/// 'unsuited'
#[pyfunction]
#[pyo3(signature = (*, modifiers = Vec::new(), modifier_fraction = 0.0, gas_flow = 0.0, is_programmed = false, pressure_ripple = 0.0, has_chromophore = None, is_volatile = None, wavelength = None, is_collected = false))]
#[allow(
    clippy::too_many_arguments,
    clippy::fn_params_excessive_bools,
    reason = "keywords of Python"
)]
pub fn rank_detectors(
    modifiers: Vec<String>,
    modifier_fraction: f64,
    gas_flow: f64,
    is_programmed: bool,
    pressure_ripple: f64,
    has_chromophore: Option<bool>,
    is_volatile: Option<bool>,
    wavelength: Option<f64>,
    is_collected: bool,
) -> Outcome<PyTable> {
    let found = ranked(&DetectorQuestion {
        modifiers,
        modifier_fraction,
        gas_flow,
        is_programmed,
        pressure_ripple,
        has_chromophore,
        is_volatile,
        wavelength,
        is_collected,
    })?;
    let verdict = |ranked: &RankedDetector| match ranked.verdict {
        Verdict::Suits => "suits",
        Verdict::Conditions => "conditions",
        Verdict::Unsuited => "unsuited",
    };
    let side = |ranked: &RankedDetector| format!("{:?}", ranked.detector.side).to_lowercase();
    let columns = vec![
        Column::words(
            "name",
            found.iter().map(|ranked| ranked.detector.name.as_str()),
        ),
        Column::words("verdict", found.iter().map(verdict)),
        Column::words(
            "reasons",
            found.iter().map(|ranked| ranked.reasons.join("; ")),
        ),
        Column::words(
            "sees",
            found.iter().map(|ranked| ranked.detector.sees.as_str()),
        ),
        Column::words("side", found.iter().map(side)),
        Column::words(
            "regulator",
            found
                .iter()
                .map(|ranked| ranked.detector.regulator.as_str()),
        ),
        Column::words(
            "note",
            found.iter().map(|ranked| ranked.detector.note.as_str()),
        ),
    ];
    Ok(PyTable::of("detectors", columns))
}

/// The ultraviolet cut-offs of solvents and additives: wavelengths in m below which 10 mm absorb more than nine tenths.
///
/// Returns
/// -------
/// Table
///     Name, wavelength that counts (the longest), shortest that a source names, and the sources, ``from memory`` where none could
///     be read. Uncertainty 5 nm, by purity and by how the edge is read.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> row = dp.ultraviolet_cut_offs().row("methanol")
/// >>> print(f"{row['wavelength'] * 1e9:.0f} nm")
/// 205 nm
#[pyfunction]
pub fn ultraviolet_cut_offs() -> Outcome<PyTable> {
    let table = cut_offs()?;
    let sources = |entry: &CutOff| {
        let said = entry.readings.iter();
        let said =
            said.map(|reading| format!("{:.0} nm: {}", reading.wavelength * 1e9, reading.source));
        said.collect::<Vec<_>>().join("; ")
    };
    let columns = vec![
        Column::words("name", table.iter().map(|entry| entry.name.as_str())),
        Column::numbers(
            Quantity::Wavelength,
            table.iter().map(|entry| entry.wavelength),
        ),
        Column::named(
            "shortest_wavelength",
            "m",
            table.iter().map(|entry| entry.wavelength - entry.spread()),
        ),
        Column::words("sources", table.iter().map(sources)),
    ];
    Ok(PyTable::of("ultraviolet cut-offs", columns))
}

record! {
    /// What reaches the column while a sample passes; immutable. Made by `dilution`.
    PyDilution "Dilution"
    from r#"plug = dp.dilution(5e-9, 4.5e-8, 0.5e-8, "at_column", sample_flow=0.5e-8)"#
        shows plug.solvent_fraction as ".2f" = "0.18"
    {
        /// float: Volume over that of the sample in it.
        dilution_factor: f64 ["1"],
        /// float: Time in s for which it passes.
        time: f64 ["s"],
        /// float: Volume of the plug on the column in m3.
        plug_volume: f64 ["m3"],
        /// float: Volume fraction of liquid solvent, sample and modifier, while it passes.
        solvent_fraction: f64 ["1"],
    }
}

/// What a sample makes of the mobile phase, by where it joins; volumes count as additive.
///
/// Parameters
/// ----------
/// sample_volume : float
///     Volume of the sample in m3.
/// carrier_flow, modifier_flow : float
///     Volume flow rates in m3/s.
/// entry : {"mixed_stream", "modifier_stream", "at_column"}
///     Into the mixed stream, into that of the modifier before the streams meet, or by a pump of its own at the head of the
///     column.
/// sample_flow : float, keyword-only
///     Volume flow rate of the sample's own pump in m3/s, for the entry at the column.
///
/// Returns
/// -------
/// Dilution
///     Dilution, time, plug and composition.
///
/// Raises
/// ------
/// DomainError
///     For a volume or a flow that is needed and not above zero.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> plug = dp.dilution(100e-9, 4.5e-8, 0.5e-8, "modifier_stream")
/// >>> round(plug.time), round(plug.dilution_factor)
/// (20, 10)
#[pyfunction(name = "dilution")]
#[pyo3(signature = (sample_volume, carrier_flow, modifier_flow, entry, *, sample_flow = 0.0))]
pub fn dilution_of(
    sample_volume: f64,
    carrier_flow: f64,
    modifier_flow: f64,
    entry: &str,
    sample_flow: f64,
) -> Outcome<PyDilution> {
    let entry = match entry {
        "mixed_stream" => SampleEntry::MixedStream,
        "modifier_stream" => SampleEntry::ModifierStream,
        "at_column" => SampleEntry::AtColumn,
        other => {
            let expected = "\"mixed_stream\", \"modifier_stream\" or \"at_column\"";
            return Err(argument("entry", expected, format!("\"{other}\"")));
        }
    };
    let found = dilution(
        sample_volume,
        carrier_flow,
        modifier_flow,
        sample_flow,
        entry,
    )?;
    Ok(PyDilution {
        dilution_factor: found.dilution_factor,
        time: found.time,
        plug_volume: found.plug_volume,
        solvent_fraction: found.solvent_fraction,
    })
}

/// Length of open tube that a plug of liquid floods as a film.
///
/// Parameters
/// ----------
/// plug_volume : float
///     Volume of the plug in m3.
/// diameter : float
///     Bore in m.
/// film_fraction : float, keyword-only
///     Film left behind the slug, over the radius; 5 % makes the film ten times as long as the plug (common practice, no source).
///
/// Returns
/// -------
/// float
///     The flooded length in m.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> print(f"1 uL floods {dp.flooded_length(1e-9, 0.17e-3):.2f} m of 0.17 mm")
/// 1 uL floods 0.45 m of 0.17 mm
#[pyfunction]
#[pyo3(signature = (plug_volume, diameter, *, film_fraction = 0.05))]
pub fn flooded_length(plug_volume: f64, diameter: f64, film_fraction: f64) -> Outcome<f64> {
    Ok(flooding(plug_volume, diameter, film_fraction)?.flooded_length)
}

/// Phases of a plug of a strong solvent on its way into the mobile phase, at the temperature and the pressure of that.
///
/// Parameters
/// ----------
/// mobile_phase : State
///     The mobile phase.
/// solvent : Fluid
///     Solvent of the sample.
/// steps : int, keyword-only
///     Number of mixing ratios, evenly in the volume fraction of the solvent.
///
/// Returns
/// -------
/// Table
///     Phase, volume fraction of the solvent, density, and the pressure above the one at which a second phase appears: NaN where
///     there are two already.
///
/// Raises
/// ------
/// MissingModelError
///     If a pair of the substances has no parameters.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
/// >>> for solvent in ("methanol", "water"):
/// ...     print(dp.plug_phases(state, dp.Fluid(solvent), steps=3).phase)
/// ('liquid', 'liquid', 'liquid')
/// ('liquid + liquid', 'liquid + liquid', 'liquid + liquid')
#[pyfunction(name = "plug_phases")]
#[pyo3(signature = (mobile_phase, solvent, *, steps = 9))]
pub fn plug_phases_of(
    py: Python<'_>,
    mobile_phase: &PyState,
    solvent: &PyFluid,
    steps: u32,
) -> Outcome<PyTable> {
    let found = enter(py, || {
        plug_phases(&mobile_phase.state, &solvent.fluid, steps)
    })?;
    let columns = vec![
        Column::words("phase", found.iter().map(|plug| plug.state.phase().name())),
        Column::named(
            "solvent_fraction",
            "1",
            found.iter().map(|plug| plug.solvent_fraction),
        ),
        Column::numbers(
            Quantity::Density,
            found.iter().map(|plug| plug.state.density()),
        ),
        Column::numbers(
            Quantity::SinglePhaseMargin,
            found
                .iter()
                .map(|plug| plug.single_phase_margin.unwrap_or(f64::NAN)),
        ),
    ];
    Ok(PyTable::of("plug", columns))
}

record! {
    /// What ripple and drift do to the refractive index at a detector; immutable. Made by `refractive_index_noise`.
    PyRefractiveIndexNoise "RefractiveIndexNoise"
    from r#"state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=90e5)"#
        "noise = dp.refractive_index_noise(state, 0.1e5, 0.01)"
        shows noise.density_by_pressure as ".1e" = "5.4e-03"
    {
        /// float: Change of the refractive index with the ripple of the pressure.
        by_pressure: f64 ["1"],
        /// float: Change of the refractive index with that of the temperature.
        by_temperature: f64 ["1"],
        /// float: Relative change of the density with the ripple of the pressure.
        density_by_pressure: f64 ["1"],
        /// float: Relative change of the density with that of the temperature.
        density_by_temperature: f64 ["1"],
    }
}

/// Noise of the refractive index at a detector for a ripple of the pressure and of the temperature.
///
/// Parameters
/// ----------
/// state : State
///     The mobile phase in the cell.
/// pressure_ripple : float
///     Ripple of the pressure in Pa, peak to peak.
/// temperature_ripple : float
///     Ripple of the temperature in K, peak to peak.
///
/// Returns
/// -------
/// RefractiveIndexNoise
///     Changes of the refractive index and of the density.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
/// >>> noise = dp.refractive_index_noise(state, 0.1e5, 0.01)
/// >>> print(f"{noise.by_pressure:.1e} by pressure, {noise.by_temperature:.1e} by temperature")
/// 3.9e-05 by pressure, -1.8e-05 by temperature
#[pyfunction(name = "refractive_index_noise")]
pub fn refractive_index_noise_of(
    state: &PyState,
    pressure_ripple: f64,
    temperature_ripple: f64,
) -> Outcome<PyRefractiveIndexNoise> {
    let noise = refractive_index_noise(&state.state, pressure_ripple, temperature_ripple)?;
    Ok(PyRefractiveIndexNoise {
        by_pressure: noise.by_pressure,
        by_temperature: noise.by_temperature,
        density_by_pressure: noise.density_by_pressure,
        density_by_temperature: noise.density_by_temperature,
    })
}
