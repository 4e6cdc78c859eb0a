//! `trials/<date>-<name>.toml`: a prediction and the plan to test it, sealed; and `….result.toml`, what the laps said.

use std::fmt::Write;
use std::sync::Arc;

use crate::fault::Fault;
use crate::fault::finding::{Faults, FileErrors};
use crate::fault::source::Source;
use crate::fault::trial_fault::TrialFault;
use crate::keys::trial::{FILES, HANGS_ON, RESULT, SEALED, STRETCHES};
use crate::measured::Measured;
use crate::toml_file::nested;
use crate::toml_file::tree;
use crate::toml_file::typed;
use crate::trial::seal;
use crate::unit::date;

/// A sealed trial, SI.
#[derive(Clone, Debug, PartialEq)]
pub struct Sealed {
    /// Its name.
    pub name: String,
    /// The day of the laps, days since 1970-01-01.
    pub day: i64,
    /// The version of unladen.
    pub version: String,
    /// The car's name.
    pub car: String,
    /// The track's name.
    pub track: String,
    /// What is fitted in runs B.
    pub change: String,
    /// Gain, s a lap, ±.
    pub gain: Measured,
    /// Its 90 % interval, s.
    pub interval: [f64; 2],
    /// A lap without the change, s.
    pub lap_s: f64,
    /// What no number of car.toml tells, s.
    pub besides_s: f64,
    /// s a lap and kg of fuel.
    pub s_per_kg: Measured,
    /// What is fitted, run by run: true with the change.
    pub order: Vec<bool>,
    /// Flying laps a run.
    pub laps: usize,
    /// Standard deviation of a lap, s.
    pub scatter_s: f64,
    /// Chance that such a day shows it.
    pub shows: f64,
    /// Fuel burnt a lap, kg.
    pub burn_kg: f64,
    /// To fit or take off the change, and a stop without it, s.
    pub stops_s: [f64; 2],
    /// How the gain hangs on uncertain numbers: key, s per standard deviation.
    pub hangs_on: Vec<(String, f64)>,
    /// Stretches of the lap: name, from, to, m, and the predicted gain, s.
    pub stretches: Vec<(Option<String>, [f64; 2], f64)>,
    /// Files and their SHA-256.
    pub files: Vec<(String, String)>,
    /// The seal itself; empty before it is sealed.
    pub seal: String,
}

/// What was read of a trial's laps.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadResult {
    /// The seal of the trial.
    pub of: String,
    /// The day it was read.
    pub day: i64,
    /// The verdict's key.
    pub verdict: String,
    /// Gain, s a lap, ±.
    pub gain: Measured,
    /// Its 90 % interval, s.
    pub interval: [f64; 2],
    /// Laps that counted, without and with the change.
    pub laps: [usize; 2],
    /// Laps that they are worth.
    pub effective: f64,
}

fn text(words: &str) -> String {
    let plain: String = words.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    format!("\"{}\"", plain.replace('\\', "\\\\").replace('"', "\\\""))
}

fn with_unit(value: f64, unit: &str) -> String {
    format!("\"{value} {unit}\"")
}

fn both(m: Measured, unit: &str) -> String {
    format!("\"{} ± {}{unit}\"", m.value, m.sd)
}

/// `A-B-B-A`.
fn letters(order: &[bool]) -> String {
    order.iter().map(|b| if *b { "B" } else { "A" }).collect::<Vec<_>>().join("-")
}

impl Sealed {
    /// The file's text, sealed.
    pub fn text(&self) -> String {
        let mut out = String::new();
        let mut put = |key: &str, value: String| {
            let _ = writeln!(out, "{key} = {value}");
        };
        put("name", text(&self.name));
        put("date", text(&date::written(self.day)));
        put("sealed_with", text(&self.version));
        put("car", text(&self.car));
        put("track", text(&self.track));
        put("change", text(&self.change));
        put("\n[prediction]\n# s a lap; positive: B, with the change, is quicker\ngain", both(self.gain, " s"));
        put("low", with_unit(self.interval[0], "s"));
        put("high", with_unit(self.interval[1], "s"));
        put("lap", with_unit(self.lap_s, "s"));
        put("besides", with_unit(self.besides_s, "s"));
        put("s_per_kg", both(self.s_per_kg, ""));
        put("\n[plan]\norder", text(&letters(&self.order)));
        put("laps", self.laps.to_string());
        put("scatter", with_unit(self.scatter_s, "s"));
        put("shows", self.shows.to_string());
        put("burn", with_unit(self.burn_kg, "kg"));
        put("change_takes", with_unit(self.stops_s[0] / 60.0, "min"));
        put("stop_takes", with_unit(self.stops_s[1] / 60.0, "min"));
        for (key, gain) in &self.hangs_on {
            let _ = writeln!(out, "\n[[hangs_on]]\nkey = {}\ngain = {}", text(key), with_unit(*gain, "s"));
        }
        for (name, [from, to], gain) in &self.stretches {
            let name = name.as_ref().map_or_else(String::new, |n| format!("name = {}\n", text(n)));
            let (from, to, gain) = (with_unit(*from, "m"), with_unit(*to, "m"), with_unit(*gain, "s"));
            let _ = writeln!(out, "\n[[stretch]]\n{name}from = {from}\nto = {to}\ngain = {gain}");
        }
        for (path, sha256) in &self.files {
            let _ = writeln!(out, "\n[[file]]\npath = {}\nsha256 = {}", text(path), text(sha256));
        }
        seal::sealed("A prediction, sealed before the laps by `unladen trial seal`.", &out)
    }
}

