"""Whatever is given wrongly is an exception of the right class that says what would be right; the interpreter goes on."""

import multiprocessing
import os
import signal
import subprocess
import sys
import threading
import time

import numpy as np
import pytest

import unladen

from .conftest import CAR, ROOT, TRACK


def refused(kind, *words):
    return pytest.raises(kind, match="(?s)" + ".*".join(words))


def test_bad_input_wrong_types(car, track):
    with refused(TypeError, "Track"):
        car.lap(car)
    with refused(TypeError, "Car"):
        unladen.worth(track, track)
    with refused(TypeError, "tracks: a Track is due", "str"):
        unladen.worth(car, "tracks/airfield.toml")
    with refused(TypeError, "tracks: a Track is due"):
        unladen.worth(car, [(track, "heavy")])
    with refused(TypeError, "cars: a Car is due"):
        unladen.sweep(track, track, over={"mass": (1, 2, 3)})
    with refused(TypeError, "weight can't be swept", "mass"):
        unladen.sweep(car, track, over={"weight": (1, 2, 3)})
    with refused(TypeError, "from, to, count", "Car.laps"):
        unladen.sweep(car, track, over={"mass": [1200.0, 1210.0, 1250.0, 1300.0]})
    with refused(TypeError, "mapping is due"):
        unladen.read_car(CAR, set="mass.total=1200kg")
    with pytest.raises(TypeError):
        car.with_(mass=None, height=3)
    with pytest.raises(TypeError):
        unladen.read_car(3)


def test_bad_input_numbers_that_are_none(car, track):
    for number in (float("nan"), float("inf"), np.nan):
        with refused(unladen.Fault, "mass: ", "no finite number"):
            car.with_(mass=number)
        with refused(unladen.Fault, "at.1.: ", "no finite number"):
            car.adding(5.0, (0.0, number, 0.0))
        with refused(unladen.Fault, "grip: "):
            unladen.read_track(TRACK, grip=number)
        with refused(unladen.Fault, "mass.total.1.: ", "no finite number"):
            car.laps(track, {"mass.total": [1200.0, number]})
        with refused(unladen.Fault, "not a finite number"):
            unladen.sweep(car, track, over={"mass": (1200.0, number, 3)})
    with refused(ValueError, "cg_height: 480 in SI is outside 10 … 3000 mm", '"480 mm"'):
        car.with_(cg_height=480)
    with refused(unladen.Fault, "mass: a unit is due"):
        car.with_(mass="1200")
    with refused(unladen.Fault, "mass: .*length where a mass is due"):
        car.with_(mass="1200 mm")
    with refused(unladen.Fault, "no ± belongs here"):
        car.with_(mass="1200 ± 2 kg")
    with refused(unladen.Fault, "cg_x and front_share"):
        car.with_(cg_x=1.1, front_share=0.5)
    with refused(unladen.Fault, "leaves no mass"):
        car.adding(-5000.0, (1.0, 0.0, 0.3))
    with refused(unladen.Fault, "mass.totl: no number of this car", "did you mean `mass.total`"):
        car.with_(numbers={"mass.totl": 1.0})
    with refused(KeyError, "did you mean mass.total"):
        car.lap(track).gradient()["mass.totl"]
    with refused(unladen.Fault, "outside 0.05 … 50"):
        track.with_(step=0.0)
    with refused(unladen.Fault, "k from 1 to n"):
        unladen.sweep(car, track, over={"mass": (1200, 1300, 3)}).part(4, 3)
    with refused(unladen.Fault, "a cell a part"):
        unladen.sweep(car, track, over={"mass": (1200, 1300, 3)}).parts(4)
    with refused(unladen.Fault, "--set mass.totl"):
        unladen.read_car(CAR, set={"mass.totl": "1 kg"})
    with refused(unladen.Fault, "of one step"):
        unladen.worth(car, [track, track.with_(step=5.0)])
    with refused(unladen.Fault, "samples"):
        unladen.rank(car, track, samples=1)
    with refused(unladen.Fault, "no item or group"):
        unladen.rank(car, track, items=["batery"])


def test_bad_input_arrays_of_unequal_length(car, track):
    with refused(ValueError, "one length", "mass.total has 2", "mass.cg_height has 3"):
        car.laps(track, {"mass.total": np.ones(2) * 1200, "mass.cg_height": np.ones(3) * 0.5})
    with refused(TypeError, "array of numbers"):
        car.laps(track, {"mass.total": np.ones((2, 2))})
    with refused(ValueError, "x, y and z"):
        unladen.Ballast(car, track, 20.0)([1.0, 2.0])
    with refused(ValueError, "2 numbers are due"):
        unladen.Objective(car, track, ["mass.total", "mass.cg_height"])([1.0])


def test_bad_input_a_track_as_car_and_the_other_way_round():
    with refused(unladen.Fault, "tracks/airfield.toml"):
        unladen.read_car(TRACK)
    with refused(unladen.Fault, "vehicles/saloon-awd/car.toml"):
        unladen.read_track(CAR + "/car.toml")


