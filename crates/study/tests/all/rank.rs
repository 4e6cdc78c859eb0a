//! Ranking planned changes, on a small invented circuit.

use std::f64::consts::PI;

use crate::common::car;
use unladen_lap::Course;
use unladen_study::rank::best_set::Budget;
use unladen_study::rank::candidates::{Plan, Rows, plan_of};
use unladen_study::rank::ranked::Ranking;
use unladen_study::rank::{Ask, RankError, rank};
use unladen_study::uncertainty::alternative::{Alternative, Alternatives, Piece};
use unladen_study::uncertainty::paired::{Sampling, Sides, paired};
use unladen_study::uncertainty::spread::How;
use unladen_study::{Input, Leg, Spot, Subject, worth};
use unladen_testkit::roads::{corner, flat};
use unladen_track::Track;
use unladen_vehicle::car::{Engine, Layout};
use unladen_vehicle::change::Change;
use unladen_vehicle::entry::{Entry, Origin, State};
use unladen_vehicle::mass::Part;
use unladen_vehicle::{Car, Number};

/// A circuit with corners of two radii, eased in and out; `turn` −1 makes its mirror image.
fn circuit(turn: f64) -> Track {
    let mut segments = vec![flat(250.0, [0.0; 2])];
    segments.extend(corner(40.0, 20.0, turn * PI));
    segments.push(flat(250.0, [0.0; 2]));
    segments.extend(corner(70.0, 20.0, turn * PI));
    Track { name: "circuit".into(), closed: true, start_speed: 0.0, rho: 1.2, grip: 0.95, segments }
}

fn at(kg: f64, [x, y, z]: [f64; 3]) -> Part {
    Part::point(kg, x, y, z)
}

fn off(kg: f64, place: [f64; 3]) -> Piece {
    Piece { change: Change { before: Some(at(kg, place)), after: None }, ..Piece::default() }
}

fn on(kg: f64, place: [f64; 3]) -> Piece {
    Piece { change: Change { before: None, after: Some(at(kg, place)) }, ..Piece::default() }
}

fn row(item: &str, kg: f64, place: [f64; 3], sd: f64) -> Entry {
    let part = Some(at(kg.abs(), place));
    let change = if kg < 0.0 { Change { before: part, after: None } } else { Change { before: None, after: part } };
    Entry {
        item: item.into(),
        area: None,
        state: State::Planned,
        change,
        origin: Origin::Weighed,
        sd: Some(sd),
        scale: None,
        rotating_inertia: 0.0,
        cost: Some(100.0),
        hours: Some(2.0),
        group: None,
        excludes: Vec::new(),
        needs: Vec::new(),
        day: None,
        note: String::new(),
    }
}

/// Cars of some sides: which pieces each has.
fn cars(pieces: &[Piece], sides: &[&[usize]]) -> (Vec<Car>, Vec<f64>) {
    let (car, course) = (car(0.006), Course::new(&circuit(1.0)));
    let legs = [Leg::new(&course)];
    let sides: Vec<Alternative> =
        sides.iter().map(|s| Alternative { pieces: s.to_vec(), ..Alternative::default() }).collect();
    let field = Alternatives::new((&car, &[], &[]), &legs, (pieces, &[]), &sides);
    let all = 0..sides.len();
    (all.clone().map(|i| field.car(i, &[]).unwrap()).collect(), all.map(|i| field.time(i, &[]).unwrap()).collect())
}

const PLACE: [f64; 3] = [-0.45, 0.2, 0.9];

#[test]
fn property_adding_then_removing_changes_nothing_bit_for_bit() {
    let pieces = [on(7.3, PLACE), off(7.3, PLACE), off(4.1, [2.0, -0.3, 0.4]), on(4.1, [2.0, -0.3, 0.4])];
    let (cars, times) = cars(&pieces, &[&[], &[0, 1], &[1, 0], &[2, 0, 3, 1]]);
    assert!(cars.iter().all(|c| *c == cars[0]) && times.iter().all(|t| t.to_bits() == times[0].to_bits()));
}

#[test]
fn property_splitting_a_row_and_a_row_of_no_mass_change_nothing() {
    let pieces = [off(5.0, PLACE), off(2.0, PLACE), off(3.0, PLACE), off(0.0, PLACE), on(0.0, [3.0, 0.0, 1.0])];
    let (cars, times) = cars(&pieces, &[&[0], &[1, 2], &[3, 0, 4], &[2, 1]]);
    assert!(cars.iter().all(|c| *c == cars[0]) && times.iter().all(|t| t.to_bits() == times[0].to_bits()));
}

