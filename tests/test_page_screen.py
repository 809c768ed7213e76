"""The offline page in a browser without a network: what it shows is what the commands say."""

from __future__ import annotations

import dataclasses
import html
import json
import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import numpy as np
import pytest
from click.testing import CliRunner
from page_browser import DESKTOP, PHONE, TABLET, Opened, a_browser, opened
from test_page import MIA, shared, some_cases

from experiments import page as page_package
from experiments.answers.spot.answer import find_spot
from experiments.answers.spot.words import spot_json
from experiments.balls.spots import with_own
from experiments.command.main import main
from experiments.output.numbers import plain
from experiments.page import build
from experiments.page import facts as facts_module
from experiments.page.build import MOST_BYTES, SCREEN, page_html, write_page
from experiments.page.facts import facts
from experiments.page.script import module_order
from experiments.page.texts import page_texts
from experiments.scene.player_file import read_player_file
from experiments.scene.rule_words import rule_for
from experiments.scene.scene import scene_of
from experiments.scene.sides import side, steps
from experiments.statistics.tally import Tally, replicate_table
from experiments.statistics.words import said
from experiments.study.cells import estimates
from experiments.study.setting_table import SETTINGS
from experiments.study.settings import strokes_of
from sim.errors import InputError
from sim.exchange import Place, with_policy
from sim.native.load import is_fresh
from sim.players import PLAYERS
from strategies.catalogue import SHOT_MODELS
from strategies.charts.reading import read_chart
from strategies.learned.reading import read_learning
from strategies.recovery.middle import Middle

CASES = int(os.environ.get("RALLY_RECOVERY_PAGE_CASES", "24"))  # 300: once before a release
HOSTILE = "<img src=x onerror=alert(1)>&\"'"
QUICK = "balls=100&seed=3"  # of an address whose answer comes soon
FULL = """
Object.defineProperty(Storage.prototype, "setItem", { value() {
  throw new DOMException("full", "QuotaExceededError");
} });
"""
FORBIDDEN = """
Object.defineProperty(window, "localStorage", { get() {
  throw new DOMException("not allowed", "SecurityError");
} });
"""
OLD = [{"contact_x_m": 3.0, "contact_y_m": 12.0, "outcome": "net"}]
SECTIONS = ("who", "whom", "place", "own", "fan", "see", "ways", "rule", "chart", "take")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    if not (is_fresh("sim") and is_fresh("strategies")):
        pytest.skip("the shipped kernels are of another version of the source")
    with a_browser() as started:
        yield started


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page with a player of one's own whose name would run a script."""
    folder = tmp_path_factory.mktemp("page")
    (folder / "mia.toml").write_text(MIA, encoding="utf-8")
    odd = MIA.replace('"Mia"', json.dumps(HOSTILE))
    (folder / "odd.toml").write_text(odd, encoding="utf-8")
    own = [str(folder / name) for name in ("mia.toml", "odd.toml")]
    return write_page(folder / "page.html", page_html(own))


