//! Which laps a drive has, where they begin, and what is said where there are none.

use super::*;
use crate::survey::flying;

fn with_lap_column(rows: &[Row], lap: impl Fn(&Row) -> usize) -> String {
    csv("time (s),latitude,longitude,lap", rows, |r| {
        let (lat, lon) = r.degrees();
        format!("{:.2},{lat:.8},{lon:.8},{}", r.t, lap(r))
    })
}

/// The line is where the column changes, at the limaçon's far end, 200 m east of its middle.
#[test]
fn closed_form_laps_begin_where_a_lap_column_changes() {
    let found = surveyed(&with_lap_column(&usual(), |r| r.lap + 1), &Ask::default()).unwrap();
    holds("lap column", &found);
    assert!(told(&found).contains("laps begin where the lap column changes"), "{}", told(&found));
    let plane = found.plane.unwrap();
    let origin = Plane::about(WEST.0, WEST.1);
    for run in &found.runs {
        let (lat, lon) = plane.to_degrees(run.points[0]);
        let [x, y] = origin.to_xy(lat, lon);
        // A row is some 3 m from the next.
        assert!((x - 200.0).hypot(y) < 4.0, "{x} {y}");
    }
}

#[test]
fn bad_input_a_lap_column_that_changes_anywhere_is_not_used() {
    let text = with_lap_column(&usual(), |r| (r.t / 33.0) as usize);
    let found = surveyed(&text, &Ask::default()).unwrap();
    assert!(told(&found).contains("the lap column changes at places"), "{}", told(&found));
    assert!(found.runs.len() >= 2, "{}", told(&found));
    assert!(found.times.iter().all(|t| (t.1 - 40.0).abs() < 0.05));
}

/// A column that misses a lap: the positions' laps are used, and it is said.
#[test]
fn bad_input_a_lap_column_that_counts_too_few() {
    let mut rows = noisy(drive(&[40.0; 6], 10.0), 0.05, 2);
    rows.truncate(2200);
    let text = with_lap_column(&rows, |r| [0, 1, 1, 2, 3, 4][r.lap]);
    let found = surveyed(&text, &Ask::default()).unwrap();
    assert!(told(&found).contains("the lap column counts 3 whole laps, the positions 4"), "{}", told(&found));
    assert_eq!(found.runs.len(), 4);
}

/// A little more than one lap: cut where it passes a place twice, and the place said; it can be told, and then begins
/// there.
#[test]
fn closed_form_one_lap_that_overlaps_itself() {
    let mut rows = noisy(drive(&[40.0; 2], 10.0), 0.05, 2);
    rows.truncate(460);
    let found = surveyed(&plain(&rows), &Ask::default()).unwrap();
    assert!(found.closed && found.runs.len() == 1, "{}", told(&found));
    assert!((found.times[0].1 - 40.0).abs() < 0.1, "{:?}", found.times);
    assert!(told(&found).contains("--start LAT,LON"), "{}", told(&found));
    // Well inside the overlap, 3 s after the beginning.
    let (lat, lon) = rows[30].degrees();
    let found = surveyed(&plain(&rows), &Ask { start: Some([lat, lon]), ..Ask::default() }).unwrap();
    let [x, y] = found.plane.unwrap().to_xy(lat, lon);
    assert!((found.runs[0].points[0][0] - x).hypot(found.runs[0].points[0][1] - y) < 4.0);
}

#[test]
fn bad_input_half_a_lap_says_which_options_help() {
    let rows = &usual()[..220];
    let open = surveyed(&plain(rows), &Ask::default()).unwrap();
    assert!(!open.closed && told(&open).contains("--closed"), "{}", told(&open));
    let (took, fault) = failed(&plain(rows), &Ask { closed: Some(true), ..Ask::default() });
    assert!(fault.contains("--start LAT,LON") && fault.contains("--open"), "{fault}");
    assert!(took.contains("latitude is column"), "{took}");
}

/// An out-lap and an in-lap are slower than the others by more than a driver's scatter.
#[test]
fn closed_form_flying_laps() {
    assert_eq!(flying(&[75.0, 60.2, 60.0, 61.1, 70.0]), [false, true, true, true, false]);
    assert_eq!(flying(&[60.0, f64::NAN]), [true, false]);
    assert!(flying(&[]).is_empty());
}
