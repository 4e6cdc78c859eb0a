//! The numbers that a page was made from, as people write them.

use unladen_garage::{CarFile, TrackFile};
use unladen_questions::Inputs;
use unladen_vehicle::{Car, Number};

use crate::page::made::Given;
use crate::words::number::decimals_for;

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
    format!("{value:.decimals$}\u{a0}{unit}").trim_end().to_owned()
}

/// Every number of the car and of the tracks' days, those with a ± with it.
pub fn given(inputs: &Inputs, now: &Car) -> Vec<Given> {
    let mut all = of_car(&inputs.car.file, now);
    for (file, _) in &inputs.tracks {
        all.extend(of_track(file));
    }
    all
}

fn of_car(file: &CarFile, now: &Car) -> Vec<Given> {
    let mut car = now.clone();
    let numbers = Number::all(now).into_iter().filter(|n| *n != Number::POWER);
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
    fn closed_form_as_many_decimals_as_there_are() {
        assert_eq!((enough(1284.0), enough(0.013), enough(2.0 / 3.0)), (0, 3, 4));
    }
}