@pytest.fixture(scope="module")
def general(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page for all levels, by its command."""
    path = tmp_path_factory.mktemp("general") / "where.html"
    done = CliRunner().invoke(main, ["page", "--out", str(path)])
    assert done.exit_code == 0 and str(path) in done.output
    return path


def address(case: dict[str, Any]) -> str:
    """A case of `some_cases` as the page's address."""
    place = (*case["opponent"], case["height"])
    parts = {
        "at": ",".join(np.format_float_positional(value, trim="-") for value in place),
        "who": case["player"],
        "hand": case["hand"],
        "against": case["opponent_player"],
        "their-hand": case["opponent_hand"],
        "hits": case["hitter"],
        "on": case["surface"],
        "balls": case["balls"],
        "seed": case["seed"],
    }
    if case["depth"] is not None:
        parts["depth"] = np.format_float_positional(case["depth"], trim="-")
    return "&".join(f"{key}={value}" for key, value in parts.items())


def numbers(one: Opened) -> dict[str, Any]:
    """All numbers of the answer."""
    one.fold_out("ways", "numbers")
    one.page.locator("#numbers-text", has_text="{").wait_for()
    return dict(json.loads(one.text("numbers-text")))


def missed_when_placed(case: dict[str, Any]) -> str:
    """Balls missed of 100 from the middle, as the setting *placed* of studies has them."""
    scene = scene_of(**case)
    replicates = np.arange(scene.balls)
    game = with_policy(scene.game, Middle())
    strokes = strokes_of(game, SETTINGS["placed"], scene.place, replicates)
    table = replicate_table(strokes, replicates, points=False)
    return said(estimates(Tally.of(table, table), scene.place.x_m, False, None)["missed_per_100"])


def test_numbers_are_those_of_the_command(browser: Any, general: Path) -> None:
    """Random cases over all hitters that need no chart, levels, surfaces and hands; to the last
    digit, and as they are said. Balls of the moving picture are those of a placed cell."""
    hitters = [name for name in SHOT_MODELS if name != "charted"]
    compared = 0
    with opened(browser, general, QUICK, DESKTOP, reduced_motion="reduce") as one:
        one.fold_out("see")
        for case in some_cases(CASES, 31, hitters):
            one.ask(address(case))
            try:
                result = find_spot(scene_of(**case), with_own())
            except InputError as error:
                assert str(error) in one.text("advice")
                continue
            mine, its = shared(plain(spot_json(result), None), numbers(one))
            assert its == mine, case
            best, middle = result.best, result.policies[0]
            assert steps(best.x_m) in one.text("advice") or abs(best.x_m) < 0.05
            ends = [side(x) for x in (best.low_m, best.high_m)]
            if ends[0][-5:] == ends[1][-5:]:  # 3.0 to 2.4 m left
                ends[0] = ends[0].split()[0]
            assert " to ".join(ends) in one.text("sure")
            assert said(middle.missed_per_100) in one.text("costs")
            whole = one.page.locator("#see-whole", has_text="balls that land in")
            whole.wait_for(timeout=60_000)
            assert f"{missed_when_placed(case)} missed of 100 from the middle" in (
                one.text("see-whole")
            ), case
            compared += 1
    assert compared > 0.8 * CASES


def test_a_player_of_ones_own_and_other_speeds(browser: Any, file: Path) -> None:
    case = some_cases(1, 32, ["pressing"])[0] | {"player": str(file.parent / "mia.toml")}
    case |= {"hand": None, "opponent_player": None, "height": 1.0}
    scene = scene_of(**case)
    legs = dataclasses.replace(scene.player.legs, top_speed_m_s=5.0)
    wings = ("forehand_speed_m_s", "backhand_speed_m_s")
    harder = {wing: getattr(scene.opponent.hitter, wing) * 1.2 for wing in wings}
    hitter = dataclasses.replace(scene.opponent.hitter, **harder)
    changed = dataclasses.replace(
        scene,
        player=dataclasses.replace(scene.player, legs=legs),
        opponent=dataclasses.replace(scene.opponent, hitter=hitter),
    )
    parts = address(case | {"player": "Mia"}).split("&")
    asked = "&".join(part for part in parts if "=None" not in part)
    with opened(browser, file, f"{asked}&speed=5&pace=1.2") as one:
        said_, its = shared(plain(spot_json(find_spot(changed, with_own())), None), numbers(one))
        assert its == said_
        one.fold_out("who")
        assert "5.00 m/s" in one.text("speed-value")
        assert one.page.locator("#hand option:not([disabled])").count() == 1


@pytest.mark.parametrize("by", ["mouse", "finger"])
def test_the_contact_is_dragged(browser: Any, general: Path, by: str) -> None:
    with opened(browser, general, QUICK, has_touch=by == "finger") as one:
        before = one.text("advice")
        start, end = one.place("court", 3.115, 11.885), one.place("court", -3.0, 12.5)
        if by == "mouse":
            one.page.mouse.move(*start)
            one.page.mouse.down()
            one.page.mouse.move(*end, steps=5)
            one.page.mouse.up()
        else:
            touch = one.page.context.new_cdp_session(one.page)
            for kind, at in (("touchStart", start), ("touchMove", end), ("touchEnd", None)):
                points = [] if at is None else [{"x": at[0], "y": at[1]}]
                touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        one.page.wait_for_url("**#at=-*")
        one.wait()
        x, y, _ = map(float, re.findall(r"at=([^&]*)", one.page.url)[0].split(","))
        assert abs(x + 3.0) < 0.15 and abs(y - 12.5) < 0.15
        assert "left" in before and "right" in one.text("advice")


def test_the_keyboard_moves_the_contact_and_opens_sections(browser: Any, general: Path) -> None:
    with opened(browser, general, QUICK, DESKTOP) as one:
        one.page.keyboard.press("Tab")
        handle = one.page.locator("#court [role=slider]")
        assert handle.evaluate("(element) => element === document.activeElement")
        was = float(handle.get_attribute("aria-valuenow"))
        for key in ("ArrowLeft", "ArrowLeft", "Shift+ArrowRight", "ArrowUp"):
            one.page.keyboard.press(key)
        one.wait()
        assert float(handle.get_attribute("aria-valuenow")) == pytest.approx(was - 0.45, abs=0.06)
        assert "behind the far baseline" in handle.get_attribute("aria-valuetext")
        assert f"at={handle.get_attribute('aria-valuenow').rstrip('0')}" in one.page.url
        assert one.text("advice") in one.text("spoken")
        one.page.locator("#who > summary").press("Enter")
        one.page.locator("#speed").press("ArrowRight")
        one.wait()
        assert "speed=6.25" in one.page.url


def test_nothing_else_stands_on_the_first_screen(browser: Any, general: Path) -> None:
    with opened(browser, general, QUICK) as one:
        for size in (PHONE, TABLET, DESKTOP):
            one.page.set_viewport_size({"width": size[0], "height": size[1]})
            first = one.page.locator("#first").bounding_box()
            more = one.page.locator("#more").bounding_box()
            assert more["y"] >= size[1] - 1 and first["width"] <= size[0]
            for name in ("court", "advice", "sure", "costs", "basis"):
                box = one.page.locator(f"#{name}").bounding_box()
                assert box["y"] >= 0 and box["y"] + box["height"] <= size[1], (size, name)
            assert one.page.evaluate("document.documentElement.scrollWidth") <= size[0]


def test_an_answer_begins_rough_and_its_interval_shrinks(browser: Any, general: Path) -> None:
    watch = """
        window.seen = [];
        addEventListener("DOMContentLoaded", () => new MutationObserver(() => {
            seen.push([costs.textContent, basis.textContent]);
        }).observe(document.getElementById("basis"), { childList: true }));
    """
    with opened(browser, general, "who=under-12&against=college-man&seed=2", before=watch) as one:
        seen = one.page.evaluate("seen")
    assert len(seen) >= 3 and "More balls to come" in seen[0][1]
    assert "More balls to come" not in seen[-1][1]
    widths = []
    for costs, _ in (seen[0], seen[-1]):
        low, high = re.findall(r"\(([\d.]+) to ([\d.]+)\)", costs)[0]
        widths.append(float(high) - float(low))
    assert widths[1] < 0.5 * widths[0]


def test_an_own_spot_has_its_price(browser: Any, general: Path) -> None:
    hard = "who=under-12&against=college-man&balls=400&seed=5"
    with opened(browser, general, hard) as one:
        cone = one.text("advice")
        one.fold_out("own")
        handle = one.page.locator("#own-court [role=slider]")
        for _ in range(12):
            handle.press("ArrowRight")
        one.wait()
        place = [float(v) for v in re.findall(r"own=([^&]*)", one.page.url)[0].split(",")]
        found = numbers(one)
        own = found["policies"]["own 1"]
        assert [own["x_m"], own["y_m"]] == place
        more = 100 * (found["best"]["share_in_time"] - own["share_in_time"])
        assert more > 0.5 and f"{more:.1f} more than from the best place" in one.text("own-price")
        assert one.text("advice") == cone, "an own spot does not move the cone"
        one.page.locator("#own-back").click()
        one.wait()
        assert "own=" not in one.page.url


def test_the_fan_and_the_other_ways(browser: Any, general: Path) -> None:
    with opened(browser, general, QUICK) as one:
        found = numbers(one)
        one.fold_out("fan")
        left, right = found["extremes"]
        assert f"{left['speed_m_s'] * 3.6:.0f} km/h" in one.text("fan-left")
        assert f"{right['speed_m_s'] * 3.6:.0f} km/h" in one.text("fan-right")
        assert one.page.locator("#fan-court .after").count() == 2
        rows = one.page.locator("#ways-rows tr")
        assert rows.count() == len(with_own())
        for k, policy in enumerate(with_own()):
            name = rows.nth(k).get_attribute("data-name")
            assert name == policy.name
            share = 100 * found["policies"][name]["share_set"]
            assert f"{share:.1f}" in rows.nth(k).text_content()


def press(one: Opened, name: str, times: int) -> None:
    """Press a button again and again."""
    what = (
        "([name, times]) => { for (; times > 0; times--) document.getElementById(name).click(); }"
    )
    one.page.evaluate(what, [name, times])


def test_the_moving_picture_counts_what_was_reached(browser: Any, general: Path) -> None:
    hard = "who=under-12&against=college-man&balls=100&seed=5"
    with opened(browser, general, hard, reduced_motion="reduce") as one:
        one.fold_out("see")
        button = one.page.locator("#see-play")
        one.page.locator("#see-whole", has_text="balls that land in").wait_for(timeout=60_000)
        assert button.text_content() == "Play", "reduced motion: it does not start by itself"
        ball = one.page.locator("#see-middle .ball").locator("..")
        was = ball.get_attribute("transform")
        one.page.locator("#see-step").click()
        assert ball.get_attribute("transform") != was
        count = int(re.findall(r"of (\d+)", one.text("see-ball"))[0])
        press(one, "see-next", count)
        one.page.locator("#see-slow").click()
        assert one.page.locator("#see-slow").get_attribute("aria-pressed") == "true"
        press(one, "see-step", 80)  # to the end of the last ball
        counts = [one.text(f"see-{name}-count").split() for name in ("middle", "cone")]
        assert all(words[2] == str(count) for words in counts)
        assert int(counts[0][0]) < int(counts[1][0]), "from the cone more balls are reached"
    with opened(browser, general, hard) as one:
        one.fold_out("see")
        button = one.page.locator("#see-play", has_text="Pause")
        button.wait_for(timeout=60_000)
        one.page.locator("#see-ball", has_text="Ball 2").wait_for(timeout=60_000)
        button.click()
        was = one.page.locator("#see-middle .ball").locator("..").get_attribute("transform")
        one.page.wait_for_timeout(200)
        now = one.page.locator("#see-middle .ball").locator("..").get_attribute("transform")
        assert now == was


def chart_strokes(one: Opened) -> None:
    """Tap three strokes: one in, one out, one in the net."""
    one.fold_out("chart")
    one.tap("chart-court", 3.0, 12.0)
    one.tap("chart-court", -3.0, -8.0)
    one.tap("chart-court", -3.0, 12.5)
    one.tap("chart-court", 3.5, -11.6)
    one.page.locator("#chart-out").click()
    one.tap("chart-court", 2.0, 11.0)
    one.page.locator("#chart-net").click()
    one.wait()


def saved(one: Opened, folder: Path) -> Path:
    """The chart that the page exports."""
    with one.page.expect_download() as download:
        one.page.locator("#chart-export").click()
    path = folder / download.value.suggested_filename
    download.value.save_as(path)
    return path


def test_a_chart_is_tapped_kept_and_read_by_the_command(
    browser: Any, general: Path, tmp_path: Path
) -> None:
    with opened(browser, general, QUICK) as one:
        one.fold_out("chart")
        assert "usual habit alone" in one.text("chart-count")
        chart_strokes(one)
        assert "3 strokes" in one.text("chart-count")
        lean = numbers(one)["leans_on_habit"]
        assert 0 < lean < 1 and f"leans {100 * lean:.0f} % on the usual" in one.text("chart-lean")
        path = saved(one, tmp_path)
        strokes = read_chart(str(path)).strokes
        assert [stroke.outcome for stroke in strokes] == ["in", "out", "net"]
        assert strokes[0].contact_x_m == pytest.approx(3.0, abs=0.1)
        assert strokes[1].bounce_y_m == pytest.approx(-11.6, abs=0.1)
        asked = ["chart", "spot", str(path), "--seed", "3", "--balls", "100", "--json"]
        done = CliRunner().invoke(main, [*asked, "--resamples", "20"])
        advised = json.loads(done.stdout)
        its = numbers(one)["best"]["x_m"]
        told = json.dumps(advised)
        assert f'"x_m": {its:.6f}'.rstrip("0") in told or f"{round(its, 6)}" in told
        one.page.reload()
        one.wait()
        one.fold_out("chart")
        assert "3 strokes" in one.text("chart-count"), "the chart is kept on the device"
        assert "charted" in one.page.url
        one.page.locator("#chart-undo").click()
        one.wait()
        assert "2 strokes" in one.text("chart-count")
        one.page.once("dialog", lambda dialog: dialog.accept())
        one.page.locator("#chart-clear").click()
        one.wait()
        assert one.page.evaluate("localStorage.length") == 0


def test_a_chart_made_with_the_keyboard(browser: Any, general: Path) -> None:
    with opened(browser, general, QUICK) as one:
        one.fold_out("chart")
        pointer = one.page.locator("#chart-court [role=slider]")
        for key in ("ArrowRight", "ArrowRight", "Enter", "ArrowUp", "Space"):
            pointer.press(key)
        one.wait()
        assert "1 stroke." in one.text("chart-count")
        kept = json.loads(one.page.evaluate("localStorage.getItem('where-to-wait chart')"))
        assert kept["strokes"] == [
            {"contact_x_m": 0.5, "contact_y_m": 12, "bounce_x_m": 0, "bounce_y_m": -8.75}
            | {"outcome": "in"}
        ]


def test_the_end_of_a_drag_is_no_tap(browser: Any, general: Path) -> None:
    with opened(browser, general, QUICK) as one:
        one.fold_out("chart")
        one.page.mouse.move(*one.place("chart-court", 0, 12))
        one.page.mouse.down()
        one.page.mouse.move(*one.place("chart-court", 2.5, 11), steps=4)
        one.page.mouse.up()
        assert "where the opponent met the ball" in one.text("chart-ask")
        one.page.locator("#chart-set").click()
        assert "tap where it bounced" in one.text("chart-ask")
        one.page.locator("#chart-net").click()
        kept = json.loads(one.page.evaluate("localStorage.getItem('where-to-wait chart')"))
        assert kept["strokes"][0]["contact_x_m"] == pytest.approx(2.5, abs=0.1)
        assert kept["strokes"][0]["outcome"] == "net"


def test_the_demo_chart_is_believed_as_by_the_command(
    browser: Any, general: Path, tmp_path: Path
) -> None:
    """Imported, and exported again without a loss."""
    path = tmp_path / "demo.csv"
    CliRunner().invoke(main, ["chart", "demo", str(path), "--seed", "7"])
    with opened(browser, general, QUICK) as one:
        one.fold_out("chart")
        one.page.locator("#chart-import").set_input_files(path)
        one.page.locator("#chart-notice", has_text="strokes imported").wait_for()
        one.wait()
        chart = read_chart(str(path))
        scene = scene_of(
            hitter=f"charted,chart={path}", opponent_hand=chart.hand, balls=100, seed=3
        )
        mine, its = shared(plain(spot_json(find_spot(scene, with_own())), None), numbers(one))
        assert its == mine
        again = read_chart(str(saved(one, tmp_path / "out"))).strokes
        assert again == chart.strokes


BAD_CHARTS = [
    ("contact_x_m,contact_y_m\n1,2\n", "this column is needed"),
    ("contact_x_m,contact_y_m,bounce_x_m,bounce_y_m\n1,12,99,-8\n", "-10 to 10"),
    ("contact_x_m,contact_y_m,bounce_x_m,bounce_y_m\n1,12,1\n", "4 cells"),
    ("contact_x_m,contact_y_m,bounce_x_m,bounce_y_m,wing\n1,12,1,-8,head\n", "forehand"),
    ("contact_x_m,contact_y_m,bounce_x_m,bounce_y_m,outcome\n1,12,1,-8,out\n", "is in"),
    ("<script>alert(1)</script>\n", "alert(1)"),
    ("contact_x_m,contact_y_m,bounce_x_m,bounce_y_m\n", "no strokes"),
]


def test_bad_charts_are_refused_in_words(browser: Any, general: Path, tmp_path: Path) -> None:
    """Those that the command refuses; nothing of them is kept."""
    with opened(browser, general, QUICK) as one:
        one.fold_out("chart")
        for k, (text, told) in enumerate(BAD_CHARTS):
            path = tmp_path / f"bad-{k}.csv"
            path.write_text(text, encoding="utf-8")
            with pytest.raises(InputError):
                read_chart(str(path))
            one.page.locator("#chart-import").set_input_files(path)
            refused = one.page.locator("#chart-notice", has_text=f"{path.name} was not imported")
            refused.wait_for()
            assert told in one.text("chart-notice").replace("\u2212", "-")
        assert one.page.evaluate("localStorage.length") == 0


def test_charts_of_spreadsheets_elsewhere_are_read(
    browser: Any, general: Path, tmp_path: Path
) -> None:
    """Semicolons, decimal commas, feet, other words: as the command reads them."""
    path = tmp_path / "elsewhere.csv"
    header = "sep=;\r\ncontact_x_ft;contact_y_ft;bounce_x_ft;bounce_y_ft;kind;speed_km_h;hand\r\n"
    rows = "9,5;39;-8;-27,5;Topspin;95;left\r\n-9;40,25;8;-30;;;left\r\n"
    path.write_text(header + rows, encoding="utf-16")
    with opened(browser, general, QUICK) as one:
        one.fold_out("chart")
        one.page.locator("#chart-import").set_input_files(path)
        one.page.locator("#chart-notice", has_text="2 strokes imported").wait_for()
        one.wait()
        assert "their-hand=left" in one.page.url
        theirs = read_chart(str(saved(one, tmp_path / "out")))
        mine = read_chart(str(path))
        assert theirs.hand == mine.hand == "left"
        for a, b in zip(theirs.strokes, mine.strokes, strict=True):
            assert a.kind == b.kind and a.outcome == b.outcome
            assert a.contact_x_m == pytest.approx(b.contact_x_m, abs=5e-4)
            assert a.speed_m_s == (
                None if b.speed_m_s is None else pytest.approx(b.speed_m_s, 1e-3)
            )


@pytest.mark.parametrize(("before", "name"), [(FULL, "Quota"), (FORBIDDEN, "Security")])
def test_a_chart_that_cannot_be_saved_goes_on_in_memory(
    browser: Any, general: Path, before: str, name: str
) -> None:
    with opened(browser, general, QUICK, before=before) as one:
        chart_strokes(one)
        assert "3 strokes" in one.text("chart-count")
        assert name in one.text("chart-kept") and "Export it" in one.text("chart-kept")


def test_what_an_older_page_saved_is_read_or_set_aside(
    browser: Any, general: Path, tmp_path: Path
) -> None:
    def keeping(text: str) -> str:
        return f"localStorage.getItem('met') ?? (localStorage.setItem('where-to-wait chart', \
{json.dumps(text)}), localStorage.setItem('met', 'yes'));"

    with opened(browser, general, QUICK, before=keeping(json.dumps(OLD))) as one:
        one.fold_out("chart")
        assert "1 stroke." in one.text("chart-count")
        assert "older version was taken over: 1" in one.text("chart-notice")
    for text in ('{"version": 99, "strokes": []}', "not even JSON", '[{"contact_x_m": "x"}]'):
        with opened(browser, general, QUICK, before=keeping(text)) as one:
            one.fold_out("chart")
            assert one.page.locator("#chart-aside").is_visible()
            chart_strokes(one)
            with one.page.expect_download() as download:
                one.page.locator("#chart-aside-save").click()
            download.value.save_as(tmp_path / "aside.txt")
            assert (tmp_path / "aside.txt").read_text() == text


def test_it_prints_on_one_page(browser: Any, general: Path) -> None:
    with opened(browser, general, QUICK) as one:
        one.fold_out("who", "chart")
        one.page.emulate_media(media="print")
        assert one.page.locator("#advice").is_visible() and one.page.locator("#small").is_visible()
        assert not one.page.locator("#who").is_visible()
        for paper in ("A4", "Letter"):
            pdf = one.page.pdf(format=paper, prefer_css_page_size=False)
            assert len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf)) == 1


