//! A synthetic logger: the model driven with known truth, sampled with noise, wander and dropouts. What it writes is
//! invented and so to be marked; it is there to test against truth.

use unladen_lap::Row;
use unladen_positions::Noise;
use unladen_track::Track;

/// How it logs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Logger {
    /// Samples a second.
    pub rate_hz: f64,
    /// Whole laps; an out- and an in-lap of half a lap each come on top.
    pub laps: usize,
    /// Standard deviation of each position's own noise, m.
    pub position_noise_m: f64,
    /// Standard deviation of a slow wander of positions (a first-order process of a minute), m.
    pub wander_m: f64,
    /// Standard deviation of heights, m.
    pub height_noise_m: f64,
    /// Standard deviation of speed, m/s.
    pub speed_noise_mps: f64,
    /// Standard deviation of accelerations, m/s².
    pub acceleration_noise_mps2: f64,
    /// Share of positions that are missing, in gaps of about half a second.
    pub dropouts: f64,
    /// The same seed gives the same log.
    pub seed: u64,
}

impl Default for Logger {
    /// 10 Hz, five laps, half a metre.
    fn default() -> Self {
        Self {
            rate_hz: 10.0,
            laps: 5,
            position_noise_m: 0.5,
            wander_m: 0.0,
            height_noise_m: 1.0,
            speed_noise_mps: 0.15,
            acceleration_noise_mps2: 0.3,
            dropouts: 0.0,
            seed: 1,
        }
    }
}

/// A sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// s.
    pub t: f64,
    /// True distance from the start line, m in plan: for tests, no logger has it.
    pub s: f64,
    /// x, y, z in the track's own axes, m; `None` in a dropout.
    pub position: Option<[f64; 3]>,
    /// m/s.
    pub speed: f64,
    /// Forward, m/s².
    pub ax: f64,
    /// Left, m/s².
    pub ay: f64,
    /// Left, rad/s.
    pub yaw_rate: f64,
    /// Gear.
    pub gear: u8,
}

/// Time of the wander, s.
const WANDER_S: f64 = 60.0;
/// Length of a dropout, s.
const DROPOUT_S: f64 = 0.5;

struct Driven<'a> {
    rows: &'a [Row],
    time: f64,
}

impl Driven<'_> {
    /// The row before a time of the lap, and the state there: (index, s, v), steady acceleration between rows.
    fn at(&self, t: f64) -> (usize, f64, f64) {
        let i = self.rows.partition_point(|r| r.t <= t).clamp(1, self.rows.len() - 1) - 1;
        let (a, b) = (&self.rows[i], &self.rows[i + 1]);
        let share = ((t - a.t) / (b.t - a.t).max(1e-12)).clamp(0.0, 1.0);
        let v = a.v + share * (b.v - a.v);
        // Under steady acceleration s runs with the mean speed; scaled to end on the next row.
        let run = |x: f64| x * (a.v + 0.5 * x * (b.v - a.v));
        (i, a.s + (b.s - a.s) * run(share) / run(1.0).max(1e-12), v)
    }
}

/// The log of a solved lap (its trace in `rows`, the last one at the lap's end) on its track; of an open course, one
/// run.
pub fn drive(track: &Track, rows: &[Row], logger: &Logger) -> Vec<Sample> {
    let Some(last) = rows.last().filter(|_| rows.len() > 2) else { return Vec::new() };
    let driven = Driven { rows, time: last.t };
    let poses = track.outline(0.5);
    let total = if track.closed { (logger.laps as f64 + 1.0) * driven.time } else { driven.time };
    let from = if track.closed { 0.5 * driven.time } else { 0.0 };
    let mut noise = Noise::new(logger.seed);
    let dt = 1.0 / logger.rate_hz;
    let keep = (-dt / WANDER_S).exp();
    let mut wander = [noise.normal(), noise.normal()].map(|w| w * logger.wander_m);
    let mut gone = 0.0;
    let count = (total * logger.rate_hz) as usize;
    (0..count)
        .map(|k| {
            let t = k as f64 * dt;
            let (i, s, v) = driven.at((from + t).rem_euclid(driven.time));
            let row = &rows[i];
            let p = poses.partition_point(|p| p.s <= s).clamp(1, poses.len() - 1);
            let (a, b) = (&poses[p - 1], &poses[p]);
            let w = ((s - a.s) / (b.s - a.s)).clamp(0.0, 1.0);
            let kappa = (b.heading - a.heading) / (b.s - a.s);
            wander = wander.map(|x| keep * x + logger.wander_m * (1.0 - keep * keep).sqrt() * noise.normal());
            let at = [a.x + w * (b.x - a.x), a.y + w * (b.y - a.y), a.z + w * (b.z - a.z)];
            let sds = [logger.position_noise_m, logger.position_noise_m, logger.height_noise_m];
            let drift = [wander[0], wander[1], 0.0];
            let seen: [f64; 3] = std::array::from_fn(|m| at[m] + drift[m] + sds[m] * noise.normal());
            // A dropout begins so often that its share comes out.
            if gone <= 0.0 && noise.even() < logger.dropouts * dt / DROPOUT_S {
                gone = DROPOUT_S;
            }
            gone -= dt;
            let a_noise = logger.acceleration_noise_mps2;
            Sample {
                t,
                s,
                position: (gone <= 0.0).then_some(seen),
                speed: (v + logger.speed_noise_mps * noise.normal()).max(0.0),
                ax: row.a_x + a_noise * noise.normal(),
                ay: row.a_y + a_noise * noise.normal(),
                yaw_rate: v * kappa + 0.01 * noise.normal(),
                gear: row.gear,
            }
        })
        .collect()
}
