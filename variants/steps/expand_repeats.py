"""The step `expand-repeats`: repeats, endings and jumps written out."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from itertools import groupby
from typing import ClassVar

from variants.contract import Promise
from variants.score import (
    Barline,
    Change,
    Direction,
    Measure,
    Part,
    Score,
    with_changes,
    with_parts,
)
from variants.score.playing import JUMPS, playing, signs_in, signs_of
from variants.steps.cutting.arranging import arranged_part, check_measures, numbered
from variants.steps.framework.log import count, scribe
from variants.steps.framework.registry import register

_NAME = "expand-repeats"
_TARGETS = frozenset({"segno", "coda"})
_JUMP_SOUNDS = re.compile(r"\s(?:dacapo|dalsegno|tocoda|fine|segno|coda)=(?:\"[^\"]*\"|'[^']*')")
_EMPTY_SOUND = re.compile(r"<sound\s*/>|<sound\s*>\s*</sound>")
# Barlines that only show where a repeat begins or ends.
_REPEAT_STYLES = frozenset({"light-heavy", "heavy-light", "heavy-heavy"})


@register(_NAME)
@dataclass(frozen=True, slots=True, kw_only=True)
class ExpandRepeats:
    """Write out repeats, endings, da capo, dal segno, coda and fine, as they are played.

    Measures are numbered anew from the first. Where the music jumps, key, metre, clef, tempo and
    chord symbol that hold are said again; a slur or line that a jump cuts is left out.
    """

    keeps: ClassVar[frozenset[Promise]] = frozenset(
        {Promise.SOUNDING_PITCHES, Promise.ONSETS, Promise.MEASURE_LENGTHS}
    )

    def order_for(self, score: Score) -> tuple[int, ...]:
        """Return the indices of the measures in the order of playing.

        Raises:
            Refusal: A jump leads nowhere, or the parts do not fit together.
        """
        check_measures(score)
        found = playing(score)
        if found.lost is not None:
            raise found.lost
        return found.order

    def __call__(self, score: Score) -> Score:
        """Return the score written out.

        Raises:
            Refusal: A jump leads nowhere, or the parts do not fit together.
        """
        order = self.order_for(score)
        if signs_of(score).is_empty:
            return with_changes(score, [Change("there is nothing to repeat", _NAME)])
        parts: list[Part] = []
        changes = [Change(_headline(score, order), _NAME)]
        changes += [Change(doubt, _NAME) for doubt in playing(score).doubts]
        for source in score.parts:
            part, lines = arranged_part(scribe(_NAME, score, source), order)
            parts.append(numbered(_plain(part)))
            changes += lines
        return with_parts(score, parts, changes)


def _headline(score: Score, order: tuple[int, ...]) -> str:
    measures = score.parts[0].measures
    runs = [
        [measures[index].number for _, index in run]
        for _, run in groupby(enumerate(order), key=lambda one: one[1] - one[0])
    ]
    spans = [run[0] if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs]
    return (
        f"repeats written out: measures {', '.join(spans)} of the source, numbered anew;"
        f" {count(len(measures), 'measure')} became {len(order)}"
    )


def _plain(part: Part) -> Part:
    """Return the part without the signs of its repeats and jumps."""
    last = len(part.measures) - 1
    return replace(
        part,
        measures=tuple(
            replace(
                measure,
                barlines=tuple(_barlines(measure, is_last=index == last)),
                directions=tuple(_directions(measure)),
            )
            for index, measure in enumerate(part.measures)
        ),
    )


def _barlines(measure: Measure, *, is_last: bool) -> list[Barline]:
    found = []
    for one in measure.barlines:
        is_sign = bool(one.repeat or one.ending)
        style = "" if is_sign or one.style in _REPEAT_STYLES else one.style
        carried = tuple(extra for extra in one.carried if extra.name not in _TARGETS)
        if is_last and one.location == "right":
            style = style or "light-heavy"
        if style or carried:
            plain = replace(one, style=style, repeat="", times=0, ending=None, carried=carried)
            found.append(plain)
    if is_last and not any(one.location == "right" for one in found):
        found.append(Barline("right", 0, style="light-heavy"))
    return found


def _directions(measure: Measure) -> list[Direction]:
    found = []
    for one in measure.directions:
        signs = signs_in(one)
        if not signs:
            found.append(one)
            continue
        sound = _EMPTY_SOUND.sub("", _JUMP_SOUNDS.sub("", one.sound))
        has_sign = signs.keys() & (JUMPS | _TARGETS)
        is_tempo = one.quarters_per_minute is not None and "<metronome" in one.xml
        xml = one.xml if is_tempo or not has_sign else ""
        if xml or sound:
            found.append(replace(one, xml=xml, sound=sound, words=one.words if xml else ""))
    return found
