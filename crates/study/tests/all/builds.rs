//! Moving something and comparing two builds, on a small invented track.

use std::sync::LazyLock;

use crate::common::{self, input};
use unladen_lap::Course;
use unladen_study::compare::builds::{Builds, Doubt, Kin, compare, doubts};
use unladen_study::compare::crossover::{crossover, over_grip, over_power};
use unladen_study::compare::terms::terms;
use unladen_study::relocate::stint::{Answer, Question, ask};
use unladen_study::relocate::{Boxes, Piece, RelocateError, Relocation};
use unladen_study::retune::Reach;
use unladen_study::uncertainty::paired::Sampling;
use unladen_study::{Input, Leg};
use unladen_testkit::roads::bends;
use unladen_track::Track;
use unladen_vehicle::car::Layout;
use unladen_vehicle::change::Change;
use unladen_vehicle::fuel::Tank;
use unladen_vehicle::mass::Part;
use unladen_vehicle::{Car, Number};

/// Two bends one way, one the other.
fn lanes(grip: f64) -> Track {
    let segments = bends(150.0, &[20.0, -45.0, 80.0], 120.0);
    Track { name: "lanes".into(), closed: false, start_speed: 10.0, rho: 1.2, grip, segments }
}

static DRY: LazyLock<Course> = LazyLock::new(|| Course::new(&lanes(1.0)));

fn car() -> Car {
    common::car(0.005)
}

const OLD: Tank = Tank { x: 2.65, y: 0.0, z: 0.39, length: 0.42, width: 0.70, height: 0.24 };
const NEW: Tank = Tank { x: 1.95, y: 0.0, z: 0.21, length: 0.50, width: 0.75, height: 0.18 };

fn tank() -> Relocation {
    let part = |m, x| Some(Part::point(m, x, 0.0, 0.4));
    let one = |name: &str, before, after, sd| Piece { name: name.into(), change: Change { before, after }, sd };
    let pieces =
        vec![one("empty tank", part(9.0, 2.65), part(12.0, 1.95), 0.5), one("bulkhead", None, part(4.0, 1.6), 0.3)];
    let fuel = Some(Boxes { old: OLD, new: NEW, density: 745.0, aboard: 0.030 });
    Relocation { pieces, fuel, rows: Vec::new() }
}

const LOADS: [f64; 3] = [0.060, 0.030, 0.0];

fn asked(car: &Car, relocation: &Relocation, inputs: &[Input], reach: Reach) -> Result<Answer, RelocateError> {
    let question = Question {
        car,
        inputs,
        reach,
        relocation,
        loads: &LOADS,
        brackets: [1.95, 0.0, 0.3],
        stint: [0.055, 0.005],
        sampling: Sampling::default(),
    };
    ask(&question, &[Leg::new(&DRY)])
}

/// Each row of the table is the lap of a car whose CG was worked out by hand from the parts.
#[test]
fn property_loads_are_laps_of_cars_put_together() {
    let car = car();
    let found = asked(&car, &tank(), &[], Reach::none()).unwrap();
    assert_eq!((found.loads.len(), found.retuned.is_none()), (3, true));
    for load in &found.loads {
        let fuel = |t: &Tank, v: f64| Part::point(745.0 * v, t.x, t.y, t.z + 0.5 * v / (t.length * t.width));
        let dry = Part::from(car.mass).without(fuel(&OLD, 0.030)).unwrap();
        let shell = |m, x| Part::point(m, x, 0.0, 0.4);
        let old = dry.with(fuel(&OLD, load.fuel));
        let new = dry
            .with(fuel(&NEW, load.fuel))
            .without(shell(9.0, 2.65))
            .unwrap()
            .with(shell(12.0, 1.95))
            .with(shell(4.0, 1.6));
        for (part, stands, time) in [(old, load.at_rest[0], load.as_set_s[0]), (new, load.at_rest[1], load.as_set_s[1])]
        {
            assert!((part.m - stands.mass).abs() < 1e-9 && (part.x - stands.cg[0]).abs() < 1e-12);
            assert!(
                (part.z - stands.cg[2]).abs() < 1e-12
                    && (stands.front_share - (1.0 - part.x / car.chassis.l)).abs() < 1e-12
            );
            let lap = DRY.time(&Car { mass: part.into(), ..car.clone() }).unwrap();
            assert!((lap - time).abs() < 1e-9, "{lap} {time}");
        }
    }
    // The stint's mean lies between its ends, and its rule agrees with a fine trapezoid.
    let n = 20;
    let gain = |fuel: f64| {
        let [old, new] = tank().cars(&car, fuel, &[]).unwrap();
        DRY.time(&old).unwrap() - DRY.time(&new).unwrap()
    };
    let mean: f64 = (0..=n)
        .map(|i| if i == 0 || i == n { 0.5 } else { 1.0 } * gain(0.055 - 0.050 * f64::from(i) / f64::from(n)))
        .sum::<f64>()
        / f64::from(n);
    assert!((found.as_set.gain.gain - mean).abs() < 2e-4, "{} {mean}", found.as_set.gain.gain);
    // The tank is further forward and lower: less drift of the balance with the fuel.
    let drift = |i: usize| (found.ends[1][i].front_share - found.ends[0][i].front_share).abs();
    assert!(drift(1) < 0.6 * drift(0), "{} {}", drift(1), drift(0));
}

