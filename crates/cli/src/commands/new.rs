//! `unladen new`: a car from the numbers that its owner knows, typed as options or asked for one by one.

use std::fs;
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_questions::AskError;
use unladen_questions::estimate::given::{WISHES, Wish};
use unladen_questions::estimate::{Class, Given};
use unladen_questions::new::{entries, files};
use unladen_report::files::write::write_whole;

use crate::error::{CliError, Output, Usage};
use crate::output::{complain, say};

/// `unladen new`.
#[derive(Debug, clap::Args)]
pub struct NewArgs {
    /// A folder for the car; made if it is not there
    pub dir: PathBuf,
    /// What the car is called [default: as the folder]
    #[arg(long)]
    pub name: Option<String>,
    /// Mass of the car as it stands, without driver: 980kg; ± of your own: "980 ± 4 kg"
    #[arg(long)]
    pub mass: Option<String>,
    /// The front axle's share of it: 61% [left out: by the driven axle]
    #[arg(long, value_name = "SHARE")]
    pub front_share: Option<String>,
    /// Wheelbase: 2510mm
    #[arg(long, value_name = "LENGTH")]
    pub wheelbase: Option<String>,
    /// Height to the roof: 1430mm
    #[arg(long, value_name = "LENGTH")]
    pub height: Option<String>,
    /// Track width, middle to middle of the front tyres: 1450mm [left out: by the wheelbase]
    #[arg(long, value_name = "LENGTH")]
    pub track: Option<String>,
    /// Most power at the crank, at its engine speed: 96kW@6200rpm
    #[arg(long, value_name = "POWER@SPEED")]
    pub power: Option<String>,
    /// Most torque, at its engine speed: 165Nm@4500rpm [left out: of a free-breathing engine]
    #[arg(long, value_name = "TORQUE@SPEED")]
    pub torque: Option<String>,
    /// Driven axles: front, rear or all
    #[arg(long)]
    pub layout: Option<String>,
    /// road, track-day or slick
    #[arg(long)]
    pub tyres: Option<String>,
    /// Top speed on the level, where drag ends it: 195km/h [left out: drag by the car's size]
    #[arg(long, value_name = "SPEED")]
    pub top_speed: Option<String>,
    /// The driver with helmet: 78kg [left out: 80 ± 12 kg]
    #[arg(long, value_name = "MASS")]
    pub driver: Option<String>,
    /// Fuel that was in the tank when the mass was taken: 20L [left out: 20 ± 8 L]
    #[arg(long, value_name = "VOLUME")]
    pub fuel: Option<String>,
}

/// Shown with `--help`.
pub const HELP: &str = "Example:\n  unladen new my-car --mass 980kg --front-share 61% --wheelbase 2510mm --height 1430mm \\\n    \
    --power 96kW@6200rpm --layout front --tyres road --top-speed 195km/h\n  \
    unladen check my-car && unladen worth my-car tracks/airfield.toml\n\
    On a terminal, `unladen new my-car` asks for what is not given.";

/// Writes the files; none where one of them is there already.
pub fn run(args: &NewArgs) -> Result<ExitCode, CliError> {
    // Names first: nobody answers ten questions for nothing.
    let names = ["car.toml", "ledger.csv", "areas.csv", "readings.toml", "car.schema.json", "readings.schema.json"];
    if let Some(path) = names.iter().map(|name| args.dir.join(name)).find(|path| path.exists()) {
        return Err(Usage::Exists { path }.into());
    }
    let mut typed = typed(args);
    let terminal = io::stdin().is_terminal() && io::stderr().is_terminal();
    if terminal && WISHES.iter().any(|wish| wish.due && typed.iter().all(|(option, _)| *option != wish.option)) {
        ask(&mut typed, &mut io::stdin().lock(), &mut io::stderr().lock())?;
    }
    let class = Class::of(Given::read(&typed)?);
    let files = files(&name(args), &class);
    fs::create_dir_all(&args.dir).map_err(|source| Output::NoFolder { path: args.dir.clone(), source })?;
    let mut written = Vec::new();
    for (name, text) in &files {
        let path = args.dir.join(name);
        if let Err(error) = write_whole(&path, text.as_bytes()) {
            // All or none.
            for path in written {
                let _ = fs::remove_file(path);
            }
            return Err(error.into());
        }
        written.push(path);
    }
    let assumed = entries(&class).iter().filter(|entry| entry.value.contains("assumed ")).count();
    let dir = args.dir.display();
    say(&format!(
        "{dir}/car.toml: a whole car. {assumed} of its values are assumed, each with its ± and where it is from; put what\n\
         you measure in their place. ledger.csv, areas.csv and readings.toml wait for your rows and readings.\n\
         Next:  unladen check {dir}\n       unladen worth {dir} tracks/airfield.toml\n       \
         unladen ledger add {dir} \"spare wheel\" --before 15kg --area boot\n"
    ))?;
    Ok(ExitCode::SUCCESS)
}

