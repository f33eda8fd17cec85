"""One family of errors. This module imports nothing.

Every error that a user can meet is one line: the place, the cause, and the way out.
"""

from __future__ import annotations


class NeckwiseError(Exception):
    """The root of the family.

    Args:
        cause: What is wrong, in plain words, without a full stop.
        place: Where: ``"measure 3, beat 2"``, ``"song.musicxml, line 4"``; empty if nowhere.
        way_out: What the user can do about it; empty only if there is nothing to do.

    >>> print(NeckwiseError("two notes cannot sound on one string", place="measure 3, beat 2",
    ...                     way_out="put reduce-chords before it"))
    measure 3, beat 2: two notes cannot sound on one string; put reduce-chords before it
    """

    def __init__(self, cause: str, *, place: str = "", way_out: str = "") -> None:
        self.cause = cause
        self.place = place
        self.way_out = way_out
        super().__init__(cause)

    def __str__(self) -> str:
        text = f"{self.place}: {self.cause}" if self.place else self.cause
        if self.way_out:
            text = f"{text}; {self.way_out}"
        return " ".join(text.split())

    def at(self, place: str) -> NeckwiseError:
        """Return the same error with ``place`` put before the place that it names already.

        A place that it begins with already is not said twice.
        """
        if self.place == place or self.place.startswith(f"{place},"):
            return self
        where = f"{place}, {self.place}" if self.place else place
        return type(self)(self.cause, place=where, way_out=self.way_out)


class InputError(NeckwiseError):
    """A file cannot be read: not a score, damaged, or past a limit."""


class UsageError(NeckwiseError):
    """A call is wrong: an unknown step, a parameter that does not exist, a value out of range."""


class OutputError(NeckwiseError):
    """A file cannot be written."""


class Refusal(NeckwiseError):
    """A step cannot be applied to this score; the score is left as it was."""


class Unplayable(Refusal):
    """No hand can play the notes on this instrument within the limits that are set."""


class ContractBroken(NeckwiseError):
    """A step did not keep what it promises. Nothing is written; it is a defect of the step."""
