"""What `vary` and `finger` have in common: from a call to a written, reported variant."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cli.limits import in_time
from cli.options import HandSize, OpenStringsWish, ReadingWish, StavesWish
from cli.output import Target, score_target, write
from cli.source import load_score, shown

if TYPE_CHECKING:
    from variants.variant import Variant, Wishes


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """A call of a command that writes one score; `cli.options` says what each member means."""

    file: str
    out: str
    steps: Sequence[str] = ()
    staves: StavesWish = StavesWish.both
    marks: Sequence[str] = ()
    places: bool = False
    tuning: str = ""
    capo: int | None = None
    frets: int | None = None
    scale: str = ""
    part: str = ""
    reading: ReadingWish = ReadingWish.auto
    keep_fingering: bool = False
    hand: HandSize = HandSize.medium
    open_strings: OpenStringsWish = OpenStringsWish.usual
    position: int | None = None
    force: bool = False
    is_json: bool = False
    is_quiet: bool = False
    explains: bool = False


def carry_out(call: Call) -> None:
    """Make a variant, write it, and report it, within the time that one score may take.

    Raises:
        NeckwiseError: In one line, with the file, the place, the cause and the way out.
    """
    with in_time(shown(call.file)):
        made = make_and_write(call)
    if made is not None and not call.is_quiet:
        _report(call, *made)


def make_and_write(call: Call) -> tuple[Variant, Target] | None:
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
        from cli.family import write_family

        write_family(call, items)
        return None
    steps = parse_pipeline(call.steps).steps
    wishes = wishes_of(call)
    target = score_target(call.out, source=call.file, force=call.force)
    score = load_score(call.file)
    with naming(call):
        variant = make_variant(score, steps, wishes)
        data = score_bytes(call, variant, target)
    write(target, data)
    return variant, target


def wishes_of(call: Call) -> Wishes:
    """Return what the library is asked for; a name that it does not know is a `UsageError`."""
    from variants.fingering import Settings
    from variants.finish import MARKS
    from variants.guitar import parse_tuning
    from variants.marks import parse_marks
    from variants.prepare import Strings, parse_scale_length
    from variants.variant import Wishes

    if call.tuning:
        parse_tuning(call.tuning)
    marks = parse_marks(call.marks or MARKS)
    return Wishes(
        part=call.part,
        reading=call.reading.value,
        strings=Strings(
            tuning=call.tuning,
            capo=call.capo,
            frets=call.frets,
            scale_length_mm=parse_scale_length(call.scale) if call.scale else None,
            keep_places=call.keep_fingering,
        ),
        marks=marks,
        has_tab=call.staves is not StavesWish.notation,
        places=call.places,
        settings=Settings(
            hand=call.hand.value,
            open_strings=call.open_strings.value,
            position=call.position,
        ),
    )


def score_bytes(call: Call, variant: Variant, target: Target) -> bytes:
    """Return a variant as it is written to a target."""
    from variants.variant import written

    return written(
        variant.score,
        staves=call.staves.value,
        places=call.places,
        mxl=target.is_compressed,
    )


@contextmanager
def naming(call: Call) -> Iterator[None]:
    """Put the name of the source before every error of the library."""
    from variants.errors import NeckwiseError

    try:
        yield
    except NeckwiseError as error:
        raise error.at(shown(call.file)) from None


def _report(call: Call, variant: Variant, target: Target) -> None:
    from cli.report import variant_json, variant_lines
    from cli.text import show, show_json

    stream = sys.stderr if target.is_stream else sys.stdout
    source, output = shown(call.file), "standard output" if target.is_stream else target.name
    if call.is_json:
        values = variant_json(variant, source=source, output=output, explains=call.explains)
        show_json(values, stream)
        return
    lines = variant_lines(variant, source=source, output=output, explains=call.explains)
    show(lines, stream)
