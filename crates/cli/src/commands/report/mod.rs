//! `unladen report`: one page to share.

pub mod decisions;
pub mod sources;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_questions::read::project::ledger_file;
use unladen_questions::stands::load::Aboard;
use unladen_questions::worth::{Question, Ready, Wish};
use unladen_questions::{AskError, Asked, Disk, Scene, ledger, rank};
use unladen_report::files::write::{check_destination, write_whole};
use unladen_report::ledger::dated::burn_down;
use unladen_report::ledger::waterfall::waterfall;
use unladen_report::page::verdict::{Verdict, verdict};
use unladen_report::page::{Page, Section, budget, lap, made, plan, ranking, worth as worth_page};
use unladen_report::rank::picture::rank_picture;
use unladen_report::words::aboard::aboard;
use unladen_report::worth::car_map::car_map;
use unladen_report::worth::curve::curves;

use crate::args::Run;
use crate::commands::moving::{Chance, With};
use crate::commands::report::decisions::decisions;
use crate::error::{CliError, Usage};
use crate::inputs::scene;
use crate::output::{failed, note, spare, warn};

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

/// Makes the page.
pub fn run(args: &ReportArgs) -> Result<ExitCode, CliError> {
    if args.out.extension().is_none_or(|e| !e.eq_ignore_ascii_case("html")) {
        return Err(Usage::PageName { path: args.out.clone() }.into());
    }
    check_destination(&args.out)?;
    spare(&args.out)?;
    let scene = scene(&args.car, &args.tracks, &lapping(args))?;
    let ledger = Some(Wish { coming: args.plan.clone(), now: true });
    let ready = Question { ledger, ..Question::new(scene.clone()) }.read(&Disk).map_err(failed)?;
    warn(&ready.warnings);
    if args.rank && ready.on.is_none() {
        return Err(AskError::from(Asked::NoPlan { path: ledger_file(&Disk, &args.car) }).into());
    }
    let page = page(args, &scene, &ready)?;
    write_whole(&args.out, page.html().as_bytes())?;
    note(&format!("{} is written\n", args.out.display()));
    Ok(ExitCode::SUCCESS)
}

/// What laps have in common, as the other commands take it.
fn lapping(args: &ReportArgs) -> Run {
    Run { set: args.set.clone(), grip: args.grip, step: args.step, json: false, csv: None, plot: None }
}

/// The answers, each in its section.
fn page(args: &ReportArgs, scene: &Scene, ready: &Ready) -> Result<Page, CliError> {
    let worth = ready.answer()?;
    let laps = ready.laps()?;
    let planned = ready.planned()?;
    let (file, mix) = (&worth.file, &worth.study.mix);

    let asked = decisions(args, scene)?;
    let brakes = asked.iter().any(|d| d.brakes);
    let mut sections: Vec<Section> = asked.iter().map(|d| d.section.clone()).collect();
    sections.push(worth_page::section(&worth.study.tracks, mix, &car_map(&worth)?, &curves(&worth)?));
    if let (Some(planned), Some(on)) = (&planned, &worth.on) {
        let rows = plan::rows(&planned.coming, on, mix, &worth.car.mass);
        let pictures = plan::pictures(&laps, &planned.laps)?;
        sections.push(plan::section(&planned.coming.name, &planned.gains, &rows, &pictures));
    }
    if args.rank {
        sections.push(ranked(args, scene)?);
    }
    let mut standing = None;
    if let Some(on) = &worth.on {
        let (section, said) = budget_section(&ledger::budget(file, &on.ledger)?)?;
        sections.push(section);
        standing = Some(said);
    }
    let sds = worth.study.tracks.iter().map(|w| w.lap_time_sd_s);
    sections.push(lap::section(&laps.iter().zip(sds).collect::<Vec<_>>())?);
    let sources = sources::of(args, &scene.tracks, &ready.inputs)?;
    let aboard = aboard(Aboard::on_track(file));
    sections.push(made::inputs(&sources::given(&ready.inputs, &worth.car), &aboard, &sources::changed(args)));
    sections.push(made::limits(brakes));
    sections.push(made::again(&sources.command, &sources.files, VERSION));
    let names: Vec<&str> = worth.tracks.iter().map(|t| t.name.as_str()).collect();
    let plain = format!(
        "How quick is this car on {}, what does each kilogram and its place in the car cost, and where does the car stand \
         against its target?",
        names.join(", ")
    );
    let planned = planned.as_ref();
    Ok(Page {
        title: match asked.first() {
            Some(first) => first.title.clone(),
            None => format!("What a kilogram is worth: {}", file.name),
        },
        question: asked.iter().map(|d| d.question.as_str()).chain([plain.as_str()]).collect::<Vec<_>>().join(" "),
        verdict: verdict(&Verdict {
            decisions: asked.into_iter().flat_map(|d| d.answers).collect(),
            tracks: &worth.study.tracks,
            mix,
            plan: planned.and_then(|p| p.gains.last().map(|gain| (p.coming.name.as_str(), gain))),
            budget: standing,
        }),
        sections,
        version: VERSION.into(),
    })
}

const VERSION: &str = env!("CARGO_PKG_VERSION");

/// What is planned, change by change.
fn ranked(args: &ReportArgs, scene: &Scene) -> Result<Section, CliError> {
    let own = args.chance.lap_spread != Chance::default().lap_spread;
    let lap_spread_s = own.then_some(args.chance.lap_spread);
    let plain = rank::Question::new(scene.clone());
    let ready = rank::Question { sampling: args.chance.sampling(), lap_spread_s, ..plain }.read(&Disk);
    let ready = ready.map_err(failed)?;
    warn(&ready.warnings);
    let answer = ready.answer()?;
    let drawn = answer.found.items.iter().any(|item| item.resolved());
    let picture = drawn.then(|| rank_picture(&answer)).transpose()?;
    Ok(ranking::section(&answer, picture.as_ref()))
}

/// The budget as `unladen ledger` states it, with what the target has aboard.
fn budget_section(answer: &ledger::Answer) -> Result<(Section, String), CliError> {
    let mut pictures = vec![burn_down(answer)?];
    if answer.budget.steps.iter().any(|s| !s.done) {
        pictures.push(waterfall(answer)?);
    }
    Ok((budget::section(answer, &pictures), budget::against_target(answer)))
}

/// A path as it can be shown to strangers: as typed, of an absolute one its last two parts.
pub fn shareable(path: &Path) -> String {
    if path.is_relative() {
        return path.display().to_string();
    }
    let parts: Vec<_> = path.iter().map(|p| p.to_string_lossy().into_owned()).collect();
    parts[parts.len().saturating_sub(2).max(1).min(parts.len())..].join("/")
}
