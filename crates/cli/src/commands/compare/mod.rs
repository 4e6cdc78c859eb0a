//! `unladen compare`: two builds of a car.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_garage::{CarFile, Ledger, Overrides, TrackFile, read_ledger, read_track};
use unladen_lap::STEP_M;
use unladen_report::compare::crossover::crossover_picture;
use unladen_report::compare::json::{compare_csv, compare_json, map_csv};
use unladen_report::compare::text::{CompareView, Day, LETTERS, Map, compare_text};
use unladen_report::draw::picture::{Picture, PlotError};
use unladen_report::files::write::write_whole;
use unladen_report::pair::of_days;
use unladen_study::compare::builds::{Builds, Compared, Doubt, compare, doubts, part_doubt, place};
use unladen_study::compare::crossover::{crossover, over_grip, over_power};
use unladen_study::ledger::budget::own_sd;
use unladen_study::ledger::reset::WET;
use unladen_study::retune::Reach;
use unladen_track::Track;
use unladen_vehicle::Car;
use unladen_vehicle::entry::State;

use crate::args::{Run, step};
use crate::commands::moving::Chance;
use crate::error::CliError;
use crate::inputs::{Inputs, read, uncertain, weighted};
use crate::output::{check_outputs, deliver};
use crate::roads::{Roads, mixed};
use crate::stack::stacked;
use crate::standing::ledger_file;

mod given;

use given::{GRIPS, POWERS, grip_list, points};

/// `unladen compare`.
#[derive(Debug, clap::Args)]
pub struct CompareArgs {
    /// The car to compare with, A: its car.toml, or the folder that holds one
    pub first: PathBuf,
    /// The other one, B
    pub second: PathBuf,
    /// Tracks: their TOML files, each with a weight in the mix if it is not 1
    #[arg(required = true, value_name = "TRACK[=WEIGHT]")]
    pub tracks: Vec<String>,
    /// The days' grip in place of the tracks' own; left out, dry as in their files and wet at 0.6 of it
    #[arg(long, value_name = "FACTOR,FACTOR…", allow_hyphen_values = true)]
    pub grip: Option<String>,
    /// Change a value of both cars or of the tracks for this run, with its unit; repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// Change a value of the second car only; repeatable
    #[arg(long, value_name = "KEY=VALUE")]
    pub set_second: Vec<String>,
    /// Take an unknown that both files give alike as two: what is off in one car is not off in the other; a key or the
    /// beginning of several; repeatable
    #[arg(long, value_name = "KEY")]
    pub apart: Vec<String>,
    /// Torque of both engines on the crossover map: from, to, points
    #[arg(long, value_name = "FROM..TO:N", default_value = POWERS)]
    pub map_power: String,
    /// Grip on the crossover map
    #[arg(long, value_name = "FROM..TO:N", default_value = GRIPS)]
    pub map_grip: String,
    /// Write the crossover map to this file
    #[arg(long, value_name = "FILE")]
    pub map_csv: Option<PathBuf>,
    #[command(flatten)]
    pub chance: Chance,
    /// Distance between the solver's stations, about
    #[arg(long, value_name = "METRES", default_value_t = STEP_M, value_parser = step, allow_negative_numbers = true)]
    pub step: f64,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
    /// Write both laps station by station, and the gap between them, to this file
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Draw to this file, .svg or .png: the crossover map, and of each day and track the laps and a map of where time is
    /// gained and lost
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
}

/// Shown with `--help`.
pub const HELP: &str = "Example, all-wheel drive against the same car made rear-drive, in the dry and in the wet:\n  \
    unladen compare vehicles/saloon-awd vehicles/saloon-rwd tracks/airfield.toml --grip 1.0,0.6 --plot crossover.svg\n\
    One change to one car:  unladen compare my-car my-car tracks/airfield.toml --set-second driveline.rear_bias=3";

impl CompareArgs {
    /// As `unladen compare FIRST SECOND TRACK…` without more.
    pub fn plain(first: PathBuf, second: PathBuf, tracks: Vec<String>, run: Run) -> Self {
        Self {
            first,
            second,
            tracks,
            grip: run.grip.map(|grip| grip.to_string()),
            set: run.set,
            set_second: Vec::new(),
            apart: Vec::new(),
            map_power: POWERS.into(),
            map_grip: GRIPS.into(),
            map_csv: None,
            chance: Chance::default(),
            step: run.step,
            json: false,
            csv: None,
            plot: None,
        }
    }

