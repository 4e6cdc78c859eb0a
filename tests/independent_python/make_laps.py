"""Writes laps.csv: the demo cars on the demo tracks, for other implementations to be held against.

    python make_laps.py [STEP [STEP_WITH_SHIFTS]]

Steps of the coarsest of three grids: 0.25 m where shifts cost nothing (half a minute a lap), 2 m where they take time and
many sequences of gears are run side by side (a quarter of a minute).
"""

import csv
import os
import sys
import tomllib
from pathlib import Path

from files import air_density, apply_settings, load_car, load_track, quantity
from reference import run

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
CARS = ("saloon-awd", "saloon-rwd", "mid-engine")
TRACKS = ("airfield", "valley", "hillclimb")
VARIANTS = (
    ("", None),
    ("driveline.shift_time=0s", None),
    ("brakes.anti_lock=none", None),
    ("brakes.anti_lock=3-channel", None),
    ("brakes.anti_lock=4-channel", None),
    ("", 0.6),
    ("driveline.shift_time=0s", 0.6),
)


def main():
    steps = [float(a) for a in sys.argv[1:]] + [0.25, 2.0][len(sys.argv) - 1:]
    part = HERE / "laps.csv.part"
    with open(part, "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow("car track set grip lap_time_s lap_time_error_s top_speed_mps min_speed_mps upshifts".split())
        for car_name in CARS:
            for track_name in TRACKS:
                for setting, grip in VARIANTS:
                    car = tomllib.loads((ROOT / f"vehicles/{car_name}/car.toml").read_text(encoding="utf-8"))
                    track = tomllib.loads((ROOT / f"tracks/{track_name}.toml").read_text(encoding="utf-8"))
                    apply_settings(car, track, [setting] if setting else [])
                    car = load_car(car, air_density(track.get("air", {})))
                    time, error, _, _, _, record, ups, warnings = run(
                        car, load_track(track, ROOT / "tracks", grip), track["closed"],
                        quantity(track.get("start_speed", "0 km/h")) ** 2, steps[car.shift_time > 0])
                    v = record[:, 1] ** 0.5
                    row = [car_name, track_name, setting, "" if grip is None else grip, f"{time:.6f}",
                           f"{error:.6f}", f"{v.max():.5f}", f"{v.min():.5f}", ups]
                    out.writerow(row)
                    f.flush()
                    print(*row, *warnings, file=sys.stderr, flush=True)
    os.replace(part, HERE / "laps.csv")


if __name__ == "__main__":
    main()
