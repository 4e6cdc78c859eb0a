//! The point-mass friction-circle lap of a real-shaped track as a conic program (D. Verscheure et al., IEEE TAC 54(10),
//! 2009), solved by Clarabel: another method on the same problem. With downforce, drag and power as well: sources.md 43.

use crate::common::plain::point_mass;
use crate::common::{circuit, flat, open};
use clarabel::algebra::CscMatrix;
use clarabel::solver::{
    DefaultSettingsBuilder, DefaultSolver, IPSolver, SolverStatus, SupportedConeT, SupportedConeT::*,
};
use unladen_lap::Course;
use unladen_track::{Segment, Track};
use unladen_vehicle::{Car, G};

/// Rows of A x + s = b, s in a cone; built row by row.
#[derive(Default)]
struct Program {
    rows: Vec<(Vec<(usize, f64)>, f64)>,
    cones: Vec<SupportedConeT<f64>>,
}

impl Program {
    /// The affine expressions, each Σ coefficient · variable + constant, lie in a cone.
    fn put(&mut self, cone: SupportedConeT<f64>, expressions: Vec<(Vec<(usize, f64)>, f64)>) {
        for (terms, constant) in expressions {
            self.rows.push((terms.into_iter().map(|(i, c)| (i, -c)).collect(), constant));
        }
        self.cones.push(cone);
    }
}

/// A point mass: |(a_x + drag X, κ X)| ≤ μ (g + lift X), and a_x + drag X ≤ power/v; all for a kilogram.
#[derive(Clone, Copy)]
struct Point {
    mu: f64,
    drag: f64,
    lift: f64,
    power: f64,
}

impl Point {
    fn on_a_circle(mu: f64) -> Self {
        Self { mu, drag: 0.0, lift: 0.0, power: f64::INFINITY }
    }
}

