//! Laps as they are given, for a reading: clock, fuel, days and drivers filled in where nothing is said.

use unladen_garage::trial::laps::{LapMark, LapRow, Laps};
use unladen_garage::trial::sealed::Sealed;
use unladen_study::trial::laps::{Mark, TimedLap};

/// Laps in the order driven. Where no clock is given, laps and stops follow one another as planned; where no fuel is, it
/// is filled up to the same at every stop.
pub(crate) fn timed(laps: &Laps, sealed: &Sealed) -> Vec<TimedLap> {
    let mut days: Vec<i64> = Vec::new();
    let mut blocks: Vec<(usize, Option<&str>)> = Vec::new();
    let most = laps.rows.iter().filter_map(|l| l.fuel_kg).fold(f64::NEG_INFINITY, f64::max);
    let (mut out, mut count, mut next_s) = (Vec::new(), 0, 0.0);
    let mut last: Option<&LapRow> = None;
    let mut burnt_kg = 0.0;
    for row in &laps.rows {
        let day = index(&mut days, row.day.unwrap_or(0));
        let block = index(&mut blocks, (day, row.block.as_deref()));
        let same_run = last.is_some_and(|l| l.run == row.run);
        count = if same_run { count + 1 } else { 0 };
        let same_day = last.is_some_and(|l| l.day == row.day);
        if !same_day {
            next_s = 0.0;
        } else if let Some(last) = last.filter(|_| !same_run) {
            next_s += sealed.stops_s[usize::from(last.changed == row.changed)];
        }
        let clock_s = row.clock_s.unwrap_or(next_s);
        next_s = clock_s + row.time_s;
        burnt_kg = match row.fuel_kg {
            Some(kg) => most - kg,
            None if same_run => burnt_kg + sealed.burn_kg,
            None => 0.0,
        };
        let mark = match row.mark {
            LapMark::Flying => Mark::Flying,
            LapMark::Out => Mark::Out,
            LapMark::In => Mark::In,
        };
        let (run, changed, time_s) = (row.run, row.changed, row.time_s);
        out.push(TimedLap { run, lap: count, changed, block, day, clock_s, burnt_kg, time_s, mark });
        last = Some(row);
    }
    out
}

fn index<T: PartialEq>(known: &mut Vec<T>, one: T) -> usize {
    known.iter().position(|k| *k == one).unwrap_or_else(|| {
        known.push(one);
        known.len() - 1
    })
}