    /// What laps have in common, with these values set.
    fn lapping(&self, set: Vec<String>) -> Run {
        let (csv, plot) = (self.csv.clone(), self.plot.clone());
        Run { set, grip: None, step: self.step, json: self.json, csv, plot }
    }
}

/// Compares them.
pub fn run(args: &CompareArgs) -> Result<ExitCode, CliError> {
    let run = args.lapping(args.set.clone());
    check_outputs(&run)?;
    check_outputs(&Run { csv: args.map_csv.clone(), ..args.lapping(Vec::new()) })?;
    if let (Some(csv), Some(map)) = (&args.csv, &args.map_csv)
        && csv == map
    {
        return Err(CliError::SameOutput { path: csv.clone() });
    }
    compared(args, |view, roads| {
        let printed = if args.json { compare_json(view)? } else { compare_text(view) };
        if let Some(path) = &args.map_csv {
            write_whole(path, map_csv(view.map)?.as_bytes())?;
        }
        deliver(&run, || Ok(compare_csv(view)?), || pictures(view, roads), || Ok(printed))
    })?;
    Ok(ExitCode::SUCCESS)
}

/// Compares, and hands over what was found, with the tracks.
pub fn compared<R>(
    args: &CompareArgs,
    then: impl FnOnce(&CompareView, &[&Track]) -> Result<R, CliError>,
) -> Result<R, CliError> {
    let run = args.lapping(args.set.clone());
    let powers = points(&args.map_power, POWERS)?;
    let grips = points(&args.map_grip, GRIPS)?;
    let wanted = args.grip.as_deref().map(grip_list).transpose()?;
    let named = args.tracks.iter().map(|given| weighted(given)).collect::<Result<Vec<_>, _>>()?;
    let second = args.lapping(args.set.iter().chain(&args.set_second).cloned().collect());
    let (a, b) = both(read(&args.first, &named, &run), read(&args.second, &[], &second))?;
    let overrides = Overrides::parse(&run.set).map_err(|e| CliError::Files(vec![e]))?;
    let days = days(&a, &named, &overrides, wanted.as_deref())?;

    let cars = [&a.car.car, &b.car.car];
    let mut names = [a.car.name.clone(), b.car.name.clone()];
    if names[0] == names[1] {
        names = [format!("{} (first)", names[0]), format!("{} (second)", names[1])];
    }
    let inputs = [&a, &b].map(|i| uncertain(&i.car.uncertainties));
    let known = || inputs.iter().flatten().map(|input| input.key.as_str());
    if let Some(given) = args.apart.iter().find(|a| a.is_empty() || !known().any(|key| key.starts_with(a.as_str()))) {
        let all: std::collections::BTreeSet<&str> = known().collect();
        let known = all.into_iter().collect::<Vec<_>>().join(", ");
        return Err(CliError::Apart { given: given.clone(), known });
    }
    let mut doubts = doubts(cars, [&inputs[0], &inputs[1]], LETTERS, &args.apart);
    let ledger = ledger(&args.first, &args.second, [&a.car, &b.car], cars[1], &mut doubts)?;
    let reach = [&a.car, &b.car].map(reach);
    let builds = Builds { cars, reach, doubts: &doubts, sampling: args.chance.sampling() };

    let mut found: Vec<(String, f64, [f64; 2], Compared)> = Vec::new();
    let mut over = Vec::new();
    let mut map = None;
    for (name, tracks) in &days {
        let roads = Roads::new(tracks, args.step)?;
        let legs = roads.legs();
        let compared = compare(&builds, &legs, &roads.coarse())?;
        let total: f64 = tracks.iter().map(|(_, w)| w).sum();
        let grip = tracks.iter().map(|(t, w)| t.track.grip * w).sum::<f64>() / total;
        let error = compared.as_set.error_s;
        over.push(over_power(cars, &legs, &powers, (grip, error)));
        if map.is_none() {
            let cells = crossover(cars, &legs, &powers, &grips);
            map = Some((cells, over_grip(cars, &legs, &grips, error)));
        }
        found.push((name.clone(), grip, place(&builds, &legs), compared));
    }
    let (cells, over_grip) = map.unwrap_or_default();
    let map = Map { powers, grips, cells, over_grip, over_power: over };
    let shown: Vec<Day> = found
        .iter()
        .map(|(name, grip, place_sd, found)| Day { name, grip: *grip, place_sd: *place_sd, found })
        .collect();
    let tracks = mixed(&a.tracks);
    let view = CompareView {
        names: [&names[0], &names[1]],
        cars,
        tracks: &tracks,
        days: &shown,
        doubts: &doubts,
        ledger: &ledger,
        map: &map,
        watch: args.chance.watch(),
        laps: args.chance.laps,
    };
    let roads: Vec<&Track> = a.tracks.iter().map(|(file, _)| &file.track).collect();
    then(&view, &roads)
}

