//! The questions of `unladen`, asked from Python.
//!
//! A guest: `unladen-questions` answers, this crate converts. Files are read once and travel with the car or the track
//! as texts (`held`), so that a worker on another machine needs none of them. While Rust computes, the
//! interpreter's lock is released, and Ctrl-C is listened to (`work`). Tables leave by the Arrow C data interface
//! (`table`). Doc comments of what Python sees are its docstrings. The package around this module is in the folder
//! `python`, its types in `_native.pyi`. PyO3's macros write the `unsafe` of the C interface; here is none.

use pyo3::prelude::*;

mod ask;
mod car;
mod fault;
mod held;
mod table;
mod track;
mod value;
mod work;

/// What Python sees.
#[pymodule]
mod _native {
    #[pymodule_export]
    use crate::ask::answer::Answer;
    #[pymodule_export]
    use crate::ask::compare::compare;
    #[pymodule_export]
    use crate::ask::lap::Lap;
    #[pymodule_export]
    use crate::ask::rank::rank;
    #[pymodule_export]
    use crate::ask::relocate::relocate;
    #[pymodule_export]
    use crate::ask::slopes::Gradient;
    #[pymodule_export]
    use crate::ask::sweep::{Part, Sweep, sweep};
    #[pymodule_export]
    use crate::ask::trial::{diary, plan, read, seal};
    #[pymodule_export]
    use crate::ask::worth::worth;
    #[pymodule_export]
    use crate::car::{Car, read_car};
    #[pymodule_export]
    use crate::table::Table;
    #[pymodule_export]
    use crate::track::{Track, read_track};

    use super::*;

    /// For the test that a panic is an exception.
    #[pyfunction]
    fn _panic(py: Python<'_>) -> PyResult<()> {
        crate::work::short(py, || std::panic::panic_any("a panic that was asked for"))
    }

    #[pymodule_init]
    fn init(m: &Bound<'_, PyModule>) -> PyResult<()> {
        m.add("__version__", env!("CARGO_PKG_VERSION"))
    }
}
