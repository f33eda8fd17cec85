"""The same plan on a real local cluster of worker processes, one of which is killed."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Generator, Iterable
from pathlib import Path

import pytest

from tests.unit.songset.sets import make_set, run, tree
from variants.errors import UsageError
from variants.songset.dask_executor import DaskWorkers
from variants.songset.executors import PlacedTask
from variants.songset.task import Done

pytestmark = pytest.mark.filterwarnings(
    # The cluster's own threads and sockets end a little after it is closed.
    "ignore::ResourceWarning",
    "ignore::pytest.PytestUnraisableExceptionWarning",
    "ignore::DeprecationWarning",
)


class _Killing:
    """Kills one worker process when the first job is done."""

    def __init__(self, address: str, victim: int) -> None:
        self.workers = DaskWorkers(address)
        self.victims = [victim]

    def run(self, jobs: Iterable[PlacedTask]) -> Generator[tuple[PlacedTask, Done]]:
        """Yield each job with what came of it."""
        for job, done in self.workers.run(jobs):
            if self.victims:
                os.kill(self.victims.pop(), signal.SIGKILL)
            yield job, done


@pytest.mark.slow
def test_cluster_with_a_killed_worker(tmp_path: Path) -> None:
    """Three worker processes, one killed in mid-build: all is made, with the same bytes."""
    distributed = pytest.importorskip("distributed")
    here = make_set(tmp_path / "here", songs=12)
    there = make_set(tmp_path / "there", songs=12)
    run(here)
    with distributed.LocalCluster(
        n_workers=3, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        executor = _Killing(cluster.scheduler_address, cluster.workers[0].pid)
        summary = run(there, executor=executor)
        assert not executor.victims
    assert summary.is_good
    assert summary.made == 36
    assert tree(here.parent / "out") == tree(there.parent / "out")


@pytest.mark.slow
def test_killed_scheduler(tmp_path: Path) -> None:
    """The scheduler dies in mid-build: one line with true counts, and the next build goes on."""
    pytest.importorskip("distributed")
    told = tmp_path / "told.json"
    program = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--no-dashboard"]
    words = ["--scheduler-file", str(told), "--host", "127.0.0.1", "--port", "0"]
    with subprocess.Popen([*program, *words], stderr=subprocess.DEVNULL) as scheduler:  # noqa: S603 - our own cluster
        program = [sys.executable, "-m", "distributed.cli.dask_worker", "--nthreads", "1"]
        words = ["--scheduler-file", str(told), "--no-dashboard", "--death-timeout", "5"]
        place = ["--local-directory", str(tmp_path), "--no-nanny"]
        with subprocess.Popen([*program, *words, *place], stderr=subprocess.DEVNULL) as worker:  # noqa: S603 - as above
            try:
                while not told.exists():
                    time.sleep(0.05)
                address = json.loads(told.read_text(encoding="utf-8"))["address"]
                path = make_set(tmp_path / "set", songs=12)
                with pytest.raises(UsageError) as error:
                    run(path, executor=_Killing(address, scheduler.pid))
            finally:
                worker.kill()
                scheduler.kill()
    made = len(list((tmp_path / "set" / "out").rglob("*.musicxml")))
    assert 0 < made < 36
    assert f"{made} of 36 results were brought in and {made} files written" in str(error.value)
    assert f"the scheduler at {address} has gone" in str(error.value)
    assert "dask scheduler" in error.value.way_out
    after = run(path)
    assert after.went_on
    assert (after.made, after.is_good) == (36 - made, True)


def test_lost_before_anything_is_made(tmp_path: Path) -> None:
    """Where nothing was made yet, nothing is said of what stays."""

    class Refusing:
        def run(self, _: Iterable[PlacedTask]) -> Generator[tuple[PlacedTask, Done]]:
            yield from ()
            raise UsageError("the scheduler has gone", way_out="start one")

    with pytest.raises(UsageError) as error:
        run(make_set(tmp_path), executor=Refusing())
    assert str(error.value) == "the scheduler has gone; start one"


@pytest.mark.parametrize("address", ["nonsense", "tcp://127.0.0.1:1", "tcp://127.0.0.1:99999"])
def test_no_scheduler(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """An address where nothing answers is one line, said without trying for long."""
    distributed = pytest.importorskip("distributed")

    def wait(*_: object, **__: object) -> None:
        raise AssertionError("the client tries for ten seconds")

    monkeypatch.setattr(distributed, "Client", wait)
    with pytest.raises(UsageError, match=f"no scheduler answers at {address}: ") as error:
        list(DaskWorkers(address).run(iter(())))
    assert "ten seconds" not in str(error.value)
    assert "start one with dask scheduler" in error.value.way_out
