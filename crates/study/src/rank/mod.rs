//! Planned changes by lap time: each alone, all of them together, and what can't be told apart.

pub mod best_set;
pub mod branch_and_bound;
pub mod candidates;
pub mod gain;
pub mod ranked;

use rayon::prelude::*;
use unladen_lap::Course;
use unladen_vehicle::change::Change;
use unladen_vehicle::entry::{Entry, State};
use unladen_vehicle::mass::Part;
use unladen_vehicle::{Car, Number};

use crate::input::error::WorthError;
use crate::input::input::Input;
use crate::input::leg::{Leg, mean_time, shares};
use crate::ledger::selection::{LeftOut, choose};
use crate::rank::best_set::{Wanted, pick};
use crate::rank::candidates::Plan;
use crate::rank::gain::{Clocked, clock, sources};
use crate::rank::ranked::{Ranked, Ranking, Whole};
use crate::retune::{Reach, Retuned, retune};
use crate::uncertainty::alternative::{Alternative, Alternatives, Piece};
use crate::uncertainty::flip::flip;
use crate::uncertainty::paired::{Paired, PairedError, Sampling, Sides, paired};

/// What is to be ranked.
#[derive(Clone, Copy)]
pub struct Ask<'a> {
    /// The car as its file has it.
    pub car: &'a Car,
    /// What is uncertain of it.
    pub inputs: &'a [Input],
    /// The tracks.
    pub legs: &'a [Leg<'a>],
    /// The same tracks at twice the step, in the same order.
    pub coarse: &'a [Course],
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
    pub wanted: Option<&'a Wanted>,
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
        source: WorthError,
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
    Tracks(#[from] WorthError),
}

/// Surely better: to 95 %.
const SURE: f64 = 0.95;
/// The yardstick of kilogram-equivalents, kg.
const KG: f64 = 10.0;

/// A side before it is lapped.
struct Named {
    name: String,
    rows: Vec<usize>,
    with: Vec<usize>,
}

/// Some rows together: what they are called, which, and what can't be among them.
struct Together {
    name: &'static str,
    rows: Vec<usize>,
    left_out: Vec<(usize, LeftOut)>,
}

/// All sides: the car as it stands, candidates, all together, yardsticks.
struct Built {
    named: Vec<Named>,
    pieces: Vec<Piece>,
    sides: Vec<Alternative>,
    /// The first side after the candidates.
    items: usize,
    /// The first yardstick.
    first_yard: usize,
}

/// Ranks what a plan leaves to be decided.
///
/// # Errors
/// [`RankError`] where nothing is to be decided, or a change leaves no car that laps.
pub fn rank(ask: &Ask) -> Result<Ranking, RankError> {
    let (plan, entries) = (ask.plan, ask.entries);
    if plan.candidates.is_empty() {
        return Err(RankError::NothingPlanned);
    }
    let shares = shares(ask.legs)?;
    let wholes = wholes(ask);
    let Built { named, pieces, sides, items, first_yard } = build(ask, &wholes)?;
    let field = Alternatives::new((ask.car, ask.inputs), ask.legs, (&pieces, &plan.own), &sides);
    let zero = vec![0.0; field.unknowns().len()];
    let cars: Vec<Car> = (0..sides.len())
        .map(|i| field.car(i, &zero).ok_or_else(|| RankError::Impossible { name: named[i].name.clone() }))
        .collect::<Result<_, _>>()?;
    let lap = |i: usize| {
        clock(&cars[i], ask.legs, &shares, ask.coarse)
            .map_err(|source| RankError::Lap { name: named[i].name.clone(), source })
    };
    let clocked: Vec<Clocked> =
        (0..cars.len()).into_par_iter().map(lap).collect::<Vec<_>>().into_iter().collect::<Result<_, _>>()?;

    let count = sides.len();
    let mut pairs: Vec<(usize, usize)> = (1..count).map(|i| (i, 0)).collect();
    let errors: Vec<f64> = clocked.iter().map(|c| c.error_against(&clocked[0])).collect();
    let resolved = |i: usize| (clocked[0].time - clocked[i].time).abs() > errors[i];
    let ranked: Vec<usize> = (1..items).filter(|&i| resolved(i)).collect();
    pairs.extend(ranked.iter().enumerate().flat_map(|(k, &i)| ranked[..k].iter().map(move |&j| (i, j))));
    let found = paired(&field, &pairs, ask.sampling).map_err(|e| {
        let PairedError::NoLap { side } = e;
        RankError::Impossible { name: named[side].name.clone() }
    })?;

    let tuned: Vec<Option<Retuned>> = (0..count)
        .into_par_iter()
        .map(|i| match &ask.reach {
            Some(reach) if i < first_yard => retune(&cars[i], ask.legs, reach).map(Some),
            _ => Ok(None),
        })
        .collect::<Result<_, _>>()?;
    let time = |car: &Car| mean_time(car, ask.legs, &[]);
    let all: Vec<Ranked> = (1..count)
        .into_par_iter()
        .map(|i| {
            let gain = found.differences[i - 1].clone();
            let mass = |car: &Car| car.mass.m;
            let sum = |of: &dyn Fn(&Entry) -> Option<f64>| {
                let known: Vec<f64> = named[i].rows.iter().filter_map(|&r| of(&entries[r])).collect();
                (!known.is_empty()).then(|| known.iter().sum())
            };
            let yard = clocked[0].time - clocked[first_yard].time;
            let per_kg = (yard.abs() > errors[first_yard]).then_some(yard / KG);
            let retuned_s = tuned[0].as_ref().zip(tuned[i].as_ref()).map(|(from, to)| from.time_s - to.time_s);
            Ranked {
                name: named[i].name.clone(),
                rows: named[i].rows.clone(),
                with: named[i].with.clone(),
                kg: mass(&cars[i]) - mass(&cars[0]),
                cost: sum(&|e| e.cost),
                hours: sum(&|e| e.hours),
                error_s: errors[i],
                places: places(i, &ranked, &errors, &found),
                sources: (i < first_yard).then(|| sources(&cars[0], &cars[i], gain.gain, &time)).flatten(),
                phases: clocked[0].phases(&clocked[i]),
                retuned_s,
                kg_equivalent: per_kg.map(|per_kg| gain.gain / per_kg),
                gain,
            }
        })
        .collect();
    let mut items_ranked: Vec<Ranked> = all[..items - 1].to_vec();
    items_ranked.sort_by(|a, b| a.before(b));
    let side_of = |item: &Ranked| (1..items).find(|&i| named[i].name == item.name && named[i].rows == item.rows);
    let top: Vec<usize> = items_ranked.iter().filter(|r| r.resolved()).take(2).filter_map(side_of).collect();
    let alone = alone(ask, &field);
    let whole = |k: usize| -> Option<Whole> {
        let together = wholes.get(k).filter(|w| !w.rows.is_empty())?;
        let is_in = |c: &usize| plan.candidates[*c].rows.iter().all(|row| together.rows.contains(row));
        Some(Whole {
            all: all[items - 1 + k].clone(),
            sum_s: (0..plan.candidates.len()).filter(is_in).map(|c| alone[c]).sum(),
            left_out: together.left_out.clone(),
        })
    };
    Ok(Ranking {
        tracks: ask.legs.iter().zip(&shares).map(|(leg, share)| (leg.name(), *share)).collect(),
        mass_kg: cars[0].mass.m,
        done_kg: cars[0].mass.m - ask.car.mass.m,
        lap_time_s: clocked[0].time,
        lap_time_error_s: clocked[0].error,
        retuned: tuned.into_iter().next().flatten(),
        items: items_ranked,
        yardsticks: all[first_yard - 1..].to_vec(),
        planned: whole(0),
        ideas: whole(1),
        flip: if let [a, b] = top[..] { flip(&field, &found, a, b) } else { None },
        unknowns: field.unknowns().to_vec(),
        draws: found.draws,
        picked: ask.wanted.map(|wanted| pick(ask, wanted, &alone)).transpose()?,
    })
}

