//! Segments and tracks so plain that one sees their shape in the test.

use unladen_track::{Segment, Track};

/// A segment on the flat, without bank, of full grip; m, and 1/m at its start and end.
pub fn flat(length: f64, kappa: [f64; 2]) -> Segment {
    Segment { length, kappa, q: [0.0; 2], phi: [0.0; 2], gamma: 1.0, place: None }
}

/// A corner of `angle` rad (left above 0) eased in and out by clothoids: radius and length of each, m.
pub fn corner(radius: f64, clothoid: f64, angle: f64) -> [Segment; 3] {
    let k = 1.0 / radius;
    let arc = angle.abs() * radius - clothoid;
    let k = k.copysign(angle);
    [flat(clothoid, [0.0, k]), flat(arc, [k; 2]), flat(clothoid, [k, 0.0])]
}

/// Bends of these radii (left above 0), each eased in and out over 12 m, with straights before, between and after; m.
pub fn bends(first: f64, radii: &[f64], straight: f64) -> Vec<Segment> {
    let mut segments = vec![flat(first, [0.0; 2])];
    for radius in radii {
        let kappa = 1.0 / radius;
        segments.extend([flat(12.0, [0.0, kappa]), flat(0.8 * radius.abs(), [kappa; 2]), flat(12.0, [kappa, 0.0])]);
        segments.push(flat(straight, [0.0; 2]));
    }
    segments
}

/// An open course on a standard day, begun at this speed, m/s.
pub fn open(segments: Vec<Segment>, start_speed: f64) -> Track {
    Track { name: "open".into(), closed: false, start_speed, segments, rho: 1.225, grip: 1.0 }
}

/// A circuit on a standard day.
pub fn circuit(segments: Vec<Segment>) -> Track {
    Track { name: "circuit".into(), closed: true, ..open(segments, 0.0) }
}
