"""`neckwise new`: a song set to start from."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Annotated

import typer

from .. import options

Folder = Annotated[
    str,
    typer.Argument(
        metavar="FOLDER", callback=options.named, help="Where to write it; made if it is not there."
    ),
]


def new(folder: Folder, json: options.Json = False, quiet: options.Quiet = False) -> None:
    """Write a small song set that builds at once; nothing that is there is ever written over."""
    from variants.songset.starter import start

    from ..text import show, show_json, wrapped

    written = start(Path(folder))
    if quiet:
        return
    if json:
        show_json({"folder": folder, "files": [str(path) for path in written]})
        return
    show(str(path) for path in written)
    show(["", *wrapped(f"Make it with: {shlex.join(['neckwise', 'build', str(written[0])])}")])
