//! Laps whose times can be written down: `docs/sources.md` 24, 29–34, and corners at the limit with load transfer.
//!
//! The cars are such that the whole model collapses to the case; nothing of the solver is bypassed.

use std::f64::consts::PI;

use crate::common::plain::point_mass;
use crate::common::{circuit, flat, open};
use unladen_lap::{Course, Lap, STEP_M, Status};
use unladen_track::{Segment, Track};
use unladen_vehicle::car::*;
use unladen_vehicle::{Car, G, Number};

fn lap(track: &Track, car: &Car) -> (Course, Lap) {
    assert_eq!(track.check(), []);
    let course = Course::new(track);
    let lap = course.lap(car).unwrap();
    assert_eq!(lap.status, Status::Settled);
    (course, lap)
}

/// The row at a station, which must be one.
fn at(lap: &Lap, s: f64) -> unladen_lap::Row {
    lap.trace().into_iter().find(|r| (r.s - s).abs() < 1e-9).unwrap()
}

fn close(what: &str, got: f64, want: f64, tolerance: f64) {
    println!("{what}: {got:.9}, closed form {want:.9}, off {:.1e} (tolerance {tolerance:.0e})", got - want);
    assert!((got - want).abs() <= tolerance, "{what}: {got} is not {want} ± {tolerance}");
}

/// sources.md 29: from rest on a constant radius, R 100, a g. dX/ds = 2√(a² − (X/R)²), so X = a R sin(2s/R): the limit
/// is reached at s = πR/4 after ½ϖ√(R/a), ϖ the lemniscate constant. Tolerance 1e-5 s: the row's, met at steps of 0.5 m;
/// at the default step, where the approach to the limit costs most, within the reported error and 1 ms.
#[test]
fn closed_form_friction_circle_from_rest() {
    let to_limit = PI * 100.0 / 4.0;
    close("row 29's own distance", to_limit, 78.5398, 5e-5);
    let t_1 = 0.5 * 2.622_057_554_3 * (100.0 / G).sqrt();
    close("row 29's own time", t_1, 4.186_508, 5e-7);
    let v = (G * 100.0).sqrt();
    let t_2 = t_1 + 100.0 / v;
    let arc = |length: f64| flat(length, [0.01; 2]);
    // To the limit, and 100 m on at it; and in one piece, where no station stands at the limit's place.
    let two = open(vec![arc(to_limit), arc(100.0)], 0.0);
    let one = open(vec![arc(to_limit + 100.0)], 0.0);
    let mut last = f64::INFINITY;
    for step in [STEP_M, 1.0, 0.5, 0.25] {
        let course = Course::with_step(&two, step);
        let run = course.lap(&point_mass(1.0)).unwrap();
        let row = at(&run, to_limit);
        let tolerance = if step <= 0.5 { 1e-5 } else { 1e-3 };
        close(&format!("time to the limit, step {step}"), row.t, t_1, tolerance);
        close("speed there", row.v, v, 1e-2 * tolerance.sqrt());
        close("time with 100 m at the limit", run.time, t_2, tolerance.min(run.error));
        let whole = Course::with_step(&one, step).lap(&point_mass(1.0)).unwrap();
        close("in one segment", whole.time, t_2, tolerance.min(whole.error));
        // Below 5e-6 s the shortest cell, 2 cm, keeps the error where it is.
        assert!((run.time - t_2).abs() < (last / 3.0).max(5e-6), "an order below 1.6");
        last = (run.time - t_2).abs().max(1e-9);
    }
}

/// Straight-line limits of +4 and −9 m/s² through the driver's use of the grip, lateral 9.80665.
fn plus_4_minus_9() -> Car {
    let mut car = point_mass(1.0);
    car.driver.traction = 4.0 / G;
    car.driver.braking = 9.0 / G;
    car
}

