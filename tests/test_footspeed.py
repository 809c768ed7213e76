"""Footspeed: where slow and fast legs should stand, and what faster legs buy."""

from __future__ import annotations

import dataclasses
import json
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from scipy import stats

from experiments.answers.footspeed.answer import (
    BATCHES,
    MEASURES,
    Footspeed,
    FootspeedQuestion,
    _reached,
    best_place,
    difference,
    footspeed_of,
    rates_of,
    resample_weights,
)
from experiments.answers.footspeed.picture import footspeed_figure, multiples_figure
from experiments.answers.footspeed.varied import (
    ACCELERATION,
    TOGETHER,
    TOP_SPEED,
    VARIED,
    Varied,
    legs_with,
    stated_range,
    values_of,
)
from experiments.answers.footspeed.words import footspeed_json, is_as_good, sentences
from experiments.answers.spot.answer import find_spot
from experiments.balls import struck
from experiments.balls.places import STEP_X_M
from experiments.balls.spots import on_the_line
from experiments.balls.struck import counted
from experiments.command.main import main
from experiments.scene.player_file import player_of
from experiments.scene.scene import Scene, scene_of
from experiments.statistics.words import said
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.exchange import opening_contact, strike_balls
from sim.hitter import Hitter
from sim.legs import Legs
from sim.players import Player, player
from sim.records import OPPONENT, T, X, Y, Z
from strategies.catalogue import make_policy, make_shot_model

BALLS = 2000


def asked(
    me: Player | None = None, hitter: str | dict[str, object] = "habit", **more: int
) -> Scene:
    values: dict[str, int] = {"balls": BALLS, "seed": 7, **more}
    scene = scene_of(depth=1.2, hitter=make_shot_model(hitter), **values)  # type: ignore[arg-type]
    me = me or player("college-man")
    return dataclasses.replace(scene, player=me, opponent=me)


@cache
def found(what: str = "top-speed") -> Footspeed:
    return footspeed_of(FootspeedQuestion(asked(), VARIED[what]))


# --- the legs that are tried ------------------------------------------------------------------


@pytest.mark.parametrize("what", VARIED.values(), ids=list(VARIED))
@pytest.mark.parametrize("level", ["club-adult", "professional-woman"])
def test_the_players_own_legs_are_among_those_tried(what: Varied, level: str) -> None:
    me = player(level)
    values = values_of(what, me)
    assert (np.diff(values) > 0).all()
    low, high = stated_range(what, me)
    assert values[0] <= low + 1e-9 and values[-1] >= high - 1e-9
    legs = [legs_with(what, me, float(v)) for v in values]
    assert me.legs in legs


def test_a_bundle_goes_from_all_slow_to_all_fast() -> None:
    """The ends are those that the level's table states."""
    me = player("club-adult")
    slow, fast = (legs_with(TOGETHER, me, v) for v in (-1.0, 1.0))
    of_slow = (slow.top_speed_m_s, slow.tau_s, slow.reaction_s)
    assert of_slow == (5.2, 1.1, 0.32)
    assert (fast.top_speed_m_s, fast.tau_s, fast.reaction_s) == (6.8, 0.8, 0.22)
    assert slow.full_reach_m < me.legs.full_reach_m < fast.full_reach_m
    share = slow.comfortable_reach_m / slow.full_reach_m
    assert share == pytest.approx(me.legs.comfortable_reach_m / me.legs.full_reach_m)


def test_an_unknown_thing_to_vary_is_refused() -> None:
    told = CliRunner().invoke(main, ["footspeed", "--vary", "topspeed"])
    assert told.exit_code == 2 and "top-speed" in told.output


# --- against what is known --------------------------------------------------------------------


def test_boundless_legs_miss_nothing_from_anywhere_and_the_middle_ties() -> None:
    legs = Legs(top_speed_m_s=500.0, tau_s=0.01, reaction_s=0.0)
    me = dataclasses.replace(player("college-man"), legs=legs)
    question = FootspeedQuestion(asked(me), TOP_SPEED)
    counts = question.met(legs, question.x_m)
    assert counts.landed.sum() > 0 and counts.missed.sum() == 0
    answer = footspeed_of(question)
    assert all(row.loss("middle").value == 0.0 for row in answer.rows)
    best = answer.today.best["missed"]
    assert (best.left_m, best.right_m, best.x_m) == (np.inf, np.inf, pytest.approx(0.0))
    assert "as good" in " ".join(sentences(answer))


