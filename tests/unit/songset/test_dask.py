"""The same plan on a real local cluster of worker processes, one of which is killed."""

from __future__ import annotations

import os
import signal
from collections.abc import Generator, Iterable
from pathlib import Path

import pytest

from tests.unit.songset.sets import make_set, run, tree
from variants.errors import UsageError
from variants.songset.dask_executor import DaskWorkers
from variants.songset.executors import Job
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

    def run(self, jobs: Iterable[Job]) -> Generator[tuple[Job, Done]]:
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


def test_no_scheduler() -> None:
    """An address where nothing answers is one line."""
    pytest.importorskip("distributed")
    with pytest.raises(UsageError, match="no scheduler answers at nonsense"):
        list(DaskWorkers("nonsense").run(iter(())))
