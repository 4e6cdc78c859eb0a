//! What somebody tries, as the page keeps it and as a link carries it.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// A trial, against the car as it is.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Trial {
    /// What sits elsewhere, and by how many mm back, right, up.
    pub moved: BTreeMap<String, [f64; 3]>,
    /// Rows of the ledger that are done as well, or somebody aboard.
    pub with: Vec<String>,
    /// The same that are not there.
    pub without: Vec<String>,
    /// Controls that are turned, by their ids.
    pub turned: BTreeMap<String, f64>,
    /// The same of the car that it is held against: somebody's own numbers. They go into both.
    pub own: BTreeMap<String, f64>,
}

impl Trial {
    /// Nothing is tried.
    pub fn is_nothing(&self) -> bool {
        Self { own: BTreeMap::new(), ..self.clone() } == Self::default()
    }
}

/// What is asked of a bench.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Ask {
    /// What is tried.
    pub trial: Trial,
    /// Width of the picture of the car and of that of the laps, px; nothing: not drawn.
    pub widths_px: [Option<f64>; 2],
    /// Of which track the laps are drawn.
    pub track: usize,
}
