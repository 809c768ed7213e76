"""The names that the packages sim and strategies offer."""

from __future__ import annotations

import inspect
import re
import subprocess
import sys
from types import ModuleType

import pytest

import sim
import strategies
from sim import BALLS, SURFACES, World, player

PACKAGES = (sim, strategies)


@pytest.mark.parametrize("package", PACKAGES)
def test_every_public_name_exists_and_is_explained(package: ModuleType) -> None:
    assert len(set(package.__all__)) == len(package.__all__) > 5
    named = set(re.findall(r"`(\w+)`", package.__doc__ or ""))
    assert named == set(package.__all__) <= set(dir(package))
    for name in package.__all__:
        thing = getattr(package, name)
        assert inspect.getdoc(thing), name
        if inspect.isclass(thing):  # a dataclass without a text of its own is given its signature
            assert not (thing.__doc__ or "").startswith(f"{name}("), name


@pytest.mark.parametrize("package", PACKAGES)
def test_a_name_that_is_none_is_refused_as_python_does(package: ModuleType) -> None:
    with pytest.raises(AttributeError, match="has no attribute 'Nothing'"):
        _ = package.Nothing


def test_importing_the_packages_loads_no_numbers_and_compiles_nothing() -> None:
    heavy = "sorted({'numba', 'numpy', 'pandas'} & set(sys.modules))"
    code = f"import sys, sim, strategies; print({heavy})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    "thing",
    [
        player("under-12"),
        World(wind_m_s=(1.0, 0.0, 0.0)),
        *SURFACES.values(),
        *BALLS.values(),
    ],
)
def test_a_thing_says_in_one_line_what_it_is(thing: object) -> None:
    text = repr(thing)
    assert len(text) < 110 and "\n" not in text
    assert text.startswith(f"{type(thing).__name__}(") and getattr(thing, "name", "hard") in text
