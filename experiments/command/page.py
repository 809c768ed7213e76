"""The command `rally-recovery page`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from pathlib import Path

import click

from experiments.command.ask import Asked, Said, asks
from experiments.command.options import Target, language_option, shown
from experiments.output.files import require_ours
from experiments.page import PAGE

SUFFIX = ".html"  # without it a phone shows the letters of a page


def _checked(path: Path) -> None:
    """Refuse a name that is no page's, or a place that is taken."""
    if path.suffix.lower() != SUFFIX:
        from sim.errors import InputError

        raise InputError(
            f"cannot write the page to {str(path)!r}: give a name that ends in {SUFFIX}"
        )
    require_ours(path, "page")


out_option = shown(
    "--out",
    type=Target(_checked),
    default=Path(PAGE),
    help="The page: one HTML file.",
)


@asks(saves=(out_option,))
@click.option(
    "--player",
    "players",
    multiple=True,
    help="Also a player file that `rally-recovery player` wrote; may be given more than once.",
)
@language_option
@click.option("--texts", "file", type=click.Path(path_type=Path), help="Your own words, as TOML.")
@click.option("--texts-template", is_flag=True, help="Only print all texts, to begin with.")
def page(
    asked: Asked,
    players: tuple[str, ...],
    language: str,
    file: Path | None,
    texts_template: bool,
) -> Said:
    """One file for a phone: where to wait, computed on the spot, without a network."""
    from experiments.page.texts import template

    if texts_template:
        return Said(template(language).removesuffix("\n"))
    from experiments.page.build import page_html, write_page

    html = page_html(players, file, language)

    def write(path: Path) -> None:
        write_page(path, html)

    text = (
        "Open the page on a phone, tablet or computer; it needs no network and no Python.\n"
        "What it says are results of a model, not of matches."
    )
    return Said(text, more={"out": ("Page", write)})
