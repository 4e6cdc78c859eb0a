//! Parts of a lap as initial value problems, their right-hand sides written from `docs/model.md` here and integrated by
//! `ode_solvers`' Dormand–Prince method of order 5 at 1e-11: a standing start with and without shift time, a hilly bend
//! on full power with cornering resistance, and hard braking with downforce.

use crate::common::{flat, open};
use ode_solvers::{Dopri5, OutputType, System, Vector2};
use unladen_lap::{Course, STEP_M};
use unladen_track::Segment;
use unladen_vehicle::car::*;
use unladen_vehicle::{Car, G, example_car};

struct Rhs<F>(F);

impl<F: Fn(f64, &Vector2<f64>) -> Vector2<f64>> System<f64, Vector2<f64>> for Rhs<F> {
    fn system(&self, x: f64, y: &Vector2<f64>, dy: &mut Vector2<f64>) {
        *dy = (self.0)(x, y);
    }
}

/// y at `to`, y′ = f(x, y).
fn integrate(f: impl Fn(f64, &Vector2<f64>) -> Vector2<f64>, from: f64, to: f64, y: Vector2<f64>) -> Vector2<f64> {
    if to == from {
        return y;
    }
    assert!(to > from, "forwards");
    let mut solver = Dopri5::new(Rhs(f), from, to, to - from, y, 1e-11, 1e-12);
    // Its dense output at the very end is no part of the last step and wrong (e^−1 comes out as 0.375): take the steps'.
    solver.set_output(OutputType::Sparse);
    solver.integrate().unwrap();
    assert!((solver.x_out().last().unwrap() - to).abs() < 1e-12 * to.abs().max(1.0));
    *solver.y_out().last().unwrap()
}

fn bisect(mut low: f64, mut high: f64, below: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if below(middle) { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// A rear-driven car with an open differential, 18 % launch wheelspin limit, air and rolling resistance.
fn rear_drive(shift_time: f64) -> Car {
    let mut car = example_car();
    car.driveline.layout = Layout::Rear;
    car.driveline.rear_bias = 1.0;
    car.driveline.shift_time = shift_time;
    car.brakes = Brakes { beta_f: 0.6, anti_lock: AntiLock::FourChannel, rear_limiter: None };
    car
}

/// The air of [`open`], kg/m³.
const RHO: f64 = 1.225;

/// What the straight, level road leaves of `docs/model.md` §§2–6 for a rear-driven car.
struct Straight<'a>(&'a Car);

impl Straight<'_> {
    fn down(&self, v: f64) -> [f64; 2] {
        let (aero, q) = (&self.0.aero, 0.5 * RHO * v * v);
        [q * aero.cf_a, q * aero.cr_a]
    }

    fn resistance(&self, v: f64) -> f64 {
        let car = self.0;
        let [f, r] = self.down(v);
        0.5 * RHO * car.aero.cd_a * v * v + car.aero.c_rr * (car.mass.m * G + f + r)
    }

    fn wheels(&self) -> f64 {
        let car = self.0;
        2.0 * (car.front.j_wheel / car.front.r.powi(2) + car.rear.j_wheel / car.rear.r.powi(2))
    }

    fn torque(&self, omega: f64) -> f64 {
        let points = &self.0.engine.torque;
        let (first, last) = (points[0], points[points.len() - 1]);
        if omega <= first.0 {
            return first.1;
        }
        if omega >= last.0 {
            return last.1;
        }
        let w = points.windows(2).find(|w| omega <= w[1].0).unwrap();
        w[0].1 + (w[1].1 - w[0].1) * (omega - w[0].0) / (w[1].0 - w[0].0)
    }

    fn ratio(&self, gear: usize) -> f64 {
        self.0.driveline.gears[gear] * self.0.driveline.final_drive / self.0.rear.r
    }

    /// a_x on power in a gear (0 the first), slipping or engaged.
    fn power(&self, gear: usize, slipping: bool, v: f64) -> f64 {
        let car = self.0;
        let ratio = self.ratio(gear);
        let omega = if slipping { car.engine.launch } else { v * ratio };
        let engine = if slipping { 0.0 } else { car.engine.inertia * ratio * ratio };
        let drive = self.torque(omega) * car.engine.power * car.driveline.efficiency * ratio;
        (drive - self.resistance(v)) / (car.mass.m + self.wheels() + engine)
    }

    /// a_x that the rear tyres allow: both carry half of N_r.
    fn grip(&self, v: f64) -> f64 {
        let car = self.0;
        let (m, l) = (car.mass.m, car.chassis.l);
        bisect(0.0, 20.0, |a| {
            let n = 0.5 * (m * G * car.mass.a / l + self.down(v)[1] + m * a * car.mass.h / l);
            let mu = car.rear.mu_x0 + car.rear.k_x * (n / car.rear.n_0 - 1.0);
            m * a + self.resistance(v) <= 2.0 * mu * n
        })
    }

    fn coast(&self, v: f64) -> f64 {
        -self.resistance(v) / (self.0.mass.m + self.wheels())
    }

    fn end(&self, gear: usize, slipping: bool) -> f64 {
        let omega = if slipping { self.0.engine.launch } else { self.0.engine.limit };
        omega / self.ratio(gear)
    }

    /// From where the next mode pulls better without regard to grip, or this one ends.
    fn upshift(&self, mode: usize) -> f64 {
        let (gear, slipping) = (mode.saturating_sub(1), mode == 0);
        let end = self.end(gear, slipping);
        let better = |v: f64| self.power(mode, false, v) > self.power(gear, slipping, v);
        let low = 0.2 * end;
        assert!(!better(low));
        if better(end * (1.0 - 1e-12)) { bisect(low, end, |v| !better(v)) } else { end }
    }

    /// Time to `s_end` from rest: modes slipping, first, second …, each up to its upshift.
    fn time(&self, s_end: f64) -> f64 {
        let shift = self.0.driveline.shift_time;
        let (mut v, mut y) = (0.0, Vector2::new(0.0, 0.0));
        let modes = self.0.driveline.gears.len() + 1;
        for mode in 0..modes {
            let (gear, slipping) = (mode.saturating_sub(1), mode == 0);
            let to = if mode + 1 < modes { self.upshift(mode) } else { self.end(gear, false) };
            let a = |v: f64| self.power(gear, slipping, v).min(self.grip(v));
            // Pieces between torque points, and where grip hands over to power.
            let over = bisect(v, to, |v| self.grip(v) < self.power(gear, slipping, v));
            let points = self.0.engine.torque.iter().map(|p| p.0 / self.ratio(gear));
            let mut cuts: Vec<f64> = points.chain([over, to]).filter(|&c| c > v + 1e-9 && c <= to).collect();
            cuts.sort_by(f64::total_cmp);
            cuts.dedup_by(|b, a| *b - *a < 1e-9);
            for cut in cuts {
                // In top gear speed may settle: then over distance at once.
                let top = mode + 1 == modes;
                assert!(top || a(cut) > 0.1);
                let next = if top { y } else { integrate(|v, _| Vector2::new(1.0, v) / a(v), v, cut, y) };
                if top || next[1] >= s_end {
                    // The rest over distance: y = (t, v).
                    let rest = |_: f64, y: &Vector2<f64>| Vector2::new(1.0, a(y[1])) / y[1];
                    return integrate(rest, y[1], s_end, Vector2::new(y[0], v))[0];
                }
                (v, y) = (cut, next);
            }
            if shift > 0.0 && mode > 0 {
                // y = (v, s) over time.
                let out = integrate(|_, y| Vector2::new(self.coast(y[0]), y[0]), 0.0, shift, Vector2::new(v, y[1]));
                if out[1] >= s_end {
                    let rest = |_: f64, y: &Vector2<f64>| Vector2::new(1.0, self.coast(y[1])) / y[1];
                    return integrate(rest, y[1], s_end, Vector2::new(y[0], v))[0];
                }
                (v, y) = (out[0], Vector2::new(y[0] + shift, out[1]));
            }
        }
        panic!("ends beyond the top gear's limiter")
    }
}

