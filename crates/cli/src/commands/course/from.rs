//! `unladen course from`.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_garage::log::{Note, point_at};
use unladen_garage::{Ask, Overrides, Survey, SurveyError, look_at, read_car, survey_telling};
use unladen_positions::{Line, Tolerance, Wish};
use unladen_report::draw::picture::check_plot;
use unladen_report::files::write::{check_destination, write_whole};
use unladen_study::course::doubt::course_doubt;
use unladen_track::Track;

use super::{beside, mapping_file, out, read, told};
use crate::error::CliError;
use crate::inputs::car_file;
use crate::output::{note, say};

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
    /// Name a corner or a straight at a place; repeatable. Named points of the files are used too
    #[arg(long, value_name = "NAME=LAT,LON", value_parser = named, allow_hyphen_values = true)]
    pub place: Vec<(String, [f64; 2])>,
    /// The line of least curvature within a road this wide about the positions, or within the file's width columns, in place of the
    /// positions' own: an approximation of a driven line
    #[arg(long, value_name = "WIDTH_METRES|columns", value_parser = width)]
    pub line: Option<Width>,
    /// The bank of a stretch, metres from the start line and degrees, right side up +: helps a left turn; repeatable. Positions don't show it
    #[arg(long, value_name = "FROM..TO=DEGREES", value_parser = bank, allow_hyphen_values = true)]
    pub bank: Vec<[f64; 3]>,
    /// Which column of a CSV holds what; repeatable
    #[arg(long, value_name = "WHAT=COLUMN")]
    pub column: Vec<String>,
    /// The unit of a column; repeatable
    #[arg(long, value_name = "WHAT=UNIT")]
    pub unit: Vec<String>,
    /// Say what lap time of this car on the course is worth: how far it may be off by what the positions leave open
    #[arg(long, value_name = "CAR", conflicts_with = "line")]
    pub car: Option<PathBuf>,
    /// Draw to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
}

/// The road that a line of least curvature has.
#[derive(Clone, Copy, Debug)]
pub enum Width {
    /// m, half of it to each side of the positions.
    Even(f64),
    /// As the file's columns have it.
    Columns,
}

/// A made course's length is known to about this, m: a bank may be said to end so far behind it.
const NEAR_END: f64 = 5.0;
/// Lines that are lapped to say what a lap time is worth.
const LINES: usize = 32;
/// From a position at the road's edge a car's middle stays away by this, m: half a car, and a hand. Judgement.
const HALF_CAR: f64 = 1.0;

fn pair(text: &str) -> Result<[f64; 2], String> {
    let parts: Vec<f64> = text.split(',').map_while(|p| p.trim().parse().ok()).collect();
    parts.try_into().map_err(|_| "two numbers with a comma between are due, for example 52.0718,-1.0143".into())
}

fn named(text: &str) -> Result<(String, [f64; 2]), String> {
    let (name, at) =
        text.rsplit_once('=').ok_or("a name, `=` and a place are due, for example Hairpin=52.0718,-1.0143")?;
    Ok((name.trim().into(), pair(at)?))
}

fn bank(text: &str) -> Result<[f64; 3], String> {
    let parts = text.split_once("..").and_then(|(from, rest)| {
        let (to, degrees) = rest.split_once('=')?;
        let number = |t: &str| t.trim().parse().ok().filter(|x: &f64| x.is_finite());
        Some([number(from)?, number(to)?, number(degrees)?])
    });
    parts.filter(|b| b[0] >= 0.0 && b[1] >= 0.0 && b[0] != b[1] && b[2].abs() <= 60.0).ok_or_else(|| {
        "two distances in m with .. between, = and up to 60 degrees are due, for example 120..310=4.5".into()
    })
}

fn width(text: &str) -> Result<Width, String> {
    if text.trim().eq_ignore_ascii_case("columns") {
        return Ok(Width::Columns);
    }
    let number: Result<f64, _> = text.trim().trim_end_matches('m').trim().parse();
    let sound = number.ok().filter(|w| (0.5..=50.0).contains(w)).map(Width::Even);
    sound.ok_or_else(|| "a width from 0.5 to 50 m is due, what is left beside the car; or the word columns".into())
}

/// Makes the track; where it can't, says what it took the files for.
pub fn run(args: &FromArgs) -> Result<ExitCode, CliError> {
    let mut told = Vec::new();
    let made = make(args, &mut told);
    if made.is_err() {
        told.iter().for_each(|n| note(&format!("{n}\n")));
    }
    made
}

