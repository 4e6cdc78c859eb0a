"""Writes lifted.csv: laps that lift a wheel, by the nonlinear program, for `unladen` to be held against.

    python make_lifted.py              all cases, some minutes each
    python make_lifted.py --check N    case N (round and round) on its first mesh, against what lifted.csv says of it
    python make_lifted.py --check all  all of them on all meshes
"""

import csv
import os
import sys
import time
import tomllib
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
sys.path.append(str(ROOT / "tests/independent_python"))

from files import air_density, apply_settings, load_car, load_track, quantity  # noqa: E402
from program import first_nodes, refined, solve  # noqa: E402

STEP = 8.0          # m, of the first mesh's cells
IN_DOUBT = 2e-6     # s, of a cell that is halved
MESHES = 5
LIFTED = 1e-4       # of the weight: less than that is none

# One gear that neither slips nor meets its limiter, and no time to shift.
ONE_GEAR = ('engine.torque=[["1000 rpm", "330 Nm"], ["9000 rpm", "230 Nm"]]', "engine.launch=500 rpm", "engine.limit=9000 rpm",
            "driveline.gears=[1.6]", "driveline.final_drive=4.5", "driveline.shift_time=0 s")
CASES = (
    ("saloon-rwd", "horseshoe", "chassis.roll_stiffness_front_share=0.95", "mass.cg_height=580 mm", "driveline.rear_bias=inf"),
    ("saloon-rwd", "terrace", "chassis.roll_stiffness_front_share=0.12", "mass.cg_height=600 mm", "driveline.layout=front",
     "driveline.front_bias=2.0", "brakes.anti_lock=3-channel"),
    ("saloon-awd", "horseshoe", "chassis.roll_stiffness_front_share=0.92", "mass.cg_height=600 mm", "driveline.front_bias=inf"),
    ("mid-engine", "terrace", "chassis.roll_stiffness_front_share=0.1", "mass.cg_height=520 mm", "driveline.rear_bias=inf"),
    ("saloon-rwd", "horseshoe", "chassis.roll_stiffness_front_share=0.15", "mass.cg_height=600 mm", "driveline.rear_bias=1.0",
     "chassis.track_rear=1300 mm"),
    ("mid-engine", "horseshoe", "chassis.roll_stiffness_front_share=0.95", "mass.cg_height=540 mm", "chassis.track_front=1350 mm"),
)


def prepared(car_name, track_name, settings):
    car = tomllib.loads((ROOT / f"vehicles/{car_name}/car.toml").read_text(encoding="utf-8"))
    track = tomllib.loads((HERE / f"{track_name}.toml").read_text(encoding="utf-8"))
    apply_settings(car, track, settings)
    car = load_car(car, air_density(track.get("air", {})))
    return car, load_track(track, HERE, None), track["closed"], quantity(track.get("start_speed", "0 km/h")) ** 2


def lifted_share(lap):
    """Of the lap's time, the share with a wheel off the ground, by the cells' middles."""
    seconds = lap.h / np.sqrt(lap.X[1])
    return seconds[(lap.loads[1] < LIFTED).any(axis=0)].sum() / seconds.sum()


def program(car_name, track_name, *settings, meshes=MESHES):
    """The laps on meshes that are refined where they are in doubt."""
    car, trk, closed, start = prepared(car_name, track_name, [*ONE_GEAR, *settings])
    nodes, guess, laps = first_nodes(trk, STEP), None, []
    for mesh in range(meshes):
        began = time.monotonic()
        lap = solve(car, trk, closed, start, nodes, guess)
        laps.append(lap)
        print(f"{car_name} {track_name}: {len(lap.h)} cells {lap.time:.6f} s, in doubt {lap.doubt().sum():.6f} s,"
              f" {time.monotonic() - began:.0f} s of work", file=sys.stderr, flush=True)
        nodes, guess = refined(nodes, lap, IN_DOUBT)
    return laps


def error(laps):
    """What the last halving changed or what is still in doubt, and what is left of the products: a ninth of the last
    hundredth, as they go by their root (where they don't, faster)."""
    last = laps[-1]
    return max(abs(last.time - laps[-2].time), last.doubt().sum()) + abs(last.by_eps[-1] - last.by_eps[-2]) / 9


def check(which):
    """Whether lifted.csv is what the program says: one case on its first mesh, or all on all of theirs."""
    rows = list(csv.DictReader((HERE / "lifted.csv").open(encoding="utf-8")))
    if [(r["car"], r["track"], r["set"]) for r in rows] != [(c[0], c[1], "; ".join([*ONE_GEAR, *c[2:]])) for c in CASES]:
        sys.exit("lifted.csv has other cases: make it again")
    wrong = 0
    for number in range(len(CASES)) if which == "all" else [int(which) % len(CASES)]:
        laps = program(*CASES[number], meshes=MESHES if which == "all" else 1)
        # The solver stops within 1e-6 s or so: 1e-4 is another program, not another machine.
        off = [abs(laps[0].time - float(rows[number]["first_mesh_s"]))]
        if which == "all":
            off.append(abs(laps[-1].time - float(rows[number]["lap_time_s"])))
        print(f"case {number}: {laps[-1].time:.6f} s on {len(laps[-1].h)} cells, {max(off):.6f} s off lifted.csv")
        wrong += max(off) > 1e-4
    sys.exit(wrong > 0)


def main():
    if sys.argv[1:2] == ["--check"]:
        check(sys.argv[2])
    part = HERE / "lifted.csv.part"
    with open(part, "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow("car track set lap_time_s lap_time_error_s lifted_share first_mesh_s cells".split())
        for case in CASES:
            laps = program(*case)
            out.writerow([case[0], case[1], "; ".join([*ONE_GEAR, *case[2:]]), f"{laps[-1].time:.6f}", f"{error(laps):.6f}",
                          f"{lifted_share(laps[-1]):.3f}", f"{laps[0].time:.6f}", len(laps[-1].h)])
            f.flush()
    os.replace(part, HERE / "lifted.csv")


if __name__ == "__main__":
    main()
