//! Why there is no answer, by kind.

use std::path::PathBuf;

use thiserror::Error;
use unladen_garage::log::LogError;
use unladen_garage::{FileErrors, Finding, SurveyError, Warning};
use unladen_lap::LapError;
use unladen_positions::{AlignError, CentreError};
use unladen_study::StudyError;
use unladen_study::fit::FitError;
use unladen_study::rank::RankError;
use unladen_study::relocate::RelocateError;
use unladen_study::weighing::WeighError;
use unladen_vehicle::fuel::FuelError;
use unladen_vehicle::mass::MassError;

use crate::advice::after;
use crate::logged::LoggedError;
use crate::trial_error::TrialError;

/// Whose fault it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// What was asked for can't be.
    Question,
    /// A file, or a value that was set.
    File,
    /// A computation that came to no end.
    Computation,
}

/// Why a question has no answer.
#[derive(Debug, Error)]
pub enum AskError {
    /// Every fault of every file and every value that was set.
    #[error("{}", all(.0))]
    Files(Vec<FileErrors>),
    /// What was asked for can't be.
    #[error(transparent)]
    Asked(#[from] Asked),
    /// A study has no result.
    #[error(transparent)]
    Study(#[from] NoResult),
    /// Positions or a log that no course is made of.
    #[error(transparent)]
    Logged(#[from] LoggedError),
    /// A trial that can't be planned, sealed or read.
    #[error(transparent)]
    Trial(#[from] TrialError),
}

/// What of a question can't be.
#[derive(Debug, Error)]
#[allow(missing_docs)]
pub enum Asked {
    #[error(
        "{track}: about {stations} stations, and at most {most} are solved: {}",
        if *by_step { "give a larger --step" } else { "its segments are too many; join those that are short" }
    )]
    TooLong { track: String, stations: u64, most: u64, by_step: bool },
    #[error("--as {given}: no such state{hint}; there are {all}")]
    State { given: String, hint: String, all: String },
    #[error("{option} {given}: neither a row or a group of the ledger nor a name of [aboard] is called that{hint}")]
    NoSuchName { option: &'static str, given: String, hint: String },
    #[error("{one} and {other}: the car can't become both of these together")]
    TwoCars { one: String, other: String },
    #[error("ledger.csv, {item}: becomes = {word}, and there is no car.toml in {}", path.display())]
    NoOtherCar { item: String, word: String, path: PathBuf },
    #[error("its rows leave no car: what comes off outweighs it")]
    NoCar,
    #[error("{}: is not there, and --plan and --rank are about its rows", path.display())]
    NoPlan { path: PathBuf },
    #[error("--plan {item}: no row of the ledger has that name; open are: {open}")]
    NoSuchRow { item: String, open: String },
    #[error("--plan {item}: is done already")]
    DoneAlready { item: String },
    #[error("{item}: {what}")]
    CannotBe { item: String, what: String },
    #[error("{given}: no item or group of the ledger has this name{hint}")]
    NoSuchItem { given: String, hint: String },
    #[error("{given}: can't be chosen: {why}")]
    CantBe { given: String, why: String },
    #[error("{what}: put its place right in ledger.csv before it is ranked")]
    Outside { what: String },
    #[error("{}: no such file; only the fuel tank can be moved without a ledger that says what an item weighs and where it is", path.display())]
    NoLedger { path: PathBuf },
    #[error("no key or column has `{given}` in it{hint}")]
    NoSuchKey { given: String, hint: String },
    #[error("car.toml has no [fuel]: without a tank and its fuel there is nothing to go by")]
    NoFuel,
    #[error(
        "the empty tank goes along with its fuel, and nobody says what it weighs: --empty-tank 12kg, or 12kg,14kg before and after (0kg: the fuel alone); or mark its row of the ledger, one_of: fuel tank"
    )]
    EmptyTank,
    #[error("{item}: not in the car by its ledger, so it can't be moved; give it its place in the ledger instead")]
    NotInCar { item: String },
    #[error("{item}: --box and --empty-tank are of the fuel tank only")]
    OfTank { item: String },
    #[error("{}: this is {found}; {due} are due", path.display())]
    OtherKind { path: PathBuf, found: &'static str, due: &'static str },
    #[error("--apart {given}: no unknown of the two cars begins with that; there are {known}")]
    Apart { given: String, known: String },
    #[error("{}: what would be written is no track that can be lapped, and nothing was written: {fault}", path.display())]
    Unsound { path: PathBuf, fault: FileErrors },
    #[error("{}: no widths in it; columns of the road to the left and to the right of each position are due (--column width_left=NAME --column width_right=NAME), or --line WIDTH", path.display())]
    NoWidths { path: PathBuf },
    #[error(
        "--bank {from}..{to}: the course is {length_m:.0} m long; on an open one the first distance is the smaller"
    )]
    BankOff { from: f64, to: f64, length_m: f64 },
    #[error(
        "lap {given} of the log is asked for, and {laps} can be used; at least two are needed, one of them held out"
    )]
    NoSuchLap { given: usize, laps: usize },
    #[error(
        "a synthetic log has 0.1 to 1000 samples a second, 1 to 1000 laps, no negative noise, less than 90 % dropouts, and two million rows at most"
    )]
    Logger,
    #[error(
        "nothing is swept: give --mass, --cg-height, --front-share, --fuel or --grip, for example --mass 1000kg..1300kg:21"
    )]
    NothingSwept,
    #[error("--fuel: the car's file has no [fuel], so nobody knows where its tank is")]
    NoTank,
    #[error("{option}: {what}")]
    Fuel { option: &'static str, what: FuelError },
    #[error(
        "a sweep of {} cells: at most {most} are held at once; give fewer values to an axis",
        cells.map_or_else(|| "more than can be counted".to_owned(), |n| n.to_string())
    )]
    TooManyCells { cells: Option<u64>, most: u64 },
}

