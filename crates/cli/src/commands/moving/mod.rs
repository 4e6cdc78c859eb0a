//! `unladen move`: is moving something worth it, over the fuel load.

use std::path::PathBuf;
use std::process::ExitCode;

use unladen_questions::Scene;
use unladen_questions::relocate::{Answer, Question, Where};
use unladen_report::draw::look::Paper;
use unladen_report::draw::picture::{Picture, PlotError, stacked};
use unladen_report::pair::of_move;
use unladen_report::relocate::brief::move_brief;
use unladen_report::relocate::json::{move_csv, move_json};
use unladen_report::relocate::picture::move_picture;
use unladen_report::relocate::text::move_text;
use unladen_report::words::brief::Length;
use unladen_study::uncertainty::paired::Sampling;
use unladen_study::uncertainty::stopwatch::{LAP_SPREAD_S, Stopwatch};

use crate::args::Run;
use crate::disk::DISK;
use crate::error::CliError;
use crate::inputs::scene;
use crate::output::{check_outputs, deliver, failed, warn};
use crate::progress::Working;

mod given;

use given::{added, litres, masses, position};

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
    /// Where to, mm behind the front axle, right of the middle, above ground: the item's centre; of a tank its box's
    /// centre in plan and the floor of it
    #[arg(
        long,
        value_name = "X,Y,Z",
        allow_hyphen_values = true,
        required_unless_present = "by",
        conflicts_with = "by"
    )]
    pub to: Option<String>,
    /// By how much instead, mm back, right, up: -600,0,-60
    #[arg(long, value_name = "X,Y,Z", allow_hyphen_values = true)]
    pub by: Option<String>,
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
    /// The empty tank with what is bolted to it, which goes along: 9kg, or as it is and as it will be, 9kg,12kg; it sits
    /// in the middle of its box; left out, the ledger's row that is marked one_of: fuel tank
    #[arg(long, value_name = "KG[,AFTER]", allow_hyphen_values = true, requires = "item")]
    pub empty_tank: Option<String>,
    /// What comes with it or goes: brackets, bulkhead, pumps, lines; a negative mass comes off; without a place, where
    /// the item goes to; repeatable
    #[arg(long, value_name = "[NAME=]KG[@X,Y,Z]", allow_hyphen_values = true, requires = "item")]
    pub added_mass: Vec<String>,
    /// Fuel at the beginning and the end of a stint; left out, from full to empty
    #[arg(long, value_name = "FROM..TO", requires = "item")]
    pub stint: Option<String>,
}

impl With {
    /// The question whether moving this there is worth it.
    pub fn question(&self, scene: Scene, item: &str, to: Where, chance: &Chance) -> Result<Question, CliError> {
        Ok(Question {
            scene,
            item: item.to_owned(),
            to,
            inside: self.inside.as_deref().map(given::size).transpose()?,
            empty_tank: self.empty_tank.as_deref().map(masses).transpose()?,
            added: self.added_mass.iter().map(|given| added(given)).collect::<Result<Vec<_>, _>>()?,
            stint: self.stint.as_deref().map(litres).transpose()?,
            steps: STEPS,
            sampling: chance.sampling(),
            watch: chance.watch(),
            laps: chance.laps,
        })
    }
}

/// Where to, or by how much.
pub fn place(to: Option<&String>, by: Option<&String>) -> Result<Option<Where>, CliError> {
    Ok(match (to, by) {
        (Some(to), _) => Some(Where::To(position(to)?)),
        (None, Some(by)) => Some(Where::By(position(by)?)),
        (None, None) => None,
    })
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
        Self { lap_spread: LAP_SPREAD_S, laps: 20, samples: 500, seed: 1 }
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

/// Says whether it is worth it.
pub fn run(args: &MoveArgs, length: Length) -> Result<ExitCode, CliError> {
    check_outputs(&args.run)?;
    let scene = scene(&args.car, &args.tracks, &args.run.lapping)?;
    // One of the two is due.
    let to = place(args.to.as_ref(), args.by.as_ref())?.unwrap_or(Where::By([0.0; 3]));
    let question = args.with.question(scene, &args.item, to, &args.chance)?;
    let ready = Question { steps: args.steps, ..question }.read(&DISK).map_err(failed)?;
    warn(&ready.warnings);
    let working = Working::on("laps of drawn cars over the stint");
    let answer = ready.answer()?;
    drop(working);
    deliver(
        &args.run,
        || Ok(move_csv(&answer)?),
        || pictures(&answer),
        || match length {
            _ if args.run.json => Ok(move_json(&answer)?),
            Length::Brief => Ok(move_brief(&answer)),
            Length::Whole => Ok(move_text(&answer)),
        },
    )?;
    Ok(ExitCode::SUCCESS)
}

/// The fuel strip, then each track's laps and the map of what is gained where.
fn pictures(v: &Answer) -> Result<Picture, PlotError> {
    let mut all = vec![move_picture(v, Paper::FILE)?];
    all.extend(of_move(v, Paper::FILE)?.into_iter().flatten());
    stacked(all)
}
