//! Why a study has no result.

use thiserror::Error;
use unladen_lap::LapError;

/// Why a study has no result.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum StudyError {
    /// No track to lap.
    #[error("no track is given")]
    NoTrack,
    /// A weight that is no share of anything.
    #[error("{track}: a weight of {weight}; it must be above 0 and finite")]
    Weight {
        /// The track.
        track: String,
        /// Its weight.
        weight: f64,
    },
    /// The car doesn't get round.
    #[error("{track}: {source}")]
    Lap {
        /// The track.
        track: String,
        /// Why not.
        source: LapError,
    },
    /// A lap was found, but its numbers mean nothing.
    #[error(
        "{track}: no lap time can be given: it comes out with an error as large as itself, or as standing still. The car can \
         hardly hold this road, or unladen fails on it"
    )]
    Unsound {
        /// The track.
        track: String,
    },
    /// A number that means nothing must not leave the program.
    #[error("{track}: {what} is not a finite number; this is a fault in unladen")]
    NotFinite {
        /// The track.
        track: String,
        /// Which number.
        what: &'static str,
    },
}
