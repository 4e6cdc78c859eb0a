//! `unladen move`: is moving something worth it, over the fuel load.

use std::path::PathBuf;
use std::process::ExitCode;

use unladen_garage::{CarFile, FileErrors, Ledger, find_row, read_ledger, slips, written};
use unladen_report::draw::picture::{Picture, PlotError};
use unladen_report::pair::of_move;
use unladen_report::relocate::json::{move_csv, move_json};
use unladen_report::relocate::picture::move_picture;
use unladen_report::relocate::text::{MoveView, move_text};
use unladen_study::Input;
use unladen_study::ledger::budget::own_sd;
use unladen_study::relocate::static_state::inside;
use unladen_study::relocate::stint::{Question, ask};
use unladen_study::relocate::{Boxes, Piece, Relocation};
use unladen_study::retune::Reach;
use unladen_study::uncertainty::paired::Sampling;
use unladen_study::uncertainty::stopwatch::Stopwatch;
use unladen_track::Track;
use unladen_vehicle::change::Change;
use unladen_vehicle::entry::State;
use unladen_vehicle::fuel::Tank;
use unladen_vehicle::mass::Part;
use unladen_vehicle::{Car, Number};

use crate::args::Run;
use crate::error::CliError;
use crate::inputs::{read, uncertain, weighted};
use crate::output::{check_outputs, deliver, warn};
use crate::roads::{Roads, mixed};
use crate::stack::stacked;
use crate::standing::{carrying, ledger_file, size};

mod given;

use given::{Added, added, litres, masses, position};

/// `unladen move`.
#[derive(Debug, clap::Args)]
pub struct MoveArgs {
    /// A car: its car.toml, or the folder that holds one; its ledger.csv, where it has one, is beside it
    pub car: PathBuf,
    /// Tracks: their TOML files, each with a weight in the mix if it is not 1
    #[arg(required = true, value_name = "TRACK[=WEIGHT]")]
    pub tracks: Vec<String>,
    /// What is moved: `fuel tank`, or an item of the ledger that is in the car
    #[arg(long, value_name = "NAME")]
    pub item: String,
    /// Where to, mm behind the front axle, right of the middle, above ground: the item's centre; of a tank its box's centre
    /// in plan and the floor of it
    #[arg(long, value_name = "X,Y,Z", allow_hyphen_values = true)]
    pub to: String,
    #[command(flatten)]
    pub with: With,
    /// Steps of the table from full to empty
    #[arg(long, value_name = "N", default_value_t = STEPS, value_parser = clap::value_parser!(u32).range(1..=200))]
    pub steps: u32,
    #[command(flatten)]
    pub chance: Chance,
    #[command(flatten)]
    pub run: Run,
}

const STEPS: u32 = 4;

/// What belongs to a move.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct With {
    /// Inside of the new fuel box, mm: along, across, high; left out, that of the old one
    #[arg(long = "box", value_name = "L,W,H", requires = "item")]
    pub inside: Option<String>,
    /// The empty tank with what is bolted to it, as it is and as it will be: 9kg,12kg; it sits in the middle of its box
    #[arg(long, value_name = "BEFORE,AFTER", allow_hyphen_values = true, requires = "item")]
    pub empty_tank: Option<String>,
    /// What comes with it or goes: brackets, bulkhead, pumps, lines; a negative mass comes off; without a place, where the
    /// item goes to; repeatable
    #[arg(long, value_name = "[NAME=]KG[@X,Y,Z]", allow_hyphen_values = true, requires = "item")]
    pub added_mass: Vec<String>,
    /// Fuel at the beginning and the end of a stint; left out, from full to empty
    #[arg(long, value_name = "FROM..TO", requires = "item")]
    pub stint: Option<String>,
}

impl MoveArgs {
    /// As `unladen move CAR TRACK… --item … --to …` with what belongs to it, and no more.
    pub fn plain(car: PathBuf, tracks: Vec<String>, what: (String, String), with: With, run: Run) -> Self {
        let (item, to) = what;
        Self { car, tracks, item, to, with, steps: STEPS, chance: Chance::default(), run }
    }
}

/// How sure is asked to be.
#[derive(Clone, Debug, clap::Args)]
pub struct Chance {
    /// Scatter of your laps, one standard deviation, in s; assumed where left out, no source
    #[arg(long, value_name = "SECONDS", default_value_t = Chance::default().lap_spread, value_parser = given::spread, allow_negative_numbers = true)]
    pub lap_spread: f64,
    /// Laps a side that you would drive to see a difference
    #[arg(long, value_name = "N", default_value_t = Chance::default().laps, value_parser = clap::value_parser!(u32).range(2..=100_000))]
    pub laps: u32,
    /// Draws at most, where slopes do not hold
    #[arg(long, value_name = "N", default_value_t = Chance::default().samples, value_parser = clap::value_parser!(u32).range(16..=1_000_000))]
    pub samples: u32,
    /// The same seed gives the same draws
    #[arg(long, value_name = "N", default_value_t = Chance::default().seed)]
    pub seed: u64,
}

