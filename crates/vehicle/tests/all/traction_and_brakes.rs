//! How hard a car can pull away and brake in a straight line: `docs/sources.md` 14–20, 23, 26; and the sharing rule.

use crate::common::{edge, level};
use unladen_testkit::check::close;
use unladen_testkit::random::Rng;
use unladen_vehicle::branches::Free;
use unladen_vehicle::car::*;
use unladen_vehicle::grip::Bound;
use unladen_vehicle::road::Road;
use unladen_vehicle::share::{Bounds, Differential};
use unladen_vehicle::{Model, example_car};

/// No air, no rolling resistance, no load slope, μ alike in all directions.
fn plain(m: f64, l: f64, a: f64, h: f64, mu: f64) -> Car {
    let mut car = example_car();
    car.mass = Mass { m, a, y_cg: 0.0, h };
    car.chassis.l = l;
    car.aero = Aero { cd_a: 0.0, cf_a: 0.0, cr_a: 0.0, c_rr: 0.0 };
    for tyre in [&mut car.front, &mut car.rear] {
        (tyre.mu_x0, tyre.mu_y0, tyre.k_x, tyre.k_y, tyre.inv_c_alpha) = (mu, mu, 0.0, 0.0, 0.0);
    }
    car.brakes = Brakes { beta_f: 0.6, anti_lock: AntiLock::FourChannel, rear_limiter: None };
    car
}

/// Largest a_x (to = 30) or hardest braking (to = −30) on the level.
fn limit(car: &Car, g: f64, to: f64) -> f64 {
    let model = Model::new(car, Day::STANDARD);
    edge(|a| model.grip(&level(g), 0.0, a).value, 0.0, to)
}

/// Utilisation of one axle at braking z: the friction at which that axle just locks at z. The other axle's friction is
/// high, so that it never does.
fn utilisation(car: &Car, front: bool, z: f64) -> f64 {
    let brakes_to = |mu: f64| {
        let mut car = car.clone();
        let (this, that) = if front { (&mut car.front, &mut car.rear) } else { (&mut car.rear, &mut car.front) };
        (this.mu_x0, that.mu_x0) = (mu, 50.0);
        let model = Model::new(&car, Day::STANDARD);
        model.grip(&level(9.81), 0.0, -z * 9.81).value >= 0.0
    };
    let (mut low, mut high) = (1e-6, 20.0);
    for _ in 0..100 {
        let mu = 0.5 * (low + high);
        if brakes_to(mu) { high = mu } else { low = mu }
    }
    high
}

fn row_14() -> Car {
    let mut car = plain(1100.0, 2.45, 0.53 * 2.45, 0.46, 1.0);
    car.brakes = Brakes { beta_f: 0.68, anti_lock: AntiLock::None, rear_limiter: None };
    car
}

/// sources.md 14: utilisation k_f = β z P/(P_f + z P h/L), k_r = (1 − β) z P/(P_r − z P h/L); form of UN Regulation
/// 13-H Annex 5 (memory), numbers recomputed there. Read off the model as the friction at which an axle just locks.
/// Tolerance 1e-4: the row's.
#[test]
fn published_r13h_utilisation() {
    let car = row_14();
    let rows = [(0.15, 0.2048, 0.0956), (0.3, 0.3876, 0.2027), (0.45, 0.5519, 0.3232), (0.8, 0.8771, 0.6740)];
    for (z, front, rear) in rows {
        close(&format!("k_f at {z}"), utilisation(&car, true, z), front, 1e-4);
        close(&format!("k_r at {z}"), utilisation(&car, false, z), rear, 1e-4);
    }
    let (mut low, mut high) = (0.8, 1.4);
    for _ in 0..50 {
        let z = 0.5 * (low + high);
        if utilisation(&car, true, z) > utilisation(&car, false, z) { low = z } else { high = z }
    }
    close("equal at", low, 1.1185, 1e-4);
    // With the ideal share a car on μ 0.8 brakes at 0.8 g; with any other share it cannot.
    let reach = |beta_f: f64| {
        let mut car = row_14();
        car.brakes.beta_f = beta_f;
        for tyre in [&mut car.front, &mut car.rear] {
            tyre.mu_x0 = 0.8;
        }
        -limit(&car, 9.81, -30.0) / 9.81
    };
    let best = (0..=4000).map(|i| 0.5 + f64::from(i) * 1e-4).max_by(|a, b| reach(*a).total_cmp(&reach(*b))).unwrap();
    close("ideal front share", best, 0.6202, 1e-4);
    close("braking with it", reach(0.6202), 0.8, 1e-4);
}

