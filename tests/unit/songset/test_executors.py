"""Where tasks run: one process, several, and what happens when one of them is killed."""

from __future__ import annotations

import os
import re
import signal
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace

import pytest

from tests.unit.songset.sets import make_set, opened
from variants.errors import UsageError
from variants.songset.digest import toolkit
from variants.songset.executors import Executor, InProcess, PlacedTask, Processes
from variants.songset.plan import plan
from variants.songset.task import Task, run_task


def _jobs(folder: Path, songs: int) -> list[PlacedTask]:
    path = make_set(folder, songs=songs)
    return [
        PlacedTask(
            place=place,
            task=Task(
                source=one.song.path.read_bytes(),
                specs=tuple(unit.spec for unit in one.units),
                toolkit=toolkit(),
            ),
        )
        for place, one in enumerate(plan(opened(path)))
    ]


def _results(executor: Executor, jobs: list[PlacedTask]) -> dict[int, tuple[bytes, ...]]:
    with closing(executor.run(iter(jobs))) as runs:
        return {job.place: done.results for job, done in runs}


def test_a_killed_worker_is_replaced(tmp_path: Path) -> None:
    """Killed workers are replaced; each job comes back once, with the bytes of one process."""
    jobs = _jobs(tmp_path, 6)
    here = _results(InProcess(), jobs)
    assert sorted(here) == [0, 1, 2, 3, 4, 5]
    assert all(len(results) == 3 for results in here.values())
    executor = Processes(2)
    found: dict[int, tuple[bytes, ...]] = {}
    taken: list[int] = []

    def giving() -> Iterator[PlacedTask]:
        for job in jobs:
            taken.append(job.place)
            yield job

    with closing(executor.run(giving())) as runs:
        for job, done in runs:
            # No more are taken than workers hold, so that a large set is never in memory.
            assert len(taken) <= len(found) + 3
            if not found:
                for worker in executor._workers:
                    os.kill(worker.process.pid or 0, signal.SIGKILL)
            found[job.place] = done.results
    assert found == here


@pytest.mark.parametrize(
    ("number", "cause"),
    [
        (signal.SIGKILL, "ended from outside, most likely for want of memory"),
        (signal.SIGABRT, r"a library ended its worker process twice \(SIGABRT\)"),
    ],
)
def test_a_job_that_kills_its_workers_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: signal.Signals, cause: str
) -> None:
    """After two dead workers a job is told as lost with what killed them; the others are done."""
    jobs = _jobs(tmp_path, 3)
    real = Processes._started

    def started(self: Processes) -> object:
        worker = real(self)
        send = worker.pipe.send

        def sending(task: Task) -> None:
            if task == jobs[1].task:
                os.kill(worker.process.pid or 0, number)
            send(task)

        worker.pipe = SimpleNamespace(  # type: ignore[assignment]
            send=sending, recv=worker.pipe.recv, fileno=worker.pipe.fileno, close=worker.pipe.close
        )
        return worker

    monkeypatch.setattr(Processes, "_started", started)
    with closing(Processes(1).run(iter(jobs))) as runs:
        found = {job.place: done for job, done in runs}
    assert sorted(found) == [0, 1, 2]
    assert found[1].results == (b"", b"", b"")
    assert all(re.search(cause, text) for text in found[1].defects)
    assert not any(found[0].defects)
    assert not any(found[2].defects)


def test_another_toolkit_is_refused(tmp_path: Path) -> None:
    """A worker of another version does not mix its bytes with those of the plan."""
    job = _jobs(tmp_path, 1)[0]
    task = Task(source=job.task.source, specs=job.task.specs, toolkit="0.0.1+other")
    with pytest.raises(UsageError, match="install the same version on all machines"):
        run_task(task)


def test_a_defect_is_told_and_stops_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An error that nobody thought of is one line of its unit; the next unit is made."""
    from variants.variant import written

    def failing(score: object, *, staves: str, places: bool, mxl: bool) -> bytes:
        if staves == "tab":
            raise ZeroDivisionError("by\nzero")
        return written(score, staves=staves, places=places, mxl=mxl)  # type: ignore[arg-type]

    monkeypatch.setattr("variants.songset.making.written", failing)
    done = run_task(_jobs(tmp_path, 1)[0].task)
    assert [bool(one) for one in done.results] == [True, False, True]
    assert done.defects[1].startswith("a defect of neckwise (ZeroDivisionError: by zero)")
