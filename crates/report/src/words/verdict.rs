//! The verdict of every answer, in the words of a friend; texts and the page say the same.

use unladen_questions::compare::{self, Day, LETTERS};
use unladen_questions::{fit, lap, ledger, rank, relocate, reset, weigh};
use unladen_study::Worth;
use unladen_study::rank::ranked::{Ranked, Whole};
use unladen_study::uncertainty::spread::{Difference, NINETY};
use unladen_study::uncertainty::verdict::Call;
use unladen_study::weighing::Known;

use crate::words::brief::Verdict;
use crate::words::change::Change;
use crate::words::money::money;
use crate::words::number::{decimals_for, fixed, lap_time};

/// A value and its 90 % interval as text, `factor` of the unit that is shown to the SI one.
fn within(value: f64, sd: f64, factor: f64) -> (String, Option<[String; 2]>) {
    let (value, sd) = (value * factor, sd * factor);
    let digits = decimals_for(NINETY * sd);
    (fixed(value, digits), (sd > 0.0).then(|| [-NINETY, NINETY].map(|z| fixed(value + z * sd, digits))))
}

/// How long a lap takes.
pub fn of_lap(v: &lap::Answer) -> Verdict {
    let digits = if v.range.is_some() { 2 } else { 3 };
    let interval =
        v.range.as_ref().map(|r| r.interval_s.map(|s| lap_time(s, digits).trim_end_matches(" s").to_owned()));
    Verdict::number(format!("A lap of {} takes", v.track.name), lap_time(v.time_s, digits), interval)
}

/// What a kilogram is worth, and where.
pub fn of_worth(w: &Worth) -> Verdict {
    let ms = |s: f64| fixed(1e3 * s, 1);
    let by =
        |a: &&unladen_study::WorthPlace, b: &&unladen_study::WorthPlace| a.s_per_kg.value.total_cmp(&b.s_per_kg.value);
    let (dear, cheap) = (w.places.iter().max_by(by), w.places.iter().min_by(by));
    let (says, sign) = match (dear.zip(cheap), w.s_per_kg.value < 0.0) {
        (_, true) => (
            "More mass makes this car quicker in the model, which no car is: see the checks; a kilogram off costs"
                .to_owned(),
            -1.0,
        ),
        (Some((dear, cheap)), _) => (
            format!(
                "Weight off gains most at the {}, least {}; a kilogram at the centre of gravity costs",
                dear.spot.name,
                at(&cheap.spot.name)
            ),
            1.0,
        ),
        (None, _) => ("A kilogram at the centre of gravity costs".to_owned(), 1.0),
    };
    let interval =
        w.s_per_kg.interval.map(|[low, high]| if sign > 0.0 { [ms(low), ms(high)] } else { [ms(-high), ms(-low)] });
    Verdict::number(says, format!("{} ms a lap", ms(sign * w.s_per_kg.value)), interval)
}

/// `at the boot floor`, `low behind the rear axle`.
fn at(name: &str) -> String {
    if name.starts_with("low ") { name.to_owned() } else { format!("at the {name}") }
}

/// A gain re-tuned where it is known so, else as set; its interval, drawn as set, goes along.
pub fn counted(gain: &Difference, retuned_s: Option<f64>, error_s: f64) -> Change {
    Change::of(gain, error_s).moved(retuned_s.map_or(0.0, |s| s - gain.gain))
}

/// Of a ranked change.
pub fn ranked(item: &Ranked) -> Change {
    counted(&item.gain, item.retuned_s, item.error_s)
}

/// Names longer than this are counted instead.
const NAMED: usize = 110;

