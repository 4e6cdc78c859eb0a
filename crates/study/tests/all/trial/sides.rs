//! What is read of laps, and what can't be.

use unladen_study::trial::laps::{Less, Mark, TimedLap};
use unladen_study::trial::made_day::MadeDay;
use unladen_study::trial::order::{Clock, best, letters};
use unladen_study::trial::reading::{PerKg, ReadingError, read};
use unladen_study::trial::verdict::{Prediction, Verdict, judge};

const ORDER: [bool; 4] = [false, true, true, false];

fn day(gain_s: f64, laps: usize) -> Vec<TimedLap> {
    MadeDay::new(&ORDER, laps, gain_s, 0.2).laps(5, 1)
}

fn none(laps: &[TimedLap]) -> ReadingError {
    read(laps, PerKg::default()).unwrap_err()
}

#[test]
fn closed_form_a_clear_day() {
    let read = read(&day(1.0, 8), PerKg::default()).unwrap();
    assert!((read.gain_s - 1.0).abs() < 0.3 && read.interval[0] > 0.5 && read.chance > 0.999, "{read:?}");
    assert_eq!(read.laps, [16, 16]);
    assert!(read.effective <= 32.0 && read.freedom == 28.0);
}

/// An hour and a kilogram more or less move both sides alike, and the effect not at all.
#[test]
fn property_what_both_sides_share_cancels() {
    let laps = day(0.4, 6);
    let plain = read(&laps, PerKg::default()).unwrap();
    let slower: Vec<TimedLap> =
        laps.iter().map(|l| TimedLap { time_s: l.time_s + 3.0 + l.clock_s / 3600.0, ..*l }).collect();
    let shifted = read(&slower, PerKg::default()).unwrap();
    // The clock is not quite the count of laps, by which the scatter is found.
    assert!((plain.gain_s - shifted.gain_s).abs() < 1e-3, "{} {}", plain.gain_s, shifted.gain_s);
    assert!((shifted.drift_s_per_h[0] - plain.drift_s_per_h[0] - 1.0).abs() < 1e-3);
}

/// Fuel that only one side burnt, corrected by what it is worth.
#[test]
fn property_fuel_is_corrected() {
    let laps = day(0.4, 6);
    let burnt: Vec<TimedLap> = laps
        .iter()
        .map(|l| {
            let burnt_kg = if l.changed { 10.0 } else { 0.0 };
            TimedLap { burnt_kg, time_s: l.time_s - 0.01 * burnt_kg, ..*l }
        })
        .collect();
    let (plain, fuel) = (read(&laps, PerKg::default()).unwrap(), PerKg { s_per_kg: 0.01, sd: 0.0 });
    assert!((read(&burnt, fuel).unwrap().gain_s - plain.gain_s).abs() < 1e-6);
    let wide = read(&burnt, PerKg { s_per_kg: 0.01, sd: 0.02 }).unwrap();
    assert!(wide.error_s > plain.error_s.hypot(0.15), "{} {}", wide.error_s, plain.error_s);
}

#[test]
fn closed_form_laps_that_count_less_are_named() {
    let mut laps = day(0.4, 8);
    laps[3].time_s += 6.0;
    laps[8].time_s += 9.0;
    laps[15].time_s += 4.0;
    laps[20].mark = Mark::Out;
    let read = read(&laps, PerKg::default()).unwrap();
    let named: Vec<(usize, &str)> = read
        .lesser
        .iter()
        .filter(|l| l.weight == 0.0)
        .map(|l| {
            (
                l.lap,
                match l.why {
                    Less::Out => "out",
                    Less::In => "in",
                    Less::Off(by) if by > 0.0 => "slower",
                    Less::Off(_) => "quicker",
                },
            )
        })
        .collect();
    assert_eq!(named, [(3, "slower"), (8, "out"), (15, "in"), (20, "out")]);
    assert!((read.gain_s - 0.4).abs() < 0.25, "{}", read.gain_s);
}

