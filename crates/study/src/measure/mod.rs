//! What to measure next: which way of measuring narrows an answer's interval most, and how far.
//!
//! The variance of an answer is taken as the sum of what each unknown does alone (as wherever shares are told). A
//! measurement that leaves s′ of an unknown's s leaves (s′/s)² of its part; the interval shrinks by the root of what is
//! left of the whole, on either side of the middle. That is first order; where an answer bends within its interval it is
//! a guide, and the tests measure how good a one.

mod ways;

pub use ways::{Reach, WAYS, Way};

use unladen_vehicle::{Car, Number};

use crate::uncertainty::paired::Unknown;
use crate::uncertainty::spread::{Difference, How, NINETY};
use crate::worth::Worth;

/// Something that is not known, and its share in an answer's variance.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubt {
    /// Its key in a file, or words.
    pub name: String,
    /// One standard deviation, SI.
    pub sd: f64,
    /// 0 to 1.
    pub share: f64,
}

/// An answer as far as it is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Open {
    /// Its middle.
    pub middle: f64,
    /// The 90 % interval.
    pub interval: [f64; 2],
    /// What it hangs on.
    pub doubts: Vec<Doubt>,
}

/// A measurement and what it would do.
#[derive(Clone, Debug, PartialEq)]
pub struct Next {
    /// What to do.
    pub way: &'static Way,
    /// The numbers that it makes known, the one with most of the variance first: name, one standard deviation now and
    /// then, SI.
    pub knows: Vec<(String, [f64; 2])>,
    /// Share of the variance that goes.
    pub share: f64,
    /// The 90 % interval then.
    pub interval: [f64; 2],
}

/// What leaves more than this of the interval's width is not worth a word.
const WORTH: f64 = 0.95;
/// An interval of one sign, neither end further from the middle than this share of it, is settled.
const SETTLED: f64 = 0.25;

impl Open {
    /// Of a difference.
    pub fn of_difference(d: &Difference, unknowns: &[Unknown]) -> Self {
        let doubt = |&(i, share): &(usize, f64)| {
            let unknown: &Unknown = unknowns.get(i)?;
            Some(Doubt { name: unknown.name.clone(), sd: unknown.sd, share })
        };
        let doubts = if d.how == How::Certain { Vec::new() } else { d.shares.iter().filter_map(doubt).collect() };
        Self { middle: d.median, interval: d.interval, doubts }
    }

    /// Of the cost of a kilogram at the centre of gravity; `None` where no number is uncertain.
    pub fn of_worth(worth: &Worth) -> Option<Self> {
        let q = worth.s_per_kg;
        let half = NINETY * q.sd?;
        let doubt =
            |weight: &crate::worth::Weight| Doubt { name: weight.key.clone(), sd: weight.sd, share: weight.shares[1] };
        let doubts = worth.hangs_on.iter().map(doubt).collect();
        Some(Self { middle: q.value, interval: [q.value - half, q.value + half], doubts })
    }

    /// Whether it needs no measurement: one sign, and known to a quarter.
    pub fn settled(&self) -> bool {
        let [low, high] = self.interval;
        let far = (self.middle - low).max(high - self.middle);
        low * high > 0.0 && far <= SETTLED * self.middle.abs()
    }

    /// Ways to know it better, the best first; of those that help.
    pub fn ways(&self, car: &Car) -> Vec<Next> {
        let mut all: Vec<Next> = WAYS.iter().filter_map(|way| self.with(way, car)).collect();
        all.sort_by(|a, b| b.share.total_cmp(&a.share));
        all
    }

    /// The best of them, where the answer is not settled.
    pub fn next(&self, car: &Car) -> Option<Next> {
        if self.settled() { None } else { self.ways(car).into_iter().next() }
    }

    /// What has most of the variance.
    pub fn most(&self) -> Option<&Doubt> {
        self.doubts.iter().max_by(|a, b| a.share.total_cmp(&b.share))
    }

    fn with(&self, way: &'static Way, car: &Car) -> Option<Next> {
        let mut known: Vec<(f64, String, [f64; 2])> = Vec::new();
        for doubt in &self.doubts {
            let Some((_, reach)) = way.knows.iter().find(|(start, _)| doubt.name.starts_with(start)) else { continue };
            let then = match reach {
                Reach::To(sd) => *sd,
                Reach::Share(share) => match value(car, &doubt.name) {
                    Some(value) => share * value.abs(),
                    None if *share == 0.0 => 0.0,
                    None => continue,
                },
            };
            if then < doubt.sd {
                known.push((doubt.share * (1.0 - (then / doubt.sd).powi(2)), doubt.name.clone(), [doubt.sd, then]));
            }
        }
        known.sort_by(|a, b| b.0.total_cmp(&a.0));
        let share: f64 = known.iter().map(|(gone, ..)| gone).sum();
        let left = (1.0 - share).max(0.0).sqrt();
        if left > WORTH {
            return None;
        }
        let interval = self.interval.map(|end| self.middle + left * (end - self.middle));
        Some(Next { way, knows: known.into_iter().map(|(_, name, sds)| (name, sds)).collect(), share, interval })
    }
}