fn make(args: &FromArgs, told_of: &mut Vec<Note>) -> Result<ExitCode, CliError> {
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
    let car = args.car.as_ref().map(|car| read_car(car_file(car), &Overrides::default())).transpose();
    let car = car.map_err(|e| CliError::Files(vec![e]))?;
    let files =
        args.files.iter().map(|f| Ok((f.display().to_string(), read(f)?))).collect::<Result<Vec<_>, CliError>>()?;
    let told = told(&args.column, &args.unit)?;
    let mappings =
        args.files.iter().map(|f| Ok(beside(f)?.overridden_by(&told))).collect::<Result<Vec<_>, CliError>>()?;
    let closed = if args.open { Some(false) } else { args.closed.then_some(true) };
    let ask = Ask { closed, start: args.start, mappings };
    let found = survey_telling(&files, &ask, told_of).map_err(|e| at_cell(e, &files))?;
    let wish = Wish { closed: found.closed, noise_m: args.noise, height_noise_m: args.height_noise };
    let line = Line::through_at_least(&found.runs, wish, found.least_noise)?;
    let mut notes = found.notes.clone();
    if wish.noise_m.is_none() && line.noise_m == found.least_noise.1 {
        let text = format!(
            "the positions show hardly any noise, as copies and smoothed ones do: {:.2} m are taken",
            line.noise_m
        );
        notes.push(Note { text, instead: Some("--noise METRES".into()) });
    }
    notes.extend(look_at(&line)?);
    let line = match args.line {
        Some(width) => {
            let room = room(width, &line, &found, args)?;
            line.least_curved(&room.0, &room.1)?
        }
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
    let mut track = track;
    for &[from, to, degrees] in &args.bank {
        let length_m = track.length();
        if from.max(to) > length_m + NEAR_END || (from > to && !track.closed) {
            return Err(CliError::BankOff { from, to, length_m });
        }
        track.bank(from.min(length_m), to.min(length_m), degrees.to_radians());
    }
    let places = named_places(args, &found);
    notes.extend(out::name(&mut track, &line, &places));
    let numbered = track.number_corners();
    if numbered > 0 {
        let text = format!("{numbered} corners without a name have numbers");
        notes.push(Note { text, instead: Some("--place NAME=LAT,LON".into()) });
    }
    if let Some(fault) = track.check().into_iter().next().or(track.check_closed().err()) {
        return Err(CliError::Course { fault });
    }
    out::write(args, &segments, &name, &found, &line, &track)?;
    for (i, mapping) in &found.mappings {
        write_whole(&mapping_file(&args.files[*i]), mapping.text().as_bytes())?;
    }
    notes.extend(found.mappings.iter().map(|(i, _)| kept(&args.files[*i])));
    notes.extend(words(&found, &line, !args.bank.is_empty()));
    if args.car.is_none() && args.line.is_none() {
        let text = "--car CAR says how well lap time on this course is known";
        notes.push(Note { text: text.into(), instead: None });
    }
    if args.line.is_some() {
        let text = "the line of least curvature on the road given: an approximation; the quickest line brakes later and is a little tighter";
        notes.push(Note { text: text.into(), instead: None });
    }
    let doubt = car.as_ref().and_then(|car| course_doubt(&car.car, &track, &line, LINES));
    if car.is_some() && doubt.is_none() {
        let text = "this car can't lap the course: what its lap time is worth is left out";
        notes.push(Note { text: text.into(), instead: None });
    }
    if args.json {
        return say(&out::json(&track, &line, &built, doubt.as_ref())?).map(|()| ExitCode::SUCCESS);
    }
    notes.iter().for_each(|n| note(&format!("{n}\n")));
    say(&out::summary(args, &segments, &track, &line, &built))?;
    if let (Some(car), Some(doubt)) = (&car, &doubt) {
        say(&out::worth(&car.name, doubt))?;
    }
    Ok(ExitCode::SUCCESS)
}

/// A log's fault at its cell.
pub fn at_cell(error: SurveyError, files: &[(String, Vec<u8>)]) -> CliError {
    match error {
        SurveyError::Log { file, what } => {
            let bytes = files.iter().find(|f| f.0 == file).map_or(&[][..], |f| &f.1);
            CliError::Log(point_at(&file, bytes, what))
        }
        other => other.into(),
    }
}

/// How far the line may go to the left and to the right at each node.
fn room(width: Width, line: &Line, found: &Survey, args: &FromArgs) -> Result<(Vec<f64>, Vec<f64>), CliError> {
    let n = line.points.len();
    match width {
        Width::Even(w) => Ok((vec![0.5 * w; n], vec![0.5 * w; n])),
        Width::Columns if found.widths.is_empty() => Err(CliError::NoWidths { path: args.files[0].clone() }),
        Width::Columns => {
            let near = |p: &[f64; 2]| {
                let off = |w: &[f64; 4]| (w[0] - p[0]).hypot(w[1] - p[1]);
                let all = found.widths.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
                all.map_or((0.0, 0.0), |w| ((w[2] - HALF_CAR).max(0.05), (w[3] - HALF_CAR).max(0.05)))
            };
            Ok(line.points.iter().map(near).unzip())
        }
    }
}

/// Named points: of the command line, then of the files.
fn named_places(args: &FromArgs, found: &Survey) -> Vec<(String, [f64; 2])> {
    let xy = |[a, b]: [f64; 2]| found.plane.map_or([a, b], |p| p.to_xy(a, b));
    let told = args.place.iter().map(|(name, at)| (name.clone(), xy(*at)));
    told.chain(found.places.iter().cloned()).collect()
}

fn stem(path: &Path) -> String {
    path.file_stem().map_or("course".into(), |s| s.to_string_lossy().into_owned())
}

fn same(a: &Path, b: &Path) -> bool {
    a == b || matches!((a.canonicalize(), b.canonicalize()), (Ok(a), Ok(b)) if a == b)
}

fn kept(log: &Path) -> Note {
    let path = mapping_file(log);
    Note { text: format!("what its columns are is kept in {}", path.display()), instead: None }
}

/// What to know about the line.
fn words(found: &Survey, line: &Line, banked: bool) -> Vec<Note> {
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
    if banked {
        add("grip: dry, for positions say nothing of it".into());
    } else {
        add("positions say nothing of bank and grip: both are left level and dry; a banked bend is quicker than this track has it".into());
        add("--bank FROM..TO=DEGREES gives a bend its bank; a logged lateral acceleration does not, for the car's own roll of some degrees looks the same as a bank".into());
    }
    all
}
