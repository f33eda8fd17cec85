"""The step `revoice`: chords in another position, or with fewer or more notes of the same names."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations

from variants.contract import TIMES, Promise
from variants.errors import Refusal
from variants.music import Pitch
from variants.music.chord import root_of
from variants.score import (
    Change,
    Event,
    EventKey,
    Instrument,
    Note,
    NoteKey,
    Part,
    Score,
    timeline,
    with_parts,
)
from variants.score.roots import roots
from variants.steps.framework.log import Scribe, count, scribe
from variants.steps.framework.reading import choice, joined, whole
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.takes import assumed, fretted_parts, instrument_at, with_instrument
from variants.steps.voicing.voicings import Chord, Voiced, chord_of, nearest
from variants.steps.voicing.write import with_voicings

_NAME = "revoice"
_MOST_STRINGS = 12
# A change log names so many chords one by one; the rest are counted.
_MOST_LINES = 16
_MOST_NAMED = 4
_THREE = 3

Orders = list[tuple[Pitch, ...]]


def _fifth(chord: Chord) -> Orders:
    return [(chord.root, chord.names[7])] if chord.is_power else []


def _octave(chord: Chord) -> Orders:
    return [(chord.root, chord.names[7], chord.root)] if chord.is_power else []


def _inverted(chord: Chord) -> Orders:
    return [(chord.names[7], chord.root)] if chord.is_power else []


def _over(bass: Callable[[Chord], Pitch | None]) -> Callable[[Chord], Orders]:
    def orders(chord: Chord) -> Orders:
        low = bass(chord)
        if low is None or not chord.is_triad:
            return []
        others = [one for one in chord.names.values() if one is not low]
        return [(low, *upper) for upper in permutations(others)]

    return orders


def _three(chord: Chord) -> Orders:
    if chord.is_power:
        return _octave(chord)
    if len(chord.names) < _THREE:
        return []
    # Third and seventh tell the kind of a chord; its fifth goes first (common practice).
    by_weight = [chord.root, chord.third, chord.seventh, chord.fifth, *chord.names.values()]
    kept = list({id(one): one for one in by_weight if one is not None}.values())[:_THREE]
    return list(permutations(kept))


def _two(chord: Chord) -> Orders:
    if chord.is_power:
        return _fifth(chord)
    if len(chord.names) < _THREE:
        return []
    last = list(chord.names.values())[-1]
    return list(permutations((chord.root, chord.third or chord.fifth or last)))


@dataclass(frozen=True, slots=True)
class _Kind:
    """A shape: what it makes of a chord, of which chords, and what is to be heard then.

    ``keeps_names`` says that every note name stays.
    """

    orders: Callable[[Chord], Orders]
    of: str
    heard: str
    keeps_names: bool = True


_MANY, _TRIAD, _POWER = (
    "chord of three different notes, nor a power chord",
    "chord with third and fifth",
    "power chord",
)
_SHAPES = {
    "three-note": _Kind(_three, _MANY, "three notes each", keeps_names=False),
    "two-note": _Kind(_two, _MANY, "the root and one other note each", keeps_names=False),
    "root-position": _Kind(_over(lambda one: one.root), _TRIAD, "the root is the lowest note"),
    "1st-inversion": _Kind(_over(lambda one: one.third), _TRIAD, "the third is the lowest note"),
    "2nd-inversion": _Kind(_over(lambda one: one.fifth), _TRIAD, "the fifth is the lowest note"),
    "fifth": _Kind(_fifth, _POWER, "root and fifth alone"),
    "octave": _Kind(_octave, _POWER, "root, fifth, and the root again an octave higher"),
    "inverted": _Kind(_inverted, _POWER, "the fifth below its root, a fourth"),
}


@register(
    _NAME,
    examples=(
        "revoice",
        "revoice:shape=1st-inversion",
        "revoice:shape=two-note,strings=4+3+2",
        "revoice:shape=octave",
        "revoice:shape=inverted",
    ),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class Revoice(Checked):
    """Play chords in another shape: inversions, three or two notes, power chords doubled or turned.

    Power chords become a ``fifth`` (1-5), an ``octave`` (1-5-8) or are ``inverted`` (5-1, a
    fourth). Chords with third and fifth go to ``root-position``, ``1st-inversion`` or
    ``2nd-inversion``, each of their notes once. ``three-note`` keeps root, third and seventh, else
    the fifth, in whichever order is nearest; ``two-note`` keeps the root and its third. The new
    chord is the one nearest to the old that a hand of medium size can hold: by default the top
    note stays, for it is the tune (``keep=bass`` keeps the lowest), on strings side by side, in
    close position before open. Chords of the same shape get the same order of notes. With
    ``strings`` it lies on those strings alone, where that is low on the neck, and its places are
    set.

    A chord is what begins together in one voice. What a shape is not for is left alone and named.
    """

    shape: str = parameter("three-note", "what a chord becomes", choice(*_SHAPES))
    keep: str = parameter("top", "the note that stays if it can", choice("top", "bass"))
    strings: tuple[int, ...] = parameter(
        (), "the only strings to use", joined(whole(1, _MOST_STRINGS), "4+3+2, 3+2+1, ...")
    )

    @property
    def keeps(self) -> frozenset[Promise]:
        """What the step promises: every note name, or some of them with the root."""
        if _SHAPES[self.shape].keeps_names:
            return frozenset({Promise.PITCH_CLASSES, *TIMES})
        return frozenset({Promise.PITCH_CLASS_SUBSET, Promise.ROOTS, *TIMES})

    def __call__(self, score: Score) -> Score:
        """Return the score with its chords in their new shape.

        Raises:
            Refusal: The instrument has no such string, or no hand can hold a chord in that shape.
        """
        parts = list(score.parts)
        changes: list[Change] = []
        for index in fretted_parts(score):
            source = score.parts[index]
            part = with_instrument(source)
            log = scribe(_NAME, score, part)
            done, lines = self._revoiced(part, log)
            if done is not part:
                parts[index] = done
                changes += assumed(source, _NAME)
            changes += lines
        return with_parts(score, parts, changes)

    def _revoiced(self, part: Part, log: Scribe) -> tuple[Part, list[Change]]:
        here = instrument_at(part)
        self._check(here(0))
        every = list(_sounding(part))
        named = [one for one in every if _SHAPES[self.shape].orders(one.chord)]
        unfit = self._unfit([one for one in every if one not in named], log)
        usual: dict[tuple[int, ...], tuple[int, ...]] = {}
        plain = [one for one in named if one.is_plain]
        voicings: dict[EventKey, Voiced] = {}
        lines: list[Change] = []
        starts = timeline(part).starts
        for one in plain:
            orders = _SHAPES[self.shape].orders(one.chord)
            instrument = here(starts[one.keys[0][0]] + one.tick)
            alike = _alike(orders, one.chord, usual.get(one.form))
            voiced = self._voiced(part, one, alike, instrument)
            if voiced is None and alike != orders:
                voiced = self._voiced(part, one, orders, instrument)
            if voiced is not None:
                usual.setdefault(one.form, _degrees(voiced.pitches, one.chord.root))
            else:
                raise self._refusal(one, orders, instrument, log)
            same = voiced.pitches == one.pitches
            if same and not self.strings:
                continue
            voicings |= dict.fromkeys(one.keys, voiced)
            if not same:
                lines.append(log.at(one.keys[0][0], one.tick, _became(one.pitches, voiced.pitches)))
        summary = self._summary(len(plain), len(lines), len(named) - len(plain))
        if len(lines) > _MOST_LINES:
            more = f"{len(lines) - _MOST_LINES} more chords changed in the same way"
            lines[_MOST_LINES:] = [log.overall(more)]
        if not voicings:
            return part, [log.overall(summary), *unfit]
        done, lost = with_voicings(part, voicings, log, set_places=bool(self.strings))
        return done, [log.overall(summary), *unfit, *lines, *lost]

    def _voiced(
        self, part: Part, one: _Sounding, orders: Orders, instrument: Instrument
    ) -> Voiced | None:
        """Return the voicing beside what other voices hold, else as if the chord were alone."""
        others = _meanwhile(part, one)
        on, keep = self.strings, self.keep
        found = nearest(orders, one.pitches, instrument, strings=on, others=others, keep=keep)
        if found is None and others:
            found = nearest(orders, one.pitches, instrument, strings=on, keep=keep)
        return found

    def _unfit(self, left: list[_Sounding], log: Scribe) -> list[Change]:
        """Return the line that names the chords which cannot have this shape."""
        if not left:
            return []
        names = list(dict.fromkeys(" ".join(map(str, one.pitches)) for one in left))
        some = ", ".join(names[:_MOST_NAMED]) + (", ..." if len(names) > _MOST_NAMED else "")
        text = (
            f"{count(len(left), 'chord')} cannot be {self.shape} and stay as they are, not being a"
            f" {_SHAPES[self.shape].of}: {some}"
        )
        return [log.at(left[0].keys[0][0], left[0].tick, text)]

    def _check(self, instrument: Instrument) -> None:
        wrong = [string for string in self.strings if string > instrument.strings]
        if wrong:
            raise Refusal(
                f"the instrument has no string {wrong[0]}",
                way_out=f"use strings 1 to {instrument.strings}",
            )

    def _summary(self, named: int, changed: int, left: int) -> str:
        if not named and not left:
            text = f"no chord to change: there is no {_SHAPES[self.shape].of}"
        else:
            heard = _SHAPES[self.shape].heard
            text = f"{changed} of {count(named, 'chord')} changed: {heard}"
        if left:
            text += (
                f"; {count(left, 'chord')} with ties, slides or bends of single notes left alone"
            )
        return text

    def _refusal(
        self, one: _Sounding, orders: Orders, instrument: Instrument, log: Scribe
    ) -> Refusal:
        names = " ".join(map(str, one.pitches))
        where = f" on strings {'+'.join(map(str, self.strings))}" if self.strings else ""
        size = len(orders[0])
        runs = [
            tuple(range(high + size - 1, high - 1, -1))
            for high in range(1, instrument.strings - size + 2)
        ]
        fitting = [run for run in runs if nearest(orders, one.pitches, instrument, strings=run)]
        if fitting:
            way_out = f"use strings={'+'.join(map(str, fitting[0]))}, or leave strings out"
        elif nearest(orders, one.pitches, instrument):
            way_out = "leave strings out"
        else:
            way_out = "use another shape, or put reduce-chords in its place"
        cause = f"no hand can hold {names} as {self.shape}{where}"
        return log.refusal(one.keys[0][0], one.tick, cause, way_out=way_out)


def _degrees(pitches: Sequence[Pitch], root: Pitch) -> tuple[int, ...]:
    return tuple(int((one.pitch_class - root.pitch_class) % 12) for one in pitches)


def _alike(orders: Orders, chord: Chord, usual: tuple[int, ...] | None) -> Orders:
    """Return the orders that are those of an earlier chord of the same shape; all if none is."""
    return [one for one in orders if _degrees(one, chord.root) == usual] or orders


@dataclass(frozen=True, slots=True)
class _Sounding:
    """A chord in one voice, with the events into which it is tied.

    ``is_plain`` is false where its notes are not all tied alike, or carry slides and bends.
    """

    keys: tuple[EventKey, ...]
    tick: int
    pitches: tuple[Pitch, ...]
    chord: Chord
    is_plain: bool

    @property
    def form(self) -> tuple[int, ...]:
        """How it is built: semitones above its lowest note."""
        return tuple(one.midi - self.pitches[0].midi for one in self.pitches)


def _sounding(part: Part) -> Iterator[_Sounding]:
    """Yield the chords of a part that begin together in one voice."""
    links = timeline(part).ties
    follows: dict[EventKey, EventKey] = {
        origin[:3]: stop[:3] for stop, origin in links.items() if stop[1] == origin[1]
    }
    named = roots(part)
    for one in timeline(part).events:
        pitches = _pitches(one.event)
        if one.event.is_cue or len(pitches) < 2 or _is_held(one.event):
            continue
        keys = tuple(_chain(one.key, follows))
        root = _root(pitches, named.get(one.moment))
        plain = _is_plain(part, keys, links)
        yield _Sounding(keys, one.tick, pitches, chord_of(pitches, root), plain)


def _meanwhile(part: Part, one: _Sounding) -> tuple[int, ...]:
    """Return the MIDI numbers that other voices sound when a chord begins."""
    index, own, _ = one.keys[0]
    return tuple(
        {
            note.pitch.midi
            for place, voice in enumerate(part.measures[index].voices)
            if place != own
            for event in voice.events
            if not event.is_cue and event.onset <= one.tick < event.end
            for note in event.notes
            if note.pitch is not None
        }
    )


def _pitches(event: Event) -> tuple[Pitch, ...]:
    """Return the pitches of an event from the bottom up; none if one of them is no fretted note."""
    found = [note.pitch for note in event.notes if note.pitch is not None]
    if len(found) < len(event.notes) or any(one.is_microtone for one in found):
        return ()
    return tuple(sorted(found, key=lambda one: one.semitones))


def _is_held(event: Event) -> bool:
    return all(note.tie_stop for note in event.notes)


def _root(pitches: Sequence[Pitch], named: Pitch | None) -> Pitch:
    """Return the root of an event: that of the onset if it is among its notes."""
    classes = {one.pitch_class for one in pitches}
    own = named if named is not None and named.pitch_class in classes else root_of(pitches)
    return own if own is not None else pitches[0]


def _chain(key: EventKey, follows: dict[EventKey, EventKey]) -> Iterator[EventKey]:
    seen: set[EventKey] = set()
    now: EventKey | None = key
    while now is not None and now not in seen:
        seen.add(now)
        yield now
        now = follows.get(now)


def _is_plain(part: Part, keys: Sequence[EventKey], links: dict[NoteKey, NoteKey]) -> bool:
    """Whether all notes of a chord go the same way from its beginning to its end."""
    first = _notes(part, keys[0])
    for place, key in enumerate(keys):
        notes = _notes(part, key)
        last = place + 1 == len(keys)
        if len(notes) != len(first) or any(mark.role for note in notes for mark in note.marks):
            return False
        if any(note.tie_start == last or note.tie_stop == (place == 0) for note in notes):
            return False
        origins = {links.get((*key, index), (*key, index))[:3] for index in range(len(notes))}
        if place and origins != {keys[place - 1]}:
            return False
    return True


def _notes(part: Part, key: EventKey) -> tuple[Note, ...]:
    return part.measures[key[0]].voices[key[1]].events[key[2]].notes


def _became(old: Sequence[Pitch], new: Sequence[Pitch]) -> str:
    return f"{' '.join(map(str, old))} became {' '.join(map(str, new))}"
