//! Finding room for labels beside a line on a map: near their point, off the line, off each other, or not at all.

use crate::draw::svg::Point;

/// An upright rectangle by its centre and half its size, px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Box2 {
    /// Its centre.
    pub centre: Point,
    /// Half its width and height.
    pub half: Point,
}

impl Box2 {
    fn holds(&self, p: Point, pad: f64) -> bool {
        (p.0 - self.centre.0).abs() < self.half.0 + pad && (p.1 - self.centre.1).abs() < self.half.1 + pad
    }

    fn meets(&self, other: &Box2, pad: f64) -> bool {
        (self.centre.0 - other.centre.0).abs() < self.half.0 + other.half.0 + pad
            && (self.centre.1 - other.centre.1).abs() < self.half.1 + other.half.1 + pad
    }

    /// The point of the box nearest to `p`.
    pub fn nearest(&self, p: Point) -> Point {
        (
            p.0.clamp(self.centre.0 - self.half.0, self.centre.0 + self.half.0),
            p.1.clamp(self.centre.1 - self.half.1, self.centre.1 + self.half.1),
        )
    }
}

/// A label that found room.
#[derive(Clone, Copy, Debug)]
pub struct Spot {
    /// Where its words go.
    pub area: Box2,
    /// A line from the point to the words, where they are not right beside it.
    pub leader: Option<(Point, Point)>,
}

/// What labels must keep off.
#[derive(Clone, Debug)]
pub struct Room {
    bounds: Box2,
    line: Vec<Point>,
    /// What words keep off as well, but their leaders may cross.
    crossed: Vec<Point>,
    /// Half the width of the drawn line and a little air, px.
    clear: f64,
    taken: Vec<Box2>,
    leaders: Vec<(Point, Point)>,
}

/// Distances from the point to the words that are tried, px.
const REACH: [f64; 10] = [12.0, 17.0, 24.0, 33.0, 44.0, 58.0, 75.0, 95.0, 118.0, 145.0];
/// Beyond this the words get a leader, px.
const BESIDE: f64 = 22.0;
const DIRECTIONS: usize = 24;

impl Room {
    /// Inside `bounds`, off a line given by points at most a few px apart.
    pub fn new(bounds: Box2, line: Vec<Point>, clear: f64) -> Room {
        Room { bounds, line, crossed: Vec::new(), clear, taken: Vec::new(), leaders: Vec::new() }
    }

    /// Keeps words off these points too; leaders may pass.
    pub fn keep_off(mut self, points: Vec<Point>) -> Room {
        self.crossed = points;
        self
    }

    /// Keeps words and leaders to come off these points as off the line.
    pub fn draw(&mut self, points: impl IntoIterator<Item = Point>) {
        self.line.extend(points);
    }

    /// Keeps labels off a rectangle.
    pub fn take(&mut self, area: Box2) {
        self.taken.push(area);
    }

    /// The nearest free place for words of half size `half` by `point`, best in direction `towards`; takes it.
    pub fn place(&mut self, point: Point, towards: Point, half: Point) -> Option<Spot> {
        let base = towards.1.atan2(towards.0);
        let mut tries: Vec<(f64, f64, f64)> = Vec::new();
        for reach in REACH {
            for i in 0..DIRECTIONS {
                let turn = std::f64::consts::TAU * (i as f64 / DIRECTIONS as f64);
                let off = turn.min(std::f64::consts::TAU - turn);
                tries.push((reach + 9.0 * off, reach, base + turn));
            }
        }
        tries.sort_by(|a, b| a.0.total_cmp(&b.0));
        let spot = tries.into_iter().find_map(|(_, reach, angle)| self.spot(point, reach, angle, half))?;
        self.taken.push(spot.area);
        self.leaders.extend(spot.leader);
        Some(spot)
    }

