//! The kilogram map: what a kilogram costs at each place in the car, from the side and from above, with what has come
//! out of it, what is to come out of it, and where its centre of gravity was, is and will be.

use crate::draw::colour::{Colour, Lch, ramp};
use crate::draw::header::Header;
use crate::draw::look::{INK, INK_SOFT, PAPER, Paper, RULE, SMALL, stroke};
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::place_labels::Box2;
use crate::draw::svg::{Anchor, Canvas, Point, Text, centred, label, small};
use crate::words::number::fixed;
use crate::worth::body::{Body, Size};
use crate::worth::extremes::{finding, ms};
use crate::worth::field::Plane;
use crate::worth::items::{Item, Marks, draw_items, draw_key, draw_list, key_height, list_height};
use crate::worth::lens::{Centre, beneath, centre_mark, draw_lens};
use unladen_study::{Quantity, Worth};

use unladen_vehicle::entry::State;

/// What to draw.
#[derive(Clone, Debug)]
pub struct KilogramMap<'a> {
    /// The car's name.
    pub car: &'a str,
    /// What is aboard: "driver 78 kg and 30 L of fuel".
    pub aboard: &'a str,
    /// Its dimensions.
    pub size: Size,
    /// What a kilogram is worth on a track or a mix.
    pub worth: &'a Worth,
    /// Mass and centre of gravity that this was found for, kg, m.
    pub mass_kg: f64,
    /// Behind the front axle line, right of the centre plane, above ground, m.
    pub at_m: [f64; 3],
    /// Rows of the ledger that are done, and those that are counted as coming.
    pub items: &'a [Item],
    /// Before what is done, now, and with what is planned; none of them: no ledger.
    pub centres: &'a [Centre],
}

/// Width of both views, px; on a narrow sheet the lenses go beneath.
const VIEW: [f64; 2] = [690.0, 302.0];
/// Room round the body inside a view, m of a wheelbase.
pub(crate) const ROUND: f64 = 0.03;
/// Above each view: its name, and labels of items.
const ABOVE: [f64; 2] = [92.0, 46.0];
const BELOW: [f64; 2] = [40.0, 22.0];
/// Of a view's own name above it.
const NAME: f64 = 22.0;
pub(crate) const LINES: usize = 8;

/// From cheap, pale, to dear, strong; light enough for ink upon it.
const COST: [Lch; 4] = [
    Lch { l: 0.975, c: 0.012, h: 95.0 },
    Lch { l: 0.915, c: 0.055, h: 88.0 },
    Lch { l: 0.835, c: 0.105, h: 70.0 },
    Lch { l: 0.735, c: 0.145, h: 50.0 },
];

/// One of the two views: which coordinates it shows, and where.
#[derive(Clone, Copy, Debug)]
pub struct View {
    /// px of the least u and the greatest v.
    pub corner: Point,
    /// Least u and greatest v, m.
    pub from: Point,
    /// px a metre.
    pub scale: f64,
    /// Width and height, px.
    pub size: Point,
    /// Which of x, y, z goes up the page.
    pub up: usize,
}

impl View {
    /// px of a place in the plane.
    pub fn at(&self, (u, v): Point) -> Point {
        (self.corner.0 + self.scale * (u - self.from.0), self.corner.1 + self.scale * (self.from.1 - v))
    }

    /// px of a place in the car.
    pub fn place(&self, at: [f64; 3]) -> Point {
        self.at((at[0], at[self.up]))
    }

    /// Its rectangle, px.
    pub fn area(&self) -> Box2 {
        let half = (0.5 * self.size.0, 0.5 * self.size.1);
        Box2 { centre: (self.corner.0 + half.0, self.corner.1 + half.1), half }
    }
}

/// The shades of cost, and what is at which place.
#[derive(Clone, Debug)]
pub struct Cost<'a> {
    map: &'a KilogramMap<'a>,
    levels: Axis,
}

impl Cost<'_> {
    /// What one more kilogram costs at a place, s a lap.
    pub fn s_per_kg(&self, at: [f64; 3]) -> f64 {
        let (w, mass, own) = (self.map.worth, self.map.mass_kg, self.map.at_m);
        let slopes = [&w.s_per_mm_rearward, &w.s_per_mm_right, &w.s_per_mm_height];
        let moved: f64 = (0..3).map(|i| slopes[i].value * 1e3 / mass * (at[i] - own[i])).sum();
        w.s_per_kg.value + moved
    }

    /// The shade between two levels, 0 the cheapest.
    fn shade(&self, i: usize) -> Colour {
        shade_of(&self.levels, i)
    }

    /// The colour of a place.
    pub fn colour(&self, at: [f64; 3]) -> Colour {
        let ms = 1e3 * self.s_per_kg(at);
        self.shade(self.levels.ticks.iter().filter(|level| **level <= ms).count())
    }
}

