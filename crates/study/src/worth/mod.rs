//! What a kilogram and a millimetre are worth (`docs/model.md` §8).

pub(crate) mod figures;
pub(crate) mod kink;
pub(crate) mod known;
pub(crate) mod mix;
pub(crate) mod place;
pub(crate) mod range;
pub(crate) mod slopes;
pub(crate) mod spread;
pub(crate) mod time;

use unladen_lap::Limit;
use unladen_vehicle::Car;
use unladen_vehicle::car::Mass;

use crate::input::caveat::Caveat;
use crate::input::error::StudyError;
use crate::input::leg::{Leg, shares};
use crate::input::unknown::Input;
use crate::threads::each_of;
use crate::uncertainty::paired::of_tracks;
use crate::worth::figures::SPOTS;
use crate::worth::known::{Known, explore};
use crate::worth::mix::mix;
use crate::worth::place::{Spot, named_spots, s_per_kg_at};
use crate::worth::range::Range;
use crate::worth::spread::Unsure;

/// The car of a study.
#[derive(Clone, Debug)]
pub struct Subject<'a> {
    /// The car as it laps.
    pub car: &'a Car,
    /// What is uncertain of it.
    pub inputs: &'a [Input],
    /// Places at which a kilogram is asked for.
    pub spots: Vec<Spot>,
}

impl<'a> Subject<'a> {
    /// A car of which every number is certain, with the six places of [`named_spots`].
    pub fn new(car: &'a Car) -> Self {
        Self { car, inputs: &[], spots: named_spots(car, None) }
    }
}

/// A derivative of the lap time with all that is known about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// Its value.
    pub value: f64,
    /// Estimate of its numerical error, same unit.
    pub error: f64,
    /// One standard deviation from the uncertain inputs, where there are any.
    pub sd: Option<f64>,
    /// The 90 % interval from the uncertain inputs, where there are any.
    pub interval: Option<[f64; 2]>,
    /// Where a limit changes hands: the values (towards less, towards more).
    pub one_sided: Option<(f64, f64)>,
}

impl Quantity {
    /// A smooth one without given uncertainty.
    pub fn new(value: f64, error: f64) -> Self {
        Self { value, error, sd: None, interval: None, one_sided: None }
    }
}

/// What one more kilogram costs at a place in the car.
#[derive(Clone, Debug, PartialEq)]
pub struct WorthPlace {
    /// The place.
    pub spot: Spot,
    /// w, s/kg.
    pub s_per_kg: Quantity,
}

/// What a car's mass and CG are worth on a track, or on a mix of tracks.
#[derive(Clone, Debug, PartialEq)]
pub struct Worth {
    /// The track's name, or the mix's.
    pub track: String,
    /// Lap time, s.
    pub lap_time_s: f64,
    /// Estimate of its numerical error, s.
    pub lap_time_error_s: f64,
    /// Its standard deviation from the uncertain inputs, s.
    pub lap_time_sd_s: Option<f64>,
    /// Its 90 % interval from them, s.
    pub lap_time_interval_s: Option<[f64; 2]>,
    /// ∂T/∂m: mass added at the centre of gravity.
    pub s_per_kg: Quantity,
    /// ∂T/∂h: the centre of gravity raised.
    pub s_per_mm_height: Quantity,
    /// ∂T/∂a: the centre of gravity moved rearward.
    pub s_per_mm_rearward: Quantity,
    /// ∂T/∂y_cg: the centre of gravity moved to the right.
    pub s_per_mm_right: Quantity,
    /// w at the subject's places.
    pub places: Vec<WorthPlace>,
    /// Share of the lap time that each limit rules, in the order of [`Limit::ALL`].
    pub limits: [f64; Limit::ALL.len()],
    /// (m/T) ∂T/∂m: per cent of lap time for a per cent of mass.
    pub elasticity: f64,
    /// What to know besides.
    pub caveats: Vec<Caveat>,
    /// Where along the lap the seconds come from; a mix has no one lap.
    pub along: Option<Along>,
    /// What the ± hang on, in the order of the files.
    pub hangs_on: Vec<Weight>,
}

/// What an uncertain number has in the ± of lap time and slopes.
#[derive(Clone, Debug, PartialEq)]
pub struct Weight {
    /// Its dotted key.
    pub key: String,
    /// One standard deviation, SI.
    pub sd: f64,
    /// Its share in the variance of lap time, s/kg, s/mm of height, rearward and right.
    pub shares: [f64; 5],
}

impl Worth {
    /// w(x, y, z) (`docs/model.md` §8) at any place of a car of this mass, m behind the front axle, right of the
    /// middle, above ground: what one more kilogram costs there, s/kg.
    pub fn s_per_kg_at(&self, mass: &Mass, at: [f64; 3]) -> f64 {
        let slopes = [self.s_per_kg, self.s_per_mm_height, self.s_per_mm_rearward, self.s_per_mm_right];
        s_per_kg_at(slopes.map(|slope| slope.value), mass, at)
    }
}

