//! "Did you mean": the known name nearest to what was typed.

/// The candidate nearest to `typed`, if it is near enough to be meant: a third of its letters may differ, one at least.
///
/// Case is looked at last; ties go to the same first letter, then the same length, then the earlier candidate. Where none
/// is near, the shortest of those that have every word that was typed: `tank` means `fuel tank`.
pub fn nearest<'a>(typed: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let typed: String = typed.chars().take(64).collect();
    let own = words(&typed);
    let mut with_words: Option<&str> = None;
    let lower = typed.to_lowercase();
    let length = lower.chars().count();
    let mut best: Option<((usize, bool, bool), &str)> = None;
    for candidate in candidates {
        let other = candidate.to_lowercase();
        let theirs = words(&other);
        let has_all = !own.is_empty() && own.iter().all(|word| word.chars().count() > 2 && theirs.contains(word));
        if has_all && with_words.is_none_or(|known| candidate.len() < known.len()) {
            with_words = Some(candidate);
        }
        let distance = strsim::damerau_levenshtein(&lower, &other);
        let rank = (distance, other.chars().next() != lower.chars().next(), other.chars().count() != length);
        if distance <= (length / 3).max(1) && best.is_none_or(|(b, _)| rank < b) {
            // One changed letter of one is another word.
            if distance < other.chars().count().max(length) {
                best = Some((rank, candidate));
            }
        }
    }
    best.map(|(_, candidate)| candidate).or(with_words)
}

/// The words of a name, in small letters.
fn words(text: &str) -> Vec<String> {
    let lower = text.to_lowercase();
    lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(Into::into).collect()
}

/// Names of what there is, for a message: some of many.
pub fn listed<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    const SHOWN: usize = 24;
    let all: Vec<&str> = names.into_iter().collect();
    let more = if all.len() > SHOWN { format!(" and {} more", all.len() - SHOWN) } else { String::new() };
    format!("{}{more}", all[..all.len().min(SHOWN)].join(", "))
}

#[cfg(test)]
mod tests {
    use super::{listed, nearest};

    #[test]
    fn bad_input_mistyped_names() {
        let keys = ["wheelbase", "track_front", "track_rear", "roll_centre_front"];
        assert_eq!(nearest("wheelbas", keys), Some("wheelbase"));
        assert_eq!(nearest("weelbase", keys), Some("wheelbase"));
        assert_eq!(nearest("track_fornt", keys), Some("track_front"));
        assert_eq!(nearest("roll_center_front", keys), Some("roll_centre_front"));
        assert_eq!(nearest("gearbox", keys), None);
        assert_eq!(nearest("tank", ["fuel tank with pump", "fuel tank"]), Some("fuel tank"));
        assert_eq!(nearest("Tank fuel", ["fuel tank"]), Some("fuel tank"));
        assert_eq!(nearest("engin bay", ["engine bay", "bay"]), Some("engine bay"));
        assert_eq!(nearest("wheelbase", ["chassis.wheelbase"]), Some("chassis.wheelbase"));
        assert_eq!(nearest("of", ["mass of it"]), None);
        assert_eq!(listed(["a", "b"]), "a, b");
        assert!(listed(std::iter::repeat_n("x", 30)).ends_with("x and 6 more"));
        assert_eq!(nearest("", keys), None);
        assert_eq!(nearest("x", ["y", "m"]), None);
        assert_eq!(nearest("mn", ["in", "mm"]), Some("mm"));
        assert_eq!(nearest(&"w".repeat(1_000_000), keys), None);
    }
}
