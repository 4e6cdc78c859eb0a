//! A copy of the car's file with what was found.

use std::path::Path;

use unladen_garage::unit::digits::with_sd;
use unladen_garage::{Files, fitted_copy};
use unladen_study::fit::Knob;

use crate::error::AskError;
use crate::fit::{Answer, Question};
use crate::read::project::car_file;
use crate::write::ToWrite;

/// The copy.
#[derive(Clone, Debug)]
#[must_use = "it is to be written"]
pub struct Copy {
    /// The file.
    pub write: ToWrite,
    /// What would take a value above 1, which it can't be, and is left as it is.
    pub above_one: Vec<AboveOne>,
    /// Keys that no table of the file takes.
    pub left: Vec<String>,
}

/// A factor that would take a share above 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AboveOne {
    /// Which.
    pub knob: Knob,
    /// The factor.
    pub factor: f64,
    /// Its standard deviation.
    pub sd: f64,
    /// The value's key.
    pub key: &'static str,
}

impl Answer {
    /// The file of the car that `asked` was about with what was found, comments kept, to go to `path`.
    ///
    /// # Errors
    /// [`AskError::Files`] where the file can't be read.
    pub fn copy(&self, files: &dyn Files, asked: &Question, path: &Path) -> Result<Copy, AskError> {
        let (mut above_one, mut values) = (Vec::new(), Vec::<(&str, String)>::new());
        for found in self.fit.found.iter().filter(|f| f.held.is_none()) {
            let all = found.knob.values(&self.before);
            let share = matches!(found.knob, Knob::Power | Knob::UseCornering | Knob::UseBraking | Knob::UseTraction);
            if share && all.iter().any(|v| v.1 * found.factor > 1.0) {
                above_one.push(AboveOne { knob: found.knob, factor: found.factor, sd: found.sd, key: all[0].0 });
                continue;
            }
            for (key, value, unit) in all {
                let (new, sd) = (value * found.factor, value.abs() * found.sd);
                // The slope goes with the peak, whose ± stands for both.
                let number = if key.contains("load_slope") {
                    format!("{new:.4}")
                } else {
                    format!("\"{}\"", both(new, sd, unit))
                };
                values.push((key, number));
            }
        }
        let source = files.text(&car_file(files, &asked.car)).map_err(|f| AskError::one(*f))?;
        let (text, left) = fitted_copy(&source, &self.heading(asked), &values)?;
        Ok(Copy { write: ToWrite::result(path, text), above_one, left })
    }

    fn heading(&self, asked: &Question) -> [String; 3] {
        let laps: Vec<String> = self.used.iter().map(ToString::to_string).collect();
        let log = asked.log.file_name().unwrap_or_default().to_string_lossy();
        [
            format!("Fitted by `unladen fit` to laps {} of {log} on {}.", laps.join(", "), self.track.name),
            "Grip is that day's, with the driver's use of it where the two can't be told apart; ± is one standard deviation.".into(),
            format!(
                "Lap {}, held out: model {:.2} s (90 % of such laps: {:.2} to {:.2} s), log {:.2} s. Valid for that car, day, track and driver; not validated beyond.",
                self.held,
                self.prediction.model_s,
                self.prediction.interval_s[0],
                self.prediction.interval_s[1],
                self.prediction.logged_s
            ),
        ]
        .map(|line| line.replace(['\n', '\r'], " "))
    }
}

fn both(value: f64, sd: f64, unit: &str) -> String {
    let number = with_sd(value, sd);
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}
