//! A table: columns that leave by the Arrow C data interface, and as arrays of NumPy.

use std::io::Cursor;
use std::sync::Arc;

use arrow_array::cast::AsArray;
use arrow_array::types::Float64Type;
use arrow_array::{Array, ArrayRef, Float64Array, RecordBatch, StringArray, StructArray};
use arrow_ipc::reader::StreamReader;
use arrow_ipc::writer::StreamWriter;
use arrow_schema::{ArrowError, DataType, Field, Schema};
use arrow_select::concat::concat_batches;
use pyo3::exceptions::{PyKeyError, PyValueError};
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyCapsule, PyDict, PyList, PyTuple};
use pyo3_arrow::buffer::PyArrowBuffer;
use pyo3_arrow::ffi::{ArrayIterator, to_schema_pycapsule, to_stream_pycapsule};

/// Rows that are shown.
const SHOWN: usize = 10;

/// Columns of one length, each under a name that carries its unit.
///
/// pandas, polars and pyarrow take it without a copy: `polars.DataFrame(table)`, `pyarrow.table(table)`,
/// `pandas.DataFrame.from_arrow(table)`. `table["v_mps"]` is an array of NumPy that shares its memory, read-only.
///
/// >>> import unladen
/// >>> car = unladen.read_car("vehicles/saloon-awd")
/// >>> track = unladen.read_track("tracks/airfield.toml")
/// >>> trace = car.lap(track).trace
/// >>> len(trace) == len(trace["v_mps"]) and not trace["v_mps"].flags.writeable
/// True
#[pyclass(frozen, module = "unladen")]
#[derive(Clone)]
pub struct Table(RecordBatch);

fn wrong(error: ArrowError) -> PyErr {
    PyValueError::new_err(error.to_string())
}

/// A column that is made.
pub enum Column {
    /// Numbers, of which some may be missing.
    Numbers(Vec<Option<f64>>),
    /// Numbers that are all there.
    All(Vec<f64>),
    /// Words.
    Words(Vec<String>),
}

impl Column {
    fn array(self) -> (DataType, bool, ArrayRef) {
        match self {
            Column::Numbers(values) => (DataType::Float64, true, Arc::new(Float64Array::from(values))),
            Column::All(values) => (DataType::Float64, false, Arc::new(Float64Array::from(values))),
            Column::Words(words) => (DataType::Utf8, false, Arc::new(StringArray::from(words))),
        }
    }
}

impl Table {
    /// Of these columns.
    ///
    /// # Errors
    /// Where their lengths differ.
    pub fn of<'a>(columns: impl IntoIterator<Item = (&'a str, Column)>) -> PyResult<Table> {
        let (mut fields, mut arrays) = (Vec::new(), Vec::new());
        for (name, column) in columns {
            let (kind, some_missing, array) = column.array();
            fields.push(Field::new(name, kind, some_missing));
            arrays.push(array);
        }
        RecordBatch::try_new(Arc::new(Schema::new(fields)), arrays).map(Table).map_err(wrong)
    }

    fn text(&self, column: usize, row: usize) -> String {
        let array = self.0.column(column);
        if array.is_null(row) {
            return String::new();
        }
        match array.data_type() {
            DataType::Float64 => array.as_primitive::<Float64Type>().value(row).to_string(),
            _ => array.as_string::<i32>().value(row).to_owned(),
        }
    }

    /// The first rows, for a notebook.
    pub fn html(&self, rows: usize) -> String {
        let cells = |tag: &str, all: Vec<String>| -> String {
            let all: String = all.iter().map(|text| format!("<{tag}>{}</{tag}>", escaped(text))).collect();
            format!("<tr>{all}</tr>")
        };
        let names = self.columns();
        let shown = (0..self.0.num_rows().min(rows))
            .map(|row| cells("td", (0..names.len()).map(|column| self.text(column, row)).collect()));
        let shown: String = shown.collect();
        let more = match self.0.num_rows().saturating_sub(rows) {
            0 => String::new(),
            more => format!("<caption>and {more} more rows</caption>"),
        };
        format!("<table>{more}{}{shown}</table>", cells("th", names))
    }
}

/// Text that may stand in HTML.
pub fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[pymethods]
impl Table {
    /// Names of its columns.
    #[getter]
    fn columns(&self) -> Vec<String> {
        self.0.schema().fields().iter().map(|f| f.name().clone()).collect()
    }

    fn __len__(&self) -> usize {
        self.0.num_rows()
    }

