//! What people and machines get to see: pictures, tables, CSV and JSON. No physics.
//!
//! Results come in as plain data and leave as text or as a [`picture::Picture`]; [`write::write_whole`] and
//! [`picture::save_plot`] put them into files, whole or not at all.
//!
//! * Data: [`trace::LapTrace`] (a solved lap), [`place::Place`] (named corners and straights), [`worth::Worth`].
//! * One page of all of it: [`page`].
//! * Text: [`lap_text`], [`lap_out`], [`worth_text`], [`worth_out`], on [`table`] and [`number`].
//! * Pictures: [`speed`], [`map`], [`gain_map`], [`pair`], [`curve`], [`kilogram`], [`gg`], [`waterfall`], [`burn`], [`contour`]. They share one look ([`look`], [`header`], [`labels`], [`place_labels`], [`strip`],
//!   [`delta`]) and are drawn on [`svg::Canvas`]; [`frame`] draws axes and curves on it through plotters ([`backend`]), [`png`]
//!   makes pixels of the same SVG. All text is outlines of an embedded [`font`]: no picture needs one on the reader's machine.
//!
//! ```
//! use unladen_lap::{Limit, Row};
//! use unladen_report::lap_out::LapSummary;
//! use unladen_report::speed::{SpeedPlot, speed_picture};
//! use unladen_report::trace::LapTrace;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let row = |s: f64, t: f64, v: f64, limit| Row { s, t, v, a_x: 0.0, a_y: 0.0, gear: 2, limit, load: [3000.0; 4] };
//! let rows = [row(0.0, 0.0, 20.0, Limit::Power), row(100.0, 4.0, 30.0, Limit::Braking), row(150.0, 6.0, 20.0, Limit::FrontGrip)];
//! let lap = LapTrace { name: "my car", rows: &rows, length_m: 200.0, lap_time_s: 8.5, lap_time_error_s: 2e-4 };
//!
//! let picture = speed_picture(&SpeedPlot { track: "my track", places: &[], laps: &[lap] })?;
//! assert_eq!(picture.title, "Power rules 47 % of the lap, front grip 29 %");
//! assert!(LapSummary::of(&lap, &[]).json()?.contains("\"lap_time_s\": 8.5"));
//! # Ok(())
//! # }
//! ```

pub mod backend;
pub mod body;
mod body_open;
pub mod budget_out;
pub mod budget_text;
pub mod burn;
pub mod colour;
pub mod compare_out;
pub mod compare_parts;
pub mod compare_text;
pub mod contour;
pub mod course;
pub mod course_out;
pub mod crossover_plot;
pub mod curve;
pub mod delta;
pub mod field;
pub mod fit;
pub mod fit_out;
pub mod fit_text;
pub mod font;
pub mod frame;
pub mod gain_map;
pub mod gg;
pub mod header;
pub mod items;
pub mod kilogram;
pub mod labels;
pub mod lap_out;
pub mod lap_text;
pub mod lens;
pub mod look;
pub mod map;
pub mod map_key;
mod map_road;
pub mod move_out;
pub mod move_plot;
pub mod move_text;
pub mod number;
pub mod page;
pub mod pair;
pub mod partial;
pub mod pick_text;
pub mod picture;
pub mod place;
pub mod place_labels;
pub mod plan;
pub mod png;
pub mod rank_out;
pub mod rank_plot;
mod rank_sure;
pub mod rank_text;
pub mod reconcile_text;
pub mod reset_plot;
pub mod reset_text;
pub mod speed;
pub mod strip;
pub mod sure;
pub mod svg;
#[cfg(feature = "parquet")]
pub mod sweep_parquet;
pub mod sweep_plot;
pub mod sweep_rows;
pub mod sweep_text;
pub mod table;
mod thin;
pub mod ticks;
pub mod trace;
pub mod tuned;
pub mod waterfall;
pub mod weigh_plot;
pub mod weigh_text;
pub mod worth;
pub mod worth_out;
pub mod worth_text;
pub mod write;
