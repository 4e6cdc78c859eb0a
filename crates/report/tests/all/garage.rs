//! The garage's pictures at their extremes, and its texts as they were.

use std::fmt::Write as _;

use unladen_questions::stands::load::{Aboard, Others};
use unladen_questions::{ledger, reset, weigh};
use unladen_report::draw::look::Paper;
use unladen_report::draw::picture::Picture;
use unladen_report::ledger::burn::{BurnPlot, burn_picture};
use unladen_report::ledger::text::budget_text;
use unladen_report::reset::picture::reset_picture;
use unladen_report::reset::text::reset_text;
use unladen_report::weigh::picture::weigh_picture;
use unladen_report::weigh::reconcile::reconcile_text;
use unladen_report::weigh::text::weigh_text;
use unladen_study::ledger::budget::Base;
use unladen_study::ledger::reconcile::{Aboard as Places, reconcile};
use unladen_study::ledger::reset::{Springs, Stage, stage};
use unladen_study::ledger::summary::{Budget, stand};
use unladen_study::weighing::advice::better;
use unladen_study::weighing::{Geometry, Known, Loads, Raised, Reading, Scales, Weighing};
use unladen_vehicle::change::Change;
use unladen_vehicle::entry::{Entry, Origin, Scale, State};
use unladen_vehicle::example_car;
use unladen_vehicle::mass::Part;

const LONG: &str =
    "an uncommonly long name of an item <that> somebody & \"typed\" in full, with bracket and bolts 日本";

fn base() -> Base {
    let car = Part { m: 1284.0, x: 1.13, y: 0.006, z: 0.492, i_zz: Some(0.0) };
    let corners = Some([362.0, 357.5, 275.0, 289.5]);
    Base { car, sd: [2.0, 0.005, 0.005, 0.015], wheelbase: 2.57, track: [1.505, 1.5], chi: 0.58, corners }
}

fn row(item: &str, state: State, off: f64, on: f64, day: Option<i64>) -> Entry {
    let part = |kg: f64, z: f64| (kg > 0.0).then(|| Part::point(kg, 2.0, 0.1, z));
    Entry {
        item: item.into(),
        area: Some("boot".into()),
        state,
        change: Change { before: part(off, 0.6), after: part(on, 0.5) },
        origin: Origin::Weighed,
        sd: None,
        scale: Some("bench".into()),
        rotating_inertia: 0.0,
        cost: Some(40.0),
        hours: None,
        group: None,
        excludes: Vec::new(),
        needs: Vec::new(),
        day,
        note: String::new(),
    }
}

fn bench() -> [Scale; 1] {
    [Scale { name: "bench".into(), resolution: 0.1, bias: 0.05, gain: 0.001 }]
}

fn budget(entries: &[Entry]) -> Budget {
    stand(&base(), entries, &bench(), Some(100)).unwrap()
}

/// `count` rows, half of them done one a `pace` days from day 90 on, sizes and directions mixed.
fn rows(count: usize, pace: Option<i64>, name: impl Fn(usize) -> String) -> Vec<Entry> {
    let size = |i: usize| 0.3 + ((i * 7919) % 97) as f64 / 8.0;
    let one = |i: usize| {
        let state = if i < count / 2 { State::Done } else { State::Planned };
        let day = pace.filter(|_| state == State::Done).map(|p| 90 + p * i as i64);
        let on = if i % 5 == 4 { size(i + 3) } else { 0.0 };
        row(
            &name(i),
            state,
            if i % 11 == 10 { 0.0 } else { size(i) },
            on.max(if i % 11 == 10 { 38.0 } else { 0.0 }),
            day,
        )
    };
    (0..count).map(one).collect()
}

/// Eight dates at most, as the command line writes them.
fn burn(entries: &[Entry], target_kg: Option<f64>) -> [Picture; 2] {
    let budget = budget(entries);
    let names: Vec<String> = entries.iter().map(|e| e.item.clone()).collect();
    let days: Vec<i64> = budget.steps.iter().filter(|s| s.done).filter_map(|s| s.day).collect();
    let (first, last) = (days.iter().min().copied().unwrap_or(0), days.iter().max().copied().unwrap_or(0));
    let every = ((last - first) / 8 + 1) as usize;
    let dates: Vec<(i64, String)> =
        (first..=last).step_by(every).map(|d| (d, format!("Sep {}", 2000 + d % 30))).collect();
    let car = if names.iter().any(|n| n == LONG) { LONG } else { "car" };
    let (aboard, steps) = ("driver 78 kg", &budget.steps);
    let plot = BurnPlot { car, aboard, steps, names: &names, target_kg, dates: &dates };
    [Paper::FILE, Paper::PHONE].map(|paper| burn_picture(&plot, paper).unwrap())
}

