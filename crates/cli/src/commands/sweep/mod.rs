//! `unladen sweep`: a full grid, one lap a cell.

use std::ops::Range;
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use unladen_questions::AskError;
use unladen_questions::sweep::{Axes, Question};
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::sweep::axes::axes;
use unladen_report::sweep::brief::sweep_brief;
use unladen_report::sweep::parts::{part_path, part_text, write_card};
use unladen_report::sweep::rows::SweepRow;
use unladen_report::sweep::text::{PRINTED, SweepSeen, SweepView, sweep_json, sweep_text};
use unladen_report::words::brief::Length;
use unladen_study::sweep::{Grid, Shard};

use crate::args::{InState, Lapping};
use crate::disk::DISK;
use crate::error::{CliError, Output, Usage};
use crate::inputs::scene_of;
use crate::output::{failed, note, same, say, warn};

mod join;
mod plot;
mod progress;
mod sink;
mod surface;

use plot::Drawing;
use progress::Progress;
use sink::Sink;
use surface::Surface;

/// `unladen sweep`.
#[derive(Debug, clap::Args)]
pub struct SweepArgs {
    /// A car: its car.toml, or the folder that holds one
    pub car: PathBuf,
    /// A track: its TOML file
    pub track: PathBuf,
    /// Mass as it laps, with the fuel of the car's file
    #[arg(long, value_name = "FROM..TO:COUNT", help_heading = "What is swept", allow_hyphen_values = true)]
    pub mass: Option<String>,
    /// Height of the centre of gravity as it laps
    #[arg(long, value_name = "FROM..TO:COUNT", help_heading = "What is swept", allow_hyphen_values = true)]
    pub cg_height: Option<String>,
    /// Share of the weight on the front axle: moves the centre of gravity along the car
    #[arg(long, value_name = "FROM..TO:COUNT", help_heading = "What is swept", allow_hyphen_values = true)]
    pub front_share: Option<String>,
    /// Fuel on the track: its mass and its own centre come on top of the above
    #[arg(long, value_name = "FROM..TO:COUNT", help_heading = "What is swept", allow_hyphen_values = true)]
    pub fuel: Option<String>,
    /// The day's grip in place of the track's; 1 dry, about 0.6 wet
    #[arg(long, value_name = "FROM..TO:COUNT", help_heading = "What is swept", allow_hyphen_values = true)]
    pub grip: Option<String>,
    #[command(flatten)]
    pub stands: InState,
    /// Change a value of the car's or the track's file for this run, with its unit, or shift it: KEY+=, KEY-=, KEY*=;
    /// repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// Distance between the solver's stations, about
    #[arg(long, value_name = "METRES", default_value_t = unladen_lap::STEP_M, value_parser = crate::args::step, allow_negative_numbers = true)]
    pub step: f64,
    /// Write a row a cell to this file; Parquet where its name ends in .parquet
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Draw lap time over one axis, a curve for each value of a second, to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// Go on with a sweep that was stopped: the same command again, with this
    #[arg(long, requires = "csv")]
    pub resume: bool,
    /// Compute one part only, the K-th of N: out.csv gets out.K-of-N.csv beside it. Parts need nothing of each other: any
    /// scheduler may run them, on any machine
    #[arg(long, value_name = "K/N", requires = "csv", conflicts_with_all = ["plot", "contours", "json"])]
    pub shard: Option<Shard>,
    /// Make --csv of its parts, which stand beside it: the same bytes as of a sweep in one go
    #[arg(long, requires = "csv", conflicts_with_all = ["shard", "resume"])]
    pub join: bool,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
    /// Draw lines of equal time over the first two swept numbers to this file, .svg or .png; what else is swept is held
    /// at its middle
    #[arg(long, value_name = "FILE")]
    pub contours: Option<PathBuf>,
}

