"""The folder that a fuzzed command runs in: a user's own files, good inputs and bad ones."""

from __future__ import annotations

from pathlib import Path

from tiny_study import OWN_POLICY, TINY

ANNA = """
name = "Anna"
level = "college-man"
hand = "left"
backhand = "one-handed"

[legs]
top_speed_m_s = { value = 6.4, low = 6.1, high = 6.7 }

[hitter]
forehand_speed_m_s = { value = 25.0, low = 24.0, high = 26.0 }

[waiting]
waits_behind_m = { value = 0.9, low = 0.6, high = 1.2 }
"""
CHILD = """
name = "Mia, 10"
level = "club-adult"

[legs]
top_speed_m_s = { value = 4.2, low = 4.0, high = 4.4 }

[hitter]
forehand_speed_m_s = { value = 16.0, low = 15.0, high = 17.0 }
backhand_speed_m_s = { value = 15.0, low = 14.0, high = 16.0 }
"""
CHART = """contact_x_m,contact_y_m,bounce_x_m,bounce_y_m,speed_m_s,wing,outcome,hand,receiver_x_m
3.0,12.0,-2.5,-8.0,28,forehand,in,right,0.0
2.0,12.5,2.5,-9.0,26,forehand,in,right,-0.5
-1.0,11.0,0.0,-7.0,24,backhand,in,right,0.5
-3.0,12.0,,,25,backhand,net,right,
"""
FILLED = """ball,pair,place,stand,reached,returned_in,counts,false_alarm,foretold_per_100,\
planned_pairs,seed
1,1,2,cone,1,1,reached,0.05,9.4,4,5
2,1,2,middle,0,,reached,0.05,9.4,4,5
3,2,4,middle,1,0,reached,0.05,9.4,4,5
4,2,4,cone,1,1,reached,0.05,9.4,4,5
"""
SHOTS = '''
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.contracts import intents_of


@dataclass(frozen=True)
class Deep:
    """Hits deep into the middle."""

    name: ClassVar[str] = "deep"
    draws: ClassVar[int] = 1
    sees_receiver: ClassVar[bool] = False

    def intents(self, seen, chance):
        n = len(seen)
        return intents_of(np.zeros(n), np.full(n, 9.5), seen.speed_m_s, seen.topspin_rad_s)
'''
# Code that a tired student might leave behind; what each object does is in its name.
WILD = """
import sys

import numpy as np


class Policy:
    def __init__(self, act, name="wild", placeable=True):
        self.act, self.name, self.placeable = act, name, placeable

    def spots(self, seen):
        return self.act(seen)


class Shots(Policy):
    draws, sees_receiver = 1, False

    def intents(self, seen, chance):
        return self.act(seen)


class Beyond(BaseException):
    pass


class Mute(Exception):
    def __str__(self):
        raise RuntimeError("no words")


def throw(error):
    raise error


def at(x, y):
    return lambda seen: np.stack([np.full(len(seen), x), np.full(len(seen), y)], axis=1)


def scribble(seen):
    seen.contact["x_m"][:] = 7.0
    seen.body["y_m"][:] = -1.0
    return at(0.0, -13.0)(seen)


raises = Policy(lambda seen: 1 / 0)
shouts = Policy(lambda seen: throw(ValueError("\\x1b[2J\\u202e" + "long\\n" * 500)))
exits = Policy(lambda seen: sys.exit())
quits = Policy(lambda seen: throw(KeyboardInterrupt()))
beyond = Policy(lambda seen: throw(Beyond("beyond")))
mute = Policy(lambda seen: throw(Mute()))
stops = Policy(lambda seen: throw(StopIteration()))
huge = Policy(at(1e300, -1e300))
far = Policy(at(4e4, -13.0))
centimetres = Policy(at(-150.0, -1300.0))
across = Policy(at(0.0, 3.0))
nans = Policy(at(float("nan"), -13.0))
words = Policy(lambda seen: "left of the middle")
nothing = Policy(lambda seen: None)
short = Policy(lambda seen: np.zeros((1, 2)))
objects = Policy(lambda seen: np.array([[object(), {}]] * len(seen)))
scribbles = Policy(scribble)
marked = Policy(at(0.0, -13.0), "left\\u202eelddim\\x1b[31m")
formula = Policy(at(0.0, -13.0), "=HYPERLINK(A1)")
dollars = Policy(at(0.0, -13.0), "$x_1$ \\\\frac")
lengthy = Policy(at(0.0, -13.0), "a" * 100_000)
nameless = Policy(at(0.0, -13.0), None)
middle = Policy(at(0.0, -13.0), "middle")
kinds = Policy(lambda seen: np.array([["0", "-13"]] * len(seen)))
number = 3
shots_raise = Shots(lambda seen: 1 / 0)
shots_exit = Shots(lambda seen: sys.exit())
shots_words = Shots(lambda seen: "deep")
shots_nan = Shots(lambda seen: np.full(len(seen), np.nan))
shots_marked = Shots(lambda seen: 1 / 0, "a\\u2066b")
"""
HEAD = CHART.splitlines()[0]
OUTSIDE = TINY.replace('"stay"', '"../outside/code.py:Slow"')

