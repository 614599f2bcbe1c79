//! A programmed run in time as a table.

use densepath::hardware::{carrier_of, share_beside};
use densepath::path::{ColumnEnds, CyclePlan, ProgramPoint};
use densepath::{Quantity, State};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::error::{Outcome, enter};
use crate::record::record;
use crate::solution::{PySolution, PyStation};
use crate::table::{Column, PyTable};

record! {
    /// What runs that follow each other take and use up; immutable. Made by `Solution.cycle`.
    PyCycle "Cycle"
    from r#"solution = dp.solve("tests/methods/packed_modifier.toml")"#
        "cycle = solution.cycle(300.0, handling_time=30.0, equilibration_volumes=0.0)"
        shows cycle.runs_per_day as ".0f" = "262"
    {
        /// float: Time in s in which the mobile phase passes from where its last change is made, the joint of a modifier or the pump,
        /// through all parts that are no columns to the last column; of several ways to columns the one that takes longest counts.
        dwell_time: f64 ["s"],
        /// float: Hold-up time of the columns on that way in s.
        column_time: f64 ["s"],
        /// float: Time in s to bring the columns back to their start.
        equilibration_time: f64 ["s"],
        /// float: Time in s from one injection to the next.
        cycle_time: f64 ["s"],
        /// float: Runs in a day.
        runs_per_day: f64 ["1"],
        /// Table: What is used up, with `per_run` and `per_day` in the SI `unit` of each row: the mass of each substance, the gas let
        /// out, the heat of each part, negative where the fluid is cooled.
        uses: PyTable [""],
    }
}

#[pymethods]
impl PySolution {
    /// What runs that follow each other take and use up, by the program of the method where it has one.
    ///
    /// Parameters
    /// ----------
    /// run_time : float
    ///     Time in s from the injection to the end of the run.
    /// handling_time : float, keyword-only, optional
    ///     Time in s of what goes on between runs; 0 if not given.
    /// equilibration_volumes : float, keyword-only, optional
    ///     How many times the mobile phase of the columns is replaced before the next injection; 10 if not given (5 to 10: common practice,
    ///     no source), 0 where nothing has changed.
    ///
    /// Returns
    /// -------
    /// Cycle
    ///     Times, runs in a day, and what they use up. Between runs the settings of the start count.
    ///
    /// Raises
    /// ------
    /// DocumentError
    ///     For a method without column.
    /// DomainError
    ///     For a time not above zero, or negative values.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> cycle = dp.solve("tests/methods/packed.toml").cycle(240.0, equilibration_volumes=0.0)
    /// >>> print(f"{cycle.runs_per_day:.0f} runs use {cycle.uses.row('carbon dioxide')['per_day']:.2f} kg")
    /// 360 runs use 4.31 kg
    #[pyo3(signature = (run_time, *, handling_time = 0.0, equilibration_volumes = 10.0))]
    fn cycle(
        &self,
        py: Python<'_>,
        run_time: f64,
        handling_time: f64,
        equilibration_volumes: f64,
    ) -> Outcome<PyCycle> {
        let plan = CyclePlan {
            run_time,
            handling_time,
            equilibration_volumes,
        };
        let found = enter(py, || self.method.cycle(&plan))?;
        let uses = &found.uses;
        let columns = vec![
            Column::words("name", uses.iter().map(|used| used.what.as_str())),
            Column::named("per_run", "SI", uses.iter().map(|used| used.per_run)),
            Column::named("per_day", "SI", uses.iter().map(|used| used.per_day)),
            Column::words("unit", uses.iter().map(|used| used.quantity.unit())),
        ];
        Ok(PyCycle {
            dwell_time: found.dwell_time,
            column_time: found.column_time,
            equilibration_time: found.equilibration_time,
            cycle_time: found.cycle_time,
            runs_per_day: found.runs_per_day,
            uses: PyTable::of("uses", columns),
        })
    }

    /// Where, and in a run with programs when, the fluid comes nearest to a second phase between the pump and the part that holds the pressure.
    ///
    /// Each point of a program is taken as a steady flow: every station has the composition that the pumps make then, which reaches it later.
    ///
    /// Returns
    /// -------
    /// tuple of float and Station, or None
    ///     Time in s after the injection, 0 in steady flow, and the station, whose `single_phase_margin` is the distance in pressure and
    ///     whose `state` has the composition. None where no second phase appears at any pressure.
    ///
    /// Raises
    /// ------
    /// DocumentError
    ///     For a method with programs but without injector, solute and column.
    /// DensepathError
    ///     Those of `solve`, at any point of the program.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> from pathlib import Path
    /// >>> program = '[[program]]\npart = "modifier pump"\nkey = "volume_flow_rate"\ntime = ["0 min", "5 min"]\n'
    /// >>> program += 'value = ["0.05 mL/min", "0.6 mL/min"]\n'
    /// >>> text = Path("tests/methods/packed_modifier.toml").read_text(encoding="utf-8") + program
    /// >>> time, station = dp.solve(text).nearest_split()
    /// >>> print(f"{station.name}, {time:.0f} s: {station.single_phase_margin / 1e5:.1f} bar")
    /// regulator tube, 19 s: 69.6 bar
    fn nearest_split(&self, py: Python<'_>) -> Outcome<Option<(f64, PyStation)>> {
        let found = enter(py, || self.method.nearest_split())?;
        Ok(found.map(|nearest| (nearest.time, PyStation::from(&nearest.station))))
    }

