//! What to measure where an unknown decides.

use unladen_study::measure::WAYS;

/// What to do about an unknown, by its name.
pub fn measurement(unknown: &str) -> &'static str {
    let way = WAYS.iter().find(|way| way.knows.iter().any(|(start, _)| unknown.starts_with(start)));
    way.map_or("measure it, or get the maker's data of it", |way| way.what)
}
