"""Trials from Python are those of the command: planned, sealed, read, looked back on."""

import shutil

import pytest

import unladen

from .conftest import CAR, ROOT, TRACK

QUICK = {"ballast": "60 kg", "order": "A-B-B-A", "laps": 5}
WORDS = ["--ballast", "60kg", "--order", "A-B-B-A", "--laps", "5", "--step", "20"]
TIMES = "A 76.1 76.3 76.0 | B 76.8 76.6 76.9 | B 76.7 76.8 76.6 | A 76.2 76.0 76.1"


@pytest.fixture
def copy(tmp_path):
    """A car to keep trials beside."""
    shutil.copytree(ROOT / "vehicles", tmp_path / "vehicles")
    return tmp_path / CAR


def test_end_to_end_a_plan_is_the_commands(car, coarse, command, tmp_path):
    sheet = tmp_path / "sheet.html"
    found = unladen.trial.plan(car, coarse, **QUICK, sheet=sheet)
    assert found.data == command("trial", "plan", CAR, TRACK, *WORDS, "--json")
    assert found.text == command("trial", "plan", CAR, TRACK, *WORDS)
    assert found.detail == command("trial", "plan", CAR, TRACK, *WORDS, "--detail")
    assert sheet.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    drag = {"aero.drag_area": "0.60 m2"}
    words = ["--with", "aero.drag_area=0.60 m2", "--hours", "6", "--lap-spread", "0.2", "--burn", "1.5kg", *WORDS[2:]]
    found = unladen.trial.plan(car, coarse, with_=drag, hours=6, lap_spread=0.2, burn=1.5, order="A-B-B-A", laps=5)
    assert found.data == command("trial", "plan", CAR, TRACK, *words, "--json")


def test_end_to_end_scatter_from_logs(car, coarse, command, tmp_path):
    log = tmp_path / "log.csv"
    command("course", "log", CAR, TRACK, "--out", log, "--laps", "5")
    found = unladen.trial.plan(car, coarse, **QUICK, spread_from=[log])
    assert found.data == command("trial", "plan", CAR, TRACK, *WORDS, "--spread-from", log, "--json")


def test_end_to_end_sealed_read_and_looked_back_on(copy, coarse, command):
    car = unladen.read_car(copy)
    path, plan = unladen.trial.seal(car, coarse, "scale", **QUICK)
    assert path.parent == copy / "trials" and plan == unladen.trial.plan(car, coarse, **QUICK)
    with pytest.raises(unladen.Fault, match="sealed"):
        unladen.trial.seal(car, coarse, "scale", **QUICK)
    found = unladen.trial.read(car, path, times=TIMES)
    assert found.data == command("trial", "read", copy, path, "--times", TIMES, "--json") and "<svg" in found.svg
    assert found.text == command("trial", "read", copy, path, "--times", TIMES)
    # Nothing that was sealed is other than on the disk.
    assert found["files_changed_since_the_seal"] == []
    kept = unladen.trial.read(car, path.stem, times=TIMES, keep=True, into=copy)
    assert kept == found and path.with_suffix(".result.toml").is_file()
    diary = unladen.trial.diary(car)
    assert "<svg" in diary.svg and diary.data == command("trial", "diary", copy, "--json") and diary.text == command("trial", "diary", copy)
    path.write_text(path.read_text(encoding="utf-8").replace("laps = 5", "laps = 6"), encoding="utf-8")
    with pytest.raises(unladen.Fault, match="changed after it was sealed"):
        unladen.trial.read(car, path, times=TIMES)


def test_bad_input_plans_and_readings(car, coarse, copy):
    for words, said in (
        ({}, "one of change, with_, item and ballast"),
        ({"ballast": 60, "change": ["bonnet"]}, "one of change, with_, item and ballast"),
        ({"item": "fuel tank"}, "item goes with to"),
        ({"change": ["bonnet"], "at": (1, 0, 0)}, "at with ballast"),
        ({"ballast": 900}, "ballast"),
        ({"ballast": 60, "order": "A-C"}, "A-B-B-A"),
        ({"ballast": 60, "hours": 0}, "hours"),
        ({"ballast": 60, "laps": 500}, "laps"),
        ({"ballast": 60, "samples": 1}, "samples"),
    ):
        with pytest.raises(unladen.Fault, match=said):
            unladen.trial.plan(car, coarse, **words)
    with pytest.raises(TypeError):
        unladen.trial.plan(car, coarse, change="bonnet")
    mine = unladen.read_car(copy)
    with pytest.raises(unladen.Fault, match="2026-03-14"):
        unladen.trial.seal(mine, coarse, "x", date="14.3.2026", **QUICK)
    with pytest.raises(unladen.Fault, match="over"):
        unladen.trial.seal(mine, coarse, "x", date="2020-01-01", **QUICK)
    with pytest.raises(unladen.Missing):
        unladen.trial.read(mine, "nothing", times=TIMES)
    for given in ({}, {"times": TIMES, "laps": "laps.csv"}):
        with pytest.raises(unladen.Fault, match="one of laps, times and logs"):
            unladen.trial.read(mine, "nothing", **given)
    with pytest.raises(unladen.Fault, match="A or B is due"):
        unladen.trial.read(mine, "nothing", logs=[("log.csv", "C")])
    assert not (copy / "trials").exists()
