//! Cars and tracks that were read, as the files of a question.

pub mod garaged;
mod keeping;
pub mod laid;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use unladen_garage::{CarFile, FileErrors, FileProblem, Files, Limit, Memory, Overrides, TrackFile};
use unladen_questions::Scene;

use crate::held::garaged::Garaged;
use crate::held::laid::Laid;

/// The cars and tracks of one question, each at a path of its own.
#[derive(Default)]
pub struct Held {
    cars: Vec<(PathBuf, Arc<Garaged>)>,
    tracks: Vec<(PathBuf, Arc<Laid>)>,
}

/// A path that is not taken yet: of two copies of one car the second has another.
fn free(path: &Path, taken: impl Fn(&Path) -> bool) -> PathBuf {
    let mut path = path.to_owned();
    while taken(&path) {
        // An absolute path would swallow what stands before it.
        path = Path::new("again").join(path.strip_prefix("/").unwrap_or(&path));
    }
    path
}

impl Held {
    /// Of a car on tracks, and the scene of them.
    pub fn scene(car: &Arc<Garaged>, tracks: &[(Arc<Laid>, f64)]) -> (Self, Scene) {
        let mut held = Self::default();
        let path = held.car_too(car);
        let mut scene = Scene::new(path, Vec::<PathBuf>::new());
        for (track, weight) in tracks {
            let path = free(&track.path, |path| held.tracks.iter().any(|t| t.0 == path));
            held.tracks.push((path.clone(), track.clone()));
            scene.tracks.push((path, *weight));
            scene.step_m = track.step_m;
        }
        scene.state = car.standing.state.clone();
        (held, scene)
    }

    /// One more car; its path.
    pub fn car_too(&mut self, car: &Arc<Garaged>) -> PathBuf {
        let path = free(&car.texts.path, |path| self.cars.iter().any(|c| c.0 == path));
        self.cars.push((path.clone(), car.clone()));
        path
    }

    /// What stands beside a car.
    fn beside(&self, path: &Path) -> Option<(&Memory, PathBuf)> {
        let (_, car) = self.cars.iter().find(|(own, _)| own.parent() == path.parent())?;
        Some((&car.texts.files, car.texts.path.with_file_name(path.file_name()?)))
    }
}

impl Files for Held {
    fn bytes(&self, path: &Path, limit: Limit) -> Result<Vec<u8>, FileProblem> {
        self.beside(path).map_or(Err(FileProblem::NotFound), |(files, path)| files.bytes(&path, limit))
    }

    fn is_file(&self, path: &Path) -> bool {
        self.beside(path).is_some_and(|(files, path)| files.is_file(&path))
            || self.cars.iter().any(|(_, car)| car.texts.files.is_file(path))
    }

    fn is_dir(&self, path: &Path) -> bool {
        self.cars.iter().any(|(own, car)| own != path && car.texts.files.is_dir(path))
    }

    fn list(&self, folder: &Path) -> Vec<PathBuf> {
        self.cars.first().map_or_else(Vec::new, |(_, car)| car.texts.files.list(folder))
    }

    fn car(&self, path: &Path, overrides: &Overrides) -> Result<CarFile, FileErrors> {
        match self.cars.iter().find(|(own, _)| own == path) {
            Some((_, car)) => Files::car(&car.texts, &car.texts.path, overrides),
            // One that a row of a ledger makes of it.
            None => {
                let known = self.cars.iter().find(|(_, car)| car.texts.files.is_file(path));
                known.map_or(&Memory::default(), |(_, car)| &car.texts.files).car(path, overrides)
            }
        }
    }

    fn track(&self, path: &Path, overrides: &Overrides, grip: Option<f64>) -> Result<TrackFile, FileErrors> {
        match self.tracks.iter().find(|(own, _)| own == path) {
            Some((_, track)) => track.with(overrides, grip),
            None => Memory::default().track(path, overrides, grip),
        }
    }
}
