//! The road on a map and the words beside it: what the map of speed and the map of time gained share.

use unladen_track::Pose;

use crate::draw::look::{INK, LABEL, PAPER, Paper, RULE, SMALL, stroke};
use crate::draw::measure::font::Face;
use crate::draw::place_labels::{Box2, Room, Spot};
use crate::draw::svg::{Anchor, Canvas, Point, Text, centred, label, small};
use crate::lap::place::Place;
use crate::lap::plan::{Fitted, resampled};

/// Room for labels round the plan, beside and above, px; broad and narrow.
const SIDE: [f64; 2] = [110.0, 44.0];
const ABOVE: [f64; 2] = [44.0, 34.0];
const TALLEST: [f64; 2] = [560.0, 380.0];
const FOOT: [f64; 2] = [62.0, 122.0];
/// Longest name.
const WIDEST: [f64; 2] = [150.0, 96.0];
/// More names than this are not even tried, the lightest first.
const MOST_NAMES: usize = 120;

/// The road laid out on a sheet.
pub(crate) struct Sheet {
    /// Height of the picture, px.
    pub height: f64,
    /// Where key and scale go, px.
    pub foot: f64,
    /// px a metre.
    pub scale: f64,
    /// Its points.
    pub plan: Vec<Pose>,
    /// The same, px.
    pub road: Vec<Point>,
    /// A circuit.
    pub closed: bool,
    length_m: f64,
    bounds: Box2,
    widest: f64,
}

impl Sheet {
    /// Beneath a header of this height.
    pub fn new(plan: &[Pose], closed: bool, length_m: f64, header: f64, paper: Paper) -> Sheet {
        let of = |[broad, narrow]: [f64; 2]| paper.of(broad, narrow);
        let (width, above, foot) = (paper.width, of(ABOVE), of(FOOT));
        let fitted = Fitted::new(plan, width - 2.0 * of(SIDE), of(TALLEST));
        let top = header + above;
        let height = top + fitted.size.1 + above + foot;
        let left = 0.5 * (width - fitted.size.0);
        let plan = resampled(plan, 3.0 / fitted.scale);
        let road: Vec<Point> = plan.iter().map(|p| fitted.at(p)).map(|(x, y)| (left + x, top + y)).collect();
        let bounds = Box2 {
            centre: (0.5 * width, 0.5 * (header + height - foot)),
            half: (0.5 * width - 4.0, 0.5 * (height - foot - header) - 2.0),
        };
        let (foot, widest) = (height - foot + paper.of(18.0, 32.0), of(WIDEST));
        Sheet { height, foot, scale: fitted.scale, plan, road, closed, length_m, bounds, widest }
    }

    /// Does the circuit as measured close, within a road's width?
    pub fn meets(&self, width: f64) -> bool {
        let (first, last) = (self.road[0], self.road[self.road.len() - 1]);
        self.closed && (last.0 - first.0).hypot(last.1 - first.1) <= width
    }

    /// A thin line across what a circuit as measured leaves open.
    pub fn bridge(&self, canvas: &mut Canvas, width: f64) {
        if self.closed && !self.meets(width) {
            canvas.line(&[self.road[self.road.len() - 1], self.road[0]], stroke(RULE, 1.2));
        }
    }

    /// Stretches of one shade as ranges of the road's points; each shares a piece with the next, so that no gap shows.
    pub fn runs<T: PartialEq + Copy>(&self, shade: impl Fn(usize) -> T) -> Vec<(std::ops::Range<usize>, T)> {
        let n = self.road.len();
        let mut all = Vec::new();
        let mut start = 0;
        for i in 1..=n {
            let here = shade(start);
            if i == n || shade(i) != here {
                all.push((start..(i + 2).min(n), here));
                start = i;
            }
        }
        all
    }

    /// Room for words off a road of this width.
    pub fn room(&self, width: f64) -> Room {
        Room::new(self.bounds, self.road.clone(), 0.5 * width + 2.0)
    }

    /// The point of the road at a distance, m.
    pub fn index_at(&self, s: f64) -> usize {
        self.plan.partition_point(|p| p.s < s).min(self.plan.len() - 1)
    }

    /// Bars across the road at start and finish, and arrows that show the way round; returns where labels must not go.
    pub fn draw_marks(&self, canvas: &mut Canvas) -> Vec<Box2> {
        const BAR: f64 = 11.0;
        let (road, length) = (&self.road, self.length_m);
        let ends = if self.closed { vec![0] } else { vec![0, road.len() - 1] };
        // The first arrow some px behind the start, two more where the road is straight.
        let first = self.index_at(0.0) + 7.min(road.len() / 5);
        let later = [length / 3.0, length / 1.5].map(|s| straightest(road, self.index_at(s), road.len() / 16));
        canvas.part("marks", |canvas| {
            for i in &ends {
                let (p, (dx, dy)) = (road[*i], heading(road, *i));
                for (colour, width, reach) in [(PAPER, 5.5, BAR + 1.0), (INK, 3.0, BAR)] {
                    let (nx, ny) = (-dy * reach, dx * reach);
                    canvas.line(&[(p.0 - nx, p.1 - ny), (p.0 + nx, p.1 + ny)], stroke(colour, width));
                }
            }
            for i in [first, later[0], later[1]] {
                let (p, (dx, dy)) = (road[i], heading(road, i));
                let corner = |along: f64, across: f64| (p.0 + along * dx - across * dy, p.1 + along * dy + across * dx);
                let arrow = [corner(9.0, 0.0), corner(-6.0, 7.5), corner(-6.0, -7.5)];
                canvas.ring(&arrow, stroke(PAPER, 2.4));
                canvas.fill(&arrow, INK, 1.0);
            }
        });
        let taken = |i: usize, half: f64| Box2 { centre: road[i], half: (half, half) };
        let arrows = [first, later[0], later[1]].map(|i| taken(i, 5.0));
        ends.into_iter().map(|i| taken(i, BAR - 2.0)).chain(arrows).collect()
    }

