//! What `unladen course from` writes and says.

use std::path::Path;

use unladen_garage::log::Note;
use unladen_garage::{Survey, TrackText, segments_csv};
use unladen_positions::{Built, Line};
use unladen_report::course::json::CourseOut;
use unladen_report::course::picture::{CoursePlot, course_picture};
use unladen_report::draw::picture::save_plot;
use unladen_report::files::write::write_whole;
use unladen_report::lap::place::places;
use unladen_study::course::doubt::CourseDoubt;
use unladen_track::Track;

use super::from::FromArgs;
use crate::error::CliError;

/// `1 run`, `3 runs`.
fn counted(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

/// Further from the line than this a named point names nothing, m.
const NAMES: f64 = 80.0;

/// Names corners and straights; says which names found none.
pub fn name(track: &mut Track, line: &Line, places: &[(String, [f64; 2])]) -> Vec<Note> {
    let mut notes = Vec::new();
    for (name, at) in places {
        let off = |i: usize| (line.points[i][0] - at[0]).hypot(line.points[i][1] - at[1]);
        let Some(i) = (0..line.points.len()).min_by(|a, b| off(*a).total_cmp(&off(*b))) else { continue };
        let text = if off(i) > NAMES {
            format!("{name}: {:.0} m from the line, names no place of it", off(i))
        } else {
            let s = i as f64 * line.step_m * track.length() / line.length_m();
            track.name_at(s, name);
            format!("{name}: at {s:.0} m")
        };
        notes.push(Note { text, instead: None });
    }
    notes
}

/// κ along the segments, as (s, κ).
pub fn pieces(track: &Track) -> Vec<(f64, f64)> {
    let mut s = 0.0;
    let mut pieces = Vec::new();
    for segment in &track.segments {
        pieces.push((s, segment.kappa[0]));
        s += segment.length;
        pieces.push((s, segment.kappa[1]));
    }
    pieces.dedup();
    pieces
}

/// Writes the track's two files, and the picture.
pub fn write(
    args: &FromArgs,
    segments: &Path,
    name: &str,
    found: &Survey,
    line: &Line,
    track: &Track,
) -> Result<(), CliError> {
    let from: Vec<String> =
        args.files.iter().map(|f| f.file_name().unwrap_or_default().to_string_lossy().into_owned()).collect();
    let origin = vec![
        format!("Made by `unladen course from {}`.", from.join(" ")),
        format!(
            "{} positions in {}, {:.2} m noise; curvature known to {:.4} 1/m (one standard deviation, mean).",
            line.used,
            counted(found.runs.len(), "run"),
            line.noise_m,
            mean(&line.kappa_sd)
        ),
        if args.line.is_some() {
            "The line of least curvature within a given width: an approximation of a driven line.".to_string()
        } else if found.outline {
            "A map's line, not a driven one.".into()
        } else {
            "The mean of the driven lines.".to_string()
        },
    ];
    let segments_file = segments.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let text = TrackText {
        name,
        closed: found.closed,
        start_speed: track.start_speed,
        segments_file: &segments_file,
        origin: &origin,
        altitude: line.z.as_ref().map(|z| mean(z)),
    };
    let picture = args.plot.as_ref().map(|plot| (plot, draw(name, found, line, track)));
    write_whole(segments, segments_csv(&track.segments).as_bytes())?;
    write_whole(&args.out, text.toml().as_bytes())?;
    if let Some((plot, picture)) = picture {
        save_plot(plot, || picture)?;
    }
    Ok(())
}

fn mean(all: &[f64]) -> f64 {
    all.iter().sum::<f64>() / all.len().max(1) as f64
}

fn draw(
    name: &str,
    found: &Survey,
    line: &Line,
    track: &Track,
) -> Result<unladen_report::draw::picture::Picture, unladen_report::draw::picture::PlotError> {
    let data: Vec<[f64; 2]> = found.runs.iter().flat_map(|r| r.points.iter().copied()).collect();
    let mut pieces = pieces(track);
    pieces.iter_mut().for_each(|p| p.0 *= line.length_m() / track.length());
    let origin =
        format!("from {} positions in {}, noise {:.2} m", line.used, counted(found.runs.len(), "run"), line.noise_m);
    course_picture(&CoursePlot {
        name,
        origin: &origin,
        closed: line.closed,
        data: &data,
        places: &places(track),
        points: &line.points,
        step_m: line.step_m,
        kappa: &line.kappa,
        kappa_sd: &line.kappa_sd,
        segments: &pieces,
        count: track.segments.len(),
        z: line.z.as_deref(),
    })
}

/// What it says.
pub fn summary(args: &FromArgs, segments: &Path, track: &Track, line: &Line, built: &Built) -> String {
    let tightest = track.segments.iter().flat_map(|s| s.kappa).fold(0.0f64, |a, k| a.max(k.abs()));
    let turns = match line.turns {
        0 => String::new(),
        n => format!(", and {n} readings of yaw rate or lateral acceleration"),
    };
    format!(
        "{}: {} of {:.0} m in {}, tightest radius {:.1} m\n\
         positions: {} used, noise {:.2} m{}{turns}\n\
         curvature: ± {:.5} 1/m (mean standard deviation); the segments differ from the line by {:.5} 1/m (rms)\n\
         written: {} and {}\n",
        track.name,
        if track.closed { "a circuit" } else { "an open course" },
        track.length(),
        counted(track.segments.len(), "segment"),
        1.0 / tightest.max(1e-9),
        line.used,
        line.noise_m,
        if line.alike > 1.5 { format!(", alike over {:.0} neighbours", line.alike) } else { String::new() },
        mean(&line.kappa_sd),
        built.kappa_rms,
        args.out.display(),
        segments.display()
    )
}

/// What a lap time on the course is worth.
pub fn worth(car: &str, doubt: &CourseDoubt) -> String {
    let percent = 100.0 * doubt.sd_s() / doubt.time_s;
    format!(
        "lap time of {car}: {:.2} s on this course; on the true line {:.2} ± {:.2} s ({percent:.1} %, one standard deviation; 90 %: {:.2} to {:.2} s) by what the positions leave open, from {} lines that they do not rule out.\n\
         Differences between cars on this one course are known far better than that; more laps, a higher rate or a logged yaw rate help.\n",
        doubt.time_s,
        doubt.likely_s(),
        doubt.sd_s(),
        doubt.likely_s() - NINETY * doubt.sd_s(),
        doubt.likely_s() + NINETY * doubt.sd_s(),
        doubt.draws
    )
}

/// Standard deviations to each side of a normal distribution's middle that hold 90 %.
const NINETY: f64 = 1.645;

/// `course from --json`.
pub fn json(track: &Track, line: &Line, built: &Built, doubt: Option<&CourseDoubt>) -> Result<String, CliError> {
    let out = CourseOut {
        name: &track.name,
        closed: track.closed,
        length_m: track.length(),
        segments: track.segments.len(),
        noise_m: line.noise_m,
        positions: line.used,
        positions_left_out: line.left_out,
        curvature_readings: line.turns,
        curvature_sd_mean_1pm: mean(&line.kappa_sd),
        segments_curvature_rms_1pm: built.kappa_rms,
        lap_time_s: doubt.map(|d| d.time_s),
        lap_time_sd_s: doubt.map(CourseDoubt::sd_s),
    };
    Ok(out.json()?)
}
