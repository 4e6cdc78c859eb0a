//! Sparse lines of a map: some hundred points, dense in bends and hundreds of metres apart on straights, drawn by hand.
//!
//! A spline over the chords' length ([`Spline`]) joins them; places on it, as many from point to point, are then
//! smoothed like positions, with the noise that the points show themselves ([`spread`]).

use crate::centre::crossing::self_crossings;
use crate::centre::{CentreError, Line, Run, Wish};
use crate::curve::polyline::{Shape, chords};
use crate::curve::spline::Spline;

/// Points further apart than this on average are smoothed as a map's, m.
const SPARSE: f64 = 10.0;
/// From point to point so many places, and one each so many metres at least on a straight.
const PARTS: (usize, f64) = (4, 25.0);
/// What a map's points are taken to be off by at least and at most, m. Judgement, no source: lines are drawn on
/// pictures of half a metre a pixel, by people who click the middle of a road.
const DRAWN: (f64, f64) = (0.15, 1.0);
/// The smoothed line's length against the spline's.
const LENGTHS: f64 = 0.006;
/// Curvature that no road has, 1/m: a full lock turn of a car is 5 m (judgement, no source).
const TURNS: f64 = 0.3;
/// Distance between the spline's places where it is looked at, m.
const LOOK: f64 = 2.0;

/// Whether these are a map's sparse lines.
pub(crate) fn are_sparse(runs: &[Run]) -> bool {
    runs.iter().all(|r| {
        let length: f64 = chords(&r.points, false).iter().sum();
        r.t.len() != r.points.len() && r.points.len() > 3 && length / (r.points.len() as f64 - 1.0) > SPARSE
    })
}

/// The line through them.
pub(crate) fn through(runs: &[Run], wish: Wish) -> Result<Line, CentreError> {
    let first = runs.iter().max_by_key(|r| r.points.len()).ok_or(CentreError::NoLine)?;
    let spline = Spline::through(&first.points, wish.closed);
    let nodes: Vec<[f64; 2]> =
        spline.places(|chord| (chord / LOOK).ceil() as usize, wish.closed).into_iter().map(|p| p.0).collect();
    let spline_m: f64 = chords(&nodes, wish.closed).iter().sum();
    let placed: Vec<Run> = runs.iter().map(|r| places(r, wish.closed)).collect();
    let noise_m = wish.noise_m.unwrap_or_else(|| spread(&first.points, wish.closed));
    let mut fault = CentreError::NoLine;
    // A line that the noise lets leave its points too far goes nearer to them.
    for share in [1.0, 0.5, 0.25, 0.1] {
        // As many places a point, each as much noisier, say together what the point says.
        let noise = share * noise_m * (PARTS.0 as f64).sqrt();
        let made = Line::about(nodes.clone(), &placed, Wish { noise_m: Some(noise), ..wish }, Some(1.0));
        match made.and_then(|line| sound(line, spline_m)) {
            Ok(line) => {
                let used = runs.iter().map(|r| r.points.len()).sum();
                return Ok(Line { noise_m: share * noise_m, used, left_out: 0, ..line });
            }
            Err(other) => fault = other,
        }
        if wish.noise_m.is_some() {
            break;
        }
    }
    Err(fault)
}

/// Places on the spline through a run's points; heights between them in proportion.
fn places(run: &Run, closed: bool) -> Run {
    let parts = |chord: f64| PARTS.0.max((chord / PARTS.1).ceil() as usize).min((chord / 0.5).ceil() as usize);
    let n = run.points.len();
    let (points, at): (Vec<_>, Vec<f64>) =
        Spline::through(&run.points, closed).places(parts, closed).into_iter().unzip();
    let height = |at: f64| {
        let i = (at as usize).min(n - 1);
        let (a, b) = (run.z[i], run.z[(i + 1) % n]);
        if at > i as f64 { a + (at - i as f64) * (b - a) } else { a }
    };
    let z = if run.z.len() == n { at.into_iter().map(height).collect() } else { Vec::new() };
    Run { points, z, ..Run::default() }
}

impl Run {
    /// A round without times begun where its curve passes nearest to a place: by a point more, unless one is there.
    pub fn begin_at(&mut self, place: [f64; 2]) {
        let n = self.points.len();
        let spline = Spline::through(&self.points, true);
        let off = |p: [f64; 2]| (p[0] - place[0]).hypot(p[1] - place[1]);
        let all = spline.places(|chord| (chord / LOOK).ceil() as usize, true);
        let Some(&(point, at)) = all.iter().min_by(|a, b| off(a.0).total_cmp(&off(b.0))) else { return };
        let (i, share) = (at as usize, at.fract());
        let next = (i + 1) % n;
        let (p, q) = (self.points[i], self.points[next]);
        let own = share * (q[0] - p[0]).hypot(q[1] - p[1]) < LOOK;
        self.points.rotate_left(if own { i } else { next });
        for column in [&mut self.z, &mut self.turn].into_iter().filter(|c| c.len() == n) {
            let between = column[i] + share * (column[next] - column[i]);
            column.rotate_left(if own { i } else { next });
            if !own {
                column.insert(0, between);
            }
        }
        if !own {
            self.points.insert(0, point);
        }
        self.t.clear();
    }
}

