"""What a set of pieces practises against a level: taught where, never met, met too early."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from variants.levels.level import Area, Level
from variants.levels.teaching import Lesson, is_within, lessons
from variants.score import Part, Score

MET, NEVER, EARLY = "taught", "never met", "met before it is taught"


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that a level holds or a piece has.

    Args:
        kind: As in `Lesson`.
        text: In a teacher's words.
        state: ``taught`` (in the level and met), ``never met``, or ``met before it is taught``
            (outside the level).
        piece: Name of the piece that has it first; empty if none has.
        measure: Printed number of its first measure there.
        count: How often it is met in all pieces.
    """

    kind: str
    text: str
    state: str
    piece: str
    measure: str
    count: int


@dataclass(frozen=True, slots=True)
class NeckSpot:
    """One place on the neck, for a map."""

    string: int
    fret: int
    state: str
    count: int


@dataclass(frozen=True, slots=True)
class Coverage:
    """What some pieces cover of a level."""

    level: str
    items: tuple[Item, ...]
    neck: tuple[NeckSpot, ...]


def coverage(pieces: Sequence[tuple[str, Score, Part]], level: Level) -> Coverage:
    """Return what pieces cover of a level, in the order in which a pupil meets them.

    Args:
        pieces: Name, score and part of each; places count where they are set.
        level: The level.
    """
    found = Gathered()
    for name, score, part in pieces:
        found.add(name, lessons(score, part))
    instrument = next((part.instrument for _, _, part in pieces if part.instrument), None)
    if instrument is None:
        return covered(found, level)
    return covered(found, level, strings=instrument.strings, top_fret=instrument.top_fret)


@dataclass(slots=True)
class Gathered:
    """What pieces practise all together, gathered one piece at a time.

    Args:
        first: For each skill the first piece that has it, and its lesson there.
        counts: How often each is met.
    """

    first: dict[tuple[object, ...], tuple[str, Lesson]] = field(default_factory=dict)
    counts: dict[tuple[object, ...], int] = field(default_factory=dict)

    def add(self, name: str, found: Iterable[Lesson]) -> None:
        """Add the lessons of a piece."""
        for one in found:
            self.first.setdefault(one.name, (name, one))
            self.counts[one.name] = self.counts.get(one.name, 0) + one.count


def covered(gathered: Gathered, level: Level, *, strings: int = 6, top_fret: int = 22) -> Coverage:
    """Return what gathered pieces cover of a level; see `coverage`.

    Args:
        gathered: The lessons of the pieces.
        level: The level.
        strings: Strings of the instrument.
        top_fret: Its highest fret.
    """
    first, counts = gathered.first, gathered.counts
    items = [
        Item(
            one.kind,
            one.text,
            MET if is_within(one, level) else EARLY,
            name,
            one.measures[0] if one.measures else "",
            counts[key],
        )
        for key, (name, one) in first.items()
    ]
    met = {key[1:3]: counts[key] for key in counts if key[0] == "note"}
    neck = tuple(_neck(level, strings, top_fret, met))
    items += _never(level, first, neck)
    return Coverage(level.name, tuple(items), neck)


def _neck(
    level: Level, strings: int, top_fret: int, met: dict[tuple[object, ...], int]
) -> Iterable[NeckSpot]:
    for string in range(1, strings + 1):
        for fret in range(top_fret + 1):
            count = met.get((string, fret), 0)
            is_taught = any(_teaches(area, string, fret) for area in level.areas)
            if count or is_taught:
                state = MET if count and is_taught else EARLY if count else NEVER
                yield NeckSpot(string, fret, state, count)


def _teaches(area: Area, string: int, fret: int) -> bool:
    return area.holds(string, fret)


def _never(
    level: Level, first: dict[tuple[object, ...], tuple[str, Lesson]], neck: tuple[NeckSpot, ...]
) -> list[Item]:
    """Return what a level holds and no piece has."""
    limits = level.limits
    wanted: list[tuple[tuple[object, ...], str]] = []
    if limits.note_values is not None:
        wanted += [
            (("value", name), f"{name} notes")
            for name in limits.note_values.value
            if name != "beat"
        ]
    if limits.signature is not None:
        most = limits.signature.value
        wanted += [(("key", fifths), _signature_text(fifths)) for fifths in range(-most, most + 1)]
    if limits.tuplets is not None:
        wanted += [(("tuplet", ratio), f"tuplets of {ratio}") for ratio in limits.tuplets.value]
    found = [Item(str(key[0]), text, NEVER, "", "", 0) for key, text in wanted if key not in first]
    quiet = [spot.string for spot in neck if spot.state == NEVER]
    loud = {spot.string for spot in neck if spot.count}
    found += [
        Item("string", f"string {string}", NEVER, "", "", 0) for string in sorted(set(quiet) - loud)
    ]
    return found


def _signature_text(fifths: int) -> str:
    if not fifths:
        return "signature of no signs"
    sign = "sharp" if fifths > 0 else "flat"
    return f"signature of {abs(fifths)} {sign}{'s' if abs(fifths) > 1 else ''}"
