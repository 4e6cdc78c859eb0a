//! Invented laps to draw: a point mass on invented tracks, just plausible enough to look at. Not the model of
//! `unladen`.

use unladen_lap::{Limit, Row};
use unladen_report::lap::place::{Place, places};
use unladen_track::{Pose, Segment, Track};

/// A lap with all that the pictures take.
pub struct Lap {
    pub track: Track,
    pub places: Vec<Place>,
    pub rows: Vec<Row>,
    pub length_m: f64,
    pub lap_time_s: f64,
    /// Plan positions of the rows, m.
    pub plan: Vec<Pose>,
    /// Invented ∂t/∂m up to each row, s/kg.
    pub dt_dm: Vec<f64>,
}

/// Mass, power and grip of the invented point mass.
#[derive(Clone, Copy)]
pub struct Mass {
    pub kg: f64,
    pub watts: f64,
    pub grip: f64,
    pub drag: f64,
}

pub const SALOON: Mass = Mass { kg: 1284.0, watts: 180e3, grip: 1.05, drag: 0.75 };
pub const KART: Mass = Mass { kg: 200.0, watts: 22e3, grip: 1.6, drag: 0.5 };

/// A corner with clothoids at both ends and a straight before it: straight m, turn in degrees (left +), radius m,
/// names.
pub struct Bend<'a>(pub f64, pub f64, pub f64, pub &'a str, pub &'a str);

pub fn track(name: &str, closed: bool, bends: &[Bend]) -> Track {
    let segment = |length: f64, kappa: [f64; 2], place: &str| Segment {
        length,
        kappa,
        q: [0.0; 2],
        phi: [0.0; 2],
        gamma: 1.0,
        place: (!place.is_empty()).then(|| place.to_owned()),
    };
    let mut segments = Vec::new();
    for Bend(straight, degrees, radius, before, at) in bends {
        if *straight > 0.0 {
            segments.push(segment(*straight, [0.0; 2], before));
        }
        if *degrees != 0.0 {
            let kappa = degrees.signum() / radius;
            let turn = degrees.to_radians().abs() * radius;
            let spiral = 0.35 * turn;
            segments.push(segment(spiral, [0.0, kappa], at));
            segments.push(segment(turn - spiral, [kappa; 2], at));
            segments.push(segment(spiral, [kappa, 0.0], at));
        }
    }
    Track { name: name.to_owned(), closed, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 }
}

/// Drives it.
pub fn lap(track: Track, m: Mass, step: f64) -> Lap {
    let length_m = track.length();
    let n = (length_m / step).ceil() as usize;
    let ds = length_m / n as f64;
    let kappa: Vec<f64> = (0..=n).map(|i| kappa_at(&track, i as f64 * ds)).collect();
    let g = m.grip * 9.81;
    let ceiling = |k: f64| (g / k.abs().max(1e-6)).sqrt().min(95.0);
    let mut v: Vec<f64> = kappa.iter().map(|k| ceiling(*k)).collect();
    if !track.closed {
        v[0] = 0.0;
    }
    let spare = |v: f64, k: f64| (g * g - (v * v * k).powi(2)).max(0.0).sqrt();
    let drive = |v: f64| m.watts / v.max(8.0) / m.kg - 0.5 * 1.2 * m.drag * v * v / m.kg;
    let mut limit = vec![Limit::FrontGrip; n + 1];
    for _ in 0..2 {
        if track.closed {
            v[n] = v[n].min(v[0]);
        }
        for i in (0..n).rev() {
            let most = (v[i + 1].powi(2) + 2.0 * ds * spare(v[i + 1], kappa[i + 1])).sqrt();
            if most < v[i] {
                v[i] = most;
                limit[i] = Limit::Braking;
            }
        }
        if track.closed {
            v[0] = v[0].min(v[n]);
        }
        for i in 0..n {
            let (engine, grip) = (drive(v[i]), 0.55 * spare(v[i], kappa[i]));
            let most = (v[i].powi(2) + 2.0 * ds * engine.min(grip)).max(4.0).sqrt();
            if most < v[i + 1] {
                v[i + 1] = most;
                limit[i] = if engine < grip { Limit::Power } else { Limit::RearGrip };
            }
        }
    }
    for i in 1..n {
        let shifting = [16.0, 27.0, 38.0, 50.0].iter().any(|g| v[i] < *g && v[i + 1] >= *g);
        if limit[i] == Limit::Power && shifting {
            limit[i] = Limit::Shift;
        }
    }
    let (mut rows, mut plan, mut dt_dm) = (Vec::new(), Vec::new(), Vec::new());
    let (mut t, mut heading, mut at, mut cost) = (0.0, 0.3f64, [0.0, 0.0], 0.0);
    for i in 0..=n {
        let a_x = if i < n { (v[i + 1].powi(2) - v[i].powi(2)) / (2.0 * ds) } else { 0.0 };
        let gear = (1.0 + v[i] / 14.0) as u8;
        let a_y = v[i] * v[i] * kappa[i];
        rows.push(Row { s: i as f64 * ds, t, v: v[i], a_x, a_y, gear, limit: limit[i], load: [0.25 * m.kg * 9.81; 4] });
        plan.push(Pose { s: i as f64 * ds, x: at[0], y: at[1], z: 0.0, heading });
        dt_dm.push(cost);
        if i < n {
            let dt = 2.0 * ds / (v[i] + v[i + 1]);
            t += dt;
            heading += 0.5 * (kappa[i] + kappa[i + 1]) * ds;
            at = [at[0] + ds * heading.cos(), at[1] + ds * heading.sin()];
            let share = match limit[i] {
                Limit::Power => 0.42,
                Limit::Shift => 0.1,
                _ => 0.06,
            };
            cost += share * dt / m.kg;
        }
    }
    if track.closed {
        // Invented bends don't meet again by themselves: spread what is missing over the lap.
        let last = plan[n];
        for (i, p) in plan.iter_mut().enumerate() {
            let w = i as f64 / n as f64;
            (p.x, p.y) = (p.x - w * last.x, p.y - w * last.y);
        }
    }
    let places = places(&track);
    Lap { track, places, rows, length_m, lap_time_s: t, plan, dt_dm }
}

