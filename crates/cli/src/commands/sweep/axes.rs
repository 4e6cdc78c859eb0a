//! The axes as typed, with the ranges of the keys that they stand for.

use unladen_garage::{CAR, CarFile, FileErrors, Kind, Span, TRACK, axis, between};
use unladen_report::words::number::fixed;
use unladen_study::sweep::{Axis, Grid, Tankful};

use super::SweepArgs;
use crate::error::CliError;

/// An option, what it says, and what it may say.
type Asked<'a> = (&'static str, &'a Option<String>, Span);

/// The grid and each of its axes in words; every fault of all axes at once.
pub fn grid(args: &SweepArgs, car: &CarFile) -> Result<(Grid, Vec<String>), CliError> {
    let mut faults: Vec<FileErrors> = Vec::new();
    let mut read = |(option, text, span): Asked| -> Option<Axis> {
        let typed = axis(option, text.as_ref()?, span).map_err(|e| faults.push(e)).ok()?;
        Axis::new(typed.0, typed.1, typed.2)
    };
    let of = |table: unladen_garage::Table, key: &str| match table.find(key).map(|k| &k.kind) {
        Some(Kind::Quantity(span)) => *span,
        _ => between(0.0, f64::INFINITY),
    };
    let share = between(0.0, 1.0);
    let mass = read(("--mass", &args.mass, of(CAR, "mass.total")));
    let cg_height = read(("--cg-height", &args.cg_height, of(CAR, "mass.cg_height")));
    let front_share = read(("--front-share", &args.front_share, share));
    let fuel = read(("--fuel", &args.fuel, of(CAR, "fuel.on_track")));
    let grip = read(("--grip", &args.grip, of(TRACK, "grip")));
    if !faults.is_empty() {
        return Err(CliError::Files(faults));
    }
    let fuel = match fuel {
        None => None,
        Some(axis) => {
            let f = car.loads.fuel.ok_or(CliError::NoTank)?;
            for end in axis.ends() {
                f.tank.fuel(end, f.density).map_err(|what| CliError::Fuel { option: "--fuel", what })?;
            }
            Some((axis, Tankful { tank: f.tank, density: f.density, on_track: f.on_track }))
        }
    };
    let words = [
        ("mass", &mass, 1.0, " kg", 0),
        ("height of the centre of gravity", &cg_height, 1e3, " mm", 0),
        ("front share", &front_share, 1.0, "", 3),
        ("fuel", &fuel.map(|f| f.0), 1e3, " L", 1),
        ("grip", &grip, 1.0, "", 2),
    ];
    let words: Vec<String> = words
        .into_iter()
        .filter_map(|(name, axis, factor, unit, decimals)| {
            let axis = axis.as_ref()?;
            let [from, to] = axis.ends().map(|x| fixed(x * factor, decimals));
            Some(if axis.count() == 1 {
                format!("{name} {from}{unit}")
            } else {
                format!("{name} {from} to {to}{unit} in {}", axis.count())
            })
        })
        .collect();
    if words.is_empty() {
        return Err(CliError::NothingSwept);
    }
    Ok((Grid { grip, fuel, mass, cg_height, front_share }, words))
}