#[test]
fn closed_form_verdicts() {
    let judged = |gain_s: f64, sd_s: f64, laps: &[TimedLap]| {
        let interval = [gain_s - 1.645 * sd_s, gain_s + 1.645 * sd_s];
        judge(&Prediction { gain_s, sd_s, interval }, &read(laps, PerKg::default()).unwrap())
    };
    assert_eq!(judged(1.0, 0.1, &day(1.0, 8)).verdict, Verdict::Confirmed);
    assert_eq!(judged(-0.8, 0.1, &day(1.0, 8)).verdict, Verdict::Contradicted);
    assert_eq!(judged(3.0, 0.1, &day(1.0, 8)).verdict, Verdict::Contradicted);
    let small = judged(0.03, 0.01, &day(0.03, 4));
    assert!(small.verdict == Verdict::NotSeen { could: false } && small.power < 0.3, "{small:?}");
}

#[test]
fn closed_form_orders_by_what_a_change_takes() {
    let clock = Clock { day_s: 4.0 * 3600.0, change_s: 20.0 * 60.0, stop_s: 300.0, lap_s: 76.0 };
    let large = best(&clock, 3.0, 0.08, f64::INFINITY, None).unwrap();
    assert!(large.power.chance(3.0) >= 0.8 && large.takes_s < 2.0 * 3600.0, "{} {}", letters(&large.runs), large.laps);
    let small = best(&clock, 0.1, 0.08, f64::INFINITY, None).unwrap();
    assert!(small.power.chance(0.1) < 0.3 && small.takes_s <= clock.day_s, "{}", letters(&small.runs));
    // Where a change takes two hours, only one change comes and goes.
    let slow = best(&Clock { change_s: 7200.0, day_s: 6.0 * 3600.0, ..clock }, 1.0, 0.08, f64::INFINITY, None).unwrap();
    assert_eq!(slow.changes, 2);
    assert!(best(&Clock { day_s: 600.0, ..clock }, 1.0, 0.08, f64::INFINITY, None).is_none());
}

#[test]
fn bad_input_laps_that_say_nothing() {
    let laps = day(0.4, 6);
    assert!(matches!(none(&[]), ReadingError::OneSide { .. }));
    let only_a: Vec<TimedLap> = laps.iter().filter(|l| !l.changed).copied().collect();
    assert_eq!(none(&only_a), ReadingError::OneSide { changed: true });
    let one_a_side = [laps[0], laps[8]];
    let said = none(&one_a_side).to_string();
    assert!(said.starts_with("1 and 1 flying laps") && said.contains("too few"), "{said}");
    let equal: Vec<TimedLap> = laps.iter().map(|l| TimedLap { time_s: 80.0, ..*l }).collect();
    assert_eq!(none(&equal), ReadingError::AllEqual);
    for time_s in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let mut bad = laps.clone();
        bad[4].time_s = time_s;
        assert!(matches!(none(&bad), ReadingError::Time { lap: 5, .. }));
    }
    let many: Vec<TimedLap> = (0..100_000).map(|i| TimedLap { lap: i, ..laps[0] }).collect();
    assert!(matches!(none(&many), ReadingError::TooMany { .. }));
    // Each driver drove one of the two.
    let drivers: Vec<TimedLap> = laps.iter().map(|l| TimedLap { block: usize::from(l.changed), ..*l }).collect();
    assert_eq!(none(&drivers), ReadingError::Confounded);
    // Equal but for a few: no scatter to go by, and yet an answer that is none of a panic.
    let mut nearly = equal;
    nearly[3].time_s = 80.2;
    nearly[9].time_s = 80.1;
    let read = read(&nearly, PerKg::default()).unwrap();
    assert!(read.gain_s.is_finite() && read.interval.iter().all(|x| x.is_finite()), "{read:?}");
}
