//! What `compare` prints: which of two builds is quicker, why, where, how sure, and under which conditions it turns.

use unladen_questions::compare::{Answer, Day, LETTERS};
use unladen_study::compare::builds::{Compared, Doubt, Verdict};
use unladen_study::compare::crossover::{Cell, Crossing};

use crate::compare::tables::{BENDS, TERMS, as_written, bends, own_ledger, terms, what_differs};
use crate::draw::header::sentence;
use crate::words::change::{Change, far_off};
use crate::words::next;
use crate::words::number::{UNRESOLVED, fixed, percent, resolved};
use crate::words::state;
use crate::words::sure;
use crate::words::table::{facts, paragraph, printable};
use crate::words::tuned::{BRAKE_CAUTION, HELD, NOTHING_TO_SET, tuned};
use crate::words::verdict::of_compare;
use crate::worth::text::{CAUTION, NOT_MODELLED};

pub(crate) const NOT_COMPARED: &str = "A driveline decides more than this: not modelled are the yaw moment of unequal drive forces (a centre or rear \
    differential that steers the car), how far a driver trusts the car on a wet exit, whether anti-lock and stability control \
    still suit a changed driveline (they may need to be calibrated again), and whether shafts, differentials and mounts \
    hold the torque that now goes through them.";
/// Where the driveline is not the same.
pub const DRIVELINE_CAUTION: &str = "SAFETY: a changed driveline, its brakes and its electronics are for a licensed workshop to check; the rules of \
    your series and your country hold. Try it first where nobody can be hurt, in the dry, then in the wet.";

/// The whole text.
pub fn compare_text(v: &Answer) -> String {
    let mut out = String::new();
    for (i, (letter, name)) in LETTERS.iter().zip(&v.names).enumerate() {
        out += &format!("{letter}  {}\n{}", printable(name), paragraph(&state::state(&v.states[i])));
    }
    out += &format!("on {}\n\n", printable(&v.tracks));
    for day in &v.days {
        out += &paragraph(&verdict(v, day));
    }
    out += &format!("\n{}", what_differs(v).text(0));
    out += &format!("\n{}", as_written(v).text(0));
    out += &own_ledger(v).map_or_else(String::new, |words| paragraph(&words));
    for day in &v.days {
        out += &format!("\n{}", block(v, day));
    }
    let turns = turns(v);
    let lines: Vec<(&str, String)> = turns.iter().map(|(what, words)| (what.as_str(), words.clone())).collect();
    out += &format!("\nWhere it turns, set as above\n{}", facts(&lines));
    out += "\n";
    for words in shared(&v.doubts) {
        out += &paragraph(&words);
    }
    if brakes_set(v) {
        out += &format!("\n{}", paragraph(BRAKE_CAUTION));
    }
    if driveline_differs(v) {
        out += &format!("\n{}{}", paragraph(NOT_COMPARED), paragraph(DRIVELINE_CAUTION));
    }
    out + "\n" + &paragraph(NOT_MODELLED) + "\n" + &paragraph(CAUTION)
}

/// A day in a sentence or two.
pub fn verdict(v: &Answer, day: &Day) -> String {
    let found = Answer::counts(&day.found);
    let tuned = if day.found.retuned.is_some() { "each re-tuned" } else { "everything as set" };
    let said = of_compare(v, day).sentence();
    let own = Change::of(&found.gain, found.error_s);
    if !own.resolved() {
        return format!("{} {}.", said, sentence(tuned));
    }
    let quicker = LETTERS[usize::from(found.gain.gain > 0.0)];
    let chance = sure::chance_of_sign(&found.gain);
    let far = far_off(&found.gain, found.error_s).map_or_else(String::new, |words| format!(" {words}"));
    format!("{said} {}; {chance} likely that {quicker} is the quicker one.{far}", sentence(tuned))
}

fn block(v: &Answer, day: &Day) -> String {
    let found = &day.found;
    let mut out = match day.name.as_str() {
        name if name.starts_with("grip") => format!("{}\n", sentence(name)),
        name => format!("{}, grip {}\n", sentence(name), fixed(day.grip, 2)),
    };
    let line = |verdict: &Verdict| {
        let change = Change::of(&verdict.gain, verdict.error_s);
        let times = format!("A {} s, B {} s", fixed(verdict.times_s[0], 3), fixed(verdict.times_s[1], 3));
        if !change.resolved() {
            return format!("{times}: {UNRESOLVED}");
        }
        let (chance, how) = (sure::chance(&verdict.gain), sure::how(&verdict.gain));
        format!("{times}: B is {}; chance that B is quicker {chance}; {how}", change.words())
    };
    let mut lines = vec![("as set", line(&found.as_set))];
    if let Some(retuned) = &found.retuned {
        lines.push(("re-tuned", line(retuned)));
    }
    out += &facts(&lines);
    out += &paragraph(&tuning(found));
    out += &match terms(found.terms.as_deref(), Answer::counts(found)) {
        Ok(table) => format!("\n{}{}", table.text(0), paragraph(TERMS)),
        Err(why) => format!("\n{}", paragraph(why)),
    };
    for track in &found.tracks {
        out += &match bends(track) {
            Some(table) => format!("\n{}{}", table.text(0), paragraph(BENDS)),
            None => format!("\n{}: no bends\n", printable(&track.track)),
        };
    }
    let sure = how_sure(v, found);
    if !sure.is_empty() {
        out += "\n";
    }
    for words in sure {
        out += &paragraph(&words);
    }
    out
}

