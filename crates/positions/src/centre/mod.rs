//! From positions of one or several runs to one line: nodes at even distance, their curvature and slope, each with a
//! standard deviation.
//!
//! A first line is smoothed over the order of one run's positions; then every position of every run is dropped onto the
//! line, its distance from it is smoothed along the line ([`crate::curve::smooth`]), the line is moved, and again until
//! it rests. Curvature is that of the line plus what the offset d adds, d″ + κ² d.

pub(crate) mod align;
pub(crate) mod crossing;
pub(crate) mod drawn;
pub(crate) mod dropped;
pub(crate) mod laps;
pub(crate) mod line;
pub(crate) mod opening;
pub(crate) mod plane;
pub(crate) mod sparse;

use crate::centre::drawn::{Open, Rise};
use crate::centre::dropped::{Drop, alikeness, drop_all, heights, spread, turns};
use crate::centre::opening::{differences, first_line, together};
use crate::curve::nodes::Nodes;
use crate::curve::polyline::{Shape, chords, evened, interpolated};
use crate::curve::smooth::{Choice, Reading, Smoothed};

/// Positions in driving order, in a local plane.
#[derive(Clone, Debug, Default)]
pub struct Run {
    /// x, y, m.
    pub points: Vec<[f64; 2]>,
    /// Times, s, where there are any: as many as points.
    pub t: Vec<f64>,
    /// Heights, m, where there are any: as many as points, NaN for none.
    pub z: Vec<f64>,
    /// Curvature by a gyroscope or an accelerometer, 1/m, where there is any: as many as points, NaN for none.
    pub turn: Vec<f64>,
}

/// What to make of the positions.
#[derive(Clone, Copy, Debug)]
pub struct Wish {
    /// A circuit: each run is one round.
    pub closed: bool,
    /// Standard deviation of a position across the track, m; `None`: from the data.
    pub noise_m: Option<f64>,
    /// Standard deviation of a height, m; `None`: from the data.
    pub height_noise_m: Option<f64>,
}

/// The line through all runs.
#[derive(Clone, Debug, Default)]
pub struct Line {
    /// A circuit.
    pub closed: bool,
    /// Distance between nodes, m.
    pub step_m: f64,
    /// Nodes; of a circuit the last is one step before the first.
    pub points: Vec<[f64; 2]>,
    /// κ at the nodes, 1/m.
    pub kappa: Vec<f64>,
    /// Its standard deviation, 1/m.
    pub kappa_sd: Vec<f64>,
    /// q at the nodes; `None` without heights.
    pub slope: Option<Vec<(f64, f64)>>,
    /// Heights at the nodes, m; `None` without.
    pub z: Option<Vec<f64>>,
    /// Standard deviation of a position across the line, m, as given or found.
    pub noise_m: f64,
    /// Of how many readings one is worth: above 1 where the noise of neighbours is alike.
    pub alike: f64,
    /// Positions used.
    pub used: usize,
    /// Positions further from the line than five standard deviations, not used.
    pub left_out: usize,
    /// Readings of curvature by a gyroscope or an accelerometer that were used, some together.
    pub turns: usize,
    /// What the positions leave open.
    pub(crate) open: Option<Open>,
    /// What the heights leave open.
    pub(crate) rise: Option<Rise>,
}

/// Why there is no line.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum CentreError {
    /// Fewer positions than a line needs.
    #[error("{found} positions; at least {least} are needed")]
    TooFew {
        /// How many there are.
        found: usize,
        /// How many it takes.
        least: usize,
    },
    /// A walk, not a drive.
    #[error("the positions span only {length_m:.0} m")]
    TooShort {
        /// Along the positions, m.
        length_m: f64,
    },
    /// The line folds back on itself.
    #[error(
        "the line that fits the positions is {line_m:.0} m long, {positions_m:.0} m from position to position: it folds, and is none; too few positions, or too noisy"
    )]
    Folds {
        /// m.
        line_m: f64,
        /// m.
        positions_m: f64,
    },
    /// The line turns as no car can.
    #[error(
        "the line that fits the positions turns on a radius of {radius_m:.1} m, which no car does: it loops; too few positions, or too noisy"
    )]
    Loops {
        /// m.
        radius_m: f64,
    },
    /// It turns as no closed line of so many crossings does.
    #[error(
        "the line that fits the positions turns by {turned_deg:.0}° and crosses itself {crossings} times, which no circuit does"
    )]
    Turning {
        /// Degrees, left positive.
        turned_deg: f64,
        /// How often it crosses itself.
        crossings: usize,
    },
    /// The smoother found no answer.
    #[error("no smooth line follows these positions")]
    NoLine,
}

