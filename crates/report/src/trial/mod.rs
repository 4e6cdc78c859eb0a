//! Trials: a plan, its run sheet, what the laps said, the diary.

pub mod diary_text;
pub mod json;
pub mod learnt;
pub mod picture;
pub mod plan_text;
pub mod read_text;
pub mod reliability;
pub(crate) mod words;
