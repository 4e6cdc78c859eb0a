//! Which part of the feasible a_x counts where there are two (`docs/model.md` §7): the one that contains coasting.

use unladen_vehicle::branches::Free;
use unladen_vehicle::road::Road;
use unladen_vehicle::{Model, Scalar};

/// Points looked at between coasting and the a_x asked about: a gap narrower than one part of this is not seen.
const LOOKS: usize = 48;

/// How fast the slack falls beyond a gap, 1/(m/s²): enough for a root finder to come back.
const FALL: f64 = 0.02;

/// Coasting is not slower than this, m/s²: a bound, so that it need not be solved for.
const COASTING_AT_LEAST: f64 = -4.0;

/// There may be a gap between coasting and (X, a_x): a rear wheel may be off the ground while coasting. (With both rear
/// wheels down, capacity and drive force both grow in proportion to a_x from there: they cross once at most.)
pub fn may_gap(model: &Model, road: &Road, x: f64, a_x: f64) -> bool {
    model.may_split && {
        let wheels = model.wheels(&model.axles(road, x, a_x), &mut Free);
        let gained = 0.5 * model.rear_load_per_a() * (a_x - COASTING_AT_LEAST).max(0.0);
        wheels.n[2].min(wheels.n[3]) <= gained
    }
}

/// Slack of the grip envelope, negative from the first gap above coasting on.
///
/// Only a car with [`Model::may_split`] can have such a gap; for the others it is [`Model::grip`].
pub fn grip(model: &Model, road: &Road, x: f64, a_x: f64) -> f64 {
    let slack = model.grip(road, x, a_x).value;
    if slack < 0.0 || !may_gap(model, road, x, a_x) {
        return slack;
    }
    let coast = coasting(model, road, x);
    if a_x <= coast || model.grip(road, x, coast).value < 0.0 {
        return slack;
    }
    let step = (a_x - coast) / LOOKS as f64;
    let gap = (1..LOOKS).map(|i| coast + step * i as f64).find(|&a| model.grip(road, x, a).value < -1e-12);
    gap.map_or(slack, |a| -FALL * (a_x - a))
}

/// a_x at which F_x = 0.
pub fn coasting<S: Scalar>(model: &Model<S>, road: &Road<S>, x: S) -> S {
    let mut a = S::from(0.0);
    // Derivatives settle a few rounds after the value.
    let mut left = if S::HAS_DERIVATIVES { 4 } else { 1 };
    for _ in 0..20 {
        let move_by = model.axles(road, x, a).f_x / model.mass();
        a = a - move_by;
        if move_by.value().abs() < 1e-12 {
            left -= 1;
        }
        if left == 0 {
            break;
        }
    }
    a
}
