"""The step `harmonize-chords`: chord symbols from the notes, where there are none."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import ClassVar

from variants.contract import TIMES, Promise
from variants.music.chordkinds import ChordName, chord_tones
from variants.score import Change, Harmony, Part, Score, Take, with_parts
from variants.steps.framework.log import Scribe, count, scribe
from variants.steps.framework.reading import choice
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.takes import takes_of
from variants.steps.voicing.harmony import Stretch, names_of, stretches, told
from variants.tune.line import is_power_chord, struck_in, together

_NAME = "harmonize-chords"


@register(
    _NAME,
    examples=("harmonize-chords", "harmonize-chords:per=measure", "harmonize-chords:per=change"),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class HarmonizeChords(Checked):
    """Write chord symbols from the notes in parts that have none.

    By default (``per=harmony``) a symbol stands where the harmony changes: rather on the first beat
    than on another, rather on a beat than between two. All that sounds until the next change is
    one chord, so a third that comes later in the measure counts, and passing notes do not; a
    riff in power chords is named chord by chord.
    ``measure`` writes one symbol a measure at most, ``beat`` one a beat; ``change`` names every
    chord that sounds, held notes included. A chord is a triad or a seventh chord, a power chord
    (G5) where no third is heard; it has another name (sus4, add9) where all the notes make one.
    No chord is made from a melody note alone, and of a single line only where it breaks a chord.

    No note changes. A part that has chord symbols already is left alone.
    """

    per: str = parameter(
        "harmony", "what one symbol stands for", choice("harmony", "measure", "beat", "change")
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
        if self.per == "change" or (self.per == "harmony" and _is_riff(part)):
            symbols, unnamed = _symbols(_moments(takes), is_exact=True)
        else:
            found = stretches(part, takes, score.ticks, per=self.per)
            symbols, unnamed = _symbols(found, is_exact=False)
        return _with_symbols(part, symbols), _lines(log, symbols, unnamed)


def _is_riff(part: Part) -> bool:
    """Whether most of what is struck is power chords: there each is a harmony of its own."""
    groups = together(struck_in(part))
    return sum(map(is_power_chord, groups)) * 2 > len(groups)


@dataclass(frozen=True, slots=True)
class _Symbol:
    """A chord symbol and where it stands."""

    measure: int
    tick: int
    name: ChordName


def _moments(takes: Sequence[Take]) -> Iterator[Stretch]:
    """Yield what sounds at each moment at which something is struck."""
    waiting = list(takes)
    for start, group in groupby(takes, key=lambda take: take.start):
        first = next(group)
        waiting = [take for take in waiting if take.end > start]
        sounding = tuple(take.pitch for take in waiting if take.start <= start)
        yield Stretch(first.measure, first.tick, (sounding,), (1.0,))


def _symbols(found: Iterator[Stretch], *, is_exact: bool) -> tuple[list[_Symbol], list[Stretch]]:
    """Return a symbol for each change of chord, and the stretches whose notes have no name."""
    symbols: list[_Symbol] = []
    unnamed: list[Stretch] = []
    now: ChordName | None = None
    for one in found:
        name = told(one.pitches) if is_exact else names_of(one)
        if name is None:
            several = len({pitch.pitch_class for pitch in one.pitches}) > 1
            unnamed += [one] if several else []
        elif not _goes_on(now, name):
            symbols.append(_Symbol(one.measure, one.tick, name))
            now = name
    return symbols, unnamed


def _goes_on(now: ChordName | None, name: ChordName) -> bool:
    """Whether a chord is the one before, or that one with some of its notes left out."""
    if now is None or (now.root, now.bass) != (name.root, name.bass):
        return False
    old, new = (chord_tones(one.kind, one.degrees) or () for one in (now, name))
    return {tone.semitones % 12 for tone in new} <= {tone.semitones % 12 for tone in old}


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


def _lines(log: Scribe, symbols: Sequence[_Symbol], unnamed: Sequence[Stretch]) -> list[Change]:
    if not symbols:
        return [log.overall("no chord is named: nothing is changed, a melody alone makes no chord")]
    different = len({one.name for one in symbols})
    lines = [
        log.overall(
            f"{count(len(symbols), 'chord symbol')} written from the notes, {different} different"
        )
    ]
    if unnamed:
        first = unnamed[0]
        heights = sorted(set(first.pitches), key=lambda one: one.semitones)
        names = " ".join(map(str, heights))
        others = f", and so have {len(unnamed) - 1} more" if len(unnamed) > 1 else ""
        lines.append(
            log.at(first.measure, first.tick, f"{names} have no chord name of their own{others}")
        )
    return lines
