"""The limits of a run: what the variable NECKWISE_LIMITS says, and the time for one score."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from variants.musicxml import FileLimits

VARIABLE = "NECKWISE_LIMITS"


def limits() -> FileLimits:
    """Return the limits of this run.

    Raises:
        UsageError: The variable holds what no limit is; the message names it.
    """
    from variants.errors import NeckwiseError
    from variants.limits import parse_limits

    try:
        return parse_limits(os.environ.get(VARIABLE, ""))
    except NeckwiseError as error:
        raise error.at(VARIABLE) from None


class _OutOfTimeError(BaseException):
    """The alarm: no other code may take it for an error of its own, so it is no Exception."""


@contextmanager
def in_time(name: str) -> Iterator[None]:
    """Stop the work on one score when it takes longer than the limit.

    Where a system has no alarm, or outside the main thread, there is no bound.

    Args:
        name: What the message begins with.

    Raises:
        InputError: It took longer.
    """
    if not hasattr(signal, "SIGALRM") or threading.current_thread() is not threading.main_thread():
        yield
        return
    seconds = limits().seconds

    if signal.getitimer(signal.ITIMER_REAL)[0]:
        yield  # the work around this one is bounded already
        return

    def stop(_: int, __: FrameType | None) -> None:
        raise _OutOfTimeError

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(seconds)
    try:
        yield
    except _OutOfTimeError:
        from variants.errors import InputError

        raise InputError(
            f"takes longer than {seconds} seconds",
            place=name,
            way_out=f"split the score, or raise the limit: {VARIABLE}=seconds={10 * seconds}",
        ) from None
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
