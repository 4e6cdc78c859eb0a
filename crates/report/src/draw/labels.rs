//! Labels beside each other: spread so that none covers another, and the row of place names over a chart.

use crate::draw::look::{INK_SOFT, LABEL, RULE, SMALL, stroke};
use crate::draw::measure::font::Face;
use crate::draw::svg::{Anchor, Canvas, Text, label};

/// The positions nearest to `wanted` (least squares, order kept) that are at least `gap` apart and inside `from..to`.
/// Where there is no room for that gap, it shrinks.
pub fn spread(wanted: &[f64], gap: f64, from: f64, to: f64) -> Vec<f64> {
    let n = wanted.len();
    let gap = if n > 1 { gap.min((to - from).max(0.0) / (n - 1) as f64) } else { 0.0 };
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|a, b| wanted[*a].total_cmp(&wanted[*b]));
    // With i·gap taken off, "apart" becomes "not falling": pool neighbours that fall (isotonic regression).
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (i, k) in order.iter().enumerate() {
        let mut pool = (wanted[*k] - i as f64 * gap, 1);
        while let Some(last) = pools.last().copied().filter(|last| last.0 > pool.0) {
            let count = last.1 + pool.1;
            pool = ((last.0 * last.1 as f64 + pool.0 * pool.1 as f64) / count as f64, count);
            pools.pop();
        }
        pools.push(pool);
    }
    let most = (to - gap * n.saturating_sub(1) as f64).max(from);
    let flat = pools.into_iter().flat_map(|(at, count)| std::iter::repeat_n(at.clamp(from, most), count));
    let mut out = vec![0.0; n];
    for (i, (k, at)) in order.into_iter().zip(flat).enumerate() {
        out[k] = at + i as f64 * gap;
    }
    out
}

/// A name and the stretch of the x axis that it belongs to, px.
#[derive(Clone, Copy, Debug)]
pub struct Span<'a> {
    /// The name.
    pub name: &'a str,
    /// Where it starts, px.
    pub from: f64,
    /// Where it ends, px.
    pub to: f64,
}

/// Names over a chart, laid out but not drawn.
#[derive(Clone, Debug)]
pub struct Names {
    placed: Vec<Placed>,
    upright: bool,
    /// Height that they take, px.
    pub height: f64,
    /// How many found no room.
    pub dropped: usize,
}

#[derive(Clone, Debug)]
struct Placed {
    words: String,
    middle: f64,
    x: f64,
    half: f64,
    row: usize,
}

const ROW: f64 = 16.0;
const MOST_ROWS: usize = 4;
const WIDEST: f64 = 170.0;
const TALLEST: f64 = 118.0;
const PITCH: f64 = 12.5;
const LEADER: f64 = 9.0;
/// Between names in a row, px.
const GAP: f64 = 10.0;

impl Names {
    /// In one to four rows, or upright where there are too many for that; the shortest stretches lose their names last
    /// of all.
    pub fn plan(spans: &[Span], left: f64, right: f64) -> Names {
        if spans.is_empty() {
            return Names { placed: Vec::new(), upright: false, height: 0.0, dropped: 0 };
        }
        let rows = (1..=MOST_ROWS).find_map(|rows| in_rows(spans, left, right, rows).map(|p| (rows, p)));
        match rows {
            Some((rows, placed)) => Names { placed, upright: false, height: rows as f64 * ROW + 4.0, dropped: 0 },
            None => upright(spans, left, right),
        }
    }

    /// Draws them above `bottom`, px.
    pub fn draw(&self, canvas: &mut Canvas, bottom: f64) {
        canvas.part("names", |canvas| {
            for p in &self.placed {
                let foot = if self.upright { bottom - LEADER } else { bottom - 3.0 - p.row as f64 * ROW };
                if self.upright {
                    canvas.line(&[(p.middle, bottom - 1.0), (p.x, foot + 1.0)], stroke(RULE, 0.8));
                } else if p.row > 0 {
                    canvas.line(&[(p.middle, bottom - 1.0), (p.middle, foot)], stroke(RULE, 0.8));
                }
            }
            for p in &self.placed {
                let text = if self.upright {
                    let at = (p.x + 0.33 * SMALL, bottom - LEADER - 1.0);
                    Text { angle: -90.0, size: SMALL, ..label(&p.words, at) }
                } else {
                    let at = (p.x, bottom - 6.0 - p.row as f64 * ROW);
                    Text { anchor: Anchor::Middle, ..label(&p.words, at) }
                };
                canvas.text(Text { colour: INK_SOFT, ..text });
            }
        });
    }
}

/// Places tried before names are set upright.
const BUDGET: usize = 4000;

fn in_rows(spans: &[Span], left: f64, right: f64, rows: usize) -> Option<Vec<Placed>> {
    let measured = |span: &Span| {
        let words = Face::Regular.fit(span.name, LABEL, WIDEST.min(right - left));
        let half = 0.5 * Face::Regular.width(&words, LABEL);
        let middle = 0.5 * (span.from + span.to);
        Placed { words, middle, x: middle, half, row: 0 }
    };
    let wanted: Vec<Placed> = spans.iter().map(measured).collect();
    if wanted.iter().map(|p| 2.0 * p.half + GAP).sum::<f64>() > rows as f64 * (right - left + GAP) {
        return None;
    }
    let mut search = Search { wanted, left, right, rows, placed: Vec::new(), budget: BUDGET };
    search.rest().then_some(search.placed)
}

