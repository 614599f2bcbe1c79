//! Results as frozen classes: the fields with their units in one table make the getters, the dictionary, the line of text, the
//! table of HTML and the pickle.

use densepath::Notice;
use densepath::fluid::error::significant;
use pyo3::prelude::*;
use pyo3::types::PyTuple;

use crate::notice::PyNotice;
use crate::state::PyState;
use crate::table::PyTable;

/// A number that there is: what has none in the core is `None` in Python.
pub fn finite(value: f64) -> Option<f64> {
    Some(value).filter(|value| value.is_finite())
}

/// What a field of a result can hold.
pub trait Field {
    /// The value in words with its unit, if it fits in a line.
    fn told(&self, unit: &str) -> Option<String>;

    /// The value as Python's own types.
    fn plain<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>>;
}

impl Field for f64 {
    fn told(&self, unit: &str) -> Option<String> {
        let number = significant(*self);
        Some(if unit.is_empty() || unit == "1" {
            number
        } else {
            format!("{number} {unit}")
        })
    }

    fn plain<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(self.into_pyobject(py)?.into_any())
    }
}

impl Field for Option<f64> {
    fn told(&self, unit: &str) -> Option<String> {
        self.as_ref()?.told(unit)
    }

    fn plain<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(self.into_pyobject(py)?)
    }
}

impl Field for Option<u32> {
    fn told(&self, _unit: &str) -> Option<String> {
        self.as_ref().map(ToString::to_string)
    }

    fn plain<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(self.into_pyobject(py)?)
    }
}

impl Field for Option<String> {
    fn told(&self, unit: &str) -> Option<String> {
        self.as_ref()?.told(unit)
    }

    fn plain<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(self.into_pyobject(py)?)
    }
}

impl Field for bool {
    fn told(&self, _unit: &str) -> Option<String> {
        Some(if *self { "True" } else { "False" }.to_owned())
    }

    fn plain<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(self.into_pyobject(py)?.to_owned().into_any())
    }
}

impl Field for usize {
    fn told(&self, _unit: &str) -> Option<String> {
        Some(self.to_string())
    }

    fn plain<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(self.into_pyobject(py)?.into_any())
    }
}

impl Field for String {
    fn told(&self, _unit: &str) -> Option<String> {
        Some(format!("\"{self}\""))
    }

    fn plain<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(self.into_pyobject(py)?.into_any())
    }
}

impl Field for PyState {
    fn told(&self, _unit: &str) -> Option<String> {
        None
    }

    fn plain<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(self.to_dict(py)?.into_any())
    }
}

impl Field for PyTable {
    fn told(&self, _unit: &str) -> Option<String> {
        None
    }

    fn plain<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(self.to_dict(py)?.into_any())
    }
}

/// Parts of one kind: a tuple in Python.
#[derive(Debug, Clone, PartialEq)]
pub struct Several<T>(pub Vec<T>);

/// Doubts and cautions of a result.
pub type Notices = Several<PyNotice>;

impl From<&[Notice]> for Notices {
    fn from(notices: &[Notice]) -> Self {
        Self(notices.iter().map(PyNotice::from).collect())
    }
}

impl<'py, T: IntoPyObject<'py>> IntoPyObject<'py> for Several<T> {
    type Target = PyTuple;
    type Output = Bound<'py, PyTuple>;
    type Error = PyErr;

    fn into_pyobject(self, py: Python<'py>) -> PyResult<Self::Output> {
        PyTuple::new(py, self.0)
    }
}

impl<'a, 'py, T: FromPyObjectOwned<'py>> FromPyObject<'a, 'py> for Several<T> {
    type Error = PyErr;

    fn extract(object: Borrowed<'a, 'py, PyAny>) -> PyResult<Self> {
        object.extract().map(Self)
    }
}

impl<T: Field> Field for Several<T> {
    fn told(&self, _unit: &str) -> Option<String> {
        (!self.0.is_empty()).then(|| self.0.len().to_string())
    }

    fn plain<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let parts = self.0.iter().map(|part| part.plain(py));
        Ok(PyTuple::new(py, parts.collect::<PyResult<Vec<_>>>()?)?.into_any())
    }
}

/// A part of another result.
macro_rules! nested {
    ($type:ty) => {
        impl $crate::record::Field for $type {
            fn told(&self, _unit: &str) -> Option<String> {
                None
            }

            fn plain<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
                Ok(self.to_dict(py)?.into_any())
            }
        }
    };
}

