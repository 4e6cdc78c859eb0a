//! Questions about a car, from files or texts to typed answers.
//!
//! A room a question. Each has a `Question` (which files, which values are set, what is asked for), which is read
//! ([`read`]) into something ready, with every fault of every file at once and with what is unlikely in them; and that
//! is answered: an `Answer` owns all that it says, warnings included. Nothing is printed here and nothing is drawn. The
//! disk is only reached through [`Files`], so that a page or a program can ask about texts that it holds in memory
//! ([`Memory`]).

mod advice;
pub mod check;
pub mod compare;
pub mod course;
mod error;
pub mod estimate;
pub mod fit;
pub mod keys;
pub mod lap;
pub mod ledger;
mod logged;
pub mod new;
pub mod planned;
pub mod rank;
pub mod read;
pub mod relocate;
pub mod report;
pub mod reset;
pub mod roads;
pub mod schema;
pub mod stands;
pub mod sweep;
pub mod trial;
pub mod weigh;
pub mod worth;
mod write;

pub use advice::advised;
pub use error::{AskError, Asked, Failure, Kind, NoResult};
pub use logged::{LoggedError, Unmade};
pub use read::Reader;
pub use read::scene::{Inputs, Scene};
pub use unladen_garage::{Disk, Files, Limit, Memory, Warning};
pub use write::ToWrite;
