"""Hashes of inputs: what must be the same for a result to be the same. Standard library only."""

from __future__ import annotations

import hashlib
import json
from functools import lru_cache
from importlib import resources
from importlib.metadata import PackageNotFoundError, version
from importlib.resources.abc import Traversable
from typing import Any

# Whatever changes the notes or the text of a file.
SCORE_LIBRARIES = ("lxml", "numpy")
# Whatever changes a drawing or a page besides.
SHEET_LIBRARIES = ("verovio", "typst", "fonttools", "font-source-sans-pro", "matplotlib")
_SKIPPED = ("__pycache__", "py.typed")


def sha256(data: bytes) -> str:
    """Return the SHA-256 of some bytes in hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def canonical(value: Any) -> str:  # noqa: ANN401 - any JSON value
    """Return a JSON value as the one text that stands for it.

    >>> canonical({"b": [1, 2], "a": "é"})
    '{"a":"é","b":[1,2]}'
    """
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def key_of(value: Any) -> str:  # noqa: ANN401 - any JSON value
    """Return the hash of a JSON value."""
    return sha256(canonical(value).encode())


@lru_cache(maxsize=1)
def toolkit() -> str:
    """Return the version of the toolkit, with the hash of its own files.

    A release number does not tell two checkouts apart; the files do.
    """
    found = hashlib.sha256()
    for name, data in _files(resources.files("variants"), ""):
        found.update(f"{name}\0{len(data)}\0".encode())
        found.update(data)
    return f"{_version('neckwise')}+{found.hexdigest()[:16]}"


def _files(folder: Traversable, path: str) -> list[tuple[str, bytes]]:
    found: list[tuple[str, bytes]] = []
    for one in sorted(folder.iterdir(), key=lambda each: each.name):
        if one.name in _SKIPPED or one.name.startswith("."):
            continue
        name = f"{path}{one.name}"
        if one.is_dir():
            found += _files(one, f"{name}/")
        else:
            found.append((name, one.read_bytes()))
    return found


@lru_cache(maxsize=2)
def versions(*, sheets: bool) -> dict[str, str]:
    """Return the versions of the toolkit and of the libraries that its bytes hang on.

    Args:
        sheets: Whether drawings or pages are made, so that the engraver and fonts count too.
    """
    names = (*SCORE_LIBRARIES, *SHEET_LIBRARIES) if sheets else SCORE_LIBRARIES
    return {"neckwise": toolkit(), **{name: _version(name) for name in names}}


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "none"
