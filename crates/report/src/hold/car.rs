//! The car to be taken hold of: both views at the width that there is, with what a kilogram costs under the hand and
//! the things that can be moved. No title and no lens: the page around it says what it shows.

use unladen_study::Worth;

use crate::draw::look::{ACCENT, INK, INK_SOFT, PAPER, SMALL, stroke};
use crate::draw::measure::font::Face;
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::place_labels::{Box2, Room};
use crate::draw::svg::{Anchor, Canvas, Point, Text, centred, small};
use crate::words::number::fixed;
use crate::worth::body::{Body, Size};
use crate::worth::kilogram::{LINES, ROUND, View, disc, edge, ground, panes, planes, shade, wheel};
use crate::worth::lens::centre_mark;

/// What to draw.
#[derive(Clone, Debug)]
pub struct Hold<'a> {
    /// The car's name.
    pub car: &'a str,
    /// Its dimensions.
    pub size: Size,
    /// What a kilogram is worth.
    pub worth: &'a Worth,
    /// Its mass, kg.
    pub mass_kg: f64,
    /// Its centre of gravity, m, and where that was before what is tried.
    pub at_m: [[f64; 3]; 2],
    /// What can be moved.
    pub things: &'a [Thing],
    /// Width of the picture, px.
    pub width_px: f64,
}

/// A thing that sits somewhere and can sit elsewhere.
#[derive(Clone, Debug, PartialEq)]
pub struct Thing {
    /// What it is.
    pub name: String,
    /// kg.
    pub kg: f64,
    /// Where it is, m.
    pub at: [f64; 3],
    /// Where it was before what is tried, m.
    pub was: [f64; 3],
}

impl Thing {
    fn moved(&self) -> bool {
        self.at != self.was
    }
}

/// A picture, and where places of the car are in it.
#[derive(Clone, Debug)]
pub struct Held {
    /// From the side above, from above beneath: the car and what a kilogram costs in it; upon it what sits where it was;
    /// upon that what was moved. What has not changed needs no drawing again.
    pub layers: [Picture; 3],
    /// Both views.
    pub views: [View; 2],
}

/// So many things are named in a view, by its width, px.
const NAMED_PER_PX: f64 = 1.0 / 75.0;

/// Room for the contours' values at the right of a view, and for names above it, px.
const BESIDE: f64 = 44.0;
const ABOVE: f64 = 34.0;
/// And beneath it, where contours leave it that way.
const BELOW: f64 = 14.0;
/// Narrower is not drawn, px.
const NARROWEST: f64 = 240.0;

/// Draws it.
///
/// # Errors
/// [`PlotError`] where a number is none.
pub fn hold_picture(hold: &Hold) -> Result<Held, PlotError> {
    let far = hold.size.wheelbase_m;
    let inside = |at: &[f64; 3]| (-far..2.0 * far).contains(&at[0]) && at[1].abs() < far && (0.0..far).contains(&at[2]);
    // By where things were, so that it stays while they move.
    let places: Vec<[f64; 3]> = hold.things.iter().map(|thing| thing.was).filter(inside).collect();
    let body = Body::new(&hold.size).holding(&hold.size, &places);
    let width = hold.width_px.max(NARROWEST);
    let pad = ROUND * hold.size.wheelbase_m;
    let x = hold.things.iter().flat_map(|thing| [thing.at[0], thing.was[0]]).filter(|x| (-far..2.0 * far).contains(x));
    let (from, to) = x.fold(body.reach(), |(low, high), x| (low.min(x - 0.1), high.max(x + 0.1)));
    let across = width - BESIDE;
    let scale = across / (to - from + 2.0 * pad);
    let (tall, wide) = (body.height(), body.half_width());
    let view = |top: f64, up: usize, high: f64, low: f64| View {
        corner: (0.0, top),
        from: (from - pad, high + pad),
        scale,
        size: (across, scale * (high - low + 2.0 * pad)),
        up,
    };
    let side = view(ABOVE, 2, tall, pad);
    let above = view(side.corner.1 + side.size.1 + BELOW + ABOVE, 1, wide, -wide);
    let sheet = |name| Canvas::new(name, width, above.corner.1 + above.size.1 + 17.0);
    let mut canvas = sheet("hold");
    let planes = planes(hold.worth, hold.mass_kg, hold.at_m[0]);
    let (a, b) = (planes[0].range(&body.side), planes[1].range(&body.top));
    let levels = Axis::over(a.0.min(b.0), a.1.max(b.1), LINES);
    let caption = |canvas: &mut Canvas, view: &View, words: &str| {
        canvas.text(Text { colour: INK_SOFT, ..small(words, (2.0, view.corner.1 - ABOVE + 12.0)) });
    };
    canvas.part("side", |canvas| {
        caption(canvas, &side, "from the side; ms a lap for a kilogram more");
        ground(canvas, &side);
        shade(canvas, &side, &planes[0], &body.side, &levels);
        for (axle, r) in hold.size.radius_m.into_iter().enumerate() {
            wheel(canvas, side.at((axle as f64 * hold.size.wheelbase_m, r)), r * scale);
        }
        panes(canvas, &side, &body.side_glass);
    });
    canvas.part("above", |canvas| {
        caption(canvas, &above, "from above, its right side up");
        shade(canvas, &above, &planes[1], &body.top, &levels);
        for wheel in &body.top_wheels {
            let points: Vec<Point> = wheel.iter().map(|p| above.at(*p)).collect();
            canvas.fill(&points, INK_SOFT, 0.22);
        }
        panes(canvas, &above, &body.top_glass);
    });
    let views = [side, above];
    let [now, was] = hold.at_m;
    let radius = |kg: f64| radius_px(kg, hold.mass_kg, across);
    let (mut rest, mut moved) = (sheet("rest"), sheet("moved"));
    let still: Vec<&Thing> = hold.things.iter().filter(|thing| !thing.moved()).collect();
    let others: Vec<&Thing> = hold.things.iter().filter(|thing| thing.moved()).collect();
    let wheels = (0..2).flat_map(|axle| {
        let r = hold.size.radius_m[axle];
        disc(side.at((axle as f64 * hold.size.wheelbase_m, r)), r * scale)
    });
    let ground = (0..(across / 5.0) as i32).map(|i| (5.0 * f64::from(i), side.at((0.0, 0.0)).1));
    let edges = [
        edge(&side, &body.side).into_iter().chain(wheels).chain(ground).collect(),
        edge(&above, &body.top)
            .into_iter()
            .chain(body.top_wheels.iter().flat_map(|wheel| edge(&above, wheel)))
            .collect(),
    ];
    for (view, edges) in views.iter().zip(edges) {
        let area = view.area();
        let bounds = Box2 { centre: area.centre, half: (area.half.0, area.half.1 + 4.0) };
        let mut room = Room::new(bounds, Vec::new(), 3.5).keep_off(edges);
        draw_things(&mut rest, view, &still, &radius, &mut room);
        // What was moved finds room beside the names that stay.
        draw_things(&mut moved, view, &others, &radius, &mut room);
        let (from, to) = (view.place(was), view.place(now));
        moved.line(&[from, to], stroke(PAPER, 3.0));
        centre_mark(&mut moved, to, 0.5 * SMALL);
    }
    let mm = |i: usize| fixed(1e3 * now[i], 0);
    let alt = format!(
        "{} from the side and from above with lines of equal cost of a kilogram; its centre of gravity is {} mm back, {} mm right \
         and {} mm up.",
        hold.car,
        mm(0),
        mm(1),
        mm(2)
    );
    let title = "The car as it is tried";
    let listed = |things: &[&Thing]| {
        let all: Vec<String> = things.iter().map(|t| format!("{} {} kg", t.name, fixed(t.kg, 1))).collect();
        all.join(", ")
    };
    let there = format!("Where it was: {}.", listed(&still));
    let elsewhere = format!("The centre of gravity, and what was moved: {}.", listed(&others));
    let layers = [canvas.finish(title, &alt)?, rest.finish(title, &there)?, moved.finish(title, &elsewhere)?];
    Ok(Held { layers, views })
}

