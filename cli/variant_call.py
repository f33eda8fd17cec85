"""A call of a command that makes scores: what it asks the library for, and the bytes it gets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .options import HandSize, OpenStringsWish, ReadingWish, StavesWish
from .output import Target
from .source import shown

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
