"""The claims that README makes: each with the stored folder that it rests on and how to get that.

A value is read from the folder's tables; nothing here is a number.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from experiments.claims.tables import ALL, RALLY
from experiments.claims.values import (
    Value,
    best_shades,
    counts,
    lost,
    most_moving,
    of_cell,
    of_draws,
    of_point,
    over_points,
    turned,
)
from sim.errors import InputError

MISSED, MORE = "missed_per_100", "points_more_than_middle_per_100"
FEWER = "missed_fewer_than_middle_per_100"
CORNER = "corner"
COLLEGE, CLUB, PROFESSIONAL = "college-man", "club-adult", "professional-man"


@dataclass(frozen=True)
class Claim:
    """One claim: its words, the folder in results/, its value and the command that makes that.

    `value` gets the folder and returns the number with its interval as a text. Without a command of
    its own, the folder is a study's and is played again, to the byte, from its resolved study.
    """

    words: str
    folder: str
    value: Value
    made_by: str = ""

    @property
    def command(self) -> str:
        """The command that makes the folder."""
        return self.made_by or f"rally-recovery study results/{self.folder}/study.toml --out again"


CORNER_SCENE = {"level": COLLEGE, "opponent": "habit", "place": CORNER}
SPEED = "studied legs.top_speed_m_s"
DEMO_SHOTS, DEMO_POLICY = "charted", "best-for-belief chart=demo"
CLAIMS: tuple[Claim, ...] = (
    Claim(
        "missed of 100 balls by college men, habit, first ball from the corner: to the middle",
        "main",
        of_cell(COLLEGE, "habit", CORNER, "middle", MISSED),
    ),
    Claim(
        "the same, going to the bisector",
        "main",
        of_cell(COLLEGE, "habit", CORNER, "bisector", MISSED),
    ),
    Claim(
        "points in 100 rallies that the bisector wins more there",
        "main",
        of_cell(COLLEGE, "habit", CORNER, "bisector", MORE),
    ),
    Claim(
        "the same for club players",
        "main",
        of_cell(CLUB, "habit", CORNER, "bisector", MORE),
    ),
    Claim(
        "the bisector against the middle in all cells, by points",
        "main",
        counts("bisector", MORE),
    ),
    Claim(
        "the same by balls missed",
        "main",
        counts("bisector", FEWER),
    ),
    Claim(
        "best shade (m/m) against the hitter who seeks the open court",
        "main",
        best_shades("open-court"),
    ),
    Claim(
        "best shade against fixed habits",
        "main",
        best_shades("habit"),
    ),
    Claim(
        "too far over: shade 0.6, professional men, open-court, all places: points more",
        "main",
        of_cell(PROFESSIONAL, "open-court", ALL, "linear-shade 0.60", MORE),
    ),
    Claim(
        "points more by the bisector, corner, habit, college legs 1 m/s slower (6.5)",
        "footspeed",
        of_point("bisector", MORE, {**CORNER_SCENE, SPEED: 6.5}),
    ),
    Claim(
        "the same, 1 m/s faster (8.5)",
        "footspeed",
        of_point("bisector", MORE, {**CORNER_SCENE, SPEED: 8.5}),
    ),
    Claim(
        "one ball, standing at the spot: missed in 100 from the bisector with legs of 6.5 m/s",
        "footspeed",
        of_point("bisector", MISSED, {**CORNER_SCENE, "setting": "placed", SPEED: 6.5}),
    ),
    Claim(
        "the same from the middle with legs of 8.5 m/s",
        "footspeed",
        of_point("middle", MISSED, {**CORNER_SCENE, "setting": "placed", SPEED: 8.5}),
    ),
    Claim(
        "points more over all legs tried (three levels, three opponents, corner)",
        "footspeed",
        over_points("bisector", MORE),
    ),
    Claim(
        "points more by the bisector of drives that land in 9 times in 10, corner, habit, college",
        "angle",
        of_cell(COLLEGE, "habit", CORNER, "bisector least_in=0.9", MORE),
    ),
    Claim(
        "the same of drives that land no nearer to the net than 6 m, no error counted",
        "angle",
        of_cell(COLLEGE, "habit", CORNER, "bisector nearest_landing_m=6", MORE),
    ),
    Claim(
        "points more on clay, hard and grass, at 0 and 1600 m, at 10 and 35 degrees",
        "surfaces",
        over_points("bisector", MORE),
    ),
    Claim(
        "points more with each assumption at both ends of its range",
        "one-at-a-time",
        over_points("bisector", MORE),
    ),
    Claim(
        "points more over draws of all assumptions together",
        "sensitivity",
        of_draws(MORE),
    ),
    Claim(
        "what moves the points most (share of the variance, interplay included)",
        "sensitivity",
        most_moving(MORE),
    ),
    Claim(
        "over contact place, footspeed, ball speed and opponent: points in rallies",
        "turning",
        turned(RALLY, MORE),
    ),
    Claim(
        "the same: balls missed on the way back from an own stroke",
        "turning",
        turned("recovery", FEWER),
    ),
    Claim(
        "points more by knowing the charted player's habits, college men, corner",
        "coach-chart",
        of_cell(COLLEGE, DEMO_SHOTS, CORNER, DEMO_POLICY, MORE),
    ),
    Claim(
        "by the bisector there",
        "coach-chart",
        of_cell(COLLEGE, DEMO_SHOTS, CORNER, "bisector", MORE),
    ),
    Claim(
        "balls in 100 lost to the best reply from the bisector, more than from the best place",
        "against-whom",
        lost("bisector", "best-reply", CORNER),
        "rally-recovery opponents --player college-man --seed 3 --out again",
    ),
)


def claims_table(results: Path) -> str:
    """All claims as a table: claim, value with its 95 % interval, folder, command.

    Raises:
        InputError: a folder is missing or holds no such number.
    """
    lines = ["| claim | value (95 % interval) | folder | made by |", "|---|---|---|---|"]
    for claim in CLAIMS:
        folder = results / claim.folder
        if not folder.exists():
            raise InputError(f"{str(folder)!r} does not exist; make it by: {claim.command}")
        lines.append(
            f"| {claim.words} | {claim.value(folder)} | [{claim.folder}](results/{claim.folder}) |"
            f" `{claim.command}` |"
        )
    return "\n".join(lines)