/// Names from left to right, each in the first place that suits those before it; back by one where none does.
struct Search {
    wanted: Vec<Placed>,
    left: f64,
    right: f64,
    rows: usize,
    placed: Vec<Placed>,
    budget: usize,
}

impl Search {
    fn rest(&mut self) -> bool {
        let Some(Placed { words, middle, half, .. }) = self.wanted.get(self.placed.len()).cloned() else { return true };
        // Over its middle if it can be in any row; else to one side, but still above it.
        for shift in [0.0, -0.4, 0.4, -0.8, 0.8] {
            let x = (middle + shift * half).clamp(self.left + half, (self.right - half).max(self.left + half));
            for row in 0..self.rows {
                if self.budget == 0 {
                    return false;
                }
                self.budget -= 1;
                let new = Placed { words: words.clone(), middle, x, half, row };
                if self.placed.iter().rev().all(|p| new.suits(p)) {
                    self.placed.push(new);
                    if self.rest() {
                        return true;
                    }
                    self.placed.pop();
                }
            }
        }
        false
    }
}

impl Placed {
    /// Side by side, and neither's leader through the other.
    fn suits(&self, other: &Placed) -> bool {
        let (upper, lower) = if self.row > other.row { (self, other) } else { (other, self) };
        if upper.row == lower.row {
            (upper.x - lower.x).abs() >= upper.half + lower.half + GAP
        } else {
            (lower.x - upper.middle).abs() >= lower.half + 3.0
        }
    }
}

fn upright(spans: &[Span], left: f64, right: f64) -> Names {
    let room = ((right - left) / PITCH).floor() as usize + 1;
    let mut kept: Vec<&Span> = spans.iter().collect();
    if kept.len() > room {
        kept.sort_by(|a, b| (b.to - b.from).total_cmp(&(a.to - a.from)));
        kept.truncate(room);
    }
    let middles: Vec<f64> = kept.iter().map(|s| 0.5 * (s.from + s.to)).collect();
    let xs = spread(&middles, PITCH, left, right);
    let place = |((span, middle), x): ((&&Span, &f64), f64)| {
        let words = Face::Regular.fit(span.name, SMALL, TALLEST);
        let half = 0.5 * Face::Regular.width(&words, SMALL);
        Placed { words, middle: *middle, x, half, row: 0 }
    };
    let placed: Vec<Placed> = kept.iter().zip(&middles).zip(xs).map(place).collect();
    let longest = placed.iter().map(|p| 2.0 * p.half).fold(0.0, f64::max);
    Names { dropped: spans.len() - placed.len(), placed, upright: true, height: longest + LEADER + 6.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn closed_form_spread_leaves_what_has_room_and_centres_what_has_not() {
        assert_eq!(spread(&[10.0, 50.0], 5.0, 0.0, 100.0), [10.0, 50.0]);
        assert_eq!(spread(&[50.0, 50.0], 10.0, 0.0, 100.0), [45.0, 55.0]);
        assert_eq!(spread(&[99.0, 98.0], 10.0, 0.0, 100.0), [100.0, 90.0]);
        assert_eq!(spread(&[], 10.0, 0.0, 100.0), [0.0; 0]);
    }

    proptest! {
        #[test]
        fn property_spread_keeps_order_gap_and_limits(
            wanted in proptest::collection::vec(-50.0..150.0f64, 1..40), gap in 0.0..30.0f64,
        ) {
            let out = spread(&wanted, gap, 0.0, 100.0);
            let mut pairs: Vec<_> = wanted.iter().zip(&out).collect();
            pairs.sort_by(|a, b| a.0.total_cmp(b.0));
            let gap = if wanted.len() > 1 { gap.min(100.0 / (wanted.len() - 1) as f64) } else { 0.0 };
            prop_assert!(out.iter().all(|x| (-1e-9..=100.0 + 1e-9).contains(x)));
            let mut xs = out.clone();
            xs.sort_by(f64::total_cmp);
            prop_assert!(xs.windows(2).all(|w| w[1] - w[0] >= gap - 1e-9));
            prop_assert!(pairs.windows(2).all(|w| w[0].0 == w[1].0 || w[1].1 >= w[0].1));
        }

        #[test]
        fn property_names_never_cover_each_other(count in 1usize..120, letters in 1usize..60) {
            let name = "Maximilianskurve ".repeat(4)[..letters].to_owned();
            let width = 900.0 / count as f64;
            let span = |i: usize| Span { name: &name, from: 50.0 + i as f64 * width, to: 50.0 + (i as f64 + 0.8) * width };
            let spans: Vec<_> = (0..count).map(span).collect();
            let names = Names::plan(&spans, 50.0, 950.0);
            prop_assert_eq!(names.placed.len() + names.dropped, count);
            for (i, a) in names.placed.iter().enumerate() {
                for b in names.placed[..i].iter().filter(|b| b.row == a.row) {
                    let least = if names.upright { SMALL } else { a.half + b.half };
                    prop_assert!((a.x - b.x).abs() >= least - 1e-9);
                }
            }
        }
    }
}
