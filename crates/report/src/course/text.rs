//! What `course from` and `course check` print.

use unladen_garage::TrackFile;
use unladen_questions::course::look::{Banks, Bend, Stretch, banks};
use unladen_questions::course::{from, look};
use unladen_study::uncertainty::spread::NINETY;

use crate::words::number::{counted, distance, fixed};
use crate::words::table::{Align, Table, paragraph, printable};

pub(crate) fn mean(all: &[f64]) -> f64 {
    all.iter().sum::<f64>() / all.len().max(1) as f64
}

/// A course made of positions, and what a lap time on it is worth.
pub fn made_text(v: &from::Answer) -> String {
    let (track, line) = (&v.track, &v.line);
    let tightest = track.segments.iter().flat_map(|s| s.kappa).fold(0.0f64, |a, k| a.max(k.abs()));
    let turns = match line.turns {
        0 => String::new(),
        n => format!(", and {n} readings of yaw rate or lateral acceleration"),
    };
    let said = format!(
        "{}: {} of {:.0} m in {}, tightest radius {:.1} m\n\
         positions: {} used, noise {:.2} m{}{turns}\n\
         curvature: ± {:.5} 1/m (mean standard deviation); the segments differ from the line by {:.5} 1/m (rms)\n\
         written: {} and {}\n",
        track.name,
        if track.closed { "a circuit" } else { "an open course" },
        track.length(),
        counted(track.segments.len(), "segment"),
        1.0 / tightest.max(1e-9),
        line.used,
        line.noise_m,
        if line.alike > 1.5 { format!(", alike over {:.0} neighbours", line.alike) } else { String::new() },
        mean(&line.kappa_sd),
        v.built.kappa_rms,
        v.file.display(),
        v.segments_file.display()
    );
    said.lines().chain(worth(v).lines()).map(paragraph).collect()
}

fn worth(v: &from::Answer) -> String {
    let Some((car, doubt)) = &v.lap else { return String::new() };
    let percent = 100.0 * doubt.sd_s() / doubt.time_s;
    format!(
        "lap time of {car}: {:.2} s on this course; on the true line {:.2} ± {:.2} s ({percent:.1} %, one standard deviation; 90 %: {:.2} to {:.2} s) by what the positions leave open, from {} lines that they do not rule out.\n\
         Differences between cars on this one course are known far better than that; more laps, a higher rate or a logged yaw rate help.\n",
        doubt.time_s,
        doubt.likely_s(),
        doubt.sd_s(),
        doubt.likely_s() - NINETY * doubt.sd_s(),
        doubt.likely_s() + NINETY * doubt.sd_s(),
        doubt.draws
    )
}

/// A track looked over.
pub fn look_text(v: &look::Answer) -> String {
    let mut out = paragraph(&of_track(&v.file));
    if v.places.is_empty() {
        out += "It has no corner, and no straight has a name.\n";
    } else {
        let heads = [
            ("place", Align::Left),
            ("from, m", Align::Point),
            ("length, m", Align::Point),
            ("turns, °", Align::Point),
            ("least radius, m", Align::Point),
            ("grade, %", Align::Point),
        ];
        let mut table = Table::new(&heads);
        v.places.iter().for_each(|p| table.row(&row(p)));
        out += &format!("\n{}\n", table.text(2));
    }
    for words in [jumps(&v.jumps), v.crossing.map(crossing)].into_iter().flatten() {
        out += &paragraph(&words);
    }
    out
}

pub(crate) fn row(of: &Stretch) -> [String; 6] {
    let place = &of.place;
    [
        printable(&place.name),
        fixed(place.start_m, 0),
        fixed(place.length_m, 0),
        fixed(place.turning_rad.to_degrees(), 0),
        of.least_radius_m.map_or_else(|| "straight".into(), |r| fixed(r, 1)),
        fixed(100.0 * of.grade, 1),
    ]
}

pub(crate) fn jumps(at: &[f64]) -> Option<String> {
    let more = at.len().saturating_sub(6);
    let list = at.iter().take(6).map(|s| distance(*s)).collect::<Vec<_>>().join(", ");
    let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
    (!at.is_empty()).then(|| {
        format!("Curvature jumps at {list}{rest}. No car turns in at once: laps are a little slow there; a transition of 10 to 20 m is more like a driven line.")
    })
}

pub(crate) fn crossing((a, b): (f64, f64)) -> String {
    let (a, b) = (distance(a), distance(b));
    format!("It crosses itself, at {a} and {b}: right for a bridge or a figure of eight, else a mistake.")
}

/// A track in a sentence or two.
pub fn of_track(file: &TrackFile) -> String {
    let track = &file.track;
    let kind = match &file.closure {
        Some(closure) => format!(
            "a circuit that closes to {} m in plan and {} m in height",
            fixed(closure.position, 2),
            fixed(closure.height.abs(), 2)
        ),
        None => "an open course".to_owned(),
    };
    format!(
        "{}. {}, {} segments, {kind}. {}",
        printable(&track.name),
        distance(track.length()),
        track.segments.len(),
        banked(&banks(track))
    )
}

/// Of banked corners, whether their bank helps or hurts.
fn banked(banks: &Banks) -> String {
    let said = |verb: &str, bends: &[Bend]| {
        let mut names: Vec<String> = Vec::new();
        for bend in bends {
            let name = match bend {
                Bend::Named(name) => printable(name),
                Bend::At(s) => format!("{} m", fixed(*s, 0)),
            };
            if !names.contains(&name) {
                names.push(name);
            }
        }
        if names.is_empty() { String::new() } else { format!("The bank {verb} in {}. ", names.join(", ")) }
    };
    let all = said("helps", &banks.helping) + &said("hurts", &banks.hurting);
    if all.is_empty() { "No corner is banked.".to_owned() } else { all.trim_end().to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_banks_that_help_and_hurt_in_words() {
        assert_eq!(banked(&Banks::default()), "No corner is banked.");
        let mixed = Banks { helping: vec![Bend::Named("A".into())], hurting: vec![Bend::At(100.0)] };
        assert_eq!(banked(&mixed), "The bank helps in A. The bank hurts in 100 m.");
    }
}
