//! The binary end to end: `unladen` run as a user runs it.
#![allow(clippy::unwrap_used)]

mod bad_input;
mod brief;
mod builds;
mod common;
mod course;
mod day_one;
mod demo;
mod examples;
mod formula_class;
mod garage;
mod independent;
mod lost;
mod one_car;
mod output;
mod rank;
mod report;
mod shards;
mod sweep;
mod trial;
