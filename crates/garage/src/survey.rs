//! From files of positions and logs to runs that one line goes through: one plane, laps cut at the start line, broken ones left
//! out with a word.

use unladen_track::{Cleared, DrivenLap, Gate, LapFault, Line, Plane, Run};

use crate::geo::{GeoError, GeoFormat, GeoLine, read_geo};
use crate::log::{Log, LogError, Mapping, Note, Quantity, read_log};

/// What the user says about the files.
#[derive(Clone, Debug, Default)]
pub struct Ask {
    /// A circuit or an open course; `None`: as the positions show.
    pub closed: Option<bool>,
    /// Where the start line is: latitude and longitude in degrees, or x and y in m.
    pub start: Option<[f64; 2]>,
    /// What is known of the columns, by file; the same for all where there is one.
    pub mappings: Vec<Mapping>,
}

/// The runs.
#[derive(Clone, Debug)]
pub struct Survey {
    /// Laps, or runs of an open course.
    pub runs: Vec<Run>,
    /// Of each run, when it starts in its log's own time, s, and its lap time, s; NaN unknown.
    pub times: Vec<(f64, f64)>,
    /// A circuit.
    pub closed: bool,
    /// The plane of the runs, where positions were in degrees.
    pub plane: Option<Plane>,
    /// What was made of everything.
    pub notes: Vec<Note>,
    /// Positions without times: a map's line, not a driven one.
    pub outline: bool,
    /// A name from the files.
    pub name: Option<String>,
    /// The mapping of each log, to be kept beside it.
    pub mappings: Vec<(usize, Mapping)>,
    /// Speed at the start of an open course, m/s, where there are times.
    pub start_speed: Option<f64>,
}

/// Why there is no course.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[allow(missing_docs)]
pub enum SurveyError {
    #[error("{file}: {what}")]
    Log { file: String, what: LogError },
    #[error("{file}: {what}")]
    Geo { file: String, what: GeoError },
    #[error(
        "{file}: no positions; a course needs latitude and longitude or x and y; say --column latitude=NAME --column longitude=NAME"
    )]
    NoPositions { file: String },
    #[error("{file}: the fastest of it is {fastest_kmh:.0} km/h: a walk in the paddock, not a lap")]
    Walk { file: String, fastest_kmh: f64 },
    #[error(
        "{file}: no whole lap: it ends {gap_m:.0} m from where it starts and never passes its start line twice; log one more lap, or make an open course of it with --open"
    )]
    HalfLap { file: String, gap_m: f64 },
    #[error("{file}: none of its {laps} laps can be used: {why}")]
    NoLap { file: String, laps: usize, why: String },
    #[error("{file}: {lines} lines that don't meet; keep the one of the track, or join them")]
    ManyLines { file: String, lines: usize },
    #[error(
        "the positions go {rounds} times round: several laps in one line without times; keep one of them, or use a log with times"
    )]
    Rounds { rounds: i64 },
    #[error("degrees in one file and metres in another: one kind is due")]
    TwoKinds,
    #[error("{file}: this line and the first are {apart_m:.0} m apart: laps of two tracks?")]
    Apart { file: String, apart_m: f64 },
}

/// A drive slower than this is none, m/s.
const WALK: f64 = 5.0;
/// A line whose end is this near its start is a circuit, m, or this share of its length.
const MEETS: (f64, f64) = (25.0, 0.02);

fn hop(a: [f64; 2], b: [f64; 2]) -> f64 {
    (b[0] - a[0]).hypot(b[1] - a[1])
}

struct Drive {
    run: Run,
    file: String,
}