/// The mirrored car with mirrored parts on the mirrored track: what is left and right doesn't matter. The solver's
/// roots are the same ones but for rounding.
#[test]
fn property_mirror_image() {
    let time = |turn: f64| {
        let mut car = car(0.006);
        car.mass.y_cg *= turn;
        let course = Course::new(&circuit(turn));
        let legs = [Leg::new(&course)];
        let pieces = [off(20.9, [1.38, -0.35 * turn, 0.43])];
        let sides = [Alternative { pieces: vec![0], ..Alternative::default() }];
        Alternatives::new((&car, &[], &[]), &legs, (&pieces, &[]), &sides).time(0, &[]).unwrap()
    };
    assert!((time(1.0) - time(-1.0)).abs() < 1e-9, "{} {}", time(1.0), time(-1.0));
}

/// A hundred grams off at some places: full laps and w of `docs/model.md` §8 say the same to 1 %, and put them in one
/// order.
#[test]
fn property_small_changes_rank_by_laps_as_by_derivative() {
    let (car, course) = (car(0.006), Course::new(&circuit(1.0)));
    let legs = [Leg::new(&course)];
    let places = [[0.0, 0.0, 0.8], [1.4, 0.0, 1.28], [1.3, 0.3, 0.4], [3.0, 0.0, 0.4], [0.0, 0.4, 0.2]];
    let spots = places.map(|at| Spot { name: String::new(), at }).to_vec();
    let study = worth(&Subject { spots, ..Subject::new(&car) }, &legs).unwrap();
    let by_slope: Vec<f64> = study.tracks[0].places.iter().map(|p| 0.1 * p.s_per_kg.value).collect();
    let pieces: Vec<Piece> = places.iter().map(|&place| off(0.1, place)).collect();
    let (_, times) = cars(&pieces, &[&[], &[0], &[1], &[2], &[3], &[4]]);
    let by_lap: Vec<f64> = times[1..].iter().map(|t| times[0] - t).collect();
    for (a, b) in by_slope.iter().zip(&by_lap) {
        assert!((a - b).abs() < 0.01 * a.abs(), "{by_slope:?} {by_lap:?}");
    }
    let order = |of: &[f64]| {
        let mut order: Vec<usize> = (0..of.len()).collect();
        order.sort_by(|&a, &b| of[b].total_cmp(&of[a]));
        order
    };
    assert_eq!(order(&by_slope), order(&by_lap));
}

/// sources.md 33: without load slope, air and rotating mass, with power without end, mass at the CG is free. And of a
/// rear-driven car that only traction limits, weight taken off high up slows the start.
#[test]
fn closed_form_mass_that_is_free() {
    let mut car = car(0.006);
    for tyre in [&mut car.front, &mut car.rear] {
        (tyre.k_x, tyre.k_y, tyre.j_wheel) = (0.0, 0.0, 0.0);
    }
    (car.aero.cd_a, car.aero.cf_a, car.aero.cr_a) = (0.0, 0.0, 0.0);
    car.engine = Engine { torque: vec![(100.0, 1e6)], power: 1.0, launch: 10.0, limit: 1e5, inertia: 0.0 };
    (car.driveline.gears, car.driveline.shift_time) = (vec![1.0], 0.0);
    car.brakes.rear_limiter = None;
    for tyre in [&mut car.front, &mut car.rear] {
        // C is a force that does scale with load, but its stiffness is given at a load.
        tyre.inv_c_alpha = 0.0;
    }
    let cg = [car.mass.a, car.mass.y_cg, car.mass.h];
    let pieces = [off(300.0, cg), off(60.0, [cg[0], cg[1], 1.2])];
    let sides = [vec![], vec![0], vec![1]].map(|pieces| Alternative { pieces, ..Alternative::default() });
    let course = Course::new(&circuit(1.0));
    let legs = [Leg::new(&course)];
    let field = Alternatives::new((&car, &[], &[]), &legs, (&pieces, &[]), &sides);
    let [all, light] = [0, 1].map(|i| field.time(i, &[]).unwrap());
    assert!((all - light).abs() < 1e-9 * all, "{all} {light}");
    car.driveline.layout = Layout::Rear;
    let mut strip = circuit(1.0);
    strip.segments.truncate(1);
    strip.closed = false;
    let course = Course::new(&strip);
    let legs = [Leg::new(&course)];
    let field = Alternatives::new((&car, &[], &[]), &legs, (&pieces, &[]), &sides);
    let [all, low] = [0, 2].map(|i| field.time(i, &[]).unwrap());
    assert!(low > all, "{all} {low}");
}