/// The value of an unknown of this name; of both axles' tyres the front one's. `None` for what is no number of the car.
fn value(car: &Car, name: &str) -> Option<f64> {
    // Of two cars, or of several tracks, the name says which: `aero.drag_area of A`.
    let key = name.split(" of ").next().unwrap_or(name);
    let front = key.replacen("tyres.", "tyres.front.", 1);
    let is = |number: &Number| {
        let (own, reciprocal) = (number.key(), number.row().in_file());
        let own = if reciprocal.1 { reciprocal.0.to_owned() } else { own };
        own == key || own == front
    };
    let number = Number::all(car).into_iter().find(is)?;
    let value = car.number(number)?;
    Some(if number.row().in_file().1 { 1.0 / value } else { value })
}

#[cfg(test)]
mod tests {
    use super::*;
    use unladen_vehicle::example_car;

    fn open(doubts: &[(&str, f64, f64)]) -> Open {
        let doubt = |&(name, sd, share): &(&str, f64, f64)| Doubt { name: name.into(), sd, share };
        Open { middle: 0.1, interval: [-0.1, 0.4], doubts: doubts.iter().map(doubt).collect() }
    }

    /// By hand: 80 % of the variance from a height known to 45 mm; 3 % of the example car's height leave so much.
    #[test]
    fn closed_form_the_interval_that_is_left() {
        let car = example_car();
        let open =
            open(&[("mass.cg_height", 0.045, 0.8), ("aero.drag_area", 0.04, 0.1), ("tyres.load_slope_lat", 0.03, 0.1)]);
        let next = open.next(&car).unwrap();
        let then = 0.03 * car.mass.h;
        assert_eq!(next.knows, [("mass.cg_height".to_owned(), [0.045, then])]);
        let left = (1.0 - 0.8 * (1.0 - (then / 0.045).powi(2))).sqrt();
        assert!((next.interval[0] - (0.1 - 0.2 * left)).abs() < 1e-12, "{next:?}");
        assert!((next.interval[1] - (0.1 + 0.3 * left)).abs() < 1e-12);
        assert!(next.way.what.contains("raised"));
        assert_eq!(open.most().unwrap().name, "mass.cg_height");
    }

    /// Nothing for what is known as well already, nor for what no garage measures, nor where an answer is settled.
    #[test]
    fn closed_form_nothing_to_measure() {
        let car = example_car();
        assert_eq!(open(&[("mass.cg_height", 0.01, 1.0)]).next(&car), None);
        assert_eq!(open(&[("tyres.load_slope_lat", 0.05, 1.0)]).next(&car), None);
        assert_eq!(open(&[]).next(&car), None);
        let settled = Open { interval: [0.08, 0.12], ..open(&[("mass.cg_height", 0.045, 1.0)]) };
        assert!(settled.next(&car).is_none() && !settled.ways(&car).is_empty());
    }

    /// Numbers of one measurement go together; names of one of two cars, of both axles and of lists are known.
    #[test]
    fn closed_form_one_way_knows_several() {
        let car = example_car();
        let torque: Vec<(String, f64, f64)> =
            (0..car.engine.torque.len()).map(|i| (format!("engine.torque[{i}]"), 30.0, 0.2)).collect();
        let mut all: Vec<(&str, f64, f64)> = torque.iter().map(|t| (t.0.as_str(), t.1, t.2)).collect();
        all.push(("tyres.peak_friction_lat", 0.1, 0.15));
        all.push(("aero.drag_area of A", 0.1, 0.05));
        let next = open(&all).next(&car).unwrap();
        assert_eq!(next.knows.len(), car.engine.torque.len());
        let ways = open(&all).ways(&car);
        assert!(ways.iter().any(|w| w.knows[0].0 == "tyres.peak_friction_lat"), "{ways:?}");
        assert!(value(&car, "aero.drag_area of A").is_some() && value(&car, "mass of seat").is_none());
        let stiffness = value(&car, "tyres.cornering_stiffness");
        assert!(stiffness.is_none_or(|c| c.is_infinite() || (c * car.front.inv_c_alpha - 1.0).abs() < 1e-12));
    }

    /// Every way knows something, no unknown has two ways of the same reach, and reaches are above none.
    #[test]
    fn property_the_table() {
        for way in WAYS {
            assert!(!way.knows.is_empty() && !way.what.ends_with('.'));
            for (start, reach) in way.knows {
                assert!(WAYS.iter().filter(|w| w.knows.iter().any(|k| k.0 == *start)).count() == 1, "{start}");
                assert!(matches!(reach, Reach::To(x) | Reach::Share(x) if *x >= 0.0 && x.is_finite()));
            }
        }
    }
}
