//! What `worth` prints: read in a garage, without a manual.

use crate::draw::header::sentence;
use crate::lap::text::{ruling, time_with_error};
pub use crate::words::said::{CAUTION, NOT_MODELLED};

use crate::words::number::{UNRESOLVED, decimals_for, fixed, resolved, signed, with_error};
use crate::words::table::{Align, Table, facts, paragraph, printable};
use crate::worth::{Sanity, quantities};
use unladen_questions::advised;
use unladen_study::{Quantity, Worth};

/// How much is shown: a change that someone could make.
const STEP: f64 = 10.0;

/// A derivative's row: how to say a step towards more, and towards less.
struct Change {
    more: &'static str,
    less: &'static str,
}

const CHANGES: [Change; 4] = [
    Change { more: "10 kg more, at the centre of gravity", less: "10 kg less, at the centre of gravity" },
    Change { more: "centre of gravity 10 mm higher", less: "centre of gravity 10 mm lower" },
    Change { more: "centre of gravity 10 mm further back", less: "centre of gravity 10 mm further forward" },
    Change { more: "centre of gravity 10 mm to the right", less: "centre of gravity 10 mm to the left" },
];

/// The whole text: each track, then the mix where there is more than one track, then what holds for all.
pub fn worth_text(car: &str, stands: &str, tracks: &[Worth], mix: &Worth) -> String {
    let mut out = String::new();
    for worth in tracks {
        out += &format!("{} on {}\n\n", printable(car), printable(&worth.track));
        out += &block(worth);
        out.push('\n');
    }
    if tracks.len() > 1 {
        let head = format!("{} on the mix of {} tracks: {}", printable(car), tracks.len(), printable(&mix.track));
        out += &format!("{}\n", paragraph(&head));
        out += &block(mix);
        out.push('\n');
    }
    out + &paragraph(stands) + &paragraph(NOT_MODELLED) + "\n" + &paragraph(CAUTION)
}

fn block(w: &Worth) -> String {
    let mut out = facts(&[
        ("lap time", time_with_error(w.lap_time_s, w.lap_time_error_s, w.lap_time_interval_s)),
        ("ruled by", ruling(&w.limits)),
    ]);

    let mut kinks = false;
    let mut rows = Vec::new();
    for (change, (_, q)) in CHANGES.iter().zip(quantities(w)) {
        kinks |= q.one_sided.is_some();
        rows.extend(steps(change, q).into_iter().map(|(words, [value, range])| vec![words.to_owned(), value, range]));
    }
    let heads = [("what changes", Align::Left), ("lap time, s", Align::Point), ("90 %", Align::Left)];
    out += &format!("\n{}", known_table(&heads, rows));
    if kinks {
        out += &paragraph(
            "Where both ways are listed, a limit changes hands right here, and they are not each other's opposite.",
        );
    }
    if !w.places.is_empty() {
        out += &format!("\n{}", places(w));
    }
    let cost = format!("1 % more mass costs {} % more lap time.", with_error(w.elasticity, 0.005));
    out += &format!("\n{}", paragraph(&format!("{cost} {}", Sanity::of(w.elasticity).words())));
    for warning in &w.caveats {
        out += &paragraph(&format!("warning: {}", printable(&advised(warning))));
    }
    out
}

/// The rows of a derivative: one, or at a kink one each way.
fn steps(change: &Change, q: &Quantity) -> Vec<(&'static str, [String; 2])> {
    match q.one_sided {
        None => vec![(change.more, known(q, q.value, STEP))],
        Some((minus, plus)) => vec![(change.more, known(q, plus, STEP)), (change.less, known(q, minus, -STEP))],
    }
}

/// `+0.142` and `+0.136 to +0.147`, so many times a value; the interval moves with it to the side of a kink.
pub(crate) fn known(q: &Quantity, value: f64, times: f64) -> [String; 2] {
    let error = (times * q.error).abs();
    if !resolved(times * value, error) {
        return [UNRESOLVED.to_owned(), String::new()];
    }
    // Finer than a tenth of a millisecond helps nobody, unless there is nothing else to see.
    let shown = error.max(1e-4f64.min(0.1 * (times * value).abs()));
    let Some(interval) = q.interval else { return [signed(&with_error(times * value, shown)), String::new()] };
    let mut ends = interval.map(|end| times * (end + value - q.value));
    ends.sort_by(f64::total_cmp);
    let digits = decimals_for(0.5 * (ends[1] - ends[0]));
    let text = |x: f64| signed(&fixed(x, digits));
    [text(times * value), format!("{} to {}", text(ends[0]), text(ends[1]))]
}

fn places(w: &Worth) -> String {
    let mut rows = Vec::new();
    for p in &w.places {
        let q = &p.s_per_kg;
        let [x, y, z] = p.spot.at.map(|m| fixed(m * 1e3, 0));
        let name = sentence(&p.spot.name);
        let mut row = |name: String, [cost, range]: [String; 2]| {
            rows.push(vec![name, cost, range, x.clone(), y.clone(), z.clone()]);
        };
        match q.one_sided {
            None => row(name, known(q, q.value, 1.0)),
            Some((minus, plus)) => {
                row(format!("{name}, put on"), known(q, plus, 1.0));
                row(format!("{name}, taken off"), known(q, minus, -1.0));
            }
        }
    }
    let heads = [
        ("1 kg here costs", Align::Left),
        ("s a lap", Align::Point),
        ("90 %", Align::Left),
        ("mm back", Align::Right),
        ("mm right", Align::Right),
        ("mm up", Align::Right),
    ];
    known_table(&heads, rows) + "Back is behind the front axle line, right of the centre plane, up from the ground.\n"
}

