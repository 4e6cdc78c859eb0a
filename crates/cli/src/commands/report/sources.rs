//! What a report was made from: the command, the files and their hashes, and the numbers in them.

use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use unladen_garage::{CarFile, TrackFile};
use unladen_questions::read::project::{car_file, ledger_file};
use unladen_questions::{Disk, Inputs};
use unladen_report::page::made::{FileHash, Given};
use unladen_report::words::number::decimals_for;
use unladen_vehicle::{Car, Number};

use crate::commands::moving::Chance;
use crate::commands::report::{ReportArgs, shareable};
use crate::error::CliError;

/// The command as it can be typed again, and the files.
pub struct Sources {
    /// One line.
    pub command: String,
    /// In the order in which they are named.
    pub files: Vec<FileHash>,
}

/// Of a report.
pub fn of(args: &ReportArgs, tracks: &[(PathBuf, f64)], inputs: &Inputs) -> Result<Sources, CliError> {
    let mut paths = Vec::new();
    for car in std::iter::once(&args.car).chain(&args.against) {
        let ledger = ledger_file(&Disk, car);
        let areas = ledger.with_file_name("areas.csv");
        paths.push(car_file(&Disk, car));
        paths.extend([ledger, areas].into_iter().filter(|p| p.is_file()));
    }
    for ((path, _), (file, _)) in tracks.iter().zip(&inputs.tracks) {
        paths.extend([path.clone(), path.with_file_name(&file.segments)]);
    }
    let mut files: Vec<FileHash> = Vec::new();
    for path in paths {
        let bytes = std::fs::read(&path).map_err(|source| CliError::Unread { path: path.clone(), source })?;
        let sha256: String = Sha256::digest(&bytes).iter().map(|b| format!("{b:02x}")).collect();
        let file = FileHash { name: shareable(&path), bytes: bytes.len() as u64, sha256 };
        if !files.contains(&file) {
            files.push(file);
        }
    }
    Ok(Sources { command: command(args), files })
}

fn command(args: &ReportArgs) -> String {
    let mut words = vec!["unladen".to_owned(), "report".to_owned(), quoted(&shareable(&args.car))];
    words.extend(args.tracks.iter().map(|track| quoted(&shareable(Path::new(track)))));
    let out = if args.out.is_relative() {
        args.out.clone()
    } else {
        args.out.file_name().map(PathBuf::from).unwrap_or_default()
    };
    words.extend(["--out".to_owned(), quoted(&out.display().to_string())]);
    words.extend(args.plan.iter().flat_map(|plan| ["--plan".to_owned(), quoted(plan)]));
    let mut option = |name: &str, value: &Option<String>| {
        words.extend(value.iter().flat_map(|value| [format!("--{name}"), quoted(value)]));
    };
    option("item", &args.item);
    option("to", &args.to);
    option("box", &args.with.inside);
    option("empty-tank", &args.with.empty_tank);
    for added in &args.with.added_mass {
        option("added-mass", &Some(added.clone()));
    }
    option("stint", &args.with.stint);
    option("against", &args.against.as_ref().map(|other| shareable(other)));
    for set in &args.set_second {
        option("set-second", &Some(set.clone()));
    }
    for apart in &args.apart {
        option("apart", &Some(apart.clone()));
    }
    let (given, usual) = (&args.chance, Chance::default());
    option("lap-spread", &(given.lap_spread != usual.lap_spread).then(|| given.lap_spread.to_string()));
    option("laps", &(given.laps != usual.laps).then(|| given.laps.to_string()));
    option("samples", &(given.samples != usual.samples).then(|| given.samples.to_string()));
    option("seed", &(given.seed != usual.seed).then(|| given.seed.to_string()));
    words.extend(args.rank.then(|| "--rank".to_owned()));
    words.extend(args.set.iter().flat_map(|set| ["--set".to_owned(), quoted(set)]));
    words.extend(args.grip.iter().flat_map(|grip| ["--grip".to_owned(), grip.to_string()]));
    if args.step != unladen_lap::STEP_M {
        words.extend(["--step".to_owned(), args.step.to_string()]);
    }
    words.join(" ")
}

/// As a shell takes it.
fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "._-/=+,:%@".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', "'\\''"))
    }
}

/// What was changed on the command line.
pub fn changed(args: &ReportArgs) -> Vec<String> {
    let grip = args.grip.map(|grip| format!("grip={grip}"));
    args.set.iter().cloned().chain(grip).collect()
}

