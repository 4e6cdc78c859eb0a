//! What an answer costs, in laps: a ranking of the demo ledger, a tank that is moved, two cars and a car with its changed
//! copy, each on one thread, in turns with one lap of the same car by its time alone, so that a busy machine slows both; and
//! in instructions, where valgrind is there to count them.
//!
//! `cargo bench -p unladen-study --bench answers`.

use std::hint::black_box;
use std::process::Command;
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
    courses: Vec<Course>,
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
    let courses = tracks.iter().map(Course::new).collect();
    Demo { inputs: inputs(&file), file, entries, plan, reach, courses }
}

impl Demo {
    fn rank(&self, tracks: usize) -> bool {
        let legs: Vec<Leg> = self.courses[..tracks].iter().map(Leg::new).collect();
        let found = rank(&Ask {
            car: &self.file.car,
            inputs: &self.inputs,
            others: &[],
            legs: &legs,
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
        ask(&question, &[Leg::new(&self.courses[0])]).is_ok()
    }

    fn compare(&self, second: &CarFile, one_file: bool) -> bool {
        let cars = [&self.file.car, &second.car];
        let kin = Kin { one_file, apart: &[] };
        let doubts = doubts(cars, [&self.inputs, &inputs(second)], ["A", "B"], kin);
        let builds = Builds { cars, reach: [self.reach; 2], doubts: &doubts, sampling: Sampling::default() };
        compare(&builds, &[Leg::new(&self.courses[0])]).is_ok()
    }
}

/// What is asked, and how.
type Answer<'a> = (&'a str, Box<dyn FnMut() -> bool + Send + 'a>);

impl Demo {
    fn answers<'a>(&'a self, other: &'a CarFile, lighter: &'a CarFile) -> Vec<Answer<'a>> {
        vec![
            ("one lap", Box::new(|| self.courses[0].time(&self.file.car).is_ok())),
            ("rank, one track", Box::new(|| self.rank(1))),
            ("rank, three tracks", Box::new(|| self.rank(3))),
            ("move, as set and re-tuned", Box::new(|| self.relocate())),
            ("compare two cars", Box::new(|| self.compare(other, false))),
            ("compare with its lighter copy", Box::new(|| self.compare(lighter, true))),
        ]
    }
}

fn timed(run: &mut dyn FnMut() -> bool) -> Duration {
    let start = Instant::now();
    assert!(black_box(run()));
    start.elapsed()
}

fn costs(answers: &mut [Answer]) {
    const LAPS: u32 = 200;
    let mut best = vec![Duration::MAX; answers.len()];
    for _ in 0..TURNS {
        for (i, (best, (_, run))) in best.iter_mut().zip(answers.iter_mut()).enumerate() {
            let times = if i == 0 { LAPS } else { 1 };
            *best = (timed(&mut || (0..times).all(|_| run())) / times).min(*best);
        }
    }
    println!("\none thread, fastest of {TURNS}, in turns, on the valley circuit");
    for ((name, _), time) in answers.iter().zip(&best) {
        let (s, laps) = (time.as_secs_f64(), time.as_secs_f64() / best[0].as_secs_f64());
        println!("  {name}: {s:.4} s, {laps:.0} laps");
    }
}

/// What each answer takes of a machine whatever else runs on it: counted by valgrind, this program run for one of them at
/// a time, less what it takes to get ready.
fn instructions(answers: &[Answer]) {
    let count = |which: &str| {
        let mut valgrind = Command::new("valgrind");
        let program = std::env::current_exe().ok()?;
        let counted =
            valgrind.args(["--tool=callgrind", "--callgrind-out-file=/dev/null"]).arg(program).args([ONCE, which]);
        let said = String::from_utf8(counted.output().ok()?.stderr).ok()?;
        said.split("Collected :").nth(1)?.split_whitespace().next()?.parse::<f64>().ok()
    };
    let Some(ready) = count("nothing") else {
        println!("\nno valgrind here: instructions are not counted");
        return;
    };
    println!("\nmillions of instructions");
    for (name, _) in answers {
        println!("  {name}: {:.1}", count(name).map_or(f64::NAN, |all| 1e-6 * (all - ready)));
    }
}

/// Answers one of them and no more.
const ONCE: &str = "--once";

fn main() {
    let said: Vec<String> = std::env::args().collect();
    let once = said.iter().position(|a| a == ONCE).map(|i| said.get(i + 1).map_or("", String::as_str));
    if once.is_none() && !said.iter().any(|a| a == "--bench") {
        return;
    }
    let demo = demo();
    let other = demo_car_file("saloon-rwd");
    let mut lighter = demo.file.clone();
    lighter.car.mass.m -= 34.0;
    let mut answers = demo.answers(&other, &lighter);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap_or_else(|e| panic!("{e}"));
    match once {
        Some(one) => {
            answers.iter_mut().filter(|(name, _)| *name == one).for_each(|(_, run)| assert!(pool.install(run)))
        }
        None => {
            pool.install(|| costs(&mut answers));
            instructions(&answers);
        }
    }
}
