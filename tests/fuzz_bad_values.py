"""Values that nobody should answer, or not at once: by kind, each with what is to come of it."""

from __future__ import annotations

from dataclasses import dataclass

FINE, WRONG, EITHER = "fine", "wrong", "either"  # answered, refused, or whichever is right


@dataclass(frozen=True)
class Value:
    """A value; `file` is what a command that takes it leaves."""

    text: str
    comes: str = FINE
    file: str | None = None


Values = tuple[Value, ...]


def wrong(*texts: str) -> Values:
    return tuple(Value(text, WRONG) for text in texts)


def either(*texts: str) -> Values:
    return tuple(Value(text, EITHER) for text in texts)


def listed(prefix: str, words: str) -> list[str]:
    return [prefix + word for word in words.split()]


def no_file(suffix: str) -> Values:
    """Places where no file of that kind can be written."""
    return wrong(
        *(f"none/new{suffix}", f"notes.txt/new{suffix}", f"/proc/new{suffix}", f"folder{suffix}"),
        *("", ".", "..", "mine", "../outside", f"{'x' * 300}{suffix}", "new", "new.doc"),
        *("notes.txt", f"{'d/' * 3000}new{suffix}"),
    )


NUMBERS = wrong(
    "nan", "inf", "", " ", "3;5", "abc", "1 m*9**9**9**9", "30 kg", "1e400", "\x1b[31m7", "-inf",
    "--1", "9" * 5000, "=1+1", "3\u202e0", "-1e9", "(" * 3000, "1 \u2066m", "1e9", "12\n13",
    "5 m 3", "\udcff", "0x10", "NaN",
)  # fmt: skip
POINTS = wrong(
    "nan,11,1", "3", "1,2,3,4,5", "", "3,inf", "1 m*9**9**9**9,11", "3;11", "1e9,11", "3,11 kg",
    "3.1,11.8,", "\u202e3,11", "left", "3,\x1b[2J", "0,0,0,0", "3 ft,1e999", ",", "nan,nan",
)  # fmt: skip
WHOLES = wrong(
    "-1", "nan", "1e3", "1.5", "", "ten", "9" * 30, "-9223372036854775809", "\u202e9", "+", "0x9",
    "9" * 5000, "\x1b[2J",
)  # fmt: skip
NAMES = wrong(
    "nobody", "", "\x1b[2J", "a\u202eb", "=1+1", "x" * 5000, " ", "../", "club adult", "\udcff",
    "a,b=c", "a,,", "None", "\u2066", "-", "*", "{}", "%s", ",", "null\r\n",
)  # fmt: skip
NO_FILES = wrong(
    "nowhere.toml", "nested.toml", "dangling.toml", "huge.toml", "/dev/zero", "bytes.toml",
    "digits.toml", "folder.toml", "empty.toml", "tables.toml", "caf\udce9.toml", "loop.csv",
    "a\u202eb.toml", "none/at.toml", "none-16.toml", "notes.txt", "uv.lock", "x" * 300 + ".toml",
    "wild.py", "cycle.toml",
)  # fmt: skip
PLAYERS = (
    either("made.toml", "bom.toml", "cp1252.toml", "ANNE.TOML", "formula.toml", "dollar.toml")
    + wrong("marks.toml", "raw-marks.toml", "hundred.toml", "nan.toml", "chart.csv", "tiny.toml")
    + either("made.toml", "made.toml", "made.toml")
    + NO_FILES
    + NAMES[:7]
)
CODE = wrong(
    *("exits.py:Own", "broken.py:Own", "bytes.py:Own", "nowhere.py:Own", "own.py", "own.py:"),
    *("own.py:Slow,shift_m=nan,shift_m=1", "own.py:Slow,speed=1", "mine.py:a b", "../:a.py"),
)
POLICIES = (
    wrong(*listed("wild.py:", "exits huge mute scribbles centimetres shouts beyond quits far nans"))
    + either(*listed("wild.py:", "marked formula dollars lengthy"), "../outside/code.py:Slow")
    + wrong(*listed("wild.py:", "raises words nothing short objects stops nameless across kinds"))
    + CODE[:4]
    + wrong(*listed("linear-shade,", "shade_m_per_m=nan shade_m_per_m=1e300 shade=1 shade_m_per_m"))
    + NAMES[:5]
    + CODE[4:]
    + wrong("wild.py:number", "wild.py:missing", "middle,x=1")
    + either("wild.py:middle")
)
HITTERS = (
    wrong(*listed("wild.py:", "shots_exit shots_raise shots_words shots_marked shots_nan raises"))
    + wrong(*listed("charted,chart=", "nowhere.csv empty.csv nan.csv /dev/zero bytes.csv mine"))
    + either(*listed("charted,chart=", "fast.csv semicolons.csv an\u202ena.csv made.csv =cmd.csv"))
    + wrong("pressing,speed_share=nan", "pressing,speed_share=1e300", "charted,prior_strokes=-1")
    + NAMES[:5]
    + CODE
)
CHARTS = either(
    "made.csv", "semicolons.csv", "semicolons-only.csv", "fast.csv", "mirrored.csv", 
    "=cmd.csv", "an\u202ena.csv", "cp1252.csv",
) + wrong(
    "nowhere.csv", "nested.toml", "bytes.csv", "quote.csv", "nan.csv", "/dev/zero", "empty.csv",
    "marks.csv", "formula.csv", "folder.csv", "loop.csv", "head.csv", "no-16.csv", "notes.txt", "",
    "anna.toml", "mine", "caf\udce9.csv", "x" * 300, "wide.csv",
) + either(*["made.csv"] * 6)  # fmt: skip
STUDIES = (
    wrong("exit-study.toml", "wild-study.toml", "import-study.toml", "quit-study.toml", "mine")
    + either("outside-study.toml", "marked-study.toml", "formula-study.toml", "place-study.toml")
    + either("dollar-study.toml", "title-study.toml", "huge-study.toml", "choice-study.toml")
    + either(*["made.toml"] * 8)
    + wrong("study.toml", "anna.toml", "chart.csv", "")
    + NO_FILES
)
FOLDERS = wrong(
    ".", "uv", "mine", "..", "mine/..", "notes.txt", "/proc/new", "../outside", "work/../mine",
    "", "notes.txt/new", "x" * 300, "folder.png", "new.lock", "loop.csv", "../work",
) + either(
    "a\u202eb", "\x1b[2J", "=1+1", "-new", "tiny", "caf\udce9", "new", "mine/new",
)  # fmt: skip
TEXTS = either(
    "An\u202ena", "\x1b[2J", "=1+1", "a\nb", "x" * 200, "", "a\x07", " ", "\udcff", "\u2066a\u2069",
    "\U0001f3be",
)  # fmt: skip
TOTALS = wrong(
    "31/40", "31,40", "1/2,3/4,5/6", "41/40,35/40", "31.5/40,35/40", "0/0,1/1", "-1/40,35/40", "",
    "31/40;35/40", "1/9999,1/2", "1e1/40,2/40", "\u0663/4,1/4", "1/2,\x1b[2J", "=1/2,1/2",
    "nan/1,1/1", f"{'9' * 5000}/1,1/1", "1/2,1/2\u202e",
)  # fmt: skip
OFFSETS = wrong("nan,1", "0.3,0.2", "1", "", "0.2;0.3", "-1,0.2")
TIMES = wrong(
    "10", "nan:2", "10:inf", "10:", ":", "10:2:3", "10 kg:2", "10:0.1", "\u202e10:2", "9" * 999
)
