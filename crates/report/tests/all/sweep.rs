//! The picture of a sweep at its extremes.

use unladen_report::draw::picture::PlotError;
use unladen_report::sweep::picture::{Curve, SweepPlot, sweep_picture};

fn curves(count: usize, cells: usize, slope: f64, name: &str) -> Vec<Curve> {
    let time = |i: usize, k: usize| 80.0 + 0.02 * i as f64 + slope * k as f64;
    let gap = |i: usize, k: usize| (i + k) % 7 == 6;
    (0..count)
        .map(|i| {
            let points = (0..cells).map(|k| (1000.0 + k as f64, (!gap(i, k)).then(|| time(i, k)))).collect();
            (format!("{name}{i}"), points)
        })
        .collect()
}

#[test]
fn property_a_sweep_s_picture_reads_at_every_size() {
    let long = "an uncommonly long name of a car <and> of a track ".repeat(4);
    for (count, cells) in [(1, 1), (1, 2), (2, 21), (7, 3), (40, 40)] {
        for slope in [0.0, 0.03, -3.0] {
            for now in [(None, 80.0), (Some(1000.5), 80.1), (Some(5.0), 200.0)] {
                for (car, name) in [("car", ""), (long.as_str(), "1234.5 mm ")] {
                    let curves = curves(count, cells, slope, name);
                    let (x, by) = ("mass, kg", "height of the centre of gravity");
                    let plot = SweepPlot { car, track: car, x, by, curves: &curves, now };
                    crate::labels::apart(&sweep_picture(&plot).unwrap());
                }
            }
        }
    }
}

#[test]
fn bad_input_no_laps_are_no_picture() {
    let none = [("a".to_owned(), vec![(1.0, None)])];
    let plot = SweepPlot { car: "c", track: "t", x: "mass, kg", by: "", curves: &none, now: (None, 80.0) };
    assert!(matches!(sweep_picture(&plot), Err(PlotError::Empty { .. })));
}
