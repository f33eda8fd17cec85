"""Several variants from one call: each member of a family, made like any other variant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import cast

from variants.errors import UsageError
from variants.pipeline import run
from variants.score import Score
from variants.steps import Family, Member, Step, is_family
from variants.steps import describe_step as describe
from variants.variant import Variant, Wishes, leading_steps, make_ready, make_variant


def has_family(items: Sequence[Step | Family]) -> bool:
    """Whether one of the items makes several variants."""
    return any(map(is_family, items))


def make_family(
    score: Score, items: Sequence[Step | Family], wishes: Wishes
) -> list[tuple[Member, Variant]]:
    """Return the variants of a family, each with the steps before and after it.

    Args:
        score: As read.
        items: Steps, and one family among them.
        wishes: How each variant is made.

    Raises:
        UsageError: There is not just one family among the items.
        Refusal: A step cannot be applied, or a variant cannot be played.
    """
    families = [item for item in items if is_family(item)]
    if len(families) != 1:
        raise UsageError(
            f"{' and '.join(map(describe, families)) or 'nothing'} cannot be written into one"
            " folder",
            way_out="name one family of variants in a call",
        )
    place = items.index(families[0])
    before = _steps(items[:place])
    after = _steps(items[place + 1 :])
    return [
        (member, make_variant(score, (*before, *member.steps, *after), _of(member, wishes)))
        for member in families[0].expand(_given(score, before, wishes))
    ]


def _of(member: Member, wishes: Wishes) -> Wishes:
    """Return the wishes with the name of a member, for pins that are of it alone."""
    version = f"{wishes.version}-{member.name}" if wishes.version else member.name
    return replace(wishes, version=version) if wishes.pins else wishes


def _steps(items: Sequence[Step | Family]) -> tuple[Step, ...]:
    # A type guard narrows only where it holds.
    return tuple(cast("Step", item) for item in items if not is_family(item))


def _given(score: Score, before: Sequence[Step], wishes: Wishes) -> Score:
    """Return what the family is given: the part that is meant, strung, after the first steps."""
    leading = len(leading_steps(score, before))
    chosen = run(score, before[:leading]).score if leading else score
    return run(make_ready(chosen, wishes), before[leading:]).score
