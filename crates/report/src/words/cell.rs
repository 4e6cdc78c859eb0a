//! Names from files as cells of a table that a spreadsheet opens.

/// What a spreadsheet would take for a formula gets an apostrophe before it, as spreadsheets themselves mark a text.
/// `unladen_garage` reads such cells back.
pub fn harmless(name: &str) -> String {
    let formula = |text: &str| text.starts_with(['=', '@', '+', '-', '\t', '\r']);
    if formula(name) || name.strip_prefix('\'').is_some_and(formula) { format!("'{name}") } else { name.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_formulas_are_texts() {
        for (name, cell) in
            [("=A1", "'=A1"), ("- seat", "'- seat"), ("'+1", "''+1"), ("seat", "seat"), ("'tis", "'tis")]
        {
            assert_eq!(harmless(name), cell);
        }
    }
}
