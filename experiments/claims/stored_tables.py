"""The tables that pages show, each from a stored folder, and figures that no study's cells hold."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache, partial
from pathlib import Path
from typing import Any

import numpy as np

from experiments.answers.depth.short_balls import NO_SHORT, PAYS, USUAL
from experiments.answers.net.answer import NAMED
from experiments.answers.net.turning import CORNER
from experiments.claims import in_and_out
from experiments.claims.against_whom import best_against, best_places, losses, losses_table
from experiments.claims.angle import angle_table
from experiments.claims.directions import SHORT_GAIN, directions_table, shares
from experiments.claims.directions import cells as directions
from experiments.claims.facts import Counts, Number, in_many
from experiments.claims.register import CLAIMS, claims_table, stored
from experiments.claims.tables import (
    MORE,
    best_shade,
    count_table,
    markdown,
    read_cells,
)
from experiments.edition import citation, this_edition
from experiments.evidence.calibration.words import PINNED
from experiments.evidence.record.figures import Fit
from experiments.evidence.validation.rows import stored_record
from experiments.output.tables import read_table
from experiments.report.tables import choice_cell
from experiments.statistics.comparison import LOSES, WINS, verdict
from experiments.study.columns import factor_words
from experiments.study.folder_files import ANALYSES, CHOICES_FILE, sound
from experiments.study.result_folder import ResultFolder

CALIBRATION = Path("calibration", "calibration.json")
NULL = Path("null", "rates.csv")
UNIT = {"1": ""}
CASES = {"pays": PAYS, "usual": USUAL, "none": NO_SHORT}
NEAR_M = 2.8  # where the net's best places are looked at
AGREEMENT = {"agrees": "agrees", "disagrees": "disagrees", "not testable": "cannot be told"}


def tables(results: Path) -> dict[str, Any]:
    """What texts may call beside the functions of `facts`, by name."""
    calibration = cache(partial(_calibration, results))
    return {
        "claims_table": lambda: claims_table(results),
        "claim": lambda key: _claim(results, key),
        "count_table": lambda: count_table(read_cells(results / "main")),
        "best_shades": lambda opponent: _best_shades(results, opponent),
        "rows_with": rows_with,
        "angle_table": lambda: angle_table(read_cells(results / "angle")),
        "directions_table": lambda: directions_table(directions(results / "directions")),
        "by_line": lambda **labels: _by_line(results, **labels),
        "losses_table": lambda: losses_table(results),
        "losses": partial(losses, results),
        "best_places": lambda: best_places(results),
        "best_against": partial(best_against, results),
        "line_share": _line_share,
        "depth_table": lambda: in_and_out.depth_table(results),
        "best_depths": partial(_best_depths, results),
        "adaptive": lambda policy: _adaptive(results, policy),
        "depth_column": partial(_depth_column, results),
        "reached_deeper": lambda: _reached_deeper(results),
        "turning_table": lambda step: _thinned(in_and_out.turning_table(results), step),
        "net_best": lambda way: _net_best(results, way),
        "net_losses": partial(_net_losses, results),
        "crossing": lambda: _crossing(results),
        "choices": lambda *names: _choices(results, names),
        "choice_counts": lambda: _choice_counts(results),
        "draws": lambda: _draws(results),
        "published": _published,
        "published_table": _published_table,
        "checks": lambda: stored_record().verdicts | {"all": stored_record().checks},
        "record_rows": lambda: len(stored_record().rows),
        "record_rallies": lambda: stored_record().rallies,
        "calibration": calibration,
        "gaps_table": lambda: _gaps_table(calibration()),
        "default_fits": lambda: _default_fits(calibration()),
        "pinned": lambda count: _pinned(calibration(), count),
        "null_rates": lambda: _null_rates(results),
        "opponent_policy": lambda: ResultFolder.read(results / "main").study["opponent_policy"],
        "edition": this_edition().number,
        "cite": citation({"edition": this_edition().number}).words,
    }


def _claim(results: Path, key: str) -> str:
    """The value of a claim by its key."""
    found = next(claim for claim in CLAIMS if claim.key == key)
    return found.value(results / found.folder)


def rows_with(table: str, *words: str) -> str:
    """The heads of a table and the rows that hold one of these words."""
    heads, rows = table.splitlines()[:2], table.splitlines()[2:]
    return "\n".join([*heads, *(row for row in rows if any(word in row for word in words))])


def _best_shades(results: Path, opponent: str) -> dict[str, float]:
    """The best shade of those tried over all places, by level."""
    cells = read_cells(results / "main")
    return {level: best_shade(cells, level, opponent) for level in cells.values("level")}


def _by_line(results: Path, **labels: str) -> list[tuple[int, str]]:
    """The verdict by how many of 100 balls from the corner go down the line, others as usual."""
    table = directions(results / "directions")
    table = table[table[SHORT_GAIN] == 1.0].sort_values("line")
    for name, value in labels.items():
        table = table[table[name] == value]
    return [(round(100 * row["line"]), row["verdict"]) for _, row in table.iterrows()]


def _line_share(gain: float) -> str:
    """How many of 100 balls from the corner go down the line with such a factor on that share."""
    return f"{100 * shares(np.array([[gain, 1.0]]))[0, 0]:.0f}"


def _depth_column(
    results: Path, name: str, player: str | None = None, case: str = "none"
) -> list[float]:
    """A column of the best depths, of all players or one, in one of the cases."""
    best = read_table(results / in_and_out.DEPTH / "best.csv")
    rows = best[best["case"] == CASES[case]]
    rows = rows if player is None else rows[rows["player"] == player]
    return [float(value) for value in rows[name]]


def _reached_deeper(results: Path) -> str:
    """In how many cells most balls are reached farther back than most points are won."""
    best, most = (_depth_column(results, n) for n in ("best_depth_m", "most_reached_depth_m"))
    return in_many(sum(m > b for m, b in zip(most, best, strict=True)), len(best))


def _best_depths(results: Path, player: str, case: str = "pays") -> str:
    """Where the best depths of a player lie, over courts and opponents, in words."""
    found = _depth_column(results, "best_depth_m", player, case)
    low, high = (round(end, 1) + 0.0 for end in (min(found), max(found)))
    if high <= 0.0:
        return f"{-high:.1f} to {-low:.1f} m inside the baseline"
    if low < 0.0:
        return f"from {-low:.1f} m inside to {high:.1f} m behind the baseline"
    return f"{low:.1f} to {high:.1f} m behind the baseline"


def _adaptive(results: Path, policy: str) -> Counts:
    """How often a policy that chooses its depth wins against the best fixed place, by points, each
    by its own interval."""
    rows = read_table(results / in_and_out.DEPTH / "adaptive.csv")
    rows = rows[rows["recovery"] == policy]
    name = "points_more_per_100"
    return Counts(verdict(row[f"{name}_low"], row[f"{name}_high"]) for _, row in rows.iterrows())


def _net_losses(results: Path, name: str, surface: str = "hard") -> list[float]:
    """Points in 100 that a named place at the net loses to the best across, over all rows."""
    places = read_table(results / in_and_out.NET / "places.csv")
    assert name in NAMED
    rows = places[(places["surface"] == surface) & (places["name"] == name)]
    return [float(value) for value in rows["points_loss_per_100"]]


def _thinned(table: str, step: int) -> str:
    """The heads of a table and each so many of its rows."""
    lines = table.splitlines()
    return "\n".join([*lines[:2], *lines[2::step]])


def _net_best(results: Path, way: str) -> list[float]:
    """The best places across, m to the ball's side, against hitters who pass in one way, near the
    net, the opponent unhurried in the corner."""
    turning = read_table(results / in_and_out.NET / "turning.csv")
    rows = turning[(turning["level"] == "college-man") & (turning["contact"] == CORNER)]
    rows = rows[(rows["passes"] == way) & (rows["from_net_m"] == NEAR_M)]
    return [float(value) for value in rows["best_x_m"]]


def _crossing(results: Path) -> str:
    """Between which distances from the net the middle of the angle crosses the centre line."""
    turning = read_table(results / in_and_out.NET / "turning.csv")
    rows = turning[(turning["level"] == "college-man") & (turning["contact"] == CORNER)]
    side = rows.groupby("from_net_m")["bisector_x_m"].first()
    return f"{side[side > 0].index.max():g} and {side[side < 0].index.min():g} m"


def _choices(results: Path, names: tuple[str, ...]) -> str:
    """What some of the modelling choices do to the points that the bisector wins more."""
    table = read_table(sound(results / "main", CHOICES_FILE))
    held = {row["choice"]: row for row in table.to_dict("records")}
    shown = ("reference_missed_per_100", "bisector_missed_per_100", "bisector_points_more_per_100")
    rows = [[n, *(str(Number(choice_cell(held[n], column))) for column in shown)] for n in names]
    return markdown(["model", "middle misses", "bisector misses", "bisector wins more"], rows)


def _choice_counts(results: Path) -> dict[str, Any]:
    """Over all modelling choices: verdicts on the bisector's points, the least and the most."""
    table = read_table(sound(results / "main", CHOICES_FILE))
    more = "bisector_points_more_per_100"
    ordered = table.sort_values(more)
    return {
        "counts": Counts(table[f"{more}_verdict"]),
        "least": (ordered["choice"].iloc[0], float(ordered[more].iloc[0])),
        "most": (ordered["choice"].iloc[-1], float(ordered[more].iloc[-1])),
    }


