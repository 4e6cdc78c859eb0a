//! Derivatives held against laps of cars a small step to either side (`docs/model.md` §8): where limits tie exactly, a root
//! is nearly double, or the set falls into parts, the implicit function theorem on the discrete lap says what no lap does.

use unladen_vehicle::{Car, Number};

use crate::course::{Derivative, Lap};

/// Steps, relative to the number (to a decimetre, a tenth, where that is 0): the second one where lap time is torn over the
/// first.
const STEPS: [f64; 2] = [3e-5, 1.5e-4];

/// A derivative may lie outside the slopes of its laps by this share of itself …
const SHARE: f64 = 0.02;

/// … and by this much of the lap time for the whole number: what stations that move over kinks come to.
const ROUGH: f64 = 2e-5;

/// Nearly all derivatives of random cars that are not what laps say have a larger numerical error than this share of the
/// lap time for the whole number, a lifted wheel, a profile cut off at a ceiling, or a tie between left and right
/// (`tests/all/tied_random.rs`).
const DOUBT: f64 = 5e-4;

/// Left and right are the same to this, m.
const TIE_M: f64 = 1e-6;

/// One number's laps to both sides, by the same step.
struct Beside {
    /// Slopes towards less and towards more; the one for the other where a side has no lap.
    sides: [f64; 2],
    /// The mean of both at each station.
    along: Vec<f64>,
}

impl Beside {
    fn value(&self) -> f64 {
        0.5 * (self.sides[0] + self.sides[1])
    }

    fn apart(&self) -> f64 {
        (self.sides[1] - self.sides[0]).abs()
    }
}

/// What a whole number is taken for, SI: itself, or a tenth where it is 0.
fn whole(car: &Car, number: Number) -> Option<f64> {
    let size = car.number(number).map(f64::abs)?;
    Some(if size > 0.0 { size } else { 0.1 })
}

impl Lap {
    /// Derivatives as they are, or, where one is in doubt and the laps beside this one don't agree with it, as those say.
    pub(crate) fn held(&self, mut derivatives: Vec<Derivative>) -> Vec<Derivative> {
        let mut doubted: Vec<&mut Derivative> = derivatives.iter_mut().filter(|d| self.doubts(d)).collect();
        self.hold(&mut doubted);
        derivatives
    }

    /// What laps confirm together needs no laps one by one; where they don't, each half is tried.
    fn hold(&self, doubted: &mut [&mut Derivative]) {
        match doubted {
            [] => {}
            [one] => **one = self.by_laps((*one).clone()),
            _ if self.confirmed(doubted) == Some(true) => {}
            _ => {
                let (some, others) = doubted.split_at_mut(doubted.len() / 2);
                self.hold(some);
                self.hold(others);
            }
        }
    }

    /// Whether lap time moves to both sides as all of them together say, to what may be amiss with one of them.
    fn confirmed(&self, derivatives: &[&mut Derivative]) -> Option<bool> {
        let changes =
            derivatives.iter().map(|d| Some(d.value * whole(self.car(), d.number)?)).collect::<Option<Vec<_>>>()?;
        let least = changes.iter().map(|change| change.abs()).fold(f64::INFINITY, f64::min);
        let allowed = SHARE * least + ROUGH * self.time;
        let change: f64 = changes.iter().sum();
        let side = |step: f64| {
            let mut car = self.car().clone();
            for d in derivatives {
                *car.number_mut(d.number)? += step * whole(self.car(), d.number)?;
            }
            let time = self.course().time(&car).ok()?;
            Some(((time - self.time) / step - change).abs() <= allowed)
        };
        Some(side(-STEPS[0])? && side(STEPS[0])?)
    }

    fn doubts(&self, d: &Derivative) -> bool {
        let ties = d.number == Number::Y_CG && self.car().mass.y_cg.abs() < TIE_M;
        let small = || whole(self.car(), d.number).is_none_or(|whole| d.error * whole <= DOUBT * self.time);
        self.is_odd() || ties || !d.value.is_finite() || !small()
    }

    fn by_laps(&self, d: Derivative) -> Derivative {
        let Some(whole) = whole(self.car(), d.number).filter(|whole| whole.is_finite()) else { return d };
        let Some(near) = self.beside(d.number, STEPS[0] * whole) else { return d };
        let allowed = SHARE * d.value.abs() + ROUGH * self.time / whole;
        let within =
            |Beside { sides: [a, b], .. }: &Beside| d.value >= a.min(*b) - allowed && d.value <= a.max(*b) + allowed;
        if within(&near) {
            return d;
        }
        let Some(far) = self.beside(d.number, STEPS[1] * whole) else { return d };
        let error = near.apart().max(far.apart()).max((near.value() - far.value()).abs());
        let best = if near.apart() <= far.apart() { near } else { far };
        Derivative { value: best.value(), error, along: best.along, ..d }
    }

    fn beside(&self, number: Number, step: f64) -> Option<Beside> {
        let side = |by: f64| {
            let mut car = self.car().clone();
            *car.number_mut(number)? += by;
            let there = self.course().times(&car)?;
            Some(self.times().iter().zip(there).map(|(here, there)| (there - here) / by).collect::<Vec<f64>>())
        };
        let (less, more) = match (side(-step), side(step)) {
            (Some(less), Some(more)) => (less, more),
            (Some(one), None) | (None, Some(one)) => (one.clone(), one),
            (None, None) => return None,
        };
        let sides = [*less.last()?, *more.last()?];
        let along = less.iter().zip(&more).map(|(l, m)| 0.5 * (l + m)).collect();
        sides.iter().all(|s| s.is_finite()).then_some(Beside { sides, along })
    }
}
