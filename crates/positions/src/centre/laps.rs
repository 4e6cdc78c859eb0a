//! A drive cut into laps where it crosses a line, and the laps that are none taken out with a word.

use crate::centre::Run;

/// Where laps begin: across the track at a place, in one direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gate {
    /// Its middle, m.
    pub at: [f64; 2],
    /// Driving direction there, a unit vector.
    pub along: [f64; 2],
}

/// Reaches so far to each side, m.
pub const GATE_REACH: f64 = 30.0;

/// A crossing: between position `after` − 1 and `after`, at this share of the way.
#[derive(Clone, Copy, Debug)]
struct Crossing {
    after: usize,
    share: f64,
}

/// A lap of a drive.
#[derive(Clone, Debug)]
pub struct DrivenLap {
    /// Its positions; times count from the line.
    pub run: Run,
    /// Duration between the crossings, s; NaN without times.
    pub time_s: f64,
    /// From which position of the drive to which.
    pub range: std::ops::Range<usize>,
    /// Time of the crossing that starts it, in the drive's own time.
    pub from_s: f64,
    /// Why it is not used.
    pub fault: Option<LapFault>,
}

/// Why a lap is not used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LapFault {
    /// Too long or too short against the others.
    Length {
        /// Its length, m.
        length_m: f64,
        /// The laps' median, m.
        usual_m: f64,
    },
    /// Too slow against the others: an in- or out-lap, traffic, a spin.
    Slow {
        /// s.
        time_s: f64,
        /// The laps' median, s.
        usual_s: f64,
    },
    /// Positions are missing.
    Gap {
        /// For how long, s.
        seconds: f64,
    },
}

impl std::fmt::Display for LapFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            LapFault::Length { length_m, usual_m } => write!(f, "{length_m:.0} m long where laps have {usual_m:.0} m"),
            LapFault::Slow { time_s, usual_s } => write!(f, "{time_s:.1} s where laps take {usual_s:.1} s"),
            LapFault::Gap { seconds } => write!(f, "no positions for {seconds:.1} s"),
        }
    }
}

fn hop(a: [f64; 2], b: [f64; 2]) -> f64 {
    (b[0] - a[0]).hypot(b[1] - a[1])
}

impl Gate {
    /// Across the drive where it passes nearest to a place.
    pub fn at(run: &Run, place: [f64; 2]) -> Option<Gate> {
        let i = (1..run.points.len().saturating_sub(1))
            .min_by(|a, b| hop(run.points[*a], place).total_cmp(&hop(run.points[*b], place)))?;
        Gate::across(run, i)
    }

    /// Across the drive at one of its positions.
    fn across(run: &Run, i: usize) -> Option<Gate> {
        // Over some metres on both sides: noise turns a short chord.
        let back = (0..i).rev().find(|j| hop(run.points[*j], run.points[i]) > 12.0)?;
        let on = (i..run.points.len()).find(|j| hop(run.points[*j], run.points[i]) > 12.0)?;
        let (a, b) = (run.points[back], run.points[on]);
        let size = hop(a, b);
        (size > 1.0).then(|| Gate { at: run.points[i], along: [(b[0] - a[0]) / size, (b[1] - a[1]) / size] })
    }

    /// Where the drive is fastest in its middle part: on the longest straight, most likely.
    pub fn fastest(run: &Run) -> Option<Gate> {
        let n = run.points.len();
        if run.t.len() != n || n < 50 {
            return None;
        }
        let lag = 5.min(n / 10);
        let speed = |i: usize| {
            let dt = run.t[i + lag] - run.t[i - lag];
            if dt > 0.0 && dt < 20.0 { hop(run.points[i - lag], run.points[i + lag]) / dt } else { 0.0 }
        };
        let middle = (n / 4).max(lag)..(3 * n / 4).min(n - lag);
        let i = middle.max_by(|a, b| speed(*a).total_cmp(&speed(*b)))?;
        Gate::across(run, i)
    }

    fn crossings(&self, run: &Run) -> Vec<Crossing> {
        let ahead = |p: [f64; 2]| (p[0] - self.at[0]) * self.along[0] + (p[1] - self.at[1]) * self.along[1];
        let aside = |p: [f64; 2]| (p[1] - self.at[1]) * self.along[0] - (p[0] - self.at[0]) * self.along[1];
        let mut all: Vec<Crossing> = Vec::new();
        let mut gone = f64::INFINITY;
        for (i, w) in run.points.windows(2).enumerate() {
            gone += hop(w[0], w[1]);
            let (a, b) = (ahead(w[0]), ahead(w[1]));
            let share = if b > a { -a / (b - a) } else { 0.0 };
            let side = aside(w[0]) + share * (aside(w[1]) - aside(w[0]));
            // Noise can cross back and forth: after a crossing some way has to be driven.
            if a < 0.0 && b >= 0.0 && side.abs() <= GATE_REACH && gone > 3.0 * GATE_REACH {
                all.push(Crossing { after: i + 1, share });
                gone = 0.0;
            }
        }
        all
    }

