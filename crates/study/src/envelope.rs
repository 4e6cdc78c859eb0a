//! What the car can do at a speed on a level road: the edge of the accelerations that grip, brakes, balance and engine
//! allow.

use unladen_vehicle::Model;
use unladen_vehicle::road::Shape;

/// The edge at one speed, (a_y left +, a_x), m/s², once round; empty where the car can't even roll straight on.
#[derive(Clone, Debug, PartialEq)]
pub struct Envelope {
    /// m/s.
    pub speed: f64,
    /// Its points.
    pub edge: Vec<(f64, f64)>,
}

/// Steps across half of it, and where the search for an edge begins and ends, m/s².
const ACROSS: usize = 24;
const LOOK: f64 = 0.2;
const FURTHEST: f64 = 60.0;
const HALVINGS: usize = 40;

/// At a speed (`docs/model.md` §§2–6; engine in the best gear, level road).
pub fn envelope(model: &Model, speed: f64) -> Envelope {
    let span = |a_y: f64| along(model, speed, a_y);
    let (left, right) = (furthest(&span, 1.0), furthest(&span, -1.0));
    let at = |i: usize, end: f64| {
        // Closer together where the edge turns.
        let share = (std::f64::consts::FRAC_PI_2 * i as f64 / ACROSS as f64).sin();
        end * share
    };
    let a_y: Vec<f64> = (0..=ACROSS).rev().map(|i| at(i, right)).chain((1..=ACROSS).map(|i| at(i, left))).collect();
    let spans: Vec<(f64, (f64, f64))> = a_y.iter().filter_map(|&y| span(y).map(|s| (y, s))).collect();
    let upper = spans.iter().map(|&(y, (_, high))| (y, high));
    let lower = spans.iter().rev().map(|&(y, (low, _))| (y, low));
    Envelope { speed, edge: upper.chain(lower).collect() }
}

/// Least and greatest a_x at an a_y, of the part nearest to coasting.
fn along(model: &Model, speed: f64, a_y: f64) -> Option<(f64, f64)> {
    let x = speed * speed;
    let road = Shape { kappa: a_y / x, q: 0.0, dq: 0.0, phi: 0.0, gamma: 1.0 }.road();
    let slack = |a: f64| {
        let modes = (0..model.gearing.modes.len()).filter(|&i| x <= model.gearing.modes[i].x_end * (1.0 + 1e-9));
        let power = modes
            .map(|i| {
                let piece = model.gearing.piece_at(i, x).0;
                let mode = &model.gearing.modes[i];
                model.power(&road, x, a, model.gearing.force(mode, &piece, x), mode.m_rot)
            })
            .fold(f64::NEG_INFINITY, f64::max);
        model.grip(&road, x, a).value.min(power)
    };
    let steps = (FURTHEST / LOOK) as usize;
    let inside = (0..=steps).map(|i| -LOOK * i as f64).find(|&a| slack(a) >= 0.0)?;
    let end = |sign: f64| {
        let out = (1..=steps).map(|i| inside + sign * LOOK * i as f64).find(|&a| slack(a) < 0.0)?;
        let (mut good, mut bad) = (out - sign * LOOK, out);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (good + bad);
            if slack(middle) >= 0.0 { good = middle } else { bad = middle }
        }
        Some(good)
    };
    Some((end(-1.0)?, end(1.0)?))
}

/// The largest a_y to one side that can be held.
fn furthest(span: &impl Fn(f64) -> Option<(f64, f64)>, sign: f64) -> f64 {
    let steps = (FURTHEST / LOOK) as usize;
    let Some(out) = (0..=steps).map(|i| LOOK * i as f64).find(|&y| span(sign * y).is_none()) else {
        return sign * FURTHEST;
    };
    let (mut good, mut bad) = ((out - LOOK).max(0.0), out);
    for _ in 0..20 {
        let middle = 0.5 * (good + bad);
        if span(sign * middle).is_some() { good = middle } else { bad = middle }
    }
    sign * good
}

#[cfg(test)]
mod tests {
    use super::*;
    use unladen_vehicle::car::Day;
    use unladen_vehicle::example_car;

    /// Without load sensitivity, transfer or air, brakes with anti-lock hold the friction ellipse: a_x² + a_y² = (μ
    /// g)².
    #[test]
    fn closed_form_a_point_mass_brakes_on_a_circle() {
        let mut car = example_car();
        car.mass.h = 1e-6;
        car.mass.y_cg = 0.0;
        (car.chassis.h_rf, car.chassis.h_rr) = (0.0, 0.0);
        for tyre in [&mut car.front, &mut car.rear] {
            (tyre.mu_x0, tyre.mu_y0, tyre.k_x, tyre.k_y, tyre.inv_c_alpha) = (1.1, 1.1, 0.0, 0.0, 0.0);
        }
        (car.aero.cd_a, car.aero.cf_a, car.aero.cr_a, car.aero.c_rr) = (0.0, 0.0, 0.0, 0.0);
        car.brakes.anti_lock = unladen_vehicle::car::AntiLock::FourChannel;
        (car.driver.cornering, car.driver.braking, car.driver.traction) = (1.0, 1.0, 1.0);
        let found = envelope(&Model::new(&car, Day::STANDARD), 30.0);
        let grip = 1.1 * unladen_vehicle::G;
        let braking: Vec<_> = found.edge.iter().filter(|p| p.1 < -0.5).collect();
        assert!(braking.len() > ACROSS, "{found:?}");
        assert!(braking.iter().all(|p| (p.0.hypot(p.1) - grip).abs() < 1e-3 * grip), "{braking:?}");
        let widest = found.edge.iter().map(|p| p.0).fold(0.0, f64::max);
        assert!((widest - grip).abs() < 1e-3 * grip);
    }

    /// More speed: less power for acceleration.
    #[test]
    fn property_power_shrinks_the_top_of_it() {
        let model = Model::new(&example_car(), Day::STANDARD);
        let top = |v: f64| envelope(&model, v).edge.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
        assert!(top(15.0) > top(30.0) && top(30.0) > top(45.0));
        assert!(envelope(&model, 900.0).edge.is_empty());
    }
}
