//! A copy of a car's file with values that a fit found, comments and all else as they were.

use std::sync::Arc;

use crate::car::mass_block::set_values;
use crate::fault::finding::FileErrors;
use crate::fault::source::Source;

/// The file with these values (dotted key, value as TOML) and some comment lines on top; behind a `#:schema` line where
/// it begins with one. Also which keys could not be placed.
///
/// # Errors
/// [`set_values`].
pub fn fitted_copy(
    source: &Arc<Source>,
    heading: &[String],
    values: &[(&str, String)],
) -> Result<(String, Vec<String>), FileErrors> {
    let (text, left) = set_values(source, values)?;
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let comment: String = heading.iter().map(|line| format!("# {line}{end}")).collect();
    let behind = if text.starts_with("#:schema") { text.find('\n').map_or(text.len(), |i| i + 1) } else { 0 };
    Ok((format!("{}{comment}{}", &text[..behind], &text[behind..]), left))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::car::parse_car;
    use crate::toml_file::set::Overrides;

    #[test]
    fn closed_form_a_copy_keeps_what_was_not_fitted() {
        let car = format!("#:schema car.schema.json\n{}", include_str!("../../../../vehicles/saloon-awd/car.toml"));
        let source = Source::new("car.toml", car.as_str());
        let values = [("aero.drag_area", "\"0.655 ± 0.02 m2\"".to_owned()), ("driveline.efficiency", "0.89".into())];
        let (text, left) = fitted_copy(&source, &["Fitted.".into()], &values).unwrap();
        assert!(left.is_empty() && text.starts_with("#:schema car.schema.json\n# Fitted.\n# Invented demo car"));
        let gone = car.lines().filter(|l| !text.lines().any(|t| t == *l)).count();
        assert_eq!((gone, text.lines().count()), (2, car.lines().count() + 1));
        let read = parse_car(&Source::new("car.toml", text), &Overrides::none()).unwrap();
        assert_eq!((read.car.aero.cd_a, read.car.driveline.efficiency), (0.655, 0.89));
    }
}
