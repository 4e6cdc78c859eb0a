//! Stretches of a lap that a fit does not use: traffic and mistakes, by what the other laps did there; other gears than
//! the model's.

use super::LoggedLap;
use super::problem::{GAP, Modelled};

/// A stretch of a lap that was not used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeftOut {
    /// Which of the laps that were given, from 0.
    pub lap: usize,
    /// From, m.
    pub from_m: f64,
    /// To, m.
    pub to_m: f64,
    /// Why.
    pub why: Why,
}

/// Why a stretch is not used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// Far off what the other laps did there: traffic, a mistake.
    OffTheOthers,
    /// In another gear than the model's.
    OtherGear,
}

/// Off the laps' median by so many standard deviations a stretch begins, and within these it ends.
const OFF: [f64; 2] = [4.5, 2.0];
/// A lap's own speed is not known better than this, m/s.
const LEAST: f64 = 0.3;
/// Shorter than this another gear is a shift a little earlier or later, s.
const LONG: f64 = 0.7;

fn median(mut all: Vec<f64>) -> f64 {
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or(f64::NAN)
}

/// Takes out of three laps or more where one is far off the others' median.
pub(super) fn mistakes(s: &[f64], seen: &mut [Vec<f64>]) -> Vec<LeftOut> {
    if seen.len() < 3 {
        return Vec::new();
    }
    let middle = |i: usize| median(seen.iter().map(|l| l[i]).filter(|v| v.is_finite()).collect());
    let usual: Vec<f64> = (0..s.len()).map(middle).collect();
    let off = |l: &[f64], i: usize| l[i] - usual[i];
    let sizes =
        seen.iter().flat_map(|l| (0..s.len()).map(move |i| off(l, i).abs())).filter(|x| x.is_finite()).collect();
    let sd = (1.482_6 * median(sizes)).max(LEAST);
    let mut all = Vec::new();
    for (lap, speeds) in seen.iter_mut().enumerate() {
        let far: Vec<f64> = (0..s.len()).map(|i| off(speeds, i).abs() / sd).collect();
        let mut i = 0;
        while i < s.len() {
            // Two in a row: one alone is noise.
            if !(far[i] > OFF[0] && far.get(i + 1).is_some_and(|f| *f > OFF[0])) {
                i += 1;
                continue;
            }
            let from = (0..i).rev().take_while(|k| far[*k] > OFF[1]).last().unwrap_or(i);
            let to = (i..s.len()).take_while(|k| far[*k].is_nan() || far[*k] > OFF[1]).last().unwrap_or(i);
            speeds[from..=to].iter_mut().for_each(|v| *v = f64::NAN);
            all.push(LeftOut { lap, from_m: s[from], to_m: s[to], why: Why::OffTheOthers });
            i = to + 1;
        }
    }
    all
}

/// Takes out where a driver is in another gear than the model for long, up to where the model next brakes.
pub(super) fn other_gears(s: &[f64], seen: &mut [Vec<f64>], model: &Modelled, laps: &[LoggedLap]) -> Vec<LeftOut> {
    let mut all = Vec::new();
    for (lap, logged) in laps.iter().enumerate().filter(|(_, l)| l.gear.len() == l.s_m.len() && !l.gear.is_empty()) {
        let gear = |i: usize| {
            let k = logged.s_m.partition_point(|x| *x <= s[i]);
            if k == 0 || k >= logged.s_m.len() || logged.s_m[k] - logged.s_m[k - 1] > GAP {
                0
            } else {
                logged.gear[k - 1]
            }
        };
        // In bends grip rules, whatever the gear.
        let other = |i: usize| gear(i) != 0 && gear(i) != model.gear[i] && !model.brakes[i];
        let mut i = 0;
        while i < s.len() {
            let end = (i..s.len()).take_while(|k| other(*k)).last().map_or(i, |k| k + 1);
            let time: f64 = (i..end).map(|k| (s[1] - s[0]) / model.v[k].max(1.0)).sum();
            if time > LONG {
                let to = (end..s.len()).take_while(|k| !model.brakes[*k]).last().map_or(end - 1, |k| k);
                seen[lap][i..=to].iter_mut().for_each(|v| *v = f64::NAN);
                all.push(LeftOut { lap, from_m: s[i], to_m: s[to], why: Why::OtherGear });
                i = to + 1;
            } else {
                i = end.max(i + 1);
            }
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_one_lap_held_up_is_left_out_there() {
        let s: Vec<f64> = (0..100).map(|i| 8.0 * f64::from(i)).collect();
        let mut seen = vec![vec![30.0; 100]; 4];
        seen[2][40..50].fill(22.0);
        let out = mistakes(&s, &mut seen);
        assert_eq!(out, [LeftOut { lap: 2, from_m: 320.0, to_m: 392.0, why: Why::OffTheOthers }]);
        assert!(seen[2][45].is_nan() && seen[2][39] == 30.0 && seen[2][50] == 30.0);
        // Two laps can't say which of them is the usual one.
        let mut two = vec![vec![30.0; 100], vec![20.0; 100]];
        assert!(mistakes(&s, &mut two).is_empty());
    }

    #[test]
    fn closed_form_a_gear_too_high_is_left_out_up_to_the_brakes() {
        let s: Vec<f64> = (0..100).map(|i| 8.0 * f64::from(i)).collect();
        let mut model = Modelled { time_s: 25.0, v: vec![32.0; 100], gear: vec![3; 100], brakes: vec![false; 100] };
        model.brakes[80..90].fill(true);
        let mut lap =
            LoggedLap { s_m: s.iter().map(|s| s - 1.0).collect(), gear: vec![3; 100], ..LoggedLap::default() };
        lap.gear[30..45].fill(4);
        lap.gear[60..62].fill(4);
        let mut seen = vec![vec![31.0; 100]];
        let out = other_gears(&s, &mut seen, &model, &[lap]);
        assert_eq!(out, [LeftOut { lap: 0, from_m: 240.0, to_m: 632.0, why: Why::OtherGear }]);
        assert!(seen[0][29] == 31.0 && seen[0][30].is_nan() && seen[0][79].is_nan() && seen[0][80] == 31.0);
    }
}