    fn spot(&self, point: Point, reach: f64, angle: f64, half: Point) -> Option<Spot> {
        let (sin, cos) = angle.sin_cos();
        // Along the direction, so far that the box just leaves the point `reach` behind.
        let to_side = if cos.abs() * half.1 > sin.abs() * half.0 { half.0 / cos.abs() } else { half.1 / sin.abs() };
        let out = reach + to_side;
        let area = Box2 { centre: (point.0 + out * cos, point.1 + out * sin), half };
        let b = &self.bounds;
        let inside = (area.centre.0 - b.centre.0).abs() + half.0 <= b.half.0
            && (area.centre.1 - b.centre.1).abs() + half.1 <= b.half.1;
        let free = inside
            && self.taken.iter().all(|t| !t.meets(&area, 4.0))
            && self.leaders.iter().all(|(a, b)| !along(*a, *b).any(|p| area.holds(p, 2.0)))
            && self.line.iter().all(|p| !area.holds(*p, self.clear))
            && self.crossed.iter().all(|p| !area.holds(*p, 3.0));
        if !free {
            return None;
        }
        let near = area.nearest(point);
        let gap = (near.0 - point.0).hypot(near.1 - point.1);
        if gap <= BESIDE {
            return Some(Spot { area, leader: None });
        }
        let from = (point.0 + (near.0 - point.0) * self.clear / gap, point.1 + (near.1 - point.1) * self.clear / gap);
        let clear = along(from, near).all(|p| {
            let off_line = |q: &Point| {
                let own = (q.0 - point.0).hypot(q.1 - point.1) < 2.5 * self.clear;
                own || (q.0 - p.0).hypot(q.1 - p.1) > self.clear - 1.0
            };
            self.taken.iter().all(|t| !t.holds(p, 2.0)) && self.line.iter().all(off_line)
        });
        let alone = self.leaders.iter().all(|other| !crossing(*other, (from, near)));
        (clear && alone).then_some(Spot { area, leader: Some((from, near)) })
    }
}

/// Do two pieces of line cross? The ends of each lie on different sides of the other.
fn crossing(one: (Point, Point), other: (Point, Point)) -> bool {
    let side = |(a, b): (Point, Point), p: Point| (b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0) > 0.0;
    side(one, other.0) != side(one, other.1) && side(other, one.0) != side(other, one.1)
}

/// Points along a line, a few px apart.
fn along(a: Point, b: Point) -> impl Iterator<Item = Point> {
    let n = ((b.0 - a.0).hypot(b.1 - a.1) / 3.0).ceil().max(1.0) as usize;
    (0..=n).map(move |i| {
        let w = i as f64 / n as f64;
        (a.0 + w * (b.0 - a.0), a.1 + w * (b.1 - a.1))
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn room() -> Room {
        let bounds = Box2 { centre: (200.0, 150.0), half: (200.0, 150.0) };
        Room::new(bounds, (0..=400).map(|x| (f64::from(x), 150.0)).collect(), 7.0)
    }

    #[test]
    fn closed_form_a_lone_label_goes_where_it_likes_best() {
        let spot = room().place((200.0, 150.0), (0.0, -1.0), (30.0, 7.0)).unwrap();
        assert!((spot.area.centre.0 - 200.0).abs() < 1e-9 && spot.area.centre.1 < 150.0 - 14.0);
        assert!(spot.leader.is_none());
    }

    #[test]
    fn property_labels_keep_off_the_line_the_edge_and_each_other() {
        let mut room = room();
        let placed: Vec<Spot> =
            (0..60).filter_map(|i| room.place((f64::from(i) * 7.0, 150.0), (0.0, 1.0), (28.0, 7.0))).collect();
        assert!(placed.len() > 15, "{}", placed.len());
        for (i, a) in placed.iter().enumerate() {
            assert!((a.area.centre.1 - 150.0).abs() >= 14.0);
            assert!(a.area.centre.0 >= 28.0 && a.area.centre.0 <= 372.0);
            for b in &placed[..i] {
                assert!(!a.area.meets(&b.area, 3.9));
                let (early, late) = (b, a);
                assert!(early.leader.is_none_or(|(p, q)| !along(p, q).any(|p| late.area.holds(p, 1.9))));
                assert!(early.leader.zip(late.leader).is_none_or(|(p, q)| !crossing(p, q)));
                assert!(late.leader.is_none_or(|(p, q)| !along(p, q).any(|p| early.area.holds(p, 1.9))));
            }
        }
    }

    #[test]
    fn closed_form_lines_that_cross_and_lines_that_do_not() {
        let across = ((0.0, 0.0), (2.0, 2.0));
        assert!(crossing(across, ((0.0, 2.0), (2.0, 0.0))));
        assert!(!crossing(across, ((3.0, 0.0), (3.0, 9.0))));
        assert!(!crossing(across, ((0.0, 1.0), (2.0, 3.0))));
    }

    #[test]
    fn bad_input_no_room_is_no_label() {
        assert!(room().place((200.0, 150.0), (0.0, 1.0), (250.0, 7.0)).is_none());
        assert!(room().place((200.0, 150.0), (0.0, 0.0), (5.0, 5.0)).is_some());
    }
}
