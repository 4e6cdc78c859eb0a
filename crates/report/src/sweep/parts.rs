//! Parts of a sweep that were computed apart: how their files are called, what says which question they answer, and
//! which of them are there.

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use unladen_study::sweep::Shard;

use crate::files::ours::small;
use crate::files::write::{WriteError, check_destination, write_whole};

/// Why parts are not joined.
#[derive(Debug, thiserror::Error)]
pub enum PartsError {
    /// None is there.
    #[error("{}: no part of it is here; --shard 1/8 computes the first of eight", table.display())]
    None {
        /// The table that would be made of them.
        table: PathBuf,
    },
    /// Parts of two ways to divide it.
    #[error("{}: its parts here are of a table in {first} and of one in {second}: take away those that don't count", table.display())]
    Mixed {
        /// The table.
        table: PathBuf,
        /// Parts of one.
        first: u64,
        /// And of another.
        second: u64,
    },
    /// Some are not there.
    #[error("{}", missing(table, parts, begun))]
    Missing {
        /// The table.
        table: PathBuf,
        /// Which.
        parts: Vec<Shard>,
        /// Those of them that were begun.
        begun: Vec<Shard>,
    },
    /// A part without what says which question it answers.
    #[error("{}: is not there or says nothing; it stands beside its part and says which question that answers", path.display())]
    NoCard {
        /// Where it should be.
        path: PathBuf,
    },
    /// A part of another question.
    #[error(
        "{}: its rows are of another sweep: a file, a value or an option has changed since; compute it anew with --shard {shard}",
        path.display()
    )]
    Another {
        /// The part.
        path: PathBuf,
        /// Which.
        shard: Shard,
    },
    /// The disk refused.
    #[error("{}: can't be read: {source}", path.display())]
    Read {
        /// Which file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
}

/// Parts that are named, before it is only said how many more there are.
const NAMED: usize = 12;

fn missing(table: &Path, parts: &[Shard], begun: &[Shard]) -> String {
    let list = |all: &[Shard]| {
        let some: Vec<String> = all.iter().take(NAMED).map(ToString::to_string).collect();
        let more = all.len().saturating_sub(NAMED);
        some.join(", ") + &if more > 0 { format!(" and {more} more") } else { String::new() }
    };
    let one = parts.len() == 1;
    let (noun, verb) = if one { ("part", "is") } else { ("parts", "are") };
    let begun = match begun {
        [] => String::new(),
        some => format!("; begun, and to be gone on with by --resume: {}", list(some)),
    };
    format!(
        "{}: {noun} {} {verb} missing: compute {} with --shard{begun}",
        table.display(),
        list(parts),
        if one { "it" } else { "them" }
    )
}

/// The file of a part of a table: `out.3-of-8.csv` of `out.csv`.
pub fn part_path(table: &Path, shard: Shard) -> PathBuf {
    let words = format!("{}-of-{}", shard.which(), shard.of());
    let stem = table.file_stem().unwrap_or_default().to_string_lossy();
    match table.extension() {
        Some(ending) => table.with_file_name(format!("{stem}.{words}.{}", ending.to_string_lossy())),
        None => table.with_file_name(format!("{stem}.{words}")),
    }
}

fn card_path(part: &Path) -> PathBuf {
    let mut name = part.as_os_str().to_owned();
    name.push(".json");
    name.into()
}

/// Writes beside a part which question it answers.
///
/// # Errors
/// [`WriteError`] where the disk refuses, or something else is there.
pub fn write_card(part: &Path, question: &str) -> Result<(), WriteError> {
    let card = card_path(part);
    check_destination(&card)?;
    write_whole(&card, question.as_bytes())
}

/// The parts of a table that are beside it: all of them, in order.
///
/// # Errors
/// [`PartsError`]; those that are missing are named.
pub fn find(table: &Path) -> Result<Vec<(Shard, PathBuf)>, PartsError> {
    let folder = table.parent().filter(|f| !f.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let entries = fs::read_dir(folder).map_err(|source| PartsError::Read { path: folder.to_owned(), source })?;
    let (mut there, mut begun) = (BTreeSet::new(), BTreeSet::new());
    for entry in entries.flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let (name, whole) = name.strip_suffix(".partial").map_or((name.as_str(), true), |name| (name, false));
        if let Some(shard) = shard_of(table, name) {
            (if whole { &mut there } else { &mut begun }).insert((shard.of(), shard.which()));
        }
    }
    let counts: BTreeSet<u64> = there.iter().chain(&begun).map(|(n, _)| *n).collect();
    let table = table.to_owned();
    let mut counts = counts.into_iter();
    let n = match (counts.next(), counts.next()) {
        (None, _) => return Err(PartsError::None { table }),
        (Some(first), Some(second)) => return Err(PartsError::Mixed { table, first, second }),
        (Some(n), None) => n,
    };
    // Of a number that somebody typed into a file's name not every part is looked for.
    let due = Shard::all(n).filter(|shard| !there.contains(&(n, shard.which()))).take(1000);
    let parts: Vec<Shard> = due.collect();
    if !parts.is_empty() {
        let begun = parts.iter().copied().filter(|shard| begun.contains(&(n, shard.which()))).collect();
        return Err(PartsError::Missing { table, parts, begun });
    }
    Ok(Shard::all(n).map(|shard| (shard, part_path(&table, shard))).collect())
}

