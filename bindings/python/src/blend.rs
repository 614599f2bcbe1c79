//! What pumps deliver together, and the flows to set for what is wanted.

use densepath::hardware::{
    Additive, Blend, BlendBasis, Feed, Head, PumpShare, PumpUncertainty, WholeFlow,
    blend as blended, feeds_for,
};
use densepath::{Fluid, ModelChoice, Quantity};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyMapping, PyString};

use crate::error::{Outcome, argument, enter};
use crate::fluid::{PyFluid, items};
use crate::mixture::fractions;
use crate::pickle::{Reduced, reduced};
use crate::record::record;
use crate::table::{Column, PyTable};

/// What pumps deliver together; immutable. Made by `blend` and `blend_for`.
///
/// Notes
/// -----
/// Valid: for pumps that lose nothing.
///
/// Uncertainty: that of the densities of the feeds, and the losses of the pumps.
///
/// Source: `q_m = sum q_V,i rho_i`, each density at the state where the volume of its pump is counted.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> made = dp.blend({"carbon dioxide": (4e-8, 278.15, 15e6), "methanol": (1e-8, 295.15, 15e6)})
/// >>> print(f"{made.mass_flow_rate:.4g} kg/s, amount fraction of methanol {made.amount_fraction['methanol']:.4f}")
/// 4.712e-05 kg/s, amount fraction of methanol 0.2199
#[pyclass(frozen, eq, module = "densepath", name = "Blend")]
#[derive(Debug, Clone)]
pub struct PyBlend {
    feeds: Vec<Feed>,
    choice: ModelChoice,
    blend: Blend,
}

/// A feed as plain values: its fluid, volume flow rate, temperature and pressure.
type Written = (PyFluid, f64, f64, f64);

fn written(feed: &Feed) -> Written {
    (
        feed.fluid.clone().into(),
        feed.volume_flow_rate,
        feed.temperature,
        feed.pressure,
    )
}

impl PartialEq for PyBlend {
    fn eq(&self, other: &Self) -> bool {
        let all = |blend: &Self| blend.feeds.iter().map(written).collect::<Vec<_>>();
        self.choice == other.choice && all(self) == all(other)
    }
}

impl PyBlend {
    fn of(py: Python<'_>, feeds: Vec<Feed>, choice: ModelChoice) -> Outcome<Self> {
        let blend = enter(py, || blended(&feeds))?;
        Ok(Self {
            feeds,
            choice,
            blend,
        })
    }

    fn names(&self) -> Vec<&str> {
        self.feeds.iter().map(|feed| feed.fluid.name()).collect()
    }
}

#[pymethods]
impl PyBlend {
    /// Fluid: The mobile phase. MissingModelError if a pair of its substances has no parameters.
    #[getter]
    fn fluid(&self) -> Outcome<PyFluid> {
        Ok(self.blend.fluid_with_model(self.choice)?.into())
    }

    /// float: Mass flow rate q_m of all pumps in kg/s.
    #[getter]
    fn mass_flow_rate(&self) -> f64 {
        self.blend.mass_flow_rate
    }

