//! The whole of a mass budget: now, all that is planned, only what was measured; by area, state and origin; and the way
//! there, step by step.

use unladen_vehicle::entry::{Entry, Origin, Scale, State};
use unladen_vehicle::mass::MassError;

use crate::ledger::budget::{Base, Blame, MassState, Tally, tally};
use crate::ledger::selection::{Chosen, LeftOut, compatible};

/// Where a car stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Budget {
    /// As weighed.
    pub weighed: MassState,
    /// With what has been done since.
    pub now: MassState,
    /// If all that is planned succeeds; of what excludes each other the lightest.
    pub planned: MassState,
    /// If only what was measured of it succeeds.
    pub measured: MassState,
    /// If the ideas succeed as well.
    pub ideas: MassState,
    /// Rows that are done but in the weighing already.
    pub in_weighing: Vec<usize>,
    /// Rows that are done, without a date, and taken as done since the weighing.
    pub undated: Vec<usize>,
    /// Planned rows that can't be, and why.
    pub left_out: Vec<(usize, LeftOut)>,
    /// Done (since the weighing or before), planned, ideas: each row once, whether or not it can be.
    pub by_state: Vec<(State, Tally)>,
    /// By area, in the order of the ledger: done since the weighing, planned, ideas.
    pub by_area: Vec<(String, [Tally; 3])>,
    /// What is planned and can be, by where its masses come from.
    pub by_origin: Vec<(Origin, Tally)>,
    /// What the uncertainty of the car as it stands now comes from: shares of the variance of mass, x, y, height.
    pub blame: Vec<(Blame, [f64; 4])>,
    /// The way there: done rows in the order of their dates, and what is planned.
    pub steps: Vec<Step>,
}

/// A step of the way.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What was or will be done; the weighing itself has no row.
    pub row: Option<usize>,
    /// When, days since 1970-01-01.
    pub day: Option<i64>,
    /// Mass after it, kg.
    pub mass: f64,
    /// Its standard deviation, kg.
    pub sd: f64,
    /// It is in the car.
    pub done: bool,
}

/// Works it out. `weighed_on`: rows done until that day are in the weighing.
///
/// # Errors
/// [`MassError`] where what comes off outweighs the car.
pub fn stand(base: &Base, entries: &[Entry], scales: &[Scale], weighed_on: Option<i64>) -> Result<Budget, MassError> {
    let in_weighing: Vec<usize> = (0..entries.len()).filter(|&i| is_in(&entries[i], weighed_on)).collect();
    let undated: Vec<usize> = (0..entries.len())
        .filter(|&i| entries[i].state == State::Done && entries[i].day.is_none() && weighed_on.is_some())
        .collect();
    let rows = |chosen: &[usize]| -> Vec<&Entry> {
        chosen.iter().filter(|i| !in_weighing.contains(i)).map(|&i| &entries[i]).collect()
    };
    let planned = compatible(entries, &[State::Planned], None);
    let measured = compatible(entries, &[State::Planned], Some(Origin::Weighed));
    let ideas = compatible(entries, &[State::Planned, State::Idea], None);
    let done: Chosen = compatible(entries, &[], None);
    let at = |chosen: &Chosen| base.with(&rows(&chosen.rows), scales);
    let some = |test: &dyn Fn(&Entry) -> bool| -> Vec<&Entry> { entries.iter().filter(|e| test(e)).collect() };
    let mut areas: Vec<String> = Vec::new();
    for entry in entries {
        let area = area(entry);
        if !areas.contains(&area) {
            areas.push(area);
        }
    }
    let by_area = areas.into_iter().map(|name| {
        let of = |state: State| {
            let own: Vec<&Entry> = (0..entries.len())
                .filter(|i| !in_weighing.contains(i))
                .map(|i| &entries[i])
                .filter(|e| e.state == state && area(e) == name)
                .collect();
            tally(&own, scales)
        };
        let tallies = State::ALL.map(of);
        (name, tallies)
    });
    let by_origin = Origin::ALL.map(|o| {
        let own: Vec<&Entry> =
            planned.rows.iter().map(|&i| &entries[i]).filter(|e| e.state == State::Planned && e.origin == o).collect();
        (o, tally(&own, scales))
    });
    Ok(Budget {
        weighed: base.with(&[], scales)?,
        now: at(&done)?,
        planned: at(&planned)?,
        measured: at(&measured)?,
        ideas: at(&ideas)?,
        by_state: State::ALL.map(|s| (s, tally(&some(&|e| e.state == s), scales))).to_vec(),
        by_area: by_area.collect(),
        by_origin: by_origin.to_vec(),
        blame: base.blame(&rows(&done.rows), scales),
        steps: steps(base, entries, scales, weighed_on, &planned)?,
        left_out: planned.left_out,
        in_weighing,
        undated,
    })
}

