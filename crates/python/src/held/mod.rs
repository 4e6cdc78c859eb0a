//! Cars and tracks that were read, as the files of a question.

pub mod garaged;
mod keeping;
pub mod laid;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use unladen_garage::{CarFile, FileErrors, FileProblem, Files, Limit, Memory, Overrides, TrackFile};
use unladen_questions::course::mapping_file;
use unladen_questions::{Disk, Scene};

use crate::held::garaged::Garaged;
use crate::held::laid::Laid;

/// The cars and tracks of one question, each at a path of its own.
#[derive(Default)]
pub struct Held {
    cars: Vec<(PathBuf, Arc<Garaged>)>,
    tracks: Vec<(PathBuf, Arc<Laid>)>,
    logs: Vec<PathBuf>,
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

    /// Logs too, as they are on the disk, with what is kept of their columns.
    pub fn with_logs(mut self, logs: &[PathBuf]) -> Self {
        self.logs = logs.iter().flat_map(|log| [log.clone(), mapping_file(log)]).collect();
        self
    }

    /// What stands beside a car or a track.
    fn beside(&self, path: &Path) -> Option<(&Memory, PathBuf)> {
        let (name, folder) = (path.file_name()?, path.parent());
        let cars = self.cars.iter().map(|(own, car)| (own, &car.texts.files, &car.texts.path));
        let tracks = self.tracks.iter().map(|(own, track)| (own, &track.files, &track.path));
        let near = |(own, files, first): (&PathBuf, _, &PathBuf)| {
            (own.parent() == folder).then(|| (files, first.with_file_name(name)))
        };
        cars.chain(tracks).filter_map(near).find(|(files, path): &(&Memory, PathBuf)| files.is_file(path))
    }
}

impl Files for Held {
    fn bytes(&self, path: &Path, limit: Limit) -> Result<Vec<u8>, FileProblem> {
        if self.logs.iter().any(|log| log == path) {
            return Disk.bytes(path, limit);
        }
        self.beside(path).map_or(Err(FileProblem::NotFound), |(files, path)| files.bytes(&path, limit))
    }

    fn is_file(&self, path: &Path) -> bool {
        self.beside(path).is_some()
            || self.logs.iter().any(|log| log == path && Disk.is_file(path))
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