/// What the points are off a smooth line by, m: of five that follow one another, what they lack to a cubic over their
/// chords' length, scaled so that independent noise σ gives σ. The bend itself adds to it; so the lower quartile of the
/// denser half counts.
fn spread(points: &[[f64; 2]], closed: bool) -> f64 {
    let n = points.len();
    let windows = if closed { n } else { n.saturating_sub(4) };
    let mut all: Vec<(f64, f64)> = (0..windows)
        .map(|i| {
            let p: [[f64; 2]; 5] = std::array::from_fn(|k| points[(i + k) % n]);
            let mut u = [0.0; 5];
            (1..5).for_each(|k| u[k] = u[k - 1] + (p[k][0] - p[k - 1][0]).hypot(p[k][1] - p[k - 1][1]));
            let weight = |k: usize| (0..5).filter(|j| *j != k).map(|j| u[4] / (u[k] - u[j])).product::<f64>();
            let w: [f64; 5] = std::array::from_fn(weight);
            let size = w.iter().map(|w| w * w).sum::<f64>().sqrt();
            let off = |axis: usize| (0..5).map(|k| w[k] * p[k][axis]).sum::<f64>() / size;
            // Off along the line nothing is, for chords are measured by the points themselves.
            (u[4], off(0).hypot(off(1)))
        })
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all.truncate(windows.div_ceil(2));
    let mut sizes: Vec<f64> = all.iter().map(|a| a.1).filter(|x| x.is_finite()).collect();
    sizes.sort_by(f64::total_cmp);
    // 0.3186: the lower quartile of a normal deviate's size.
    sizes.get(sizes.len() / 4).map_or(DRAWN.0, |q| q / 0.318_6).clamp(DRAWN.0, DRAWN.1)
}

/// A line as long as the spline, of bends that a car can drive.
fn sound(line: Line, positions_m: f64) -> Result<Line, CentreError> {
    let line_m = line.length_m();
    if (line_m / positions_m - 1.0).abs() > LENGTHS {
        return Err(CentreError::Folds { line_m, positions_m });
    }
    let shape = Shape::of(&line.points, line.closed);
    let sharpest = shape.kappa.iter().chain(&line.kappa).fold(0.0f64, |a, k| a.max(k.abs()));
    if sharpest > TURNS {
        return Err(CentreError::Loops { radius_m: 1.0 / sharpest });
    }
    turning(line)
}

