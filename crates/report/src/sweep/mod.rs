//! Cells of a sweep.

pub mod axes;
pub mod brief;
pub mod contour;
#[cfg(feature = "parquet")]
pub mod parquet;
pub mod parts;
pub mod picture;
pub mod rows;
pub mod text;
