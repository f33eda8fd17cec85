"""Runs the typesetter: a template, and what is to be printed, become a PDF."""

from __future__ import annotations

import json
import struct
import zlib
from collections.abc import Callable
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

from variants.errors import NeckwiseError, OutputError
from variants.files import read_bytes
from variants.sheets.fonts import Letters

Made = TypeVar("Made")
TEMPLATE = "handout.typ"
_MOST_TEMPLATE_BYTES = 10_000_000


def typeset(data: dict[str, Any], *, template: Path | None, letters: Letters) -> bytes:
    """Return the PDF that a template makes of what is to be printed.

    Args:
        data: What is to be printed, as JSON values; the shipped template says what is in it.
        template: A template of the user's, which may use files beside it; ``None`` for ours.
        letters: The fonts.

    Raises:
        OutputError: The template cannot be read or has an error, or there is no typesetter.
    """
    made: bytes = _run(
        lambda typst: typst.compile(
            template or template_text().encode(),
            font_paths=letters.set_up(),
            ignore_system_fonts=True,
            format="pdf",
            sys_inputs=_inputs(data),
        ),
        template,
    )
    return made


def pictures(
    data: dict[str, Any], *, template: Path | None, letters: Letters, dpi: int
) -> list[bytes]:
    """Return a PNG of each page; see `typeset`.

    Args:
        data: What is to be printed.
        template: A template of the user's; ``None`` for ours.
        letters: The fonts.
        dpi: Dots in an inch of paper.

    Raises:
        OutputError: As `typeset` does.
    """
    made: list[bytes] | bytes = _run(
        lambda typst: typst.compile(
            template or template_text().encode(),
            font_paths=letters.set_up(),
            ignore_system_fonts=True,
            format="png",
            ppi=float(dpi),
            sys_inputs=_inputs(data),
        ),
        template,
    )
    # One page comes alone.
    return [_signed_png(page) for page in ([made] if isinstance(made, bytes) else made)]


def _signed_png(data: bytes) -> bytes:
    """Return a PNG that says who made it, in a chunk of text behind its head (W3C PNG, 11.3.4)."""
    head = len(b"\x89PNG\r\n\x1a\n") + 4 + 4 + 13 + 4
    body = b"tEXtSoftware\x00neckwise"
    chunk = struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body))
    return data[:head] + chunk + data[head:]


def _run(job: Callable[[Any], Made], template: Path | None) -> Made:
    """Return what the typesetter makes of a job."""
    try:
        import typst
    except ModuleNotFoundError:
        raise OutputError(
            "the package typst is not installed", way_out="install it with pip"
        ) from None
    if template is not None:
        template_text(template)
    try:
        return job(typst)
    except typst.TypstError as error:
        raise OutputError(
            f"the typesetter says: {error.message}",
            place=str(template or TEMPLATE),
            way_out="mend the template" if template else "please report it with the file",
        ) from None


def measured(data: dict[str, Any], *, letters: Letters) -> list[dict[str, Any]]:
    """Return how high things are on each sheet, in millimetres: ``head``, ``short``, ``rows``.

    Args:
        data: What is to be printed; the music is not asked for.
        letters: The fonts.

    Raises:
        OutputError: The typesetter fails, or there is none.
    """
    found = _run(
        lambda typst: typst.query(
            template_text().encode(),
            "<heights>",
            field="value",
            one=True,
            font_paths=letters.set_up(),
            ignore_system_fonts=True,
            sys_inputs=_inputs(data | {"pages": []}),
        ),
        None,
    )
    heights: list[dict[str, Any]] = json.loads(found)
    return heights


def _inputs(data: dict[str, Any]) -> dict[str, str]:
    return {"data": json.dumps(data, ensure_ascii=False, sort_keys=True)}


def template_text(template: Path | None = None) -> str:
    """Return the text of a template, the shipped one if none is named.

    Raises:
        OutputError: It cannot be read.
    """
    if template is None:
        return (resources.files("variants.sheets") / TEMPLATE).read_text(encoding="utf-8")
    try:
        data = read_bytes(template, most_bytes=_MOST_TEMPLATE_BYTES, way_out="name a .typ file")
        return data.decode("utf-8")
    except NeckwiseError as error:
        raise OutputError(error.cause, place=error.place, way_out="name a .typ file") from None
    except UnicodeDecodeError:
        raise OutputError(
            "cannot be read: is no UTF-8 text", place=str(template), way_out="name a .typ file"
        ) from None