/// Draws it.
pub fn kilogram_picture(map: &KilogramMap, paper: Paper) -> Result<Picture, PlotError> {
    // A slip of a digit in a ledger must not shrink the car to nothing.
    let far = map.size.wheelbase_m;
    let inside = |at: &[f64; 3]| (-far..2.0 * far).contains(&at[0]) && at[1].abs() < far && (0.0..far).contains(&at[2]);
    let places: Vec<[f64; 3]> = map.items.iter().flat_map(Item::places).filter(inside).collect();
    let body = Body::new(&map.size).holding(&map.size, &places);
    let planes = planes(map.worth, map.mass_kg, map.at_m);
    let title = finding(&map.worth.s_per_kg, &planes, &body, &map.size);
    let subtitle = format!(
        "{} on {}, {} aboard; ms a lap for one kilogram more at each place, and for one less the same gain",
        map.car, map.worth.track, map.aboard
    );
    let header = Header::plan(&title, &subtitle, paper);
    let (above_it, below, wide_px) =
        (paper.of(ABOVE[0], ABOVE[1]), paper.of(BELOW[0], BELOW[1]), paper.of(VIEW[0], VIEW[1]));
    let pad = ROUND * map.size.wheelbase_m;
    let (from, to) = body.reach();
    let scale = wide_px / (to - from + 2.0 * pad);
    let (tall, wide) = (body.height(), body.half_width());
    let view = |top: f64, up: usize, high: f64, low: f64| View {
        corner: (paper.margin(), top),
        from: (from - pad, high + pad),
        scale,
        size: (wide_px, scale * (high - low + 2.0 * pad)),
        up,
    };
    let side = view(header.height + above_it, 2, tall, pad);
    let above = view(side.corner.1 + side.size.1 + below + above_it, 1, wide, -wide);
    let views = [side, above];
    let marks = Marks::of(map.mass_kg, paper);
    // Beneath the views: the key; on a narrow sheet first the list of the numbered items, and the lenses.
    let list = above.corner.1 + above.size.1 + below;
    let key = list + if paper.narrow() { list_height(map.items) } else { 0.0 };
    let lens = key + key_height(map.items, &marks, paper) + 8.0;
    let lenses = if paper.narrow() && !map.centres.is_empty() { 2.0 * beneath(map.centres) } else { 0.0 };

    let (low, high) = {
        let (a, b) = (planes[0].range(&body.side), planes[1].range(&body.top));
        (a.0.min(b.0), a.1.max(b.1))
    };
    let cost = Cost { map, levels: Axis::over(low, high, paper.of(LINES, 5)) };
    let mut canvas = Canvas::new("kilogram", paper.width, lens + lenses + paper.of(16.0, 0.0));
    header.draw(&mut canvas);
    let centre = map.centres.iter().find(|c| c.now).map_or(map.at_m, |c| c.at_m);
    let mut room: [Vec<Point>; 2] = [edge(&side, &body.side), edge(&above, &body.top)];
    let ground_y = side.at((0.0, 0.0)).1;
    room[0].extend((0..(wide_px / 5.0) as i32).map(|i| (side.corner.0 + 5.0 * f64::from(i), ground_y)));
    canvas.part("side", |canvas| {
        caption(canvas, &side, "from the side, through the centre of gravity; ms a kg");
        ground(canvas, &side);
        shade(canvas, &side, &planes[0], &body.side, &cost.levels);
        for (axle, r) in map.size.radius_m.into_iter().enumerate() {
            let at = side.at((axle as f64 * map.size.wheelbase_m, r));
            wheel(canvas, at, r * scale);
            room[0].extend(disc(at, r * scale));
        }
        panes(canvas, &side, &body.side_glass);
    });
    canvas.part("above", |canvas| {
        caption(canvas, &above, "from above, at the height of the centre of gravity; ms a kg");
        shade(canvas, &above, &planes[1], &body.top, &cost.levels);
        for wheel in &body.top_wheels {
            let points: Vec<Point> = wheel.iter().map(|p| above.at(*p)).collect();
            canvas.fill(&points, INK_SOFT, 0.22);
            room[1].extend(edge(&above, wheel));
        }
        panes(canvas, &above, &body.top_glass);
        for (words, y) in [("right", wide), ("left", -wide)] {
            let edge = above.at((0.0, y)).1;
            let base = if y > 0.0 { edge + 4.0 } else { edge + 6.0 };
            canvas.text(small(words, (above.corner.0, base)));
        }
    });
    draw_items(&mut canvas, &views, map.items, &marks, centre, &cost, &room);
    for view in &views {
        centre_mark(&mut canvas, view.place(centre), paper.of(7.5, 6.0));
    }
    if paper.narrow() {
        draw_list(&mut canvas, (paper.margin(), list + 12.0), map.items, &cost, paper);
    }
    draw_key(&mut canvas, (paper.margin(), key + 14.0), map.items, &marks, paper);
    if !map.centres.is_empty() {
        for (i, view) in views.iter().enumerate() {
            if paper.narrow() {
                let top = lens + i as f64 * beneath(map.centres);
                draw_lens(&mut canvas, view, map.centres, (paper.margin(), paper.right()), Some(top));
            } else {
                let left = paper.margin() + wide_px + 74.0;
                draw_lens(&mut canvas, view, map.centres, (left, paper.right()), None);
            }
        }
    }
    canvas.finish(&title, &alt(map, &title, &cost))
}

