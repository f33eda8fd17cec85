"""Measures that are longer or shorter than their metre."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Bar, Page
from variants.proof.registry import rule
from variants.proof.views.lengths import Exempt, exemption, is_rounding


@rule("measure-sum", Severity.ERROR, "a measure is longer or shorter than its metre")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the measures whose content does not add up.

    Pick-ups, measures split by a repeat or a double bar, and senza misura are exempt. Where every
    part of a larger score has the same odd length, the metre is what is missing: a warning.
    """
    for part in page.parts:
        for bar in part.bars:
            if not bar.full or not bar.reach or bar.reach == bar.full or is_rounding(bar):
                continue
            reason = exemption(page, bar)
            if reason is Exempt.FULLY:
                continue
            severity = {Exempt.HINT: Severity.HINT, Exempt.WARNING: Severity.WARNING}.get(reason)
            yield _flaw(bar, page.ticks, severity)


def _flaw(bar: Bar, ticks: int, severity: Severity | None) -> Flaw:
    have, want = Fraction(bar.reach, ticks), Fraction(bar.full, ticks)
    longer = "longer" if have > want else "shorter"
    first = bar.index == 0 and have < want
    return at_bar(
        bar,
        f"the measure lasts {_text(have)} and is {longer} than its metre, {bar.metre}"
        + (", and is not marked as a pick-up" if first else ""),
        onset=-1 if first else min(bar.reach, bar.full),
        expected=_text(want),
        severity=severity,
    )


def _text(quarters: Fraction) -> str:
    number = str(quarters) if quarters.denominator != 2 else f"{float(quarters):g}"
    return f"{number} quarter{'' if quarters == 1 else 's'}"