/// sources.md 30: 500 m, 20 → 15 m/s at +4/−9: peak² = (2·4·9·500 + 9·20² + 4·15²)/13, 13.488978 s. The 15 m/s are
/// those of a corner that follows. Tolerance 1e-5 s: the row's.
#[test]
fn closed_form_straight_between_two_speeds() {
    let peak = ((2.0 * 4.0 * 9.0 * 500.0 + 9.0 * 400.0 + 4.0 * 225.0) / 13.0f64).sqrt();
    close("row 30's own peak", peak, 55.8156, 5e-5);
    let t = (peak - 20.0) / 4.0 + (peak - 15.0) / 9.0;
    close("row 30's own time", t, 13.488_978, 5e-7);
    let track = open(vec![flat(500.0, [0.0; 2]), flat(30.0, [G / 225.0; 2])], 20.0);
    let (_, run) = lap(&track, &plus_4_minus_9());
    let row = at(&run, 500.0);
    close("time", row.t, t, 1e-5);
    close("speed at the end", row.v, 15.0, 1e-9);
    close("time with the corner", run.time, t + 30.0 / 15.0, 1e-5);
    // The peak lies between stations: from the rows on either side of it, each on its own parabola.
    let rows = run.trace();
    let seen = rows.iter().map(|r| r.v).fold(0.0, f64::max);
    assert!(seen <= peak + 1e-9 && seen > peak - 1.0, "{seen}");
    let s_peak = (peak * peak - 400.0) / 8.0;
    for r in &rows {
        let x = if r.s <= s_peak { 400.0 + 8.0 * r.s } else { 225.0 + 18.0 * (500.0 - r.s).max(0.0) };
        assert!((r.v * r.v - x).abs() < 1e-7 * x, "{} m: {} for {}", r.s, r.v * r.v, x);
    }
}

fn oval(scale: f64, first: usize) -> Track {
    let (straight, half) = (flat(500.0 * scale, [0.0; 2]), flat(PI * 100.0 * scale, [0.01 / scale; 2]));
    let mut segments = vec![straight.clone(), half.clone(), straight, half];
    segments.rotate_left(first);
    circuit(segments)
}

/// sources.md 31: oval of 2 × 500 m and two half circles of R 100, lateral g, +4/−9: 31.3156 m/s in the corners, at most
/// 61.2364, 41.673575 s. Tolerance 1e-5 s: the row's.
#[test]
fn closed_form_oval() {
    let v = (G * 100.0).sqrt();
    let peak = (v * v + 2.0 * 4.0 * 9.0 / 13.0 * 500.0).sqrt();
    close("row 31's own speeds", v + peak, 31.3156 + 61.2364, 1e-4);
    let t = 2.0 * ((peak - v) * (1.0 / 4.0 + 1.0 / 9.0) + PI * 100.0 / v);
    close("row 31's own time", t, 41.673_575, 5e-7);
    for first in 0..4 {
        let (_, run) = lap(&oval(1.0, first), &plus_4_minus_9());
        close("lap", run.time, t, 1e-5);
    }
}

/// sources.md 31: all lengths × 4 → time × 2 exactly, on any track and for any car without air and engine: X, heights and
/// radii scale alike. With the step × 4 too the very same equations are solved: to rounding on the oval; with the kinks
/// of the whole model to 1e-8, as a kink is placed to 1e-4 m whatever the scale (X and its slope are continuous there).
#[test]
fn closed_form_scaling_lengths() {
    let mut car = unladen_vehicle::example_car();
    (car.aero.cd_a, car.aero.cf_a, car.aero.cr_a) = (0.0, 0.0, 0.0);
    car.engine.power = 1e3;
    car.engine.limit = 1e5;
    car.driveline.gears = vec![1.0];
    car.driveline.shift_time = 0.0;
    let hilly = |scale: f64| {
        let mut track = crate::common::demo_track("valley");
        for g in &mut track.segments {
            g.length *= scale;
            // Radii of 300 m at least: below, the mesh has a length of its own.
            g.kappa = g.kappa.map(|k| 0.09 * k / scale);
        }
        track
    };
    for anti_lock in [AntiLock::None, AntiLock::ThreeChannel, AntiLock::FourChannel] {
        car.brakes.anti_lock = anti_lock;
        for layout in [Layout::Front, Layout::Rear, Layout::All] {
            car.driveline.layout = layout;
            let one = Course::with_step(&hilly(1.0), 2.0).time(&car).unwrap();
            let four = Course::with_step(&hilly(4.0), 8.0).time(&car).unwrap();
            close(&format!("{layout:?} {anti_lock:?}: time × 4 lengths / 2"), four / 2.0, one, 1e-8 * one);
        }
    }
    let [one, four] = [1.0, 4.0].map(|scale| {
        let course = Course::with_step(&oval(scale, 0), scale * 2.0);
        course.time(&plus_4_minus_9()).unwrap()
    });
    close("oval", four / 2.0, one, 1e-10 * one);
}

