//! `unladen rank`.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_garage::argument::{AMOUNT, SCATTER};
use unladen_garage::{Caution, Ledger, Slip, TrackFile, Turns, argument, nearest, slips};
use unladen_lap::Course;
use unladen_report::rank::json::{rank_csv, rank_json};
use unladen_report::rank::picture::rank_picture;
use unladen_report::rank::text::{RankView, rank_text};
use unladen_study::rank::best_set::Wanted;
use unladen_study::rank::candidates::{Plan, Rows, plan};
use unladen_study::rank::{Ask, Yardstick, rank};
use unladen_study::retune::Reach;
use unladen_study::uncertainty::paired::Sampling;
use unladen_study::uncertainty::stopwatch::Stopwatch;
use unladen_study::{Input, Leg};
use unladen_vehicle::car::Layout;
use unladen_vehicle::change::Change;
use unladen_vehicle::entry::Entry;
use unladen_vehicle::mass::Part;
use unladen_vehicle::{Car, Number};

use crate::args::Run;
use crate::error::CliError;
use crate::inputs::{Inputs, course, read_with, uncertain, weighted};
use crate::output::{check_outputs, deliver};
use crate::standing::{self, Project, carrying};

/// `unladen rank`.
#[derive(Debug, clap::Args)]
pub struct RankArgs {
    /// A car: its car.toml, or the folder that holds one; its ledger.csv is beside it
    pub car: PathBuf,
    /// Tracks: their TOML files, each with a weight in the mix if it is not 1
    #[arg(required = true, value_name = "TRACK[=WEIGHT]")]
    pub tracks: Vec<String>,
    /// Rank only this item or group, and what it needs; repeatable
    #[arg(long = "item", value_name = "NAME")]
    pub items: Vec<String>,
    /// Pick the best set that costs no more than this, in the ledger's money
    #[arg(long, value_name = "MONEY", value_parser = amount)]
    pub budget: Option<f64>,
    /// Pick the best set that takes no more hours than this
    #[arg(long, value_name = "HOURS", value_parser = amount)]
    pub hours: Option<f64>,
    /// Pick the best set that brings the car to this mass, with what the target of car.toml has aboard: 1150kg
    #[arg(long, value_name = "MASS")]
    pub target: Option<String>,
    /// This item or group must be in the best set; repeatable
    #[arg(long, value_name = "NAME")]
    pub keep: Vec<String>,
    /// Leave roll stiffness and brakes as they are set; without it each change is shown re-tuned too
    #[arg(long)]
    pub as_set: bool,
    /// Draws at most, where slopes don't hold
    #[arg(long, value_name = "N", default_value_t = 500, value_parser = clap::value_parser!(u32).range(32..=100_000))]
    pub samples: u32,
    /// Of the draws: the same seed gives the same numbers
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// How far laps of one driver in one car scatter, one standard deviation in seconds
    #[arg(long, value_name = "SECONDS", value_parser = spread)]
    pub lap_spread: Option<f64>,
    #[command(flatten)]
    pub run: Run,
}

/// Shown with `--help`.
pub const HELP: &str = "Examples:\n  unladen rank vehicles/saloon-awd tracks/airfield.toml tracks/valley.toml\n  \
    unladen rank vehicles/saloon-awd tracks/airfield.toml --budget 2000 --hours 40 --target 1175kg --plot rank.svg";

impl RankArgs {
    /// As `unladen rank CAR TRACK…` without more, but with the car left as it is set.
    pub fn plain(car: PathBuf, tracks: Vec<String>, run: Run) -> Self {
        Self {
            car,
            tracks,
            items: Vec::new(),
            budget: None,
            hours: None,
            target: None,
            keep: Vec::new(),
            as_set: true,
            samples: 500,
            seed: 1,
            lap_spread: None,
            run,
        }
    }
}

/// Taken where nobody says otherwise, s.
const LAP_SPREAD_S: f64 = 0.3;

/// Ranks what the ledger plans.
pub fn run(args: &RankArgs) -> Result<ExitCode, CliError> {
    check_outputs(&args.run)?;
    ranked(args, |view| {
        deliver(
            &args.run,
            || Ok(rank_csv(view)?),
            || rank_picture(view),
            || if args.run.json { Ok(rank_json(view)?) } else { Ok(rank_text(view)) },
        )
    })?;
    Ok(ExitCode::SUCCESS)
}

