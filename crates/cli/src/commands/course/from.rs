//! `unladen course from`.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_garage::argument::{CURVATURE, NOISE, POSITION};
use unladen_garage::log::Note;
use unladen_garage::{argument, name};
use unladen_positions::Tolerance;
use unladen_questions::course::from::{Question, Width};
use unladen_report::course::brief::made_brief;
use unladen_report::course::drawn::made;
use unladen_report::course::json::course_json;
use unladen_report::course::text::made_text;
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::files::pair::Pair;
use unladen_report::files::write::replace_whole;
use unladen_report::words::brief::Length;

use super::told;
use crate::disk::DISK;
use crate::error::{CliError, Usage};
use crate::output::{failed, note, say, unmade};
use crate::progress::Working;

/// `unladen course from`.
#[derive(Debug, clap::Args)]
pub struct FromArgs {
    /// Files of positions: GPX, GeoJSON, KML, a receiver's NMEA sentences, or CSV
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// The track's file; its segments go into a CSV beside it
    #[arg(long, value_name = "FILE.toml")]
    pub out: PathBuf,
    /// What the track is called
    #[arg(long, value_parser = name)]
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
    #[arg(long, value_name = "METRES", allow_negative_numbers = true, value_parser = |t: &str| argument(t, NOISE))]
    pub noise: Option<f64>,
    /// Standard deviation of a height, m; left out, found from the heights
    #[arg(long, value_name = "METRES", allow_negative_numbers = true, value_parser = |t: &str| argument(t, NOISE))]
    pub height_noise: Option<f64>,
    /// How far the segments' curvature may be from the line's before they are brought to it, 1/m; a standard deviation
    /// of the line's curvature is always allowed
    #[arg(long, value_name = "1/M", default_value_t = Tolerance::default().kappa, allow_negative_numbers = true, value_parser = |t: &str| argument(t, CURVATURE))]
    pub tolerance: f64,
    /// Name a corner or a straight at a place; repeatable. Named points of the files are used too
    #[arg(long, value_name = "NAME=LAT,LON", value_parser = named, allow_hyphen_values = true)]
    pub place: Vec<(String, [f64; 2])>,
    /// The line of least curvature within a road this wide about the positions, or within the file's width columns, in
    /// place of the positions' own: an approximation of a driven line
    #[arg(long, value_name = "WIDTH_METRES|columns", value_parser = width)]
    pub line: Option<Width>,
    /// The bank of a stretch, metres from the start line and degrees, right side up +: helps a left turn; repeatable.
    /// Positions don't show it
    #[arg(long, value_name = "FROM..TO=DEGREES", value_parser = bank, allow_hyphen_values = true)]
    pub bank: Vec<[f64; 3]>,
    /// Which column of a CSV holds what, by its name or its number, or `none`; repeatable
    #[arg(long, value_name = "WHAT=COLUMN")]
    pub column: Vec<String>,
    /// The unit of a column, with a minus before it to turn the column round; repeatable
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

fn pair(text: &str) -> Result<[f64; 2], String> {
    let parts: Vec<f64> = text.split(',').map_while(|p| argument(p, POSITION).ok()).collect();
    parts.try_into().map_err(|_| "two numbers with a comma between are due, for example 52.0718,-1.0143".into())
}

fn named(text: &str) -> Result<(String, [f64; 2]), String> {
    let (given, at) =
        text.rsplit_once('=').ok_or("a name, `=` and a place are due, for example Hairpin=52.0718,-1.0143")?;
    Ok((name(given)?, pair(at)?))
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

/// Makes the track.
pub fn run(args: &FromArgs, length: Length) -> Result<ExitCode, CliError> {
    let segments = args.out.with_extension("csv");
    if args.out.extension().is_none_or(|e| !e.eq_ignore_ascii_case("toml")) {
        return Err(Usage::TrackName { path: args.out.clone() }.into());
    }
    if args.files.iter().any(|f| same(f, &segments) || same(f, &args.out)) {
        return Err(Usage::OverLog { path: segments }.into());
    }
    let spare = args.out.with_extension("remade.csv");
    let pair = Pair { naming: &args.out, named: &segments, spare: &spare };
    pair.check()?;
    if let Some(plot) = &args.plot {
        check_plot(plot)?;
    }
    let ready = question(args)?.read(&DISK).map_err(failed)?;
    let working = Working::on("drawing the line through the positions");
    let answer = ready.answer().map_err(unmade)?;
    drop(working);
    let picture = args.plot.as_ref().map(|plot| (plot, made(&answer)));
    let (track, columns) = answer.writes.split_at(2);
    pair.write(|named| answer.text(named), &track[0].bytes)?;
    if let Some((plot, picture)) = picture {
        save_plot(plot, || picture)?;
    }
    for write in columns {
        replace_whole(&write.path, write.read.as_deref(), &write.bytes)?;
    }
    if args.json {
        return say(&course_json(&answer)?).map(|()| ExitCode::SUCCESS);
    }
    answer.notes.iter().for_each(|n| note(&format!("{n}\n")));
    if args.car.is_none() && args.line.is_none() {
        let text = "--car CAR says how well lap time on this course is known".into();
        note(&format!("{}\n", Note { text, instead: None }));
    }
    say(&if length == Length::Brief { made_brief(&answer) } else { made_text(&answer) })?;
    Ok(ExitCode::SUCCESS)
}

fn question(args: &FromArgs) -> Result<Question, CliError> {
    Ok(Question {
        files: args.files.clone(),
        out: args.out.clone(),
        name: args.name.clone(),
        start: args.start,
        closed: if args.open { Some(false) } else { args.closed.then_some(true) },
        noise_m: args.noise,
        height_noise_m: args.height_noise,
        tolerance_1pm: args.tolerance,
        places: args.place.clone(),
        line: args.line,
        banks: args.bank.clone(),
        told: told(&args.column, &args.unit)?,
        car: args.car.clone(),
    })
}

fn same(a: &Path, b: &Path) -> bool {
    a == b || matches!((a.canonicalize(), b.canonicalize()), (Ok(a), Ok(b)) if a == b)
}
