//! Cars that differ by what comes off, goes on or moves, all of them from one drawn car.

use unladen_lap::Course;
use unladen_vehicle::change::{Change, all_on};
use unladen_vehicle::mass::Part;
use unladen_vehicle::{Car, Number};

use crate::input::leg::{Leg, on_days, weighed};
use crate::input::unknown::{Input, shift_all};
use crate::uncertainty::laps::Driven;
use crate::uncertainty::paired::{Unknown, of_tracks};

/// A part that comes off, goes on, is swapped or moved.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Piece {
    /// Its mass and place before and after.
    pub change: Change,
    /// What else changes, added to numbers of the car, SI: wheel or engine inertia.
    pub adds: Vec<(Number, f64)>,
    /// How far the masses (before, after), kg, are off per standard deviation of unknowns of the pieces.
    pub errors: Vec<(usize, [f64; 2])>,
    /// Which other car it makes of this one, but for its mass and what its pieces change.
    pub becomes: Option<usize>,
}

/// A car that this one becomes by some piece: its mass stays this one's.
#[derive(Clone, Debug, PartialEq)]
pub struct Other {
    /// As its file has it.
    pub car: Car,
    /// What the unknowns of this car, in their order, move of that one.
    pub inputs: Vec<Input>,
}

impl Piece {
    /// The other way round.
    pub fn undone(&self) -> Self {
        Self {
            change: self.change.undone(),
            adds: self.adds.iter().map(|&(number, by)| (number, -by)).collect(),
            errors: self.errors.iter().map(|&(own, [before, after])| (own, [after, before])).collect(),
            becomes: None,
        }
    }
}

/// The car with some pieces done.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Alternative {
    /// Which pieces, by number.
    pub pieces: Vec<usize>,
    /// Numbers that are multiplied: 1 % more power.
    pub times: Vec<(Number, f64)>,
}

/// Several alternatives on some tracks.
pub struct Alternatives<'a> {
    car: &'a Car,
    inputs: &'a [Input],
    others: &'a [Other],
    legs: &'a [Leg<'a>],
    pieces: &'a [Piece],
    sides: &'a [Alternative],
    unknowns: Vec<Unknown>,
    own: usize,
}

impl<'a> Alternatives<'a> {
    /// Of a car as its file has it, with what is uncertain of it, of the tracks and (`own`) of the pieces.
    pub fn new(
        (car, inputs, others): (&'a Car, &'a [Input], &'a [Other]),
        legs: &'a [Leg<'a>],
        (pieces, own): (&'a [Piece], &[Unknown]),
        sides: &'a [Alternative],
    ) -> Self {
        let of = |input: &Input| Unknown { name: input.key.clone(), sd: input.sd, unit: unit(car, &input.key).into() };
        let mut unknowns: Vec<Unknown> = inputs.iter().map(of).collect();
        unknowns.extend(own.iter().cloned());
        unknowns.extend(of_tracks(legs, |key| unit(car, key)));
        Self { car, inputs, others, legs, pieces, sides, unknowns, own: own.len() }
    }

    /// The side's car, `z` being off, before a track puts its day onto it; `None` where something weighs less than
    /// nothing.
    pub fn car(&self, side: usize, z: &[f64]) -> Option<Car> {
        let side = &self.sides[side];
        let other = side.pieces.iter().find_map(|&i| self.pieces[i].becomes).and_then(|i| self.others.get(i));
        let (from, inputs) = other.map_or((self.car, self.inputs), |other| (&other.car, &other.inputs[..]));
        let mut car = Car { mass: self.car.mass, ..from.clone() };
        shift_all(&mut car, inputs, z)?;
        let own = z.get(self.inputs.len()..).unwrap_or(&[]);
        let mut car = with_pieces(&car, side.pieces.iter().map(|&i| &self.pieces[i]), own)?;
        for &(number, factor) in &side.times {
            *car.number_mut(number)? *= factor;
        }
        car.is_possible().then_some(car)
    }
}

/// The car with these pieces done, unknowns of theirs being off by so many standard deviations; `None` where something
/// weighs less than nothing. In which order they come changes no bit of it only where it is always the same.
pub fn with_pieces<'p>(car: &Car, pieces: impl Iterator<Item = &'p Piece>, z: &[f64]) -> Option<Car> {
    let mut car = car.clone();
    let mut changes = Vec::new();
    for piece in pieces {
        for &(number, add) in &piece.adds {
            // A flywheel can't be lighter than nothing.
            let number = car.number_mut(number)?;
            *number = (*number + add).max(0.0);
        }
        let off = |part: Option<Part>, which: usize| {
            let off: f64 = piece.errors.iter().map(|(own, kg)| kg[which] * z.get(*own).copied().unwrap_or(0.0)).sum();
            part.map(|part| Part { m: part.m + off, ..part })
        };
        let change = Change { before: off(piece.change.before, 0), after: off(piece.change.after, 1) };
        if [change.before, change.after].into_iter().flatten().any(|part| part.m < 0.0) {
            return None;
        }
        changes.push(change);
    }
    car.mass = all_on(car.mass.into(), &changes).ok()?.into();
    Some(car)
}

/// The unit of an input, by its key: that of the number of this name, or of what fuel and driver are made of.
fn unit(car: &Car, key: &str) -> &'static str {
    let of_day = [Number::RHO, Number::GAMMA_0];
    if let Some(number) = Number::all(car).into_iter().chain(of_day).find(|number| number.key() == key) {
        return number.unit();
    }
    match key.rsplit('.').next().unwrap_or(key) {
        "as_weighed" | "on_track" if key.starts_with("fuel.") => "m3",
        "as_weighed" | "on_track" => "kg",
        "density" => "kg/m3",
        "cornering_stiffness" => "N/rad",
        _ if key.starts_with("fuel.tank.") || key.starts_with("driver.seat.") => "m",
        _ => "",
    }
}

impl Driven for Alternatives<'_> {
    fn doubts(&self) -> &[Unknown] {
        &self.unknowns
    }

    fn sides(&self) -> usize {
        self.sides.len()
    }

    fn depends(&self, side: usize, unknown: usize) -> bool {
        let Some(own) = unknown.checked_sub(self.inputs.len()).filter(|own| *own < self.own) else { return true };
        let errs = |piece: &usize| self.pieces[*piece].errors.iter().any(|e| e.0 == own && e.1 != [0.0; 2]);
        self.sides[side].pieces.iter().any(errs)
    }

    fn laps(&self) -> Vec<(&Course, f64)> {
        weighed(self.legs)
    }

    fn cars(&self, side: usize, z: &[f64]) -> Option<Vec<Car>> {
        on_days(&self.car(side, z)?, self.legs, self.of_tracks(z))
    }
}

impl Alternatives<'_> {
    fn of_tracks<'z>(&self, z: &'z [f64]) -> &'z [f64] {
        z.get(self.inputs.len() + self.own..).unwrap_or(&[])
    }
}