fn ranking(entries: &[Entry], plan: &Plan, wanted: Option<&Budget>, sampling: Sampling) -> Result<Ranking, RankError> {
    let car = car(0.006);
    let course = Course::new(&circuit(1.0));
    let inputs = [
        Input { key: "mass.cg_height".into(), sd: 0.01, onto: vec![(Number::H, 1.0)] },
        Input { key: "aero.drag_area".into(), sd: 0.03, onto: vec![(Number::CD_A, 1.0)] },
    ];
    rank(&Ask {
        car: &car,
        inputs: &inputs,
        others: &[],
        legs: &[Leg::new(&course)],
        entries,
        plan,
        yardsticks: &[],
        reach: None,
        sampling,
        wanted,
    })
}

fn planned(entries: &[Entry]) -> Plan {
    let adds = vec![Vec::new(); entries.len()];
    let on: Vec<usize> = (0..entries.len()).filter(|&i| entries[i].state == State::Done).collect();
    plan_of(&Rows { entries, adds: &adds, becomes: &[], scales: &[], on: &on, undone: &[], moved: &[] })
}

fn budget() -> Vec<Entry> {
    let mut rows = vec![
        row("low", -8.0, [1.2, 0.0, 0.3], 0.2),
        row("high", -8.0, [1.2, 0.0, 1.2], 0.2),
        row("much like low", -8.02, [1.2, 0.0, 0.3], 0.2),
        row("more of nothing", -1e-6, PLACE, 0.0),
        row("cage", 30.0, [1.4, 0.0, 0.8], 1.0),
    ];
    rows[0].cost = Some(250.0);
    rows[4].state = State::Idea;
    rows
}

#[test]
fn property_a_ranking_adds_up() {
    let entries = budget();
    let found = ranking(&entries, &planned(&entries), None, Sampling::default()).unwrap();
    let names: Vec<&str> = found.items.iter().map(|i| i.name.as_str()).collect();
    assert_eq!(names, ["high", "much like low", "low", "cage", "more of nothing"]);
    let places: Vec<_> = found.items.iter().map(|i| i.places).collect();
    // 20 g can't be told from 200 g of doubt; what gains less than its numerical error has no place.
    assert_eq!(places, [Some([1, 1]), Some([2, 3]), Some([2, 3]), Some([4, 4]), None]);
    for item in found.items.iter().filter(|i| i.resolved()) {
        let gain = item.gain.gain;
        assert!((item.phases.iter().sum::<f64>() - gain).abs() < 1e-9, "{item:?}");
        let s = item.sources.unwrap();
        let sum = s.mass_s + s.height_s + s.split_s + s.turning_s + s.together_s;
        assert!((sum - gain).abs() < 1e-12 && s.together_s.abs() < 0.02 * gain.abs() && s.turning_s == 0.0, "{s:?}");
        assert!(item.error_s < 0.1 * gain.abs(), "{item:?}");
    }
    let (high, low) = (&found.items[0], &found.items[2]);
    assert!(high.sources.unwrap().height_s > 0.0 && low.sources.unwrap().height_s < 0.0);
    assert!((high.kg_equivalent.unwrap() - 8.0).abs() < 4.0 && (high.kg + 8.0).abs() < 1e-9);
    // The whole plan without the idea, and its interaction: small, and not nothing.
    let whole = found.planned.unwrap();
    assert!((whole.all.kg + 24.020_001).abs() < 1e-9);
    assert!((whole.all.gain.gain - whole.sum_s).abs() < 0.05 * whole.sum_s);
    assert!(found.ideas.unwrap().all.gain.gain < whole.all.gain.gain);
}