def test_faster_legs_reach_what_slower_ones_do() -> None:
    """Exactly, batch by batch: they meet the same balls."""
    question, me = FootspeedQuestion(asked(), TOP_SPEED), player("college-man")
    legs = [legs_with(TOP_SPEED, me, v) for v in (6.5, 7.0, 7.5, 8.5)]
    swept = [question.met(own, question.x_m) for own in legs]
    for slower, faster in pairwise(swept):
        assert (faster.missed <= slower.missed).all()
        assert (faster.not_returned <= slower.not_returned + 1e-9).all()
        assert (faster.landed == slower.landed).all()
    assert swept[-1].missed.sum() < swept[0].missed.sum()


def test_tolerance_widens_and_the_middle_costs_less_as_the_legs_get_faster() -> None:
    rows = footspeed_of(FootspeedQuestion(asked(balls=4 * BALLS), TOGETHER)).rows
    for measure in MEASURES:
        width = [row.best[measure].left_m + row.best[measure].right_m for row in rows]
        assert (np.diff(width) > -0.2).all()  # so much is the luck of 8000 balls
        assert width[-1] > 1.5 * width[0]
        loss = [row.loss("middle", measure).value for row in rows]
        assert (np.diff(loss) < 0).all()


def reachable(path: np.ndarray, legs: Legs, line_m: float) -> tuple[float, float]:
    """Where on the line a body at rest must stand to be in time for one ball.

    By the closed form of the sprint, distance(t) = v (t - tau (1 - exp(-t / tau))), plus the
    reach, at every millisecond of the playable part of the path: a circle about the ball.
    """
    t = np.arange(path[0, T], path[-1, T], 0.001)
    x, y, z = (np.interp(t, path[:, T], path[:, k]) for k in (X, Y, Z))
    run = t - legs.reaction_s
    ran = legs.top_speed_m_s * (run + legs.tau_s * np.expm1(-run / legs.tau_s))
    radius = np.where(run > 0, ran, 0.0) + legs.full_reach_m
    ok = (z >= legs.playable_low_m) & (z <= legs.playable_high_m) & (np.abs(y + line_m) < radius)
    half = np.sqrt(radius[ok] ** 2 - (y[ok] + line_m) ** 2)
    return float((x[ok] - half).min()), float((x[ok] + half).max())


@pytest.mark.parametrize("speed_m_s", [6.5, 8.0])
def test_two_known_balls_are_reached_between_two_circles(speed_m_s: float) -> None:
    """Half of the balls go to each side, without error: the plateau is where circles overlap."""
    legs = Legs(top_speed_m_s=speed_m_s, two_handed_backhand=False)
    exact = Hitter(direction_sd_deg=0.0, depth_sd_m=0.0)
    me = Player("two balls", legs, exact)
    shots = [(-3.0, 9.0, 30.0, 1500.0), (3.4, 8.0, 30.0, 1500.0)]
    scene = asked(me, {"name": "script", "shots": shots})
    game, n, line_m = scene.game, 40, HALF_LENGTH_M + scene.depth_m
    contact = opening_contact(scene.place, game.opponent, n)
    nobody = np.zeros(n, [(name, "f8") for name in ("x_m", "y_m", "vx_m_s", "vy_m_s")])
    balls, paths = strike_balls(game, OPPONENT, contact, nobody, np.arange(n), 0)
    first = [int(np.flatnonzero(balls["landing_x_m"] * side > 0)[0]) for side in (-1, 1)]
    left, right = (reachable(paths[i, : balls["points"][i]], legs, line_m) for i in first)
    low, high = right[0], left[1]
    assert low < high - 0.3  # there are places from which both are reached
    question = FootspeedQuestion(scene, TOP_SPEED)
    x = question.x_m
    counts = question.met(legs, x)
    best = best_place(x, counts, "missed", resample_weights(1))
    assert best.low_m == pytest.approx(low, abs=STEP_X_M)
    assert best.high_m == pytest.approx(high, abs=STEP_X_M)
    inside = (x > low + 0.01) & (x < high - 0.01)
    rate = counts.rate("missed")
    assert (rate[inside] == 0).all() and (rate[(x < low - 0.01) | (x > high + 0.01)] > 0.4).all()


def test_the_curve_is_that_of_the_spot_command() -> None:
    scene = asked()
    row = found().today
    spot = find_spot(scene, [make_policy("middle"), make_policy("bisector")])
    ends = row.best["missed"].low_m, row.best["missed"].high_m
    assert ends == pytest.approx((spot.best.low_m, spot.best.high_m), abs=STEP_X_M)
    assert row.places[:2, 0] == pytest.approx([p.x_m for p in spot.policies])


