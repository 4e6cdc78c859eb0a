//! Many cars by one lap: where cars differ in numbers only, and by little, the derivatives of one car's lap tell the
//! times of all of them to first order. What that leaves over is found by whoever asks, with laps of their own.

use unladen_lap::Course;
use unladen_vehicle::{Car, Number};

use crate::uncertainty::laps::Driven;

/// Numbers that one run through a lap tells of.
const MOST: usize = 7;

/// Another run through it is worth while for so many sides more.
const ENOUGH: usize = 2;

/// How many sides differ in none but these.
fn priced(sides: &[Vec<Number>], numbers: &[Number]) -> usize {
    sides.iter().filter(|own| own.iter().all(|number| numbers.contains(number))).count()
}

/// Numbers, no more than `most`, that price most sides: those first that price the most for how many they are.
fn most_sides(sides: &[Vec<Number>], mut numbers: Vec<Number>, most: usize) -> Vec<Number> {
    loop {
        let now = priced(sides, &numbers);
        let with = |own: &Vec<Number>| {
            let mut both = [&numbers[..], own].concat();
            once(&mut both);
            let per_number = (priced(sides, &both) - now) as f64 / (both.len() - numbers.len()).max(1) as f64;
            (per_number, both)
        };
        let best = sides.iter().map(with).filter(|(per_number, both)| *per_number > 0.0 && both.len() <= most);
        match best.fold(None, |best: Option<(f64, Vec<Number>)>, it| match best {
            Some(best) if best.0 >= it.0 => Some(best),
            _ => Some(it),
        }) {
            Some((_, both)) => numbers = both,
            None => return numbers,
        }
    }
}

/// What prices the laps of all sides.
pub struct Prices<'a> {
    sides: &'a dyn Driven,
    /// The side that is lapped.
    from: usize,
    laps: Vec<(&'a Course, f64)>,
    numbers: Vec<Number>,
}

/// What slopes usually are: where roots nearly vanish a lap's derivatives are without bounds, and tell nothing of what is
/// not as near.
pub(crate) struct Usual(Vec<Vec<[f64; 2]>>);

impl Usual {
    /// Of laps with many things off: so many spreads to each side, the outermost left out, and a share of the middle one.
    pub(crate) fn of(bases: &[Base]) -> Self {
        let lap = |i: usize| {
            let slopes: Vec<&Vec<f64>> = bases.iter().filter_map(|base| Some(&base.found[i].as_ref()?.1)).collect();
            let number = |k: usize| {
                let mut all: Vec<f64> = slopes.iter().map(|of| of[k]).collect();
                all.sort_by(f64::total_cmp);
                let (middle, last) = (all[all.len() / 2], all.len() - 1);
                let out = if last > 2 { 1 } else { 0 };
                let width = SPREADS * (all[last - out] - all[out]) + SHARE * middle.abs();
                [middle - width, middle + width]
            };
            (0..slopes.first().map_or(0, |of| of.len())).map(number).collect()
        };
        Self((0..bases.first().map_or(0, |base| base.found.len())).map(lap).collect())
    }

    /// Whether derivatives are of those that count.
    pub(crate) fn holds(&self, base: &Base) -> bool {
        self.0.iter().zip(&base.found).all(|(usual, found)| {
            let slopes = found.iter().flat_map(|of| &of.1);
            usual.iter().zip(slopes).all(|([least, most], slope)| (least..=most).contains(&slope))
        })
    }
}

/// See [`Usual::of`].
const SPREADS: f64 = 3.0;
const SHARE: f64 = 0.5;

/// Laps with their derivatives.
pub struct Base {
    cars: Vec<Car>,
    /// By lap: its time and slopes; `None` of a lap that another one prices.
    found: Vec<Option<(f64, Vec<f64>)>>,
}

impl<'a> Prices<'a> {
    /// By laps of the side `from`: what differs in few numbers is priced, as far as one run through a lap tells.
    pub(crate) fn by(sides: &'a dyn Driven, from: usize) -> Self {
        let laps = sides.laps();
        let mut wanted: Vec<Vec<Number>> = vec![Vec::new(); sides.sides()];
        for off in [0.0, 1.0] {
            let z = vec![off; sides.doubts().len()];
            let Some(base) = sides.cars(from, &z) else { continue };
            for (side, wanted) in wanted.iter_mut().enumerate() {
                let Some(cars) = sides.cars(side, &z) else { continue };
                let own = cars.iter().enumerate().filter_map(|(lap, car)| between(&base[near(&laps, lap)], car));
                wanted.extend(own.flatten());
            }
        }
        wanted.iter_mut().for_each(once);
        let one = most_sides(&wanted, Vec::new(), MOST);
        let two = most_sides(&wanted, one.clone(), 2 * MOST);
        let more = priced(&wanted, &two) - priced(&wanted, &one);
        let numbers = if more >= ENOUGH { two } else { one };
        Self { sides, from, laps, numbers }
    }

