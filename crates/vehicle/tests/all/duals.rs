//! Derivatives of the envelope and of the power limit: our dual numbers against num-dual's, and against differences.

use std::ops::{Add, Div, Mul, Neg, Sub};

use crate::common::state;
use num_dual::{DualNum, DualSVec64};
use unladen_testkit::random::{Kind, Rng, car};
use unladen_vehicle::car::{Day, OnDay};
use unladen_vehicle::grip::Bound;
use unladen_vehicle::road::Road;
use unladen_vehicle::{Car, Dual, Model, Number, Scalar};

/// Numbers differentiated together, X and a_x first.
const N: usize = 10;

/// num-dual's number under this crate's short bound.
#[derive(Clone, Copy)]
struct Other(DualSVec64<N>);

impl Default for Other {
    fn default() -> Self {
        Self::from(0.0)
    }
}

macro_rules! binary {
    ($($trait:ident $method:ident),+) => {$(
        impl $trait for Other {
            type Output = Self;
            fn $method(self, o: Self) -> Self {
                Self(self.0.$method(o.0))
            }
        }
        impl $trait<f64> for Other {
            type Output = Self;
            fn $method(self, o: f64) -> Self {
                Self(self.0.$method(o))
            }
        }
    )+};
}
binary!(Add add, Sub sub, Mul mul, Div div);

impl Neg for Other {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl From<f64> for Other {
    fn from(v: f64) -> Self {
        Self(DualSVec64::from_re(v))
    }
}

impl Scalar for Other {
    const HAS_DERIVATIVES: bool = true;

