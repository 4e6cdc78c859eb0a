"""Trials: a test planned, its prediction sealed before the laps, its laps read, and the diary of all.

A prediction is worth something where one can lose a bet on it. `plan` says whether a day can show what a change is worth and
in which order to drive; `seal` keeps the prediction beside the car; `read` holds the laps against it; `diary` says how
many predictions held.

Sealed trials stand in the folder `trials` beside the car's car.toml, on the disk: these functions read and write there.
"""

from collections.abc import Mapping, Sequence
from datetime import date as Date
from os import PathLike
from pathlib import Path
from typing import Any, TypeAlias

from . import _native
from ._native import Answer, Car, Track

__all__ = ["diary", "plan", "read", "seal"]

_Path: TypeAlias = str | PathLike[str]
_Value: TypeAlias = float | str
_Place: TypeAlias = tuple[_Value, _Value, _Value] | Sequence[_Value]


def _what(
    change: Sequence[str],
    with_: Mapping[str, object] | None,
    item: str | None,
    to: _Place | None,
    ballast: _Value | None,
    at: _Place | None,
    lap_spread: float,
    spread_laps: int | None,
    spread_from: Sequence[_Path],
    hours: float,
    change_minutes: float,
    stop_minutes: float,
    order: str | None,
    laps: int | None,
    burn: _Value | None,
    samples: int,
    seed: int,
) -> dict[str, Any]:
    return locals()


def plan(
    car: Car,
    track: Track,
    *,
    change: Sequence[str] = (),
    with_: Mapping[str, object] | None = None,
    item: str | None = None,
    to: _Place | None = None,
    ballast: _Value | None = None,
    at: _Place | None = None,
    lap_spread: float = 0.3,
    spread_laps: int | None = None,
    spread_from: Sequence[_Path] = (),
    hours: float = 4.0,
    change_minutes: float = 20.0,
    stop_minutes: float = 5.0,
    order: str | None = None,
    laps: int | None = None,
    burn: _Value | None = None,
    samples: int = 500,
    seed: int = 1,
    sheet: _Path | None = None,
) -> Answer:
    """Can a day show what a change is worth? The order to drive, or a scale test that shows.

    What is fitted in runs B is one of: `change`, rows of the ledger; `with_`, other values of the car's file; `item` put `to`
    another place; `ballast` (kg) `at` a place, where none is given where a passenger sits. Laps of the driver scatter by
    `lap_spread`, one standard deviation, s, known from `spread_laps` laps (none: exactly), or as the logs `spread_from` say, a
    run a log. `order` ("A-B-B-A") and `laps` a run are chosen where they are not given; `burn` is the fuel of a lap, kg. `sheet`
    is where the run sheet is written, .html.

    >>> import unladen
    >>> car = unladen.read_car("vehicles/saloon-awd")
    >>> track = unladen.read_track("tracks/airfield.toml", step=20.0)
    >>> found = unladen.trial.plan(car, track, ballast=60.0, order="A-B-B-A", laps=5)
    >>> found["plan"]["runs"], found["prediction"]["gain_s"] < 0
    ('A-B-B-A', True)
    """
    what = _what(change, with_, item, to, ballast, at, lap_spread, spread_laps, spread_from, hours, change_minutes, stop_minutes,
                 order, laps, burn, samples, seed)
    return _native._plan(car, track, what, sheet)


def seal(
    car: Car,
    track: Track,
    name: str,
    *,
    date: Date | str | None = None,
    change: Sequence[str] = (),
    with_: Mapping[str, object] | None = None,
    item: str | None = None,
    to: _Place | None = None,
    ballast: _Value | None = None,
    at: _Place | None = None,
    lap_spread: float = 0.3,
    spread_laps: int | None = None,
    spread_from: Sequence[_Path] = (),
    hours: float = 4.0,
    change_minutes: float = 20.0,
    stop_minutes: float = 5.0,
    order: str | None = None,
    laps: int | None = None,
    burn: _Value | None = None,
    samples: int = 500,
    seed: int = 1,
) -> tuple[Path, Answer]:
    """Seals the prediction before the laps, beside the car: the trial's file, which is never replaced, and the plan.

    `date` is the day of the laps (none: today); the rest is as of `plan`.

    >>> import shutil, tempfile, unladen
    >>> folder = shutil.copytree("vehicles", tempfile.mkdtemp() + "/vehicles")
    >>> car = unladen.read_car(folder + "/saloon-awd")
    >>> track = unladen.read_track("tracks/airfield.toml", step=20.0)
    >>> path, plan = unladen.trial.seal(car, track, "scale", date="2100-03-14", ballast=60.0, order="A-B-B-A", laps=5)
    >>> path.name
    '2100-03-14-scale.toml'
    """
    what = _what(change, with_, item, to, ballast, at, lap_spread, spread_laps, spread_from, hours, change_minutes, stop_minutes,
                 order, laps, burn, samples, seed)
    return _native._seal(car, track, what, name, None if date is None else str(date))


def read(
    car: Car,
    trial: _Path,
    *,
    laps: _Path | None = None,
    times: str | None = None,
    logs: Sequence[tuple[_Path, str]] = (),
    track: _Path | None = None,
    keep: bool = False,
    into: _Path | None = None,
) -> Answer:
    """Laps against the sealed prediction: what was measured, which laps count less and why, what they teach.

    `trial` is its file, or its name among the car's. The laps are one of: `laps`, a CSV file with a row a lap in the order
    driven (run, fitted, lap_time_s; more where it is known); `times`, typed in a line ("A 76.1 76.3 | B 76.8 76.6 | …"); `logs`,
    each with "A" or "B", which with the `track`'s file also say where on the lap the difference arose. `keep` keeps the result
    for the diary; `into` writes what was learnt into a car's file.

    >>> import shutil, tempfile, unladen
    >>> folder = shutil.copytree("vehicles", tempfile.mkdtemp() + "/vehicles")
    >>> car = unladen.read_car(folder + "/saloon-awd")
    >>> track = unladen.read_track("tracks/airfield.toml", step=20.0)
    >>> path, plan = unladen.trial.seal(car, track, "scale", ballast=60.0, order="A-B-B-A", laps=5)
    >>> times = "A 76.1 76.3 76.0 | B 76.8 76.6 76.9 | B 76.7 76.8 76.6 | A 76.2 76.0 76.1"
    >>> found = unladen.trial.read(car, path, times=times, keep=True)
    >>> found["measured"]["gain_s"] < -0.4
    True
    """
    return _native._read(car, trial, laps, times, list(logs), track, keep, into)


def diary(car: Car) -> Answer:
    """All trials of a car: which held, which are open, and whether predictions are too sure.

    >>> import unladen
    >>> unladen.trial.diary(unladen.read_car("vehicles/saloon-rwd")).question
    'trial diary'
    """
    return _native._diary(car)
