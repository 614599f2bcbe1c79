//! Tables of results: named columns of words or of numbers in SI units.

use densepath::Quantity;
use numpy::PyArray1;
use pyo3::exceptions::{PyAttributeError, PyIndexError, PyKeyError};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyIterator, PyList, PyTuple};

use crate::pickle::{Reduced, reduced};

/// One column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    name: String,
    cells: Cells,
}

#[derive(Debug, Clone)]
enum Cells {
    Words(Vec<String>),
    Numbers { unit: String, values: Vec<f64> },
}

impl PartialEq for Cells {
    /// Bit by bit, so that a cell without a number equals itself.
    fn eq(&self, other: &Self) -> bool {
        match (self, other) {
            (Cells::Words(own), Cells::Words(others)) => own == others,
            (
                Cells::Numbers { unit, values },
                Cells::Numbers {
                    unit: other_unit,
                    values: others,
                },
            ) => {
                unit == other_unit
                    && values
                        .iter()
                        .map(|v| v.to_bits())
                        .eq(others.iter().map(|v| v.to_bits()))
            }
            _ => false,
        }
    }
}

impl Column {
    /// A column of words.
    pub fn words(name: &str, words: impl IntoIterator<Item = impl Into<String>>) -> Self {
        let cells = Cells::Words(words.into_iter().map(Into::into).collect());
        Self {
            name: name.to_owned(),
            cells,
        }
    }

    /// A column of a quantity; NaN where there is no value.
    pub fn numbers(quantity: Quantity, values: impl IntoIterator<Item = f64>) -> Self {
        Self::named(quantity.name(), quantity.unit(), values)
    }

    /// A column of numbers with a name of its own.
    pub fn named(name: &str, unit: &str, values: impl IntoIterator<Item = f64>) -> Self {
        let (unit, values) = (unit.to_owned(), values.into_iter().collect());
        Self {
            name: name.to_owned(),
            cells: Cells::Numbers { unit, values },
        }
    }

    fn len(&self) -> usize {
        match &self.cells {
            Cells::Words(words) => words.len(),
            Cells::Numbers { values, .. } => values.len(),
        }
    }

    fn cell<'py>(&self, py: Python<'py>, row: usize) -> PyResult<Bound<'py, PyAny>> {
        let missing = || PyIndexError::new_err(format!("there is no row {row}"));
        match &self.cells {
            Cells::Words(words) => Ok(words
                .get(row)
                .ok_or_else(missing)?
                .into_pyobject(py)?
                .into_any()),
            Cells::Numbers { values, .. } => Ok(values
                .get(row)
                .ok_or_else(missing)?
                .into_pyobject(py)?
                .into_any()),
        }
    }

    /// Words as a tuple, numbers as an array that cannot be written to.
    fn all<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        match &self.cells {
            Cells::Words(words) => Ok(PyTuple::new(py, words)?.into_any()),
            Cells::Numbers { values, .. } => {
                let array = PyArray1::from_slice(py, values).into_any();
                let fixed = PyDict::new(py);
                fixed.set_item("write", false)?;
                array.call_method("setflags", (), Some(&fixed))?;
                Ok(array)
            }
        }
    }
}

/// A column as plain values, for a pickle: its name, and its words or its unit and numbers.
type Written = (String, Option<Vec<String>>, Option<(String, Vec<f64>)>);

/// Named columns of words or of numbers in SI units; immutable.
///
/// A column is an attribute and an item by its name: a tuple of words, or an array that cannot be written to, NaN where there
/// is no value. A row is an item by its place, or `row(name)` by the word in its first column, and is a dictionary.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> dp.Table("masses", [("name", ["loop"], None), ("mass", None, ("kg", [1e-6]))]).row("loop")
/// {'name': 'loop', 'mass': 1e-06}
#[pyclass(frozen, eq, from_py_object, module = "densepath", name = "Table")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyTable {
    title: String,
    columns: Vec<Column>,
}

impl PyTable {
    /// A table of columns of one length.
    pub fn of(title: &str, columns: Vec<Column>) -> Self {
        Self {
            title: title.to_owned(),
            columns,
        }
    }

    fn column(&self, name: &str) -> Option<&Column> {
        self.columns.iter().find(|column| column.name == name)
    }

    /// The column of this name, as its attribute gives it.
    pub fn get<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyAny>> {
        let missing = || PyKeyError::new_err(name.to_owned());
        self.column(name).ok_or_else(missing)?.all(py)
    }

    fn at<'py>(&self, py: Python<'py>, row: usize) -> PyResult<Bound<'py, PyAny>> {
        let dict = PyDict::new(py);
        for column in &self.columns {
            dict.set_item(&column.name, column.cell(py, row)?)?;
        }
        Ok(dict.into_any())
    }
}

#[pymethods]
impl PyTable {
    #[new]
    fn new(title: String, columns: Vec<Written>) -> Self {
        let column = |(name, words, numbers): Written| match (words, numbers) {
            (Some(words), _) => Column::words(&name, words),
            (None, Some((unit, values))) => Column::named(&name, &unit, values),
            (None, None) => Column::words(&name, Vec::<String>::new()),
        };
        Self {
            title,
            columns: columns.into_iter().map(column).collect(),
        }
    }

