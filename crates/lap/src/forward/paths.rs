//! The ways that labels have come, and the profile that one of them makes.

use std::sync::Arc as Shared;

use crate::forward::labels::NONE;
use crate::forward::profile::{Piece, Profile, State};

/// A mark on a label's way.
#[derive(Clone, Copy)]
pub enum Mark {
    /// A cell begins in this state.
    Station(State),
    /// A stretch of the profile, and the time it takes, s.
    Piece(Piece, f64),
}

/// The ways of all labels, as a tree: each mark knows the one before it.
#[derive(Default)]
pub struct Paths(Vec<(Mark, u32)>);

impl Paths {
    /// Room for so many.
    pub fn with_capacity(marks: usize) -> Self {
        Self(Vec::with_capacity(marks))
    }

    /// One more mark on a way; returns the way's new end.
    pub fn push(&mut self, before: u32, mark: Mark) -> u32 {
        self.0.push((mark, before));
        self.0.len() as u32 - 1
    }

    /// A way backwards from its end.
    pub fn back(&self, end: u32) -> impl Iterator<Item = (u32, Mark)> {
        let mut at = end;
        std::iter::from_fn(move || {
            let &(mark, before) = self.0.get(at as usize)?;
            Some((std::mem::replace(&mut at, before), mark))
        })
    }

    /// Whether the way to `end` leads through `mark`.
    pub fn descends(&self, end: u32, mark: u32) -> bool {
        // Marks are numbered in the order in which they were made.
        mark == NONE || self.back(end).take_while(|&(at, _)| at >= mark).any(|(at, _)| at == mark)
    }

    /// The profile, still without its steps, of the last `n` cells of a way given backwards; it ends before cell `next`, in
    /// `state`.
    pub fn profile(way: impl Iterator<Item = Mark>, n: usize, next: usize, state: State) -> Profile {
        let mut marks = Vec::with_capacity(3 * n);
        let mut stations = 0;
        for mark in way {
            marks.push(mark);
            stations += usize::from(matches!(mark, Mark::Station(_)));
            if stations == n {
                break;
            }
        }
        let mut pieces = Vec::with_capacity(marks.len());
        let (mut within, mut states, mut times) = (vec![0..0; n], vec![state; n + 1], vec![0.0; n]);
        let mut cell = (next + n - 1) % n;
        for mark in marks.into_iter().rev() {
            match mark {
                Mark::Station(state) => {
                    cell = (cell + 1) % n;
                    states[cell] = state;
                    within[cell] = pieces.len()..pieces.len();
                }
                Mark::Piece(piece, time) => {
                    pieces.push(piece);
                    times[cell] += time;
                }
            }
            within[cell].end = pieces.len();
        }
        Profile { steps: Shared::default(), pieces, within, times, states, first: next, unsettled: false }
    }
}