def _draws(results: Path) -> dict[Any, Any]:
    """How the points that the bisector wins more scatter over draws of all values."""
    return stored(results / "sensitivity", ANALYSES["draws"], outcome=MORE).to_dict("records")[0]


def _published(key: str) -> dict[str, Any]:
    """One published figure beside the model's, by its row."""
    return next(row for row in stored_record().rows if row["row"] == key)


def _published_table(*keys: str) -> str:
    """Published figures beside the model's, with the verdict."""
    rows = []
    for key in keys:
        row = _published(key)
        there = row["published"]
        shown = " to ".join(f"{v:g}" for v in (there if isinstance(there, list) else [there]))
        rows.append([row["quantity"], f"{row['ours']:.3g}", shown, AGREEMENT[row["verdict"]]])
    return markdown(["figure", "model", "published", ""], rows)


def _calibration(results: Path) -> dict[str, Any]:
    """The stored calibration; its sections and figures by name."""
    found: dict[str, Any] = json.loads((results / CALIBRATION).read_text("utf-8"))
    found["sections"] = {row["section"]: row for row in found["sections"]}
    found["figures"] = {row["figure"]: row for row in found["figures"]}
    return found


def _gaps_table(found: dict[str, Any]) -> str:
    """How far default and worlds are from the record, by section, in tolerances."""
    rows = [
        [name, f"{s['before']:.2f}", ", ".join(f"{s[n]:.2f}" for n in ("least", "middle", "most"))]
        for name, s in found["sections"].items()
    ]
    heads = ["root mean square gap, tolerances", "default", "worlds: least, middle, most"]
    return markdown(heads, rows)


