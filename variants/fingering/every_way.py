"""Every really different way to play a passage, ranked, each with numbers and one sentence."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from variants.cautions import STRETCH
from variants.fingering.answer import Fingered, UnplayableOnset, roman
from variants.fingering.model import Model, fitted
from variants.fingering.passage import Passage, PassageNote, Settings
from variants.fingering.solve import Judge, solve
from variants.guitar.hand import Hand

_HIGHEST_POSITION = 15
# From this share of the hand's span on, a stretch is worth a word of caution.
_WIDE = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way to play a passage.

    Args:
        fingered: The fingering.
        lowest_position: Lowest fret at which the first finger stands.
        highest_position: Highest fret at which it stands.
        strings: Strings that sound, string 1 first.
        open_strings: Open notes.
        barres: Onsets at which a finger holds several strings.
        stretch_mm: Widest stretch.
        travel_mm: Travel of the hand in all.
        shifts: How often the position changes.
        cost: Cost under the model; lower is better.
        sentence: The way in one sentence.
    """

    fingered: Fingered
    lowest_position: int
    highest_position: int
    strings: tuple[int, ...]
    open_strings: int
    barres: int
    stretch_mm: float
    travel_mm: float
    shifts: int
    cost: float
    sentence: str


def ways(passage: Passage, settings: Settings, *, model: Model | None = None) -> tuple[Way, ...]:
    """Return every really different way to play a passage, the best first.

    Ways differ in the places of the notes (position, string set, open strings or none), and, at
    the same places, in whether one finger lies across strings or each note has its own.

    Raises:
        UnplayableOnset: There is no way at all.
    """
    used = fitted() if model is None else model
    best = solve(passage, settings, used)
    found = [best]
    for asked in _questions(passage, settings):
        answer = _tried(passage, asked, used)
        if answer is not None:
            found.append(answer)
    judge = Judge(passage, settings, used)
    different = _by_places([judge.judged(fingered) for fingered in found])
    for fingered in list(different.values()):
        _add_barre_choice(different, passage, settings, fingered=fingered, model=used)
    rows = [_way(settings, judge.judged(fingered)) for fingered in different.values()]
    return tuple(sorted(rows, key=lambda way: (way.cost, way.lowest_position, way.strings)))


_Places = tuple[tuple[tuple[int, int], ...], bool]


def _questions(passage: Passage, settings: Settings) -> list[Settings]:
    """Settings that each force another corner of the neck."""
    top = min(_HIGHEST_POSITION, passage.frets - passage.capo)
    strings = settings.allowed_strings or tuple(range(1, len(passage.tuning_midi) + 1))
    sets = [
        strings[first : last + 1]
        for first in range(len(strings))
        for last in range(first, len(strings))
    ]
    asked = [settings]
    asked += [replace(settings, positions=(position,)) for position in range(1, top + 1)]
    asked += [replace(settings, allowed_strings=chosen) for chosen in sets]
    return asked + [replace(one, closed=True) for one in asked]


def _tried(passage: Passage, settings: Settings, model: Model) -> Fingered | None:
    try:
        return solve(passage, settings, model)
    except UnplayableOnset:
        return None


def _by_places(found: list[Fingered]) -> dict[_Places, Fingered]:
    different: dict[_Places, Fingered] = {}
    for fingered in found:
        if any(hand.let_go for hand in fingered.hands[:-1]) and fingered is not found[0]:
            continue
        key = (_places(fingered), _has_barre(fingered))
        if key not in different or fingered.cost < different[key].cost:
            different[key] = fingered
    return different


def _places(fingered: Fingered) -> tuple[tuple[int, int], ...]:
    return tuple((note.string, note.fret) for note in fingered.notes)


def _has_barre(fingered: Fingered) -> bool:
    return any(hand.barre is not None for hand in fingered.hands)


def _add_barre_choice(
    different: dict[_Places, Fingered],
    passage: Passage,
    settings: Settings,
    *,
    fingered: Fingered,
    model: Model,
) -> None:
    """Put the other choice beside a way: each note its own finger instead of a barre."""
    if not _has_barre(fingered):
        return
    held = replace(
        passage,
        notes=tuple(
            _placed(note, place.string, place.fret)
            for note, place in zip(passage.notes, fingered.notes, strict=True)
        ),
    )
    other = _tried(held, replace(settings, barres=False), model)
    if other is not None:
        different.setdefault((_places(other), False), other)


def _placed(note: PassageNote, string: int, fret: int) -> PassageNote:
    return replace(note, string=string, fret=fret)


def _way(settings: Settings, fingered: Fingered) -> Way:
    hands = fingered.hands
    positions = [hand.position for hand in hands if len(hand.notes) > hand.open_strings]
    lowest, highest = min(positions, default=0), max(positions, default=0)
    strings = tuple(sorted({note.string for note in fingered.notes}))
    opens = sum(hand.open_strings for hand in hands)
    barres = sum(hand.barre is not None for hand in hands)
    stretch = max(hand.stretch_mm for hand in hands)
    travel = round(sum(hand.travel_mm for hand in hands), 1)
    shifts = sum(a != b for a, b in pairwise(positions))
    return Way(
        fingered=fingered,
        lowest_position=lowest,
        highest_position=highest,
        strings=strings,
        open_strings=opens,
        barres=barres,
        stretch_mm=stretch,
        travel_mm=travel,
        shifts=shifts,
        cost=fingered.cost,
        sentence=_sentence(
            (lowest, highest), strings, (opens, barres, shifts), stretch_mm=stretch,
            travel_mm=travel, limit_mm=Hand.of(settings.hand).limit_mm(1, 4),
        ),
    )  # fmt: skip


def _sentence(
    positions: tuple[int, int],
    strings: tuple[int, ...],
    counts: tuple[int, int, int],
    *,
    stretch_mm: float,
    travel_mm: float,
    limit_mm: float,
) -> str:
    lowest, highest = positions
    opens, barres, shifts = counts
    if not highest:
        where = "open strings only"
    elif lowest == highest:
        where = f"position {roman(lowest)}"
    else:
        where = f"positions {roman(lowest)} to {roman(highest)}, {_count(shifts, 'shift')}"
    on = f"string {strings[0]}" if len(strings) == 1 else f"strings {strings[-1]} to {strings[0]}"
    text = (
        f"{where} on {on}: {_count(opens, 'open note')}, {_count(barres, 'barre')}, "
        f"stretch {stretch_mm:.0f} mm, travel {travel_mm:.0f} mm"
    )
    return f"{text} ({STRETCH})" if stretch_mm > _WIDE * limit_mm else text


def _count(number: int, word: str) -> str:
    return f"{number or 'no'} {word}{'' if number == 1 else 's'}"
