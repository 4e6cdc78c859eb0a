//! Drives cut into laps, or taken as rounds or as runs of an open course.

use unladen_positions::{DrivenLap, Gate, LapFault, Run};

use super::{Survey, SurveyError, hop};
use crate::log::Note;

/// A line whose end is this near its start is a circuit, m, or this share of its length.
const MEETS: (f64, f64) = (25.0, 0.02);

/// The positions of one file.
pub(super) struct Drive {
    pub(super) run: Run,
    pub(super) file: String,
}

/// How far the end of a run is from its start, and its length.
fn ends(run: &Run) -> (f64, f64) {
    let (Some(first), Some(last)) = (run.points.first(), run.points.last()) else { return (f64::INFINITY, 0.0) };
    let every = (run.points.len() / 200).max(1);
    let coarse: Vec<_> = run.points.iter().step_by(every).collect();
    (hop(*first, *last), coarse.windows(2).map(|w| hop(*w[0], *w[1])).sum())
}

fn meets(run: &Run) -> bool {
    let (gap, length) = ends(run);
    gap < MEETS.0.max(MEETS.1 * length)
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
    for Drive { mut run, file } in drives {
        let timed = run.t.len() == run.points.len() && !run.t.is_empty();
        out.outline |= !timed;
        if open != Some(true) && timed {
            gate = gate.or_else(|| match start {
                Some(place) => Gate::at(&run, place),
                None => Gate::fastest(&run),
            });
            let found = gate.map(|g| g.laps(&run)).unwrap_or_default();
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

/// A round begun at the position nearest to a place.
fn rotate(run: &mut Run, place: [f64; 2]) {
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
