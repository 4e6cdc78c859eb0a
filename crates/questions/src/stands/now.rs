//! The budget of a car on the track, and what turns of its rows.

use unladen_garage::{Ledger, Turns};
use unladen_study::ledger::budget::Base;
use unladen_study::ledger::summary::{Budget, stand};
use unladen_vehicle::car::Layout;
use unladen_vehicle::entry::{Entry, Scale};
use unladen_vehicle::{Car, Number};

use crate::error::AskError;
use crate::stands::standing::Standing;

/// A car's budget with what it has aboard on the track.
#[derive(Clone, Debug)]
pub struct OnTrack {
    /// Its ledger.
    pub ledger: Ledger,
    /// The car that it starts from.
    pub base: Base,
    /// Where it stands.
    pub budget: Budget,
    /// What its parts were weighed on.
    pub scales: Vec<Scale>,
}

impl OnTrack {
    /// Of a car in a state; none without a ledger.
    ///
    /// # Errors
    /// [`AskError`] where masses leave no car.
    pub fn new(standing: &Standing) -> Result<Option<Self>, AskError> {
        let Some(ledger) = &standing.ledger else { return Ok(None) };
        let (base, shop) = (standing.base()?, &standing.file.shop);
        let budget = stand(&base, &ledger.entries, &shop.scales, shop.weighed_on)?;
        Ok(Some(Self { ledger: ledger.clone(), base, budget, scales: shop.scales.clone() }))
    }
}

/// The car that this one becomes with a row, by its own word or by one of its group.
pub fn becomes(ledger: &Ledger, row: usize) -> Option<&str> {
    let group = ledger.entries[row].group.as_ref();
    let mates =
        (0..ledger.entries.len()).filter(|&i| i == row || group.is_some() && ledger.entries[i].group.as_ref() == group);
    mates.filter_map(|i| ledger.becomes[i].as_deref()).next()
}

/// What turns, as changes of wheel and engine inertia (`docs/model.md` §6: m_rot): of wheels by where along the car it
/// is, of a shaft as J i_0²/r_w² on the driven wheels.
pub fn adds(car: &Car, ledger: &Ledger) -> Vec<Vec<(Number, f64)>> {
    let of = |(entry, turns): (&Entry, &Turns)| {
        let j = entry.rotating_inertia;
        if j == 0.0 {
            return Vec::new();
        }
        let x = entry.change.after.or(entry.change.before).map_or(0.0, |part| part.x);
        let rear = (x / car.chassis.l).clamp(0.0, 1.0);
        let wheels = |front: f64, rear: f64| vec![(Number::J_F, 0.5 * front), (Number::J_R, 0.5 * rear)];
        match turns {
            Turns::Wheels => wheels(j * (1.0 - rear), j * rear),
            Turns::Shaft => {
                let front = match car.driveline.layout {
                    Layout::Front => 1.0,
                    Layout::Rear => 0.0,
                    Layout::All => 0.5,
                };
                let at_wheel = j * (car.driveline.final_drive / car.driven_radius()).powi(2);
                wheels(at_wheel * front * car.front.r.powi(2), at_wheel * (1.0 - front) * car.rear.r.powi(2))
            }
            Turns::Engine => vec![(Number::J_ENGINE, j)],
        }
    };
    let all = ledger.entries.iter().zip(&ledger.turns).map(of);
    // What the file of another car says is in that file already.
    all.enumerate().map(|(row, adds)| if becomes(ledger, row).is_some() { Vec::new() } else { adds }).collect()
}
