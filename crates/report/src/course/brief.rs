//! A course with the answer first: made of positions, or looked over.

use unladen_questions::course::{from, look};
use unladen_study::uncertainty::spread::NINETY;

use crate::course::text::{crossing, jumps, mean, of_track, row};
use crate::words::brief::{Brief, Verdict};
use crate::words::number::{counted, distance, fixed, lap_time};
use crate::words::table::{Align, Table};

/// Places that are shown.
const SHOWN: usize = 26;

/// A course made of positions.
pub fn made_brief(v: &from::Answer) -> String {
    let (track, line) = (&v.track, &v.line);
    let kind = if track.closed { "a circuit" } else { "an open course" };
    let made = format!(
        "{} is made: {kind} of {} in {}",
        track.name,
        distance(track.length()),
        counted(track.segments.len(), "segment")
    );
    let verdict = match &v.lap {
        Some((car, doubt)) => {
            let ends = [-NINETY, NINETY]
                .map(|z| lap_time(doubt.likely_s() + z * doubt.sd_s(), 2).trim_end_matches(" s").to_owned());
            Verdict::number(format!("{made}; {car} laps the true line in"), lap_time(doubt.likely_s(), 2), Some(ends))
        }
        None => Verdict::words(made),
    };
    let about = format!("Written: {} and {}.", v.file.display(), v.segments_file.display());
    let tightest = track.segments.iter().flat_map(|s| s.kappa).fold(0.0f64, |a, k| a.max(k.abs()));
    let mut brief = Brief::new(&verdict, &about)
        .fact("tightest", format!("{} m of radius", fixed(1.0 / tightest.max(1e-9), 1)))
        .fact("positions", format!("{} used, noise {} m (one standard deviation)", line.used, fixed(line.noise_m, 2)))
        .fact("curvature", format!("± {} 1/m (one standard deviation, mean)", fixed(mean(&line.kappa_sd), 5)));
    if v.lap.is_some() {
        let words = "differences between cars on this one course are known far better than the lap time; more laps, a higher rate or a \
                     logged yaw rate help";
        brief = brief.fact("to note", words);
    }
    brief.text()
}

/// A track looked over.
pub fn look_brief(v: &look::Answer) -> String {
    let faults = jumps(&v.jumps).into_iter().chain(v.crossing.map(crossing)).collect::<Vec<_>>();
    let name = &v.file.track.name;
    let verdict = Verdict::words(match (faults.len(), v.places.len()) {
        (0, _) => format!("{name} is sound: nothing to look at"),
        (1, _) => format!("{name} can be lapped; one thing to look at"),
        (n, _) => format!("{name} can be lapped; {n} things to look at"),
    });
    let mut brief = Brief::new(&verdict, &of_track(&v.file));
    if v.places.is_empty() {
        brief = brief.note("It has no corner, and no straight has a name.");
    } else {
        let mut table = Table::new(&[
            ("place", Align::Left),
            ("from, m", Align::Point),
            ("length, m", Align::Point),
            ("turns, °", Align::Point),
            ("least radius, m", Align::Point),
            ("grade, %", Align::Point),
        ]);
        v.places.iter().take(SHOWN).for_each(|p| table.row(&row(p)));
        brief = brief.table(&table);
        if v.places.len() > SHOWN {
            brief = brief.note(&format!("{} more places by --detail.", v.places.len() - SHOWN));
        }
    }
    for words in faults {
        brief = brief.fact("look at", words);
    }
    brief.text()
}