/// The runs of all files.
///
/// # Errors
/// [`SurveyError`].
pub fn survey(files: &[(String, Vec<u8>)], ask: &Ask) -> Result<Survey, SurveyError> {
    let mut out = Survey {
        runs: Vec::new(),
        times: Vec::new(),
        closed: false,
        plane: None,
        notes: Vec::new(),
        outline: false,
        name: None,
        mappings: Vec::new(),
        start_speed: None,
    };
    let mut drives = Vec::new();
    let mut metres = false;
    for (i, (file, bytes)) in files.iter().enumerate() {
        let mut run = match GeoFormat::of(bytes) {
            Some(format) => {
                let line = one_line(
                    file,
                    read_geo(bytes, format).map_err(|what| SurveyError::Geo { file: file.clone(), what })?,
                )?;
                out.name = out.name.take().or(line.name.clone());
                in_plane(&mut out.plane, &line.points, line.times, line.heights)
            }
            None => {
                let mapping = ask.mappings.get(i).or(ask.mappings.first()).cloned().unwrap_or_default();
                let read = read_log(bytes, &mapping).map_err(|what| SurveyError::Log { file: file.clone(), what })?;
                let told = read.notes.into_iter().map(|n| Note { text: format!("{file}: {}", n.text), ..n });
                out.notes.extend(told);
                out.mappings.push((i, read.mapping));
                of_log(&read.log, &mut out.plane, &mut metres)
                    .ok_or_else(|| SurveyError::NoPositions { file: file.clone() })?
            }
        };
        if metres && out.plane.is_some() {
            return Err(SurveyError::TwoKinds);
        }
        note_cleared(&mut out.notes, file, run.clear());
        walk(file, &run)?;
        drives.push(Drive { run, file: file.clone() });
    }
    let start = ask.start.map(|[a, b]| out.plane.map_or([a, b], |p| p.to_xy(a, b)));
    laps(drives, ask.closed, start, &mut out)?;
    Ok(out)
}

/// The one line of a file: several that follow one another are joined.
fn one_line(file: &str, mut lines: Vec<GeoLine>) -> Result<GeoLine, SurveyError> {
    let count = lines.len();
    let mut joined = lines.remove(0);
    for line in lines {
        let plane = Plane::about(line.points[0].0, line.points[0].1);
        let last = joined.points[joined.points.len() - 1];
        let [x, y] = plane.to_xy(last.0, last.1);
        if x.hypot(y) > 60.0 {
            return Err(SurveyError::ManyLines { file: file.into(), lines: count });
        }
        let timed = !joined.times.is_empty() && !line.times.is_empty();
        joined.points.extend(line.points);
        joined.heights.extend(line.heights);
        joined.times.extend(line.times);
        if !timed {
            joined.times.clear();
        }
    }
    Ok(joined)
}

fn in_plane(plane: &mut Option<Plane>, points: &[(f64, f64)], times: Vec<f64>, z: Vec<f64>) -> Run {
    let first = points.iter().find(|p| p.0.is_finite() && **p != (0.0, 0.0)).copied().unwrap_or((0.0, 0.0));
    let plane = *plane.get_or_insert_with(|| Plane::about(first.0, first.1));
    let xy = |&(lat, lon): &(f64, f64)| if (lat, lon) == (0.0, 0.0) { [f64::NAN; 2] } else { plane.to_xy(lat, lon) };
    let from = times.first().copied().unwrap_or(0.0);
    Run {
        points: points.iter().map(xy).collect(),
        t: times.into_iter().map(|t| t - from).collect(),
        z,
        ..Run::default()
    }
}

/// The rows of a log that have a position.
fn of_log(log: &Log, plane: &mut Option<Plane>, metres: &mut bool) -> Option<Run> {
    let (a, b, degrees) = match (log.channel(Quantity::Latitude), log.channel(Quantity::Longitude)) {
        (Some(a), Some(b)) => (a, b, true),
        _ => (log.channel(Quantity::X)?, log.channel(Quantity::Y)?, false),
    };
    *metres |= !degrees;
    let rows: Vec<usize> = (0..a.len()).filter(|i| a[*i].is_finite() && b[*i].is_finite()).collect();
    let t: Vec<f64> = if log.t.is_empty() { Vec::new() } else { rows.iter().map(|i| log.t[*i]).collect() };
    let height = log.channel(Quantity::Height);
    let z: Vec<f64> = height.map(|h| rows.iter().map(|i| h[*i]).collect()).unwrap_or_default();
    if rows.is_empty() {
        return None;
    }
    let turn = turning(log, &rows);
    if degrees {
        let points: Vec<(f64, f64)> = rows.iter().map(|i| (a[*i], b[*i])).collect();
        return Some(Run { turn, ..in_plane(plane, &points, t, z) });
    }
    Some(Run { points: rows.iter().map(|i| [a[*i], b[*i]]).collect(), t, z, turn })
}

/// Slower than this a yaw rate or an acceleration says little of curvature, m/s.
const ROLLS: f64 = 6.0;

