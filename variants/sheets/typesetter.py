"""Runs the typesetter: a template, and what is to be printed, become a PDF."""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path
from typing import Any

from variants.errors import NeckwiseError, OutputError
from variants.files import read_bytes
from variants.sheets.fonts import Letters

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
    try:
        import typst
    except ModuleNotFoundError:
        raise OutputError(
            "the package typst is not installed", way_out="install it with pip"
        ) from None
    text = template_text(template).encode()
    inputs = {"data": json.dumps(data, ensure_ascii=False, sort_keys=True)}
    try:
        if template is None:
            return typst.compile(
                text,
                font_paths=letters.set_up(),
                ignore_system_fonts=True,
                format="pdf",
                sys_inputs=inputs,
            )
        return typst.compile(
            template,
            font_paths=letters.set_up(),
            ignore_system_fonts=True,
            format="pdf",
            sys_inputs=inputs,
        )
    except typst.TypstError as error:
        raise OutputError(
            f"the typesetter says: {error.message}",
            place=str(template or TEMPLATE),
            way_out="mend the template" if template else "please report it with the file",
        ) from None


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
