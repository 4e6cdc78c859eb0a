//! The cars that a ranking laps: as it stands, with each candidate, with all of them, and the yardsticks.

use unladen_vehicle::change::Change;
use unladen_vehicle::entry::State;
use unladen_vehicle::mass::Part;

use crate::ledger::selection::{LeftOut, compatible};
use crate::rank::candidates::Plan;
use crate::rank::{Ask, RankError, Yardstick};
use crate::uncertainty::alternative::{Alternative, Alternatives, Piece};
use crate::uncertainty::paired::Sides;

/// The yardstick of kilogram-equivalents, kg.
pub(super) const KG: f64 = 10.0;

/// A side before it is lapped.
pub(super) struct Named {
    pub(super) name: String,
    pub(super) rows: Vec<usize>,
    pub(super) with: Vec<usize>,
}

/// Some rows together: what they are called, which, and what can't be among them.
pub(super) struct Together {
    pub(super) name: &'static str,
    pub(super) rows: Vec<usize>,
    pub(super) left_out: Vec<(usize, LeftOut)>,
}

/// All sides: the car as it stands, candidates, all together, yardsticks.
pub(super) struct Lineup {
    pub(super) named: Vec<Named>,
    pub(super) pieces: Vec<Piece>,
    pub(super) sides: Vec<Alternative>,
    /// The first side after the candidates.
    pub(super) first_whole: usize,
    /// The first yardstick.
    pub(super) first_yard: usize,
}

/// The car as it stands with some rows.
pub(crate) fn side(plan: &Plan, rows: &[usize]) -> Alternative {
    let mut pieces: Vec<usize> = plan.done.iter().chain(rows).copied().collect();
    pieces.sort_unstable();
    Alternative { pieces, ..Alternative::default() }
}

pub(super) fn line_up(ask: &Ask, wholes: &[Together]) -> Result<Lineup, RankError> {
    let plan = ask.plan;
    let mut named = vec![Named { name: "the car as it stands".into(), rows: Vec::new(), with: Vec::new() }];
    // What can't be alone is not priced as if it could.
    let alone = plan.candidates.iter().filter(|c| c.either.is_empty());
    named.extend(alone.map(|c| Named { name: c.name.clone(), rows: c.all(), with: c.with.clone() }));
    let first_whole = named.len();
    named.extend(wholes.iter().map(|w| Named { name: w.name.into(), rows: w.rows.clone(), with: Vec::new() }));
    let first_yard = named.len();
    let mut pieces = plan.pieces.clone();
    let mut sides: Vec<Alternative> = named.iter().map(|n| side(plan, &n.rows)).collect();
    let yardsticks = std::iter::once(kilograms(ask, &pieces, &sides)?).chain(ask.yardsticks.iter().cloned());
    for yard in yardsticks {
        let mut own = side(plan, &[]);
        own.pieces.push(pieces.len());
        own.times = yard.times;
        pieces.push(Piece { change: yard.change, ..Piece::default() });
        sides.push(own);
        named.push(Named { name: yard.name, rows: Vec::new(), with: Vec::new() });
    }
    Ok(Lineup { named, pieces, sides, first_whole, first_yard })
}

/// All that is planned, and the ideas as well where there are any.
pub(super) fn wholes(ask: &Ask) -> Vec<Together> {
    let asked = |i: &usize| ask.plan.candidates.iter().any(|c| c.rows.contains(i));
    let of = |name: &'static str, states: &[State]| {
        let chosen = compatible(ask.entries, states, None);
        let open = chosen.rows.into_iter().filter(|&i| ask.entries[i].state != State::Done);
        Together { name, rows: open.filter(asked).collect(), left_out: chosen.left_out }
    };
    let planned = of("what is planned, together", &[State::Planned]);
    let ideas = of("the ideas as well, together", &[State::Planned, State::Idea]);
    if ideas.rows == planned.rows { vec![planned] } else { vec![planned, ideas] }
}

/// 10 kg less at the centre of gravity of the car as it stands.
fn kilograms(ask: &Ask, pieces: &[Piece], sides: &[Alternative]) -> Result<Yardstick, RankError> {
    let name = format!("{KG} kg less, at the centre of gravity");
    let field = Alternatives::new((ask.car, ask.inputs, ask.others), ask.legs, (pieces, &ask.plan.own), &sides[..1]);
    let car = field.car(0, &vec![0.0; field.unknowns().len()]);
    let mass = car.ok_or_else(|| RankError::Impossible { name: "the rows that are done".into() })?.mass;
    let off = Part::point(KG, mass.a, mass.y_cg, mass.h);
    Ok(Yardstick { name, change: Change { before: Some(off), after: None }, times: Vec::new() })
}
