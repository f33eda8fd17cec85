"""The step `strum`: chord symbols to open-position grips with diagrams and a strummed rhythm."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import lcm
from typing import ClassVar

from variants.contract import Promise
from variants.errors import Refusal
from variants.guitar.shapes import BARRES, ChordGrip
from variants.music import Pitch
from variants.score import Change, Harmony, Measure, Part, Score, Voice, events, measures
from variants.score.notation import NotationWriter
from variants.score.rescale import coarsest, rescaled
from variants.steps.framework.log import Scribe, count, scribe
from variants.steps.framework.reading import choice
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.takes import assumed, instrument_at, with_instrument
from variants.steps.strumming.grips import frame_xml, grip_of, lowest_of, refusal
from variants.steps.strumming.patterns import BASS, OTHER_BASS, PATTERNS, strikes
from variants.steps.strumming.write import StrumStroke, written
from variants.steps.wording.words import symbol_text

_NAME = "strum"


@register(
    _NAME,
    examples=(
        "strum",
        "strum:pattern=down-up",
        "strum:pattern=eighths,barre=full",
        "strum:pattern=bass-chord,barre=small",
    ),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class Strum(Checked):
    """Play the chord symbols as strummed open-position grips, with chord diagrams.

    Every part with chord symbols becomes an accompaniment: its notes give way to the chord in
    force, held as a usual grip, in a rhythm that goes with the metre. A chord that changes between
    two strokes is struck where it changes; before the first symbol and under N.C. there is silence.
    The first symbol of each chord carries its diagram, fingers included, and every stroke its
    places and fingers. Grips count from the capo, so a capo gives other shapes for the same chords.

    Patterns: ``whole``, ``halves``, ``quarters`` (each beat), ``eighths``, ``down-up`` (1, 2 &,
    3 &, 4 &; in 6/8 down and up on each dotted beat), ``syncopated`` (the same without beat 3) and
    ``bass-chord`` (the bass alone on the strong beats, root and fifth in turn). Slash chords have
    the grips of a first year (D/F#, G/B, C/G, Am/G). A barre is one finger over two strings
    (``small``) or more (``full``).
    """

    pattern: str = parameter("quarters", "the rhythm", choice(*PATTERNS))
    barre: str = parameter("never", "whether a finger may hold several strings", choice(*BARRES))
    keeps: ClassVar[frozenset[Promise]] = frozenset({Promise.CHORD_TONES, Promise.MEASURE_LENGTHS})

    def __call__(self, score: Score) -> Score:
        """Return the score with its chords strummed.

        Raises:
            Refusal: There are no chord symbols, one cannot be read, no grip is known for one, or
                the strings are not those of a standard tuning.
        """
        if not any(_has_symbols(part) for part in score.parts):
            raise Refusal(
                "there are no chord symbols to strum", way_out="put harmonize-chords before it"
            )
        works = [_Work(self, score, part) if _has_symbols(part) else None for part in score.parts]
        ticks = lcm(score.ticks, *(work.ticks for work in works if work is not None))
        fine = rescaled(score, ticks)
        parts: list[Part] = []
        changes: list[Change] = []
        for work, part in zip(works, fine.parts, strict=True):
            parts.append(work.done(part, ticks=ticks) if work is not None else part)
            changes += work.lines() if work is not None else []
        result = replace(fine, parts=tuple(parts), changes=(*score.changes, *changes))
        return coarsest(result, multiple_of=score.ticks)


def _has_symbols(part: Part) -> bool:
    return any(measure.harmonies for measure in part.measures)


class _Basses:
    """Counts the basses of a chord, over the barline too: root, fifth, root, fifth."""

    def __init__(self) -> None:
        self._chord: tuple[object, ...] = ()
        self._struck = 0

    def alternated(self, strokes: list[StrumStroke]) -> list[StrumStroke]:
        """Return the strokes of a measure with each second bass of a chord another one."""
        done = []
        for one in strokes:
            symbol = one.symbol
            chord = (symbol.root, symbol.kind, symbol.bass, one.grip) if symbol else ()
            if chord != self._chord:
                self._chord, self._struck = chord, 0
            if one.what == BASS:
                done.append(replace(one, what=OTHER_BASS) if self._struck % 2 else one)
                self._struck += 1
            else:
                done.append(one)
        return done


class _Work:
    """What is found out about one part, and the part that comes of it."""

    def __init__(self, step: Strum, score: Score, part: Part) -> None:
        self.step = step
        self.source = part
        self.part = with_instrument(part)
        self.log: Scribe = scribe(_NAME, score, self.part)
        self.instrument = instrument_at(self.part)
        self.strikes = [
            strikes(
                step.pattern,
                view.metre,
                begin=view.missing,
                end=view.missing + view.quarters,
            )
            for view in self.log.views
        ]
        self.grips = self._grips()
        moments = (at for measure in self.strikes for at in measure)
        self.ticks = lcm(score.ticks, *(at.denominator for at in moments))

    def _grips(self) -> dict[tuple[int, int], ChordGrip | None]:
        """Return the grip of each chord symbol by measure and tick; ``None`` for silence.

        Raises:
            Refusal: There is none for one of them.
        """
        found: dict[tuple[int, int], ChordGrip | None] = {}
        for view in self.log.views:
            for one in view.measure.harmonies:
                instrument = self.instrument(view.start + one.onset)
                grip = grip_of(one, instrument, barre=self.step.barre)
                if grip is None and not _is_silence(one):
                    raise refusal(one, (view.index, self.instrument), self.log, self.step.barre)
                found[view.index, one.onset] = grip
        return found

    def done(self, part: Part, *, ticks: int) -> Part:
        """Return the part, given in ``ticks`` to a quarter, strummed."""
        scale = Fraction(ticks, self.log.score.ticks)
        shown: set[tuple[object, ...]] = set()
        now: Harmony | None = None
        basses = _Basses()
        made: list[Measure] = []
        for view, struck in zip(measures(part, ticks), self.strikes, strict=True):
            shift = view.shift
            symbols = sorted(view.measure.harmonies, key=lambda one: one.onset)
            grips = {one.onset: self.grips[view.index, int(one.onset / scale)] for one in symbols}
            going_on = (now, self._held_on(now, view.index))
            chords = {0: going_on} | {one.onset: (one, grips[one.onset]) for one in symbols}
            times = {int(at * ticks) - shift: what for at, what in struck.items()}
            writer = NotationWriter(view.metre, ticks, view.measure.length, shift)
            instrument = self.instrument(int(view.start / scale))
            strokes = basses.alternated(_strokes(chords, times))
            done = written(strokes, writer, instrument)
            made.append(
                replace(
                    view.measure,
                    voices=(Voice("1", done),) if done else (),
                    harmonies=tuple(
                        replace(one, frame=_frame(one, chords[one.onset], shown)) for one in symbols
                    ),
                )
            )
            now = symbols[-1] if symbols else now
        return replace(part, measures=tuple(made), instrument=self.part.instrument)

    def _held_on(self, symbol: Harmony | None, index: int) -> ChordGrip | None:
        """Return how a chord that goes on into a measure is held there.

        Raises:
            Refusal: The strings have changed, and no grip is known for it now.
        """
        if symbol is None or _is_silence(symbol):
            return None
        instrument = self.instrument(self.log.views[index].start)
        grip = grip_of(symbol, instrument, barre=self.step.barre)
        if grip is None:
            here = replace(symbol, onset=0)
            raise refusal(here, (index, self.instrument), self.log, self.step.barre)
        return grip

    # -- the change log ------------------------------------------------------------------

    def lines(self) -> list[Change]:
        """Return what there is to say."""
        chords = {
            symbol_text(one): grip
            for view in self.log.views
            for one in view.measure.harmonies
            if (grip := self.grips[view.index, one.onset]) is not None
        }
        lines = assumed(self.source, _NAME)
        text = f"{count(len(chords), 'chord')} strummed: {', '.join(chords)}"
        lines.append(self.log.overall(text if chords else "no chord to strum: all is silent"))
        notes = sum(event.is_struck for _, event in events(self.source))
        sung = sum(bool(event.lyrics) for _, event in events(self.source))
        if notes:
            words = f", and {count(sung, 'syllable')} with them" if sung else ""
            lines.append(
                self.log.overall(
                    f"{count(notes, 'note or chord').replace('note or chords', 'notes or chords')}"
                    f" of the part gave way to the strummed ones{words}"
                )
            )
        return [*lines, *self._left_basses()]

    def _left_basses(self) -> Iterator[Change]:
        told: set[str] = set()
        for view in self.log.views:
            for one in view.measure.harmonies:
                grip = self.grips[view.index, one.onset]
                name = symbol_text(one)
                if grip is None or one.bass is None or name in told:
                    continue
                instrument = self.instrument(view.start + one.onset)
                if lowest_of(grip, instrument) != Pitch(*one.bass, 4).pitch_class:
                    told.add(name)
                    message = f"{name} is held as the plain chord: its bass is left to another"
                    yield self.log.at(view.index, one.onset, message)


def _is_silence(one: Harmony) -> bool:
    return one.root is None and one.kind == "none" and not one.xml


_Held = tuple[Harmony | None, ChordGrip | None]


def _frame(one: Harmony, held: _Held, shown: set[tuple[object, ...]]) -> str:
    """Return the diagram of a chord where it is new; of two symbols at once the last is held."""
    symbol, grip = held
    key = (one.root, one.kind, one.bass, one.degrees, grip)
    if grip is None or symbol is not one or key in shown:
        return ""
    shown.add(key)
    return frame_xml(grip)


def _strokes(chords: dict[int, _Held], times: dict[int, str]) -> list[StrumStroke]:
    """Return the strokes of a measure: those of the pattern, and where the chord changes."""
    found: list[StrumStroke] = []
    symbol: Harmony | None = None
    grip: ChordGrip | None = None
    for tick in sorted({*chords, *times}):
        changed = tick in chords and (tick > 0 or chords[tick][0] is not symbol)
        symbol, grip = chords.get(tick, (symbol, grip))
        if tick in times or changed:
            found.append(StrumStroke(tick, symbol, grip, times.get(tick, "chord")))
    return found