/// sources.md 15: Directive 71/320/EEC Annex II App. 3.1.1: for cars (M1) the front curve lies above the rear one for
/// 0.15 ≤ z ≤ 0.8. Row 14's car meets it (exactly: an order, no tolerance), a rear-heavy share would not.
#[test]
fn published_directive_71_320_order_of_locking() {
    let above = |car: &Car, z: f64| utilisation(car, true, z) > utilisation(car, false, z);
    let mut rear_heavy = row_14();
    rear_heavy.brakes.beta_f = 0.5;
    for i in 0..=65 {
        let z = 0.15 + 0.01 * f64::from(i);
        assert!(above(&row_14(), z), "{z}");
    }
    assert!(!above(&rear_heavy, 0.5));
}

/// sources.md 16: Council of Engineers Thailand, exam bank 2209, Q11–12: the most an axle can brake. Tolerance 0.1 N.
#[test]
fn published_exam_bank_axle_brake_forces() {
    for (front, rear, l, mu, axle, want) in
        [(6000.0, 3500.0, 2.4, 0.65, 0, 4485.3), (6500.0, 4000.0, 2.7, 0.6, 1, 1910.0)]
    {
        let car = plain((front + rear) / 9.81, l, l * rear / (front + rear), 0.35, mu);
        let a_x = limit(&car, 9.81, -30.0);
        close("all wheels at the limit", a_x, -mu * 9.81, 1e-9);
        let n = Model::new(&car, Day::STANDARD).axles(&level(9.81), 0.0, a_x).n[axle];
        let tyre = if axle == 0 { &car.front } else { &car.rear };
        close("brake force", 2.0 * tyre.patch(0.5 * n, 1.0 / tyre.n_0, 1.0, 1.0).c, want, 0.1);
    }
}

/// sources.md 17: exam bank 2209, Q8–9: pulling away at μ 0.6; g 9.81. Tolerance 0.005 m/s²: the row's.
/// sources.md 18: R. N. Jazar ch. 2 ex. 10 (inputs; outputs recomputed), g 9.81. Tolerance 0.001 m/s².
#[test]
fn published_pulling_away() {
    let pull = |mut car: Car, layout: Layout| {
        car.driveline.layout = layout;
        car.driveline.centre_bias = f64::INFINITY;
        limit(&car, 9.81, 30.0)
    };
    let exam = || plain(10_000.0 / 9.81, 2.6, 0.4 * 2.6, 0.35, 0.6);
    close("rear", pull(exam(), Layout::Rear), 2.561, 0.005);
    close("front", pull(exam(), Layout::Front), 3.268, 0.005);
    let jazar = || plain(1000.0, 2.62, 1.31, 0.72, 0.8);
    close("rear", pull(jazar(), Layout::Rear), 5.030, 0.001);
    close("front", pull(jazar(), Layout::Front), 3.217, 0.001);
    close("all", pull(jazar(), Layout::All), 7.848, 0.001);
}

const LB: f64 = 0.453_592_37;
const FT: f64 = 0.3048;
const LBF: f64 = LB * G;
const INCH: f64 = 0.0254;

/// sources.md 19: T. D. Gillespie, *Fundamentals of Vehicle Dynamics*, ch. 3 ex. 1 (memory): 3635 lb, 60 mph, 2000 lb
/// of brake force → 17.72 ft/s², 218.6 ft, 4.97 s. The tyres are such that 2000 lb are all they can. Tolerance 0.2 %.
#[test]
fn published_gillespie_braking() {
    let car = plain(3635.0 * LB, 2.6, 1.3, 0.0, 2000.0 / 3635.0);
    let a_x = limit(&car, G, -30.0);
    close("force, lbf", -Model::new(&car, Day::STANDARD).axles(&level(G), 0.0, a_x).f_x / LBF, 2000.0, 1e-6);
    let (a, v) = (-a_x / FT, 88.0);
    close("ft/s²", a, 17.72, 0.002 * 17.72);
    close("ft", v * v / (2.0 * a), 218.6, 0.002 * 218.6);
    close("s", v / a, 4.97, 0.002 * 4.97);
}

