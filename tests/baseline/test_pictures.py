"""Pictures against the stored ones, as the Matplotlib that the test extra pins draws them.

Matplotlib's own comparison (root mean square over the pixels) does the work. A pytest plugin for
pictures would compare only when a flag is given and pass silently without it; here it is the other
way round: with another Matplotlib or FreeType the tests say why they skip, and where
RALLY_RECOVERY_IMAGES is set, as in CI, that is a failure.

A baseline says that a picture changed, not that it is right: look at it, then refresh.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from baseline import pictures
from matplotlib.testing.compare import compare_images
from matplotlib.text import Text

from experiments.drawing.style import house_style

# Of 255: other processors may round the edge of a mark otherwise. One other letter in a label came
# to 1.4 or more, a line of a lighter grey to 2.2 (the test below).
TOLERANCE = 0.5
LARGEST_BYTES = 40_000
REFRESH = "look at it; if the change is meant, run: python tests/baseline/refresh.py pictures"
REQUIRED = "RALLY_RECOVERY_IMAGES"


def require_the_same_letters() -> None:
    """Skip where the stored pictures were drawn by another version; fail where that is required."""
    reason = pictures.other_letters()
    if reason and os.environ.get(REQUIRED):
        pytest.fail(f"{REQUIRED} is set, and the pictures would be skipped: {reason}")
    if reason:
        pytest.skip(f"{reason}; install the test extra to compare")


def difference(name: str, drawn: Path) -> str | None:
    """What Matplotlib says about a drawn picture and the stored one; None if they are alike."""
    stored = pictures.IMAGES / f"{name}.png"
    said = compare_images(str(stored), str(drawn), TOLERANCE)
    return said if said is None else str(said)


@pytest.mark.parametrize("name", pictures.PICTURES)
def test_the_picture_is_the_stored_one(name: str, tmp_path: Path) -> None:
    require_the_same_letters()
    drawn = tmp_path / f"{name}.png"
    pictures.write_picture(pictures.PICTURES[name](), drawn)
    said = difference(name, drawn)
    assert said is None, f"{said}\n{REFRESH}"


def test_another_letter_and_another_colour_are_seen(tmp_path: Path) -> None:
    require_the_same_letters()
    for change in ("letter", "colour"):
        figure, drawn = pictures.PICTURES["curve"](), tmp_path / f"{change}.png"
        (ax,) = figure.axes
        with house_style():
            figure.draw_without_rendering()
        if change == "letter":
            label = next(t for t in ax.findobj(Text) if t.get_text().startswith("reached in time"))
            label.set_text("reached in time (balls per 10O)")
        else:
            next(line for line in ax.lines if line.get_gid() == "curve").set_color("#444444")
        pictures.write_picture(figure, drawn)
        assert difference("curve", drawn) is not None


def test_the_stored_pictures_are_those_drawn_and_small() -> None:
    stored = {path.stem: path.stat().st_size for path in pictures.IMAGES.glob("*.png")}
    assert set(stored) == set(pictures.PICTURES)
    assert all(size <= LARGEST_BYTES for size in stored.values()), stored


@pytest.mark.parametrize("required", [True, False])
@pytest.mark.parametrize(
    ("module", "name"), [("mpl", "__version__"), ("ft2font", "__freetype_version__")]
)
def test_another_version_skips_here_and_fails_where_pictures_are_required(
    monkeypatch: pytest.MonkeyPatch, module: str, name: str, required: bool
) -> None:
    monkeypatch.setattr(getattr(pictures, module), name, "0.0.1")
    if required:
        monkeypatch.setenv(REQUIRED, "required")
    else:
        monkeypatch.delenv(REQUIRED, raising=False)
    outcome = pytest.fail.Exception if required else pytest.skip.Exception
    with pytest.raises(outcome, match=r"0\.0\.1 \(stored: .*letters differ"):
        require_the_same_letters()


def test_ci_requires_the_pictures() -> None:
    run = (pictures.PROJECT.parent / ".ci" / "run").read_text("utf-8")
    assert f"export {REQUIRED}=" in run
