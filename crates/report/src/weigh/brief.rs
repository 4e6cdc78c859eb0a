//! What the scales say, with the answer first.

use unladen_garage::written;
use unladen_questions::weigh::Answer;
use unladen_study::weighing::Known;

use crate::weigh::text::{RAISED_CAUTION, cause_words};
use crate::words::aboard::aboard;
use crate::words::brief::Brief;
use crate::words::number::{fixed, percent, with_sd};
use crate::words::table::{Align, Table};
use crate::words::verdict::{impossible, of_weigh};

/// The text.
pub fn weigh_brief(v: &Answer) -> String {
    let f = &v.found;
    let date = v.day.map(|day| format!(", {}", written(day))).unwrap_or_default();
    let mut brief = Brief::new(&of_weigh(v), &format!("{}{date}, with {} aboard.", v.name, aboard(v.aboard)));
    brief = brief.table(&found(v)).note("± is one standard deviation.");
    if let Some(how) = f.height.and_then(impossible) {
        brief = brief.fact(
            "CHECK",
            format!(
                "a centre of gravity {how}: was the right axle raised, is the lift the height of the wheels and not of the jack, were \
                 the readings of both axles mixed up, is the wheelbase right?"
            ),
        );
    }
    let worst = f.misfits.iter().max_by(|a, b| a.2.abs().total_cmp(&b.2.abs()));
    let furthest = worst.map_or_else(String::new, |(name, what, off)| {
        format!("; furthest off is the {what} of {name}, by {} standard deviations", fixed(off.abs(), 1))
    });
    if f.widened > 1.0 {
        let times = fixed(f.widened, 1);
        brief = brief.fact(
            "CHECK",
            format!("the readings scatter {times} times as much as the scales' data say{furthest}: a mistyped reading, brakes or suspension that bind, a pad out of level?"),
        );
    } else if f.freedom > 0 {
        brief = brief.fact("agreement", format!("as good as the scales let expect{furthest}"));
    }
    let lifted = usize::from(f.height.is_some()) * 3;
    let of = if lifted > 0 { "height" } else { "CG" };
    let largest = f.budget.iter().max_by(|a, b| a.1[lifted.max(1)].total_cmp(&b.1[lifted.max(1)]));
    if let Some((cause, share)) = largest {
        brief = brief.fact("hangs on", format!("{of}: {} ({})", cause_words(*cause), percent(share[lifted.max(1)])));
    }
    if let Some(best) = v.better.first() {
        let now = f.height.map_or(f.x.sd, |h| h.sd) / f.widened;
        if best.sd < 0.99 * now {
            let words = format!("{}: ± {} mm in place of {}", best.what, fixed(1e3 * best.sd, 1), fixed(1e3 * now, 1));
            brief = brief.fact("would help", words);
        }
    }
    if f.height.is_some() {
        brief = brief.safety(RAISED_CAUTION);
    }
    brief.text()
}

fn found(v: &Answer) -> Table {
    let f = &v.found;
    let mut table = Table::new(&[("", Align::Left), ("", Align::Point), ("", Align::Left)]);
    let mm = |k: Known| with_sd(k.value * 1e3, k.sd * 1e3);
    table.row(&["mass", &with_sd(f.mass.value, f.mass.sd), "kg"]);
    let share = 100.0 / v.wheelbase_m;
    table.row(&["on the front axle", &with_sd(100.0 - share * f.x.value, share * f.x.sd), "%"]);
    table.row(&["centre of gravity", &mm(f.x), "mm behind the front axle"]);
    match f.y {
        Some(y) => table.row(&["", &mm(y), "mm right of the middle"]),
        None => table.row(&["", "not known", "to the side: that needs corner weights"]),
    }
    match f.height {
        Some(h) => table.row(&["", &mm(h), "mm above the pads"]),
        None => table.row(&["", "not known", "above the pads: that needs an axle raised"]),
    }
    if let Some([fl, fr, rl, rr]) = f.corners {
        let total = fl + fr + rl + rr;
        let share = |kg: f64| fixed(100.0 * kg / total, 2);
        table.row(&["on the left", &share(fl + rl), "%"]);
        table.row(&["front right and rear left", &share(fr + rl), "%"]);
    }
    table
}
