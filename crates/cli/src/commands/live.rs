//! `unladen live`: a page that answers while one drags, opened.

use std::io::IsTerminal;
use std::path::PathBuf;
use std::process::ExitCode;

use crate::args::Lapping;
use crate::commands::moving::{Chance, With};
use crate::commands::report::{self, ReportArgs};
use crate::error::CliError;
use crate::output::note;

/// `unladen live`.
#[derive(Debug, clap::Args)]
pub struct LiveArgs {
    /// A car: its car.toml, or the folder that holds one; the ledger beside it is read too
    pub car: PathBuf,
    /// Tracks: their TOML files, each with a weight in the mix if it is not 1
    #[arg(required = true, value_name = "TRACK[=WEIGHT]")]
    pub tracks: Vec<String>,
    /// The page: a file that ends in .html
    #[arg(long, value_name = "FILE.html", default_value = "live.html")]
    pub out: PathBuf,
    /// Don't open it: without this it is opened where there is a desktop
    #[arg(long)]
    pub no_open: bool,
    #[command(flatten)]
    pub chance: Chance,
    #[command(flatten)]
    pub lapping: Lapping,
}

/// Shown with `--help`.
pub const HELP: &str = "Example:  unladen live my-car tracks/valley.toml\n\
    The page needs no network and holds all of it: the solver, the car's files and the tracks'. Whoever gets it gets these.";

/// Makes the page and opens it.
pub fn run(args: &LiveArgs) -> Result<ExitCode, CliError> {
    let code = report::run(&args.report())?;
    if !args.no_open && std::io::stdout().is_terminal() && has_desktop() {
        match open::that_detached(&args.out) {
            Ok(()) => {}
            Err(why) => note(&format!("it could not be opened ({why}): open it in a browser\n")),
        }
    }
    Ok(code)
}

fn has_desktop() -> bool {
    !cfg!(target_os = "linux")
        || ["DISPLAY", "WAYLAND_DISPLAY"].into_iter().any(|name| std::env::var_os(name).is_some())
}

impl LiveArgs {
    /// A report without a question beside what a kilogram is worth.
    fn report(&self) -> ReportArgs {
        ReportArgs {
            car: self.car.clone(),
            tracks: self.tracks.clone(),
            out: self.out.clone(),
            plan: Vec::new(),
            rank: false,
            item: None,
            to: None,
            by: None,
            with: With::default(),
            against: None,
            set_second: Vec::new(),
            apart: Vec::new(),
            trial: None,
            no_live: false,
            chance: self.chance.clone(),
            lapping: self.lapping.clone(),
        }
    }
}
