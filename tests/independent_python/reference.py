"""Lap time from the written equations alone: the check against which the `unladen` solver is held.

Written from the model's description (sections are quoted as §) without sight of the Rust code, and on purpose built
differently: no derivatives, no cones, no clever grids. Uniform stations in every segment; at each station the set of
feasible a_x is found by scanning a slack function; the ceiling of X = v² is the last X at which that set is not
empty; a backward pass with the least slope and a forward pass with the greatest one (implicit trapezoid, so that no
slope is ever evaluated outside the feasible set) give the profile. Gear changes are events located inside a step.
Three nested grids give the result and its error.

    python reference.py CAR.toml TRACK.toml [--grip G] [--step M] [--set KEY=VALUE ...] [--trace out.csv]
    python reference.py CAR.toml TRACK.toml --margin < points.jsonl

SI units inside.
"""

import argparse
import csv
import json
import math
import sys
import tomllib
from pathlib import Path

import numpy as np

from files import air_density, apply_settings, load_car, load_track, quantity
from model import (COLUMNS, FREE, GEAR, LEFT, LIMITS, MOST, REACH, T, UP, UPS, XX, accelerations, ax_gear, backward,
                   best_gear, ceilings, edge, lap, make_station, race, seed, slack, solve_ax, speed2_at, station)


def nodes(trk, step, halvings):
    """Nested uniform grids: the coarsest has steps of at most `step`, each next one halves them."""
    seg, pos, level = [], [], []
    for i, L in enumerate(trk.length):
        n = math.ceil(L / step - 1e-9) * 2**halvings
        for k in range(n + 1):
            seg.append(i)
            pos.append(L * k / n)
            level.append(next(z for z in range(halvings + 1) if k % 2 ** (halvings - z) == 0))
    return np.array(seg), np.array(pos), np.array(level)


def join_minimum(seg, top, closed):
    """Both sides' ceilings hold at a join."""
    top = top.copy()
    for j in range(len(seg) - 1):
        if seg[j] != seg[j + 1]:
            top[j] = top[j + 1] = min(top[j], top[j + 1])
    if closed:
        top[0] = top[-1] = min(top[0], top[-1])
    return top


def solve_on(car, trk, seg, pos, top, closed, start):
    K = backward(car, trk, seg, pos, top, np.inf)
    while closed and K[-1] - K[0] > 1e-9 * K[0]:       # K[0] <= K[-1]: the line has one ceiling
        K = backward(car, trk, seg, pos, top, K[0])
    if not closed and start > K[0] * (1 + 1e-9):
        raise ValueError("the start speed is more than the first station can hold")
    first = K[0] if closed else min(start, K[0])
    solve = quickest if car.shift_time > 0 else without_shift_time
    t, record, ups, short, repeats = solve(car, trk, seg, pos, K, closed, first)
    warnings = []
    if not repeats:
        warnings.append("the lap does not repeat: gears alternate from lap to lap")
    if short:
        warnings.append(f"at {short} places the power limit is below what grip needs")
    return t, record, ups, warnings


def without_shift_time(car, trk, seg, pos, K, closed, X):
    record = np.zeros((len(seg), 3))
    for _ in range(8 if closed else 1):
        t, end, short = lap(car, trk, seg, pos, K, X, record)
        if not closed or abs(end - X) <= 1e-9 * end:
            return t, record, 0, short, True
        X = end
    return t, record, 0, short, False


def quickest(car, trk, seg, pos, K, closed, X):
    """The quickest of all sequences of gears; on a circuit, of those that repeat from lap to lap."""
    labels = np.zeros((MOST, COLUMNS))
    labels[0, XX], labels[0, GEAR] = X, FREE
    count = 1
    history, held = np.zeros((len(seg), 48, 4)), np.zeros(len(seg), np.int64)
    for _ in range(8 if closed else 1):
        before, at_line = labels.copy(), count
        count, short = race(car, trk, seg, pos, K, labels, count, history, held)
        best = None
        for end in range(count):
            way = [end]
            for j in range(len(seg) - 1, 0, -1):
                way.append(int(history[j, way[-1], 3]))
            way.reverse()
            a, b = before[way[0]], labels[end]
            same = (abs(a[XX] - b[XX]) <= 1e-9 * a[XX] and (
                a[GEAR] == b[GEAR] == FREE
                or (a[GEAR] == b[GEAR] and a[UP] == b[UP] and abs(a[LEFT] - b[LEFT]) < 1e-9)))
            if (same or not closed) and (best is None or b[T] - a[T] < best[0]):
                record = np.array([history[j, way[j], :3] for j in range(len(seg))])
                record[:, 0] -= a[T]
                best = b[T] - a[T], record, int(b[UPS] - a[UPS]), short, True
        if best is not None:
            return best
    return labels[:count, T].min() - before[:at_line, T].min(), history[:, 0, :3].copy(), 0, short, False


