//! Random but valid tracks.

use unladen_track::{Segment, Track};

use super::{Kind, Rng};

/// A track for a seed: of the length asked for, about, in m; closed in slope, not in plan (which a lap does not see).
pub fn track(r: &mut Rng, kind: Kind, length: f64) -> Track {
    let usual = kind == Kind::Usual;
    let closed = r.chance(0.5);
    let tightest = if usual { 12.0 } else { 4.0 };
    let steepest = if usual { 0.10 } else { 0.20 };
    let banked: f64 = if usual { 0.10 } else { 0.4 };
    let hilly = r.chance(0.6);
    let flat_bank = r.chance(0.4);
    let (mut kappa, mut q, mut phi) = (0.0, 0.0, 0.0);
    let (q_0, phi_0) = (if hilly { r.range(-steepest, steepest) } else { 0.0 }, phi);
    q += q_0;
    let mut segments: Vec<Segment> = vec![];
    let mut s = 0.0;
    while s < length {
        let length = if usual { r.log_range(15.0, 250.0) } else { r.log_range(1.0, 400.0) };
        // Curvature: goes on as it is, comes from or goes to a straight, or jumps.
        let start = if r.chance(0.3) { pick_kappa(r, tightest) } else { kappa };
        let end = if r.chance(0.4) { start } else { pick_kappa(r, tightest) };
        // A slope may change no faster than a road's: |q'| of 1/60 m at most.
        let bend = length / if usual { 250.0 } else { 60.0 };
        let q_1 = if hilly { (q + r.range(-bend, bend)).clamp(-steepest, steepest) } else { 0.0 };
        let phi_1 = if flat_bank { 0.0 } else { bank_for(r, end, banked) };
        let jump = !usual && !flat_bank && r.chance(0.1);
        segments.push(Segment {
            length,
            kappa: [start, end],
            q: [q, q_1],
            phi: [if jump { r.range(-banked, banked) } else { phi }, phi_1],
            gamma: if r.chance(0.8) { 1.0 } else { r.range(if usual { 0.7 } else { 0.4 }, 1.2) },
            place: None,
        });
        (kappa, q, phi) = (end, q_1, phi_1);
        s += length;
    }
    if closed && hilly {
        let length = 60.0 + 150.0 * (q - q_0).abs();
        segments.push(Segment { length, kappa: [kappa, 0.0], q: [q, q_0], phi: [phi, phi_0], gamma: 1.0, place: None });
    }
    let start_speed = if closed || r.chance(0.6) { 0.0 } else { r.range(0.0, 15.0) };
    let track = Track { name: "random".into(), closed, start_speed, segments, rho: r.range(0.9, 1.3), grip: 1.0 };
    assert_eq!(track.check(), [], "the generator itself must make valid tracks");
    track
}

fn pick_kappa(r: &mut Rng, tightest: f64) -> f64 {
    if r.chance(0.35) {
        return 0.0;
    }
    let radius = r.log_range(tightest, 600.0);
    if r.chance(0.5) { 1.0 / radius } else { -1.0 / radius }
}

/// Mostly banked into the corner, at times off it.
fn bank_for(r: &mut Rng, kappa: f64, most: f64) -> f64 {
    let size = most * r.unit().powi(2);
    if kappa == 0.0 {
        return if r.chance(0.5) { 0.0 } else { r.range(-0.3, 0.3) * most };
    }
    if r.chance(0.8) { size * kappa.signum() } else { -0.5 * size * kappa.signum() }
}
