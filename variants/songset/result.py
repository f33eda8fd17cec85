"""The result of a unit as bytes that carry their own hash. Standard library only.

A magic word, the SHA-256 of the rest, then, packed by zlib: the length of a JSON head, the head,
and the files one after the other.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

_MAGIC = b"nwr1"
_HASH_BYTES = 32
_WORD = 4
# Scores shrink to a tenth at the quickest level already.
_LEVEL = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class MadePiece:
    """One variant that was made; a unit of a family has several.

    Args:
        member: What tells it from the others of its family; empty without one.
        files: Its files by kind.
        facts: What the report says of it, as JSON values.
    """

    member: str = ""
    files: Mapping[str, bytes] = field(repr=False)
    facts: Mapping[str, Any] = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What became of a unit.

    Args:
        pieces: What was made; empty if it was refused.
        refusal: Why nothing was made, in one line; empty if something was.
    """

    pieces: tuple[MadePiece, ...] = ()
    refusal: str = ""


class Damaged(ValueError):
    """Bytes that are no result, or not as they were written."""


def pack(result: Result) -> bytes:
    """Return a result as bytes; equal results give equal bytes."""
    files: list[bytes] = []
    pieces = []
    for piece in result.pieces:
        sizes = [[kind, len(data)] for kind, data in piece.files.items()]
        files += piece.files.values()
        pieces.append({"member": piece.member, "files": sizes, "facts": piece.facts})
    head = json.dumps({"pieces": pieces, "refusal": result.refusal}, ensure_ascii=False).encode()
    body = zlib.compress(b"".join([len(head).to_bytes(_WORD), head, *files]), _LEVEL)
    return _MAGIC + sha256(body).digest() + body


def unpack(data: bytes) -> Result:
    """Return the result that stands in bytes.

    Raises:
        Damaged: They are none, or were changed.
    """
    start = len(_MAGIC) + _HASH_BYTES
    body = data[start:]
    if data[: len(_MAGIC)] != _MAGIC or sha256(body).digest() != data[len(_MAGIC) : start]:
        raise Damaged("no result, or not as it was written")
    text = zlib.decompress(body)
    size = int.from_bytes(text[:_WORD])
    head = json.loads(text[_WORD : _WORD + size])
    at = _WORD + size
    pieces = []
    for one in head["pieces"]:
        files: dict[str, bytes] = {}
        for kind, length in one["files"]:
            files[kind] = text[at : at + length]
            at += length
        pieces.append(MadePiece(member=one["member"], files=files, facts=one["facts"]))
    return Result(pieces=tuple(pieces), refusal=head["refusal"])