/// Points along an outline, near enough together that no label slips between.
pub(crate) fn edge(view: &View, outline: &[Point]) -> Vec<Point> {
    let n = outline.len();
    let piece = |i: usize| {
        let (a, b) = (view.at(outline[i]), view.at(outline[(i + 1) % n]));
        let count = ((b.0 - a.0).hypot(b.1 - a.1) / 5.0).ceil().clamp(1.0, 400.0) as usize;
        (0..count).map(move |k| {
            let w = k as f64 / count as f64;
            (a.0 + w * (b.0 - a.0), a.1 + w * (b.1 - a.1))
        })
    };
    (0..n).flat_map(piece).collect()
}

/// Points over a disc.
pub(crate) fn disc(at: Point, r: f64) -> impl Iterator<Item = Point> {
    [0.25, 0.6, 0.95].into_iter().flat_map(move |share| {
        (0..24).map(move |i| {
            let (sin, cos) = (f64::from(i) * std::f64::consts::TAU / 24.0).sin_cos();
            (at.0 + share * r * cos, at.1 + share * r * sin)
        })
    })
}

/// w through the centre of gravity, over (x, z) and over (x, y), in thousandths of a second: `docs/model.md` §8.
pub(crate) fn planes(w: &Worth, mass_kg: f64, [x, y, z]: [f64; 3]) -> [Plane; 2] {
    let per_m = |q: &Quantity| q.value * 1e6 / mass_kg;
    let (dx, dy, dz) = (per_m(&w.s_per_mm_rearward), per_m(&w.s_per_mm_right), per_m(&w.s_per_mm_height));
    let plane = |dv: f64, v: f64| Plane { at_origin: 1e3 * w.s_per_kg.value - dx * x - dv * v, du: dx, dv };
    [plane(dz, z), plane(dy, y)]
}

fn alt(map: &KilogramMap, title: &str, cost: &Cost) -> String {
    let of = |state| map.items.iter().filter(|i| i.state == state).count();
    let ideas = match of(State::Idea) {
        0 => String::new(),
        n => format!(", {n} ideas"),
    };
    let places: Vec<String> = map.worth.places.iter().map(|p| format!("{} {}", p.spot.name, ms(&p.s_per_kg))).collect();
    let centres: Vec<String> = map
        .centres
        .iter()
        .map(|c| {
            let mm = |i: usize| fixed(c.at_m[i] * 1e3, 0);
            format!("{}: {} kg, {} mm back, {} mm right, {} mm up", c.name, fixed(c.mass_kg, 0), mm(0), mm(1), mm(2))
        })
        .collect();
    let parts: Vec<String> = map.items.iter().filter(|i| i.state != State::Done).map(|i| i.finding(cost)).collect();
    let coming = if parts.is_empty() { String::new() } else { format!(" To come: {}.", parts.join("; ")) };
    format!(
        "{title}. Outline of {} from the side and from above with lines of equal cost of a kilogram. One kilogram: {}. \
         {} rows of the ledger are done, {} planned{ideas}.{coming} Centre of gravity: {}.",
        map.car,
        places.join("; "),
        of(State::Done),
        of(State::Planned),
        if centres.is_empty() { "as the lap was driven".to_owned() } else { centres.join("; ") }
    )
}