/// A study without a result.
#[derive(Debug, Error)]
#[allow(missing_docs)]
pub enum NoResult {
    #[error("{why}{}", after(.0), why = .0)]
    Worth(#[from] StudyError),
    #[error("{why}{}", after(.0), why = .0)]
    Rank(#[from] RankError),
    #[error("{why}{}", after(.0), why = .0)]
    Relocate(#[from] RelocateError),
    #[error("{0}")]
    Mass(#[from] MassError),
    #[error("{0}")]
    Weigh(#[from] WeighError),
    #[error("{0}")]
    Fit(#[from] FitError),
    #[error("there is no lap of this car here: {source}")]
    NoLapHere { source: LapError },
}

impl AskError {
    /// Whose fault it is.
    pub fn kind(&self) -> Kind {
        match self {
            AskError::Files(_) | AskError::Logged(_) => Kind::File,
            AskError::Asked(_) | AskError::Trial(_) => Kind::Question,
            AskError::Study(error) => error.kind(),
        }
    }

    /// A fault of one file.
    pub fn one(finding: Finding) -> Self {
        AskError::Files(vec![FileErrors { faults: vec![finding], more: 0 }])
    }
}

impl NoResult {
    /// Masses, places and fuel that no car has, and a start that is too fast for the first bend, are what was given.
    pub fn kind(&self) -> Kind {
        let computation = match self {
            NoResult::Worth(error) | NoResult::Relocate(RelocateError::Worth(error)) => {
                !matches!(error, StudyError::Lap { source: LapError::StartTooFast { .. }, .. })
            }
            NoResult::Rank(error) => matches!(error, RankError::Lap { .. } | RankError::Tracks(_)),
            NoResult::Relocate(_) | NoResult::Mass(_) | NoResult::Weigh(_) => false,
            NoResult::Fit(error) => !matches!(error, FitError::NoLap),
            NoResult::NoLapHere { .. } => true,
        };
        if computation { Kind::Computation } else { Kind::Question }
    }
}

fn all(errors: &[FileErrors]) -> String {
    errors.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

impl From<FileErrors> for AskError {
    fn from(errors: FileErrors) -> Self {
        AskError::Files(vec![errors])
    }
}

macro_rules! ask_errors {
    ($($kind:ident: $($error:ty),+;)+) => {$($(
        impl From<$error> for AskError {
            fn from(error: $error) -> Self {
                AskError::$kind(error.into())
            }
        }
    )+)+};
}
ask_errors! {
    Study: StudyError, RankError, RelocateError, MassError, WeighError, FitError;
    Logged: LogError, SurveyError, CentreError, AlignError;
}

/// No answer, and what was unlikely in the files until then.
#[derive(Debug, Error)]
#[error("{why}")]
pub struct Failure {
    /// What is unlikely in the files, in the order in which they were read.
    pub warnings: Vec<Warning>,
    /// Why.
    #[source]
    pub why: Box<AskError>,
}

impl Failure {
    /// Why, and what was unlikely until then.
    pub(crate) fn of(why: impl Into<AskError>, warnings: Vec<Warning>) -> Self {
        Self { warnings, why: Box::new(why.into()) }
    }

    /// With what was unlikely in the files that were read before.
    pub(crate) fn after(self, before: &[Warning]) -> Self {
        Self { warnings: [before, &self.warnings].concat(), ..self }
    }
}
