//! Where the rows of a sweep go: a file that grows beside its place, or straight to a pipe.

use std::fs::{File, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use unladen_questions::sweep::Ready;
use unladen_report::files::partial::{Partial, PartialError, Row};
use unladen_report::files::write::{WriteError, check_destination};
use unladen_report::sweep::rows::{COLUMNS, SweepRow, lines};
use unladen_report::sweep::text::SweepSeen;
use unladen_study::sweep::Shard;

use crate::error::{CliError, Usage};

/// Rows on their way.
pub enum Sink {
    /// To a file, whole or not at all.
    File(Partial, PathBuf),
    /// To a pipe or a terminal.
    Stream(File, PathBuf),
}

/// Can it be written to? Asked before the run.
pub fn check(path: &Path) -> Result<(), CliError> {
    if parquet(path) && !cfg!(feature = "parquet") {
        return Err(Usage::NoParquet { path: path.to_owned() }.into());
    }
    Ok(check_destination(path)?)
}

pub fn parquet(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case("parquet"))
}

/// What the rows answer: all that they follow from, in one line for people and one sum over the rest; and which part.
pub fn question(ready: &Ready, axes: &[String], shard: Option<Shard>) -> String {
    let Ready { car, track, grid, step_m, .. } = ready;
    let all = format!("{} {car:?} {track:?} {grid:?} {step_m}", env!("CARGO_PKG_VERSION"));
    // FNV-1a, 64 bits, as for the ledger's undo: to tell questions apart, not to resist anyone.
    let sum = all.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |sum, b| (sum ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3));
    let what = format!("{}: {}", track.name, axes.join(", ")).replace(['"', '\\'], "'");
    let what: String = what.chars().filter(|c| !c.is_control()).collect();
    let part = shard.map_or_else(String::new, |shard| format!("\"part\": \"{shard}\", "));
    format!("{{ \"schema\": 1, \"sweep\": \"{what}\", {part}\"question\": \"{sum:016x}\" }}\n")
}

fn head() -> Result<Vec<u8>, CliError> {
    let names = COLUMNS.map(ToOwned::to_owned);
    Ok(lines([&names[..]])?)
}

impl Sink {
    /// Opens it. With `resume` the rows that are done already, and are of the cells that are `expected`, are seen.
    pub fn open(
        path: &Path,
        question: &str,
        resume: bool,
        expected: &dyn Fn(u64) -> Option<SweepRow>,
        again: &dyn Fn(u64) -> Option<SweepRow>,
        seen: &mut SweepSeen,
    ) -> Result<Self, CliError> {
        let head = head()?;
        if path.exists() && !path.is_file() {
            let opened = OpenOptions::new().write(true).open(path);
            let file = opened.map_err(|source| refused(path, "open", source))?;
            let mut sink = Sink::Stream(file, path.to_owned());
            sink.write(&head)?;
            return Ok(sink);
        }
        // The first and the last of the rows that are there are lapped again: a part that was renamed or copied is another's.
        let mut ends: [Option<(u64, SweepRow)>; 2] = [None, None];
        let mut keep = |line: &[u8]| {
            let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(line);
            let Some(Ok(record)) = reader.records().next() else { return Row::Broken };
            match (SweepRow::read(record.iter()), expected(seen.cells)) {
                (None, _) => Row::Broken,
                (Some(row), Some(due)) if row.same_setting(&due) => {
                    ends[0].get_or_insert_with(|| (seen.cells, row.clone()));
                    ends[1] = Some((seen.cells, row.clone()));
                    seen.see(&row);
                    Row::Due
                }
                _ => Row::Foreign,
            }
        };
        let partial = Partial::open(path, &head, question, resume, &mut keep)?;
        if ends.into_iter().flatten().any(|(cell, row)| again(cell).is_some_and(|lapped| lapped != row)) {
            return Err(PartialError::Another { path: partial.path().to_owned() }.into());
        }
        Ok(Sink::File(partial, path.to_owned()))
    }

    /// Adds rows.
    pub fn append(&mut self, rows: &[SweepRow]) -> Result<(), CliError> {
        let records: Vec<_> = rows.iter().map(SweepRow::record).collect();
        self.write(&lines(records.iter().map(|r| &r[..]))?)
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), CliError> {
        match self {
            Sink::File(partial, _) => Ok(partial.append(bytes)?),
            Sink::Stream(file, path) => match file.write_all(bytes) {
                // Nobody reading any more is no error.
                Err(e) if e.kind() != ErrorKind::BrokenPipe => Err(refused(path, "write", e)),
                _ => Ok(()),
            },
        }
    }

    /// Where the rows are that are done so far.
    pub fn kept(&self) -> Option<PathBuf> {
        match self {
            Sink::File(partial, _) => Some(partial.path().to_owned()),
            Sink::Stream(..) => None,
        }
    }

    /// None of them is wanted: what was begun is taken away.
    pub fn drop_rows(self) -> Result<(), CliError> {
        match self {
            Sink::File(partial, _) => Ok(partial.abandon()?),
            Sink::Stream(..) => Ok(()),
        }
    }

    /// All rows are there.
    pub fn finish(self) -> Result<(), CliError> {
        let Sink::File(partial, path) = self else { return Ok(()) };
        #[cfg(feature = "parquet")]
        if parquet(&path) {
            return Ok(partial.finish_by(unladen_report::sweep::parquet::convert)?);
        }
        let _ = path;
        Ok(partial.finish()?)
    }
}

fn refused(path: &Path, step: &'static str, source: std::io::Error) -> CliError {
    CliError::from(WriteError::Refused { path: path.to_owned(), step, source })
}
