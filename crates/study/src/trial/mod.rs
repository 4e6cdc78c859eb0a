//! Trials: a predicted difference sealed before the laps, read from them, learnt from, and kept in a diary.

pub mod along;
pub mod diary;
pub mod fit;
pub mod laps;
pub mod learn;
pub mod made_day;
pub mod order;
pub mod power;
pub mod predict;
pub mod reading;
pub mod scatter;
pub mod verdict;
