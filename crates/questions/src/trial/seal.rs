//! A plan as the file that is sealed.

use std::path::Path;

use unladen_garage::trial::sealed::Sealed;
use unladen_garage::{Files, Measured, written};

use crate::error::AskError;
use crate::trial::plan::Answer;
use crate::trial::{TrialError, folder};
use crate::write::ToWrite;

/// What a seal carries besides the plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stamp {
    /// The trial's name.
    pub name: String,
    /// The day of the laps, days since 1970-01-01.
    pub day: i64,
    /// Today.
    pub today: i64,
    /// The version of unladen.
    pub version: String,
}

impl Stamp {
    /// `2026-03-14-bonnet`.
    fn stem(&self) -> String {
        let kept: String =
            self.name.chars().map(|c| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { '-' }).collect();
        let words: Vec<&str> = kept.split('-').filter(|w| !w.is_empty()).take(8).collect();
        let words = if words.is_empty() { "trial".to_owned() } else { words.join("-") };
        format!("{}-{words}", written(self.day))
    }
}

impl Answer {
    /// The sealed file, to go into the car's folder of trials.
    ///
    /// # Errors
    /// [`TrialError::Past`] where the day is over, [`TrialError::Sealed`] where the file is there.
    pub fn seal(&self, files: &dyn Files, car: &Path, stamp: &Stamp) -> Result<ToWrite, AskError> {
        if stamp.day < stamp.today {
            return Err(TrialError::Past { given: written(stamp.day) }.into());
        }
        let path = folder(files, car).join(format!("{}.toml", stamp.stem()));
        if files.exists(&path) {
            return Err(TrialError::Sealed { path }.into());
        }
        let prediction = self.predicted.prediction();
        let (s_per_kg, sd) = self.predicted.s_per_kg;
        let sealed = Sealed {
            name: stamp.name.trim().into(),
            day: stamp.day,
            version: stamp.version.clone(),
            car: self.car.clone(),
            track: self.track.clone(),
            change: self.change.clone(),
            gain: Measured { value: prediction.gain_s, sd: prediction.sd_s },
            interval: prediction.interval,
            lap_s: self.predicted.lap_s,
            besides_s: self.predicted.rest_s.hypot(self.predicted.error_s),
            s_per_kg: Measured { value: s_per_kg, sd },
            order: self.order.runs.clone(),
            laps: self.order.laps,
            scatter_s: self.scatter.sd_s,
            shows: self.shows,
            burn_kg: self.burn_kg,
            stops_s: [self.question.change_s, self.question.stop_s],
            hangs_on: self.predicted.slopes.iter().map(|s| (s.key.clone(), s.gain_s)).collect(),
            stretches: self.stretches.iter().map(|s| (s.name.clone(), s.span_m, s.gain_s)).collect(),
            files: self.files.iter().map(|f| (f.path.display().to_string(), f.sha256.clone())).collect(),
            seal: String::new(),
        };
        Ok(ToWrite { path, read: None, bytes: sealed.text().into_bytes() })
    }
}