fn kappa_at(track: &Track, s: f64) -> f64 {
    let mut from = 0.0;
    for g in &track.segments {
        if s <= from + g.length {
            return g.kappa[0] + (g.kappa[1] - g.kappa[0]) * (s - from) / g.length;
        }
        from += g.length;
    }
    0.0
}

/// About 2.4 km round an airfield, closed.
pub fn airfield() -> Track {
    let bends = [
        Bend(300.0, 0.0, 1.0, "Runway", ""),
        Bend(0.0, 84.0, 38.0, "", "Windsock"),
        Bend(120.0, -50.0, 55.0, "", "Taxiway"),
        Bend(90.0, 64.0, 48.0, "", "Hangar"),
        Bend(160.0, 90.0, 30.0, "Apron", "Fire Station"),
        Bend(190.0, -58.0, 70.0, "Back straight", "Beacon"),
        Bend(60.0, 100.0, 42.0, "", "Fuel Farm"),
        Bend(150.0, 130.0, 62.0, "", "Tower"),
        Bend(330.0, 0.0, 1.0, "Runway", ""),
    ];
    track("Airfield", true, &bends)
}

/// An open climb of eight bends.
pub fn climb() -> Track {
    let bends = [
        Bend(140.0, 35.0, 60.0, "Start", "Orchard"),
        Bend(120.0, -70.0, 28.0, "", "Chapel"),
        Bend(180.0, 160.0, 11.0, "Avenue", "Lower Hairpin"),
        Bend(110.0, -150.0, 12.0, "", "Upper Hairpin"),
        Bend(230.0, 40.0, 90.0, "Quarry Straight", "Quarry"),
        Bend(60.0, -55.0, 45.0, "", "Esses"),
        Bend(30.0, 60.0, 40.0, "", "Esses"),
        Bend(210.0, 0.0, 1.0, "Finish straight", ""),
    ];
    track("Hill climb", false, &bends)
}

/// About 20 km with sixty named corners that wander and come back.
pub fn giant(name: impl Fn(usize) -> String) -> Track {
    let names: Vec<String> = (0..60).map(name).collect();
    // Left and right by turns, each left 12° more than the right before it takes back: 360° in all.
    let bend = |i: usize| {
        let swing = 30.0 + 25.0 * ((i * 7) % 5) as f64;
        let degrees = if i.is_multiple_of(2) { swing + 12.0 } else { -30.0 - 25.0 * (((i - 1) * 7) % 5) as f64 };
        Bend(130.0 + 37.0 * ((i * 5) % 9) as f64, degrees, 35.0 + 20.0 * ((i * 3) % 7) as f64, "", &names[i])
    };
    let bends: Vec<Bend> = (0..60).map(bend).collect();
    track("Giant", true, &bends)
}

/// One corner on an open course.
pub fn single() -> Track {
    track("One corner", false, &[Bend(200.0, 90.0, 40.0, "", "The corner"), Bend(200.0, 0.0, 1.0, "", "")])
}
