//! What columns say about one another: units that nobody wrote, axes that are swapped or turned round, positions that
//! only repeat the last one.

use super::columns::Chosen;
use super::error::LogError;
use super::hemisphere;
use super::quantity::Quantity as Q;
use super::read::{Log, Note};
use super::sheet::ROWS;

/// The same position again while time goes on and the car moves is no new position.
pub(crate) fn repeated(log: &mut Log, notes: &mut Vec<Note>) {
    for pair in [(Q::Latitude, Q::Longitude), (Q::X, Q::Y)] {
        let (Some(a), Some(b)) = (log.channels.get(&pair.0), log.channels.get(&pair.1)) else { continue };
        let mut last = None;
        let again: Vec<bool> =
            a.iter().zip(b).map(|(a, b)| a.is_finite() && last.replace((*a, *b)) == Some((*a, *b))).collect();
        let count = again.iter().filter(|r| **r).count();
        if count == 0 {
            continue;
        }
        for q in [pair.0, pair.1, Q::Height] {
            if let Some(channel) = log.channels.get_mut(&q) {
                channel.iter_mut().zip(&again).filter(|(_, r)| **r).for_each(|(x, _)| *x = f64::NAN);
            }
        }
        notes.push(Note::new(format!("{count} rows repeat the position before them: taken as rows between positions")));
    }
}

fn median(mut all: Vec<f64>) -> Option<f64> {
    all.retain(|x| x.is_finite());
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied()
}

fn multiply(log: &mut Log, q: Q, factor: f64) {
    if let Some(channel) = log.channels.get_mut(&q) {
        channel.iter_mut().for_each(|x| *x *= factor);
    }
}

/// Rows that have a position, with it in metres about the first.
fn plane(log: &Log) -> Vec<(usize, [f64; 2])> {
    let (a, b, degrees) = match (log.channels.get(&Q::X), log.channels.get(&Q::Y)) {
        (Some(x), Some(y)) => (x, y, false),
        _ => match (log.channels.get(&Q::Latitude), log.channels.get(&Q::Longitude)) {
            (Some(lat), Some(lon)) => (lon, lat, true),
            _ => return Vec::new(),
        },
    };
    let rows: Vec<(usize, [f64; 2])> = (0..a.len())
        .filter(|i| a[*i].is_finite() && b[*i].is_finite() && !(degrees && a[*i] == 0.0 && b[*i] == 0.0))
        .map(|i| (i, [a[i], b[i]]))
        .collect();
    match (degrees, rows.first()) {
        (true, Some(&(_, [lon, lat]))) => {
            let plane = unladen_positions::Plane::about(lat, lon);
            rows.into_iter().map(|(i, [lon, lat])| (i, plane.to_xy(lat, lon))).collect()
        }
        _ => rows,
    }
}

/// (row, speed, yaw rate) from positions about a second apart.
fn motion(log: &Log) -> Vec<(usize, f64, f64)> {
    let at = plane(log);
    if log.t.is_empty() || at.len() < 20 {
        return Vec::new();
    }
    let rate = (at.len() as f64 - 1.0) / (log.t[at[at.len() - 1].0] - log.t[at[0].0]).max(1e-9);
    let lag = (0.5 * rate).ceil().max(1.0) as usize;
    (lag..at.len().saturating_sub(lag))
        .filter_map(|k| {
            let [(i, a), (j, b), (m, c)] = [at[k - lag], at[k], at[k + lag]];
            let (t1, t2) = (log.t[j] - log.t[i], log.t[m] - log.t[j]);
            if t1 <= 0.0 || t2 <= 0.0 || t1 + t2 > 6.0 {
                return None;
            }
            let (u, v) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
            let speed = u[0].hypot(u[1]) / t1;
            let turn = (u[0] * v[1] - u[1] * v[0]).atan2(u[0] * v[0] + u[1] * v[1]);
            Some((j, speed, turn / (0.5 * (t1 + t2))))
        })
        .collect()
}

