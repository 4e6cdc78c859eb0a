//! What stands in for a side's laps: quicker laps of it, or the derivatives of another side's lap. Laps at some draws tell
//! where it does, and by how much it is off there.

use std::sync::OnceLock;

use crate::threads::each_of;
use crate::uncertainty::paired::Sides;
use crate::uncertainty::price::{Base, Prices, Usual};

/// What stands in for the laps of a side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Way {
    /// Quicker laps.
    Rough,
    /// Another side's quicker laps with their derivatives.
    Priced,
}

/// Draws that tell which derivatives are usual.
pub(crate) const USUAL: usize = 16;
/// A lap with its derivatives costs as much as so many without.
const DEAR: usize = 2;

/// What a draw did to a side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Lapped {
    /// Not asked for.
    Unasked,
    /// There is no lap of such a car.
    Lost,
    /// Its time, s.
    In(f64),
}

impl Lapped {
    /// s.
    pub(crate) fn time(self) -> Option<f64> {
        match self {
            Lapped::In(time) => Some(time),
            Lapped::Lost | Lapped::Unasked => None,
        }
    }

    fn of(time: Option<f64>) -> Self {
        time.filter(|t| t.is_finite()).map_or(Lapped::Lost, Lapped::In)
    }
}

/// The times of some sides, by laps and by what stands in for them: that counts as what a time changes by from the side
/// with nothing off.
pub(crate) struct Ways<'a> {
    pub(crate) sides: &'a dyn Sides,
    nominal: &'a [f64],
    /// By side.
    pub(crate) by: Vec<Way>,
    /// Rough times with nothing off, once they have been asked for.
    rough: Vec<OnceLock<Option<f64>>>,
    prices: Option<Priced<'a>>,
}

struct Priced<'a> {
    by: Prices<'a>,
    /// With nothing off, and what it says of each side.
    base: Base,
    nominal: Vec<Option<f64>>,
    usual: Usual,
}

impl<'a> Ways<'a> {
    /// Priced wherever that is cheaper, so far. `off`: some draws, to know derivatives that are not usual by; without
    /// them nothing is priced.
    pub(crate) fn new(sides: &'a dyn Sides, nominal: &'a [f64], off: &[Vec<f64>]) -> Self {
        let priced = || {
            let (by, zero) = (sides.prices().filter(|_| !off.is_empty())?, vec![0.0; sides.unknowns().len()]);
            let base = by.lap(&zero)?;
            let of: Vec<Option<f64>> = (0..nominal.len()).map(|side| by.time(&base, side, &zero)).collect();
            let [driven, priced] = by.laps(of.iter().flatten().count());
            if priced <= DEAR * driven {
                return None;
            }
            let bases: Vec<Base> = each_of(off, |z| by.lap(z)).into_iter().flatten().collect();
            Some(Priced { by, base, nominal: of, usual: Usual::of(&bases) })
        };
        let prices = priced();
        let way = |side: usize| match &prices {
            Some(prices) if prices.nominal[side].is_some() => Way::Priced,
            _ => Way::Rough,
        };
        let by = (0..nominal.len()).map(way).collect();
        Self { sides, nominal, by, rough: nominal.iter().map(|_| OnceLock::new()).collect(), prices }
    }

    /// Whether laps of this side price the others.
    pub(crate) fn is_base(&self, side: usize) -> bool {
        self.prices.as_ref().is_some_and(|prices| prices.by.from() == side)
    }

    /// Times of the sides that are wanted, by laps; `None`: no possible car.
    pub(crate) fn exact(&self, wanted: &[bool], z: Option<&[f64]>) -> Vec<Lapped> {
        let time = |side: usize| z.and_then(|z| self.sides.time(side, z));
        self.each(wanted, time)
    }

    /// The same by what stands in for laps.
    pub(crate) fn instead(&self, wanted: &[bool], z: Option<&[f64]>) -> Vec<Lapped> {
        let any = (0..wanted.len()).any(|side| wanted[side] && self.by[side] == Way::Priced);
        let priced = self.prices.as_ref().zip(z).filter(|_| any);
        let same =
            |priced: &Priced, z: &[f64]| (0..z.len()).all(|u| z[u] == 0.0 || !self.sides.moves(priced.by.from(), u));
        // As with nothing off; no lap; a lap.
        let lapped = priced.map(|(priced, z)| if same(priced, z) { None } else { Some(priced.by.lap(z)) });
        let time = |side: usize| {
            let z = z?;
            let (Way::Priced, Some((priced, _)), Some(lapped)) = (self.by[side], priced, &lapped) else {
                return self.rough_time(side, z);
            };
            let base = match lapped {
                None => &priced.base,
                Some(lapped) => lapped.as_ref()?,
            };
            if priced.usual.holds(base) {
                Some(priced.by.time(base, side, z)? - priced.nominal[side]? + self.nominal[side])
            } else {
                self.rough_time(side, z)
            }
        };
        self.each(wanted, time)
    }

    fn each(&self, wanted: &[bool], time: impl Fn(usize) -> Option<f64>) -> Vec<Lapped> {
        let one = |side: usize| if wanted[side] { Lapped::of(time(side)) } else { Lapped::Unasked };
        (0..wanted.len()).map(one).collect()
    }

    fn rough_time(&self, side: usize, z: &[f64]) -> Option<f64> {
        let zero = || self.sides.rough_time(side, &vec![0.0; z.len()]).filter(|t| t.is_finite());
        match *self.rough[side].get_or_init(zero) {
            Some(of_rough) => Some(self.sides.rough_time(side, z)? - of_rough + self.nominal[side]),
            None => self.sides.time(side, z),
        }
    }
}
