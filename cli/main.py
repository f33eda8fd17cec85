"""The command `neckwise`: its commands, and how a run ends.

Nothing heavy is imported before a command needs it: `neckwise --help` must start at once.
"""

from __future__ import annotations

import contextlib
import io
import os
import sys
from collections.abc import Sequence
from typing import Annotated, BinaryIO, NoReturn

import typer

from variants.errors import NeckwiseError, OutputError, UsageError

from .commands import build as build_command
from .commands import describe as describe_command
from .commands import finger as finger_command
from .commands import fit as fit_command
from .commands import list as list_command
from .commands import new as new_command
from .commands import pin as pin_command
from .commands import proof as proof_command
from .commands import sheet as sheet_command
from .commands import vary as vary_command
from .commands import ways as ways_command
from .error_text import failure_text, one_line

DONE = 0
WRONG = 2
# What shells expect of a program that a signal ended: 128 and its number.
STOPPED = 130
PIPE_CLOSED = 141

_CALL_ERROR: type[Exception] = next(
    # typer shows only the leaf of its errors; all that a wrong call raises descends from this.
    base
    for base in typer.BadParameter.__mro__
    if base.__name__ == "ClickException"
)

app = typer.Typer(
    name="neckwise",
    help="Turn one guitar piece into a graded set of variants, each proven, fingered and written "
    "as MusicXML.",
    epilog="Exit codes: 0 done; 1 the answer is no; 2 the file or the call is wrong.",
    rich_markup_mode=None,
    add_completion=False,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
for _name, _function, _short_help in (
    ("describe", describe_command.describe, "Say what a piece is and where it can be played."),
    ("vary", vary_command.vary, "Run steps on a piece, finger it and write it."),
    ("fit", fit_command.fit, "Find the version that meets a level and gives up least."),
    ("finger", finger_command.finger, "Find strings, frets and fingers, nothing else."),
    (
        "sheet",
        sheet_command.sheet,
        "Print versions as a handout, or as a page to look at and to hear.",
    ),
    ("build", build_command.build, "Make every variant of every song of a set."),
    ("pin", pin_command.pin, "Take edits by hand in a variant over as pins."),
    ("new", new_command.new, "Write a song set to start from."),
    ("ways", ways_command.ways, "Show every really different way to play a piece."),
    ("proof", proof_command.proof, "Proofread notation and tab."),
    ("list", list_command.list_things, "List steps, levels, marks, tunings or rules."),
):
    app.command(_name, short_help=_short_help)(_function)


def _version(is_asked: bool) -> None:
    if is_asked:
        from importlib.metadata import version

        typer.echo(f"neckwise {version('neckwise')}")
        raise typer.Exit


@app.callback()
def _start(
    _: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Print the version."),
    ] = False,
) -> None:
    """Stand where options of the whole command are declared."""


def run(arguments: Sequence[str]) -> int:
    """Run one call and return its exit code; whatever goes wrong is one line on stderr.

    Args:
        arguments: The words after ``neckwise``.
    """
    try:
        _check_words(arguments)
        _invoke(list(arguments) or ["--help"])
        sys.stdout.flush()
    except typer.Exit as end:
        return end.exit_code
    except _CALL_ERROR as error:
        return _fail(_call_text(error))
    except (KeyboardInterrupt, typer.Abort):
        _say("stopped before it was done")
        return STOPPED
    except BrokenPipeError:
        _silence_stdout()
        return PIPE_CLOSED
    except Exception as error:  # noqa: BLE001 - a user must never meet a traceback
        return _fail(failure_text(error))
    return DONE


def _check_words(arguments: Sequence[str]) -> None:
    if any("\0" in word for word in arguments):
        raise UsageError("a word of the call has a NUL in it", way_out="leave it out")


def _invoke(arguments: list[str]) -> None:
    # The main function of typer would end the process by itself when a pipe closes.
    command = typer.main.get_command(app)
    with command.make_context("neckwise", arguments) as context:
        command.invoke(context)


def _call_text(error: Exception) -> str:
    """Return what is wrong with a call in one line, with the help that belongs to it."""
    describe = getattr(error, "format_message", None)
    text = " ".join((describe() if describe else str(error)).split()).rstrip(".")
    text = text.replace("Value error, ", "").replace(". Did you mean", "; did you mean")
    text = text[:1].lower() + text[1:] if text[1:2].islower() else text
    context = getattr(error, "ctx", None)
    path = context.command_path if context is not None else "neckwise"
    return f"{text}; see {path} --help"


def _fail(text: str) -> int:
    _say(text)
    return WRONG


def _say(text: str) -> None:
    with contextlib.suppress(OSError, ValueError, NeckwiseError):
        sys.stdout.flush()
    with contextlib.suppress(OSError):
        sys.stderr.write(f"neckwise: {one_line(text)}\n")
        sys.stderr.flush()


def _silence_stdout() -> None:
    # The interpreter flushes standard output once more at its end, into the closed pipe.
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


class _Closed(io.StringIO):
    """Stands for a standard output that was closed before the start: nothing can be shown on it."""

    encoding = "utf-8"

    def write(self, _: object) -> NoReturn:
        raise OutputError(
            "is closed, so nothing can be shown",
            place="standard output",
            way_out="send it somewhere, as in > FILE, or ask a command that has it for --quiet",
        )

    @property
    def buffer(self) -> BinaryIO:
        return self.write("")


def _guard_streams() -> None:
    """Make sure that the three standard streams are there, however the program was started."""
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            # Else the first file that is opened would get this number, and what is printed.
            os.open(os.devnull, os.O_RDWR)
    if sys.stdout is None:
        sys.stdout = _Closed()
    if sys.stderr is None:
        sys.stderr = io.StringIO()
    for stream in (sys.stdout, sys.stderr):
        # A name that the terminal's encoding lacks must not end the run.
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def main() -> None:
    """Run the call of this process and end it."""
    _guard_streams()
    code = run(sys.argv[1:])
    with contextlib.suppress(OSError, ValueError):
        # What could not be written once shall not be tried again when the interpreter ends.
        sys.stdout.flush()
        sys.exit(code)
    _silence_stdout()
    sys.exit(code)
