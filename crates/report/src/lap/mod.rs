//! A lap: its rows, places, pictures, text and JSON.

pub mod answer;
pub mod brief;
pub mod delta;
pub mod gain_map;
pub mod gg;
pub mod json;
pub mod map;
pub(crate) mod map_road;
pub mod plan;
pub mod speed;
pub mod strip;
pub mod text;
pub mod trace;

pub use unladen_track::place;
