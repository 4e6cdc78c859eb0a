//! Is moving it worth it, with the answer first.

use unladen_questions::relocate::Answer;

use crate::relocate::text::{
    FUEL_CAUTION, ITEM_CAUTION, PLACES, besides, brakes_set, lap_times, split, what_changes, where_it_goes,
};
use crate::words::brief::Brief;
use crate::words::change::{Change, far_off};
use crate::words::next;
use crate::words::state;
use crate::words::sure;
use crate::words::tuned::BRAKE_CAUTION;
use crate::words::verdict::of_move;

/// Fuel loads that are shown, from full on.
const LOADS: usize = 3;

/// The text.
pub fn move_brief(v: &Answer) -> String {
    let stint = v.counts();
    let tuned = v.answer.retuned.is_some();
    let about =
        format!("{} on {}; {}.", v.car, v.tracks, if tuned { "each way re-tuned" } else { "everything as set" });
    let mut brief =
        Brief::new(&of_move(v), &about).table(&what_changes(v)).note(PLACES).table(&lap_times(v).first(LOADS).0);
    brief = brief.fact("the car", state::state(&v.state)).fact("it", where_it_goes(v));
    let parts = split(v);
    brief = brief.perhaps("in parts", (!parts.is_empty()).then_some(parts));
    if tuned {
        let as_set = Change::of(&v.answer.as_set.gain, v.answer.as_set.error_s);
        brief = brief.fact("as set", as_set.words());
    }
    brief = brief
        .perhaps("note", far_off(&stint.gain, stint.error_s))
        .perhaps("hangs on", sure::hangs_on_brief(&stint.gain, &v.answer.unknowns))
        .perhaps("measure", next::of_gain(&v.open.0, v.open.1.as_ref()))
        .fact("stopwatch", sure::stopwatch_brief(&v.watch, v.laps, stint.gain.gain));
    // Loads beyond a limit are never cut.
    for (what, words) in besides(v) {
        if what == "OVER ITS LIMIT" {
            brief = brief.fact(what, words);
        }
    }
    if brakes_set(v) {
        brief = brief.safety(BRAKE_CAUTION);
    }
    brief.of_laps().safety(if v.is_tank { FUEL_CAUTION } else { ITEM_CAUTION }).text()
}
