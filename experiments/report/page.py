"""The report of a study, made from the result folder's files alone: two pages that open offline.

The report itself is for reading and stays short however large the study is: what it comes to for a
coach, what its words mean, what was found. All that grows with the study, and the method, is in the
details beside it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from jinja2 import Environment

from experiments.edition import changed_since, citation, edition_of, this_edition
from experiments.evidence.sensitivity.analysis import sections
from experiments.evidence.validation.answer import number as figure
from experiments.evidence.validation.rows import COMMAND, stored_record
from experiments.output.files import write_output
from experiments.output.templates import engine_of
from experiments.report.apart import apart_sentences
from experiments.report.coach import coached
from experiments.report.design import design_table
from experiments.report.findings import findings
from experiments.report.glossary import explained, glossary
from experiments.report.method import facts
from experiments.report.parameters import (
    decision_words,
    limit_rows,
    parameter_table,
    sources,
    status_counts,
    statuses_of,
)
from experiments.report.pictures import MISSED, POINTS, SETTING_WORDS, pictures
from experiments.report.race import races
from experiments.report.summary import answer
from experiments.report.tables import (
    choices_table,
    outcome_tables,
    pairing,
    short_table,
    turned,
    verdict_counts,
)
from experiments.report.where import where_sentences, where_tables
from experiments.report.worlds import sentences, worlds_of
from experiments.statistics.comparison import MARGIN
from experiments.study.columns import columns_of
from experiments.study.folder_files import DETAILS, REPORT
from experiments.study.outcome_names import fewer_missed, more_points
from experiments.study.policy_family import family_name
from experiments.study.race import looks_sentences
from experiments.study.result_folder import ResultFolder

LONG_SENTENCE = 300
FEW_SENTENCES = 3  # of an analysis, in the report itself
TEMPLATE_OF_DETAILS = "report_details.html"
MANIFEST_WORDS = {
    "version": "rally-recovery",
    "edition": "edition of the model",
    "commit": "commit",
    "source_hash": "hash of the source (SHA-256)",
    "python": "Python",
    "seed": "seed",
    "started": "started",
    "finished": "finished",
    "wall_s": "time taken (s)",
    "workers": "processes",
    "rows": "stroke rows",
}


def write_report(folder: Path) -> Path:
    """Write `folder`/report.html, and details.html beside it, from the folder's files; returns the
    path of the report.

    The pages need no network and run no script; figures are part of them, and every name is
    escaped. Each appears whole or not at all.

    Raises:
        InputError: the folder is not one that a study wrote, or a page cannot be written.
    """
    engine, shown = environment(), contents(ResultFolder.read(folder))
    details, report = (
        engine.get_template(n).render(**shown) for n in (TEMPLATE_OF_DETAILS, REPORT)
    )
    write_output(folder / DETAILS, details.encode(), "report's details")
    return write_output(folder / REPORT, report.encode(), "report")


def environment() -> Environment:
    """The template engine; every value is escaped, and a misspelt one is an error."""
    engine = engine_of("experiments", "data")
    engine.filters["format_g"] = lambda value: "\u2013" if value is None else figure(value)
    return engine


def contents(results: ResultFolder) -> dict[str, Any]:
    """What the template shows, section by section."""
    from experiments.report.credibility import SOURCE, factors  # run as a module, too

    return {
        "results": results,
        "study": results.study,
        "title": results.study.get("title") or "A study of recovery",
        "question": results.study.get("question", ""),
        "reference": results.reference,
        "margin": MARGIN,
        "worlds": worlds_of(results),
        "world_sentences": list(sentences(results)),
        "is_together": "low_together" in results.cells.columns,
        "own_depth": results.own_depth,
        "settings": {s: SETTING_WORDS.get(s, s) for s in results.names("setting")},
        **found(results),
        **method(results),
        **rests_on(results),
        "record": stored_record(),
        "record_command": COMMAND,
        "factors": factors(),
        "credibility_source": SOURCE,
        "columns": columns_of(results.path),
        "manifest_words": MANIFEST_WORDS,
        "edition": this_edition(),
        "made": (made := edition_of(results.manifest)),
        "changed": changed_since(made) if made else (),
        "citation": citation(results.manifest),
        "manifest": results.manifest,
    }


def found(results: ResultFolder) -> dict[str, Any]:
    """Summary and findings."""
    shown, reference = pictures(results), results.reference
    fewer, more = fewer_missed(reference), more_points(reference)
    tables = {
        "missed": outcome_tables(results, MISSED, False),
        "points": outcome_tables(results, POINTS, False),
        "fewer": outcome_tables(results, fewer, True),
        "more": outcome_tables(results, more, True),
    }
    counted = (
        ("balls missed", tables["fewer"], pairing(results, fewer)),
        ("points won", tables["more"], pairing(results, more)),
    )
    said = answer(results)
    return {
        "answer": said,
        "coached": coached(results),
        "glossary": glossary(results),
        "explained": list(explained(said, results)),
        "few": FEW_SENTENCES,
        "first_picture": shown[0] if shown else None,
        "pictures": shown[1:],
        "design": design_table(results),
        "parts": sections(results.path),
        "short": short_table(results),
        "where": where_tables(results),
        "findings": grouped_findings(results),
        "counts": [(words, verdict_counts(those), gain) for words, those, gain in counted if those],
        "choices": choices_table(results),
        **tables,
    }


def method(results: ResultFolder) -> dict[str, Any]:
    """What the methods text needs."""
    return {
        "m": facts(results),
        "races": races(results),
        "exactness": looks_sentences(results.path),
        "decisions": decision_words(results),
        "family": family_name(results.family) if results.family else "",
    }


def rests_on(results: ResultFolder) -> dict[str, Any]:
    """Parameters, how many are assumed, and where the values come from."""
    groups = parameter_table(results)
    counts = status_counts(groups)
    return {
        "parameters": groups,
        "status_counts": counts,
        "statuses": statuses_of(counts),
        "sources": sources(groups),
        "limits": limit_rows(results),
        "turned": turned(results),
    }


def grouped_findings(results: ResultFolder) -> list[tuple[str, bool, list[tuple[str, str]]]]:
    """The findings under headings: (heading, whether to show it at once, sentences in two).

    General ones come first, then those that begin with a level's name: the table at a glance
    shows the middle level already.
    """
    apart = list(apart_sentences(results.rows))
    left = [
        *apart,
        *findings(results.rows),
        *where_sentences(results),
        *looks_sentences(results.path),
    ]
    groups = []
    for level in results.names("level"):
        own = [s for s in left if s.startswith(f"{level},")]
        left = [s for s in left if s not in own]
        if own:
            said = [(s, "") if s in apart else in_two(s) for s in own]
            groups.append((level, False, said))
    general = [("Over all levels", True, [in_two(s) for s in left])] if left else []
    return general + groups


def in_two(sentence: str) -> tuple[str, str]:
    """A sentence and the rest of it that is shown on demand: a long list after a colon."""
    start, colon, rest = sentence.rpartition(": ")
    return (start, rest) if colon and len(sentence) > LONG_SENTENCE else (sentence, "")
