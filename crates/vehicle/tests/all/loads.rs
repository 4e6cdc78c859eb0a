//! Wheel loads: `docs/sources.md` 2, 6, 7, 8, 36, wheel lift and mirror symmetry.

use crate::common::{bend, edge, level, state};
use unladen_testkit::check::close;
use unladen_testkit::random::{Kind, Rng, car};
use unladen_vehicle::branches::Free;
use unladen_vehicle::car::*;
use unladen_vehicle::grip::Bound;
use unladen_vehicle::road::Road;
use unladen_vehicle::{Model, example_car};

fn bare() -> Car {
    let mut car = example_car();
    car.aero = Aero { cd_a: 0.0, cf_a: 0.0, cr_a: 0.0, c_rr: 0.0 };
    (car.front.inv_c_alpha, car.rear.inv_c_alpha) = (0.0, 0.0);
    car
}

fn loads(car: &Car, road: &Road, x: f64, a_x: f64) -> [f64; 4] {
    let model = Model::new(car, Day::STANDARD);
    model.wheels(&model.axles(road, x, a_x), &mut Free).n
}

/// sources.md 2: R. N. Jazar, *Vehicle Dynamics*, ch. 2 ex. 1–2, inputs; outputs recomputed there with g 9.81.
/// Tolerance 0.1 N: the row's, the last digit given.
#[test]
fn published_jazar_static_axle_loads() {
    for (m, l, a, front, rear) in [(1765.0, 2.84, 1.22, 9876.7, 7438.0), (1245.0, 2.423, 1.1, 6668.8, 5544.7)] {
        let mut car = bare();
        (car.mass.m, car.mass.a, car.chassis.l) = (m, a, l);
        let n = Model::new(&car, Day::STANDARD).axles(&level(9.81), 0.0, 0.0).n;
        close("front", n[0], front, 0.1);
        close("rear", n[1], rear, 0.1);
    }
}

/// sources.md 6: Council of Engineers Thailand, exam bank 2209, Q3–4 (printed 4600 and 5330 N; recomputed with g 9.81).
#[test]
fn published_exam_bank_longitudinal_transfer() {
    let n = |m: f64, front: f64, l: f64, h: f64, a_x: f64| {
        let mut car = bare();
        car.mass = Mass { m, a: (1.0 - front) * l, y_cg: 0.0, h };
        car.chassis.l = l;
        Model::new(&car, Day::STANDARD).axles(&level(9.81), 0.0, a_x).n
    };
    close("front", n(1000.0, 0.55, 2.5, 0.4, 5.0)[0], 4595.5, 0.1);
    close("front as printed", n(1000.0, 0.55, 2.5, 0.4, 5.0)[0], 4600.0, 5.0);
    close("rear", n(1200.0, 0.6, 2.7, 0.35, 4.0)[1], 5331.0, 0.1);
    close("rear as printed", n(1200.0, 0.6, 2.7, 0.35, 4.0)[1], 5330.0, 5.0);
}

/// sources.md 7: D. Barton & J. Fieldhouse, *Automotive Chassis Engineering*, p. 174: 1280 kg, 54/46 %, 0.6 g, track
/// 1.46 m, roll centres 0.07/0.32 m → geometric transfer 195 and 760 N; with the roll arm of 0.365 m the elastic moment
/// is m a_y · 0.365. The roll angle itself (10.9 °/g) is no part of the model. Tolerance 0.5 N: whole newtons printed.
#[test]
fn published_barton_fieldhouse_lateral_transfer() {
    let mut car = bare();
    car.mass = Mass { m: 1280.0, a: 0.46 * 2.5, y_cg: 0.0, h: 0.0 };
    car.chassis = Chassis { l: 2.5, t_f: 1.46, t_r: 1.46, h_rf: 0.07, h_rr: 0.32, chi: 0.5 };
    let transfer = |h: f64| {
        car.mass.h = h;
        let n = loads(&car, &bend(9.81, 0.6 * 9.81), 1.0, 0.0);
        [0.5 * (n[1] - n[0]), 0.5 * (n[3] - n[2])]
    };
    let axis = 0.07 * 0.54 + 0.32 * 0.46;
    let mut transfer = transfer;
    let geometric = transfer(axis);
    close("front, geometric", geometric[0], 195.0, 0.5);
    close("rear, geometric", geometric[1], 760.0, 0.5);
    let whole = transfer(axis + 0.365);
    let elastic = whole[0] + whole[1] - geometric[0] - geometric[1];
    close("elastic, both axles", elastic, 1280.0 * 0.6 * 9.81 * 0.365 / 1.46, 1e-9);
}

/// sources.md 8: Σ ΔN t = m A_y h for any χ and roll centres, and wheel loads sum to the axles'. Tolerance 1e-9 of the
/// moment: the row's.
#[test]
fn closed_form_moments_close() {
    let mut r = Rng::new(8);
    for _ in 0..2000 {
        let mut car = bare();
        car.chassis.chi = r.range(0.0, 1.0);
        (car.chassis.h_rf, car.chassis.h_rr) = (r.range(-0.1, 0.3), r.range(-0.1, 0.3));
        let a_y = r.range(-3.0, 3.0);
        let n = loads(&car, &bend(G, a_y), 1.0, r.range(-3.0, 3.0));
        let moment = 0.5 * (n[1] - n[0]) * car.chassis.t_f + 0.5 * (n[3] - n[2]) * car.chassis.t_r;
        let want = car.mass.m * a_y * car.mass.h;
        assert!((moment - want).abs() <= 1e-9 * want.abs().max(1.0), "{moment} {want}");
    }
}