#[test]
fn property_there_and_back_is_no_difference_with_all_unknown() {
    let inputs = [input(Number::H, 0.015), input(Number::MU_Y_F, 0.05), input(Number::CHI, 0.03)];
    let mut there = tank();
    there.pieces.iter_mut().for_each(|piece| piece.sd = 0.0);
    let still = there.then(&there.undone());
    let found =
        asked(&car(), &still, &inputs, Reach { chi: Some([0.5, 0.7]), beta_f: None, front_first: None }).unwrap();
    for stint in [&found.as_set, found.retuned.as_ref().unwrap()] {
        assert_eq!((stint.gain.gain, stint.mean_s[0]), (0.0, stint.mean_s[1]));
        assert_eq!((stint.gain.interval, stint.reversed_by.is_none()), ([0.0; 2], true));
    }
    assert!(found.loads.iter().all(|l| l.at_rest[0] == l.at_rest[1] && l.as_set_s[0] == l.as_set_s[1]));
    assert_eq!(found.tuning[0], found.tuning[1]);
}

/// What both sides share cancels; what only the new one has does not.
#[test]
fn property_the_mass_of_what_goes_on_is_in_the_interval() {
    let mut heavy = tank();
    heavy.pieces[1].sd = 2.0;
    let found = asked(&car(), &heavy, &[], Reach::none()).unwrap();
    let per_kg = {
        let mut more = heavy.clone();
        more.pieces[1].change.after = Some(Part::point(6.0, 1.6, 0.0, 0.4));
        found.as_set.gain.gain - asked(&car(), &more, &[], Reach::none()).unwrap().as_set.gain.gain
    };
    let names: Vec<&str> = found.as_set.gain.shares.iter().map(|(i, _)| found.unknowns[*i].name.as_str()).collect();
    assert_eq!(names.first(), Some(&"mass of bulkhead"), "{names:?}");
    // 0.5 kg of the tank and 2 kg of the bulkhead, at nearly one place.
    assert!(
        (found.as_set.gain.sd / per_kg - (1.0 + 0.0625f64).sqrt()).abs() < 0.1,
        "{} {per_kg}",
        found.as_set.gain.sd
    );
    assert!(found.dose_s > 20.0 * per_kg);
}

#[test]
fn bad_input_of_a_stint() {
    let question = |stint: [f64; 2], loads: &[f64]| {
        let (car, relocation) = (car(), tank());
        let (reach, sampling) = (Reach::none(), Sampling::default());
        let question = Question {
            car: &car,
            inputs: &[],
            reach,
            relocation: &relocation,
            loads,
            brackets: [1.95, 0.0, 0.3],
            stint,
            sampling,
        };
        ask(&question, &[Leg::new(&DRY)]).unwrap_err()
    };
    assert!(matches!(question([0.005, 0.055], &LOADS), RelocateError::Stint { .. }));
    assert!(matches!(question([0.02, -0.01], &LOADS), RelocateError::Stint { .. }));
    assert!(matches!(question([0.069, 0.0], &LOADS), RelocateError::Fuel { which: "new", .. }));
    assert!(matches!(question([0.055, 0.0], &[0.08]), RelocateError::Fuel { which: "old", .. }));
}

/// The same car rear-drive: lighter, its CG further back, its driveline better.
fn rear_drive(car: &Car) -> Car {
    let mut car = car.clone();
    let off = Part::point(54.0, 0.37, 0.07, 0.31);
    car.mass = Part::from(car.mass).without(off).unwrap().into();
    (car.driveline.layout, car.driveline.efficiency) = (Layout::Rear, 0.94);
    car.front.j_wheel -= 0.07;
    car
}

