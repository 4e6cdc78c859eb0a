//! A change of the car: something comes off, goes on, is swapped or moved. What a mass budget is made of.

use std::collections::HashMap;

use crate::mass::{MassError, Part};

/// A part as it was and as it will be; one of them may be nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Change {
    /// What comes off.
    pub before: Option<Part>,
    /// What goes on.
    pub after: Option<Part>,
}

impl Change {
    /// Δm, kg: negative where the car gets lighter.
    pub fn mass(&self) -> f64 {
        self.after.map_or(0.0, |p| p.m) - self.before.map_or(0.0, |p| p.m)
    }

    /// The car with it done.
    ///
    /// # Errors
    /// [`MassError`] where what comes off outweighs the car.
    pub fn on(&self, car: Part) -> Result<Part, MassError> {
        // On first: nothing is left behind for a moment where all of a light body is swapped.
        let with = self.after.map_or(car, |part| car.with(part));
        self.before.map_or(Ok(with), |part| with.without(part))
    }

    /// The other way round.
    pub fn undone(&self) -> Self {
        Self { before: self.after, after: self.before }
    }
}

/// The car with all of these done, in any order. Parts at one place are one; what goes on where as much came off is not
/// there at all, bit for bit, so that a change and its way back leave no rounding behind.
///
/// # Errors
/// [`MassError`] where what comes off outweighs the car.
pub fn all_on<'a>(car: Part, changes: impl IntoIterator<Item = &'a Change>) -> Result<Part, MassError> {
    let mut net = Net::default();
    for change in changes {
        net.put(change.before, -1.0);
        net.put(change.after, 1.0);
    }
    net.on(car)
}

/// What comes off (−) and goes on (+), by place: mass and own inertia.
#[derive(Default)]
struct Net {
    at: HashMap<[u64; 3], usize>,
    all: Vec<([f64; 3], Vec<Body>)>,
}

/// Mass and, where it is known, inertia about its own centre.
type Body = (f64, Option<f64>);

impl Net {
    fn put(&mut self, part: Option<Part>, sign: f64) {
        let Some(part) = part else { return };
        let place = [part.x, part.y, part.z];
        let next = self.all.len();
        let i = *self.at.entry(place.map(|x| (x + 0.0).to_bits())).or_insert(next);
        if i == next {
            self.all.push((place, Vec::new()));
        }
        let own = (sign * part.m, part.i_zz.map(|i| sign * i));
        let bodies = &mut self.all[i].1;
        match bodies.iter().position(|b| b.0 == -own.0 && b.1 == own.1.map(|i| -i)) {
            Some(undone) => drop(bodies.swap_remove(undone)),
            None => bodies.push(own),
        }
    }

    /// All that goes on, then all that comes off: no order of rows can run out of mass half-way.
    fn on(self, car: Part) -> Result<Part, MassError> {
        let sum = |([x, y, z], bodies): ([f64; 3], Vec<(f64, Option<f64>)>)| Part {
            m: bodies.iter().map(|b| b.0).sum::<f64>() + 0.0,
            i_zz: bodies.iter().map(|b| b.1).sum::<Option<f64>>().map(|i| i + 0.0),
            x,
            y,
            z,
        };
        let sums = self.all.into_iter().filter(|(_, bodies)| !bodies.is_empty()).map(sum);
        let (on, off): (Vec<Part>, Vec<Part>) =
            sums.filter(|p| p.m != 0.0 || p.i_zz != Some(0.0)).partition(|p| p.m >= 0.0);
        let with = on.into_iter().fold(car, Part::with);
        let less = |p: Part| Part { m: -p.m, i_zz: p.i_zz.map(|i| -i), ..p };
        off.into_iter().try_fold(with, |car, part| car.without(less(part)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const CAR: Part = Part { m: 1284.0, x: 1.13, y: 0.006, z: 0.492, i_zz: Some(0.0) };

    fn part() -> impl Strategy<Value = Option<Part>> {
        let some = (0.01..25.0f64, -0.8..3.4f64, -0.8..0.8f64, 0.1..1.4f64);
        proptest::option::of(some.prop_map(|(m, x, y, z)| Part::point(m, x, y, z)))
    }

    fn changes() -> impl Strategy<Value = Vec<Change>> {
        proptest::collection::vec((part(), part()).prop_map(|(before, after)| Change { before, after }), 0..40)
    }

    fn close(a: Part, b: Part) -> bool {
        let inertia = a.i_zz.zip(b.i_zz).is_some_and(|(i, j)| (i - j).abs() < 1e-8);
        (a.m - b.m).abs() < 1e-9
            && (a.x - b.x).abs() < 1e-12
            && (a.y - b.y).abs() < 1e-12
            && (a.z - b.z).abs() < 1e-12
            && inertia
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(10_000))]

        /// 10⁴ random ledgers: the same as Σm, Σmr/Σm and Σm r² − M R² written out over the parts.
        #[test]
        fn property_a_ledger_equals_the_sum_over_its_parts(changes in changes()) {
            let done = all_on(CAR, &changes).unwrap();
            let signed: Vec<(f64, Part)> = changes
                .iter()
                .flat_map(|c| c.before.map(|p| (-1.0, p)).into_iter().chain(c.after.map(|p| (1.0, p))))
                .chain([(1.0, CAR)])
                .collect();
            let sum = |f: &dyn Fn(&Part) -> f64| signed.iter().map(|(s, p)| s * p.m * f(p)).sum::<f64>();
            let m = sum(&|_| 1.0);
            let (x, y, z) = (sum(&|p| p.x) / m, sum(&|p| p.y) / m, sum(&|p| p.z) / m);
            let i = sum(&|p| p.x * p.x + p.y * p.y) - m * (x * x + y * y);
            prop_assert!(close(done, Part { m, x, y, z, i_zz: Some(i) }), "{done:?} {m} {x} {y} {z} {i}");
        }

        /// Order of rows, splitting a row, and undoing what was done change nothing.
        #[test]
        fn property_order_splitting_and_undoing_change_nothing(changes in changes(), share in 0.01..0.99f64) {
            let done = all_on(CAR, &changes).unwrap();
            let backwards: Vec<_> = changes.iter().rev().copied().collect();
            prop_assert!(close(all_on(CAR, &backwards).unwrap(), done));
            let cut = |c: &Change, share: f64| {
                let part = |p: Option<Part>| p.map(|p| Part { m: p.m * share, ..p });
                Change { before: part(c.before), after: part(c.after) }
            };
            let split: Vec<_> = changes.iter().flat_map(|c| [cut(c, share), cut(c, 1.0 - share)]).collect();
            prop_assert!(close(all_on(CAR, &split).unwrap(), done));
            let undone: Vec<_> = changes.iter().map(Change::undone).collect();
            prop_assert!(close(all_on(done, &undone).unwrap(), CAR));
        }
    }

    #[test]
    fn bad_input_more_than_the_car() {
        let all = Change { before: Some(Part { m: 2000.0, ..CAR }), after: None };
        assert!(all.on(CAR).is_err() && all_on(CAR, &[all]).is_err());
        assert_eq!(all.mass(), -2000.0);
    }
}
