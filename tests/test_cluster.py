"""A study on a real Dask scheduler whose workers are processes of their own on this machine."""

from __future__ import annotations

import os
import pickle
import signal
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tiny_study import OWN_POLICY, only, run_tiny, tiny_study, without_pages

from experiments.study import provenance, workers
from experiments.study.block_store import BlockStore
from experiments.study.executors import envoy
from experiments.study.file import load_study
from sim.errors import InputError

TABLES = ("study.toml", "strokes.parquet", "summary.json", "cells.csv")
STUDY = tiny_study(policies=["middle", "stay", "bisector"])


@pytest.fixture(autouse=True)
def _no_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    without_pages(monkeypatch)


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    """A scheduler with two worker processes, each under a nanny that replaces it if it dies."""
    distributed = pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as running:
        yield running


def contents(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in TABLES}


def worker_pids(cluster: Any) -> list[int]:
    from distributed import Client

    with Client(cluster.scheduler_address, set_as_default=False) as client:
        return list(client.run(os.getpid).values())


def test_a_cluster_gives_the_same_bytes_though_a_worker_is_killed(
    cluster: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The user's own policy travels along; a worker dies by SIGKILL once two blocks are done."""
    (tmp_path / "slow.py").write_text(OWN_POLICY)
    path = tmp_path / "mine.toml"
    path.write_text(STUDY.toml().replace('"bisector"', '"slow.py:Slow"'))
    here = run_tiny(load_study(path), tmp_path / "here")
    before, write, done = worker_pids(cluster), BlockStore.write, []
    assert os.getpid() not in before and len(set(before)) == 2

    def killing(self: BlockStore, number: int, content: bytes) -> None:
        done.append(number)
        if len(done) == 2:
            os.kill(before[0], signal.SIGKILL)
        write(self, number, content)

    monkeypatch.setattr(BlockStore, "write", killing)
    address = cluster.scheduler_address
    there = run_tiny(load_study(path), tmp_path / "there", workers=None, cluster=address)
    assert contents(there) == contents(here)
    assert sorted(done) == list(range(len(done))) and before[0] not in worker_pids(cluster)


def test_a_cluster_that_is_unlike_is_refused(
    cluster: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    options = {"workers": None, "cluster": cluster.scheduler_address}
    with monkeypatch.context() as patch:
        patch.setattr(provenance, "terms_here", lambda: {**REAL, "numpy": "0.9"})
        with pytest.raises(InputError, match=r"numpy is 0\.9 in the run and .* in worker"):
            run_tiny(only("placed"), tmp_path / "one", **options)
    monkeypatch.setattr(workers, "play_block", Missing())
    with pytest.raises(InputError, match=r"cannot load this rally-recovery \(.*nowhere_at_all"):
        run_tiny(only("placed"), tmp_path / "two", **options)


REAL = provenance.terms_here()


class Missing:
    """Pickles as a function of a module that no worker has."""

    def __reduce__(self) -> tuple[Any, ...]:
        import importlib

        return importlib.import_module, ("nowhere_at_all",)

    def __call__(self, *_: object) -> bytes:
        raise AssertionError("never called")


def test_a_worker_says_what_it_cannot_load() -> None:
    for payload in (
        b"cnowhere_at_all\nthing\n.",
        b"cexperiments.study.provenance\nno_such_name\n.",
    ):
        with pytest.raises(ImportError, match=r"nowhere_at_all|no_such_name"):
            envoy()(payload)


def test_workers_need_nothing_of_ours_to_read_a_task() -> None:
    """Dask tries plain pickle first, which names what it can: the envoy must have no name there."""
    with pytest.raises((AttributeError, pickle.PicklingError)):
        pickle.dumps(envoy())


def test_no_scheduler_and_no_extra(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("experiments.study.executors.ANSWER_S", 0.5)
    options = {"workers": None, "cluster": "tcp://127.0.0.1:9"}
    if "distributed" in sys.modules:
        with pytest.raises(InputError, match=r"no Dask scheduler answers at --cluster"):
            run_tiny(only("placed"), tmp_path / "one", **options)
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(InputError, match=r"pip install 'rally-recovery\[cluster\]'"):
        run_tiny(only("placed"), tmp_path / "two", **options)
