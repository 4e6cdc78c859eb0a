//! `unladen report`: one page to share.

mod again;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_live::page::{pack, section};
use unladen_questions::report::Question;
use unladen_questions::trial::{diary, file_of};
use unladen_questions::{Scene, compare, rank, worth};
use unladen_report::files::write::{check_destination, write_whole};
use unladen_report::page::Markup;
use unladen_report::page::whole::{Made, page};

use crate::args::Lapping;
use crate::commands::compare::against;
use crate::commands::moving::{Chance, With, place};
use crate::commands::trial::today;
use crate::disk::DISK;
use crate::error::{CliError, Usage};
use crate::inputs::scene;
use crate::output::{failed, note, warn};
use crate::progress::Working;

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
    /// Rank what the ledger plans, change by change, as `unladen rank --as-set` does
    #[arg(long)]
    pub rank: bool,
    /// Answer whether moving this is worth it, as `unladen move` does: `fuel tank`, or an item of the ledger that is in
    /// the car
    #[arg(long, value_name = "NAME", requires = "place")]
    pub item: Option<String>,
    /// Where it would go, mm behind the front axle, right of the middle, above ground: its centre; of a tank its box's
    /// centre in plan and the floor of it
    #[arg(long, value_name = "X,Y,Z", allow_hyphen_values = true, requires = "item", group = "place")]
    pub to: Option<String>,
    /// By how much instead, mm back, right, up: -600,0,-60
    #[arg(long, value_name = "X,Y,Z", allow_hyphen_values = true, requires = "item", group = "place")]
    pub by: Option<String>,
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
    /// Show a sealed trial with its run sheet, and its result beside it once that is kept; its file, or its name
    #[arg(long, value_name = "TRIAL")]
    pub trial: Option<PathBuf>,
    /// Leave out what makes the page answer while one drags: the solver, and the files that it reads
    #[arg(long)]
    pub no_live: bool,
    #[command(flatten)]
    pub chance: Chance,
    #[command(flatten)]
    pub lapping: Lapping,
}

/// Makes the page.
pub fn run(args: &ReportArgs) -> Result<ExitCode, CliError> {
    if args.out.extension().is_none_or(|e| !e.eq_ignore_ascii_case("html")) {
        return Err(Usage::PageName { path: args.out.clone() }.into());
    }
    check_destination(&args.out)?;
    let ready = args.question()?.read(&DISK).map_err(failed)?;
    warn(&ready.warnings);
    let live = if args.no_live { None } else { Some(args.live()?) };
    let made = Made { command: again::command(args), changed: again::changed(args), version: VERSION.into(), live };
    let working = Working::on("laps for every part of the page");
    let answer = ready.answer()?;
    drop(working);
    write_whole(&args.out, page(&answer, &made)?.html().as_bytes())?;
    note(&format!("{} is written\n", args.out.display()));
    Ok(ExitCode::SUCCESS)
}

const VERSION: &str = env!("CARGO_PKG_VERSION");

impl ReportArgs {
    fn question(&self) -> Result<Question, CliError> {
        let scene = scene(&self.car, &self.tracks, &self.lapping)?;
        let relocate = self.item.as_ref().zip(place(self.to.as_ref(), self.by.as_ref())?);
        let relocate = relocate.map(|(item, to)| self.with.question(scene.clone(), item, to, &self.chance));
        let compare = self.against.as_ref().map(|other| -> Result<_, CliError> {
            let (set_second, apart) = (self.set_second.clone(), self.apart.clone());
            Ok(compare::Question { set_second, apart, ..against(scene.clone(), other, &self.chance)? })
        });
        let coming = Some(self.plan.clone());
        Ok(Question {
            relocate: relocate.transpose()?,
            compare: compare.transpose()?,
            trial: self.trial.as_ref().map(|given| self.trial(given)),
            rank: self.rank.then(|| self.ranking(&scene)),
            worth: worth::Question { coming, ..worth::Question::new(scene) },
        })
    }

    /// What takes hold of the car.
    fn live(&self) -> Result<Markup, CliError> {
        let scene = scene(&self.car, &self.tracks, &self.lapping)?;
        let data = pack(&DISK, &scene, (self.chance.lap_spread, self.chance.laps)).map_err(failed)?;
        Ok(section(&data))
    }

    fn trial(&self, given: &Path) -> diary::Question {
        diary::Question { trials: vec![file_of(&DISK, &self.car, given)], today: today() }
    }

    fn ranking(&self, scene: &Scene) -> rank::Question {
        let own = self.chance.lap_spread != Chance::default().lap_spread;
        let lap_spread_s = own.then_some(self.chance.lap_spread);
        rank::Question { sampling: self.chance.sampling(), lap_spread_s, ..rank::Question::new(scene.clone()) }
    }
}