/// Ranks, and hands over what was found.
pub fn ranked<R>(args: &RankArgs, then: impl FnOnce(&RankView) -> Result<R, CliError>) -> Result<R, CliError> {
    let named = args.tracks.iter().map(|given| weighted(given)).collect::<Result<Vec<_>, _>>()?;
    let mut set = args.run.set.clone();
    set.extend(args.target.iter().map(|mass| format!("target.mass={mass}")));
    let (project, tracks) = project(&args.car, &named, &set, args.run.grip)?;
    let tracks = &tracks;
    let entries = &project.ledger.entries;
    outside(&project)?;
    let adds = adds(&project.car.car, &project.ledger);
    let shop = &project.car.shop;
    let rows = Rows { entries, adds: &adds, scales: &shop.scales, weighed_on: shop.weighed_on };
    let plan = chosen(plan(&rows), entries, &args.items)?;
    let keep = args.keep.iter().map(|name| find(&plan, entries, name)).collect::<Result<Vec<_>, _>>()?;
    let target_kg = args.target.as_ref().map(|_| to_target(&project, &plan)).transpose()?;
    let asked = args.budget.is_some() || args.hours.is_some() || target_kg.is_some() || !keep.is_empty();
    let wanted = Wanted { cost: args.budget, hours: args.hours, kg: target_kg, keep };

    let course_at = |step: f64| -> Result<Vec<Course>, CliError> {
        tracks.iter().map(|(file, _)| course(&file.track, step)).collect()
    };
    let (courses, coarse) = (course_at(args.run.step)?, course_at(2.0 * args.run.step)?);
    let own: Vec<Vec<Input>> = tracks.iter().map(|(file, _)| uncertain(&file.uncertainties)).collect();
    let legs: Vec<Leg> = courses
        .iter()
        .zip(&own)
        .zip(tracks)
        .map(|((course, inputs), (_, weight))| Leg { course, weight: *weight, inputs })
        .collect();
    let of_car = uncertain(&project.car.uncertainties);
    let limits = &shop.limits;
    let reach = Reach { chi: limits.roll_stiffness_front_share, beta_f: limits.brake_front_share };
    let found = rank(&Ask {
        car: &project.car.car,
        inputs: &of_car,
        legs: &legs,
        coarse: &coarse,
        entries,
        plan: &plan,
        yardsticks: &yardsticks(&project),
        reach: (!args.as_set).then_some(reach),
        sampling: Sampling { seed: args.seed, samples: args.samples as usize, all: false },
        wanted: asked.then_some(&wanted),
    })?;
    let candidates: Vec<String> = plan.candidates.iter().map(|c| c.name.clone()).collect();
    let view = RankView {
        car: &project.car.name,
        entries,
        candidates: &candidates,
        found: &found,
        left_out: &plan.left_out,
        stopwatch: Stopwatch::new(args.lap_spread.unwrap_or(LAP_SPREAD_S)),
        spread_assumed: args.lap_spread.is_none(),
        target_kg,
    };
    then(&view)
}

/// The car, its ledger and the tracks.
fn project(
    car: &Path,
    named: &[(PathBuf, f64)],
    set: &[String],
    grip: Option<f64>,
) -> Result<(Project, Vec<(TrackFile, f64)>), CliError> {
    let Inputs { car: file, tracks } = read_with(car, named, set, grip)?;
    let ledger = standing::ledger(car, &file)?;
    Ok((Project { car: file, ledger }, tracks))
}

/// A part that would be outside the car is a slip that no ranking should be built on.
fn outside(project: &Project) -> Result<(), CliError> {
    let all = slips(&project.ledger, standing::size(&project.car));
    match all.into_iter().find(|slip| matches!(slip.what, Caution::Slip(Slip::Outside { .. }))) {
        Some(slip) => Err(CliError::Outside { what: slip.what.to_string() }),
        None => Ok(()),
    }
}

/// What turns, as changes of wheel and engine inertia (`docs/model.md` §6: m_rot): of wheels by where along the car it is, of a
/// shaft as J i_0²/r_w² on the driven wheels.
pub fn adds(car: &Car, ledger: &Ledger) -> Vec<Vec<(Number, f64)>> {
    let of = |(entry, turns): (&Entry, &Turns)| {
        let j = entry.rotating_inertia;
        if j == 0.0 {
            return Vec::new();
        }
        let x = entry.change.after.or(entry.change.before).map_or(0.0, |part| part.x);
        let rear = (x / car.chassis.l).clamp(0.0, 1.0);
        let wheels = |front: f64, rear: f64| vec![(Number::J_F, 0.5 * front), (Number::J_R, 0.5 * rear)];
        match turns {
            Turns::Wheels => wheels(j * (1.0 - rear), j * rear),
            Turns::Shaft => {
                let line = &car.driveline;
                let (front, r_w) = match line.layout {
                    Layout::Front => (1.0, car.front.r),
                    Layout::Rear => (0.0, car.rear.r),
                    Layout::All => (0.5, car.front.r * line.front_share + car.rear.r * (1.0 - line.front_share)),
                };
                let at_wheel = j * (line.final_drive / r_w).powi(2);
                wheels(at_wheel * front * car.front.r.powi(2), at_wheel * (1.0 - front) * car.rear.r.powi(2))
            }
            Turns::Engine => vec![(Number::J_ENGINE, j)],
        }
    };
    ledger.entries.iter().zip(&ledger.turns).map(of).collect()
}

