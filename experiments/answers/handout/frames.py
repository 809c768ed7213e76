"""Where everything stands on the handout's sheet: boxes in inches for each paper."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from experiments.drawing.text_boxes import Box
from sim.errors import named

MM = 1 / 25.4
PAPERS = {"a4": (210 * MM, 297 * MM), "letter": (8.5, 11.0)}  # ISO 216; ANSI/ASME Y14.1, inches
MARGIN, GUTTER, BETWEEN = 0.5, 0.28, 0.14
HEADER, QUESTION, FOOT, PRINT, HEAD = 0.6, 1.42, 1.08, 0.16, 0.26
SHORT_QUESTION = 0.4
PICTURE_SHARE = 0.54  # of what the rows of the picture and of the plan have together
PICTURE_WIDTH, PLAN_WIDTH, ROWS_WIDTH = 2.35, 1.6, 1.5
CAPTION, TICKS, AXIS = 0.7, 0.18, 0.16
ROW, HEAD_ROW = 0.215, 0.36


@dataclass(frozen=True)
class Frames:
    """Where everything stands on the page."""

    header: Box
    question: Box
    picture: Box
    findings: Box
    plan_head: Box
    plan: Box
    table: Box
    drill: Box
    cautions: Box
    not_modelled: Box
    small_print: Box


def require_paper(paper: str) -> str:
    """The paper's own name, however it was written.

    Raises:
        InputError: it is none of PAPERS; says which there are.
    """
    return named("paper", paper, PAPERS)


def frames(paper: str, question_in: float, foot: float) -> Frames:
    """The boxes of the page on that paper; what question and foot leave goes to the others.

    Raises:
        InputError: an unknown paper.
    """
    paper = require_paper(paper)
    width, height = PAPERS[paper]
    inner, left = width - 2 * MARGIN, MARGIN
    header = Box(left, height - MARGIN, inner, HEADER)
    small_print = Box(left, MARGIN + PRINT, inner, PRINT)
    half = (inner - GUTTER) / 2
    cautions = Box(left, small_print.top + BETWEEN / 2 + foot, half, foot)
    not_modelled = dataclasses.replace(cautions, left=left + half + GUTTER)
    top, bottom = header.bottom - BETWEEN, cautions.top + BETWEEN
    rows = top - bottom - BETWEEN
    picture = Box(left, top, PICTURE_WIDTH, PICTURE_SHARE * rows)
    beside = picture.right + GUTTER
    question = Box(beside, top, left + inner - beside, question_in)
    rest = picture.height - question_in - BETWEEN
    findings = Box(beside, question.bottom - BETWEEN, question.width, rest)
    plan_head = Box(left, picture.bottom - BETWEEN, inner, HEAD)
    tall = plan_head.bottom - bottom
    plan = Box(left, plan_head.bottom, PLAN_WIDTH, tall)
    beside = plan.right + GUTTER
    table = Box(beside, plan.top, left + inner - beside, HEAD_ROW + 5 * ROW + TICKS + AXIS)
    drill = Box(beside, table.bottom - BETWEEN, table.width, tall - table.height - BETWEEN)
    return Frames(
        header,
        question,
        picture,
        findings,
        plan_head,
        plan,
        table,
        drill,
        cautions,
        not_modelled,
        small_print,
    )
