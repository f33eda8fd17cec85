"""All marks, how they are asked for, and how they are put on a score and taken off."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches

from variants.errors import UsageError
from variants.fingering.score import HandPlace
from variants.marks import chords, counting, fingers, names, plucking, strings, strokes
from variants.marks.directions import without_directions
from variants.marks.lines import CHORDS, COUNTING, NAMES, RESTING, without_line
from variants.marks.marking import Marking, MarkJob, MarkKind
from variants.marks.own import without_technical
from variants.marks.positions import BARRE, POSITION, put_positions
from variants.score import Change, Part, Score, with_parts
from variants.score.sides import with_stems

FINGERING, POSITIONS = fingers.FINGERING, "positions"
NONE = "none"


def _without_strokes(part: Part) -> Part:
    return without_line(without_technical(part, strokes.STROKES, strokes.SIGNS), RESTING)


def _without_strings(part: Part) -> Part:
    return without_technical(part, strings.STRINGS, strings.SIGNS)


# In the order in which they are put on: lyric lines from the staff downwards.
_ALL = (
    MarkKind(
        name=FINGERING,
        help="the fretting finger of each note",
        put=fingers.put_fingering,
        off=fingers.without_fingering,
        choices=fingers.CHOICES,
    ),
    MarkKind(
        name=POSITIONS,
        help="Roman numerals at shifts, and barres with a bracket",
        put=put_positions,
        off=lambda part: without_directions(part, (POSITION, BARRE)),
    ),
    MarkKind(
        name=COUNTING,
        help="counting syllables under the notes, held and silent beats in brackets",
        put=counting.put_counting,
        off=lambda part: without_line(part, COUNTING),
        choices=counting.CHOICES,
        fretted=False,
        nothing="nothing was counted: there is no metre, or nothing in it",
    ),
    MarkKind(
        name=CHORDS,
        help="chord names under the notes, from the chord symbols",
        put=chords.put_chords,
        off=lambda part: without_line(part, CHORDS),
        choices=chords.CHOICES,
        fretted=False,
        nothing="no chord names were written: the score has no chord symbols",
    ),
    MarkKind(
        name=NAMES,
        help="note names under the notes, the highest on top",
        put=names.put_names,
        off=lambda part: without_line(part, NAMES),
        choices=names.CHOICES,
        fretted=False,
    ),
    MarkKind(
        name=strokes.STROKES,
        help="pick strokes by metre: down on the beat, up off it",
        put=strokes.put_strokes,
        off=_without_strokes,
        choices=strokes.CHOICES,
        nothing="no strokes were written: there is no fretted part, or it has its own",
    ),
    MarkKind(
        name=plucking.PLUCKING,
        help="plucking fingers p i m a for fingerstyle",
        put=plucking.put_plucking,
        off=plucking.without_plucking,
        nothing="no plucking fingers were written: no note has a place on a string",
    ),
    MarkKind(
        name=strings.STRINGS,
        help="circled string numbers where a place is not the obvious one",
        put=strings.put_strings,
        off=_without_strings,
        choices=strings.CHOICES,
    ),
)
MARKS: Mapping[str, MarkKind] = {kind.name: kind for kind in _ALL}
# What a variant carries when nothing is said.
USUAL = (Marking(FINGERING), Marking(POSITIONS))


def parse_marks(text: str | Iterable[str]) -> tuple[Marking, ...]:
    """Return the marks that are asked for, in the order of the registry.

    Args:
        text: ``counting=takadimi,names``; words of one mark are joined by ``+``. ``none`` or
            nothing asks for no mark. Several texts are read as one.

    Raises:
        UsageError: There is no such mark or word, or a mark is named twice.

    >>> [str(one) for one in parse_marks("names,counting=te-ta+eighths")]
    ['counting=te-ta+eighths', 'names']
    """
    texts = [text] if isinstance(text, str) else list(text)
    items = [item.strip() for one in texts for item in one.split(",") if item.strip()]
    if NONE in items:
        if len(items) > 1:
            raise UsageError("none stands beside other marks", way_out="say none alone or leave it")
        return ()
    found: dict[str, Marking] = {}
    for item in items:
        marking = _marking(item)
        if marking.name in found:
            raise UsageError(f"the mark {marking.name} is named twice", way_out="name it once")
        found[marking.name] = marking
    return tuple(found[name] for name in MARKS if name in found)


def _marking(item: str) -> Marking:
    name, equals, value = item.partition("=")
    kind = MARKS.get(name)
    if kind is None:
        raise UsageError(f"there is no mark {name!r}", way_out=_nearest(name, [*MARKS, NONE]))
    words = value.split("+") if equals else []
    known = [word for choice in kind.choices for word in choice.words]
    taken: dict[str, str] = {}
    for word in words:
        if word not in known:
            cause = f"{name} has no choice {word!r}"
            raise UsageError(cause, way_out=_nearest(word, known))
        choice = next(one.name for one in kind.choices if word in one.words)
        if choice in taken:
            cause = f"{name} has both {taken[choice]} and {word}"
            raise UsageError(cause, way_out="say one of them")
        taken[choice] = word
    return Marking(name, tuple(words))


def _nearest(word: str, known: Sequence[str]) -> str:
    if not known:
        return "it is written without any"
    close = get_close_matches(word, known, n=1)
    return f"did you mean {close[0]}?" if close else f"use {', '.join(known)}"


def apply_marks(
    score: Score,
    hands: Mapping[int, Sequence[HandPlace]],
    marks: str | Iterable[Marking | str],
) -> Score:
    """Return the score with just the marks that are asked for.

    Other marks of ours come off; the source's own signs stay. Fingers are those that the notes
    have: the fingering engine sets them, see `variants.finish`. Pitches, durations and places are
    never changed. Applied again it gives the same score.

    Args:
        score: The score.
        hands: For each fingered part by its place in the score, the hand along time.
        marks: The marks, or a text for `parse_marks`.

    Raises:
        UsageError: The text names no mark.
    """
    asked = parse_marks(marks if isinstance(marks, str) else [str(one) for one in marks])
    wanted = {marking.name: marking for marking in asked}
    bare = remove_marks(score, [name for name in MARKS if name not in {*wanted} & {FINGERING}])
    parts = list(bare.parts)
    log: list[Change] = []
    for kind in _ALL:
        if kind.name not in wanted:
            continue
        before = tuple(parts)
        chosen = kind.chosen(wanted[kind.name].options)
        for index, part in enumerate(parts):
            if part.instrument is not None or not kind.fretted:
                held = hands.get(index, ())
                job = MarkJob(part=part, ticks=score.ticks, hands=held, chosen=chosen)
                parts[index] = kind.put(job)
        if kind.nothing and all(a is b or a == b for a, b in zip(before, parts, strict=True)):
            log.append(Change(kind.nothing, kind.name))
    stemmed = [_with_stems(part) if part.instrument is not None else part for part in parts]
    return with_parts(bare, stemmed, [line for line in log if line not in bare.changes])


def _with_stems(part: Part) -> Part:
    done = tuple(map(with_stems, part.measures))
    return part if done == part.measures else replace(part, measures=done)


def remove_marks(score: Score, names: Iterable[str] | None = None) -> Score:
    """Return the score without our marks; what the source had of its own stays.

    Args:
        score: The score.
        names: Names of marks; ``None`` for all.

    Raises:
        UsageError: There is no such mark.
    """
    parts = list(score.parts)
    for name in MARKS if names is None else names:
        if name not in MARKS:
            raise UsageError(f"there is no mark {name!r}", way_out=_nearest(name, list(MARKS)))
        parts = [MARKS[name].off(part) for part in parts]
    return with_parts(score, parts)
