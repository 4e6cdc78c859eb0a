//! Planned changes by lap time: each alone, all of them together, and what can't be told apart.

pub mod best_set;
pub mod branch_and_bound;
pub mod candidates;
pub mod gain;
mod lapped;
mod lineup;
pub mod ranked;

use lapped::{Lapped, STANDING};
use lineup::{Lineup, Together, line_up, wholes};
use unladen_vehicle::change::Change;
use unladen_vehicle::entry::Entry;
use unladen_vehicle::{Car, Number};

use crate::input::error::StudyError;
use crate::input::leg::{Leg, shares};
use crate::input::unknown::Input;
use crate::rank::best_set::{Budget, within_budget};
use crate::rank::candidates::Plan;
use crate::rank::ranked::{Ranked, Ranking, Whole};
use crate::retune::Reach;
use crate::threads::{each, join};
use crate::uncertainty::alternative::{Alternative, Alternatives, Other};
use crate::uncertainty::paired::{Sampling, Sides};
use crate::uncertainty::reversal::reversal;

pub(crate) use lineup::side;

/// What is to be ranked.
#[derive(Clone, Copy)]
pub struct Ask<'a> {
    /// The car as its file has it.
    pub car: &'a Car,
    /// What is uncertain of it.
    pub inputs: &'a [Input],
    /// Cars that some of the rows make of it.
    pub others: &'a [Other],
    /// The tracks.
    pub legs: &'a [Leg<'a>],
    /// The ledger's rows.
    pub entries: &'a [Entry],
    /// What of them is to be decided.
    pub plan: &'a Plan,
    /// Other changes, for scale.
    pub yardsticks: &'a [Yardstick],
    /// What can be set again after a change; `None`: everything stays as set.
    pub reach: Option<Reach>,
    /// How to sample.
    pub sampling: Sampling,
    /// A budget to choose for.
    pub wanted: Option<&'a Budget>,
}

/// A change that is in no ledger.
#[derive(Clone, Debug, PartialEq)]
pub struct Yardstick {
    /// What it is.
    pub name: String,
    /// What of mass changes.
    pub change: Change,
    /// Numbers that are multiplied.
    pub times: Vec<(Number, f64)>,
}

/// Why there is no ranking.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RankError {
    /// No row is planned or an idea.
    #[error("nothing is planned: the ledger has no row that is `planned` or `idea` and can be done")]
    NothingPlanned,
    /// No car is left, or one that no model holds for.
    #[error(
        "{name}: this leaves no possible car; it takes off more mass, or more of what turns, than there is (look at its \
         masses and its rotating inertia)"
    )]
    Impossible {
        /// Which change.
        name: String,
    },
    /// A changed car doesn't get round.
    #[error("with {name}: {source}")]
    Lap {
        /// Which change.
        name: String,
        /// Why not.
        source: StudyError,
    },
    /// Two that must be in the set exclude each other.
    #[error("{a} and {b} exclude each other and can't both be kept")]
    Exclusive {
        /// One.
        a: String,
        /// The other.
        b: String,
    },
    /// No track, or a weight that is none.
    #[error(transparent)]
    Tracks(#[from] StudyError),
}

/// Ranks what a plan leaves to be decided.
///
/// # Errors
/// [`RankError`] where nothing is to be decided, or a change leaves no car that laps.
pub fn rank(ask: &Ask) -> Result<Ranking, RankError> {
    if ask.plan.candidates.is_empty() {
        return Err(RankError::NothingPlanned);
    }
    let shares = shares(ask.legs)?;
    let wholes = wholes(ask);
    let lineup = line_up(ask, &wholes)?;
    let field =
        Alternatives::new((ask.car, ask.inputs, ask.others), ask.legs, (&lineup.pieces, &ask.plan.own), &lineup.sides);
    let lapped = Lapped::new(ask, &lineup, &field, &shares)?;

    let rows: Vec<Ranked> = each(lineup.sides.len() - 1, |i| lapped.ranked(i + 1));
    let mut items = rows[..lineup.first_whole - 1].to_vec();
    items.sort_by(|a, b| a.before(b));
    let alone = alone(ask, &lineup, &lapped.found.nominal);
    let whole = |k: usize| {
        let together = wholes.get(k).filter(|w| !w.rows.is_empty())?;
        Some(whole(ask, together, &rows[lineup.first_whole - 1 + k], &alone))
    };
    let reversed_by = || lapped.first_two(&items).and_then(|[a, b]| reversal(&field, &lapped.found, a, b));
    let within = || ask.wanted.map(|wanted| within_budget(ask, wanted, &alone)).transpose();
    let (reversed_by, within) = join(reversed_by, within);
    let standing = &lapped.clocked[STANDING];
    Ok(Ranking {
        tracks: ask.legs.iter().zip(&shares).map(|(leg, share)| (leg.name(), *share)).collect(),
        mass_kg: lapped.cars[STANDING].mass.m,
        done_kg: lapped.cars[STANDING].mass.m - ask.car.mass.m,
        lap_time_s: standing.time,
        lap_time_error_s: standing.error,
        reversed_by,
        planned: whole(0),
        ideas: whole(1),
        items,
        yardsticks: rows[lineup.first_yard - 1..].to_vec(),
        unknowns: field.unknowns().to_vec(),
        draws: lapped.found.draws,
        within_budget: within?,
        retuned: lapped.retuned,
    })
}

/// All of `together` at once, and what its candidates gain one by one.
fn whole(ask: &Ask, together: &Together, all: &Ranked, alone: &[f64]) -> Whole {
    let candidates = &ask.plan.candidates;
    let is_in = |c: &usize| candidates[*c].rows.iter().all(|row| together.rows.contains(row));
    Whole {
        all: all.clone(),
        sum_s: (0..candidates.len()).filter(is_in).map(|c| alone[c]).sum(),
        left_out: together.left_out.clone(),
    }
}

/// What each candidate's own rows gain, without what they need, s; `times` of the sides with nothing off.
fn alone(ask: &Ask, lineup: &Lineup, times: &[f64]) -> Vec<f64> {
    let sides: Vec<Alternative> = ask.plan.candidates.iter().map(|c| side(ask.plan, &c.rows)).collect();
    let own = Alternatives::new((ask.car, ask.inputs, ask.others), ask.legs, (&ask.plan.pieces, &ask.plan.own), &sides);
    let zero = vec![0.0; own.unknowns().len()];
    let gain = |i: usize| {
        let lapped = lineup.sides.iter().position(|side| *side == sides[i]);
        let time = lapped.map_or_else(|| own.time(i, &zero), |side| Some(times[side]));
        time.map_or(0.0, |time| times[STANDING] - time)
    };
    each(sides.len(), gain)
}
