//! `docs/model.md` §§2–5 read a second time and written as plainly as they stand there, with bisection where the crate
//! has its algebra, against [`Model::grip`]: both must call the same states feasible.

use unladen_testkit::random::{Kind, Rng, car};
use unladen_vehicle::car::*;
use unladen_vehicle::road::Shape;
use unladen_vehicle::{Car, Model};

/// Slack in N over weight, about: ≥ 0 feasible.
fn feasible(car: &Car, day: &Day, road: &Shape, x: f64, a_x: f64) -> f64 {
    let (mass, ch) = (&car.mass, &car.chassis);
    let (m, l, a) = (mass.m, ch.l, mass.a);
    let b = l - a;
    // §2.
    let theta = road.q.atan();
    let (sin_t, cos_t) = theta.sin_cos();
    let (sin_p, cos_p) = road.phi.sin_cos();
    let kappa_v = road.dq / (1.0 + road.q * road.q).powf(1.5);
    let k = road.kappa * cos_t * cos_t;
    let a_n = G * cos_t * cos_p + x * k * sin_p + x * kappa_v * cos_p;
    let a_y = x * k * cos_p - G * cos_t * sin_p - x * kappa_v * sin_p;
    let a_xx = a_x + G * sin_t;
    let half = 0.5 * day.rho * x;
    let (drag, down_f, down_r) = (half * car.aero.cd_a, half * car.aero.cf_a, half * car.aero.cr_a);
    // §3.
    let n_f = m * a_n * b / l + down_f - m * a_xx * mass.h / l;
    let n_r = m * a_n * a / l + down_r + m * a_xx * mass.h / l;
    if n_f <= 0.0 || n_r <= 0.0 {
        return n_f.min(n_r);
    }
    let (f_yf, f_yr) = (m * a_y * b / l, m * a_y * a / l);
    let h_ra = (ch.h_rf * b + ch.h_rr * a) / l;
    let elastic = m * a_y * (mass.h - h_ra);
    let mut d_f = (f_yf * ch.h_rf + ch.chi * elastic) / ch.t_f + m * a_n * (b / l) * mass.y_cg / ch.t_f;
    let mut d_r = (f_yr * ch.h_rr + (1.0 - ch.chi) * elastic) / ch.t_r + m * a_n * (a / l) * mass.y_cg / ch.t_r;
    let roll = 0.5 * (ch.t_f * n_f + ch.t_r * n_r) - (ch.t_f * d_f + ch.t_r * d_r).abs();
    if roll < 0.0 {
        return roll;
    }
    if d_f.abs() > 0.5 * n_f {
        d_r += d_f.signum() * (d_f.abs() - 0.5 * n_f) * ch.t_f / ch.t_r;
        d_f = d_f.signum() * 0.5 * n_f;
    }
    if d_r.abs() > 0.5 * n_r {
        d_f += d_r.signum() * (d_r.abs() - 0.5 * n_r) * ch.t_r / ch.t_f;
        d_r = d_r.signum() * 0.5 * n_r;
    }
    let n = [0.5 * n_f - d_f, 0.5 * n_f + d_f, 0.5 * n_r - d_r, 0.5 * n_r + d_r];
    // §2's forces.
    let rolling = car.aero.c_rr * (m * a_n + down_f + down_r);
    let cornering = |f_y: f64, n: f64, tyre: &Tyre| f_y * f_y * tyre.n_0 * tyre.inv_c_alpha / n;
    let f_x = m * a_xx + drag + rolling + cornering(f_yf, n_f, &car.front) + cornering(f_yr, n_r, &car.rear);
    // §4.
    let scale = road.gamma * day.gamma_0;
    let along = if f_x >= 0.0 { car.driver.traction } else { car.driver.braking };
    let tyres = [&car.front, &car.front, &car.rear, &car.rear];
    let mu = |i: usize, mu_0: f64, k: f64| (mu_0 + k * (n[i] / tyres[i].n_0 - 1.0)).max(0.05) * scale;
    let c_x = [0, 1, 2, 3].map(|i| mu(i, tyres[i].mu_x0, tyres[i].k_x) * along * n[i].max(0.0));
    let c_y = [0, 1, 2, 3].map(|i| mu(i, tyres[i].mu_y0, tyres[i].k_y) * car.driver.cornering * n[i].max(0.0));
    // What is left of one axle, N.
    let axle = |f: [f64; 4], axle: usize| {
        let f_y = [f_yf, f_yr][axle];
        let (mut side, mut most) = (0.0, f64::INFINITY);
        for i in [2 * axle, 2 * axle + 1] {
            most = most.min(c_x[i] - f[i].abs());
            if c_x[i] > 0.0 {
                side += c_y[i] * (1.0 - (f[i] / c_x[i]).powi(2)).max(0.0).sqrt();
            }
        }
        let lateral = side - f_y.abs();
        // A wheel asked for nothing is no limit even when it carries nothing.
        if most.abs() < 1e-9 { lateral } else { lateral.min(most) }
    };
    // §5.
    if f_x >= 0.0 {
        let line = &car.driveline;
        let share = |c: [f64; 2], r_0: f64, bias: f64| {
            if c[0] + c[1] == 0.0 {
                return 0.5;
            }
            let r = c[0] / c[1];
            let r = if bias.is_infinite() { r } else { r.max(r_0 / bias).min(r_0 * bias) };
            if r.is_infinite() { 1.0 } else { r / (1.0 + r) }
        };
        let bias = [line.front_bias, line.rear_bias];
        let passes = |axle: usize| {
            let (p, q) = (c_x[2 * axle], c_x[2 * axle + 1]);
            if bias[axle].is_infinite() { p + q } else { (p + q).min((1.0 + bias[axle]) * p.min(q)) }
        };
        let front = match line.layout {
            Layout::Front => 1.0,
            Layout::Rear => 0.0,
            Layout::All => {
                let r_0 = line.front_share / (1.0 - line.front_share);
                share([passes(0), passes(1)], r_0, line.centre_bias)
            }
        };
        let on = [f_x * front, f_x * (1.0 - front)];
        let left = [0, 1].map(|i| share([c_x[2 * i], c_x[2 * i + 1]], 1.0, bias[i]));
        let f = [on[0] * left[0], on[0] * (1.0 - left[0]), on[1] * left[1], on[1] * (1.0 - left[1])];
        return axle(f, 0).min(axle(f, 1));
    }
    let force = -f_x;
    let (side_f, side_r) = (c_y[0] + c_y[1] - f_yf.abs(), c_y[2] + c_y[3] - f_yr.abs());
    let spare = |i: usize, f_y: f64| {
        let (c, s) = (c_x[2 * i] + c_x[2 * i + 1], c_y[2 * i] + c_y[2 * i + 1]);
        c * (1.0 - (f_y / s).powi(2)).max(0.0).sqrt()
    };
    match car.brakes.anti_lock {
        AntiLock::FourChannel => side_f.min(side_r).min(spare(0, f_yf) + spare(1, f_yr) - force),
        AntiLock::ThreeChannel => {
            let each = 0.5 * (force - spare(0, f_yf)).max(0.0);
            side_f.min(axle([0.0, 0.0, each, each], 1))
        }
        AntiLock::None => {
            let rear = |p: f64| {
                let p = (1.0 - car.brakes.beta_f) * p;
                match car.brakes.rear_limiter {
                    Some(l) if p > l.knee => l.knee + l.slope * (p - l.knee),
                    _ => p,
                }
            };
            let asked = |p: f64| {
                let (f, r) = (0.5 * car.brakes.beta_f * p, 0.5 * rear(p));
                [f, f, r, r]
            };
            let wheels = |p: f64| {
                let asked = asked(p);
                [0, 1, 2, 3].map(|i| asked[i].min(c_x[i]))
            };
            let at_end = |p: f64| {
                let f = asked(p);
                f[0] >= c_x[0].max(c_x[1]) || f[2] >= c_x[2].max(c_x[3])
            };
            let bisect = |done: &dyn Fn(f64) -> bool| {
                let (mut low, mut high) = (0.0, 1e8);
                for _ in 0..120 {
                    let p = 0.5 * (low + high);
                    if done(p) { high = p } else { low = p }
                }
                high
            };
            let end = bisect(&at_end);
            let most: f64 = wheels(end).iter().sum();
            if force > most {
                return most - force;
            }
            let p = bisect(&|p| wheels(p).iter().sum::<f64>() >= force);
            let f = wheels(p.min(end));
            // At its own limit a wheel is locked: it carries nothing sideways, and that is within the limit.
            let lateral = |i: usize| {
                let side = |j: usize| {
                    if c_x[j] > 0.0 { c_y[j] * (1.0 - (f[j] / c_x[j]).powi(2)).max(0.0).sqrt() } else { 0.0 }
                };
                side(2 * i) + side(2 * i + 1) - [f_yf, f_yr][i].abs()
            };
            lateral(0).min(lateral(1))
        }
    }
}

