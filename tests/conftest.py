"""What a test measured is printed at the end of the run, whichever process ran it. It never fails a test."""

from __future__ import annotations

import hypothesis
import pytest

# No test fails on a time: a busy machine, or a kernel compiled on its first call, is not a defect.
hypothesis.settings.register_profile("isohume", deadline=None, derandomize=True)
hypothesis.settings.load_profile("isohume")

MEASURED = "measured"


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The words that tests left with record_property("measured", words)."""
    reports = terminalreporter.getreports("passed") + terminalreporter.getreports("failed")
    for words in [value for report in reports for name, value in report.user_properties if name == MEASURED]:
        terminalreporter.write_line(str(words))
