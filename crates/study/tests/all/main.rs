//! The studies against closed forms, known truth and properties that must hold.
#![allow(clippy::unwrap_used)]

mod builds;
mod common;
mod course;
mod course_limit;
mod coverage;
mod figures;
mod fit;
mod fit_coverage;
mod measure;
mod paired;
mod plain_draws;
mod rank;
mod retune;
mod sweep;
mod trial;
mod worth;
mod worth_spread;