impl Default for Chance {
    fn default() -> Self {
        Self { lap_spread: 0.3, laps: 20, samples: 500, seed: 1 }
    }
}

impl Chance {
    /// For a study.
    pub fn sampling(&self) -> Sampling {
        Sampling { seed: self.seed, samples: self.samples as usize, all: false }
    }

    /// For a study.
    pub fn watch(&self) -> Stopwatch {
        Stopwatch::new(self.lap_spread)
    }
}

/// Shown with `--help`.
pub const HELP: &str = "Example, the tank from behind the axle to ahead of it, with a bulkhead and shorter lines:\n  \
    unladen move vehicles/saloon-awd tracks/airfield.toml --item \"fuel tank\" --to 1950,0,210 --box 500,750,180 \
    --empty-tank 9kg,12kg --added-mass \"bulkhead=4kg@1650,0,600\" --added-mass \"lines=-1.2kg@2300,0,250\" --stint 55L..5L";

/// How the tank is called.
const TANK: &str = "fuel tank";

/// Says whether it is worth it.
pub fn run(args: &MoveArgs) -> Result<ExitCode, CliError> {
    check_outputs(&args.run)?;
    moved(args, |view, tracks| {
        deliver(
            &args.run,
            || Ok(move_csv(view)?),
            || pictures(view, tracks),
            || if args.run.json { Ok(move_json(view)?) } else { Ok(move_text(view)) },
        )
    })?;
    Ok(ExitCode::SUCCESS)
}

/// The fuel strip, then each track's laps and the map of what is gained where.
fn pictures(v: &MoveView, tracks: &[&Track]) -> Result<Picture, PlotError> {
    let mut all = vec![move_picture(v)?];
    all.extend(of_move(v, tracks)?.into_iter().flatten());
    stacked(all)
}

/// Asks, and hands over the answer, with the tracks.
pub fn moved<R>(
    args: &MoveArgs,
    then: impl FnOnce(&MoveView, &[&Track]) -> Result<R, CliError>,
) -> Result<R, CliError> {
    let named = args.tracks.iter().map(|given| weighted(given)).collect::<Result<Vec<_>, _>>()?;
    let to = position(&args.to)?;
    let inside_new = args.with.inside.as_deref().map(given::size).transpose()?;
    let extras = args.with.added_mass.iter().map(|given| added(given)).collect::<Result<Vec<_>, _>>()?;
    let inputs = read(&args.car, &named, &args.run)?;
    let file = &inputs.car;
    let path = ledger_file(&args.car);
    let is_tank = args.item.trim().eq_ignore_ascii_case(TANK);
    let ledger = if path.is_file() {
        let (ledger, _) = read_ledger(&path, Some(&file.shop.scales)).map_err(|e| CliError::Files(vec![e]))?;
        warn(&slips(&ledger, size(file)));
        Some(ledger)
    } else if is_tank {
        None
    } else {
        return Err(CliError::NoLedger { path });
    };
    let (car, base) = as_it_stands(file, ledger.as_ref())?;
    let relocation = if is_tank {
        tank(args, file, &car, to, inside_new, &extras)?
    } else {
        if args.with.inside.is_some() || args.with.empty_tank.is_some() {
            return Err(CliError::OfTank { item: args.item.clone() });
        }
        let ledger = ledger.as_ref().ok_or(CliError::NoLedger { path })?;
        item(args, file, ledger, &car, to, &extras)?
    };
    let capacity = relocation.fuel.map(|f| f.old.capacity().min(f.new.capacity()));
    let stint = match (&args.with.stint, capacity) {
        (Some(_), None) => return Err(CliError::NoFuel),
        (Some(given), _) => litres(given)?,
        // Without fuel any stint is the same.
        (None, full) => [full.unwrap_or(1e-3), 0.0],
    };
    let loads: Vec<f64> = match capacity {
        Some(full) => (0..=args.steps).map(|i| full * f64::from(args.steps - i) / f64::from(args.steps)).collect(),
        None => vec![0.0],
    };
    let roads = Roads::new(&inputs.tracks, args.run.step)?;
    let limits = &file.shop.limits;
    let question = Question {
        car: &car,
        inputs: &about(file, &car),
        reach: Reach { chi: limits.roll_stiffness_front_share, beta_f: limits.brake_front_share },
        relocation: &relocation,
        loads: &loads,
        stint,
        sampling: args.chance.sampling(),
    };
    let answer = ask(&question, &roads.legs(), &roads.coarse())?;
    let tracks = mixed(&inputs.tracks);
    let view = MoveView {
        car: &file.name,
        base: &base,
        tracks: &tracks,
        item: args.item.trim(),
        is_tank,
        relocation: &relocation,
        stint,
        answer: &answer,
        watch: args.chance.watch(),
        laps: args.chance.laps,
        axle_limits: limits.axle_load,
    };
    let roads: Vec<&Track> = inputs.tracks.iter().map(|(file, _)| &file.track).collect();
    then(&view, &roads)
}