/// Wheels lift, and the moment that their axle can no longer carry goes to the other one: however light the wheels, the
/// roll moment Σ ΔN t = m A_y h + m A_n y_cg and the axle loads are kept, and no wheel pulls, until the car rolls over.
/// Random usual and odd cars on banked, curved road. Tolerance 1e-9 of weight × track: rounding of sums.
#[test]
fn property_wheel_lift_keeps_moments() {
    let (mut lifted, mut one, mut whole) = (0, 0, 0);
    for seed in 0..40_000 {
        let mut r = Rng::new(seed);
        let kind = if seed % 2 == 0 { Kind::Usual } else { Kind::Odd };
        let car = car(&mut r, kind);
        let (road, x, a_x) = state(&mut r);
        let model = Model::new(&car, Day::STANDARD);
        let axles = model.axles(&road, x, a_x);
        let wheels = model.wheels(&axles, &mut Free);
        if wheels.rollover < 0.0 || axles.n.iter().any(|&n| n <= 0.0) {
            continue;
        }
        let n = wheels.n;
        let zero = n.iter().filter(|&&n| n == 0.0).count();
        match zero {
            0 => whole += 1,
            1 => one += 1,
            _ => lifted += 1,
        }
        let scale = car.mass.m * G * car.chassis.t_f;
        assert!(n.iter().all(|&n| n >= 0.0), "seed {seed}: {n:?}");
        for (sum, axle) in [(n[0] + n[1], axles.n[0]), (n[2] + n[3], axles.n[1])] {
            assert!((sum - axle).abs() < 1e-9 * scale, "seed {seed}: {sum} {axle}");
        }
        let moment = 0.5 * (n[1] - n[0]) * car.chassis.t_f + 0.5 * (n[3] - n[2]) * car.chassis.t_r;
        let want = car.mass.m * (axles.a_y * car.mass.h + axles.a_n * car.mass.y_cg);
        assert!((moment - want).abs() < 1e-9 * scale, "seed {seed}: {moment} {want}");
    }
    println!("no wheel lifted {whole}, one {one}, two {lifted}");
    assert!(whole > 1000 && one > 1000, "the cases must contain both");
}

/// Mirrored road and CG: the same slack, left and right wheels changed over. Exact but for the order of sums: 1e-12 of
/// the largest term.
#[test]
fn property_mirror_image() {
    for seed in 0..20_000 {
        let mut r = Rng::new(seed);
        let car = car(&mut r, if seed % 2 == 0 { Kind::Usual } else { Kind::Odd });
        let (road, x, a_x) = state(&mut r);
        let mut other = car.clone();
        other.mass.y_cg = -car.mass.y_cg;
        let mirror = Road { y_0: -road.y_0, y_x: -road.y_x, ..road };
        let (here, there) = (
            Model::new(&car, Day::STANDARD).grip(&road, x, a_x),
            Model::new(&other, Day::STANDARD).grip(&mirror, x, a_x),
        );
        let scale = 1.0f64.max(here.value.abs());
        assert!((here.value - there.value).abs() < 1e-12 * scale, "seed {seed}: {here:?} {there:?}");
        let (n, m) = (loads(&car, &road, x, a_x), loads(&other, &mirror, x, a_x));
        let most = n.iter().fold(1.0, |a: f64, &b| a.max(b));
        for (i, j) in [(0, 1), (1, 0), (2, 3), (3, 2)] {
            assert!((n[i] - m[j]).abs() < 1e-12 * most, "seed {seed}: {n:?} {m:?}");
        }
    }
}

/// sources.md 36: a car whose tyres hold tips at A_y/g = T/2h (equal tracks). Beside it the fleet means of M. Walz,
/// NHTSA HS-809 868, 2005 (1.41 cars, 1.17 utility vehicles), a band to print and no test.
#[test]
fn closed_form_static_stability_factor() {
    for h in [0.45, 0.55, 0.66] {
        let mut car = bare();
        (car.chassis.t_f, car.chassis.t_r, car.mass.h) = (1.55, 1.55, h);
        for tyre in [&mut car.front, &mut car.rear] {
            (tyre.mu_y0, tyre.k_y) = (5.0, 0.0);
        }
        let model = Model::new(&car, Day::STANDARD);
        let a_y = edge(|a_y| model.grip(&bend(G, a_y), 1.0, 0.0).value, 0.0, 40.0);
        assert_eq!(model.grip(&bend(G, a_y * (1.0 + 1e-9)), 1.0, 0.0).bound, Bound::Rollover);
        close("T/2h", a_y / G, 1.55 / (2.0 * h), 1e-9);
        println!("fleet means: 1.41 cars, 1.17 utility vehicles");
    }
}
