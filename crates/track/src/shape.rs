//! The same track in another form: mirrored, started elsewhere, with fewer rows.

use crate::check::TrackError;
use crate::segment::{Segment, Track};

impl Segment {
    /// Cut at `s`, 0 < s < length; both parts together are the same road.
    pub(crate) fn cut(&self, s: f64) -> (Segment, Segment) {
        let at = |ends: [f64; 2]| ends[0] + (ends[1] - ends[0]) * (s / self.length);
        let (kappa, q, phi) = (at(self.kappa), at(self.q), at(self.phi));
        let first = Segment {
            length: s,
            kappa: [self.kappa[0], kappa],
            q: [self.q[0], q],
            phi: [self.phi[0], phi],
            ..self.clone()
        };
        let second = Segment {
            length: self.length - s,
            kappa: [kappa, self.kappa[1]],
            q: [q, self.q[1]],
            phi: [phi, self.phi[1]],
            ..self.clone()
        };
        (first, second)
    }

    /// Both as one, where curvature, slope and bank each go on along one line, to rounding.
    fn merged(&self, next: &Segment) -> Option<Segment> {
        let length = self.length + next.length;
        let share = self.length / length;
        let one_line = |a: [f64; 2], b: [f64; 2]| {
            let on_line = a[0] + (b[1] - a[0]) * share;
            let rounding = 1e-12 * (a[0].abs() + b[1].abs()) + 1e-15;
            (a[1] - on_line).abs() <= rounding && (b[0] - on_line).abs() <= rounding
        };
        let same = self.gamma == next.gamma
            && self.place == next.place
            && one_line(self.kappa, next.kappa)
            && one_line(self.q, next.q)
            && one_line(self.phi, next.phi);
        same.then(|| Segment {
            length,
            kappa: [self.kappa[0], next.kappa[1]],
            q: [self.q[0], next.q[1]],
            phi: [self.phi[0], next.phi[1]],
            ..self.clone()
        })
    }
}

impl Track {
    /// The track as a mirror shows it: left turns for right ones, banks likewise.
    pub fn mirrored(&self) -> Track {
        let mut mirrored = self.clone();
        for segment in &mut mirrored.segments {
            segment.kappa = segment.kappa.map(|k| -k);
            segment.phi = segment.phi.map(|p| -p);
        }
        mirrored
    }

    /// The same circuit with its line at `s` (m in plan from the present one; whole laps are taken off).
    ///
    /// # Errors
    /// [`TrackError::NotACircuit`], [`TrackError::NoSegments`].
    pub fn with_start_at(&self, s: f64) -> Result<Track, TrackError> {
        if !self.closed {
            return Err(TrackError::NotACircuit);
        }
        let length = self.length();
        if !(length > 0.0 && s.is_finite()) {
            return Err(TrackError::NoSegments);
        }
        let mut left = s.rem_euclid(length);
        // A line within a micrometre of a join is at the join.
        let join = 1e-6;
        let mut i = 0;
        while i < self.segments.len() && left >= self.segments[i].length - join {
            left -= self.segments[i].length;
            i += 1;
        }
        let (before, after) = self.segments.split_at(i);
        let mut segments = after.to_vec();
        let mut tail = Vec::new();
        if left > join && !after.is_empty() {
            let (first, second) = after[0].cut(left);
            segments[0] = second;
            tail.push(first);
        }
        segments.extend(before.iter().cloned());
        segments.extend(tail);
        Ok(Track { segments, ..self.clone() })
    }

    /// The same road in as few segments as can be: neighbours that are one straight line in curvature, slope and bank,
    /// of one grip and one place, become one. A circuit's line stays a join.
    pub fn coalesced(&self) -> Track {
        let mut segments: Vec<Segment> = Vec::with_capacity(self.segments.len());
        for segment in &self.segments {
            match segments.last().and_then(|last| last.merged(segment)) {
                Some(both) => {
                    segments.pop();
                    segments.push(both);
                }
                None => segments.push(segment.clone()),
            }
        }
        Track { segments, ..self.clone() }
    }
}