/// Fastest lap on cells of about `step` m: X is quadratic in each cell (a_x linear, free to jump at stations), the circle
/// holds at both ends of every cell, κ taken from inside it, and time is that of a constant a_x over each half of a cell;
/// power/v by that half's time, so that the force at a cell's ends is off in opposite ways. Second order in the step.
fn conic_time(track: &Track, point: Point, step: f64) -> f64 {
    let Point { mu, drag, lift, power } = point;
    struct Cell {
        h: f64,
        kappa: [f64; 2],
    }
    let mut cells: Vec<Cell> = vec![];
    for g in &track.segments {
        let tight = g.kappa[0].abs().max(g.kappa[1].abs());
        let n = (g.length / (step * (1.0 / (60.0 * tight)).min(1.0))).ceil() as usize;
        // Dense at the joins, where profiles bend like square roots.
        let share = |j: usize| 0.5 - 0.5 * (std::f64::consts::PI * j as f64 / n as f64).cos();
        let at = |j: usize| g.kappa[0] + (g.kappa[1] - g.kappa[0]) * share(j);
        let cell = |j: usize| Cell { h: g.length * (share(j + 1) - share(j)), kappa: [at(j), at(j + 1)] };
        cells.extend((0..n).map(cell));
    }
    let n = cells.len();
    let stations = if track.closed { n } else { n + 1 };
    // Scaled by μ g and a speed of 20 m/s to be near 1.
    let (a_0, x_0) = (mu * G, 400.0);
    // Variables: X at stations; √X at stations and middles; per cell a at both ends and two times.
    let x = |i: usize| i % stations;
    let root = |i: usize| stations + i % stations;
    let mid = |i: usize| 2 * stations + i;
    let a = |i: usize, end: usize| 2 * stations + n + 2 * i + end;
    let time = |i: usize, half: usize| 2 * stations + 3 * n + 2 * i + half;
    let count = 2 * stations + 5 * n;
    let mut q = vec![0.0; count];
    let mut p = Program::default();
    for (i, cell) in cells.iter().enumerate() {
        let (h, gain) = (cell.h, cell.h * a_0 / x_0);
        // X_{i+1} = X_i + h (a_0 + a_1); the middle's is X_i + h (¾ a_0 + ¼ a_1).
        p.put(ZeroConeT(1), vec![(vec![(x(i + 1), 1.0), (x(i), -1.0), (a(i, 0), -gain), (a(i, 1), -gain)], 0.0)]);
        for end in 0..2 {
            let side = cell.kappa[end] * x_0 / a_0;
            let station = x(i + end);
            // Entries of nought would be stored, and the solver be worse off.
            let by_air = |factor: f64| Some((station, factor * x_0 / a_0)).filter(|_| factor != 0.0);
            let force: Vec<_> = [(a(i, end), 1.0)].into_iter().chain(by_air(drag)).collect();
            p.put(
                SecondOrderConeT(3),
                vec![
                    (by_air(mu * lift).into_iter().collect(), 1.0),
                    (force.clone(), 0.0),
                    (vec![(station, side)], 0.0),
                ],
            );
            if power.is_finite() {
                // power/v − force ≥ 0, with 1/v twice the scaled time of the half cell at this end.
                let mut left: Vec<_> = force.into_iter().map(|(i, c)| (i, -c)).collect();
                left.push((time(i, end), 2.0 * power / (x_0.sqrt() * a_0)));
                p.put(NonnegativeConeT(1), vec![(left, 0.0)]);
            }
        }
        // root² ≤ X: |(2 root, X − 1)| ≤ X + 1.
        let below = |p: &mut Program, root: usize, x: Vec<(usize, f64)>| {
            p.put(SecondOrderConeT(3), vec![(x.clone(), 1.0), (vec![(root, 2.0)], 0.0), (x, -1.0)]);
        };
        let middle = vec![(x(i), 1.0), (a(i, 0), 0.75 * gain), (a(i, 1), 0.25 * gain)];
        below(&mut p, mid(i), middle);
        below(&mut p, root(i), vec![(x(i), 1.0)]);
        if !track.closed && i + 1 == n {
            below(&mut p, root(n), vec![(x(n), 1.0)]);
        }
        // time · (root + root) ≥ 1: |(2, t − r)| ≤ t + r. Half a cell takes 2 (h/2)/(v + v).
        for (half, ends) in [(0, [root(i), mid(i)]), (1, [mid(i), root(i + 1)])] {
            let t = time(i, half);
            let (r, s) = (ends[0], ends[1]);
            p.put(
                SecondOrderConeT(3),
                vec![
                    (vec![(t, 1.0), (r, 1.0), (s, 1.0)], 0.0),
                    (vec![], 2.0),
                    (vec![(t, 1.0), (r, -1.0), (s, -1.0)], 0.0),
                ],
            );
            q[t] = h / x_0.sqrt();
        }
    }
    if !track.closed {
        p.put(ZeroConeT(1), vec![(vec![(x(0), 1.0)], -track.start_speed.powi(2) / x_0)]);
    }
    let (mut row, mut column, mut value, mut b) = (vec![], vec![], vec![], vec![]);
    for (i, (terms, constant)) in p.rows.iter().enumerate() {
        for &(j, c) in terms {
            row.push(i);
            column.push(j);
            value.push(c);
        }
        b.push(*constant);
    }
    let matrix = CscMatrix::new_from_triplets(p.rows.len(), count, row, column, value);
    let settings = DefaultSettingsBuilder::default().verbose(false).build().unwrap();
    let mut solver =
        DefaultSolver::new(&CscMatrix::zeros((count, count)), &q, &matrix, &b, &p.cones, settings).unwrap();
    solver.solve();
    assert!(matches!(solver.solution.status, SolverStatus::Solved), "{:?}", solver.solution.status);
    if power.is_finite() {
        // A time longer than the speed's own would be power for nothing: the relaxed program must not have used it.
        let z = &solver.solution.x;
        let slack = |t: usize, r: usize, s: usize| z[t] * (z[r] + z[s]) - 1.0;
        let worst = (0..n).map(|i| slack(time(i, 0), root(i), mid(i)).max(slack(time(i, 1), mid(i), root(i + 1))));
        let worst = worst.fold(0.0, f64::max);
        assert!(worst < 1e-4, "relaxed by {worst:e}");
    }
    solver.solution.obj_val
}

fn compare(what: &str, track: &Track, mu: f64) {
    compare_of(what, track, Point::on_a_circle(mu), &point_mass(mu));
}

fn compare_of(what: &str, track: &Track, point: Point, car: &Car) {
    let (coarse, fine) = (conic_time(track, point, 2.0), conic_time(track, point, 1.0));
    let lap = Course::new(track).lap(car).unwrap();
    let off = (lap.time - fine) / fine;
    let extrapolated = (4.0 * fine - coarse) / 3.0;
    println!(
        "{what}: lap {:.6} ± {:.1e} s, conic {coarse:.6} (2 m), {fine:.6} (1 m): {off:.1e}; to the extrapolated {:.1e}",
        lap.time,
        lap.error,
        (lap.time - extrapolated) / extrapolated
    );
    assert!((coarse - fine).abs() < 3e-4 * fine, "the program itself has not converged");
    assert!(off.abs() < 1e-4, "{what}: {off:e}");
}

/// In plan only: a point mass in space has no closed convex form here.
fn in_plan(name: &str) -> Track {
    let track = crate::common::demo_track(name);
    let segments = track.segments.iter().map(|g| Segment { q: [0.0; 2], phi: [0.0; 2], ..g.clone() });
    Track { segments: segments.collect(), ..track }
}

