"""`neckwise build`: every variant of every song of a set."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .. import options
from ..limits import limits

if TYPE_CHECKING:
    from variants.songset.build import Hands
    from variants.songset.executors import Executor
    from variants.songset.opening import Opened

ANSWER_NO = 1
# What shells expect of a program that a signal ended: 128 and its number.
_SIGNALLED = 128


class ReportFormat(StrEnum):
    """How the outcome is written."""

    text = "text"
    json = "json"
    github = "github"


SetFile = Annotated[str, typer.Argument(metavar="SET.toml", help="The set file.")]
Out = Annotated[
    str | None,
    typer.Option(
        "-o",
        "--out",
        metavar="FOLDER",
        help="The output folder. [default: that of the set file]",
        callback=options.named,
    ),
]
Plan = Annotated[
    bool, typer.Option("--plan", help="Show what would be made, and why; nothing is made.")
]
Check = Annotated[
    bool,
    typer.Option(
        "--check",
        help="Exit 1 and list what is stale, missing or edited by hand; nothing is written.",
    ),
]
Diff = Annotated[
    str,
    typer.Option(
        "--diff",
        metavar="REPORT",
        help="Say what differs from an older report.json: songs, measures, fingerings. After a "
        "build, or with --check of what stands there.",
    ),
]
Jobs = Annotated[
    int,
    typer.Option(
        "--jobs", "-j", metavar="N", min=0, help="Processes; 0 for one on each core of the machine."
    ),
]
Scheduler = Annotated[
    str,
    typer.Option(
        "--scheduler",
        metavar="ADDRESS",
        help="A Dask scheduler whose workers do the work; needs neckwise[dask].",
    ),
]
CacheFolder = Annotated[
    str,
    typer.Option(
        "--cache",
        metavar="FOLDER",
        help="Where results are kept, so that several sets share them. [default: in the output "
        "folder]",
    ),
]
Inside = Annotated[
    str,
    typer.Option(
        "--inside",
        metavar="FOLDER",
        help="Let the output folder lie in this folder too, and not only in that of the set file.",
    ),
]
FormatOption = Annotated[ReportFormat, typer.Option("--format", help="How the outcome is written.")]
Force = Annotated[
    bool, typer.Option("--force", help="Write over outputs that somebody changed or made.")
]
Wait = Annotated[bool, typer.Option("--wait", help="Wait for another build in this folder to end.")]
Prune = Annotated[
    bool, typer.Option("--prune", help="Drop kept results that this set does not use.")
]


def build(
    file: SetFile,
    out: Out = None,
    inside: Inside = "",
    plan: Plan = False,
    check: Check = False,
    diff: Diff = "",
    jobs: Jobs = 0,
    scheduler: Scheduler = "",
    cache: CacheFolder = "",
    format: FormatOption = ReportFormat.text,  # noqa: A002 - the option's name
    json: options.Json = False,
    quiet: options.Quiet = False,
    force: Force = False,
    wait: Wait = False,
    prune: Prune = False,
) -> None:
    """Make every variant of every song that a set file names; only what changed is made again.

    Exit 1: something could not be made, or was left because somebody changed it by hand.
    """
    from variants.errors import UsageError
    from variants.songset.opening import open_set

    if plan and check:
        raise UsageError("--plan and --check are two questions", way_out="ask one at a time")
    opened = open_set(file, out=out or "", inside=inside, limits=limits())
    shape = ReportFormat.json if json else format
    if plan or check:
        is_good = _look(opened, shape, is_plan=plan, is_quiet=quiet)
    else:
        is_good = _build(
            opened,
            lambda songs: _hands(songs, jobs, scheduler),
            {"force": force, "waits": wait, "prunes": prune, "cache": cache},
            shape,
            is_quiet=quiet,
        )
    if diff:
        _compare(opened, diff, shape)
    if not is_good:
        raise typer.Exit(ANSWER_NO)


def _look(opened: Opened, shape: ReportFormat, *, is_plan: bool, is_quiet: bool) -> bool:
    from variants.songset.standing import check

    from ..build_text import check_shown, plan_shown

    if is_plan:
        if not is_quiet:
            plan_shown(opened, is_json=shape is ReportFormat.json)
        return True
    found = check(opened)
    if not is_quiet:
        check_shown(opened, found, shape.value)
    return not found


def _build(
    opened: Opened,
    hands: Hands,
    wishes: dict[str, str | bool],
    shape: ReportFormat,
    *,
    is_quiet: bool,
) -> bool:
    from variants.songset.build import Options
    from variants.songset.build import build as build_set

    from ..build_text import ProgressBar, summary_shown

    made = Options(
        force=bool(wishes["force"]),
        waits=bool(wishes["waits"]),
        prunes=bool(wishes["prunes"]),
        cache=Path(str(wishes["cache"])) if wishes["cache"] else None,
    )
    shows = not is_quiet and shape is ReportFormat.text
    with _ending(), ProgressBar(shows=shows) as bar:
        summary = build_set(opened, made, hands, bar)
    if not is_quiet:
        summary_shown(opened, summary, shape.value)
    return summary.is_good


def _hands(songs: int, jobs: int, scheduler: str) -> Executor:
    """Return where so many songs are made."""
    from variants.songset.executors import InProcess, Processes

    if scheduler and songs:
        from variants.songset.dask_executor import DaskWorkers

        return DaskWorkers(scheduler)
    # Even one at a time in a process of their own: a library that ends its process takes the song
    # with it, and not the set.
    return Processes(min(songs, jobs or _cores())) if songs else InProcess()


def _cores() -> int:
    # A container may be given fewer cores than the machine has.
    available = getattr(os, "sched_getaffinity", None)
    return len(available(0)) if available else os.cpu_count() or 1


@contextmanager
def _ending() -> Iterator[None]:
    """Let Ctrl-C and a polite signal end a build between two files, in one line."""

    def stop(number: int, _: object) -> None:
        raise _Stopped(number)

    before = {one: signal.signal(one, stop) for one in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    except _Stopped as stopped:
        sys.stderr.write(
            "neckwise: stopped; what is made is kept, and the next build goes on from there\n"
        )
        raise typer.Exit(_SIGNALLED + stopped.number) from None
    finally:
        for one, handler in before.items():
            signal.signal(one, handler)


class _Stopped(BaseException):
    """A signal asks the build to end; not an error that anything else may handle."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


def _compare(opened: Opened, old: str, shape: ReportFormat) -> None:
    from variants.songset.diff import compare, read_report
    from variants.songset.standing import REPORT_FILE

    from ..build_text import diff_shown

    diff = compare(read_report(Path(old)), read_report(opened.out / REPORT_FILE))
    diff_shown(diff, is_json=shape is ReportFormat.json)
