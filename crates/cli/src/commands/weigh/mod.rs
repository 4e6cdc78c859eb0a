//! `unladen weigh`: scale readings to mass, CG and their uncertainty.

pub mod reconcile;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_garage::{Measured, ReadingsFile, parse_readings, read_text, set_values, written};
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::files::lock::Lock;
use unladen_report::files::write::replace_whole;
use unladen_report::weigh::picture::weigh_picture;
use unladen_report::weigh::text::{WeighView, weigh_json, weigh_text};
use unladen_report::words::number::decimals_for;
use unladen_study::weighing::advice::better;
use unladen_study::weighing::{Fluid, Found, Geometry, Known, Loads, Raised, Reading, Scales, Weighing};

use crate::error::CliError;
use crate::inputs::car_file;
use crate::output::{kind, note, say, waiting};
use crate::standing::aboard;

/// `unladen weigh`.
#[derive(Debug, clap::Args)]
pub struct WeighArgs {
    /// Scale readings: a TOML file
    pub readings: PathBuf,
    /// Compare with the car's ledger: what it says against what the scales say
    #[arg(long, value_name = "CAR", conflicts_with_all = ["into", "plot"])]
    pub against: Option<PathBuf>,
    /// Write the result into the `[mass]` block of this car
    #[arg(long, value_name = "CAR")]
    pub into: Option<PathBuf>,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
    /// Draw the error budget to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
}

/// Shown with `--help`.
pub const HELP: &str = "Examples:\n  unladen weigh vehicles/saloon-awd/readings.toml --plot weighing.svg\n  \
    unladen weigh vehicles/saloon-awd/reweigh.toml --against vehicles/saloon-awd";

/// Reads a readings file.
pub fn read(path: &Path) -> Result<ReadingsFile, CliError> {
    let source = read_text(path).map_err(|f| CliError::one(*f))?;
    parse_readings(&source).map_err(|e| match kind(path) {
        Some(found) => CliError::OtherKind { path: path.to_owned(), found, due: "scale readings" },
        None => CliError::Files(vec![e]),
    })
}

/// Solves, prints, draws, writes.
pub fn run(args: &WeighArgs) -> Result<ExitCode, CliError> {
    if let Some(path) = &args.plot {
        check_plot(path)?;
    }
    let file = read(&args.readings)?;
    let weighing = weighing(&file);
    let found = weighing.solve()?;
    if let Some(car) = &args.against {
        return crate::commands::weigh::reconcile::run(car, &file, &found, args.json);
    }
    let better = better(&weighing, &found);
    let (date, aboard) = (file.day.map(written), aboard(file.fuel, file.driver));
    let view = WeighView {
        name: &file.name,
        date: date.as_deref(),
        aboard: &aboard,
        wheelbase: file.wheelbase.value,
        found: &found,
        better: &better,
        assumed: &file.assumed,
    };
    let printed = if args.json { weigh_json(&view)? } else { weigh_text(&view) };
    if let Some(path) = &args.plot {
        save_plot(path, || weigh_picture(&view))?;
    }
    if let Some(car) = &args.into {
        into(&car_file(car), &file, &found)?;
    }
    say(&printed)?;
    Ok(ExitCode::SUCCESS)
}

/// The file's numbers as the study takes them.
pub fn weighing(file: &ReadingsFile) -> Weighing {
    let known = |m: Measured| Known { value: m.value, sd: m.sd };
    let [resolution, repeatability, bias, gain] = file.scales;
    let mut readings = Vec::new();
    for r in &file.readings {
        let loads = match (r.corners, r.axles) {
            (Some(c), _) => Loads::Corners(c),
            (None, [Some(f), Some(r)]) => Loads::Axles([f, r]),
            (None, [Some(f), None]) => Loads::Front(f),
            (None, [None, Some(r)]) => Loads::Rear(r),
            // Refused by the reader.
            (None, [None, None]) => continue,
        };
        let lift = r.lift.map(|(front, h)| (if front { Raised::Front } else { Raised::Rear }, known(h)));
        readings.push(Reading { name: r.name.clone(), loads, lift, pads: r.pads });
    }
    Weighing {
        geometry: Geometry {
            wheelbase: known(file.wheelbase),
            track: file.track,
            radius: file.wheel_centre.map(known),
            tyre_rate: file.tyre_rate,
        },
        scales: Scales { resolution, repeatability, bias, gain },
        readings,
        fluids: file.fluids.iter().map(|&[mass, length, depth]| Fluid { mass, length, depth }).collect(),
        method_share: file.method_share,
    }
}

/// Writes the result into a car's file.
fn into(path: &Path, file: &ReadingsFile, found: &Found) -> Result<(), CliError> {
    let _lock = Lock::of(path, || waiting(path))?;
    let source = read_text(path).map_err(|f| CliError::one(*f))?;
    let value = |k: Known, factor: f64, unit: &str| {
        let decimals = decimals_for(k.sd * factor).min(4);
        format!("\"{:.decimals$} ± {:.decimals$} {unit}\"", k.value * factor, k.sd * factor)
    };
    let plain = |x: f64, unit: &str| {
        let text = format!("{x:.3}");
        format!("\"{} {unit}\"", text.trim_end_matches('0').trim_end_matches('.'))
    };
    let mut values = vec![("mass.total", value(found.mass, 1.0, "kg")), ("mass.cg_x", value(found.x, 1e3, "mm"))];
    if let Some(y) = found.y {
        values.push(("mass.cg_y", value(y, 1e3, "mm")));
    }
    match found.height {
        Some(h) => values.push(("mass.cg_height", value(h, 1e3, "mm"))),
        None => {
            note("note: no axle was raised, so mass.cg_height is left as it was; it belongs to the weighing before\n")
        }
    }
    let list = format!("\"driver {:.1} kg, fuel {:.1} L\"", file.driver, file.fuel * 1e3);
    values.push(("mass.weighed_with", list.replace(".0 ", " ")));
    if let Some(day) = file.day {
        values.push(("mass.weighed_on", format!("\"{}\"", written(day))));
    }
    values.push(("fuel.as_weighed", plain(file.fuel * 1e3, "L")));
    values.push(("driver.as_weighed", plain(file.driver, "kg")));
    if let Some(c) = found.corners {
        for (key, kg) in
            ["corners.front_left", "corners.front_right", "corners.rear_left", "corners.rear_right"].into_iter().zip(c)
        {
            values.push((key, format!("\"{kg:.1} kg\"")));
        }
    }
    let (text, left) = set_values(&source, &values).map_err(|e| CliError::Files(vec![e]))?;
    replace_whole(path, Some(source.text.as_bytes()), text.as_bytes())?;
    if !left.is_empty() {
        note(&format!("note: {} has no table for {}; left out\n", path.display(), left.join(", ")));
    }
    note(&format!(
        "note: {}: the new weighing is written; rows of the ledger done until then are in it\n",
        path.display()
    ));
    Ok(())
}