/// Tolerance 1e-4 of the lap: the issue's. The program's own error, from 2 m to 1 m, is printed and below it.
#[test]
fn independent_clarabel_point_mass_laps() {
    for name in crate::common::TRACKS {
        let mut track = in_plan(name);
        for g in &mut track.segments {
            g.gamma = 1.0;
        }
        compare(name, &track, 1.1);
    }
}

/// sources.md 29–31's paths by the same program: row 29's from rest, row 31's oval on a plain circle of 1 g.
#[test]
fn independent_clarabel_rows_29_and_31() {
    let arc = std::f64::consts::PI * 25.0;
    compare("constant radius from rest", &open(vec![flat(arc + 100.0, [0.01; 2])], 0.0), 1.0);
    let (straight, half) = (flat(500.0, [0.0; 2]), flat(std::f64::consts::PI * 100.0, [0.01; 2]));
    compare("oval", &circuit(vec![straight.clone(), half.clone(), straight, half]), 1.0);
}

/// sources.md 43: mass, drag, downforce and power as published. Friction is not at hand: ours, several.
const MASS: f64 = 620.0;
const K_X: f64 = 0.72;
const K_Z: f64 = 2.15;
const POWER: f64 = 550e3;

fn published_point(mu: f64) -> Point {
    Point { mu, drag: K_X / MASS, lift: K_Z / MASS, power: POWER / MASS }
}

/// The same as a car: downforce where the mass is, and torque by 1/ω through points 1.2 % apart, which is 2e-5 of power.
fn published_car(mu: f64) -> Car {
    let mut car = point_mass(mu);
    let rho = circuit(vec![]).rho;
    let front = 1.0 - car.mass.a / car.chassis.l;
    car.mass.m = MASS;
    car.aero.cd_a = 2.0 * K_X / rho;
    car.aero.cf_a = 2.0 * K_Z / rho * front;
    car.aero.cr_a = 2.0 * K_Z / rho * (1.0 - front);
    let omega = |v: f64| v / car.rear.r;
    car.engine.torque =
        (0..=200).map(|i| omega(10.0 * 12f64.powf(f64::from(i) / 200.0))).map(|w| (w, POWER / w)).collect();
    car.engine.launch = omega(10.0);
    car.engine.limit = omega(120.0);
    car
}

/// Circles of 100 and 200 m: (X/R)² + (drag X)² = μ² (g + lift X)², or drag X^{3/2} = power where that is less.
#[test]
fn closed_form_circles_of_row_43() {
    for (radius, mu) in [(100.0_f64, 1.0), (200.0, 1.0), (100.0, 1.5), (200.0, 1.5)] {
        let Point { drag, lift, power, .. } = published_point(mu);
        let (a, b, c) = (radius.powi(-2) + drag * drag - (mu * lift).powi(2), mu * mu * G * lift, (mu * G).powi(2));
        let grip = if a > 0.0 { (b + (b * b + a * c).sqrt()) / a } else { f64::INFINITY };
        let flat_out = (power / drag).powf(2.0 / 3.0);
        let length = 2.0 * std::f64::consts::PI * radius;
        let want = length / grip.min(flat_out).sqrt();
        let lap = Course::new(&circuit(vec![flat(length, [1.0 / radius; 2])])).lap(&published_car(mu)).unwrap();
        println!("R {radius} m, μ {mu}: {:.6} s, closed form {want:.6} s, {:.1} m/s", lap.time, length / want);
        assert!((lap.time - want).abs() < 1e-5 * want, "R {radius}, μ {mu}: {} against {want}", lap.time);
    }
}

/// The ellipse of 100 × 150 m, by `count` clothoids, and two straights (500 m and 400 m, ours) joined by a half circle.
#[test]
fn independent_clarabel_roads_of_row_43() {
    let (short, long, count) = (100.0_f64, 150.0_f64, 240);
    let at = |i: usize| 2.0 * std::f64::consts::PI * i as f64 / count as f64;
    let speed = |t: f64| (long * t.sin()).hypot(short * t.cos());
    let kappa = |t: f64| long * short / speed(t).powi(3);
    let piece = |i: usize| {
        let (t0, t1) = (at(i), at(i + 1));
        // Length by Simpson: 2e-9 of it at this many pieces.
        let length = (t1 - t0) / 6.0 * (speed(t0) + 4.0 * speed(0.5 * (t0 + t1)) + speed(t1));
        flat(length, [kappa(t0), kappa(t1)])
    };
    let ellipse = circuit((0..count).map(piece).collect());
    let half = flat(std::f64::consts::PI * 100.0, [0.01; 2]);
    let horseshoe = open(vec![flat(500.0, [0.0; 2]), half, flat(400.0, [0.0; 2])], 30.0);
    for mu in [1.0, 1.5] {
        compare_of(&format!("ellipse, μ {mu}"), &ellipse, published_point(mu), &published_car(mu));
        compare_of(&format!("straights and half circle, μ {mu}"), &horseshoe, published_point(mu), &published_car(mu));
    }
}