    /// dict of str to float: Mass fraction w of each substance.
    #[getter]
    fn mass_fraction<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let values = self.blend.composition.mass_fractions();
        fractions(py, &self.blend.substances, values)
    }

    /// dict of str to float: Amount fraction x of each substance.
    #[getter]
    fn amount_fraction<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let values = self.blend.composition.amount_fractions();
        fractions(py, &self.blend.substances, values)
    }

    /// Table: What each pump feeds: set volume flow rate, where it is counted, and the mass flow rate it makes.
    #[getter]
    fn feeds(&self) -> PyTable {
        let of = |value: fn(&Feed) -> f64| self.feeds.iter().map(value).collect::<Vec<f64>>();
        let columns = vec![
            Column::words("fluid", self.names()),
            Column::numbers(Quantity::VolumeFlowRate, of(|feed| feed.volume_flow_rate)),
            Column::numbers(Quantity::Temperature, of(|feed| feed.temperature)),
            Column::numbers(Quantity::Pressure, of(|feed| feed.pressure)),
            Column::numbers(
                Quantity::MassFlowRate,
                self.blend.feed_mass_flow_rates.iter().copied(),
            ),
        ];
        PyTable::of("feeds", columns)
    }

    /// Volume flow rate if the volumes of the feeds were additive.
    ///
    /// Parameters
    /// ----------
    /// temperature : float
    ///     Temperature T in K.
    /// pressure : float
    ///     Pressure p in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Volume flow rate in m3/s; the density of the mixture itself tells by how much it contracts.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> made = dp.blend({"carbon dioxide": (4e-8, 278.15, 15e6), "methanol": (1e-8, 295.15, 15e6)})
    /// >>> additive = made.additive_volume_flow_rate(313.15, 15e6)
    /// >>> mixed = made.mass_flow_rate / made.fluid.density(313.15, 15e6)
    /// >>> print(f"{additive * 60e6:.2f} mL/min; the mixture takes {mixed * 60e6:.2f} mL/min")
    /// 3.62 mL/min; the mixture takes 3.30 mL/min
    fn additive_volume_flow_rate(
        &self,
        py: Python<'_>,
        temperature: f64,
        pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.blend.additive_volume_flow_rate(temperature, pressure)
        })
    }

    /// What of a dissolved additive is in the blend.
    ///
    /// Parameters
    /// ----------
    /// feed : int
    ///     Place of the feed that carries it, counted from 0.
    /// concentration : float
    ///     Concentration where the solution was made up, in mol/m3 or in kg/m3.
    /// temperature, pressure : float
    ///     Temperature in K and pressure in Pa at which the solution was made up.
    ///
    /// Returns
    /// -------
    /// tuple of float
    ///     Flow rate in mol/s and content of the blend in mol/kg, or in kg/s and kg/kg; the additive is left out of the
    ///     composition.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> made = dp.blend({"carbon dioxide": (4e-8, 278.15, 15e6), "methanol": (1e-8, 295.15, 15e6)})
    /// >>> flow, content = made.additive(1, 20.0, 293.15, 101325.0)
    /// >>> print(f"{flow:.3g} mol/s, {content:.3g} mol/kg")
    /// 2.03e-07 mol/s, 0.00431 mol/kg
    fn additive(
        &self,
        py: Python<'_>,
        feed: usize,
        concentration: f64,
        temperature: f64,
        pressure: f64,
    ) -> Outcome<(f64, f64)> {
        let additive = Additive {
            concentration,
            temperature,
            pressure,
        };
        let found = enter(py, || self.blend.additive(feed, &additive))?;
        Ok((found.flow_rate, found.content))
    }

    /// Mass of an additive that is left when all else of the blend has evaporated.
    ///
    /// Parameters
    /// ----------
    /// feed, concentration, temperature, pressure
    ///     As for `additive`.
    /// time : float, keyword-only
    ///     Time in s.
    /// molar_mass : float, keyword-only, optional
    ///     Molar mass in kg/mol of an additive told in mol/m3; 1 if not given, for one told in kg/m3.
    ///
    /// Returns
    /// -------
    /// float
    ///     Mass in kg, of an additive that does not evaporate.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> made = dp.blend({"carbon dioxide": (4e-8, 278.15, 15e6), "methanol": (1e-8, 295.15, 15e6)})
    /// >>> print(f"{made.residue(1, 20.0, 295.15, 15e6, time=60.0, molar_mass=0.063) * 1e6:.3f} mg")
    /// 0.756 mg
    #[pyo3(signature = (feed, concentration, temperature, pressure, *, time, molar_mass = 1.0))]
    #[allow(clippy::too_many_arguments, reason = "keywords of Python")]
    fn residue(
        &self,
        py: Python<'_>,
        feed: usize,
        concentration: f64,
        temperature: f64,
        pressure: f64,
        time: f64,
        molar_mass: f64,
    ) -> Outcome<f64> {
        let additive = Additive {
            concentration,
            temperature,
            pressure,
        };
        enter(py, || {
            self.blend
                .additive(feed, &additive)?
                .residue(molar_mass, time)
        })
    }

    /// How sure the mass fraction of a substance is, with what each pump contributes.
    ///
    /// Parameters
    /// ----------
    /// substance : str
    ///     Name of a substance that is fed.
    /// relative_flow, temperature, pressure : sequence of float, keyword-only
    ///     Standard uncertainties of each pump, in their order: of its flow, relative; of the temperature of its head in K; of the pressure
    ///     in its head in Pa.
    ///
    /// Returns
    /// -------
    /// FractionBudget
    ///     The fraction, its standard uncertainty, and the contributions.
    ///
    /// Raises
    /// ------
    /// ArgumentError
    ///     For a substance that is not fed, or another number of pumps.
    /// DomainError
    ///     For a negative uncertainty.
    ///
    /// Notes
    /// -----
    /// Source: propagation of standard uncertainties, independent of each other.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> made = dp.blend({"carbon dioxide": (4e-8, 278.15, 15e6), "methanol": (1e-8, 295.15, 15e6)})
    /// >>> budget = made.mass_fraction_budget("methanol", relative_flow=[0.01, 0.005], temperature=[0.5, 1.0], pressure=[1e5, 2e5])
    /// >>> print(f"{budget.mass_fraction:.4f} +- {budget.standard_uncertainty:.4f}")
    /// 0.1703 +- 0.0016
    #[pyo3(signature = (substance, *, relative_flow, temperature, pressure))]
    #[allow(clippy::needless_pass_by_value, reason = "sequences of Python")]
    fn mass_fraction_budget(
        &self,
        py: Python<'_>,
        substance: &str,
        relative_flow: Vec<f64>,
        temperature: Vec<f64>,
        pressure: Vec<f64>,
    ) -> Outcome<PyFractionBudget> {
        if temperature.len() != relative_flow.len() || pressure.len() != relative_flow.len() {
            let expected = "sequences of one length";
            let got = format!("{relative_flow:?}, {temperature:?} and {pressure:?}");
            return Err(argument(
                "relative_flow, temperature and pressure",
                expected,
                got,
            ));
        }
        let rows = relative_flow.iter().zip(&temperature).zip(&pressure);
        let pumps: Vec<_> = rows
            .map(
                |((&relative_flow, &temperature), &pressure)| PumpUncertainty {
                    relative_flow,
                    temperature,
                    pressure,
                },
            )
            .collect();
        let found = enter(py, || self.blend.mass_fraction_budget(substance, &pumps))?;
        let of = |share: fn(&PumpShare) -> f64| found.shares.iter().map(share).collect::<Vec<_>>();
        let columns = vec![
            Column::words("fluid", self.names()),
            Column::named("by_flow", "1", of(|share| share.flow)),
            Column::named("by_temperature", "1", of(|share| share.temperature)),
            Column::named("by_pressure", "1", of(|share| share.pressure)),
        ];
        Ok(PyFractionBudget {
            mass_fraction: found.mass_fraction,
            standard_uncertainty: found.standard_uncertainty,
            shares: PyTable::of("shares", columns),
        })
    }

    /// How the mass flow rate and the amount fractions answer to the temperature and the pressure in the head of each pump.
    ///
    /// Returns
    /// -------
    /// Table
    ///     One row for each pump and substance: changes of the amount fraction of the substance in 1/K and 1/Pa, of its mass
    ///     fraction in 1/K and 1/Pa, and of the whole mass flow rate in kg/(s K) and kg/(s Pa).
    ///
    /// Notes
    /// -----
    /// Source: `d ln rho/dT = -alpha_V` and `d ln rho/dp = kappa_T`.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> made = dp.blend({"carbon dioxide": (4e-8, 278.15, 15e6), "methanol": (1e-8, 295.15, 15e6)})
    /// >>> row = made.sensitivities()[1]
    /// >>> print(f"head of {row['feed']}: {row['mass_fraction_by_temperature']:.2e} 1/K of {row['substance']}")
    /// head of carbon dioxide: 6.55e-04 1/K of methanol
    fn sensitivities(&self, py: Python<'_>) -> Outcome<PyTable> {
        let found = enter(py, || self.blend.sensitivities())?;
        let (mut feeds, mut substances) = (Vec::new(), Vec::new());
        let mut numbers: [Vec<f64>; 6] = Default::default();
        for (feed, by) in self.names().into_iter().zip(&found) {
            for (place, substance) in self.blend.substances.iter().enumerate() {
                feeds.push(feed);
                substances.push(*substance);
                let at = |values: &[f64]| values.get(place).copied().unwrap_or(f64::NAN);
                let row = [
                    at(&by.amount_fractions_by_temperature),
                    at(&by.amount_fractions_by_pressure),
                    at(&by.mass_fractions_by_temperature),
                    at(&by.mass_fractions_by_pressure),
                    by.mass_flow_rate_by_temperature,
                    by.mass_flow_rate_by_pressure,
                ];
                for (column, value) in numbers.iter_mut().zip(row) {
                    column.push(value);
                }
            }
        }
        let mut columns = vec![
            Column::words("feed", feeds),
            Column::words("substance", substances),
        ];
        columns.extend(
            SENSITIVITIES
                .iter()
                .zip(numbers)
                .map(|((name, unit), of)| Column::named(name, unit, of)),
        );
        Ok(PyTable::of("sensitivities", columns))
    }

    /// The blend as a dictionary of plain values.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> made = dp.blend({"carbon dioxide": (4e-8, 278.15, 15e6), "methanol": (1e-8, 295.15, 15e6)})
    /// >>> {name: round(w, 4) for name, w in made.to_dict()["mass_fraction"].items()}
    /// {'carbon dioxide': 0.8297, 'methanol': 0.1703}
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("mass_flow_rate", self.mass_flow_rate())?;
        dict.set_item("mass_fraction", self.mass_fraction(py)?)?;
        dict.set_item("amount_fraction", self.amount_fraction(py)?)?;
        dict.set_item("feeds", self.feeds().to_dict(py)?)?;
        Ok(dict)
    }

    fn _repr_html_<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        py.import("densepath._present")?
            .call_method1("table_to_html", (self.feeds(),))
    }

    fn __repr__(&self) -> String {
        let pairs = self.blend.substances.iter();
        let named = pairs.zip(self.blend.composition.amount_fractions());
        let parts = named.map(|(name, x)| format!("{name}: {x:.6}"));
        format!(
            "Blend(mass_flow_rate = {:.6e} kg/s, amount_fraction = {})",
            self.mass_flow_rate(),
            parts.collect::<Vec<_>>().join(", ")
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, (Vec<Written>, String)> {
        let feeds = self.feeds.iter().map(written).collect();
        reduced(py, "restore_blend", (feeds, self.choice.name().to_owned()))
    }
}

record! {
    /// How sure a mass fraction of a blend is; immutable. Made by `Blend.mass_fraction_budget`.
    PyFractionBudget "FractionBudget"
    from r#"made = dp.blend({"carbon dioxide": (4e-8, 278.15, 15e6), "methanol": (1e-8, 295.15, 15e6)})"#
        r#"budget = made.mass_fraction_budget("methanol", relative_flow=[0.01, 0.005], temperature=[0.5, 1.0], pressure=[1e5, 2e5])"#
        shows budget.standard_uncertainty as ".4f" = "0.0016"
    {
        /// float: Mass fraction w.
        mass_fraction: f64 ["1"],
        /// float: Its standard uncertainty.
        standard_uncertainty: f64 ["1"],
        /// Table: What each pump contributes, by its flow, the temperature and the pressure of its head.
        shares: PyTable [""],
    }
}

/// Names and units of the changes in a table of sensitivities.
const SENSITIVITIES: [(&str, &str); 6] = [
    ("amount_fraction_by_temperature", "1/K"),
    ("amount_fraction_by_pressure", "1/Pa"),
    ("mass_fraction_by_temperature", "1/K"),
    ("mass_fraction_by_pressure", "1/Pa"),
    ("mass_flow_rate_by_temperature", "kg/(s K)"),
    ("mass_flow_rate_by_pressure", "kg/(s Pa)"),
];

/// The blend of a pickle.
#[pyfunction]
pub fn restore_blend(py: Python<'_>, feeds: Vec<Written>, model: &str) -> Outcome<PyBlend> {
    let feed = |(fluid, volume_flow_rate, temperature, pressure): Written| Feed {
        fluid: fluid.fluid,
        volume_flow_rate,
        temperature,
        pressure,
    };
    PyBlend::of(py, feeds.into_iter().map(feed).collect(), model.parse()?)
}

/// A fluid that is pumped, with a flow or a share and the temperature and pressure of its head.
type Pumped = (Fluid, [f64; 3]);

/// The feeds of a mapping: each fluid with three numbers.
fn read(feeds: &Bound<'_, PyMapping>) -> Outcome<Vec<Pumped>> {
    items(feeds, |fluid, numbers| {
        let fluid = match (fluid.cast::<PyFluid>(), fluid.cast::<PyString>()) {
            (Ok(fluid), _) => fluid.get().fluid.clone(),
            (_, Ok(name)) => Fluid::new(&name.to_string())?,
            _ => {
                let kind = fluid.get_type().name()?.to_string();
                return Err(argument("feeds", "names or fluids as keys", kind));
            }
        };
        let numbers = numbers.extract::<[f64; 3]>().map_err(|_| {
            let expected = "three numbers for each fluid";
            argument("feeds", expected, numbers.to_string())
        })?;
        Ok((fluid, numbers))
    })
}

/// What pumps deliver together, each feeding a substance or a mixture at a set volume flow.
///
/// Parameters
/// ----------
/// feeds : mapping of str or Fluid to tuple of float
///     For each fluid that is pumped: the volume flow rate set in m3/s, and the temperature T in K and pressure p in Pa at which
///     this volume is counted, which are those in the head of the pump.
/// model : {"best", "multi-fluid", "cubic"}, keyword-only
///     The model of the mixture, as for `Fluid`.
///
/// Returns
/// -------
/// Blend
///     The mass flow rate and the fractions, and the mixture as a fluid.
///
/// Raises
/// ------
/// DomainError, RangeError
///     If a flow rate is not above zero, or a state lies outside the range of its model.
/// ArgumentError
///     Without any feed.
///
/// Notes
/// -----
/// Valid: for pumps that lose nothing.
///
/// Uncertainty: that of the densities of the feeds, and the losses of the pumps.
///
/// Source: `q_m = sum q_V,i rho_i`.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> made = dp.blend({"carbon dioxide": (4e-8, 278.15, 15e6), "methanol": (1e-8, 295.15, 15e6)})
/// >>> print(f"{made.mass_fraction['methanol']:.4f}")
/// 0.1703
#[pyfunction]
#[pyo3(signature = (feeds, *, model = "best"))]
pub fn blend(py: Python<'_>, feeds: &Bound<'_, PyMapping>, model: &str) -> Outcome<PyBlend> {
    let choice = model.parse()?;
    let feed = |(fluid, [volume_flow_rate, temperature, pressure]): Pumped| Feed {
        fluid,
        volume_flow_rate,
        temperature,
        pressure,
    };
    PyBlend::of(py, read(feeds)?.into_iter().map(feed).collect(), choice)
}

/// The blend with wanted fractions of its feeds and a wanted flow: the inverse of `blend`.
///
/// Parameters
/// ----------
/// feeds : mapping of str or Fluid to tuple of float
///     For each fluid that is pumped: its fraction of the whole, above zero, and the temperature T in K and pressure p in Pa at
///     which its pump counts its volume. The fractions must sum to 1.
/// basis : {"mass", "amount", "volume"}, keyword-only
///     What the fractions are shares of: the mass, the amount of substance, or the sum of the set volumes.
/// mass_flow_rate : float, keyword-only
///     Whole mass flow rate q_m in kg/s.
/// volume_flow_rate : float, keyword-only
///     Sum of the set volume flow rates in m3/s. Give this or the mass flow rate.
/// model : {"best", "multi-fluid", "cubic"}, keyword-only
///     The model of the mixture, as for `Fluid`.
///
/// Returns
/// -------
/// Blend
///     `Blend.feeds.volume_flow_rate` are the flows to set.
///
/// Raises
/// ------
/// CompositionError
///     If the fractions do not sum to 1.
/// ArgumentError
///     If the basis is another word, or not one flow is given.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> heads = {"carbon dioxide": (0.9, 278.15, 15e6), "methanol": (0.1, 295.15, 15e6)}
/// >>> made = dp.blend_for(heads, basis="amount", mass_flow_rate=5e-5)
/// >>> print(f"{made.amount_fraction['methanol']:.3f} {made.feeds.volume_flow_rate[1] * 60e6:.4f} mL/min")
/// 0.100 0.2798 mL/min
#[pyfunction]
#[pyo3(signature = (feeds, *, basis, mass_flow_rate = None, volume_flow_rate = None, model = "best"))]
pub fn blend_for(
    py: Python<'_>,
    feeds: &Bound<'_, PyMapping>,
    basis: &str,
    mass_flow_rate: Option<f64>,
    volume_flow_rate: Option<f64>,
    model: &str,
) -> Outcome<PyBlend> {
    let choice = model.parse()?;
    let basis = match basis {
        "mass" => BlendBasis::Mass,
        "amount" => BlendBasis::Amount,
        "volume" => BlendBasis::Volume,
        other => {
            let expected = "\"mass\", \"amount\" or \"volume\"";
            return Err(argument("basis", expected, format!("\"{other}\"")));
        }
    };
    let one = "mass_flow_rate or volume_flow_rate";
    let flow = match (mass_flow_rate, volume_flow_rate) {
        (Some(rate), None) => WholeFlow::Mass(rate),
        (None, Some(rate)) => WholeFlow::Volume(rate),
        (None, None) => return Err(argument("blend_for", one, "nothing")),
        (Some(_), Some(_)) => return Err(argument("blend_for", one, "both")),
    };
    let (mut heads, mut shares) = (Vec::new(), Vec::new());
    for (fluid, [share, temperature, pressure]) in read(feeds)? {
        shares.push(share);
        heads.push(Head {
            fluid,
            temperature,
            pressure,
        });
    }
    let feeds = enter(py, || feeds_for(&heads, &shares, basis, flow))?;
    PyBlend::of(py, feeds, choice)
}
