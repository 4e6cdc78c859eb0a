//! Where a limit changes hands: the two one-sided derivatives, and gears that a small step changes.

use rayon::prelude::*;
use unladen_lap::{Course, Lap};

use crate::caveat::Caveat;
use crate::figures::{NUMBERS, UNITS, Way, measure};
use crate::place::Spot;

/// How far on each side the exact derivative is taken, kg or mm. Being exact it needs no large step; measured on the demo
/// cars it changes by less than 0.05 % over this one, and the step is still far above rounding.
const STEP: f64 = 0.01;
/// Sides that differ by less than this share of the larger are one.
const SHARE: f64 = 0.02;
/// Over twice the step a smooth derivative differs twice as much, at a kink as much as before: told apart here.
const SMOOTH: f64 = 1.5;

/// The derivatives (towards less, towards more) of each figure, where they differ. `errors` are the figures' own.
pub(crate) fn one_sided(course: &Course, lap: &Lap, spots: &[Spot], errors: &[f64]) -> Vec<Option<[f64; 2]>> {
    let look = |way: Way| sides(course, lap, spots, way, errors[way.figure()]);
    let mut all = vec![None];
    all.par_extend((0..NUMBERS.len()).into_par_iter().map(|i| look(Way::Number(i))));
    if all.iter().any(Option::is_some) {
        all.par_extend((0..spots.len()).into_par_iter().map(|i| look(Way::Spot(i))));
    } else {
        all.extend(spots.iter().map(|_| None));
    }
    all
}

fn sides(course: &Course, lap: &Lap, spots: &[Spot], way: Way, error: f64) -> Option<[f64; 2]> {
    let at = |step: f64| -> Option<f64> {
        let figures = measure(course, &way.moved(lap.car(), spots, step), spots).ok()?;
        Some(figures[way.figure()])
    };
    let around = |step: f64| Some([at(-step)?, at(step)?]);
    let near = around(STEP)?;
    if !differ(near, error) {
        return None;
    }
    let jump = |sides: [f64; 2]| (sides[1] - sides[0]).abs();
    let far = around(2.0 * STEP)?;
    (jump(far) < SMOOTH * jump(near)).then_some(near)
}

fn differ([minus, plus]: [f64; 2], error: f64) -> bool {
    (plus - minus).abs() > 2.0 * error + SHARE * minus.abs().max(plus.abs())
}

/// A step that one could make, kg or mm, and how it is called.
const SMALL: [(f64, [&str; 2]); 4] = [
    (1.0, ["1 kg less", "1 kg more"]),
    (1.0, ["a centre of gravity 1 mm lower", "a centre of gravity 1 mm higher"]),
    (1.0, ["a centre of gravity 1 mm further forward", "a centre of gravity 1 mm further back"]),
    (1.0, ["a centre of gravity 1 mm further left", "a centre of gravity 1 mm further right"]),
];

/// The small steps that change the sequence of gears.
pub(crate) fn gears(course: &Course, lap: &Lap, slopes: &[f64]) -> Vec<Caveat> {
    let held = course.gears(lap);
    let step = |(i, side): (usize, usize)| -> Option<Caveat> {
        let (size, names) = SMALL[i];
        let step = if side == 0 { -size } else { size };
        let moved = course.lap(&Way::Number(i).moved(lap.car(), &[], step)).ok()?;
        (course.gears(&moved) != held).then(|| Caveat::Gears {
            step: names[side].into(),
            lap_s: moved.time - lap.time,
            derivative_s: slopes[i] * step,
        })
    };
    let steps: Vec<_> = (0..SMALL.len()).flat_map(|i| [(i, 0), (i, 1)]).collect();
    steps.into_par_iter().filter_map(step).collect()
}

const _: () = assert!(SMALL.len() == UNITS.len());
