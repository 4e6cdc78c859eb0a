//! Laps from a log without positions: dead reckoning by speed and yaw rate (or lateral acceleration over speed), lap by
//! lap, each made to close. Where the laps begin is told by the log's lap column, or by where curvature comes again.

use std::f64::consts::PI;

use unladen_positions::Run;

use crate::log::{Log, Quantity};

/// A lap: its positions in a plane of its own, when it starts in the log's time, s, and its lap time, s.
pub(super) struct Reckoned {
    pub(super) run: Run,
    pub(super) from_s: f64,
    pub(super) time_s: f64,
}

/// Rows of what is needed.
struct Motion {
    t: Vec<f64>,
    v: Vec<f64>,
    /// Left, rad/s.
    omega: Vec<f64>,
    /// Distance, m.
    s: Vec<f64>,
}

/// Distance between samples of curvature, m.
const SAMPLE: f64 = 4.0;
/// Shortest lap, m.
const SHORTEST: f64 = 200.0;
/// Correlation from which on curvature has come again.
const AGAIN: f64 = 0.8;
/// A lap whose turning is further from whole turns than this is none, rad.
const OPEN: f64 = 1.5;
/// Slower than this a lateral acceleration says nothing of turning, m/s.
const ROLLS: f64 = 3.0;

impl Motion {
    fn of(log: &Log) -> Option<Motion> {
        let speed = log.channel(Quantity::Speed)?;
        let (yaw, lateral) = (log.channel(Quantity::YawRate), log.channel(Quantity::LateralAcceleration));
        yaw.or(lateral)?;
        let turning = |i: usize| match (yaw, lateral) {
            (Some(yaw), _) => yaw[i],
            (None, Some(a)) if speed[i] > ROLLS => a[i] / speed[i],
            _ => 0.0,
        };
        let rows: Vec<usize> = (0..log.rows()).filter(|i| speed[*i].is_finite() && turning(*i).is_finite()).collect();
        let pick = |of: &dyn Fn(usize) -> f64| rows.iter().map(|i| of(*i)).collect::<Vec<f64>>();
        let (t, v, omega) = (pick(&|i| log.t[i]), pick(&|i| speed[i]), pick(&turning));
        let mut s = vec![0.0];
        for i in 1..t.len() {
            s.push(s[i - 1] + 0.5 * (v[i] + v[i - 1]) * (t[i] - t[i - 1]));
        }
        (t.len() > 50).then_some(Motion { t, v, omega, s })
    }

    /// The row at a distance.
    fn row(&self, s: f64) -> usize {
        self.s.partition_point(|x| *x < s).min(self.s.len() - 1)
    }

    /// Curvature at even distances, the mean of the rows about each.
    fn curvature(&self) -> Vec<f64> {
        let count = (self.s[self.s.len() - 1] / SAMPLE) as usize;
        let at = |k: usize| {
            let (from, to) = (self.row((k as f64 - 0.5) * SAMPLE), self.row((k as f64 + 0.5) * SAMPLE));
            let own = from..(to.max(from) + 1).min(self.s.len());
            let n = own.len() as f64;
            own.map(|i| self.omega[i] / self.v[i].max(ROLLS)).sum::<f64>() / n
        };
        (0..count).map(at).collect()
    }

    /// First rows of laps, and the row behind the last.
    fn cuts(&self, log: &Log) -> Vec<usize> {
        if let Some(lap) = log.channel(Quantity::Lap) {
            let mut cuts = Vec::new();
            let mut last = f64::NAN;
            for (i, t) in log.t.iter().enumerate().filter(|(i, _)| lap[*i].is_finite()) {
                if lap[i] != last && last.is_finite() {
                    cuts.push(self.t.partition_point(|x| x < t));
                }
                last = lap[i];
            }
            if cuts.len() > 1 {
                return cuts;
            }
        }
        let kappa = self.curvature();
        let Some(lag) = again(&kappa) else { return Vec::new() };
        // From where it is fastest in the first lap, most likely on the longest straight.
        let start = (0..lag.min(kappa.len())).max_by(|a, b| {
            let v = |k: usize| self.v[self.row(k as f64 * SAMPLE)];
            v(*a).total_cmp(&v(*b))
        });
        let first = start.unwrap_or(0);
        let mut cuts = vec![self.row(first as f64 * SAMPLE)];
        let mut at = first;
        while at + lag + lag / 30 + lag / 4 < kappa.len() {
            // Each lap is a little longer or shorter.
            let near = (lag - lag / 30..=lag + lag / 30).filter(|l| at + l + lag / 4 < kappa.len());
            let best = near
                .max_by(|a, b| alike(&kappa, first, at + a, lag / 4).total_cmp(&alike(&kappa, first, at + b, lag / 4)));
            let Some(step) = best else { break };
            at += step;
            cuts.push(self.row(at as f64 * SAMPLE));
        }
        cuts
    }

