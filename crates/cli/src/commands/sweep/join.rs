//! `sweep --join`: the table of parts that were computed apart, as an undivided sweep would have written it.

use std::path::Path;

use unladen_report::sweep::parts::{PartsError, check_card, find, unread};
use unladen_report::sweep::rows::{COLUMNS, SweepRow};
use unladen_study::sweep::Shard;

use crate::commands::sweep::sink::parquet;
use crate::error::CliError;

/// What a part is held against.
pub struct Due<'a> {
    /// Cells of the whole sweep.
    pub cells: u64,
    /// What the card of a part must say.
    pub question: &'a dyn Fn(Shard) -> String,
    /// The setting of a cell.
    pub expected: &'a dyn Fn(u64) -> Option<SweepRow>,
    /// A cell lapped again.
    pub again: &'a dyn Fn(u64) -> Option<SweepRow>,
}

/// Shows the rows of all parts of a table in order, a part at a time, after each has been looked at.
///
/// # Errors
/// Where one is missing, or of another sweep, or no part at all.
pub fn parts(
    table: &Path,
    due: &Due,
    take: &mut dyn FnMut(Vec<SweepRow>) -> Result<(), CliError>,
) -> Result<(), CliError> {
    let all = find(table)?;
    // First all cards: nothing is begun that can't be ended.
    for (shard, path) in &all {
        check_card(path, *shard, &(due.question)(*shard))?;
    }
    for (shard, path) in all {
        let range = shard.range(due.cells);
        let rows = read(&path, range.end - range.start)?;
        let another = || PartsError::Another { path: path.clone(), shard };
        let fits =
            (range.start..).zip(&rows).all(|(cell, row)| (due.expected)(cell).is_some_and(|e| e.same_setting(row)));
        if rows.len() as u64 != range.end - range.start || !fits {
            return Err(another().into());
        }
        // The first and the last are lapped again: a card may have come with another part's rows.
        let ends = [range.start, range.end - 1].into_iter().zip([rows.first(), rows.last()]);
        for (cell, row) in ends {
            if (due.again)(cell).as_ref() != row {
                return Err(another().into());
            }
        }
        take(rows)?;
    }
    Ok(())
}

/// The rows of a part, and no more than are due.
fn read(path: &Path, due: u64) -> Result<Vec<SweepRow>, PartsError> {
    let mut rows = Vec::new();
    let mut keep = |row: SweepRow| {
        rows.push(row);
        rows.len() as u64 <= due
    };
    if parquet(path) {
        #[cfg(feature = "parquet")]
        unladen_report::sweep::parquet::rows(path, &mut keep).map_err(|e| unread(path, e))?;
        return Ok(rows);
    }
    let mut reader = csv::Reader::from_path(path).map_err(|e| unread(path, e))?;
    if reader.headers().map_err(|e| unread(path, e))?.iter().ne(COLUMNS) {
        return Err(unread(path, "its columns are not those of a sweep"));
    }
    for record in reader.records() {
        let record = record.map_err(|e| unread(path, e))?;
        let line = record.position().map_or(0, csv::Position::line);
        let row =
            SweepRow::read(record.iter()).ok_or_else(|| unread(path, format!("line {line} is no row of a sweep")))?;
        if !keep(row) {
            break;
        }
    }
    Ok(rows)
}
