//! What the lap tests share: random but valid cars and tracks, and cars so plain that a lap has a closed form.
#![allow(dead_code, clippy::unwrap_used)]

pub mod judge;
pub mod plain;
pub mod random;

use std::path::PathBuf;

use unladen_garage::{Overrides, read_car, read_track};
use unladen_track::{Segment, Track};
use unladen_vehicle::Car;

/// A segment on the flat, without bank, of full grip.
pub fn flat(length: f64, kappa: [f64; 2]) -> Segment {
    Segment { length, kappa, q: [0.0; 2], phi: [0.0; 2], gamma: 1.0, place: None }
}

/// An open course on a standard day.
pub fn open(segments: Vec<Segment>, start_speed: f64) -> Track {
    Track { name: "open".into(), closed: false, start_speed, segments, rho: 1.225, grip: 1.0 }
}

/// A circuit on a standard day.
pub fn circuit(segments: Vec<Segment>) -> Track {
    Track { closed: true, ..open(segments, 0.0) }
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..")
}

pub const CARS: [&str; 3] = ["saloon-awd", "saloon-rwd", "mid-engine"];
pub const TRACKS: [&str; 3] = ["airfield", "valley", "hillclimb"];

/// A demo car as it laps.
pub fn demo_car(name: &str) -> Car {
    let path = root().join("vehicles").join(name).join("car.toml");
    read_car(path, &Overrides::none()).unwrap_or_else(|e| panic!("{name}: {e}")).car
}

/// A demo track.
pub fn demo_track(name: &str) -> Track {
    let path = root().join("tracks").join(format!("{name}.toml"));
    read_track(path, &Overrides::none(), None).unwrap_or_else(|e| panic!("{name}: {e}")).track
}

/// The quantile of a sorted list.
pub fn quantile(sorted: &[f64], q: f64) -> f64 {
    if sorted.is_empty() { f64::NAN } else { sorted[((sorted.len() - 1) as f64 * q).round() as usize] }
}