    /// How many laps are driven for how many that are priced, of so many sides.
    pub(crate) fn laps(&self, sides: usize) -> [usize; 2] {
        [(0..self.laps.len()).filter(|&i| near(&self.laps, i) == i).count(), sides * self.laps.len()]
    }

    /// The laps of the side that prices, with so much off.
    pub(crate) fn lap(&self, z: &[f64]) -> Option<Base> {
        Base::of(self.sides.cars(self.from, z)?, &self.laps, &self.numbers)
    }

    /// The time of a side, s; `None` where these laps don't tell.
    pub(crate) fn time(&self, base: &Base, side: usize, z: &[f64]) -> Option<f64> {
        base.price(&self.sides.cars(side, z)?, &self.laps, &self.numbers)
    }

    /// Of which side laps are driven.
    pub(crate) fn from(&self) -> usize {
        self.from
    }
}

impl Base {
    fn of(cars: Vec<Car>, laps: &[(&Course, f64)], numbers: &[Number]) -> Option<Self> {
        let lap = |i: usize| {
            let own = near(laps, i) == i;
            if own {
                laps[i].0.rough_slopes(&cars[i], numbers).ok().filter(|of| of.0.is_finite()).map(Some)
            } else {
                Some(None)
            }
        };
        let found = (0..laps.len()).map(lap).collect::<Option<Vec<_>>>()?;
        Some(Self { cars, found })
    }

    fn price(&self, cars: &[Car], laps: &[(&Course, f64)], numbers: &[Number]) -> Option<f64> {
        let lap = |(i, (_, weight)): (usize, &(&Course, f64))| {
            let at = near(laps, i);
            let (own, (time, slopes)) = (&self.cars[at], self.found[at].as_ref()?);
            let mut like = own.clone();
            let mut sum = *time;
            for (&number, slope) in numbers.iter().zip(slopes) {
                let (is, place) = (cars[i].number(number)?, like.number_mut(number)?);
                if is != *place {
                    sum += slope * (is - *place);
                    *place = is;
                }
            }
            (like == cars[i]).then_some(weight * sum)
        };
        laps.iter().enumerate().map(lap).sum::<Option<f64>>().filter(|time| time.is_finite())
    }
}

/// The lap that prices this one: the middle one of those on its course.
fn near(laps: &[(&Course, f64)], lap: usize) -> usize {
    let same: Vec<usize> = (0..laps.len()).filter(|&i| std::ptr::eq(laps[i].0, laps[lap].0)).collect();
    same[same.len() / 2]
}

/// In which numbers two cars differ; `None` where they differ in something else.
fn between(from: &Car, to: &Car) -> Option<Vec<Number>> {
    let mut like = from.clone();
    let mut numbers = Vec::new();
    for number in Number::all(from) {
        let (place, is) = (like.number_mut(number)?, to.number(number)?);
        if *place != is {
            *place = is;
            numbers.push(number);
        }
    }
    (like == *to).then_some(numbers)
}

fn once(numbers: &mut Vec<Number>) {
    numbers.sort_unstable();
    numbers.dedup();
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Slopes of two kinds, as on either side of a kink, are both usual; one that has no bounds is not, even where it was
    /// among those that tell what is.
    #[test]
    fn property_derivatives_without_bounds_tell_nothing() {
        let base = |slopes: [f64; 2]| Base { cars: Vec::new(), found: vec![Some((60.0, slopes.to_vec())), None] };
        let own = |i: i32| [0.014 + 2e-4 * f64::from(i % 5 - 2), if i % 8 == 0 { 2.2 } else { -1.9 }];
        let mut known: Vec<Base> = (0..15).map(|i| base(own(i))).collect();
        known.push(base([0.02, -65.0]));
        let usual = Usual::of(&known);
        assert!((0..15).all(|i| usual.holds(&base(own(i)))));
        assert!(!usual.holds(&base([0.02, -65.0])) && !usual.holds(&base([0.03, -1.9])));
        assert!(!usual.holds(&base([0.014, f64::NAN])));
    }
}
