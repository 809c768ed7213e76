"""Who does the work: this process, processes of this machine, or a Dask cluster.

All three hand out futures of `concurrent.futures`. Work is handed out a little ahead of what is
done, so memory does not grow with it; results come in whatever order they are finished.
"""

from __future__ import annotations

import multiprocessing
import os
import pickle
import signal
import sys
import threading
from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, CancelledError, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import connection

from experiments.study.settings import Block
from sim.errors import InputError
from strategies.user_file import be_silent


def envoy() -> Callable[[bytes], bytes]:
    """The first function that a cluster's worker runs: it does a pickled (job, task).

    It is sent as code, not by its name: a worker without this package, or with another version of
    it, can so answer with an error. Dask ends a worker that cannot read the task itself, and then
    the next one, and the run would wait for ever.

    It raises ImportError where the worker's rally-recovery is missing or another one. Being local
    to this one it has no name to be found by, so Dask (cloudpickle) sends its code; it may use the
    standard library alone, imported within.
    """

    def call(payload: bytes) -> bytes:
        import pickle

        try:
            job, task = pickle.loads(payload)
        except (ImportError, AttributeError, TypeError) as error:
            raise ImportError(str(error)) from None
        result: bytes = job(*task)
        return result

    return call


Task = tuple[int, Block]
Job = Callable[[int, Block], bytes]
TRIES = 3
AHEAD = 2
ANSWER_S = 20
LOOK_EVERY_S = 20
IDLE_S = 600
MOST_ON_WINDOWS = 61  # processes that one can wait for there


class Pool(ABC):
    """A place where work is done, able to lose a worker."""

    lost: tuple[type[BaseException], ...] = ()  # what a task raises whose worker was lost
    unlike: tuple[type[BaseException], ...] = ()  # what one raises that its worker cannot even read
    advice: str = ""  # what to do when workers are lost again and again

    @abstractmethod
    def lanes(self) -> int:
        """How many blocks can be played at the same time, as things are now."""

    @abstractmethod
    def submit(self, job: Job, task: Task) -> Future[bytes]:
        """Hand out a task; a broken pool is built anew first."""

    def is_deaf(self) -> bool:
        """Whether what was handed out can no longer come back."""
        return False

    @abstractmethod
    def close(self, now: bool) -> None:
        """End the workers of this run; `now` without waiting for what they are doing."""


def finished(pool: Pool, job: Job, work: Iterable[Task]) -> Generator[tuple[int, bytes]]:
    """Numbers and results of the tasks, in the order in which they are finished.

    A task whose worker was lost is handed out again.

    Raises:
        InputError: a task was lost TRIES times, or the cluster has gone.
    """
    waiting, again = iter(work), list[Task]()
    flying: dict[Future[bytes], Task] = {}
    losses: Counter[int] = Counter()
    while True:
        while len(flying) < max(1, AHEAD * pool.lanes()):
            task = again.pop() if again else next(waiting, None)
            if task is None:
                break
            flying[pool.submit(job, task)] = task
        if not flying:
            return
        for future in _some_done(flying, pool):
            task = flying.pop(future)
            try:
                result = _result(future, pool)
            except pool.lost as error:
                losses[task[0]] += 1
                if losses[task[0]] == TRIES:
                    raise _given_up(task[0], pool.advice) from error
                again.append(task)
            else:
                yield task[0], result


def _some_done(flying: Iterable[Future[bytes]], pool: Pool) -> set[Future[bytes]]:
    """The tasks that are done, at least one; gives up when nobody has worked for long."""
    idle_s = 0
    while not (done := wait(flying, LOOK_EVERY_S, FIRST_COMPLETED).done):
        if pool.is_deaf():
            raise InputError(f"the workers cannot be reached any more; {pool.advice}; {GO_ON}")
        idle_s = 0 if pool.lanes() else idle_s + LOOK_EVERY_S
        if idle_s >= IDLE_S:
            raise InputError(
                f"the cluster has had no workers for {IDLE_S // 60} minutes; start some; {GO_ON}"
            )
    return done


def _result(future: Future[bytes], pool: Pool) -> bytes:
    """The result of a task that is done."""
    try:
        return future.result()
    except CancelledError:
        raise InputError(f"the cluster went before the work was done; {GO_ON}") from None
    except pool.unlike as error:
        raise InputError(
            f"a worker of the cluster cannot load this rally-recovery ({error}); install the same"
            " version of it for all workers"
        ) from None


GO_ON = "what is finished stays, and `study --resume` goes on from it"