/// 150 kW at every speed from v_1 on, at points δ apart in ln ω with chords between; constant force below.
fn constant_power(v_1: f64, points: u32) -> Car {
    let mut car = point_mass(20.0);
    // r_w 0.3 m, ratio 1: ω = v/0.3.
    let per_v = 1.0 / 0.3;
    let delta = (80.0 / v_1).ln() / f64::from(points);
    car.engine.torque = (0..=points)
        .map(|i| {
            let omega = per_v * v_1 * (delta * f64::from(i)).exp();
            (omega, 150e3 / omega)
        })
        .collect();
    car.engine.launch = per_v * v_1;
    car.engine.limit = per_v * 90.0;
    car
}

/// Drive force at v from the points themselves, and the chord's force and slope: F = f_0 + slope v.
fn chord(car: &Car, v: f64) -> (f64, f64) {
    let omega = v / 0.3;
    let w = car.engine.torque.windows(2).find(|w| w[0].0 <= omega && omega <= w[1].0).unwrap();
    let slope = (w[1].1 - w[0].1) / (w[1].0 - w[0].0);
    ((w[0].1 - slope * w[0].0) / 0.3, slope / 0.09)
}

/// Time to s from rest on those chords: over each, t = (m/b) ln(F_1/F_0) and s = (m/b)(v_1 − v_0) − (f_0/b) t.
fn time_on_chords(car: &Car, m: f64, s_end: f64) -> f64 {
    let speeds: Vec<f64> = car.engine.torque.iter().map(|p| p.0 * 0.3).collect();
    let force = car.engine.torque[0].1 / 0.3;
    let (mut t, mut s) = (m * speeds[0] / force, 0.5 * m * speeds[0] * speeds[0] / force);
    for w in speeds.windows(2) {
        let (f_0, b) = chord(car, 0.5 * (w[0] + w[1]));
        let to = |v: f64| {
            let dt = m / b * ((f_0 + b * v) / (f_0 + b * w[0])).ln();
            (dt, m / b * (v - w[0]) - f_0 / b * dt)
        };
        let (dt, ds) = to(w[1]);
        if s + ds >= s_end {
            let (mut low, mut high) = (w[0], w[1]);
            for _ in 0..60 {
                let v = 0.5 * (low + high);
                if s + to(v).1 < s_end { low = v } else { high = v }
            }
            return t + to(low).0;
        }
        (t, s) = (t + dt, s + ds);
    }
    f64::NAN
}