/// Less curvature than this is a straight, 1/m: a bend of 500 m.
const STRAIGHT: f64 = 0.002;

/// Gentler than this no segment belongs to a corner, 1/m: R 300 m.
const BEND: f64 = 1.0 / 300.0;
/// Turning that makes a corner, rad: 15°.
const CORNER: f64 = 0.26;

impl Track {
    /// Gives each corner without a name its number in driving order, and says how many it numbered: neighbouring
    /// segments that bend one way by more than `BEND`, and by `CORNER` together.
    pub fn number_corners(&mut self) -> usize {
        let way = |g: &Segment| {
            let kappa = 0.5 * (g.kappa[0] + g.kappa[1]);
            if kappa.abs() < BEND { 0.0 } else { kappa.signum() }
        };
        let n = self.segments.len();
        // On a circuit from where a corner does not run over the line.
        let from = if self.closed { (0..n).find(|i| way(&self.segments[*i]) == 0.0).unwrap_or(0) } else { 0 };
        let mut corners: Vec<Vec<usize>> = Vec::new();
        let mut before = 0.0;
        for i in (from..n).chain(0..from) {
            let own = way(&self.segments[i]);
            match corners.last_mut() {
                Some(last) if own != 0.0 && own == before => last.push(i),
                _ if own != 0.0 => corners.push(vec![i]),
                _ => {}
            }
            before = own;
        }
        let turning =
            |i: &usize| 0.5 * (self.segments[*i].kappa[0] + self.segments[*i].kappa[1]) * self.segments[*i].length;
        corners.retain(|c| c.iter().map(turning).sum::<f64>().abs() > CORNER);
        corners.sort_by_key(|c| if c[0] > c[c.len() - 1] { 0 } else { c[0] + 1 });
        let mut count = 0;
        for (number, corner) in corners.iter().enumerate() {
            if corner.iter().all(|i| self.segments[*i].place.is_none()) {
                corner.iter().for_each(|i| self.segments[*i].place = Some(format!("corner {}", number + 1)));
                count += 1;
            }
        }
        count
    }

