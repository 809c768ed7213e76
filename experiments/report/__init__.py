"""The report of a study: one page that opens offline, made from the result folder's files alone."""

from experiments.report.page import environment, write_report

__all__ = ["environment", "write_report"]
