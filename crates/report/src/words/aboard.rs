//! What is aboard, in words.

use unladen_questions::stands::load::Aboard;

use crate::words::number::fixed;

/// Driver and fuel.
pub fn aboard(of: Aboard) -> String {
    let litres = if of.fuel > 0.0 {
        format!("{} L of fuel", fixed(of.fuel * 1e3, 1).trim_end_matches(".0"))
    } else {
        "no fuel".into()
    };
    let person = if of.driver > 0.0 {
        format!("driver {} kg", fixed(of.driver, 1).trim_end_matches(".0"))
    } else {
        "no driver".into()
    };
    format!("{person} and {litres}")
}
