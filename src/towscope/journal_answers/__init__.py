"""A journal of days on the water and what it answers: log, effort, pattern, what next, reports.

>>> import towscope as ts
>>> with ts.open_journal() as journal:
...     _ = journal.log("out port rig demo 170 ft")
...     journal.log("catch port 21.5in released walleye").words
['catch port: walleye 21.5 in, released, about 3.9 lb']
"""

from towscope.journal_answers.forms import DayReport, Effort, JournalDay, Logged
from towscope.journal_answers.journal import Journal, open_journal, rescue_journal

__all__ = [
    "DayReport", "Effort", "Journal", "JournalDay", "Logged", "open_journal", "rescue_journal",
]  # fmt: skip
