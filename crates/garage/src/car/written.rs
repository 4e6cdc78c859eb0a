//! What stands in a car's file, key by key: for telling what two cars, or a car and its changed copy, have not alike.

use crate::car::loading::AboardRead;
use crate::keys::car::CAR;
use crate::keys::shop::ABOARD;
use crate::keys::{Key, Kind};
use crate::measured::Measured;
use crate::toml_file::typed::Values;

/// A value of the file, or what stands in for it for this run.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// Its dotted key.
    pub key: String,
    /// As it would be written, in the usual unit: "492 ± 15 mm".
    pub text: String,
}

/// Every value that is there, in the order of the table.
pub(crate) fn all(values: &Values, aboard: &[AboardRead]) -> Vec<Written> {
    let of = |values: &Values, key: &'static Key, path: String| Some(Written { key: path, text: text(values, key)? });
    let mut all: Vec<Written> = CAR.keys().filter_map(|key| of(values, key, key.path.into())).collect();
    for read in aboard {
        all.extend(ABOARD.keys().filter_map(|key| of(read.values(), key, read.key(key.path))));
    }
    all
}

fn text(values: &Values, key: &'static Key) -> Option<String> {
    let path = key.path;
    match &key.kind {
        Kind::Quantity(span) => values.own_quantity(path).map(|m| m.show(span.unit())),
        Kind::List(span) => values.list(path).map(|list| {
            let shown: Vec<String> = list.iter().map(|m| m.show(span.unit())).collect();
            shown.join(", ")
        }),
        Kind::Pairs(x, y) => values.pairs(path).map(|pairs| {
            let shown = |(a, b): &(Measured, Measured)| format!("{} at {}", b.show(y.unit()), a.show(x.unit()));
            pairs.iter().map(shown).collect::<Vec<_>>().join(", ")
        }),
        Kind::Choice(_) => values.choice(path).map(str::to_owned),
        Kind::Flag => values.flag(path).map(|flag| flag.to_string()),
        Kind::Text | Kind::Date => values.text(path).map(str::to_owned),
        Kind::Schema => None,
    }
}
