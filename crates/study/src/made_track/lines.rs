//! Tracks of the lines that positions do not rule out.

use unladen_positions::Line;
use unladen_track::Track;

use crate::threads::each;

/// A line of positions as tracks: itself, and others that these positions might be of.
#[derive(Clone, Debug)]
pub struct Lines {
    /// The line itself, a segment from node to node.
    pub fine: Track,
    /// Lines off to one side and as far to the other, as likely as the positions leave them.
    pub bends: Vec<[Track; 2]>,
    /// The line with heights off one way and as far the other, where there are heights.
    pub climbs: Vec<[Track; 2]>,
    /// Whether instruments said how the line bends, a yaw rate or a lateral acceleration.
    pub instruments: bool,
}

impl Lines {
    /// So many pairs, seeds 1, 2, …; all else is `track`'s. `None` where the line itself makes no track.
    pub fn of(line: &Line, track: &Track, pairs: usize) -> Option<Self> {
        let made = |line: &Line| {
            let made = Track { segments: line.build_finely(), ..track.clone() };
            made.check().is_empty().then_some(made)
        };
        let fine = made(line)?;
        let bends = |seed: u64| Some([made(&line.drawn(seed)?)?, made(&line.drawn_against(seed)?)?]);
        let climbs = |seed: u64| {
            let [up, down] = line.climbing(seed)?;
            Some([made(&up)?, made(&down)?])
        };
        Some(Self {
            fine,
            bends: each(pairs, |i| bends(i as u64 + 1)).into_iter().flatten().collect(),
            climbs: each(pairs, |i| climbs(i as u64 + 1)).into_iter().flatten().collect(),
            instruments: line.turns > 0,
        })
    }
}
