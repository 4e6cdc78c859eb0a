//! What a kilogram and a millimetre are worth.

use std::collections::BTreeMap;

use pyo3::prelude::*;
use unladen_questions::worth::Question;
use unladen_report::draw::look::Paper;
use unladen_report::draw::picture::stacked;
use unladen_report::worth::answer::{answer_brief, answer_text};
use unladen_report::worth::curve::curves;
use unladen_report::worth::json::worth_json;
use unladen_study::Spot;

use crate::ask::answer::{Answer, Said};
use crate::ask::given::tracks as tracks_of;
use crate::car::Car;
use crate::fault::{none, refused};
use crate::held::Held;
use crate::value::{Value, place};

/// What a kilogram and a millimetre of the centre of gravity are worth, and what a kilogram costs at places of the car.
///
/// `tracks` is a track, or several, each alone or as (track, weight). `places` are more places, by name: m behind the front
/// axle line, right of the centre plane, above ground.
///
/// >>> import unladen
/// >>> car = unladen.read_car("vehicles/saloon-awd")
/// >>> track = unladen.read_track("tracks/airfield.toml")
/// >>> found = unladen.worth(car, track, places={"battery": (2.81, 0.3, 0.39)})
/// >>> print(f"{10 * found['mix']['s_per_kg']:.4f} s for 10 kg")
/// 0.1010 s for 10 kg
#[pyfunction]
#[pyo3(signature = (car, tracks, *, places=None))]
pub fn worth(
    py: Python<'_>,
    car: &Car,
    tracks: &Bound<'_, PyAny>,
    places: Option<BTreeMap<String, [Value; 3]>>,
) -> PyResult<Answer> {
    let (held, scene) = Held::scene(&car.0, &tracks_of(py, tracks)?);
    let spot = |(name, at): (String, [Value; 3])| {
        let name = unladen_garage::name(&name).map_err(|why| refused(py, &format!("places: {why}")))?;
        Ok(Spot { at: place(py, &name, &at)?, name })
    };
    let spots = places.unwrap_or_default().into_iter().map(spot).collect::<PyResult<Vec<_>>>()?;
    let question = Question { spots, ..Question::new(scene) };
    Answer::asked(py, "worth", move || {
        let ready = question.read(&held)?;
        let answer = ready.answer().map_err(|why| none(why, ready.warnings.clone()))?;
        let (all, mix) = (&answer.study.tracks, &answer.study.mix);
        Ok(Said {
            brief: answer_brief(&answer),
            whole: answer_text(&answer),
            json: worth_json(all, mix, Some(&answer.state), answer.open().as_ref()),
            picture: Some(curves(&answer, Paper::FILE).and_then(stacked)),
            warnings: ready.warnings,
        })
    })
}