/// Units that nobody wrote: of positions by their size, of speed by the positions, of accelerations and yaw rate by
/// what speed and positions say. Signs and swapped axes likewise.
pub(crate) fn scale(
    log: &mut Log,
    chosen: &[Chosen],
    notes: &mut Vec<Note>,
    units: &mut Vec<(Q, &'static str)>,
) -> Result<(), LogError> {
    hemisphere::minutes(log, chosen, notes, units);
    let written = |q: Q| chosen.iter().find(|c| c.quantity == q).and_then(|c| c.unit);
    for q in Q::ALL {
        if let (Some((_, factor)), false) = (written(q), q == Q::Time) {
            multiply(log, q, factor);
        }
    }
    let guess = |log: &mut Log, notes: &mut Vec<Note>, units: &mut Vec<_>, q: Q, name: &'static str, why: String| {
        let factor = q.unit(name).map_or(1.0, |u| u.1);
        multiply(log, q, factor);
        units.push((q, name));
        notes.push(Note::or(format!("{} in {name}: {why}", q.key()), format!("--unit {}=UNIT", q.key())));
    };
    let size = |log: &Log, q: Q| log.channels.get(&q).and_then(|c| median(c.iter().map(|x| x.abs()).collect()));
    let most = |log: &Log, q: Q| {
        log.channels.get(&q).map_or(0.0, |c| c.iter().filter(|x| x.is_finite()).fold(0.0, |a: f64, x| a.max(x.abs())))
    };
    for q in [Q::Latitude, Q::Longitude] {
        if written(q).is_none() && !units.iter().any(|u| u.0 == q) && size(log, q).is_some_and(|m| m > 1000.0) {
            guess(log, notes, units, q, "1e-7 deg", "numbers this large are no degrees".into());
        }
    }
    let moving: Vec<(usize, f64, f64)> = motion(log).into_iter().filter(|m| m.1 > 4.0).collect();
    let by_motion = |log: &Log, q: Q, of: &dyn Fn(&(usize, f64, f64)) -> f64| -> Option<f64> {
        let channel = log.channels.get(&q)?;
        let ratios: Vec<f64> = moving
            .iter()
            .filter(|m| channel[m.0].is_finite() && of(m).abs() > 1e-3 && channel[m.0].abs() > 1e-9)
            .map(|m| (channel[m.0] / of(m)).abs())
            .collect();
        (ratios.len() >= 20).then(|| median(ratios)).flatten()
    };
    if log.channels.contains_key(&Q::Speed) && written(Q::Speed).is_none() {
        let ratio = by_motion(log, Q::Speed, &|m| m.1);
        let nearest = |r: f64| {
            Q::Speed.units().iter().min_by(|a, b| (r * a.factor).ln().abs().total_cmp(&(r * b.factor).ln().abs()))
        };
        match ratio.and_then(nearest) {
            Some(unit) => guess(log, notes, units, Q::Speed, unit.names[0], "as the positions say".into()),
            None if most(log, Q::Speed) > 95.0 => {
                guess(log, notes, units, Q::Speed, "km/h", "its largest is too much for m/s; a guess".into())
            }
            None => guess(log, notes, units, Q::Speed, "m/s", "nothing to compare it with; a guess".into()),
        }
    } else if let Some(ratio) = by_motion(log, Q::Speed, &|m| m.1).filter(|r| !(0.85..1.18).contains(r)) {
        let (text, instead) =
            (format!("speed is {ratio:.2} times what the positions say: the wrong unit?"), "--unit speed=UNIT");
        notes.push(Note::or(text, instead));
    }
    for q in [Q::LateralAcceleration, Q::LongitudinalAcceleration] {
        if log.channels.contains_key(&q) && written(q).is_none() {
            let name = if most(log, q) > 4.5 { "m/s2" } else { "g" };
            guess(log, notes, units, q, name, format!("its largest is {:.1}", most(log, q)));
        }
    }
    if log.channels.contains_key(&Q::YawRate) && written(Q::YawRate).is_none() {
        let name = if most(log, Q::YawRate) > 4.0 { "deg/s" } else { "rad/s" };
        guess(log, notes, units, Q::YawRate, name, format!("its largest is {:.1}", most(log, Q::YawRate)));
    }
    axes(log, &moving, notes)
}