#[test]
fn property_the_burn_down_reads_at_every_size() {
    let plain = |i: usize| format!("part number {i}");
    let mut all = Vec::new();
    for count in [0, 1, 2, 3, 7, 44, 60, 200] {
        for pace in [None, Some(0), Some(2), Some(30)] {
            for target in [None, Some(1150.0), Some(1284.0)] {
                all.push(burn(&rows(count, pace, plain), target));
                all.push(burn(&rows(count, pace, |_| LONG.into()), target));
            }
        }
    }
    // Nothing but heavier; nothing but ideas; the weighing last of all.
    all.push(burn(&[row("cage", State::Planned, 0.0, 38.0, None)], Some(1100.0)));
    all.push(burn(&[row("seat", State::Idea, 8.0, 0.0, None)], Some(1100.0)));
    all.push(burn(&(0..9).map(|i| row(LONG, State::Done, 9.0, 0.0, Some(i))).collect::<Vec<_>>(), None));
    all.iter().flatten().for_each(crate::labels::apart);
}

fn known(value: f64, sd: f64) -> Known {
    Known { value, sd }
}

/// Level, and the rear raised as often as `lifts` says.
fn weighing(lifts: &[f64], method_share: f64) -> Weighing {
    let reading = |name: String, loads, lift| Reading { name, loads, lift, pads: [0.0; 4] };
    let mut readings = vec![reading("level 1".into(), Loads::Corners([365.0, 354.5, 272.0, 293.0]), None)];
    for (i, h) in lifts.iter().enumerate() {
        let tan = (h / 2.57f64).asin().tan();
        let front = 719.5 + 1284.5 * 0.18 / 2.57 * tan;
        readings.push(reading(format!("lift {}", i + 1), Loads::Front(front), Some((Raised::Rear, known(*h, 0.003)))));
    }
    Weighing {
        geometry: Geometry {
            wheelbase: known(2.57, 0.002),
            track: [1.505, 1.5],
            radius: [known(0.304, 0.002); 2],
            tyre_rate: [None; 2],
        },
        scales: Scales { resolution: 0.5, repeatability: 0.4, bias: 0.7, gain: 8e-4 },
        readings,
        fluids: Vec::new(),
        method_share,
    }
}

/// Driver and fuel.
const ABOARD: Aboard = Aboard { fuel: 0.02, driver: 78.0, others: Others::None };

fn weighed(name: &str, w: &Weighing) -> weigh::Answer {
    let found = w.solve().unwrap();
    weigh::Answer {
        name: name.into(),
        day: unladen_garage::day("2026-02-14"),
        aboard: ABOARD,
        wheelbase_m: 2.57,
        better: better(w, &found),
        found,
        assumed: vec!["wheelbase"],
        warnings: Vec::new(),
    }
}

#[test]
fn property_the_weighing_s_budget_reads_at_every_size() {
    for name in ["first weighing", LONG] {
        for lifts in [&[][..], &[0.3], &[0.3, 0.5, 0.6]] {
            for share in [0.0, 0.01, 0.03, 0.3] {
                crate::labels::apart(&weigh_picture(&weighed(name, &weighing(lifts, share))).unwrap());
            }
        }
    }
}

/// As weighed, now and planned, of a car with this front share of the braking.
fn stages(entries: &[Entry], beta_f: f64) -> (Vec<Stage>, unladen_vehicle::Car) {
    let mut car = example_car();
    (car.brakes.beta_f, car.brakes.rear_limiter) = (beta_f, None);
    let springs = Springs { wheel_rate: [34e3, 31e3], tyre_rate: [Some(220e3), Some(220e3)], unsprung: [78.0, 84.0] };
    let b = budget(entries);
    let stages = [("as weighed", &b.weighed), ("now", &b.now), ("planned", &b.planned)];
    (stages.map(|(name, s)| stage(name, &car, &b.weighed, s, Some(&springs))).to_vec(), car)
}

