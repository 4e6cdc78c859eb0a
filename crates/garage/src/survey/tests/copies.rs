//! Laps that are copies say nothing of how far positions are off.

use super::*;
use unladen_positions::{Line, Run, Wish};

const WISH: Wish = Wish { closed: true, noise_m: None, height_noise_m: None };

/// Four laps that are one lap again and again: no noise is to be seen, and a receiver's is taken.
#[test]
fn bad_input_identical_laps_are_not_free_of_noise() {
    let found = surveyed(&plain(&exact()), &Ask::default()).unwrap();
    assert!(told(&found).contains("a copy of another"), "{}", told(&found));
    let exact = Line::through(&found.runs, WISH).unwrap();
    let line = Line::through_at_least(&found.runs, WISH, found.least_noise).unwrap();
    assert!(exact.noise_m < 0.03, "{}", exact.noise_m);
    assert_eq!(line.noise_m, 0.3);
    // What the user says goes before.
    let told = Wish { noise_m: Some(0.01), ..WISH };
    assert!(Line::through_at_least(&found.runs, told, found.least_noise).unwrap().noise_m < 0.02);
}

/// Noise that is there is found, and the floor changes nothing.
#[test]
fn property_noise_that_is_there_is_believed() {
    for sd_m in [0.2, 1.0] {
        let found = surveyed(&plain(&noisy(exact(), sd_m, 3)), &Ask::default()).unwrap();
        let (line, floored) =
            (Line::through(&found.runs, WISH), Line::through_at_least(&found.runs, WISH, found.least_noise));
        let (line, floored) = (line.unwrap(), floored.unwrap());
        // 800 positions: 3 % at best, and the line takes some of it.
        assert!((line.noise_m / sd_m - 1.0).abs() < 0.15, "{sd_m}: {}", line.noise_m);
        assert_eq!(line.points, floored.points);
    }
}

/// One lap without times or noise.
fn exact_lap() -> Run {
    Run { points: exact()[..400].iter().map(|r| r.at).collect(), ..Run::default() }
}

/// Cut to steps of s, positions are off by s/√12.
#[test]
fn closed_form_few_digits_are_noise() {
    let text = csv("time (s),x (m),y (m)", &usual(), |r| format!("{:.2},{:.0},{:.0}", r.t, r.at[0], r.at[1]));
    let found = surveyed(&text, &Ask::default()).unwrap();
    assert!((found.least_noise.0 - 1.0 / f64::sqrt(12.0)).abs() < 1e-9, "{:?}", found.least_noise);
    // The coarser of the two counts, and a line is found in its steps.
    let coarse = csv("time (s),latitude,longitude", &usual(), |r| {
        let (lat, lon) = r.degrees();
        format!("{:.2},{lat:.8},{lon:.4}", r.t)
    });
    let found = surveyed(&coarse, &Ask::default()).unwrap();
    assert!((2.0..4.0).contains(&found.least_noise.1), "{:?}", found.least_noise);
    let line = Line::through_at_least(&found.runs, WISH, found.least_noise).unwrap();
    assert!((line.length_m() / Line::through(&[exact_lap()], WISH).unwrap().length_m() - 1.0).abs() < 0.01);
    let outline = csv("x (m),y (m)", &usual()[..400], |r| format!("{:.2},{:.2}", r.at[0], r.at[1]));
    let found = surveyed(&outline, &Ask::default()).unwrap();
    // A map's line may be exact.
    assert!(found.least_noise.1 < 0.01, "{:?}", found.least_noise);
}
