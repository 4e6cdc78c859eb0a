//! Values that are possible but unusual, by what their keys say.

use crate::fault::caution::Caution;
use crate::fault::finding::{Located, Warning};
use crate::keys::{Kind, Table};
use crate::measured::Measured;
use crate::toml_file::typed::Values;

/// Every value outside what its key calls usual, and every one that is hardly known.
pub(crate) fn unusual(values: &Values, table: Table, warnings: &mut Vec<Warning>) {
    for key in table.keys() {
        let (Kind::Quantity(span), Some(m), Some(place)) =
            (&key.kind, values.own_quantity(key.path), values.place(key.path))
        else {
            continue;
        };
        if !span.expects(m.value) {
            let given = Measured { sd: 0.0, ..m }.show(span.unit());
            let caution = Caution::Unusual { key: key.path, given, usual: span.usual_range() };
            warnings.push(Located::at(caution, place));
        }
        // Of a length the origin is arbitrary: only what scales counts.
        let scales = span.min >= 0.0;
        let guessed = values.is_assumed(key.path);
        if scales && !guessed && m.value > 0.0 && m.sd > 0.3 * m.value && m.value.is_finite() {
            warnings.push(Located::at(Caution::Vague { key: key.path }, place));
        }
    }
}
