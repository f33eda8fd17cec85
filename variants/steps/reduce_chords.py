"""Chords reduced to one note (root, top, bottom) or to two."""

from __future__ import annotations

from dataclasses import dataclass

from variants.contract import Promise
from variants.music.chord import root_of
from variants.music.pitch import Alteration, Pitch
from variants.score import Change, NoteKey, Part, Score, Struck, timeline, with_parts
from variants.score.roots import roots
from variants.steps.framework.log import count, scribe
from variants.steps.framework.reading import choice
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.dropping import drop_notes
from variants.steps.lines.single_line import loose_stops, single_line

NAME = "reduce-chords"
_TARGETS = ("root", "top", "bottom", "dyad")
# Semitones above the root, the most telling first; a perfect fifth before an altered one.
_FIFTHS, _THIRDS, _SEVENTHS = (7, 6, 8), (4, 3), (10, 11, 9)
_OTHERS = {
    "fifth": (*_FIFTHS, *_THIRDS, *_SEVENTHS, 5, 2, 1),
    "third": (*_THIRDS, *_FIFTHS, *_SEVENTHS, 5, 2, 1),
}


@register(
    NAME,
    examples=(
        "reduce-chords:to=root",
        "reduce-chords:to=top",
        "reduce-chords:to=bottom",
        "reduce-chords:to=dyad",
        "reduce-chords:to=dyad,other=third",
    ),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class ReduceChords(Checked):
    """Reduce chords to their root, top or bottom note, or to two notes.

    All that begins together in a part is one chord, whatever its voices. The root is that of
    the chord symbol in force if it is among the notes, else the one that the intervals tell
    (`variants.music.chord.root_of`).

    With ``root``, ``top`` and ``bottom`` the result is a single line: a note that would sound
    on into the next one is shortened, and measures in which several voices are left are
    written as one voice. With ``dyad`` the root stays with its fifth or third, whichever
    ``other`` prefers (else its seventh, else another note), the one nearest above it first;
    notes in two voices may then still overlap.
    """

    to: str = parameter("root", "what is left of a chord", choice("root", "top", "bottom", "dyad"))
    other: str = parameter(
        "fifth", "the note to prefer beside the root of a dyad", choice(*_OTHERS)
    )

    @property
    def keeps(self) -> frozenset[Promise]:
        """What the step promises, which depends on the note that is left."""
        line = {"root": {Promise.ROOTS}, "dyad": {Promise.ROOTS}, "top": {Promise.TOP_LINE}}
        always = {Promise.PITCH_CLASS_SUBSET, Promise.ONSETS, Promise.MEASURE_LENGTHS}
        if self.to == "dyad":
            always.add(Promise.DURATIONS)
        return frozenset(always | line.get(self.to, set()))

    def __call__(self, score: Score) -> Score:
        """Return the reduced score."""
        parts: list[Part] = []
        changes: list[Change] = []
        for part in score.parts:
            reduced, lines = self._reduced(score, part)
            parts.append(reduced)
            changes += lines
        return with_parts(score, parts, changes)

    def _reduced(self, score: Score, part: Part) -> tuple[Part, list[Change]]:
        log = scribe(NAME, score, part)
        chords, dropped = _choose(part, self)
        lines = [log.overall(_headline(self.to, chords, len(dropped)))]
        if self.to == "dyad":
            reduced, more = drop_notes(part, dropped, step=NAME)
        else:
            reduced, more = single_line(part, dropped, log, ticks=score.ticks)
        return reduced, [*lines, *more]


def _headline(to: str, chords: int, dropped: int) -> str:
    if not dropped:
        return "no chords to reduce"
    left = "root and one other note" if to == "dyad" else f"{to} note"
    verb = "stay" if to == "dyad" else "stays"
    return f"{count(dropped, 'note')} of {count(chords, 'chord')} dropped; the {left} {verb}"


def _choose(part: Part, step: ReduceChords) -> tuple[int, set[NoteKey]]:
    """Return how many chords there are, and the notes of them to drop."""
    root_at = roots(part)
    chords = 0
    dropped: set[NoteKey] = set()
    onsets = timeline(part).struck
    for moment, struck in onsets.items():
        groups = [struck]
        if step.to == "dyad" and moment[2] < 0:
            # A grace note that disappears would move the ones before it.
            groups = _by_event(struck)
        for group in groups:
            kept = _kept(group, root_at[moment], step)
            chords += len(kept) < len(group)
            dropped.update(one.key for one in group if one.key not in kept)
    if step.to != "dyad":
        dropped |= _held_from_nowhere(
            part, {moment[:2] for moment in onsets if not moment[2]}, step
        )
    return chords, dropped


def _by_event(struck: list[Struck]) -> list[list[Struck]]:
    groups: dict[tuple[int, int, int], list[Struck]] = {}
    for one in struck:
        groups.setdefault(one.key[:3], []).append(one)
    return list(groups.values())


def _held_from_nowhere(part: Part, begun: set[tuple[int, int]], step: ReduceChords) -> set[NoteKey]:
    """Return the notes tied to from nowhere that must go: all but one, or all at an onset."""
    waiting: dict[tuple[int, int], list[Struck]] = {}
    for key in loose_stops(part):
        event = part.measures[key[0]].voices[key[1]].events[key[2]]
        pitch = event.notes[key[3]].pitch
        if pitch is not None:
            waiting.setdefault((key[0], event.onset), []).append(Struck(key, pitch))
    dropped: set[NoteKey] = set()
    for moment, group in waiting.items():
        root = root_of([one.pitch for one in group])
        kept = set() if moment in begun or root is None else _kept(group, root, step)
        dropped.update(one.key for one in group if one.key not in kept)
    return dropped


def _kept(group: list[Struck], root: Pitch, step: ReduceChords) -> set[NoteKey]:
    """Return the notes that stay of those that begin together."""
    ordered = sorted(group, key=lambda one: one.pitch.semitones)
    if step.to == "top":
        return {ordered[-1].key}
    if step.to == "bottom":
        return {ordered[0].key}
    if step.to == "dyad" and len(ordered) < 3:
        return {one.key for one in ordered}
    low = next((one for one in ordered if one.pitch.pitch_class == root.pitch_class), ordered[0])
    if step.to == "root":
        return {low.key}
    others = [one for one in ordered if one.pitch.pitch_class != low.pitch.pitch_class]
    others = others or [one for one in ordered if one is not low]
    preferred = _OTHERS[step.other]

    def rank(one: Struck) -> tuple[int, bool, Alteration]:
        distance = one.pitch.semitones - low.pitch.semitones
        size = distance % 12
        place = preferred.index(int(size)) if size in preferred else len(preferred)
        return place, distance < 0, distance if distance > 0 else -distance

    return {low.key, min(others, key=rank).key}
