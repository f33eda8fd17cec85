"""Several fingerings of one piece: written, and compared in a table."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from variants.files import STANDARD_STREAM

from .output import Target, checked_folder, folder_targets, numbered, score_target, write
from .source import load_score, shown
from .text import count, show, show_json, table, working, wrapped
from .variant_call import VariantCall, naming, score_bytes

if TYPE_CHECKING:
    from variants.playing import Effort
    from variants.variant import Variant

_HEADS = ("way", "position", "strings", "open", "barres", "shifts", "stretch", "travel", "cost")
_RIGHT = (0, 3, 4, 5, 6, 7, 8)


def write_alternatives(call: VariantCall, number: int) -> None:
    """Write the best fingerings of a piece side by side, and compare them.

    Raises:
        NeckwiseError: In one line; nothing is written then.
    """
    from variants.playing import best_fingerings, effort_of

    wishes = call.wishes()
    target = score_target(call.out, source=call.file, force=call.telling.force)
    numbered(target, number, source=call.file, force=call.telling.force)
    score = load_score(call.file)
    with naming(call):
        variants = best_fingerings(score, wishes, number)
    targets = numbered(target, len(variants), source=call.file, force=call.telling.force)
    _write_all(call, variants, targets)
    if call.telling.quiet:
        return
    efforts = [effort_of(variant) for variant in variants]
    if call.telling.json:
        _show_json(call, efforts, targets)
        return
    head = f"{shown(call.file)}: {count(len(variants), 'fingering')}, the best first"
    show([*wrapped(head), "", *_table(efforts), "", *_written(targets)])


def write_ways(call: VariantCall, *, most: int) -> None:
    """Show every really different way to play a piece; write each if a folder is named.

    Raises:
        NeckwiseError: In one line; nothing is written then.
    """
    from variants.playing import effort_of, ways_to_play

    wishes = call.wishes()
    if call.out:
        checked_folder(call.out)
    score = load_score(call.file)
    with naming(call), working("trying every position and string set ..."):
        found = ways_to_play(score, wishes)
    chosen = found[:most]
    variants = [variant for _, variant in chosen]
    targets = _into_folder(call, variants) if call.out else []
    _write_all(call, variants, targets)
    efforts = [effort_of(variant) for variant in variants]
    sentences = [way.sentence for way, _ in chosen]
    if call.telling.json:
        _show_json(call, efforts, targets, sentences)
        return
    left = len(found) - len(chosen)
    more = f", the best {len(chosen)} of them here (--most shows more)" if left else ""
    head = f"{shown(call.file)}: {count(len(found), 'way')} to play it, the best first{more}"
    show([*wrapped(head), "", *_table(efforts), "", *_sentences(sentences), *_written(targets)])


def _into_folder(call: VariantCall, variants: Sequence[Variant]) -> list[Target]:
    stem = "score" if call.file == STANDARD_STREAM else Path(call.file).stem
    names = [f"{stem}-way-{number}.musicxml" for number in range(1, len(variants) + 1)]
    return folder_targets(call.out, names, source=call.file, force=call.telling.force)


def _write_all(call: VariantCall, variants: Sequence[Variant], targets: Sequence[Target]) -> None:
    """Write every variant; all are proven before the first is written."""
    with naming(call):
        every = [score_bytes(call, v, t) for v, t in zip(variants, targets, strict=False)]
    for target, data in zip(targets, every, strict=True):
        write(target, data)


def _table(efforts: Sequence[Effort]) -> list[str]:
    # Costs are differences by nature; the best one is the mark that the others are measured by.
    best = min((one.cost for one in efforts), default=0.0)
    rows = [
        (
            str(number),
            one.positions,
            _strings(one.strings),
            str(one.open_strings),
            str(one.barres),
            str(one.shifts),
            f"{one.stretch_mm:.0f} mm",
            f"{one.travel_mm:.0f} mm",
            f"+{one.cost - best:.1f}",
        )
        for number, one in enumerate(efforts, 1)
    ]
    return table(_HEADS, rows, right=_RIGHT)


def _strings(strings: Sequence[int]) -> str:
    """Return string numbers as short as they can be said: ``6 to 3``, ``5, 2``."""
    low, high = strings[-1], strings[0]
    if len(strings) > 2 and low - high == len(strings) - 1:
        return f"{low} to {high}"
    return ", ".join(str(string) for string in reversed(strings))


def _sentences(sentences: Sequence[str]) -> list[str]:
    lines: list[str] = []
    for number, sentence in enumerate(sentences, 1):
        head = f"{number:>3}  "
        lines += wrapped(sentence, first=head, other=" " * len(head))
    return lines


def _written(targets: Sequence[Target]) -> list[str]:
    if not targets:
        return []
    first, last = targets[0].name, targets[-1].name
    return wrapped(f"written: {first}" + (f" to {last}" if len(targets) > 1 else ""))


def _show_json(
    call: VariantCall,
    efforts: Sequence[Effort],
    targets: Sequence[Target],
    sentences: Sequence[str] = (),
) -> None:
    rows: list[dict[str, Any]] = []
    for index, effort in enumerate(efforts):
        row = asdict(effort)
        row["output"] = targets[index].name if targets else None
        if sentences:
            row["sentence"] = sentences[index]
        rows.append(row)
    stream = sys.stderr if targets and targets[0].is_stream else sys.stdout
    show_json({"source": shown(call.file), "ways": rows}, stream)
