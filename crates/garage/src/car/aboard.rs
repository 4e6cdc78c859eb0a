//! `mass.weighed_with`: what was aboard on the scales, "driver 78 kg, fuel 20 L". It is a person's note, but what it
//! says of fuel and driver must be what `[fuel]` and `[driver]` say.

use crate::fault::Fault;
use crate::fault::caution::Caution;
use crate::fault::finding::{Faults, Located, Warning};
use crate::measured::{self, digits};
use crate::toml_file::typed::Values;
use crate::unit::Dimension;

/// (word in the list, key, dimension, unit to show, smallest difference that counts, SI).
const CHECKED: [(&str, &str, Dimension, &str, f64); 2] = [
    ("fuel", "fuel.as_weighed", Dimension::Volume, "L", 1e-5),
    ("driver", "driver.as_weighed", Dimension::Mass, "kg", 0.01),
];

const NOTE: &str = "mass.weighed_with";

/// Faults where the note and a key disagree; a warning where the note does not mention what a key says was aboard.
pub(crate) fn check(values: &Values, faults: &mut Faults, warnings: &mut Vec<Warning>) {
    let (Some(note), Some(place)) = (values.text(NOTE), values.place(NOTE)) else { return };
    for (word, key, dimension, unit, least) in CHECKED {
        let (Some(said), Some(at)) = (values.quantity(key), values.place(key)) else { continue };
        let item = note.split([',', ';']).map(str::trim).find(|item| {
            let mut words = item.split_whitespace();
            words.next().is_some_and(|w| w.eq_ignore_ascii_case(word))
        });
        match item {
            None if said.value > 0.0 => warnings.push(Located::at(Caution::NotListed { key, word }, place)),
            None => {}
            Some(item) => {
                let amount = item[word.len()..].trim_start_matches([':', '=', ' ', '\t']);
                // A note in other words ("driver Jo") is let be.
                let Ok((listed, unit)) = measured::parse(amount, dimension, unit) else { continue };
                if (listed.value - said.value).abs() > least {
                    let given = format!("{} {}", digits(unit.from_si(said.value)), unit.symbol);
                    faults.push(Fault::Aboard { key, listed: item.into(), given }, at);
                }
            }
        }
    }
}
