//! Rows of a ledger on the kilogram map: what comes off, goes on and moves, done and planned, as circles by mass.

use crate::draw::look::{INK, INK_SOFT, PAPER, Paper, SMALL, stroke};
use crate::draw::measure::font::Face;
use crate::draw::place_labels::{Box2, Room};
use crate::draw::svg::{Anchor, Canvas, Point, Text, centred, small};
use crate::words::number::{fixed, signed};
use crate::worth::kilogram::{Cost, View};
use unladen_vehicle::entry::State;

/// A row.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Its name.
    pub name: String,
    /// What comes off: kg, and where it was, m.
    pub off: Option<(f64, [f64; 3])>,
    /// What goes on.
    pub on: Option<(f64, [f64; 3])>,
    /// Done, planned, or no more than an idea.
    pub state: State,
    /// Some of it turns: its kilograms are not all that it costs.
    pub turns: bool,
}

/// Nearer than this a swap is drawn as one circle, m.
const SAME_PLACE: f64 = 0.06;

/// What is drawn of a row: kg, where, and whether it goes on.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Spot {
    kg: f64,
    at: [f64; 3],
    on: bool,
}

impl Item {
    /// Where its parts were and will be.
    pub fn places(&self) -> impl Iterator<Item = [f64; 3]> {
        [self.off, self.on].into_iter().flatten().map(|(_, at)| at)
    }

    /// Change of the car's mass, kg.
    pub fn change_kg(&self) -> f64 {
        self.on.map_or(0.0, |o| o.0) - self.off.map_or(0.0, |o| o.0)
    }

    fn moved(&self) -> Option<([f64; 3], [f64; 3])> {
        let ((_, a), (_, b)) = self.off.zip(self.on)?;
        let far = (0..3).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt();
        (far > SAME_PLACE).then_some((a, b))
    }

    fn spots(&self) -> Vec<Spot> {
        match (self.off, self.on) {
            (Some((off, at)), Some((on, _))) if self.moved().is_none() => {
                vec![Spot { kg: (off - on).abs(), at, on: on > off }]
            }
            (off, on) => {
                let spot = |part: Option<(f64, [f64; 3])>, on| part.map(|(kg, at)| Spot { kg, at, on });
                spot(off, false).into_iter().chain(spot(on, true)).collect()
            }
        }
    }

    fn weight(&self) -> f64 {
        self.spots().iter().map(|s| s.kg).fold(0.0, f64::max)
    }

    /// Seconds a lap that it gains where it sits, by the slope; none where some of it turns.
    pub fn gain_s(&self, cost: &Cost) -> Option<f64> {
        let side = |part: Option<(f64, [f64; 3])>| part.map_or(0.0, |(kg, at)| kg * cost.s_per_kg(at));
        (!self.turns).then(|| side(self.off) - side(self.on))
    }

    /// `−10.4 kg`, `6.1 kg moved`.
    fn kilograms(&self) -> String {
        let change = self.change_kg();
        if change.abs() < 0.05 {
            format!("{} kg moved", fixed(self.weight(), 1))
        } else {
            format!("{} kg", signed(&fixed(change, 1)).replace('-', "−"))
        }
    }

    /// `0.12 s quicker`, `4 ms slower`.
    fn seconds(&self, cost: &Cost) -> String {
        let Some(gain) = self.gain_s(cost) else { return "turns: see the ranking".to_owned() };
        let (size, way) = (gain.abs(), if gain > 0.0 { "quicker" } else { "slower" });
        if size < 5e-5 {
            "no difference".to_owned()
        } else if size < 0.0995 {
            format!("{} ms {way}", fixed(1e3 * size, usize::from(size < 0.00995)))
        } else {
            format!("{} s {way}", fixed(size, 2))
        }
    }

    /// `bonnet −10.4 kg: 0.12 s quicker`.
    pub fn finding(&self, cost: &Cost) -> String {
        format!("{} {}: {}", self.name, self.kilograms(), self.seconds(cost))
    }

    fn words(&self, cost: &Cost) -> String {
        Item { name: Face::Regular.fit(&self.name, SMALL, WIDEST), ..self.clone() }.finding(cost)
    }
}

/// Names longer than this are cut, px.
const WIDEST: f64 = 150.0;
/// So many are named in each view.
const NAMED: usize = 9;

