//! What `trial plan` prints.

use unladen_questions::trial::plan::{Answer, Driver};
use unladen_study::trial::order::{Order, SHOWN, letters};
use unladen_study::trial::power::LOST;

use crate::trial::words::{CAUTION, days, duration, gain};
use crate::words::number::{fixed, percent, with_sd};
use crate::words::said::NOT_MODELLED;
use crate::words::sure;
use crate::words::table::{facts, paragraph, printable};

/// The answer in a sentence or two.
pub fn verdict(v: &Answer) -> String {
    let p = v.predicted.prediction();
    let said = gain(p.gain_s, p.sd_s, p.interval);
    let change = printable(&v.change);
    if v.shows >= SHOWN {
        return format!(
            "A day can show it: {change} should make the car {said}, and {} show that on {}.",
            driven(&v.order),
            days(v.shows)
        );
    }
    let scale = match &v.scale_test {
        Some(t) => format!(
            " What it can show is the scale: {:.0} kg well tied down beside the driver cost {} s and need {} laps a side ({}).",
            t.kg,
            fixed(t.cost_s, 2),
            a_side(&t.order),
            driven(&t.order)
        ),
        None => " No ballast up to 120 kg shows either: more hours, more laps, or a driver who scatters less.".into(),
    };
    format!(
        "A day can't show it: {change} should make the car {said}, and the best that {} has time for, {}, shows that on {}; \
         the least it shows on 8 of 10 is {} s.{scale}",
        duration(v.question.day_s),
        driven(&v.order),
        days(v.shows),
        fixed(v.smallest_s, 2)
    )
}

fn driven(order: &Order) -> String {
    format!("{} runs of {} laps", order.runs.len(), order.laps)
}

/// Laps of the side that has fewer.
fn a_side(order: &Order) -> usize {
    let with = order.runs.iter().filter(|r| **r).count();
    order.laps * with.min(order.runs.len() - with)
}

/// What is driven, and what it rests on.
pub(crate) fn plan(v: &Answer) -> Vec<(&'static str, String)> {
    let o = &v.order;
    let [low, high] = v.scatter.interval();
    let from = match &v.question.driver {
        Driver::Logged(logs) => format!("by {} log{}", logs.len(), if logs.len() == 1 { "" } else { "s" }),
        Driver::Said(_) => "as given".into(),
    };
    let known = if low < high { format!(" (90 %: {} to {})", fixed(low, 2), fixed(high, 2)) } else { String::new() };
    vec![
        (
            "order",
            format!("{}; A without the change, B with it: this cancels a track that drifts evenly", letters(&o.runs)),
        ),
        ("each run", format!("an out-lap, {} flying laps, an in-lap", o.laps)),
        (
            "takes",
            format!(
                "{} with {} changes of {:.0} min and {} other stops of {:.0} min",
                duration(o.takes_s),
                o.changes,
                v.question.change_s / 60.0,
                o.runs.len() - 1 - o.changes,
                v.question.stop_s / 60.0
            ),
        ),
        (
            "fuel",
            format!(
                "filled to the same at every stop; about {} kg a lap, each worth {} s (one standard deviation)",
                fixed(v.burn_kg, 1),
                with_sd(v.predicted.s_per_kg.0, v.predicted.s_per_kg.1)
            ),
        ),
        (
            "your laps",
            format!(
                "scatter by {} s{known}, {from}; {} of them lost to traffic and mistakes",
                fixed(v.scatter.sd_s, 2),
                percent(LOST)
            ),
        ),
        ("shows", format!("{} s on 8 of 10 days; what is predicted on {}", fixed(v.smallest_s, 2), days(v.shows))),
    ]
}

/// The whole text; all of it with `detail`.
pub fn plan_text(v: &Answer, detail: bool) -> String {
    let mut out = format!("{} on {}\n", printable(&v.car), printable(&v.track));
    out += &format!("\n{}\n{}", paragraph(&verdict(v)), facts(&plan(v)));
    out += &format!("\n{}", paragraph(&sure::hangs_on(&v.predicted.gain, &v.predicted.unknowns)));
    if detail {
        out += &format!("\nWhere it should be gained\n{}", facts(&stretches(v)));
        out += &format!("\n{}", paragraph(&format!("The prediction: {}.", sure::how(&v.predicted.gain))));
        out += &format!("\n{}", paragraph(ON_THE_DAY));
    }
    out += &format!("\n{}", paragraph(CAUTION));
    if detail {
        out += &format!("\n{}", paragraph(NOT_MODELLED));
    }
    out + "\n"
        + &paragraph(
            "Seal it before the laps: the same with `trial seal --name NAME --date DATE`; `--sheet FILE.html` is the run sheet to print.",
        )
}

/// Seconds by stretches.
fn stretches(v: &Answer) -> Vec<(&'static str, String)> {
    const NUMBERS: [&str; 8] = ["1", "2", "3", "4", "5", "6", "7", "8"];
    let one = |(number, s): (&&'static str, &unladen_questions::trial::plan::Stretch)| {
        let name = s.name.as_ref().map_or_else(String::new, |n| format!(" ({n})"));
        let [from, to] = s.span_m;
        (*number, format!("{from:.0} to {to:.0} m{name}: {} s", fixed(s.gain_s, 3)))
    };
    NUMBERS.iter().zip(&v.stretches).map(one).collect()
}

/// How to drive it.
pub(crate) const ON_THE_DAY: &str = "On the day: warm the car up before the first run, as warm as before every other. Write down every lap, the bad \
    ones too; which of them count, the reading says. Same tyres, pressures set warm to the same, same fuel, same driver. Who drives had better not \
    know which is which, where that can be kept from them.";