/// sources.md 32: constant power from rest, t = (9 m s²/8P)^⅓: 1000 kg, 150 kW, 400 m: 10.6266 s; ∂t/∂m = t/3m = 3.542
/// ms/kg; sources.md 34: elasticity ⅓. Below v_1 the slipping clutch holds the force P/v_1: with s_1 = m v_1³/2P and
/// v³ = v_1³ + 3P (s − s_1)/m the time is m v_1²/P + m (v² − v_1²)/2P. Tolerance: the row's 1e-6, relative, at a step
/// that allows it (the first metres of a car that leaves at 2 g want short ones); at the default step the reported error.
#[test]
fn closed_form_constant_power_from_rest() {
    let (m, p, s, v_1) = (1000.0f64, 150e3, 400.0, 4.0f64);
    let ideal = (9.0 * m * s * s / (8.0 * p)).cbrt();
    close("row 32's own time", ideal, 10.6266, 5e-5);
    close("row 32's own slope, ms/kg", ideal / (3.0 * m) * 1e3, 3.542, 5e-4);
    let time = |m: f64| {
        let s_1 = 0.5 * m * v_1.powi(3) / p;
        let v = (v_1.powi(3) + 3.0 * p * (s - s_1) / m).cbrt();
        m * v_1 * v_1 / p + 0.5 * m * (v * v - v_1 * v_1) / p
    };
    let slope = |time: &dyn Fn(f64) -> f64| (time(m + 0.1) - time(m - 0.1)) / 0.2;
    let track = open(vec![flat(s, [0.0; 2])], 0.0);
    for (step, points) in [(STEP_M, 600), (0.02, 3000)] {
        let car = constant_power(v_1, points);
        let course = Course::with_step(&track, step);
        let run = course.lap(&car).unwrap();
        let per_kg = &run.derivatives(&[Number::M])[0];
        let (ideal_slope, on_chords) = (slope(&time), slope(&|m| time_on_chords(&car, m, s)));
        let (t_off, slope_off) =
            if step == STEP_M { (run.error, per_kg.error) } else { (1e-6 * ideal, 1e-6 * ideal_slope) };
        close(&format!("time, step {step}"), run.time, time(m), t_off);
        close("time, to the chords", run.time, time_on_chords(&car, m, s), t_off);
        close("∂t/∂m, ms/kg, to the chords", per_kg.value * 1e3, on_chords * 1e3, slope_off * 1e3);
        // The chords of 600 points are what is left.
        let chords_off = if step == STEP_M { 3e-6 * ideal_slope } else { slope_off };
        close("∂t/∂m, ms/kg", per_kg.value * 1e3, ideal_slope * 1e3, chords_off * 1e3);
        // The launch takes 1 % of the time, and its own elasticity is not ⅓.
        close("elasticity", per_kg.value * m / run.time, 1.0 / 3.0, 0.01);
    }
}

/// sources.md 23: 150 kW at the wheels, C_dA 0.65, c_rr 0.012, 1000 kg, ρ 1.225: 70.861 m/s; without c_rr 72.225.
/// Reached to e^(−s/ℓ), ℓ about 800 m, on 30 km. Tolerance 0.01 m/s for the row; 1e-6 for the equilibrium of the very
/// force that the torque points give.
#[test]
fn closed_form_top_speed_on_power() {
    for (c_rr, want) in [(0.012, 70.861), (0.0, 72.225)] {
        let mut car = constant_power(2.0, 600);
        car.aero = Aero { cd_a: 0.65, cf_a: 0.0, cr_a: 0.0, c_rr };
        let (_, run) = lap(&open(vec![flat(30_000.0, [0.0; 2])], 50.0), &car);
        let end = run.trace().last().unwrap().v;
        close("row 23", end, want, 0.01);
        let (mut low, mut high) = (60.0f64, 75.0);
        for _ in 0..60 {
            let v = 0.5 * (low + high);
            let (f_0, slope) = chord(&car, v);
            let gain = f_0 + slope * v - 0.5 * 1.225 * 0.65 * v * v - c_rr * 1000.0 * G;
            if gain > 0.0 { low = v } else { high = v }
        }
        close("equilibrium of the points' force", end, low, 1e-6);
    }
}

/// sources.md 24: coasting from 130 to 60 km/h against 117.680 N + 0.398125 v², 1000 kg: 52.095 s, 1288.53 m.
/// t = (m/√(AB)) (atan(v_0 √(B/A)) − atan(v_1 √(B/A))), s = (m/2B) ln((A + B v_0²)/(A + B v_1²)). Tolerance 1e-6: the
/// row's, relative.
#[test]
fn closed_form_coast_down() {
    let (m, v_0, v_1) = (1000.0f64, 130.0 / 3.6, 60.0f64 / 3.6);
    let (a, b) = (0.012 * m * G, 0.5 * 1.225 * 0.65);
    close("row 24's own forces", a + b, 117.680 + 0.398_125, 5e-4);
    let k = (b / a).sqrt();
    let t = m / (a * b).sqrt() * ((v_0 * k).atan() - (v_1 * k).atan());
    let s = 0.5 * m / b * ((a + b * v_0 * v_0) / (a + b * v_1 * v_1)).ln();
    close("row 24's own time", t, 52.095, 5e-4);
    close("row 24's own distance", s, 1288.53, 5e-3);
    let mut car = point_mass(1.0);
    car.aero = Aero { cd_a: 0.65, cf_a: 0.0, cr_a: 0.0, c_rr: 0.012 };
    car.engine.torque = vec![(100.0, 0.0)];
    let (_, run) = lap(&open(vec![flat(s, [0.0; 2])], v_0), &car);
    close("time", run.time, t, 1e-6 * t);
    close("speed at the end", run.trace().last().unwrap().v, v_1, 1e-6 * v_1);
}

