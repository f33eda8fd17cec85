"""Voices that do not fill their measure."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Bar, Page, PagePart
from variants.proof.registry import rule

# A voice that fills so many of its measures is meant to fill them all.
USUALLY = 0.75
LEAST_MEASURES = 4


@rule("voice-gap", Severity.WARNING, "a voice that fills every other measure leaves a gap")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the measures in which a voice is silent without a rest and against its habit."""
    for part in page.parts:
        gaps, measures = _gaps(part)
        for voice, found in gaps.items():
            count = measures[voice]
            if count >= LEAST_MEASURES and len(found) <= (1 - USUALLY) * count:
                for bar, onset in found:
                    yield at_bar(bar, f"voice {voice} leaves a gap in the measure", onset=onset,
                                 expected="notes or rests", voice=voice)  # fmt: skip


def _gaps(part: PagePart) -> tuple[dict[str, list[tuple[Bar, int]]], dict[str, int]]:
    gaps: dict[str, list[tuple[Bar, int]]] = {}
    measures: dict[str, int] = {}
    for bar in part.bars:
        lanes: dict[str, list[tuple[int, int]]] = {}
        for head in bar.heads:
            if not (head.is_chord or head.is_grace):
                lanes.setdefault(head.voice, []).append((head.onset, head.onset + head.duration))
        for voice, spans in lanes.items():
            measures[voice] = measures.get(voice, 0) + 1
            onset = _first_gap(spans, bar.length)
            if onset is not None and bar.length - onset >= bar.division:
                gaps.setdefault(voice, []).append((bar, onset))
    return gaps, measures


def _first_gap(spans: list[tuple[int, int]], length: int) -> int | None:
    clock = 0
    for start, end in sorted(spans):
        if start > clock:
            return clock
        clock = max(clock, end)
    return clock if clock < length else None
