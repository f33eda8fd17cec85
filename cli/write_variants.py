"""From a call to variants, written and reported: one into a file, a family into a folder."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from variants.errors import OutputError
from variants.files import STANDARD_STREAM

from .limits import in_time
from .output import SCORE_ENDINGS, Target, checked_folder, folder_targets, score_target, write
from .source import load_score, shown
from .text import count, show, show_json, table, working, wrapped
from .variant_call import VariantCall, naming, score_bytes

if TYPE_CHECKING:
    from variants.steps import Family, Member, Step
    from variants.variant import Variant

    Made = Sequence[tuple[Member, Variant]]


def carry_out(call: VariantCall) -> None:
    """Make a variant, write it, and report it, within the time that one score may take.

    Raises:
        NeckwiseError: In one line, with the file, the place, the cause and the way out.
    """
    with in_time(shown(call.file)):
        made = make_and_write(call)
    if made is not None and not call.telling.quiet:
        _report(call, *made)


def make_and_write(call: VariantCall) -> tuple[Variant, Target] | None:
    """Make a variant and write it; a family of variants is reported at once and not returned.

    Raises:
        NeckwiseError: In one line, with the file, the place, the cause and the way out.
    """
    from variants.family import has_family
    from variants.pipeline import parse_pipeline
    from variants.steps import parse_item
    from variants.variant import make_variant

    # All that can be known to be wrong without the file is found before it is read.
    items = [parse_item(text) for text in call.steps]
    if has_family(items):
        write_family(call, items)
        return None
    steps = parse_pipeline(call.steps).steps
    wishes = call.wishes()
    target = score_target(call.out, source=call.file, force=call.telling.force)
    score = load_score(call.file)
    with naming(call):
        variant = make_variant(score, steps, wishes)
        data = score_bytes(call, variant, target)
    write(target, data)
    return variant, target


def write_family(call: VariantCall, items: Sequence[Step | Family]) -> None:
    """Make every member of a family and write them all into a folder, or none.

    Raises:
        NeckwiseError: In one line; nothing is written then.
    """
    from variants.family import make_family

    wishes = call.wishes()
    if call.out == STANDARD_STREAM or Path(call.out).suffix.lower() in SCORE_ENDINGS:
        raise OutputError(
            "several variants do not go into one file", place=call.out, way_out="name a folder"
        )
    checked_folder(call.out)
    score = load_score(call.file)
    with naming(call), working("making every variant ..."):
        made = make_family(score, items, wishes)
    names = [f"{member.name}.musicxml" for member, _ in made]
    targets = folder_targets(call.out, names, source=call.file, force=call.telling.force)
    with naming(call):
        data = [
            score_bytes(call, variant, target)
            for (_, variant), target in zip(made, targets, strict=True)
        ]
    for target, one in zip(targets, data, strict=True):
        write(target, one)
    if not call.telling.quiet:
        _report_family(call, made, targets)


def _moved(variant: Variant) -> str:
    """Return how far a variant was moved, as people say it: ``up a major second``."""
    from variants.music import UNISON
    from variants.steps.wording.words import moved_words

    interval = variant.interval
    return "as it was" if interval is None or interval == UNISON else moved_words(interval)


def _report_family(call: VariantCall, made: Made, targets: Sequence[Target]) -> None:
    from .report import hand_text, variant_json

    source = shown(call.file)
    pairs = list(zip(made, targets, strict=True))
    if call.telling.json:
        values = [
            variant_json(variant, source=source, output=target.name, explains=call.telling.explain)
            for (_, variant), target in pairs
        ]
        show_json({"variants": values})
        return
    rows = [
        (
            member.title,
            _moved(variant),
            hand_text(variant) or "-",
            Path(target.name).name,
        )
        for (member, variant), target in pairs
    ]
    head = f"{source}: {count(len(made), 'variant')} in {call.out}"
    show([*wrapped(head), "", *table(("variant", "moved", "positions", "file"), rows)])


def _report(call: VariantCall, variant: Variant, target: Target) -> None:
    from .report import variant_json, variant_lines
    from .text import show, show_json

    stream = sys.stderr if target.is_stream else sys.stdout
    source, output = shown(call.file), "standard output" if target.is_stream else target.name
    if call.telling.json:
        values = variant_json(variant, source=source, output=output, explains=call.telling.explain)
        show_json(values, stream)
        return
    lines = variant_lines(variant, source=source, output=output, explains=call.telling.explain)
    show(lines, stream)
