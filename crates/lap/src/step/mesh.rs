//! Stations: each segment cut into cells that are short at its joins, where profiles bend like square roots.

use unladen_track::{Segment, Track};
use unladen_vehicle::Scalar;
use unladen_vehicle::road::{Road, Shape};

use crate::step::tableau::C;

/// Below this radius steps shrink with it: a car goes from full side force to full drive over about π/4 of a radius, m.
const TIGHT: f64 = 60.0;

/// Where the road is straighter than `TIGHT`, steps grow with the radius up to this many times the asked one.
const STRAIGHT: f64 = 5.0;

/// Along a steady bend cells are this many times as long: a car mostly stands on its ceiling there.
const STEADY: f64 = 3.0;

/// A stretch of one segment between two stations.
#[derive(Clone, Debug)]
pub struct Cell {
    /// Which segment.
    pub segment: usize,
    /// Start, from the start of the track, m.
    pub s: f64,
    /// Start, from the start of the segment, m.
    pub at: f64,
    /// Length, m.
    pub length: f64,
    /// The road at a forward step's stages; the last is the cell's end.
    pub forward: [Road; 3],
    /// The road at a backward step's stages; the last is the cell's start.
    pub backward: [Road; 3],
    /// The road at its start is not the one at the end of the cell before.
    pub jump: bool,
}

/// All cells of a track.
#[derive(Clone, Debug)]
pub struct Mesh {
    /// In driving order.
    pub cells: Vec<Cell>,
    /// A circuit.
    pub closed: bool,
    /// v² at the start of an open course, m²/s².
    pub x_start: f64,
    segments: Vec<Segment>,
}

/// The road's shape `at` metres into a segment.
pub fn shape<S: Scalar>(segment: &Segment, at: S) -> Shape<S> {
    let linear = |[start, end]: [f64; 2]| at * ((end - start) / segment.length) + start;
    Shape {
        kappa: linear(segment.kappa),
        q: linear(segment.q),
        dq: (segment.q[1] - segment.q[0]) / segment.length,
        phi: linear(segment.phi),
        gamma: segment.gamma,
    }
}

/// Cells are not cut shorter than about this, m: over less, what is feasible next to a ceiling is lost in rounding.
const SHORTEST: f64 = 0.02;

/// Place of a cell boundary in its segment, both 0…1: dense at the ends (quadratically, as √ wants it), but for a share
/// `even` of uniform cells.
fn graded(x: f64, even: f64) -> f64 {
    even * x + (1.0 - even) * x * x * (3.0 - 2.0 * x)
}

impl Mesh {
    /// Cells of about `step` m; each segment gets an even number, so that `2 step` is the same mesh without every
    /// second station.
    pub fn new(track: &Track, step: f64, halving: Halving) -> Self {
        let mut cells: Vec<Cell> = vec![];
        let mut s_segment = 0.0;
        for (i, segment) in track.segments.iter().enumerate() {
            let tight = segment.kappa[0].abs().max(segment.kappa[1].abs());
            // From a standing start speed bends more than the road does.
            let straight = if i == 0 && !track.closed { 1.0 } else { STRAIGHT };
            let steady = if segment.kappa[0] == segment.kappa[1] { STEADY } else { 1.0 };
            let step = step * (steady / (TIGHT * tight)).clamp(0.0, straight);
            let half = (segment.length / (2.0 * step)).ceil().max(1.0) as usize;
            let n = match halving {
                Halving::Full => 2 * half,
                Halving::Half => half,
                Halving::Quarter => half.div_ceil(2),
            };
            let full = 2.0 * half as f64;
            let even = (SHORTEST * full / segment.length - 3.0 / full).clamp(0.0, 1.0);
            for j in 0..n {
                let boundary = |j: usize| {
                    let x = j as f64 / n as f64;
                    segment.length * if half > 2 { graded(x, even) } else { x }
                };
                let (at, end) = (boundary(j), boundary(j + 1));
                let length = end - at;
                let road = |share: f64| shape::<f64>(segment, at + share * length).road();
                cells.push(Cell {
                    segment: i,
                    s: s_segment + at,
                    at,
                    length,
                    forward: C.map(road),
                    backward: C.map(|c| road(1.0 - c)),
                    jump: false,
                });
            }
            s_segment += segment.length;
        }
        let n = cells.len();
        for i in 0..n {
            let before = cells[(i + n - 1) % n].forward[2];
            cells[i].jump = (i > 0 || track.closed) && !close(&before, &cells[i].backward[2]);
        }
        Self {
            cells,
            closed: track.closed,
            x_start: track.start_speed * track.start_speed,
            segments: track.segments.clone(),
        }
    }

    /// The road at a station, on the side of the cell that starts there; at the end of an open course, of the last one.
    pub fn road_at(&self, station: usize) -> &Road {
        match self.cells.get(station) {
            Some(cell) => &cell.backward[2],
            None => &self.cells[self.cells.len() - 1].forward[2],
        }
    }

    /// The road within a cell, `share` 0…1 of the way.
    pub fn road_in<S: Scalar>(&self, cell: &Cell, share: S) -> Road<S> {
        if !S::HAS_DERIVATIVES && share.value() == 0.0 {
            return cell.backward[2].lift();
        }
        if !S::HAS_DERIVATIVES && share.value() == 1.0 {
            return cell.forward[2].lift();
        }
        shape(&self.segments[cell.segment], share * cell.length + cell.at).road()
    }

    /// 1/cosθ within a cell.
    pub fn sec_in<S: Scalar>(&self, cell: &Cell, share: S) -> S {
        let segment = &self.segments[cell.segment];
        let dq = (segment.q[1] - segment.q[0]) / segment.length;
        let q = (share * cell.length + cell.at) * dq + segment.q[0];
        (q * q + 1.0).sqrt()
    }
}

/// The full mesh, every second station of it, or about every fourth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Halving {
    /// As asked.
    Full,
    /// Half as many cells.
    Half,
    /// A quarter.
    Quarter,
}

fn close(a: &Road, b: &Road) -> bool {
    let pairs = [(a.n_0, b.n_0, 1.0), (a.n_x, b.n_x, 1e-2), (a.y_0, b.y_0, 1.0), (a.y_x, b.y_x, 1e-2)];
    a.gamma == b.gamma && pairs.iter().all(|&(p, q, scale)| (p - q).abs() < 1e-9 * scale)
}
