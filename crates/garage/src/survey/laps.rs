//! Drives cut into laps, or taken as rounds or as runs of an open course.

use unladen_positions::{DrivenLap, Gate, LapFault, Run};

use super::{Survey, SurveyError, hop};
use crate::log::{Log, Note, Quantity};

/// A line whose end is this near its start is a circuit, m, or this share of its length.
const MEETS: (f64, f64) = (25.0, 0.02);

/// The positions of one file.
pub(super) struct Drive {
    pub(super) run: Run,
    pub(super) file: String,
    /// When its lap column changes, s.
    pub(super) counted: Vec<f64>,
}

/// When a log's lap column changes.
pub(super) fn counted(log: &Log) -> Vec<f64> {
    let Some(lap) = log.channel(Quantity::Lap).filter(|_| !log.t.is_empty()) else { return Vec::new() };
    let rows: Vec<usize> = (0..lap.len()).filter(|i| lap[*i].is_finite()).collect();
    rows.windows(2).filter(|w| lap[w[0]] != lap[w[1]]).map(|w| 0.5 * (log.t[w[0]] + log.t[w[1]])).collect()
}

/// The places where the lap column changes lie this near one another, and a step, if it counts laps at a line, m.
const LINE: f64 = 30.0;

/// The start line that a lap column tells, where it changes at one place; what to say of it.
fn by_column(run: &Run, counted: &[f64]) -> (Option<Gate>, Option<String>) {
    let inside: Vec<usize> =
        counted.iter().map(|t| run.t.partition_point(|x| x < t)).filter(|i| *i > 0 && *i < run.t.len()).collect();
    if inside.len() < 2 {
        return (None, None);
    }
    let places: Vec<[f64; 2]> =
        inside.iter().map(|i| std::array::from_fn(|k| 0.5 * (run.points[*i - 1][k] + run.points[*i][k]))).collect();
    let middle: [f64; 2] = std::array::from_fn(|k| {
        let mut all: Vec<f64> = places.iter().map(|p| p[k]).collect();
        all.sort_by(f64::total_cmp);
        all[all.len() / 2]
    });
    let step = inside.iter().map(|i| hop(run.points[*i - 1], run.points[*i])).fold(0.0, f64::max);
    let apart = places.iter().map(|p| hop(*p, middle)).fold(0.0, f64::max);
    if apart > LINE + step {
        let text = format!(
            "the lap column changes at places {apart:.0} m apart: it is not used, laps are cut by the positions"
        );
        return (None, Some(text));
    }
    (Gate::at(run, middle), Some("laps begin where the lap column changes".into()))
}

/// A place that a drive of little more than one lap passes twice in one direction: the later one of the nearest pair.
fn passed_twice(run: &Run) -> Option<usize> {
    let n = run.points.len();
    let every = (n / 400).max(1);
    let along = |i: usize| {
        let (a, b) = (run.points[i.saturating_sub(every)], run.points[(i + every).min(n - 1)]);
        let d = hop(a, b).max(1e-9);
        [(b[0] - a[0]) / d, (b[1] - a[1]) / d]
    };
    let index: Vec<usize> = (every..n.saturating_sub(every)).step_by(every).collect();
    let mut best = (TWICE, None);
    for &i in &index {
        for &j in index.iter().filter(|j| **j > i + n / 3) {
            let d = hop(run.points[i], run.points[j]);
            let (u, v) = (along(i), along(j));
            if d < best.0 && u[0] * v[0] + u[1] * v[1] > 0.8 {
                best = (d, Some(i));
            }
        }
    }
    best.1
}

/// Passed again within this, m.
const TWICE: f64 = 20.0;

