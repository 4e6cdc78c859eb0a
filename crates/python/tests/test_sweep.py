"""A sweep falls into parts that any engine may compute, in any order and again; together they are the command's table."""

import csv
import io
import os
import pickle
import random
import time

import numpy as np
import pytest

import unladen

from .conftest import CAR, TRACK

OVER = {"mass": (1150, 1300, 6), "cg_height": "450mm..500mm:4", "grip": (0.7, 1.0, 2)}
TYPED = ["--mass", "1150kg..1300kg:6", "--cg-height", "450mm..500mm:4", "--grip", "0.7..1:2"]


def test_end_to_end_the_rows_are_the_commands(car, coarse, command, tmp_path):
    table = unladen.sweep({"it": car}, coarse, over=OVER).compute()
    command("sweep", CAR, TRACK, "--step", "20", *TYPED, "--csv", tmp_path / "out.csv")
    theirs = (tmp_path / "out.csv").read_text(encoding="utf-8")
    # The names of car and track come first, and have no comma.
    rows = [line.split(",", 2)[2] for line in table.to_csv().splitlines()]
    assert rows == theirs.splitlines()
    assert table.columns[:2] == ["car", "track"] and set(table["car"]) == {"it"}


def test_property_parts_in_any_order_make_the_same_bytes(car, coarse):
    valley = unladen.read_track("tracks/valley.toml", step=20.0)
    cars = {"as it is": car, "lower": car.with_(cg_height=car.cg_height - 0.02)}
    sweep = unladen.sweep(cars, [coarse, valley], over={"mass": (1150, 1300, 4), "front_share": "0.55..0.6:3"})
    assert len(sweep) == 2 * 2 * 12 and sweep.cars == ["as it is", "lower"]
    whole = pickle.dumps(sweep.compute())
    for n in (1, 5, 48):
        parts = sweep.parts(n)
        order = random.Random(n).sample(range(n), n)
        # As on another machine: packed, sent, computed.
        done = {i: pickle.loads(pickle.dumps(parts[i])).compute() for i in order}
        assert pickle.dumps(unladen.Table.concat([done[i] for i in range(n)])) == whole


def test_property_names_tell_rows_apart(car, coarse):
    sweep = unladen.sweep([car, car.with_(mass=1200.0)], coarse, over={"grip": (0.8, 1.0, 2)})
    assert sweep.cars == [car.name, f"{car.name} (2)"]
    assert sorted(set(sweep.compute()["car"])) == sorted(sweep.cars)


def test_property_a_description_is_only_read(car, coarse):
    """A thousand million cells are described at once; a part of them is computed."""
    over = {"mass": (1000, 1300, 1000), "cg_height": (0.4, 0.6, 1000), "front_share": (0.5, 0.6, 1000)}
    sweep = unladen.sweep(car, coarse, over=over)
    assert sweep.cells == 10**9 and "1000000000 cells" in repr(sweep)
    last = sweep.part(10**8, 10**8)
    assert len(last) == 10 and last.compute()["mass_kg"].tolist() == [1300.0] * 10
    with pytest.raises(unladen.Fault, match="take more parts"):
        sweep.compute()


def test_end_to_end_arrow_frames_of_a_sweep(car, coarse):
    import polars

    frame = polars.DataFrame(unladen.sweep(car, coarse, over={"mass": (1200, 1300, 5)}).compute())
    assert frame["mass_kg"].to_list() == [1200.0, 1225.0, 1250.0, 1275.0, 1300.0]
    assert frame["fuel_l"].null_count() == 5 and frame["status"].unique().to_list() == ["ok"]


def _dies_once(part, flag):
    """As a machine that is switched off: of the first worker that gets here nothing is left."""
    try:
        os.close(os.open(flag, os.O_CREAT | os.O_EXCL))
    except FileExistsError:
        return part.compute()
    os.kill(os.getpid(), 9)


@pytest.mark.filterwarnings("ignore")
def test_end_to_end_a_worker_killed_in_the_midst_changes_no_byte(car, coarse, tmp_path):
    """Dask distributed: two workers, processes; one of them is killed while it has a part."""
    distributed = pytest.importorskip("distributed")
    sweep = unladen.sweep(car, coarse, over=OVER)
    whole = pickle.dumps(sweep.compute())
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster,
        distributed.Client(cluster) as client,
    ):
        before = set(client.run(os.getpid).values())
        parts = sweep.parts(12)
        futures = [client.submit(_dies_once, part, str(tmp_path / "died"), retries=3, pure=False) for part in parts]
        table = unladen.Table.concat(client.gather(futures))
        deadline = time.monotonic() + 60
        while len(after := set(client.run(os.getpid).values())) < 2 and time.monotonic() < deadline:
            time.sleep(0.1)
    assert pickle.dumps(table) == whole
    assert (tmp_path / "died").exists() and after != before


def test_property_ballast_agrees_with_a_grid(car, track):
    """20 kg into one of three boxes: the optimiser ends where a grid of places is quickest, and its gradient is right."""
    optimize = pytest.importorskip("scipy.optimize")
    ballast = unladen.Ballast(car, track, mass=20.0)
    boxes = {
        "left of the gearbox": [(0.5, 1.0), (-0.55, -0.25), (0.18, 0.30)],
        "under the seat": [(1.2, 1.6), (0.2, 0.5), (0.15, 0.25)],
        "boot floor": [(2.6, 3.1), (-0.4, 0.4), (0.35, 0.5)],
    }
    for box in boxes.values():
        start = np.array([np.mean(side) for side in box])
        seconds, slope = ballast(start)
        for i in range(3):
            step = np.eye(3)[i] * 2e-3
            difference = (ballast(start + step)[0] - ballast(start - step)[0]) / 4e-3
            assert slope[i] == pytest.approx(difference, rel=0.05, abs=2e-3)
        found = optimize.minimize(ballast, start, jac=True, bounds=box, method="L-BFGS-B")
        grid = np.stack(np.meshgrid(*[np.linspace(*side, 4) for side in box], indexing="ij"), -1).reshape(-1, 3)
        best = min(ballast(place)[0] for place in grid)
        # Not slower than the grid's best; quicker by no more than what lies between its places.
        assert best - 5e-3 < found.fun <= best + 1e-4, (found, best)


def test_end_to_end_csv_reads_back(car, coarse):
    table = unladen.sweep(car, coarse, over={"mass": (1200, 1300, 3)}).compute()
    rows = list(csv.DictReader(io.StringIO(table.to_csv())))
    assert [float(row["lap_time_s"]) for row in rows] == table["lap_time_s"].tolist()