def test_a_hitter_who_looks_is_met_as_the_spot_command_meets_him() -> None:
    question = FootspeedQuestion(asked(hitter="open-court", balls=1000), TOP_SPEED)
    scene, x = question.scene, np.array([0.0, -1.5])
    counts = question.met(scene.player.legs, x)
    known = counted(scene, on_the_line(x, scene.line_m), 1000)
    assert 1.0 - counts.rate("missed") == pytest.approx(known.in_time)
    assert len(question.x_m) < len(FootspeedQuestion(asked(), TOP_SPEED).x_m)


# --- estimates --------------------------------------------------------------------------------


def test_resamples_spread_as_a_share_does() -> None:
    """The standard error of a share, sqrt(p (1 - p) / n), from the resampled balls."""
    row = found().today
    weights = found().weights
    assert (weights.sum(axis=1) == BATCHES).all()
    middle = row.counts.at([0])
    spread = rates_of(middle, "missed", weights)[:, 0].std(ddof=1)
    share, n = middle.rate("missed")[0], middle.landed.sum()
    assert spread == pytest.approx(np.sqrt(share * (1 - share) / n), rel=0.25)


def test_shares_have_the_exact_interval() -> None:
    row = found().today
    count, n = (int(v[:, 0].sum()) for v in (row.counts.missed, row.counts.landed))
    known = stats.binomtest(count, n).proportion_ci(method="exact")
    lost = row.lost("middle")
    assert (lost.value, lost.n) == (pytest.approx(100 * count / n), n)
    # Batches tell the same spread as balls up to their own luck.
    assert lost.high - lost.low == pytest.approx(100 * (known.high - known.low), rel=0.2)


def test_differences_are_paired_over_the_same_balls() -> None:
    today, faster = found().today, found().shifted(0.5)
    assert faster is not None
    same = difference(today, "middle", today, "middle")
    assert (same.value, same.low, same.high) == (0.0, 0.0, 0.0)
    saved = difference(today, "middle", faster, "middle")
    apart = np.hypot(today.lost("middle").se, faster.lost("middle").se)
    assert saved.low > 0.0 and saved.se < 0.8 * apart


def test_legs_that_miss_nothing_from_two_places_are_not_known_to_differ_by_nothing() -> None:
    """None missed of 2000 from either: 0.0 (0.0 to 0.0) is said of a place and itself alone."""
    legs = Legs(top_speed_m_s=500.0, tau_s=0.01, reaction_s=0.0)
    question = asked(dataclasses.replace(player("college-man"), legs=legs))
    row = footspeed_of(FootspeedQuestion(question, TOP_SPEED)).today
    loss = row.loss("middle")
    landed = row.counts.landed[:, 0].sum()
    assert (loss.value, loss.low) == (0.0, 0.0)
    assert loss.high == pytest.approx(271.6 / landed, rel=0.02)
    assert (said(loss), said(row.lost("middle"))) == ("0.0 (0.0 to 0.2)", "0.0 (0.0 to 0.2)")
    assert row.lost("middle").high == pytest.approx(369 / landed, rel=0.01)
    assert difference(row, "middle", row, "bisector").high > 0.0


def test_nothing_in_the_table_is_better_than_the_best_place() -> None:
    for row in found().rows:
        for measure in MEASURES:
            best = row.lost("best", measure).value
            assert all(row.lost(stand, measure).value >= best for stand in ("middle", "bisector"))
            assert row.loss("middle", measure).value == pytest.approx(
                row.lost("middle", measure).value - best
            )


def test_what_the_best_place_is_worth_in_speed() -> None:
    more, rate = np.array([0.0, 0.5, 1.0]), np.array([0.06, 0.04, 0.01])
    assert _reached(more, rate, 0.025) == pytest.approx(0.75)
    assert _reached(more, rate, 0.06) == 0.0
    assert _reached(more, rate, 0.005) == np.inf
    with pytest.raises(ValueError, match="only speed"):
        found("together").worth()


