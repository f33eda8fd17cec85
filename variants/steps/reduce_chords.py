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
from variants.tune.line import line_voices

NAME = "reduce-chords"
# Semitones above the root, the most telling first; a perfect fifth before an altered one.
_FIFTHS, _THIRDS, _SEVENTHS = (7, 6, 8), (4, 3), (10, 11, 9)
_OUTER = "outer"
_BESIDE_ROOT = {
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
        "reduce-chords:to=dyad,other=fifth",
        "reduce-chords:to=dyad,other=third",
    ),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class ReduceChords(Checked):
    """Reduce chords to their root, top or bottom note, or to two notes.

    What begins together is one chord. The root is that of the chord symbol in force if it is
    among the notes, else the one that the intervals tell (`variants.music.chord.root_of`); it
    stays in the octave in which the chord has it, the lowest of several.

    With ``root``, ``top`` and ``bottom`` the result is a single line. Where a part has several
    voices it is one voice that stays, as a pupil would play it alone: the highest for ``top``,
    the lowest for ``root`` and ``bottom``; another only in measures in which that one is
    silent. Its chords are reduced, and a note that would sound on into the next one is shortened.

    With ``dyad`` the outer notes stay, the lowest and the highest, so that neither tune nor bass
    is lost; ``other=fifth`` and ``other=third`` keep the root with that note instead (else with
    its seventh, else another note), the one nearest above it first. Notes in two voices may then
    still overlap.
    """

    to: str = parameter("root", "what is left of a chord", choice("root", "top", "bottom", "dyad"))
    other: str = parameter(
        _OUTER,
        "which two notes stay with to=dyad: the outer ones, or the root with its fifth or third",
        choice(_OUTER, *_BESIDE_ROOT),
    )

    @property
    def keeps(self) -> frozenset[Promise]:
        """What the step promises, which depends on the note that is left."""
        always = {Promise.PITCH_CLASS_SUBSET, Promise.MEASURE_LENGTHS}
        if self.to == "dyad":
            kept = Promise.TOP_LINE if self.other == _OUTER else Promise.ROOTS
            return frozenset({*always, kept, Promise.ONSETS, Promise.DURATIONS})
        line = {"root": {Promise.ROOTS}, "top": {Promise.TOP_LINE}}
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
        choice_ = _choose(part, self)
        lines = [log.overall(line) for line in _headlines(self, choice_)]
        dropped = choice_.dropped
        if self.to == "dyad":
            reduced, more = drop_notes(part, dropped, step=NAME)
        else:
            reduced, more = single_line(part, dropped, log, ticks=score.ticks)
        return reduced, [*lines, *more]


@dataclass(frozen=True, slots=True)
class _Choice:
    """What is to be dropped.

    Args:
        chords: How many chords lose notes.
        notes: How many notes they lose.
        others: How many notes of other voices go, each tied chain counted once.
        dropped: All of these.
    """

    chords: int
    notes: int
    others: int
    dropped: set[NoteKey]


def _headlines(step: ReduceChords, chosen: _Choice) -> list[str]:
    if not chosen.dropped:
        return ["no chord to reduce: nothing is changed"]
    is_outer = step.to == "dyad" and step.other == _OUTER
    left = "lowest and the highest note stay" if is_outer else f"{step.to} note stays"
    if step.to == "dyad" and not is_outer:
        left = "root and one other note stay"
    lines = []
    if chosen.chords:
        one_by_one = f"{count(chosen.notes, 'note')} of {count(chosen.chords, 'chord')} dropped"
        lines.append(f"{one_by_one}; the {left}")
    if chosen.others:
        voice = "upper" if step.to == "top" else "lower"
        lines.append(
            f"the {voice} voice stays; {count(chosen.others, 'note')} of the others dropped"
        )
    return lines


def _choose(part: Part, step: ReduceChords) -> _Choice:
    """Return what is to be dropped."""
    root_at = roots(part)
    chords = notes = others = 0
    dropped: set[NoteKey] = set()
    onsets = timeline(part).struck
    kept_voice = {} if step.to == "dyad" else line_voices(part, is_top=step.to == "top")
    for moment, struck in onsets.items():
        own, rest = _of_voice(part, struck, kept_voice.get(moment[0]))
        if own and step.to != "root":
            own, rest = struck, []  # where voices cross, the outer note is what is heard
        dropped.update(one.key for one in rest)
        others += len(rest)
        groups = [own] if own else []
        if step.to == "dyad" and moment[2] < 0:
            # A grace note that disappears would move the ones before it.
            groups = _by_event(struck)
        for group in groups:
            root = root_at[moment] if not rest else _own_root(group, root_at[moment])
            kept = _kept(group, root, step)
            chords += len(kept) < len(group)
            notes += len(group) - len(kept)
            dropped.update(one.key for one in group if one.key not in kept)
    if step.to != "dyad":
        begun = {moment[:2] for moment in onsets if not moment[2]}
        dropped |= _held_from_nowhere(part, begun, step, kept_voice)
    return _Choice(chords, notes, others, dropped)


def _of_voice(
    part: Part, struck: list[Struck], voice: str | None
) -> tuple[list[Struck], list[Struck]]:
    """Return what a voice strikes, and what the others do; without a voice all is its own."""
    if voice is None:
        return struck, []
    ids = [part.measures[one.key[0]].voices[one.key[1]].id for one in struck]
    own = [one for one, name in zip(struck, ids, strict=True) if name == voice]
    return own, [one for one, name in zip(struck, ids, strict=True) if name != voice]


def _own_root(group: list[Struck], root: Pitch) -> Pitch:
    """Return the root of what one voice strikes: that of all if the voice has it."""
    if any(one.pitch.pitch_class == root.pitch_class for one in group):
        return root
    return root_of([one.pitch for one in group]) or root


def _by_event(struck: list[Struck]) -> list[list[Struck]]:
    groups: dict[tuple[int, int, int], list[Struck]] = {}
    for one in struck:
        groups.setdefault(one.key[:3], []).append(one)
    return list(groups.values())


def _held_from_nowhere(
    part: Part, begun: set[tuple[int, int]], step: ReduceChords, voices: dict[int, str]
) -> set[NoteKey]:
    """Return the notes tied to from nowhere that must go: all but one, or all at an onset."""
    waiting: dict[tuple[int, int], list[Struck]] = {}
    for key in loose_stops(part):
        event = part.measures[key[0]].voices[key[1]].events[key[2]]
        pitch = event.notes[key[3]].pitch
        if pitch is not None:
            waiting.setdefault((key[0], event.onset), []).append(Struck(key, pitch))
    dropped: set[NoteKey] = set()
    for moment, group in waiting.items():
        own, _ = _of_voice(part, group, voices.get(moment[0]))
        root = root_of([one.pitch for one in own])
        kept = set() if moment in begun or root is None else _kept(own, root, step)
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
    if step.to == "dyad" and step.other == _OUTER:
        return {ordered[0].key, ordered[-1].key}
    low = next((one for one in ordered if one.pitch.pitch_class == root.pitch_class), ordered[0])
    if step.to == "root":
        return {low.key}
    others = [one for one in ordered if one.pitch.pitch_class != low.pitch.pitch_class]
    others = others or [one for one in ordered if one is not low]
    preferred = _BESIDE_ROOT[step.other]

    def rank(one: Struck) -> tuple[int, bool, Alteration]:
        distance = one.pitch.semitones - low.pitch.semitones
        size = distance % 12
        place = preferred.index(int(size)) if size in preferred else len(preferred)
        return place, distance < 0, distance if distance > 0 else -distance

    return {low.key, min(others, key=rank).key}