/// sources.md 20: T. D. Gillespie ch. 2 ex. 2 (memory): rear drive, 2100/1850 lb, h 21 in, L 108 in, μ 0.62 → locked
/// 1304 lb; open 1201 lb, where a solid axle's drive torque F r/N_f lifts one wheel and the front springs carry
/// K_f/(K_f + K_r) of that moment. The model has no such torque: it is put in as the CG offset that shifts the rear
/// axle by as much, so the differential is what is tested. Tolerance 1 lb: the row's.
#[test]
fn published_gillespie_differentials() {
    let (front, rear, l) = (2100.0, 1850.0, 108.0 * INCH);
    let car = |y_cg: f64, bias: f64| {
        let mut car = plain((front + rear) * LB, l, l * rear / (front + rear), 21.0 * INCH, 0.62);
        car.driveline.layout = Layout::Rear;
        car.driveline.rear_bias = bias;
        car.chassis.t_r = 59.0 * INCH;
        car.mass.y_cg = y_cg;
        car
    };
    let pull = |y_cg: f64, bias: f64| limit(&car(y_cg, bias), G, 30.0) * (front + rear) * LB / LBF;
    close("locked", pull(0.0, f64::INFINITY), 1304.0, 1.0);
    let open = |y_cg: f64| pull(y_cg, 1.0);
    // The offset that belongs to the force it leaves: ΔN_r = (F r/N_f)(K_f/ΣK)/t = W (a/L) y_cg/t.
    let (mut low, mut high) = (0.0, 0.2);
    for _ in 0..60 {
        let y_cg = 0.5 * (low + high);
        let moment = open(y_cg) * (13.0 * INCH / 2.9) * 1150.0 / (1150.0 + 280.0);
        if rear * y_cg < moment { low = y_cg } else { high = y_cg }
    }
    close("open", open(low), 1201.0, 1.0);
    // A limited-slip axle lies between, a bias of more than the loads' ratio is as good as locked.
    assert!(open(low) < pull(low, 1.1) && pull(low, 1.1) < pull(low, 4.0));
    close("bias 4", pull(low, 4.0), pull(low, f64::INFINITY), 1e-6);
}

/// sources.md 23: 150 kW at the wheels, C_dA 0.65, c_rr 0.012, 1000 kg, ρ 1.225: steady at 70.861 m/s; without c_rr
/// 72.225. Tolerance 0.01 m/s: the row's. (As a lap: crates/lap.)
#[test]
fn closed_form_top_speed() {
    for (c_rr, want) in [(0.012, 70.861), (0.0, 72.225)] {
        let mut car = plain(1000.0, 2.5, 1.2, 0.5, 1.0);
        car.aero = Aero { cd_a: 0.65, cf_a: 0.0, cr_a: 0.0, c_rr };
        car.driveline.gears = vec![1.0];
        car.driveline.final_drive = 1.0;
        car.driveline.efficiency = 1.0;
        car.engine.limit = 1e4;
        let slack = |v: f64| {
            let mut car = car.clone();
            let omega = v / car.rear.r;
            car.engine.torque = vec![(omega, 150e3 / omega)];
            let model = Model::new(&car, Day::STANDARD);
            let (piece, _) = model.gearing.piece_at(1, v * v);
            let mode = &model.gearing.modes[1];
            model.power(&level(G), v * v, 0.0, model.gearing.force(mode, &piece, v * v), mode.m_rot)
        };
        close("m/s", edge(slack, 30.0, 150.0), want, 0.01);
    }
}

