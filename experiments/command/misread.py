"""The command `rally-recovery misread`. Heavy libraries are imported only where needed."""

from __future__ import annotations

from typing import Any

from experiments.command import options
from experiments.command.ask import Asked, Said, asks

TAKEN_FOR = "habit,pressing,open-court,down-the-line,weaker-wing"


@asks(
    *options.SCENE,
    options.shown("--balls", default=8000, help="To find each best place; as many judge it."),
    options.seed_option,
    saves=(
        *(options.figure_option, options.csv_option, options.quiet_option),
        options.json_option,
    ),
)
@options.shown("--policy", default="bisector", help="Judged beside the best place, and in rallies.")
@options.shown("--taken-for", default=TAKEN_FOR, help="Hitters that yours is taken for, by comma.")
@options.shown("--rallies", default=3000, help="For each spread of your recoveries.")
@options.levels_option
def misread(asked: Asked, policy: str, taken_for: str, rallies: int, levels: str | None) -> Said:
    """What a spot is worth if you misjudge your opponent or yourself.

    The contact, the opponent's habits, your own speed or reaction, believed wrong by so much: what
    it costs, how large an error half a ball in 100 allows, and how exact you must stand.
    """
    import pandas as pd

    from experiments.answers.misread.answer import MisreadQuestion, misread_of, steps_of
    from experiments.answers.misread.words import misread_json, misread_text, rows_of
    from experiments.scene.own_code import policy_of, shot_model_of
    from sim.errors import InputError

    if levels is not None and asked.values["opponent_player"] is not None:
        raise InputError("--levels sets each level against its like; leave out --opponent-player")
    recovery, seed = policy_of(policy), asked.seed
    hitters = [shot_model_of(name) for name in options.listed("--taken-for", taken_for)]
    questions = [
        MisreadQuestion(asked.scene(player=name, seed=seed), recovery, hitters, rallies)
        for name in options.listed("--levels", levels) or [asked.values["player"]]
    ]
    with asked.progress(sum(map(steps_of, questions))) as done:
        found = [misread_of(question, done) for question in questions]

    def figure() -> Any:
        from experiments.answers.misread.picture import misread_figure

        return misread_figure(found)

    def numbers() -> Any:
        return misread_json(found[0]) if levels is None else [misread_json(one) for one in found]

    return Said(
        "\n\n".join(misread_text(one) for one in found),
        numbers,
        figure,
        lambda: pd.DataFrame([row for one in found for row in rows_of(one)]),
    )
