//! Where a limit changes hands: the two one-sided derivatives, and steps that a slope doesn't hold for.

use unladen_lap::{Course, Lap};

use crate::input::caveat::Caveat;
use crate::input::sound::quiet_lap;
use crate::threads::{each, each_of};
use crate::worth::figures::{NUMBERS, Way, measure};
use crate::worth::place::Spot;

/// How far on each side the exact derivative is taken, kg or mm. Being exact it needs no large step; measured on the
/// demo cars it changes by less than 0.05 % over this one, and the step is still far above rounding.
const STEP: f64 = 0.01;
/// Sides that differ by less than this share of the larger are one.
const SHARE: f64 = 0.02;
/// Over twice the step a smooth derivative differs twice as much, at a kink as much as before: told apart here.
const SMOOTH: f64 = 1.5;

/// The derivatives (towards less, towards more) of each figure, where they differ. `errors` are the figures' own.
pub(crate) fn one_sided(course: &Course, lap: &Lap, spots: &[Spot], errors: &[f64]) -> Vec<Option<[f64; 2]>> {
    let look = |way: Way| sides(course, lap, spots, way, errors[way.figure()]);
    let mut all = vec![None];
    all.extend(each(NUMBERS.len(), |i| look(Way::Number(i))));
    if all.iter().any(Option::is_some) {
        all.extend(each(spots.len(), |i| look(Way::Spot(i))));
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

/// How a step of mass or CG is called, towards less and towards more: `{} kg less`.
const STEPS: [[&str; 2]; NUMBERS.len()] = [
    ["kg less", "kg more"],
    ["mm lower", "mm higher"],
    ["mm further forward", "mm further back"],
    ["mm further to the left", "mm further to the right"],
];

/// Steps that a slope should still hold for, kg or mm: one after which gears are compared, and one of the size that
/// somebody makes.
const SMALL: f64 = 1.0;
const MADE: f64 = 10.0;

/// The lap after such a step may differ from what the slope says by this share, and by this much, s, without a word.
const BENT_SHARE: f64 = 0.2;
const BENT_S: f64 = 2e-3;

/// Steps that change the sequence of gears, which the derivatives hold, and steps for which the slope doesn't hold.
pub(crate) fn steps(course: &Course, lap: &Lap, slopes: &[f64]) -> Vec<Caveat> {
    let held = lap.gears();
    let look = |(i, side, size): (usize, usize, f64)| -> Option<Caveat> {
        let step = if side == 0 { -size } else { size };
        let moved = quiet_lap(course, &Way::Number(i).moved(lap.car(), &[], step)).ok()?;
        let name = format!("{}{size} {}", if i == 0 { "" } else { "the centre of gravity " }, STEPS[i][side]);
        let (lap_s, slope_s) = (moved.time - lap.time, slopes[i] * step);
        let told = bent(lap_s, slope_s, lap.error + moved.error);
        // Another sequence that is as quick is none to speak of.
        match size == SMALL {
            true => (told && moved.gears() != held).then_some(Caveat::Gears { step: name, lap_s, slope_s }),
            false => told.then_some(Caveat::Bent { step: name, lap_s, slope_s }),
        }
    };
    let all =
        [SMALL, MADE].into_iter().flat_map(|size| (0..NUMBERS.len()).flat_map(move |i| [(i, 0, size), (i, 1, size)]));
    each_of(&all.collect::<Vec<_>>(), |&step| look(step)).into_iter().flatten().collect()
}

/// Does the slope not hold for a step, which two laps known to `error` say changes so much?
fn bent(lap_s: f64, slope_s: f64, error: f64) -> bool {
    (lap_s - slope_s).abs() > BENT_S + error + BENT_SHARE * lap_s.abs().max(slope_s.abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_what_a_slope_holds_for() {
        assert!(!bent(0.010, 0.012, 1e-4) && bent(0.010, -0.010, 1e-4) && bent(0.100, 0.010, 1e-4));
        assert!(!bent(0.0, 0.0015, 0.0) && !bent(0.0, 0.004, 5e-3) && bent(0.0, 0.004, 0.0));
    }
}
