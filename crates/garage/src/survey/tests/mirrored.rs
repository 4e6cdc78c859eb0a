//! A road west of Greenwich or south of the equator is not mirrored; where only the user can know, the user is asked.

use super::*;

/// The same drive in each quarter of the earth, with letters in columns, attached, or in the columns' names.
#[test]
fn end_to_end_letters_give_every_quarter_of_the_earth_its_sign() {
    for (lat0, lon0) in [(47.2, -30.4), (-38.6, -30.4), (-38.6, 70.3), (47.2, 70.3)] {
        let plane = Plane::about(lat0, lon0);
        let halves = |r: &Row| {
            let (lat, lon) = plane.to_degrees(r.at);
            (lat.abs(), if lat < 0.0 { 'S' } else { 'N' }, lon.abs(), if lon < 0.0 { 'W' } else { 'E' })
        };
        let columns = csv("time (s),latitude,N/S,longitude,E/W", &usual(), |r| {
            let (lat, ns, lon, ew) = halves(r);
            format!("{:.2},{lat:.8},{ns},{lon:.8},{ew}", r.t)
        });
        let behind = csv("time (s),latitude,longitude", &usual(), |r| {
            let (lat, ns, lon, ew) = halves(r);
            format!("{:.2},{lat:.8}{ns},{lon:.8} {ew}", r.t)
        });
        let before = csv("time (s),latitude,longitude", &usual(), |r| {
            let (lat, ns, lon, ew) = halves(r);
            format!("{:.2},{ns} {lat:.8},{ew}{lon:.8}", r.t)
        });
        for (text, how) in [(columns, "in columns"), (behind, "behind"), (before, "before")] {
            holds(&format!("{lat0} {lon0} {how}"), &surveyed(&text, &Ask::default()).unwrap());
        }
    }
}

#[test]
fn end_to_end_a_columns_name_says_west() {
    let text = csv("time (s),latitude north,longitude west", &usual(), |r| {
        let (lat, lon) = r.degrees();
        format!("{:.2},{lat:.8},{:.8}", r.t, -lon)
    });
    let found = surveyed(&text, &Ask::default()).unwrap();
    holds("longitude west", &found);
    assert!(told(&found).contains("counts west as positive"), "{}", told(&found));
}

/// Positions mirrored and a yaw rate that is right; or a yaw rate to the right and positions that are: no one can tell
/// which, so it is asked, and each answer does what it says.
#[test]
fn bad_input_a_yaw_rate_that_turns_the_other_way_is_a_question() {
    let log = |mirrored: f64, yaw: f64| {
        csv("time (s),latitude (deg),longitude (deg),speed (m/s),yaw rate (rad/s)", &usual(), |r| {
            let (lat, lon) = r.degrees();
            format!("{:.2},{lat:.8},{:.8},{:.3},{:.5}", r.t, mirrored * lon, r.v, yaw * r.yaw)
        })
    };
    holds("both right", &surveyed(&log(1.0, 1.0), &Ask::default()).unwrap());
    for (text, answer) in [
        (log(-1.0, 1.0), saying(&[], &["longitude=-deg"])),
        (log(1.0, -1.0), saying(&[], &["yaw_rate=-rad/s"])),
        (log(1.0, -1.0), saying(&["yaw_rate=none"], &[])),
    ] {
        let (took, fault) = failed(&text, &Ask::default());
        for option in ["--unit longitude=-deg", "--unit yaw_rate=-deg/s", "--column yaw_rate=none"] {
            assert!(fault.contains(option), "{fault}");
        }
        assert!(took.contains("yaw_rate is column \"yaw rate (rad/s)\""), "{took}");
        holds("answered", &surveyed(&text, &answer).unwrap());
    }
}
