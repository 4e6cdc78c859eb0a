//! `unladen worth`.

use std::process::ExitCode;

use unladen_garage::{CarFile, position};
use unladen_report::draw::picture::{Picture, PlotError, check_plot, save_plot};
use unladen_report::lap::place::places;
use unladen_report::worth as shown;
use unladen_report::worth::curve::{CurvePlot, curve_picture};
use unladen_report::worth::json::worth_json;
use unladen_report::worth::text::worth_text;
use unladen_study::{Input, Leg, Quantity, Spot, Subject, Worth, named_spots, worth};
use unladen_track::Track;

use crate::args::WorthArgs;
use crate::error::CliError;
use crate::inputs::{course, read, uncertain, weighted};
use crate::kilogram::{self, on_track};
use crate::output::{check_outputs, deliver, note, same};
use crate::stack::stacked;
use crate::{report_plan, standing};

mod along;

/// Laps the car on each track and says what its kilograms and millimetres are worth.
pub fn run(args: &WorthArgs) -> Result<ExitCode, CliError> {
    check_outputs(&args.run)?;
    if let Some(path) = &args.map {
        check_plot(path)?;
        if [&args.run.plot, &args.run.csv].into_iter().flatten().any(|other| same(path, other)) {
            return Err(CliError::SameOutput { path: path.clone() });
        }
    }
    let named = args.tracks.iter().map(|given| weighted(given)).collect::<Result<Vec<_>, _>>()?;
    let asked = args.at.iter().map(|given| spot(given)).collect::<Result<Vec<_>, _>>()?;
    let inputs = read(&args.car, &named, &args.run)?;
    let car = &inputs.car;
    let budget = if args.map.is_some() { on_track(&args.car, car)? } else { None };
    let plan = match &budget {
        Some(on) => report_plan::chosen(on, &args.plan)?,
        None if args.plan.iter().any(|p| p != "none") => {
            return Err(CliError::NoPlan { path: standing::ledger_file(&args.car) });
        }
        None => None,
    };
    let tracks: Vec<&Track> = inputs.tracks.iter().map(|(file, _)| &file.track).collect();
    let courses = tracks.iter().map(|track| course(track, args.run.step)).collect::<Result<Vec<_>, _>>()?;
    let own: Vec<Vec<Input>> = inputs.tracks.iter().map(|(file, _)| uncertain(&file.uncertainties)).collect();
    let legs: Vec<Leg> = courses
        .iter()
        .zip(&own)
        .zip(&inputs.tracks)
        .map(|((course, inputs), (_, weight))| Leg { course, weight: *weight, inputs })
        .collect();
    let of_car = uncertain(&car.uncertainties);
    let mut spots = named_spots(&car.car, car.loads.driver.map(|driver| driver.seat));
    spots.extend(asked);
    let found = worth(&Subject { car: &car.car, inputs: &of_car, spots }, &legs)?;

    let shown: Vec<shown::Worth> = found.tracks.iter().map(showing).collect();
    let mix = showing(&found.mix);
    if let Some(path) = &args.map {
        save_plot(path, || kilogram::picture(car, car.car.mass.into(), &mix, budget.as_ref(), plan.as_ref()))?;
    }
    if args.run.json {
        for worth in &shown {
            worth.warnings.iter().for_each(|w| note(&format!("warning: {}: {w}\n", worth.track)));
        }
    }
    deliver(
        &args.run,
        || along::csv(&found.tracks),
        || curves(car, &tracks, &found.tracks),
        || if args.run.json { Ok(worth_json(&shown, &mix)?) } else { Ok(worth_text(&car.name, &shown, &mix)) },
    )?;
    Ok(ExitCode::SUCCESS)
}

/// `battery=2810,300,390`, or without a name.
fn spot(given: &str) -> Result<Spot, CliError> {
    let (name, place) = given.split_once('=').unwrap_or((given, given));
    match (unladen_garage::name(name), position(place)) {
        (Ok(name), Some(at)) => Ok(Spot { name, at }),
        _ => Err(CliError::Position { given: given.into() }),
    }
}

/// Where along each lap the seconds of a kilogram come from.
fn curves(car: &CarFile, tracks: &[&Track], found: &[Worth]) -> Result<Picture, PlotError> {
    let mut pictures = Vec::new();
    for (track, worth) in tracks.iter().zip(found) {
        let Some(along) = &worth.along else { continue };
        pictures.push(curve_picture(&CurvePlot {
            car: &car.name,
            track: &track.name,
            places: &places(track),
            length_m: track.length(),
            s_m: &along.s_m,
            s_per_kg: &along.s_per_kg,
            total_sd: worth.s_per_kg.sd,
            error: worth.s_per_kg.error,
        })?);
    }
    stacked(pictures)
}

/// A result as the report takes it.
pub fn showing(w: &Worth) -> shown::Worth {
    let quantity = |q: &Quantity| shown::Quantity { value: q.value, error: q.error, sd: q.sd, one_sided: q.one_sided };
    let places = w.places.iter().map(|place| {
        let [x_mm, y_mm, z_mm] = place.spot.at.map(|m| m * 1e3);
        shown::WorthPlace { name: place.spot.name.clone(), x_mm, y_mm, z_mm, s_per_kg: quantity(&place.s_per_kg) }
    });
    shown::Worth {
        track: w.track.clone(),
        lap_time_s: w.lap_time_s,
        lap_time_error_s: w.lap_time_error_s,
        lap_time_sd_s: w.lap_time_sd_s,
        s_per_kg: quantity(&w.s_per_kg),
        s_per_mm_height: quantity(&w.s_per_mm_height),
        s_per_mm_rearward: quantity(&w.s_per_mm_rearward),
        s_per_mm_right: quantity(&w.s_per_mm_right),
        places: places.collect(),
        limits: w.limits,
        elasticity: w.elasticity,
        warnings: w.caveats.iter().map(ToString::to_string).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_places() {
        let battery = spot("battery = -600, 300,390.5").unwrap();
        assert_eq!((battery.name.as_str(), battery.at), ("battery", [-0.6, 0.3, 0.3905]));
        assert_eq!(spot("0,0,310").unwrap().name, "0,0,310");
    }

    #[test]
    fn bad_input_places() {
        for given in ["", "battery", "1,2", "1,2,3,4", "1,2,x", "1,2,nan", "1,2,inf", "x=1,2,99999"] {
            assert!(matches!(spot(given), Err(CliError::Position { .. })), "{given}");
        }
    }
}
