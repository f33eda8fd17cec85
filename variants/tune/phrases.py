"""The phrases of a tune: what the ear hears, and what the page says.

The page says more than the ear: a word is never cut, a repeat sign, a double bar or the edge of an
ending parts what it stands between, a slur holds together what is under it, a breath mark, a
fermata or the end of a sentence closes, and so does a chord of the dominant that goes to its tonic.
How much each of these adds is common practice put into numbers, unvalidated; what the ear adds was
fitted and measured (`variants.tune.gaps`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from variants.errors import UsageError
from variants.music import Metre, Pitch
from variants.score import Event, MeasureView, Part, Score, measures
from variants.score.timeline import Take, Timeline
from variants.tune.gaps import THRESHOLD, HeardMetre, SungNote, end_odds
from variants.tune.line import Tune, words_of

# Beyond any sum of the others: these decide alone.
_DECIDES = 50.0
_EVIDENCE = {
    "a breath mark": _DECIDES,
    "a repeat sign": _DECIDES,
    "a double bar": _DECIDES,
    "an ending": _DECIDES,
    "the end of a sentence": 4.0,
    "a comma in the words": 2.0,
    "a fermata": 3.0,
    "a cadence": 1.0,
    "the end of a slur": 1.0,
    "under one slur": -3.0,
    "within a word": -_DECIDES,
}
_SENTENCE, _COMMA = (".", "!", "?", ";", ":"), (",",)
_FEWEST_NOTES = 3
# A longer one is two phrases whose seam nothing marks; eight measures are the longest that first
# books print without a breath (common practice).
_LONGEST_MEASURES = 8


@dataclass(frozen=True, slots=True)
class Phrase:
    """One phrase of a tune.

    Args:
        first: Index of its first note in the tune.
        last: Index of its last note.
        reasons: What parts it from the next; empty for the last phrase.
    """

    first: int
    last: int
    reasons: tuple[str, ...] = ()


def phrases_of(
    score: Score, part: Part, tune: Tune, *, starts: Sequence[str] = ()
) -> tuple[Phrase, ...]:
    """Return the phrases of a tune, in order; together they are all of it.

    Args:
        score: The score.
        part: The part of the tune.
        tune: Its tune.
        starts: Printed numbers of the measures in which phrases begin, if the user says so; a
            phrase then begins with the first note of the tune in that measure, or as long before
            it as the tune itself begins before its first full measure, if a note begins there.

    Raises:
        UsageError: The tune has no note in a measure that is named.
    """
    notes = tune.notes
    if not notes:
        return ()
    if starts:
        return _said(part, score.ticks, notes, starts)
    evidence = _evidence(score, part, notes)
    ends = [at for at, (odds, _) in enumerate(evidence) if odds > THRESHOLD]
    kept_ends = _long_enough(ends, evidence, len(notes))
    kept_ends = _short_enough(kept_ends, evidence, notes)
    firsts = [0, *(end + 1 for end in kept_ends)]
    lasts = [*kept_ends, len(notes) - 1]
    reasons = [*(evidence[end][1] for end in kept_ends), ()]
    return tuple(Phrase(*row) for row in zip(firsts, lasts, reasons, strict=True))


def _said(
    part: Part, ticks: int, notes: Sequence[Take], starts: Sequence[str]
) -> tuple[Phrase, ...]:
    firsts = {0}
    views = measures(part, ticks)
    upbeat = views[1].start - notes[0].start if len(views) > 1 and views[0].is_pickup else 0
    beginning = {note.start: at for at, note in enumerate(notes)}
    for number in starts:
        found = [
            at for at, note in enumerate(notes) if part.measures[note.measure].number == number
        ]
        if not found:
            raise UsageError(
                f"--phrases {number}: the tune has no note in that measure",
                way_out="name measures in which a phrase begins, such as 1,5,9",
            )
        before = views[notes[found[0]].measure].start - upbeat
        firsts.add(beginning.get(before, found[0]))
    ordered = sorted(firsts)
    lasts = [*(first - 1 for first in ordered[1:]), len(notes) - 1]
    return tuple(
        Phrase(first, last, ("as you said",) if last < len(notes) - 1 else ())
        for first, last in zip(ordered, lasts, strict=True)
    )


def _long_enough(
    ends: Sequence[int], evidence: Sequence[tuple[float, tuple[str, ...]]], count: int
) -> list[int]:
    """Drop the weaker of two ends with too few notes between them."""
    kept_ends: list[int] = []
    for end in ends:
        first = kept_ends[-1] + 1 if kept_ends else 0
        if end - first + 1 >= _FEWEST_NOTES or evidence[end][0] > _DECIDES / 2:
            kept_ends.append(end)
        elif kept_ends and evidence[end][0] > evidence[kept_ends[-1]][0]:
            kept_ends[-1] = end
    while (
        kept_ends
        and count - 1 - kept_ends[-1] < _FEWEST_NOTES
        and (evidence[kept_ends[-1]][0] < _DECIDES / 2)
    ):
        kept_ends.pop()
    return kept_ends


def _short_enough(
    ends: Sequence[int],
    evidence: Sequence[tuple[float, tuple[str, ...]]],
    notes: Sequence[Take],
) -> list[int]:
    """Part what is too long at its likeliest seam, again and again."""
    found = sorted(ends)
    at = 0
    while at <= len(found):
        first = found[at - 1] + 1 if at else 0
        last = found[at] if at < len(found) else len(notes) - 1
        inner = range(first + _FEWEST_NOTES - 1, last - _FEWEST_NOTES + 1)
        measures_long = notes[last].measure - notes[first].measure + 1
        if measures_long > _LONGEST_MEASURES + 1 and inner:
            found.insert(at, max(inner, key=lambda end: (evidence[end][0], -end)))
        else:
            at += 1
    return found


def _evidence(
    score: Score, part: Part, notes: Sequence[Take]
) -> list[tuple[float, tuple[str, ...]]]:
    """Return log-odds of an end after each note but the last, with the reasons for one."""
    views = measures(part, score.ticks)
    heard = _heard(score, views, notes)
    edges = _edges(views)
    cadences = _cadences(part, views)
    events = part.kept(Timeline).by_key
    firsts = [events[note.heads[0][:3]] for note in notes]
    lasts = [events[note.heads[-1][:3]] for note in notes]
    slurred = _slurred(firsts)
    found = []
    for at, by_ear in enumerate(heard):
        signs = [
            *_word_signs(firsts[at], firsts[at + 1]),
            *_marks(lasts[at]),
            *(sign for tick, sign in edges if notes[at].start < tick <= notes[at + 1].start),
        ]
        if cadences.get(notes[at].start):
            signs.append("a cadence")
        if at in slurred:
            signs.append("under one slur" if slurred[at] else "the end of a slur")
        odds = by_ear + sum(_EVIDENCE[sign] for sign in signs)
        reasons = [sign for sign in signs if _EVIDENCE[sign] > 0]
        if by_ear > THRESHOLD:
            reasons.append(_ear_reason(notes[at], notes[at + 1]))
        found.append((odds, tuple(dict.fromkeys(reasons))))
    return found


def _ear_reason(note: Take, after: Take) -> str:
    if after.start > note.end:
        return "a rest"
    return (
        "a long note"
        if after.start - note.start >= 2 * (after.end - after.start)
        else ("length and rhythm")
    )


def _heard(score: Score, views: Sequence[MeasureView], notes: Sequence[Take]) -> list[float]:
    """Return what the ear says, metre by metre: a change of metre begins a new grid."""
    if len(notes) < 2:
        return []
    line = [SungNote(note.start, note.end, int(note.pitch.semitones)) for note in notes]
    view = views[min(1, len(views) - 1)]
    return end_odds(line, _grid(score, views, view))


def _grid(score: Score, views: Sequence[MeasureView], view: MeasureView) -> HeardMetre:
    metre = view.metre if view.metre.is_measured else Metre()
    measure = max(1, int(metre.quarters * score.ticks))
    beat = max(1, int(metre.beat_lengths[0] * score.ticks))
    # A pick-up, marked or not, puts the first downbeat where it ends.
    downbeat = views[0].measure.length if views[0].is_pickup else 0
    return HeardMetre(measure=measure, downbeat=downbeat, beat=beat)


def _word_signs(event: Event, after: Event) -> list[str]:
    words = words_of(event)
    if not words:
        # A syllable may go on over this note and the next.
        return []
    lyric = words[0]
    if lyric.syllabic in {"begin", "middle"}:
        return ["within a word"]
    if not words_of(after):
        # The next note is sung to the same syllable.
        return ["under one slur"]
    text = lyric.text.rstrip("'\"”’)»")
    if text.endswith(_SENTENCE):
        return ["the end of a sentence"]
    return ["a comma in the words"] if text.endswith(_COMMA) else []


def _marks(event: Event) -> list[str]:
    found = []
    for mark in (*event.marks, *(mark for one in event.notes for mark in one.marks)):
        if mark.name in {"breath-mark", "caesura"}:
            found.append("a breath mark")
        elif mark.family == "fermata":
            found.append("a fermata")
    return list(dict.fromkeys(found))


def _edges(views: Sequence[MeasureView]) -> list[tuple[int, str]]:
    """Return ticks from the start of the part at which the page parts the music, with the sign."""
    found: list[tuple[int, str]] = []
    for view in views:
        for one in view.measure.barlines:
            tick = view.start + (view.measure.length if one.location == "right" else one.onset)
            if one.repeat:
                found.append((tick, "a repeat sign"))
            elif one.ending is not None and one.location == "right":
                found.append((tick, "an ending"))
            elif one.style in {"light-light", "light-heavy"}:
                found.append((tick, "a double bar"))
    return found


def _cadences(part: Part, views: Sequence[MeasureView]) -> Mapping[int, bool]:
    """Return the ticks at which a chord symbol begins whose root lies a fourth above the last."""
    roots = [
        (view.start + harmony.onset, Pitch(*harmony.root, 4).pitch_class)
        for view, measure in zip(views, part.measures, strict=True)
        for harmony in measure.harmonies
        if harmony.root is not None
    ]
    found = {}
    for (_, before), (tick, root) in pairwise(roots):
        found[tick] = (root - before) % 12 == 5
    return found


def _slurred(events: Sequence[Event]) -> dict[int, bool]:
    """Return for events that a slur touches: under it (goes on to the next), or at its end."""
    found: dict[int, bool] = {}
    depth = 0
    for at, event in enumerate(events):
        slurs = [
            mark
            for mark in (*event.marks, *(m for one in event.notes for m in one.marks))
            if mark.family == "slur"
        ]
        stops = sum(mark.role == "stop" for mark in slurs)
        depth = max(0, depth - stops)
        depth += sum(mark.role == "start" for mark in slurs)
        if depth:
            found[at] = True
        elif stops:
            found[at] = False
    return found


@dataclass(frozen=True, slots=True)
class PhraseStarts:
    """Where the phrases of a source begin, and where it must not be cut.

    Args:
        starts: Time of the first note of each phrase, in measures from the start of the part.
        closes: For each phrase how little its end is a close, 0 (it is one) to 1.
        uncut: Indices of measures that no passage may begin or end in front of.
    """

    starts: tuple[float, ...]
    closes: tuple[float, ...]
    uncut: frozenset[int]


def phrase_starts(score: Score, tune: Tune, *, said: Sequence[str] = ()) -> PhraseStarts:
    """Return where the phrases of a source begin.

    Args:
        score: The source, of one part.
        tune: Its tune.
        said: Printed numbers of the measures in which phrases begin, if the user says so.

    Raises:
        UsageError: The tune has no note in a measure that is named.
    """
    part = score.parts[0]
    views = measures(part, score.ticks)
    starts = []
    found = phrases_of(score, part, tune, starts=said)
    for phrase in found:
        note = tune.notes[phrase.first]
        view = views[note.measure]
        full = view.metre.quarters * score.ticks or view.measure.length
        starts.append(note.measure + float((note.tick + view.missing * score.ticks) / full))
    closes = tuple(_openness(tune, phrase) for phrase in found)
    return PhraseStarts(tuple(starts), closes, frozenset(_uncut(part)))


# By semitones above the note that the tune ends on: the tonic closes; the other notes of its chord
# and of the dominant's end a phrase, but leave it open (half and imperfect cadences of any
# textbook of harmony); no cadence ends on the rest.
_OPENNESS = {0: 0.0, 2: 0.5, 3: 0.5, 4: 0.5, 7: 0.5, 10: 0.5, 11: 0.5}


def _openness(tune: Tune, phrase: Phrase) -> float:
    """Return how little a phrase's end is a close: 0 for a cadence on the tonic, 1 for none."""
    if "a cadence" in phrase.reasons:
        return 0.0
    degree = (tune.heights[phrase.last] - tune.heights[-1]) % 12
    return _OPENNESS.get(degree, 1.0)


def _uncut(part: Part) -> Iterator[int]:
    """Yield the measures of endings: in front of none of them may a passage end or begin."""
    inside = False
    for index, measure in enumerate(part.measures):
        ending = [one.ending[1] for one in measure.barlines if one.ending is not None]
        inside = inside or "start" in ending
        if inside:
            yield index
        inside = inside and not {"stop", "discontinue"} & set(ending)