/// Which part of a table a file's name says that it is.
fn shard_of(table: &Path, name: &str) -> Option<Shard> {
    let stem = table.file_stem()?.to_string_lossy().into_owned();
    let ending = table.extension().map_or_else(String::new, |e| format!(".{}", e.to_string_lossy()));
    let words = name.strip_prefix(&stem)?.strip_prefix('.')?.strip_suffix(&ending)?;
    let (k, n) = words.split_once("-of-")?;
    let shard = Shard::new(k.parse().ok()?, n.parse().ok()?)?;
    // No other way to write the same number.
    (part_path(table, shard).file_name()? == name).then_some(shard)
}

/// Does the card beside a part say this?
///
/// # Errors
/// [`PartsError`] where there is none, or it says something else.
pub fn check_card(part: &Path, shard: Shard, question: &str) -> Result<(), PartsError> {
    let card = card_path(part);
    match small(&card) {
        Some(text) if text == question => Ok(()),
        Some(text) if !text.is_empty() => Err(PartsError::Another { path: part.to_owned(), shard }),
        _ => Err(PartsError::NoCard { path: card }),
    }
}

/// A part that can't be read, or holds what is none of its rows.
pub fn unread(part: &Path, why: impl ToString) -> PartsError {
    PartsError::Read { path: part.to_owned(), source: io::Error::new(ErrorKind::InvalidData, why.to_string()) }
}

/// What is printed of a part.
pub fn part_text(table: &Path, shard: Shard, cells: std::ops::Range<u64>, of: u64) -> String {
    let path = part_path(table, shard);
    format!(
        "Part {} of {}: cells {} to {} of {of}, in {}. When all parts are there, --join makes {} of them.\n",
        shard.which(),
        shard.of(),
        cells.start + 1,
        cells.end,
        path.display(),
        table.display()
    )
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn shard(text: &str) -> Shard {
        text.parse().unwrap()
    }

    #[test]
    fn closed_form_names_of_parts() {
        for (table, part) in
            [("a/out.csv", "a/out.3-of-8.csv"), ("x.y.parquet", "x.y.3-of-8.parquet"), ("out", "out.3-of-8")]
        {
            assert_eq!(part_path(Path::new(table), shard("3/8")), Path::new(part));
            let name = Path::new(part).file_name().unwrap().to_str().unwrap();
            assert_eq!(shard_of(Path::new(table), name), Some(shard("3/8")));
        }
        for name in [
            "out.csv",
            "out.03-of-8.csv",
            "out.9-of-8.csv",
            "out.3-of-8.csv.json",
            "other.3-of-8.csv",
            "out.a-of-8.csv",
        ] {
            assert_eq!(shard_of(Path::new("out.csv"), name), None, "{name}");
        }
    }

    #[test]
    fn bad_input_parts_that_are_missing_are_named() {
        let folder = tempfile::tempdir().unwrap();
        let table = folder.path().join("out.csv");
        let message = || find(&table).unwrap_err().to_string();
        assert!(message().contains("no part of it is here"));
        for k in ["1", "2", "4"] {
            fs::write(part_path(&table, shard(&format!("{k}/5"))), "x").unwrap();
        }
        fs::write(folder.path().join("out.5-of-5.csv.partial"), "x").unwrap();
        assert!(
            message().contains(
                "parts 3/5, 5/5 are missing: compute them with --shard; begun, and to be gone on with by --resume: 5/5"
            ),
            "{}",
            message()
        );
        for k in ["3", "5"] {
            fs::write(part_path(&table, shard(&format!("{k}/5"))), "x").unwrap();
        }
        assert_eq!(find(&table).unwrap().iter().map(|(s, _)| s.which()).collect::<Vec<_>>(), [1, 2, 3, 4, 5]);
        fs::write(folder.path().join("out.1-of-6.csv"), "x").unwrap();
        assert!(message().contains("of a table in 5 and of one in 6"));
        let part = part_path(&table, shard("3/5"));
        assert!(matches!(check_card(&part, shard("3/5"), "q"), Err(PartsError::NoCard { .. })));
        write_card(&part, "{ \"schema\": 1, \"sweep\": \"q\" }\n").unwrap();
        assert!(matches!(check_card(&part, shard("3/5"), "q"), Err(PartsError::Another { .. })));
        assert!(check_card(&part, shard("3/5"), "{ \"schema\": 1, \"sweep\": \"q\" }\n").is_ok());
    }
}
