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
from variants.steps.voicing.symbol_basses import with_basses

NAME = "invert-dyads"
_FIFTH_AND_FOURTH = (Interval.parse("P5"), Interval.parse("P4"))
_OTHER = {"lower": "upper", "upper": "lower"}
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

    Without ``move`` the note that is not the root moves, in all dyads of a part alike. Where
    that leaves the range of the instrument, or strikes a note that another voice holds, the other
    note moves: in all of them if all can, else dyad by dyad. A chord symbol that stands over a
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
    def name(self) -> str:
        return Interval.between(self.low.pitch, self.high.pitch).simple.name

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
        return part, [log.overall("no dyad to invert"), *_left_alone(log, left, found)]
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
    names = Counter(dyad.name for dyad in wanted)
    sizes = ", ".join(f"{number} {name}" for name, number in sorted(names.items()))
    headline = log.overall(f"{count(len(wanted), 'dyad')} inverted: {sizes}")
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


def _left_alone(log: Scribe, left: Counter[str], others: list[_Dyad]) -> list[Change]:
    lines = [
        f"{number} {kind.replace('pair', 'pairs').replace('chord', 'chords')} left alone"
        if number > 1
        else f"1 {kind} left alone"
        for kind, number in sorted(left.items())
    ]
    if others:
        names = Counter(dyad.name for dyad in others)
        sizes = ", ".join(f"{number} {name}" for name, number in sorted(names.items()))
        lines.append(f"{count(len(others), 'other dyad')} left alone: {sizes}")
    return [log.overall(line) for line in lines]


def _moves(
    dyads: list[_Dyad], asked: str, part: Part, log: Scribe
) -> tuple[list[str], list[Change]]:
    """Choose the note that moves in each dyad.

    Raises:
        Refusal: Neither can.
    """
    first = [asked or dyad.usual_move for dyad in dyads]
    whys = [_why_not(part, dyad, move) for dyad, move in zip(dyads, first, strict=True)]
    if not any(whys):
        return first, []
    second = [_OTHER[move] for move in first]
    others = [_why_not(part, dyad, move) for dyad, move in zip(dyads, second, strict=True)]
    if not asked and not any(others):
        line = "the root moves, because the other note would leave the instrument's range"
        if not any(why.startswith(_OUT_OF_RANGE) for why in whys):
            line = "the root moves, because the other note would be struck while it is held"
        return second, [log.overall(line)]
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