impl ReadResult {
    /// The file's text, sealed.
    pub fn text(&self) -> String {
        let body = format!(
            "of = {}\ndate = {}\nverdict = {}\n\n[measured]\ngain = {}\nlow = {}\nhigh = {}\nlaps_a = {}\nlaps_b = {}\neffective = {}\n",
            text(&self.of),
            text(&date::written(self.day)),
            text(&self.verdict),
            both(self.gain, " s"),
            with_unit(self.interval[0], "s"),
            with_unit(self.interval[1], "s"),
            self.laps[0],
            self.laps[1],
            self.effective,
        );
        seal::sealed("What the laps of a trial said, by `unladen trial read`.", &body)
    }
}

/// Reads a sealed trial.
///
/// # Errors
/// Every fault of it; an edit since it was sealed is one.
pub fn parse_sealed(source: &Arc<Source>) -> Result<Sealed, FileErrors> {
    let mut faults = Faults::default();
    let mut root = tree::document(source, &mut faults);
    seal::check(source, &root, &mut faults);
    let lists = ["hangs_on", "stretch", "file"].map(|name| nested::take(&mut root, name));
    let values = typed::read(&root, SEALED, &mut faults);
    let mut rows = |which: usize, name: &str, table| {
        let nodes = lists[which].as_ref().map(|e| nested::list(e, &mut faults)).unwrap_or_default();
        let read = |(i, node)| nested::read(node, table, &format!("{name} {}", i + 1), &mut faults);
        nodes.into_iter().enumerate().map(read).collect::<Vec<_>>()
    };
    let (slopes, stretches, files) =
        (rows(0, "hangs_on", HANGS_ON), rows(1, "stretch", STRETCHES), rows(2, "file", FILES));
    let order = values.text("plan.order").and_then(order_of);
    if let (None, Some(given), Some(place)) = (&order, values.text("plan.order"), values.place("plan.order")) {
        faults.push(Fault::Trial(TrialFault::Order { given: given.into() }), place);
    }
    faults.result()?;
    let file = || {
        let si = |key: &str| values.quantity(key).map(|m| m.value);
        let words = |key: &str| values.text(key).map(str::to_owned);
        Some(Sealed {
            name: words("name")?,
            day: values.text("date").and_then(date::day)?,
            version: words("sealed_with")?,
            car: words("car")?,
            track: words("track")?,
            change: words("change")?,
            gain: values.quantity("prediction.gain")?,
            interval: [si("prediction.low")?, si("prediction.high")?],
            lap_s: si("prediction.lap")?,
            besides_s: si("prediction.besides")?,
            s_per_kg: values.quantity("prediction.s_per_kg")?,
            order: order?,
            laps: si("plan.laps")? as usize,
            scatter_s: si("plan.scatter")?,
            shows: si("plan.shows")?,
            burn_kg: si("plan.burn")?,
            stops_s: [si("plan.change_takes")?, si("plan.stop_takes")?],
            hangs_on: slopes
                .iter()
                .filter_map(|v| Some((v.text("key")?.to_owned(), v.quantity("gain")?.value)))
                .collect(),
            stretches: stretches
                .iter()
                .filter_map(|v| {
                    let at = |key: &str| v.quantity(key).map(|m| m.value);
                    Some((v.text("name").map(str::to_owned), [at("from")?, at("to")?], at("gain")?))
                })
                .collect(),
            files: files
                .iter()
                .filter_map(|v| Some((v.text("path")?.to_owned(), v.text("sha256")?.to_owned())))
                .collect(),
            seal: words("seal")?,
        })
    };
    file().ok_or_else(|| FileErrors::one(Fault::Unreadable, &root.place))
}

