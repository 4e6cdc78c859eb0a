//! What `fit` prints.

use unladen_questions::fit::Answer;
use unladen_questions::fit::car::AboveOne;
use unladen_study::fit::{Because, Fit, FittedFactor, Knob, Why};

use crate::fit::brief::WORSE;
use crate::lap::place::{Place, places};
use crate::words::number::{distance, fixed, lap_time, signed, with_sd};
use crate::words::table::{Align, Table, facts, paragraph, printable};
use crate::words::verdict::made_worse;

/// In words.
pub(crate) fn words(knob: Knob) -> &'static str {
    match knob {
        Knob::GripLong => "grip along the car",
        Knob::GripLat => "grip across the car",
        Knob::Power => "power at the wheels",
        Knob::Drag => "drag area",
        Knob::Rolling => "rolling resistance",
        Knob::UseCornering => "use of grip in corners",
        Knob::UseBraking => "use of grip under braking",
        Knob::UseTraction => "use of grip under power",
    }
}

/// In a word or two.
fn short(knob: Knob) -> &'static str {
    match knob {
        Knob::GripLong => "grip along",
        Knob::GripLat => "grip across",
        Knob::Power => "power",
        Knob::Drag => "drag",
        Knob::Rolling => "rolling",
        Knob::UseCornering => "use in corners",
        Knob::UseBraking => "use in braking",
        Knob::UseTraction => "use of power",
    }
}

/// Mean of log − model in each place, m/s, largest first.
pub fn by_place(v: &Answer) -> Vec<(String, f64)> {
    let length_m = v.track.length();
    let of = |p: &Place| {
        let pieces = p.pieces(length_m);
        let within = |s: f64| pieces.iter().any(|(a, b)| (*a..*b).contains(&s));
        let all = v.fit.s_m.iter().zip(&v.fit.residuals_mps);
        let own: Vec<f64> = all.filter(|(s, r)| within(**s) && r.is_finite()).map(|(_, r)| *r).collect();
        (!own.is_empty()).then(|| own.iter().sum::<f64>() / own.len() as f64)
    };
    let mut all: Vec<(String, f64)> =
        places(&v.track).into_iter().filter_map(|p| of(&p).map(|off| (p.name, off))).collect();
    all.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    all
}

/// The whole text.
pub fn fit_text(v: &Answer) -> String {
    let (fit, p) = (&v.fit, &v.prediction);
    let mut out = format!("{} on {}\n\n", printable(&v.car), printable(&v.track.name));
    let laps = match v.used[..] {
        [one] => format!("lap {one}"),
        _ => format!("{} laps", v.used.len()),
    };
    out += &facts(&[
        ("fitted to", format!("{laps} of the log; lap {} is held out", v.held)),
        (
            "on the track",
            format!(
                "correlation of curvature {:.3}; the log lies {} m {}",
                v.correlation,
                fixed(fit.shift_m.0.abs(), 1),
                if fit.shift_m.0 < 0.0 { "back" } else { "on" }
            ),
        ),
    ]);
    out.push('\n');
    out += &factors(v).text(2);
    out.push('\n');
    let pairs: Vec<String> = v.all.alike.iter().map(|a| format!("{} and {}", words(a.a), words(a.b))).collect();
    if !pairs.is_empty() {
        let text = format!(
            "This log can't tell apart: {}. One of each pair stays as in the file, and what is found for the other is true together with it.",
            pairs.join("; ")
        );
        out += &paragraph(&text);
    }
    out += &not_used(v);
    if let Some(g) = v.gearing.filter(|g| (g.ratio - 1.0).abs() > 0.01) {
        let text = format!(
            "Engine over road speed is {} % {} than the file's gearing has it, in every gear: look at rolling_radius and final_drive.",
            fixed(100.0 * (g.ratio - 1.0).abs(), 1),
            if g.ratio > 1.0 { "more" } else { "less" }
        );
        out += &paragraph(&text);
    }
    out.push('\n');
    out += &leftovers(v);
    let off = p.model_s - p.logged_s;
    let mut held = vec![
        ("log", lap_time(p.logged_s, 2)),
        (
            "fitted model",
            format!(
                "{} ({} s); 90 % of such laps: {} to {}",
                lap_time(p.model_s, 2),
                signed(&fixed(off, 2)),
                lap_time(p.interval_s[0], 2),
                lap_time(p.interval_s[1], 2)
            ),
        ),
        ("before the fit", format!("{} ({} s)", lap_time(v.before_s, 2), signed(&fixed(v.before_s - p.logged_s, 2)))),
        ("speed", format!("differs by {} km/h (rms)", fixed(3.6 * p.speed_mps, 1))),
    ];
    if v.scatter_s.is_finite() {
        held.push(("laps", format!("differ among themselves by {} s (one standard deviation)", fixed(v.scatter_s, 2))));
    }
    out += &format!("Lap {}, which the fit has not seen\n\n{}\n", v.held, facts(&held));
    if made_worse(v) {
        out += &paragraph(&format!("CHECK: the fit made the held-out lap worse: {WORSE}."));
    }
    if !fit.settled {
        out += &paragraph("The fit did NOT settle: don't use these numbers.");
    }
    out + &paragraph(
        "The lap held out is of the same day, car and driver: it speaks for this fit, and validates the model for no other car, day or \
         track. Laps that a model was fitted to validate nothing.",
    )
}