/// A front- or rear-limited skid pad with load transfer: each axle holds μ_0 N + k(N²/2 + 2ΔN²)/N_0 − k N, N its load
/// and ΔN = T_i A_y its transfer: a quadratic in A_y. No resistance, so the car circles at a_x = 0 and F_x = 0.
/// Tolerance 1e-9 relative: the whole circle is one limit, so only roots' rounding is left.
#[test]
fn closed_form_skid_pad() {
    for (chi, h_rf, front_limits) in [(0.7, 0.05, true), (0.42, 0.0, false)] {
        let mut car = unladen_vehicle::example_car();
        car.aero = Aero { cd_a: 0.0, cf_a: 0.0, cr_a: 0.0, c_rr: 0.0 };
        for tyre in [&mut car.front, &mut car.rear] {
            tyre.inv_c_alpha = 0.0;
        }
        (car.chassis.chi, car.chassis.h_rf) = (chi, h_rf);
        let (mass, body) = (&car.mass, &car.chassis);
        let (m, l) = (mass.m, body.l);
        let shares = [(l - mass.a) / l, mass.a / l];
        let roll_axis = body.h_rf * shares[0] + body.h_rr * shares[1];
        let a_y = [0, 1].map(|i| {
            let (tyre, t, h_rc) = [(&car.front, body.t_f, body.h_rf), (&car.rear, body.t_r, body.h_rr)][i];
            let roll = [body.chi, 1.0 - body.chi][i];
            let n = m * G * shares[i];
            let transfer = m * (shares[i] * h_rc + roll * (mass.h - roll_axis)) / t;
            let unloaded = (tyre.mu_y0 - tyre.k_y) * n + tyre.k_y * n * n / (2.0 * tyre.n_0);
            // unloaded + 2 k (T a)²/N_0 = m share a.
            let (q, p) = (-2.0 * tyre.k_y * transfer * transfer / tyre.n_0, m * shares[i]);
            let a_y = ((p * p + 4.0 * q * unloaded).sqrt() - p) / (2.0 * q);
            assert!(transfer * a_y < 0.5 * n, "a wheel would lift, and the form would be another");
            a_y
        });
        assert_eq!(a_y[0] < a_y[1], front_limits);
        let radius = 40.0;
        let v = (a_y[0].min(a_y[1]) * radius).sqrt();
        for turn in [1.0, -1.0] {
            let (_, run) = lap(&circuit(vec![flat(2.0 * PI * radius, [turn / radius; 2])]), &car);
            let time = 2.0 * PI * radius / v;
            close("one round", run.time, time, 1e-9 * time);
        }
    }
}

/// A banked circle: the ceiling of a point mass on a level curve in space.
/// A_y = X κ cosφ − g sinφ ≤ μ A_n = μ (g cosφ + X κ sinφ) on a level banked circle.
#[test]
fn closed_form_banked_circle() {
    for (mu, phi) in [(1.0, 0.2), (1.0, -0.15), (0.3, 0.25)] {
        let (kappa, radius) = (1.0 / 80.0, 80.0f64);
        let (sin, cos) = f64::sin_cos(phi);
        let x = G * (mu * cos + sin) / (kappa * (cos - mu * sin));
        let ring = Segment { phi: [phi; 2], ..flat(2.0 * PI * radius, [kappa; 2]) };
        let (_, run) = lap(&circuit(vec![ring]), &point_mass(mu));
        let time = 2.0 * PI * radius / x.sqrt();
        close("one round", run.time, time, 1e-9 * time);
    }
}