/// Every fault of both.
fn both(a: Result<Inputs, CliError>, b: Result<Inputs, CliError>) -> Result<(Inputs, Inputs), CliError> {
    match (a, b) {
        (Ok(a), Ok(b)) => Ok((a, b)),
        (Err(CliError::Files(mut all)), Err(CliError::Files(more))) => {
            let known: Vec<String> = all.iter().map(ToString::to_string).collect();
            all.extend(more.into_iter().filter(|e| !known.contains(&e.to_string())));
            Err(CliError::Files(all))
        }
        (Err(error), _) | (_, Err(error)) => Err(error),
    }
}

fn reach(file: &CarFile) -> Reach {
    Reach { chi: file.shop.limits.roll_stiffness_front_share, beta_f: file.shop.limits.brake_front_share }
}

type Tracks = Vec<(TrackFile, f64)>;

/// The days with their tracks: those asked for, or dry as in the tracks' files and wet.
fn days(
    a: &Inputs,
    named: &[(PathBuf, f64)],
    overrides: &Overrides,
    wanted: Option<&[f64]>,
) -> Result<Vec<(String, Tracks)>, CliError> {
    let with = |grip: &dyn Fn(&TrackFile) -> f64| -> Result<Tracks, CliError> {
        let again = a.tracks.iter().zip(named).map(|((file, weight), (path, _))| {
            let track = read_track(path, overrides, Some(grip(file))).map_err(|e| CliError::Files(vec![e]))?;
            Ok((track, *weight))
        });
        again.collect()
    };
    match wanted {
        Some(grips) => grips.iter().map(|&g| Ok((format!("grip {g}"), with(&|_| g)?))).collect(),
        None => {
            let dry = a.tracks.clone();
            Ok(vec![("dry".into(), dry), ("wet".into(), with(&|file| WET * file.track.grip)?)])
        }
    }
}

/// Rows of the second car's ledger that the first one's has not: what came off and went on. Where both cars' masses come
/// from one weighing, what these rows weigh is a doubt of its own.
fn ledger(
    first: &Path,
    second: &Path,
    files: [&CarFile; 2],
    car: &Car,
    doubts: &mut Vec<Doubt>,
) -> Result<Vec<(String, f64)>, CliError> {
    let read = |path: &Path, file: &CarFile| -> Result<Option<Ledger>, CliError> {
        let path = ledger_file(path);
        if !path.is_file() {
            return Ok(None);
        }
        let ledger = read_ledger(&path, Some(&file.shop.scales)).map_err(|e| CliError::Files(vec![e]))?;
        Ok(Some(ledger.0))
    };
    let Some(own) = read(second, files[1])? else { return Ok(Vec::new()) };
    let done = |ledger: Ledger| -> Vec<String> {
        ledger.entries.into_iter().filter(|e| e.state == State::Done).map(|e| e.item).collect()
    };
    let known = read(first, files[0])?.map_or_else(Vec::new, done);
    let one_weighing = doubts.iter().any(|d| d.input.key == "mass.total" && d.shared());
    let mut all = Vec::new();
    for entry in own.entries.iter().filter(|e| e.state == State::Done && !known.contains(&e.item)) {
        all.push((entry.item.clone(), entry.change.mass()));
        let sd = own_sd(entry, &files[1].shop.scales);
        let part = entry.change.after.map(|p| (1.0, p)).or(entry.change.before.map(|p| (-1.0, p)));
        if let (true, Some((sign, part))) = (one_weighing && sd > 0.0, part) {
            doubts.push(part_doubt(&entry.item, sd, sign, &part, car));
        }
    }
    Ok(all)
}

/// The crossover map, then the laps of each day and track with the map of what is gained where.
fn pictures(v: &CompareView, tracks: &[&Track]) -> Result<Picture, PlotError> {
    let mut all = vec![crossover_picture(v)?];
    all.extend(of_days(v, tracks)?);
    stacked(all)
}