/// 4 · 10⁵ random states of random cars, feasible and not. A state counts as undecided where either reading is within
/// 1e-6 of its limit (over the weight: rounding of the crate's squares, and of bisection on 1e8 N).
#[test]
fn independent_second_reading_of_the_envelope() {
    let (mut yes, mut no, mut near) = (0, 0, 0);
    let mut by_kind = [[0; 2]; 6];
    for seed in 0..20_000 {
        let mut r = Rng::new(seed);
        let car = car(&mut r, if seed % 2 == 0 { Kind::Usual } else { Kind::Odd });
        let model = Model::new(&car, Day::STANDARD);
        let weight = car.mass.m * G;
        for _ in 0..20 {
            let road = Shape {
                kappa: r.range(-0.05, 0.05),
                q: r.range(-0.2, 0.2),
                dq: r.range(-0.003, 0.003),
                phi: r.range(-0.3, 0.3),
                gamma: r.range(0.5, 1.2),
            };
            let (x, a_x) = (r.range(0.0, 30.0f64).powi(2), r.range(-9.0, 5.0));
            let want = feasible(&car, &Day::STANDARD, &road, x, a_x) / weight;
            let got = model.grip(&road.road(), x, a_x).value;
            if want.abs() < 1e-6 || got.abs() < 1e-6 {
                near += 1;
                continue;
            }
            assert_eq!(got >= 0.0, want >= 0.0, "seed {seed}: {got} {want} {road:?} {x} {a_x} {car:?}");
            if want >= 0.0 {
                yes += 1
            } else {
                no += 1
            }
            let kind = if model.axles(&road.road(), x, a_x).f_x >= 0.0 {
                car.driveline.layout as usize
            } else {
                3 + car.brakes.anti_lock as usize
            };
            by_kind[kind][usize::from(want >= 0.0)] += 1;
        }
    }
    println!("feasible {yes}, not {no}, undecided {near}; by layout and brakes {by_kind:?}");
    assert!(by_kind.iter().flatten().all(|&n| n > 5000), "every kind must have been seen both ways");
    assert!(near < 4000, "1 % undecided at most");
}
