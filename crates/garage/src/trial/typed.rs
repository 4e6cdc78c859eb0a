//! Lap times typed in one line: `A 82.1 82.4 82.2 | B 81.9 82.0 81.7 | B … | A …`.

use std::sync::Arc;

use crate::fault::Fault;
use crate::fault::finding::{Faults, FileErrors};
use crate::fault::source::{Place, Source};
use crate::fault::trial_fault::TrialFault;
use crate::trial::laps::{LapMark, LapRow, Laps, side, time};

/// Reads them: a run between bars (`|` or `;`), A or B first, `out` or `in` before a lap that is none.
///
/// # Errors
/// Every fault, underlined.
pub fn typed_laps(given: &str) -> Result<Laps, FileErrors> {
    let source = Source::new("--times", given);
    let mut faults = Faults::default();
    let mut laps = Laps::default();
    let mut from = 0;
    for part in given.split_inclusive(['|', ';']) {
        let run = part.trim_end_matches(['|', ';']);
        if !run.trim().is_empty() {
            one(&source, from, run, &mut laps, &mut faults);
        }
        from += part.len();
    }
    if laps.rows.is_empty() && faults.is_empty() {
        faults.push(Fault::Trial(TrialFault::NoLaps), &Place::new(&source, 0..given.len()));
    }
    faults.result()?;
    Ok(laps)
}

fn one(source: &Arc<Source>, from: usize, run: &str, laps: &mut Laps, faults: &mut Faults) {
    let number = laps.runs.len();
    laps.runs.push((number + 1).to_string());
    let (mut changed, mut mark) = (None, LapMark::Flying);
    let mut at = 0;
    for word in run.split_whitespace() {
        let start = at + run[at..].find(word).unwrap_or(0);
        at = start + word.len();
        let place = Place::new(source, from + start..from + at);
        let bare = word.trim_end_matches([':', ',']);
        match (changed, bare) {
            (None, _) => match side(bare) {
                Some(side) => changed = Some(side),
                None => {
                    faults.push(Fault::Trial(TrialFault::Side { given: bare.into() }), &place);
                    changed = Some(false);
                }
            },
            (_, "out") => mark = LapMark::Out,
            (_, "in") => mark = LapMark::In,
            (Some(changed), _) => {
                match time(bare) {
                    Ok(time_s) => laps.rows.push(LapRow { mark, ..LapRow::new(number, changed, time_s) }),
                    Err(fault) => faults.push(Fault::Trial(fault), &place),
                }
                mark = LapMark::Flying;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_laps_in_one_line() {
        let laps = typed_laps("A: out 95.2 82.1 1:22.4 | B 81.9, 82,05 in 99 ; b 81.7").unwrap();
        let rows: Vec<_> = laps.rows.iter().map(|r| (r.run, r.changed, r.time_s, r.mark)).collect();
        assert_eq!(
            rows,
            [
                (0, false, 95.2, LapMark::Out),
                (0, false, 82.1, LapMark::Flying),
                (0, false, 82.4, LapMark::Flying),
                (1, true, 81.9, LapMark::Flying),
                (1, true, 82.05, LapMark::Flying),
                (1, true, 99.0, LapMark::In),
                (2, true, 81.7, LapMark::Flying)
            ]
        );
    }

    #[test]
    fn bad_input_lines_that_are_no_laps() {
        for (given, says) in [
            ("", "no laps"),
            ("| ;", "no laps"),
            ("82.1 82.3", "A or B is due"),
            ("A 82.1 | C 82.0", "A or B is due"),
            ("A 0 82.1", "`0` is no lap time"),
            ("A 82.1 x", "`x` is no lap time"),
            ("A 3700", "`3700` is no lap time"),
            ("A 1:00:02", "`1:00:02` is no lap time"),
            ("A -82", "`-82` is no lap time"),
            ("A nan", "`nan` is no lap time"),
        ] {
            let error = typed_laps(given).unwrap_err().render(crate::Style::PLAIN);
            assert!(error.contains(says), "{given}: {error}");
        }
    }
}
