//! `unladen report`: one page to share.

pub mod decisions;
pub mod sources;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_garage::written;
use unladen_lap::{Course, Lap, Row};
use unladen_report::draw::picture::{Picture, PlotError};
use unladen_report::files::write::{check_destination, write_whole};
use unladen_report::lap::place::places;
use unladen_report::lap::trace::LapTrace;
use unladen_report::ledger::burn::{BurnPlot, burn_picture};
use unladen_report::ledger::text::BudgetView;
use unladen_report::ledger::waterfall::{WaterPlot, waterfall_picture};
use unladen_report::page::lap::LapView;
use unladen_report::page::plan::Gain;
use unladen_report::page::verdict::{Verdict, verdict};
use unladen_report::page::{Page, Section, budget, lap, made, plan, ranking, worth as worth_page};
use unladen_report::pair::pair_pictures;
use unladen_report::rank::picture::rank_picture;
use unladen_report::worth::Worth as Shown;
use unladen_report::worth::curve::{CurvePlot, curve_picture};
use unladen_study::compare::changed::{Pair, gains};
use unladen_study::{Input, Leg, Study, Subject, named_spots, sound_lap, worth};
use unladen_track::{Pose, Track};
use unladen_vehicle::Car;

use crate::args::Run;
use crate::commands::ledger::{load, months, otherwise};
use crate::commands::moving::{Chance, With};
use crate::commands::rank::{RankArgs, ranked};
use crate::commands::report::decisions::decisions;
use crate::commands::worth::showing;
use crate::error::CliError;
use crate::inputs::{Inputs, course, read, uncertain, weighted};
use crate::kilogram::{self, OnTrack, loads, on_track};
use crate::output::note;
use crate::report_plan::{self, Plan, done_since, with_rows};
use crate::standing::{self, Project, aboard, carrying};

/// Shown with `--help`.
pub const HELP: &str = "Examples:\n  \
    unladen report vehicles/saloon-awd tracks/airfield.toml=3 tracks/valley.toml --out report.html\n  \
    unladen report vehicles/saloon-awd tracks/valley.toml --out bonnet.html --plan bonnet --plan \"bonnet pins\"\n  \
    unladen report vehicles/saloon-awd tracks/airfield.toml --out tank.html --item \"fuel tank\" --to 1950,0,210 \
    --box 500,750,180 --stint 55L..5L\n  \
    unladen report vehicles/saloon-awd tracks/airfield.toml --out drive.html --against vehicles/saloon-rwd";

/// `unladen report`.
#[derive(Debug, clap::Args)]
pub struct ReportArgs {
    /// A car: its car.toml, or the folder that holds one; the ledger beside it is read too
    pub car: PathBuf,
    /// Tracks: their TOML files, each with a weight in the mix if it is not 1
    #[arg(required = true, value_name = "TRACK[=WEIGHT]")]
    pub tracks: Vec<String>,
    /// The page: a file that ends in .html
    #[arg(long, value_name = "FILE.html")]
    pub out: PathBuf,
    /// Which rows of the ledger are counted as coming: `planned`, `measured` (planned, and weighed already), `ideas`
    /// (these as well), `none`, or the name of a row; repeatable with names [default: planned]
    #[arg(long, value_name = "ROWS")]
    pub plan: Vec<String>,
    /// Rank what the ledger plans, change by change, as `unladen rank --as-set` does: takes a minute or more
    #[arg(long)]
    pub rank: bool,
    /// Answer whether moving this is worth it, as `unladen move` does: `fuel tank`, or an item of the ledger that is in the car
    #[arg(long, value_name = "NAME", requires = "to")]
    pub item: Option<String>,
    /// Where it would go, mm behind the front axle, right of the middle, above ground: its centre; of a tank its box's centre
    /// in plan and the floor of it
    #[arg(long, value_name = "X,Y,Z", allow_hyphen_values = true, requires = "item")]
    pub to: Option<String>,
    #[command(flatten)]
    pub with: With,
    /// Answer whether this other car is quicker, as `unladen compare` does: dry and wet, or with --grip on that day
    #[arg(long, value_name = "CAR")]
    pub against: Option<PathBuf>,
    /// Change a value of that other car only; repeatable
    #[arg(long, value_name = "KEY=VALUE", requires = "against")]
    pub set_second: Vec<String>,
    /// Take an unknown that both cars' files give alike as two; repeatable
    #[arg(long, value_name = "KEY", requires = "against")]
    pub apart: Vec<String>,
    #[command(flatten)]
    pub chance: Chance,
    /// Change a value of the car's or the track's file for this run, with its unit; repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// The day's grip in place of the track's: 1 dry, about 0.6 wet
    #[arg(long, value_name = "FACTOR", allow_negative_numbers = true)]
    pub grip: Option<f64>,
    /// Distance between the solver's stations, about
    #[arg(long, value_name = "METRES", default_value_t = unladen_lap::STEP_M, value_parser = crate::args::step, allow_negative_numbers = true)]
    pub step: f64,
}

