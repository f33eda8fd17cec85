"""What other readers find in a MusicXML file, as countable facts: music21, partitura, musicdiff."""

from __future__ import annotations

import tempfile
import warnings
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from importlib import import_module
from pathlib import Path
from typing import Any

# (kind of thing, part, measure, quarters in the measure, what it is)
Found = tuple[str, int, int, Fraction, str]
KINDS = (
    "note",
    "tie",
    "tuplet",
    "slur",
    "articulation",
    "ornament",
    "lyric",
    "chord symbol",
    "dynamic",
    "wedge",
    "words",
    "repeat",
    "ending",
)


def _quarters(value: float | Fraction) -> Fraction:
    # Both readers hold binary floats or snap tuplets to fractions.
    return Fraction(value).limit_denominator(4096)


# -- music21 ---------------------------------------------------------------------------------


def by_music21(data: bytes) -> Counter[Found]:
    """Return what music21 finds in a partwise or timewise file."""
    stream = parsed_by_music21(data)
    found: Counter[Found] = Counter()
    for number, part in enumerate(stream.parts):
        where: dict[int, tuple[int, Fraction]] = {}
        for index, measure in enumerate(part.getElementsByClass("Measure")):
            found.update(_music21_measure(number, index, measure, where))
        found.update(_music21_spans(number, part, where))
    return found


def parsed_by_music21(data: bytes) -> Any:  # noqa: ANN401 - music21 is not typed
    """Return the stream that music21 makes of a file."""
    from music21 import converter

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return converter.parseData(data, format="musicxml")


def _music21_measure(
    part: int,
    index: int,
    measure: Any,  # noqa: ANN401 - music21 is not typed
    where: dict[int, tuple[int, Fraction]],
) -> Iterator[Found]:
    for side in (measure.leftBarline, measure.rightBarline):
        if side is not None and "Repeat" in side.classes:
            yield "repeat", part, index, Fraction(0), f"{side.direction} {side.times or ''}"
    for element in measure.recurse():
        onset = _quarters(element.getOffsetInHierarchy(measure))
        where[id(element)] = (index, onset)
        if "Harmony" in element.classes:
            yield "chord symbol", part, index, onset, str(element.figure)
        elif "Dynamic" in element.classes:
            yield "dynamic", part, index, onset, str(element.value)
        elif "TextExpression" in element.classes:
            yield "words", part, index, onset, str(element.content)
        elif "NotRest" in element.classes:
            yield from _music21_note(part, index, onset, element)


def _music21_note(part: int, index: int, onset: Fraction, element: Any) -> Iterator[Found]:  # noqa: ANN401
    length = "grace" if element.duration.isGrace else str(_quarters(element.quarterLength))
    for one in element.notes if hasattr(element, "notes") else (element,):
        pitch = getattr(one, "pitch", None)
        name = pitch.name if pitch is not None else "unpitched"
        yield "note", part, index, onset, f"{name} {length}"
        if one.tie is not None:
            yield "tie", part, index, onset, f"{name} {one.tie.type}"
    for tuplet in element.duration.tuplets:
        ratio = f"{tuplet.numberNotesActual}:{tuplet.numberNotesNormal}"
        yield "tuplet", part, index, onset, f"{ratio} {tuplet.type or ''}"
    for mark in element.articulations:
        yield "articulation", part, index, onset, mark.name
    for mark in element.expressions:
        yield "ornament", part, index, onset, mark.name
    for lyric in element.lyrics:
        yield "lyric", part, index, onset, f"{lyric.number} {lyric.text} {lyric.syllabic}"