    fn __getitem__<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyAny>> {
        let array = self.0.column_by_name(name).ok_or_else(|| {
            PyKeyError::new_err(format!("{name}: no such column; there are {}", self.columns().join(", ")))
        })?;
        let numpy = py.import("numpy")?;
        if array.data_type() != &DataType::Float64 {
            let words = array.as_string::<i32>().iter().map(Option::unwrap_or_default);
            return numpy.call_method1("array", (PyList::new(py, words.collect::<Vec<_>>())?,));
        }
        let numbers = array.as_primitive::<Float64Type>();
        if numbers.is_empty() {
            return numpy.call_method1("empty", (0,));
        }
        let buffer = if numbers.null_count() == 0 {
            numbers.values().inner().clone()
        } else {
            let all: Vec<f64> = numbers.iter().map(|x| x.unwrap_or(f64::NAN)).collect();
            Float64Array::from(all).values().inner().clone()
        };
        numpy.call_method1("frombuffer", (PyArrowBuffer::new(buffer), "float64"))
    }

    /// Its columns as arrays, by name.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let all = PyDict::new(py);
        for name in self.columns() {
            all.set_item(&name, self.__getitem__(py, &name)?)?;
        }
        Ok(all)
    }

    #[pyo3(signature = (requested_schema=None))]
    fn __arrow_c_stream__<'py>(
        &self,
        py: Python<'py>,
        requested_schema: Option<Bound<'py, PyCapsule>>,
    ) -> PyResult<Bound<'py, PyCapsule>> {
        let field = Arc::new(Field::new_struct("", self.0.schema_ref().fields().clone(), false));
        let batch: ArrayRef = Arc::new(StructArray::from(self.0.clone()));
        let reader = ArrayIterator::new(std::iter::once(Ok(batch)), field);
        Ok(to_stream_pycapsule(py, Box::new(reader), requested_schema)?)
    }

    fn __arrow_c_schema__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyCapsule>> {
        Ok(to_schema_pycapsule(py, self.0.schema_ref().as_ref())?)
    }

    /// Tables of the same columns one below the other.
    ///
    /// >>> import unladen
    /// >>> car = unladen.read_car("vehicles/saloon-awd")
    /// >>> track = unladen.read_track("tracks/airfield.toml")
    /// >>> sweep = unladen.sweep(car, track, over={"mass": (1200, 1300, 4)})
    /// >>> whole = unladen.Table.concat([part.compute() for part in sweep.parts(2)])
    /// >>> whole == sweep.compute()
    /// True
    #[staticmethod]
    fn concat(py: Python<'_>, tables: Vec<Bound<'_, Table>>) -> PyResult<Table> {
        let batches: Vec<RecordBatch> = tables.iter().map(|table| table.get().0.clone()).collect();
        let first = batches.first().ok_or_else(|| PyValueError::new_err("no tables: at least one is due"))?;
        py.detach(|| concat_batches(first.schema_ref(), &batches)).map(Table).map_err(wrong)
    }

    /// As CSV; numbers in the fewest digits that read back as they are.
    fn to_csv(&self) -> PyResult<String> {
        let names = self.columns();
        let rows = (0..self.0.num_rows()).map(|row| (0..names.len()).map(|c| self.text(c, row)).collect::<Vec<_>>());
        let records: Vec<Vec<String>> = std::iter::once(names.clone()).chain(rows).collect();
        let bytes = unladen_report::sweep::rows::lines(records.iter().map(|r| &r[..]));
        Ok(String::from_utf8(bytes.map_err(|e| PyValueError::new_err(e.to_string()))?)?)
    }

    fn __eq__(&self, other: &Bound<'_, PyAny>) -> bool {
        other.cast::<Table>().is_ok_and(|other| self.0 == other.get().0)
    }

    fn __repr__(&self) -> String {
        format!("Table({} rows: {})", self.0.num_rows(), self.columns().join(", "))
    }

    fn _repr_html_(&self) -> String {
        self.html(SHOWN)
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyTuple>)> {
        let py = slf.py();
        let batch = &slf.get().0;
        let mut bytes = Vec::new();
        let mut out = StreamWriter::try_new(&mut bytes, batch.schema_ref()).map_err(wrong)?;
        out.write(batch).and_then(|()| out.finish()).map_err(wrong)?;
        drop(out);
        let args = PyTuple::new(py, [PyBytes::new(py, &bytes)])?;
        Ok((slf.get_type().getattr("_again")?, args))
    }

    #[staticmethod]
    fn _again(bytes: &[u8]) -> PyResult<Table> {
        let mut reader = StreamReader::try_new(Cursor::new(bytes), None).map_err(wrong)?;
        let schema = reader.schema();
        let batches = reader.by_ref().collect::<Result<Vec<_>, _>>().map_err(wrong)?;
        concat_batches(&schema, &batches).map(Table).map_err(wrong)
    }
}