/// What re-tuning did on a day.
pub(crate) fn tuning(found: &Compared) -> String {
    if found.retuned.is_none() {
        return NOTHING_TO_SET.into();
    }
    let each: Vec<String> = LETTERS.iter().zip(&found.tuning).map(|(l, t)| tuned(l, t)).collect();
    format!("{}. {HELD}", each.join(". "))
}

/// Do the two differ in what drives them?
pub(crate) fn driveline_differs(v: &Answer) -> bool {
    v.cars[0].driveline != v.cars[1].driveline
}

/// Were brakes set again?
pub fn brakes_set(v: &Answer) -> bool {
    v.days.iter().any(|d| d.found.tuning.iter().any(|t| t.free[1]))
}

/// What the difference of a day hangs on, what would reverse it, and what a stopwatch sees of it.
pub(crate) fn how_sure(v: &Answer, found: &Compared) -> Vec<String> {
    let counts = Answer::counts(found);
    if !resolved(counts.gain.gain, counts.error_s) {
        return Vec::new();
    }
    let mut all = vec![sure::hangs_on(&counts.gain, &found.unknowns)];
    if !counts.gain.shares.is_empty() {
        all.push(sure::flips(counts.reversed_by.as_ref(), &found.unknowns));
    }
    let (open, next) = v.open(found);
    all.extend(next::of_gain(&open, next.as_ref()));
    all.push(sure::stopwatch(&v.watch, v.laps, counts.gain.gain, None));
    all
}

/// Where it turns, over what and where.
pub(crate) fn turns(v: &Answer) -> Vec<(String, String)> {
    let m = &v.map;
    let ends = |points: &[f64]| [points.first().copied().unwrap_or(1.0), points.last().copied().unwrap_or(1.0)];
    let word = |c: &Crossing| if c.second_above { ["A", "B"] } else { ["B", "A"] };
    let [low, high] = ends(&m.grips);
    let mut said = Vec::new();
    let at_one = |cell: &&Cell| (cell.power - 1.0).abs() < 1e-9;
    let error = v.days.first().map_or(0.0, |d| Answer::counts(&d.found).error_s);
    // The one who is quicker wherever it can be told.
    let side = |gains: Vec<f64>| gains.into_iter().find(|g| g.abs() > error).map(|g| LETTERS[usize::from(g > 0.0)]);
    match &m.over_grip[..] {
        [] => {
            let words = match side(m.cells.iter().filter(at_one).filter_map(Cell::gain_s).collect()) {
                None => UNRESOLVED.to_owned(),
                Some(who) => format!("{who} is quicker at every grip from {} to {}", fixed(low, 2), fixed(high, 2)),
            };
            said.push(("over grip".to_owned(), words));
        }
        crossings => {
            let each: Vec<String> = crossings
                .iter()
                .map(|c| format!("{} is quicker below a grip of {}, {} above", word(c)[0], fixed(c.at, 2), word(c)[1]))
                .collect();
            said.push(("over grip".to_owned(), each.join("; ")));
        }
    }
    let [low, high] = ends(&m.powers);
    for (day, crossings) in v.days.iter().zip(&m.over_power) {
        let words = if crossings.is_empty() {
            match side(vec![Answer::counts(&day.found).gain.gain]) {
                None => UNRESOLVED.to_owned(),
                Some(who) => format!("{who} is quicker from {} to {} of the torque", percent(low), percent(high)),
            }
        } else {
            let each = crossings.iter().map(|c| {
                format!("{} is quicker below {} of the torque, {} above", word(c)[0], percent(c.at), word(c)[1])
            });
            each.collect::<Vec<_>>().join("; ")
        };
        said.push((format!("over power, {}", day.name), words));
    }
    said
}

/// What the two share of what is not known, and what not.
pub(crate) fn shared(doubts: &[Doubt]) -> Vec<String> {
    if doubts.is_empty() {
        return vec!["Neither car's file gives a ±, so nothing is said of how sure this is.".into()];
    }
    let names = |want: bool| {
        let all: Vec<&str> = doubts.iter().filter(|d| d.shared() == want).map(|d| d.input.key.as_str()).collect();
        if all.is_empty() { "none".to_owned() } else { all.join(", ") }
    };
    vec![
        format!("Unknowns taken as the same in both cars, so that they cancel: {}.", names(true)),
        format!("Of one car alone: {}. (--apart KEY takes a shared one apart.)", names(false)),
    ]
}