/// A track with its lap and what the picture of it needs.
struct Driven<'a> {
    track: &'a Track,
    places: Vec<unladen_report::lap::place::Place>,
    outline: Vec<Pose>,
    rows: Vec<Row>,
    lap: Lap,
    changed: Option<(Vec<Row>, Lap)>,
}

/// Points of the map, m apart at most.
const MAP_STEP_M: f64 = 2.0;

/// Makes the page.
pub fn run(args: &ReportArgs) -> Result<ExitCode, CliError> {
    if args.out.extension().is_none_or(|e| !e.eq_ignore_ascii_case("html")) {
        return Err(CliError::PageName { path: args.out.clone() });
    }
    check_destination(&args.out)?;
    let named = args.tracks.iter().map(|given| weighted(given)).collect::<Result<Vec<_>, _>>()?;
    let inputs = read(&args.car, &named, &lapping(args))?;
    let on = on_track(&args.car, &inputs.car)?;
    let plan = match &on {
        Some(on) => report_plan::chosen(on, &args.plan)?,
        None if args.rank || args.plan.iter().any(|p| p != "none") => {
            return Err(CliError::NoPlan { path: standing::ledger_file(&args.car) });
        }
        None => None,
    };
    let page = page(args, &named, &inputs, on, plan)?;
    write_whole(&args.out, page.html().as_bytes())?;
    note(&format!("{} is written\n", args.out.display()));
    Ok(ExitCode::SUCCESS)
}

/// What laps have in common, as the other commands take it.
pub fn lapping(args: &ReportArgs) -> Run {
    Run { set: args.set.clone(), grip: args.grip, step: args.step, json: false, csv: None, plot: None }
}

