"""The pictures of a result folder, each with a caption and its numbers in words."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from experiments.report.where import compared_policy, where_level, where_sentences
from experiments.report.worlds import in_worlds, shown_level
from experiments.study.folder_files import require_sound, sound
from experiments.study.outcome_names import fewer_missed, more_points
from experiments.study.result_folder import ResultFolder
from experiments.study.setting_table import SETTINGS
from sim.court import HALF_LENGTH_M
from sim.errors import InputError

MISSED, POINTS = "missed_per_100", "points_won_per_100"
MEDIA = {".svg": "image/svg+xml", ".png": "image/png"}
CAPTIONS = "captions.json"
SETTING_WORDS = {s.name: s.words for s in SETTINGS.values()}


@dataclass(frozen=True)
class Picture:
    """A figure in the page: its data URI, a caption, and what it shows for those who cannot see."""

    name: str
    uri: str
    caption: str
    alt: str


def pictures(results: ResultFolder) -> list[Picture]:
    """All figures of the folder's `figures/`, the court first, then in the order of their names.

    This is the one place where the report finds pictures. A name of the study's own figures gets
    its caption here (`KINDS`); any other gets it from `figures/captions.json`, which holds for each
    name `{"caption": ..., "alt": ...}`, else its name. Of one name the smaller one of
    SVG and PNG is shown.
    """
    folder = results.path / "figures"
    require_sound(results.path, f"figures/{CAPTIONS}")
    captions = read_captions(folder)
    names = sorted({f.stem for f in folder.glob("*") if f.suffix in MEDIA})
    out = []
    for name in sorted(names, key=lambda n: n != "court"):
        caption, alt = captions.get(name) or described(results, name)
        file = sound(results.path, f"figures/{shown_file(folder, name).name}")
        out.append(Picture(name, data_uri(file), caption, alt))
    return out


def read_captions(folder: Path) -> dict[str, tuple[str, str]]:
    """Caption and alternative text by figure name, from captions.json; none without that file.

    Raises:
        InputError: the file is not as `pictures` says.
    """
    path = folder / CAPTIONS
    if not path.exists():
        return {}
    try:
        found = json.loads(path.read_text("utf-8"))
        return {str(n): (str(c["caption"]), str(c["alt"])) for n, c in found.items()}
    except (OSError, ValueError, TypeError, KeyError, AttributeError) as error:
        raise InputError(
            f"{str(path)!r} is not a list of captions ({error}); it holds for each figure's name"
            ' {"caption": "...", "alt": "..."}; mend it or delete it'
        ) from None


def shown_file(folder: Path, name: str) -> Path:
    """The file to show of that figure: the smaller one of what there is of SVG and PNG."""
    files = [folder / f"{name}{suffix}" for suffix in MEDIA]
    return min((f for f in files if f.exists()), key=lambda f: f.stat().st_size)


def data_uri(file: Path) -> str:
    """The file as part of a page. As an image, an SVG can run no script and load nothing."""
    data = base64.b64encode(file.read_bytes()).decode("ascii")
    return f"data:{MEDIA[file.suffix]};base64,{data}"


def described(results: ResultFolder, name: str) -> tuple[str, str]:
    """Caption and alternative text of the figure of that file name."""
    kind, _, setting = name.rpartition("-")
    if name == "court" and results.corner is not None:
        return (
            f"The court from above with the opponent in the place {results.corner}: the two extreme"
            " drives, their bisector, where each policy waits, and the yardstick's best range.",
            court_alt(results),
        )
    if kind in KINDS:
        return KINDS[kind](results, setting)
    return f"Figure {name}.", f"Figure {name}; its numbers are in the tables below."


def scene(results: ResultFolder, setting: str) -> str:
    """The setting and the level of a picture in words."""
    return f"{SETTING_WORDS.get(setting, setting)}, {shown_level(results, results.middle_level)}"


def missed_words(results: ResultFolder, setting: str) -> tuple[str, str]:
    """Of the dot chart of balls missed."""
    caption = f"Balls missed per 100 by place and policy ({scene(results, setting)})"
    alt = numbers_alt(results, "Dot chart", MISSED, setting, results.named)
    return f"{caption}, with 95 % intervals{of_what(results)}.", alt


def of_what(results: ResultFolder) -> str:
    """Which intervals a dot chart shows, where there are two."""
    return " of chance (thick) and of worlds (thin)" if in_worlds(results) else ""


def difference_words(
    results: ResultFolder, setting: str, what: str, outcome: str
) -> tuple[str, str]:
    """Of a dot chart of differences from the reference policy."""
    words = SETTING_WORDS.get(setting, setting)
    caption = f"{what} than by the {results.reference}, by level and opponent ({words})"
    alt = numbers_alt(results, "Dot chart", outcome, setting, results.named[1:])
    return f"{caption}, with 95 % intervals{of_what(results)}.", alt


def yardstick_words(results: ResultFolder, setting: str) -> tuple[str, str]:
    """Of the curve over the shade."""
    return (
        f"How far to shade ({scene(results, setting)}), opponent's place: {results.corner}. Bands"
        " are 95 % intervals; the policies stand at the shade that they come to there.",
        numbers_alt(results, "Curves over the shade", MISSED, setting, results.policies),
    )


def where_words(results: ResultFolder, setting: str) -> tuple[str, str]:
    """Of the bars of where points come from."""
    caption = (
        f"Where the {compared_policy(results)} gains or loses against the {results.reference}"
        f" ({SETTING_WORDS.get(setting, setting)}, {where_level(results)}): in each split the bars"
        " of points, and those of balls missed of 100, add up to the whole; with 95 % intervals."
    )
    of_setting = (s for s in where_sentences(results, where_level(results)) if f", {setting}" in s)
    return caption, f"Bars. {' '.join(of_setting)}"


KINDS: dict[str, Callable[[ResultFolder, str], tuple[str, str]]] = {
    "missed": missed_words,
    "points": lambda results, setting: difference_words(
        results, setting, "Points won per 100 more", more_points(results.reference)
    ),
    "fewer-missed": lambda results, setting: difference_words(
        results, setting, "Balls missed per 100 fewer", fewer_missed(results.reference)
    ),
    "yardstick": yardstick_words,
    "where": where_words,
}


def court_alt(results: ResultFolder) -> str:
    """Where each policy waits, in words."""
    cells = results.pick(
        outcome="spot_x_m", level=results.middle_level, place=results.corner or ""
    ).drop_duplicates("policy")
    x, y, _ = results.places[results.corner or ""]
    spots = zip(cells["policy"], cells["estimate"].to_numpy(float), strict=True)
    where = "; ".join(
        f"{policy} {side_of(spot)}{depth_of(results, policy)}" for policy, spot in spots
    )
    return (
        f"Court from above. The opponent strikes at x {x:g} m, y {y:g} m. {results.depth_m:g} m"
        f" behind the baseline, from the middle: {where}."
    )


def depth_of(results: ResultFolder, policy: str) -> str:
    """In words, how far behind the baseline one waits who is not on the waiting line."""
    cells = results.pick(
        outcome="spot_y_m", policy=policy, level=results.middle_level, place=results.corner or ""
    )
    if cells.empty:
        return ""
    behind = -float(cells["estimate"].iloc[0]) - HALF_LENGTH_M
    return f" ({abs(behind):.1f} m {'behind' if behind >= 0 else 'inside'} the baseline)"


def side_of(x_m: float) -> str:
    """A lateral place in words."""
    if abs(x_m) < 0.05:
        return "at the middle"
    return f"{abs(x_m):.1f} m to the {'left' if x_m < 0 else 'right'}"


def numbers_alt(
    results: ResultFolder, kind: str, outcome: str, setting: str, policies: list[str]
) -> str:
    """The chart's main numbers in words: middle level, main corner, each opponent."""
    cells = results.pick(outcome=outcome, setting=setting, level=results.middle_level)
    place = results.corner if results.corner in set(cells["place"]) else None
    place = place or next(iter(cells["place"]), "")
    cells = cells[(cells["place"] == place) & cells["policy"].isin(policies)]
    cells = cells[cells["own_stroke"] == next(iter(cells["own_stroke"]), "")]
    parts = []
    for opponent, part in cells.groupby("opponent", sort=False):
        values = ", ".join(f"{c.policy} {c.estimate:.1f}" for c in part.itertuples())
        parts.append(f"{opponent}: {values}")
    words = outcome.replace("_", " ")
    return f"{kind}. {words}, {results.middle_level}, {place}. {'. '.join(parts)}."
