//! The lap: feasible accelerations, the time-optimal profile, its trace and its derivatives (`model.md` §§7, 8).

pub mod arc;
pub mod brake;
mod ceiling;
pub mod drive;
mod edge;
pub mod lap;
pub mod mesh;
mod pull;
pub mod replay;
mod tableau;
mod trace;

pub use trace::{Limit, Row};

pub use lap::{Failure, Solved, solve};
pub use mesh::{Halving, Mesh};