    /// str: What the table is about.
    #[getter]
    fn title(&self) -> &str {
        &self.title
    }

    /// tuple of str: Names of the columns.
    #[getter]
    fn columns<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.columns.iter().map(|column| &column.name))
    }

    /// dict of str: SI unit of each column of numbers.
    #[getter]
    fn units<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        for column in &self.columns {
            if let Cells::Numbers { unit, .. } = &column.cells {
                dict.set_item(&column.name, unit)?;
            }
        }
        Ok(dict)
    }

    /// The row whose first column holds a word.
    ///
    /// Parameters
    /// ----------
    /// name : str
    ///     The word, such as the name of a part.
    ///
    /// Returns
    /// -------
    /// dict
    ///     The cells by the names of their columns.
    ///
    /// Raises
    /// ------
    /// KeyError
    ///     If no row has this name.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> duties = dp.solve("tests/methods/packed.toml").duties
    /// >>> print(f"{duties.row('preheater')['heat_flow_rate']:.2f} W, {duties.row('preheater')['purpose']}")
    /// 2.04 W, heating
    fn row<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyAny>> {
        let names = self.columns.first().map(|column| &column.cells);
        let Some(Cells::Words(words)) = names else {
            return Err(PyKeyError::new_err(name.to_owned()));
        };
        match words.iter().position(|word| word == name) {
            Some(row) => self.at(py, row),
            None => Err(PyKeyError::new_err(format!(
                "no row \"{name}\"; there are {}",
                words.join(", ")
            ))),
        }
    }

    /// The columns as lists, by their names.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> dp.solve("tests/methods/packed.toml").duties.to_dict()["part"]
    /// ['pump', 'mixer', 'injector tube', 'preheater', 'regulator']
    pub fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        for column in &self.columns {
            match &column.cells {
                Cells::Words(words) => dict.set_item(&column.name, words)?,
                Cells::Numbers { values, .. } => dict.set_item(&column.name, values)?,
            }
        }
        Ok(dict)
    }

    /// The table as a `pandas.DataFrame`, with the SI units in `attrs["units"]`.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> frame = dp.solve("tests/methods/packed.toml").duties.to_pandas()
    /// >>> frame.shape, frame.attrs["units"]
    /// ((5, 3), {'heat_flow_rate': 'W'})
    fn to_pandas<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py()
            .import("densepath._present")?
            .call_method1("table_to_pandas", (slf,))
    }

    /// The table as an `xarray.Dataset`, one variable a column with its SI unit in `attrs["units"]`; the dimension bears the name of
    /// a first column of words that differ, else it is "row".
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> dataset = dp.solve("tests/methods/packed.toml").stations.to_xarray()
    /// >>> dataset.sizes["name"], dataset["density"].attrs["units"]
    /// (13, 'kg/m3')
    fn to_xarray<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py()
            .import("densepath._present")?
            .call_method1("table_to_xarray", (slf,))
    }

    fn _repr_html_<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py()
            .import("densepath._present")?
            .call_method1("table_to_html", (slf,))
    }

    fn __len__(&self) -> usize {
        self.columns.first().map_or(0, Column::len)
    }

    fn __getitem__<'py>(&self, key: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        let py = key.py();
        if let Ok(name) = key.extract::<String>() {
            return self.get(py, &name);
        }
        let place: isize = key.extract()?;
        let row = if place < 0 {
            self.__len__().checked_add_signed(place)
        } else {
            usize::try_from(place).ok()
        };
        self.at(
            py,
            row.ok_or_else(|| PyIndexError::new_err(format!("there is no row {place}")))?,
        )
    }

    fn __iter__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyIterator>> {
        let rows = (0..self.__len__()).map(|place| self.at(py, place));
        let rows: Vec<_> = rows.collect::<PyResult<_>>()?;
        PyList::new(py, rows)?.try_iter()
    }

    fn __getattr__<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyAny>> {
        let missing = || {
            PyAttributeError::new_err(format!(
                "the table \"{}\" has no column `{name}`",
                self.title
            ))
        };
        self.column(name).ok_or_else(missing)?.all(py)
    }

    fn __dir__(&self) -> Vec<String> {
        let own = [
            "title",
            "columns",
            "units",
            "row",
            "to_dict",
            "to_pandas",
            "to_xarray",
        ]
        .map(str::to_owned);
        own.into_iter()
            .chain(self.columns.iter().map(|column| column.name.clone()))
            .collect()
    }

    fn __repr__(&self) -> String {
        let names: Vec<_> = self
            .columns
            .iter()
            .map(|column| column.name.as_str())
            .collect();
        format!(
            "Table(\"{}\", {} rows: {})",
            self.title,
            self.__len__(),
            names.join(", ")
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, (String, Vec<Written>)> {
        let write = |column: &Column| match column.cells.clone() {
            Cells::Words(words) => (column.name.clone(), Some(words), None),
            Cells::Numbers { unit, values } => (column.name.clone(), None, Some((unit, values))),
        };
        reduced(
            py,
            "Table",
            (self.title.clone(), self.columns.iter().map(write).collect()),
        )
    }
}