    /// The run of a method with programs at each point of them, solved as a row of steady flows.
    ///
    /// Parameters
    /// ----------
    /// column : str, keyword-only, optional
    ///     Name of the column whose ends are told; the first of `columns` if not given.
    ///
    /// Returns
    /// -------
    /// Table
    ///     `time` in s after the injection, `delivery_pressure` in Pa, `mass_flow_rate` in kg/s of all pumps; temperature in K,
    ///     pressure in Pa, density in kg/m3 and amount fraction of modifier at the inlet and the outlet of the column, of the
    ///     composition that has reached it; `stored_mass` in kg between the pump and the part that holds the pressure, and
    ///     `storage_mass_flow_rate` in kg/s by which it rises from the point before. Where the latter is more than 5 % of the flow
    ///     (common practice, no source), steady flows do not describe the run, and the notices of its chromatogram say so.
    ///
    /// Raises
    /// ------
    /// DocumentError
    ///     For a method without injector, solute and column.
    /// ArgumentError
    ///     For the name of no column.
    /// DensepathError
    ///     Those of `solve`, at any point of the program.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> from pathlib import Path
    /// >>> program = '[[program]]\npart = "regulator"\nkey = "pressure"\ntime = ["0 min", "5 min"]\nvalue = ["150 bar", "180 bar"]\n'
    /// >>> history = dp.solve(Path("tests/methods/packed.toml").read_text(encoding="utf-8") + program).program_history()
    /// >>> [f"{pressure / 1e5:.1f} bar" for pressure in history.delivery_pressure[[0, -1]]]
    /// ['193.6 bar', '225.2 bar']
    #[pyo3(signature = (*, column = None))]
    fn program_history(&self, py: Python<'_>, column: Option<&str>) -> Outcome<PyTable> {
        let points = enter(py, || self.method.programmed_run()?.history())?;
        let first = points.first().and_then(|point| point.columns.first());
        let name = column.or(first.map(|ends| ends.column.as_str()));
        let ends = points
            .iter()
            .map(|point| point.ends_of(name.unwrap_or_default()));
        let ends: Vec<&ColumnEnds> = ends.collect::<densepath::Result<_>>()?;
        let carrier = carrier_of(&self.method.path.fluid);
        let of_run = |name: &str, quantity: Quantity, of: fn(&ProgramPoint) -> f64| {
            Column::named(name, quantity.unit(), points.iter().map(of))
        };
        let of_end = |end: &str, state: fn(&ColumnEnds) -> &State| {
            let column = |name: &str, quantity: Quantity, of: &dyn Fn(&State) -> f64| {
                let values = ends.iter().map(|ends| of(state(ends)));
                Column::named(&format!("{end}_{name}"), quantity.unit(), values)
            };
            [
                column("temperature", Quantity::Temperature, &State::temperature),
                column("pressure", Quantity::Pressure, &State::pressure),
                column("density", Quantity::Density, &State::density),
                column("modifier", Quantity::AmountFraction, &|state| {
                    share_beside(state.fluid(), carrier).amount_fraction
                }),
            ]
        };
        let before = [
            of_run("time", Quantity::Time, |at| at.time),
            of_run("delivery_pressure", Quantity::Pressure, |at| {
                at.delivery_pressure
            }),
            of_run("mass_flow_rate", Quantity::MassFlowRate, |at| {
                at.mass_flow_rate
            }),
        ];
        let behind = [
            of_run("stored_mass", Quantity::Mass, |at| at.stored_mass),
            of_run("storage_mass_flow_rate", Quantity::MassFlowRate, |at| {
                at.storage_mass_flow_rate
            }),
        ];
        let columns = before.into_iter();
        let columns = columns.chain(of_end("inlet", |ends| &ends.inlet));
        let columns = columns.chain(of_end("outlet", |ends| &ends.outlet));
        Ok(PyTable::of("program", columns.chain(behind).collect()))
    }
}
