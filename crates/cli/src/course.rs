//! `unladen course`: a track from positions or logged laps.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Subcommand;
use unladen_garage::log::{Mapping, Note};
use unladen_garage::{Ask, LIMIT_MB, Survey, TrackText, look_at, segments_csv, survey};
use unladen_report::course::{CoursePlot, course_picture};
use unladen_report::picture::{check_plot, save_plot};
use unladen_report::write::{check_destination, write_whole};
use unladen_track::{Built, Line, Tolerance, Track, Wish};

use crate::error::CliError;
use crate::output::{note, say};

/// Examples beneath the help.
pub const HELP: &str = "Examples:\n  \
    unladen course from session.csv --out tracks/home.toml --plot home.svg\n  \
    unladen course from lap.gpx --out tracks/home.toml --start 52.0718,-1.0143";

/// `unladen course`.
#[derive(Debug, clap::Args)]
pub struct CourseArgs {
    /// What about a course.
    #[command(subcommand)]
    pub what: What,
}

/// What about a course.
#[derive(Debug, Subcommand)]
pub enum What {
    /// Make a track from GPX, GeoJSON, KML, or CSV files of positions or logged laps
    From(FromArgs),
    /// Drive a synthetic log, for tests and demonstrations
    Log(crate::course_log::LogArgs),
}

/// `unladen course from`.
#[derive(Debug, clap::Args)]
pub struct FromArgs {
    /// Files of positions: GPX, GeoJSON, KML, or CSV
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// The track's file; its segments go into a CSV beside it
    #[arg(long, value_name = "FILE.toml")]
    pub out: PathBuf,
    /// What the track is called
    #[arg(long)]
    pub name: Option<String>,
    /// Where the start line is, degrees or metres as the file has them
    #[arg(long, value_name = "LAT,LON", allow_hyphen_values = true, value_parser = pair)]
    pub start: Option<[f64; 2]>,
    /// An open course
    #[arg(long, conflicts_with = "closed")]
    pub open: bool,
    /// A circuit
    #[arg(long)]
    pub closed: bool,
    /// Standard deviation of a position, m; left out, found from the positions
    #[arg(long, value_name = "METRES")]
    pub noise: Option<f64>,
    /// Standard deviation of a height, m; left out, found from the heights
    #[arg(long, value_name = "METRES")]
    pub height_noise: Option<f64>,
    /// How far the segments' curvature may be from the line's before they are brought to it, 1/m; a standard deviation of the line's
    /// curvature is always allowed
    #[arg(long, value_name = "1/M", default_value_t = Tolerance::default().kappa)]
    pub tolerance: f64,
    /// The line of least curvature on a road this wide about the positions, in place of the positions' own: an approximation of a driven line
    #[arg(long, value_name = "WIDTH_METRES", value_parser = width)]
    pub line: Option<f64>,
    /// Which column of a CSV holds what; repeatable
    #[arg(long, value_name = "WHAT=COLUMN")]
    pub column: Vec<String>,
    /// The unit of a column; repeatable
    #[arg(long, value_name = "WHAT=UNIT")]
    pub unit: Vec<String>,
    /// Draw to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
}

fn pair(text: &str) -> Result<[f64; 2], String> {
    let parts: Vec<f64> = text.split(',').map_while(|p| p.trim().parse().ok()).collect();
    parts.try_into().map_err(|_| "two numbers with a comma between are due, for example 52.0718,-1.0143".into())
}

fn width(text: &str) -> Result<f64, String> {
    let number: Result<f64, _> = text.trim().trim_end_matches('m').trim().parse();
    number
        .ok()
        .filter(|w| (0.5..=50.0).contains(w))
        .ok_or_else(|| "a width from 0.5 to 50 m is due, what is left beside the car".into())
}

/// Runs the command.
pub fn run(args: &CourseArgs) -> Result<ExitCode, CliError> {
    match &args.what {
        What::From(args) => from(args),
        What::Log(args) => crate::course_log::run(args),
    }
}

