//! Sums of money, with the symbol that the car's file gives.

use crate::words::number::fixed;

/// `€1900`, `CHF 1900`, or `1900` without a symbol.
pub fn money(sum: f64, symbol: Option<&str>) -> String {
    let sum = fixed(sum, 0);
    match symbol.map(str::trim) {
        None | Some("") => sum,
        Some(word) if word.ends_with(char::is_alphabetic) => format!("{word} {sum}"),
        Some(symbol) => format!("{symbol}{sum}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_sums_with_and_without_a_symbol() {
        assert_eq!([money(1900.4, Some("€")), money(20.0, Some("CHF")), money(7.0, None)], ["€1900", "CHF 20", "7"]);
    }
}