def test_the_picture_holds_the_court_and_the_words(
    browser: Any, general: Path, tmp_path: Path
) -> None:
    from PIL import Image

    with opened(browser, general, QUICK) as one:
        one.fold_out("take")
        with one.page.expect_download() as download:
            one.page.locator("#take-picture").click()
        path = tmp_path / download.value.suggested_filename
        download.value.save_as(path)
        picture = np.asarray(Image.open(path).convert("RGB")).reshape(-1, 3)
        for colour in ("E69F00", "009E73", "222222"):  # the cone, the range, letters
            there = (picture == list(bytes.fromhex(colour))).all(axis=1)
            assert there.sum() > 40, colour


def test_a_player_from_a_file_is_named_in_the_advice(browser: Any, file: Path) -> None:
    with opened(browser, file, f"who=Mia&{QUICK}") as one:
        assert re.match(r"Mia: Wait \d", one.text("advice")) and "Mia: Wait" in one.text("spoken")
    with opened(browser, file, f"who=college-man&{QUICK}") as one:
        assert one.text("advice").startswith("Wait ")


def test_the_rule_is_that_of_the_level(browser: Any, file: Path) -> None:
    """Of who waits: of a level, or of the level of a player file."""
    mias = read_player_file(file.parent / "mia.toml").level
    with opened(browser, file, QUICK) as one:
        one.fold_out("who", "rule")
        for name, level in (("club adult", "club-adult"), ("under 12", "under-12"), ("Mia", mias)):
            one.page.locator("#player").select_option(label=name)
            one.wait()
            shown = one.page.locator("#rule .strong").locator("visible=true").inner_text()
            assert re.search(r"recover \d\d\u00a0cm to the other side", shown)
            told = shown.lower().replace("\u00a0", " ")
            assert told == read_learning(f"rule-{level}").title + "."