    /// The drive's laps, each judged against the others.
    pub fn laps(&self, run: &Run) -> Vec<DrivenLap> {
        let crossings = self.crossings(run);
        let timed = run.t.len() == run.points.len();
        let time = |c: &Crossing| {
            if timed { run.t[c.after - 1] + c.share * (run.t[c.after] - run.t[c.after - 1]) } else { f64::NAN }
        };
        let mut laps: Vec<DrivenLap> = crossings
            .windows(2)
            .map(|w| {
                let range = w[0].after..w[1].after;
                let from = time(&w[0]);
                let part = |column: &[f64]| {
                    if column.len() == run.points.len() { column[range.clone()].to_vec() } else { vec![] }
                };
                let t = part(&run.t).into_iter().map(|t| t - from).collect();
                let run = Run { points: run.points[range.clone()].to_vec(), t, z: part(&run.z), turn: part(&run.turn) };
                DrivenLap { run, time_s: time(&w[1]) - from, range, from_s: from, fault: None }
            })
            .filter(|lap| lap.run.points.len() > 8)
            .collect();
        judge(&mut laps);
        laps
    }
}

fn median(mut all: Vec<f64>) -> f64 {
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or(f64::NAN)
}

/// Length over some positions at a time, so that noise adds little.
fn length(run: &Run) -> f64 {
    let every = (run.points.len() / 60).max(1);
    let coarse: Vec<_> = run.points.iter().step_by(every).collect();
    coarse.windows(2).map(|w| hop(*w[0], *w[1])).sum()
}

/// A lap may differ from the median in length by this share, and in time by that.
const LENGTH_SHARE: f64 = 0.05;
const TIME_SHARE: f64 = 0.12;
/// Longest gap in positions, s.
const GAP: f64 = 3.0;

fn judge(laps: &mut [DrivenLap]) {
    let usual_m = median(laps.iter().map(|l| length(&l.run)).collect());
    // Quick laps are the usual ones: the lower quartile, so that out-laps don't set the rule.
    let mut times: Vec<f64> = laps.iter().map(|l| l.time_s).filter(|t| t.is_finite()).collect();
    times.sort_by(f64::total_cmp);
    let usual_s = times.get(times.len() / 4).copied();
    for lap in laps {
        let length_m = length(&lap.run);
        let gap = lap.run.t.windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max);
        lap.fault = if (length_m / usual_m - 1.0).abs() > LENGTH_SHARE {
            Some(LapFault::Length { length_m, usual_m })
        } else if gap > GAP {
            Some(LapFault::Gap { seconds: gap })
        } else {
            usual_s
                .filter(|usual| lap.time_s > usual * (1.0 + TIME_SHARE))
                .map(|usual_s| LapFault::Slow { time_s: lap.time_s, usual_s })
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 4.3 laps of a circle of 100 m radius at 30 m/s.
    fn drive() -> Run {
        let mut run = Run::default();
        for i in 0..900 {
            let t = 0.1 * f64::from(i);
            let angle = 0.3 * t;
            run.points.push([100.0 * angle.cos(), 100.0 * angle.sin()]);
            run.t.push(t);
        }
        run
    }

    #[test]
    fn closed_form_laps_of_a_circle() {
        let run = drive();
        let gate = Gate::at(&run, [0.0, 100.0]).unwrap();
        let laps = gate.laps(&run);
        assert_eq!(laps.len(), 4);
        for lap in &laps {
            assert!((lap.time_s - 2.0 * std::f64::consts::PI / 0.3).abs() < 1e-3, "{}", lap.time_s);
            assert_eq!(lap.fault, None);
        }
    }

    #[test]
    fn bad_input_a_gap_and_a_slow_lap_are_named() {
        let mut run = drive();
        run.t[450..].iter_mut().for_each(|t| *t += 5.0);
        let laps = Gate::at(&run, [0.0, 100.0]).unwrap().laps(&run);
        let faults: Vec<_> = laps.iter().filter_map(|l| l.fault).collect();
        assert!(matches!(faults[..], [LapFault::Gap { seconds }] if (seconds - 5.1).abs() < 1e-9), "{faults:?}");
    }

    #[test]
    fn bad_input_no_lap_at_all() {
        let run = Run { points: (0..100).map(|i| [f64::from(i), 0.0]).collect(), ..Run::default() };
        assert!(Gate::at(&run, [50.0, 0.0]).unwrap().laps(&run).is_empty());
        assert!(Gate::fastest(&run).is_none());
    }
}