/// Curvature by the yaw rate, ω/v, or else by the lateral acceleration, a_y/v², as the mean of the rows about each position; empty where
/// neither is logged with a speed.
fn turning(log: &Log, rows: &[usize]) -> Vec<f64> {
    let Some(speed) = log.channel(Quantity::Speed) else { return Vec::new() };
    let (yaw, lateral) = (log.channel(Quantity::YawRate), log.channel(Quantity::LateralAcceleration));
    let of = |i: usize| -> Option<f64> {
        let v = speed[i];
        let kappa = match (yaw, lateral) {
            (Some(yaw), _) => yaw[i] / v,
            (None, Some(a)) => a[i] / (v * v),
            _ => return None,
        };
        (v > ROLLS && kappa.is_finite()).then_some(kappa)
    };
    if yaw.or(lateral).is_none() {
        return Vec::new();
    }
    let mean = |k: usize| {
        let from = if k == 0 { rows[k] } else { (rows[k - 1] + rows[k]).div_ceil(2) };
        let to = if k + 1 == rows.len() { rows[k] } else { (rows[k] + rows[k + 1] - 1) / 2 };
        let all: Vec<f64> = (from..=to.max(from)).filter_map(of).collect();
        if all.is_empty() { f64::NAN } else { all.iter().sum::<f64>() / all.len() as f64 }
    };
    (0..rows.len()).map(mean).collect()
}

fn note_cleared(notes: &mut Vec<Note>, file: &str, cleared: Cleared) {
    for (count, what) in [
        (cleared.void, "positions at 0°, 0° or without numbers"),
        (cleared.again, "repeats of the position or time before"),
        (cleared.jumps, "jumps that no car makes"),
    ] {
        if count > 0 {
            notes.push(Note { text: format!("{file}: {count} {what} left out"), instead: None });
        }
    }
}

/// Top speed by positions some seconds apart.
fn walk(file: &str, run: &Run) -> Result<(), SurveyError> {
    let n = run.points.len();
    if run.t.len() != n || n < 20 {
        return Ok(());
    }
    let mut fastest: f64 = 0.0;
    let mut j = 0;
    for i in 0..n {
        while j + 1 < n && run.t[j] - run.t[i] < 4.0 {
            j += 1;
        }
        if run.t[j] - run.t[i] >= 4.0 {
            fastest = fastest.max(hop(run.points[i], run.points[j]) / (run.t[j] - run.t[i]));
        }
    }
    if fastest > 0.0 && fastest < WALK {
        return Err(SurveyError::Walk { file: file.into(), fastest_kmh: 3.6 * fastest });
    }
    Ok(())
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

fn laps(
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

/// What the line itself shows to be wrong or worth a word: several rounds, crossings.
///
/// # Errors
/// [`SurveyError::Rounds`].
pub fn look_at(line: &Line) -> Result<Vec<Note>, SurveyError> {
    let turned: f64 = line.kappa.iter().sum::<f64>() * line.step_m / (2.0 * std::f64::consts::PI);
    let rounds = turned.round().abs() as i64;
    if line.closed && rounds > 1 {
        return Err(SurveyError::Rounds { rounds });
    }
    let mut notes = Vec::new();
    let crossings = crossings(line);
    for s in crossings.iter().take(3) {
        let text = format!(
            "the line crosses itself at {:.0} m and {:.0} m: a bridge or a figure of eight is kept as it is; a mistake in the positions would look the same",
            s.0, s.1
        );
        notes.push(Note { text, instead: None });
    }
    Ok(notes)
}

/// Where the line crosses itself: by nodes in cells of a grid.
fn crossings(line: &Line) -> Vec<(f64, f64)> {
    use std::collections::HashMap;
    let every = ((4.0 / line.step_m) as usize).max(1);
    let index: Vec<usize> = (0..line.points.len()).step_by(every).collect();
    let p = |k: usize| line.points[index[k]];
    let cell = |q: [f64; 2]| ((q[0] / 10.0).floor() as i64, (q[1] / 10.0).floor() as i64);
    let mut grid: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
    let mut found = Vec::new();
    let side = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    for k in 0..index.len().saturating_sub(1) {
        let (a, b) = (p(k), p(k + 1));
        let (x, y) = cell(a);
        for near in (x - 1..=x + 1).flat_map(|x| (y - 1..=y + 1).map(move |y| (x, y))) {
            for &m in grid.get(&near).map_or(&[][..], Vec::as_slice) {
                let (c, d) = (p(m), p(m + 1));
                if k - m > 3 && side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0 {
                    found.push((index[m] as f64 * line.step_m, index[k] as f64 * line.step_m));
                }
            }
        }
        grid.entry((x, y)).or_default().push(k);
    }
    found
}
