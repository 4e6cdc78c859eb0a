//! Random but valid cars.

use unladen_vehicle::Car;
use unladen_vehicle::car::*;

use super::Rng;

/// How odd a car may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// What people bring to a track: inside the garage's "usual" ranges.
    Usual,
    /// Anything that the garage lets pass and that still has four wheels: trucks, karts, cars on ice, without a
    /// wheel's inertia, with one gear, that roll over before they slide.
    Odd,
}

fn tyre(r: &mut Rng, kind: Kind, corner_load: f64) -> Tyre {
    let usual = kind == Kind::Usual;
    let mu = if usual { r.range(0.7, 1.8) } else { r.log_range(0.25, 3.0) };
    Tyre {
        n_0: if usual { corner_load * r.range(0.6, 1.6) } else { corner_load * r.log_range(0.2, 5.0) },
        mu_x0: mu * r.range(0.9, 1.1),
        mu_y0: mu * r.range(0.9, 1.1),
        k_x: if r.chance(0.15) { 0.0 } else { -mu * r.range(0.0, if usual { 0.25 } else { 0.6 }) },
        k_y: if r.chance(0.15) { 0.0 } else { -mu * r.range(0.0, if usual { 0.25 } else { 0.6 }) },
        inv_c_alpha: if r.chance(0.3) { 0.0 } else { 1.0 / (corner_load * r.range(8.0, 30.0)) },
        r: if usual { r.range(0.25, 0.36) } else { r.range(0.12, 0.6) },
        j_wheel: if !usual && r.chance(0.3) { 0.0 } else { r.range(0.2, 2.5) },
    }
}

fn bias(r: &mut Rng, kind: Kind) -> f64 {
    match r.below(4) {
        0 => 1.0,
        1 => f64::INFINITY,
        2 => r.range(1.2, 4.0),
        _ if kind == Kind::Odd => r.log_range(1.0, 100.0),
        _ => r.range(1.0, 6.0),
    }
}

/// A car for a seed.
pub fn car(r: &mut Rng, kind: Kind) -> Car {
    let usual = kind == Kind::Usual;
    let m = if usual { r.range(500.0, 2200.0) } else { r.log_range(150.0, 12_000.0) };
    let l = if usual { r.range(2.2, 3.1) } else { r.range(1.0, 6.0) };
    let a = l * if usual { r.range(0.35, 0.65) } else { r.range(0.15, 0.85) };
    let h = if usual { r.range(0.3, 0.65) } else { r.range(0.05, 1.4) };
    let t = if usual { r.range(1.3, 1.75) } else { r.range(0.9, 2.2) };
    let corner = m * G / 4.0;
    let front = tyre(r, kind, corner);
    let rear = if r.chance(0.4) { front } else { tyre(r, kind, corner) };
    let power_w = m * if usual { r.log_range(50.0, 500.0) } else { r.log_range(8.0, 2000.0) };
    let limit = if usual { r.range(500.0, 950.0) } else { r.range(150.0, 2000.0) };
    let points = 1 + r.below(7);
    let mut torque: Vec<(f64, f64)> = vec![];
    let peak = power_w / (0.85 * limit);
    for i in 0..points {
        let share = (i as f64 + r.range(0.1, 0.9)) / points as f64;
        let shape = if usual { 0.6 + 0.5 * (share * 2.6).sin().max(0.0) } else { r.range(0.1, 1.3) };
        torque.push((limit * share * 1.02, peak * shape));
    }
    let gears = 1 + r.below(if usual { 7 } else { 10 });
    let top_speed = if usual { r.range(40.0, 95.0) } else { r.range(8.0, 150.0) };
    let final_drive = r.range(2.5, 5.0);
    let r_w = front.r.min(rear.r);
    let last = limit * r_w / (top_speed * final_drive);
    let spread = if usual { r.range(1.1, 1.5) } else { r.range(1.02, 2.2) };
    let gears = (0..gears).rev().map(|i| last * spread.powi(i as i32)).collect();
    let aero = if r.chance(0.4) { 0.0 } else { r.range(-0.1, if usual { 1.5 } else { 6.0 }) };
    let layout = r.pick(&[Layout::Front, Layout::Rear, Layout::All]);
    Car {
        mass: Mass {
            m,
            a,
            y_cg: if r.chance(0.5) { 0.0 } else { r.range(-0.05, 0.05) * if usual { 1.0 } else { 4.0 } },
            h,
        },
        chassis: Chassis {
            l,
            t_f: t,
            t_r: if r.chance(0.3) { t } else { t * r.range(0.9, 1.1) },
            h_rf: r.range(-0.05, 0.2),
            h_rr: r.range(-0.05, 0.35),
            chi: if usual { r.range(0.3, 0.8) } else { r.range(0.0, 1.0) },
        },
        front,
        rear,
        aero: Aero {
            cd_a: if r.chance(0.1) { 0.0 } else { r.range(0.3, if usual { 1.2 } else { 4.0 }) },
            cf_a: aero * r.range(0.2, 0.8),
            cr_a: aero * r.range(0.2, 0.8),
            c_rr: if r.chance(0.1) { 0.0 } else { r.range(0.006, 0.03) },
        },
        engine: Engine {
            torque,
            power: r.range(0.9, 1.1),
            launch: limit * r.range(0.1, 0.8),
            limit,
            inertia: if !usual && r.chance(0.3) { 0.0 } else { r.range(0.02, 0.3) },
        },
        driveline: Driveline {
            layout,
            front_share: r.range(0.1, 0.9),
            centre_bias: bias(r, kind),
            front_bias: bias(r, kind),
            rear_bias: bias(r, kind),
            gears,
            final_drive,
            efficiency: r.range(0.8, 1.0),
            shift_time: if r.chance(0.35) { 0.0 } else { r.range(0.02, 0.8) },
        },
        brakes: Brakes {
            beta_f: if usual { r.range(0.5, 0.85) } else { r.range(0.0, 1.0) },
            anti_lock: r.pick(&[AntiLock::None, AntiLock::ThreeChannel, AntiLock::FourChannel]),
            rear_limiter: r
                .chance(0.4)
                .then(|| RearLimiter { knee: m * r.range(0.5, 4.0), slope: r.pick(&[0.0, 0.3, 0.6, 1.0]) }),
        },
        driver: Use {
            cornering: if r.chance(0.5) { 1.0 } else { r.range(0.8, 1.0) },
            braking: if r.chance(0.5) { 1.0 } else { r.range(0.7, 1.0) },
            traction: if r.chance(0.5) { 1.0 } else { r.range(0.7, 1.0) },
        },
    }
}
