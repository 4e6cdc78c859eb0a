//! What a car has aboard, in words.

use unladen_questions::stands::load::Aboard;

use crate::words::number::fixed;

/// Driver and fuel.
pub fn aboard(a: Aboard) -> String {
    let litres = if a.fuel > 0.0 {
        format!("{} L of fuel", fixed(a.fuel * 1e3, 1).trim_end_matches(".0"))
    } else {
        "no fuel".into()
    };
    let person = if a.driver > 0.0 {
        format!("driver {} kg", fixed(a.driver, 1).trim_end_matches(".0"))
    } else {
        "no driver".into()
    };
    format!("{person} and {litres}")
}
