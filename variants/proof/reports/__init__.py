"""How a report is written: for people, for programs, and for the services that run checks."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Sequence

from variants.errors import UsageError
from variants.proof.engine import ProofReport
from variants.proof.reports.programs import github, json_text, junit, sarif
from variants.proof.reports.text import text

Render = Callable[[Sequence[ProofReport]], str]

FORMATS: dict[str, Render] = {
    "text": text,
    "json": json_text,
    "sarif": sarif,
    "junit": junit,
    "github": github,
}


def render(reports: Sequence[ProofReport], name: str = "text") -> str:
    """Return reports in a format, without a line break at the end.

    Raises:
        UsageError: There is no such format.
    """
    if name not in FORMATS:
        close = difflib.get_close_matches(name, FORMATS, n=1)
        raise UsageError(
            f"there is no format {name!r}",
            way_out=f"did you mean {close[0]}?" if close else f"use {', '.join(FORMATS)}",
        )
    return FORMATS[name](reports)


__all__ = ["FORMATS", "render"]