/// sources.md 33: without load slope and drag, with power without end, ∂T/∂m = 0, on any layout that shares by
/// capacity. Tolerance 1e-9 s per kg, the row's, times the mass: an elasticity.
#[test]
fn closed_form_mass_is_free_without_load_slope() {
    for name in crate::common::TRACKS {
        for layout in [Layout::Front, Layout::Rear, Layout::All] {
            for anti_lock in [AntiLock::None, AntiLock::ThreeChannel, AntiLock::FourChannel] {
                let car = weightless(layout, anti_lock);
                let (course, run) = lap(&crate::common::demo_track(name), &car);
                let per_kg = &run.derivatives(&[Number::M])[0];
                assert!(per_kg.value.abs() < 1e-9, "{name} {layout:?} {anti_lock:?}: {} s/kg", per_kg.value);
                let mut heavy = car.clone();
                heavy.mass.m *= 2.0;
                let double = course.time(&heavy).unwrap();
                close(&format!("{name} {layout:?} {anti_lock:?}: twice the mass"), double, run.time, 1e-9 * run.time);
            }
        }
    }
}

/// Everything as in the example car, transfer and all; no load slope, no air, power without end, nothing rotates.
fn weightless(layout: Layout, anti_lock: AntiLock) -> Car {
    let mut car = unladen_vehicle::example_car();
    for tyre in [&mut car.front, &mut car.rear] {
        (tyre.k_x, tyre.k_y, tyre.j_wheel) = (0.0, 0.0, 0.0);
    }
    (car.aero.cd_a, car.aero.cf_a, car.aero.cr_a) = (0.0, 0.0, 0.0);
    car.engine = Engine { torque: vec![(100.0, 1e6)], power: 1.0, launch: 10.0, limit: 1e5, inertia: 0.0 };
    car.driveline.gears = vec![1.0];
    car.driveline.shift_time = 0.0;
    car.driveline.layout = layout;
    car.brakes.anti_lock = anti_lock;
    // A knee is a force: it would not scale with mass.
    car.brakes.rear_limiter = None;
    car
}

/// sources.md 33: without load slope a rear-driven car that only traction limits is slightly slower with a lower CG, and
/// a front-driven one faster. From rest on a straight, a = μ g (a/L)/(1 − μ h/L) and μ g (b/L)/(1 + μ h/L), less the
/// rolling resistance; ∂T/∂h is that of T = √(2 s/a). Tolerance 1e-6 relative: a constant a_x leaves no step error, and
/// roots are good to 1e-11.
#[test]
fn closed_form_traction_and_cg_height() {
    for layout in [Layout::Rear, Layout::Front] {
        let mut car = weightless(layout, AntiLock::FourChannel);
        car.aero.c_rr = 0.0;
        let (_, run) = lap(&open(vec![flat(100.0, [0.0; 2])], 0.0), &car);
        let l = car.chassis.l;
        let a = |h: f64| {
            let mu = car.front.mu_x0;
            match layout {
                Layout::Rear => mu * G * (car.mass.a / l) / (1.0 - mu * h / l),
                _ => mu * G * ((l - car.mass.a) / l) / (1.0 + mu * h / l),
            }
        };
        let t = |h: f64| (200.0 / a(h)).sqrt();
        let h = car.mass.h;
        close("time", run.time, t(h), 1e-9 * t(h));
        let want = (t(h + 1e-5) - t(h - 1e-5)) / 2e-5;
        let got = run.derivatives(&[Number::H])[0].value;
        close("∂T/∂h, s/m", got, want, 1e-6 * want.abs());
        assert_eq!(got < 0.0, layout == Layout::Rear, "higher helps rear drive only");
    }
}

