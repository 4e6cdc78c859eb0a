//! The named corners and straights of a track.

use crate::segment::{Segment, Track};

/// More turning than this makes a place a corner, rad (10°).
const CORNER: f64 = 0.175;

/// A named stretch: neighbouring segments of one name.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Its name.
    pub name: String,
    /// Where it starts, m in plan.
    pub start_m: f64,
    /// Its length, m in plan. On a circuit it may run on past the line.
    pub length_m: f64,
    /// ∫|κ| ds: how far the road turns here, either way, rad.
    pub turning_rad: f64,
}

impl Place {
    /// A corner, or a chicane, and not a straight.
    pub fn is_corner(&self) -> bool {
        self.turning_rad > CORNER
    }

    /// `in Gatehouse`, `on Main straight`.
    pub fn phrase(&self) -> String {
        format!("{} {}", if self.is_corner() { "in" } else { "on" }, self.name)
    }

    /// Its pieces `from..to` on a lap of this length: two where it runs on past the line.
    pub fn pieces(&self, lap_m: f64) -> Vec<(f64, f64)> {
        let end = self.start_m + self.length_m;
        // Sums of lengths may differ in their last digits.
        if end <= lap_m * (1.0 + 1e-9) {
            vec![(self.start_m, end.min(lap_m))]
        } else {
            vec![(self.start_m, lap_m), (0.0, end - lap_m)]
        }
    }
}

/// The named places of a track in driving order. On a circuit a name on both sides of the line is one place.
pub fn places(track: &Track) -> Vec<Place> {
    let mut out: Vec<Place> = Vec::new();
    let mut start = 0.0;
    let mut before: Option<&str> = None;
    for segment in &track.segments {
        let name = segment.place.as_deref().map(str::trim).filter(|n| !n.is_empty());
        match (name, out.last_mut()) {
            (Some(name), Some(last)) if before == Some(name) => {
                last.length_m += segment.length;
                last.turning_rad += turning(segment);
            }
            (Some(name), _) => out.push(Place {
                name: name.to_owned(),
                start_m: start,
                length_m: segment.length,
                turning_rad: turning(segment),
            }),
            (None, _) => {}
        }
        before = name;
        start += segment.length;
    }
    if track.closed
        && before.is_some()
        && out.len() > 1
        && out[0].start_m == 0.0
        && out[0].name == out[out.len() - 1].name
    {
        let first = out.remove(0);
        if let Some(last) = out.last_mut() {
            last.length_m += first.length_m;
            last.turning_rad += first.turning_rad;
        }
    }
    out
}

/// ∫|κ| ds over a segment of linear curvature.
fn turning(segment: &Segment) -> f64 {
    let [a, b] = segment.kappa;
    if a * b >= 0.0 {
        0.5 * segment.length * (a + b).abs()
    } else {
        0.5 * segment.length * (a * a + b * b) / (b - a).abs()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn track(closed: bool, segments: &[(f64, [f64; 2], Option<&str>)]) -> Track {
        let segment = |(length, kappa, place): &(f64, [f64; 2], Option<&str>)| Segment {
            length: *length,
            kappa: *kappa,
            q: [0.0; 2],
            phi: [0.0; 2],
            gamma: 1.0,
            place: place.map(str::to_owned),
        };
        let segments = segments.iter().map(segment).collect();
        Track { name: "t".into(), closed, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 }
    }

    #[test]
    fn closed_form_neighbours_join_and_turning_counts_both_ways() {
        let t = track(
            false,
            &[
                (100.0, [0.0, 0.0], Some("Run")),
                (50.0, [0.0, 0.02], Some("Esses")),
                (40.0, [0.02, -0.02], Some("Esses")),
                (30.0, [0.0, 0.0], None),
                (10.0, [0.0, 0.0], Some("Esses")),
            ],
        );
        let p = places(&t);
        let names: Vec<_> = p.iter().map(|p| (p.name.as_str(), p.start_m, p.length_m)).collect();
        assert_eq!(names, [("Run", 0.0, 100.0), ("Esses", 100.0, 90.0), ("Esses", 220.0, 10.0)]);
        assert!((p[1].turning_rad - (0.5 + 0.4)).abs() < 1e-12);
        assert_eq!(p.iter().map(Place::phrase).collect::<Vec<_>>(), ["on Run", "in Esses", "on Esses"]);
    }

    #[test]
    fn closed_form_a_straight_across_the_line_is_one_place() {
        let segments =
            [(60.0, [0.0; 2], Some("Main")), (40.0, [0.03; 2], Some("Bend")), (20.0, [0.0; 2], Some("Main"))];
        let p = places(&track(true, &segments));
        assert_eq!(p.len(), 2);
        assert_eq!((p[1].start_m, p[1].length_m), (100.0, 80.0));
        assert_eq!(p[1].pieces(120.0), [(100.0, 120.0), (0.0, 60.0)]);
        assert_eq!(places(&track(false, &segments)).len(), 3);
    }

    #[test]
    fn bad_input_blank_names_and_a_single_place_round_the_lap() {
        let blank = track(true, &[(10.0, [0.1; 2], Some("  ")), (10.0, [0.1; 2], None)]);
        assert!(places(&blank).is_empty());
        let round = track(true, &[(10.0, [0.1; 2], Some("O")), (10.0, [0.1; 2], Some("O"))]);
        assert_eq!(places(&round).len(), 1);
        assert_eq!(places(&round)[0].pieces(20.0), [(0.0, 20.0)]);
    }
}
