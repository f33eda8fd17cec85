r"""neckwise: graded variants of guitar scores, from MusicXML to MusicXML.

>>> import variants
>>> tune = variants.read("X:1\nT:Up\nM:4/4\nL:1/4\nK:C\nCDEF|]\n")
>>> variants.vary(tune, "transpose:key=D major", position=2).score
Score('Up', 1 part, 1 measure)

What stands in ``__all__`` is the front door and keeps its form; everything else is private to its
package. Nothing is loaded before it is asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from variants import steps as steps
    from variants.errors import NeckwiseError as NeckwiseError
    from variants.front_door import build as build
    from variants.front_door import finger as finger
    from variants.front_door import fit as fit
    from variants.front_door import proofread as proofread
    from variants.front_door import read as read
    from variants.front_door import sheet as sheet
    from variants.front_door import step as step
    from variants.front_door import vary as vary
    from variants.front_door import ways as ways
    from variants.front_door import write as write
    from variants.score import Score as Score

    __version__: str

__all__ = [
    "NeckwiseError",
    "Score",
    "__version__",
    "build",
    "finger",
    "fit",
    "proofread",
    "read",
    "sheet",
    "step",
    "steps",
    "vary",
    "ways",
    "write",
]
_ELSEWHERE = {"NeckwiseError": "variants.errors", "Score": "variants.score"}


def __getattr__(name: str) -> object:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    if name == "__version__":
        from importlib.metadata import version

        return version("neckwise")
    if name == "steps":
        return import_module("variants.steps")
    return getattr(import_module(_ELSEWHERE.get(name, "variants.front_door")), name)


def __dir__() -> list[str]:
    return sorted({*__all__, "__doc__", "__file__", "__name__", "__path__"})