fn from(args: &FromArgs) -> Result<ExitCode, CliError> {
    let segments = args.out.with_extension("csv");
    if args.out.extension().is_none_or(|e| !e.eq_ignore_ascii_case("toml")) {
        return Err(CliError::TrackName { path: args.out.clone() });
    }
    if args.files.iter().any(|f| same(f, &segments) || same(f, &args.out)) {
        return Err(CliError::OverLog { path: segments });
    }
    check_destination(&args.out)?;
    check_destination(&segments)?;
    if let Some(plot) = &args.plot {
        check_plot(plot)?;
    }
    let files =
        args.files.iter().map(|f| Ok((f.display().to_string(), read(f)?))).collect::<Result<Vec<_>, CliError>>()?;
    let told = told(&args.column, &args.unit)?;
    let mappings =
        args.files.iter().map(|f| Ok(beside(f)?.overridden_by(&told))).collect::<Result<Vec<_>, CliError>>()?;
    let closed = if args.open { Some(false) } else { args.closed.then_some(true) };
    let found = survey(&files, &Ask { closed, start: args.start, mappings })?;
    let wish = Wish { closed: found.closed, noise_m: args.noise, height_noise_m: args.height_noise };
    let line = Line::through(&found.runs, wish)?;
    let mut notes = found.notes.clone();
    notes.extend(look_at(&line)?);
    let line = match args.line {
        Some(width) => line.least_curved(0.5 * width, 0.5 * width)?,
        None => line,
    };
    let built = line.build(Tolerance { kappa: args.tolerance, ..Tolerance::default() });
    let name = args.name.clone().or(found.name.clone()).unwrap_or_else(|| stem(&args.out));
    let track = Track {
        name: name.clone(),
        closed: found.closed,
        start_speed: found.start_speed.unwrap_or(0.0),
        segments: built.segments.clone(),
        rho: unladen_vehicle::air::density(0.0, None).unwrap_or(1.225),
        grip: 1.0,
    };
    if let Some(fault) = track.check().into_iter().next().or(track.check_closed().err()) {
        return Err(CliError::Course { fault });
    }
    write(args, &segments, &name, &found, &line, &track)?;
    for (i, mapping) in &found.mappings {
        write_whole(&mapping_file(&args.files[*i]), mapping.text().as_bytes())?;
    }
    notes.extend(found.mappings.iter().map(|(i, _)| kept(&args.files[*i])));
    notes.extend(words(&found, &line));
    if let Some(width) = args.line {
        let text = format!(
            "the line of least curvature on {width} m of road: an approximation; the quickest line brakes later and is a little tighter"
        );
        notes.push(Note { text, instead: None });
    }
    if args.json {
        return say(&json(&track, &line, &built)).map(|()| ExitCode::SUCCESS);
    }
    notes.iter().for_each(|n| note(&format!("{n}\n")));
    say(&summary(args, &segments, &track, &line, &built))?;
    Ok(ExitCode::SUCCESS)
}

fn stem(path: &Path) -> String {
    path.file_stem().map_or("course".into(), |s| s.to_string_lossy().into_owned())
}

fn same(a: &Path, b: &Path) -> bool {
    a == b || matches!((a.canonicalize(), b.canonicalize()), (Ok(a), Ok(b)) if a == b)
}

/// A file's bytes.
pub fn read(path: &Path) -> Result<Vec<u8>, CliError> {
    let unread = |source| CliError::Unread { path: path.to_owned(), source };
    let size = std::fs::metadata(path).map_err(unread)?.len();
    if size > LIMIT_MB << 20 {
        return Err(CliError::TooLarge { path: path.to_owned(), most_mb: LIMIT_MB });
    }
    std::fs::read(path).map_err(unread)
}

/// What `--column` and `--unit` say.
pub fn told(column: &[String], unit: &[String]) -> Result<Mapping, CliError> {
    let mut mapping = Mapping::default();
    column.iter().try_for_each(|c| mapping.set_column(c))?;
    unit.iter().try_for_each(|u| mapping.set_unit(u))?;
    Ok(mapping)
}

