"""The step `harmonize-chords`: chord symbols from the notes, where there are none."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby
from typing import ClassVar

from variants.contract import TIMES, Promise
from variants.music import Pitch
from variants.music.chordkinds import ChordName, chord_name, chord_tones
from variants.music.pitch import Alteration
from variants.score import Change, Harmony, Part, Score, Take, measures, with_parts
from variants.steps.framework.log import Scribe, count, scribe
from variants.steps.framework.reading import choice
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.takes import takes_of

_NAME = "harmonize-chords"
_PER = ("change", "beat", "measure")
# Below that many different notes a chord of a whole beat or measure is not told from its passing
# notes; two notes are a chord only where nothing else sounds.
_LEAST_OF_MANY = 3
# A broken chord with more notes than a seventh chord is rather one with passing notes.
_MOST_OF_BROKEN = 4
# What music21 calls otherwise than MusicXML does.
_MUSIC21_KINDS = {
    "dominant-seventh": "dominant",
    "half-diminished-seventh": "half-diminished",
    "minor-major-seventh": "major-minor",
}


@register(
    _NAME,
    examples=("harmonize-chords", "harmonize-chords:per=beat", "harmonize-chords:per=measure"),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class HarmonizeChords(Checked):
    """Write chord symbols from the notes in parts that have none.

    With ``per=change`` every chord that sounds is named, held notes included, and a symbol stands
    wherever the chord changes; a chord that only loses some of its notes goes on. With ``beat``
    and ``measure`` all that sounds within one is a chord, as in a broken chord; notes that no
    chord holds are passing notes, the shortest first. A fifth alone is a power chord (G5), its
    fourth one over its fifth (G5/D); a third alone belongs to more than one chord and is left
    without a name. The usual kinds are told from the intervals above the root; for others music21
    is asked.

    No note changes. A part that has chord symbols already is left alone.
    """

    per: str = parameter(
        "change", "what one symbol stands for", choice("change", "beat", "measure")
    )
    keeps: ClassVar[frozenset[Promise]] = frozenset({Promise.SOUNDING_PITCHES, *TIMES})

    # Roots are told from chord symbols first; see `variants.pipeline`.
    names_chords: ClassVar[bool] = True

    def __call__(self, score: Score) -> Score:
        """Return the score with its chord symbols.

        Raises:
            Refusal: A note is a microtone, which no chord symbol holds.
        """
        parts: list[Part] = []
        changes: list[Change] = []
        for part in score.parts:
            done, lines = self._named(score, part)
            parts.append(done)
            changes += lines
        return with_parts(score, parts, changes)

    def _named(self, score: Score, part: Part) -> tuple[Part, list[Change]]:
        log = scribe(_NAME, score, part)
        if any(measure.harmonies for measure in part.measures):
            return part, [log.overall("it has chord symbols of its own, which stay as they are")]
        takes = [take for take in takes_of(part, log) if take.end > take.start]
        if not takes:
            return part, []
        windows = _windows(part, score.ticks, takes, self.per)
        symbols, unnamed = _symbols(windows)
        return _with_symbols(part, symbols), _lines(log, symbols, unnamed)


@dataclass(frozen=True, slots=True)
class _Window:
    """A stretch of time that is named as one: where it begins, and what sounds in it.

    ``lengths`` has for each pitch the ticks that it sounds within; ``is_broken`` says that its
    notes need not sound together.
    """

    measure: int
    tick: int
    lengths: tuple[tuple[Pitch, int], ...]
    is_broken: bool


@dataclass(frozen=True, slots=True)
class _Symbol:
    """A chord symbol and where it stands."""

    measure: int
    tick: int
    name: ChordName


def _windows(part: Part, ticks: int, takes: Sequence[Take], per: str) -> Iterator[_Window]:
    """Yield the windows of a part in order of time."""
    cuts = list(_moments(takes) if per == "change" else _beats(part, ticks, per))
    last = max(take.end for take in takes)
    waiting = list(takes)
    for place, (index, tick, start) in enumerate(cuts):
        end = cuts[place + 1][2] if place + 1 < len(cuts) else last
        if per == "change":
            end = start + 1
        waiting = [take for take in waiting if take.end > start]
        lengths: Counter[Pitch] = Counter()
        for take in waiting:
            if take.start >= end:
                break
            lengths[take.pitch] += min(take.end, end) - max(take.start, start)
        yield _Window(index, tick, tuple(lengths.items()), per != "change")


def _moments(takes: Sequence[Take]) -> Iterator[tuple[int, int, int]]:
    for start, group in groupby(takes, key=lambda take: take.start):
        first = next(group)
        yield first.measure, first.tick, start


def _beats(part: Part, ticks: int, per: str) -> Iterator[tuple[int, int, int]]:
    """Yield measure index, tick in it and tick in the part of every beat or measure."""
    for view in measures(part, ticks):
        yield view.index, 0, view.start
        if per == "measure":
            continue
        for tick in view.beats:
            if 0 < tick < view.measure.length and tick == int(tick):
                yield view.index, int(tick), view.start + int(tick)


def _symbols(windows: Iterator[_Window]) -> tuple[list[_Symbol], list[_Window]]:
    """Return a symbol for each change of chord, and the windows whose notes have no name."""
    found: list[_Symbol] = []
    unnamed: list[_Window] = []
    now: ChordName | None = None
    for window in windows:
        name = _name_of(window)
        if name is None:
            several = len({pitch.pitch_class for pitch, _ in window.lengths}) > 1
            unnamed += [window] if several else []
        elif not _goes_on(now, name):
            found.append(_Symbol(window.measure, window.tick, name))
            now = name
    return found, unnamed


def _goes_on(now: ChordName | None, name: ChordName) -> bool:
    """Whether a chord is the one before, or that one with some of its notes left out."""
    if now is None or (now.root, now.bass) != (name.root, name.bass):
        return False
    old, new = (chord_tones(one.kind, one.degrees) or () for one in (now, name))
    return {tone.semitones % 12 for tone in new} <= {tone.semitones % 12 for tone in old}


def _name_of(window: _Window) -> ChordName | None:
    pitches = [pitch for pitch, _ in window.lengths]
    whole = _told(pitches)
    if not window.is_broken or (whole is not None and _is_plain(whole)):
        return whole
    lasting: Counter[Alteration] = Counter()
    for pitch, length in window.lengths:
        lasting[pitch.pitch_class] += length
    kept = [one for one, _ in sorted(lasting.items(), key=lambda one: (-one[1], one[0]))]
    while len(kept) > _LEAST_OF_MANY:
        kept.pop()
        name = chord_name([pitch for pitch in pitches if pitch.pitch_class in kept])
        if name is not None and _is_plain(name):
            return name
    return whole


def _is_plain(name: ChordName) -> bool:
    """Whether a broken chord is rightly called so: an added note is rather one that passes."""
    return len(chord_tones(name.kind, name.degrees) or ()) <= _MOST_OF_BROKEN and not name.degrees


def _told(pitches: Sequence[Pitch]) -> ChordName | None:
    name = chord_name(pitches)
    if name is None and len({pitch.pitch_class for pitch in pitches}) > _LEAST_OF_MANY:
        return _asked(tuple(sorted(map(str, pitches))))
    return name


@lru_cache(maxsize=4096)
def _asked(names: tuple[str, ...]) -> ChordName | None:
    """Return what music21 calls notes; ``None`` where it has no kind that MusicXML has."""
    from music21 import chord, harmony

    sounding = chord.Chord([name.replace("b", "-") for name in names])
    # The figure alone: music21 cannot read back every figure that it writes.
    _, told = harmony.chordSymbolFigureFromChord(sounding, includeChordType=True)
    kind = _MUSIC21_KINDS.get(told, told)
    root, bass = sounding.root(), sounding.bass()
    tones = chord_tones(kind) or ()
    heard = {one.pitchClass for one in sounding.pitches}
    if heard != {(root.pitchClass + tone.semitones) % 12 for tone in tones}:
        return None
    over = None if bass.pitchClass == root.pitchClass else (bass.step, int(bass.alter))
    return ChordName((root.step, int(root.alter)), kind, over)


def _with_symbols(part: Part, symbols: Sequence[_Symbol]) -> Part:
    made: dict[int, list[Harmony]] = {}
    for one in symbols:
        name = one.name
        made.setdefault(one.measure, []).append(
            Harmony(one.tick, name.root, name.kind, bass=name.bass, degrees=name.degrees)
        )
    measures = tuple(
        replace(measure, harmonies=tuple(made[index])) if index in made else measure
        for index, measure in enumerate(part.measures)
    )
    return replace(part, measures=measures)


def _lines(log: Scribe, symbols: Sequence[_Symbol], unnamed: Sequence[_Window]) -> list[Change]:
    if not symbols:
        cause = "no chord is named: nothing that sounds together is a chord"
        return [log.overall(f"{cause}; with per=measure broken chords are read too")]
    different = len({one.name for one in symbols})
    lines = [
        log.overall(
            f"{count(len(symbols), 'chord symbol')} written from the notes, {different} different"
        )
    ]
    if unnamed:
        first = unnamed[0]
        names = " ".join(
            str(pitch) for pitch, _ in sorted(first.lengths, key=lambda one: one[0].semitones)
        )
        others = f", and so have {len(unnamed) - 1} more" if len(unnamed) > 1 else ""
        lines.append(
            log.at(first.measure, first.tick, f"{names} have no chord name of their own{others}")
        )
    return lines
