"""The work of one song: source bytes and specs in, packed results out. Pure, and so repeatable.

It reads no other file, knows no clock and keeps nothing, so that any process on any machine that
has the same toolkit gives the same bytes.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from variants.errors import NeckwiseError, UsageError
from variants.limits import LIMITS, FileLimits
from variants.songset.digest import toolkit
from variants.songset.result import Result, pack

if TYPE_CHECKING:
    from variants.songset.making import Maker


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What a worker is given.

    Args:
        source: The bytes of the song's file.
        specs: How each unit is made; see `variants.songset.plan`.
        toolkit: The toolkit that the plan is made for.
        limits: What the source may cost.
    """

    source: bytes = field(repr=False)
    specs: tuple[str, ...]
    toolkit: str
    limits: FileLimits = LIMITS


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What a worker gives back.

    Args:
        results: For each unit its packed result; empty bytes if it met a defect.
        defects: For each unit the defect that it met, in one line; empty if none.
    """

    results: tuple[bytes, ...] = field(repr=False)
    defects: tuple[str, ...]


def run_task(task: Task) -> Done:
    """Make every unit of a song.

    Raises:
        UsageError: This process has another toolkit than the plan was made for.
    """
    if task.toolkit != toolkit():
        raise UsageError(
            f"a worker has the toolkit {toolkit()}, the plan is for {task.toolkit}",
            way_out="install the same version on all machines",
        )
    from variants.songset.making import Maker

    maker = Maker(task.source, task.limits)
    results: list[bytes] = []
    defects: list[str] = []
    for text in task.specs:
        result, defect = _one(maker, json.loads(text))
        results.append(pack(result) if not defect else b"")
        defects.append(defect)
    return Done(results=tuple(results), defects=tuple(defects))


def _one(maker: Maker, spec: Mapping[str, Any]) -> tuple[Result, str]:
    try:
        return maker.made(spec), ""
    except NeckwiseError as error:
        return Result(refusal=str(error)), ""
    except (RecursionError, MemoryError):
        return Result(), "there is not enough memory for this song; split it"
    except Exception as error:  # noqa: BLE001 - one song must not stop the others
        text = " ".join(f"{type(error).__name__}: {error}".split())
        return Result(), f"a defect of neckwise ({text}); please report it with the file"