# What is there whatever is asked; nothing of it may change.
ALWAYS: dict[str, str] = {
    "uv.lock": "version = 1\n",
    "new.lock": "mine as well\n",
    "study.toml": "# my own notes on what to study\n",
    "notes.txt": "Anna: more to the left.\n",
    "mine/study.toml": TINY,
    "mine/season.csv": "day,won\n1,3\n",
    "mine/letters/one.txt": "Dear Anna\n",
    "folder.toml/one.txt": "a folder with the name of a file\n",
    "folder.csv/one.txt": "and another\n",
    "folder.png/one.txt": "and another\n",
    "folder.pdf/one.txt": "and another\n",
    "folder.gif/one.txt": "and another\n",
    "../outside/code.py": OWN_POLICY,
    "../outside/letter.txt": "not of this folder\n",
    "anna.toml": ANNA,
    "child.toml": CHILD,
    "chart.csv": CHART,
    "filled.csv": FILLED,
    "tiny.toml": TINY,
    "own.py": OWN_POLICY,
    "shots.py": SHOTS,
}
# What is there only if a command names it.
HOSTILE: dict[str, bytes] = {
    "wild.py": WILD.encode(),
    "exits.py": b"import sys\nsys.exit()\n",
    "broken.py": b"def f(:\n",
    "bytes.py": b"\xff\xfe\x00",
    "empty.toml": b"",
    "bytes.toml": bytes(range(256)),
    "bom.toml": b"\xef\xbb\xbf" + ANNA.encode(),
    "cp1252.toml": ANNA.replace("Anna", "\xc4nne").encode("cp1252"),
    "ANNE.TOML": ANNA.encode(),
    "nested.toml": b"name = " + b"[" * 40_000 + b"]" * 40_000 + b"\n",
    "tables.toml": b"[" + b"a." * 20_000 + b"a]\nx = 1\n",
    "huge.toml": b'title = "'
    + b"x" * 3_000_000
    + b'"\n'
    + TINY.replace("title", "question").encode(),
    "digits.toml": b"placed_balls = " + b"9" * 6000 + b"\n",
    "formula.toml": ANNA.replace("Anna", "=HYPERLINK(A1)").encode(),
    "dollar.toml": ANNA.replace("Anna", "$x_1$ \\\\frac{").encode(),
    "marks.toml": ANNA.replace("Anna", "An\\u202ena\\u001b[2J").encode(),
    "raw-marks.toml": ANNA.replace("Anna", "An\u202ena").encode(),
    "hundred.toml": ANNA.replace(
        "25.0, low = 24.0, high = 26.0", "95, low = 90, high = 99"
    ).encode(),
    "nan.toml": ANNA.replace("6.4, low", "nan, low").encode(),
    "semicolons.csv": CHART.replace(",", ";").replace(".", ",").encode(),
    "semicolons-only.csv": CHART.replace(",", ";").encode(),
    "bom.csv": b"\xef\xbb\xbf" + CHART.encode(),
    "cp1252.csv": CHART.replace("right,0.5", "r\xe9\xe9,0.5").encode("cp1252"),
    "empty.csv": b"",
    "head.csv": HEAD.encode() + b"\n",
    "bytes.csv": bytes(range(256)),
    "quote.csv": HEAD.encode() + b'\n"3.0,12.0,' + b"x" * 200_000,
    "fast.csv": CHART.replace(",28,", ",70,").encode(),
    "nan.csv": CHART.replace("3.0,12.0,-2.5", "nan,12.0,inf").encode(),
    "mirrored.csv": CHART.replace("\n3.0,12.0,-2.5", "\n-3.0,12.0,2.5").encode(),
    "marks.csv": CHART.replace("forehand", "fore\u202ehand\x1b[2J").encode(),
    "formula.csv": CHART.replace("28,forehand", "=1+1,@SUM(A1)").encode(),
    "an\u202ena.csv": CHART.encode(),
    "=cmd.csv": CHART.encode(),
    "outside-study.toml": OUTSIDE.encode(),
    "own-study.toml": TINY.replace('"stay"', '"own.py:Slow"').encode(),
    "wild-study.toml": TINY.replace('"stay"', '"wild.py:raises"').encode(),
    "exit-study.toml": TINY.replace('"stay"', '"wild.py:exits"').encode(),
    "marked-study.toml": TINY.replace('"stay"', '"wild.py:marked"').encode(),
    "formula-study.toml": TINY.replace('"stay"', '"wild.py:formula"').encode(),
    "quit-study.toml": TINY.replace('"habit", "open-court"', '"wild.py:shots_exit"').encode(),
    "huge-study.toml": TINY.replace('"stay"', '"wild.py:lengthy"').encode(),
    "choice-study.toml": TINY.encode() + b'[choices]\nlevel = "child.toml"\nopponent = "habit"\n'
    b'place = "corner"\nrallies = 10\n',
    "cycle.toml": (TINY + '[factors]\ndesign = "grid"\n' * 2).encode(),
    "wide.csv": (HEAD + "\n" + "1," * 50_000 + "\n").encode(),
    "import-study.toml": TINY.replace('"stay"', '"exits.py:Own"').encode(),
    "place-study.toml": TINY.replace('"corner"', '"=co\\u202ener\\u001b[2J"').encode(),
    "dollar-study.toml": TINY.replace('"corner"', '"$x_1$ \\\\frac{"').encode(),
    "title-study.toml": TINY.replace("A tiny", "<b>A\\u202e\\u0007 $t_$").encode(),
    "player-study.toml": TINY.replace('"club-adult"', '"anna.toml", "child.toml"').encode(),
    "texts.toml": b'[page]\ntitle = "Mein Blatt"\n',
    "page-texts.toml": b'language = "de"\n[who]\nhead = "Wer wartet"\n',
    "texts-nested.toml": b"a = " + b"[" * 40_000 + b"]" * 40_000 + b"\n",
}
NEEDS = {
    f"{word}-study": "wild.py" for word in ("wild", "exit", "quit", "huge", "marked", "formula")
}
NEEDS |= {"import-study": "exits.py"}


def made_folder(above: Path, arguments: tuple[str, ...], made: dict[str, bytes]) -> Path:
    """The folder for a command: what is always there, what its arguments name, what was made."""
    folder = above / "work"
    named = " ".join(arguments)
    wanted = {name: content for name, content in HOSTILE.items() if name in named}
    wanted |= {file: HOSTILE[file] for word, file in NEEDS.items() if word in named}
    files = {name: text.encode() for name, text in ALWAYS.items()} | wanted | made
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    (folder / "dangling.toml").symlink_to("nowhere.toml")
    (folder / "loop.csv").symlink_to("loop.csv")
    return folder


def contents(above: Path) -> dict[str, bytes | str | None]:
    """Every file (its bytes), link (its target) and folder (None) under a place."""
    return {
        path.relative_to(above).as_posix(): str(path.readlink())
        if path.is_symlink()
        else (path.read_bytes() if path.is_file() else None)
        for path in above.rglob("*")
    }
