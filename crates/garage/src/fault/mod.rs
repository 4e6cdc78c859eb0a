//! What can be wrong in a file: one variant a fault, with its data, its label and what would be right.

pub(crate) mod axis;
pub(crate) mod caution;
pub(crate) mod finding;
pub(crate) mod ledger_fault;
pub(crate) mod slip;
pub(crate) mod source;
pub(crate) mod trial_fault;

use thiserror::Error;
use unladen_track::TrackError;
use unladen_vehicle::air::AirError;
use unladen_vehicle::fuel::FuelError;
use unladen_vehicle::mass::MassError;

use crate::fault::axis::AxisProblem;
use crate::fault::finding::Explain;
use crate::fault::ledger_fault::LedgerFault;
use crate::fault::trial_fault::TrialFault;
use crate::unit::Dimension;

/// What is wrong with one value.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum Wrong {
    #[error("a unit is due")]
    UnitMissing { due: Dimension, example: String },
    #[error("{} where {} is due", is.name(), due.name())]
    OtherDimension { unit: &'static str, is: Dimension, due: Dimension },
    #[error("unknown unit `{unit}`")]
    UnknownUnit { unit: String, due: Dimension, meant: Option<&'static str> },
    #[error("value and uncertainty in different units")]
    TwoUnits { second: String },
    #[error("more than a value, ± and a unit")]
    Trailing { text: String },
    #[error("not a number")]
    NotANumber { text: String },
    #[error("a unit, which the column's name gives already")]
    UnitInACell { unit: &'static str, plain: String },
    #[error("a decimal comma")]
    DecimalComma { text: String, point: String },
    #[error("not a finite number")]
    NotFinite,
    #[error("a negative uncertainty")]
    NegativeSd,
    #[error("{given} is outside {range}")]
    OutOfRange { given: String, range: String },
    #[error("{found} where {due} is due")]
    Type { found: &'static str, due: &'static str, example: String },
    #[error("`{given}` is {}", not_a_choice(choices))]
    NotAChoice { given: String, choices: &'static [&'static str], meant: Option<&'static str> },
    #[error("`{given}` is no date")]
    NotADate { given: String },
    #[error("schema {given} is not known to this version")]
    Schema { given: String },
    #[error("too few entries: {given}, at least {least}")]
    TooFew { given: usize, least: usize },
    #[error("out of order: {what}")]
    Order { what: &'static str },
    #[error("empty")]
    Empty,
    #[error("a character that is none: {}", character.escape_unicode())]
    Steers { character: char },
}

fn not_a_choice(choices: &[&str]) -> String {
    match choices {
        [only] => format!("not `{only}`"),
        _ => format!("none of {}", choices.join(", ")),
    }
}

/// What is wrong in a file, or with a `--set`.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum Fault {
    #[error("{path}: {problem}")]
    File { path: String, problem: FileProblem },
    #[error("{option}: {problem}")]
    Axis { option: String, problem: AxisProblem },
    #[error("not TOML: {message}")]
    Syntax { message: String },
    #[error("{key}: {wrong}")]
    Value { key: String, wrong: Wrong },
    #[error("unknown key {key}")]
    UnknownKey { key: String, meant: Option<String>, known: Vec<String> },
    #[error("table [{table}] is missing")]
    TableMissing { table: String, names: Vec<&'static str>, because: Option<String> },
    #[error("{key} is missing: {help}")]
    KeyMissing { key: String, help: &'static str, example: String, because: Option<String> },
    #[error("--set {given}: {problem}")]
    Set { given: String, problem: SetProblem },
    #[error("mass.weighed_with and {key} disagree about what was aboard")]
    Aboard { key: &'static str, listed: String, given: String },
    #[error("{key}: {what}")]
    Fuel { key: &'static str, what: FuelError },
    #[error("{key}: {what}")]
    Mass { key: &'static str, what: MassError },
    #[error("{key}: {clash}")]
    Clash { key: &'static str, clash: Clash },
    #[error("air: {0}")]
    Air(AirError),
    #[error("unknown column `{name}`")]
    UnknownColumn { name: String, meant: Option<String>, known: Vec<String> },
    #[error("column `{name}` is missing")]
    ColumnMissing { name: &'static str, because: Option<&'static str> },
    #[error("column `{name}` twice")]
    ColumnTwice { name: String },
    #[error("{found} fields where the header has {due}")]
    Ragged { found: usize, due: usize, comma: bool },
    #[error("{column}: {wrong}")]
    Cell { column: &'static str, wrong: Wrong },
    #[error("a quote that is opened and never closed")]
    OpenQuote,
    #[error("{path}: outside the track's folder, and no list of segments")]
    Outside { path: String },
    #[error("no segments")]
    NoSegments,
    #[error("{0}")]
    Track(TrackError),
    #[error("{0}")]
    Ledger(LedgerFault),
    #[error("{0}")]
    Trial(TrialFault),
    #[error("read without a fault, and yet incomplete: please report this file")]
    Unreadable,
}

/// Why a file could not be read as text.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum FileProblem {
    #[error("no such file")]
    NotFound,
    #[error("a directory, not a file")]
    Directory,
    #[error("{megabytes} MB; at most {limit} MB are read")]
    TooLarge { megabytes: u64, limit: u64 },
    #[error("not text: byte {byte} of the file (line {line}) is not UTF-8")]
    NotText { byte: usize, line: usize },
    #[error("empty")]
    Empty,
    #[error("more than {most} {what}; at most {most} are read")]
    TooMany { what: &'static str, most: usize },
    #[error("{reason}")]
    Unreadable { reason: String },
}

/// Why a `--set` says nothing.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum SetProblem {
    #[error("KEY=VALUE is due")]
    NoEquals,
    #[error("this key is in both kinds of file and can't be set")]
    BothFiles,
    #[error("unknown key")]
    UnknownKey { meant: Option<String> },
    #[error("a value has no plus sign")]
    Plus { shift: String },
    #[error("a shift or a factor has no ± of its own: how uncertain the number is stays as it is")]
    UncertainShift,
    #[error("nothing there to shift: the file does not give it")]
    NothingToShift,
    #[error("no number that could be shifted")]
    NoNumber,
    #[error("a unit is due: {example}")]
    Unit { example: String },
    #[error("{wrong}")]
    Value { wrong: Box<Wrong> },
}

/// Values that are possible each alone, but not together.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum Clash {
    #[error("the clutch slips at {launch}, above the limiter at {limit}")]
    LaunchAboveLimit { launch: String, limit: String },
    #[error("a circuit has no start speed")]
    StartOfCircuit,
    #[error("an open course needs no closure")]
    ClosureOfCourse,
    #[error("car.toml has no [fuel] that says where the tank is")]
    NoTank,
    #[error("car.toml has no [driver] that says where the seat is")]
    NoSeat,
    #[error("{reached}; {given} would need a drag area of {area}")]
    TopSpeed { reached: String, given: String, area: String },
    #[error("{torque} at that engine speed is {power}, more than the {most} given as most")]
    TorqueAbovePower { torque: String, power: String, most: String },
    #[error("{power} at {speed} is {due} already: most torque can't be less")]
    TorqueBelowPower { power: String, speed: String, due: String },
    #[error("most torque is above the engine speed of most power, {speed}")]
    TorqueTooHigh { speed: String },
}

fn did_you_mean(name: &Option<impl AsRef<str>>) -> Option<String> {
    name.as_ref().map(|n| format!("did you mean `{}`?", n.as_ref()))
}

fn why(because: &Option<String>) -> String {
    because.as_ref().map(|b| format!(" ({b})")).unwrap_or_default()
}

impl Explain for Wrong {
    fn label(&self) -> String {
        match self {
            Wrong::UnitMissing { due, .. } => format!("{}: {}", due.name(), due.examples()),
            Wrong::OtherDimension { due, .. } if *due == Dimension::Pure => "a pure number, without a unit".into(),
            Wrong::OtherDimension { due, .. } | Wrong::UnknownUnit { due, .. } => match due {
                Dimension::Pure => "a pure number, without a unit".into(),
                due => format!("{}: {}", due.name(), due.examples()),
            },
            Wrong::TwoUnits { .. } => "not the unit of the value".into(),
            Wrong::Trailing { .. } => "not understood".into(),
            Wrong::NotANumber { .. } => "a number is due".into(),
            Wrong::UnitInACell { unit, .. } => format!("a bare number, in {unit}, is due"),
            Wrong::DecimalComma { .. } => "a point is due, not a comma".into(),
            Wrong::NotFinite => "a finite number is due".into(),
            Wrong::NegativeSd => "an uncertainty is 0 or more".into(),
            Wrong::OutOfRange { range, .. } => format!("possible: {range}"),
            Wrong::Type { due, .. } => format!("{due} is due"),
            Wrong::NotAChoice { choices: [only], .. } => format!("`{only}` is the only word here"),
            Wrong::NotAChoice { choices, .. } => format!("one of {}", choices.join(", ")),
            Wrong::NotADate { .. } => "\"2026-03-14\" is one".into(),
            Wrong::Schema { .. } => "`schema = 1` is known".into(),
            Wrong::TooFew { least, .. } => format!("at least {least}"),
            Wrong::Order { what } => (*what).into(),
            Wrong::Empty => "a text is due".into(),
            Wrong::Steers { .. } => "a text in one line, of characters that can be seen, is due".into(),
        }
    }

    fn hint(&self) -> Option<String> {
        match self {
            Wrong::UnitMissing { example, .. } => Some(format!("write \"{example}\"")),
            Wrong::UnknownUnit { meant: unit, .. } => did_you_mean(unit),
            Wrong::UnitInACell { plain, .. } => Some(format!("write {plain}")),
            Wrong::TwoUnits { .. } => Some("give both in one unit: \"492 ± 15 mm\"".into()),
            Wrong::DecimalComma { text, point } => {
                let thousands = matches!(text.split_once(','), Some((a, b)) if b.len() == 3 && !a.starts_with('0'));
                let or =
                    if thousands { format!(", or {} without a separator", text.replace(',', "")) } else { "".into() };
                Some(format!("write {point} with a decimal point{or}"))
            }
            Wrong::Type { example, .. } if !example.is_empty() => Some(format!("for example: {example}")),
            Wrong::NotAChoice { meant: choice, .. } => did_you_mean(choice),
            _ => None,
        }
    }
}

impl Explain for Fault {
    fn label(&self) -> String {
        match self {
            Fault::Value { wrong, .. } | Fault::Cell { wrong, .. } => wrong.label(),
            Fault::Syntax { .. } => "here".into(),
            Fault::UnknownKey { .. } => "not a key of this file".into(),
            Fault::UnknownColumn { .. } => "not a column of this file".into(),
            Fault::KeyMissing { .. } | Fault::TableMissing { .. } => "missing here".into(),
            Fault::Aboard { listed, .. } => format!("weighed with {listed}"),
            Fault::Fuel { .. } | Fault::Mass { .. } => "too much".into(),
            Fault::Ragged { .. } => "this row".into(),
            Fault::OpenQuote => "from here on".into(),
            Fault::Track(what) => what.label(),
            Fault::Ledger(what) => what.label(),
            Fault::Trial(what) => what.label(),
            _ => "here".into(),
        }
    }

    fn hint(&self) -> Option<String> {
        match self {
            Fault::Value { wrong, .. } | Fault::Cell { wrong, .. } => wrong.hint(),
            Fault::Axis { problem, .. } => problem.hint(),
            Fault::Clash { clash: Clash::TopSpeed { .. }, .. } => Some(
                "power at the crank and the car's own top speed; leave the speed out where gears or a governor hold it"
                    .into(),
            ),
            Fault::Clash { clash: Clash::TorqueAbovePower { .. } | Clash::TorqueBelowPower { .. }, .. } => {
                Some("one of the two is of another engine, or in another unit".into())
            }
            Fault::UnknownKey { meant: Some(_), .. } | Fault::UnknownColumn { meant: Some(_), .. } => match self {
                Fault::UnknownKey { meant: name, .. } | Fault::UnknownColumn { meant: name, .. } => did_you_mean(name),
                _ => None,
            },
            Fault::UnknownKey { known, .. } if !known.is_empty() => Some(format!("known here: {}", known.join(", "))),
            Fault::UnknownColumn { known, .. } => Some(format!("known: {}", known.join(", "))),
            Fault::KeyMissing { example, because, .. } => Some(format!("add {example}{}", why(because))),
            Fault::TableMissing { table, names, because } => {
                Some(format!("add [{table}] with {}{}", names.join(", "), why(because)))
            }
            Fault::Set { problem, .. } => match problem {
                SetProblem::NoEquals => Some("for example --set mass.total=1200kg".into()),
                SetProblem::UnknownKey { meant: name } => did_you_mean(name),
                SetProblem::Plus { shift } => Some(format!(
                    "--set {shift} adds to what the file says; without the sign the value stands in for it"
                )),
                SetProblem::UncertainShift | SetProblem::NothingToShift => {
                    Some("give the value itself: KEY=VALUE, or KEY=\"VALUE ± SD\"".into())
                }
                SetProblem::Value { wrong } => wrong.hint(),
                _ => None,
            },
            Fault::Aboard { given, .. } => Some(format!("the scales saw one amount: {given}, or what the list says")),
            Fault::ColumnMissing { because, .. } => because.map(Into::into),
            Fault::Ragged { comma: true, .. } => {
                Some("a decimal comma splits a number in two: write 270.88; a name with a comma needs quotes".into())
            }
            Fault::NoSegments => Some("one row a segment below the header".into()),
            Fault::Track(what) => what.hint(),
            Fault::Ledger(what) => what.hint(),
            Fault::Trial(what) => what.hint(),
            Fault::File { problem: FileProblem::NotText { .. }, .. } => {
                Some("save it as UTF-8 text (a spreadsheet: \"CSV UTF-8\")".into())
            }
            _ => None,
        }
    }
}

impl Explain for TrackError {
    fn label(&self) -> String {
        match self {
            TrackError::NotFinite { .. } => "a finite number is due".into(),
            TrackError::Length { .. } => "longer than nothing, at most 100 km".into(),
            TrackError::GradeStep { .. } => "grade must go on where the row before left off".into(),
            TrackError::GradeStepAcrossLine { .. } => "grade must go on where the last row left off".into(),
            _ => "here".into(),
        }
    }

    fn hint(&self) -> Option<String> {
        match self {
            TrackError::GradeStep { .. } | TrackError::GradeStepAcrossLine { .. } => {
                Some("a step of grade is a kink in the road; `unladen course` rounds one".into())
            }
            TrackError::NotClosed(_) => {
                Some("mend the segments, or say closure = \"as measured\" in the track's file".into())
            }
            _ => None,
        }
    }
}
