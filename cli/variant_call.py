"""A call of a command that makes scores: what it asks the library for, and the bytes it gets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from .options import Player, Telling
from .output import Target
from .source import shown

if TYPE_CHECKING:
    from variants.variant import Variant, Wishes


@dataclass(frozen=True, slots=True, kw_only=True)
class VariantCall:
    """A call of a command that makes scores.

    Args:
        file: The source.
        out: Where what is made goes.
        steps: The steps, as written.
        player: How it is played and printed.
        telling: What is said of it.
        version: Name of the recipe that it follows; empty for none.
    """

    file: str
    out: str
    steps: Sequence[str] = ()
    player: Player
    telling: Telling
    version: str = ""

    def wishes(self) -> Wishes:
        """Return what the library is asked for.

        Raises:
            NeckwiseError: A name that it does not know, or a file of pins with a fault.
        """
        return replace(self.player.wishes(), version=self.version)


def score_bytes(call: VariantCall, variant: Variant, target: Target) -> bytes:
    """Return a variant as it is written to a target."""
    from variants.variant import written

    return written(
        variant.score,
        staves=call.player.staves.value,
        places=call.player.places,
        mxl=target.is_compressed,
    )


@contextmanager
def naming(call: VariantCall) -> Iterator[None]:
    """Put the name of the source before every error of the library."""
    from variants.errors import NeckwiseError

    try:
        yield
    except NeckwiseError as error:
        raise error.at(shown(call.file)) from None
