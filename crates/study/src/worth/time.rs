//! One lap by itself: how well its time is known, and where along it mass and its place cost what they do.

use unladen_lap::{Course, Lap};
use unladen_vehicle::Car;

use crate::input::leg::Leg;
use crate::input::unknown::Input;
use crate::worth::Along;
use crate::worth::figures::NUMBERS;
use crate::worth::known::along;
use crate::worth::spread::Unsure;

/// How well a lap time is known.
#[derive(Clone, Debug, PartialEq)]
pub struct TimeRange {
    /// One standard deviation, s.
    pub sd_s: f64,
    /// The 90 % interval, s.
    pub interval_s: [f64; 2],
    /// Keys of what it hangs on and their shares in the variance, largest first.
    pub hangs_on: Vec<(String, f64)>,
}

/// How well the time of this car's lap is known, `lap` being what it is and its numerical error, s, and what the files call uncertain being off; `None` where nothing is, or where an
/// uncertain number has no lap on either side.
pub fn time_range(leg: &Leg, car: &Car, inputs: &[Input], lap: [f64; 2]) -> Option<TimeRange> {
    let (at, errors) = ([vec![lap[0]]], [vec![lap[1]]]);
    let legs = std::slice::from_ref(leg);
    let unsure = Unsure { car, inputs, legs, spots: &[], only_times: true, at: &at, errors: &errors };
    let found = unsure.explore(&[1.0]);
    let range = unsure.ranges(&found, &[1.0]).into_iter().next()?.into_iter().next()??;
    let hangs_on = range.shares.iter().map(|(i, share)| (unsure.key(*i).to_owned(), *share)).collect();
    Some(TimeRange { sd_s: range.sd, interval_s: range.interval, hangs_on })
}

/// Where along a lap a kilogram at the centre of gravity, and a millimetre of it, cost what they do.
pub fn along_lap(course: &Course, lap: &Lap) -> Along {
    along(course, lap, &lap.derivatives(&NUMBERS), &[])
}
