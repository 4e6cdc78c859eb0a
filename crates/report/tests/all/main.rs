//! Pictures, tables and files of answers.
#![allow(clippy::unwrap_used)]

mod garage;
mod labels;
mod pictures;
mod rank;
mod sweep;
