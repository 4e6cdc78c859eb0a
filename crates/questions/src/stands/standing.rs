//! The one car of a folder: its weighing, and what of its ledger is in it in the state that is asked about. Every
//! command laps this.

use unladen_garage::{CarFile, Ledger, Uncertainty};
use unladen_study::Input;
use unladen_study::ledger::budget::{Base, MassState};
use unladen_study::rank::candidates::{Rows as OfLedger, pieces};
use unladen_study::retune::Reach;
use unladen_study::uncertainty::alternative::{Piece, with_pieces};
use unladen_study::uncertainty::paired::Unknown;
use unladen_vehicle::car::Mass;
use unladen_vehicle::change::Change;
use unladen_vehicle::entry::{Entry, State as Of};
use unladen_vehicle::{Car, Number};

use crate::error::{AskError, Asked};
use crate::stands::load::{Aboard, carrying};
use crate::stands::moved::{Shift, moved};
use crate::stands::now::{adds, becomes};
use crate::stands::rows::Rows;
use crate::stands::state::{Moved, State};

/// A car in a state.
#[derive(Clone, Debug)]
pub struct Standing {
    /// Its file.
    pub file: CarFile,
    /// Its ledger, where it has one.
    pub ledger: Option<Ledger>,
    /// The state that was asked for.
    pub state: State,
    /// Which rows make it.
    pub rows: Rows,
    /// Cars that rows of the ledger make of this one, by their words for them: those that were read.
    pub others: Vec<(String, CarFile)>,
    /// The rows as they are in this state: those in the car are done, those that were taken out are planned.
    pub entries: Vec<Entry>,
    /// The car as it laps.
    pub car: Car,
    /// What is uncertain of it: what its file says, and what its rows weigh.
    pub inputs: Vec<Input>,
    /// Rows as pieces, then what undoes others, then what moves of what its weighing has.
    pieces: Vec<Piece>,
    shifts: Vec<Shift>,
    own: Vec<Unknown>,
}

/// A state as an answer says it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Said {
    /// The state that was asked for.
    pub state: State,
    /// Rows that are in the car and not in its weighing, by name.
    pub on: Vec<String>,
    /// Rows that its weighing has and that are out, by name.
    pub undone: Vec<String>,
    /// When it was weighed, days since 1970-01-01.
    pub weighed_on: Option<i64>,
    /// By how much its mass differs from the weighing's, both as they lap, kg.
    pub change_kg: f64,
    /// Its mass as it laps, kg.
    pub mass_kg: f64,
}

impl Standing {
    /// A car and its ledger in a state, whose rows are these.
    ///
    /// # Errors
    /// [`AskError`] where masses leave no car.
    pub fn new(
        file: CarFile,
        ledger: Option<Ledger>,
        state: State,
        rows: Rows,
        others: Vec<(String, CarFile)>,
    ) -> Result<Self, AskError> {
        let mut entries = ledger.as_ref().map_or_else(Vec::new, |l| l.entries.clone());
        let (mut made, mut own, mut shifts) = (Vec::new(), Vec::new(), Vec::new());
        let weighed = |e: &Entry| e.day.zip(file.shop.weighed_on).is_some_and(|(day, weighed)| day <= weighed);
        if let Some(ledger) = &ledger {
            let in_weighing = |i: usize| ledger.entries[i].state == Of::Done && weighed(&ledger.entries[i]);
            let done = |i: usize| rows.on.contains(&i) || in_weighing(i) && !rows.undone.contains(&i);
            let added = |i: usize| rows.on.contains(&i) || rows.undone.contains(&i);
            shifts = moved(&file, ledger, &mut entries, &state.moved, (&done, &added))?;
            let adds = adds(&file.car, ledger);
            let of = OfLedger {
                entries: &entries,
                adds: &adds,
                becomes: &[],
                scales: &file.shop.scales,
                on: &[],
                undone: &[],
                moved: &[],
            };
            (made, own) = pieces(&of);
        } else if let Some(Moved { item, .. }) = state.moved.first() {
            return Err(Asked::NoSuchItem { given: item.clone(), hint: "; this car has no ledger".into() }.into());
        }
        made.extend(rows.undone.iter().map(|&row| made[row].undone()).collect::<Vec<_>>());
        made.extend(
            shifts.iter().map(|shift| as_piece(shift, &made, entries[shift.row].state == Of::Done)).collect::<Vec<_>>(),
        );
        rows.on.iter().for_each(|&row| entries[row].state = Of::Done);
        let out = |i: &usize| entries[*i].state == Of::Done && !rows.on.contains(i);
        let gone: Vec<usize> = (0..entries.len()).filter(out).collect();
        // What is in the weighing and stays is done; what was done since and is not there is one more thing to do.
        for row in gone {
            if rows.undone.contains(&row) || !weighed(&entries[row]) {
                entries[row].state = Of::Planned;
            }
        }
        let car = file.car.clone();
        let (inputs, pieces) = (Vec::new(), made);
        let mut standing = Self { file, ledger, state, rows, others, entries, car, inputs, pieces, shifts, own };
        standing.car = standing.with(&[])?;
        standing.inputs = standing.uncertain();
        Ok(standing)
    }