def _default_fits(found: dict[str, Any]) -> bool:
    """Whether the default players fit the record by its rule."""
    gaps = {name: row["before"] for name, row in found["sections"].items()}
    return Fit(gaps.pop("all"), gaps, {}).fits


def _pinned(found: dict[str, Any], count: int) -> str:
    """The parameters that the record pins, the most pinned first, at most so many."""
    held = (p for p in found["parameters"] if p["left"] <= PINNED)
    rows = sorted(held, key=lambda p: float(p["left"]))[:count]
    heads = ["what the record pins", "default", "worlds: 95 of 100 within"]
    return markdown(heads, list(_pinned_rows(rows)))


def _pinned_rows(rows: list[dict[str, Any]]) -> Iterator[list[str]]:
    for row in rows:
        unit, about = factor_words(row["parameter"])
        shown = f"{row['sets_low']:.2g} to {row['sets_high']:.2g} {UNIT.get(unit, unit)}"
        yield [about or row["parameter"], f"{row['usual']:g}", shown.strip()]


def _null_rates(results: Path) -> list[float]:
    """In how many of 100 seeds a verdict told equal policies apart, by setting and chance."""
    table = read_table(results / NULL)
    table = table[(table["policy"] == "any") & table["outcome"].str.endswith("_per_100")]
    groups = table.groupby(["setting", "chance"], sort=False)
    told = (rows[[WINS, LOSES]].sum(axis=1) / rows["seeds"] for _, rows in groups)
    return [100.0 * float(share.mean()) for share in told]