/// What to do first, and what all of it gains.
pub fn of_rank(v: &rank::Answer) -> Verdict {
    if let Some(found) = &v.found.within_budget {
        let Some(best) = found.sets.first() else {
            return Verdict::words("No set meets the target within the money and hours that you give");
        };
        let names: Vec<&str> = best.candidates.iter().map(|&c| v.candidates[c].as_str()).collect();
        let list = names.join(", ");
        let what = match names.len() {
            0 => "Do none of it".to_owned(),
            _ if list.chars().count() <= NAMED => format!("Do {list}"),
            n => format!("Do the {n} changes below"),
        };
        let (cost, hours) = (money(best.cost, v.money.as_deref()), fixed(best.hours, 0));
        let price = if names.is_empty() { String::new() } else { format!(" for {cost} and {hours} hours") };
        return Verdict::change(format!("{what}{price}"), Change::of(&best.gain, 1e-4));
    }
    let first = v.found.items.iter().find(|i| i.resolved() && i.gain.gain > 0.0);
    let whole = |all: &Whole| Change { ..ranked(&all.all) };
    match (first, &v.found.planned) {
        (Some(first), Some(all)) => {
            Verdict::change(format!("Begin with the {}; all that is planned together", first.name), whole(all))
        }
        (Some(first), None) => Verdict::change(format!("Begin with the {}", first.name), ranked(first)),
        (None, Some(all)) => Verdict::change("Nothing that is planned gains by itself; all together", whole(all)),
        (None, None) => Verdict::words("Nothing that is planned gains lap time"),
    }
}

/// Whether to move it.
pub fn of_move(v: &relocate::Answer) -> Verdict {
    let stint = v.counts();
    let (item, change) = (&v.item, Change::of(&stint.gain, stint.error_s));
    let says = match (v.call(stint), sure(&change)) {
        (Call::WorthIt, _) => format!("Move the {item}: it gains lap time"),
        (Call::Costs, _) => format!("Leave the {item} where it is: moving it costs lap time"),
        (Call::TooClose, _) => format!("Open whether to move the {item}: it may gain or lose"),
        (Call::NotInLapTime, Some(true)) => {
            format!("Moving the {item} is a sure gain, but one that {} laps a side would not show", v.laps)
        }
        (Call::NotInLapTime, Some(false)) => {
            format!("Leave the {item} where it is: a sure loss, if one that {} laps a side would not show", v.laps)
        }
        (Call::NotInLapTime, None) => {
            format!("Leave the {item} where it is: moving it changes nothing that a stopwatch could see")
        }
    };
    Verdict::change(says, change)
}

/// All of its interval on one side: a gain, or a loss.
fn sure(change: &Change) -> Option<bool> {
    let [low, high] = change.interval.unwrap_or([change.quicker_s; 2]);
    if low > change.error_s { Some(true) } else { (high < -change.error_s).then_some(false) }
}

/// Which of two builds, on a day.
pub fn of_compare(v: &compare::Answer, day: &Day) -> Verdict {
    let found = compare::Answer::counts(&day.found);
    let second = found.gain.gain > 0.0;
    let own = Change::of(&found.gain, found.error_s);
    let flipped = Change { quicker_s: -own.quicker_s, interval: own.interval.map(|[a, b]| [-b, -a]), ..own };
    let (who, change) = if second { (LETTERS[1], own) } else { (LETTERS[0], flipped) };
    let when = capital(&day.name);
    let says = match v.call(found) {
        _ if !change.resolved() => format!("{when}, A and B are alike"),
        Call::WorthIt | Call::Costs => format!("{when}, take {who}"),
        Call::NotInLapTime => format!("{when}, {} laps a side would not tell A from B; {who} is", v.laps),
        Call::TooClose => format!("{when}, open between A and B; {who} looks"),
    };
    Verdict::change(says, change)
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// How far the car is from its target.
pub fn of_ledger(v: &ledger::Answer) -> Verdict {
    let (b, now) = (&v.budget, &v.budget.now);
    let Some(target) = v.target_kg else {
        let (kg, interval) = within(now.part.m, now.sd[0], 1.0);
        return Verdict::number("Without a target to compare with: the car now weighs", format!("{kg} kg"), interval);
    };
    let over = now.part.m - target;
    let says = if over <= 0.0 {
        "The target is reached; the car is below it by"
    } else if b.planned.part.m <= target {
        "Not at the target yet, but what is planned gets there; to go"
    } else if b.ideas.part.m <= target {
        "Not at the target yet, and only the ideas get there; to go"
    } else {
        "Not at the target, and neither plans nor ideas get there; to go"
    };
    let (kg, interval) = within(over.abs(), now.sd[0], 1.0);
    Verdict::number(says, format!("{kg} kg"), interval)
}

/// Heights between which a car's centre of gravity may be, m: the range in which its file takes one without a warning.
const HEIGHTS: [f64; 2] = [0.2, 1.0];

/// A height that no car has, in words.
pub fn impossible(height: Known) -> Option<&'static str> {
    if height.value < HEIGHTS[0] {
        Some("lower than any car's")
    } else {
        (height.value > HEIGHTS[1]).then_some("higher than any car's")
    }
}

