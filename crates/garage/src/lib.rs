//! The files people edit: read with units, uncertainties and every fault at its place.
//!
//! [`read_car`] and [`read_track`] give a car and a track in SI, or all that is wrong with their files
//! ([`FileErrors::render`] underlines each value and says what would be right):
//!
//! ```
//! use unladen_garage::{Overrides, Source, Style, parse_car};
//!
//! let source = Source::new("car.toml", "schema = 1\nname = \"mine\"\n[mass]\ntotal = 1284\n");
//! let errors = parse_car(&source, &Overrides::none()).unwrap_err();
//! let text = errors.render(Style::PLAIN);
//! assert!(text.contains("a unit is due") && text.contains("write \"1284 kg\""), "{text}");
//! ```
//!
//! Texts go through pure functions ([`parse_car`], [`parse_track`]); only `io.rs` and `read.rs` touch the disk.

mod car;
mod check;
mod cross;
mod csv_file;
mod fault;
mod io;
mod keys;
mod ledger;
pub mod log;
mod measured;
mod plain;
mod read;
mod readings;
mod survey;
mod toml_file;
mod track;
pub mod trial;
pub mod unit;

pub use car::fitted::fitted_copy;
pub use car::loading::{Carried, Driver, Fuel, Loads};
pub use car::mass_block::set_values;
pub use car::shop::{Limits, Registered, Shop, Springs, Target};
pub use car::written::Written;
pub use car::{CarFile, Uncertainty, parse_car};
pub use check::{Checked, check, check_one};
pub use cross::{areas_outside, readings_differ};
pub use csv_file::dialect::Sheet;
pub use fault::axis::AxisProblem;
pub use fault::caution::Caution;
pub use fault::finding::{Explain, FileErrors, Finding, Located, Style, Warning};
pub use fault::ledger_fault::LedgerFault;
pub use fault::slip::Slip;
pub use fault::source::{Place, Source};
pub use fault::trial_fault::TrialFault;
pub use fault::{Clash, Fault, FileProblem, SetProblem, Wrong};
pub use io::{Disk, Files, Memory, read_areas, read_car, read_ledger, read_sheet, read_text, read_track};
pub use keys::argument::{self, argument, position};
pub use keys::car::CAR;
pub use keys::ledger::{AREAS, Column, LEDGER};
pub use keys::readings::{FLUID, LEVEL, LIFT, READINGS};
pub use keys::shop::{ABOARD, SCALE};
pub use keys::track::TRACK;
pub use keys::{Key, Kind, Need, Span, Table, between, within};
pub use ledger::areas::{Area, Areas, parse_areas};
pub use ledger::edit::{Edit, Patch, add, done, find as find_row, not_done};
pub use ledger::undo::History;
pub use ledger::unlikely::{Size, unlikely};
pub use ledger::{FilledIn, Ledger, Turns, parse_ledger};
pub use measured::Measured;
pub use plain::{from_cell, name, plain, to_cell};
pub use read::Limit;
pub use readings::{PadReading, ReadingsFile, parse_readings};
pub use survey::{Ask, Survey, SurveyError, flying, look_at, self_crossings, survey, survey_telling};
pub use toml_file::axis::{AxisTyped, axis};
pub use toml_file::schema::{car_schema, readings_schema, track_schema};
pub use toml_file::set::Overrides;
pub use track::geo::{GeoError, GeoFormat, GeoLine, read_geo};
pub use track::text::{TrackText, segments_csv};
pub use track::{TrackFile, parse_track};
pub use unit::date::{day, written};
pub use unit::near::{listed, nearest};
