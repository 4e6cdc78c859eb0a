"""What goes wrong, and what is unlikely."""

from typing import NamedTuple


class Finding(NamedTuple):
    """One fault of a file, and where it is."""

    path: str | None
    """The file, or `--set` for a value that was set."""
    line: int | None
    """From 1."""
    column: int | None
    """From 1."""
    message: str
    """What is wrong."""
    hint: str | None
    """What would be right."""


class Fault(ValueError):
    """A file, a value or a question that can't be: its text underlines each fault and says what would be right.

    >>> import unladen
    >>> unladen.read_car("vehicles/saloon-awd", set={"mass.totl": "1200 kg"})
    Traceback (most recent call last):
    unladen.Fault:   × --set mass.totl: no such key in a car's or a track's file
    ...
    """

    faults: tuple[Finding, ...] = ()


class Missing(Fault, FileNotFoundError):
    """A file that is not there."""


class NoLap(Fault, ArithmeticError):
    """A car that does not get round a track, or a computation that came to no end."""


class Bug(RuntimeError):
    """A fault of unladen itself; the interpreter goes on."""


class Unlikely(UserWarning):
    """Something in a file that is possible, but unlikely."""


for _class in (Finding, Fault, Missing, NoLap, Bug, Unlikely):
    _class.__module__ = "unladen"
del _class
