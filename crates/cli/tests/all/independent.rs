//! Lap times against the independent reference of `tests/independent_python`: another program, by another method, from
//! the written equations alone. Its README says how `laps.csv` is made and why the tolerance is the sum of both errors.

use crate::common::{root, unladen};
use unladen_testkit::parts;

/// The reference warns of this lap that an upshift falls where grip needs drive, and drives it all the same (its
/// README);
/// `unladen` does not, and comes out 0.9 ms quicker on any step.
const ANOTHER_RULE: (&str, &str, f64) = ("mid-engine", "valley", 0.6);
const ANOTHER_RULE_S: f64 = 0.002;

#[test]
fn independent_python_reference_has_the_same_lap_times() {
    let file = root().join("tests/independent_python/laps.csv");
    let mut reader = csv::Reader::from_path(file).unwrap();
    let mut far = Vec::new();
    let rows: Vec<(String, String, String, Option<f64>, f64, f64)> =
        reader.deserialize().collect::<Result<_, _>>().unwrap();
    assert!(rows.len() >= 60, "{} laps", rows.len());
    // Every second one in turn.
    let turns = parts::seeds(0..2, 2);
    let turn = |i: &usize| turns.contains(&(*i as u64 % 2));
    for (_, (car, track, set, grip, time, error)) in rows.into_iter().enumerate().filter(|(i, _)| turn(i)) {
        let mut args = vec!["lap".into(), format!("vehicles/{car}"), format!("tracks/{track}.toml"), "--json".into()];
        // The reference laps what car.toml says.
        args.extend(["--as".to_owned(), "weighed".to_owned()]);
        if !set.is_empty() {
            args.extend(["--set".into(), set.clone()]);
        }
        if let Some(grip) = grip {
            args.extend(["--grip".into(), grip.to_string()]);
        }
        let run = unladen(&args);
        assert_eq!(run.code, Some(0), "{args:?} {}", run.err);
        let lap = run.json();
        let [own, own_error] = ["lap_time_s", "lap_time_error_s"].map(|key| lap[key].as_f64().unwrap());
        let other = (car.as_str(), track.as_str()) == (ANOTHER_RULE.0, ANOTHER_RULE.1) && grip == Some(ANOTHER_RULE.2);
        let allowed = if other { ANOTHER_RULE_S } else { error + own_error };
        if (own - time).abs() > allowed {
            far.push(format!(
                "{car} {track} {set} {grip:?}: {own:.6} ± {own_error:.6}, reference {time:.6} ± {error:.6}"
            ));
        }
    }
    assert!(far.is_empty(), "beyond both errors:\n{}", far.join("\n"));
}

/// Cars that lift a wheel for a good part of the lap, against a nonlinear program (`tests/independent_nlp`): its README
/// says how `lifted.csv` is made on the roads `horseshoe.csv` and `terrace.csv`, and what its error is.
#[test]
fn independent_nonlinear_program_has_the_same_lap_with_a_wheel_off_the_ground() {
    let folder = root().join("tests/independent_nlp");
    let mut reader = csv::Reader::from_path(folder.join("lifted.csv")).unwrap();
    let rows: Vec<(String, String, String, f64, f64, f64)> = reader.deserialize().collect::<Result<_, _>>().unwrap();
    assert!(rows.len() >= 5, "{}", rows.len());
    let turn = parts::seeds(0..rows.len() as u64, 3);
    for (car, track, settings, time, error, lifted) in rows[turn.start as usize..turn.end as usize].iter().cloned() {
        let track = folder.join(format!("{track}.toml"));
        let trace = tempfile::NamedTempFile::new().unwrap();
        let (track, trace) = (track.to_str().unwrap(), trace.path().to_str().unwrap());
        let car = format!("vehicles/{car}");
        // A step so fine that the program's error is most of the tolerance.
        let mut args =
            vec!["lap", &car, track, "--as", "weighed", "--json", "--step", "0.125", "--csv", trace, "--force"];
        for set in settings.split("; ") {
            args.extend(["--set", set]);
        }
        let run = unladen(&args);
        assert_eq!(run.code, Some(0), "{args:?} {}", run.err);
        let lap = run.json();
        let [own, own_error] = ["lap_time_s", "lap_time_error_s"].map(|key| lap[key].as_f64().unwrap());
        let off = own - time;
        println!("{car} {settings}: {own:.6} ± {own_error:.6}, program {time:.6} ± {error:.6}: {off:+.6} s");
        assert!(off.abs() <= error + own_error, "{car} {settings}: {own:.6}, program {time:.6} ± {error:.6}");
        // Of the time, with a wheel at nought: the program's share, from its cells' middles.
        let mut rows_of_trace = csv::Reader::from_path(trace).unwrap();
        let heads = rows_of_trace.headers().unwrap().clone();
        let at = |name: &str| heads.iter().position(|head| head == name).unwrap();
        let (t, loads) = (at("t_s"), ["fl", "fr", "rl", "rr"].map(|wheel| at(&format!("load_{wheel}_n"))));
        let points: Vec<(f64, bool)> = rows_of_trace
            .records()
            .map(|record| {
                let record = record.unwrap();
                let number = |i: usize| record[i].parse::<f64>().unwrap();
                (number(t), loads.iter().any(|&i| number(i) <= 0.0))
            })
            .collect();
        let up: f64 = points.windows(2).filter(|w| w[0].1).map(|w| w[1].0 - w[0].0).sum();
        let share = up / points.last().unwrap().0;
        assert!(
            share > 0.2 && (share - lifted).abs() < 0.03,
            "{car} {settings}: lifted {share:.3}, program {lifted:.3}"
        );
    }
}