/// Only an item's own mass is unknown: its gain scatters by as much as the kilogram is worth where it is.
#[test]
fn closed_form_an_uncertain_mass() {
    let course = Course::new(&circuit(1.0));
    let legs = [Leg::new(&course)];
    let entries = [row("high", -8.0, [1.2, 0.0, 1.2], 0.5)];
    let plan = planned(&entries);
    let sides = [vec![], vec![0]].map(|pieces| Alternative { pieces, ..Alternative::default() });
    let car = car(0.006);
    let field = Alternatives::new((&car, &[], &[]), &legs, (&plan.pieces, &plan.own), &sides);
    assert!(!field.moves(0, 0) && field.moves(1, 0));
    let d = paired(&field, &[(1, 0)], Sampling::default()).unwrap().differences.remove(0);
    assert_eq!(d.how, How::FirstOrder);
    let (_, times) = cars(&[off(7.5, [1.2, 0.0, 1.2]), off(8.5, [1.2, 0.0, 1.2])], &[&[0], &[1]]);
    let want = 0.5 * (times[0] - times[1]);
    assert!((d.sd / want - 1.0).abs() < 0.01 && d.shares.len() == 1, "{d:?} {want}");
}

#[test]
fn property_threads_change_nothing() {
    let entries = budget();
    let plan = planned(&entries);
    let sampling = Sampling { samples: 96, all: true, ..Sampling::default() };
    let run = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        format!("{:?}", pool.install(|| ranking(&entries[..3], &planned(&entries[..3]), None, sampling).unwrap()))
    };
    assert_eq!(plan.candidates.len(), 5);
    assert_eq!(run(1), run(2));
}

/// Every set that fits the budget, lapped as a whole.
#[test]
fn independent_brute_force_picks_the_same_set() {
    let mut entries = budget();
    entries[1].excludes = vec![2];
    entries.remove(3);
    let plan = planned(&entries);
    let wanted = Budget { cost: Some(320.0), hours: Some(5.0), kg: Some(-7.5), keep: vec![], month: [None; 2] };
    let found = ranking(&entries, &plan, Some(&wanted), Sampling::default()).unwrap().within_budget.unwrap();
    let pieces: Vec<Piece> = plan.pieces.iter().map(|p| Piece { errors: vec![], ..p.clone() }).collect();
    let mut all = Vec::new();
    for bits in 0..16usize {
        let set: Vec<usize> = (0..4).filter(|i| bits >> i & 1 == 1).collect();
        let sum = |of: &dyn Fn(&Entry) -> f64| set.iter().map(|&i| of(&entries[i])).sum::<f64>();
        let fits = sum(&|e| e.cost.unwrap()) <= 320.0 && sum(&|e| e.hours.unwrap()) <= 5.0;
        if fits && sum(&|e| e.change.mass()) <= -7.5 && !(set.contains(&1) && set.contains(&2)) {
            all.push(set);
        }
    }
    let sides: Vec<&[usize]> = all.iter().map(Vec::as_slice).collect();
    let (_, times) = cars(&pieces, &sides);
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_by(|&a, &b| times[a].total_cmp(&times[b]));
    assert!(found.exact && found.rest_s.is_none(), "{found:?}");
    let sets: Vec<&Vec<usize>> = found.sets.iter().map(|s| &s.candidates).collect();
    assert_eq!(sets, [&all[order[0]], &all[order[1]]]);
    let keep = Budget { keep: vec![1, 2], ..Budget::default() };
    let refused = ranking(&entries, &plan, Some(&keep), Sampling::default()).unwrap_err();
    assert!(matches!(refused, RankError::Exclusive { .. }), "{refused}");
    let heavy = Budget { kg: Some(-100.0), cost: Some(220.0), ..Budget::default() };
    let none = ranking(&entries, &plan, Some(&heavy), Sampling::default()).unwrap().within_budget.unwrap();
    assert!(none.sets.is_empty() && (none.lightest_kg.unwrap() + 8.02).abs() < 1e-9, "{none:?}");
}

#[test]
fn bad_input_nothing_planned_and_more_than_the_car() {
    let mut done = vec![row("done", -1.0, PLACE, 0.1)];
    done[0].state = State::Done;
    assert_eq!(ranking(&done, &planned(&done), None, Sampling::default()).unwrap_err(), RankError::NothingPlanned);
    let all = [row("all of it", -5000.0, PLACE, 0.1)];
    let refused = ranking(&all, &planned(&all), None, Sampling::default()).unwrap_err();
    assert!(matches!(&refused, RankError::Impossible { name } if name == "all of it"), "{refused}");
}
