"""Runs tasks on a Dask cluster that is already there; the extra ``neckwise[dask]`` brings it.

A task takes its song's bytes with it and brings its results' bytes back, so that workers need no
shared disk. It is pure, so the scheduler may give it to another worker when one is lost.
"""

from __future__ import annotations

import contextlib
import socket
from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import CancelledError
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from variants.errors import NeckwiseError, UsageError
from variants.songset.digest import key_of, sha256
from variants.songset.executors import PlacedTask, lost
from variants.songset.task import Done, Task, run_task

if TYPE_CHECKING:
    from distributed import Client

# So many jobs for each thread of the cluster are under way at once: enough that none waits for
# the next one, few enough that neither side holds many songs in memory.
_AHEAD = 3
_RETRIES = 2
_CONNECT_S = 10
_START = "start one with dask scheduler, and workers with dask worker, and build again"


@dataclass(frozen=True, slots=True)
class DaskWorkers:
    """Runs jobs on the workers of a scheduler.

    Args:
        address: Of the scheduler, as in ``tcp://10.0.0.5:8786``.
    """

    address: str

    def run(self, jobs: Iterable[PlacedTask]) -> Generator[tuple[PlacedTask, Done]]:
        """Yield each job with what came of it.

        Raises:
            UsageError: There is no Dask, no scheduler, or no worker with the same toolkit.
        """
        client = self._client()
        try:
            yield from _run(client, iter(jobs))
        except (OSError, CancelledError) as error:
            # The client cancels what is under way when its scheduler has gone.
            raise UsageError(
                f"the scheduler at {self.address} has gone ({_reason(error)})", way_out=_START
            ) from None
        finally:
            with contextlib.suppress(OSError, CancelledError):
                client.close(timeout=_CONNECT_S)

    def _client(self) -> Client:
        try:
            from distributed import Client
        except ModuleNotFoundError:
            raise UsageError(
                "--scheduler needs Dask", way_out="install it with pip install 'neckwise[dask]'"
            ) from None
        try:
            _knock(self.address)
            return Client(self.address, timeout=_CONNECT_S, set_as_default=False)
        except Exception as error:  # noqa: BLE001 - what else answers there may answer anything
            raise UsageError(
                f"no scheduler answers at {self.address}: {_reason(error)}", way_out=_START
            ) from None


def _reason(error: Exception) -> str:
    text = " ".join((getattr(error, "strerror", None) or str(error)).split())
    return (text or type(error).__name__).lower()


def _knock(address: str) -> None:
    """Connect once: the client itself would try for long where nothing listens."""
    from distributed.comm import get_address_host_port

    socket.create_connection(get_address_host_port(address), timeout=_CONNECT_S).close()


def _run(client: Client, jobs: Iterator[PlacedTask]) -> Generator[tuple[PlacedTask, Done]]:
    from distributed import as_completed

    under_way: dict[Any, PlacedTask] = {}
    finished = as_completed(loop=client.loop)

    def fill() -> None:
        room = _AHEAD * max(1, sum(client.nthreads().values()))
        while len(under_way) < room:
            job = next(jobs, None)
            if job is None:
                return
            future = client.submit(
                run_task, job.task, key=_key(job.task), retries=_RETRIES, pure=True
            )
            under_way[future] = job
            finished.add(future)

    fill()
    while under_way:
        future = next(finished)
        job = under_way.pop(future)
        done = _result(future, job)
        future.release()
        fill()
        yield job, done


def _key(task: Task) -> str:
    """Return a name that two tasks share where they are the same work."""
    return f"neckwise-{key_of([task.toolkit, sha256(task.source), list(task.specs)])}"


def _result(future: Any, job: PlacedTask) -> Done:  # noqa: ANN401 - Dask has no types
    from distributed import KilledWorker

    try:
        done: Done = future.result()
    except KilledWorker:
        return lost(job)
    except NeckwiseError:
        raise
    except ImportError as error:
        raise UsageError(
            f"a worker cannot load neckwise: {' '.join(str(error).split())}",
            way_out="install the same version on all machines",
        ) from None
    return done
