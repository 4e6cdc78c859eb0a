//! From a difference to a word that somebody can act on.

use crate::uncertainty::spread::Difference;

/// What a change is worth in lap time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Call {
    /// The 90 % interval is all gain, and reaches what a stopwatch shows.
    WorthIt,
    /// It is all loss, and reaches what a stopwatch shows.
    Costs,
    /// All of the interval, either way, is less than what a stopwatch shows.
    NotInLapTime,
    /// The interval holds gain and loss, and one of them could be seen.
    TooClose,
}

/// Which way a difference goes, however small it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// All of the 90 % interval is a gain.
    Gain,
    /// All of it is a loss.
    Loss,
    /// It holds both: an open question.
    Open,
}

impl Way {
    /// Of a difference; `error_s`: the numerical error.
    pub fn of(gain: &Difference, error_s: f64) -> Self {
        let [low, high] = gain.interval;
        match (low > error_s, high < -error_s) {
            (true, _) => Way::Gain,
            (_, true) => Way::Loss,
            _ => Way::Open,
        }
    }

    /// Its key in JSON.
    pub fn key(self) -> &'static str {
        match self {
            Way::Gain => "gain",
            Way::Loss => "loss",
            Way::Open => "open",
        }
    }
}

impl Call {
    /// Of a difference; `visible_s` is the least that the stopwatch shows, `error_s` the numerical error.
    pub fn of(gain: &Difference, error_s: f64, visible_s: f64) -> Self {
        let [low, high] = [gain.interval[0] - error_s, gain.interval[1] + error_s];
        if low > -visible_s && high < visible_s {
            Call::NotInLapTime
        } else if low > 0.0 {
            Call::WorthIt
        } else if high < 0.0 {
            Call::Costs
        } else {
            Call::TooClose
        }
    }

    /// Its key in JSON.
    pub fn key(self) -> &'static str {
        match self {
            Call::WorthIt => "worth_it",
            Call::Costs => "costs",
            Call::NotInLapTime => "not_in_lap_time",
            Call::TooClose => "too_close_to_call",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::uncertainty::spread::How;

    fn between(low: f64, high: f64) -> Difference {
        let gain = 0.5 * (low + high);
        let (how, shares, interval) = (How::FirstOrder, Vec::new(), [low, high]);
        Difference { of: 0, against: 1, gain, median: gain, interval, sd: 0.1, chance: 0.5, how, shares }
    }

    /// A loss that no stopwatch shows is a loss all the same.
    #[test]
    fn closed_form_a_sure_loss_is_no_open_question() {
        let of = |low: f64, high: f64| (Call::of(&between(low, high), 0.01, 0.2), Way::of(&between(low, high), 0.01));
        assert_eq!(of(-0.1, -0.02), (Call::NotInLapTime, Way::Loss));
        assert_eq!(of(-0.1, 0.1), (Call::NotInLapTime, Way::Open));
        assert_eq!(of(0.02, 0.1), (Call::NotInLapTime, Way::Gain));
        assert_eq!(of(0.005, 0.1), (Call::NotInLapTime, Way::Open));
    }

    #[test]
    fn closed_form_words_of_intervals() {
        let of = |low: f64, high: f64| Call::of(&between(low, high), 0.01, 0.2);
        assert_eq!(of(0.1, 0.5), Call::WorthIt);
        assert_eq!(of(0.25, 0.5), Call::WorthIt);
        assert_eq!(of(-0.5, -0.1), Call::Costs);
        assert_eq!(of(-0.1, 0.1), Call::NotInLapTime);
        assert_eq!(of(0.05, 0.15), Call::NotInLapTime);
        assert_eq!(of(-0.1, 0.3), Call::TooClose);
        assert_eq!(of(-0.3, 0.1), Call::TooClose);
        // Within the numerical error of no gain, and of what is visible.
        assert_eq!(of(0.005, 0.5), Call::TooClose);
        assert_eq!(of(0.05, 0.195), Call::WorthIt);
    }
}
