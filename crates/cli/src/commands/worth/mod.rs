//! `unladen worth`.

use std::process::ExitCode;

use unladen_garage::position;
use unladen_questions::advised;
use unladen_questions::worth::Question;
use unladen_report::draw::look::Paper;
use unladen_report::draw::picture::{check_plot, save_plot, stacked};
use unladen_report::words::brief::Length;
use unladen_report::worth::along::along_csv;
use unladen_report::worth::answer::{answer_brief, answer_text};
use unladen_report::worth::car_map::car_map;
use unladen_report::worth::curve::curves;
use unladen_report::worth::json::worth_json;
use unladen_study::Spot;

use crate::args::WorthArgs;
use crate::disk::DISK;
use crate::error::{CliError, Usage};
use crate::inputs::scene;
use crate::output::{check_outputs, deliver, failed, note, same, warn};
use crate::progress::Working;

/// Laps the car on each track and says what its kilograms and millimetres are worth.
pub fn run(args: &WorthArgs, length: Length) -> Result<ExitCode, CliError> {
    check_outputs(&args.run)?;
    if let Some(path) = &args.map {
        check_plot(path)?;
        if [&args.run.plot, &args.run.csv].into_iter().flatten().any(|other| same(path, other)) {
            return Err(Usage::SameOutput { path: path.clone() }.into());
        }
    }
    let question = Question {
        scene: scene(&args.car, &args.tracks, &args.run.lapping)?,
        spots: args.at.iter().map(|given| spot(given)).collect::<Result<Vec<_>, _>>()?,
        coming: args.map.as_ref().map(|_| args.plan.clone()),
    };
    let ready = question.read(&DISK).map_err(failed)?;
    warn(&ready.warnings);
    let working = Working::on("laps of drawn cars");
    let answer = ready.answer()?;
    drop(working);
    let (tracks, mix) = (&answer.study.tracks, &answer.study.mix);
    if let Some(path) = &args.map {
        save_plot(path, || car_map(&answer, Paper::FILE))?;
    }
    if args.run.json {
        for worth in tracks {
            worth.caveats.iter().for_each(|w| note(&format!("warning: {}: {}\n", worth.track, advised(w))));
        }
    }
    deliver(
        &args.run,
        || Ok(along_csv(tracks)?),
        || stacked(curves(&answer, Paper::FILE)?),
        || match length {
            _ if args.run.json => Ok(worth_json(tracks, mix, Some(&answer.state), answer.open().as_ref())?),
            Length::Brief => Ok(answer_brief(&answer)),
            Length::Whole => Ok(answer_text(&answer)),
        },
    )?;
    Ok(ExitCode::SUCCESS)
}

/// `battery=2810,300,390`, or without a name.
fn spot(given: &str) -> Result<Spot, Usage> {
    let (name, place) = given.split_once('=').unwrap_or((given, given));
    let wrong = |why| Usage::Position { given: given.into(), why };
    let name = unladen_garage::name(name).map_err(|why| wrong(why.to_string()))?;
    Ok(Spot { name, at: position(place).map_err(wrong)? })
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
            assert!(matches!(spot(given), Err(Usage::Position { .. })), "{given}");
        }
    }
}
