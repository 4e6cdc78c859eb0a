//! Planned changes by what they gain.

use pyo3::prelude::*;
use unladen_garage::argument::{AMOUNT, MASS, SCATTER};
use unladen_questions::rank::Question;
use unladen_report::draw::look::Paper;
use unladen_report::rank::brief::rank_brief;
use unladen_report::rank::json::rank_json;
use unladen_report::rank::picture::rank_picture;
use unladen_report::rank::text::rank_text;

use crate::ask::answer::{Answer, Said};
use crate::ask::given::{sampling, tracks as tracks_of};
use crate::car::Car;
use crate::fault::none;
use crate::held::Held;
use crate::value::{Value, within};

/// What of the ledger's plans is worth doing: seconds a lap by change, and the best set within a budget.
///
/// `items` and `keep` are names of rows or groups; `budget` is in the ledger's money, `hours` are of work, `target` is a mass
/// (kg, or a text with its unit). `month_budget` and `month_hours` are what there is in a month: the best set is then spread over
/// months, what gains most for it first. `samples` and `seed` are of the draws where slopes don't hold, `lap_spread` is how laps of
/// one driver scatter, one standard deviation, s.
///
/// >>> import unladen
/// >>> car = unladen.read_car("vehicles/saloon-awd")
/// >>> track = unladen.read_track("tracks/airfield.toml")
/// >>> found = unladen.rank(car, track, items=["boot lid"], retune=False, samples=32)
/// >>> [item["name"] for item in found["items"]]
/// ['boot lid']
#[pyfunction]
#[pyo3(signature = (car, tracks, *, items=Vec::new(), budget=None, hours=None, target=None, keep=Vec::new(),
    retune=true, month_budget=None, month_hours=None, samples=500, seed=1, lap_spread=None),
    text_signature = "(car, tracks, *, items=(), budget=None, hours=None, target=None, keep=(), retune=True, month_budget=None, month_hours=None, samples=500, seed=1, lap_spread=None)")]
#[allow(clippy::too_many_arguments)]
pub fn rank(
    py: Python<'_>,
    car: &Car,
    tracks: &Bound<'_, PyAny>,
    items: Vec<String>,
    budget: Option<f64>,
    hours: Option<f64>,
    target: Option<Value>,
    keep: Vec<String>,
    retune: bool,
    month_budget: Option<f64>,
    month_hours: Option<f64>,
    samples: u32,
    seed: u64,
    lap_spread: Option<f64>,
) -> PyResult<Answer> {
    let (held, scene) = Held::scene(&car.0, &tracks_of(py, tracks)?);
    let amount = |name: &str, value: Option<f64>| value.map(|x| within(py, name, x, AMOUNT)).transpose();
    let target = target.map(|t| t.exact(py, "target", MASS)).transpose()?;
    let question = Question {
        items,
        budget: amount("budget", budget)?,
        hours: amount("hours", hours)?,
        target: target.map(|kg| format!("{kg} kg")),
        keep,
        retune,
        month: [amount("month_budget", month_budget)?, amount("month_hours", month_hours)?],
        sampling: sampling(py, seed, samples)?,
        lap_spread_s: lap_spread.map(|s| within(py, "lap_spread", s, SCATTER)).transpose()?,
        ..Question::new(scene)
    };
    Answer::asked(py, "rank", move || {
        let ready = question.read(&held)?;
        let answer = ready.answer().map_err(|why| none(why, ready.warnings.clone()))?;
        let (brief, whole) = (rank_brief(&answer), rank_text(&answer));
        let (json, picture) = (rank_json(&answer), Some(rank_picture(&answer, Paper::FILE)));
        Ok(Said { brief, whole, json, picture, warnings: answer.warnings })
    })
}