/// What was found for each factor.
pub(crate) fn factors(v: &Answer) -> Table {
    let mut table = Table::new(&[("factor on the car's file", Align::Left), ("", Align::Point), ("", Align::Left)]);
    for f in &v.fit.found {
        table.row(&row(f));
    }
    table
}

fn not_used(v: &Answer) -> String {
    let mut out = String::new();
    for l in &v.fit.left_out {
        let lap = v.used.get(l.lap).copied().unwrap_or(0);
        let why = match l.why {
            Why::OffTheOthers => "far off the other laps (traffic, a mistake)",
            Why::OtherGear => "another gear than the model's",
        };
        out += &paragraph(&format!("Not used: lap {lap}, {:.0} to {:.0} m: {why}.", l.from_m, l.to_m));
    }
    out
}

fn leftovers(v: &Answer) -> String {
    let mut out = format!(
        "Speed of a lap about the model: {} km/h (one standard deviation).\n",
        fixed(3.6 * v.fit.residual_mps, 1)
    );
    let places = by_place(v);
    if !places.is_empty() {
        out += "Where the log is off the model most, mean of the laps:\n\n";
        let mut table = Table::new(&[("place", Align::Left), ("log − model, km/h", Align::Point)]);
        for (name, off) in places.iter().take(5) {
            table.row(&[printable(name), signed(&fixed(3.6 * off, 1))]);
        }
        out += &table.text(2);
    } else if let Some((s, r)) = worst(&v.fit) {
        out += &format!("The log is most off the model at {}: {} km/h.\n", distance(s), signed(&fixed(3.6 * r, 1)));
    }
    out + "\n"
}

fn worst(fit: &Fit) -> Option<(f64, f64)> {
    let all = fit.s_m.iter().copied().zip(fit.residuals_mps.iter().copied()).filter(|r| r.1.is_finite());
    all.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
}

fn row(f: &FittedFactor) -> [String; 3] {
    match f.held {
        Some(Because::With(other)) => {
            [words(f.knob).into(), String::new(), format!("as in the file, with {}", short(other))]
        }
        Some(Because::Untold) => [words(f.knob).into(), String::new(), "as in the file: little is said of it".into()],
        None => [
            words(f.knob).into(),
            format!("× {}", with_sd(f.factor, f.sd)),
            format!("the log tells {} % of it", fixed(100.0 * f.told, 0)),
        ],
    }
}

/// A factor that the copy of the car's file doesn't take.
pub fn above_one(of: &AboveOne) -> String {
    format!(
        "{}: × {} would take {} above 1, which it can't be; it is left as it is: raise the torque curve, or the friction",
        words(of.knob),
        with_sd(of.factor, of.sd),
        of.key
    )
}
