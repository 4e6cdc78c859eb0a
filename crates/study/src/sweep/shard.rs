//! The parts that a table of work falls into, for as many machines.

use std::fmt;
use std::ops::Range;
use std::str::FromStr;

/// The k-th of n parts, counted from 1; parts differ by one cell at most.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shard {
    k: u64,
    n: u64,
}

impl Shard {
    /// `None` unless 1 ≤ k ≤ n.
    pub fn new(k: u64, n: u64) -> Option<Self> {
        (1..=n).contains(&k).then_some(Self { k, n })
    }

    /// All of them, in order.
    pub fn all(n: u64) -> impl Iterator<Item = Self> {
        (1..=n).map(move |k| Self { k, n })
    }

    /// Which one, from 1.
    pub fn which(self) -> u64 {
        self.k
    }

    /// How many there are.
    pub fn of(self) -> u64 {
        self.n
    }

    /// Its cells.
    pub fn range(self, cells: u64) -> Range<u64> {
        // Of 128 bits, so that no product is too large.
        let end = |k: u64| (u128::from(cells) * u128::from(k) / u128::from(self.n)) as u64;
        end(self.k - 1)..end(self.k)
    }
}

/// `3/8`.
impl fmt::Display for Shard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.k, self.n)
    }
}

/// A text that names no part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("K/N is due, the K-th of N parts, K from 1 to N: 3/8")]
pub struct NoShard;

impl FromStr for Shard {
    type Err = NoShard;

    fn from_str(text: &str) -> Result<Self, NoShard> {
        let (k, n) = text.split_once('/').ok_or(NoShard)?;
        let number = |text: &str| text.trim().parse::<u64>().map_err(|_| NoShard);
        Self::new(number(k)?, number(n)?).ok_or(NoShard)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn closed_form_ten_cells_in_three_parts() {
        let parts: Vec<_> = Shard::all(3).map(|shard| shard.range(10)).collect();
        assert_eq!(parts, [0..3, 3..6, 6..10]);
        assert_eq!("3/8".parse::<Shard>().map(|s| (s.which(), s.of(), s.to_string())), Ok((3, 8, "3/8".into())));
        let last = Shard::new(u64::MAX, u64::MAX).unwrap();
        assert_eq!(last.range(u64::MAX), u64::MAX - 1..u64::MAX);
    }

    proptest! {
        #[test]
        fn property_parts_make_the_whole(cells in 0u64..100_000, n in 1u64..500) {
            let mut end = 0;
            for shard in Shard::all(n) {
                let range = shard.range(cells);
                prop_assert_eq!(range.start, end);
                prop_assert!((cells / n..=cells.div_ceil(n)).contains(&(range.end - range.start)));
                end = range.end;
            }
            prop_assert_eq!(end, cells);
        }
    }

    #[test]
    fn bad_input_parts_that_are_none() {
        for text in ["", "3", "0/8", "9/8", "-1/8", "1/0", "1/8/2", "a/b", "1.5/8", "1/99999999999999999999"] {
            assert_eq!(text.parse::<Shard>(), Err(NoShard), "{text}");
        }
    }
}