/// What was typed, by option.
fn typed(args: &NewArgs) -> Vec<(&'static str, String)> {
    let all = [
        &args.mass,
        &args.front_share,
        &args.wheelbase,
        &args.height,
        &args.track,
        &args.power,
        &args.torque,
        &args.layout,
        &args.tyres,
        &args.top_speed,
        &args.driver,
        &args.fuel,
    ];
    WISHES.iter().zip(all).filter_map(|(wish, text)| Some((wish.option, text.clone()?))).collect()
}

/// Of the folder, where none was given.
fn name(args: &NewArgs) -> String {
    let whole = || fs::canonicalize(Path::new(".")).ok().map(|here| here.join(&args.dir));
    let of_folder = || Some(whole()?.file_name()?.to_string_lossy().into_owned());
    args.name.clone().or_else(of_folder).unwrap_or_default()
}

/// Asks for what was not typed, one by one; what can't be is asked for again. An empty answer leaves out what may be.
fn ask(typed: &mut Vec<(&'static str, String)>, from: &mut impl BufRead, to: &mut impl Write) -> Result<(), CliError> {
    let failed = |e: io::Error| CliError::from(Output::Print(e));
    for wish in &WISHES {
        if typed.iter().any(|(option, _)| *option == wish.option) {
            continue;
        }
        loop {
            let Some(answer) = answer(wish, from, to).map_err(failed)? else { return Ok(()) };
            if answer.is_empty() && !wish.due {
                break;
            }
            typed.push((wish.option, answer));
            let errors = faults_of(Given::read(typed), wish);
            if errors.is_none() {
                break;
            }
            errors.iter().for_each(complain);
            typed.pop();
        }
    }
    Ok(())
}

/// One answer; `None` where there are no more.
fn answer(wish: &Wish, from: &mut impl BufRead, to: &mut impl Write) -> io::Result<Option<String>> {
    let left_out = if wish.due { "" } else { ", or Enter to have it assumed" };
    write!(to, "{} (for example {}{left_out}): ", wish.what, wish.example)?;
    to.flush()?;
    let mut line = String::new();
    Ok((from.read_line(&mut line)? > 0).then(|| line.trim().to_owned()))
}

/// What is wrong with this answer; what has not been asked yet is not missing.
fn faults_of(read: Result<Given, AskError>, wish: &Wish) -> Option<CliError> {
    let Err(AskError::Files(mut errors)) = read else { return None };
    errors.retain(|errors| errors.faults.iter().any(|fault| about(fault, wish.option)));
    (!errors.is_empty()).then(|| AskError::Files(errors).into())
}

fn about(fault: &unladen_garage::Finding, option: &str) -> bool {
    fault.place.as_ref().is_some_and(|place| place.source.name == option)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(answers: &str) -> (Vec<(&'static str, String)>, String) {
        let (mut typed, mut shown) = (vec![("--layout", "front".to_owned())], Vec::new());
        ask(&mut typed, &mut answers.as_bytes(), &mut shown).unwrap();
        (typed, String::from_utf8(shown).unwrap())
    }

    /// One by one, what was typed not again, what can't be twice, what may be left out by Enter.
    #[test]
    fn closed_form_questions_on_a_terminal() {
        let (typed, shown) = asked("980 kg\n\n2510\n2510mm\n1430mm\n\n96kW@6200rpm\n\nroad\n\n\n\n");
        let value = |option: &str| typed.iter().find(|(name, _)| *name == option).map(|(_, text)| text.as_str());
        assert_eq!(value("--wheelbase"), Some("2510mm"), "{typed:?}");
        assert_eq!((value("--front-share"), value("--track"), value("--tyres")), (None, None, Some("road")));
        assert_eq!(shown.matches("wheelbase (").count(), 2, "{shown}");
        assert!(!shown.contains("driven axles") && shown.contains("or Enter to have it assumed"), "{shown}");
        assert!(Given::read(&typed).is_ok());
    }

    /// A contradiction is asked again where it is typed; an end of the answers leaves what is missing to be said.
    #[test]
    fn bad_input_answers() {
        let (typed, shown) =
            asked("980kg\n\n2510mm\n1430mm\n\n96kW@6200rpm\n900Nm@4000rpm\n\nroad\n400km/h\n195km/h\n\n\n");
        assert_eq!(shown.matches("most torque").count(), 2, "{shown}");
        assert_eq!(shown.matches("top speed").count(), 2, "{shown}");
        assert!(Given::read(&typed).is_ok());
        let (typed, _) = asked("980kg\n");
        assert!(Given::read(&typed).is_err());
    }
}
