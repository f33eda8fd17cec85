"""Which strings a part is played on, moment by moment: a piece may be retuned or capoed midway."""

from __future__ import annotations

from collections.abc import Iterator

from variants.score.instrument import Instrument
from variants.score.model import Measure, Part

# (tick in the measure, the instrument from there on), in order of time.
StringsHere = tuple[tuple[int, Instrument | None], ...]


def strings_in_force(part: Part) -> Iterator[tuple[Measure, StringsHere]]:
    """Yield each measure of a part with the instruments that hold in it; the first from tick 0."""
    now = part.instrument
    for measure in part.measures:
        if not measure.attributes:
            yield measure, ((0, now),)
            continue
        here = [(0, now)]
        for change in measure.attributes:
            if change.instrument is not None:
                if not change.onset:
                    here.clear()
                here.append((change.onset, change.instrument))
        now = here[-1][1]
        yield measure, tuple(here)


def strings_at(here: StringsHere, onset: int) -> Instrument | None:
    """Return the instrument that holds at a tick of a measure."""
    if len(here) == 1:
        return here[0][1]
    return [instrument for start, instrument in here if start <= onset][-1]


def tunings(part: Part) -> list[tuple[int, int, Instrument]]:
    """Return what notes sound under: measure, tick of the first note, the strings as tuned.

    What is stated where nothing sounds before the next tuning is none of them; one that is
    stated again is not told again. The measure is its index in the part.
    """
    found: list[tuple[int, int, Instrument]] = []
    for index, (measure, here) in enumerate(strings_in_force(part)):
        # Nearly every measure is as the one before it.
        if found and len(here) == 1 and here[0][1] is found[-1][2]:
            continue
        for event in sorted(measure.events, key=lambda e: e.onset):
            now = strings_at(here, event.onset)
            if event.notes and now is not None and (not found or _differ(found[-1][2], now)):
                found.append((index, event.onset, now))
    return found


def _differ(one: Instrument, other: Instrument) -> bool:
    return (one.open_midi, one.capo) != (other.open_midi, other.capo)


def told_change(before: Instrument, after: Instrument) -> str:
    """Return what a player does between two tunings, in words.

    >>> from dataclasses import replace
    >>> from variants.score.instrument import STANDARD_GUITAR
    >>> told_change(STANDARD_GUITAR, replace(STANDARD_GUITAR, capo=2))
    'the capo goes to fret 2'
    """
    told = []
    if before.strings != after.strings:
        told.append(f"the {before.strings} strings become {after.strings}")
    else:
        pairs = enumerate(zip(before.open_strings, after.open_strings, strict=True), 1)
        told += [f"string {number} goes from {one} to {other}"
                 for number, (one, other) in pairs if one.midi != other.midi]  # fmt: skip
    if before.capo != after.capo:
        told.append(f"the capo goes to fret {after.capo}" if after.capo else "the capo comes off")
    return ", ".join(told)