/// Turning that goes with crossings: a closed curve that crosses itself c times turns k times round, k + c odd and |k|
/// ≤ c + 1 (H. Whitney, *Compositio Math.* 4, 1937; from memory).
pub(crate) fn turning(line: Line) -> Result<Line, CentreError> {
    if !line.closed {
        return Ok(line);
    }
    let shape = Shape::of(&line.points, true);
    let turned = shape.kappa.iter().sum::<f64>() * shape.step / (2.0 * std::f64::consts::PI);
    let round: Vec<[f64; 2]> = line.points.iter().chain(line.points.first()).copied().collect();
    let crossings = self_crossings(&round, line.step_m).len();
    let turns = turned.round().abs() as usize;
    if (turns + crossings).is_multiple_of(2) || turns > crossings + 1 {
        return Err(CentreError::Turning { turned_deg: 360.0 * turned, crossings });
    }
    Ok(line)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::noise::Noise;
    use std::f64::consts::PI;

    const CLOSED: Wish = Wish { closed: true, noise_m: None, height_noise_m: None };

    /// Straights and arcs as a drawer clicks them: a point at each end of a straight, arcs every so many degrees; each
    /// (length, 0) or (radius, degrees). The end, and how long it is.
    fn drawn(parts: &[(f64, f64)], every_deg: f64, noise_m: f64, seed: u64) -> (Vec<[f64; 2]>, f64) {
        let mut random = Noise::new(seed);
        let (mut at, mut heading, mut length) = ([0.0f64; 2], 0.0f64, 0.0);
        let mut points = vec![at];
        for &(size, degrees) in parts {
            if degrees == 0.0 {
                at = [at[0] + size * heading.cos(), at[1] + size * heading.sin()];
                length += size;
                points.push(at);
                continue;
            }
            let steps = (degrees.abs() / every_deg).ceil().max(2.0);
            for _ in 0..steps as usize {
                let turn = (degrees / steps).to_radians();
                let chord = 2.0 * size * (0.5 * turn.abs()).sin();
                at = [at[0] + chord * (heading + 0.5 * turn).cos(), at[1] + chord * (heading + 0.5 * turn).sin()];
                heading += turn;
                points.push(at);
            }
            length += size * degrees.abs().to_radians();
        }
        points.iter_mut().for_each(|p| *p = p.map(|x| x + noise_m * random.normal()));
        (points, length)
    }

    fn turned(line: &Line) -> f64 {
        line.kappa.iter().sum::<f64>() * line.step_m / (2.0 * PI)
    }

    fn least_radius(line: &Line) -> f64 {
        1.0 / line.kappa.iter().fold(0.0f64, |a, k| a.max(k.abs()))
    }

    /// A stadium of 860 m straights, one with a hairpin of R 12 m at each end, and a figure of eight by two loops:
    /// turning, length within 0.6 %, and the tightest radius of the drawing within a third, at every density, with and
    /// without a drawer's hand.
    #[test]
    fn closed_form_circuits_as_they_are_drawn() {
        let stadium = [(860.0, 0.0), (60.0, 180.0), (860.0, 0.0), (60.0, 180.0)];
        let hairpins = [(400.0, 0.0), (12.0, 180.0), (400.0, 0.0), (12.0, 180.0)];
        // Straights that meet the two loops as tangents: 270° each, straights of 2 R cross in the middle.
        let eight = [(240.0, 0.0), (120.0, 270.0), (240.0, 0.0), (120.0, -270.0)];
        for (parts, turns, radius) in [(&stadium, 1.0, 60.0), (&hairpins, 1.0, 12.0), (&eight, 0.0, 120.0)] {
            for every in [12.0f64, 20.0, 30.0] {
                // A hand that is off by a tenth of what lies between points makes a way of its own, longer by 1 %.
                let hand = 0.3f64.min(0.04 * radius * every.to_radians());
                for (noise, seed) in [(0.0, 1), (hand, 2), (hand, 3)] {
                    let (mut points, length) = drawn(parts, every, noise, seed);
                    points.pop();
                    for flipped in [false, true] {
                        let points: Vec<[f64; 2]> =
                            points.iter().map(|p| [p[0], if flipped { -p[1] } else { p[1] }]).collect();
                        let what = format!("R {radius}, {every}°, {noise} m, {seed}");
                        let line = Line::through(&[Run { points, ..Run::default() }], CLOSED);
                        let line = line.unwrap_or_else(|e| panic!("{what}: {e}"));
                        let sign = if flipped { -1.0 } else { 1.0 };
                        assert!((sign * turned(&line) - turns).abs() < 0.02, "{what}: {}", turned(&line));
                        assert!((line.length_m() / length - 1.0).abs() < 0.006, "{what}: {} {length}", line.length_m());
                        let r = least_radius(&line) / radius;
                        assert!((0.67..1.5).contains(&r), "{what}: {}", least_radius(&line));
                    }
                }
            }
        }
    }

    /// An open climb of hairpins keeps its length and its ends.
    #[test]
    fn closed_form_an_open_climb() {
        let climb =
            [(300.0, 0.0), (15.0, 170.0), (180.0, 0.0), (15.0, -170.0), (420.0, 0.0), (80.0, 60.0), (200.0, 0.0)];
        let (points, length) = drawn(&climb, 25.0, 0.2, 5);
        let (first, last) = (points[0], points[points.len() - 1]);
        let wish = Wish { closed: false, ..CLOSED };
        let line = Line::through(&[Run { points, ..Run::default() }], wish).unwrap();
        assert!((line.length_m() / length - 1.0).abs() < 0.006, "{} {length}", line.length_m());
        let near = |p: [f64; 2], q: [f64; 2]| (p[0] - q[0]).hypot(p[1] - q[1]) < 2.0;
        assert!(near(line.points[0], first) && near(line.points[line.points.len() - 1], last));
    }

    /// Noise by the points' own spread, of a line whose bends are gentle.
    #[test]
    fn closed_form_spread_of_a_circle() {
        let mut random = Noise::new(4);
        let points: Vec<[f64; 2]> = (0..400)
            .map(|i| f64::from(i) * PI / 200.0)
            .map(|a| [900.0 * a.cos(), 900.0 * a.sin()].map(|x| x + 0.5 * random.normal()))
            .collect();
        // 200 overlapping contrasts: the lower quartile is known to some 10 %.
        assert!((spread(&points, true) / 0.5 - 1.0).abs() < 0.25, "{}", spread(&points, true));
    }

    /// A round begun in the middle of a straight.
    #[test]
    fn closed_form_a_start_between_points() {
        let (mut points, _) = drawn(&[(860.0, 0.0), (60.0, 180.0), (860.0, 0.0), (60.0, 180.0)], 20.0, 0.0, 1);
        points.pop();
        let mut run = Run { points, ..Run::default() };
        let n = run.points.len();
        run.begin_at([400.0, -30.0]);
        assert_eq!(run.points.len(), n + 1);
        assert!((run.points[0][0] - 400.0).abs() < 3.0, "{:?}", run.points[0]);
        assert!((run.points[1][0] - 860.0).abs() < 1e-9);
    }
}