def _music21_spans(
    part: int,
    stream: Any,  # noqa: ANN401 - music21 is not typed
    where: dict[int, tuple[int, Fraction]],
) -> Iterator[Found]:
    kinds = {"Slur": "slur", "DynamicWedge": "wedge"}
    for span in stream.spannerBundle:
        if "RepeatBracket" in span.classes:
            yield "ending", part, 0, Fraction(0), f"{span.number} {len(span)}"
            continue
        kind = next((kinds[name] for name in kinds if name in span.classes), "")
        held = [where[id(one)] for one in span if id(one) in where]
        if kind and held:
            (index, onset), end = held[0], held[-1]
            if kind == "wedge":
                # Its ends are the notes next to it in the file, which an offset does not move.
                yield kind, part, -1, Fraction(0), str(span.classes[0])
            else:
                yield kind, part, index, onset, f"{span.classes[0]} to {end[0]} {end[1]}"


# -- partitura -------------------------------------------------------------------------------


def by_partitura(data: bytes) -> Counter[Found]:
    """Return what partitura finds in a partwise file."""
    import partitura

    found: Counter[Found] = Counter()
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        path = Path(folder) / "score.musicxml"
        path.write_bytes(data)
        score = partitura.load_musicxml(str(path))
    for number, part in enumerate(score.parts):
        found.update(_partitura_part(number, part))
    return found


def _partitura_part(number: int, part: Any) -> Iterator[Found]:  # noqa: ANN401 - not typed
    from partitura import score as library

    starts = [int(one.start.t) for one in part.iter_all(library.Measure)]
    quarter = part.quarter_map

    def at(point: Any) -> tuple[int, Fraction]:  # noqa: ANN401 - not typed
        if point is None:
            return -1, Fraction(0)
        index = max((i for i, t in enumerate(starts) if t <= point.t), default=0)
        return index, _quarters(float(quarter(point.t)) - float(quarter(starts[index])))

    for note in part.iter_all(library.GenericNote, include_subclasses=True):
        if not isinstance(note, library.Rest):
            yield from _partitura_note(number, note, at(note.start))
    kinds = (
        (library.LoudnessDirection, "dynamic"),
        (library.Words, "words"),
        (library.Harmony, "chord symbol"),
        (library.Repeat, "repeat"),
        (library.Ending, "ending"),
        (library.Slur, "slur"),
        (library.Tuplet, "tuplet"),
    )
    for kind, name in kinds:
        for one in part.iter_all(kind, include_subclasses=True):
            index, onset = at(one.start)
            if name in _OFFSET:
                index, onset = -1, Fraction(0)
            text = getattr(one, "text", None) or getattr(one, "number", None) or ""
            yield name, number, index, onset, f"{text} to {at(one.end)}" if name in _SPANS else text


# partitura does not read the offset of a direction, which we resolve, so that it stands elsewhere.
_OFFSET = {"dynamic", "words", "chord symbol"}
_SPANS = {"repeat", "ending", "slur", "tuplet"}


def _partitura_note(
    part: int,
    note: Any,  # noqa: ANN401 - not typed
    place: tuple[int, Fraction],
) -> Iterator[Found]:
    index, onset = place
    step, alter = getattr(note, "step", "unpitched"), getattr(note, "alter", None) or 0
    name = f"{step}{alter or ''}"
    yield "note", part, index, onset, f"{name} {note.symbolic_duration.get('type', '')}"
    if note.tie_next is not None:
        yield "tie", part, index, onset, name
    for mark in note.articulations or ():
        yield "articulation", part, index, onset, str(mark)
    for mark in note.ornaments or ():
        yield "ornament", part, index, onset, str(mark)


# -- musicdiff -------------------------------------------------------------------------------


def by_musicdiff(before: bytes, after: bytes) -> Counter[str]:
    """Return the edits by which musicdiff makes the second file of the first, by their kind."""
    # Its names are imported by its package without being told to be for others.
    musicdiff: Any = import_module("musicdiff")

    levels = musicdiff.DetailLevel
    # The octave clef that we state where the source leaves it open is no loss.
    detail = levels.AllObjects & ~levels.Signatures & ~levels.StaffDetails
    scores = [musicdiff.AnnScore(parsed_by_music21(data), detail) for data in (before, after)]
    operations, _ = musicdiff.Comparison.annotated_scores_diff(*scores)
    return Counter(str(one[0]) for one in operations)