/// A table whose third column holds intervals; without any, without the column.
fn known_table(heads: &[(&str, Align)], mut rows: Vec<Vec<String>>) -> String {
    let mut heads = heads.to_vec();
    if rows.iter().all(|row| row[2].is_empty()) {
        heads.remove(2);
        rows.iter_mut().for_each(|row| drop(row.remove(2)));
    }
    let mut table = Table::new(&heads);
    rows.iter().for_each(|row| table.row(row));
    table.text(0)
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use unladen_study::{Caveat, Spot, WorthPlace};

    /// A made-up result.
    pub(crate) fn example(track: &str) -> Worth {
        let place = |name: &str, x_mm: f64, y_mm: f64, z_mm: f64, value| WorthPlace {
            spot: Spot { name: name.into(), at: [x_mm, y_mm, z_mm].map(|mm| mm * 1e-3) },
            s_per_kg: Quantity::new(value, 2e-5),
        };
        Worth {
            track: track.into(),
            lap_time_s: 83.4119,
            lap_time_error_s: 0.0004,
            lap_time_sd_s: None,
            lap_time_interval_s: None,
            s_per_kg: Quantity::new(0.0142, 2e-5),
            s_per_mm_height: Quantity::new(0.00212, 1e-5),
            s_per_mm_rearward: Quantity::new(-0.00087, 1e-5),
            s_per_mm_right: Quantity::new(3e-7, 1e-6),
            places: vec![
                place("front bumper", -700.0, 0.0, 420.0, 0.0151),
                place("roof", 1500.0, 0.0, 1310.0, 0.0169),
                place("boot floor", 3100.0, 250.0, 330.0, 0.0125),
            ],
            limits: [0.2, 0.1, 0.24, 0.44, 0.02, 0.0, 0.0, 0.0],
            elasticity: 0.2186,
            caveats: Vec::new(),
            along: None,
            hangs_on: Vec::new(),
        }
    }

    #[test]
    fn closed_form_the_numbers_as_printed() {
        let text = worth_text("Saloon", "As weighed.", &[example("Airfield")], &example("Airfield"));
        let want = "\
Saloon on Airfield

lap time  1:23.412 (83.412 s, computed to 0.0004 s)
ruled by  power 44 %, braking 24 %, front grip 20 %, rear grip 10 %, shifting
          2 %

what changes                          lap time, s
10 kg more, at the centre of gravity  +0.1420
centre of gravity 10 mm higher        +0.0212
centre of gravity 10 mm further back  -0.0087
centre of gravity 10 mm to the right  no difference that can be resolved

1 kg here costs  s a lap  mm back  mm right  mm up
Front bumper     +0.0151     -700         0    420
Roof             +0.0169     1500         0   1310
Boot floor       +0.0125     3100       250    330
Back is behind the front axle line, right of the centre plane, up from the ground.

1 % more mass costs 0.219 % more lap time. That is inside the band of 0.05 to
0.33 in which mixed laps lie.
";
        assert!(text.starts_with(want), "{text}");
        assert_eq!(text.matches("Not modelled").count(), 1);
        assert!(text.lines().all(|l| l.chars().count() <= 84), "{text}");
    }

    #[test]
    fn closed_form_kinks_print_both_ways_and_uncertainties_two_digits() {
        let mut w = example("Airfield");
        w.lap_time_interval_s = Some([82.9, 83.95]);
        w.s_per_kg.interval = Some([0.0123, 0.0163]);
        w.s_per_mm_rearward.one_sided = Some((-0.0012, 0.0018));
        w.elasticity = 0.41;
        w.caveats = vec![Caveat::NoSide { key: "tyres\nfront".into() }];
        let text = worth_text("Saloon", "As weighed.", &[w.clone()], &w);
        for part in [
            ", 90 %: 1:22.90 to 1:23.95 by the car's uncertain numbers",
            "+0.142",
            "+0.123 to +0.163",
            "further back     +0.0180",
            "further forward  +0.0120",
            "a limit changes hands",
            "CHECK: that is above the band",
            "warning: within one standard deviation of tyres front, either way",
        ] {
            assert!(text.contains(part), "{part} in {text}");
        }
    }

    #[test]
    fn property_cautions_stand_once_and_a_mix_only_for_several_tracks() {
        let (a, b, mix) = (example("A"), example("B"), example("2 A, 1 B"));
        let one = worth_text("Saloon", "As weighed.", std::slice::from_ref(&a), &mix);
        let two = worth_text("Saloon", "As weighed.", &[a, b], &mix);
        assert!(!one.contains("mix of") && two.contains("mix of 2 tracks: 2 A, 1 B"));
        for text in [one, two] {
            assert_eq!(text.matches("closed track").count(), 1);
            assert_eq!(text.matches("Not modelled").count(), 1);
        }
    }
}
