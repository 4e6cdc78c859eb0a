//! All sides of a ranking with their laps, their draws and their settings, and what each comes to.

use unladen_vehicle::Car;
use unladen_vehicle::entry::Entry;

use crate::input::leg::mean_time;
use crate::rank::gain::{Clocked, clock, sources, sources_by_slopes};
use crate::rank::lineup::{KG, Lineup};
use crate::rank::ranked::Ranked;
use crate::rank::{Ask, RankError};
use crate::retune::{Retuned, retune_like, time_like};
use crate::threads::{each, join};
use crate::uncertainty::alternative::Alternatives;
use crate::uncertainty::paired::{Paired, Sides, paired_from};
use crate::uncertainty::spread::SURE;

/// The side that all others are compared with: the car as it stands.
pub(super) const STANDING: usize = 0;

/// Every side, lapped.
pub(super) struct Lapped<'a> {
    ask: &'a Ask<'a>,
    lineup: &'a Lineup,
    pub(super) cars: Vec<Car>,
    pub(super) clocked: Vec<Clocked>,
    /// Estimated numerical error of each side's gain, s.
    errors: Vec<f64>,
    /// Candidates whose gain is larger than its numerical error.
    resolved: Vec<usize>,
    pub(super) found: Paired,
    /// The car as it stands re-tuned; `None` where nothing can be set.
    pub(super) retuned: Option<Retuned>,
    /// Each side's time then, s; `None` for yardsticks.
    retuned_s: Vec<Option<f64>>,
}

impl<'a> Lapped<'a> {
    pub(super) fn new(
        ask: &'a Ask<'a>,
        lineup: &'a Lineup,
        field: &Alternatives,
        shares: &[f64],
    ) -> Result<Self, RankError> {
        let cars = cars(lineup, field)?;
        let clocked = laps(ask, lineup, &cars, shares)?;
        let errors: Vec<f64> = clocked.iter().map(|c| c.error_against(&clocked[STANDING])).collect();
        let differs = |&i: &usize| (clocked[STANDING].time - clocked[i].time).abs() > errors[i];
        let resolved: Vec<usize> = (1..lineup.first_whole).filter(differs).collect();
        let drawn = || draws(ask, lineup, field, &clocked, &resolved);
        // One lap after another finds a setting.
        let (found, set) = join(drawn, || settings(ask, lineup, &cars));
        let (retuned, retuned_s) = set?;
        Ok(Self { ask, lineup, cars, clocked, errors, resolved, found, retuned, retuned_s })
    }

    /// What a side comes to.
    pub(super) fn ranked(&self, side: usize) -> Ranked {
        let (named, gain) = (&self.lineup.named[side], self.found.differences[side - 1].clone());
        let sum = |of: &dyn Fn(&Entry) -> Option<f64>| {
            let known: Vec<f64> = named.rows.iter().filter_map(|&row| of(&self.ask.entries[row])).collect();
            (!known.is_empty()).then(|| known.iter().sum())
        };
        let time = |car: &Car| mean_time(car, self.ask.legs, &[]);
        let [from, to] = [STANDING, side].map(|i| &self.cars[i]);
        let split = || {
            let clocked = [STANDING, side].map(|i| &self.clocked[i]);
            sources_by_slopes([from, to], clocked, gain.gain).or_else(|| sources(from, to, gain.gain, &time))
        };
        let splits = side < self.lineup.first_yard;
        Ranked {
            name: named.name.clone(),
            rows: named.rows.clone(),
            with: named.with.clone(),
            kg: to.mass.m - from.mass.m,
            cost: sum(&|e| e.cost),
            hours: sum(&|e| e.hours),
            error_s: self.errors[side],
            places: self.places(side),
            sources: splits.then(split).flatten(),
            phases: self.clocked[STANDING].phases(&self.clocked[side]),
            retuned_s: self.retuned_s[STANDING].zip(self.retuned_s[side]).map(|(from, to)| from - to),
            kg_equivalent: self.per_kg().map(|per_kg| gain.gain / per_kg),
            gain,
        }
    }

