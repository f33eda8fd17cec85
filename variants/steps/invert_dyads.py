"""Two-note chords turned upside down: one note moves past the other by octaves."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import ClassVar

from variants.contract import TIMES, Promise
from variants.errors import UsageError
from variants.music import Interval, Pitch
from variants.score import (
    Change,
    Event,
    Instrument,
    Note,
    NoteKey,
    Part,
    Score,
    Struck,
    map_keyed,
    timeline,
    with_parts,
    without_places,
)
from variants.score.roots import roots
from variants.score.timeline import Moment
from variants.steps.framework.log import Scribe, count, scribe
from variants.steps.framework.reading import choice, joined, parsed
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.links import held_heights
from variants.steps.places.jumps import turned
from variants.steps.places.pairs import easiest_pairs
from variants.steps.voicing.symbol_basses import with_basses
from variants.steps.wording.words import interval_noun

NAME = "invert-dyads"
_FIFTH_AND_FOURTH = (Interval.parse("P5"), Interval.parse("P4"))
_OTHER = {"lower": "upper", "upper": "lower"}
# The root moves where that saves so many frets of travel and stretch for each dyad (our own).
_WORTH = 0.5
_OUT_OF_RANGE = "the instrument cannot play"


@register(
    NAME,
    examples=(
        "invert-dyads",
        "invert-dyads:root=top",
        "invert-dyads:move=lower,intervals=M3+m6+m3+M6",
        "invert-dyads:move=upper-down,intervals=all",
    ),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class InvertDyads(Checked):
    """Turn two-note chords upside down: fifth to fourth, third to sixth, and back.

    One note moves past the other by an octave, or by two where they are more than an octave
    apart. Chords of three and more notes, single notes, octaves, and pairs whose notes stand
    in two voices stay as they are. Places on the neck of what changes are erased.

    Without ``move`` it is the same note that moves in all dyads of a part: the one that is not the
    root, unless the hand travels and stretches clearly less when the root moves (power chords
    written as fourths go down to their fifths, as first books have them). Where one of the two
    leaves the range of the instrument, or strikes a note that another voice holds, it is the
    other; dyad by dyad only where neither can move in all. A chord symbol that stands over a
    dyad and names its lowest note gets the new one as its bass. With ``root`` only those are
    inverted whose root (of the chord symbol, else of the interval) is not there yet.
    """

    root: str = parameter("", "where the root shall be, if it is not yet", choice("top", "bottom"))
    move: str = parameter(
        "",
        "which note moves",
        choice("lower", "upper", also={"lower-up": "lower", "upper-down": "upper"}),
    )
    intervals: tuple[Interval, ...] = parameter(
        _FIFTH_AND_FOURTH,
        "which dyads",
        joined(
            parsed(Interval, Interval.parse, "P5"), "P5+P4, M3+m6, ... or all", all_of_them="all"
        ),
    )
    keeps: ClassVar[frozenset[Promise]] = frozenset({Promise.PITCH_CLASSES, *TIMES})

    def check_together(self) -> None:
        """See `Checked`."""
        if any(interval.semitones % 12 == 0 for interval in self.intervals):
            raise UsageError(
                "intervals: an octave or unison has no inversion", way_out="leave it out"
            )

    def __call__(self, score: Score) -> Score:
        """Return the score with its dyads inverted.

        Raises:
            Refusal: Neither note of a dyad can move within the range of the instrument.
        """
        parts, changes = [], []
        for part in score.parts:
            inverted, lines = _invert(part, self, scribe(NAME, score, part))
            parts.append(inverted)
            changes += lines
        return with_parts(score, parts, changes)

    def wants(self, dyad: _Dyad) -> bool:
        """Whether a dyad is one to invert."""
        size = (dyad.high.pitch.midi - dyad.low.pitch.midi) % 12
        if size == 0:
            return False
        if self.intervals and size not in {one.semitones % 12 for one in self.intervals}:
            return False
        return not self.root or (self.root == "top") == dyad.root_is_low


@dataclass(frozen=True, slots=True)
class _Dyad:
    """Two notes that are struck together in one event and alone in their part."""

    moment: Moment
    low: Struck
    high: Struck
    root_is_low: bool

    @property
    def usual_move(self) -> str:
        """The note that moves if nobody says which: not the root."""
        return "upper" if self.root_is_low else "lower"

    def moved(self, which: str) -> tuple[NoteKey, Pitch, Pitch]:
        """Return the key of the note that moves, its new pitch, and the pitch that stays."""
        octaves = int((self.high.pitch.semitones - self.low.pitch.semitones) // 12) + 1
        if which == "lower":
            return self.low.key, self.low.pitch.moved_octaves(octaves), self.high.pitch
        return self.high.key, self.high.pitch.moved_octaves(-octaves), self.low.pitch


def _invert(part: Part, step: InvertDyads, log: Scribe) -> tuple[Part, list[Change]]:
    found, left = _dyads(part)
    wanted = [dyad for dyad in found if step.wants(dyad)]
    if not wanted:
        return part, [log.overall(_nothing(step)), *_left_alone(log, left, found)]
    moves, lines = _moves(wanted, step.move, part, log)
    new: dict[NoteKey, Pitch] = {}
    basses: dict[Moment, tuple[Pitch, Pitch]] = {}
    for dyad, which in zip(wanted, moves, strict=True):
        key, pitch, stays = dyad.moved(which)
        new[key] = pitch
        low = pitch if pitch.semitones < stays.semitones else stays
        basses[dyad.moment] = dyad.low.pitch, low
    for stop, start in timeline(part).ties.items():
        if start in new:
            new[stop] = new[start]
    turned_over = f"{count(len(wanted), 'two-note chord')} turned upside down: {_sizes(wanted)}"
    headline = log.overall(turned_over)
    rest = [dyad for dyad in found if not step.wants(dyad)]
    done, told = with_basses(_with_pitches(part, new), basses, log)
    done, signs = turned(done, log)
    return done, [headline, *lines, *told, *signs, *_left_alone(log, left, rest)]


def _dyads(part: Part) -> tuple[list[_Dyad], Counter[str]]:
    """Return the dyads of a part, and how many other onsets of several notes there are."""
    root_at = roots(part)
    found: list[_Dyad] = []
    left: Counter[str] = Counter()
    for moment, struck in timeline(part).struck.items():
        events = {one.key[:3] for one in struck}
        if len(struck) == 2 and len(events) > 1:
            left["pair of notes in two voices"] += 1
        elif len(struck) > 1:
            index, voice, event = struck[0].key[:3]
            held = len(part.measures[index].voices[voice].events[event].notes) > 2
            if len(struck) > 2 or held:
                left["chord of three or more notes"] += 1
                continue
            low, high = sorted(struck, key=lambda one: one.pitch.semitones)
            root = root_at[moment]
            found.append(_Dyad(moment, low, high, root.pitch_class == low.pitch.pitch_class))
    return found, left


def _sizes(dyads: list[_Dyad]) -> str:
    """Return how many dyads there are of each size, in words."""
    sizes = Counter(Interval.between(dyad.low.pitch, dyad.high.pitch).simple for dyad in dyads)
    by_size = sorted(sizes.items(), key=lambda one: one[0].semitones)
    return ", ".join(count(number, interval_noun(size)) for size, number in by_size)


def _nothing(step: InvertDyads) -> str:
    names = " or ".join(map(interval_noun, step.intervals)) or "two-note chord"
    return f"no {names} to turn upside down: nothing is changed"


def _left_alone(log: Scribe, left: Counter[str], others: list[_Dyad]) -> list[Change]:
    lines = [
        f"{number} {kind.replace('pair', 'pairs').replace('chord', 'chords')} left alone"
        if number > 1
        else f"1 {kind} left alone"
        for kind, number in sorted(left.items())
    ]
    if others:
        lines.append(f"{count(len(others), 'other two-note chord')} left alone: {_sizes(others)}")
    return [log.overall(line) for line in lines]


def _moves(
    dyads: list[_Dyad], asked: str, part: Part, log: Scribe
) -> tuple[list[str], list[Change]]:
    """Choose the note that moves in each dyad.

    Raises:
        Refusal: Neither can.
    """
    first = [asked or dyad.usual_move for dyad in dyads]
    second = [_OTHER[move] for move in first]
    whys, others = (
        [_why_not(part, dyad, move) for dyad, move in zip(dyads, moves, strict=True)]
        for moves in (first, second)
    )
    if asked:
        if not any(whys):
            return first, []
    elif not any(whys) or not any(others):
        return _uniform(part, dyads, (first, whys), (second, others), log)
    moves: list[str] = []
    lines: list[Change] = []
    for dyad, move, why, other in zip(dyads, first, whys, others, strict=True):
        is_out = why.startswith(_OUT_OF_RANGE)
        if is_out and other.startswith(_OUT_OF_RANGE):
            raise _refusal(dyad, part.instrument, log)
        turns = is_out or (why and not other)
        moves.append(_OTHER[move] if turns else move)
        if turns:
            note = "lower note goes up" if move == "upper" else "upper note goes down"
            lines.append(log.at(*dyad.moment[:2], f"the {note} instead: {why}"))
        elif why:
            lines.append(log.at(*dyad.moment[:2], f"{why}, and goes on under the new one"))
    return moves, lines


def _uniform(
    part: Part,
    dyads: list[_Dyad],
    usual: tuple[list[str], list[str]],
    other: tuple[list[str], list[str]],
    log: Scribe,
) -> tuple[list[str], list[Change]]:
    """Choose one of two ways for all dyads, at least one of which is possible throughout.

    Args:
        part: The part.
        dyads: What is turned.
        usual: The note of each dyad that moves if the root stays, and why it may not.
        other: The same if the root moves.
        log: Writes the line.
    """
    if any(usual[1]):
        line = "the root moves, because the other note would leave the instrument's range"
        if not any(why.startswith(_OUT_OF_RANGE) for why in usual[1]):
            line = "the root moves, because the other note would be struck while it is held"
        return other[0], [log.overall(line)]
    instrument = part.instrument
    if any(other[1]) or instrument is None:
        return usual[0], []
    here, there = (
        easiest_pairs(
            [_pair(dyad, move) for dyad, move in zip(dyads, moves, strict=True)], instrument
        )
        for moves in (usual[0], other[0])
    )
    if here is None or there is None or here.effort - there.effort < _WORTH * len(dyads):
        return usual[0], []
    ways = {"lower": "goes up", "upper": "goes down"}
    went = next(iter(ways[move] for move in other[0])) if len(set(other[0])) == 1 else "moves"
    line = f"the root {went} in all of them: {there.frets}, instead of {here.frets}"
    return other[0], [log.overall(line)]


def _pair(dyad: _Dyad, move: str) -> tuple[int, int]:
    _, moved, stays = dyad.moved(move)
    return min(moved.midi, stays.midi), max(moved.midi, stays.midi)


def _why_not(part: Part, dyad: _Dyad, move: str) -> str:
    """Return in words why a note should not move; empty if it may."""
    _, moved, stays = dyad.moved(move)
    instrument = part.instrument
    if instrument is not None:
        others = instrument.places(stays.midi)
        if not any(
            one.string != other.string for one in instrument.places(moved.midi) for other in others
        ):
            return f"{_OUT_OF_RANGE} {moved}"
    index, tick, grace = dyad.moment
    if not grace and moved.semitones in held_heights(part.measures[index], tick):
        return f"another voice holds {moved} there"
    return ""


def _refusal(dyad: _Dyad, instrument: Instrument | None, log: Scribe) -> Exception:
    reach = f" (MIDI {instrument.lowest} to {instrument.highest})" if instrument else ""
    return log.refusal(
        dyad.moment[0],
        dyad.moment[1],
        f"neither note of {dyad.low.pitch} {dyad.high.pitch} can move past the other within the"
        f" range of the instrument{reach}",
        way_out="transpose first, or leave such dyads out with intervals=",
    )


def _with_pitches(part: Part, new: dict[NoteKey, Pitch]) -> Part:
    touched = {key[:3] for key in new}
    return map_keyed(
        part, lambda key, event: _with_pitch(key, event, new) if key in touched else event
    )


def _with_pitch(key: tuple[int, int, int], event: Event, new: dict[NoteKey, Pitch]) -> Event:
    """Return the event with its new pitches, its notes from low to high, and without places."""
    notes = [
        replace(without_places(note), pitch=new.get((*key, index), note.pitch))
        for index, note in enumerate(event.notes)
    ]
    return replace(event, notes=tuple(sorted(notes, key=_height)))


def _height(note: Note) -> float:
    return float(note.pitch.semitones) if note.pitch is not None else 0.0
