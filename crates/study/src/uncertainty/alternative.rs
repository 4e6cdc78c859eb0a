//! Cars that differ by what comes off, goes on or moves, all of them from one drawn car.

use std::collections::HashMap;

use unladen_vehicle::change::Change;
use unladen_vehicle::mass::Part;
use unladen_vehicle::{Car, Number};

use crate::input::leg::{Leg, mean_time, on_days};
use crate::input::unknown::{Input, shift_all};
use crate::uncertainty::paired::{Sides, Unknown, of_tracks};

/// A part that comes off, goes on, is swapped or moved.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Piece {
    /// Its mass and place before and after.
    pub change: Change,
    /// What else changes, added to numbers of the car, SI: wheel or engine inertia.
    pub adds: Vec<(Number, f64)>,
    /// How far the masses (before, after), kg, are off per standard deviation of unknowns of the pieces.
    pub errors: Vec<(usize, [f64; 2])>,
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
    legs: &'a [Leg<'a>],
    pieces: &'a [Piece],
    sides: &'a [Alternative],
    unknowns: Vec<Unknown>,
    own: usize,
}

impl<'a> Alternatives<'a> {
    /// Of a car as its file has it, with what is uncertain of it, of the tracks and (`own`) of the pieces.
    pub fn new(
        (car, inputs): (&'a Car, &'a [Input]),
        legs: &'a [Leg<'a>],
        (pieces, own): (&'a [Piece], &[Unknown]),
        sides: &'a [Alternative],
    ) -> Self {
        let of = |input: &Input| Unknown { name: input.key.clone(), sd: input.sd, unit: unit(car, &input.key).into() };
        let mut unknowns: Vec<Unknown> = inputs.iter().map(of).collect();
        unknowns.extend(own.iter().cloned());
        unknowns.extend(of_tracks(legs, |key| unit(car, key)));
        Self { car, inputs, legs, pieces, sides, unknowns, own: own.len() }
    }

    /// The side's car, `z` being off, before a track puts its day onto it; `None` where something weighs less than
    /// nothing.
    pub fn car(&self, side: usize, z: &[f64]) -> Option<Car> {
        let mut car = self.car.clone();
        shift_all(&mut car, self.inputs, z)?;
        let side = &self.sides[side];
        let mut parts = Parts::default();
        for &piece in &side.pieces {
            let piece = &self.pieces[piece];
            for &(number, add) in &piece.adds {
                *car.number_mut(number)? += add;
            }
            for (which, part) in [piece.change.before, piece.change.after].into_iter().enumerate() {
                let Some(part) = part else { continue };
                let off: f64 = piece.errors.iter().map(|(own, kg)| kg[which] * z[self.inputs.len() + own]).sum();
                parts.put(Part { m: part.m + off, ..part }, which == 1)?;
            }
        }
        for &(number, factor) in &side.times {
            *car.number_mut(number)? *= factor;
        }
        car.mass = parts.on(car.mass.into())?.into();
        car.is_possible().then_some(car)
    }
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

/// What comes off (−) and goes on (+), by place. What goes on where as much came off is not there at all, bit for bit,
/// and a part in two rows is one.
#[derive(Default)]
struct Parts {
    at: HashMap<[u64; 3], usize>,
    all: Vec<(Vec<f64>, Part)>,
}

impl Parts {
    fn put(&mut self, part: Part, on: bool) -> Option<()> {
        if part.m < 0.0 {
            return None;
        }
        let place = [part.x, part.y, part.z].map(|x| (x + 0.0).to_bits());
        let next = self.all.len();
        let i = *self.at.entry(place).or_insert(next);
        if i == next {
            self.all.push((Vec::new(), part));
        }
        let signed = if on { part.m } else { -part.m };
        let masses = &mut self.all[i].0;
        match masses.iter().position(|m| *m == -signed) {
            Some(undone) => drop(masses.swap_remove(undone)),
            None => masses.push(signed),
        }
        Some(())
    }

    fn on(&self, car: Part) -> Option<Part> {
        let sums = self.all.iter().map(|(masses, part)| Part { m: masses.iter().sum::<f64>() + 0.0, ..*part });
        let (on, off): (Vec<Part>, Vec<Part>) = sums.filter(|p| p.m != 0.0).partition(|p| p.m > 0.0);
        let with = on.into_iter().fold(car, Part::with);
        off.into_iter().try_fold(with, |car, part| car.without(Part { m: -part.m, ..part })).ok()
    }
}

impl Sides for Alternatives<'_> {
    fn unknowns(&self) -> &[Unknown] {
        &self.unknowns
    }

    fn count(&self) -> usize {
        self.sides.len()
    }

    fn moves(&self, side: usize, unknown: usize) -> bool {
        let Some(own) = unknown.checked_sub(self.inputs.len()).filter(|own| *own < self.own) else { return true };
        let errs = |piece: &usize| self.pieces[*piece].errors.iter().any(|e| e.0 == own && e.1 != [0.0; 2]);
        self.sides[side].pieces.iter().any(errs)
    }

    fn possible(&self, z: &[f64]) -> bool {
        let cars = (0..self.sides.len()).map(|side| self.car(side, z));
        cars.into_iter().all(|car| car.is_some_and(|car| on_days(&car, self.legs, self.of_tracks(z)).is_some()))
    }

    fn time(&self, side: usize, z: &[f64]) -> Option<f64> {
        mean_time(&self.car(side, z)?, self.legs, self.of_tracks(z))
    }
}

impl Alternatives<'_> {
    fn of_tracks<'z>(&self, z: &'z [f64]) -> &'z [f64] {
        z.get(self.inputs.len() + self.own..).unwrap_or(&[])
    }
}
