//! Rows of a ledger on the kilogram map: what comes off, goes on and moves, done and planned, as circles by mass.

use crate::draw::font::Face;
use crate::draw::look::{INK, INK_SOFT, PAPER, SMALL, stroke};
use crate::draw::place_labels::{Box2, Room};
use crate::draw::svg::{Anchor, Canvas, Point, Text, centred, small};
use crate::words::number::{fixed, signed};
use crate::worth::kilogram::View;
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

    fn words(&self) -> String {
        let change = self.change_kg();
        let kg = if change.abs() < 0.05 {
            format!("{} moved", fixed(self.weight(), 1))
        } else {
            signed(&fixed(change, 1)).replace('-', "−")
        };
        format!("{} {kg}", Face::Regular.fit(&self.name, SMALL, WIDEST))
    }
}

/// Names longer than this are cut, px.
const WIDEST: f64 = 150.0;
/// So many are named in each view.
const NAMED: usize = 9;

/// How large a circle is.
#[derive(Clone, Copy, Debug)]
pub struct Marks {
    /// px a root of kg.
    per_root_kg: f64,
}

impl Marks {
    /// By the car's mass, so that a kart's parts can be seen and a lorry's have room.
    pub fn of(car_kg: f64) -> Marks {
        Marks { per_root_kg: 94.0 / car_kg.max(1.0).sqrt() }
    }

    /// Radius of a mass, px.
    pub fn radius(&self, kg: f64) -> f64 {
        (self.per_root_kg * kg.max(0.0).sqrt()).clamp(1.8, 34.0)
    }
}

/// Draws them into both views; each is named in the one that tells more of where it is.
pub fn draw_items(canvas: &mut Canvas, views: &[View; 2], items: &[Item], marks: &Marks, centre: [f64; 3]) {
    // Large ones first, so that small ones lie upon them.
    let mut order: Vec<&Item> = items.iter().collect();
    order.sort_by(|a, b| b.weight().total_cmp(&a.weight()));
    // Far off the middle: from above.
    let from_above = |item: &Item| item.places().any(|at| (at[1] - centre[1]).abs() > 0.2);
    for (i, view) in views.iter().enumerate() {
        canvas.part("items", |canvas| {
            for item in &order {
                draw(canvas, view, item, marks);
            }
            let mut named: Vec<&Item> = order.iter().copied().filter(|item| from_above(item) == (i == 1)).collect();
            // What is planned is what is still to be decided.
            named.sort_by(|a, b| {
                let rank = |item: &Item| item.weight() * if item.state == State::Done { 0.5 } else { 1.0 };
                rank(b).total_cmp(&rank(a))
            });
            named.truncate(NAMED);
            names(canvas, view, &named, &order, marks, centre);
        });
    }
}

fn draw(canvas: &mut Canvas, view: &View, item: &Item, marks: &Marks) {
    if let Some((a, b)) = item.moved() {
        arrow(canvas, view.place(a), view.place(b), marks.radius(item.on.map_or(0.0, |o| o.0)));
    }
    for spot in item.spots() {
        mark(canvas, view.place(spot.at), marks.radius(spot.kg), item.state, spot.on);
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
fn names(canvas: &mut Canvas, view: &View, named: &[&Item], all: &[&Item], marks: &Marks, centre: [f64; 3]) {
    let area = view.area();
    let bounds = Box2 { centre: (area.centre.0, area.centre.1 - 10.0), half: (area.half.0, area.half.1 + 10.0) };
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
    let mut room = Room::new(bounds, keep_off, 4.5);
    for item in named {
        let Some(spot) = item.spots().into_iter().max_by(|a, b| a.kg.total_cmp(&b.kg)) else { continue };
        let (at, words) = (view.place(spot.at), item.words());
        let half = (0.5 * Face::Regular.width(&words, SMALL) + 2.0, 0.5 * SMALL + 1.0);
        let towards = (0.35 * (at.0 - bounds.centre.0), at.1 - bounds.centre.1);
        let Some(found) = room.place(at, towards, half) else { continue };
        if let Some((from, to)) = found.leader {
            canvas.line(&[from, to], stroke(INK_SOFT, 0.8));
        }
        let base = (found.area.centre.0, found.area.centre.1 + centred(SMALL));
        let colour = if item.state == State::Done { INK_SOFT } else { INK };
        canvas.text(Text { anchor: Anchor::Middle, colour, halo: true, ..small(&words, base) });
    }
}

/// What the circles mean, and how large some masses are.
pub fn draw_key(canvas: &mut Canvas, (left, y): Point, items: &[Item], marks: &Marks) {
    if items.is_empty() {
        return;
    }
    canvas.part("key", |canvas| {
        let mut x = left + 8.0;
        let mut say = |canvas: &mut Canvas, r: f64, words: &str, draw: &dyn Fn(&mut Canvas, Point)| {
            x += r;
            draw(canvas, (x, y));
            x += r + 6.0;
            canvas.text(small(words, (x, y + centred(SMALL))));
            x += Face::Regular.width(words, SMALL) + 22.0;
        };
        for (state, name) in [(State::Done, "done"), (State::Planned, "planned"), (State::Idea, "idea")] {
            let count = items.iter().filter(|i| i.state == state).count();
            if count > 0 || state == State::Planned {
                say(canvas, 7.0, &format!("{name} ({count})"), &|c, at| mark(c, at, 7.0, state, false));
            }
        }
        say(canvas, 7.0, "goes on, or is put there", &|c, at| mark(c, at, 7.0, State::Planned, true));
        say(canvas, 7.0, "centre of gravity", &|c, at| crate::worth::lens::centre_mark(c, at, 7.0));
        let largest = items.iter().map(Item::weight).fold(0.0, f64::max);
        for kg in sizes(largest) {
            let r = marks.radius(kg);
            say(canvas, r, &format!("{} kg", crate::words::number::fixed(kg, usize::from(kg < 1.0))), &|c, at| {
                mark(c, at, r, State::Done, false);
            });
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
        Item { name: "part".into(), off, on, state: State::Planned }
    }

    #[test]
    fn closed_form_what_is_drawn_of_a_row() {
        let (here, there) = ([1.0, 0.0, 0.5], [2.0, 0.0, 0.5]);
        let gone = item(Some((4.0, here)), None);
        assert_eq!(gone.spots(), [Spot { kg: 4.0, at: here, on: false }]);
        assert_eq!(gone.words(), "part −4.0");
        let swap = item(Some((4.0, here)), Some((1.5, here)));
        assert_eq!(swap.spots(), [Spot { kg: 2.5, at: here, on: false }]);
        let moved = item(Some((4.0, here)), Some((4.0, there)));
        assert_eq!((moved.spots().len(), moved.words()), (2, "part 4.0 moved".to_owned()));
        let added = item(None, Some((3.0, there)));
        assert_eq!((added.spots()[0].on, added.words()), (true, "part +3.0".to_owned()));
    }

    #[test]
    fn closed_form_areas_go_with_mass() {
        let marks = Marks::of(1284.0);
        assert!((marks.radius(20.0) / marks.radius(5.0) - 2.0).abs() < 1e-12);
        assert_eq!(sizes(39.0), [2.0, 20.0]);
        assert_eq!(sizes(0.7), [0.05, 0.5]);
    }
}
