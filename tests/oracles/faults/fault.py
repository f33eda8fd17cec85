"""A single fault in a good file: the registry of faults, and what they have in common."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import TypeVar

from lxml import etree

from variants.proof.page import Head, PageBar, ScannedPage
from variants.proof.scan import scan
from variants.proof.views.doubling import partners
from variants.proof.views.grips import PageGrip, Stop, grips

Thing = TypeVar("Thing")


@dataclass(eq=False)
class Case:
    """A good file, ready to be spoiled.

    Args:
        root: Its tree, which a fault changes.
        rng: Where the choices come from.
    """

    root: etree._Element
    rng: random.Random
    page: ScannedPage = field(init=False)

    def __post_init__(self) -> None:
        self.page = scan(self.root)

    @cached_property
    def heads(self) -> list[Head]:
        """Every note and rest."""
        return [head for part in self.page.parts for head in part.heads]

    @cached_property
    def notes(self) -> list[Head]:
        """Every note with a pitch."""
        return [head for head in self.heads if head.pitch is not None]

    @cached_property
    def placed(self) -> list[Head]:
        """Every note with string and fret; harmonics, which sound elsewhere, are left out."""
        return [head for head in self.notes if head.is_placed and not head.is_harmonic]

    @cached_property
    def partner(self) -> dict[Head, Head]:
        """For each note of a doubling the other one."""
        return partners(self.page)

    @cached_property
    def grips(self) -> list[PageGrip]:
        """What the hand holds."""
        return grips(self.page)

    @cached_property
    def chords(self) -> list[tuple[PageGrip, list[Stop]]]:
        """The grips with at least two stopped strings, and these."""
        found = []
        for grip in self.grips:
            stopped = [stop for stop in grip.stops if stop.fret > 0]
            if len(stopped) > 1:
                found.append((grip, stopped))
        return found

    def tab(self, head: Head) -> bool:
        """Whether a note stands on a tab staff."""
        return head.staff in head.bar.part.tab_staves

    def pick(self, things: Iterable[Thing]) -> Thing:
        """Return one of some things.

        Raises:
            NothingToSpoil: There is none.
        """
        pool = list(things)
        if not pool:
            raise NothingToSpoil
        return self.rng.choice(pool)

    def single(self, head: Head) -> bool:
        """Whether a note is no member of a chord and bears none."""
        after = head.element.getnext()
        return not head.is_chord and (after is None or after.find("chord") is None)


class NothingToSpoil(Exception):
    """The file has nothing that the fault could spoil."""


@dataclass(frozen=True, slots=True)
class Spoiled:
    """Where a fault was made.

    Args:
        bars: The measures that the fault touches; any of them may be named. Empty: the file.
    """

    bars: frozenset[int] = frozenset()


def at(*bars: PageBar) -> Spoiled:
    """Return a fault at measures."""
    return Spoiled(frozenset(bar.index for bar in bars))


EVERYWHERE = Spoiled()
Make = Callable[[Case], Spoiled]


@dataclass(frozen=True, slots=True)
class Fault:
    """A kind of fault.

    Args:
        name: Its name.
        rules: The rules of which one must find it.
        make: Spoils a case, or raises `NothingToSpoil`.
    """

    name: str
    rules: frozenset[str]
    make: Make


FAULTS: dict[str, Fault] = {}


def fault(name: str, *rules: str) -> Callable[[Make], Make]:
    """Register a fault that one of some rules must find."""

    def register(make: Make) -> Make:
        FAULTS[name] = Fault(name, frozenset(rules), make)
        return make

    return register


def child(element: etree._Element, path: str) -> etree._Element:
    """Return the first element at a path.

    Raises:
        NothingToSpoil: There is none.
    """
    found = element.find(path)
    if found is None:
        raise NothingToSpoil
    return found


def text_of(head: Head, path: str) -> etree._Element:
    """Return a child of a note; see `child`."""
    return child(head.element, path)


def number_in(element: etree._Element) -> int:
    """Return the whole number that an element holds."""
    return int(element.text or 0)


def remove_direction(inside: etree._Element) -> None:
    """Take the direction out of its measure that has an element inside a direction type."""
    kind = inside.getparent()
    remove(None if kind is None else kind.getparent())


def remove(element: etree._Element | None) -> None:
    """Take an element out of its tree."""
    parent = element.getparent() if element is not None else None
    if element is None or parent is None:
        raise NothingToSpoil
    parent.remove(element)


def shift_octave(head: Head, octaves: int) -> None:
    """Move the written pitch of a note by octaves."""
    octave = text_of(head, "pitch/octave")
    octave.text = str(int(octave.text or 0) + octaves)


def chains(case: Case) -> list[tuple[Head, Head]]:
    """Return the neighbours of each voice and staff that follow each other at once."""
    lanes: dict[tuple[int, str, int], list[Head]] = {}
    for head in case.heads:
        if not head.is_chord and not head.is_grace:
            lanes.setdefault((id(head.bar.part), head.voice, head.staff), []).append(head)
    return [
        (first, second)
        for lane in lanes.values()
        for first, second in pairwise(lane)
        if first.end == second.moment
    ]