fn caption(canvas: &mut Canvas, view: &View, words: &str) {
    // Close over a narrow view, whose items have numbers and no names.
    let y = view.corner.1 - if view.size.0 > 400.0 { ABOVE[0] - NAME } else { ABOVE[1] - 14.0 };
    canvas.text(Text { colour: INK_SOFT, ..label(words, (view.corner.0, y)) });
}

pub(crate) fn ground(canvas: &mut Canvas, view: &View) {
    let y = view.at((0.0, 0.0)).1;
    canvas.line(&[(view.corner.0, y), (view.corner.0 + view.size.0, y)], stroke(RULE, 1.0));
}

/// The shade between two levels, 0 the cheapest.
fn shade_of(levels: &Axis, i: usize) -> Colour {
    ramp(&COST, i as f64 / levels.ticks.len().max(1) as f64)
}

/// Shades between the levels, lines on them, and their values where they leave the view.
pub(crate) fn shade(canvas: &mut Canvas, view: &View, plane: &Plane, outline: &[Point], levels: &Axis) {
    let px = |points: &[Point]| -> Vec<Point> { points.iter().map(|p| view.at(*p)).collect() };
    canvas.fill(&px(outline), shade_of(levels, 0), 1.0);
    // Each shade only where it is seen: lines go over the joins.
    for (i, level) in levels.ticks.iter().enumerate() {
        let next = levels.ticks.get(i + 1).copied().unwrap_or(f64::MAX);
        let part = plane.between(outline, *level, next);
        if part.len() > 2 {
            canvas.fill(&px(&part), shade_of(levels, i + 1), 1.0);
        }
    }
    let mut taken: Vec<Point> = Vec::new();
    for level in &levels.ticks {
        let pieces = plane.line(outline, *level);
        for (a, b) in &pieces {
            canvas.line(&[view.at(*a), view.at(*b)], stroke(PAPER, 1.3));
        }
        if let (Some(first), Some(last)) = (pieces.first(), pieces.last()) {
            value_of(canvas, view, (view.at(first.0), view.at(last.1)), &levels.label(*level), &mut taken);
        }
    }
    canvas.ring(&px(outline), stroke(INK, 1.6));
}

/// Out of the body along the line, to the right edge of the view or the one it meets first.
fn value_of(canvas: &mut Canvas, view: &View, (a, b): (Point, Point), words: &str, taken: &mut Vec<Point>) {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    if dx.hypot(dy) < 1e-9 {
        return;
    }
    let area = view.area();
    let (right, top, bottom) = (area.centre.0 + area.half.0, area.centre.1 - area.half.1, area.centre.1 + area.half.1);
    // How far until each edge, in lengths of the piece.
    let to = |gap: f64, rate: f64| if gap / rate > 0.0 { gap / rate } else { f64::INFINITY };
    let (side, up) = (to(right - b.0, dx), to(if dy < 0.0 { top - b.1 } else { bottom - b.1 }, dy));
    let end = (b.0 + dx * side.min(up), b.1 + dy * side.min(up));
    if !(end.0.is_finite() && end.1.is_finite()) {
        return;
    }
    let half = (17.0, 6.5);
    let (at, anchor, middle) = if side <= up {
        ((end.0 + 6.0, end.1 + centred(SMALL)), Anchor::Start, (end.0 + 6.0 + half.0, end.1))
    } else if dy < 0.0 {
        ((end.0, end.1 - 5.0), Anchor::Middle, (end.0, end.1 - 9.0))
    } else {
        ((end.0, end.1 + 13.0), Anchor::Middle, (end.0, end.1 + 9.0))
    };
    if taken.iter().any(|t| (t.0 - middle.0).abs() < 2.0 * half.0 + 6.0 && (t.1 - middle.1).abs() < 2.0 * half.1) {
        return;
    }
    taken.push(middle);
    canvas.line(&[b, end], stroke(RULE, 0.8));
    canvas.text(Text { anchor, colour: INK, ..small(words, at) });
}

pub(crate) fn wheel(canvas: &mut Canvas, at: Point, r: f64) {
    canvas.disc(at, r, Colour(92, 101, 118));
    canvas.disc(at, 0.66 * r, Colour(232, 235, 240));
    canvas.disc(at, 0.12 * r, Colour(92, 101, 118));
}

pub(crate) fn panes(canvas: &mut Canvas, view: &View, panes: &[Vec<Point>]) {
    for pane in panes {
        let points: Vec<Point> = pane.iter().map(|p| view.at(*p)).collect();
        canvas.ring(&points, stroke(Colour(120, 128, 142), 0.9));
    }
}
