//! Looks up in the model itself whether a lap, its rows and its errors are what they claim to be.

use unladen_lap::{Course, Lap, LapError, Limit, Row, Status};
use unladen_track::Track;
use unladen_vehicle::car::Day;
use unladen_vehicle::road::{Road, Shape};
use unladen_vehicle::{Car, Model};

/// The road at s, on the side of the segment that starts there.
pub fn road_at(track: &Track, s: f64) -> Road {
    let mut start = 0.0;
    let mut i = 0;
    while i + 1 < track.segments.len() && s >= start + track.segments[i].length - 1e-9 {
        start += track.segments[i].length;
        i += 1;
    }
    let g = &track.segments[i];
    let at = (s - start).clamp(0.0, g.length);
    let on = |[p, q]: [f64; 2]| p + (q - p) * at / g.length;
    Shape { kappa: on(g.kappa), q: on(g.q), dq: (g.q[1] - g.q[0]) / g.length, phi: on(g.phi), gamma: g.gamma }.road()
}

/// Slack of the power limit in the best of the modes that `may` be used.
fn power(model: &Model, road: &Road, x: f64, a_x: f64, may: impl Fn(u8, f64) -> bool) -> f64 {
    let gearing = &model.gearing;
    let modes = gearing.modes.iter().enumerate().filter(|(_, m)| may(m.gear, m.x_end));
    modes
        .map(|(i, mode)| {
            let (piece, _) = gearing.piece_at(i, x);
            model.power(road, x, a_x, gearing.force(mode, &piece, x), mode.m_rot)
        })
        .fold(f64::NEG_INFINITY, f64::max)
}

/// (grip, power): the slacks of a row in its own gear; negative is outside its feasible set. Braking needs no gear.
pub fn slacks(model: &Model, track: &Track, row: &Row) -> (f64, f64) {
    let road = road_at(track, row.s);
    let x = row.v * row.v;
    let grip = model.grip(&road, x, row.a_x).value;
    let power = if model.axles(&road, x, row.a_x).f_x < 0.0 {
        f64::INFINITY
    } else if row.limit == Limit::Shift {
        model.power(&road, x, row.a_x, 0.0, model.gearing.m_rot_shifting)
    } else {
        power(model, &road, x, row.a_x, |gear, x_end| gear == row.gear && x <= x_end * (1.0 + 1e-9))
    };
    (grip, power)
}

/// The best slack of grip that any a_x has at a row's speed: below 0, the speed itself is beyond the ceiling.
pub fn best_slack(model: &Model, track: &Track, row: &Row) -> f64 {
    let road = road_at(track, row.s);
    let at = |a: f64| model.grip(&road, row.v * row.v, a).value;
    // Fine enough for cusps: next to one the set is a tenth of a m/s² wide.
    let net = (-1000..=1000).map(|i| f64::from(i) * 0.025).chain([row.a_x]);
    let mut best = net.max_by(|&a, &b| at(a).total_cmp(&at(b))).unwrap_or(row.a_x);
    let mut step = 0.025;
    while step > 1e-12 {
        if at(best + step) > at(best) {
            best += step;
        } else if at(best - step) > at(best) {
            best -= step;
        } else {
            step *= 0.5;
        }
    }
    at(best)
}

/// By how much, at worst, the mean a_x of a cell lies beyond all that grip allows at its two ends, m/s², and where: speed
/// jumps there.
pub fn jumps(model: &Model, track: &Track, rows: &[Row]) -> (f64, f64) {
    let mut worst = (0.0, 0.0);
    for w in rows.windows(2) {
        let (s, ds) = (0.5 * (w[0].s + w[1].s), w[1].s - w[0].s);
        let mean = 0.5 * road_at(track, s).cos_theta * (w[1].v.powi(2) - w[0].v.powi(2)) / ds;
        let between = |lo: f64, hi: f64| (lo - mean).max(mean - hi).max(0.0);
        if between(w[0].a_x.min(w[1].a_x) - 1.0, w[0].a_x.max(w[1].a_x) + 1.0) == 0.0 {
            continue;
        }
        let ends = [(&w[0], 1e-6), (&w[1], -1e-6)];
        let able: Vec<f64> = ends
            .into_iter()
            .flat_map(|(row, aside)| {
                let road = road_at(track, row.s + aside);
                (-1000..=1000)
                    .map(|i| f64::from(i) * 0.05)
                    .filter(move |&a| model.grip(&road, row.v * row.v, a).value >= 0.0)
                    .chain([row.a_x])
            })
            .collect();
        let beyond = between(
            able.iter().copied().fold(f64::INFINITY, f64::min),
            able.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        );
        if beyond > worst.0 {
            worst = (beyond, s);
        }
    }
    worst
}