/// m_rot: (m + m_rot)/m rises with the square of the overall ratio, from what the wheels alone add. Beside it
/// Gillespie's 1.04 + 0.0025 N² (ch. 2, memory; sources.md 26), a band to print: an invented car need not meet it.
#[test]
fn closed_form_mass_factor() {
    let car = example_car();
    let gearing = Model::new(&car, Day::STANDARD).gearing;
    let wheels = gearing.m_rot_shifting;
    let want = 2.0 * (car.front.j_wheel / car.front.r.powi(2) + car.rear.j_wheel / car.rear.r.powi(2));
    close("wheels, kg", wheels, want, 1e-9);
    for mode in &gearing.modes {
        let n = car.driveline.gears[usize::from(mode.gear) - 1] * car.driveline.final_drive;
        let engine = if mode.slipping { 0.0 } else { car.engine.inertia * (n / 0.31).powi(2) };
        close("m_rot, kg", mode.m_rot, wheels + engine, 1e-9);
        println!("N {n:.2}: factor {:.3}, Gillespie {:.3}", 1.0 + mode.m_rot / car.mass.m, 1.04 + 0.0025 * n * n);
    }
}

/// model.md §5's sharing rule, written as it stands there.
fn rule(c_1: f64, c_2: f64, r_0: f64, bias: f64) -> Option<f64> {
    if c_1 == 0.0 && c_2 == 0.0 {
        return None;
    }
    let r = if bias.is_infinite() { c_1 / c_2 } else { (c_1 / c_2).clamp(r_0 / bias, r_0 * bias) };
    Some(if r.is_infinite() { 1.0 } else { r / (1.0 + r) })
}

/// Tolerance 1e-12: the same quotients, otherwise ordered.
#[test]
fn closed_form_sharing_rule() {
    let mut r = Rng::new(5);
    let mut seen = [0; 3];
    for i in 0..20_000 {
        let capacity = |r: &mut Rng| if r.chance(0.1) { 0.0 } else { r.log_range(1.0, 1e4) };
        let (c_1, c_2) = (capacity(&mut r), capacity(&mut r));
        let (r_0, bias) = (r.log_range(0.1, 10.0), if r.chance(0.3) { f64::INFINITY } else { r.log_range(1.0, 8.0) });
        let got = Bounds::new(r_0, bias).share(c_1, c_2, &mut Free);
        let Some(want) = rule(c_1, c_2, r_0, bias) else {
            assert!((0.0..=1.0).contains(&got), "{i}");
            continue;
        };
        assert!((got - want).abs() < 1e-12, "{i}: {got} {want}");
        let by_capacity = c_1 / (c_1 + c_2);
        seen[if want < by_capacity - 1e-12 {
            0
        } else if want > by_capacity + 1e-12 {
            2
        } else {
            1
        }] += 1;
        // B = 1 holds the nominal ratio whatever the capacities, ∞ shares by them.
        let nominal = Bounds::new(r_0, 1.0).share(c_1, c_2, &mut Free);
        assert!((nominal - r_0 / (1.0 + r_0)).abs() < 1e-12);
        let axle = Differential::new(bias);
        let passed = axle.capacity(c_1, c_2, &mut Free);
        let want = if bias.is_infinite() { c_1 + c_2 } else { (c_1 + c_2).min((1.0 + bias) * c_1.min(c_2)) };
        assert!((passed - want).abs() < 1e-9, "{i}: {passed} {want}");
    }
    assert!(seen.iter().all(|&n| n > 500), "all three ways must have been taken: {seen:?}");
}

/// With a finite bias a lifted wheel leaves its axle no drive; locked, the other wheel drives alone.
#[test]
fn closed_form_lifted_wheel() {
    let mut car = plain(1000.0, 2.5, 1.25, 0.9, 3.0);
    car.driveline.layout = Layout::Rear;
    // A roll moment that lifts the rear inner wheel only: all elastic stiffness at the rear.
    (car.chassis.chi, car.chassis.h_rf, car.chassis.h_rr) = (0.0, 0.0, 0.0);
    let road = Road { y_x: 6.0, ..level(G) };
    for (bias, drives) in [(1.0, false), (5.0, false), (f64::INFINITY, true)] {
        car.driveline.rear_bias = bias;
        let model = Model::new(&car, Day::STANDARD);
        let wheels = model.wheels(&model.axles(&road, 1.0, 0.1), &mut Free);
        assert_eq!(wheels.n[2], 0.0);
        let slack = model.grip(&road, 1.0, 0.1);
        assert_eq!(slack.value >= 0.0, drives, "{bias}: {slack:?}");
        if !drives {
            assert_eq!(slack.bound, Bound::Rear);
        }
    }
}
