"""Reader of a track from a log of NMEA 0183 sentences.

Taken are RMC, GGA and GLL (places) and ZDA (dates), from any talker. What a bad cable or a torn
line spoils fails its checksum and is counted, never believed.
"""

from __future__ import annotations

from collections import Counter
from datetime import date
from itertools import islice
from pathlib import Path

import numpy as np

from towscope.boat.track import Fixes
from towscope.errors import InputError, one_line
from towscope.formats.nmea import PLACES, SENTENCE, Fix, TalkReader
from towscope.words import counted

MOST_BYTES = 250_000_000


def read_nmea(path: Path) -> Fixes:
    """Read a track from a log of NMEA 0183 sentences.

    Parameters
    ----------
    path : Path
        The log; what else stands in or between its lines is passed over.

    Returns
    -------
    Fixes
        The fixes of one kind of sentence and one talker: of the best kind that the log has, and
        of that the talker with most to say.

    Raises
    ------
    InputError
        Where there is no whole sentence with a fix.

    See Also
    --------
    towscope.formats.nmea.TalkReader : what reads the sentences.
    """
    shown = one_line(path.name, 60)
    expected = "a log of NMEA 0183 sentences with RMC, GGA or GLL"
    size = path.stat().st_size
    if size > MOST_BYTES:
        raise InputError(
            f"{shown} is {size / 1e6:.0f} MB; expected {expected} of at most "
            f"{MOST_BYTES / 1e6:.0f} MB, some days: cut it by days"
        )
    text = path.read_bytes().decode("latin-1")
    seen = Counter((m[1], m[2]) for m in SENTENCE.finditer(text))
    by_kind = Counter[str]()
    for (_, kind), count in seen.items():
        by_kind[kind] += count
    most = max((by_kind[kind] for kind in PLACES), default=0)
    if not most:
        raise InputError(f"{shown} holds no RMC, GGA or GLL sentence; expected {expected}")
    fixes: list[Fix] = []
    listener = TalkReader()
    for kind in PLACES:
        if not by_kind[kind]:
            continue
        first = islice((m[0] for m in SENTENCE.finditer(text) if m[2] in (kind, "ZDA")), 2000)
        checked = any("*" in sentence for sentence in first)
        listener = TalkReader(kinds=(kind,), strict=checked)
        listener.day = _first_day(text)  # it may be said later than the first fix
        found = [fix for fix in listener.hear(text) if isinstance(fix, Fix)]
        if len(found) > len(fixes):
            fixes, used, chosen, strict = found, listener, kind, checked
        if 2 * len(found) > most:
            break
    if not fixes:
        spoilt = counted(listener.spoilt, "spoilt sentence") if listener.spoilt else ""
        void = f"{listener.void:,} without a fix" if listener.void else ""
        what = ", ".join(filter(None, (spoilt, void, listener.unmeasured())))
        raise InputError(f"{shown} holds no fix of a receiver ({what}); expected {expected}")
    talkers = Counter(fix.talker for fix in fixes)
    talker = max(talkers, key=lambda t: (talkers[t], t == "GN"))
    notes = []
    if used.spoilt:
        notes.append(f"left out {counted(used.spoilt, 'spoilt sentence')} ({used.why()})")
    if used.void:
        notes.append(f"left out {counted(used.void, 'sentence')} without a fix")
    if used.unmeasured():
        notes.append(f"left out places that no receiver measured: {used.unmeasured()}")
    if not strict:
        notes.append("the log has no checksums: sentences are taken as they are")
    if len(talkers) > 1:
        others = ", ".join(sorted(t for t in talkers if t != talker))
        notes.append(f"{chosen} sentences of several talkers: {talker} is used, not {others}")
    own = [fix for fix in fixes if fix.talker == talker]
    dated = own[0].dated
    moments = np.array([fix.time for fix in own])
    if not dated:
        moments -= moments[0]
        notes.append("the log has no date: times count from its first fix")
    return Fixes(
        moments,
        np.array([fix.latitude for fix in own]),
        np.array([fix.longitude for fix in own]),
        True,
        dated,
        (),
        tuple(notes),
        shown,
    )


def _first_day(text: str) -> date | None:
    """Give the first day that any whole sentence of a log says."""
    listener = TalkReader(kinds=("RMC",), strict=False)
    for match in SENTENCE.finditer(text):
        if match[2] in ("RMC", "ZDA"):
            listener.take(match[0])
            if listener.day is not None:
                return listener.day
    return None
