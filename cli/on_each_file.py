"""The same work on several files: an error in one does not stop the rest."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from .error_text import failure_text, one_line
from .limits import in_time
from .source import shown
from .text import count, show, working

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class FileOutcome(Generic[T]):
    """What came of several files.

    Args:
        done: Name and result of each that went well.
        failed: Name and error of each that did not.
    """

    done: tuple[tuple[str, T], ...]
    failed: tuple[tuple[str, str], ...]

    @property
    def exit_code(self) -> int:
        """0 if all went well, else 1."""
        return int(bool(self.failed))


def on_each(names: Sequence[str], work: Callable[[str], T]) -> FileOutcome[T]:
    """Do some work on each of several files; each error is one line on standard error.

    A broken pipe and Ctrl-C end all of it.

    Args:
        names: The files.
        work: What is done with each.
    """
    done: list[tuple[str, T]] = []
    failed: list[tuple[str, str]] = []
    for number, name in enumerate(names, 1):
        try:
            with working(f"{number} of {len(names)}: {name}"[:70]), in_time(shown(name)):
                result = work(name)
        except BrokenPipeError:
            raise
        except Exception as error:  # noqa: BLE001 - the other files shall still be done
            text = one_line(failure_text(error))
            if not text.startswith(shown(name)):
                text = f"{shown(name)}: {text}"
            failed.append((name, text))
            _say(text)
        else:
            done.append((name, result))
    return FileOutcome(tuple(done), tuple(failed))


def _say(text: str) -> None:
    sys.stdout.flush()
    sys.stderr.write(f"neckwise: {text}\n")
    sys.stderr.flush()


def failed_json(outcome: FileOutcome[T]) -> list[dict[str, str]]:
    """Return the files that failed as JSON values."""
    return [{"file": shown(name), "error": text} for name, text in outcome.failed]


def show_summary(outcome: FileOutcome[T], verb: str) -> None:
    """Print the last line: how many of how many files went well.

    Args:
        outcome: What came of them.
        verb: What was done with them: ``described``, ``written``.
    """
    total = len(outcome.done) + len(outcome.failed)
    failed = f", {len(outcome.failed)} failed" if outcome.failed else ""
    show([f"{count(total, 'file')}: {len(outcome.done)} {verb}{failed}"])
