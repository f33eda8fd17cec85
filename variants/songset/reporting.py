"""Writes the reports of a build, piece by piece, so that a large set need not be in memory."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from variants.files import telling
from variants.songset.index import Page
from variants.songset.report import Teller, report_lines
from variants.songset.standing import INDEX_FILE, REPORT_FILE


def write_reports(teller: Teller) -> dict[str, Path]:
    """Write the reports into temporary files.

    Args:
        teller: Tells of the songs.

    Returns:
        The temporary file of each report, by its path in the output folder.

    Raises:
        OutputError: The system refuses, or the disk is full.
    """
    folder = teller.opened.state / "tmp"
    names = [REPORT_FILE, *([INDEX_FILE] if teller.opened.songs.index else [])]
    made = {name: folder / f"{os.getpid()}-{name}" for name in names}
    page = Page(teller.opened.songs, teller.situation)
    with contextlib.ExitStack() as stack, telling(teller.opened.out / REPORT_FILE):
        folder.mkdir(parents=True, exist_ok=True)
        files = {
            name: stack.enter_context(path.open("w", encoding="utf-8", newline="\n"))
            for name, path in made.items()
        }
        index = files.get(INDEX_FILE)

        def tell(song: Mapping[str, Any]) -> None:
            if index is not None:
                index.write(page.song(song))

        if index is not None:
            index.write(page.head())
        for text in report_lines(teller, tell):
            files[REPORT_FILE].write(text)
        if index is not None:
            index.write(page.foot(teller.coverage()))
    return made
