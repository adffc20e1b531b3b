"""What could not be checked on this machine is said at the end of the run, and what to install.

A skipped test is a check that was not made. Each reason is told once, with how many tests it
stopped. With ``TOWSCOPE_CHECK_ALL`` set, as where the project is checked for good, the run fails
where anything was left out.
"""

from __future__ import annotations

import os
from collections import Counter

import pytest
from _pytest.terminal import TerminalReporter

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
NO_CHROMIUM = (
    f"the pages in a browser: no Chromium at {CHROMIUM}; "
    "install it (Debian's package chromium), or name one in CHROMIUM"
)
NO_POPPLER = "what is printed, as a page: no pdftoppm; install it (Debian's package poppler-utils)"
NO_POSTGRES = (
    "the journal in PostgreSQL: no server is installed; install one (Debian's package postgresql)"
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave out what needs a browser, where there is none, before anything is started for it."""
    if os.access(CHROMIUM, os.X_OK):
        return
    without = pytest.mark.skip(reason=NO_CHROMIUM)
    for item in items:
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker(without)


def left_out(config: pytest.Config) -> Counter[str]:
    """Count the skipped tests by their reason."""
    terminal = config.pluginmanager.getplugin("terminalreporter")
    if not isinstance(terminal, TerminalReporter):
        return Counter()
    found: Counter[str] = Counter()
    for report in terminal.stats.get("skipped", []):
        told = report.longrepr
        reason = told[2] if isinstance(told, tuple) else str(told)
        found[reason.removeprefix("Skipped: ")] += 1
    return found


def _all_wanted() -> bool:
    return bool(os.environ.get("TOWSCOPE_CHECK_ALL"))


@pytest.hookimpl(tryfirst=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """Fail where all was to be checked and something was not."""
    worker = hasattr(session.config, "workerinput")  # the controller hears from all of them
    if not worker and session.exitstatus == 0 and _all_wanted() and left_out(session.config):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: TerminalReporter) -> None:
    """Say what was not checked."""
    found = left_out(terminalreporter.config)
    if not found:
        return
    terminalreporter.section("not checked on this machine", yellow=True, bold=True)
    for reason, count in found.most_common():
        tests = "1 test" if count == 1 else f"{count} tests"
        terminalreporter.write_line(f"{tests}: {reason}")
    if _all_wanted():
        terminalreporter.write_line(
            "TOWSCOPE_CHECK_ALL is set, so this run counts as failed.", red=True
        )