/// The file beside a log that says what its columns are.
pub fn mapping_file(log: &Path) -> PathBuf {
    let mut name = log.file_name().unwrap_or_default().to_os_string();
    name.push(".columns.toml");
    log.with_file_name(name)
}

/// What it says.
pub fn beside(log: &Path) -> Result<Mapping, CliError> {
    match std::fs::read_to_string(mapping_file(log)) {
        Ok(text) => Ok(Mapping::parse(&text)?),
        Err(_) => Ok(Mapping::default()),
    }
}

fn kept(log: &Path) -> Note {
    let path = mapping_file(log);
    Note { text: format!("what its columns are is kept in {}", path.display()), instead: None }
}

/// What to know about the line.
fn words(found: &Survey, line: &Line) -> Vec<Note> {
    let mut all = Vec::new();
    let mut add = |text: String| all.push(Note { text, instead: None });
    if found.outline {
        add("positions without times are a map's line, most likely its middle: a driven line is shorter and wider in bends; --line WIDTH approximates one".into());
    }
    if line.left_out > 0 {
        add(format!(
            "{} of {} positions lie more than five standard deviations off the line and are not used",
            line.left_out,
            line.used + line.left_out
        ));
    }
    if line.slope.is_none() {
        add("no heights: the track is flat".into());
    }
    add("positions say nothing of bank and grip: both are left level and dry; a banked bend is quicker than this track has it".into());
    all
}

fn write(
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
            "{} positions in {} runs, {:.2} m noise; curvature known to {:.4} 1/m (one standard deviation, mean).",
            line.used,
            found.runs.len(),
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
) -> Result<unladen_report::picture::Picture, unladen_report::picture::PlotError> {
    let data: Vec<[f64; 2]> = found.runs.iter().flat_map(|r| r.points.iter().copied()).collect();
    let mut s = 0.0;
    let mut pieces = Vec::new();
    for segment in &track.segments {
        pieces.push((s, segment.kappa[0]));
        s += segment.length;
        pieces.push((s, segment.kappa[1]));
    }
    let shown = line.length_m();
    pieces.iter_mut().for_each(|p| p.0 *= shown / s);
    pieces.dedup();
    let origin = format!("from {} positions in {} runs, noise {:.2} m", line.used, found.runs.len(), line.noise_m);
    course_picture(&CoursePlot {
        name,
        origin: &origin,
        closed: line.closed,
        data: &data,
        points: &line.points,
        step_m: line.step_m,
        kappa: &line.kappa,
        kappa_sd: &line.kappa_sd,
        segments: &pieces,
        count: track.segments.len(),
        z: line.z.as_deref(),
    })
}

fn summary(args: &FromArgs, segments: &Path, track: &Track, line: &Line, built: &Built) -> String {
    let tightest = track.segments.iter().flat_map(|s| s.kappa).fold(0.0f64, |a, k| a.max(k.abs()));
    format!(
        "{}: {} of {:.0} m in {} segments, tightest radius {:.1} m\n\
         positions: {} used, noise {:.2} m{}\n\
         curvature: ± {:.5} 1/m (mean standard deviation); the segments differ from the line by {:.5} 1/m (rms)\n\
         written: {} and {}\n",
        track.name,
        if track.closed { "a circuit" } else { "an open course" },
        track.length(),
        track.segments.len(),
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

fn json(track: &Track, line: &Line, built: &Built) -> String {
    format!(
        "{{\"name\": {:?}, \"closed\": {}, \"length_m\": {}, \"segments\": {}, \"noise_m\": {}, \"positions\": {}, \
         \"positions_left_out\": {}, \"curvature_sd_mean_1pm\": {}, \"segments_curvature_rms_1pm\": {}}}\n",
        track.name,
        track.closed,
        track.length(),
        track.segments.len(),
        line.noise_m,
        line.used,
        line.left_out,
        mean(&line.kappa_sd),
        built.kappa_rms
    )
}