/// The candidates that were named, and those that they need.
fn chosen(mut plan: Plan, entries: &[Entry], names: &[String]) -> Result<Plan, CliError> {
    if names.is_empty() {
        return Ok(plan);
    }
    let named = names.iter().map(|name| find(&plan, entries, name)).collect::<Result<Vec<_>, _>>()?;
    let rows: Vec<usize> = named.iter().flat_map(|&c| plan.candidates[c].all()).collect();
    plan.candidates.retain(|c| c.rows.iter().any(|row| rows.contains(row)));
    plan.left_out.clear();
    Ok(plan)
}

/// A candidate by its name or by that of one of its rows.
fn find(plan: &Plan, entries: &[Entry], name: &str) -> Result<usize, CliError> {
    let is = |known: &str| known.eq_ignore_ascii_case(name.trim());
    let in_rows = |c: &unladen_study::rank::candidates::Candidate| c.rows.iter().any(|&r| is(&entries[r].item));
    let found = plan.candidates.iter().position(|c| is(&c.name)).or(plan.candidates.iter().position(in_rows));
    found.ok_or_else(|| {
        if let Some((_, why)) = plan.left_out.iter().find(|(row, _)| is(&entries[*row].item)) {
            return CliError::CantBe { given: name.into(), why: reason(entries, *why) };
        }
        if entries.iter().any(|e| is(&e.item)) {
            return CliError::CantBe {
                given: name.into(),
                why: "it is done, or not among those that were asked for".into(),
            };
        }
        let names = plan.candidates.iter().map(|c| c.name.as_str()).chain(entries.iter().map(|e| e.item.as_str()));
        let hint = nearest(name, names).map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
        CliError::NoSuchItem { given: name.into(), hint }
    })
}

fn reason(entries: &[Entry], why: unladen_study::ledger::selection::LeftOut) -> String {
    use unladen_study::ledger::selection::LeftOut::{Excluded, Group, Unmet};
    match why {
        Excluded { by } => format!("{} excludes it", entries[by].item),
        Unmet { needs } => format!("it needs {}", entries[needs].item),
        Group { with } => format!("{} of its group can't be", entries[with].item),
    }
}

/// Change of mass from the car as it stands to its target, kg.
fn to_target(project: &Project, plan: &Plan) -> Result<f64, CliError> {
    let Some(target) = project.car.shop.target else { return Ok(0.0) };
    let base = carrying(&project.car, target.fuel, target.driver)?;
    let done: f64 = plan.done.iter().map(|&row| project.ledger.entries[row].change.mass()).sum();
    Ok(target.mass - base.car.m - done)
}

/// Fuel, driver, grip, power and drag, for scale.
fn yardsticks(project: &Project) -> Vec<Yardstick> {
    const LITRES: f64 = 10.0;
    const DRIVER_KG: f64 = 5.0;
    let mut all = Vec::new();
    let mut swap = |name: String, before: Part, after: Part| {
        let change = Change { before: Some(before), after: Some(after) };
        all.push(Yardstick { name, change, times: Vec::new() });
    };
    if let Some(fuel) = &project.car.loads.fuel
        && fuel.on_track * 1e3 >= LITRES
        && let Ok(before) = fuel.tank.fuel(fuel.on_track, fuel.density)
        && let Ok(after) = fuel.tank.fuel((fuel.on_track - LITRES * 1e-3).max(0.0), fuel.density)
    {
        swap(format!("{LITRES} L less fuel"), before, after);
    }
    if let Some(driver) = project.car.loads.driver.filter(|d| d.on_track > DRIVER_KG) {
        let [x, y, z] = driver.seat;
        let seated = |kg: f64| Part::point(kg, x, y, z);
        swap(format!("{DRIVER_KG} kg less driver"), seated(driver.on_track), seated(driver.on_track - DRIVER_KG));
    }
    const FRICTION: [Number; 8] = [
        Number::MU_X_F,
        Number::MU_Y_F,
        Number::K_X_F,
        Number::K_Y_F,
        Number::MU_X_R,
        Number::MU_Y_R,
        Number::K_X_R,
        Number::K_Y_R,
    ];
    let mut factor = |name: &str, times: Vec<(Number, f64)>| {
        all.push(Yardstick { name: name.into(), change: Change::default(), times });
    };
    factor("1 % more grip", FRICTION.map(|number| (number, 1.01)).to_vec());
    factor("1 % more power", vec![(Number::POWER, 1.01)]);
    factor("5 % less drag", vec![(Number::CD_A, 0.95)]);
    all
}

fn amount(text: &str) -> Result<f64, String> {
    argument(text, AMOUNT).map_err(|why| format!("a number that is not negative is due, for example 2000: {why}"))
}

fn spread(text: &str) -> Result<f64, String> {
    argument(text, SCATTER).map_err(|why| format!("a number of seconds is due, for example 0.3: {why}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_input_amounts_and_spreads() {
        assert_eq!((amount("2000"), spread("0.3 s"), spread("1s")), (Ok(2000.0), Ok(0.3), Ok(1.0)));
        for text in ["", "x", "-1", "nan", "inf"] {
            assert!(amount(text).is_err() && spread(text).is_err(), "{text}");
        }
        assert!(spread("0").is_err() && spread("61").is_err());
    }
}
