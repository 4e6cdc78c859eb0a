//! Why there is no lap.

use thiserror::Error;

/// Why there is no lap, and where.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum LapError {
    /// No speed, however low, lets the tyres hold the road here, or the car rolls over at all of them.
    #[error("no speed is possible {}: the tyres cannot hold this bank, or the car rolls over", at(*s_m, place))]
    NoSpeed {
        /// Distance from the start, m.
        s_m: f64,
        /// Name of the place, where the track gives one.
        place: Option<String>,
    },
    /// The speeds that hold here are not connected, and what was found jumps from one part to another.
    #[error(
        "no lap was found: {} the speeds that this car can hold seem to fall into parts that it cannot drive between (a wheel that \
         lifts, a bank that holds only at speed); look at CG height, track widths and differentials, or at the road there",
        at(*s_m, place)
    )]
    Torn {
        /// Distance from the start, m.
        s_m: f64,
        /// Name of the place, where the track gives one.
        place: Option<String>,
    },
    /// The car comes to rest.
    #[error("the car comes to rest {}: grip or power does not suffice for the slope", at(*s_m, place))]
    Stalls {
        /// Distance from the start, m.
        s_m: f64,
        /// Name of the place, where the track gives one.
        place: Option<String>,
    },
    /// It cannot move off from a standing start.
    #[error("the car cannot move off: neither first gear nor grip suffices for the slope at the start")]
    CannotMoveOff,
    /// The start speed of an open course cannot be held.
    #[error(
        "start_speed {:.1} km/h is more than the road ahead allows: at most {:.1} km/h",
        start_mps * 3.6,
        most_mps * 3.6
    )]
    StartTooFast {
        /// Start speed asked for, m/s.
        start_mps: f64,
        /// The highest that could be held, m/s.
        most_mps: f64,
    },
}

fn at(s_m: f64, place: &Option<String>) -> String {
    match place {
        Some(place) => format!("{s_m:.0} m from the start ({place})"),
        None => format!("{s_m:.0} m from the start"),
    }
}
