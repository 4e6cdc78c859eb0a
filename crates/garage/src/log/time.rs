//! A log's time: in seconds from its first row, rising.

use super::error::LogError;

/// What was made of the times.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Mended {
    /// Midnight was passed.
    pub(crate) midnight: bool,
    /// Rows whose time is that of the row before, or none.
    pub(crate) again: usize,
    /// Whole seconds shared by several rows, which were spread.
    pub(crate) spread: bool,
}

const DAY: f64 = 86_400.0;
/// So many rows of one time are no second that they share.
const STANDS: usize = 40;

/// Seconds from the first; NaN for rows to be left out. `clock`: times of day. Line of a row from its index by `line`.
pub(crate) fn mend(times: &mut [f64], clock: bool, line: impl Fn(usize) -> usize) -> Result<Mended, LogError> {
    let mut mended = Mended::default();
    let Some(first) = times.iter().copied().find(|t| t.is_finite()) else { return Ok(mended) };
    let (mut days, mut last) = (0.0, f64::NEG_INFINITY);
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
            if last - t > 1.0 {
                return Err(LogError::TimeBack { line: line(i), back_s: last - t, text: String::new() });
            }
            t = last;
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
    fn bad_input_time_goes_back() {
        let mut t = [0.0, 1.0, 2.0, 0.0, 1.0];
        assert_eq!(
            mend(&mut t, false, |i| i + 7),
            Err(LogError::TimeBack { line: 10, back_s: 2.0, text: String::new() })
        );
    }
}
