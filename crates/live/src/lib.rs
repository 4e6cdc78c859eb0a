//! The page that answers while one drags.
//!
//! A [`bench::Bench`] holds a car's files and some tracks and answers [`trial::Trial`]s: what is moved, switched on and
//! off, set. [`bench::Bench::frame`] laps the car once a track, with what a kilogram costs everywhere and pictures at the
//! width that there is; [`bench::Bench::settled`] says how sure that is, with the same figures as `unladen compare`. All
//! of it is the library of questions and the pictures of reports: nothing is computed or drawn twice.
//!
//! Built for `wasm32-unknown-unknown` it is the module that a page carries ([`page`], `module.sh`), called by name with
//! texts of JSON; built natively it is tested like any other crate.

pub mod bench;
pub mod controls;
#[cfg(target_arch = "wasm32")]
mod exports;
pub mod fault;
mod files;
pub mod held;
#[cfg(not(target_arch = "wasm32"))]
pub mod page;
pub mod trial;
