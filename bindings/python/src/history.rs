//! A programmed run in time as a table.

use densepath::hardware::{carrier_of, share_beside};
use densepath::path::ProgramPoint;
use densepath::{Quantity, State};
use pyo3::prelude::*;

use crate::error::{Outcome, enter};
use crate::solution::PySolution;
use crate::table::{Column, PyTable};

#[pymethods]
impl PySolution {
    /// The run of a method with programs at each point of them, solved as a row of steady flows.
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
    ///     For a method without injector, solute and exactly one column.
    /// DensepathError
    ///     Those of `solve`, at any point of the program.
    fn program_history(&self, py: Python<'_>) -> Outcome<PyTable> {
        let points = enter(py, || self.method.programmed_run()?.history())?;
        let carrier = carrier_of(&self.method.path.fluid);
        let modifier = |state: &State| share_beside(state.fluid(), carrier).amount_fraction;
        let column = |name: &str, quantity: Quantity, of: &dyn Fn(&ProgramPoint) -> f64| {
            Column::named(name, quantity.unit(), points.iter().map(of))
        };
        let columns = vec![
            column("time", Quantity::Time, &|at| at.time),
            column("delivery_pressure", Quantity::Pressure, &|at| {
                at.delivery_pressure
            }),
            column("mass_flow_rate", Quantity::MassFlowRate, &|at| {
                at.mass_flow_rate
            }),
            column("inlet_temperature", Quantity::Temperature, &|at| {
                at.inlet.temperature()
            }),
            column("inlet_pressure", Quantity::Pressure, &|at| {
                at.inlet.pressure()
            }),
            column("inlet_density", Quantity::Density, &|at| at.inlet.density()),
            column("inlet_modifier", Quantity::AmountFraction, &|at| {
                modifier(&at.inlet)
            }),
            column("outlet_temperature", Quantity::Temperature, &|at| {
                at.outlet.temperature()
            }),
            column("outlet_pressure", Quantity::Pressure, &|at| {
                at.outlet.pressure()
            }),
            column("outlet_density", Quantity::Density, &|at| {
                at.outlet.density()
            }),
            column("outlet_modifier", Quantity::AmountFraction, &|at| {
                modifier(&at.outlet)
            }),
            column("stored_mass", Quantity::Mass, &|at| at.stored_mass),
            column("storage_mass_flow_rate", Quantity::MassFlowRate, &|at| {
                at.storage_mass_flow_rate
            }),
        ];
        Ok(PyTable::of("program", columns))
    }
}
