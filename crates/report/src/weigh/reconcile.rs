//! What `weigh --against` prints: ledger against scales, and whom to suspect.

use serde_json::{Value, json};
use unladen_questions::weigh::reconcile::Answer;
use unladen_study::ledger::reconcile::{Suspect, What};
use unladen_study::uncertainty::spread::NINETY;
use unladen_vehicle::entry::Origin;

use crate::lap::json::OutError;
use crate::words::aboard::aboard;
use crate::words::brief::{Brief, Verdict};
use crate::words::number::{counted, decimals_for, fixed, signed, with_sd};
use crate::words::table::{Align, Table, paragraph, printable};

/// Suspects that are shown.
const SHOWN: usize = 8;
/// And with the answer first.
const BRIEFLY: usize = 5;

/// The answer first.
pub fn reconcile_brief(v: &Answer) -> String {
    let r = &v.result;
    let off = r.residual[0];
    let digits = decimals_for(NINETY * off.sd);
    let ends = [-NINETY, NINETY].map(|z| fixed(off.value.abs() + z * off.sd, digits));
    let says = match (r.beyond, off.value > 0.0) {
        (false, _) => "The ledger agrees with the scales; they differ by",
        (true, true) => "The ledger does not explain the scales: they show more by",
        (true, false) => "The ledger does not explain the scales: they show less by",
    };
    let verdict = Verdict::number(says, format!("{} kg", fixed(off.value.abs(), digits)), Some(ends));
    let rows = counted(v.counted.len(), "row");
    let about =
        format!("{}, {}, with {} aboard; {rows} done since the weighing before.", v.car, v.name, aboard(v.aboard));
    let mut brief = Brief::new(&verdict, &about).table(&table(v)).note("± is one standard deviation.");
    if r.beyond {
        for s in r.suspects.iter().take(BRIEFLY) {
            brief = brief.fact("may be", words(v, s));
        }
    }
    brief.text()
}

/// The whole text.
pub fn reconcile_text(v: &Answer) -> String {
    let r = &v.result;
    let mut out = paragraph(&format!(
        "{}: the ledger against the scales ({}), with {} aboard; {} rows done since the weighing before",
        printable(&v.car),
        printable(&v.name),
        aboard(v.aboard),
        v.counted.len()
    )) + "\n";
    out += &table(v).text(0);
    if !r.beyond {
        return out + "\n" + &paragraph("They agree within what both may be off by. Nothing to look for.");
    }
    out += &format!(
        "\n{}",
        paragraph(
            "That is more than both may be off by (95 %). What would explain it by itself, likeliest first; look before you \
             believe, and weigh again after one change at a time:"
        )
    );
    for (i, s) in r.suspects.iter().take(SHOWN).enumerate() {
        let fit = if s.rest > 5.991 { " (that leaves the axles off)" } else { "" };
        out += &paragraph(&format!("{}. {}{fit}", i + 1, words(v, s)));
    }
    out
}

fn table(v: &Answer) -> Table {
    let r = &v.result;
    let mut table = Table::new(&[
        ("kg", Align::Left),
        ("ledger", Align::Point),
        ("scales", Align::Point),
        ("scales more by", Align::Point),
    ]);
    for (i, name) in ["all", "front axle", "rear axle"].into_iter().enumerate() {
        let show = |k: unladen_study::weighing::Known| with_sd(k.value, k.sd);
        table.row(&[name.to_owned(), show(r.ledger[i]), show(r.scales[i]), signed(&show(r.residual[i]))]);
    }
    table
}

fn words(v: &Answer, s: &Suspect) -> String {
    let kg = |x: f64| fixed(x.abs(), 1);
    let more = if s.kg > 0.0 { "more" } else { "less" };
    let row =
        |i: usize| format!("{} (line {}, {})", printable(&v.entries[i].item), v.lines[i], v.entries[i].origin.word());
    match &s.what {
        What::Row(i) => {
            let e = &v.entries[*i];
            let (says, part, change) = match (e.change.after, e.change.before) {
                (Some(p), _) => (p.m, "the new part of ", s.kg),
                (None, Some(p)) => (p.m, "", -s.kg),
                (None, None) => (0.0, "", s.kg),
            };
            let why = if e.origin == Origin::Quoted { "was quoted" } else { "was guessed" };
            format!(
                "{}{} weighs about {} kg, and not the {} kg that it {why} at",
                part,
                row(*i),
                kg(says + change),
                kg(says)
            )
        }
        What::NotDone(i) => format!("{} is marked done, but is not: {} kg {more}", row(*i), kg(s.kg)),
        What::DoneAlready(i) => {
            format!(
                "{} is in the car already, but marked {}: {} kg {more}",
                row(*i),
                v.entries[*i].state.word(),
                kg(s.kg)
            )
        }
        What::Fuel => {
            let litres = v.litres_per_kg.map(|l| format!(" ({} L)", kg(s.kg * l))).unwrap_or_default();
            format!("{} kg{litres} {more} fuel aboard than said", kg(s.kg))
        }
        What::Driver => {
            format!("a driver {} kg {} than said", kg(s.kg), if s.kg > 0.0 { "heavier" } else { "lighter" })
        }
        What::Forgotten { x } => format!(
            "brackets, cables, bolts that no row speaks of: {} kg about {} mm behind the front axle",
            kg(s.kg),
            fixed(x * 1e3, 0)
        ),
    }
}

/// `weigh --against --json`.
pub fn reconcile_json(v: &Answer) -> Result<String, OutError> {
    let r = &v.result;
    let axle = |k: unladen_study::weighing::Known| json!({ "kg": k.value, "kg_sd": k.sd });
    let three =
        |k: [unladen_study::weighing::Known; 3]| json!({ "all": axle(k[0]), "front": axle(k[1]), "rear": axle(k[2]) });
    let suspect = |s: &Suspect| {
        let (what, item) = match &s.what {
            What::Row(i) => ("row weighs otherwise", Some(*i)),
            What::NotDone(i) => ("row not done", Some(*i)),
            What::DoneAlready(i) => ("row done already", Some(*i)),
            What::Fuel => ("fuel", None),
            What::Driver => ("driver", None),
            What::Forgotten { .. } => ("forgotten", None),
        };
        let x = if let What::Forgotten { x } = s.what { Some(x) } else { None };
        json!({ "what": what, "item": item.map(|i| v.entries[i].item.clone()), "line": item.map(|i| v.lines[i]),
            "change_kg": s.kg, "x_m": x, "chi2_left": s.rest, "score": s.score })
    };
    let out = json!({
        "car": v.car, "name": v.name, "aboard": aboard(v.aboard),
        "rows_counted": v.counted.iter().map(|&i| v.entries[i].item.clone()).collect::<Vec<_>>(),
        "ledger": three(r.ledger), "scales": three(r.scales), "residual": three(r.residual),
        "chi2": r.chi2, "beyond": r.beyond,
        "suspects": r.suspects.iter().map(suspect).collect::<Vec<Value>>(),
    });
    Ok(serde_json::to_string_pretty(&out)? + "\n")
}
