//! What people and machines get to see: pictures, tables, CSV and JSON. No physics.
//!
//! Results come in as plain data and leave as text or as a [`draw::picture::Picture`];
//! [`files::write::write_whole`] and [`draw::picture::save_plot`] put them into files, whole or not at all.
//!
//! * Data: [`lap::trace::LapTrace`] (a solved lap), [`lap::place::Place`] (named corners and straights),
//!   `unladen_study::Worth`.
//! * One page of all of it: [`page`].
//! * Text: [`lap::text`], [`lap::json`], [`worth::text`], [`worth::json`], on [`words::table`] and [`words::number`].
//! * Pictures: [`lap::speed`], [`lap::map`], [`lap::gain_map`], [`pair`], [`worth::curve`], [`worth::kilogram`],
//!   [`lap::gg`], [`ledger::waterfall`], [`ledger::burn`], [`sweep::contour`]. They share one look ([`draw::look`],
//!   [`draw::header`], [`draw::labels`], [`draw::place_labels`], [`lap::strip`], [`lap::delta`]) and are drawn on
//!   [`draw::svg::Canvas`]; [`draw::frame`] draws axes and curves on it through plotters ([`draw::backend`]),
//!   [`draw::png`] makes pixels of the same SVG. Text is text, in an embedded [`draw::measure::font`] that files and pages bring
//!   along; each is laid out for the paper that it gets ([`draw::look::Paper`]), and in a page follows its scheme
//!   ([`draw::theme`]).
//!
//! ```
//! use unladen_lap::{Limit, Row};
//! use unladen_report::draw::look::Paper;
//! use unladen_report::lap::json::LapSummary;
//! use unladen_report::lap::speed::{SpeedPlot, speed_picture};
//! use unladen_report::lap::trace::LapTrace;
//! use unladen_study::Along;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let row = |s: f64, t: f64, v: f64, limit| Row { s, t, v, a_x: 0.0, a_y: 0.0, gear: 2, limit, load: [3000.0; 4] };
//! let rows = [
//!     row(0.0, 0.0, 20.0, Limit::Power),
//!     row(100.0, 4.0, 30.0, Limit::Braking),
//!     row(150.0, 6.0, 20.0, Limit::FrontGrip),
//! ];
//! let lap = LapTrace { name: "my car", rows: &rows, length_m: 200.0, lap_time_s: 8.5, lap_time_error_s: 2e-4 };
//!
//! let picture = speed_picture(&SpeedPlot { track: "my track", places: &[], laps: &[lap] }, Paper::FILE)?;
//! assert_eq!(picture.title, "Power rules 47 % of the lap, front grip 29 %");
//! assert!(LapSummary::of(&lap, &[], &Along::default()).json()?.contains("\"lap_time_s\": 8.5"));
//! # Ok(())
//! # }
//! ```

pub mod check;
pub mod compare;
pub mod course;
pub mod draw;
pub mod files;
pub mod fit;
pub mod hold;
pub mod keys;
pub mod lap;
pub mod ledger;
pub mod page;
pub mod pair;
pub mod rank;
pub mod relocate;
pub mod reset;
pub mod sweep;
pub mod trial;
pub mod weigh;
pub mod words;
pub mod worth;