/// Positions at least.
pub(crate) const LEAST: usize = 12;
/// Shortest track, m.
const SHORTEST: f64 = 60.0;
/// Nodes at most.
const NODES: f64 = 12_000.0;
/// Distance between nodes, m, while that many are enough.
const STEP: f64 = 1.0;
/// Least rate of (dκ)²/ds, 1/m³: κ wanders by 1e-5 1/m in 10 m.
const FLOOR: f64 = 1e-11;
/// Half-width of the window over which the local rate is found, m.
const WINDOW: f64 = 15.0;

impl Line {
    /// Length in plan, m.
    pub fn length_m(&self) -> f64 {
        let n = self.points.len() as f64;
        self.step_m * if self.closed { n } else { n - 1.0 }
    }

    /// The line through the positions.
    ///
    /// # Errors
    /// [`CentreError`].
    pub fn through(runs: &[Run], wish: Wish) -> Result<Line, CentreError> {
        let found: usize = runs.iter().map(|r| r.points.len()).sum();
        if found < LEAST {
            return Err(CentreError::TooFew { found, least: LEAST });
        }
        if sparse::are_sparse(runs) {
            return sparse::through(runs, wish);
        }
        let line = Line::among(runs, wish);
        // A map's line that is dense but for its straights.
        match line {
            Err(_) if runs.iter().all(|r| r.t.len() != r.points.len()) => sparse::through(runs, wish).or(line),
            _ => line,
        }
    }

    /// The line through the positions, whose noise is taken as `least.1` where less than `least.0` is found, m:
    /// smoothed positions and copies show none, and a line through each of them weaves.
    ///
    /// # Errors
    /// [`CentreError`].
    pub fn through_at_least(runs: &[Run], wish: Wish, least: (f64, f64)) -> Result<Line, CentreError> {
        let line = Line::through(runs, wish);
        let little = |noise_m: f64| noise_m < least.0 && noise_m < least.1;
        if wish.noise_m.is_some() || least.1 <= 0.0 || line.as_ref().is_ok_and(|line| !little(line.noise_m)) {
            return line;
        }
        // Steps of few digits look like no line at all until they are known to be off by that much.
        Line::through(runs, Wish { noise_m: Some(least.1), ..wish }).or(line)
    }

    /// The line among positions as a logger writes them.
    fn among(runs: &[Run], wish: Wish) -> Result<Line, CentreError> {
        let first = runs.iter().max_by_key(|r| r.points.len()).ok_or(CentreError::NoLine)?;
        let together = together(runs, first, wish);
        let mut line = Err(CentreError::NoLine);
        // All runs together make the better first line where positions are sparse, unless it folds. Where the noise of
        // a first line is found too small, it loops through the noise: then the positions' own differences say how
        // large it is at most.
        let guesses = [Some(wish.noise_m), wish.noise_m.is_none().then(|| Some(differences(first)))];
        // Over distance in place of time for loggers that write a position only where the road bends.
        let placed = Run { points: first.points.clone(), ..Run::default() };
        let firsts = || together.iter().chain([first, &placed]);
        for (noise_m, all) in guesses.into_iter().flatten().flat_map(|noise| firsts().map(move |all| (noise, all))) {
            line = first_line(all, Wish { noise_m, ..wish })
                .and_then(|nodes| Line::about(nodes, runs, wish, None))
                .and_then(|line| line.unfolded(first));
            if line.is_ok() {
                break;
            }
        }
        line
    }

    /// Chords from position to position are no shorter than the line, but for what bends they cut; and no car drives a
    /// loop of a few metres.
    fn unfolded(self, run: &Run) -> Result<Line, CentreError> {
        let positions_m: f64 = chords(&run.points, self.closed).iter().sum();
        let line_m = self.length_m();
        let sharpest = self.kappa.iter().fold(0.0f64, |a, k| a.max(k.abs()));
        if line_m > FOLD * positions_m {
            return Err(CentreError::Folds { line_m, positions_m });
        }
        if sharpest > TURNS {
            return Err(CentreError::Loops { radius_m: 1.0 / sharpest });
        }
        // Several rounds in one line are told apart elsewhere.
        let timed = run.t.len() == run.points.len();
        if timed { Ok(self) } else { sparse::turning(self) }
    }