/// The car as it stands with some rows.
pub(crate) fn side(plan: &Plan, rows: &[usize]) -> Alternative {
    Alternative { pieces: plan.done.iter().chain(rows).copied().collect(), ..Alternative::default() }
}

fn build(ask: &Ask, wholes: &[Together]) -> Result<Built, RankError> {
    let plan = ask.plan;
    let mut named = vec![Named { name: "the car as it stands".into(), rows: Vec::new(), with: Vec::new() }];
    named.extend(plan.candidates.iter().map(|c| Named { name: c.name.clone(), rows: c.all(), with: c.with.clone() }));
    let items = named.len();
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
    Ok(Built { named, pieces, sides, items, first_yard })
}

/// All that is planned, and the ideas as well where there are any.
fn wholes(ask: &Ask) -> Vec<Together> {
    let asked = |i: &usize| ask.plan.candidates.iter().any(|c| c.rows.contains(i));
    let of = |name: &'static str, states: &[State]| {
        let chosen = choose(ask.entries, states, None);
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
    let field = Alternatives::new((ask.car, ask.inputs), ask.legs, (pieces, &ask.plan.own), &sides[..1]);
    let car = field.car(0, &vec![0.0; field.unknowns().len()]);
    let mass = car.ok_or_else(|| RankError::Impossible { name: "the rows that are done".into() })?.mass;
    let off = Part::point(KG, mass.a, mass.y_cg, mass.h);
    Ok(Yardstick { name, change: Change { before: Some(off), after: None }, times: Vec::new() })
}

/// What each candidate's own rows gain, without what they need, s.
fn alone(ask: &Ask, field: &Alternatives) -> Vec<f64> {
    let zero = vec![0.0; field.unknowns().len()];
    let base = field.time(0, &zero);
    let sides: Vec<Alternative> = ask.plan.candidates.iter().map(|c| side(ask.plan, &c.rows)).collect();
    let own = Alternatives::new((ask.car, ask.inputs), ask.legs, (&ask.plan.pieces, &ask.plan.own), &sides);
    let gain = |i: usize| base.zip(own.time(i, &zero)).map_or(0.0, |(base, time)| base - time);
    (0..sides.len()).into_par_iter().map(gain).collect()
}

/// Best and worst place among those that are ranked.
fn places(i: usize, ranked: &[usize], errors: &[f64], found: &Paired) -> Option<[usize; 2]> {
    if !ranked.contains(&i) {
        return None;
    }
    let surely_ahead = |a: usize, b: usize| {
        let pair = found.differences.iter().find_map(|d| match (d.of, d.against) {
            (x, y) if (x, y) == (a, b) => Some((d.gain, d.chance)),
            (x, y) if (x, y) == (b, a) => Some((-d.gain, 1.0 - d.chance)),
            _ => None,
        });
        pair.is_some_and(|(gain, chance)| gain > errors[a] + errors[b] && chance >= SURE)
    };
    let others = || ranked.iter().copied().filter(|&j| j != i);
    let better = others().filter(|&j| surely_ahead(j, i)).count();
    let worse = others().filter(|&j| surely_ahead(i, j)).count();
    Some([1 + better, ranked.len() - worse])
}