#[test]
fn closed_form_terms_add_up_and_a_single_one_is_the_whole() {
    let (a, leg) = (car(), [Leg::new(&DRY)]);
    let b = rear_drive(&a);
    let whole = DRY.time(&a).unwrap() - DRY.time(&b).unwrap();
    let found = terms([&a, &b], &leg).unwrap();
    assert_eq!(found.len(), 5);
    assert!((found.iter().map(|t| t.gain_s).sum::<f64>() - whole).abs() < 1e-12, "{found:?} {whole}");
    assert!(found.iter().all(|t| t.range_s[0] <= t.gain_s + 1e-12 && t.gain_s <= t.range_s[1] + 1e-12));
    // The other way round each term changes its sign.
    for (there, back) in found.iter().zip(terms([&b, &a], &leg).unwrap()) {
        assert!((there.gain_s + back.gain_s).abs() < 1e-12, "{there:?} {back:?}");
    }
    let mut light = a.clone();
    light.mass.m -= 30.0;
    let alone = terms([&a, &light], &leg).unwrap();
    let gain = DRY.time(&a).unwrap() - DRY.time(&light).unwrap();
    assert!(alone.len() == 1 && alone[0].gain_s == gain && alone[0].range_s == [gain; 2]);
    assert!(terms([&a, &a], &leg).unwrap().is_empty());
}

/// A car against itself, everything uncertain: no difference, of any kind.
#[test]
fn property_a_car_against_itself() {
    let car = car();
    let inputs = [input(Number::H, 0.015), input(Number::MU_Y_F, 0.05), input(Number::EFFICIENCY, 0.02)];
    let doubts = doubts([&car, &car], [&inputs, &inputs], ["A", "B"], Kin::default());
    assert!(doubts.len() == 3 && doubts.iter().all(|d| d.shared()));
    let reach = [Reach { chi: Some([0.5, 0.7]), beta_f: None, front_first: None }; 2];
    let builds = Builds { cars: [&car, &car], reach, doubts: &doubts, sampling: Sampling::default() };
    let found = compare(&builds, &[Leg::new(&DRY)]).unwrap();
    for verdict in [&found.as_set, found.retuned.as_ref().unwrap()] {
        assert_eq!((verdict.gain.gain, verdict.gain.interval, verdict.gain.chance), (0.0, [0.0; 2], 0.5));
    }
    assert!(found.terms.unwrap().is_empty());
    assert!(found.tracks[0].stretches.iter().all(|s| s.entry_s == 0.0 && s.exit_s == 0.0));
}

/// What is one unknown of both cancels; taken apart it does not.
#[test]
fn property_shared_unknowns_cancel() {
    let a = car();
    let b = rear_drive(&a);
    let inputs = [input(Number::MU_Y_F, 0.05), input(Number::MU_Y_R, 0.05), input(Number::EFFICIENCY, 0.01)];
    let sd = |apart: &[String]| {
        let doubts = doubts([&a, &b], [&inputs, &inputs], ["A", "B"], Kin { one_file: false, apart });
        let sampling = Sampling { samples: 64, ..Sampling::default() };
        let builds = Builds { cars: [&a, &b], reach: [Reach::none(); 2], doubts: &doubts, sampling };
        let found = compare(&builds, &[Leg::new(&DRY)]).unwrap();
        (found.as_set.gain.sd, doubts.iter().filter(|d| d.shared()).count(), doubts.len())
    };
    let (together, shared, all) = sd(&[]);
    // The efficiencies differ: that of one says nothing about the other.
    assert_eq!((shared, all), (2, 4));
    let (apart, none, all) = sd(&["tyres.".into()]);
    assert_eq!((none, all), (0, 6));
    assert!(apart > 2.0 * together, "{apart} {together}");
}