    /// Writes them where there is room, with start and finish, the heaviest first; returns how many had none.
    pub fn draw_words(&self, canvas: &mut Canvas, mut wanted: Vec<Words>, size: f64, room: &mut Room) -> usize {
        let road = &self.road;
        let line =
            |name: &str, at| Words { name: name.into(), figure: String::new(), face: Face::Semibold, at, weight: 1e9 };
        if self.closed {
            wanted.push(line("start and finish", 0));
        } else {
            wanted.push(line("start", 0));
            wanted.push(line("finish", road.len() - 1));
        }
        wanted.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        let mut dropped = wanted.len().saturating_sub(MOST_NAMES);
        wanted.truncate(MOST_NAMES);
        let mut placed: Vec<(Spot, Words)> = Vec::new();
        for w in wanted {
            let space = if w.figure.is_empty() { 0.0 } else { 5.0 + Face::Regular.width(&w.figure, SMALL) };
            let half = (0.5 * (w.face.width(&w.name, size) + space), 0.5 * size);
            match room.place(road[w.at], outward(road, w.at), half) {
                Some(spot) => placed.push((spot, w)),
                None => dropped += 1,
            }
        }
        canvas.part("places", |canvas| {
            for (from, to) in placed.iter().filter_map(|(spot, _)| spot.leader) {
                canvas.line(&[from, to], stroke(RULE, 0.9));
            }
            for (spot, w) in &placed {
                let (left, base) = (spot.area.centre.0 - spot.area.half.0, spot.area.centre.1 + centred(size));
                canvas.text(Text { size, face: w.face, colour: INK, ..label(&w.name, (left, base)) });
                let end = (spot.area.centre.0 + spot.area.half.0, base);
                if !w.figure.is_empty() {
                    canvas.text(Text { anchor: Anchor::End, ..small(&w.figure, end) });
                }
            }
        });
        dropped
    }
}

/// Words at a point of the road.
pub(crate) struct Words {
    /// The first part.
    pub name: String,
    /// The second part, in a smaller face; may be empty.
    pub figure: String,
    /// Of the first.
    pub face: Face,
    /// Where: a point of the road.
    pub at: usize,
    /// The heaviest get their room first.
    pub weight: f64,
}

impl Words {
    /// A place's name and a figure at its middle.
    pub fn of(place: &Place, figure: String, size: f64, weight: f64, sheet: &Sheet) -> Words {
        let middle = (place.start_m + 0.5 * place.length_m) % sheet.length_m.max(1e-9);
        Words {
            name: Face::Regular.fit(&place.name, size, sheet.widest),
            figure,
            face: Face::Regular,
            at: sheet.index_at(middle),
            weight,
        }
    }
}

/// Letters of a map with this many names.
pub(crate) fn letters(names: usize) -> f64 {
    if names > 24 { SMALL } else { LABEL }
}

/// Direction of the road at a point of the plan.
fn heading(road: &[Point], i: usize) -> Point {
    let (a, b) = (road[i.saturating_sub(2)], road[(i + 2).min(road.len() - 1)]);
    let length = (b.0 - a.0).hypot(b.1 - a.1).max(1e-9);
    ((b.0 - a.0) / length, (b.1 - a.1) / length)
}

/// Where near `i` the road bends least: an arrow reads best there.
fn straightest(road: &[Point], i: usize, reach: usize) -> usize {
    let bend = |k: usize| {
        let (a, b) = (heading(road, k.saturating_sub(5)), heading(road, (k + 5).min(road.len() - 1)));
        // To three digits: of equally straight points the nearest is taken.
        ((1.0 - a.0 * b.0 - a.1 * b.1) * 1e3).round() as i64
    };
    let near = i.saturating_sub(reach.min(i))..=(i + reach).min(road.len() - 1);
    near.min_by_key(|k| (bend(*k), k.abs_diff(i))).unwrap_or(i)
}

/// To the outside of a bend; on a straight away from the middle of the map.
fn outward(road: &[Point], i: usize) -> Point {
    let step = 8.min(road.len().saturating_sub(1));
    let (a, p, b) = (road[i.saturating_sub(step)], road[i], road[(i + step).min(road.len() - 1)]);
    let bend = (p.0 - 0.5 * (a.0 + b.0), p.1 - 0.5 * (a.1 + b.1));
    if bend.0.hypot(bend.1) > 0.4 {
        return bend;
    }
    let n = road.len() as f64;
    let middle = road.iter().fold((0.0, 0.0), |m, p| (m.0 + p.0 / n, m.1 + p.1 / n));
    let (dx, dy) = heading(road, i);
    let side = (p.0 - middle.0) * -dy + (p.1 - middle.1) * dx;
    if side >= 0.0 { (-dy, dx) } else { (dy, -dx) }
}