fn is_in(entry: &Entry, weighed_on: Option<i64>) -> bool {
    entry.state == State::Done && entry.day.zip(weighed_on).is_some_and(|(day, weighed)| day <= weighed)
}

fn area(entry: &Entry) -> String {
    entry.area.clone().unwrap_or_else(|| "no area".into())
}

/// Before the weighing the mass is worked back from it, after it forward; what is planned follows in the ledger's
/// order.
fn steps(
    base: &Base,
    entries: &[Entry],
    scales: &[Scale],
    weighed_on: Option<i64>,
    planned: &Chosen,
) -> Result<Vec<Step>, MassError> {
    let mut done: Vec<usize> = (0..entries.len()).filter(|&i| entries[i].state == State::Done).collect();
    done.sort_by_key(|&i| (!is_in(&entries[i], weighed_on), entries[i].day.is_none(), entries[i].day, i));
    let (earlier, later): (Vec<usize>, Vec<usize>) = done.into_iter().partition(|&i| is_in(&entries[i], weighed_on));
    let mut steps = Vec::new();
    for (k, &i) in earlier.iter().enumerate() {
        // Weighed with all of these: the mass after step k lacks what came later.
        let rest: Vec<&Entry> = earlier[k + 1..].iter().map(|&j| &entries[j]).collect();
        let undone = tally(&rest, scales);
        let sd = base.sd[0].hypot(undone.sd);
        steps.push(Step { row: Some(i), day: entries[i].day, mass: base.car.m - undone.change, sd, done: true });
    }
    steps.push(Step { row: None, day: weighed_on, mass: base.car.m, sd: base.sd[0], done: true });
    let planned = planned.rows.iter().copied().filter(|&i| entries[i].state != State::Done);
    let mut so_far: Vec<&Entry> = Vec::new();
    for i in later.into_iter().chain(planned) {
        so_far.push(&entries[i]);
        let at = base.with(&so_far, scales)?;
        let done = entries[i].state == State::Done;
        steps.push(Step { row: Some(i), day: entries[i].day, mass: at.part.m, sd: at.sd[0], done });
    }
    Ok(steps)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::selection::tests::entry;
    use unladen_vehicle::mass::Part;

    fn base() -> Base {
        let car = Part { m: 1000.0, x: 1.0, y: 0.0, z: 0.5, i_zz: Some(0.0) };
        Base { car, sd: [1.0, 0.0, 0.0, 0.0], wheelbase: 2.5, track: [1.5; 2], chi: 0.5, corners: None }
    }

    fn dated(item: &str, kg: f64, day: i64) -> Entry {
        Entry { day: Some(day), ..entry(item, State::Done, kg) }
    }

    /// Weighed on day 10 at 1000 kg: −8 kg on day 5 are in it, −5 kg on day 12 are not.
    #[test]
    fn closed_form_what_the_weighing_has_seen() {
        let rows = [
            dated("late", -5.0, 12),
            dated("early", -8.0, 5),
            dated("day", -2.0, 10),
            entry("plan", State::Planned, -3.0),
        ];
        let b = stand(&base(), &rows, &[], Some(10)).unwrap();
        assert_eq!((b.weighed.part.m, b.now.part.m, b.planned.part.m), (1000.0, 995.0, 992.0));
        assert_eq!(b.in_weighing, [1, 2]);
        let masses: Vec<(Option<usize>, f64)> = b.steps.iter().map(|s| (s.row, s.mass)).collect();
        assert_eq!(masses, [(Some(1), 1002.0), (Some(2), 1000.0), (None, 1000.0), (Some(0), 995.0), (Some(3), 992.0)]);
        assert_eq!(b.by_state[0].1.change, -15.0);
    }

    #[test]
    fn closed_form_range_of_what_is_planned() {
        let mut rows =
            vec![entry("a", State::Planned, -10.0), entry("b", State::Planned, -4.0), entry("c", State::Idea, -1.0)];
        rows[1].origin = Origin::Guessed;
        let b = stand(&base(), &rows, &[], None).unwrap();
        assert_eq!((b.now.part.m, b.measured.part.m, b.planned.part.m, b.ideas.part.m), (1000.0, 990.0, 986.0, 985.0));
        assert_eq!(b.by_origin[2].1.change, -4.0);
    }

    #[test]
    fn property_rows_without_dates_are_told() {
        let rows = [entry("a", State::Done, -10.0), dated("b", -1.0, 3)];
        let b = stand(&base(), &rows, &[], Some(10)).unwrap();
        assert_eq!((b.undated, b.now.part.m), (vec![0], 990.0));
        assert!(stand(&base(), &rows, &[], None).unwrap().undated.is_empty());
    }
}
