//! Scale readings to mass, centre of gravity and their uncertainty.

pub mod into;
pub mod reconcile;

use std::path::{Path, PathBuf};

use unladen_garage::{Files, Measured, ReadingsFile, Warning, check_one, parse_readings};
use unladen_study::weighing::advice::{Better, better};
use unladen_study::weighing::{Fluid, Geometry, Known, Loads, Raised, Reading, Scales, Weighed, Weighing};

use crate::error::{AskError, Asked, Failure};
use crate::read::Reader;
use crate::stands::load::{Aboard, Others};

/// Scale readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Their TOML file.
    pub readings: PathBuf,
}

/// The question with its file read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in it.
    pub warnings: Vec<Warning>,
    /// The readings.
    pub file: ReadingsFile,
}

/// A weighing and its result.
#[derive(Clone, Debug)]
#[must_use = "an answer may come with warnings"]
pub struct Answer {
    /// Which weighing.
    pub name: String,
    /// When, days since 1970-01-01.
    pub day: Option<i64>,
    /// What was aboard.
    pub aboard: Aboard,
    /// Wheelbase, m.
    pub wheelbase_m: f64,
    /// What was found.
    pub found: Weighed,
    /// What would be better, best first.
    pub better: Vec<Better>,
    /// Lengths whose ± was assumed.
    pub assumed: Vec<&'static str>,
    /// What is unlikely in the file.
    pub warnings: Vec<Warning>,
}

impl Question {
    /// Reads the file.
    ///
    /// # Errors
    /// [`Failure`] with every fault of it, or with what it is instead.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        Reader::run(files, |r| {
            let file = read(r.files(), &self.readings)?;
            Ok(Ready { warnings: r.warnings(), file })
        })
    }
}

impl Ready {
    /// Solves it.
    ///
    /// # Errors
    /// [`AskError`] where the readings tell too little, or make no car.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let file = &self.file;
        let weighing = weighing(file);
        let found = weighing.solve()?;
        Ok(Answer {
            name: file.name.clone(),
            day: file.day,
            aboard: aboard(file),
            wheelbase_m: file.wheelbase.value,
            better: better(&weighing, &found),
            found,
            assumed: file.assumed.clone(),
            warnings: self.warnings.clone(),
        })
    }
}

fn read(files: &dyn Files, path: &Path) -> Result<ReadingsFile, AskError> {
    let source = files.text(path).map_err(|f| AskError::one(*f))?;
    parse_readings(&source).map_err(|e| match check_one(files, path) {
        Ok(other) => Asked::OtherKind { path: path.to_owned(), found: other.kind(), due: "scale readings" }.into(),
        Err(_) => e.into(),
    })
}

fn aboard(file: &ReadingsFile) -> Aboard {
    Aboard { fuel: file.fuel, driver: file.driver, others: Others::None }
}

/// The file's numbers as the study takes them.
fn weighing(file: &ReadingsFile) -> Weighing {
    let known = |m: Measured| Known { value: m.value, sd: m.sd };
    let [resolution, repeatability, bias, gain] = file.scales;
    let mut readings = Vec::new();
    for r in &file.readings {
        let loads = match (r.corners, r.axles) {
            (Some(c), _) => Loads::Corners(c),
            (None, [Some(f), Some(r)]) => Loads::Axles([f, r]),
            (None, [Some(f), None]) => Loads::Front(f),
            (None, [None, Some(r)]) => Loads::Rear(r),
            // Refused by the reader.
            (None, [None, None]) => continue,
        };
        let lift = r.lift.map(|(front, h)| (if front { Raised::Front } else { Raised::Rear }, known(h)));
        readings.push(Reading { name: r.name.clone(), loads, lift, pads: r.pads });
    }
    Weighing {
        geometry: Geometry {
            wheelbase: known(file.wheelbase),
            track: file.track,
            radius: file.wheel_centre.map(known),
            tyre_rate: file.tyre_rate,
        },
        scales: Scales { resolution, repeatability, bias, gain },
        readings,
        fluids: file.fluids.iter().map(|&[mass, length, depth]| Fluid { mass, length, depth }).collect(),
        method_share: file.method_share,
    }
}
