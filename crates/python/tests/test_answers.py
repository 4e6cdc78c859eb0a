"""The digits of the bindings are those of the command; what was computed once comes out alike again."""

import csv
import io
import pickle
import subprocess

import numpy as np
import pytest

import unladen

from .conftest import CAR, TRACK

VALLEY = "tracks/valley.toml"


def test_end_to_end_a_lap_is_the_commands(car, track, command):
    lap = car.lap(track)
    assert lap.data == command("lap", CAR, TRACK, "--json")
    assert lap.text == command("lap", CAR, TRACK) and lap.detail == command("lap", CAR, TRACK, "--detail")
    assert lap.time == lap.data["lap_time_s"] == float(lap)
    rows = list(csv.DictReader(io.StringIO(command("lap", CAR, TRACK, "--csv", "/dev/stdout").split("\n\n")[0])))
    trace = lap.trace
    assert trace.columns == list(rows[0])
    for name in ("s_m", "v_mps", "ax_mps2", "load_rl_n"):
        theirs = [float(row[name]) for row in rows[: len(trace)]]
        assert trace[name].tolist() == theirs


def test_end_to_end_questions_are_the_commands(car, coarse, command):
    valley = unladen.read_track(VALLEY, step=20.0)
    worth = unladen.worth(car, [(coarse, 3), valley])
    assert worth.data == command("worth", CAR, f"{TRACK}=3", VALLEY, "--step", "20", "--json")
    assert worth.text == command("worth", CAR, f"{TRACK}=3", VALLEY, "--step", "20")
    assert worth.detail == command("worth", CAR, f"{TRACK}=3", VALLEY, "--step", "20", "--detail")
    tank = unladen.move(car, coarse, "fuel tank", (2.48, 0, 0.25), box=(0.42, 0.6, 0.26), steps=2,
                        empty_tank=("13.2 ± 0.3 kg", "9.6 ± 0.3 kg"), stint=("55 L", "5 L"))
    words = ["--item", "fuel tank", "--to", "2480,0,250", "--box", "420,600,260", "--empty-tank", "13.2 ± 0.3 kg,9.6 ± 0.3 kg",
             "--stint", "55L..5L", "--steps", "2", "--step", "20"]
    assert tank.data == command("move", CAR, TRACK, *words, "--json")


def test_end_to_end_a_move_by_so_much_is_the_commands(car, coarse, command):
    quick = {"steps": 1, "samples": 32, "empty_tank": ("12 kg", "12 kg")}
    found = unladen.move(car, coarse, "fuel tank", by=("-100 mm", 0, -0.02), **quick)
    words = ["--item", "fuel tank", "--by=-100,0,-20", "--empty-tank", "12kg,12kg", "--steps", "1", "--samples", "32", "--step", "20"]
    assert found.data == command("move", CAR, TRACK, *words, "--json")
    for places in ({}, {"to": (1, 0, 0), "by": (0, 0, 1)}):
        with pytest.raises(unladen.Fault, match="to, or by, is due"):
            unladen.move(car, coarse, "fuel tank", **places, **quick)


def test_end_to_end_a_ranking_is_the_commands(car, coarse, command):
    found = unladen.rank(car, coarse, items=["bonnet"], target="1175 kg", month_budget=300, month_hours=10, samples=64, retune=False)
    words = ["--item", "bonnet", "--target", "1175kg", "--month-budget", "300", "--month-hours", "10", "--samples", "64", "--as-set",
             "--step", "20"]
    assert found.data == command("rank", CAR, TRACK, *words, "--json")


def test_end_to_end_builds_are_the_commands(car, coarse, command):
    other = unladen.read_car("vehicles/saloon-rwd")
    found = unladen.compare(car, other, coarse, grip=[1.0], map_power=(0.9, 1.1, 3), map_grip=(0.8, 1.0, 3), samples=64)
    words = ["--grip", "1.0", "--map-power", "0.9..1.1:3", "--map-grip", "0.8..1.0:3", "--samples", "64", "--step", "20"]
    assert found.data == command("compare", CAR, "vehicles/saloon-rwd", TRACK, *words, "--json")


def test_end_to_end_a_car_against_itself(car, coarse):
    lower = car.with_(cg_height=car.cg_height - 0.02)
    found = unladen.compare(car, lower, coarse, grip=[1.0], map_power=(0.9, 1.1, 2), map_grip=(0.8, 1.0, 2), samples=32)
    assert found["days"][0]["as_set"]["gain_median_s"] > 0


def test_closed_form_changes_of_mass(car):
    heavier = car.adding(20.0, at=("1200 mm", 0.1, 0.3))
    m = car.mass + 20
    assert heavier.mass == pytest.approx(m, rel=1e-14)
    assert heavier.cg_x == pytest.approx((car.mass * car.cg_x + 20 * 1.2) / m, rel=1e-14)
    assert heavier.cg_y == pytest.approx((car.mass * car.cg_y + 20 * 0.1) / m, rel=1e-12)
    assert heavier.cg_height == pytest.approx((car.mass * car.cg_height + 20 * 0.3) / m, rel=1e-14)
    back = heavier.adding(-20.0, at=(1.2, 0.1, 0.3))
    assert back.mass == pytest.approx(car.mass, rel=1e-14) and back.cg_height == pytest.approx(car.cg_height, rel=1e-13)
    share = car.with_(front_share=0.55)
    assert share.front_share == pytest.approx(0.55, rel=1e-14) and share.mass == car.mass
    assert car.with_(mass=car.mass, cg_height=car.cg_height) == car


