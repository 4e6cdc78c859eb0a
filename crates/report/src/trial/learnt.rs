//! What a trial teaches, in words.

use unladen_garage::trial::learnt::Moved;

use crate::words::table::{Align, Table};

/// Numbers as they stand and as they would.
pub(crate) fn learnt(all: &[Moved]) -> Table {
    let mut table =
        Table::new(&[("what the laps say of", Align::Left), ("as it stands", Align::Left), ("learnt", Align::Left)]);
    for m in all {
        table.row(&[m.key.as_str(), m.before.as_str(), m.after.as_str()]);
    }
    table
}
