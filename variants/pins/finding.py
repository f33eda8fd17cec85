"""Pins are found again in a score: by number, by the notes of the measure, by their neighbours."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from variants.fingering import HandPin
from variants.pins.context import Chord, PinContext, chords_of
from variants.pins.model import Pin
from variants.score import Change, MeasureView, NoteKey, Part, Score, Take


@dataclass(frozen=True, slots=True)
class FoundPins:
    """Pins in a score.

    Args:
        heads: What is pinned, by the note head that it is about.
        lost: A line for each pin that is not in the score any more.
    """

    heads: dict[NoteKey, HandPin]
    lost: tuple[Change, ...]


def found_again(pins: Iterable[Pin], score: Score, part: Part, *, version: str = "") -> FoundPins:
    """Return where pins are in a part.

    A measure that has the notes a pin names is its own, wherever it is now: of several the one
    with the same neighbours, then the nearest to where it was, counted as most others have moved.
    Where the measure has changed, the moment with the same notes around it holds.

    Args:
        pins: The pins.
        score: The score.
        part: Its part with strings.
        version: Name of the variant; pins of others are left out.
    """
    context = PinContext(score, part)
    wanted = [pin for pin in pins if pin.version in ("all", version)]
    # What is said of one version goes before what is said of all.
    wanted.sort(key=lambda pin: pin.version != "all")
    several = [_candidates(pin, context) for pin in wanted]
    shift = _shift(wanted, several, context)
    heads: dict[NoteKey, HandPin] = {}
    alike: list[tuple[Pin, int]] = []
    lost: list[Change] = []
    for pin, measures in zip(wanted, several, strict=True):
        places = _nearest(pin, measures, context, shift)
        takes = [take for place in places for take in _takes(pin, context, place)]
        if not takes:
            lost.append(_lost(pin, part))
        for take in takes:
            known = heads.get(take.heads[0])
            heads[take.heads[0]] = _joined(known, pin.hand) if known else pin.hand
        if pin.alike and len(places) == 1 and takes:
            alike.append((pin, places[0]))
    for pin, place in alike:
        for head in _elsewhere(pin, context, place):
            heads.setdefault(head, replace(pin.hand, is_firm=False))
    return FoundPins(heads, tuple(lost))


def _candidates(pin: Pin, context: PinContext) -> list[list[int]]:
    """Return for each measure where a pin may belong the moments that it is about."""
    content = chords_of(pin.notes)
    found = []
    for view in context.views:
        is_there = context.content(view.index) == content if content else _is_numbered(pin, view)
        if is_there and (places := _places(pin, context, view.index)):
            found.append(places)
    if found or not content or not pin.beat:
        return found
    around = tuple(chords_of(text) for text in (pin.before, pin.after))
    near = (_places(pin, context, view.index) for view in context.views)
    return [
        places
        for places in near
        if places and tuple((one,) if one else () for one in context.around(places)) == around
    ]


def _is_numbered(pin: Pin, view: MeasureView) -> bool:
    return view.measure.number == pin.measure


def _places(pin: Pin, context: PinContext, measure: int) -> list[int]:
    """Return the moments of a pin whose measure is this one, those of its passage too."""
    length = 0
    if pin.until.isdecimal() and pin.measure.isdecimal():
        length = max(0, int(pin.until) - int(pin.measure))
    found = [
        place
        for index in range(measure, measure + length + 1)
        for place in context.of_measure.get(index, ())
    ]
    if pin.beat:
        found = [place for place in found if context.beat(place) == pin.beat]
    return [place for place in found if any(True for _ in _takes(pin, context, place))]


def _takes(pin: Pin, context: PinContext, place: int) -> Iterator[Take]:
    wanted = chords_of(pin.note)
    for take in context.moments[place]:
        if not wanted or take.pitch.midi == wanted[0][0]:
            yield take


def _index(pin: Pin, context: PinContext) -> int | None:
    """Return where the measure that now has the number of a pin stands."""
    return next((view.index for view in context.views if _is_numbered(pin, view)), None)


def _shift(pins: Sequence[Pin], several: Sequence[list[list[int]]], context: PinContext) -> int:
    """Return by how many measures most of the pins have moved that can be in one only."""
    moved: Counter[int] = Counter()
    for pin, measures in zip(pins, several, strict=True):
        asked = _index(pin, context)
        if asked is not None and len(measures) == 1:
            moved[context.moments[measures[0][0]][0].measure - asked] += 1
    return moved.most_common(1)[0][0] if moved else 0


def _nearest(pin: Pin, several: list[list[int]], context: PinContext, shift: int) -> list[int]:
    if len(several) < 2:
        return several[0] if several else []
    asked = _index(pin, context)
    wanted = tuple(chords_of(text) for text in (pin.before, pin.after))

    def badness(places: list[int]) -> tuple[bool, int, int]:
        around = tuple((one,) if one else () for one in context.around(places))
        measure = context.moments[places[0]][0].measure
        away = abs(measure - (measure if asked is None else asked + shift))
        # Measures are put in more often than they are taken out.
        return bool(pin.notes) and around != wanted, away, -measure

    return min(several, key=badness)


def _elsewhere(pin: Pin, context: PinContext, place: int) -> Iterator[NoteKey]:
    """Yield the heads of the same note in the same figure elsewhere."""
    figure = _figure(context, place)
    for other in range(len(context.moments)):
        if other != place and _figure(context, other) == figure:
            yield from (take.heads[0] for take in _takes(pin, context, other))


def _figure(context: PinContext, place: int) -> tuple[Chord, Chord, Chord]:
    before, after = context.around([place])
    return before, context.chords[place], after


def _joined(known: HandPin, new: HandPin) -> HandPin:
    """Return two pins of one note as one; what the second says goes first."""
    said = {
        name: value
        for name in ("finger", "position", "barre")
        if (value := getattr(new, name)) is not None
    }
    if "place" in new.kinds:
        said |= {"string": new.string, "fret": new.fret}
    return replace(known, **said, not_at=(*known.not_at, *new.not_at))


def _lost(pin: Pin, part: Part) -> Change:
    return Change(
        f"the pin {pin.words()} is lost: its notes are no longer there",
        "pins",
        pin.measure,
        pin.beat,
        part.id,
    )
