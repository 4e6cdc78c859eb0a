//! A lap: both passes, the time, and the error that halving the stations shows.

use unladen_track::Track;
use unladen_vehicle::{Dual, Model};

use crate::brake::{Braking, NoSpeed, braking};
use crate::drive::{Piece, Profile, Stop, drive};
use crate::mesh::Mesh;

/// A solved lap on one mesh.
pub struct Solved {
    /// K.
    pub braking: Braking,
    /// The profile.
    pub profile: Profile,
    /// Time at each station from the start of the track, s.
    pub t: Vec<f64>,
}

/// Why there is no lap on a mesh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Failure {
    /// No speed is feasible.
    NoSpeed(NoSpeed),
    /// The car stops, or starts too fast.
    Stop(Stop),
}

/// Both passes and the time.
pub fn solve(mesh: &Mesh, model: &Model, model_2: &Model<Dual<2>>) -> Result<Solved, Failure> {
    let braking = braking(mesh, model, model_2).map_err(Failure::NoSpeed)?;
    let profile = drive(mesh, model, &braking).map_err(Failure::Stop)?;
    let mut t = vec![0.0];
    for i in 0..mesh.cells.len() {
        let dt: f64 = profile.pieces[i].iter().map(|p| piece_time(mesh, &braking, &profile, p)).sum();
        t.push(t[i] + dt);
    }
    Ok(Solved { braking, profile, t })
}

fn piece_time(mesh: &Mesh, braking: &Braking, profile: &Profile, piece: &Piece) -> f64 {
    match *piece {
        Piece::Step(j) => {
            let step = &profile.steps[j];
            step.arc.time(mesh, 0.0, step.tau)
        }
        Piece::Brake { cell, from } => braking
            .curve(cell)
            .iter()
            .filter(|arc| arc.share[0] > from)
            .map(|arc| arc.time(mesh, arc.tau(from).min(arc.end), 0.0))
            .sum(),
        Piece::Limiter { cell, share } => {
            let cell = &mesh.cells[cell];
            cell.length * (share[1] - share[0]) * mesh.sec_in(cell, 0.5 * (share[0] + share[1])) / braking.x_limit.sqrt()
        }
    }
}
