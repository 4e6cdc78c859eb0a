//! Which of two builds.

use pyo3::prelude::*;
use unladen_garage::argument::GRIP;
use unladen_questions::compare::{Answer as Compared, Question};
use unladen_report::compare::brief::compare_brief;
use unladen_report::compare::crossover::crossover_picture;
use unladen_report::compare::json::compare_json;
use unladen_report::compare::text::compare_text;
use unladen_report::draw::look::Paper;
use unladen_report::draw::picture::{Picture, PlotError, stacked};
use unladen_report::pair::of_days;

use crate::ask::answer::{Answer, Said};
use crate::ask::given::{laps as laps_of, sampling, tracks as tracks_of, watch};
use crate::car::Car;
use crate::fault::{none, refused};
use crate::held::Held;
use crate::value::within;

/// Which of two builds is quicker, why, where, dry and wet, and where it turns over power and grip.
///
/// `grip` are the days', in place of dry and wet; `apart` are unknowns (keys, or beginnings of them) that are off in each car by
/// another amount; the map is over (from, to, points) of factors on both engines' torque and of grip.
///
/// >>> import unladen
/// >>> car = unladen.read_car("vehicles/saloon-awd")
/// >>> track = unladen.read_track("tracks/airfield.toml", step=20.0)
/// >>> lower = car.with_(cg_height=car.cg_height - 0.02)
/// >>> found = unladen.compare(car, lower, track, grip=[1.0], map_power=(0.9, 1.1, 2), map_grip=(0.8, 1.0, 2))
/// >>> found["days"][0]["as_set"]["gain_median_s"] > 0
/// True
#[pyfunction]
#[pyo3(signature = (first, second, tracks, *, grip=None, apart=Vec::new(), map_power=(0.6, 1.4, 9), map_grip=(0.3, 1.2, 10),
    samples=500, seed=1, lap_spread=0.3, laps=20),
    text_signature = "(first, second, tracks, *, grip=None, apart=(), map_power=(0.6, 1.4, 9), map_grip=(0.3, 1.2, 10), samples=500, seed=1, lap_spread=0.3, laps=20)")]
#[allow(clippy::too_many_arguments)]
pub fn compare(
    py: Python<'_>,
    first: &Car,
    second: &Car,
    tracks: &Bound<'_, PyAny>,
    grip: Option<Vec<f64>>,
    apart: Vec<String>,
    map_power: (f64, f64, usize),
    map_grip: (f64, f64, usize),
    samples: u32,
    seed: u64,
    lap_spread: f64,
    laps: u32,
) -> PyResult<Answer> {
    let (mut held, scene) = Held::scene(&first.0, &tracks_of(py, tracks)?);
    let day = |grip: f64| within(py, "grip", grip, GRIP);
    let question = Question {
        scene,
        second: held.car_too(&second.0),
        state_second: second.0.standing.state.clone(),
        set_second: Vec::new(),
        grips: grip.map(|all| all.into_iter().map(day).collect::<PyResult<Vec<_>>>()).transpose()?,
        apart,
        map: true,
        map_powers: points(py, "map_power", map_power)?,
        map_grips: points(py, "map_grip", map_grip)?,
        sampling: sampling(py, seed, samples)?,
        watch: watch(py, lap_spread)?,
        laps: laps_of(py, laps)?,
    };
    Answer::asked(py, "compare", move || {
        let ready = question.read(&held)?;
        let answer = ready.answer().map_err(|why| none(why, ready.warnings.clone()))?;
        let (brief, whole) = (compare_brief(&answer), compare_text(&answer));
        let (json, picture) = (compare_json(&answer), Some(pictures(&answer)));
        Ok(Said { brief, whole, json, picture, warnings: answer.warnings })
    })
}

/// From, to, how many.
fn points(py: Python<'_>, name: &str, (from, to, count): (f64, f64, usize)) -> PyResult<Vec<f64>> {
    if !(from > 0.0 && to > from && to <= 10.0 && (2..=60).contains(&count)) {
        return Err(refused(
            py,
            &format!("{name}: (from, to, count) is due, rising, above 0, to 10 at most, of 2 to 60 points"),
        ));
    }
    let share = |i: usize| i as f64 / (count - 1) as f64;
    Ok((0..count).map(|i| from * (1.0 - share(i)) + to * share(i)).collect())
}

/// The crossover map, then the laps of each day and track with the map of what is gained where.
fn pictures(v: &Compared) -> Result<Picture, PlotError> {
    let mut all = vec![crossover_picture(v, Paper::FILE)?];
    all.extend(of_days(v, Paper::FILE)?);
    stacked(all)
}
