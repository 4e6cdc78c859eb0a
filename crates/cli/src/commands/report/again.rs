//! The command that makes a report again.

use std::path::{Path, PathBuf};

use unladen_report::page::made::{quoted, shareable};

use crate::args::InState;
use crate::commands::moving::Chance;
use crate::commands::report::ReportArgs;

/// As it can be typed, one line.
pub fn command(args: &ReportArgs) -> String {
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
    option("by", &args.by);
    option("box", &args.with.inside);
    option("empty-tank", &args.with.empty_tank);
    for added in &args.with.added_mass {
        option("added-mass", &Some(added.clone()));
    }
    option("stint", &args.with.stint);
    option("against", &args.against.as_ref().map(|other| shareable(other)));
    option("trial", &args.trial.as_ref().map(|given| shareable(given)));
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
    let stands = &args.lapping.stands;
    if stands.of != InState::default().of {
        words.extend(["--as".to_owned(), quoted(&stands.of)]);
    }
    words.extend(stands.with.iter().flat_map(|row| ["--with".to_owned(), quoted(row)]));
    words.extend(stands.without.iter().flat_map(|row| ["--without".to_owned(), quoted(row)]));
    words.extend(stands.moved.iter().flat_map(|moved| ["--moved".to_owned(), quoted(moved)]));
    words.extend(args.rank.then(|| "--rank".to_owned()));
    words.extend(args.no_live.then(|| "--no-live".to_owned()));
    words.extend(args.lapping.set.iter().flat_map(|set| ["--set".to_owned(), quoted(set)]));
    words.extend(args.lapping.grip.iter().flat_map(|grip| ["--grip".to_owned(), grip.to_string()]));
    if args.lapping.step != unladen_lap::STEP_M {
        words.extend(["--step".to_owned(), args.lapping.step.to_string()]);
    }
    words.join(" ")
}

/// What was changed on the command line.
pub fn changed(args: &ReportArgs) -> Vec<String> {
    let grip = args.lapping.grip.map(|grip| format!("grip={grip}"));
    args.lapping.set.iter().cloned().chain(grip).collect()
}