    /// Names the bend or the straight at `s`: the segment there and its neighbours of the same turn that have no name.
    pub fn name_at(&mut self, s: f64, name: &str) {
        let turn = |g: &Segment| {
            let kappa = 0.5 * (g.kappa[0] + g.kappa[1]);
            if kappa.abs() < STRAIGHT { 0 } else { kappa.signum() as i8 }
        };
        let mut end = 0.0;
        let here = self.segments.iter().position(|g| {
            end += g.length;
            s <= end
        });
        let Some(here) = here.or(self.segments.len().checked_sub(1)) else { return };
        let own = turn(&self.segments[here]);
        self.segments[here].place = Some(name.into());
        let n = self.segments.len();
        let on = |i: usize, back: bool| match (back, self.closed) {
            (false, true) => Some((i + 1) % n),
            (true, true) => Some((i + n - 1) % n),
            (false, false) => (i + 1 < n).then_some(i + 1),
            (true, false) => i.checked_sub(1),
        };
        let mut named = Vec::new();
        for back in [false, true] {
            let mut i = here;
            while let Some(next) = on(i, back) {
                let g = &self.segments[next];
                if g.place.is_some() || turn(g) != own || named.contains(&next) || next == here {
                    break;
                }
                named.push(next);
                i = next;
            }
        }
        named.into_iter().for_each(|i| self.segments[i].place = Some(name.into()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ends(limit: f64) -> impl Strategy<Value = [f64; 2]> {
        [-limit..limit, -limit..limit]
    }

    fn segment() -> impl Strategy<Value = Segment> {
        (1.0..200.0f64, ends(0.05), ends(0.1), ends(0.1)).prop_map(|(length, kappa, q, phi)| Segment {
            length,
            kappa,
            q,
            phi,
            gamma: 1.0,
            place: None,
        })
    }

    prop_compose! {
        fn circuit()(segments in proptest::collection::vec(segment(), 1..8)) -> Track {
            Track { name: "t".into(), closed: true, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 }
        }
    }

    fn close(a: &Track, b: &Track) {
        assert_eq!(a.segments.len(), b.segments.len());
        for (p, q) in a.segments.iter().zip(&b.segments) {
            assert!((p.length - q.length).abs() < 1e-9);
            for (e, f) in [(p.kappa, q.kappa), (p.q, q.q), (p.phi, q.phi)] {
                assert!((e[0] - f[0]).abs() < 1e-12 && (e[1] - f[1]).abs() < 1e-12, "{p:?} {q:?}");
            }
        }
    }

    proptest! {
        #[test]
        fn property_mirrored_twice_is_the_same(track in circuit()) {
            prop_assert_eq!(&track.mirrored().mirrored(), &track);
            for (a, b) in track.joins().iter().zip(track.mirrored().joins()) {
                prop_assert!((a.x - b.x).abs() < 1e-9 && (a.y + b.y).abs() < 1e-9 && a.z == b.z);
            }
        }

        /// Moved on and back by the rest of the lap: the same circuit, once the cut is healed.
        #[test]
        fn property_start_moved_on_and_back(track in circuit(), share in 0.001..0.999f64) {
            let s = track.length() * share;
            let moved = track.with_start_at(s).unwrap();
            prop_assert!((moved.length() - track.length()).abs() < 1e-9);
            let back = moved.with_start_at(track.length() - s).unwrap();
            close(&back.coalesced(), &track.coalesced());
        }

        #[test]
        fn property_halves_are_one_again(track in circuit(), share in 0.1..0.9f64) {
            let halves = track.segments.iter().flat_map(|s| <[_; 2]>::from(s.cut(s.length * share))).collect();
            let cut = Track { segments: halves, ..track.clone() };
            close(&cut.coalesced(), &track.coalesced());
        }
    }

    #[test]
    fn closed_form_start_on_a_join_makes_no_sliver() {
        let piece = |length: f64| Segment {
            length,
            kappa: [0.01; 2],
            q: [0.0; 2],
            phi: [0.0; 2],
            gamma: 1.0,
            place: Some(format!("{length}")),
        };
        let segments = vec![piece(10.0), piece(20.0), piece(30.0)];
        let track = Track { name: "t".into(), closed: true, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 };
        let lengths =
            |s: f64| -> Vec<f64> { track.with_start_at(s).unwrap().segments.iter().map(|s| s.length).collect() };
        assert_eq!(lengths(10.0), [20.0, 30.0, 10.0]);
        assert_eq!(lengths(60.0), [10.0, 20.0, 30.0]);
        assert_eq!(lengths(-30.0), [30.0, 10.0, 20.0]);
        assert_eq!(lengths(15.0), [15.0, 30.0, 10.0, 5.0]);
        // Places keep segments apart.
        assert_eq!(track.coalesced().segments.len(), 3);
    }

    #[test]
    fn closed_form_a_name_is_of_the_whole_bend() {
        let piece =
            |kappa: [f64; 2]| Segment { length: 20.0, kappa, q: [0.0; 2], phi: [0.0; 2], gamma: 1.0, place: None };
        let segments =
            vec![piece([0.0; 2]), piece([0.0, 0.02]), piece([0.02; 2]), piece([0.02, 0.0]), piece([0.0, -0.02])];
        let mut track = Track { name: "t".into(), closed: true, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 };
        track.name_at(50.0, "A");
        track.name_at(5.0, "B");
        let names: Vec<_> = track.segments.iter().map(|g| g.place.as_deref()).collect();
        assert_eq!(names, [Some("B"), Some("A"), Some("A"), Some("A"), None]);
    }

    #[test]
    fn bad_input_start_of_an_open_course() {
        let segments = vec![];
        let mut track = Track { name: "t".into(), closed: false, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 };
        assert_eq!(track.with_start_at(1.0), Err(TrackError::NotACircuit));
        track.closed = true;
        assert_eq!(track.with_start_at(1.0), Err(TrackError::NoSegments));
    }
}
