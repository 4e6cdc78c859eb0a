//! Long random runs in fixed parts: one part each run, all of them by one setting.
//!
//! `UNLADEN_TEST_PARTS=3` takes part 3 (of however many a test has: the remainder counts), `UNLADEN_TEST_PARTS=all`
//! every part; without it the first one is taken. `tests/run` takes the next part at each commit.

use std::ops::Range;

const PARTS: &str = "UNLADEN_TEST_PARTS";

/// The seeds of this run: one of `parts` equal parts of `all`, or all. Says which, and how to take them again.
pub fn seeds(all: Range<u64>, parts: u64) -> Range<u64> {
    let wish = std::env::var(PARTS).unwrap_or_default();
    let taken = chosen(all.clone(), parts, &wish).unwrap_or_else(|| panic!("{PARTS}={wish}: a number or `all` is due"));
    let part = if taken == all {
        "all".into()
    } else {
        ((taken.start - all.start) * parts / (all.end - all.start)).to_string()
    };
    println!("seeds {taken:?} of {all:?}: {PARTS}={part} takes them again");
    taken
}

/// Whether test `k` of `of` long ones that take turns is due in this run.
pub fn due(k: u64, of: u64) -> bool {
    seeds(0..of, of).contains(&k)
}

fn chosen(all: Range<u64>, parts: u64, wish: &str) -> Option<Range<u64>> {
    let part = match wish {
        "all" => return Some(all),
        "" => 0,
        number => number.parse::<u64>().ok()? % parts,
    };
    let count = all.end - all.start;
    let end = |part: u64| all.start + (count * part).div_ceil(parts);
    Some(end(part)..end(part + 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn property_parts_make_the_whole() {
        for (count, parts) in [(10, 1), (10, 3), (400, 8), (7, 7), (5, 10)] {
            let part = |i: u64| chosen(100..100 + count, parts, &i.to_string()).unwrap();
            let all: Vec<u64> = (0..parts).flat_map(part).collect();
            assert_eq!(all, (100..100 + count).collect::<Vec<_>>());
            assert_eq!((part(parts + 2), chosen(100..100 + count, parts, "all").unwrap()), (part(2), 100..100 + count));
            // What is printed takes the same seeds again.
            for i in 0..parts {
                assert!(part(i).is_empty() || part((part(i).start - 100) * parts / count) == part(i));
            }
        }
    }

    #[test]
    fn bad_input_no_part() {
        assert_eq!([chosen(0..9, 3, "-1"), chosen(0..9, 3, "ALL")], [None, None]);
    }
}
