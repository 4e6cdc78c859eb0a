//! Laps of a trial as people write them down: a CSV file with a row a lap, in the order driven.

use std::collections::HashMap;

use crate::csv_file::cells::{Cells, header};
use crate::csv_file::dialect::Sheet;
use crate::fault::Fault;
use crate::fault::finding::{Faults, FileErrors};
use crate::fault::trial_fault::TrialFault;
use crate::keys::ledger::index;
use crate::keys::trial::LAPS;
use crate::unit::date;

/// What is said of a lap.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LapMark {
    /// Nothing.
    #[default]
    Flying,
    /// From the pits.
    Out,
    /// To the pits.
    In,
}

/// A lap.
#[derive(Clone, Debug, PartialEq)]
pub struct LapRow {
    /// Which of [`Laps::runs`].
    pub run: usize,
    /// With the change.
    pub changed: bool,
    /// s.
    pub time_s: f64,
    /// What is said of it.
    pub mark: LapMark,
    /// Driver and weather, where they are given.
    pub block: Option<String>,
    /// The day, days since 1970-01-01.
    pub day: Option<i64>,
    /// Time of day when it began, s.
    pub clock_s: Option<f64>,
    /// Aboard when it began, kg.
    pub fuel_kg: Option<f64>,
}

impl LapRow {
    /// A lap of which nothing else is known.
    pub fn new(run: usize, changed: bool, time_s: f64) -> Self {
        Self { run, changed, time_s, mark: LapMark::Flying, block: None, day: None, clock_s: None, fuel_kg: None }
    }
}

/// Laps in the order driven.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Laps {
    /// Names of the runs.
    pub runs: Vec<String>,
    /// The laps.
    pub rows: Vec<LapRow>,
}

/// Lap times that are possible, s.
const SHORTEST: f64 = 5.0;
const LONGEST: f64 = 1800.0;

/// `82.31` or `1:22.31`, s.
pub(crate) fn time(given: &str) -> Result<f64, TrialFault> {
    let none = || TrialFault::Time { given: given.into() };
    let number = |text: &str| {
        let text = text.replacen(',', ".", 1);
        let plain = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        text.parse::<f64>().ok().filter(|_| plain).ok_or_else(none)
    };
    let seconds = match given.split_once(':') {
        None => number(given.trim_end_matches('s').trim_end())?,
        Some((minutes, seconds)) => {
            let (minutes, seconds) = (number(minutes)?, number(seconds)?);
            if seconds >= 60.0 || minutes.fract() != 0.0 {
                return Err(none());
            }
            60.0 * minutes + seconds
        }
    };
    let why = match seconds {
        s if s < SHORTEST => "shorter than 5 s",
        s if s > LONGEST => "longer than half an hour",
        s => return Ok(s),
    };
    Err(TrialFault::TimeRange { given: given.into(), why })
}

/// A or B.
pub(crate) fn side(given: &str) -> Option<bool> {
    match given {
        "A" | "a" | "without" | "before" => Some(false),
        "B" | "b" | "with" | "after" => Some(true),
        _ => None,
    }
}

/// `14:05` or `14:05:30`, s.
fn clock(given: &str) -> Option<f64> {
    let mut parts = given.split(':').map(|p| p.parse::<u32>().ok());
    let (hours, minutes, seconds) = (parts.next()??, parts.next()??, parts.next().unwrap_or(Some(0))?);
    let sound = hours < 24 && minutes < 60 && seconds < 60 && parts.next().is_none();
    sound.then(|| f64::from(3600 * hours + 60 * minutes + seconds))
}

/// Reads laps; `today` in days since 1970-01-01.
///
/// # Errors
/// Every fault of the file.
pub fn parse_laps(sheet: &Sheet, today: i64) -> Result<Laps, FileErrors> {
    let mut faults = Faults::default();
    let mut laps = Laps::default();
    let mut known: HashMap<String, usize> = HashMap::new();
    if let Some(header) = header(sheet, LAPS, &mut faults) {
        for cells in Cells::rows(sheet, &header, LAPS, &mut faults) {
            cells.names(&mut faults);
            row(&cells, today, &mut known, &mut laps, &mut faults);
        }
        if laps.rows.is_empty() && faults.is_empty() {
            faults.push(Fault::Trial(TrialFault::NoLaps), &sheet.row(header.record));
        }
    }
    faults.result()?;
    Ok(laps)
}

