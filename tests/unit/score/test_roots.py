"""Roots along a part."""

from __future__ import annotations

from dataclasses import replace

from tests.strategies import line
from variants.score import Harmony, Part, timeline
from variants.score.roots import roots
from variants.score.timeline import moments


def symbols(part: Part, *by_measure: tuple[Harmony, ...]) -> Part:
    """Return the part with chord symbols, a tuple for each measure."""
    measures = tuple(
        replace(measure, harmonies=harmonies)
        for measure, harmonies in zip(part.measures, by_measure, strict=True)
    )
    return replace(part, measures=measures)


def names(part: Part) -> str:
    """Return the roots in order of time."""
    return " ".join(root.name for root in roots(part).values())


def test_symbol_holds_until_the_next() -> None:
    """A symbol is in force from its moment on, over the barline too."""
    part = line("C3+E3+A3 C3+E3+A3 C3+E3+A3:h", "C3+E3+A3 C3+E3+A3 A3:h").parts[0]
    am = (Harmony(12, ("A", 0), "minor"), Harmony(24, ("C", 0), "major-sixth"))
    none = (Harmony(12, None, "none"),)
    # The third is C6 by its symbol; "no chord" leaves it to the thirds again.
    assert names(symbols(part, am, none)) == "A A C C A A"


def test_single_notes_are_their_own_root() -> None:
    """A melody note is not dropped for a symbol that names another."""
    part = line("E4 G4 C4+E4:h").parts[0]
    assert names(symbols(part, (Harmony(0, ("E", 0), "minor"),))) == "E G E"


def test_symbols_in_any_order() -> None:
    """The reader's order of symbols does not matter."""
    part = line("C3+E3+A3:h C3+E3+A3:h").parts[0]
    found = (Harmony(24, ("C", 0)), Harmony(0, ("E", 0)))
    assert names(symbols(part, found)) == "E C"


def test_enharmonic_symbol() -> None:
    """A flat written as G sharp is the same root; the note's own name is given."""
    part = line("Ab2+Eb3+Ab3:w").parts[0]
    assert names(symbols(part, (Harmony(0, ("G", 1)),))) == "Ab"


def test_struck_and_moments() -> None:
    """Held notes are not struck, and events come with their moments."""
    part = line("C4+E4:h~ C4+E4:h").parts[0]
    struck = timeline(part).struck
    assert [str(one.pitch) for one in struck[0, 0, 0]] == ["C4", "E4"]
    assert list(struck) == [(0, 0, 0)]
    assert moments(part.measures[0].voices[0].events) == [((0, 0), 0), ((24, 0), 1)]
