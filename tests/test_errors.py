"""Messages for names that are not in a catalogue."""

from __future__ import annotations

from sim.errors import InputError, unknown_name


def test_message_names_the_nearest_and_all_valid_names() -> None:
    error = unknown_name("surface", "hrad", ["hard", "clay"])
    assert isinstance(error, InputError)
    assert str(error) == "unknown surface 'hrad'. Did you mean 'hard'? Valid: clay, hard."


def test_no_hint_where_nothing_is_near() -> None:
    assert str(unknown_name("ball", "zzzz", ["slow"])) == "unknown ball 'zzzz'. Valid: slow."
