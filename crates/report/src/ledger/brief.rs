//! Where the mass budget stands, with the answer first.

use unladen_questions::ledger::Answer;

use crate::ledger::text::{CAUTION, areas, blame, sources, standings_table, tallies_table, weighed};
use crate::words::aboard::aboard;
use crate::words::brief::Brief;
use crate::words::verdict::of_ledger;

/// Areas that are shown.
const AREAS: usize = 10;

/// The text.
pub fn budget_brief(v: &Answer) -> String {
    let about = format!("{}, {}, with {} aboard.", v.car, weighed(v), aboard(v.aboard));
    let mut brief = Brief::new(&of_ledger(v), &about)
        .table(&standings_table(v, false))
        .note("± is one standard deviation. Back is behind the front axle line, up from the ground.")
        .table(&tallies_table(v));
    if v.budget.by_area.len() <= AREAS {
        brief = brief.table(&areas(v));
    }
    brief = brief.perhaps("plans are", sources(v)).perhaps("the ± of now", blame(v));
    if !v.budget.left_out.is_empty() {
        let n = v.budget.left_out.len();
        let rows = if n == 1 { "one planned row".to_owned() } else { format!("{n} planned rows") };
        brief = brief.fact("not counted", format!("{rows} that can't be with the others: --detail says why"));
    }
    brief.safety(CAUTION).text()
}