/// Shown with `--help`.
pub const HELP: &str = "Examples:\n  \
    unladen sweep vehicles/saloon-awd tracks/valley.toml --mass 1100kg..1300kg:5\n  \
    unladen sweep vehicles/saloon-awd tracks/valley.toml --mass 1000kg..1300kg:21 --cg-height 420mm..560mm:21 \
    --front-share 0.45..0.60:21 --csv out.csv --contours out.svg\n\
    Stopped with Ctrl-C, that goes on where it was with --resume. With --shard 3/8 the third of eight parts is computed, \
    by whichever machine, and with --join the table is made of all eight.";

/// More cells than this are not swept.
const MOST_CELLS: u64 = 10_000_000;
/// Cells that are worked on together: rows are written in their order, this many at a time.
const PIECE: u64 = 256;

impl SweepArgs {
    fn question(&self) -> Result<Question, CliError> {
        let (stands, set) = (self.stands.clone(), self.set.clone());
        let lapping = Lapping { stands, set, grip: None, step: self.step };
        let (mass, cg_height, fuel) = (self.mass.clone(), self.cg_height.clone(), self.fuel.clone());
        let axes = Axes { mass, cg_height, front_share: self.front_share.clone(), fuel, grip: self.grip.clone() };
        Ok(Question { scene: scene_of(&self.car, vec![(self.track.clone(), 1.0)], &lapping)?, axes })
    }
}