    /// The line near these nodes; `stated` is of how many readings one is worth, where that is known.
    fn about(mut nodes: Vec<[f64; 2]>, runs: &[Run], wish: Wish, stated: Option<f64>) -> Result<Line, CentreError> {
        let length: f64 = chords(&nodes, wish.closed).iter().sum();
        if length < SHORTEST {
            return Err(CentreError::TooShort { length_m: length });
        }
        let step = STEP.max(length / NODES);
        nodes = evened(&nodes, step, wish.closed);
        let mut alike = 1.0;
        let mut out = None;
        for round in 0..ROUNDS {
            let line = Shape::of(&nodes, wish.closed);
            let drops = drop_all(runs, &line);
            let spread = spread(&drops, wish.noise_m, out.as_ref());
            let kept: Vec<&Drop> = drops.iter().filter(|d| d.offset.abs() <= spread).collect();
            let readings: Vec<Reading> =
                kept.iter().map(|d| Reading { at: d.s / line.step, value: d.offset, weight: 1.0 / alike }).collect();
            let shape = Nodes { n: nodes.len(), step: line.step, ring: wish.closed, kappa: line.kappa.clone() };
            // Instruments come in once the line is known; how noisy positions are was found without them.
            let turns = match &out {
                Some(before) if round > 1 => {
                    turns(runs, &drops, &line, &carried(&before.kappa, nodes.len(), wish.closed))
                }
                _ => Vec::new(),
            };
            let found = out.as_ref().filter(|_| !turns.is_empty()).map(|s| s.noise);
            let choice = Choice {
                noise: wish.noise_m.or(found),
                window: (round > 0).then_some((WINDOW / line.step).round().max(2.0) as usize),
                floor: FLOOR,
                rounds: 24,
            };
            let smoothed = shape.smooth(&readings, &turns, choice).ok_or(CentreError::NoLine)?;
            if round + 1 == ROUNDS {
                let left_out = drops.len() - kept.len();
                let heights = heights(runs, &drops, &line, wish);
                let counts = Line { alike, used: kept.len(), left_out, turns: turns.len(), ..Line::default() };
                return Ok(counts.finished(&line, smoothed, heights));
            }
            alike = stated.unwrap_or_else(|| alikeness(&drops, &smoothed, &line));
            nodes = evened(&line.moved(&smoothed.values), step, wish.closed);
            out = Some(smoothed);
        }
        Err(CentreError::NoLine)
    }
}

/// Values at nodes that were evened.
pub(crate) fn carried(values: &[f64], n: usize, closed: bool) -> Vec<f64> {
    let scale = values.len() as f64 / n as f64;
    (0..n).map(|i| interpolated(values, i as f64 * scale, closed)).collect()
}

/// A line longer than its positions' chords by more than this folds: at 1 Hz a chord cuts a bend by 2 %.
const FOLD: f64 = 1.04;
/// Curvature that no car drives, 1/m: turning circles of cars are some 10 m across, a kart's 4 m (judgement, no
/// source).
const TURNS: f64 = 0.35;
/// Times that the line is moved; it rests after two.
const ROUNDS: usize = 4;

/// Distance of each of a run's positions along a line, m.
pub(crate) fn distances(line: &Line, run: &Run) -> Vec<f64> {
    let shape = Shape::of(&line.points, line.closed);
    let mut last: Option<(f64, [f64; 2])> = None;
    run.points
        .iter()
        .map(|&p| {
            let near = last.map(|(s, q): (f64, [f64; 2])| (s, 3.0 * (p[0] - q[0]).hypot(p[1] - q[1]) + 25.0));
            let (s, _) = shape.nearest(p, near);
            last = Some((s, p));
            s
        })
        .collect()
}

/// The same line with nodes about `step` apart, its curvature by the nodes' own chords; deviations and heights are
/// carried over.
pub(crate) fn evened_line(line: &Line, step: f64) -> Line {
    let points = evened(&line.points, step, line.closed);
    let shape = Shape::of(&points, line.closed);
    let n = points.len();
    let carried = |values: &[f64]| carried(values, n, line.closed);
    let slopes = |slope: &Vec<(f64, f64)>| {
        let (q, sd): (Vec<f64>, Vec<f64>) = slope.iter().copied().unzip();
        carried(&q).into_iter().zip(carried(&sd)).collect()
    };
    Line {
        step_m: shape.step,
        kappa: shape.kappa,
        kappa_sd: carried(&line.kappa_sd),
        slope: line.slope.as_ref().map(slopes),
        z: line.z.as_ref().map(|z| carried(z)),
        points,
        ..line.clone()
    }
}

impl Line {
    /// With the last offsets and what else was found.
    fn finished(self, before: &Shape, smoothed: Smoothed, heights: Option<Smoothed>) -> Line {
        let points = before.moved(&smoothed.values);
        let moved = Shape::of(&points, before.closed);
        Line {
            closed: before.closed,
            step_m: moved.step,
            points,
            kappa: smoothed.kappa,
            kappa_sd: smoothed.kappa_sd,
            noise_m: smoothed.noise,
            open: Some(Open { about: before.clone(), offsets: smoothed.values, factors: smoothed.factors }),
            slope: heights.as_ref().map(|h| h.slope.clone()),
            z: heights.as_ref().map(|h| h.values.clone()),
            rise: heights.map(|h| Rise { heights: h.values, factors: h.factors }),
            ..self
        }
    }

    /// Moved sideways, nodes as they are.
    pub(crate) fn offset(&self, offsets: &[f64]) -> Line {
        let moved = Shape::of(&self.points, self.closed).moved(offsets);
        let shape = Shape::of(&moved, self.closed);
        Line { points: moved, kappa: shape.kappa, step_m: shape.step, ..self.clone() }
    }
}
