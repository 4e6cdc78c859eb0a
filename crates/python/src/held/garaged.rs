//! A car that was read: its files as texts, and how it stands.

use std::path::{Path, PathBuf};

use unladen_garage::{CarFile, FileErrors, FileProblem, Files, Limit, Memory, Overrides};
use unladen_questions::Failure;
use unladen_questions::read::Reader;
use unladen_questions::read::project::car_file;
use unladen_questions::stands::standing::Standing;
use unladen_questions::stands::state::State;
use unladen_vehicle::Number;
use unladen_vehicle::mass::Part;

use crate::fault::none;
use crate::held::keeping::Keeping;

/// A car's files with what was changed since.
#[derive(Clone)]
pub struct Texts {
    /// Its car.toml.
    pub path: PathBuf,
    /// It and what stands beside it: a ledger, its areas, cars that its rows make of it.
    pub files: Memory,
    /// The same, to be packed.
    pub texts: Vec<(PathBuf, Vec<u8>)>,
    /// Values of car.toml that were replaced.
    pub set: Vec<String>,
    overrides: Overrides,
    /// What was done to it since.
    pub changes: Vec<Changed>,
}

/// A car in a state.
pub struct Garaged {
    /// What it is read from.
    pub texts: Texts,
    /// As it stands.
    pub standing: Standing,
}

/// What was done to a car that was read.
#[derive(Clone, Debug)]
pub enum Changed {
    /// A number of the car, SI.
    Number(Number, f64),
    /// Mass and moments that came on or off: kg and kg m along x, y and z.
    Moments([f64; 4]),
}

impl Texts {
    /// Of files that were read.
    ///
    /// # Errors
    /// Where what is set is no key or no value.
    pub fn new(
        path: PathBuf,
        texts: Vec<(PathBuf, Vec<u8>)>,
        set: Vec<String>,
        changes: Vec<Changed>,
    ) -> Result<Self, FileErrors> {
        let overrides = Overrides::parse(&set)?;
        Ok(Self { path, files: texts.iter().cloned().collect(), texts, set, overrides, changes })
    }

    /// The car in a state.
    ///
    /// # Errors
    /// Every fault of its files.
    pub fn standing(self, state: &State) -> Result<Garaged, Failure> {
        let standing = Reader::run(&self, |r| r.standing(&self.path, &[], state))?;
        Ok(Garaged { texts: self, standing })
    }
}

impl Garaged {
    /// Reads a car.toml, or the one of a folder, with what stands beside it.
    ///
    /// # Errors
    /// Every fault of its files.
    pub fn read(path: &Path, set: Vec<String>, state: &State) -> Result<Self, Failure> {
        let keeping = Keeping::default();
        let path = car_file(&keeping, path);
        Reader::run(&keeping, |r| {
            let standing = r.standing(&path, &set, state)?;
            // Cars that its rows make of it go along, where they can be read: whoever asks about them is told if not.
            let rows: Vec<usize> = (0..standing.entries.len()).collect();
            let _ = r.others(&path, &set, standing.ledger.as_ref(), &rows);
            Ok(())
        })?;
        let texts = Texts::new(path, keeping.kept(), set, Vec::new());
        texts.map_err(|errors| none(errors.into(), Vec::new()))?.standing(state)
    }
}

impl Files for Texts {
    fn bytes(&self, path: &Path, limit: Limit) -> Result<Vec<u8>, FileProblem> {
        self.files.bytes(path, limit)
    }

    fn is_file(&self, path: &Path) -> bool {
        self.files.is_file(path)
    }

    fn is_dir(&self, path: &Path) -> bool {
        self.files.is_dir(path)
    }

    fn list(&self, folder: &Path) -> Vec<PathBuf> {
        self.files.list(folder)
    }

    fn car(&self, path: &Path, more: &Overrides) -> Result<CarFile, FileErrors> {
        if path != self.path {
            return self.files.car(path, more);
        }
        let mut file = self.files.car(path, &self.overrides.clone().and(more))?;
        self.changes.iter().for_each(|change| change.on(&mut file));
        Ok(file)
    }
}

/// A body with a mass and moments more.
fn shifted(part: Part, [kg, x, y, z]: [f64; 4]) -> Part {
    let m = part.m + kg;
    let of = |own: f64, more: f64| (part.m * own + more) / m;
    Part { m, x: of(part.x, x), y: of(part.y, y), z: of(part.z, z), ..part }
}

impl Changed {
    fn on(&self, file: &mut CarFile) {
        match *self {
            Changed::Number(number, value) => {
                if let Some(place) = file.car.number_mut(number) {
                    *place = value;
                }
            }
            // What is on the scales changes alike.
            Changed::Moments(more) => {
                file.car.mass = shifted(Part::from(file.car.mass), more).into();
                file.loads.weighed = shifted(file.loads.weighed, more);
            }
        }
    }

    /// To be packed: its number's key, or nothing of the mass and moments.
    pub fn packed(&self) -> (String, Vec<f64>) {
        match self {
            Changed::Number(number, value) => (number.key(), vec![*value]),
            Changed::Moments(more) => (String::new(), more.to_vec()),
        }
    }
}