    /// What a kilogram at the CG is worth, s/kg; `None` where it drowns in numerical error.
    fn per_kg(&self) -> Option<f64> {
        let yard = self.lineup.first_yard;
        let gain = self.clocked[STANDING].time - self.clocked[yard].time;
        (gain.abs() > self.errors[yard]).then_some(gain / KG)
    }

    /// Best and worst place among those that are resolved.
    fn places(&self, side: usize) -> Option<[usize; 2]> {
        if !self.resolved.contains(&side) {
            return None;
        }
        let others = || self.resolved.iter().copied().filter(|&other| other != side);
        let better = others().filter(|&other| self.surely_ahead(other, side)).count();
        let worse = others().filter(|&other| self.surely_ahead(side, other)).count();
        Some([1 + better, self.resolved.len() - worse])
    }

    fn surely_ahead(&self, a: usize, b: usize) -> bool {
        let pair = self.found.differences.iter().find_map(|d| match (d.of, d.against) {
            (x, y) if (x, y) == (a, b) => Some((d.gain, d.chance)),
            (x, y) if (x, y) == (b, a) => Some((-d.gain, 1.0 - d.chance)),
            _ => None,
        });
        pair.is_some_and(|(gain, chance)| gain > self.errors[a] + self.errors[b] && chance >= SURE)
    }

    /// The sides of the two first items that are resolved.
    pub(super) fn first_two(&self, items: &[Ranked]) -> Option<[usize; 2]> {
        let named = &self.lineup.named;
        let side = |item: &Ranked| {
            (1..self.lineup.first_whole).find(|&i| named[i].name == item.name && named[i].rows == item.rows)
        };
        let mut sides = items.iter().filter(|item| item.resolved()).take(2).filter_map(side);
        Some([sides.next()?, sides.next()?])
    }
}

/// Each side's car with nothing off.
fn cars(lineup: &Lineup, field: &Alternatives) -> Result<Vec<Car>, RankError> {
    let zero = vec![0.0; field.unknowns().len()];
    let impossible = |i: usize| RankError::Impossible { name: lineup.named[i].name.clone() };
    (0..lineup.sides.len()).map(|i| field.car(i, &zero).ok_or_else(|| impossible(i))).collect()
}

fn laps(ask: &Ask, lineup: &Lineup, cars: &[Car], shares: &[f64]) -> Result<Vec<Clocked>, RankError> {
    let lap = |i: usize| {
        clock(&cars[i], ask.legs, shares)
            .map_err(|source| RankError::Lap { name: lineup.named[i].name.clone(), source })
    };
    // Of several faults the first.
    each(cars.len(), lap).into_iter().collect()
}

/// Every side against the car as it stands, and the resolved ones against each other.
fn draws(ask: &Ask, lineup: &Lineup, field: &Alternatives, clocked: &[Clocked], resolved: &[usize]) -> Paired {
    let gains: Vec<(usize, usize)> = (1..lineup.sides.len()).map(|i| (i, STANDING)).collect();
    let orders = resolved.iter().enumerate().flat_map(|(k, &i)| resolved[..k].iter().map(move |&j| (i, j)));
    let nominal = clocked.iter().map(|lap| lap.time).collect();
    paired_from(field, nominal, &gains, &orders.collect::<Vec<_>>(), ask.sampling)
}

/// The car as it stands re-tuned, and each side's lap time then: where the one is quickest the others are not far off.
fn settings(ask: &Ask, lineup: &Lineup, cars: &[Car]) -> Result<(Option<Retuned>, Vec<Option<f64>>), RankError> {
    let Some(reach) = &ask.reach else { return Ok((None, vec![None; cars.len()])) };
    let (standing, valley) = retune_like(&cars[STANDING], ask.legs, reach, None)?;
    let time = |i: usize| -> Result<Option<f64>, RankError> {
        let another = lineup.sides[i].pieces.iter().any(|&piece| lineup.pieces[piece].becomes.is_some());
        match i {
            STANDING => Ok(Some(standing.time_s)),
            i if i < lineup.first_yard => Ok(Some(time_like(&cars[i], ask.legs, reach, valley.filter(|_| !another))?)),
            _ => Ok(None),
        }
    };
    let times = each(cars.len(), time).into_iter().collect::<Result<_, _>>()?;
    Ok((Some(standing), times))
}