/// What is unsound about a lap's numbers, if anything.
pub fn unsound(lap: &Lap, rows: &[Row], track: &Track) -> Option<String> {
    if !(lap.time.is_finite() && lap.time > 0.0 && lap.error.is_finite() && lap.error >= 0.0) {
        return Some(format!("time {} ± {}", lap.time, lap.error));
    }
    for row in rows {
        let all = [row.s, row.t, row.v, row.a_x, row.a_y];
        if all.iter().chain(&row.load).any(|x| !x.is_finite()) || row.v < 0.0 || row.load.iter().any(|&n| n < 0.0) {
            return Some(format!("{row:?}"));
        }
    }
    if let Some(w) = rows.windows(2).find(|w| w[1].t <= w[0].t || w[1].s <= w[0].s) {
        return Some(format!("time or distance stands still: {:?} {:?}", w[0], w[1]));
    }
    let (first, last) = (rows.first()?, rows.last()?);
    if (last.t - lap.time).abs() > 1e-9 || (last.s - track.length()).abs() > 1e-6 {
        return Some(format!("ends at {} m after {} s", last.s, last.t));
    }
    if track.closed && (first.v - last.v).abs() > 1e-9 * first.v && lap.status == Status::Settled {
        return Some(format!("starts with {} and ends with {} m/s", first.v, last.v));
    }
    None
}

/// The largest a_x that grip and any gear allow at X, on a net of 0.02 m/s²; `None` where there is none.
pub fn largest(model: &Model, road: &Road, x: f64) -> Option<f64> {
    let may = |a: f64| {
        model.grip(road, x, a).value >= 0.0
            && (model.axles(road, x, a).f_x < 0.0 || power(model, road, x, a, |_, x_end| x <= x_end) >= 0.0)
    };
    (-1000..=1000).rev().map(|i| f64::from(i) * 0.02).find(|&a| may(a))
}

/// A track's day.
pub fn day(track: &Track) -> Day {
    Day { rho: track.rho, gamma_0: track.grip }
}

/// Whether an error says what is so, looked up at and around the place it names.
pub fn is_true(error: &LapError, car: &Car, track: &Track) -> bool {
    let model = Model::new(car, day(track));
    // Every 25 cm, and both sides of the joins there.
    let mut places = vec![];
    let mut end = 0.0;
    for g in &track.segments {
        end += g.length;
        places.extend([end - 1e-6, end]);
    }
    let around = |at: f64| {
        let near: Vec<f64> = places.iter().copied().filter(|s| (s - at).abs() < 4.0).collect();
        let net = (-16..=16).map(|i| at + f64::from(i) * 0.25);
        net.chain(near).map(|s| road_at(track, s.clamp(0.0, track.length()))).collect::<Vec<_>>()
    };
    let cannot_leave = |road: &Road| largest(&model, road, 1e-6).is_none_or(|a| a <= 0.04);
    match error {
        LapError::Stalls { s_m, .. } => around(*s_m).iter().any(cannot_leave),
        LapError::CannotMoveOff => cannot_leave(&road_at(track, 0.0)),
        LapError::NoSpeed { s_m, .. } => {
            let top = model.gearing.modes.iter().map(|m| m.x_end).fold(0.0, f64::max);
            let none = |x: f64, road: &Road| largest(&model, road, x).is_none();
            around(*s_m).iter().any(|road| (0..=40).all(|i| none(top * (f64::from(i) / 40.0).powi(4), road)))
        }
        LapError::StartTooFast { most_mps, .. } => {
            let slower = Track { start_speed: 0.999 * most_mps, ..track.clone() };
            !matches!(Course::new(&slower).lap(car), Err(LapError::StartTooFast { .. }))
        }
        #[allow(unreachable_patterns)]
        _ => false,
    }
}