/// Correlation of two lists.
fn alike(pairs: &[(f64, f64)]) -> f64 {
    let n = pairs.len() as f64;
    let (ma, mb) = (pairs.iter().map(|p| p.0).sum::<f64>() / n, pairs.iter().map(|p| p.1).sum::<f64>() / n);
    let sum = |f: &dyn Fn(&(f64, f64)) -> f64| pairs.iter().map(f).sum::<f64>();
    let (aa, bb) = (sum(&|p| (p.0 - ma).powi(2)), sum(&|p| (p.1 - mb).powi(2)));
    if aa <= 0.0 || bb <= 0.0 { 0.0 } else { sum(&|p| (p.0 - ma) * (p.1 - mb)) / (aa * bb).sqrt() }
}

/// Below this a correlation says nothing.
const SAYS: f64 = 0.5;

/// Left and forward: lateral acceleration and yaw rate against the positions' speed × turning, forward acceleration
/// against dv/dt.
fn axes(log: &mut Log, moving: &[(usize, f64, f64)], notes: &mut Vec<Note>) -> Result<(), LogError> {
    if moving.len() < 50 {
        return Ok(());
    }
    let with = |log: &Log, q: Q, of: &dyn Fn(usize) -> Option<f64>| -> Option<f64> {
        let channel = log.channels.get(&q)?;
        let pair = |(k, m): (usize, &(usize, f64, f64))| Some((channel[m.0], of(k)?)).filter(|p| p.0.is_finite());
        let pairs: Vec<(f64, f64)> = moving.iter().enumerate().filter_map(pair).collect();
        (pairs.len() >= 50).then(|| alike(&pairs))
    };
    let turning = |k: usize| Some(moving[k].1 * moving[k].2);
    let pushing = |k: usize| {
        let lag = 3;
        let (a, b) = (moving.get(k.checked_sub(lag)?)?, moving.get(k + lag)?);
        let dt = log_dt(log, a.0, b.0)?;
        Some((b.1 - a.1) / dt)
    };
    let (left, forward) = (Q::LateralAcceleration, Q::LongitudinalAcceleration);
    let own = [with(log, left, &turning), with(log, forward, &pushing)];
    let other = [with(log, forward, &turning), with(log, left, &pushing)];
    if let ([Some(a), Some(b)], [Some(c), Some(d)]) = (own, other)
        && c.abs() > a.abs() + 0.3
        && d.abs() > b.abs() + 0.3
    {
        let (x, y) = (log.channels.remove(&left), log.channels.remove(&forward));
        log.channels.extend(x.map(|x| (forward, x)));
        log.channels.extend(y.map(|y| (left, y)));
        let instead = "--column acceleration_left=NAME --column acceleration_forward=NAME";
        notes.push(Note::or("the two accelerations are swapped: taken the other way round", instead));
        signs(log, &[(left, c), (forward, d)], notes);
        return asked(log, with(log, Q::YawRate, &|k| Some(moving[k].2)), notes);
    }
    let turn = with(log, Q::YawRate, &|k| Some(moving[k].2));
    let found: Vec<(Q, f64)> =
        [(left, own[0]), (forward, own[1])].into_iter().filter_map(|(q, r)| Some((q, r?))).collect();
    signs(log, &found, notes);
    asked(log, turn, notes)
}

/// A yaw rate that turns the other way than the positions: which of the two is turned round nobody but the user knows.
fn asked(log: &mut Log, turn: Option<f64>, notes: &mut Vec<Note>) -> Result<(), LogError> {
    match turn {
        Some(correlation) if correlation < -SAYS => Err(LogError::TurnsOtherWay { correlation }),
        Some(r) => {
            signs(log, &[(Q::YawRate, r)], notes);
            Ok(())
        }
        None => Ok(()),
    }
}

