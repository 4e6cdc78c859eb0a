//! All trials of a car: which held, which are open, and whether predictions are too sure.

use std::path::{Path, PathBuf};

use unladen_garage::trial::sealed::{ReadResult, Sealed, parse_result, parse_sealed};
use unladen_garage::{FileErrors, Files};
use unladen_study::trial::diary::{Diary, Entry, diary};

use crate::error::{AskError, Failure};
use crate::read::Reader;
use crate::trial::result_file;

/// Trials of a car.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Files of its folder of trials.
    pub trials: Vec<PathBuf>,
    /// Today, days since 1970-01-01.
    pub today: i64,
}

/// How a trial stands.
#[derive(Clone, Debug, PartialEq)]
pub enum Stands {
    /// Read.
    Read(ReadResult, Entry),
    /// Its day is to come.
    ToCome,
    /// Its day is over, and no result is kept.
    Open,
}

/// A trial of the diary.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Its file.
    pub path: PathBuf,
    /// What was sealed.
    pub sealed: Sealed,
    /// How it stands.
    pub stands: Stands,
}

/// The diary.
#[derive(Debug)]
#[must_use = "files that can't be counted come with it"]
pub struct Answer {
    /// Trials by their days.
    pub lines: Vec<Line>,
    /// All that were read, together.
    pub diary: Option<Diary>,
    /// Files that don't count: edited since they were sealed, or no trials.
    pub faults: Vec<FileErrors>,
}

impl Question {
    /// Reads all trials.
    ///
    /// # Errors
    /// [`Failure`] where a file can't be read at all.
    pub fn ask(&self, files: &dyn Files) -> Result<Answer, Failure> {
        Reader::run(files, |r| self.answer(r.files()))
    }

    /// Reads its one trial.
    ///
    /// # Errors
    /// [`Failure`] with its faults; an edit since it was sealed is one.
    pub fn only(&self, files: &dyn Files) -> Result<Line, Failure> {
        let answer = self.ask(files)?;
        match answer.lines.into_iter().next() {
            Some(line) => Ok(line),
            None => Err(Failure::of(AskError::Files(answer.faults), Vec::new())),
        }
    }

    fn answer(&self, files: &dyn Files) -> Result<Answer, AskError> {
        let (mut lines, mut faults) = (Vec::new(), Vec::new());
        let is_result = |path: &Path| path.file_name().is_some_and(|n| n.to_string_lossy().ends_with(".result.toml"));
        for path in self.trials.iter().filter(|p| !is_result(p)) {
            let text = |path: &Path| files.text(path).map_err(|f| FileErrors { faults: vec![*f], more: 0 });
            let sealed = match text(path).and_then(|source| parse_sealed(&source)) {
                Ok(sealed) => sealed,
                Err(fault) => {
                    faults.push(fault);
                    continue;
                }
            };
            let kept = result_file(path);
            let stands = if files.is_file(&kept) {
                match text(&kept).and_then(|source| parse_result(&source)) {
                    Ok(result) => {
                        let predicted = (sealed.gain.value, sealed.gain.sd);
                        let measured = (result.gain.value, result.gain.sd);
                        Stands::Read(result, Entry { predicted, measured })
                    }
                    Err(fault) => {
                        faults.push(fault);
                        Stands::Open
                    }
                }
            } else if sealed.day > self.today {
                Stands::ToCome
            } else {
                Stands::Open
            };
            lines.push(Line { path: path.clone(), sealed, stands });
        }
        lines.sort_by(|a, b| (a.sealed.day, &a.path).cmp(&(b.sealed.day, &b.path)));
        let read =
            lines.iter().filter_map(|l| if let Stands::Read(_, entry) = &l.stands { Some(*entry) } else { None });
        Ok(Answer { diary: diary(&read.collect::<Vec<_>>()), lines, faults })
    }
}