/// Radius of a thing's disc, px: areas go with mass, so that a kart's parts can be seen and a lorry's have room.
pub fn radius_px(kg: f64, car_kg: f64, width_px: f64) -> f64 {
    let per_root_kg = 94.0 / car_kg.max(1.0).sqrt() * (width_px / 690.0).clamp(0.5, 1.0);
    (per_root_kg * kg.max(0.0).sqrt()).clamp(2.5, 30.0)
}

/// Full where it is, open where it was.
fn draw_things(canvas: &mut Canvas, view: &View, things: &[&Thing], radius: &dyn Fn(f64) -> f64, room: &mut Room) {
    canvas.part("things", |canvas| {
        for thing in things {
            let (was, at, r) = (view.place(thing.was), view.place(thing.at), radius(thing.kg));
            if thing.moved() {
                canvas.disc(was, r + 1.2, PAPER);
                canvas.disc(was, r, INK_SOFT);
                canvas.disc(was, (r - 1.2).max(0.4), PAPER);
                canvas.line(&[was, at], stroke(PAPER, 3.0));
                canvas.line(&[was, at], stroke(ACCENT, 1.4));
            }
            canvas.disc(at, r + 1.2, PAPER);
            canvas.disc(at, r, if thing.moved() { ACCENT } else { INK });
        }
        names(canvas, view, things, radius, room);
    });
}

fn names(canvas: &mut Canvas, view: &View, things: &[&Thing], radius: &dyn Fn(f64) -> f64, room: &mut Room) {
    let round = |thing: &&Thing| {
        let r = radius(thing.kg);
        let rim = move |at: Point| {
            (0..12)
                .map(move |i| f64::from(i) * std::f64::consts::TAU / 12.0)
                .map(move |t| (at.0 + r * t.cos(), at.1 + r * t.sin()))
        };
        let was = thing.moved().then(|| view.place(thing.was));
        [view.place(thing.at)].into_iter().chain(was).flat_map(rim)
    };
    room.draw(things.iter().flat_map(round));
    let mut named: Vec<&Thing> = things.to_vec();
    named.sort_by(|a, b| b.kg.total_cmp(&a.kg));
    for thing in named.into_iter().take((view.size.0 * NAMED_PER_PX) as usize) {
        let at = view.place(thing.at);
        let words = format!("{} {} kg", Face::Regular.fit(&thing.name, SMALL, 140.0), fixed(thing.kg, 1));
        let half = (0.5 * Face::Regular.width(&words, SMALL) + 2.0, 0.5 * SMALL + 1.0);
        let Some(found) = room.place(at, (0.2, -1.0), half) else { continue };
        if let Some((from, to)) = found.leader {
            canvas.line(&[from, to], stroke(INK_SOFT, 0.8));
        }
        let base = (found.area.centre.0, found.area.centre.1 + centred(SMALL));
        canvas.text(Text { anchor: Anchor::Middle, colour: INK, halo: true, ..small(&words, base) });
    }
}
