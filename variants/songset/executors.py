"""Where tasks run: in this process, or in several others on this machine.

An executor takes jobs one at a time, as it has room, and gives each one back when it is done, in
any order. Workers never write: what they make goes back to the process that builds.
"""

from __future__ import annotations

import gc
import multiprocessing
import signal
from collections import deque
from collections.abc import Generator, Iterable, Iterator
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from typing import Protocol

from variants.errors import NeckwiseError
from variants.songset.task import Done, Task, run_task

# A worker that dies twice over one song is not killed by chance.
_MOST_TRIES = 2
_LAST_WORD_S = 5.0
# Signal 9, which has a name on some systems only.
_KILLED = 9
KILLED = "its worker process was ended from outside, most likely for want of memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedTask:
    """A task and the place of its song in the plan."""

    place: int
    task: Task


class Executor(Protocol):
    """Runs jobs."""

    def run(self, jobs: Iterable[PlacedTask]) -> Generator[tuple[PlacedTask, Done]]:
        """Yield each job with what came of it; a worker that is lost is a defect of its units."""


class InProcess:
    """Runs jobs one after the other in this process."""

    def run(self, jobs: Iterable[PlacedTask]) -> Generator[tuple[PlacedTask, Done]]:
        """Yield each job with what came of it."""
        was_on = gc.isenabled()
        for job in jobs:
            gc.disable()
            try:
                done = run_task(job.task)
            finally:
                if was_on:
                    gc.enable()
            # See `serve`.
            gc.collect()
            yield job, done


@dataclass(frozen=True, slots=True)
class _Death:
    """How a worker died, in words."""

    cause: str


@dataclass(slots=True)
class _Worker:
    """One other process, with at most one job in hand."""

    process: BaseProcess
    pipe: Connection
    job: PlacedTask | None = None


@dataclass(slots=True)
class Processes:
    """Runs jobs in several processes of this machine.

    They are started anew, not copied from this one, so that nothing of its state gets into them;
    a worker whose parent dies reads the end of its pipe, and ends.

    Args:
        count: How many.
    """

    count: int
    _workers: list[_Worker] = field(default_factory=list)

    def run(self, jobs: Iterable[PlacedTask]) -> Generator[tuple[PlacedTask, Done]]:
        """Yield each job with what came of it.

        Raises:
            NeckwiseError: A worker refuses to work at all.
        """
        waiting = iter(jobs)
        again: deque[PlacedTask] = deque()
        tries: dict[int, int] = {}
        try:
            while True:
                self._hand_out(waiting, again)
                busy = [one for one in self._workers if one.job is not None]
                if not busy:
                    return
                for worker in self._ready(busy):
                    job, done = self._taken(worker)
                    if isinstance(done, _Death):
                        tries[job.place] = tries.get(job.place, 0) + 1
                        if tries[job.place] < _MOST_TRIES:
                            again.append(job)
                            continue
                        done = lost(job, done.cause)
                    # The next job goes out before this one is written, so that no worker waits.
                    self._hand_out(waiting, again)
                    yield job, done
        finally:
            self._end()

    def _hand_out(self, waiting: Iterator[PlacedTask], again: deque[PlacedTask]) -> None:
        while True:
            idle = next((one for one in self._workers if one.job is None), None)
            if idle is None and len(self._workers) >= self.count:
                return
            job = again.popleft() if again else next(waiting, None)
            if job is None:
                return
            worker = idle or self._started()
            worker.job = job
            try:
                worker.pipe.send(job.task)
            except OSError:
                # It died while idle; that is not the fault of this job.
                self._workers.remove(worker)
                again.append(job)

    def _started(self) -> _Worker:
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        process = context.Process(target=serve, args=(theirs,), daemon=True)
        process.start()
        theirs.close()
        worker = _Worker(process, ours)
        self._workers.append(worker)
        return worker

    @staticmethod
    def _ready(busy: list[_Worker]) -> list[_Worker]:
        ready = wait([one.pipe for one in busy])
        return [one for one in busy if one.pipe in ready]

    def _taken(self, worker: _Worker) -> tuple[PlacedTask, Done | _Death]:
        """Return the job of a worker and its result, or how the worker has died."""
        job = worker.job
        if job is None:
            raise RuntimeError("a worker without a job has spoken")
        worker.job = None
        try:
            found = worker.pipe.recv()
        except (EOFError, OSError):
            worker.process.join(_LAST_WORD_S)
            self._workers.remove(worker)
            return job, _Death(_cause(worker.process.exitcode))
        if isinstance(found, NeckwiseError):
            raise found
        return job, found

    def _end(self) -> None:
        for worker in self._workers:
            worker.pipe.close()
            if worker.job is not None:
                worker.process.kill()
        for worker in self._workers:
            worker.process.join(_LAST_WORD_S)
            if worker.process.is_alive():
                worker.process.kill()
        self._workers.clear()


def _cause(code: int | None) -> str:
    """Return in words how a worker ended, from its exit code."""
    if code is None or code == -_KILLED:
        return KILLED
    if code < 0:
        try:
            name = signal.Signals(-code).name
        except ValueError:
            name = f"signal {-code}"
        return (
            f"a library ended its worker process twice ({name}): something in this song is more "
            "than it can take; please report it with the file"
        )
    return f"its worker process ended twice with exit code {code}"


def lost(job: PlacedTask, cause: str = KILLED) -> Done:
    """Return the result of a job whose workers died, with the cause in words."""
    count = len(job.task.specs)
    return Done(results=(b"",) * count, defects=(cause,) * count)


def serve(pipe: Connection) -> None:
    """Run tasks that come through a pipe until it ends; the main function of a worker."""
    # Ctrl-C reaches every process of a terminal; the one that builds decides what it means.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # A song makes hundreds of thousands of values and few circles: one collection after each song
    # costs a tenth less than the usual ones in between. This process is ours alone.
    gc.disable()
    is_new = True
    while True:
        try:
            task = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            found: Done | NeckwiseError = run_task(task)
        except NeckwiseError as error:
            found = error
        try:
            pipe.send(found)
        except OSError:
            return
        gc.collect()
        if is_new:
            # All that was imported stays, and need not be looked at again.
            gc.freeze()
            is_new = False
