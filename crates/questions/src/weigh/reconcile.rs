//! The ledger against the scales: what the rows done since the weighing before say of the car, and what the new one
//! says.

use std::path::PathBuf;

use unladen_garage::{Files, ReadingsFile, Warning};
use unladen_study::ledger::reconcile::{Aboard as Places, Reconciled, reconcile};
use unladen_study::weighing::Weighed;
use unladen_vehicle::entry::{Entry, State};

use crate::error::{AskError, Failure};
use crate::read::Reader;
use crate::read::project::Project;
use crate::stands::load::{Aboard, carrying};
use crate::weigh::{aboard, read, weighing};

/// A weighing and the car whose ledger is compared with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Scale readings: a TOML file.
    pub readings: PathBuf,
    /// A car: its car.toml, or the folder that holds one; its ledger.csv is beside it.
    pub car: PathBuf,
}

/// The question with its files read and the weighing solved.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
    /// The readings.
    pub file: ReadingsFile,
    /// What they tell.
    pub found: Weighed,
    /// The car and its ledger.
    pub project: Project,
}

/// A comparison.
#[derive(Clone, Debug)]
#[must_use = "an answer may come with warnings"]
pub struct Answer {
    /// The car.
    pub car: String,
    /// Which weighing.
    pub name: String,
    /// What was aboard.
    pub aboard: Aboard,
    /// The ledger's rows.
    pub entries: Vec<Entry>,
    /// Each row's line in the ledger.
    pub lines: Vec<usize>,
    /// Rows that were counted as done between the two weighings.
    pub counted: Vec<usize>,
    /// What was found.
    pub result: Reconciled,
    /// Litres of a kilogram of fuel.
    pub litres_per_kg: Option<f64>,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

impl Question {
    /// Reads the files and solves the weighing.
    ///
    /// # Errors
    /// [`Failure`] with every fault of the readings, or where they tell too little; or with every fault of car and
    /// ledger.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        Reader::run(files, |r| {
            let file = read(r.files(), &self.readings)?;
            let found = weighing(&file).solve()?;
            let project = r.project(&self.car, &[])?;
            Ok(Ready { warnings: r.warnings(), file, found, project })
        })
    }
}

impl Ready {
    /// Compares the weighing with what the ledger says for the same day with the same aboard.
    ///
    /// # Errors
    /// [`AskError`] where masses leave no car.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let (file, project) = (&self.file, &self.project);
        let (entries, shop) = (&project.ledger.entries, &project.car.shop);
        let since = |e: &Entry| {
            let later = |a: Option<i64>, b: Option<i64>| a.zip(b).is_none_or(|(a, b)| a > b);
            // Done after the weighing before and not after this one; what has no date is taken as between.
            e.state == State::Done && later(e.day, shop.weighed_on) && e.day.zip(file.day).is_none_or(|(d, f)| d <= f)
        };
        let counted: Vec<usize> = (0..entries.len()).filter(|&i| since(&entries[i])).collect();
        let rows: Vec<&Entry> = counted.iter().map(|&i| &entries[i]).collect();
        let aboard = aboard(file);
        let base = carrying(&project.car, aboard)?;
        let ledger = base.with(&rows, &shop.scales)?;
        let loads = &project.car.loads;
        let places = Places { tank: loads.fuel.map(|f| f.tank.x), seat: loads.driver.map(|d| d.seat[0]) };
        let scales = (self.found.mass, self.found.x);
        let result = reconcile(&ledger, scales, base.wheelbase, entries, &counted, &shop.scales, places);
        Ok(Answer {
            car: project.car.name.clone(),
            name: file.name.clone(),
            aboard,
            lines: (0..entries.len()).map(|i| project.ledger.line(i)).collect(),
            entries: entries.clone(),
            counted,
            result,
            litres_per_kg: loads.fuel.map(|f| 1e3 / f.density),
            warnings: self.warnings.clone(),
        })
    }
}
