//! What `rank` prints of how sure each gain is, and what would reverse the first two.

use unladen_questions::rank::Answer;
use unladen_study::uncertainty::reversal::Settles;

use crate::words::sure::measurement::measurement;
use unladen_study::uncertainty::spread::{Difference, How};

use crate::rank::text::{ordered, title};
use crate::words::next;
use crate::words::number::{decimals_for, fixed, percent, signed, with_error};
use crate::words::table::{Align, Table, paragraph, printable};

/// What an unknown is called: a mass by its row, else its key.
fn main_unknown(v: &Answer, d: &Difference) -> String {
    d.shares.first().map_or_else(String::new, |(unknown, share)| {
        format!("{} {}", percent(*share), printable(&v.found.unknowns[*unknown].name))
    })
}

/// Draws that all gained don't make it certain.
pub fn chance(d: &Difference) -> String {
    match d.how {
        How::Certain => percent(d.chance),
        _ => percent(d.chance.clamp(0.004, 0.996)),
    }
}

pub(crate) fn certainty(v: &Answer) -> String {
    let mut table = Table::new(&[
        ("how sure", Align::Left),
        ("± s, 1 sd", Align::Point),
        ("it gains", Align::Right),
        ("found by", Align::Left),
        ("most of the ± from", Align::Left),
    ]);
    let mut unsettled = false;
    for item in ordered(v).into_iter().filter(|i| i.resolved()) {
        let d = &item.gain;
        let how = match d.how {
            How::Certain => "nothing unknown".to_owned(),
            How::FirstOrder => "slopes".to_owned(),
            How::Sampled { draws, lost, settled } => {
                unsettled |= !settled;
                let lost = if lost > 0 { format!(", {lost} without a lap") } else { String::new() };
                format!("{draws} draws{lost}{}", if settled { "" } else { " *" })
            }
        };
        let sd = if d.sd > 0.0 { fixed(d.sd, decimals_for(d.sd).min(5)) } else { String::new() };
        table.row(&[title(item, &v.entries), sd, chance(d), how, main_unknown(v, d)]);
    }
    let mut out = table.text(0);
    out += &paragraph(
        "Unknowns that the car has before and after the change cancel as far as they do. Slopes, where laps a standard \
         deviation away and with all unknowns off at once confirm them; else drawn cars.",
    );
    if unsettled {
        out += &paragraph("* Not settled yet: ask for more with --samples.");
    }
    out += &flip(v);
    if let Some((item, open, next)) = &v.open
        && let Some(words) = next::of_gain(open, next.as_ref())
    {
        out += &paragraph(&format!("{}: {words}", title(&v.found.items[*item], &v.entries)));
    }
    out
}

pub(crate) fn flip(v: &Answer) -> String {
    let mut top = v.found.items.iter().filter(|i| i.resolved());
    let (Some(a), Some(b)) = (top.next(), top.next()) else { return String::new() };
    let (a, b) = (title(a, &v.entries), title(b, &v.entries));
    let Some(flip) = &v.found.reversed_by else {
        return paragraph(&format!("No one unknown within four standard deviations puts {b} before {a}."));
    };
    let unknown = &v.found.unknowns[flip.unknown];
    let size = |sds: f64| in_unit(sds * unknown.sd, &unknown.unit);
    let mut words = format!(
        "{b} would come before {a} if {} were off by {} ({} standard deviations)",
        printable(&unknown.name),
        signed(&size(flip.sds)),
        fixed(flip.sds.abs(), 1)
    );
    words += &match flip.settles {
        Settles::Already => ". No other unknown does it with less; their order is settled to 95 % as it is.".to_owned(),
        Settles::At(sd) => format!(
            ". To settle it: {}; known to ± {} (1 sd) it would be.",
            measurement(&unknown.name),
            in_unit(sd, &unknown.unit)
        ),
        Settles::Never => format!(
            ". Begin there ({}), though even an exact value would leave the order open: the other unknowns are too large.",
            measurement(&unknown.name)
        ),
    };
    paragraph(&words)
}

/// An amount in a unit for people.
fn in_unit(value: f64, unit: &str) -> String {
    let (factor, shown) = match unit {
        "m" => (1e3, "mm"),
        "m3" => (1e3, "L"),
        "rad/s" => (30.0 / std::f64::consts::PI, "rpm"),
        "1" => (1.0, ""),
        other => (1.0, other),
    };
    format!("{} {shown}", with_error(value * factor, (value * factor).abs() * 0.05)).trim_end().to_owned()
}