def test_the_same_seed_gives_the_same_answer_however_it_is_cut(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    question = FootspeedQuestion(asked(balls=1000), TOGETHER)
    before = footspeed_json([footspeed_of(question)])
    monkeypatch.setattr(struck, "CHUNK", 35)
    assert footspeed_json([footspeed_of(question)]) == before
    other = FootspeedQuestion(asked(balls=1000, seed=8), TOGETHER)
    assert footspeed_json([footspeed_of(other)]) != before


def test_balls_out_of_range_are_refused() -> None:
    with pytest.raises(InputError, match="balls is 500; allowed: 1000 to"):
        FootspeedQuestion(asked(balls=500), TOP_SPEED)


# --- words and pictures -----------------------------------------------------------------------


def test_sentences_answer_both_questions() -> None:
    said = " ".join(sentences(found()))
    for words in ("Half a metre a second slower (7.00 m/s)", "With your legs (7.50 m/s)"):
        assert words in said
    saved = found().today.loss("middle")
    assert (
        f"today's legs misses {saved.value:.1f} ({saved.low:.1f} to {saved.high:.1f}) fewer" in said
    )
    tied = any(is_as_good(row.loss("middle")) for row in found().rows)
    assert ("For none of these legs" in said) == (not tied)


def test_the_picture_shows_the_numbers_with_faster_to_the_right() -> None:
    figure = footspeed_figure([found()])
    spot, lost = figure.axes
    rows = found().rows
    line = next(a for a in lost.containers if a.get_label() == "middle").lines[0]
    np.testing.assert_allclose(line.get_ydata(), [r.lost("middle").value for r in rows])
    np.testing.assert_allclose(line.get_xdata(), [r.value for r in rows])
    bands = {c.get_gid(): c for c in spot.collections if c.get_gid()}
    assert {"half a ball", "one ball"} <= set(bands)
    ends = bands["half a ball"].get_paths()[0].get_extents()
    assert ends.ymin == pytest.approx(min(r.best["missed"].low_m for r in rows))
    assert "m/s" in spot.get_xlabel() and "m from" in spot.get_ylabel()
    slow = footspeed_figure([footspeed_of(FootspeedQuestion(asked(balls=1000), ACCELERATION))])
    assert slow.axes[0].xaxis_inverted()


def test_small_multiples_have_one_scale() -> None:
    pair = [
        found(),
        footspeed_of(FootspeedQuestion(asked(player("club-adult")), TOP_SPEED)),
    ]
    figure = multiples_figure(pair)
    assert len(figure.axes) == 4
    assert figure.axes[0].get_ylim() == figure.axes[1].get_ylim()
    titles = [ax.get_title(loc="left") for ax in figure.axes[:2]]
    assert titles == ["college-man\nhard", "club-adult\nhard"]


def test_a_long_name_of_a_person_stays_inside_the_picture() -> None:
    me = dataclasses.replace(found().question.scene.player, name="M\u00fcller <script> " * 6)
    scene = dataclasses.replace(found().question.scene, player=me)
    question = dataclasses.replace(found().question, scene=scene)
    figure = footspeed_figure([dataclasses.replace(found(), question=question)])
    figure.draw_without_rendering()
    box = figure.legends[0].get_window_extent()
    assert box.x1 <= figure.bbox.width and box.y1 <= figure.bbox.height


def test_the_command_says_and_draws(tmp_path: Path) -> None:
    figure = tmp_path / "legs.png"
    words = ["footspeed", "--balls", "1000", "--seed", "3", "--quiet"]
    told = CliRunner().invoke(main, [*words, "--vary", "reaction", "--figure", str(figure)])
    assert told.exit_code == 0 and figure.exists()
    assert "stop on pain" in told.output and "reaction time" in told.output
    numbers = json.loads(CliRunner().invoke(main, [*words, "--vary", "all", "--json"]).output)
    assert set(numbers["varied"]) == set(VARIED)
    rows = numbers["varied"]["reach"]["rows"]
    assert all(r["missed"]["lost_per_100"]["middle"]["low"] is not None for r in rows)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--levels", "club-adult", "--opponent-player", "college-man"], "leave out"),
        (["--surfaces", "hard,clay", "--vary", "all"], "vary one thing"),
        (["--figure", "a.txt"], "a.txt"),
    ],
)
def test_options_that_exclude_each_other(words: list[str], says: str) -> None:
    told = CliRunner().invoke(main, ["footspeed", *words])
    assert told.exit_code == 2 and says in told.output


def test_a_measured_player_varies_about_the_measured_legs(tmp_path: Path) -> None:
    file = tmp_path / "me.toml"
    sprint = ["--sprint", "10:2.10", "--sprint", "20:3.60", "--level", "club-adult"]
    assert CliRunner().invoke(main, ["player", str(file), *sprint]).exit_code == 0
    me = player_of(str(file))
    values = values_of(TOP_SPEED, me)
    assert me.legs.top_speed_m_s in values and np.ptp(values) == pytest.approx(2.0)
    # The bundle runs over the level's range, not over what the measurement leaves open.
    assert legs_with(TOGETHER, me, -1.0).tau_s >= 1.1
    words = ["footspeed", "--player", str(file), "--balls", "1000", "--seed", "1", "--quiet"]
    told = CliRunner().invoke(main, words)
    assert told.exit_code == 0 and f"yours {me.legs.top_speed_m_s:.2f}" in told.output
