//! `unladen check`.

use std::process::ExitCode;

use unladen_garage::{CarFile, Checked, Ledger, TrackFile, check};
use unladen_report::words::number::{distance, fixed};
use unladen_report::words::table::{paragraph, printable};
use unladen_track::Track;

use crate::args::CheckArgs;
use crate::error::CliError;
use crate::inputs::car_file;
use crate::output::{complain, say, warn};

/// Reads each file and says what it found in it; faults go to standard error.
pub fn run(args: &CheckArgs) -> Result<ExitCode, CliError> {
    let mut faulty = false;
    for (path, found) in check(args.files.iter().map(|path| car_file(path))) {
        match found {
            Ok(checked) => {
                say(&format!("{}: {}", path.display(), summary(&checked)))?;
                warn(checked.warnings());
            }
            Err(errors) => {
                faulty = true;
                complain(&CliError::Files(vec![errors]));
            }
        }
    }
    Ok(ExitCode::from(if faulty { 2 } else { 0 }))
}

fn summary(checked: &Checked) -> String {
    let warnings = match checked.warnings().len() {
        0 => "no faults".to_owned(),
        1 => "no faults, one warning".to_owned(),
        n => format!("no faults, {n} warnings"),
    };
    match checked {
        Checked::Car(car) => format!("a car, {warnings}\n{}", indented(&of_car(car))),
        Checked::Track(track) => format!("a track, {warnings}\n{}", indented(&of_track(track))),
        Checked::Ledger(ledger, _) => {
            format!("a ledger of {} rows, {warnings}\n{}", ledger.entries.len(), own_columns(ledger))
        }
        Checked::Areas(n) => format!("{n} areas, {warnings}\n"),
        Checked::Readings(file) => format!("{} scale readings, {warnings}\n", file.readings.len()),
        Checked::Segments(1) => format!("one segment of a track, {warnings}\n"),
        Checked::Segments(n) => format!("{n} segments of a track, {warnings}\n"),
    }
}

/// Columns that are let be, so that a mistyped one is seen.
fn own_columns(ledger: &Ledger) -> String {
    match ledger.own_columns() {
        [] => String::new(),
        own => indented(&format!("Columns of your own, not read: {}.", printable(&own.join(", ")))),
    }
}

fn indented(text: &str) -> String {
    paragraph(text).lines().map(|line| format!("  {line}\n")).collect()
}

fn of_car(file: &CarFile) -> String {
    let (mass, wheelbase) = (&file.car.mass, file.car.chassis.l);
    let mm = |m: f64| fixed(m * 1e3, 0);
    let uncertain = match file.uncertainties.len() {
        0 => "Nothing in it carries a ±, so that no result will.".to_owned(),
        1 => "One number carries a ±.".to_owned(),
        n => format!("{n} numbers carry a ±."),
    };
    format!(
        "{}. As it laps: {} kg, {} % of it on the front axle; centre of gravity {} mm behind the front axle, {} mm {} of \
         the middle, {} mm up. {uncertain}",
        printable(&file.name),
        fixed(mass.m, 0),
        fixed(100.0 * (1.0 - mass.a / wheelbase), 1),
        mm(mass.a),
        mm(mass.y_cg.abs()),
        if mass.y_cg < 0.0 { "left" } else { "right" },
        mm(mass.h)
    )
}

/// A track in a sentence or two.
pub fn of_track(file: &TrackFile) -> String {
    let track = &file.track;
    let kind = match &file.closure {
        Some(closure) => format!(
            "a circuit that closes to {} m in plan and {} m in height",
            fixed(closure.position, 2),
            fixed(closure.height.abs(), 2)
        ),
        None => "an open course".to_owned(),
    };
    format!(
        "{}. {}, {} segments, {kind}. {}",
        printable(&track.name),
        distance(track.length()),
        track.segments.len(),
        banks(track)
    )
}

/// Below this a road counts as level across, rad.
const LEVEL: f64 = 1e-3;

/// Of each banked corner, whether its bank helps or hurts: it helps where the inside is the low side, κ φ > 0.
fn banks(track: &Track) -> String {
    let (mut helping, mut hurting): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    let mut start = 0.0;
    for segment in &track.segments {
        // The end at which it does most.
        let at = [0, 1].map(|i| (segment.kappa[i], segment.phi[i]));
        let (kappa, phi) = if (at[0].0 * at[0].1).abs() > (at[1].0 * at[1].1).abs() { at[0] } else { at[1] };
        if kappa != 0.0 && phi.abs() > LEVEL {
            let name = segment.place.as_deref().map_or_else(|| format!("{} m", fixed(start, 0)), printable);
            let list = if kappa * phi > 0.0 { &mut helping } else { &mut hurting };
            if !list.contains(&name) {
                list.push(name);
            }
        }
        start += segment.length;
    }
    let said = |verb: &str, list: &[String]| match list {
        [] => String::new(),
        list => format!("The bank {verb} in {}. ", list.join(", ")),
    };
    let all = said("helps", &helping) + &said("hurts", &hurting);
    if all.is_empty() { "No corner is banked.".to_owned() } else { all.trim_end().to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use unladen_track::Segment;

    /// Left + for curvature, right side up + for bank: both positive, the outside is up.
    #[test]
    fn closed_form_banks_that_help_and_hurt() {
        let segment = |kappa: f64, phi: f64, place: Option<&str>| Segment {
            length: 50.0,
            kappa: [0.0, kappa],
            q: [0.0; 2],
            phi: [0.0, phi],
            gamma: 1.0,
            place: place.map(Into::into),
        };
        let track =
            |segments| Track { name: "t".into(), closed: false, start_speed: 0.0, rho: 1.2, grip: 1.0, segments };
        assert_eq!(banks(&track(vec![segment(0.01, 0.0, None), segment(0.0, 0.1, None)])), "No corner is banked.");
        let mixed = vec![segment(0.01, 0.05, Some("A")), segment(-0.01, -0.05, Some("A")), segment(-0.01, 0.05, None)];
        assert_eq!(banks(&track(mixed)), "The bank helps in A. The bank hurts in 100 m.");
    }
}