/// The section of examples of a documentation: lines of Python and what the last of them shows; where that is given in parts, the
/// last line shows it as it is, or by a format.
macro_rules! example {
    ([$($line:expr),*] [$($shown:expr),*] as $format:literal = $value:literal) => {
        $crate::record::example!([$($line,)* concat!("print(f\"{", $($shown,)* ":", $format, "}\")")] = $value)
    };
    ([$($line:expr),*] [$($shown:expr),*] = $value:literal) => {
        $crate::record::example!([$($line,)* concat!($($shown),*)] = $value)
    };
    ([$($line:expr),*] = $value:literal) => {
        concat!("\nExamples\n--------\n>>> import densepath as dp\n", $(">>> ", $line, "\n",)* $value)
    };
}

/// A frozen class of a result.
///
/// Between its name and its fields stands what makes an example of the class and of its `to_dict`: lines of Python, the last of
/// which makes the result, a field of it, how that is written where it is a number, and what is seen:
/// `from "..." "flow = ..." shows flow.mass_flow_rate as ".4g" = "1.234e-05"`, or `shows flow.is_choked = "True"`.
macro_rules! record {
    (
        $(#[doc = $doc:literal])* $type:ident $name:literal
        from $($line:literal)+ shows $made:ident.$field:ident$(.$part:ident)* $(as $format:literal)? = $value:literal
        $fields:tt
    ) => {
        $crate::record::record! {
            @class
            [
                $(#[doc = $doc])*
                #[doc = $crate::record::example!(
                    [$($line),+] [stringify!($made), ".", stringify!($field) $(, ".", stringify!($part))*]
                    $(as $format)? = $value
                )]
            ]
            [
                #[doc = $crate::record::example!(
                    [$($line),+] [stringify!($made), ".to_dict()['", stringify!($field), "']" $(, "['", stringify!($part), "']")*]
                    $(as $format)? = $value
                )]
            ]
            $type $name $fields
        }
    };
    ($(#[doc = $doc:literal])* $type:ident $name:literal $fields:tt) => {
        $crate::record::record! { @class [$(#[doc = $doc])*] [] $type $name $fields }
    };
    (@class [$($class:tt)*] [$($dict:tt)*] $type:ident $name:literal {
        $($(#[doc = $field_doc:literal])* $field:ident: $kind:ty [$unit:literal],)*
    }) => {
        $($class)*
        #[pyclass(frozen, eq, from_py_object, module = "densepath", name = $name)]
        #[derive(Debug, Clone, PartialEq)]
        pub struct $type {
            $($(#[doc = $field_doc])* #[pyo3(get)] pub $field: $kind,)*
        }

        #[pymethods]
        impl $type {
            #[new]
            #[allow(clippy::too_many_arguments, reason = "the fields, for a pickle")]
            #[pyo3(signature = ($($field),*))]
            fn new($($field: $kind),*) -> Self {
                Self { $($field),* }
            }

            /// dict of str: SI unit of each field that is a number.
            #[getter]
            fn units<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
                let dict = PyDict::new(py);
                $(if !$unit.is_empty() {
                    dict.set_item(stringify!($field), $unit)?;
                })*
                Ok(dict)
            }

            /// The fields by their names, as plain values.
            $($dict)*
            pub fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
                let dict = PyDict::new(py);
                $(dict.set_item(stringify!($field), $crate::record::Field::plain(&self.$field, py)?)?;)*
                Ok(dict)
            }

            fn _repr_html_<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
                slf.py().import("densepath._present")?.call_method1("record_to_html", (slf,))
            }

            fn __repr__(&self) -> String {
                let told: Vec<String> = [
                    $((stringify!($field), $crate::record::Field::told(&self.$field, $unit)),)*
                ]
                .into_iter()
                .filter_map(|(name, told)| Some(format!("{name} = {}", told?)))
                .collect();
                format!("{}({})", $name, told.join(", "))
            }

            fn __reduce__<'py>(&self, py: Python<'py>) -> $crate::pickle::Reduced<'py, ($($kind,)*)> {
                $crate::pickle::reduced(py, $name, ($(self.$field.clone(),)*))
            }
        }
    };
}

pub(crate) use {example, nested, record};

nested!(PyNotice);
