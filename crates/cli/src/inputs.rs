//! What a command names: the car, its tracks, the values set for this run.

use std::path::{Path, PathBuf};

use unladen_garage::argument;
use unladen_garage::argument::WEIGHT;
use unladen_questions::Scene;

use crate::args::Lapping;
use crate::error::{CliError, Usage};

/// A car on tracks as they are typed.
pub fn scene(car: &Path, tracks: &[String], of: &Lapping) -> Result<Scene, CliError> {
    let tracks = tracks.iter().map(|given| weighted(given)).collect::<Result<Vec<_>, _>>()?;
    scene_of(car, tracks, of)
}

/// A car on tracks with their weights.
pub fn scene_of(car: &Path, tracks: Vec<(PathBuf, f64)>, of: &Lapping) -> Result<Scene, CliError> {
    let state = of.stands.state()?;
    Ok(Scene { car: car.to_owned(), tracks, state, set: of.set.clone(), grip: of.grip, step_m: of.step })
}

/// `TRACK` or `TRACK=WEIGHT`; a file of that whole name comes first.
pub fn weighted(given: &str) -> Result<(PathBuf, f64), Usage> {
    let Some((track, weight)) = given.rsplit_once('=').filter(|_| !Path::new(given).exists()) else {
        return Ok((given.into(), 1.0));
    };
    match argument(weight, WEIGHT) {
        Ok(weight) => Ok((track.into(), weight)),
        Err(why) => Err(Usage::Weight { given: given.into(), track: track.into(), why }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_weights() {
        let path = |given: &str| weighted(given).map(|(path, weight)| (path.display().to_string(), weight)).ok();
        assert_eq!(path("a.toml"), Some(("a.toml".into(), 1.0)));
        assert_eq!(path("a.toml=2.5"), Some(("a.toml".into(), 2.5)));
        assert_eq!(path("x=y/a.toml=1"), Some(("x=y/a.toml".into(), 1.0)));
    }

    #[test]
    fn bad_input_weights() {
        for given in ["a.toml=", "a.toml=x", "a.toml=0", "a.toml=-1", "a.toml=nan", "a.toml=inf", "a.toml=1 kg"] {
            let error = weighted(given).unwrap_err().to_string();
            assert!(error.starts_with(given) && error.contains("a.toml=2"), "{error}");
        }
    }
}
