//! Both cars' files, and the tracks on each day.

use unladen_garage::{Files, Overrides, TrackFile};
use unladen_study::ledger::reset::WET;

use crate::compare::Tracks;
use crate::error::AskError;
use crate::read::scene::{Inputs, Scene};

/// Every fault of both.
pub fn both(a: Result<Inputs, AskError>, b: Result<Inputs, AskError>) -> Result<(Inputs, Inputs), AskError> {
    match (a, b) {
        (Ok(a), Ok(b)) => Ok((a, b)),
        (Err(AskError::Files(mut all)), Err(AskError::Files(more))) => {
            let known: Vec<String> = all.iter().map(ToString::to_string).collect();
            all.extend(more.into_iter().filter(|e| !known.contains(&e.to_string())));
            Err(AskError::Files(all))
        }
        (Err(error), _) | (_, Err(error)) => Err(error),
    }
}

/// The days with their tracks: those asked for, or dry as in the tracks' files and wet.
pub fn days(
    files: &dyn Files,
    a: &Inputs,
    scene: &Scene,
    wanted: Option<&[f64]>,
) -> Result<Vec<(String, Tracks)>, AskError> {
    let overrides = Overrides::parse(&scene.set)?;
    let with = |grip: &dyn Fn(&TrackFile) -> f64| -> Result<Tracks, AskError> {
        let again = a
            .tracks
            .iter()
            .zip(&scene.tracks)
            .map(|((file, weight), (path, _))| Ok((files.track(path, &overrides, Some(grip(file)))?, *weight)));
        again.collect()
    };
    match wanted {
        Some(grips) => grips.iter().map(|&g| Ok((format!("grip {g}"), with(&|_| g)?))).collect(),
        None => {
            let dry = a.tracks.clone();
            Ok(vec![("dry".into(), dry), ("wet".into(), with(&|file| WET * file.track.grip)?)])
        }
    }
}
