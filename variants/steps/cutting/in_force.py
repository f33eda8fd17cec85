"""What holds at the start of each measure because of what stood before it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TypeVar

from variants.music import Metre
from variants.score import (
    Attributes,
    Clef,
    Direction,
    Harmony,
    Instrument,
    KeySign,
    Measure,
    Part,
    Transposition,
)

# Loudness that lasts; an accent such as sf or fp does not.
_DYNAMICS = re.compile(r"<dynamics\b[^>]*>\s*<(?:p+|f+|mp|mf|n)\s*/>\s*</dynamics>")


@dataclass(frozen=True, slots=True)
class InForce:
    """Signatures, clefs, strings, tempo and chord that hold at a moment; by staff where it says so.

    Args:
        keys: Key signatures; staff 0 for all staves.
        metre: The metre, if one was given.
        clefs: Clefs.
        transpositions: Written to sounding.
        staves: Number of staves, 0 if never given.
        instrument: Tuning and capo.
        details: Carried ``staff-details``.
        tempo: The direction that set the tempo.
        harmony: The chord symbol.
        dynamics: How loud it is, where no wedge has changed it since.
    """

    keys: tuple[KeySign, ...] = ()
    metre: Metre | None = None
    clefs: tuple[Clef, ...] = ()
    transpositions: tuple[Transposition, ...] = ()
    staves: int = 0
    instrument: Instrument | None = None
    details: tuple[str, ...] = ()
    tempo: Direction | None = None
    harmony: Harmony | None = None
    dynamics: tuple[Direction, ...] = ()

    def after(self, measure: Measure) -> InForce:
        """Return what holds after a measure."""
        now = self
        for one in measure.attributes:
            now = replace(
                now,
                keys=_by_staff(now.keys, one.keys),
                metre=one.metre or now.metre,
                clefs=_by_staff(now.clefs, one.clefs),
                transpositions=_by_staff(now.transpositions, one.transpositions),
                staves=one.staves or now.staves,
                instrument=one.instrument or now.instrument,
                details=one.details or now.details,
            )
        tempi = [one for one in measure.directions if one.quarters_per_minute]
        symbols = sorted(measure.harmonies, key=lambda one: one.onset)
        return replace(
            now,
            tempo=tempi[-1] if tempi else now.tempo,
            harmony=symbols[-1] if symbols else now.harmony,
            dynamics=_dynamics(now.dynamics, measure),
        )


def _dynamics(known: tuple[Direction, ...], measure: Measure) -> tuple[Direction, ...]:
    """Return the dynamics that hold after a measure, one for each staff that is named."""
    found = {one.staff: one for one in known}
    for one in sorted(measure.directions, key=lambda direction: direction.onset):
        if _DYNAMICS.search(one.xml):
            found[one.staff] = one
        elif "<wedge" in one.xml:
            # Where a wedge leads is told by what follows it, if anything.
            found.pop(one.staff, None)
    return tuple(found.values())


_Staved = TypeVar("_Staved", KeySign, Clef, Transposition)


def _by_staff(old: tuple[_Staved, ...], new: tuple[_Staved, ...]) -> tuple[_Staved, ...]:
    if any(one.staff == 0 for one in new):
        return new
    told = {one.staff for one in new}
    return tuple(one for one in old if one.staff not in told) + new


def before_each(part: Part) -> list[InForce]:
    """Return what holds before each measure of a part from what stood before it."""
    found, now = [], InForce(instrument=part.instrument)
    for measure in part.measures:
        found.append(now)
        now = now.after(measure)
    return found


def opened(measure: Measure, wanted: InForce, now: InForce) -> Measure:
    """Return a measure that says at its start what holds there and does not hold before it.

    What it says itself and holds already is not said again.

    Args:
        measure: The measure.
        wanted: What held before it in its old place.
        now: What holds before it in its new place.
    """
    loud = _with_dynamics(_with_attributes(measure, wanted, now), wanted, now)
    timed = _with_tempo(loud, wanted, now)
    return _with_chord(_without_known(timed, now), wanted, now)


def _without_known(measure: Measure, now: InForce) -> Measure:
    """Return the measure without signs at its start that hold already."""
    attributes = [one if one.onset else _news(one, now) for one in measure.attributes]
    kept = tuple(one for one in attributes if one != Attributes(0))
    directions = tuple(one for one in measure.directions if one.onset or not _is_known(one, now))
    if (kept, directions) == (measure.attributes, measure.directions):
        return measure
    return replace(measure, attributes=kept, directions=directions)


def _news(one: Attributes, now: InForce) -> Attributes:
    """Return what signs at the start of a measure change."""
    return replace(
        one,
        keys=() if one.keys == now.keys else one.keys,
        metre=None if one.metre == now.metre else one.metre,
        clefs=() if one.clefs == now.clefs else one.clefs,
        transpositions=() if one.transpositions == now.transpositions else one.transpositions,
        staves=0 if one.staves == now.staves else one.staves,
        instrument=None if one.instrument == now.instrument else one.instrument,
        details=() if one.details == now.details else one.details,
    )


def _is_known(one: Direction, now: InForce) -> bool:
    """Whether a direction is the tempo mark that holds already."""
    if one.quarters_per_minute is None or now.tempo is None:
        return False
    return replace(one, onset=0) == replace(now.tempo, onset=0)


def _with_attributes(measure: Measure, wanted: InForce, now: InForce) -> Measure:
    own = [one for one in measure.attributes if not one.onset]
    metre = wanted.metre if wanted.metre != now.metre else None
    missing = Attributes(
        0,
        keys=_missing(wanted.keys, now.keys, [one.keys for one in own]),
        metre=None if any(one.metre for one in own) else metre,
        clefs=_missing(wanted.clefs, now.clefs, [one.clefs for one in own]),
        transpositions=_missing(
            wanted.transpositions, now.transpositions, [one.transpositions for one in own]
        ),
        staves=wanted.staves if wanted.staves != now.staves else 0,
        instrument=wanted.instrument if wanted.instrument != now.instrument else None,
        details=wanted.details if wanted.details != now.details else (),
    )
    if missing == Attributes(0):
        return measure
    if not own:
        return replace(measure, attributes=(missing, *measure.attributes))
    first, *others = own
    merged = replace(
        first,
        keys=(*missing.keys, *first.keys),
        metre=first.metre or missing.metre,
        clefs=(*missing.clefs, *first.clefs),
        transpositions=(*missing.transpositions, *first.transpositions),
        staves=first.staves or missing.staves,
        instrument=first.instrument or missing.instrument,
        details=first.details or missing.details,
    )
    later = [one for one in measure.attributes if one.onset]
    return replace(measure, attributes=(merged, *others, *later))


def _missing(
    wanted: tuple[_Staved, ...], now: tuple[_Staved, ...], own: list[tuple[_Staved, ...]]
) -> tuple[_Staved, ...]:
    told = {one.staff for some in own for one in some}
    if 0 in told or wanted == now:
        return ()
    return tuple(one for one in wanted if one.staff not in told)


def _with_tempo(measure: Measure, wanted: InForce, now: InForce) -> Measure:
    tempo = wanted.tempo
    if tempo is None or any(
        one.quarters_per_minute and not one.onset for one in measure.directions
    ):
        return measure
    if now.tempo and now.tempo.quarters_per_minute == tempo.quarters_per_minute:
        return measure
    return replace(measure, directions=(replace(tempo, onset=0), *measure.directions))


def _with_dynamics(measure: Measure, wanted: InForce, now: InForce) -> Measure:
    said = {one.staff for one in measure.directions if not one.onset and _is_loudness(one)}
    held = {(one.staff, one.xml) for one in now.dynamics}
    missing = tuple(
        replace(one, onset=0)
        for one in wanted.dynamics
        if one.staff not in said and (one.staff, one.xml) not in held
    )
    return replace(measure, directions=(*missing, *measure.directions)) if missing else measure


def _is_loudness(one: Direction) -> bool:
    return bool(_DYNAMICS.search(one.xml)) or "<wedge" in one.xml


def _with_chord(measure: Measure, wanted: InForce, now: InForce) -> Measure:
    symbol = wanted.harmony
    if symbol is None or any(not one.onset for one in measure.harmonies):
        return measure
    if now.harmony and replace(now.harmony, onset=0) == replace(symbol, onset=0):
        return measure
    return replace(measure, harmonies=(replace(symbol, onset=0), *measure.harmonies))
