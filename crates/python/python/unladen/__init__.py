"""What every kilogram and every millimetre of centre of gravity of a car is worth in lap time.

Numbers are in SI unless their name says otherwise (`cg_height_mm`); a value may also be a text with its unit,
`"480 mm"`. Cars and tracks are never changed in place, travel to other processes with their files in them, and may be used
by several threads at once: while it computes, the interpreter's lock is released.

>>> import unladen
>>> car = unladen.read_car("vehicles/saloon-awd")
>>> track = unladen.read_track("tracks/airfield.toml")
>>> lap = car.lap(track)
>>> print(f"{lap.time:.3f} s, ruled by {next(iter(lap.limits))}")
74.930 s, ruled by power
>>> lighter = car.with_(mass=car.mass - 10).lap(track)
>>> print(f"{lap.time - lighter.time:.3f} s for 10 kg")
0.101 s for 10 kg
"""

from . import trial
from ._ballast import Ballast, Objective
from ._fault import Bug, Fault, Finding, Missing, NoLap, Unlikely
from ._native import (
    Answer,
    Car,
    Gradient,
    Lap,
    Part,
    Sweep,
    Table,
    Track,
    __version__,
    compare,
    move,
    rank,
    read_car,
    read_track,
    sweep,
    worth,
)

__all__ = [
    "Answer",
    "Ballast",
    "Bug",
    "Car",
    "Fault",
    "Finding",
    "Gradient",
    "Lap",
    "Missing",
    "NoLap",
    "Objective",
    "Part",
    "Sweep",
    "Table",
    "Track",
    "Unlikely",
    "__version__",
    "compare",
    "move",
    "rank",
    "read_car",
    "read_track",
    "sweep",
    "trial",
    "worth",
]
