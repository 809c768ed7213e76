"""The command `rally-recovery handout`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from experiments.command.options import (
    Target,
    answer,
    depth_option,
    height_option,
    hitter_option,
    opponent_option,
    players_options,
    seed_option,
    surface_option,
)
from experiments.output.files import require_picture_suffix
from experiments.output.terminal import say
from experiments.scene.defaults import BALLS

SHOWN_FROM = 40_000  # balls or rallies; below, a run takes seconds


@click.command()
@opponent_option
@height_option
@players_options
@surface_option
@depth_option
@hitter_option
@click.option(
    "--balls",
    type=int,
    default=BALLS,
    show_default=True,
    help="To choose each cone, and as many to measure it.",
)
@click.option("--rallies", type=int, default=4000, show_default=True)
@seed_option
@click.option(
    "--out",
    type=Target(require_picture_suffix),
    default=Path("handout.pdf"),
    show_default=True,
    help="The page: .pdf, .png or .svg.",
)
@click.option("--paper", default="a4", show_default=True, help="a4 or letter.")
@click.option("--title", help="In place of the page's own.")
@click.option("--name", default="", help="Whom the page is for.")
@click.option("--club", default="")
@click.option("--texts", "file", type=click.Path(path_type=Path), help="Your own words, as TOML.")
@click.option("--texts-template", is_flag=True, help="Only print all texts, to begin with.")
@click.option("--wordless", is_flag=True, help="Numbers and symbols in place of words.")
def handout(
    opponent: tuple[float, float],
    height: float,
    surface: str,
    depth: float | None,
    hitter: str,
    balls: int,
    rallies: int,
    seed: int | None,
    out: Path,
    paper: str,
    title: str | None,
    name: str,
    club: str,
    file: Path | None,
    texts_template: bool,
    wordless: bool,
    **names: Any,
) -> None:
    """One page for a player: a picture, three findings and a plan to practise with cones."""
    from experiments.answers.handout.texts import template, texts_of

    if texts_template:
        say(template(), end="")
        return
    from experiments.answers.handout.answer import PARTS, HandoutQuestion, measure_handout
    from experiments.answers.handout.frames import require_paper
    from experiments.answers.handout.picture import handout_figure
    from experiments.answers.handout.words import one_line, page_of, page_text
    from experiments.answers.spot.question import waiting_depth_m
    from experiments.drawing.style import save
    from experiments.drawing.text_boxes import require_letters
    from experiments.output.progress import progress_of
    from experiments.scene.own_code import shot_model_of
    from experiments.scene.people import players_of, world_of
    from sim.chance import fresh_seed
    from sim.exchange import Place
    from sim.world import TABULATED

    paper = require_paper(paper)
    for what, text in (("title", title or ""), ("name", name), ("club", club)):
        require_letters(one_line(what, text))
    me, other = players_of(**names)
    model = shot_model_of(hitter)
    texts = texts_of(file, wordless, {me.name, other.name, model.name, surface})
    question = HandoutQuestion(
        place=Place("opponent's contact", *opponent, height),
        player=me,
        opponent=other,
        world=world_of(surface, flight=TABULATED),
        hitter=model,
        depth_m=waiting_depth_m(me, surface) if depth is None else depth,
        balls=balls,
        rallies=rallies,
        seed=fresh_seed() if seed is None else seed,
    )
    progress = progress_of(PARTS, 0, shown=max(balls, rallies) >= SHOWN_FROM)
    found = measure_handout(question, progress.update)
    progress.close()
    page, english = page_of(found, texts, title, name, club), texts_of(None, wordless=False)

    def draw(path: Path) -> None:
        save(handout_figure(found, page, paper), path)

    text = page_text(page_of(found, english), with_cautions=wordless)
    answer(text, out, draw, "\nPage")
