"""Imports point one way, experiments -> strategies -> sim, in no circle; SimPy has few homes."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

LAYERS = ("sim", "strategies", "experiments")  # a layer may import itself and those before it
# The benchmark measures SimPy by itself, and a script written with it, beside the engine.
ONLY_IN = {
    "simpy": {
        "sim.event_engine",
        "experiments.benchmark.engines",
        "experiments.benchmark.first_script",
        "experiments.benchmark.limits",
    }
}
ROOT = Path(__file__).resolve().parent.parent


def module_name(path: Path, root: Path) -> str:
    parts = path.relative_to(root).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def read_modules(root: Path) -> dict[str, set[str]]:
    """Every module of the layers under `root`, with the dotted names that it imports."""
    paths = [path for layer in LAYERS for path in sorted((root / layer).rglob("*.py"))]
    return {module_name(path, root): set(imported_names(path, root)) for path in paths}


def imported_names(path: Path, root: Path) -> Iterator[str]:
    """What a file imports, wherever in the file: `from a import b` gives a.b."""
    package = path.relative_to(root).parent.parts
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else ()
            start = ".".join([*above, *([node.module] if node.module else [])])
            yield from (f"{start}.{alias.name}" for alias in node.names)


def upward(modules: dict[str, set[str]]) -> list[str]:
    """Imports of a layer that stands above the importing one."""
    return [
        f"{module} imports {name}"
        for module, names in modules.items()
        for name in sorted(names)
        if name.split(".")[0] in LAYERS[LAYERS.index(module.split(".")[0]) + 1 :]
    ]


def misplaced(modules: dict[str, set[str]]) -> list[str]:
    """Imports of a library that only some modules may use."""
    return [
        f"{module} imports {name}"
        for module, names in modules.items()
        for name in sorted(names)
        if module not in ONLY_IN.get(name.split(".")[0], {module})
    ]


def arrows(modules: dict[str, set[str]]) -> dict[str, set[str]]:
    """Every module of ours, with those of ours that it imports."""
    return {
        module: {target for name in names if (target := defining(name, modules))} - {module}
        for module, names in modules.items()
    }


def room(module: str) -> str:
    """The room of a module: the first name below its layer; of the answers each is a room."""
    parts = module.split(".")
    return ".".join(parts[: 3 if parts[1:2] == ["answers"] else 2])


def between_rooms(modules: dict[str, set[str]]) -> dict[str, set[str]]:
    """Every room, with the rooms that its modules import. What a whole layer says of itself, such
    as its version, is no room."""
    out: dict[str, set[str]] = {room(module): set() for module in modules}
    for module, targets in arrows(modules).items():
        out[room(module)] |= {room(t) for t in targets if "." in t} - {room(module)}
    return {name: targets for name, targets in out.items() if "." in name}


def circle(graph: dict[str, set[str]]) -> list[str]:
    """One circle of names that point at each other, or nothing."""
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        return list(error.args[1])
    return []


def defining(name: str, modules: dict[str, set[str]]) -> str:
    """The module of ours that a dotted name stands in, or nothing for a library's."""
    while name and name not in modules:
        name = name.rpartition(".")[0]
    return name


@pytest.fixture(scope="module")
def modules() -> dict[str, set[str]]:
    return read_modules(ROOT)


def test_all_layers_are_read(modules: dict[str, set[str]]) -> None:
    assert {name.split(".")[0] for name in modules} == set(LAYERS)
    assert "sim.kernel_cache" in {defining(name, modules) for name in modules["sim.just_in_time"]}


def test_no_import_points_upward(modules: dict[str, set[str]]) -> None:
    assert upward(modules) == []


def test_no_modules_import_each_other_in_a_circle(modules: dict[str, set[str]]) -> None:
    assert circle(arrows(modules)) == []


def test_no_rooms_import_each_other_in_a_circle(modules: dict[str, set[str]]) -> None:
    rooms = between_rooms(modules)
    assert {"sim.legs", "strategies.recovery", "experiments.answers.spot"} <= set(rooms)
    assert circle(rooms) == []


def test_simpy_is_imported_by_the_event_engine_and_the_benchmark_alone(
    modules: dict[str, set[str]],
) -> None:
    assert misplaced(modules) == []


BAD = {
    "sim/__init__.py": "",
    "sim/event_engine.py": "import simpy\nfrom simpy.events import Event",
    "sim/ball.py": "from .court import width",
    "sim/court.py": "def area():\n    from sim import ball",
    "sim/rally.py": "import simpy.events\nif True:\n    import strategies.recovery.middle",
    "strategies/recovery/__init__.py": "from simpy import Environment",
    "strategies/recovery/middle.py": "from ...experiments import study\nimport sim.court, numpy",
    "experiments/study.py": "import sim\nfrom strategies.recovery import middle",
}


@pytest.fixture
def bad(tmp_path: Path) -> dict[str, set[str]]:
    """An example that breaks every rule, by each form of import."""
    for name, text in BAD.items():
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return read_modules(tmp_path)


def test_checker_sees_upward_imports(bad: dict[str, set[str]]) -> None:
    assert upward(bad) == [
        "sim.rally imports strategies.recovery.middle",
        "strategies.recovery.middle imports experiments.study",
    ]


def test_checker_sees_circles(bad: dict[str, set[str]]) -> None:
    """There are two: one inside a layer, by a late import, and one between two layers."""
    inside, between = {"sim.ball", "sim.court"}, {"strategies.recovery.middle", "experiments.study"}
    without_inside = {name: names for name, names in bad.items() if name != "sim.ball"}
    without_between = {name: names for name, names in bad.items() if name != "experiments.study"}
    assert set(circle(arrows(without_inside))) == between
    assert set(circle(arrows(without_between))) == inside
    assert circle(arrows({"sim.ball": bad["sim.ball"]})) == []


ROUND = {
    "experiments/study/design.py": "from experiments.report import words",
    "experiments/study/words.py": "",
    "experiments/report/words.py": "",
    "experiments/report/page.py": "from experiments.study.words import name",
    "experiments/answers/spot/answer.py": "import experiments.answers.map.grid",
    "experiments/answers/map/grid.py": "import experiments",
    "experiments/__init__.py": "",
}


def test_checker_sees_circles_of_rooms_whose_files_make_none(tmp_path: Path) -> None:
    for name, text in ROUND.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    modules = read_modules(tmp_path)
    assert circle(arrows(modules)) == []
    assert set(circle(between_rooms(modules))) == {"experiments.study", "experiments.report"}
    del modules["experiments.study.design"]
    assert circle(between_rooms(modules)) == []
    assert between_rooms(modules)["experiments.answers.spot"] == {"experiments.answers.map"}


def test_checker_sees_simpy_elsewhere(bad: dict[str, set[str]]) -> None:
    assert misplaced(bad) == [
        "sim.rally imports simpy.events",
        "strategies.recovery imports simpy.Environment",
    ]