/// Laps as quick as the quick ones: no in- or out-lap, no traffic. Lap times, s.
pub fn flying(times: &[f64]) -> Vec<bool> {
    let mut sorted: Vec<f64> = times.iter().copied().filter(|t| t.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    let usual = sorted.get(sorted.len() / 4).copied().unwrap_or(f64::NAN);
    times.iter().map(|t| *t <= usual * FLYING).collect()
}

/// A flying lap is slower than the lower quartile by this at most. Judgement, no source: an in-lap loses more, a
/// driver's scatter is less.
const FLYING: f64 = 1.03;

/// How far the end of a run is from its start, and its length.
fn ends(run: &Run) -> (f64, f64) {
    let (Some(first), Some(last)) = (run.points.first(), run.points.last()) else { return (f64::INFINITY, 0.0) };
    let every = (run.points.len() / 200).max(1);
    let coarse: Vec<_> = run.points.iter().step_by(every).collect();
    (hop(*first, *last), coarse.windows(2).map(|w| hop(*w[0], *w[1])).sum())
}

fn meets(run: &Run) -> bool {
    let (gap, length) = ends(run);
    gap < MEETS.0.max(MEETS.1 * length) || (run.t.len() != run.points.len() && straight_left_out(run, gap, length))
}

/// What a map's line may leave out between its end and its start: a straight no longer than its longest, of at most
/// this share of all, that both ends look along to within this, rad.
const LEFT_OUT: (f64, f64) = (0.3, 0.6);

/// A map's points need not come again: its last straight may be missing.
fn straight_left_out(run: &Run, gap: f64, length: f64) -> bool {
    let p = &run.points;
    let n = p.len();
    let longest = p.windows(2).map(|w| hop(w[0], w[1])).fold(0.0, f64::max);
    if n < 4 || gap > longest || gap > LEFT_OUT.0 * length {
        return false;
    }
    let turn = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
        let (u, v) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
        (u[0] * v[1] - u[1] * v[0]).atan2(u[0] * v[0] + u[1] * v[1])
    };
    let ends = [turn(p[n - 2], p[n - 1], p[0]), turn(p[n - 1], p[0], p[1])];
    let all: f64 = ends.iter().sum::<f64>() + p.windows(3).map(|w| turn(w[0], w[1], w[2])).sum::<f64>();
    let turns = all / (2.0 * std::f64::consts::PI);
    ends.iter().all(|e| e.abs() < LEFT_OUT.1) && (turns - turns.round()).abs() < 1e-6 && turns.round().abs() <= 1.0
}

/// Takes the laps of every drive.
pub(super) fn laps(
    drives: Vec<Drive>,
    closed: Option<bool>,
    start: Option<[f64; 2]>,
    out: &mut Survey,
) -> Result<(), SurveyError> {
    let mut gate: Option<Gate> = None;
    let mut open: Option<bool> = closed.map(|c| !c);
    for Drive { mut run, file, counted } in drives {
        let timed = run.t.len() == run.points.len() && !run.t.is_empty();
        out.outline |= !timed;
        if open != Some(true) && timed {
            let (line, said) = if start.is_none() { by_column(&run, &counted) } else { (None, None) };
            let told =
                said.map(|text| Note { text: format!("{file}: {text}"), instead: Some("--start LAT,LON".into()) });
            out.notes.extend(told);
            let by_line = line.is_some();
            gate = gate.or_else(|| match start {
                Some(place) => Gate::at(&run, place),
                None => line.or_else(|| Gate::fastest(&run)),
            });
            let mut found = gate.map(|g| g.laps(&run)).unwrap_or_default();
            if by_line && found.len() + 1 != counted.len() {
                let (column, own) = (counted.len() - 1, found.len());
                let text =
                    format!("{file}: the lap column counts {column} whole laps, the positions {own}: theirs are used");
                out.notes.push(Note { text, instead: None });
            }
            if found.is_empty() && start.is_none() && !meets(&run) {
                let again = passed_twice(&run).and_then(|i| Gate::at(&run, run.points[i]));
                found = again.map(|g| g.laps(&run)).unwrap_or_default();
                if let (Some(again), false) = (again, found.is_empty()) {
                    let [a, b] = again.at;
                    let (a, b) = out.plane.map_or((a, b), |p| p.to_degrees([a, b]));
                    let digits = if out.plane.is_some() { 6 } else { 1 };
                    let text = format!(
                        "{file}: little more than one lap: cut at a place that it passes twice, {a:.digits$},{b:.digits$}"
                    );
                    out.notes.push(Note { text, instead: Some("--start LAT,LON, or --open".into()) });
                    gate = Some(again);
                }
            }
            if !found.is_empty() {
                open = Some(false);
                take(&file, found, out)?;
                continue;
            }
        }
        let (gap, _) = ends(&run);
        let one_round = meets(&run);
        match open {
            Some(false) if !one_round => return Err(SurveyError::HalfLap { file, gap_m: gap }),
            None => open = Some(!one_round),
            _ => {}
        }
        if open == Some(false) {
            close(&mut run);
            if let Some(place) = start {
                rotate(&mut run, place);
            }
            out.notes.push(Note {
                text: format!("{file}: its end meets its start ({gap:.1} m): a circuit"),
                instead: Some("--open".into()),
            });
        } else {
            out.notes.push(Note {
                text: format!("{file}: ends {gap:.0} m from its start: an open course"),
                instead: Some("--closed".into()),
            });
            let lag = 10.min(run.points.len() - 1);
            if timed && run.t[lag] > run.t[0] {
                let v = hop(run.points[0], run.points[lag]) / (run.t[lag] - run.t[0]);
                out.start_speed = Some(out.start_speed.map_or(v, |s: f64| s.min(v)));
            }
        }
        if let Some(first) = out.runs.first() {
            let nearest = first.points.iter().map(|p| hop(*p, run.points[0])).fold(f64::INFINITY, f64::min);
            if nearest > 150.0 {
                return Err(SurveyError::Apart { file, apart_m: nearest });
            }
        }
        let span = match (run.t.first(), run.t.last()) {
            (Some(a), Some(b)) => (0.0, b - a),
            _ => (f64::NAN, f64::NAN),
        };
        out.times.push(span);
        out.runs.push(run);
    }
    out.closed = open == Some(false);
    Ok(())
}