/// Against the lap: at a step of 0.1 m to 1e-7 s (the lap's own error there is below 6e-8, see the print); at the default
/// step within the reported error.
fn compare(what: &str, track: &unladen_track::Track, car: &Car, want: f64) {
    for step in [STEP_M, 0.1] {
        let lap = Course::with_step(track, step).lap(car).unwrap();
        let off = lap.time - want;
        println!(
            "{what}, step {step}: {:.8}, integrated {want:.8}, off {off:.1e}, reported {:.1e}",
            lap.time, lap.error
        );
        assert!(off.abs() <= lap.error, "{what}: beyond the reported error");
        assert!(step == STEP_M || off.abs() < 1e-7, "{what}: off {off}");
    }
}

#[test]
fn independent_ode_solvers_standing_start() {
    for shift_time in [0.0, 0.25] {
        for length in [60.0, 400.0, 1200.0] {
            let car = rear_drive(shift_time);
            let want = Straight(&car).time(length);
            let track = open(vec![flat(length, [0.0; 2])], 0.0);
            compare(&format!("{length} m from rest, shift time {shift_time} s"), &track, &car, want);
        }
    }
}

/// Full power, in one gear whose limiter is far, over a crest and round a clothoid, banked: the only limit is the engine,
/// so a_x solves F_x + m_rot a_x = F_drive with F_x of `docs/model.md` §2, cornering resistance and all.
#[test]
fn independent_ode_solvers_power_over_a_hill() {
    let mut car = rear_drive(0.0);
    car.engine.torque = vec![(100.0, 150.0), (900.0, 190.0)];
    car.engine.launch = 50.0;
    car.engine.limit = 1500.0;
    car.driveline.gears = vec![1.2];
    let segments = vec![
        Segment { length: 180.0, kappa: [0.0, 0.01], q: [0.06, -0.02], phi: [0.0, 0.05], gamma: 1.0, place: None },
        Segment { length: 220.0, kappa: [0.01, -0.004], q: [-0.02, 0.04], phi: [0.05, -0.02], gamma: 1.0, place: None },
    ];
    let track = open(segments.clone(), 18.0);
    let mut y = Vector2::new(0.0, 18.0 * 18.0);
    for g in &segments {
        y = integrate(
            |s, y| {
                let on = |[p, q]: [f64; 2]| p + (q - p) * s / g.length;
                let (kappa, q, phi) = (on(g.kappa), on(g.q), on(g.phi));
                let x = y[1];
                let theta = q.atan();
                let kappa_v = (g.q[1] - g.q[0]) / g.length / (1.0 + q * q).powf(1.5);
                let k = kappa * theta.cos().powi(2);
                let a_n = G * theta.cos() * phi.cos() + x * k * phi.sin() + x * kappa_v * phi.cos();
                let a_y = x * k * phi.cos() - G * theta.cos() * phi.sin() - x * kappa_v * phi.sin();
                let (m, l, a) = (car.mass.m, car.chassis.l, car.mass.a);
                let half = 0.5 * RHO * x;
                let road = Straight(&car);
                let ratio = road.ratio(0);
                let m_rot = road.wheels() + car.engine.inertia * ratio * ratio;
                let drive = road.torque(x.sqrt() * ratio) * car.driveline.efficiency * ratio;
                let down = [half * car.aero.cf_a, half * car.aero.cr_a];
                let rolling = car.aero.c_rr * (m * a_n + down[0] + down[1]);
                let short = |a_x: f64| {
                    let a_xx = a_x + G * theta.sin();
                    let n = [
                        m * a_n * (l - a) / l + down[0] - m * a_xx * car.mass.h / l,
                        m * a_n * a / l + down[1] + m * a_xx * car.mass.h / l,
                    ];
                    let f_y = [m * a_y * (l - a) / l, m * a_y * a / l];
                    let c = f_y[0].powi(2) * car.front.n_0 * car.front.inv_c_alpha / n[0]
                        + f_y[1].powi(2) * car.rear.n_0 * car.rear.inv_c_alpha / n[1];
                    m * a_xx + half * car.aero.cd_a + rolling + c + m_rot * a_x < drive
                };
                let a_x = bisect(-10.0, 10.0, short);
                Vector2::new(1.0 / (x.sqrt() * theta.cos()), 2.0 * a_x / theta.cos())
            },
            0.0,
            g.length,
            y,
        );
    }
    compare("power over a hill", &track, &car, y[0]);
}