fn page(
    args: &ReportArgs,
    named: &[(PathBuf, f64)],
    inputs: &Inputs,
    on: Option<OnTrack>,
    plan: Option<Plan>,
) -> Result<Page, CliError> {
    let file = &inputs.car;
    // As it stands: with what the ledger says has been done since the weighing.
    let now = match &on {
        Some(on) => with_rows(&file.car, on.budget.now.part.into(), &on.ledger, done_since(on)),
        None => file.car.clone(),
    };
    let then = on.as_ref().zip(plan.as_ref()).map(|(on, plan)| {
        with_rows(&file.car, plan.standing.part.into(), &on.ledger, done_since(on).chain(plan.rows.iter().copied()))
    });
    let tracks: Vec<&Track> = inputs.tracks.iter().map(|(file, _)| &file.track).collect();
    let courses = tracks.iter().map(|track| course(track, args.step)).collect::<Result<Vec<_>, _>>()?;
    let own: Vec<Vec<Input>> = inputs.tracks.iter().map(|(file, _)| uncertain(&file.uncertainties)).collect();
    let legs: Vec<Leg> =
        (0..tracks.len()).map(|i| Leg { course: &courses[i], weight: inputs.tracks[i].1, inputs: &own[i] }).collect();
    let of_car = uncertain(&file.uncertainties);
    let spots = named_spots(&now, file.loads.driver.map(|driver| driver.seat));
    let study = worth(&Subject { car: &now, inputs: &of_car, spots }, &legs)?;
    let shown: Vec<Shown> = study.tracks.iter().map(showing).collect();
    let mix = showing(&study.mix);
    let driven = (0..tracks.len())
        .map(|i| drive(tracks[i], &courses[i], &now, then.as_ref()))
        .collect::<Result<Vec<_>, CliError>>()?;
    let found: Vec<Gain> = match (&then, &plan) {
        (Some(then), Some(plan)) => {
            let pair = Pair { before: &now, after: then, inputs: &of_car, change_sd_kg: plan.sd_kg };
            let made = gains(&pair, &legs)?;
            made.into_iter()
                .map(|g| Gain { track: g.track, change_s: g.change_s, error_s: g.error_s, sd_s: g.sd_s })
                .collect()
        }
        _ => Vec::new(),
    };
    let (fuel, driver) = loads(file);
    let aboard = aboard(fuel, driver);

    let asked = decisions(args)?;
    let brakes = asked.iter().any(|d| d.brakes);
    let mut sections: Vec<Section> = asked.iter().map(|d| d.section.clone()).collect();
    sections.push(worth_section(inputs, &study, &shown, &mix, now.mass.into(), on.as_ref(), plan.as_ref())?);
    if let Some(plan) = &plan {
        let rows = report_plan::rows(plan, on.as_ref(), &study.mix, now.mass);
        sections.push(plan::section(&plan.name, &found, &rows, &with_plan(&driven)?));
    }
    if args.rank && on.is_some() {
        let plain = RankArgs::plain(args.car.clone(), args.tracks.clone(), lapping(args));
        let Chance { lap_spread, samples, seed, .. } = args.chance;
        let own = lap_spread != Chance::default().lap_spread;
        let asked = RankArgs { samples, seed, lap_spread: own.then_some(lap_spread), ..plain };
        sections.push(ranked(&asked, |view| {
            let picture =
                view.found.items.iter().any(|item| item.resolved()).then(|| rank_picture(view)).transpose()?;
            Ok(ranking::section(view, picture.as_ref()))
        })?);
    }
    let mut standing = None;
    if let Some(on) = on {
        let (section, said) = budget_section(file.clone(), on)?;
        sections.push(section);
        standing = Some(said);
    }
    sections.push(laps_section(&file.name, &driven, &shown)?);
    let sources = sources::of(args, named, inputs)?;
    sections.push(made::inputs(&sources::given(inputs, &now), &aboard, &sources::changed(args)));
    sections.push(made::limits(brakes));
    sections.push(made::again(&sources.command, &sources.files, VERSION));
    let names: Vec<&str> = tracks.iter().map(|t| t.name.as_str()).collect();
    let plain = format!(
        "How quick is this car on {}, what does each kilogram and its place in the car cost, and where does the car stand \
         against its target?",
        names.join(", ")
    );
    Ok(Page {
        title: match asked.first() {
            Some(first) => first.title.clone(),
            None => format!("What a kilogram is worth: {}", file.name),
        },
        question: asked.iter().map(|d| d.question.as_str()).chain([plain.as_str()]).collect::<Vec<_>>().join(" "),
        verdict: verdict(&Verdict {
            decisions: asked.into_iter().flat_map(|d| d.answers).collect(),
            tracks: &shown,
            mix: &mix,
            plan: plan.as_ref().zip(found.last()).map(|(plan, gain)| (plan.name.as_str(), gain)),
            budget: standing,
        }),
        sections,
        version: VERSION.into(),
    })
}

const VERSION: &str = env!("CARGO_PKG_VERSION");

fn drive<'a>(track: &'a Track, course: &Course, now: &Car, then: Option<&Car>) -> Result<Driven<'a>, CliError> {
    let lap = sound_lap(course, now)?;
    let changed = match then {
        Some(then) => {
            let lap = sound_lap(course, then)?;
            Some((course.trace(&lap), lap))
        }
        None => None,
    };
    let (places, outline, rows) = (places(track), track.outline(MAP_STEP_M), course.trace(&lap));
    Ok(Driven { track, places, outline, rows, lap, changed })
}

fn trace<'a>(name: &'a str, rows: &'a [Row], lap: &Lap, track: &Track) -> LapTrace<'a> {
    LapTrace { name, rows, length_m: track.length(), lap_time_s: lap.time, lap_time_error_s: lap.error }
}