def test_closed_form_what_is_on_the_scales_changes_alike(car, coarse):
    """A question that puts other fuel aboard starts from the scales: with what was added it must start 20 kg heavier."""
    heavier = car.adding(20.0, at=(1.2, 0.0, 0.3))
    stood = lambda car: unladen.move(car, coarse, "fuel tank", (2.48, 0, 0.25), empty_tank=(12, 12), steps=1, samples=32)  # noqa: E731
    before, after = stood(car)["loads"][0], stood(heavier)["loads"][0]
    kilograms = [load["before"]["mass_kg"] for load in (before, after)]
    assert kilograms[1] - kilograms[0] == pytest.approx(20.0, abs=1e-9)


def test_property_the_gradient_is_that_of_differences(car, track):
    gradient = car.lap(track).gradient()
    for key, step in (("mass.total", 1.0), ("mass.cg_height", 1e-3), ("aero.drag_area", 1e-3)):
        now = car.numbers[key]
        up, down = (car.with_(numbers={key: now + sign * step}).lap(track).time for sign in (1, -1))
        assert gradient[key] == pytest.approx((up - down) / (2 * step), rel=2e-3), key
    assert len(gradient) == len(list(gradient)) == len(gradient.table()) > 40
    along = car.lap(track).along("mass.total")
    assert along["mass.total"][-1] == pytest.approx(gradient["mass.total"], rel=1e-9)


def test_closed_form_a_kilogram_at_a_place_is_worths(car, track):
    found = unladen.worth(car, track, places={"here": (1.0, 0.2, 0.5)})
    place = next(p for p in found["tracks"][0]["places"] if p["name"] == "here")
    assert car.lap(track).gradient().kilogram_at((1.0, 0.2, 0.5)) == pytest.approx(place["s_per_kg"], rel=1e-6)


def test_property_what_travels_comes_out_alike(car, track):
    changed = car.with_(cg_height="480 mm", set={"driveline.final_drive": "3.9"}).adding(5, (0, 0, 0.3))
    wet = track.with_(grip=0.7)
    for thing in (car, changed, track, wet, unladen.sweep(car, track, over={"mass": (1200, 1300, 3)}).part(2, 3)):
        assert pickle.loads(pickle.dumps(thing)) == thing
    lap = changed.lap(wet)
    again = pickle.loads(pickle.dumps(lap))
    assert again.time == lap.time and again.trace == lap.trace
    assert pickle.loads(pickle.dumps(lap.trace)) == lap.trace
    worth = unladen.worth(car, wet)
    assert pickle.loads(pickle.dumps(worth)) == worth


def test_property_tables_are_taken_without_a_copy(car, track):
    import pandas
    import polars
    import pyarrow

    trace = car.lap(track).trace
    mine = trace["v_mps"]
    arrow = pyarrow.table(trace)
    assert arrow.column_names == trace.columns
    theirs = arrow["v_mps"].chunk(0).buffers()[1].address
    assert theirs == mine.__array_interface__["data"][0] == trace["v_mps"].__array_interface__["data"][0]
    frame = polars.DataFrame(trace)
    assert frame["v_mps"].to_list() == mine.tolist() and frame["limit"].to_list() == trace["limit"].tolist()
    assert frame["v_mps"].to_numpy(allow_copy=False).__array_interface__["data"][0] == theirs
    assert pandas.DataFrame.from_arrow(trace)["v_mps"].tolist() == mine.tolist()
    with pytest.raises(ValueError):
        mine[0] = 1.0


def test_property_columns_of_laps(car, track):
    masses = np.linspace(1200, 1300, 5)
    table = car.laps(track, {"mass.total": masses, "mass.cg_height": 0.5})
    # One by one the mass goes by way of the scales: other roundings.
    times = [car.with_(mass=m, cg_height=0.5).lap(track).time for m in masses.tolist()]
    assert table["lap_time_s"].tolist() == pytest.approx(times, rel=1e-12)
    assert set(table["status"].tolist()) == {"ok"}


def test_property_notebooks_see_words_and_pictures(car, coarse):
    lap = car.lap(coarse)
    for shown in (lap._repr_html_(), unladen.worth(car, coarse)._repr_html_()):
        assert shown.startswith("<pre>") and "<svg" in shown
    assert "<table>" in lap.trace._repr_html_() and "<table>" in lap.gradient()._repr_html_() and "kg" in car._repr_html_()
    assert repr(lap).startswith("Lap(") and "rows: s_m" in repr(lap.trace) and "lap time" in repr(unladen.worth(car, coarse))


def test_end_to_end_the_same_underlined_text(tmp_path, command):
    path = tmp_path / "car.toml"
    path.write_text('schema = 1\nname = "mine"\n[mass]\ntotal = 1284\n', encoding="utf-8")
    done = subprocess.run([command.binary, "lap", path, TRACK], capture_output=True, text=True, check=False)
    with pytest.raises(unladen.Fault) as raised:
        unladen.read_car(path)
    assert str(raised.value) in done.stderr
    mass = next(fault for fault in raised.value.faults if "a unit is due" in fault.message)
    assert (mass.path, mass.line) == (str(path), 4)