/// Heaviest first: what lies beneath what.
fn by_weight(items: &[Item]) -> Vec<&Item> {
    let mut order: Vec<&Item> = items.iter().collect();
    order.sort_by(|a, b| b.weight().total_cmp(&a.weight()));
    order
}

/// In the order in which they are named: what is planned is what is still to be decided.
fn by_rank(items: &[Item]) -> Vec<&Item> {
    let rank = |item: &Item| item.weight() * if item.state == State::Done { 0.5 } else { 1.0 };
    let mut order: Vec<&Item> = items.iter().collect();
    order.sort_by(|a, b| rank(b).total_cmp(&rank(a)));
    order
}

/// How large a circle is.
#[derive(Clone, Copy, Debug)]
pub struct Marks {
    /// px a root of kg.
    per_root_kg: f64,
    /// They have numbers, and their names stand beneath.
    numbered: bool,
}

impl Marks {
    /// By the car's mass, so that a kart's parts can be seen and a lorry's have room.
    pub fn of(car_kg: f64, paper: Paper) -> Marks {
        Marks { per_root_kg: paper.of(94.0, 56.0) / car_kg.max(1.0).sqrt(), numbered: paper.narrow() }
    }

    /// Radius of a mass, px.
    pub fn radius(&self, kg: f64) -> f64 {
        (self.per_root_kg * kg.max(0.0).sqrt()).clamp(1.8, 34.0)
    }
}

/// Draws them into both views; each is named in the one that tells more of where it is. `edges` are what names keep off: the
/// outline and the wheels of each view.
pub fn draw_items(
    canvas: &mut Canvas,
    views: &[View; 2],
    items: &[Item],
    marks: &Marks,
    centre: [f64; 3],
    cost: &Cost,
    edges: &[Vec<Point>; 2],
) {
    let order = by_weight(items);
    // Far off the middle: from above.
    let from_above = |item: &Item| item.places().any(|at| (at[1] - centre[1]).abs() > 0.2);
    for (i, view) in views.iter().enumerate() {
        canvas.part("items", |canvas| {
            for item in &order {
                draw(canvas, view, item, marks, cost);
            }
            let most = if marks.numbered { LISTED } else { usize::MAX };
            let own =
                by_rank(items).into_iter().take(most).enumerate().filter(|(_, item)| from_above(item) == (i == 1));
            let words: Vec<(&Item, String)> = own
                .take(if marks.numbered { LISTED } else { NAMED })
                .map(|(k, item)| (item, if marks.numbered { (k + 1).to_string() } else { item.words(cost) }))
                .collect();
            names(canvas, view, &words, &order, marks, centre, &edges[i]);
        });
    }
}

fn draw(canvas: &mut Canvas, view: &View, item: &Item, marks: &Marks, cost: &Cost) {
    if let Some((a, b)) = item.moved() {
        arrow(canvas, view.place(a), view.place(b), marks.radius(item.on.map_or(0.0, |o| o.0)));
    }
    for spot in item.spots() {
        // On the colour of its own place, which off the middle is not that of the section it is drawn on.
        let r = marks.radius(spot.kg);
        canvas.disc(view.place(spot.at), r + 3.4, cost.colour(spot.at));
        mark(canvas, view.place(spot.at), r, item.state, spot.on);
    }
}

/// Open: done. Full: planned. Full within a ring: an idea. With a cross: goes on.
fn mark(canvas: &mut Canvas, at: Point, r: f64, state: State, on: bool) {
    canvas.disc(at, r + 1.2, PAPER);
    canvas.disc(at, r, INK);
    if state != State::Planned {
        canvas.disc(at, (r - 1.3).max(0.4), PAPER);
    }
    if state == State::Idea {
        canvas.disc(at, (r - 3.6).max(0.5), INK);
    }
    let (cross, width) = if state == State::Done { (INK, 1.2) } else { (PAPER, 1.6) };
    if on && r > 3.0 {
        let arm = 0.52 * r;
        canvas.line(&[(at.0 - arm, at.1), (at.0 + arm, at.1)], stroke(cross, width));
        canvas.line(&[(at.0, at.1 - arm), (at.0, at.1 + arm)], stroke(cross, width));
    }
}