def run(car, trk, closed, start, step, halvings=2):
    cap = speed2_at(car, len(car.gears) - 1, car.w_limit)
    seg, pos, level = nodes(trk, step, halvings)
    top = ceilings(car, trk, seg, pos, cap)
    if top.min() < 0:
        i = int(top.argmin())
        raise ValueError(f"segment {seg[i] + 1} cannot be held even at rest")
    times = []
    for z in range(halvings + 1):
        keep = level <= z
        s, p = seg[keep], pos[keep]
        t, record, ups, warnings = solve_on(car, trk, s, p, join_minimum(s, top[keep], closed), closed, start)
        times.append(t)
    d1, d2 = times[-2] - times[-3], times[-1] - times[-2]
    # Observed order, kept between 1 and 2: touching a ceiling and kinks make it less than the trapezoid's.
    order = 1.0 if d2 == 0 or d1 / d2 <= 2 else min(2.0, math.log2(d1 / d2))
    time = times[-1] + d2 / (2**order - 1)
    error = max(abs(time - times[-1]), abs(d2) / 2, 1e-7)
    return time, error, times, s, p, record, ups, warnings


def write_trace(path, car, trk, seg, pos, record):
    offset = np.concatenate([[0], np.cumsum(trk.length)])
    with open(path, "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f)
        out.writerow("s_m t_s v_mps ax_mps2 ay_mps2 gear load_fl_n load_fr_n load_rl_n load_rr_n".split())
        for j in range(len(seg) - 1):
            if seg[j] != seg[j + 1]:
                continue
            st = station(trk, seg[j], pos[j])
            t, X, gear = record[j]
            ax = 0.5 * (record[j + 1, 1] - X) / (pos[j + 1] - pos[j]) * st[2]
            loads = slack(car, st, X, ax)[3:]
            out.writerow([f"{offset[seg[j]] + pos[j]:.4f}", f"{t:.6f}", f"{math.sqrt(X):.6f}", f"{ax:.5f}",
                          f"{accelerations(st, X)[1]:.5f}", int(gear) + 1, *(f"{n:.2f}" for n in loads)])


def margins(car):
    """Point by point, for another implementation to compare with."""
    for line in sys.stdin:
        if not line.strip():
            continue
        p = json.loads(line)
        st = make_station(float(p["kappa"]), float(p["grade_slope"]), float(p["dgrade_slope"]),
                          float(p["bank_rad"]), float(p["grip"]))
        X, ax = float(p["X"]), float(p["a_x"])
        value, which, Fx, *loads = slack(car, st, X, ax)
        a, ok = seed(car, st, X)
        low = high = None
        if ok:
            low = edge(car, st, X, a, -1.0, a - 2 * REACH)
            high = edge(car, st, X, a, 1.0, a + 2 * REACH)
        gear = best_gear(car, st, X)
        print(json.dumps({
            "inside": bool(value >= 0), "slack_per_weight": value, "limit": LIMITS[which], "f_x_n": Fx,
            "loads_n": loads, "a_coast_mps2": solve_ax(car, st, X, 0.0, 0.0),
            "a_min_mps2": low, "a_max_grip_mps2": high,
            "a_power_mps2": ax_gear(car, st, X, gear) if X <= speed2_at(car, gear, car.w_limit) else None,
            "gear": gear + 1,
        }))


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("car", type=Path)
    parser.add_argument("track", type=Path)
    parser.add_argument("--grip", type=float)
    parser.add_argument("--step", type=float, default=1.0, help="coarsest of three grids, m (default 1)")
    parser.add_argument("--set", action="append", default=[], metavar="KEY=VALUE")
    parser.add_argument("--trace", type=Path)
    parser.add_argument("--margin", action="store_true", help="check points given as JSON lines on standard input")
    parser.add_argument("--verbose", action="store_true", help="also the grids' own lap times, upshifts, warnings")
    args = parser.parse_args()

    car_file = tomllib.loads(args.car.read_text(encoding="utf-8"))
    track_file = tomllib.loads(args.track.read_text(encoding="utf-8"))
    apply_settings(car_file, track_file, args.set)
    car = load_car(car_file, air_density(track_file.get("air", {})))
    if args.margin:
        margins(car)
        return
    trk = load_track(track_file, args.track.parent, args.grip)
    start = quantity(track_file.get("start_speed", "0 km/h")) ** 2
    time, error, times, seg, pos, record, ups, warnings = run(car, trk, track_file["closed"], start, args.step)
    v = np.sqrt(record[:, 1])
    result = {"lap_time_s": time, "lap_time_error_s": error, "top_speed_mps": v.max(), "min_speed_mps": v.min()}
    if args.verbose:
        result |= {"grid_times_s": times, "upshifts": ups, "mass_kg": car.m, "cg_x_m": car.a, "cg_y_m": car.y,
                   "cg_height_m": car.h, "air_density_kgpm3": car.rho}
    if warnings:
        result["warnings"] = warnings
    print(json.dumps(result))
    if args.trace:
        write_trace(args.trace, car, trk, seg, pos, record)


if __name__ == "__main__":
    main()
