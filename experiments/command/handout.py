"""The command `rally-recovery handout`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from pathlib import Path

import click

from experiments.command.ask import Asked, Said, asks
from experiments.command.options import (
    SCENE,
    Target,
    language_option,
    seed_option,
    shown,
    units_option,
)
from experiments.output.files import require_picture_suffix
from experiments.scene.defaults import BALLS
from experiments.scene.own_texts import ENGLISH

SHOWN_FROM = 40_000  # balls or rallies; below, a run takes seconds
balls_option = shown(
    "--balls", default=BALLS, help="To choose each cone, and as many to measure it."
)
out_option = shown(
    "--out",
    type=Target(require_picture_suffix),
    default=Path("handout.pdf"),
    help="The page: .pdf, .png or .svg.",
)


@asks(*SCENE, balls_option, seed_option, saves=(out_option, units_option))
@shown("--rallies", default=4000)
@shown("--paper", default="a4", help="a4 or letter.")
@click.option("--title", help="In place of the page's own.")
@click.option("--name", default="", help="Whom the page is for.")
@click.option("--club", default="")
@language_option
@click.option("--texts", "file", type=click.Path(path_type=Path), help="Your own words, as TOML.")
@click.option("--texts-template", is_flag=True, help="Only print all texts, to begin with.")
@click.option("--board", is_flag=True, help="A sheet for a notice board in place of the page.")
@click.option("--wordless", is_flag=True, help="Numbers and symbols in place of words.")
def handout(
    asked: Asked,
    rallies: int,
    paper: str,
    title: str | None,
    name: str,
    club: str,
    language: str,
    file: Path | None,
    texts_template: bool,
    board: bool,
    wordless: bool,
) -> Said:
    """One page for a player: a picture, three findings and a plan to practise with cones."""
    from experiments.answers.handout.texts import template, texts_of
    from sim.errors import InputError

    if wordless and language != ENGLISH:
        raise InputError("--wordless has no words in any language; leave out --language")
    if texts_template:
        return Said(template(language).removesuffix("\n"))
    from experiments.answers.handout.answer import PARTS, HandoutQuestion, measure_handout
    from experiments.answers.handout.board import board_figure, board_of, board_text
    from experiments.answers.handout.picture import handout_figure
    from experiments.answers.handout.words import one_line, page_of, page_text
    from experiments.answers.handout.worth import follow
    from experiments.drawing.sheet import require_paper
    from experiments.drawing.style import save
    from experiments.drawing.text_boxes import require_letters

    paper = require_paper(paper)
    for what, text in (("title", title or ""), ("name", name), ("club", club)):
        require_letters(one_line(what, text))
    question = HandoutQuestion(asked.scene(), rallies)
    scene = question.scene
    called = {scene.player.name, scene.opponent.name, scene.hitter.name, scene.world.surface.name}
    texts, english = texts_of(file, wordless, called, language), texts_of(None, wordless=False)
    with asked.progress(PARTS + board, max(scene.balls, rallies) >= SHOWN_FROM) as done:
        found = measure_handout(question, done)
        followed = follow(found, done) if board else None
    files = made_from(asked, file)
    if followed is None:
        page = page_of(found, texts, title, name, club)
        text = page_text(page_of(found, english), with_cautions=wordless)
    else:
        sheet = board_of(followed, texts, files, title, name, club)
        text = board_text(board_of(followed, english, files), wordless)

    def draw(path: Path) -> None:
        figure = board_figure(found, sheet, paper) if board else handout_figure(found, page, paper)
        save(figure, path)

    return Said(text, more={"out": ("Page", draw)})


def made_from(asked: Asked, texts: Path | None) -> list[str]:
    """The names of the files that a sheet was made from: players' and a file of texts."""
    from experiments.scene.player_file import is_player_file

    people = [asked.values["player"], asked.values["opponent_player"]]
    files = [Path(who).name for who in people if who is not None and is_player_file(who)]
    return files + ([texts.name] if texts is not None else [])