def _given_up(number: int, advice: str) -> InputError:
    return InputError(
        "a worker process ended before its work was done, perhaps for want of memory,"
        f" {TRIES} times while block {number} was in work; {advice}; {GO_ON}"
    )


class ThisProcess(Pool):
    """No workers: one block after another, here, while it is handed out."""

    def lanes(self) -> int:
        return 0  # none ahead: a finished block is kept before the next one begins

    def submit(self, job: Job, task: Task) -> Future[bytes]:
        future: Future[bytes] = Future()
        future.set_result(job(*task))
        return future

    def close(self, now: bool) -> None:
        pass


class LocalProcesses(Pool):
    """Processes of this machine."""

    lost = (BrokenProcessPool,)
    advice = (
        "try fewer --workers (a script that calls run_study also needs its"
        " `if __name__ == '__main__'` line)"
    )

    def __init__(self, workers: int) -> None:
        self._workers = workers if sys.platform != "win32" else min(workers, MOST_ON_WINDOWS)
        self._others = multiprocessing.active_children()
        self._executor = self._built()

    def _built(self) -> ProcessPoolExecutor:
        self._started = 0
        return ProcessPoolExecutor(
            self._workers, multiprocessing.get_context("spawn"), begin_worker
        )

    def lanes(self) -> int:
        return self._workers

    def submit(self, job: Job, task: Task) -> Future[bytes]:
        try:
            return self._submit(job, task)
        except BrokenProcessPool:
            self._executor.shutdown()
            self._executor = self._built()
            return self._submit(job, task)

    def _submit(self, job: Job, task: Task) -> Future[bytes]:
        if self._started >= self._workers:
            return self._executor.submit(job, *task)
        with interrupts_left_to_this_process():  # each of the first tasks may start a process
            self._started += 1
            return self._executor.submit(job, *task)

    def is_deaf(self) -> bool:
        # The thread that speaks with the workers may end without a word for want of memory.
        thread = getattr(self._executor, "_executor_manager_thread", None)
        return thread is not None and not thread.is_alive()

    def close(self, now: bool) -> None:
        if now:
            for process in multiprocessing.active_children():
                if process not in self._others:
                    process.terminate()
        self._executor.shutdown(cancel_futures=now)


def begin_worker() -> None:
    """Make this process a worker of a run: interrupts are its run's, and it ends when that does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Windows hands no such wish on to a new process
    end_with_parent()


def end_with_parent() -> None:
    """Let this worker end when the process that started it does, even by SIGKILL; it tells nothing
    that its run has told."""
    be_silent()
    parent = multiprocessing.parent_process()

    def watch() -> None:
        if parent is not None:
            connection.wait([parent.sentinel])
            os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


@contextmanager
def interrupts_left_to_this_process() -> Iterator[None]:
    """Processes started inside ignore an interrupt from their first moment on.

    A terminal interrupts them all; this process answers, and ends them.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


class Cluster(Pool):
    """The workers of a Dask scheduler that the user runs.

    Dask hands a task whose worker died to another one; it gives the task up after a few deaths
    (its setting distributed.scheduler.allowed-failures).

    Raises:
        InputError: the extra is not installed, or no scheduler answers at the address.
    """

    unlike = (ImportError,)
    advice = "look at the workers' logs, give each worker more memory or fewer threads"

    def __init__(self, address: str) -> None:
        try:
            import distributed
        except ImportError:
            raise InputError(
                "--cluster needs the package 'distributed', which is not installed;"
                " install the optional extra: pip install 'rally-recovery[cluster]'"
            ) from None
        self.lost = (distributed.KilledWorker,)
        try:
            self._client = distributed.Client(address, timeout=ANSWER_S, set_as_default=False)
        except (OSError, ValueError, TimeoutError) as error:
            raise InputError(
                f"no Dask scheduler answers at --cluster {address!r} ({error}); start one with"
                " `dask scheduler` and workers with `dask worker ADDRESS`, and give its address,"
                " such as tcp://host:8786"
            ) from None
        self._envoy = envoy()
        self._executor = self._client.get_executor(pure=False)
        if self.lanes() == 0:
            self._client.close()
            raise InputError(
                f"the scheduler at {address!r} has no workers; start some with"
                f" `dask worker {address}`"
            )

    def lanes(self) -> int:
        workers = self._client.scheduler_info()["workers"].values()
        return sum(worker["nthreads"] for worker in workers)

    def submit(self, job: Job, task: Task) -> Future[bytes]:
        return self._executor.submit(self._envoy, pickle.dumps((job, task)))

    def close(self, now: bool) -> None:
        self._executor.shutdown(wait=not now)
        self._client.close()
