//! What can go wrong, and the exit code that says so.

use std::path::PathBuf;
use std::process::ExitCode;

use thiserror::Error;
use unladen_garage::FileErrors;
use unladen_lap::LapError;
use unladen_report::draw::picture::PlotError;
use unladen_report::files::partial::PartialError;
use unladen_report::files::write::WriteError;
use unladen_report::lap::json::OutError;
use unladen_study::WorthError;
use unladen_study::relocate::RelocateError;

/// Why a command has no result.
#[derive(Debug, Error)]
#[allow(missing_docs)]
pub enum CliError {
    /// Every fault of every file and `--set`.
    #[error("{}", all(.0))]
    Files(Vec<FileErrors>),
    #[error("{given}: a weight is due behind the =, a number above 0: {track}=2")]
    Weight { given: String, track: String },
    #[error("{}: this is {found}; {due} are due", path.display())]
    OtherKind { path: PathBuf, found: &'static str, due: &'static str },
    #[error("{}: two outputs can't go to one file", path.display())]
    SameOutput { path: PathBuf },
    #[error("{}: is a file of {what} and would be lost; give the result another name", path.display())]
    WouldOverwrite { path: PathBuf, what: &'static str },
    #[error(
        "{track}: about {stations} stations, and at most {most} are solved: {}",
        if *by_step { "give a larger --step" } else { "its segments are too many; join those that are short" }
    )]
    TooLong { track: String, stations: u64, most: u64, by_step: bool },
    #[error(
        "{given}: a position is three numbers, x,y,z: behind the front axle, right of the middle, above ground, in mm"
    )]
    Position { given: String },
    #[error("{}: a page's name must end in .html", path.display())]
    PageName { path: PathBuf },
    #[error("{}: is not there, and --plan and --rank are about its rows", path.display())]
    NoPlan { path: PathBuf },
    #[error("--plan {item}: no row of the ledger has that name; open are: {open}")]
    NoSuchRow { item: String, open: String },
    #[error("--plan {item}: is done already")]
    DoneAlready { item: String },
    #[error("--plan {item}: {what}")]
    CannotBe { item: String, what: String },
    #[error(
        "nothing is swept: give --mass, --cg-height, --front-share, --fuel or --grip, for example --mass 1000kg..1300kg:21"
    )]
    NothingSwept,
    #[error("--contours needs two swept numbers: give two axes several values each")]
    NoSurface,
    #[error(
        "--plot draws one or two axes that change, of {most} cells at most; this sweep has {axes} of {} cells",
        cells.map_or_else(|| "very many".to_owned(), |n| n.to_string())
    )]
    NotDrawn { axes: usize, cells: Option<u64>, most: u64 },
    #[error("--fuel: the car's file has no [fuel], so nobody knows where its tank is")]
    NoTank,
    #[error("{option}: {what}")]
    Fuel { option: &'static str, what: unladen_vehicle::fuel::FuelError },
    #[error(
        "a sweep of {} cells{}: at most {most} are swept; give fewer values to an axis",
        cells.map_or_else(|| "more than can be counted".to_owned(), |n| n.to_string()),
        days.map_or_else(String::new, |d| format!(" would take about {} here", long(d)))
    )]
    TooManyCells { cells: Option<u64>, days: Option<f64>, most: u64 },
    #[error(
        "stopped after {done} of {of} cells{}",
        kept.as_ref().map_or_else(String::new, |k| format!(
            ": they are in {}; the same command with --resume goes on",
            k.display()
        ))
    )]
    Stopped { done: u64, of: u64, kept: Option<PathBuf> },
    #[error("{}: this build writes no Parquet; build it with the feature `parquet`, or write CSV", path.display())]
    NoParquet { path: PathBuf },
    #[error(transparent)]
    Partial(#[from] unladen_report::files::partial::PartialError),
    #[cfg(feature = "parquet")]
    #[error(transparent)]
    Parquet(#[from] unladen_report::sweep::parquet::ParquetError),
    #[error("{given}: no item or group of the ledger has this name{hint}")]
    NoSuchItem { given: String, hint: String },
    #[error("{given}: can't be chosen: {why}")]
    CantBe { given: String, why: String },
    #[error("{what}: put its place right in ledger.csv before it is ranked")]
    Outside { what: String },
    #[error(transparent)]
    Rank(#[from] unladen_study::rank::RankError),
    #[error("{given}: the inside of a box is three numbers above 0, along, across, high, in mm: 500,750,180")]
    BoxSize { given: String },
    #[error("{given}: no mass ({why}); 4kg is one, or 4 ± 0.5 kg")]
    MassGiven { given: String, why: String },
    #[error("{given}: no stint ({why}); 55L..5L is one")]
    StintGiven { given: String, why: String },
    #[error("{}: no such file; only the fuel tank can be moved without a ledger that says what an item weighs and where it is", path.display())]
    NoLedger { path: PathBuf },
    #[error("car.toml has no [fuel]: without a tank and its fuel there is nothing to go by")]
    NoFuel,
    #[error("{item}: not in the car by its ledger, so it can't be moved; give it its place in the ledger instead")]
    NotInCar { item: String },
    #[error("{item}: --box and --empty-tank are of the fuel tank only")]
    OfTank { item: String },
    #[error("{given}: a list of grips is due, each above 0: 1.0,0.6")]
    Grips { given: String },
    #[error("{given}: from, to and how many points are due, from above 0, at most 60 points: {example}")]
    Points { given: String, example: &'static str },
    #[error(transparent)]
    Relocate(#[from] unladen_study::relocate::RelocateError),
    #[error("{0}")]
    Budget(#[from] unladen_vehicle::mass::MassError),
    #[error("{}: is there already; nothing was written", path.display())]
    Exists { path: PathBuf },
    #[error("{}: can't make this folder: {source}", path.display())]
    NoFolder { path: PathBuf, source: std::io::Error },
    #[error("{0}")]
    Weigh(#[from] unladen_study::weighing::WeighError),
    #[error("{}: a file that ends in .toml is due", path.display())]
    TrackName { path: PathBuf },
    #[error("{}: the track would go over a file that it is made from; give --out another name", path.display())]
    OverLog { path: PathBuf },
    #[error("{}: no widths in it; columns of the road to the left and to the right of each position are due (--column width_left=NAME --column width_right=NAME), or --line WIDTH", path.display())]
    NoWidths { path: PathBuf },
    #[error("{}: {source}", path.display())]
    Unread { path: PathBuf, source: std::io::Error },
    #[error("{}: more than {most_mb} MB; cut it, or log fewer channels", path.display())]
    TooLarge { path: PathBuf, most_mb: u64 },
    #[error("{0}")]
    Survey(#[from] unladen_garage::SurveyError),
    #[error("{0}")]
    Columns(#[from] unladen_garage::log::LogError),
    #[error("{0}")]
    Log(unladen_garage::Located<unladen_garage::log::LogError>),
    #[error(
        "--bank {from}..{to}: the course is {length_m:.0} m long; on an open one the first distance is the smaller"
    )]
    BankOff { from: f64, to: f64, length_m: f64 },
    #[error(
        "{0}; --noise METRES says how far positions are off, --open and --closed what kind of course it is, --start LAT,LON where a lap begins"
    )]
    Centre(#[from] unladen_positions::CentreError),
    #[error("{}: no times in it; a fit needs a logged drive, not a line on a map", path.display())]
    NoTimes { path: PathBuf },
    #[error("the positions make no track that holds: {fault}")]
    Course { fault: unladen_track::TrackError },
    #[error("{0}")]
    Align(#[from] unladen_positions::AlignError),
    #[error(
        "lap {given} of the log is asked for, and {laps} can be used; at least two are needed, one of them held out"
    )]
    NoSuchLap { given: usize, laps: usize },
    #[error(
        "a synthetic log has 0.1 to 1000 samples a second, 1 to 1000 laps, no negative noise, less than 90 % dropouts, and two million rows at most"
    )]
    Logger,
    #[error("there is no lap of this car here: {source}")]
    NoLapHere { source: LapError },
    #[error("{0}")]
    Fit(#[from] unladen_study::fit::FitError),
    #[error(transparent)]
    Worth(#[from] WorthError),
    #[error(transparent)]
    Out(#[from] OutError),
    #[error(transparent)]
    Plot(#[from] PlotError),
    #[error(transparent)]
    Write(#[from] WriteError),
    #[error("can't write the result: {0}")]
    Print(std::io::Error),
}

/// Days as people say them.
fn long(days: f64) -> String {
    match days {
        d if d < 1.0 => format!("{:.1} hours", 24.0 * d),
        d if d < 1000.0 => format!("{d:.1} days"),
        d => format!("{:.0} years", d / 365.25),
    }
}

fn all(errors: &[FileErrors]) -> String {
    errors.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

impl CliError {
    /// A fault of one file.
    pub fn one(finding: unladen_garage::Finding) -> Self {
        CliError::Files(vec![FileErrors { faults: vec![finding], more: 0 }])
    }

    /// 2 for what was typed or stands in a file, 1 for a computation or a disk that failed.
    pub fn exit_code(&self) -> ExitCode {
        let bad_input = match self {
            CliError::Files(_)
            | CliError::Weight { .. }
            | CliError::OtherKind { .. }
            | CliError::SameOutput { .. }
            | CliError::NothingSwept
            | CliError::NoSurface
            | CliError::NotDrawn { .. }
            | CliError::NoTank
            | CliError::Fuel { .. }
            | CliError::TooManyCells { .. }
            | CliError::NoParquet { .. }
            | CliError::Position { .. }
            | CliError::NoSuchItem { .. }
            | CliError::CantBe { .. }
            | CliError::Outside { .. }
            | CliError::BoxSize { .. }
            | CliError::MassGiven { .. }
            | CliError::StintGiven { .. }
            | CliError::NoLedger { .. }
            | CliError::Grips { .. }
            | CliError::Points { .. }
            | CliError::NoFuel
            | CliError::NotInCar { .. }
            | CliError::OfTank { .. }
            | CliError::Budget(_)
            | CliError::PageName { .. }
            | CliError::NoPlan { .. }
            | CliError::NoSuchRow { .. }
            | CliError::DoneAlready { .. }
            | CliError::CannotBe { .. }
            | CliError::Exists { .. }
            | CliError::Weigh(_)
            | CliError::WouldOverwrite { .. }
            | CliError::TooLong { .. }
            | CliError::TrackName { .. }
            | CliError::OverLog { .. }
            | CliError::NoWidths { .. }
            | CliError::Unread { .. }
            | CliError::TooLarge { .. }
            | CliError::Survey(_)
            | CliError::Columns(_)
            | CliError::Log(_)
            | CliError::BankOff { .. }
            | CliError::Centre(_)
            | CliError::NoTimes { .. }
            | CliError::Course { .. }
            | CliError::Align(_)
            | CliError::NoSuchLap { .. }
            | CliError::Logger => true,
            CliError::Rank(error) => {
                !matches!(error, unladen_study::rank::RankError::Lap { .. } | unladen_study::rank::RankError::Tracks(_))
            }
            CliError::NoLapHere { .. } => false,
            CliError::Fit(fit) => matches!(fit, unladen_study::fit::FitError::NoLap),
            CliError::Relocate(RelocateError::Worth(WorthError::Lap { source, .. }))
            | CliError::Worth(WorthError::Lap { source, .. }) => {
                matches!(source, LapError::StartTooFast { .. })
            }
            CliError::Plot(PlotError::Extension { .. }) => true,
            CliError::Plot(PlotError::Write(write)) | CliError::Write(write) => {
                !matches!(write, WriteError::Refused { .. })
            }
            CliError::Partial(partial) => match partial {
                PartialError::Write(write) => !matches!(write, WriteError::Refused { .. }),
                _ => true,
            },
            #[cfg(feature = "parquet")]
            CliError::Parquet(_) => false,
            CliError::Relocate(why) => !matches!(why, RelocateError::Worth(_)),
            CliError::Stopped { .. }
            | CliError::NoFolder { .. }
            | CliError::Worth(_)
            | CliError::Out(_)
            | CliError::Plot(_)
            | CliError::Print(_) => false,
        };
        ExitCode::from(if bad_input { 2 } else { 1 })
    }
}
