//! How a car stands: as weighed, with another load, with what its ledger has done and plans.

pub mod coming;
pub mod load;
pub mod moved;
pub mod now;
pub mod rows;
pub mod standing;
pub mod state;
