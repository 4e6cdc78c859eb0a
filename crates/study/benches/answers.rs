//! What an answer costs, in laps: a ranking of the demo ledger, a tank that is moved, two cars and a car with its changed
//! copy, each on one thread, in turns with one lap of the same car by its time alone, so that a busy machine slows both.
//!
//! `cargo bench -p unladen-study --bench answers`.

use std::hint::black_box;
use std::time::{Duration, Instant};

use unladen_garage::{CarFile, read_ledger};
use unladen_lap::Course;
use unladen_study::compare::builds::{Builds, Kin, compare, doubts};
use unladen_study::rank::candidates::{Plan, Rows, plan_of};
use unladen_study::rank::{Ask, rank};
use unladen_study::relocate::stint::{Question, ask};
use unladen_study::relocate::{Boxes, Piece, Relocation};
use unladen_study::retune::Reach;
use unladen_study::uncertainty::paired::Sampling;
use unladen_study::{Input, Leg};
use unladen_testkit::files::{demo_car_file, demo_track, root};
use unladen_vehicle::change::Change;
use unladen_vehicle::entry::{Entry, State};
use unladen_vehicle::fuel::Tank;
use unladen_vehicle::mass::Part;

/// Turns; the fastest counts.
const TURNS: usize = 3;

struct Demo {
    file: CarFile,
    inputs: Vec<Input>,
    entries: Vec<Entry>,
    plan: Plan,
    reach: Reach,
    fine: Vec<Course>,
    coarse: Vec<Course>,
}

fn inputs(file: &CarFile) -> Vec<Input> {
    file.uncertainties.iter().map(|u| Input { key: u.key.clone(), sd: u.sd, onto: u.onto.clone() }).collect()
}

fn demo() -> Demo {
    let file = demo_car_file("saloon-awd");
    let ledger = read_ledger(&root().join("vehicles/saloon-awd/ledger.csv"), Some(&file.shop.scales));
    let entries = ledger.unwrap_or_else(|e| panic!("{e}")).0.entries;
    let adds = vec![Vec::new(); entries.len()];
    let on: Vec<usize> = (0..entries.len()).filter(|&i| entries[i].state == State::Done).collect();
    let scales = &file.shop.scales;
    let plan =
        plan_of(&Rows { entries: &entries, adds: &adds, becomes: &[], scales, on: &on, undone: &[], moved: &[] });
    let limits = &file.shop.limits;
    let reach = Reach { chi: limits.roll_stiffness_front_share, beta_f: None, front_first: Some(0.0) };
    let tracks = ["valley", "carpark", "airfield"].map(demo_track);
    let courses = |step_m: f64| tracks.iter().map(|track| Course::with_step(track, step_m)).collect();
    let (fine, coarse) = (courses(2.0), courses(4.0));
    Demo { inputs: inputs(&file), file, entries, plan, reach, fine, coarse }
}

impl Demo {
    fn rank(&self, tracks: usize) -> bool {
        let legs: Vec<Leg> = self.fine[..tracks].iter().map(Leg::new).collect();
        let found = rank(&Ask {
            car: &self.file.car,
            inputs: &self.inputs,
            others: &[],
            legs: &legs,
            coarse: &self.coarse[..tracks],
            entries: &self.entries,
            plan: &self.plan,
            yardsticks: &[],
            reach: Some(self.reach),
            sampling: Sampling::default(),
            wanted: None,
        });
        found.is_ok()
    }

    fn relocate(&self) -> bool {
        let old = Tank { x: 2.65, y: 0.0, z: 0.39, length: 0.42, width: 0.70, height: 0.24 };
        let new = Tank { x: 1.95, y: 0.0, z: 0.21, length: 0.50, width: 0.75, height: 0.18 };
        let shell = |x: f64, z: f64| Some(Part::point(9.0, x, 0.0, z));
        let change = Change { before: shell(2.65, 0.5), after: shell(1.95, 0.3) };
        let relocation = Relocation {
            pieces: vec![Piece { name: "empty tank".into(), change, sd: 0.5 }],
            fuel: Some(Boxes { old, new, density: 745.0, aboard: 0.030 }),
            rows: Vec::new(),
        };
        let question = Question {
            car: &self.file.car,
            inputs: &self.inputs,
            reach: self.reach,
            relocation: &relocation,
            loads: &[0.06, 0.045, 0.03, 0.015, 0.0],
            brackets: [1.95, 0.0, 0.3],
            stint: [0.06, 0.0],
            sampling: Sampling::default(),
        };
        ask(&question, &[Leg::new(&self.fine[0])], &[Leg::new(&self.coarse[0])]).is_ok()
    }

    fn compare(&self, second: &CarFile, one_file: bool) -> bool {
        let cars = [&self.file.car, &second.car];
        let kin = Kin { one_file, apart: &[] };
        let doubts = doubts(cars, [&self.inputs, &inputs(second)], ["A", "B"], kin);
        let builds = Builds { cars, reach: [self.reach; 2], doubts: &doubts, sampling: Sampling::default() };
        compare(&builds, &[Leg::new(&self.fine[0])], &[Leg::new(&self.coarse[0])]).is_ok()
    }
}

/// What is asked, and how.
type Answer<'a> = (&'a str, Box<dyn FnMut() -> bool + 'a>);

fn timed(run: &mut dyn FnMut() -> bool) -> Duration {
    let start = Instant::now();
    assert!(black_box(run()));
    start.elapsed()
}

fn costs() {
    let demo = demo();
    let other = demo_car_file("saloon-rwd");
    let mut lighter = demo.file.clone();
    lighter.car.mass.m -= 34.0;
    let mut answers: Vec<Answer> = vec![
        ("rank, one track", Box::new(|| demo.rank(1))),
        ("rank, three tracks", Box::new(|| demo.rank(3))),
        ("move, as set and re-tuned", Box::new(|| demo.relocate())),
        ("compare two cars", Box::new(|| demo.compare(&other, false))),
        ("compare with its lighter copy", Box::new(|| demo.compare(&lighter, true))),
    ];
    const LAPS: u32 = 200;
    let mut laps = || (0..LAPS).all(|_| demo.fine[0].time(&demo.file.car).is_ok());
    let mut lap = Duration::MAX;
    let mut best = vec![Duration::MAX; answers.len()];
    for _ in 0..TURNS {
        lap = lap.min(timed(&mut laps) / LAPS);
        for (best, (_, run)) in best.iter_mut().zip(answers.iter_mut()) {
            *best = timed(run).min(*best);
        }
    }
    println!(
        "\none thread, fastest of {TURNS}, in turns; one lap of the valley circuit {:.3} ms",
        1e3 * lap.as_secs_f64()
    );
    for ((name, _), time) in answers.iter().zip(&best) {
        println!("  {name}: {:.2} s, {:.0} laps", time.as_secs_f64(), time.as_secs_f64() / lap.as_secs_f64());
    }
}

fn main() {
    if std::env::args().any(|a| a == "--bench") {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap_or_else(|e| panic!("{e}"));
        pool.install(costs);
    }
}
