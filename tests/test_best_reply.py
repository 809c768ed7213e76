"""The hitter who plays the best reply."""

from __future__ import annotations

import numpy as np
import pytest

from sim.contracts import ShotSituation, bodies_at, contacts_at
from sim.errors import InputError
from sim.players import player
from sim.records import FOREHAND
from sim.world import TABULATED, World
from strategies.catalogue import make_policy, make_shot_model
from strategies.recovery.place_losses import earned_at
from strategies.shots.best_reply import STYLES, BestReply

PLAYER = player("college-man")


def struck(receiver_x_m: list[float], velocity_m_s: float = 0.0) -> ShotSituation:
    n = len(receiver_x_m)
    receiver = bodies_at(np.array(receiver_x_m), np.full(n, 13.0))
    receiver["vx_m_s"] = velocity_m_s
    contact = contacts_at(np.full(n, 3.0), np.full(n, -11.9), np.ones(n), np.full(n, FOREHAND))
    return ShotSituation(PLAYER, PLAYER, World(flight=TABULATED).numbers, contact, receiver)


def test_plays_away_from_a_receiver_who_stands_far_over() -> None:
    seen = struck([-3.0, 3.0])
    target = BestReply().intents(seen, np.zeros((2, 0)))["target_x_m"]
    assert target[0] > 1.0 and target[1] < -1.0


def test_the_shot_played_earns_the_most_of_all() -> None:
    seen, reply = struck([-2.0, 0.0, 1.5]), BestReply()
    earned = earned_at(seen, STYLES, reply.standing_x_m(seen))
    assert earned.shape == (3, 36) and (np.abs(earned) <= 1.0).all()
    best = earned.argmax(axis=1)
    intents = reply.intents(seen, np.zeros((3, 0)))
    for row, choice in enumerate(best):
        style, direction = divmod(int(choice), 4)
        alone = STYLES[style].aimed(seen, np.full(3, direction), np.zeros((3, 4)))
        assert intents[row] == alone[row]


def test_a_hitter_who_errs_more_keeps_more_margin() -> None:
    seen = struck([-3.0])
    shaky = player("club-adult")
    other = ShotSituation(shaky, shaky, seen.world, seen.contact, seen.receiver)
    sure = BestReply().intents(seen, np.zeros((1, 0)))["target_x_m"][0]
    unsure = BestReply().intents(other, np.zeros((1, 0)))["target_x_m"][0]
    assert abs(unsure) < abs(sure)


def test_a_run_to_the_spot_of_the_policy_ends_there() -> None:
    runner = struck([-1.0, -1.0], 4.0)
    np.testing.assert_allclose(BestReply("middle").standing_x_m(runner), 0.0, atol=1e-12)
    away = struck([-1.0], -2.0)
    np.testing.assert_allclose(BestReply("middle").standing_x_m(away), -1.8)


def test_knows_the_policy_it_is_given() -> None:
    words = BestReply("guard+worst_share=0.5")
    assert words.studied == make_policy("guard,worst_share=0.5")
    assert words.name == "best-reply policy=guard+worst_share=0.5"
    assert BestReply(make_policy("bisector")).name == "best-reply to bisector"
    with pytest.raises(InputError, match="midle"):
        make_shot_model("best-reply,policy=midle")
