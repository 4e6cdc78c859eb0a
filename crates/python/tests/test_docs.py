"""Every docstring is there and its example runs; the types say what is there."""

import doctest
import inspect
import os
import subprocess
import sys

import pytest

import unladen

from .conftest import ROOT


def documented():
    yield "unladen", unladen
    for name in unladen.__all__:
        thing = getattr(unladen, name)
        yield name, thing
        if inspect.isclass(thing):
            for own, member in vars(thing).items():
                if not own.startswith("_"):
                    yield f"{name}.{own}", member
    for name in unladen.trial.__all__:
        yield f"trial.{name}", getattr(unladen.trial, name)


NAMES = [name for name, thing in documented() if not isinstance(thing, str) and name != "Fault.faults"]


def test_property_everything_says_what_it_is():
    silent = [name for name, thing in documented() if name in NAMES and not inspect.getdoc(thing)]
    inherited = {"Finding.count", "Finding.index"}
    assert not [name for name in silent if name not in inherited]
    assert len(NAMES) > 60


@pytest.mark.parametrize("name", [name for name, thing in documented() if name in NAMES and ">>>" in (inspect.getdoc(thing) or "")])
def test_end_to_end_examples_run(name):
    thing = dict(documented())[name]
    text = inspect.getdoc(thing)
    examples = doctest.DocTestParser().get_doctest(text, {"unladen": unladen}, name, None, 0)
    said = []
    flags = doctest.ELLIPSIS | doctest.IGNORE_EXCEPTION_DETAIL
    failed = doctest.DocTestRunner(optionflags=flags, verbose=False).run(examples, out=said.append).failed
    assert failed == 0, "".join(said)


def test_property_the_types_are_complete():
    for words in (["-m", "mypy", "--strict", "--cache-dir", os.devnull, "-p", "unladen"], ["-m", "mypy.stubtest", "unladen"]):
        done = subprocess.run([sys.executable, *words], capture_output=True, text=True, check=False, cwd=ROOT / "crates/python")
        assert done.returncode == 0, done.stdout + done.stderr
