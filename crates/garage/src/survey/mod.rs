//! From files of positions and logs to runs that one line goes through: one plane, laps cut at the start line, broken
//! ones left out with a word.

mod floor;
mod laps;
mod look;
mod reckon;
#[cfg(test)]
mod tests;

use unladen_positions::{Cleared, Plane, Run};

use crate::log::{Log, LogError, Mapping, Note, Quantity, read_log_telling};
use crate::plain::name;
use crate::track::geo::{GeoError, GeoFormat, GeoLine, read_geo, read_points};

pub use laps::flying;
pub use look::look_at;
pub use unladen_positions::self_crossings;

use laps::{Drive, laps};

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
    /// Road beside positions: x, y, to the left, to the right, m; empty where no file says.
    pub widths: Vec<[f64; 4]>,
    /// Named points of the files, m.
    pub places: Vec<(String, [f64; 2])>,
    /// Each file as a log, in their order: what a map's format has no channels for is left out.
    pub logs: Vec<Log>,
    /// Noise of positions below which none is believed, and what is taken in its place, m.
    pub least_noise: (f64, f64),
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
        "{file}: no positions; a course needs latitude and longitude or x and y, or speed with yaw rate or lateral acceleration; say --column latitude=NAME --column longitude=NAME"
    )]
    NoPositions { file: String },
    #[error(
        "{file}: no positions, and its turning never comes again: two whole laps at least, or a column that counts laps, are due (--column lap=NAME)"
    )]
    NoLapInTurning { file: String },
    #[error("{file}: the fastest of it is {fastest_kmh:.0} km/h: a walk in the paddock, not a lap")]
    Walk { file: String, fastest_kmh: f64 },
    #[error(
        "{file}: no whole lap: it ends {gap_m:.0} m from where it starts and never passes its start line twice; where a place is passed twice, say it with --start LAT,LON; else log one more lap, or make an open course of it with --open"
    )]
    HalfLap { file: String, gap_m: f64 },
    #[error("{file}: none of its {laps} laps can be used: {why}")]
    NoLap { file: String, laps: usize, why: String },
    #[error(
        "{file}: {lines} lines that neither meet nor follow one another in time; keep the one of the track, or join them"
    )]
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
fn hop(a: [f64; 2], b: [f64; 2]) -> f64 {
    (b[0] - a[0]).hypot(b[1] - a[1])
}

/// The runs of all files.
///
/// # Errors
/// [`SurveyError`].
pub fn survey(files: &[(String, Vec<u8>)], ask: &Ask) -> Result<Survey, SurveyError> {
    survey_telling(files, ask, &mut Vec::new())
}

/// [`survey`], what was made of the files told also where it fails.
///
/// # Errors
/// [`SurveyError`].
pub fn survey_telling(files: &[(String, Vec<u8>)], ask: &Ask, told: &mut Vec<Note>) -> Result<Survey, SurveyError> {
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
        widths: Vec::new(),
        places: Vec::new(),
        logs: Vec::new(),
        least_noise: (0.0, 0.0),
    };
    let done = fill(files, ask, &mut out);
    told.extend(out.notes.iter().cloned());
    done.map(|()| out)
}

fn fill(files: &[(String, Vec<u8>)], ask: &Ask, out: &mut Survey) -> Result<(), SurveyError> {
    let mut drives = Vec::new();
    let mut metres = false;
    for (i, (file, bytes)) in files.iter().enumerate() {
        let mut counted = Vec::new();
        let mut run = match GeoFormat::of(bytes) {
            Some(format) => {
                let lines = read_geo(bytes, format).map_err(|what| SurveyError::Geo { file: file.clone(), what })?;
                let count = lines.len();
                let line = one_line(file, lines)?;
                if count > 1 {
                    let text = format!("{file}: {count} lines that follow one another, taken as one");
                    out.notes.push(Note { text, instead: None });
                }
                out.name = out.name.take().or(line.name.clone());
                out.notes.push(Note { text: format!("{file}: {}", taken(format, &line)), instead: None });
                out.logs.push(logged(&line));
                floor::note(
                    &line.points.iter().map(|p| [p.0, p.1]).collect::<Vec<_>>(),
                    !line.times.is_empty(),
                    true,
                    out,
                );
                let run = in_plane(&mut out.plane, &line.points, line.times, line.heights);
                let named = read_points(bytes, format);
                out.places.extend(
                    named
                        .into_iter()
                        .filter_map(|(given, lat, lon)| Some((name(&given).ok()?, out.plane?.to_xy(lat, lon)))),
                );
                run
            }
            None => {
                let mapping = ask.mappings.get(i).or(ask.mappings.first()).cloned().unwrap_or_default();
                let mut told = Vec::new();
                let read = read_log_telling(bytes, &mapping, &mut told);
                out.notes.extend(told.into_iter().map(|n| Note { text: format!("{file}: {}", n.text), ..n }));
                let read = read.map_err(|what| SurveyError::Log { file: file.clone(), what })?;
                out.mappings.push((i, read.mapping));
                let run = of_log(&read.log, out, &mut metres);
                counted = laps::counted(&read.log);
                let reckoned = if run.is_none() { reckon(file, &read.log, out) } else { Ok(()) };
                out.logs.push(read.log);
                reckoned?;
                let Some(run) = run else { continue };
                run
            }
        };
        if metres && out.plane.is_some() {
            return Err(SurveyError::TwoKinds);
        }
        note_cleared(&mut out.notes, file, run.clear());
        walk(file, &run)?;
        drives.push(Drive { run, file: file.clone(), counted });
    }
    if !out.runs.is_empty() {
        if !drives.is_empty() || files.len() > 1 {
            return Err(SurveyError::TwoKinds);
        }
        out.closed = true;
        return Ok(());
    }
    let start = ask.start.map(|[a, b]| out.plane.map_or([a, b], |p| p.to_xy(a, b)));
    laps(drives, ask.closed, start, out)?;
    copies(out);
    Ok(())
}