fn laps_section(car: &str, driven: &[Driven], shown: &[Shown]) -> Result<Section, PlotError> {
    let views: Vec<LapView> = driven
        .iter()
        .zip(shown)
        .map(|(d, w)| LapView {
            track: &d.track.name,
            closed: d.track.closed,
            places: &d.places,
            plan: &d.outline,
            lap: trace(car, &d.rows, &d.lap, d.track),
            sd_s: w.lap_time_sd_s,
            warnings: &[],
        })
        .collect();
    lap::section(&views)
}

/// As it stands against the plan, on each track.
fn with_plan(driven: &[Driven]) -> Result<Vec<Picture>, PlotError> {
    let pairs = driven.iter().filter_map(|d| d.changed.as_ref().map(|c| (d, c)));
    let pictures = pairs.map(|(d, (rows, lap))| {
        let laps = [trace("the car as it stands", &d.rows, &d.lap, d.track), trace("the plan", rows, lap, d.track)];
        pair_pictures(&d.track.name, d.track, laps)
    });
    Ok(pictures.collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect())
}

fn worth_section(
    inputs: &Inputs,
    study: &Study,
    shown: &[Shown],
    mix: &Shown,
    mass: unladen_vehicle::mass::Part,
    on: Option<&OnTrack>,
    plan: Option<&Plan>,
) -> Result<Section, PlotError> {
    let car = &inputs.car;
    let map = kilogram::picture(car, mass, mix, on, plan)?;
    let mut curves = Vec::new();
    for ((track, _), found) in inputs.tracks.iter().zip(&study.tracks) {
        let (track, Some(along)) = (&track.track, &found.along) else { continue };
        curves.push(curve_picture(&CurvePlot {
            car: &car.name,
            track: &track.name,
            places: &places(track),
            length_m: track.length(),
            s_m: &along.s_m,
            s_per_kg: &along.s_per_kg,
            total_sd: found.s_per_kg.sd,
            error: found.s_per_kg.error,
        })?);
    }
    Ok(worth_page::section(shown, mix, &map, &curves))
}

/// The budget as `unladen ledger` states it, with what the target has aboard.
fn budget_section(car: unladen_garage::CarFile, on: OnTrack) -> Result<(Section, String), CliError> {
    let project = Project { car, ledger: on.ledger };
    let (fuel, driver) = load(&project);
    let base = carrying(&project.car, fuel, driver)?;
    let (entries, shop) = (&project.ledger.entries, &project.car.shop);
    let stood = unladen_study::ledger::summary::stand(&base, entries, &shop.scales, shop.weighed_on)?;
    let (aboard, weighed_on) = (aboard(fuel, driver), shop.weighed_on.map(written));
    let otherwise = otherwise(&project, &stood, &base.car.m)?;
    let view = BudgetView {
        car: &project.car.name,
        aboard: &aboard,
        weighed_on: weighed_on.as_deref(),
        entries,
        budget: &stood,
        target_kg: shop.target.map(|t| t.mass),
        otherwise: &otherwise,
        filled_in: standing::filled_in(&project.ledger),
    };
    let names: Vec<String> = entries.iter().map(|e| e.item.clone()).collect();
    let dates = months(&stood);
    let burn = BurnPlot {
        car: view.car,
        aboard: &aboard,
        steps: &stood.steps,
        names: &names,
        target_kg: view.target_kg,
        dates: &dates,
    };
    let mut pictures = vec![burn_picture(&burn)?];
    if stood.steps.iter().any(|s| !s.done) {
        let water =
            WaterPlot { car: view.car, aboard: &aboard, entries, steps: &stood.steps, target_kg: view.target_kg };
        pictures.push(waterfall_picture(&water)?);
    }
    Ok((budget::section(&view, &pictures), budget::against_target(&view)))
}

/// A path as it can be shown to strangers: as typed, of an absolute one its last two parts.
pub fn shareable(path: &Path) -> String {
    if path.is_relative() {
        return path.display().to_string();
    }
    let parts: Vec<_> = path.iter().map(|p| p.to_string_lossy().into_owned()).collect();
    parts[parts.len().saturating_sub(2).max(1).min(parts.len())..].join("/")
}
