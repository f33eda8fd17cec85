"""The command line, installed as `neckwise`; imported under that name it is the library's door.

>>> import variants
>>> sorted(__all__) == sorted(variants.__all__)
True
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from variants import NeckwiseError as NeckwiseError
    from variants import Score as Score
    from variants import build as build
    from variants import finger as finger
    from variants import fit as fit
    from variants import proofread as proofread
    from variants import read as read
    from variants import sheet as sheet
    from variants import step as step
    from variants import steps as steps
    from variants import vary as vary
    from variants import ways as ways
    from variants import write as write

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


def __getattr__(name: str) -> object:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    import variants

    return getattr(variants, name)


def __dir__() -> list[str]:
    return sorted({*__all__, "__doc__", "__file__", "__name__", "__path__"})