fn arrow(canvas: &mut Canvas, a: Point, b: Point, r: f64) {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let long = dx.hypot(dy);
    if long < r + 6.0 {
        return;
    }
    let (u, v) = (dx / long, dy / long);
    let tip = (b.0 - (r + 2.0) * u, b.1 - (r + 2.0) * v);
    canvas.line(&[a, tip], stroke(PAPER, 3.0));
    canvas.line(&[a, tip], stroke(INK, 1.1));
    let back = (tip.0 - 7.0 * u, tip.1 - 7.0 * v);
    canvas.fill(&[tip, (back.0 - 3.2 * v, back.1 + 3.2 * u), (back.0 + 3.2 * v, back.1 - 3.2 * u)], INK, 1.0);
}

/// Names where there is room for them; the heaviest choose first.
fn names(
    canvas: &mut Canvas,
    view: &View,
    named: &[(&Item, String)],
    all: &[&Item],
    marks: &Marks,
    centre: [f64; 3],
    edge: &[Point],
) {
    let area = view.area();
    // Beyond the view, where there is nothing else.
    let [over, under] = if marks.numbered { [2.0, 12.0] } else { [58.0, 34.0] };
    let bounds = Box2 {
        centre: (area.centre.0, area.centre.1 + 0.5 * (under - over)),
        half: (area.half.0, area.half.1 + 0.5 * (over + under)),
    };
    let mut keep_off: Vec<Point> = Vec::new();
    let mut rings = |at: Point, r: f64| {
        keep_off.extend(
            (0..12)
                .map(|i| f64::from(i) * std::f64::consts::TAU / 12.0)
                .map(|t| (at.0 + r * t.cos(), at.1 + r * t.sin())),
        );
        keep_off.push(at);
    };
    all.iter().flat_map(|item| item.spots()).for_each(|s| rings(view.place(s.at), marks.radius(s.kg) - 1.0));
    rings(view.place(centre), 7.0);
    let clear = if marks.numbered { 1.5 } else { 4.5 };
    let mut room = Room::new(bounds, keep_off, clear).keep_off(edge.to_vec());
    for (item, words) in named {
        let Some(spot) = item.spots().into_iter().max_by(|a, b| a.kg.total_cmp(&b.kg)) else { continue };
        let at = view.place(spot.at);
        let half = (0.5 * Face::Regular.width(words, SMALL) + 2.0, 0.5 * SMALL + 1.0);
        let towards = (0.35 * (at.0 - bounds.centre.0), at.1 - bounds.centre.1);
        let Some(found) = room.place(at, towards, half) else { continue };
        if let Some((from, to)) = found.leader {
            canvas.line(&[from, to], stroke(INK_SOFT, 0.8));
        }
        let base = (found.area.centre.0, found.area.centre.1 + centred(SMALL));
        let colour = if item.state == State::Done { INK_SOFT } else { INK };
        canvas.text(Text { anchor: Anchor::Middle, colour, halo: true, ..small(words, base) });
    }
}

/// Rows of the list beneath a narrow map.
const LIST: f64 = 16.0;
/// More are not listed.
const LISTED: usize = 16;

/// Height of the list of the numbered items, px.
pub fn list_height(items: &[Item]) -> f64 {
    let rows = items.len().min(LISTED) + usize::from(items.len() > LISTED);
    if rows == 0 { 0.0 } else { LIST * rows as f64 + 10.0 }
}

/// Number, name, kilograms and seconds.
pub fn draw_list(canvas: &mut Canvas, (left, top): Point, items: &[Item], cost: &Cost, paper: Paper) {
    canvas.part("list", |canvas| {
        let order = by_rank(items);
        for (k, item) in order.iter().take(LISTED).enumerate() {
            let base = top + LIST * k as f64;
            let tail = format!("{}: {}", item.kilograms(), item.seconds(cost));
            let room = paper.right() - left - 24.0 - Face::Regular.width(&tail, SMALL) - 8.0;
            let colour = if item.state == State::Done { INK_SOFT } else { INK };
            let number = (k + 1).to_string();
            canvas.text(Text { anchor: Anchor::End, colour, ..small(&number, (left + 16.0, base)) });
            let name = Face::Regular.fit(&item.name, SMALL, room);
            canvas.text(Text { colour, ..small(&name, (left + 24.0, base)) });
            canvas.text(Text { anchor: Anchor::End, colour, ..small(&tail, (paper.right(), base)) });
        }
        if order.len() > LISTED {
            let words = format!("and {} lighter ones", order.len() - LISTED);
            canvas.text(small(&words, (left + 24.0, top + LIST * LISTED as f64)));
        }
    });
}

/// A line of the key, px.
const KEY_ROW: f64 = 30.0;