fn row(cells: &Cells, today: i64, known: &mut HashMap<String, usize>, laps: &mut Laps, faults: &mut Faults) {
    let column = |name: &str| index(LAPS, name);
    let fail = |faults: &mut Faults, name: &str, fault: TrialFault| {
        let place = match cells.field(column(name)) {
            Some(field) => cells.sheet.place(field),
            None => cells.sheet.row(cells.record),
        };
        faults.push(Fault::Trial(fault), &place);
    };
    let (run, fitted) = (cells.due(column("run"), faults), cells.due(column("fitted"), faults));
    let given = cells.due(column("lap_time_s"), faults);
    let (Some(run), Some(fitted), Some(given)) = (run, fitted, given) else { return };
    let Some(changed) = side(&fitted) else {
        return fail(faults, "fitted", TrialFault::Side { given: fitted });
    };
    let time_s = match time(&given) {
        Ok(time_s) => time_s,
        Err(fault) => return fail(faults, "lap_time_s", fault),
    };
    let text = |name: &str| cells.text(column(name));
    let mark = match text("lap").as_deref() {
        Some(word) if word.eq_ignore_ascii_case("out") => LapMark::Out,
        Some(word) if word.eq_ignore_ascii_case("in") => LapMark::In,
        _ => LapMark::Flying,
    };
    let day = match text("date").map(|given| (date::day(&given), given)) {
        None => None,
        Some((Some(day), given)) if day > today => return fail(faults, "date", TrialFault::ToCome { given }),
        Some((Some(day), given)) if laps.rows.last().and_then(|l| l.day).is_some_and(|last| day < last) => {
            return fail(faults, "date", TrialFault::DayBack { given });
        }
        Some((Some(day), _)) => Some(day),
        Some((None, given)) => {
            let fault = crate::fault::ledger_fault::LedgerFault::NotADate { given };
            return cells.fail(fault, column("date"), faults);
        }
    };
    let clock_s = match text("clock").map(|given| (clock(&given), given)) {
        None => None,
        Some((None, given)) => return fail(faults, "clock", TrialFault::Clock { given }),
        Some((Some(at), given)) => {
            let last = laps.rows.last().filter(|l| l.day == day).and_then(|l| l.clock_s);
            if last.is_some_and(|last| at < last) {
                return fail(faults, "clock", TrialFault::ClockBack { given });
            }
            Some(at)
        }
    };
    let Ok(fuel_kg) = cells.number(column("fuel_kg"), faults) else { return };
    let number = match known.get(&run) {
        Some(number) if *number + 1 < laps.runs.len() => return fail(faults, "run", TrialFault::RunAgain { run }),
        Some(number) if laps.rows.last().is_some_and(|l| l.changed != changed) => {
            let _ = number;
            return fail(faults, "fitted", TrialFault::TwoSides { run });
        }
        Some(number) => *number,
        None => {
            laps.runs.push(run.clone());
            known.insert(run, laps.runs.len() - 1);
            laps.runs.len() - 1
        }
    };
    let block: Vec<String> = ["driver", "weather"].iter().filter_map(|name| text(name)).collect();
    let block = (!block.is_empty()).then(|| block.join(", "));
    laps.rows.push(LapRow { run: number, changed, time_s, mark, block, day, clock_s, fuel_kg });
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Laps, FileErrors> {
        parse_laps(&Sheet::parse("laps.csv", text.as_bytes()).unwrap(), 20_000)
    }

    #[test]
    fn closed_form_laps_as_they_are_written_down() {
        let text = "run;fitted;lap_time_s;lap;driver;weather;date;clock;fuel_kg;tyres\n1;A;1:35,2;out;Kim;dry;2024-09-01;10:00;30;old\n\
            1;A;82,1;1;Kim;dry;2024-09-01;10:02;28,5;\n2;B;81,9;;Kim;wet;2024-09-01;10:30:30;30;\n";
        let laps = read(text).unwrap();
        assert_eq!(laps.runs, ["1", "2"]);
        let last = &laps.rows[2];
        assert_eq!((last.run, last.changed, last.time_s), (1, true, 81.9));
        assert_eq!((last.block.as_deref(), last.clock_s, last.fuel_kg), (Some("Kim, wet"), Some(37_830.0), Some(30.0)));
        assert_eq!((laps.rows[0].mark, laps.rows[0].time_s), (LapMark::Out, 95.2));
    }

    #[test]
    fn bad_input_laps_that_are_none() {
        for (rows, says) in [
            ("fitted,lap_time_s\nA,82\n", "column `run` is missing"),
            ("run,fitted,lap_time_s\n", "no laps"),
            ("run,fitted,lap_time_s\n,A,82\n", "run is empty"),
            ("run,fitted,lap_time_s\n1,A,0\n", "shorter than 5 s"),
            ("run,fitted,lap_time_s\n1,A,3601\n", "longer than half an hour"),
            ("run,fitted,lap_time_s\n1,A,1:02:03\n", "`1:02:03` is no lap time"),
            ("run,fitted,lap_time_s\n1,C,82\n", "A or B is due"),
            ("run,fitted,lap_time_s\n1,A,82\n2,B,82\n1,A,82\n", "comes again after others"),
            ("run,fitted,lap_time_s\n1,A,82\n1,B,82\n", "both A and B"),
            ("run,fitted,lap_time_s,clock\n1,A,82,10:05\n1,A,82,10:03\n", "earlier than the lap before"),
            ("run,fitted,lap_time_s,clock\n1,A,82,25:05\n", "no time of day"),
            ("run,fitted,lap_time_s,date\n1,A,82,2999-01-01\n", "a day to come"),
            ("run,fitted,lap_time_s,date\n1,A,82,2020-13-01\n", "is no date"),
            ("run,fitted,lap_time_s,date\n1,A,82,2020-02-01\n2,B,82,2020-01-01\n", "before the lap above"),
            ("run,fitted,lap_time_s,fuel_kg\n1,A,82,-3\n", "outside"),
        ] {
            let said = read(rows).unwrap_err().render(crate::Style::PLAIN);
            assert!(said.contains(says), "{rows}: {said}");
        }
        let many: String = "run,fitted,lap_time_s\n".to_owned() + &"1,A,82\n".repeat(100_000);
        let said = read(&many).unwrap_err().render(crate::Style::PLAIN);
        assert!(said.contains("10000"), "{said}");
    }
}