/// Laps that say position for position what another one says know nothing more: they go.
fn copies(out: &mut Survey) {
    let same = |a: &Run, b: &Run| {
        a.points.len() == b.points.len() && a.points.iter().zip(&b.points).all(|(p, q)| hop(*p, *q) < 1e-3)
    };
    let again: Vec<bool> =
        (0..out.runs.len()).map(|i| out.runs[..i].iter().any(|other| same(other, &out.runs[i]))).collect();
    let count = again.iter().filter(|a| **a).count();
    if count == 0 {
        return;
    }
    let keep = |i: &mut usize| (!again[*i], *i += 1).0;
    let mut i = 0;
    out.runs.retain(|_| keep(&mut i));
    i = 0;
    out.times.retain(|_| keep(&mut i));
    let laps = if count == 1 { "one lap is a copy".into() } else { format!("{count} laps are copies") };
    let text = format!("{laps} of another, position for position, and left out: that says nothing of the noise");
    out.notes.push(Note { text, instead: None });
}

/// What a map's file was taken for.
fn taken(format: GeoFormat, line: &GeoLine) -> String {
    let name = match format {
        GeoFormat::Gpx => "GPX",
        GeoFormat::GeoJson => "GeoJSON",
        GeoFormat::Kml => "KML",
    };
    let times = if line.times.is_empty() { "without times: an outline" } else { "with times" };
    let heights = line.heights.iter().any(|z| z.is_finite());
    format!(
        "{name}, {} positions {times}, {}",
        line.points.len(),
        if heights { "with heights" } else { "without heights" }
    )
}

/// A map's line as a log.
fn logged(line: &GeoLine) -> Log {
    let from = line.times.first().copied().unwrap_or(0.0);
    let (lat, lon) = line.points.iter().copied().unzip();
    let channels = [(Quantity::Latitude, lat), (Quantity::Longitude, lon), (Quantity::Height, line.heights.clone())];
    Log { t: line.times.iter().map(|t| t - from).collect(), channels: channels.into_iter().collect() }
}

/// The one line of a file: several that follow one another, in place or in time, are joined.
fn one_line(file: &str, mut lines: Vec<GeoLine>) -> Result<GeoLine, SurveyError> {
    let count = lines.len();
    // A logger that was switched off begins a new line elsewhere; times say that it is the same drive.
    let all_timed = lines.iter().all(|l| l.times.len() == l.points.len());
    if all_timed {
        lines.sort_by(|a, b| a.times[0].total_cmp(&b.times[0]));
    }
    let follow = all_timed && lines.windows(2).all(|w| w[0].times[w[0].times.len() - 1] <= w[1].times[0]);
    let mut joined = lines.remove(0);
    for line in lines {
        let plane = Plane::about(line.points[0].0, line.points[0].1);
        let last = joined.points[joined.points.len() - 1];
        let [x, y] = plane.to_xy(last.0, last.1);
        if !follow && x.hypot(y) > 60.0 {
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
        z: z.into_iter().map(|h| if HEIGHTS.contains(&h) { h } else { f64::NAN }).collect(),
        ..Run::default()
    }
}

/// Heights that a track's file takes, m: a logger without one writes −9999, say.
const HEIGHTS: std::ops::RangeInclusive<f64> = -2000.0..=11_000.0;

/// Laps by dead reckoning.
fn reckon(file: &str, log: &Log, out: &mut Survey) -> Result<(), SurveyError> {
    let none = || SurveyError::NoPositions { file: file.into() };
    let laps = reckon::reckoned(log).ok_or_else(none)?;
    if laps.is_empty() {
        return Err(SurveyError::NoLapInTurning { file: file.into() });
    }
    let text = "no positions: the laps are reckoned from speed and turning, each made to close; the map has no place, direction or start line";
    out.notes.push(Note { text: format!("{file}: {text}"), instead: None });
    for (i, lap) in laps.into_iter().enumerate() {
        out.notes.push(Note { text: format!("{file}: lap {} in {:.2} s", i + 1, lap.time_s), instead: None });
        out.times.push((lap.from_s, lap.time_s));
        out.runs.push(lap.run);
    }
    Ok(())
}

/// The rows of a log that have a position.
fn of_log(log: &Log, out: &mut Survey, metres: &mut bool) -> Option<Run> {
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
    floor::note(&rows.iter().map(|i| [a[*i], b[*i]]).collect::<Vec<_>>(), !log.t.is_empty(), degrees, out);
    let run = if degrees {
        let points: Vec<(f64, f64)> = rows.iter().map(|i| (a[*i], b[*i])).collect();
        Run { turn, ..in_plane(&mut out.plane, &points, t, z) }
    } else {
        Run { points: rows.iter().map(|i| [a[*i], b[*i]]).collect(), t, z, turn }
    };
    if let (Some(left), Some(right)) = (log.channel(Quantity::WidthLeft), log.channel(Quantity::WidthRight)) {
        let all = run.points.iter().zip(&rows).map(|(p, i)| [p[0], p[1], left[*i], right[*i]]);
        out.widths.extend(all.filter(|w| w.iter().all(|x| x.is_finite())));
    }
    Some(run)
}

/// Slower than this a yaw rate or an acceleration says little of curvature, m/s.
const ROLLS: f64 = 6.0;

/// Curvature by the yaw rate, ω/v, or else by the lateral acceleration, a_y/v², as the mean of the rows about each
/// position; empty where neither is logged with a speed.
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
