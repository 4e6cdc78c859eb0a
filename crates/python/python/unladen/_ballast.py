"""Lap time over where a mass sits, with its gradient: what optimisers ask for."""

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ._native import Car, Track

Floats: TypeAlias = NDArray[np.float64]
Tracks: TypeAlias = Track | Sequence[Track | tuple[Track, float]]


def _mix(tracks: Tracks) -> list[tuple[Track, float]]:
    given = [tracks] if isinstance(tracks, Track) else list(tracks)
    pairs = [(one, 1.0) if isinstance(one, Track) else one for one in given]
    total = sum(weight for _, weight in pairs)
    if not total > 0:
        raise ValueError("tracks: at least one is due")
    return [(track, weight / total) for track, weight in pairs]


class Objective:
    """Lap time over some numbers of a car, and its gradient: for `scipy.optimize.minimize(…, jac=True)`.

    `over` names numbers of the car by their keys (`Car.numbers` has them all); `at` is one value of each, in SI. On several
    tracks it is the weighted mean of the lap times.

    >>> import unladen
    >>> car = unladen.read_car("vehicles/saloon-awd")
    >>> track = unladen.read_track("tracks/airfield.toml")
    >>> seconds, slope = unladen.Objective(car, track, ["mass.cg_height"])([0.50])
    >>> bool(slope[0] > 0)   # higher is slower, s/m
    True
    """

    def __init__(self, car: Car, tracks: Tracks, over: Sequence[str]) -> None:
        self.car = car
        self.tracks = _mix(tracks)
        self.over = tuple(over)

    @property
    def now(self) -> Floats:
        """The numbers as they are: a start."""
        numbers = self.car.numbers
        return np.array([numbers[key] for key in self.over])

    def __call__(self, at: ArrayLike) -> tuple[float, Floats]:
        """Lap time, s, and its gradient, s per SI unit of each number."""
        values = np.asarray(at, dtype=float)
        if values.shape != (len(self.over),):
            raise ValueError(f"{len(self.over)} numbers are due, one for each of {', '.join(self.over)}; this is {values.shape}")
        car = self.car.with_(numbers=dict(zip(self.over, values.tolist(), strict=True)))
        seconds, slope = 0.0, np.zeros(len(self.over))
        for track, share in self.tracks:
            lap = car.lap(track)
            gradient = lap.gradient()
            seconds += share * lap.time
            slope += share * np.array([gradient[key] for key in self.over])
        return seconds, slope


class Ballast:
    """Lap time over where a mass is bolted in, and its gradient: for `scipy.optimize.minimize(…, jac=True)`.

    `at` is the place of its centre: m behind the front axle, right of the centre plane, above ground.

    >>> import unladen
    >>> car = unladen.read_car("vehicles/saloon-awd")
    >>> track = unladen.read_track("tracks/airfield.toml")
    >>> place = unladen.Ballast(car, track, mass=20.0)
    >>> low, high = place([1.2, 0.0, 0.2])[0], place([1.2, 0.0, 0.6])[0]
    >>> low < high
    True
    """

    def __init__(self, car: Car, tracks: Tracks, mass: float) -> None:
        self.car = car
        self.tracks = _mix(tracks)
        self.mass = float(mass)

    def __call__(self, at: ArrayLike) -> tuple[float, Floats]:
        """Lap time, s, and its gradient, s/m of each coordinate."""
        place = np.asarray(at, dtype=float)
        if place.shape != (3,):
            raise ValueError(f"a place is three numbers, x, y and z in m; this is {place.shape}")
        x, y, z = place.tolist()
        car = self.car.adding(self.mass, (x, y, z))
        # Moving m_b by dx moves the whole car's centre by m_b/m dx (moments).
        lever = self.mass / car.mass
        seconds, slope = 0.0, np.zeros(3)
        for track, share in self.tracks:
            lap = car.lap(track)
            gradient = lap.gradient()
            seconds += share * lap.time
            slope += share * lever * np.array([gradient[key] for key in ("mass.cg_x", "mass.cg_y", "mass.cg_height")])
        return seconds, slope
