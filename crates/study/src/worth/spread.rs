//! How far the figures may be off: by slopes where laps confirm them, else by cars drawn with all unknowns off at once.
//!
//! What one unknown does alone is lapped, and so are joint draws. A figure that follows the slopes has their spread; of any
//! other the draws tell it. Those are even ones, of which few do what many random ones would.

use unladen_lap::LapError;
use unladen_vehicle::Car;

use crate::input::caveat::Caveat;
use crate::input::leg::{Leg, on_days};
use crate::input::unknown::{Input, shift_all};
use crate::threads::each;
use crate::uncertainty::alone::Alone;
use crate::uncertainty::draws::even_normal;
use crate::worth::figures::{Figures, measure};
use crate::worth::place::Spot;
use crate::worth::range::{CHECKS, Figure, Range, clipped};

/// Draws where slopes do not hold: a power of two, as even draws want.
const DRAWS: usize = 128;
/// A draw that makes no possible car is drawn again, so often at most.
const AGAIN: u32 = 200;
/// A step that leads to no possible car is halved, so often at most.
const HALVINGS: i32 = 6;
/// Of all draws.
const SEED: u32 = 1;

/// A car on some tracks, and what of both is not known.
pub(crate) struct Unsure<'a> {
    pub(crate) car: &'a Car,
    pub(crate) inputs: &'a [Input],
    pub(crate) legs: &'a [Leg<'a>],
    pub(crate) spots: &'a [Spot],
    /// Lap times are all that is asked for.
    pub(crate) only_times: bool,
    /// Figures with nothing off, leg by leg, and their numerical errors.
    pub(crate) at: &'a [Figures],
    pub(crate) errors: &'a [Figures],
}

/// Figures of each leg; why a leg has none.
type Laps = Vec<Result<Figures, Option<LapError>>>;

/// An unknown alone, on a side: by how many standard deviations it was moved, and what came of it.
type End = Option<(f64, Laps)>;

/// What the unknowns do, one by one and all at once.
pub(crate) struct Explored {
    /// By unknown: down, up.
    pub(crate) ends: Vec<[End; 2]>,
    /// How far the unknowns were off in each draw.
    taken: Vec<Vec<f64>>,
    /// Figures of each draw, all legs'; none where a leg had no lap.
    laps: Vec<Option<Vec<Figures>>>,
}

