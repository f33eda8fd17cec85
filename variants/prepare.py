"""Make a score ready for steps: which part, which octave, which strings, whose fingering.

The reader says what a file says and no more. What a player means by it (this part is for my
guitar, tuned so, with a capo here) is settled in this module, once, before the first step.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from variants.errors import Refusal, UsageError
from variants.guitar import (
    SCALE_LENGTHS_MM,
    Tuning,
    instrument_for,
    named_tuning,
    parse_tuning,
)
from variants.guitar.instrument import BUILDS
from variants.musicxml import Reading, settle_octaves
from variants.score import (
    STANDARD_GUITAR,
    Change,
    Instrument,
    Part,
    Score,
    map_notes,
    notes,
    with_parts,
    without_places,
)
from variants.score.notation import with_beams
from variants.score.strung import told_change, tunings

ALL_PARTS = "all"
_LISTED_PARTS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Strings:
    """What the player says of the instrument; whatever is left out, the file says.

    Args:
        tuning: A tuning's name or its notes; empty for the file's, or else the standard guitar.
        capo: Fret of the capo; ``None`` for the file's.
        frets: Number of frets; ``None`` for those that the kind of instrument has.
        scale_length_mm: Length of the open string; ``None`` for that of the kind.
        keep_places: Keep the places and fingers of the file where they still sound right.
    """

    tuning: str = ""
    capo: int | None = None
    frets: int | None = None
    scale_length_mm: float | None = None
    keep_places: bool = False

    @property
    def says_nothing(self) -> bool:
        """Whether all of the instrument is left to the file."""
        told = (self.capo, self.frets, self.scale_length_mm)
        return not self.tuning and all(value is None for value in told)


def parse_scale_length(text: str) -> float:
    """Read the length of the open string: millimetres, or the size of a guitar.

    Raises:
        UsageError: It is neither.

    >>> parse_scale_length("3/4"), parse_scale_length("640")
    (578.0, 640.0)
    """
    known = SCALE_LENGTHS_MM.get(text.strip().lower())
    if known is not None:
        return known
    try:
        return float(text.strip().lower().removesuffix("mm"))
    except ValueError:
        raise UsageError(
            f"{text!r} is no scale length",
            way_out=f"give it in mm, or as one of {', '.join(SCALE_LENGTHS_MM)}",
        ) from None


def pick_part(score: Score, wish: str) -> str:
    """Return the id of the part that is meant; empty when the score stays as it is.

    Args:
        score: As read.
        wish: An id, a name, ``all``, or empty: then the only part, else the only one that has
            tab or is for guitar.

    Raises:
        UsageError: There is no such part, or several could be meant; the message lists them.
    """
    if wish.casefold() == ALL_PARTS or (not wish and len(score.parts) == 1):
        return ""
    if wish:
        return _named(score, wish).id
    sounding = [part for part in score.parts if any(notes(part))]
    fretted = [part for part in score.parts if part.instrument is not None]
    # A guitar that only rests is not what somebody wants a version of, where others play.
    playing = [part for part in fretted if part in sounding] if sounding else fretted
    if len(fretted) == len(playing) == 1:
        return fretted[0].id
    several = f"{len(fretted)} of them for guitar" if fretted else "none of them for guitar"
    if len(fretted) == 1:
        several = f"and the one for guitar ({parts_text(fretted)}) has only rests"
    raise UsageError(
        f"the score has {len(score.parts)} parts, {several}",
        way_out=f"choose with --part one of {parts_text(score.parts)}, or all",
    )


def _named(score: Score, wish: str) -> Part:
    folded = wish.casefold()
    for found in (
        [part for part in score.parts if part.id == wish],
        [part for part in score.parts if folded in (part.id.casefold(), part.name.casefold())],
    ):
        if len(found) == 1:
            return found[0]
        if found:
            raise UsageError(
                f"{len(found)} parts are called {wish!r}",
                way_out=f"choose one by its id: {', '.join(part.id for part in found)}",
            )
    raise UsageError(
        f"there is no part {wish!r}", way_out=f"choose one of {parts_text(score.parts)}"
    )


def parts_text(parts: Iterable[Part]) -> str:
    """Return ids and names of parts in a row: ``P1 (Voice), P2 (Guitar)``."""
    texts = [f"{part.id} ({part.name})" if part.name else part.id for part in parts]
    left = len(texts) - _LISTED_PARTS
    shown = ", ".join(texts[:_LISTED_PARTS])
    return f"{shown} and {left} more" if left > 0 else shown


def prepare(score: Score, reading: Reading | str, strings: Strings) -> Score:
    """Return a score with its octaves settled and its fretted parts strung.

    A score of one part is taken to be for the player, so a part without an instrument gets the
    standard guitar; among several parts only those that are for guitar are strung.

    Args:
        score: As read, with the parts that are wanted.
        reading: How a plain treble clef sounds.
        strings: Tuning, capo, and whether to keep the fingering of the file.

    Raises:
        UsageError: A tuning or capo that no instrument has, or one that fits none of the parts.
        Refusal: Strings or capo change in a part that is strung, and no one tuning is named.
    """
    tuning = parse_tuning(strings.tuning) if strings.tuning else None
    settled = settle_octaves(score, Reading.parse(reading))
    is_only = len(settled.parts) == 1
    parts: list[Part] = []
    changes: list[Change] = []
    strung = 0
    for part in settled.parts:
        done, lines = part, list[Change]()
        if is_only or part.instrument is not None:
            done, lines = _strung(with_beams(part, settled.ticks), tuning, strings)
        if not strings.keep_places:
            done = map_notes(done, without_places)
        strung += done.instrument is not None
        parts.append(done)
        changes += lines
    if not strung and not strings.says_nothing:
        raise UsageError(
            "no part is for guitar, so there is nothing to tune",
            way_out="leave tuning, capo, frets and scale out, or choose one part with --part",
        )
    return with_parts(settled, parts, changes)


def _strung(part: Part, tuning: Tuning | None, strings: Strings) -> tuple[Part, list[Change]]:
    if not any(note.pitch is not None for note in notes(part)):
        text = "the part has no pitched notes, so there is nothing to play on a guitar"
        return part, [Change(text, "read", part=part.id)]
    _check_one_tuning(part, strings)
    under = tunings(part)
    said = under[0][2] if under else part.instrument
    part = replace(part, instrument=said)
    instrument = _instrument(part, tuning, strings)
    done = replace(_without_tunings(part), instrument=instrument)
    changes: list[Change] = []
    if tuning is None and instrument.assumed:
        text = "the file names no tuning; a guitar in standard tuning is assumed (see --tuning)"
        changes.append(Change(text, "read", part=part.id))
    if len(under) > 1:
        told = ", ".join(part.measures[index].number for index, _, _ in under[1:])
        text = f"strings or capo change in the file (measure {told}); what was named holds"
        changes.append(Change(text, "read", part=part.id))
    if said is not None and (len(under) > 1 or said.open_midi != instrument.open_midi):
        done, lines = _without_frames(done)
        changes += lines
        if strings.keep_places:
            done, lines = _without_wrong_places(done, instrument)
            changes += lines
    return done, changes


def _instrument(part: Part, tuning: Tuning | None, strings: Strings) -> Instrument:
    """Return the instrument, with frets and scale length of its kind where a tuning tells it."""
    said = part.instrument or STANDARD_GUITAR
    known = tuning or named_tuning(said.open_strings)
    frets = strings.frets
    if frets is None:
        used = max((note.place.fret for note in notes(part) if note.place), default=0)
        frets = max(BUILDS[known.kind].frets if known else said.frets, used + said.capo)
    built = instrument_for(
        known or Tuning(_notes_text(said), said.open_strings[::-1], first_frets=said.first_frets),
        capo=said.capo if strings.capo is None else strings.capo,
        frets=frets,
        scale_length_mm=strings.scale_length_mm or (None if known else said.scale_length_mm),
    )
    return replace(built, assumed=said.assumed and tuning is None)


def _notes_text(instrument: Instrument) -> str:
    return "-".join(str(pitch) for pitch in reversed(instrument.open_strings))


def _check_one_tuning(part: Part, strings: Strings) -> None:
    """Check that the notes of a part are all played on strings that are tuned alike.

    Raises:
        Refusal: Strings or capo change, and the player has not said what is meant for all of it.
    """
    for (_, _, before), (index, tick, after) in pairwise(tunings(part)):
        is_settled = bool(strings.tuning) or before.open_strings == after.open_strings
        if is_settled and (strings.capo is not None or before.capo == after.capo):
            continue
        first, here = part.measures[0], part.measures[index]
        starts = (e.onset for e in here.events if e.notes)
        way_out = "name what holds for all of it (--tuning, --capo)"
        if index and min(starts) == tick:
            until = part.measures[index - 1].number
            way_out = (
                f"make one of each stretch (vary -s measures:range={first.number}-{until}, "
                f"-s measures:range={here.number}-), or {way_out}"
            )
        raise Refusal(
            f"{told_change(before, after)} here, and a version has one tuning from start to end",
            place=f"part {part.id}, measure {here.number}",
            way_out=way_out,
        )


def _without_tunings(part: Part) -> Part:
    """Return the part without the tunings that are stated in it: its instrument says it once."""
    return replace(
        part,
        measures=tuple(
            replace(
                measure,
                attributes=tuple(replace(one, instrument=None) for one in measure.attributes),
            )
            if any(one.instrument for one in measure.attributes)
            else measure
            for measure in part.measures
        ),
    )


def _without_frames(part: Part) -> tuple[Part, list[Change]]:
    """Drop chord diagrams, which are drawn for the strings of the source."""
    count = sum(bool(one.frame) for measure in part.measures for one in measure.harmonies)
    if not count:
        return part, []
    done = tuple(
        replace(m, harmonies=tuple(replace(one, frame="") for one in m.harmonies))
        for m in part.measures
    )
    drawn = "chord diagram is drawn" if count == 1 else "chord diagrams are drawn"
    text = f"{count} {drawn} for other strings and left out"
    return replace(part, measures=done), [Change(text, "read", part=part.id)]


def _without_wrong_places(part: Part, instrument: Instrument) -> tuple[Part, list[Change]]:
    """Drop the places that do not sound their note on the new strings."""
    placed = [note for note in notes(part) if note.place is not None and note.pitch is not None]
    wrong = {
        note
        for note in placed
        if note.place and note.pitch and instrument.sounding(note.place) != note.pitch.midi
    }
    if not wrong:
        return part, []
    count = sum(note in wrong for note in placed)
    of_them = f"{count} of {len(placed)} places"
    text = f"{of_them} of the file are on other strings and were chosen anew"
    done = map_notes(part, lambda note: without_places(note) if note in wrong else note)
    return done, [Change(text, "read", part=part.id)]
