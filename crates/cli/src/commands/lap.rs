//! `unladen lap`.

use std::process::ExitCode;

use unladen_questions::{advised, lap};
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::lap::answer::{answer_text, cloud, sheet, summary};
use unladen_report::lap::brief::{Order, lap_brief};
use unladen_report::lap::json::lap_csv;
use unladen_report::words::brief::Length;

use crate::args::{LapArgs, Sort};
use crate::disk::DISK;
use crate::error::{CliError, Usage};
use crate::inputs::scene_of;
use crate::output::{check_outputs, deliver, failed, note, same, warn};
use crate::progress::Working;

/// Laps the car and says how it went.
pub fn run(args: &LapArgs, length: Length) -> Result<ExitCode, CliError> {
    check_outputs(&args.run)?;
    if let Some(path) = &args.gg {
        check_plot(path)?;
        if [&args.run.plot, &args.run.csv].into_iter().flatten().any(|other| same(path, other)) {
            return Err(Usage::SameOutput { path: path.clone() }.into());
        }
    }
    let scene = scene_of(&args.car, vec![(args.track.clone(), 1.0)], &args.run.lapping)?;
    let ready = lap::Question { scene }.read(&DISK).map_err(failed)?;
    warn(&ready.warnings);
    let order = match args.sort {
        Sort::Road => Order::Road,
        Sort::Worth => Order::Worth,
    };
    let working = Working::on("laps of drawn cars");
    let laps = ready.answer()?;
    drop(working);
    for lap in laps {
        if args.run.json {
            lap.caveats.iter().for_each(|caveat| note(&format!("warning: {}\n", advised(caveat))));
        }
        if let Some(path) = &args.gg {
            save_plot(path, || cloud(&lap))?;
        }
        deliver(
            &args.run,
            || Ok(lap_csv(&lap.rows)?),
            || sheet(&lap),
            || match length {
                _ if args.run.json => Ok(summary(&lap).json()?),
                Length::Brief => Ok(lap_brief(&lap, order)),
                Length::Whole => Ok(answer_text(&lap)),
            },
        )?;
    }
    Ok(ExitCode::SUCCESS)
}
