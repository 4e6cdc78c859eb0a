//! `course from` against what is known from elsewhere: a real drive, and a bank given by hand.

use std::fs;

use crate::common::logged::{ROOT, number, said, unladen};

/// A drive on real roads (`tests/real_drive/README.md`) against what its own positions say: 2733 m by great circles
/// from one to the next, heights from 195 to 241 m.
#[test]
fn end_to_end_a_real_drive() {
    let dir = tempfile::tempdir().unwrap();
    let file = format!("{ROOT}/tests/real_drive/around-visnjan-with-car.gpx");
    let text = fs::read_to_string(&file).unwrap();
    let numbers = |from: &str, to: char| -> Vec<f64> {
        text.split(from).skip(1).map(|p| p.split(to).next().unwrap().parse().unwrap()).collect()
    };
    let (lat, lon) = (numbers("<trkpt lat=\"", '"'), numbers(" lon=\"", '"'));
    let half = |a: f64, b: f64| (0.5 * (b - a).to_radians()).sin().powi(2);
    // Haversines on a sphere of 6371 km: within 0.3 % of the ellipsoid.
    let chord = |i: usize| {
        let h = half(lat[i - 1], lat[i])
            + lat[i - 1].to_radians().cos() * lat[i].to_radians().cos() * half(lon[i - 1], lon[i]);
        2.0 * 6.371e6 * h.sqrt().asin()
    };
    let sum: f64 = (1..lat.len()).map(chord).sum();
    let made = unladen(dir.path(), &["course", "from", &file, "--out", "road.toml", "--plot", "road.png", "--json"]);
    assert!(made.status.success(), "{}", said(&made));
    let length = number(&made, "length_m");
    // The end runs 26 m past the start; bends between positions make the road longer.
    assert!(length > sum - 40.0 && length < 1.04 * sum, "{length} {sum}");
    let segments = fs::read_to_string(dir.path().join("road.csv")).unwrap();
    let (mut z, mut low, mut high) = (0.0f64, 0.0f64, 0.0f64);
    for row in segments.lines().skip(1) {
        let cells: Vec<f64> = row.split(',').take(5).map(|c| c.trim().parse().unwrap()).collect();
        z += cells[0] * 0.005 * (cells[3] + cells[4]);
        (low, high) = (low.min(z), high.max(z));
    }
    let heights = numbers("<ele>", '<');
    let (least, most) = heights.iter().fold((f64::MAX, f64::MIN), |(a, b), z| (a.min(*z), b.max(*z)));
    assert!(((high - low) - (most - least)).abs() < 8.0, "{low} {high}, {least} {most}");
}

/// The valley with its banks: lap time on the track from a log of it is 1.5 % off without them, and within 0.5 % with
/// them.
#[test]
fn end_to_end_a_given_bank() {
    let dir = tempfile::tempdir().unwrap();
    let (car, track) = (format!("{ROOT}/vehicles/saloon-awd"), format!("{ROOT}/tracks/valley.toml"));
    // Banked stretches of the file, as (from, to, degrees).
    let mut banks: Vec<(f64, f64, f64)> = Vec::new();
    let (mut s, mut on) = (0.0, false);
    let text = fs::read_to_string(format!("{ROOT}/tracks/valley.csv")).unwrap();
    for row in text.lines().filter(|l| l.starts_with(|c: char| c.is_ascii_digit())) {
        let cells: Vec<f64> = row.split(',').take(7).map(|c| c.trim().parse().unwrap()).collect();
        let bank = if cells[5].abs() > cells[6].abs() { cells[5] } else { cells[6] };
        if bank != 0.0 {
            if !on {
                banks.push((s, s, bank));
            }
            let last = banks.last_mut().unwrap();
            last.1 = s + cells[0];
        }
        on = cells[6] != 0.0;
        s += cells[0];
    }
    let made = unladen(dir.path(), &["course", "log", &car, &track, "--out", "day.csv"]);
    assert!(made.status.success(), "{}", said(&made));
    let told: Vec<String> = banks.iter().map(|(a, b, d)| format!("--bank={a:.0}..{b:.0}={d}")).collect();
    let lap = |track: &str| number(&unladen(dir.path(), &["lap", &car, track, "--json"]), "lap_time_s");
    let truth = lap(&track);
    for (out, told, most) in [("flat.toml", &[][..], 0.02), ("banked.toml", &told[..], 0.005)] {
        // The synthetic logger's start line.
        let mut args = vec!["course", "from", "day.csv", "--start=47.0,-30.0", "--out", out];
        args.extend(told.iter().map(String::as_str));
        let made = unladen(dir.path(), &args);
        assert!(made.status.success(), "{}", said(&made));
        assert_eq!(said(&made).contains("--bank"), told.is_empty(), "{}", said(&made));
        let off = lap(out) / truth - 1.0;
        assert!(off.abs() < most && (off.abs() > 0.01) == told.is_empty(), "{out}: {off}");
    }
    let made = unladen(dir.path(), &["course", "from", "day.csv", "--out", "off.toml", "--bank", "10..9999=3"]);
    assert!(!made.status.success() && said(&made).contains("--bank 10..9999"), "{}", said(&made));
    assert!(!dir.path().join("off.toml").exists());
    let made = unladen(dir.path(), &["course", "from", "day.csv", "--out", "off.toml", "--bank", "10-20=3"]);
    assert!(said(&made).contains("for example 120..310=4.5"), "{}", said(&made));
}

/// A cell of a log is underlined, as in the other files.
#[test]
fn bad_input_a_log_cell_is_underlined() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("back.csv"), "time [s];x [m];y [m]\n1,0;0;0\n2,0;10;0\n3,0;20;0\n1,5;30;0\n2,5;40;0\n")
        .unwrap();
    let made = unladen(dir.path(), &["course", "from", "back.csv", "--out", "b.toml"]);
    assert!(!made.status.success());
    for words in ["time goes back", "back.csv:5:1", "earlier than the row before", "1,5;30;0"] {
        assert!(said(&made).contains(words), "{words}: {}", said(&made));
    }
}
