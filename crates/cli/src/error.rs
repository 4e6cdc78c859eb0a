//! What can go wrong, by kind, and the exit code that follows from it.

use std::path::PathBuf;
use std::process::ExitCode;

use thiserror::Error;
use unladen_garage::FileErrors;
use unladen_questions::AskError;
use unladen_report::draw::picture::PlotError;
use unladen_report::files::partial::PartialError;
use unladen_report::files::write::WriteError;
use unladen_report::lap::json::OutError;
use unladen_report::sweep::parts::PartsError;

/// Why a command has no result.
#[derive(Debug, Error)]
#[allow(missing_docs)]
pub enum CliError {
    /// A question without an answer.
    #[error(transparent)]
    Ask(#[from] AskError),
    /// What was typed makes no sense.
    #[error(transparent)]
    Usage(#[from] Usage),
    /// A result that went nowhere.
    #[error(transparent)]
    Output(#[from] Output),
    /// Every fault of every file and `--set`.
    #[error("{}", all(.0))]
    Files(Vec<FileErrors>),
}

/// What was typed makes no sense.
#[derive(Debug, Error)]
#[allow(missing_docs)]
pub enum Usage {
    #[error("{given}: a weight is due behind the =, a number above 0: {track}=2 ({why})")]
    Weight { given: String, track: String, why: String },
    #[error("{}: two outputs can't go to one file", path.display())]
    SameOutput { path: PathBuf },
    #[error(
        "{given}: a position is three numbers, x,y,z: behind the front axle, right of the middle, above ground, in mm; {why}"
    )]
    Position { given: String, why: String },
    #[error("{given}: what is moved, and by how many mm back, right, up: \"fuel tank=-600,0,-60\"; {why}")]
    MovedGiven { given: String, why: String },
    #[error("{}: a page's name must end in .html", path.display())]
    PageName { path: PathBuf },
    #[error("--contours needs two swept numbers: give two axes several values each")]
    NoSurface,
    #[error(
        "--plot draws one or two axes that change, of {most} cells at most; this sweep has {axes} of {} cells",
        cells.map_or_else(|| "very many".to_owned(), |n| n.to_string())
    )]
    NotDrawn { axes: usize, cells: Option<u64>, most: u64 },
    #[error(
        "a sweep of {} cells{}: at most {most} are swept; give fewer values to an axis",
        cells.map_or_else(|| "more than can be counted".to_owned(), |n| n.to_string()),
        days.map_or_else(String::new, |d| format!(" would take about {} here", long(d)))
    )]
    TooManyCells { cells: Option<u64>, days: Option<f64>, most: u64 },
    #[error("{}: this build writes no Parquet: write CSV, or build with `cargo build --release --features parquet`", path.display())]
    NoParquet { path: PathBuf },
    #[error("--shard {shard}: a part of no cells; the sweep has {cells}, so give {cells} parts at most")]
    NoCells { shard: unladen_study::sweep::Shard, cells: u64 },
    #[error("{given}: the inside of a box is three numbers above 0, along, across, high, in mm: 500,750,180")]
    BoxSize { given: String },
    #[error("{option} {given}: {why}")]
    Number { option: &'static str, given: String, why: String },
    #[error("--turns-with says what turns along: give its --turning-radius or its --turning-inertia too")]
    NothingTurns,
    #[error("{given}: no mass ({why}); 4kg is one, or 4 ± 0.5 kg")]
    MassGiven { given: String, why: String },
    #[error("{given}: a log and what was fitted are due, for example morning.csv=A")]
    LogSide { given: String },
    #[error("{given}: no stint ({why}); 55L..5L is one")]
    StintGiven { given: String, why: String },
    #[error("{given}: a list of grips is due, each above 0: 1.0,0.6")]
    Grips { given: String },
    #[error("{given}: from, to and how many points are due, from above 0, at most 60 points: {example}")]
    Points { given: String, example: &'static str },
    #[error("{}: is there already; nothing was written", path.display())]
    Exists { path: PathBuf },
    #[error("{}: a file that ends in .toml is due", path.display())]
    TrackName { path: PathBuf },
    #[error("{}: the track would go over a file that it is made from; give --out another name", path.display())]
    OverLog { path: PathBuf },
}

/// A result that went nowhere.
#[derive(Debug, Error)]
#[allow(missing_docs)]
pub enum Output {
    #[error("{}: can't make this folder: {source}", path.display())]
    NoFolder { path: PathBuf, source: std::io::Error },
    #[error(
        "stopped after {done} of {of} cells{}",
        kept.as_ref().map_or_else(String::new, |k| format!(
            ": they are in {}; the same command with --resume goes on",
            k.display()
        ))
    )]
    Stopped { done: u64, of: u64, kept: Option<PathBuf> },
    #[error(transparent)]
    Partial(#[from] unladen_report::files::partial::PartialError),
    #[error(transparent)]
    Parts(#[from] PartsError),
    #[cfg(feature = "parquet")]
    #[error(transparent)]
    Parquet(#[from] unladen_report::sweep::parquet::ParquetError),
    #[error(transparent)]
    Out(#[from] OutError),
    #[error(transparent)]
    Plot(#[from] PlotError),
    #[error(transparent)]
    Write(#[from] WriteError),
    #[error("can't write the result: {0}")]
    Print(std::io::Error),
}

/// Whose fault it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// What was typed.
    Usage,
    /// What stands in a file.
    File,
    /// A computation that came to no end.
    Computation,
    /// A disk, a pipe, a writer that failed.
    Output,
}

impl CliError {
    /// A fault of one file.
    pub fn one(finding: unladen_garage::Finding) -> Self {
        CliError::Files(vec![FileErrors { faults: vec![finding], more: 0 }])
    }

    /// Whose fault it is.
    pub fn kind(&self) -> Kind {
        match self {
            CliError::Ask(error) => match error.kind() {
                unladen_questions::Kind::Question => Kind::Usage,
                unladen_questions::Kind::File => Kind::File,
                unladen_questions::Kind::Computation => Kind::Computation,
            },
            CliError::Usage(_) => Kind::Usage,
            CliError::Output(error) => error.kind(),
            CliError::Files(_) => Kind::File,
        }
    }

    /// 2 for what was typed or stands in a file, 1 for a computation or a disk that failed.
    pub fn exit_code(&self) -> ExitCode {
        ExitCode::from(match self.kind() {
            Kind::Usage | Kind::File => 2,
            Kind::Computation | Kind::Output => 1,
        })
    }
}

impl Output {
    /// A name that no file can have was typed; all else is the disk's.
    fn kind(&self) -> Kind {
        let typed = match self {
            Output::Plot(PlotError::Extension { .. }) => true,
            Output::Plot(PlotError::Write(write)) | Output::Write(write) => write.is_input(),
            Output::Partial(PartialError::Write(write)) => write.is_input(),
            Output::Partial(_) | Output::Parts(_) => true,
            _ => false,
        };
        if typed { Kind::Usage } else { Kind::Output }
    }
}

macro_rules! through_output {
    ($($error:ty),+) => {$(
        impl From<$error> for CliError {
            fn from(error: $error) -> Self {
                CliError::Output(error.into())
            }
        }
    )+};
}
through_output!(PlotError, WriteError, PartialError, PartsError, OutError);

#[cfg(feature = "parquet")]
through_output!(unladen_report::sweep::parquet::ParquetError);

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_input_a_build_without_parquet_says_how_to_get_it() {
        let said = Usage::NoParquet { path: "out.parquet".into() }.to_string();
        assert!(
            said.starts_with("out.parquet: ") && said.contains("`cargo build --release --features parquet`"),
            "{said}"
        );
    }
}
