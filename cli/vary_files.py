"""`neckwise vary` on several files: each into a folder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from variants.errors import UsageError
from variants.files import STANDARD_STREAM

from .on_each_file import failed_json, on_each, show_summary
from .output import SCORE_ENDINGS, Target, made_folder
from .source import shown, split_tune
from .text import count, show, show_json
from .variant_call import VariantCall
from .write_variants import make_and_write

if TYPE_CHECKING:
    from variants.variant import Variant


def vary_all(call: VariantCall, files: Sequence[str]) -> None:
    """Make a variant of each of several files, write them into a folder and report them.

    Raises:
        UsageError: The call itself is wrong; nothing is done then.
        typer.Exit: With 1 if one of the files failed.
    """
    from variants.family import has_family
    from variants.steps import parse_item

    # What is wrong with the call would be wrong for each of the files.
    is_family = has_family([parse_item(text) for text in call.steps])
    call.player.wishes()
    if call.out == STANDARD_STREAM or Path(call.out).suffix.lower() in SCORE_ENDINGS:
        raise UsageError(
            "several files do not go into one", place=call.out, way_out="name a folder with -o"
        )
    made_folder(call.out)
    names = dict(zip(files, output_names(files), strict=True))
    single = replace(call, telling=replace(call.telling, quiet=True)) if is_family else call

    def work(name: str) -> tuple[Variant, Target] | None:
        out = str(Path(call.out) / names[name])
        if is_family:
            out = made_folder(str(Path(out).with_suffix("")))
        return make_and_write(replace(single, file=name, out=out))

    outcome = on_each(files, work)
    if not call.telling.quiet:
        if call.telling.json:
            show_json({"files": _json(call, outcome.done), "failed": failed_json(outcome)})
        else:
            _show(call, outcome.done, names)
            show_summary(outcome, "written")
    if outcome.failed:
        raise typer.Exit(outcome.exit_code)


def output_names(files: Sequence[str]) -> list[str]:
    """Return a name for the output of each file; names that come twice are numbered.

    >>> output_names(["a/x.xml", "b/x.mxl", "tunes.abc#2"])
    ['x.musicxml', 'x-2.musicxml', 'tunes-2.musicxml']
    """
    found: list[str] = []
    for name in files:
        path, tune = split_tune(name)
        stem = "stdin" if name == STANDARD_STREAM else Path(path).stem
        stem = f"{stem}-{tune}" if tune else stem
        free, number = stem, 1
        while f"{free}.musicxml" in found:
            number += 1
            free = f"{stem}-{number}"
        found.append(f"{free}.musicxml")
    return found


Done = Sequence[tuple[str, "tuple[Variant, Target] | None"]]


def _json(call: VariantCall, done: Done) -> list[object]:
    from .report import variant_json

    return [
        variant_json(
            made[0], source=shown(name), output=made[1].name, explains=call.telling.explain
        )
        if made
        else {"source": shown(name)}
        for name, made in done
    ]


def _show(call: VariantCall, done: Done, names: dict[str, str]) -> None:
    from .report import variant_lines

    for name, made in done:
        if made is None:
            show([f"{shown(name)} -> {Path(call.out) / Path(names[name]).stem}"])
            continue
        variant, target = made
        if call.telling.explain:
            report = variant_lines(variant, source=shown(name), output=target.name, explains=True)
            show([*report, ""])
        else:
            changes = count(len(variant.changes), "change")
            show([f"{shown(name)} -> {target.name} ({changes})"])