    /// Which pieces are in it with these rows done as well, in their order.
    fn those(&self, more: &[usize]) -> Vec<usize> {
        let besides = self.entries.len()..self.pieces.len();
        let mut all: Vec<usize> = self.rows.on.iter().chain(more).copied().chain(besides).collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// The car with these rows done as well.
    ///
    /// # Errors
    /// [`Asked::NoCar`] where masses leave none.
    pub fn with(&self, more: &[usize]) -> Result<Car, Asked> {
        let those = self.those(more);
        with_pieces(&self.bare(more), those.iter().map(|&i| &self.pieces[i]), &[]).ok_or(Asked::NoCar)
    }

    /// Mass, centre of gravity and how well they are known, with these rows done as well.
    ///
    /// # Errors
    /// [`AskError`] where masses leave no car.
    pub fn mass_with(&self, more: &[usize]) -> Result<MassState, AskError> {
        self.mass_on(&self.base()?, more)
    }

    /// The same with something else aboard.
    ///
    /// # Errors
    /// [`AskError`] where masses leave no car.
    pub fn mass_on(&self, base: &Base, more: &[usize]) -> Result<MassState, AskError> {
        let undone: Vec<Entry> = self.rows.undone.iter().map(|&i| self.undone(i)).collect();
        let elsewhere: Vec<Entry> = self.shifts.iter().map(|shift| self.shifted(shift)).collect();
        let rows = self.rows.on.iter().chain(more).map(|&i| &self.entries[i]);
        Ok(base.with(&rows.chain(&undone).chain(&elsewhere).collect::<Vec<_>>(), &self.file.shop.scales)?)
    }

    /// What moves of what its weighing has, as a row.
    fn shifted(&self, shift: &Shift) -> Entry {
        Entry { change: shift.change, rotating_inertia: 0.0, ..self.entries[shift.row].clone() }
    }

    /// What moves of what its weighing has, as pieces.
    pub fn shifts(&self) -> &[Piece] {
        &self.pieces[self.pieces.len() - self.shifts.len()..]
    }

    fn undone(&self, row: usize) -> Entry {
        let entry = &self.entries[row];
        Entry { change: entry.change.undone(), rotating_inertia: -entry.rotating_inertia, ..entry.clone() }
    }

    /// The weighing that its mass starts from, with what is aboard on the track.
    ///
    /// # Errors
    /// [`AskError`] where masses leave no car.
    pub fn base(&self) -> Result<Base, AskError> {
        carrying(&self.file, Aboard::on_track(&self.file))
    }

    /// What of mass its rows change.
    pub fn changes(&self) -> Vec<Change> {
        self.those(&[]).into_iter().map(|i| self.pieces[i].change).collect()
    }

    /// The other car that it is with these rows as well, where one of them makes it one.
    fn other(&self, more: &[usize]) -> Option<&CarFile> {
        let ledger = self.ledger.as_ref()?;
        let word = self.rows.on.iter().chain(more).find_map(|&row| becomes(ledger, row))?;
        self.others.iter().find(|(known, _)| known == word).map(|(_, file)| file)
    }

    /// The car with these rows as well, but for their masses and what turns.
    fn bare(&self, more: &[usize]) -> Car {
        let all = self.other(more).map_or(&self.file.car, |other| &other.car);
        Car { mass: self.file.car.mass, ..all.clone() }
    }

    /// The car with the mass and the centre of gravity of its file, and all else as it is with its rows.
    pub fn unchanged(&self) -> Car {
        Car { mass: self.file.car.mass, ..self.car.clone() }
    }

    /// What is uncertain of the car as its file has it: without what its rows weigh.
    pub fn of_file(&self) -> Vec<Input> {
        let own = uncertain(&self.file.uncertainties);
        match self.other(&[]) {
            Some(other) => of_other(&own, other),
            None => own,
        }
    }

    /// The same, and what its rows weigh, for the car [`Self::unchanged`] that they are still to be put on.
    pub fn of_weighing(&self) -> Vec<Input> {
        self.of_file().into_iter().chain(self.of_rows(self.file.car.mass)).collect()
    }

    /// What its owner can set, and by what margin the front is to let go first.
    pub fn reach(&self) -> Reach {
        let limits = &self.file.shop.limits;
        Reach {
            chi: limits.roll_stiffness_front_share,
            beta_f: limits.brake_front_share,
            front_first: Some(limits.front_first_margin.0),
        }
    }

    /// How it is said.
    pub fn said(&self) -> Said {
        let names = |rows: &[usize]| rows.iter().map(|&i| self.entries[i].item.clone()).collect();
        Said {
            state: self.state.clone(),
            on: names(&self.rows.on),
            undone: names(&self.rows.undone),
            weighed_on: self.file.shop.weighed_on,
            change_kg: self.car.mass.m - self.file.car.mass.m,
            mass_kg: self.car.mass.m,
        }
    }

    /// The file's unknowns, carried over to the car with its rows: m' = m + Σm_p, m' a' = m a + Σm_p x_p. Then those of
    /// the rows' own masses.
    fn uncertain(&self) -> Vec<Input> {
        let (was, is) = (self.file.car.mass, self.car.mass);
        let arms = [(Number::A, was.a, is.a), (Number::Y_CG, was.y_cg, is.y_cg), (Number::H, was.h, is.h)];
        let mut all = self.of_file();
        if self.rows != Rows::default() || !self.shifts.is_empty() {
            for input in &mut all {
                let slope = |number| input.onto.iter().find(|(n, _)| *n == number).map_or(0.0, |(_, d)| *d);
                let dm = slope(Number::M);
                let moved = arms.map(|(n, was_at, is_at)| (n, (was_at * dm + was.m * slope(n) - is_at * dm) / is.m));
                input.onto.retain(|(n, _)| !arms.iter().any(|(arm, ..)| arm == n));
                input.onto.extend(moved.into_iter().filter(|(_, slope)| *slope != 0.0));
            }
        }
        all.extend(self.of_rows(is));
        all
    }

    /// What its rows weigh: a kilogram more at a place, of a car of this mass.
    fn of_rows(&self, is: Mass) -> Vec<Input> {
        let those = self.those(&[]);
        let of = self.own.iter().enumerate().filter_map(|(k, unknown)| {
            let mut sum = [0.0; 4];
            for piece in those.iter().map(|&i| &self.pieces[i]) {
                for (_, kg) in piece.errors.iter().filter(|(own, _)| *own == k) {
                    let sides = [(piece.change.before, -kg[0]), (piece.change.after, kg[1])];
                    for (part, kg) in sides.into_iter().filter_map(|(part, kg)| Some((part?, kg))) {
                        let moments = [1.0, part.x - is.a, part.y - is.y_cg, part.z - is.h];
                        sum.iter_mut().zip(moments).for_each(|(sum, arm)| *sum += kg * arm);
                    }
                }
            }
            let per = |i: usize| sum[i] / unknown.sd;
            let onto = [(Number::M, per(0)), (Number::A, per(1) / is.m), (Number::Y_CG, per(2) / is.m)];
            let onto: Vec<_> = onto.into_iter().chain([(Number::H, per(3) / is.m)]).filter(|o| o.1 != 0.0).collect();
            (!onto.is_empty()).then(|| Input { key: unknown.name.clone(), sd: unknown.sd, onto })
        });
        of.collect()
    }
}

/// A shift as a piece: what is off of the row's mass is off there and here alike.
fn as_piece(shift: &Shift, made: &[Piece], done: bool) -> Piece {
    let of_row = made[shift.row].errors.iter().filter(|_| shift.own);
    let errors = of_row.map(|&(own, [before, after])| (own, [if done { after } else { before }; 2]));
    Piece { change: shift.change, errors: errors.filter(|(_, kg)| kg[0] != 0.0).collect(), ..Piece::default() }
}

/// What is uncertain of a car that has become another one: what was aboard and on the scales is its own, all else that
/// of the other's file.
pub(crate) fn of_other(own: &[Input], other: &CarFile) -> Vec<Input> {
    let weighed = |key: &str| ["mass.", "fuel.", "driver.", "aboard."].iter().any(|table| key.starts_with(table));
    let others = uncertain(&other.uncertainties);
    own.iter().filter(|i| weighed(&i.key)).cloned().chain(others.into_iter().filter(|i| !weighed(&i.key))).collect()
}

/// Uncertain numbers, for a study.
pub fn uncertain(file: &[Uncertainty]) -> Vec<Input> {
    file.iter().map(|u| Input { key: u.key.clone(), sd: u.sd, onto: u.onto.clone() }).collect()
}
