//! `unladen course check` and `unladen course draw`: a track looked over, and its picture.

use std::path::PathBuf;
use std::process::ExitCode;

use unladen_garage::{Overrides, TrackFile, read_track, self_crossings};
use unladen_report::course::picture::{CoursePlot, course_picture};
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::lap::place::{Place, places};
use unladen_report::words::number::{distance, fixed};
use unladen_report::words::table::{Align, Table, paragraph, printable};
use unladen_track::Track;

use super::out::pieces;
use crate::commands::check::of_track;
use crate::error::CliError;
use crate::output::{complain, say, warn};

/// `unladen course check`.
#[derive(Debug, clap::Args)]
pub struct CheckArgs {
    /// Tracks: their TOML files
    #[arg(required = true)]
    pub tracks: Vec<PathBuf>,
}

/// `unladen course draw`.
#[derive(Debug, clap::Args)]
pub struct DrawArgs {
    /// A track: its TOML file
    pub track: PathBuf,
    /// The picture, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: PathBuf,
}

/// Reads each track and says what it finds.
pub fn check(args: &CheckArgs) -> Result<ExitCode, CliError> {
    let mut faulty = false;
    for (i, path) in args.tracks.iter().enumerate() {
        match read_track(path, &Overrides::none(), None) {
            Ok(file) => {
                say(&format!("{}{}", if i > 0 { "\n" } else { "" }, looked_over(&file)))?;
                warn(&file.warnings);
            }
            Err(errors) => {
                faulty = true;
                complain(&CliError::Files(vec![errors]));
            }
        }
    }
    Ok(ExitCode::from(if faulty { 2 } else { 0 }))
}

/// Distance between points of the plan, m.
const PLAN: f64 = 2.0;

fn looked_over(file: &TrackFile) -> String {
    let mut numbered = file.track.clone();
    numbered.number_corners();
    let track = &numbered;
    let mut out = paragraph(&of_track(file));
    let places = places(track);
    if places.is_empty() {
        out += "It has no corner, and no straight has a name.\n";
    } else {
        let heads = [
            ("place", Align::Left),
            ("from, m", Align::Point),
            ("length, m", Align::Point),
            ("turns, °", Align::Point),
            ("least radius, m", Align::Point),
            ("grade, %", Align::Point),
        ];
        let mut table = Table::new(&heads);
        places.iter().for_each(|p| table.row(&row(track, p)));
        out += &format!("\n{}\n", table.text(2));
    }
    for words in [jumps(track), crossing(track)].into_iter().flatten() {
        out += &paragraph(&words);
    }
    out
}

fn row(track: &Track, place: &Place) -> [String; 6] {
    let mut s = 0.0;
    let (mut kappa, mut rise, mut length) = (0.0f64, 0.0, 0.0);
    for g in &track.segments {
        if g.place.as_deref().map(str::trim) == Some(place.name.as_str()) {
            kappa = kappa.max(g.kappa[0].abs()).max(g.kappa[1].abs());
            rise += 0.5 * (g.q[0] + g.q[1]) * g.length;
            length += g.length;
        }
        s += g.length;
    }
    debug_assert!(s > 0.0);
    [
        printable(&place.name),
        fixed(place.start_m, 0),
        fixed(place.length_m, 0),
        fixed(place.turning_rad.to_degrees(), 0),
        if kappa > 1e-4 { fixed(1.0 / kappa, 1) } else { "straight".into() },
        fixed(100.0 * rise / length.max(1e-9), 1),
    ]
}

/// A jump of curvature by more than this is worth a word, 1/m.
const JUMP: f64 = 0.005;

fn jumps(track: &Track) -> Option<String> {
    let mut at = Vec::new();
    let mut s = 0.0;
    let n = track.segments.len();
    for (i, g) in track.segments.iter().enumerate() {
        s += g.length;
        let next = if i + 1 < n { track.segments.get(i + 1) } else { track.segments.first().filter(|_| track.closed) };
        if next.is_some_and(|next| (next.kappa[0] - g.kappa[1]).abs() > JUMP) {
            at.push(distance(if i + 1 < n { s } else { 0.0 }));
        }
    }
    let more = at.len().saturating_sub(6);
    let list = at.iter().take(6).cloned().collect::<Vec<_>>().join(", ");
    let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
    (!at.is_empty()).then(|| {
        format!("Curvature jumps at {list}{rest}. No car turns in at once: laps are a little slow there; a transition of 10 to 20 m is more like a driven line.")
    })
}

fn crossing(track: &Track) -> Option<String> {
    let points: Vec<[f64; 2]> = track.outline(PLAN).iter().map(|p| [p.x, p.y]).collect();
    let (a, b) = *self_crossings(&points, track.length() / (points.len() as f64 - 1.0)).first()?;
    let (a, b) = (distance(a), distance(b));
    Some(format!("It crosses itself, at {a} and {b}: right for a bridge or a figure of eight, else a mistake."))
}

/// Draws it.
pub fn draw(args: &DrawArgs) -> Result<ExitCode, CliError> {
    check_plot(&args.plot)?;
    let file = read_track(&args.track, &Overrides::none(), None).map_err(|e| CliError::Files(vec![e]))?;
    warn(&file.warnings);
    let track = &file.track;
    let mut outline = track.outline(PLAN);
    if track.closed {
        outline.pop();
    }
    let n = outline.len();
    let step_m = track.length() / if track.closed { n as f64 } else { n as f64 - 1.0 };
    let points: Vec<[f64; 2]> = outline.iter().map(|p| [p.x, p.y]).collect();
    let kappa: Vec<f64> = outline.iter().map(|p| track.kappa_at(p.s)).collect();
    let z: Vec<f64> = outline.iter().map(|p| p.z).collect();
    let flat = z.iter().all(|h| (h - z[0]).abs() < 0.05);
    let plot = CoursePlot {
        name: &track.name,
        origin: if track.closed { "a circuit" } else { "an open course" },
        closed: track.closed,
        data: &[],
        places: &places(track),
        points: &points,
        step_m,
        kappa: &kappa,
        kappa_sd: &vec![0.0; n],
        segments: &pieces(track),
        count: track.segments.len(),
        z: (!flat).then_some(&z[..]),
    };
    save_plot(&args.plot, || course_picture(&plot))?;
    say(&format!("written: {}\n", args.plot.display()))?;
    Ok(ExitCode::SUCCESS)
}