/// Braking on a straight from full speed to a slow corner, four-channel anti-lock: every wheel at μ_x N, with downforce,
/// drag and load slope. Integrated back from the corner's own limit; the course starts just
/// below it (1e-6, which costs 1e-10 s).
#[test]
fn independent_ode_solvers_braking_with_downforce() {
    let mut car = rear_drive(0.0);
    (car.aero.cf_a, car.aero.cr_a) = (0.6, 0.9);
    let (m, l, a, h) = (car.mass.m, car.chassis.l, car.mass.a, car.mass.h);
    let road = Straight(&car);
    let brake = |v: f64| {
        bisect(-40.0, 0.0, |a_x| {
            let n = [
                0.5 * (m * G * (l - a) / l + road.down(v)[0] - m * a_x * h / l),
                0.5 * (m * G * a / l + road.down(v)[1] + m * a_x * h / l),
            ];
            let capacity = [(&car.front, n[0]), (&car.rear, n[1])]
                .map(|(tyre, n)| 2.0 * n * (tyre.mu_x0 + tyre.k_x * (n / tyre.n_0 - 1.0)));
            -(m * a_x + road.resistance(v)) > capacity[0] + capacity[1]
        })
    };
    // The corner's limit, from the solver itself: what is tested is the way down to it.
    let corner = flat(40.0, [0.05; 2]);
    let length = 120.0;
    let slow = {
        let course = Course::with_step(&open(vec![flat(length, [0.0; 2]), corner.clone()], 20.0), 0.1);
        let lap = course.lap(&car).unwrap();
        lap.trace().iter().find(|r| (r.s - length).abs() < 1e-9).unwrap().v
    };
    let back = |_: f64, y: &Vector2<f64>| -Vector2::new(1.0, brake(y[1])) / y[1];
    let start = integrate(back, 0.0, length, Vector2::new(0.0, slow));
    let track = open(vec![flat(length, [0.0; 2]), corner.clone()], start[1] * (1.0 - 1e-6));
    for step in [STEP_M, 0.1] {
        let course = Course::with_step(&track, step);
        let lap = course.lap(&car).unwrap();
        let row = *lap.trace().iter().find(|r| (r.s - length).abs() < 1e-9).unwrap();
        let off = row.t + start[0];
        println!(
            "braking from {:.3} to {slow:.3} m/s, step {step}: {:.8}, off {off:.1e}, reported {:.1e}",
            start[1], row.t, lap.error
        );
        assert!(off.abs() < if step == STEP_M { lap.error } else { 1e-7 });
    }
}