/// A car and its changed copy are one unknown car: 5 % more grip is 5 % of whatever the grip is.
#[test]
fn property_a_changed_copy_shares_what_is_unknown() {
    let a = car();
    let mut b = a.clone();
    (b.front.mu_y0, b.rear.mu_y0) = (1.05 * a.front.mu_y0, 1.05 * a.rear.mu_y0);
    let of = |factor: f64| [input(Number::MU_Y_F, 0.05 * factor), input(Number::MU_Y_R, 0.05 * factor)];
    let (inputs, more) = (of(1.0), of(1.05));
    let found = |kin: Kin| {
        let doubts = doubts([&a, &b], [&inputs, &more], ["A", "B"], kin);
        let sampling = Sampling { samples: 64, ..Sampling::default() };
        let builds = Builds { cars: [&a, &b], reach: [Reach::none(); 2], doubts: &doubts, sampling };
        let gain = compare(&builds, &[Leg::new(&DRY)]).unwrap().as_set.gain;
        (gain.chance, gain.sd, doubts)
    };
    let (chance, sd, shared) = found(Kin { one_file: true, apart: &[] });
    assert!(chance > 0.999 && shared.iter().all(Doubt::shared), "{chance}");
    // The second car's grip is off by 5 % more.
    assert!((shared[0].onto[1][0].1 - 1.05).abs() < 1e-12 && shared[0].onto[0][0].1 == 1.0);
    let (_, apart, two) = found(Kin::default());
    assert!(apart > 3.0 * sd && two.len() == 4, "{apart} {sd}");
    // A ± of its own is an unknown of its own.
    let own = [inputs[0].key.clone()];
    assert_eq!(found(Kin { one_file: true, apart: &own }).2.iter().filter(|d| d.shared()).count(), 1);
}

/// Every cell against a lap on a track of that grip with that engine, and the crossings lie between cells of either
/// sign.
#[test]
fn property_crossover_cells_are_direct_laps() {
    let a = car();
    let b = rear_drive(&a);
    let legs = [Leg::new(&DRY)];
    let (powers, grips) = ([0.6, 1.0, 1.4], [0.3, 0.6, 0.9, 1.2]);
    let cells = crossover([&a, &b], &legs, &powers, &grips);
    assert_eq!(cells.len(), 12);
    for cell in &cells {
        let course = Course::with_step(&lanes(cell.grip), 2.0);
        for (car, time) in [&a, &b].into_iter().zip(cell.times_s) {
            let mut car = car.clone();
            car.engine.torque.iter_mut().for_each(|point| point.1 *= cell.power);
            let lap = course.time(&car).unwrap();
            assert!((lap - time.unwrap()).abs() < 1e-8 * lap, "{cell:?} {lap}");
        }
    }
    let gain = |p: usize, g: usize| cells[p * grips.len() + g].gain_s().unwrap() > 0.0;
    let flips = |points: Vec<bool>| points.windows(2).filter(|w| w[0] != w[1]).count();
    assert_eq!(over_grip([&a, &b], &legs, &grips, 1e-4).len(), flips((0..4).map(|g| gain(1, g)).collect()));
    assert_eq!(over_power([&a, &b], &legs, &powers, (0.6, 1e-4)).len(), flips((0..3).map(|p| gain(p, 1)).collect()));
}

/// The track turned over, and the car with its weight on the other side: the same time (`docs/model.md` is
/// symmetrical).
#[test]
fn property_a_mirror_image_takes_as_long() {
    let mut turned = lanes(1.0);
    turned.segments.iter_mut().for_each(|s| s.kappa = s.kappa.map(|k| -k));
    let course = Course::with_step(&turned, 2.0);
    let mirrored = |relocation: &Relocation| {
        let flip = |p: Option<Part>| p.map(|p| Part { y: -p.y, ..p });
        let mut out = relocation.clone();
        for piece in &mut out.pieces {
            piece.change = Change { before: flip(piece.change.before), after: flip(piece.change.after) };
        }
        out.fuel =
            out.fuel.map(|f| Boxes { old: Tank { y: -f.old.y, ..f.old }, new: Tank { y: -f.new.y, ..f.new }, ..f });
        out
    };
    let mut off_centre = tank();
    off_centre.pieces[0].change.after = Some(Part::point(12.0, 1.95, 0.4, 0.3));
    off_centre.fuel = off_centre.fuel.map(|f| Boxes { new: Tank { y: 0.3, ..f.new }, ..f });
    let car = car();
    let mut other = car.clone();
    other.mass.y_cg = -car.mass.y_cg;
    let plain = off_centre.cars(&car, 0.03, &[]).unwrap().map(|car| DRY.time(&car).unwrap());
    let mirror = mirrored(&off_centre).cars(&other, 0.03, &[]).unwrap().map(|car| course.time(&car).unwrap());
    assert!((0..2).all(|i| (plain[i] - mirror[i]).abs() < 1e-9), "{plain:?} {mirror:?}");
    assert!((plain[0] - plain[1]).abs() > 1e-4);
}