/// Units that people use, by the SI unit and how the key ends: symbol and how many of it one SI unit is.
fn shown_in(key: &str, unit: &'static str) -> (&'static str, f64) {
    match unit {
        "m" => ("mm", 1e3),
        "rad/s" => ("rpm", 30.0 / std::f64::consts::PI),
        "1" => ("", 1.0),
        "kg m2" => ("kg m²", 1.0),
        "m2" => ("m²", 1.0),
        "kg/m3" => ("kg/m³", 1.0),
        "m3" => ("L", 1e3),
        "K" if key.ends_with("temperature") => ("K", 1.0),
        other => (other, 1.0),
    }
}

fn with_unit(value: f64, decimals: usize, unit: &str) -> String {
    if value.is_infinite() {
        return "locked".to_owned();
    }
    format!("{value:.decimals$} {unit}").trim_end().to_owned()
}

/// Every number of the car and of the tracks' days, those with a ± with it.
pub fn given(inputs: &Inputs, now: &Car) -> Vec<Given> {
    let mut all = of_car(&inputs.car, now);
    for (file, _) in &inputs.tracks {
        all.extend(of_track(file));
    }
    all
}

fn of_car(file: &CarFile, now: &Car) -> Vec<Given> {
    let mut car = now.clone();
    let numbers = Number::all(now).into_iter().filter(|n| ![Number::RHO, Number::GAMMA_0, Number::POWER].contains(n));
    let one = |number: Number| {
        let value = *car.number_mut(number)?;
        let (key, unit) = (number.key(), number.unit());
        let sd = file.uncertainties.iter().find(|u| u.key == key).map(|u| u.sd);
        if let Some(stiffness) = key.strip_prefix("1/") {
            let shown = if value > 0.0 {
                with_unit(std::f64::consts::PI / 180.0 / value, 0, "N/deg")
            } else {
                "not given".into()
            };
            return Some(Given { key: stiffness.into(), value: shown, sd: None });
        }
        let (unit, factor) = shown_in(&key, unit);
        let decimals = sd.map_or_else(|| enough(value * factor), |sd| decimals_for(sd * factor));
        Some(Given {
            key,
            value: with_unit(value * factor, decimals, unit),
            sd: sd.map(|sd| with_unit(sd * factor, decimals, unit)),
        })
    };
    let mut all: Vec<Given> = numbers.filter_map(one).collect();
    // What is uncertain of fuel, driver and the like has no number of its own in a lap.
    for u in &file.uncertainties {
        if !all.iter().any(|g| g.key == u.key) {
            let (unit, factor) = shown_in(&u.key, u.unit);
            let sd = u.sd * factor;
            all.push(Given {
                key: u.key.clone(),
                value: "as in the file".into(),
                sd: Some(with_unit(sd, decimals_for(sd), unit)),
            });
        }
    }
    all
}

fn of_track(file: &TrackFile) -> Vec<Given> {
    let (name, day) = (&file.track.name, file.day());
    let sd =
        |key: &str| file.uncertainties.iter().find(|u| u.key == key).map(|u| with_unit(u.sd, decimals_for(u.sd), ""));
    let mut all = vec![
        Given { key: format!("{name}: grip"), value: with_unit(day.gamma_0, 2, ""), sd: sd("grip") },
        Given { key: format!("{name}: air density"), value: with_unit(day.rho, 3, "kg/m³"), sd: None },
    ];
    for u in file.uncertainties.iter().filter(|u| u.key != "grip") {
        let (unit, factor) = shown_in(&u.key, u.unit);
        let sd = u.sd * factor;
        all.push(Given {
            key: format!("{name}: {}", u.key),
            value: "as in the file".into(),
            sd: Some(with_unit(sd, decimals_for(sd), unit)),
        });
    }
    all
}

/// Four digits, and no more than there are.
fn enough(value: f64) -> usize {
    (0..=4)
        .find(|&d| ((value * 10f64.powi(d)).round() / 10f64.powi(d) - value).abs() <= 1e-9 * value.abs().max(1e-9))
        .unwrap_or(4) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_words_for_a_shell() {
        assert_eq!(
            (quoted("tracks/a.toml=3"), quoted("bonnet pins")),
            ("tracks/a.toml=3".into(), "'bonnet pins'".into())
        );
        assert_eq!(quoted("it's"), "'it'\\''s'");
        assert_eq!(quoted(""), "''");
    }

    #[test]
    fn property_no_folders_of_a_machine() {
        assert_eq!(shareable(Path::new("vehicles/saloon-awd")), "vehicles/saloon-awd");
        assert_eq!(shareable(Path::new("/home/jo/cars/mine/car.toml")), "mine/car.toml");
        assert_eq!(shareable(Path::new("/car.toml")), "car.toml");
    }

    #[test]
    fn closed_form_as_many_decimals_as_there_are() {
        assert_eq!((enough(1284.0), enough(0.013), enough(2.0 / 3.0)), (0, 3, 4));
    }
}
