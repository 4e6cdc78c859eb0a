//! Is moving something worth it.

use std::collections::BTreeMap;

use pyo3::prelude::*;
use unladen_garage::Span;
use unladen_garage::argument::{BOX, FUEL, MASS};
use unladen_questions::relocate::{Added, Answer as Moved, Question, Where};
use unladen_report::draw::look::Paper;
use unladen_report::draw::picture::{Picture, PlotError, stacked};
use unladen_report::pair::of_move;
use unladen_report::relocate::brief::move_brief;
use unladen_report::relocate::json::move_json;
use unladen_report::relocate::picture::move_picture;
use unladen_report::relocate::text::move_text;

use crate::ask::answer::{Answer, Said};
use crate::ask::given::{laps as laps_of, sampling, tracks as tracks_of, watch};
use crate::car::Car;
use crate::fault::{none, refused};
use crate::held::Held;
use crate::value::{Value, place};

/// Something that comes along: its mass, and where it is if not where the item goes to.
#[derive(FromPyObject)]
pub enum Along {
    /// With its place.
    #[pyo3(transparent)]
    Placed((Value, [Value; 3])),
    /// Where the item goes to.
    #[pyo3(transparent)]
    There(Value),
}

/// Is moving something worth it, over the fuel load.
///
/// `item` is "fuel tank" or a row of the ledger that is in the car; `to` is where its centre goes (of the tank: its box's centre
/// in plan and the floor of it), m; or `by` is how far, back, right and up. Of the tank: `box` is the inside of the new one, m; `empty_tank` the empty one as it is and
/// as it will be, kg. `added` comes along, by name: kg, or (kg, place). `stint` is the fuel at its beginning and end, m³.
///
/// >>> import unladen
/// >>> car = unladen.read_car("vehicles/saloon-awd")
/// >>> track = unladen.read_track("tracks/airfield.toml", step=20.0)
/// >>> tank = unladen.move(car, track, "fuel tank", ("1950 mm", 0.0, "210 mm"), box=(0.5, 0.75, 0.18),
/// ...                     empty_tank=(12.0, 12.0), stint=("55 L", "5 L"), steps=1)
/// >>> tank.question
/// 'move'
#[pyfunction]
#[pyo3(name = "move", signature = (car, tracks, item, to=None, *, by=None, r#box=None, empty_tank=None, added=None, stint=None, steps=4,
    samples=500, seed=1, lap_spread=0.3, laps=20))]
#[allow(clippy::too_many_arguments)]
pub fn relocate(
    py: Python<'_>,
    car: &Car,
    tracks: &Bound<'_, PyAny>,
    item: String,
    to: Option<[Value; 3]>,
    by: Option<[Value; 3]>,
    r#box: Option<[Value; 3]>,
    empty_tank: Option<[Value; 2]>,
    added: Option<BTreeMap<String, Along>>,
    stint: Option<[Value; 2]>,
    steps: u32,
    samples: u32,
    seed: u64,
    lap_spread: f64,
    laps: u32,
) -> PyResult<Answer> {
    let (held, scene) = Held::scene(&car.0, &tracks_of(py, tracks)?);
    if !(1..=200).contains(&steps) {
        return Err(refused(py, &format!("steps: {steps} is outside 1 … 200")));
    }
    let to = match (to, by) {
        (Some(to), None) => Where::To(place(py, "to", &to)?),
        (None, Some(by)) => Where::By(place(py, "by", &by)?),
        _ => return Err(refused(py, "to, or by, is due: a place, or how far back, right and up")),
    };
    let side = |value: &Value| value.exact(py, "box", BOX);
    let inside = r#box.map(|[l, w, h]| Ok::<_, PyErr>([side(&l)?, side(&w)?, side(&h)?])).transpose()?;
    let kg = |name: &str, value: &Value| value.measured(py, name, MASS);
    let empty_tank =
        empty_tank.map(|[a, b]| Ok::<_, PyErr>([kg("empty_tank", &a)?, kg("empty_tank", &b)?])).transpose()?;
    let litres = |value: &Value| value.exact(py, "stint", FUEL);
    let stint = stint.map(|[a, b]| Ok::<_, PyErr>([litres(&a)?, litres(&b)?])).transpose()?;
    // What comes along may also come off.
    let either = Span { min: -MASS.max, ..MASS };
    let along = |(name, along): (String, Along)| {
        let (mass, at) = match along {
            Along::Placed((mass, at)) => (mass, Some(place(py, &name, &at)?)),
            Along::There(mass) => (mass, None),
        };
        Ok(Added { mass: mass.measured(py, &name, either)?, name, at })
    };
    let question = Question {
        scene,
        item,
        to,
        inside,
        empty_tank,
        added: added.unwrap_or_default().into_iter().map(along).collect::<PyResult<_>>()?,
        stint,
        steps,
        sampling: sampling(py, seed, samples)?,
        watch: watch(py, lap_spread)?,
        laps: laps_of(py, laps)?,
    };
    Answer::asked(py, "move", move || {
        let ready = question.read(&held)?;
        let answer = ready.answer().map_err(|why| none(why, ready.warnings.clone()))?;
        let (brief, whole) = (move_brief(&answer), move_text(&answer));
        let (json, picture) = (move_json(&answer), Some(pictures(&answer)));
        Ok(Said { brief, whole, json, picture, warnings: answer.warnings })
    })
}

/// The fuel strip, then each track's laps and the map of what is gained where.
fn pictures(v: &Moved) -> Result<Picture, PlotError> {
    let mut all = vec![move_picture(v, Paper::FILE)?];
    all.extend(of_move(v, Paper::FILE)?.into_iter().flatten());
    stacked(all)
}
