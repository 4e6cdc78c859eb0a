//! A sweep with the answer first.

use crate::sweep::rows::SweepRow;
use crate::sweep::text::{SweepView, cells, counted_without};
use crate::words::brief::{Brief, Verdict};
use crate::words::change::Change;
use crate::words::number::{counted, distance, fixed, lap_time};
use crate::words::state;

/// Rows that are shown.
const SHOWN: usize = 24;

/// The text.
pub fn sweep_brief(v: &SweepView) -> String {
    let seen = v.seen;
    let about = format!(
        "{} on {} ({}): {}, {}. {}",
        v.car,
        v.track,
        distance(v.length_m),
        counted(seen.cells as usize, "cell"),
        v.axes.join(", "),
        state::state(v.state)
    );
    let verdict = match seen.ends.as_ref().map(|e| (&e[0], e[0].lap.as_ref())) {
        Some((fastest, Ok(lap))) => {
            let change = Change { quicker_s: -lap.delta_s, interval: None, error_s: lap.error_s };
            let says = format!("Quickest is {}, {}; than as it stands", setting(fastest), lap_time(lap.lap_time_s, 2));
            Verdict::change(says, change)
        }
        _ => Verdict::words("No cell has a lap"),
    };
    let mut brief = Brief::new(&verdict, &about).table(&cells(v, SHOWN));
    if let Some(words) = counted_without(seen) {
        brief = brief.fact("no lap", words);
    }
    if seen.unsettled > 0 {
        brief = brief.fact("check", format!("{} cells do not settle: `unladen lap` tells why", seen.unsettled));
    }
    brief.fact("the number", "without a ±: a sweep moves what it sweeps and nothing else").of_laps().text()
}

fn setting(row: &SweepRow) -> String {
    let mut all = vec![
        format!("{} kg", fixed(row.mass_kg, 0)),
        format!("CG {} mm up", fixed(row.cg_height_mm, 0)),
        format!("{} % in front", fixed(100.0 * row.front_share, 1)),
    ];
    all.extend(row.fuel_l.map(|l| format!("{} L", fixed(l, 1))));
    all.join(", ")
}