/// Reads a trial's result.
///
/// # Errors
/// Every fault of it; an edit since it was written is one.
pub fn parse_result(source: &Arc<Source>) -> Result<ReadResult, FileErrors> {
    let mut faults = Faults::default();
    let root = tree::document(source, &mut faults);
    seal::check(source, &root, &mut faults);
    let values = typed::read(&root, RESULT, &mut faults);
    faults.result()?;
    let file = || {
        let si = |key: &str| values.quantity(key).map(|m| m.value);
        Some(ReadResult {
            of: values.text("of")?.to_owned(),
            day: values.text("date").and_then(date::day)?,
            verdict: values.text("verdict")?.to_owned(),
            gain: values.quantity("measured.gain")?,
            interval: [si("measured.low")?, si("measured.high")?],
            laps: [si("measured.laps_a")? as usize, si("measured.laps_b")? as usize],
            effective: si("measured.effective")?,
        })
    };
    file().ok_or_else(|| FileErrors::one(Fault::Unreadable, &root.place))
}

/// An order of runs from `A-B-B-A`; both have to be there.
pub fn order_of(given: &str) -> Option<Vec<bool>> {
    let side = |word: &str| match word.trim() {
        "A" | "a" => Some(false),
        "B" | "b" => Some(true),
        _ => None,
    };
    let order: Vec<bool> = given.split('-').map(side).collect::<Option<_>>()?;
    (order.contains(&true) && order.contains(&false) && order.len() <= 60).then_some(order)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trial() -> Sealed {
        Sealed {
            name: "bonnet \"light\"".into(),
            day: 20_500,
            version: "0.1.0".into(),
            car: "Club saloon (invented)".into(),
            track: "Airfield".into(),
            change: "bonnet".into(),
            gain: Measured { value: 0.123_456_789_012_345, sd: 0.01 },
            interval: [0.1, 0.15],
            lap_s: 75.979,
            besides_s: 0.0,
            s_per_kg: Measured { value: 0.0097, sd: 3e-4 },
            order: vec![false, true, true, false],
            laps: 6,
            scatter_s: 0.3,
            shows: 0.41,
            burn_kg: 1.5,
            stops_s: [1200.0, 300.0],
            hangs_on: vec![("mass.total".into(), 0.002)],
            stretches: vec![(None, [0.0, 100.5], 0.01), (Some("hairpin".into()), [100.5, 200.0], -0.002)],
            files: vec![("car.toml".into(), "ab".into())],
            seal: String::new(),
        }
    }

    #[test]
    fn property_a_seal_comes_back_and_sees_every_edit() {
        let text = trial().text();
        let read = parse_sealed(&Source::new("t.toml", text.as_str())).unwrap();
        assert_eq!(Sealed { seal: String::new(), ..read.clone() }, trial());
        assert_eq!(read.seal.len(), 64);
        assert!(parse_sealed(&Source::new("t.toml", text.replace('\n', "\r\n"))).is_ok(), "an editor's line ends");
        for (old, new) in
            [("0.123", "0.133"), ("laps = 6", "laps = 7"), ("[[file]]", "# mine\n[[file]]"), ("bonnet", "hood")]
        {
            let edited = text.replacen(old, new, 1);
            let error = parse_sealed(&Source::new("t.toml", edited)).unwrap_err();
            let said = error.render(crate::Style::PLAIN).split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(said.contains("changed after it was sealed") && said.contains("seal a new trial"), "{said}");
        }
    }

    #[test]
    fn property_a_result_comes_back() {
        let result = ReadResult {
            of: "ab".into(),
            day: 20_501,
            verdict: "confirmed".into(),
            gain: Measured { value: 0.2, sd: 0.05 },
            interval: [0.1, 0.3],
            laps: [11, 12],
            effective: 14.25,
        };
        let text = result.text();
        assert_eq!(parse_result(&Source::new("r.toml", text.as_str())).unwrap(), result);
        assert!(parse_result(&Source::new("r.toml", text.replace("0.2", "0.4"))).is_err());
    }

    #[test]
    fn bad_input_no_trials() {
        for given in ["", "A", "A-A", "A-B-C", "AB", "B-B-B"] {
            assert_eq!(order_of(given), None, "{given}");
        }
        for text in ["schema = 1\nname = \"x\"\n", "schema = 1\nseal = \"ab\"\n", "seal\n", "# nothing\n"] {
            assert!(parse_sealed(&Source::new("t.toml", text)).is_err(), "{text}");
            assert!(parse_result(&Source::new("t.toml", text)).is_err(), "{text}");
        }
    }
}
