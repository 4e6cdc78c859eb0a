//! Laps of a day as they were timed: which run, what was fitted, when, with how much fuel.

/// A lap that somebody says is no flying one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Mark {
    /// Nothing is said.
    #[default]
    Flying,
    /// From the pits.
    Out,
    /// To the pits.
    In,
}

/// A timed lap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimedLap {
    /// Between two stops, 0, 1, … in the order driven.
    pub run: usize,
    /// Lap of that run, 0, 1, … all counted.
    pub lap: usize,
    /// With the change.
    pub changed: bool,
    /// Driver, weather: whatever makes a level of its own, 0, 1, …
    pub block: usize,
    /// Which day, 0, 1, …: the track drifts within one.
    pub day: usize,
    /// Since the day's first lap, s.
    pub clock_s: f64,
    /// Fuel burnt since the fullest, kg.
    pub burnt_kg: f64,
    /// s.
    pub time_s: f64,
    /// What somebody says of it.
    pub mark: Mark,
}

/// Why a lap counts less than a whole one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Less {
    /// Marked an out-lap, or the first of its run and slower than the run by more than [`SLOWER`].
    Out,
    /// Marked an in-lap, or the last of its run and as slow.
    In,
    /// So many standard deviations off the others: positive slower.
    Off(f64),
}

/// A lap that counts less.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lesser {
    /// Which of the laps given.
    pub lap: usize,
    /// How much of it counts: 0 nothing.
    pub weight: f64,
    /// Why.
    pub why: Less,
}

/// The first and the last lap of a run are out- and in-lap where they are slower than the run's median by this share.
/// Judgement, no source: an in-lap loses more, a driver's scatter is less.
pub const SLOWER: f64 = 0.03;

/// Which laps fly, and why the others don't.
pub fn flying(laps: &[TimedLap]) -> (Vec<usize>, Vec<Lesser>) {
    let (mut kept, mut left) = (Vec::new(), Vec::new());
    let mut from = 0;
    while from < laps.len() {
        let to = from + laps[from..].iter().take_while(|l| l.run == laps[from].run).count();
        let mut times: Vec<f64> = laps[from..to].iter().map(|l| l.time_s).collect();
        times.sort_by(f64::total_cmp);
        let slow = times[(times.len() - 1) / 2] * (1.0 + SLOWER);
        // Of two laps neither says which is the usual one.
        let judged = to - from >= 3;
        for (i, lap) in laps.iter().enumerate().take(to).skip(from) {
            let why = match lap.mark {
                Mark::Out => Some(Less::Out),
                Mark::In => Some(Less::In),
                Mark::Flying if judged && i == from && lap.time_s > slow => Some(Less::Out),
                Mark::Flying if judged && i + 1 == to && lap.time_s > slow => Some(Less::In),
                Mark::Flying => None,
            };
            match why {
                Some(why) => left.push(Lesser { lap: i, weight: 0.0, why }),
                None => kept.push(i),
            }
        }
        from = to;
    }
    (kept, left)
}
