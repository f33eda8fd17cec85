"""Several variants from one call, written into a folder."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from cli.making import Call, naming, score_bytes, wishes_of
from cli.output import (
    SCORE_ENDINGS,
    STANDARD_STREAM,
    Target,
    checked_folder,
    folder_targets,
    write,
)
from cli.source import load_score, shown
from cli.text import count, show, show_json, table, working, wrapped
from variants.errors import OutputError

if TYPE_CHECKING:
    from variants.steps import Family, Member, Step
    from variants.variant import Variant

    Made = Sequence[tuple[Member, Variant]]


def write_family(call: Call, items: Sequence[Step | Family]) -> None:
    """Make every member of a family and write them all into a folder, or none.

    Raises:
        NeckwiseError: In one line; nothing is written then.
    """
    from variants.family import make_family

    wishes = wishes_of(call)
    if call.out == STANDARD_STREAM or Path(call.out).suffix.lower() in SCORE_ENDINGS:
        raise OutputError(
            "several variants do not go into one file", place=call.out, way_out="name a folder"
        )
    checked_folder(call.out)
    score = load_score(call.file)
    with naming(call), working("making every variant ..."):
        made = make_family(score, items, wishes)
    names = [f"{member.name}.musicxml" for member, _ in made]
    targets = folder_targets(call.out, names, source=call.file, force=call.force)
    with naming(call):
        data = [
            score_bytes(call, variant, target)
            for (_, variant), target in zip(made, targets, strict=True)
        ]
    for target, one in zip(targets, data, strict=True):
        write(target, one)
    if not call.is_quiet:
        _report(call, made, targets)


def _report(call: Call, made: Made, targets: Sequence[Target]) -> None:
    from cli.report import hand_text, variant_json
    from variants.music import UNISON

    source = shown(call.file)
    pairs = list(zip(made, targets, strict=True))
    if call.is_json:
        values = [
            variant_json(variant, source=source, output=target.name, explains=call.explains)
            for (_, variant), target in pairs
        ]
        show_json({"variants": values})
        return
    rows = [
        (
            member.title,
            str(variant.interval) if variant.interval not in (None, UNISON) else "as it was",
            hand_text(variant) or "-",
            Path(target.name).name,
        )
        for (member, variant), target in pairs
    ]
    head = f"{source}: {count(len(made), 'variant')} in {call.out}"
    show([*wrapped(head), "", *table(("variant", "moved", "positions", "file"), rows)])