def test_a_level_without_a_rule_shows_none(
    browser: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    known = rule_for(PLAYERS["college-man"])
    for module in (facts_module, build):
        some = {"college-man": known}.get
        monkeypatch.setattr(module, "rule_for", lambda me, some=some: some(me.base_level))
    path = write_page(tmp_path / "page.html", page_html())
    with opened(browser, path, f"who=college-man&{QUICK}") as one:
        assert one.page.locator("#rule").is_visible()
    with opened(browser, path, f"who=club-adult&{QUICK}") as one:
        assert one.page.locator("#rule").is_hidden()


def test_the_case_is_the_address(browser: Any, general: Path) -> None:
    with opened(browser, general, QUICK) as one:
        one.fold_out("whom", "place", "take")
        one.page.locator("#hitter").select_option("open-court")
        one.page.locator("#surface").select_option("clay")
        one.page.locator("#opponent").select_option(label="college man")
        one.wait()
        kept = one.page.locator("#take-address").input_value()
        assert one.page.url.endswith(kept)
        assert {"hits=open-court", "on=clay", "against=college-man"} <= set(kept[1:].split("&"))
        advice = one.text("advice")
    with opened(browser, general, kept[1:]) as one:
        assert one.text("advice") == advice
        assert one.page.locator("#surface").input_value() == "clay"


BAD_PARTS = [
    f"who={quote(HOSTILE)}x",
    "hits=toString",
    "hits=__proto__",
    "constructor=1",
    "at=1,2",
    "at=NaN,12,1",
    "at=1e9,12,1",
    "balls=99999999999",
    "seed=9223372036854775808",
    "depth=-1",
    "own=0",
    "%",
    "hand=%E0%A4%A",
    "<script>alert(1)</script>",
]


def test_what_is_not_understood_in_an_address_is_left_aside(browser: Any, general: Path) -> None:
    with opened(browser, general, QUICK) as one:
        usual = one.text("advice")
        for part in BAD_PARTS:
            one.ask(f"{part}&{QUICK}")
            assert one.text("advice") == usual, part
            assert "Not understood in the address" in one.text("notice"), part
        assert one.page.locator("#first img, #first script").count() == 0


def test_the_way_below_leaves_the_case_as_it_is(browser: Any, file: Path) -> None:
    """And who plays left-handed only does so as an opponent, too."""
    with opened(browser, file, f"against=Mia&{QUICK}") as one:
        assert "against Mia" in one.text("basis")
        assert one.page.locator("#opponent-hand").input_value() == "left"
        address = one.page.url
        one.page.locator("#down").click()
        one.page.locator("#who").click()
        assert one.page.url == address and "against Mia" in one.text("basis")
        assert one.page.evaluate("scrollY") > 300


def test_hostile_names_are_shown_and_do_nothing(browser: Any, file: Path) -> None:
    with opened(browser, file, f"who={quote(HOSTILE)}&{QUICK}") as one:
        dialogs: list[str] = []
        one.page.on("dialog", lambda dialog: dialogs.append(dialog.message))
        one.fold_out(*SECTIONS)
        assert HOSTILE in one.text("basis")
        assert one.page.locator("#player option", has_text=HOSTILE).count() == 1
        assert one.page.locator("img").count() == 0 and dialogs == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_everybody_can_use_it(browser: Any, general: Path, scheme: str) -> None:
    """No fault that axe finds, all sections open; what is tapped is at least 44 pixels high."""
    from axe_playwright_python.sync_playwright import Axe

    with opened(browser, general, QUICK, color_scheme=scheme) as one:
        one.fold_out(*SECTIONS, "numbers")
        one.page.locator("#see-whole", has_text="balls that land in").wait_for(timeout=60_000)
        found = Axe().run(one.page)
        assert found.violations_count == 0, found.generate_report()
        small = one.page.evaluate(
            """[...document.querySelectorAll(
                "button, select, summary, input:not(.unseen), .button, a")]
                .filter((e) => e.offsetParent && e.getBoundingClientRect().height < 43.9)
                .map((e) => e.id || e.textContent)"""
        )
        assert small == []
        touch = one.page.locator("#court .touch").bounding_box()
        assert touch["width"] >= 43.9


def test_own_texts_are_shown_and_faults_told(browser: Any, tmp_path: Path) -> None:
    texts = tmp_path / "de.toml"
    texts.write_text(
        'language = "de"\ndecimal = ","\n[answer]\nleft = "<b>Warte</b> {steps} {metres} m"\n'
        '[names]\nclub-adult = "Vereinsspieler"\n',
        encoding="utf-8",
    )
    path = tmp_path / "page.html"
    asked = ["page", "--out", str(path), "--texts", str(texts)]
    assert CliRunner().invoke(main, asked).exit_code == 0
    with opened(browser, path, QUICK) as one:
        assert re.match(r"<b>Warte</b> \d,\d steps", one.text("advice"))
        assert "Vereinsspieler" in one.text("basis")
        assert one.page.locator("html").get_attribute("lang") == "de"
    for bad, told in (
        ("[answer]\nlefft = 'x'", "Did you mean 'answer.left'"),
        ("[answer]\nleft = '{who}'", "its fields are: {depth}, {metres}, {steps}"),
        ("language = 'no language'", "short name of a language"),
    ):
        texts.write_text(bad, encoding="utf-8")
        done = CliRunner().invoke(main, asked)
        assert done.exit_code != 0 and told in " ".join(done.output.split())


def test_the_file_is_small_ours_and_asks_for_nothing(general: Path, tmp_path: Path) -> None:
    text = general.read_text("utf-8")
    assert len(text.encode()) < MOST_BYTES
    assert "default-src 'none'" in html.unescape(text) and "unsafe-inline" not in text
    assert re.findall(r"""(?:src|href)=["']?(?!["'#])[^>\s]*""", text.split("<script")[0]) == []
    addresses = set(re.findall(r"https?://[^\s\"'`)]+", text))
    assert addresses == {"http://www.w3.org/2000/svg"}, "a namespace, never fetched"
    theirs = tmp_path / "mine.html"
    theirs.write_text("<p>My own page</p>")
    done = CliRunner().invoke(main, ["page", "--out", str(theirs)])
    assert done.exit_code != 0 and "so it stays" in done.output
    assert theirs.read_text() == "<p>My own page</p>"
    assert CliRunner().invoke(main, ["page", "--out", str(general)]).exit_code == 0


def test_two_people_of_one_name_are_refused(tmp_path: Path) -> None:
    for name in ("a.toml", "b.toml"):
        (tmp_path / name).write_text(MIA, encoding="utf-8")
    own = [word for name in "ab" for word in ("--player", str(tmp_path / f"{name}.toml"))]
    done = CliRunner().invoke(main, ["page", "--out", str(tmp_path / "p.html"), *own])
    assert done.exit_code != 0 and "two players of the page are called 'Mia'" in done.output
    assert not (tmp_path / "p.html").exists()


def test_every_module_of_the_screen_is_needed() -> None:
    assert set(SCREEN.glob("*.mjs")) <= set(module_order(SCREEN / "main.mjs"))


def test_every_text_is_used_and_every_text_used_is_there() -> None:
    source = "\n".join(p.read_text("utf-8") for p in SCREEN.iterdir() if p.suffix != ".css")
    keys = [key for key in page_texts() if not key.startswith("names.")]
    made = re.compile(
        r"^(answer|deep|near|fan|hand|learned|problem|outcome)\."
    )  # keys that are put together
    unused = [key for key in keys if f'"{key}"' not in source and f"'{key}'" not in source]
    assert [key for key in unused if not made.match(key) and f".{key}" not in source] == []
    used = set(re.findall(r"""t\['([\w.]+)'\]""", source))
    used |= set(re.findall(r"""say\(\s*"([\w.]+)\"""", source))
    assert len(used) > 80 and used <= set(keys)


def test_the_screen_allows_what_the_engine_allows() -> None:
    known = facts(list(PLAYERS))
    (low_z, high_z) = known["height_m"]
    ranges = {q["name"]: (q["low"], q["high"]) for q in known["chart"]["quantities"]}
    (low_x, high_x), (low_y, high_y) = ranges["contact_x"], ranges["contact_y"]
    for x, y, z in ((low_x, low_y, low_z), (high_x, high_y, high_z)):
        Place("ends", x, y, z)
    beyond = 0.01
    for x, y, z in ((high_x + beyond, 9, 1), (0, low_y - beyond, 1), (0, high_y + beyond, 1)):
        with pytest.raises(InputError):
            Place("beyond", x, y, z)
    for z in (low_z - beyond, high_z + beyond):
        with pytest.raises(InputError):
            Place("beyond", 0, 9, z)


def test_the_stored_page_is_todays() -> None:
    """The one for coaches without Python; its numbers shall be those of the engine beside it."""
    stored = Path(__file__).resolve().parent.parent / "results" / page_package.PAGE
    if not (is_fresh("sim") and is_fresh("strategies")):
        pytest.skip("the shipped kernels are of another version of the source")
    made = f"rally-recovery page --out results/{page_package.PAGE}"
    assert stored.read_text("utf-8") == page_html(), f"make it again: {made}"
