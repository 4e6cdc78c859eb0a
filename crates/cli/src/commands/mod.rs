//! One command a file or folder.

pub mod check;
pub mod compare;
pub mod course;
pub mod fit;
pub mod keys;
pub mod lap;
pub mod ledger;
pub mod live;
pub mod moving;
pub mod new;
pub mod rank;
pub mod report;
pub mod reset;
pub mod schema;
pub mod shell;
pub mod sweep;
pub mod trial;
pub mod weigh;
pub mod worth;
