//! `unladen compare`: two builds of a car.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_lap::STEP_M;
use unladen_questions::compare::{Answer, Question};
use unladen_questions::stands::state::As;
use unladen_questions::{AskError, Scene};
use unladen_report::compare::brief::compare_brief;
use unladen_report::compare::crossover::crossover_picture;
use unladen_report::compare::json::{compare_csv, compare_json, map_csv};
use unladen_report::compare::text::compare_text;
use unladen_report::draw::look::Paper;
use unladen_report::draw::picture::{Picture, PlotError, stacked};
use unladen_report::files::write::write_whole;
use unladen_report::pair::of_days;
use unladen_report::words::brief::Length;

use crate::args::{InState, Lapping, Run, moved, step};
use crate::commands::moving::Chance;
use crate::disk::DISK;
use crate::error::{CliError, Usage};
use crate::inputs::scene;
use crate::output::{check_outputs, deliver, failed, warn};
use crate::progress::Working;

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
    /// The cars as they were `weighed`, as they stand `now` (with the ledgers' rows done since), as `planned`, or
    /// `planned+ideas`; two states for A and B: now,planned
    #[arg(long = "as", value_name = "STATE[,STATE]", default_value = "now")]
    pub of: String,
    /// A row or group of the ledgers that is in both cars too, with what it can't be without, or somebody of [aboard];
    /// repeatable
    #[arg(long, value_name = "ROW")]
    pub with: Vec<String>,
    /// The same that is in neither car; repeatable
    #[arg(long, value_name = "ROW")]
    pub without: Vec<String>,
    /// As --with, of the second car only; repeatable
    #[arg(long, value_name = "ROW")]
    pub with_second: Vec<String>,
    /// As --without, of the second car only; repeatable
    #[arg(long, value_name = "ROW")]
    pub without_second: Vec<String>,
    /// What sits elsewhere in both cars, by how many mm back, right, up: "fuel tank=-600,0,-60"; repeatable
    #[arg(long, value_name = "ITEM=X,Y,Z")]
    pub moved: Vec<String>,
    /// As --moved, of the second car only; repeatable
    #[arg(long, value_name = "ITEM=X,Y,Z")]
    pub moved_second: Vec<String>,
    /// Change a value of both cars or of the tracks for this run, with its unit, or shift it: KEY+=, KEY-=, KEY*=;
    /// repeatable
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
    /// Draw to this file, .svg or .png: the crossover map, and of each day and track the laps and a map of where time
    /// is gained and lost
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
}

/// Shown with `--help`.
pub const HELP: &str = "Example, all-wheel drive against the same car made rear-drive, in the dry and in the wet:\n  \
    unladen compare vehicles/saloon-awd vehicles/saloon-rwd tracks/airfield.toml --grip 1.0,0.6 --plot crossover.svg\n\
    One change to one car:  unladen compare my-car my-car tracks/airfield.toml --set-second driveline.rear_bias=3\n\
    The battery 200 mm back:  unladen compare my-car my-car tracks/airfield.toml --moved-second \"battery=200,0,0\"\n\
    100 kg lighter and 30 mm higher:  --set-second mass.total-=100kg --set-second mass.cg_height+=30mm\n\
    Now against the plan:  unladen compare my-car my-car tracks/airfield.toml --as now,planned";

/// Another car against that of a scene, on the usual days and the usual map.
pub fn against(scene: Scene, second: &Path, chance: &Chance) -> Result<Question, CliError> {
    Ok(Question {
        grips: scene.grip.map(|grip| vec![grip]),
        state_second: scene.state.clone(),
        scene,
        second: second.to_owned(),
        set_second: Vec::new(),
        apart: Vec::new(),
        map: true,
        map_powers: points(POWERS, POWERS)?,
        map_grips: points(GRIPS, GRIPS)?,
        sampling: chance.sampling(),
        watch: chance.watch(),
        laps: chance.laps,
    })
}

impl CompareArgs {
    /// What laps have in common.
    fn lapping(&self) -> Run {
        let (csv, plot) = (self.csv.clone(), self.plot.clone());
        let of = self.of.split(',').next().unwrap_or_default().to_owned();
        let (with, without, moved) = (self.with.clone(), self.without.clone(), self.moved.clone());
        let stands = InState { of, with, without, moved };
        let lapping = Lapping { stands, set: self.set.clone(), grip: None, step: self.step };
        Run { lapping, json: self.json, csv, plot }
    }

    fn question(&self, length: Length) -> Result<Question, CliError> {
        let map = self.json || length == Length::Whole || self.plot.is_some() || self.map_csv.is_some();
        let (map_powers, map_grips) = (points(&self.map_power, POWERS)?, points(&self.map_grip, GRIPS)?);
        let grips = self.grip.as_deref().map(grip_list).transpose()?;
        let plain = against(scene(&self.first, &self.tracks, &self.lapping().lapping)?, &self.second, &self.chance)?;
        let (set_second, apart) = (self.set_second.clone(), self.apart.clone());
        let mut state_second = plain.state_second.clone();
        if let Some((_, second)) = self.of.split_once(',') {
            state_second.of = As::parse(second).map_err(AskError::from)?;
        }
        state_second.with.extend(self.with_second.iter().cloned());
        state_second.without.extend(self.without_second.iter().cloned());
        for given in &self.moved_second {
            state_second.moved.push(moved(given)?);
        }
        Ok(Question { grips, state_second, set_second, apart, map, map_powers, map_grips, ..plain })
    }
}

/// Compares them.
pub fn run(args: &CompareArgs, length: Length) -> Result<ExitCode, CliError> {
    let run = args.lapping();
    check_outputs(&run)?;
    check_outputs(&Run { csv: args.map_csv.clone(), ..args.lapping() })?;
    if let (Some(csv), Some(map)) = (&args.csv, &args.map_csv)
        && csv == map
    {
        return Err(Usage::SameOutput { path: csv.clone() }.into());
    }
    let ready = args.question(length)?.read(&DISK).map_err(failed)?;
    warn(&ready.warnings);
    let working = Working::on("laps of drawn cars, day by day");
    let answer = ready.answer()?;
    drop(working);
    let printed = match length {
        _ if args.json => compare_json(&answer)?,
        Length::Brief => compare_brief(&answer),
        Length::Whole => compare_text(&answer),
    };
    if let Some(path) = &args.map_csv {
        write_whole(path, map_csv(&answer.map)?.as_bytes())?;
    }
    deliver(&run, || Ok(compare_csv(&answer)?), || pictures(&answer), || Ok(printed))?;
    Ok(ExitCode::SUCCESS)
}

/// The crossover map, then the laps of each day and track with the map of what is gained where.
fn pictures(v: &Answer) -> Result<Picture, PlotError> {
    let mut all = vec![crossover_picture(v, Paper::FILE)?];
    all.extend(of_days(v, Paper::FILE)?);
    stacked(all)
}
