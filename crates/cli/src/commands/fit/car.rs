//! `unladen fit --out`: a copy of the car's file with what was found.

use std::path::Path;

use unladen_garage::{fitted_copy, read_text};
use unladen_report::files::write::{check_destination, write_whole};
use unladen_report::fit::text::{FitReport, words};
use unladen_report::words::number::with_sd;
use unladen_study::fit::Knob;
use unladen_vehicle::Car;

use crate::commands::fit::FitArgs;
use crate::error::CliError;
use crate::inputs::car_file;

/// A car's file; one that is there stays.
pub fn check(path: &Path) -> Result<(), CliError> {
    if path.extension().is_none_or(|e| !e.eq_ignore_ascii_case("toml")) {
        return Err(CliError::TrackName { path: path.to_owned() });
    }
    Ok(check_destination(path)?)
}

/// Writes it; says what it could not write.
pub fn write(path: &Path, args: &FitArgs, car: &Car, report: &FitReport) -> Result<Vec<String>, CliError> {
    let mut notes = vec![format!("written: {}", path.display())];
    let mut values: Vec<(&str, String)> = Vec::new();
    for found in report.fit.found.iter().filter(|f| f.held.is_none()) {
        let all = found.knob.values(car);
        let share = matches!(found.knob, Knob::Power | Knob::UseCornering | Knob::UseBraking | Knob::UseTraction);
        if share && all.iter().any(|v| v.1 * found.factor > 1.0) {
            let key = all[0].0;
            notes.push(format!(
                "{}: × {} would take {key} above 1, which it can't be; it is left as it is: raise the torque curve, or the friction",
                words(found.knob),
                with_sd(found.factor, found.sd)
            ));
            continue;
        }
        for (key, value, unit) in all {
            let (new, sd) = (value * found.factor, value.abs() * found.sd);
            // The slope goes with the peak, whose ± stands for both.
            let number =
                if key.contains("load_slope") { format!("{new:.4}") } else { format!("\"{}\"", both(new, sd, unit)) };
            values.push((key, number));
        }
    }
    let file = read_text(&car_file(&args.car)).map_err(|e| CliError::one(*e))?;
    let laps: Vec<String> = report.used.iter().map(ToString::to_string).collect();
    let log = args.log.file_name().unwrap_or_default().to_string_lossy();
    let heading = [
        format!("Fitted by `unladen fit` to laps {} of {log} on {}.", laps.join(", "), report.track),
        "Grip is that day's, with the driver's use of it where the two can't be told apart; ± is one standard deviation.".into(),
        format!(
            "Lap {}, held out: model {:.2} ± {:.2} s, log {:.2} s. Valid for that car, day, track and driver; not validated beyond.",
            report.held, report.prediction.model_s, report.prediction.model_sd_s, report.prediction.logged_s
        ),
    ]
    .map(|line| line.replace(['\n', '\r'], " "));
    let (text, left) = fitted_copy(&file, &heading, &values).map_err(|e| CliError::Files(vec![e]))?;
    notes.extend(left.iter().map(|key| format!("{key}: no table of the file takes it; not written")));
    write_whole(path, text.as_bytes())?;
    if !args.set.is_empty() {
        notes.push("what --set changed for the fit (the mass that day, say) is not in the copy".into());
    }
    Ok(notes)
}

fn both(value: f64, sd: f64, unit: &str) -> String {
    let number = with_sd(value, sd);
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}