/// Derivatives of the time up to each station: where along the lap the seconds come from.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Along {
    /// Distance of the stations from the start, in plan, m.
    pub s_m: Vec<f64>,
    /// ∂t/∂m, s/kg.
    pub s_per_kg: Vec<f64>,
    /// ∂t/∂h, s/mm.
    pub s_per_mm_height: Vec<f64>,
    /// ∂t/∂a, s/mm.
    pub s_per_mm_rearward: Vec<f64>,
    /// ∂t/∂y_cg, s/mm.
    pub s_per_mm_right: Vec<f64>,
    /// The same of w at each of the subject's places, s/kg.
    pub places: Vec<Vec<f64>>,
}

/// What [`worth`] finds.
#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    /// Each track.
    pub tracks: Vec<Worth>,
    /// The mix, by the tracks' weights; of one track that track.
    pub mix: Worth,
}

/// What a kilogram and a millimetre are worth on each track and on the weighed mix.
///
/// Standard deviations and intervals: from slopes where laps confirm them (each uncertain input a standard deviation lower
/// and higher, and all of them off at once), else from laps of cars drawn with all of them off at once.
///
/// # Errors
/// [`StudyError`] where there is no track or no lap.
pub fn worth(subject: &Subject, legs: &[Leg]) -> Result<Study, StudyError> {
    let shares = shares(legs)?;
    let known = each_of(legs, |leg| explore(leg, subject.car, &subject.spots));
    let mut explored = known.into_iter().collect::<Result<Vec<Known>, _>>()?;
    let (at, errors): (Vec<_>, Vec<_>) = explored.iter().map(|k| (k.figures.clone(), k.errors.clone())).unzip();
    let (car, inputs, spots) = (subject.car, subject.inputs, &subject.spots[..]);
    let unsure = Unsure { car, inputs, legs, spots, only_times: false, at: &at, errors: &errors };
    let found = unsure.explore(&shares);
    let ranges = unsure.ranges(&found, &shares);
    for (leg, known) in explored.iter_mut().enumerate() {
        known.caveats.extend(unsure.caveats(&found, leg));
    }
    let publish = |known: &Known, i: usize| publish(known, subject, &unsure, ranges.get(i).map_or(&[], Vec::as_slice));
    let mix = match &explored[..] {
        [] => return Err(StudyError::NoTrack),
        [only] => publish(only, 0),
        several => publish(&mix(several, &shares), several.len()),
    };
    Ok(Study { tracks: explored.iter().enumerate().map(|(i, known)| publish(known, i)).collect(), mix })
}

fn publish(known: &Known, subject: &Subject, unsure: &Unsure, ranges: &[Option<Range>]) -> Worth {
    let range = |i: usize| ranges.get(i).and_then(Option::as_ref);
    let quantity = |i: usize| Quantity {
        value: known.figures[i],
        error: known.errors[i],
        sd: range(i).map(|r| r.sd),
        interval: range(i).map(|r| r.interval),
        one_sided: known.one_sided[i].map(|[minus, plus]| (minus, plus)),
    };
    let place = |(i, spot): (usize, &Spot)| WorthPlace { spot: spot.clone(), s_per_kg: quantity(SPOTS + i) };
    let (time, per_kg) = (known.figures[0], known.figures[1]);
    Worth {
        track: known.name.clone(),
        lap_time_s: time,
        lap_time_error_s: known.errors[0],
        lap_time_sd_s: range(0).map(|r| r.sd),
        lap_time_interval_s: range(0).map(|r| r.interval),
        s_per_kg: quantity(1),
        s_per_mm_height: quantity(2),
        s_per_mm_rearward: quantity(3),
        s_per_mm_right: quantity(4),
        places: subject.spots.iter().enumerate().map(place).collect(),
        limits: known.limits,
        elasticity: subject.car.mass.m / time * per_kg,
        caveats: known.caveats.clone(),
        along: known.along.clone(),
        hangs_on: hangs_on(unsure, ranges),
    }
}

/// The shares of the car's inputs, then of the tracks' own, in the variance of the first figures.
fn hangs_on(unsure: &Unsure, ranges: &[Option<Range>]) -> Vec<Weight> {
    let of_car = unsure.inputs.iter().map(|input| (input.key.clone(), input.sd));
    let own = of_tracks(unsure.legs, |_| "").into_iter().map(|unknown| (unknown.name, unknown.sd));
    let share = |unknown: usize, figure: usize| {
        let shares = ranges.get(figure).and_then(Option::as_ref).map_or(&[][..], |range| &range.shares);
        shares.iter().find(|(i, _)| *i == unknown).map_or(0.0, |(_, share)| *share)
    };
    let named = of_car.chain(own).enumerate();
    named.map(|(i, (key, sd))| Weight { key, sd, shares: std::array::from_fn(|figure| share(i, figure)) }).collect()
}