    fn value(self) -> f64 {
        self.0.re
    }
    fn sqrt(self) -> Self {
        if self.0.re > 0.0 { Self(DualNum::sqrt(&self.0)) } else { Self::from(0.0) }
    }
    fn sin(self) -> Self {
        Self(DualNum::sin(&self.0))
    }
    fn cos(self) -> Self {
        Self(DualNum::cos(&self.0))
    }
}

impl Other {
    fn variable(v: f64, i: usize) -> Self {
        Self(DualSVec64::from_re(v).derivative_i(i))
    }
    fn d(self, i: usize) -> f64 {
        self.0.eps.unwrap_generic(nalgebra::Const::<N>, nalgebra::U1)[i]
    }
}

trait Derivative {
    fn derivative_i(self, i: usize) -> Self;
}

impl Derivative for DualSVec64<N> {
    fn derivative_i(mut self, i: usize) -> Self {
        self.eps = num_dual::Derivative::derivative_generic(nalgebra::Const::<N>, nalgebra::U1, i);
        self
    }
}

/// Slacks of grip and power, with derivatives to X, a_x and the `numbers`.
fn slacks<S: Scalar>(
    car: &Car,
    numbers: &[Number],
    variable: impl Fn(f64, usize) -> S,
    road: &Road<S>,
    x: f64,
    a_x: f64,
) -> [S; 2] {
    let mut lifted: OnDay<S> = car.on(Day::STANDARD).map(S::from);
    for (i, &number) in numbers.iter().enumerate() {
        let place = lifted.number_mut(number).unwrap();
        *place = variable(place.value(), i + 2);
    }
    let model = Model::new(&lifted.car, lifted.day);
    let (x, a_x) = (variable(x, 0), variable(a_x, 1));
    let grip = model.grip(road, x, a_x).value;
    let mode = model.gearing.modes.len() - 1;
    let (piece, _) = model.gearing.piece_at(mode, x.value());
    let mode = &model.gearing.modes[mode];
    [grip, model.power(road, x, a_x, model.gearing.force(mode, &piece, x), mode.m_rot)]
}

fn some_numbers(r: &mut Rng, car: &Car) -> Vec<Number> {
    // A stiffness that is not given has a test of its own, below.
    let given = |n: &Number| *n != Number::INV_C_ALPHA_F && *n != Number::INV_C_ALPHA_R;
    let on = car.on(Day::STANDARD);
    let all = on.numbers();
    let finite = |n: &Number| on.number(*n).is_some_and(|v| v.is_finite() && (v != 0.0 || given(n)));
    let mut chosen = vec![Number::M, Number::A, Number::H, Number::Y_CG];
    while chosen.len() < N - 2 {
        let number = all[r.below(all.len())];
        if finite(&number) && !chosen.contains(&number) {
            chosen.push(number);
        }
    }
    chosen
}

/// Relative 1e-9 of each derivative, or 1e-12 of the largest term that can cancel in it (slack per unit of a number
/// times that number): both are exact rules on the same operations, only rounding differs.
#[test]
fn independent_num_dual_derivatives_of_the_envelope() {
    let mut worst = 0.0f64;
    for seed in 0..4000 {
        let mut r = Rng::new(seed);
        let car = car(&mut r, if seed % 2 == 0 { Kind::Usual } else { Kind::Odd });
        let (road, x, a_x) = state(&mut r);
        let numbers = some_numbers(&mut r, &car);
        let ours = slacks::<Dual<N>>(&car, &numbers, Dual::variable, &road.lift(), x, a_x);
        let theirs = slacks::<Other>(&car, &numbers, Other::variable, &road.lift(), x, a_x);
        for (a, b) in ours.into_iter().zip(theirs) {
            assert!((a.v - b.0.re).abs() <= 1e-12 * a.v.abs().max(1.0), "seed {seed}");
            for i in 0..N {
                let unit = match i {
                    0 => x,
                    1 => 10.0,
                    _ => car.on(Day::STANDARD).number(numbers[i - 2]).unwrap().abs(),
                };
                let scale = a.d[i].abs().max(1e-3 * (1.0 + a.v.abs()) / unit.max(1e-3));
                let off = (a.d[i] - b.d(i)).abs() / scale;
                worst = worst.max(off);
                assert!(off < 1e-9, "seed {seed} {i}: {} {}", a.d[i], b.d(i));
            }
        }
    }
    println!("largest difference {worst:.1e}");
}

/// Against extrapolated central differences where no condition changes within the step of 1e-5: good to 1e-10 or so
/// where the envelope is not close to a vertical tangent (a wheel at its limit). Tolerance 1e-6 of the derivative, or
/// of f per unit.
#[test]
fn property_derivatives_are_those_of_differences() {
    let (mut compared, mut kinks) = (0, 0);
    for seed in 0..3000 {
        let mut r = Rng::new(seed);
        let car = car(&mut r, Kind::Usual);
        let (road, x, a_x) = state(&mut r);
        let numbers = some_numbers(&mut r, &car);
        let exact = slacks::<Dual<N>>(&car, &numbers, Dual::variable, &road.lift(), x, a_x);
        // Far outside (an axle about to lift) nothing is smooth, and nobody asks.
        if exact[0].v.abs() > 1.0 {
            continue;
        }
        let weight = Model::new(&car, Day::STANDARD).weight();
        for i in 0..N {
            let at = |step: f64| {
                let mut on = car.on(Day::STANDARD);
                let (mut x, mut a_x) = (x, a_x);
                match i {
                    0 => x += step,
                    1 => a_x += step,
                    _ => *on.number_mut(numbers[i - 2]).unwrap() += step,
                }
                let model = Model::new(&on.car, on.day);
                let (slack, branches) = model.grip_branches(&road, x, a_x);
                // The weight that slacks are divided by is a scale: derivatives hold it (at slack 0 it is all one).
                let power = if matches!(slack.bound, Bound::AxleLift | Bound::Rollover) { 1 } else { 2 };
                (slack.value * (model.weight() / weight).powi(power), branches)
            };
            let unit = match i {
                0 => x.max(1.0),
                1 => 10.0,
                _ => Some(car.on(Day::STANDARD).number(numbers[i - 2]).unwrap().abs())
                    .filter(|&u| u > 0.0)
                    .unwrap_or(1e-2),
            };
            let h = 1e-5 * unit;
            let here = at(0.0).1;
            if [-2.0, -1.0, 1.0, 2.0].iter().any(|&k| at(k * h).1 != here) {
                kinks += 1;
                continue;
            }
            let central = |h: f64| (at(h).0 - at(-h).0) / (2.0 * h);
            // Richardson's extrapolation: an error of h⁴ f⁗′ and 2e-11 of f from rounding.
            let difference = (4.0 * central(h) - central(2.0 * h)) / 3.0;
            let scale = exact[0].d[i].abs().max(exact[0].v.abs().max(1e-2) / unit);
            let off = (difference - exact[0].d[i]).abs();
            assert!(off < 1e-6 * scale, "seed {seed} {i} {numbers:?}: {difference} {}", exact[0].d[i]);
            compared += 1;
        }
    }
    println!("{compared} compared, {kinks} with a kink inside the step");
    assert!(kinks < compared / 50);
}

/// The branches that a state was found to take, held, give the very same slack there; and close by, where the branches
/// are still the same.
#[test]
fn property_held_branches_equal_free_ones() {
    let mut moved = 0;
    for seed in 0..20_000 {
        let mut r = Rng::new(seed);
        let car = car(&mut r, if seed % 2 == 0 { Kind::Usual } else { Kind::Odd });
        let (road, x, a_x) = state(&mut r);
        let model = Model::new(&car, Day::STANDARD);
        let (free, branches) = model.grip_branches(&road, x, a_x);
        let held = model.grip_held(&road, x, a_x, branches);
        assert_eq!((free.value, free.bound), (held.value, held.bound), "seed {seed}");
        assert_eq!(free.value, model.grip(&road, x, a_x).value);
        let (x, a_x) = (x * (1.0 + r.range(-0.05, 0.05)), a_x + r.range(-0.5, 0.5));
        let (near, others) = model.grip_branches(&road, x, a_x);
        if others == branches {
            assert_eq!(near.value, model.grip_held(&road, x, a_x, branches).value, "seed {seed}");
            moved += 1;
        }
    }
    assert!(moved > 5000, "{moved}");
}

/// More grip everywhere leaves every feasible state feasible, on any car; so does a driver who uses more of it.
#[test]
fn property_more_grip_never_hurts() {
    let mut feasible = 0;
    for seed in 0..40_000 {
        let mut r = Rng::new(seed);
        let car = car(&mut r, if seed % 2 == 0 { Kind::Usual } else { Kind::Odd });
        let (road, x, a_x) = state(&mut r);
        let x = 0.4 * x;
        if Model::new(&car, Day::STANDARD).grip(&road, x, a_x).value < 0.0 {
            continue;
        }
        feasible += 1;
        let more = Road { gamma: road.gamma * r.range(1.0, 1.5), ..road };
        let slack = Model::new(&car, Day::STANDARD).grip(&more, x, a_x);
        assert!(slack.value >= 0.0, "seed {seed}: {slack:?}");
    }
    assert!(feasible > 5000, "{feasible}");
}

/// A cornering stiffness not given counts as infinite, C = 0; what a finite one would cost has a derivative all the
/// same: ∂F_x/∂(1/C_α) = F_yf² N_0f/N_f, so that of the power slack is −F_yf² N_0f/(N_f m g).
#[test]
fn closed_form_derivative_of_a_stiffness_not_given() {
    let mut car = unladen_vehicle::example_car();
    (car.front.inv_c_alpha, car.rear.inv_c_alpha) = (0.0, 0.0);
    let bend = unladen_vehicle::road::Shape { kappa: 0.02, q: 0.0, dq: 0.0, phi: 0.0, gamma: 1.0 }.road();
    let slack = |number: Number| slacks::<Dual<N>>(&car, &[number], Dual::variable, &bend.lift(), 200.0, 1.0)[1].d[2];
    let model = Model::new(&car, Day::STANDARD);
    let axles = model.axles(&bend, 200.0, 1.0);
    for (i, number, n_0) in [(0, Number::INV_C_ALPHA_F, car.front.n_0), (1, Number::INV_C_ALPHA_R, car.rear.n_0)] {
        let want = -axles.f_y[i] * axles.f_y[i] * n_0 / axles.n[i] / model.weight();
        assert!((slack(number) - want).abs() < 1e-9 * want.abs(), "{}: {} {want}", number.key(), slack(number));
    }
}
