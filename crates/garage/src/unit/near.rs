//! "Did you mean": the known name nearest to what was typed.

/// The candidate nearest to `typed`, if it is near enough to be meant: a third of its letters may differ, one at least.
///
/// Case is looked at last; ties go to the same first letter, then the same length, then the earlier candidate.
pub fn nearest<'a>(typed: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let typed: String = typed.chars().take(64).collect();
    let lower = typed.to_lowercase();
    let length = lower.chars().count();
    let mut best: Option<((usize, bool, bool), &str)> = None;
    for candidate in candidates {
        let other = candidate.to_lowercase();
        let distance = strsim::damerau_levenshtein(&lower, &other);
        let rank = (distance, other.chars().next() != lower.chars().next(), other.chars().count() != length);
        if distance <= (length / 3).max(1) && best.is_none_or(|(b, _)| rank < b) {
            // One changed letter of one is another word.
            if distance < other.chars().count().max(length) {
                best = Some((rank, candidate));
            }
        }
    }
    best.map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn bad_input_mistyped_names() {
        let keys = ["wheelbase", "track_front", "track_rear", "roll_centre_front"];
        assert_eq!(nearest("wheelbas", keys), Some("wheelbase"));
        assert_eq!(nearest("weelbase", keys), Some("wheelbase"));
        assert_eq!(nearest("track_fornt", keys), Some("track_front"));
        assert_eq!(nearest("roll_center_front", keys), Some("roll_centre_front"));
        assert_eq!(nearest("gearbox", keys), None);
        assert_eq!(nearest("", keys), None);
        assert_eq!(nearest("x", ["y", "m"]), None);
        assert_eq!(nearest("mn", ["in", "mm"]), Some("mm"));
        assert_eq!(nearest(&"w".repeat(1_000_000), keys), None);
    }
}