/// Whether the car goes on where its clock begins again: by positions, or else by speed.
pub(crate) fn goes_on(log: &Log, row: usize) -> bool {
    let at = |q: Q, i: usize| log.channels.get(&q).and_then(|c| c.get(i)).copied().filter(|x| x.is_finite());
    let near = |q: Q, mut r: Box<dyn Iterator<Item = usize>>| r.find_map(|i| at(q, i));
    let around = |q: Q| -> Option<f64> {
        let (a, b) = (near(q, Box::new((0..row).rev()))?, near(q, Box::new(row..log.t.len()))?);
        Some((b - a).abs())
    };
    match (around(Q::Latitude), around(Q::Longitude), around(Q::X), around(Q::Y)) {
        // In whatever unit: against how far the log reaches at all.
        (Some(a), Some(b), ..) | (_, _, Some(a), Some(b)) => {
            let pair = if log.channels.contains_key(&Q::Latitude) { [Q::Latitude, Q::Longitude] } else { [Q::X, Q::Y] };
            let reach = pair.map(|q| {
                let all = || log.channels.get(&q).into_iter().flatten().copied().filter(|x| x.is_finite());
                all().fold(f64::MIN, f64::max) - all().fold(f64::MAX, f64::min)
            });
            a <= 0.1 * reach[0].max(reach[1]) && b <= 0.1 * reach[0].max(reach[1])
        }
        _ => around(Q::Speed).is_some_and(|dv| {
            let all = || log.channels.get(&Q::Speed).into_iter().flatten().copied().filter(|x| x.is_finite());
            dv <= 0.15 * all().fold(0.0, f64::max)
        }),
    }
}

fn log_dt(log: &Log, a: usize, b: usize) -> Option<f64> {
    let dt = log.t[b] - log.t[a];
    (dt > 0.0 && dt < 4.0).then_some(dt)
}

fn signs(log: &mut Log, found: &[(Q, f64)], notes: &mut Vec<Note>) {
    for &(q, r) in found {
        if r < -SAYS {
            multiply(log, q, -1.0);
            let (side, instead) = match q {
                Q::LongitudinalAcceleration => ("braking", "--column acceleration_forward=none"),
                _ => ("right", "--unit longitude=-deg where the positions are mirrored"),
            };
            notes.push(Note::or(format!("{} counts {side} as positive: turned round", q.key()), instead));
        } else if r.abs() < SAYS {
            notes.push(Note::new(format!("{} does not go with the positions (correlation {r:.2}): not used", q.key())));
            log.channels.remove(&q);
        }
    }
}

/// A car that drives has a speed above nothing most of the time: another sign, or zeros, are another column.
pub(crate) fn speed(log: &Log) -> Result<(), LogError> {
    let Some(speed) = log.channels.get(&Q::Speed) else { return Ok(()) };
    let there: Vec<f64> = speed.iter().copied().filter(|v| v.is_finite()).collect();
    let forward = there.iter().filter(|v| **v > 0.0).count();
    let back = there.iter().filter(|v| **v < 0.0).count();
    if there.len() < ROWS || forward > back {
        return Ok(());
    }
    let least = there.iter().copied().fold(f64::INFINITY, f64::min);
    let most = there.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Err(LogError::NoSpeed { least, most })
}

/// Positions at 0°, 0° are none; a logger that has only those had no fix.
pub(crate) fn positions(log: &mut Log, notes: &mut Vec<Note>) -> Result<(), LogError> {
    let (Some(lat), Some(lon)) = (log.channels.get(&Q::Latitude), log.channels.get(&Q::Longitude)) else {
        return Ok(());
    };
    let void: Vec<bool> =
        lat.iter().zip(lon).map(|(a, b)| (*a == 0.0 && *b == 0.0) || a.abs() > 90.0 || b.abs() > 360.0).collect();
    let count = void.iter().filter(|v| **v).count();
    let left = lat.iter().zip(&void).filter(|(a, v)| a.is_finite() && !**v).count();
    if left < 2 && lat.iter().any(|a| a.is_finite()) {
        return Err(LogError::NoFix);
    }
    if count > 0 {
        for q in [Q::Latitude, Q::Longitude, Q::Height] {
            if let Some(channel) = log.channels.get_mut(&q) {
                channel.iter_mut().zip(&void).filter(|(_, v)| **v).for_each(|(x, _)| *x = f64::NAN);
            }
        }
        notes.push(Note::new(format!("{count} positions at 0°, 0° or beyond the poles left out")));
    }
    Ok(())
}