fn what_to_set(name: &str, entries: &[Entry], beta_f: f64) -> reset::Answer {
    let (stages, car) = stages(entries, beta_f);
    let limits = vec![reset::Checked {
        what: "mass by the papers".into(),
        stage: "planned",
        load: 1156.6,
        least: Some(1225.0),
        most: 1355.0,
        document: Some("an invented paper (2011-05-03)".into()),
    }];
    reset::Answer {
        car: name.into(),
        aboard: Aboard { fuel: 0.0, driver: 78.0, others: Others::None },
        stages,
        anti_lock: false,
        brakes: car.brakes,
        wheelbase_m: car.chassis.l,
        limits,
        tuned: None,
        warnings: Vec::new(),
    }
}

#[test]
fn property_adhesion_reads_at_every_brake_share() {
    for name in ["car", LONG] {
        for beta_f in [0.02, 0.4, 0.6, 0.68, 0.75, 0.9, 0.99] {
            for entries in [rows(0, None, |_| String::new()), rows(60, Some(2), |i| i.to_string())] {
                crate::labels::apart(&reset_picture(&what_to_set(name, &entries, beta_f)).unwrap());
            }
        }
    }
}

fn texts() -> String {
    let mut entries = vec![
        row("spare wheel", State::Done, 19.3, 0.0, Some(80)),
        row("rear bench", State::Done, 14.6, 0.0, Some(110)),
        row("exhaust", State::Done, 23.5, 11.2, Some(112)),
        row("tank of 45 L", State::Planned, 0.0, 9.6, None),
        row("tank of 60 L", State::Planned, 0.0, 12.4, None),
        row("bonnet", State::Planned, 16.9, 6.5, None),
        row("starter", State::Idea, 4.6, 3.1, None),
    ];
    (entries[2].origin, entries[2].sd) = (Origin::Quoted, Some(0.4));
    entries[3].excludes = vec![4];
    (entries[5].origin, entries[5].scale) = (Origin::Guessed, None);
    let budget = budget(&entries);
    let mut out = String::new();
    let otherwise = ledger::Otherwise { load: ledger::Load::Dry, aboard: Aboard::default(), mass_kg: 1150.0 };
    let answer = ledger::Answer {
        money: None,
        car: "Invented car".into(),
        aboard: ABOARD,
        weighed_on: Some(100),
        entries: entries.clone(),
        budget,
        target_kg: Some(1250.0),
        otherwise: vec![otherwise],
        filled_in: (2, 1),
        warnings: Vec::new(),
    };
    let _ = writeln!(out, "--- ledger\n{}", budget_text(&answer));
    let _ = writeln!(out, "--- weigh\n{}", weigh_text(&weighed("first weighing", &weighing(&[0.35, 0.55], 0.03))));
    let counted = [1, 2];
    let done: Vec<&Entry> = counted.iter().map(|&i| &entries[i]).collect();
    let ledger = base().with(&done, &bench()).unwrap();
    let scales = (known(ledger.part.m + 12.0, 1.8), known(ledger.part.x + 0.012, 0.002));
    let places = Places { tank: Some(2.65), seat: Some(1.35) };
    let result = reconcile(&ledger, scales, 2.57, &entries, &counted, &bench(), places);
    let answer = weigh::reconcile::Answer {
        car: "Invented car".into(),
        name: "after the spring work".into(),
        aboard: ABOARD,
        lines: (2..9).collect(),
        counted: counted.to_vec(),
        result,
        litres_per_kg: Some(1.342),
        warnings: Vec::new(),
        entries: entries.clone(),
    };
    let _ = writeln!(out, "--- weigh --against\n{}", reconcile_text(&answer));
    out + "--- reset\n" + &reset_text(&what_to_set("Invented car", &entries, 0.6))
}

/// What people read, so that a change of it is seen: `UNLADEN_UPDATE=1` writes it anew.
#[test]
fn regression_texts_of_the_garage() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/all/garage.txt");
    if std::env::var_os("UNLADEN_UPDATE").is_some() {
        std::fs::write(&path, texts()).unwrap();
    }
    similar(&texts(), &std::fs::read_to_string(&path).unwrap());
}

/// Line by line, for a message that shows the one that differs.
fn similar(now: &str, then: &str) {
    for (a, b) in now.lines().zip(then.lines()) {
        assert_eq!(a, b);
    }
    assert_eq!(now.lines().count(), then.lines().count());
}
