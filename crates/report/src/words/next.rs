//! What to measure next, in words: which number, known how well, and what the answer's interval would then be.

use serde_json::{Value, json};
use unladen_garage::unit::digits::with_error;
use unladen_garage::{CAR, Kind};
use unladen_questions::worth::{Figure, OpenFigure};
use unladen_study::measure::{Doubt, Next, Open};

use crate::words::change::Change;
use crate::words::number::{decimals_for, fixed, percent, signed};

/// `To know it better, raise one axle …: mass.cg_height known to 17 mm, not 29 mm. The 90 % interval would then be +0.02
/// to +0.05 s, about.` Where nothing that a garage can do would help, what it hangs on; nothing where it is settled.
/// `show`: an end of the interval as the answer shows it.
pub fn next_text(open: &Open, next: Option<&Next>, show: impl Fn(f64) -> String) -> Option<String> {
    if open.settled() {
        return None;
    }
    let Some(next) = next else { return open.most().map(nothing) };
    let [low, high] = next.interval.map(&show);
    let known: Vec<String> = next.knows.iter().take(2).map(known).collect();
    let more = match next.knows.len().saturating_sub(2) {
        0 => String::new(),
        n => format!(", and {n} more"),
    };
    Some(format!(
        "To know it better: {}: {}{more} (1 sd). Then the 90 % interval is about {low} to {high}.",
        next.way.what,
        known.join(", ")
    ))
}

/// The same of a gain.
pub fn of_gain(open: &Open, next: Option<&Next>) -> Option<String> {
    let [low, high] = open.interval;
    let digits = decimals_for(0.3 * (high - low)).clamp(2, 4);
    next_text(open, next, |s| format!("{} s", signed(&fixed(s, digits))))
}

/// The same of build B's gain on several days in short, each measurement once:
/// `log some laps …: B is then 0.836 to 1.085 s quicker dry, 1.42 to 2.35 s slower wet (90 %)`.
pub fn of_days(days: &[(&str, (Open, Option<Next>))]) -> Vec<String> {
    let mut ways: Vec<(&str, Vec<String>)> = Vec::new();
    let mut open = Vec::new();
    for (day, (gain, next)) in days.iter().filter(|(_, (gain, _))| !gain.settled()) {
        let Some(next) = next else {
            open.extend(gain.most().map(|doubt| format!("{day}: {}", nothing(doubt))));
            continue;
        };
        let then = format!("{} {day}", Change::between(next.interval, 0.0).unwrap_or_default());
        match ways.iter_mut().find(|(way, _)| *way == next.way.what) {
            Some((_, thens)) => thens.push(then),
            None => ways.push((next.way.what, vec![then])),
        }
    }
    ways.iter().map(|(way, thens)| format!("{way}: B is then {} (90 %)", thens.join(", "))).chain(open).collect()
}

/// The same of what a kilogram costs, or a millimetre.
pub fn of_worth(OpenFigure { figure, open }: &OpenFigure, next: Option<&Next>) -> Option<String> {
    let each = match figure {
        Figure::Kilogram => "kilogram",
        Figure::Height => "millimetre of height",
        Figure::Rearward => "millimetre further back",
    };
    let [low, high] = open.interval;
    let digits = decimals_for(300.0 * (high - low)).clamp(0, 4);
    let text = next_text(open, next, |s| format!("{} ms", signed(&fixed(1e3 * s, digits))))?;
    Some(format!("What a {each} costs is open. {text}"))
}

fn nothing(doubt: &Doubt) -> String {
    let share = percent(doubt.share);
    format!(
        "Most of its variance, {share}, is {}; no measurement of a garage's narrows it much; laps with and \
         without do (`unladen trial`).",
        doubt.name
    )
}

/// `mass.cg_height to 17 mm, from 29 mm`, in the unit of its file.
fn known((name, [now, then]): &(String, [f64; 2])) -> String {
    let in_unit = |sd: f64| {
        let key = name.split(" of ").next().unwrap_or(name).split('[').next().unwrap_or(name);
        let span = match CAR.find(key).map(|key| key.kind) {
            Some(Kind::Quantity(span) | Kind::List(span) | Kind::Pairs(_, span)) => Some(span),
            _ => None,
        };
        let (number, symbol) = match span {
            Some(span) => (span.unit().difference_from_si(sd), span.unit().symbol),
            None if name.starts_with("mass of ") => (sd, "kg"),
            None => (sd, ""),
        };
        format!("{} {symbol}", with_error(number, 0.1 * number)).trim_end().to_owned()
    };
    format!("{name} to ± {} from ± {}", in_unit(*then), in_unit(*now))
}

/// For machines: SI, the interval in that of the answer.
pub fn next_json(next: Option<&Next>) -> Value {
    let knows = |next: &Next| {
        let one = |(name, [now, then]): &(String, [f64; 2])| json!({ "unknown": name, "sd": now, "sd_then": then });
        next.knows.iter().map(one).collect::<Vec<_>>()
    };
    next.map_or(Value::Null, |next| {
        json!({
            "measure": next.way.what, "knows": knows(next), "variance_share": next.share,
            "interval_90_then": next.interval,
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use unladen_study::measure::WAYS;

    #[test]
    fn closed_form_what_to_measure_in_words() {
        let doubt = Doubt { name: "mass.cg_height".into(), sd: 0.029, share: 0.8 };
        let open = Open { middle: 0.1, interval: [-0.1, 0.3], doubts: vec![doubt] };
        let way = WAYS.iter().find(|way| way.knows[0].0 == "mass.cg_height").unwrap();
        let knows = vec![("mass.cg_height".to_owned(), [0.029, 0.01673]), ("engine.torque[1]".into(), [12.0, 4.0])];
        let next = Next { way, knows, share: 0.5, interval: [-0.04, 0.24] };
        let show = |x: f64| format!("{x:+.2} s");
        assert_eq!(
            next_text(&open, Some(&next), show).unwrap(),
            "To know it better: weigh it once more with one axle raised (`unladen weigh`): mass.cg_height to ± 17 mm from \
             ± 29 mm, engine.torque[1] to ± 4.0 Nm from ± 12 Nm (1 sd). Then the 90 % interval is about \
             -0.04 s to +0.24 s."
        );
        let [other, third] = [[-0.04, 0.24], [0.10, 0.20]].map(|interval| Next { interval, ..next.clone() });
        assert_eq!(
            of_days(&[
                ("dry", (open.clone(), Some(other))),
                ("wet", (open.clone(), Some(third))),
                ("damp", (open.clone(), None))
            ]),
            [
                "weigh it once more with one axle raised (`unladen weigh`): B is then 0.040 s slower to 0.240 s quicker \
                 dry, 0.100 to 0.200 s quicker wet (90 %)",
                "damp: Most of its variance, 80 %, is mass.cg_height; no measurement of a garage's narrows it much; laps with \
                 and without do (`unladen trial`).",
            ]
        );
        let alone = next_text(&open, None, show).unwrap();
        assert!(alone.starts_with("Most of its variance, 80 %, is mass.cg_height"), "{alone}");
        let settled = Open { interval: [0.09, 0.11], ..open };
        assert_eq!(next_text(&settled, Some(&next), show), None);
        assert_eq!(next_json(Some(&next))["knows"][0]["sd_then"], 0.01673);
        assert!(next_json(None).is_null());
    }
}
