//! Where along a lap one car gains on another: at every bend before its slowest point and after it.

use unladen_lap::Row;
use unladen_track::Track;

/// Turning less than this is no bend, rad (10°).
const BEND_RAD: f64 = 0.175;
/// A road straighter than this is a straight, 1/m.
const STRAIGHT_1PM: f64 = 1.0 / 600.0;

/// A bend and what comes of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// Its name, where the track gives one; `start` on an open course for what comes before the first bend.
    pub place: Option<String>,
    /// Where the first car is slowest, m from the start.
    pub slowest_m: f64,
    /// Speeds there, first and second car, m/s.
    pub slowest_mps: [f64; 2],
    /// Speeds where the first car is fastest before the next bend, m/s.
    pub fastest_mps: [f64; 2],
    /// What the second car gains from the fastest point before the bend to the slowest, s: braking and entry.
    pub entry_s: f64,
    /// What it gains from there to the next fastest point, s: the exit and the straight.
    pub exit_s: f64,
}

/// Every bend in driving order; their gains sum to the whole difference. Empty where the road does not bend.
pub fn stretches(track: &Track, rows: [&[Row]; 2]) -> Vec<Stretch> {
    let [a, b] = rows;
    let n = a.len();
    if n < 2 || b.len() != n {
        return Vec::new();
    }
    let gain = |i: usize| a[i].t - b[i].t;
    let bends = bends(track);
    let slow = |bend: &Bend| {
        let inside = (0..n).filter(|&i| bend.from <= a[i].s && a[i].s <= bend.to);
        inside.min_by(|&i, &j| a[i].v.total_cmp(&a[j].v).then(i.cmp(&j)))
    };
    let slow: Vec<(usize, Option<String>)> = bends.iter().filter_map(|b| Some((slow(b)?, b.place.clone()))).collect();
    let Some(&(first, _)) = slow.first() else { return Vec::new() };
    let fastest = |from: usize, to: usize| (from..=to).max_by(|&i, &j| a[i].v.total_cmp(&a[j].v).then(j.cmp(&i)));
    // From the k-th slowest point to the next one; round the line, the faster of the two parts.
    let top = |k: usize| -> usize {
        let from = slow[k].0;
        match slow.get(k + 1) {
            Some((to, _)) => fastest(from, *to).unwrap_or(from),
            None if track.closed => {
                let (late, early) = (fastest(from, n - 1).unwrap_or(from), fastest(0, first).unwrap_or(0));
                if a[early].v > a[late].v { early } else { late }
            }
            None => n - 1,
        }
    };
    // From one station to another one in driving order, over the line where need be.
    let between = |i: usize, j: usize| if j >= i { gain(j) - gain(i) } else { gain(n - 1) - gain(i) + gain(j) };
    let speeds = |i: usize| [a[i].v, b[i].v];
    let mut all = Vec::new();
    let launch = if track.closed { top(slow.len() - 1) } else { fastest(0, first).unwrap_or(0) };
    if !track.closed {
        all.push(Stretch {
            place: Some("start".into()),
            slowest_m: a[0].s,
            slowest_mps: speeds(0),
            fastest_mps: speeds(launch),
            entry_s: 0.0,
            exit_s: gain(launch) - gain(0),
        });
    }
    let mut before = launch;
    for (k, (at, place)) in slow.iter().enumerate() {
        let after = top(k);
        all.push(Stretch {
            place: place.clone(),
            slowest_m: a[*at].s,
            slowest_mps: speeds(*at),
            fastest_mps: speeds(after),
            entry_s: between(before, *at),
            exit_s: between(*at, after),
        });
        before = after;
    }
    all
}

struct Bend {
    from: f64,
    to: f64,
    turning: f64,
    left: bool,
    place: Option<String>,
}

/// Segments of one way of turning and one name are one bend.
fn bends(track: &Track) -> Vec<Bend> {
    let mut all: Vec<Bend> = Vec::new();
    let mut s = 0.0;
    let mut open = false;
    for segment in &track.segments {
        let mean = 0.5 * (segment.kappa[0] + segment.kappa[1]);
        let (from, to) = (s, s + segment.length);
        s = to;
        if mean.abs() < STRAIGHT_1PM {
            open = false;
            continue;
        }
        let (left, turning) = (mean > 0.0, mean.abs() * segment.length);
        match all.last_mut().filter(|b| open && b.left == left && b.place == segment.place) {
            Some(bend) => (bend.to, bend.turning) = (to, bend.turning + turning),
            None => all.push(Bend { from, to, turning, left, place: segment.place.clone() }),
        }
        open = true;
    }
    all.retain(|b| b.turning > BEND_RAD);
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use unladen_lap::Course;
    use unladen_track::Segment;
    use unladen_vehicle::car::Layout;
    use unladen_vehicle::{Car, example_car};

    fn piece(length: f64, kappa: f64, place: &str) -> Segment {
        let place = (!place.is_empty()).then(|| place.to_owned());
        Segment { length, kappa: [kappa; 2], q: [0.0; 2], phi: [0.0; 2], gamma: 1.0, place }
    }

    fn oval(closed: bool) -> Track {
        let half = std::f64::consts::PI * 40.0;
        let segments = vec![
            piece(150.0, 0.0, ""),
            piece(half, 0.025, "North"),
            piece(300.0, 0.0, ""),
            piece(half, 0.025, ""),
            piece(150.0, 0.0, ""),
        ];
        Track { name: "oval".into(), closed, start_speed: 15.0, rho: 1.2, grip: 1.0, segments }
    }

    fn cars() -> [Car; 2] {
        let first = example_car();
        let mut second = first.clone();
        second.driveline.layout = Layout::Rear;
        second.mass.m -= 50.0;
        [first, second]
    }

    #[test]
    fn property_gains_of_the_stretches_sum_to_the_whole() {
        for closed in [true, false] {
            let track = oval(closed);
            let course = Course::new(&track);
            let laps = cars().map(|car| course.lap(&car).unwrap());
            let rows = laps.each_ref().map(|lap| lap.trace());
            let all = stretches(&track, [&rows[0], &rows[1]]);
            let sum: f64 = all.iter().map(|s| s.entry_s + s.exit_s).sum();
            let whole = laps[0].time - laps[1].time;
            assert!((sum - whole).abs() < 1e-9, "{sum} {whole} {all:?}");
            let names: Vec<_> = all.iter().map(|s| s.place.as_deref()).collect();
            let want: &[Option<&str>] =
                if closed { &[Some("North"), None] } else { &[Some("start"), Some("North"), None] };
            assert_eq!(names, want);
            assert!(all.iter().skip(1).all(|s| s.slowest_mps[0] <= s.fastest_mps[0]));
        }
    }

    #[test]
    fn property_a_straight_road_has_none() {
        let strip = Track { segments: vec![piece(300.0, 0.0, "")], ..oval(false) };
        let course = Course::new(&strip);
        let lap = course.lap(&example_car()).unwrap();
        let rows = lap.trace();
        assert!(stretches(&strip, [&rows, &rows]).is_empty());
        assert!(stretches(&oval(true), [&rows, &rows[1..]]).is_empty());
    }
}
