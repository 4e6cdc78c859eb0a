"""What the tests share: the demo cars and tracks, and the command."""

import json
import os
import subprocess
from pathlib import Path

import pytest

import unladen

ROOT = Path(__file__).resolve().parents[3]
CAR = "vehicles/saloon-awd"
TRACK = "tracks/airfield.toml"


@pytest.fixture(autouse=True)
def at_the_root(monkeypatch):
    monkeypatch.chdir(ROOT)


@pytest.fixture
def car():
    return unladen.read_car(CAR)


@pytest.fixture
def track():
    return unladen.read_track(TRACK)


@pytest.fixture
def coarse():
    """Stations far apart: for tests that are not of the laps."""
    return unladen.read_track(TRACK, step=20.0)


@pytest.fixture
def command():
    """The binary; its JSON where it is asked for."""
    binary = Path(os.environ.get("UNLADEN", ROOT / "target/debug/unladen")).resolve()

    def run(*words):
        done = subprocess.run([binary, *map(str, words)], capture_output=True, text=True, cwd=ROOT, check=False)
        if done.returncode != 0:
            raise AssertionError(done.stderr)
        return json.loads(done.stdout) if "--json" in words else done.stdout

    run.binary = binary
    return run
