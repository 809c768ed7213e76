"""The fan of playable shots."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from experiments.answers.angle.answer import Fan, fan_of, quickest
from experiments.answers.angle.picture import fan_figure
from experiments.command.main import main
from experiments.scene.scene import scene_of
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.errors import InputError


@cache
def fan(x_m: float = 3.115, y_m: float = 11.885, least_in: float = 0.7, hand: str = "right") -> Fan:
    level = "college-man"
    scene = scene_of((x_m, y_m), player=level, opponent_hand=hand, depth=13.2 - HALF_LENGTH_M)
    return fan_of(scene, least_in)


def test_the_fan_opens_as_the_contact_moves_in() -> None:
    assert fan(0.0, 7.0).open_deg > fan(0.0, 12.0).open_deg + 3.0


def test_a_surer_fan_is_narrower() -> None:
    assert fan(least_in=0.9).open_deg < fan(least_in=0.5).open_deg
    assert (fan(least_in=0.9).lands >= 0.9).all()


def test_every_ball_of_the_fan_bounces_in_and_takes_time() -> None:
    found = fan()
    assert (np.abs(found.bounce_m[:, 0]) <= HALF_WIDTH_M + 0.1).all()
    assert (found.bounce_m[:, 1] < 0).all() and (found.bounce_m[:, 1] > -HALF_LENGTH_M - 0.1).all()
    assert (np.diff(found.heading_deg) > 0).all()
    distance = found.scene.place.y_m - found.end_m[:, 1]
    # Faster than any drive is struck would be wrong, and so would slower than a lob.
    assert (distance / found.time_s < 45.0).all() and (distance / found.time_s > 8.0).all()


def test_the_fan_mirrors_with_place_and_hand() -> None:
    """The 64 errors that chances are counted on are not mirrored, so that a shot which is just sure
    enough on one side is not on the other: the quickest differ by 1.1 ms."""
    right, left = fan(3.115), fan(-3.115, hand="left")
    np.testing.assert_allclose(left.open_deg, right.open_deg, atol=1.0)
    np.testing.assert_allclose(left.time_s.min(), right.time_s.min(), atol=2e-3)


def test_the_quickest_of_each_direction() -> None:
    heading, time = np.array([1.2, 1.7, -0.5, 3.0]), np.array([0.9, 0.8, 1.0, 1.1])
    assert quickest(heading, time).tolist() == [2, 1, 3]


def test_bad_chances_are_refused() -> None:
    with pytest.raises(InputError, match="above 0, below 1"):
        fan(least_in=1.0)
    with pytest.raises(InputError, match="the surest has"):
        fan_of(scene_of((0.0, 0.5), 0.1))


def test_a_wedge_for_each_direction_and_the_command_draws_it(tmp_path: Path) -> None:
    found = fan()
    ax = fan_figure(found).axes[0]
    wedges = next(c for c in ax.collections if c.get_gid() == "fan")
    assert len(wedges.get_paths()) == len(found.time_s)
    figure = tmp_path / "fan.png"
    told = CliRunner().invoke(main, ["angle", "--figure", str(figure)])
    assert told.exit_code == 0 and "Least time" in told.output and figure.exists()