/// Laps every cell.
pub fn run(args: &SweepArgs, length: Length) -> Result<ExitCode, CliError> {
    let ready = args.question()?.read(&DISK).map_err(failed)?;
    warn(&ready.warnings);
    let (car, track, grid) = (&ready.car, &ready.track, &ready.grid);
    let words = axes(grid);
    let path = args.csv.as_ref().map(|table| match args.shard {
        Some(shard) if !table.exists() || table.is_file() => part_path(table, shard),
        _ => table.clone(),
    });
    if let Some(path) = &path {
        sink::check(path)?;
    }
    let mut surface = match &args.contours {
        Some(path) => {
            check_plot(path)?;
            if [&args.csv, &args.plot].into_iter().flatten().any(|other| same(other, path)) {
                return Err(Usage::SameOutput { path: path.clone() }.into());
            }
            Some(Surface::of(grid)?)
        }
        None => None,
    };
    if let Some(path) = &args.plot {
        check_plot(path)?;
    }
    if args.plot.is_some() && args.plot == args.csv {
        return Err(Usage::SameOutput { path: args.plot.clone().unwrap_or_default() }.into());
    }
    let drawing = args.plot.as_ref().map(|_| Drawing::of(grid)).transpose()?;
    let course = ready.course().map_err(AskError::from)?;
    let sweep = ready.sweep(&course);
    let start = Instant::now();
    let reference = sweep.reference().map_err(AskError::from)?;
    let range = affordable(grid, args, start.elapsed())?;
    let cells = range.end - range.start;

    let stands = SweepRow::of(&sweep.standing(&reference), &reference);
    let mut seen = SweepSeen { kept: if drawing.is_some() { cells as usize } else { PRINTED }, ..SweepSeen::default() };
    // Counted from the first cell of this part.
    let expected =
        |cell: u64| (cell < cells).then(|| SweepRow::new(&sweep.setting(range.start + cell), Err(String::new())));
    let again = |cell: u64| {
        let cell = range.start + cell;
        sweep.cells(cell..cell + 1, &|| true).first().map(|c| SweepRow::of(c, &reference))
    };
    let question = |shard| sink::question(&ready, &words, shard);
    let mut sink = match &path {
        Some(path) => Some(Sink::open(path, &question(args.shard), args.resume, &expected, &again, &mut seen)?),
        None => None,
    };
    if args.resume && sink.is_some() {
        note(&format!("note: {} of {cells} cells were done already\n", seen.cells));
    }
    stop_when_asked();
    let progress = Progress::start(cells, seen.cells);
    let mut kept = |rows: Vec<SweepRow>, seen: &mut SweepSeen, sink: &mut Option<Sink>| -> Result<(), CliError> {
        if let Some(sink) = sink {
            sink.append(&rows)?;
        }
        if let Some(surface) = &mut surface {
            (seen.cells..).zip(&rows).for_each(|(cell, row)| surface.see(cell, row));
        }
        rows.iter().for_each(|row| seen.see(row));
        Ok(())
    };
    if let Some(table) = args.csv.as_ref().filter(|_| args.join) {
        let due = join::Due { cells, question: &|shard| question(Some(shard)), expected: &expected, again: &again };
        let joined = join::parts(table, &due, &mut |rows| kept(rows, &mut seen, &mut sink));
        if let Err(error) = joined {
            // Nothing was computed that could be lost.
            sink.map_or(Ok(()), Sink::drop_rows)?;
            return Err(error);
        }
    }
    while seen.cells < cells {
        let (from, to) = (range.start + seen.cells, range.start + (seen.cells + PIECE).min(cells));
        let go_on = || {
            let on = !STOP.load(Ordering::Relaxed);
            if on {
                progress.one();
            }
            on
        };
        let rows: Vec<SweepRow> =
            sweep.cells(from..to, &go_on).iter().map(|cell| SweepRow::of(cell, &reference)).collect();
        kept(rows, &mut seen, &mut sink)?;
        if range.start + seen.cells < to {
            progress.clear();
            return Err(Output::Stopped { done: seen.cells, of: cells, kept: sink.and_then(|s| s.kept()) }.into());
        }
    }
    progress.clear();
    if let (Some(shard), Some(table)) = (args.shard, &args.csv) {
        let file = matches!(sink, Some(Sink::File(..)));
        // First what its rows answer: killed in between there is no part without it.
        if let Some(path) = path.as_ref().filter(|_| file) {
            write_card(path, &question(Some(shard)))?;
        }
        sink.map_or(Ok(()), Sink::finish)?;
        let all = grid.cells().unwrap_or(range.end);
        if file {
            say(&part_text(table, shard, range, all))?;
        }
        return Ok(ExitCode::SUCCESS);
    }
    if let Some(sink) = sink {
        sink.finish()?;
    }
    if let (Some(path), Some(surface)) = (&args.contours, &mut surface) {
        let now = [car.mass.m, car.mass.h];
        save_plot(path, || surface.picture(&sweep, &ready.name, now, reference.lap_time))?;
    }
    let view = SweepView {
        car: &ready.name,
        state: &ready.state,
        track: &track.name,
        length_m: track.length(),
        axes: &words,
        reference: &stands,
        seen: &seen,
        fuel: grid.fuel.is_some(),
    };
    if let (Some(path), Some(drawing)) = (&args.plot, &drawing) {
        save_plot(path, || drawing.picture(&sweep, &view))?;
    }
    say(&match length {
        _ if args.json => sweep_json(&view)?,
        Length::Brief => sweep_brief(&view),
        Length::Whole => sweep_text(&view),
    })?;
    Ok(ExitCode::SUCCESS)
}

/// Which cells, where they are not too many. `one` is what one lap took.
fn affordable(grid: &Grid, args: &SweepArgs, one: Duration) -> Result<Range<u64>, CliError> {
    let shard = args.shard;
    let range = grid.cells().map(|all| shard.map_or(0..all, |shard| shard.range(all)));
    match (range, shard) {
        (Some(range), Some(shard)) if range.is_empty() => {
            Err(Usage::NoCells { shard, cells: grid.cells().unwrap_or(0) }.into())
        }
        // What is joined was computed.
        (Some(range), _) if args.join || range.end - range.start <= MOST_CELLS => Ok(range),
        (range, _) => {
            let cells = range.map(|range| range.end - range.start);
            let days = cells.map(|n| n as f64 * one.as_secs_f64() / rayon::current_num_threads() as f64 / 86_400.0);
            Err(Usage::TooManyCells { cells, days, most: MOST_CELLS }.into())
        }
    }
}

static STOP: AtomicBool = AtomicBool::new(false);

/// Ctrl-C once: the cells under way are finished and kept. Twice: at once.
fn stop_when_asked() {
    // Where no handler can be set, the run is ended as any other, and what was written goes on with --resume too.
    let _ = ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
    });
}
