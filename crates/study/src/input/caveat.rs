//! What a reader of a result should know besides its numbers.

use std::fmt;

use unladen_lap::{Course, Lap, LapError, Status};

/// A warning that belongs to a result, and what to do about it.
#[derive(Clone, Debug, PartialEq)]
pub enum Caveat {
    /// The gears of a circuit don't repeat from lap to lap.
    Unsettled,
    /// The profile asks for more than the car can do.
    Beyond {
        /// From where, m.
        s_m: f64,
    },
    /// The lap itself is known too coarsely for its derivatives to be trusted.
    Coarse {
        /// Numerical error of the lap time, s.
        error_s: f64,
    },
    /// A small step changes the sequence of gears, which the derivatives hold.
    Gears {
        /// The step: `1 kg more`.
        step: String,
        /// What the lap time does over that step, s.
        lap_s: f64,
        /// What the derivative says that it does, s.
        slope_s: f64,
    },
    /// A step of the size that somebody makes comes out otherwise than the slope says: a limit changes hands on the
    /// way.
    Bent {
        /// The step: `the centre of gravity 10 mm lower`.
        step: String,
        /// What the lap time does over that step, s.
        lap_s: f64,
        /// What the slope says that it does, s.
        slope_s: f64,
    },
    /// An uncertain number reaches to where the car doesn't get round on one side.
    OneSide {
        /// Its key.
        key: String,
        /// What happens there.
        why: Option<LapError>,
    },
    /// The same on both sides: no standard deviation can be given.
    NoSide {
        /// Its key.
        key: String,
    },
}

/// A lap time known no better than this says little about derivatives, s.
const COARSE_S: f64 = 0.01;

impl Caveat {
    /// What a lap's status and its error call for.
    pub fn of(course: &Course, lap: &Lap) -> Vec<Caveat> {
        let status = match lap.status {
            Status::Settled => None,
            Status::Unsettled => Some(Caveat::Unsettled),
            Status::Beyond { station } => Some(Caveat::Beyond { s_m: course.stations()[station] }),
        };
        let coarse = (lap.error > COARSE_S).then_some(Caveat::Coarse { error_s: lap.error });
        status.into_iter().chain(coarse).collect()
    }
}

impl fmt::Display for Caveat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Caveat::Unsettled => write!(
                f,
                "the gears of this circuit don't repeat from lap to lap: the time is that of one lap, and the next one \
                 differs by a little"
            ),
            Caveat::Beyond { s_m } => write!(
                f,
                "around {s_m:.0} m the lap asks for more than this car can do: what it can do there falls into parts (a \
                 wheel that lifts), or a shift takes away the drive that its grip needs; the lap time is about right at best"
            ),
            Caveat::Coarse { error_s } => write!(
                f,
                "the lap time is only known to {error_s:.3} s, and the numbers that follow from it as coarsely"
            ),
            Caveat::Gears { step, lap_s, slope_s } => write!(
                f,
                "{step} changes the sequence of gears: the lap changes by {lap_s:+.4} s there, and not by the \
                 {slope_s:+.4} s that the numbers above, which hold the gears, would give"
            ),
            Caveat::Bent { step, lap_s, slope_s } => write!(
                f,
                "{step}: a limit changes hands on the way, so that the lap changes by {lap_s:+.3} s, and not by the \
                 {slope_s:+.3} s that the numbers above would give"
            ),
            Caveat::OneSide { key, why: Some(why) } => write!(
                f,
                "one standard deviation of {key} reaches to where there is no lap ({why}): such cars are left out of the ±"
            ),
            Caveat::OneSide { key, why: None } => write!(
                f,
                "one standard deviation of {key} reaches beyond what is possible: such cars are left out of the ±"
            ),
            Caveat::NoSide { key } => {
                write!(f, "within one standard deviation of {key}, either way, there is no lap: no ± can be given")
            }
        }
    }
}