impl Unsure<'_> {
    /// How many unknowns: of the car, then of each track.
    pub(crate) fn unknowns(&self) -> usize {
        self.inputs.len() + self.legs.iter().map(|leg| leg.inputs.len()).sum::<usize>()
    }

    /// Does this unknown move this leg?
    pub(crate) fn moves(&self, unknown: usize, leg: usize) -> bool {
        let before: usize = self.legs[..leg].iter().map(|leg| leg.inputs.len()).sum();
        let own = self.inputs.len() + before;
        unknown < self.inputs.len() || (own..own + self.legs[leg].inputs.len()).contains(&unknown)
    }

    /// Its key in the car's or the track's file.
    pub(crate) fn key(&self, unknown: usize) -> &str {
        let all = || self.inputs.iter().chain(self.legs.iter().flat_map(|leg| leg.inputs));
        all().nth(unknown).map_or("", |input| &input.key)
    }

    fn cars(&self, z: &[f64]) -> Option<Vec<Car>> {
        let mut car = self.car.clone();
        shift_all(&mut car, self.inputs, z)?;
        on_days(&car, self.legs, z.get(self.inputs.len()..).unwrap_or(&[]))
    }

    /// Laps of the legs that `asked` names, the others as with nothing off.
    fn laps(&self, cars: &[Car], asked: impl Fn(usize) -> bool) -> Laps {
        let lap = |leg: usize| match asked(leg) {
            false => Ok(self.at[leg].clone()),
            true => {
                let found = self.lap(leg, &cars[leg])?;
                found.iter().all(|x| x.is_finite()).then_some(found).ok_or(None)
            }
        };
        (0..self.legs.len()).map(lap).collect()
    }

    fn lap(&self, leg: usize, car: &Car) -> Result<Figures, Option<LapError>> {
        let course = self.legs[leg].course;
        if self.only_times { Ok(vec![course.time(car).map_err(Some)?]) } else { measure(course, car, self.spots) }
    }

    fn end(&self, unknown: usize, way: f64) -> End {
        let mut z = vec![0.0; self.unknowns()];
        (0..HALVINGS).map(|i| way * 0.5f64.powi(i)).find_map(|off| {
            z[unknown] = off;
            Some((off, self.laps(&self.cars(&z)?, |leg| self.moves(unknown, leg))))
        })
    }

    /// A draw that makes a possible car.
    fn drawn(&self, sample: u32) -> Option<(Vec<f64>, Vec<Car>)> {
        (0..AGAIN).find_map(|again| {
            let z: Vec<f64> = (0..self.unknowns()).map(|i| even_normal(SEED + again, sample, i)).collect();
            let cars = self.cars(&z)?;
            Some((z, cars))
        })
    }

    /// Laps what the unknowns do: draws enough for every figure of the legs, and of their mean by `shares` where there
    /// are several.
    pub(crate) fn explore(&self, shares: &[f64]) -> Explored {
        let count = self.unknowns();
        if count == 0 {
            return Explored { ends: Vec::new(), taken: Vec::new(), laps: Vec::new() };
        }
        let mut sides = each(2 * count, |i| self.end(i / 2, [-1.0, 1.0][i % 2])).into_iter();
        let ends = (0..count).filter_map(|_| Some([sides.next()?, sides.next()?])).collect();
        let mut found = Explored { ends, taken: Vec::new(), laps: Vec::new() };
        self.draw(&mut found, CHECKS);
        if self.each(&found, shares).iter().any(|of| of.as_ref().is_some_and(|f| !f.holds())) {
            self.draw(&mut found, DRAWS);
        }
        found
    }

    fn draw(&self, found: &mut Explored, to: usize) {
        let one = |sample: usize| -> (Vec<f64>, Option<Vec<Figures>>) {
            let Some((z, cars)) = self.drawn(sample as u32) else { return (Vec::new(), None) };
            let laps = self.laps(&cars, |_| true).into_iter().collect::<Result<Vec<_>, _>>().ok();
            (z, laps)
        };
        let first = found.taken.len();
        for (z, laps) in each(to.saturating_sub(first), |i| one(first + i)) {
            found.taken.push(z);
            found.laps.push(laps);
        }
    }

    /// Figure by figure, leg by leg and then of the mean; `None` where an unknown has no lap on either side.
    fn each(&self, found: &Explored, shares: &[f64]) -> Vec<Option<Figure>> {
        let figures = self.at.first().map_or(0, Vec::len);
        let mut all: Vec<Vec<f64>> = (0..self.legs.len())
            .map(|leg| (0..self.legs.len()).map(|i| f64::from(u8::from(i == leg))).collect())
            .collect();
        if all.len() > 1 {
            all.push(shares.to_vec());
        }
        each(all.len() * figures, |i| self.figure(found, &all[i / figures], i % figures))
    }

    /// How far each figure may be off, by leg and, where there are several, of their mean.
    pub(crate) fn ranges(&self, found: &Explored, shares: &[f64]) -> Vec<Vec<Option<Range>>> {
        let figures = self.at.first().map_or(0, Vec::len).max(1);
        let ranges = self.each(found, shares).into_iter().map(|of| of.map(|f| f.range())).collect::<Vec<_>>();
        ranges.chunks(figures).map(<[Option<Range>]>::to_vec).collect()
    }

    /// What to know of unknowns that reach to where this leg has no lap.
    pub(crate) fn caveats(&self, found: &Explored, leg: usize) -> Vec<Caveat> {
        let side = |end: &End| match end {
            Some((_, laps)) => laps[leg].as_ref().map(drop).map_err(Clone::clone),
            None => Err(None),
        };
        let told = |unknown: usize| {
            let key = || self.key(unknown).to_owned();
            match found.ends[unknown].each_ref().map(side) {
                [Ok(()), Ok(())] => None,
                [Err(_), Err(_)] => Some(Caveat::NoSide { key: key() }),
                [Err(why), Ok(())] | [Ok(()), Err(why)] => Some(Caveat::OneSide { key: key(), why }),
            }
        };
        (0..found.ends.len()).filter(|&unknown| self.moves(unknown, leg)).filter_map(told).collect()
    }

    /// A figure of the legs' weighed mean.
    fn figure(&self, found: &Explored, weights: &[f64], i: usize) -> Option<Figure> {
        if found.ends.is_empty() {
            return None;
        }
        let legs = || weights.iter().enumerate().filter(|(_, w)| **w != 0.0);
        let nominal: f64 = legs().map(|(leg, w)| w * self.at[leg][i]).sum();
        let side = |end: &End| -> Option<(f64, f64)> {
            let (off, laps) = end.as_ref()?;
            let value = legs().map(|(leg, w)| Some(w * laps[leg].as_ref().ok()?[i])).sum::<Option<f64>>()?;
            Some((*off, value - nominal))
        };
        let alone =
            found.ends.iter().map(|ends| Alone::through(ends.each_ref().map(side))).collect::<Option<Vec<_>>>()?;
        let of_laps = |laps: &Vec<Figures>| legs().map(|(leg, w)| w * laps[leg][i]).sum::<f64>() - nominal;
        let lapped = found.taken.iter().zip(&found.laps).filter_map(|(z, laps)| Some((z, of_laps(laps.as_ref()?))));
        let (taken, values): (Vec<&Vec<f64>>, Vec<f64>) = lapped.unzip();
        let drawn = clipped(values);
        let straight = taken.iter().map(|z| alone.iter().zip(*z).map(|(a, z)| a.slope * z).sum()).collect();
        let error = legs().map(|(leg, w)| w * self.errors[leg][i]).sum();
        Some(Figure { nominal, error, alone, drawn, straight })
    }
}