/// What the scales say.
pub fn of_weigh(v: &weigh::Answer) -> Verdict {
    let f = &v.found;
    let front = fixed(100.0 * (1.0 - f.x.value / v.wheelbase_m), 1);
    let kg = within(f.mass.value, f.mass.sd, 1.0);
    match f.height {
        Some(h) => {
            let (mm, interval) = within(h.value, h.sd, 1e3);
            let says = match impossible(h) {
                Some(how) => format!("Something is wrong with these readings: {how}, the height is"),
                None => format!(
                    "The car weighs {} kg, {front} % of it in front; the height of its centre of gravity is",
                    kg.0
                ),
            };
            Verdict::number(says, format!("{mm} mm"), interval)
        }
        None => Verdict::number(
            format!("{front} % of the weight is in front, its height not known; the car weighs"),
            format!("{} kg", kg.0),
            kg.1,
        ),
    }
}

/// What to set first.
pub fn of_reset(v: &reset::Answer) -> Verdict {
    let fitted = v.brakes.beta_f;
    let due = v.stages.iter().skip(1).filter_map(|s| s.share_due).fold(0.0, f64::max);
    if due > fitted {
        let share = (1e3 * due).ceil() / 1e3;
        return Verdict::number(
            format!("Have the brakes set first, for the rear locks first: front share {} →", fixed(fitted, 3)),
            format!("{} or more", fixed(share, 3)),
            None,
        );
    }
    let rise = v.stages.get(1).and_then(|s| s.rise).map(|r| 0.5e3 * (r[0] + r[1]));
    match rise {
        Some(mm) if mm.abs() >= 0.5 => Verdict::number(
            format!(
                "Set ride height, corner weights and alignment again: the car has {}",
                if mm > 0.0 { "risen" } else { "sunk" }
            ),
            format!("{} mm", fixed(mm.abs(), 1)),
            None,
        ),
        _ => Verdict::words("Nothing must be set again: the brakes lock the front first"),
    }
}

/// Whether a fit may be used.
pub fn of_fit(v: &fit::Answer) -> Verdict {
    let p = &v.prediction;
    let digits = 2;
    let off = |s: f64| format!("{} s", fixed((s - p.logged_s).abs(), digits));
    let time = |s: f64| lap_time(s, digits).trim_end_matches(" s").to_owned();
    let held = format!("lap {}, held out, took {}", v.held, time(p.logged_s));
    let says = if !v.fit.settled {
        format!("Don't use this fit, it did not settle: {held}; the model says")
    } else if made_worse(v) {
        format!("Don't use this fit: {held}, and it is {} off, {} before; it says", off(p.model_s), off(v.before_s))
    } else {
        let how = if helped(v) { "helps" } else { "changes little" };
        format!("The fit {how}: {held}, and it is {} off, {} before; it says", off(p.model_s), off(v.before_s))
    };
    Verdict::number(says, time(p.model_s), Some(p.interval_s.map(time)))
}

/// How much nearer the lap held out the fitted model is than the car's file was, s, and what of it may be chance: what the fit
/// leaves open, and how laps scatter.
fn nearer(v: &fit::Answer) -> (f64, f64) {
    let p = &v.prediction;
    let off = |s: f64| (s - p.logged_s).abs();
    (off(v.before_s) - off(p.model_s), 0.5 * (p.interval_s[1] - p.interval_s[0]))
}

/// Is the fitted model further off the lap held out than the car's file was, beyond chance?
pub fn made_worse(v: &fit::Answer) -> bool {
    let (nearer, chance) = nearer(v);
    nearer < -chance
}

/// Is it nearer, beyond chance?
pub fn helped(v: &fit::Answer) -> bool {
    let (nearer, chance) = nearer(v);
    nearer > chance
}
