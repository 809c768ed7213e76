"""Where the receivers of a chart stood."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from experiments.answers.chart.picture import stood_figure
from experiments.answers.chart.stood import StoodAnswer, resampled, stood
from experiments.command.main import main
from experiments.scene.scene import scene_of
from sim.errors import InputError
from strategies.catalogue import make_policy
from strategies.charts.reading import Chart, parse_chart

HEADER = "contact_x_m,contact_y_m,bounce_x_m,bounce_y_m,receiver_x_m,receiver_y_m\n"
ROWS = [(x, 12.0, -x, -8.0, -0.2 * x + 0.3, -13.0) for x in (-4.0, -3.5, -3.2, 0.0, 3.1, 3.5, 4.0)]
TEXT = HEADER + "".join(",".join(f"{v:g}" for v in row) + "\n" for row in ROWS)


def compared(text: str = TEXT, policies: str = "linear-shade,shade_m_per_m=0.2") -> StoodAnswer:
    chart, problems = parse_chart(text, "made")
    assert not problems
    return of(chart, policies)


def of(chart: Chart, policies: str) -> StoodAnswer:
    return stood(scene_of(depth=1.3, seed=1), chart, [make_policy(policies)])


def test_a_known_shift_is_found_in_every_bin() -> None:
    found = compared()
    assert [d.strokes for d in found.differences] == [7, 3, 1, 3]
    np.testing.assert_allclose([d.difference_m for d in found.differences], 0.3)
    whole = found.differences[0]
    np.testing.assert_allclose([whole.low_m, whole.high_m], 0.3)
    assert found.differences[2].low_m is None


def test_the_interval_holds_the_mean_and_shrinks_with_strokes() -> None:
    values = np.random.default_rng(2).normal(size=(400, 1))
    few, many = resampled(values[:25], 1), resampled(values, 1)
    assert few[0, 0] < values[:25].mean() < few[1, 0]
    # Sixteen times the strokes, a quarter of the width.
    assert 0.15 < np.ptp(many) / np.ptp(few) < 0.4


def test_a_chart_without_places_is_refused() -> None:
    chart, _ = parse_chart("contact_x_m,contact_y_m,bounce_x_m,bounce_y_m\n1,12,1,-8\n", "bare")
    with pytest.raises(InputError, match="bare has no receiver"):
        of(chart, "middle")


def test_a_policy_without_a_spot_is_refused() -> None:
    with pytest.raises(InputError, match="own stroke"):
        compared(policies="stay")


def test_the_picture_shows_every_stroke_and_policy() -> None:
    ax = stood_figure(compared()).axes[0]
    gids = [line.get_gid() for line in ax.lines]
    assert gids == ["stroke", "policy linear-shade 0.20", "mean"]
    assert len(ax.lines[0].get_xdata()) == 7


def test_the_command_tells_and_reminds(tmp_path: Path) -> None:
    figure = tmp_path / "stood.png"
    asked = ["chart", "stood", "demo", "--seed", "3", "--figure", str(figure)]
    told = CliRunner().invoke(main, asked)
    assert told.exit_code == 0, told.output
    assert "not what is best" in told.output and "bisector" in told.output and figure.exists()
