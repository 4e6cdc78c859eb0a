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
//! Texts go through pure functions ([`parse_car`], [`parse_track`]); only `io.rs` touches the disk.

mod aboard;
mod areas;
mod car;
mod car_keys;
mod cells;
mod check;
mod date;
mod dialect;
mod drive_keys;
mod edit;
mod encoding;
mod fault;
mod finding;
mod geo;
mod io;
mod keys;
mod ledger;
mod ledger_fault;
mod ledger_keys;
mod loading;
pub mod log;
mod mass_block;
mod measured;
mod near;
mod nested;
mod plausibility;
mod presence;
mod readings;
mod readings_keys;
mod schema;
mod segments;
mod set;
mod shop;
mod shop_keys;
mod slips;
mod source;
mod survey;
mod track;
mod track_keys;
mod track_text;
mod tree;
mod typed;
mod undo;
mod unit_table;
pub mod units;

pub use areas::{Area, Areas, parse_areas};
pub use car::{CarFile, Uncertainty, parse_car};
pub use car_keys::CAR;
pub use check::{Checked, check};
pub use date::{day, written};
pub use dialect::Sheet;
pub use edit::{Edit, Patch, add, done, find as find_row, not_done};
pub use fault::{Clash, Fault, FileProblem, SetProblem, Wrong};
pub use finding::{Explain, FileErrors, Finding, Located, Style, Warning};
pub use geo::{GeoError, GeoFormat, GeoLine, read_geo};
pub use io::{LIMIT_MB, read_areas, read_car, read_ledger, read_sheet, read_text, read_track};
pub use keys::{Key, Kind, Need, Span, Table};
pub use ledger::{FilledIn, Ledger, Turns, parse_ledger};
pub use ledger_fault::LedgerFault;
pub use ledger_keys::{AREAS, Column, LEDGER};
pub use loading::{Driver, Fuel, Loads};
pub use mass_block::set_values;
pub use measured::Measured;
pub use near::nearest;
pub use plausibility::Caution;
pub use readings::{PadReading, ReadingsFile, parse_readings};
pub use readings_keys::{FLUID, LEVEL, LIFT, READINGS};
pub use schema::{car_schema, readings_schema, track_schema};
pub use set::Overrides;
pub use shop::{Limits, Registered, Shop, Springs, Target};
pub use shop_keys::SCALE;
pub use slips::{Size, Slip, slips};
pub use source::{Place, Source};
pub use survey::{Ask, Survey, SurveyError, look_at, survey};
pub use track::{TrackFile, parse_track};
pub use track_keys::TRACK;
pub use track_text::{TrackText, segments_csv};
pub use undo::History;