/// The laps of a drive that can be used.
fn take(file: &str, found: Vec<DrivenLap>, out: &mut Survey) -> Result<(), SurveyError> {
    let count = found.len();
    let mut why = String::new();
    let before = out.runs.len();
    for (i, lap) in found.into_iter().enumerate() {
        match lap.fault {
            Some(fault) => {
                why = fault.to_string();
                let kind = if matches!(fault, LapFault::Gap { .. }) { "broken" } else { "not a usual one" };
                out.notes
                    .push(Note { text: format!("{file}: lap {} left out, {kind}: {fault}", i + 1), instead: None });
            }
            None => {
                out.notes.push(Note { text: format!("{file}: lap {} in {:.2} s", i + 1, lap.time_s), instead: None });
                out.times.push((lap.from_s, lap.time_s));
                out.runs.push(lap.run);
            }
        }
    }
    if out.runs.len() == before { Err(SurveyError::NoLap { file: file.into(), laps: count, why }) } else { Ok(()) }
}

/// Takes the end of a round away where it runs over its start.
fn close(run: &mut Run) {
    let n = run.points.len();
    let first = run.points[0];
    // A map's line says its first point again, and no more; only lines as dense as a log's run over their start.
    let (gap, length) = ends(run);
    if run.t.len() != n && length / n as f64 > 10.0 {
        if gap < 2.0 && n > 4 {
            [&mut run.z, &mut run.turn].into_iter().for_each(|c| c.truncate(n - 1));
            run.points.truncate(n - 1);
        }
        return;
    }
    // The last position that is still before the start line.
    let along = (1..n).find(|i| hop(run.points[*i], first) > 5.0).map_or([1.0, 0.0], |i| {
        let d = hop(run.points[i], first);
        [(run.points[i][0] - first[0]) / d, (run.points[i][1] - first[1]) / d]
    });
    let mut keep = n;
    while keep > n * 9 / 10 && keep > 12 {
        let p = run.points[keep - 1];
        let ahead = (p[0] - first[0]) * along[0] + (p[1] - first[1]) * along[1];
        if ahead < -0.1 || hop(p, first) > 60.0 {
            break;
        }
        keep -= 1;
    }
    run.points.truncate(keep);
    [&mut run.t, &mut run.z, &mut run.turn].into_iter().for_each(|c| c.truncate(keep));
}

/// A round begun at the position nearest to a place; a map's sparse line at a point of its curve.
fn rotate(run: &mut Run, place: [f64; 2]) {
    if run.t.len() != run.points.len() {
        return run.begin_at(place);
    }
    let nearest =
        (0..run.points.len()).min_by(|a, b| hop(run.points[*a], place).total_cmp(&hop(run.points[*b], place)));
    let Some(i) = nearest else { return };
    run.points.rotate_left(i);
    let n = run.points.len();
    [&mut run.z, &mut run.turn].into_iter().filter(|c| c.len() == n).for_each(|c| c.rotate_left(i));
    if run.t.len() == run.points.len() {
        run.t.clear();
    }
}