def test_bad_input_a_file_that_is_gone(tmp_path):
    with pytest.raises(FileNotFoundError) as raised:
        unladen.read_car(tmp_path / "gone.toml")
    assert isinstance(raised.value, unladen.Missing) and isinstance(raised.value, unladen.Fault)
    assert "gone.toml: no such file" in str(raised.value)
    with pytest.raises(FileNotFoundError):
        unladen.read_track(tmp_path / "gone.toml")
    with refused(unladen.Fault, "a directory"):
        unladen.read_car(tmp_path)


def test_property_a_car_outlives_its_file(tmp_path, track):
    path = tmp_path / "car.toml"
    path.write_text((ROOT / CAR / "car.toml").read_text(encoding="utf-8"), encoding="utf-8")
    car = unladen.read_car(path)
    path.unlink()
    assert car.with_(set={"driveline.shift_time": "0.1 s"}).lap(track).time < car.lap(track).time
    with refused(unladen.Fault, "is not there"):
        unladen.rank(car, track)


def test_bad_input_no_lap(tmp_path, car):
    (tmp_path / "hill.csv").write_text("length_m,curvature_start_1pm,curvature_end_1pm,grade_start_pct,grade_end_pct\n60,0,0,90,90\n")
    (tmp_path / "hill.toml").write_text('schema = 1\nname = "hill"\nclosed = false\nstart_speed = "0 km/h"\nsegments = "hill.csv"\n')
    hill = unladen.read_track(tmp_path / "hill.toml", grip=0.3)
    with pytest.raises(unladen.NoLap) as raised:
        car.lap(hill)
    assert isinstance(raised.value, ArithmeticError)
    rows = car.laps(hill, {"mass.total": [1200.0, 1300.0]})
    assert rows["status"].tolist() == ["no lap"] * 2 and np.isnan(rows["lap_time_s"]).all() and rows["reason"][0]


def test_bad_input_a_panic_is_an_exception():
    from unladen import _native

    with pytest.raises(unladen.Bug, match="this is a fault in unladen"):
        _native._panic()
    assert unladen.read_car(CAR).mass > 0


INTERRUPTED = """
import _thread, sys, threading, time, unladen
car, track = unladen.read_car("vehicles/saloon-awd"), unladen.read_track("tracks/valley.toml")
work = {work}
threading.Timer(0.7, _thread.interrupt_main).start()
start = time.monotonic()
try:
    work()
except KeyboardInterrupt:
    print("interrupted after", time.monotonic() - start)
    sys.stdout.flush()
    import os; os._exit(7)
"""


@pytest.mark.parametrize(
    "work",
    [
        'unladen.sweep(car, track, over={"mass": (1000, 1300, 3000), "cg_height": (0.4, 0.6, 100)}).compute',
        'lambda: car.laps(track, {"mass.total": [1200.0 + 1e-3 * i for i in range(200_000)]})',
        "lambda: unladen.rank(car, [track] * 5, samples=100_000)",
    ],
)
def test_bad_input_ctrl_c_is_heard(work):
    run = [sys.executable, "-c", INTERRUPTED.format(work=work)]
    done = subprocess.run(run, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 7, done.stderr
    assert "interrupted after" in done.stdout


def _sweep_in_child(car, track, out):
    out.put(unladen.sweep(car, track, over={"mass": (1200, 1300, 8)}).compute().to_csv())


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork here")
def test_bad_input_a_fork_after_threads(car, coarse):
    """The threads of the parent are not in the child: it makes its own, and the same numbers."""
    whole = unladen.sweep(car, coarse, over={"mass": (1200, 1300, 8)}).compute().to_csv()
    fork = multiprocessing.get_context("fork")
    out = fork.Queue()
    children = [fork.Process(target=_sweep_in_child, args=(car, coarse, out)) for _ in range(2)]
    for child in children:
        child.start()
    assert [out.get(timeout=60) for _ in children] == [whole, whole]
    for child in children:
        child.join(timeout=60)
        assert child.exitcode == 0


def test_property_threads_get_the_same_numbers(car, coarse):
    times = []
    work = [threading.Thread(target=lambda: times.append(car.lap(coarse).time)) for _ in range(8)]
    for thread in work:
        thread.start()
    for thread in work:
        thread.join()
    assert len(set(times)) == 1 and len(times) == 8


def test_property_the_lock_is_released(car):
    """While a lap is solved on one thread, Python goes on on another."""
    slow = unladen.read_track("tracks/valley.toml", step=0.1)
    beats, solving = [], threading.Event()

    def beat():
        while not solving.is_set():
            beats.append(time.monotonic())
            time.sleep(0.001)

    thread = threading.Thread(target=beat)
    thread.start()
    begun = time.monotonic()
    car.lap(slow)
    ended = time.monotonic()
    solving.set()
    thread.join()
    assert sum(begun < at < ended for at in beats) > 3


def test_property_signals_are_as_they_were(car, coarse):
    before = signal.getsignal(signal.SIGINT)
    unladen.sweep(car, coarse, over={"mass": (1200, 1300, 4)}).compute()
    assert signal.getsignal(signal.SIGINT) is before
