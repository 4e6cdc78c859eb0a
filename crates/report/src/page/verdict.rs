//! The first screen: the answer in a sentence, its interval, what it hangs on, what must be read with it, and one picture.

use maud::{Markup, html};
use unladen_study::Worth;
use unladen_study::compare::changed::Gain;

use crate::draw::interval::{IntervalPlot, Reach, interval_picture};
use crate::draw::look::Paper;
use crate::draw::picture::{Drawn, PlotError};
use crate::page::parts::{bare, minus, said, untitled};
use crate::page::{plan, worth};
use crate::words::change::Change;
use crate::words::number::lap_time;
use crate::words::sure::unknown::shared;

/// One answer.
#[derive(Clone, Debug)]
pub struct Answered {
    /// In a sentence each.
    pub says: Vec<String>,
    /// Its intervals; none where it has no number.
    pub bar: Option<Drawn>,
    /// What it hangs on, in words.
    pub hangs_on: Vec<String>,
    /// What must be read before anything is done.
    pub safety: Vec<&'static str>,
    /// The picture that says most of it, with its title.
    pub picture: Markup,
}

impl Answered {
    /// As the page has it.
    pub fn html(&self) -> Markup {
        html! {
            @for words in &self.says { p.says { (minus(words)) } }
            @if let Some(bar) = &self.bar { (bare(bar)) }
            @for words in &self.hangs_on { p.hangs { (minus(words)) } }
            @for words in &self.safety { p.caution { (said(words)) } }
            (self.picture)
        }
    }
}

/// Half as broad as other pictures: a bar says little.
const BAR: Paper = Paper { width: 620.0, titled: false };

fn drawn(plot: &IntervalPlot) -> Result<Drawn, PlotError> {
    Ok(Drawn { broad: interval_picture(plot, BAR)?, narrow: interval_picture(plot, Paper::PHONE)? })
}

/// The bars of changes; what left and right of nothing mean.
pub fn bar_of(says: &str, rows: &[(String, Change)], sides: [&str; 2]) -> Result<Option<Drawn>, PlotError> {
    let rows: Vec<Reach> = rows
        .iter()
        .filter(|(_, change)| change.resolved())
        .map(|(name, c)| Reach { name: name.clone(), value: c.quicker_s, interval: c.interval })
        .collect();
    if rows.is_empty() {
        return Ok(None);
    }
    let plot = IntervalPlot { title: says, rows: &rows, unit: "s a lap", sides };
    Ok(Some(drawn(&plot)?))
}

/// What a kilogram is worth: the map says where.
///
/// # Errors
/// [`PlotError`].
pub fn of_kilogram(mix: &Worth, map: &Drawn) -> Result<Answered, PlotError> {
    let says = format!("{}.", map.broad.title);
    let ms = |s: f64| 1e3 * s;
    let q = &mix.s_per_kg;
    let row = Reach { name: String::new(), value: ms(q.value), interval: q.interval.map(|ends| ends.map(ms)) };
    let plot = IntervalPlot {
        title: &says,
        rows: &[row],
        unit: "ms a lap for a kilogram at the centre of gravity",
        sides: ["", ""],
    };
    let mut by: Vec<(&str, f64)> = mix.hangs_on.iter().map(|w| (w.key.as_str(), w.shares[1])).collect();
    by.sort_by(|a, b| b.1.total_cmp(&a.1));
    let bar = q.interval.map(|_| drawn(&plot)).transpose()?;
    let hangs_on = shared(by.into_iter()).map(|words| format!("It hangs on {words}.")).into_iter().collect();
    Ok(Answered { says: vec![says], bar, hangs_on, safety: Vec::new(), picture: untitled(map, worth::MAP) })
}

/// What the page has besides, in short.
#[derive(Clone, Debug)]
pub struct Besides<'a> {
    /// Each track.
    pub tracks: &'a [Worth],
    /// The mix.
    pub mix: &'a Worth,
    /// What a plan does to the mix, and what it is called.
    pub plan: Option<(&'a str, &'a Gain)>,
    /// Where the budget stands.
    pub budget: Option<String>,
}

/// As a list.
pub fn besides(v: &Besides) -> Markup {
    html! {
        ul {
            @for w in v.tracks {
                li { (w.track) ": " strong { (time(w)) } " a lap as it stands." }
            }
            li {
                "10 kg more at the centre of gravity: " strong { (Change::by(&v.mix.s_per_kg, 10.0).words()) }
                @if v.tracks.len() > 1 { " a lap on the mix of tracks (" (v.mix.track) ")." } @else { " a lap." }
            }
            @if let Some((what, gain)) = v.plan {
                li { "With " (what) " done: " strong { (plan::shown(gain)) } " a lap, laps solved again with its mass, centre of gravity and what turns." }
            }
            @if let Some(budget) = &v.budget { li { (budget) } }
        }
    }
}

fn time(w: &Worth) -> String {
    let text = |s: f64, digits| lap_time(s, digits).trim_end_matches(" s").to_owned();
    match w.lap_time_interval_s {
        Some([low, high]) => format!("{} (90 %: {} to {})", text(w.lap_time_s, 2), text(low, 2), text(high, 2)),
        None => lap_time(w.lap_time_s, 3),
    }
}

/// What an interval is, said once.
pub const NINETY: &str =
    "“90 %” holds nine of ten chances, ± is one standard deviation, if what the files call uncertain is honest.";