/// The car as it laps with what has been done since it was weighed, and in words what it is.
pub fn as_it_stands(file: &CarFile, ledger: Option<&Ledger>) -> Result<(Car, String), CliError> {
    let done = |e: &&unladen_vehicle::entry::Entry| {
        e.state == State::Done && e.day.zip(file.shop.weighed_on).is_none_or(|(day, weighed)| day > weighed)
    };
    let rows: Vec<_> = ledger.into_iter().flat_map(|l| &l.entries).filter(done).collect();
    if rows.is_empty() {
        return Ok((file.car.clone(), "The car as in car.toml.".into()));
    }
    let (fuel, driver) = (file.loads.fuel.map_or(0.0, |f| f.on_track), file.loads.driver.map_or(0.0, |d| d.on_track));
    let now = carrying(file, fuel, driver)?.with(&rows, &file.shop.scales)?.part;
    let since = file.shop.weighed_on.map_or_else(String::new, |day| format!(" of {}", written(day)));
    let words = format!(
        "The car as it stands: the weighing{since} and the {} of the ledger done since, {:+.1} kg.",
        if rows.len() == 1 { "row".to_owned() } else { format!("{} rows", rows.len()) },
        now.m - file.car.mass.m
    );
    Ok((Car { mass: now.into(), ..file.car.clone() }, words))
}

/// What is uncertain of the car as it stands: the CG of the weighing moves that of a lighter car by a little more.
pub fn about(file: &CarFile, car: &Car) -> Vec<Input> {
    let scale = file.car.mass.m / car.mass.m;
    let mut all = uncertain(&file.uncertainties);
    for (number, per) in all.iter_mut().flat_map(|input| &mut input.onto) {
        if [Number::A, Number::Y_CG, Number::H].contains(number) {
            *per *= scale;
        }
    }
    all
}

fn tank(
    args: &MoveArgs,
    file: &CarFile,
    car: &Car,
    to: [f64; 3],
    size: Option<[f64; 3]>,
    extras: &[Added],
) -> Result<Relocation, CliError> {
    let fuel = file.loads.fuel.ok_or(CliError::NoFuel)?;
    let old = fuel.tank;
    let [length, width, height] = size.unwrap_or([old.length, old.width, old.height]);
    let new = Tank { x: to[0], y: to[1], z: to[2], length, width, height };
    inside(car, "the new fuel box", to, [length, width, height])?;
    let middle = |t: &Tank| [t.x, t.y, t.z + 0.5 * t.height];
    let mut pieces = Vec::new();
    if let Some(given) = &args.with.empty_tank {
        let [before, after] = masses(given)?;
        // A thin box turns about its middle like a solid one, within what matters here.
        let shell = |t: &Tank, m: f64| {
            let [x, y, z] = middle(t);
            Part { m, x, y, z, i_zz: Some(m * (t.length * t.length + t.width * t.width) / 12.0) }
        };
        let change = Change { before: Some(shell(&old, before.value)), after: Some(shell(&new, after.value)) };
        pieces.push(Piece { name: "empty tank".into(), change, sd: before.sd.hypot(after.sd) });
    }
    pieces.extend(brought(extras, middle(&new), car)?);
    let fuel = Boxes { old, new, density: fuel.density, aboard: fuel.on_track };
    Ok(Relocation { pieces, fuel: Some(fuel) })
}

fn item(
    args: &MoveArgs,
    file: &CarFile,
    ledger: &Ledger,
    car: &Car,
    to: [f64; 3],
    extras: &[Added],
) -> Result<Relocation, CliError> {
    let row = find_row(ledger, &args.item, None).map_err(|e: FileErrors| CliError::Files(vec![e]))?;
    let entry = &ledger.entries[row];
    let (before, after) = (entry.change.before, entry.change.after);
    let part = if entry.state == State::Done { after } else { before };
    let Some(part) = part else { return Err(CliError::NotInCar { item: entry.item.clone() }) };
    inside(car, &args.item, to, [0.0; 3])?;
    let moved = Part { x: to[0], y: to[1], z: to[2], ..part };
    let change = Change { before: Some(part), after: Some(moved) };
    let mut pieces = vec![Piece { name: entry.item.clone(), change, sd: own_sd(entry, &file.shop.scales) }];
    pieces.extend(brought(extras, to, car)?);
    let fuel = file.loads.fuel.map(|f| Boxes { old: f.tank, new: f.tank, density: f.density, aboard: f.on_track });
    Ok(Relocation { pieces, fuel })
}

/// What comes with it, or goes.
fn brought(extras: &[Added], to: [f64; 3], car: &Car) -> Result<Vec<Piece>, CliError> {
    let piece = |extra: &Added| {
        let [x, y, z] = extra.at.unwrap_or(to);
        inside(car, &extra.name, [x, y, z], [0.0; 3])?;
        let part = Some(Part::point(extra.mass.value.abs(), x, y, z));
        let change = if extra.mass.value < 0.0 {
            Change { before: part, after: None }
        } else {
            Change { before: None, after: part }
        };
        Ok(Piece { name: extra.name.clone(), change, sd: extra.mass.sd })
    };
    extras.iter().map(piece).collect()
}