    /// One lap, closed: a yaw rate's offset is what turning lacks to whole turns, and the gap that stays is spread
    /// along it.
    fn lap(&self, from: usize, to: usize) -> Option<Reckoned> {
        let whole = self.t[to] - self.t[from];
        let turned: f64 =
            (from + 1..=to).map(|i| 0.5 * (self.omega[i] + self.omega[i - 1]) * (self.t[i] - self.t[i - 1])).sum();
        let over = turned - 2.0 * PI * (turned / (2.0 * PI)).round();
        if over.abs() > OPEN || whole <= 0.0 {
            return None;
        }
        let offset = over / whole;
        let (mut heading, mut at) = (0.0f64, [0.0f64; 2]);
        let mut points = vec![at];
        for i in from + 1..=to {
            let dt = self.t[i] - self.t[i - 1];
            let turn = (0.5 * (self.omega[i] + self.omega[i - 1]) - offset) * dt;
            let (ds, middle) = (self.s[i] - self.s[i - 1], heading + 0.5 * turn);
            at = [at[0] + ds * middle.cos(), at[1] + ds * middle.sin()];
            heading += turn;
            points.push(at);
        }
        let length = self.s[to] - self.s[from];
        for (p, i) in points.iter_mut().zip(from..) {
            let share = (self.s[i] - self.s[from]) / length;
            *p = [p[0] - share * at[0], p[1] - share * at[1]];
        }
        points.pop();
        let rows = from..to;
        let turn =
            rows.clone().map(|i| if self.v[i] > ROLLS { (self.omega[i] - offset) / self.v[i] } else { f64::NAN });
        let run = Run {
            points,
            t: rows.clone().map(|i| self.t[i] - self.t[from]).collect(),
            turn: turn.collect(),
            z: vec![],
        };
        Some(Reckoned { run, from_s: self.t[from], time_s: whole })
    }
}

/// Correlation of curvature over some samples from two places on.
fn alike(kappa: &[f64], a: usize, b: usize, count: usize) -> f64 {
    let count = count.min(kappa.len() - a.max(b).min(kappa.len()));
    let (mut ab, mut aa, mut bb) = (0.0, 0.0, 0.0);
    for i in 0..count {
        let (x, y) = (kappa[a + i], kappa[b + i]);
        (ab, aa, bb) = (ab + x * y, aa + x * x, bb + y * y);
    }
    if aa * bb > 0.0 { ab / (aa * bb).sqrt() } else { 0.0 }
}

/// The least lag, in samples, after which curvature comes again.
fn again(kappa: &[f64]) -> Option<usize> {
    let least = (SHORTEST / SAMPLE) as usize;
    let all: Vec<f64> = (0..kappa.len() * 3 / 4).map(|lag| alike(kappa, 0, lag, kappa.len() - lag)).collect();
    (least..all.len().saturating_sub(1)).find(|l| all[*l] > AGAIN && all[*l] >= all[l - 1] && all[*l] > all[l + 1])
}

/// Turned and moved so that it lies on the other as well as it can (least squares over places at the same share of the
/// lap).
fn laid_onto(run: &mut Run, other: &Run) {
    let at = |r: &Run, k: usize| r.points[k * (r.points.len() - 1) / 100];
    let mean = |r: &Run| {
        let sum = (0..100).fold([0.0; 2], |m, k| [m[0] + at(r, k)[0], m[1] + at(r, k)[1]]);
        sum.map(|x| x / 100.0)
    };
    let (own, its) = (mean(run), mean(other));
    let (mut cross, mut dot) = (0.0, 0.0);
    for k in 0..100 {
        let (p, q) = (at(run, k), at(other, k));
        let (a, b) = ([p[0] - own[0], p[1] - own[1]], [q[0] - its[0], q[1] - its[1]]);
        (dot, cross) = (dot + a[0] * b[0] + a[1] * b[1], cross + a[0] * b[1] - a[1] * b[0]);
    }
    let (sin, cos) = cross.atan2(dot).sin_cos();
    for p in &mut run.points {
        let [x, y] = [p[0] - own[0], p[1] - own[1]];
        *p = [its[0] + cos * x - sin * y, its[1] + sin * x + cos * y];
    }
}

/// The laps of a log without positions; `None` where it has not the channels for it.
pub(super) fn reckoned(log: &Log) -> Option<Vec<Reckoned>> {
    let motion = Motion::of(log)?;
    let cuts = motion.cuts(log);
    let mut laps: Vec<Reckoned> = cuts.windows(2).filter_map(|w| motion.lap(w[0], w[1])).collect();
    let mut times: Vec<f64> = laps.iter().map(|l| l.time_s).collect();
    times.sort_by(f64::total_cmp);
    // In- and out-laps: the lower quartile is the usual.
    if let Some(usual) = times.get(times.len() / 4).copied() {
        laps.retain(|l| (l.time_s / usual - 1.0).abs() < 0.12 && l.run.points.len() > 100);
    }
    if let Some((first, rest)) = laps.split_first_mut() {
        rest.iter_mut().for_each(|l| laid_onto(&mut l.run, &first.run));
    }
    Some(laps)
}
