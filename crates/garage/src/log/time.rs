//! A log's time: in seconds from its first row, rising.

use super::error::LogError;

/// What was made of the times.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Mended {
    /// Midnight was passed.
    pub(crate) midnight: bool,
    /// Rows whose time is that of the row before, or none.
    pub(crate) again: usize,
    /// Whole seconds shared by several rows, which were spread.
    pub(crate) spread: bool,
    /// Rows from which the clock runs anew: one that counts each lap from 0.
    pub(crate) restarts: Vec<usize>,
}

const DAY: f64 = 86_400.0;
/// So many rows of one time are no second that they share.
const STANDS: usize = 40;
/// A clock that begins again begins below this, s, after this long at least, s.
const ANEW: (f64, f64) = (1.5, 10.0);

/// Whether bare numbers are times of day run together, `hhmmss.ss`: seconds and minutes stay below 60, and a full
/// minute jumps by 41 from one row to the next, or midnight falls to 0; or the column is called so.
pub(crate) fn run_together(times: &[f64], named: bool) -> bool {
    let fits = |t: f64| (0.0..240_000.0).contains(&t) && t % 100.0 < 60.0 && (t / 100.0).floor() % 100.0 < 60.0;
    let known: Vec<f64> = times.iter().copied().filter(|t| t.is_finite()).collect();
    let mut steps: Vec<f64> = known.windows(2).map(|w| w[1] - w[0]).filter(|d| *d > 0.0).collect();
    steps.sort_by(f64::total_cmp);
    let usual = steps.get(steps.len() / 2).copied().unwrap_or(f64::INFINITY);
    let minute = known.windows(2).any(|w| {
        let off = w[1] - w[0] - 40.0;
        off > 0.0 && off < 5.0 * usual.min(2.0) && (w[0] / 100.0).floor() + 1.0 == (w[1] / 100.0).floor()
    });
    let midnight = known.windows(2).any(|w| w[0] > 235_955.0 && w[1] < 5.0);
    known.len() > 3 && known.iter().all(|t| fits(*t)) && (named || minute || midnight)
}

/// Seconds of a time of day run together.
pub(crate) fn apart(t: f64) -> f64 {
    (t / 10_000.0).floor() * 3600.0 + (t / 100.0).floor() % 100.0 * 60.0 + t % 100.0
}

/// Seconds from the first; NaN for rows to be left out. `clock`: times of day. Line of a row from its index by `line`.
pub(crate) fn mend(times: &mut [f64], clock: bool, line: impl Fn(usize) -> usize) -> Result<Mended, LogError> {
    let mut mended = Mended::default();
    let Some(first) = times.iter().copied().find(|t| t.is_finite()) else { return Ok(mended) };
    let (mut days, mut last) = (0.0, f64::NEG_INFINITY);
    let (mut began, mut step) = (0.0, 0.0);
    for i in 0..times.len() {
        if !times[i].is_finite() {
            continue;
        }
        let mut t = times[i] - first + days;
        if clock && t < last - 0.5 * DAY {
            days += DAY;
            t += DAY;
            mended.midnight = true;
        }
        if t < last - 1e-9 {
            // A logger's clock may step by less than a second when it finds the satellites' time.
            if !clock && last - t > 1.0 && times[i].abs() < ANEW.0 && last - began > ANEW.1 {
                days += last + step - t;
                t = last + step;
                began = t;
                mended.restarts.push(i);
            } else if last - t > 1.0 {
                return Err(LogError::TimeBack { line: line(i), back_s: last - t, text: String::new() });
            }
            t = t.max(last);
        }
        if t > last && last.is_finite() {
            step = t - last;
        }
        last = t;
        times[i] = t;
    }
    if times.iter().filter(|t| t.is_finite()).count() >= STANDS && last <= 0.0 {
        return Err(LogError::Stopped { line: line(0) });
    }
    spread(times, &mut mended);
    let mut last = f64::NEG_INFINITY;
    for t in times.iter_mut() {
        if t.is_nan() {
            mended.again += 1;
        } else if *t <= last {
            *t = f64::NAN;
            mended.again += 1;
        } else {
            last = *t;
        }
    }
    Ok(mended)
}

/// Times in whole seconds, several rows each: the rows of a second share it evenly.
fn spread(times: &mut [f64], mended: &mut Mended) {
    let whole = times.iter().all(|t| !t.is_finite() || (t - t.round()).abs() < 1e-9);
    let distinct = 1 + times.windows(2).filter(|w| w[1] > w[0]).count();
    if !whole || times.len() < 4 * distinct {
        return;
    }
    mended.spread = true;
    let mut i = 0;
    while i < times.len() {
        let same = times[i..].iter().take_while(|t| **t == times[i]).count().max(1);
        for k in 0..same {
            times[i + k] += k as f64 / same as f64;
        }
        i += same;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_midnight_repeats_and_whole_seconds() {
        let mut t = [86_399.0, 86_399.5, 0.0, 0.5, 0.5, 1.0];
        let mended = mend(&mut t, true, |i| i).unwrap();
        assert_eq!((mended.midnight, mended.again), (true, 1));
        assert_eq!((t[2], t[3], t[5]), (1.0, 1.5, 2.0));
        assert!(t[4].is_nan());
        let mut t: Vec<f64> = (0..40).map(|i| f64::from(i / 10)).collect();
        assert!(mend(&mut t, false, |i| i).unwrap().spread);
        assert!((0..40).all(|i| (t[i as usize] - f64::from(i) * 0.1).abs() < 1e-12));
    }

    #[test]
    fn closed_form_clocks_run_together_and_begun_anew() {
        let of_day: Vec<f64> = [235_958.5, 235_959.0, 235_959.5, 0.0, 0.5].to_vec();
        assert!(run_together(&of_day, true) && run_together(&of_day, false));
        assert!(!run_together(&of_day[..3], true), "three are too few");
        let minute: Vec<f64> = (0..300).map(|i| 101_450.0 + 0.1 * f64::from(i)).collect();
        assert!(!run_together(&minute, false), "plain seconds go beyond 60");
        let day: Vec<f64> =
            (0..300).map(|i| 50.0 + 0.1 * f64::from(i)).map(|s| 101_400.0 + s + 40.0 * (s / 60.0).floor()).collect();
        assert!(run_together(&day, false));
        assert!((apart(day[299]) - apart(day[0]) - 29.9).abs() < 1e-6);
        // Three laps of 20 s, each from 0.
        let mut t: Vec<f64> = (0..600).map(|i| 0.1 * f64::from(i % 200)).collect();
        let mended = mend(&mut t, false, |i| i).unwrap();
        assert_eq!(mended.restarts, [200, 400]);
        assert!((0..600).all(|i| (t[i as usize] - 0.1 * f64::from(i)).abs() < 1e-9));
    }

    #[test]
    fn bad_input_time_goes_back() {
        let mut t = [0.0, 1.0, 2.0, 0.0, 1.0];
        assert_eq!(
            mend(&mut t, false, |i| i + 7),
            Err(LogError::TimeBack { line: 10, back_s: 2.0, text: String::new() })
        );
    }
}