/// What the circles mean, and how large some masses are: words, radius, state and whether it goes on; no state: the centre.
fn key(items: &[Item], marks: &Marks) -> Vec<(String, f64, Option<State>, bool)> {
    let mut all = Vec::new();
    for (state, name) in [(State::Done, "done"), (State::Planned, "planned"), (State::Idea, "idea")] {
        let count = items.iter().filter(|i| i.state == state).count();
        if count > 0 || state == State::Planned {
            all.push((format!("{name} ({count})"), 7.0, Some(state), false));
        }
    }
    all.push(("goes on, or is put there".to_owned(), 7.0, Some(State::Planned), true));
    all.push(("centre of gravity".to_owned(), 7.0, None, false));
    let largest = items.iter().map(Item::weight).fold(0.0, f64::max);
    for kg in sizes(largest) {
        all.push((format!("{} kg", fixed(kg, usize::from(kg < 1.0))), marks.radius(kg), Some(State::Done), false));
    }
    all
}

/// Left edges and rows of the key's entries.
fn laid(key: &[(String, f64, Option<State>, bool)], paper: Paper) -> Vec<(f64, usize)> {
    let (mut x, mut row) = (paper.margin(), 0);
    let mut all = Vec::new();
    for (words, r, ..) in key {
        let wide = 2.0 * r + 6.0 + Face::Regular.width(words, SMALL);
        if x + wide > paper.right() && x > paper.margin() {
            (x, row) = (paper.margin(), row + 1);
        }
        all.push((x, row));
        x += wide + 20.0;
    }
    all
}

/// Height of the key, px.
pub fn key_height(items: &[Item], marks: &Marks, paper: Paper) -> f64 {
    if items.is_empty() {
        return 0.0;
    }
    KEY_ROW * (laid(&key(items, marks), paper).last().map_or(0, |l| l.1) + 1) as f64
}

/// Draws it.
pub fn draw_key(canvas: &mut Canvas, (_, y): Point, items: &[Item], marks: &Marks, paper: Paper) {
    if items.is_empty() {
        return;
    }
    let key = key(items, marks);
    canvas.part("key", |canvas| {
        for ((words, r, state, on), (x, row)) in key.iter().zip(laid(&key, paper)) {
            let at = (x + r, y + KEY_ROW * row as f64);
            match state {
                Some(state) => mark(canvas, at, *r, *state, *on),
                None => crate::worth::lens::centre_mark(canvas, at, *r),
            }
            canvas.text(small(words, (at.0 + r + 6.0, at.1 + centred(SMALL))));
        }
    });
}

/// A large and a small one to compare with, kg.
fn sizes(largest: f64) -> Vec<f64> {
    let power = 10f64.powf(largest.max(0.5).log10().floor());
    let large = [5.0, 2.0, 1.0].into_iter().map(|k| k * power).find(|kg| *kg <= largest).unwrap_or(power);
    vec![0.1 * large, large]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn item(off: Option<(f64, [f64; 3])>, on: Option<(f64, [f64; 3])>) -> Item {
        Item { name: "part".into(), off, on, state: State::Planned, turns: false }
    }

    #[test]
    fn closed_form_what_is_drawn_of_a_row() {
        let (here, there) = ([1.0, 0.0, 0.5], [2.0, 0.0, 0.5]);
        let gone = item(Some((4.0, here)), None);
        assert_eq!(gone.spots(), [Spot { kg: 4.0, at: here, on: false }]);
        assert_eq!(gone.kilograms(), "−4.0 kg");
        let swap = item(Some((4.0, here)), Some((1.5, here)));
        assert_eq!(swap.spots(), [Spot { kg: 2.5, at: here, on: false }]);
        let moved = item(Some((4.0, here)), Some((4.0, there)));
        assert_eq!((moved.spots().len(), moved.kilograms()), (2, "4.0 kg moved".to_owned()));
        let added = item(None, Some((3.0, there)));
        assert_eq!((added.spots()[0].on, added.kilograms()), (true, "+3.0 kg".to_owned()));
    }

    #[test]
    fn closed_form_areas_go_with_mass() {
        let marks = Marks::of(1284.0, Paper::FILE);
        assert!((marks.radius(20.0) / marks.radius(5.0) - 2.0).abs() < 1e-12);
        assert_eq!(sizes(39.0), [2.0, 20.0]);
        assert_eq!(sizes(0.7), [0.05, 0.5]);
    }
}