/// sources.md 34: grip-limited with F ∝ N^(1−n), the elasticity (m/T) ∂T/∂m is n/2. The model's law has the local
/// n = −(k N/N_0)/μ; without load transfer all wheels of a car with its CG amidships carry N = m g/4 always, and with
/// k_x/μ_x = k_y/μ_y the friction circle shrinks in one piece, so n/2 holds for the whole lap (T ∝ μ^−½, scaling of
/// row 31). Tolerance 1e-8: one scaled limit, but roots stop at 1e-11 m/s² of about 10 and their derivatives divide by
/// slopes again.
#[test]
fn closed_form_elasticity_of_a_grip_limited_lap() {
    for k in [-0.05, -0.15, -0.3] {
        let mut car = point_mass(1.2);
        car.mass.a = 0.5 * car.chassis.l;
        for tyre in [&mut car.front, &mut car.rear] {
            (tyre.k_x, tyre.k_y) = (k, k);
        }
        let ratio = car.mass.m * G / 4.0 / car.front.n_0;
        let n = -k * ratio / (1.2 + k * (ratio - 1.0));
        let track = crate::common::demo_track("airfield");
        let (_, run) = lap(&track, &car);
        let per_kg = &run.derivatives(&[Number::M])[0];
        close("elasticity", per_kg.value * car.mass.m / run.time, n / 2.0, 1e-8);
    }
}

/// `docs/model.md` §6, launch: first gear is the better of slipping and engaged. The torque falls with ω, T_0 − c ω, so the
/// engaged gear pulls better from rest on than the clutch that slips at T(ω_launch): dv/dt = A − B v with A = T_0 i/(m r),
/// B = c i²/(m r²). Tolerance: the reported error.
#[test]
fn closed_form_engaged_below_launch_where_that_pulls_better() {
    let (t_0, c, launch) = (2000.0, 25.0, 40.0);
    let mut car = point_mass(1.0);
    car.engine = Engine { torque: vec![(0.0, t_0), (launch, t_0 - c * launch)], launch, ..car.engine };
    let (m, r) = (car.mass.m, car.rear.r);
    let (a, b) = (t_0 / (m * r), c / (m * r * r));
    let v_1 = launch * r;
    let t = -(1.0 - v_1 * b / a).ln() / b;
    let (_, run) = lap(&open(vec![flat((a * t - v_1) / b, [0.0; 2])], 0.0), &car);
    close("time", run.time, t, run.error);
    close("speed at the end", run.trace().last().unwrap().v, v_1, 1e-3);
    let slipping = v_1 * m * r / (t_0 - c * launch);
    assert!(slipping - t > 10.0 * run.error, "the test could not tell");
}

/// `docs/model.md` §6: downhill the road spins up the wheels of a declutched car, F_x = −m_rot a_x < 0, and that ends no
/// shift. Three stretches of constant a_x: first gear to its limiter, `shift_time` without drive, second gear; m_rot that of
/// the wheels, m_rot = Σ_4 J/r². Tolerance: the reported error.
#[test]
fn closed_form_a_shift_downhill_lasts_as_long_as_any() {
    let (slope, v_0, v_up, shift) = (-0.2f64, 10.0, 15.0, 0.5);
    let mut car = point_mass(1.0);
    let r = car.rear.r;
    (car.front.j_wheel, car.rear.j_wheel) = (2.0, 2.0);
    car.engine = Engine { torque: vec![(100.0, 300.0)], limit: v_up * 2.0 / r, ..car.engine };
    car.driveline = Driveline { gears: vec![2.0, 1.0], shift_time: shift, ..car.driveline };
    let (per_plan, m) = ((1.0 + slope * slope).sqrt(), car.mass.m);
    let (pull, turning) = (-m * G * slope / per_plan, m + 4.0 * 2.0 / (r * r));
    let a = |gear: f64| (300.0 * gear / r + pull) / turning;
    let (t_1, v_2) = ((v_up - v_0) / a(2.0), v_up + a(0.0) * shift);
    assert!(m * a(0.0) < pull, "no F_x below 0");
    let t_3 = 1.5;
    let way = 0.5 * (v_0 + v_up) * t_1 + 0.5 * (v_up + v_2) * shift + (v_2 + 0.5 * a(1.0) * t_3) * t_3;
    let hill = Segment { q: [slope; 2], ..flat(way / per_plan, [0.0; 2]) };
    let (_, run) = lap(&open(vec![hill], v_0), &car);
    close("time", run.time, t_1 + shift + t_3, run.error);
    close("speed at the end", run.trace().last().unwrap().v, v_2 + a(1.0) * t_3, 1e-4);
    assert!(run.error < 1e-3);
}
