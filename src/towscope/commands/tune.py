"""Command about what marks teach of a rig: tune."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towscope.commands.common import Json, Tackle, Units, console, emit, quantity, system
from towscope.commands.rigging import RigName
from towscope.errors import InputError, one_line

if TYPE_CHECKING:
    from collections.abc import Callable

    from towscope.tackle.shelf import Shelf
    from towscope.towing.tow import Tow
    from towscope.tuning.findings import Findings
    from towscope.tuning.marks import Mark
    from towscope.tuning.posterior import Posterior

Key = tuple[str, str]

MarksFile = Annotated[
    str,
    typer.Argument(
        metavar="[MARKS]",
        help='A table "time,rig,let_out [ft],speed [mph],bottom_depth [ft],kind[,error [ft]]"; '
        "kind is touch, soft touch, first touch, clear, logger or sonar. Or `journal`: the "
        "touches in yours.",
    ),
]
Show = Annotated[bool, typer.Option("--show", help="Tell what is kept of this rig; add nothing.")]
Forget = Annotated[bool, typer.Option("--forget", help="Take this rig's marks out again.")]
Since = Annotated[
    str, typer.Option("--since", help="Leave out this rig's marks before a date: 2026-08-20.")
]
TrackOf = Annotated[
    Path | None,
    typer.Option("--track", help="The boat's track: where the lure was, and how it had turned."),
]
Lake = Annotated[
    str, typer.Option("--lake", help="A lake you keep: its bottom under the lure, with --track.")
]
Deepest = Annotated[
    str, typer.Option("--deepest", help='Deepest bottom you could mark over next: "45 ft".')
]
Dry = Annotated[bool, typer.Option("--dry-run", help="Tell what the marks say; keep nothing.")]
Picture = Annotated[
    Path | None, typer.Option("-o", "--output", help="Write a picture: .png, .svg or .pdf.")
]
MANY = 300
ENDINGS = (".png", ".svg", ".pdf")


def register(app: typer.Typer) -> None:
    """Add this command to the application."""
    app.command()(tune)


def tune(
    rig: RigName,
    marks: MarksFile = "",
    show: Show = False,
    forget: Forget = False,
    since: Since = "",
    track: TrackOf = None,
    lake: Lake = "",
    tip: Annotated[
        str,
        typer.Option("--tip", help='Rod tip from where fixes are taken: "5 ft to port, 8 ft aft".'),
    ] = "",
    deepest: Deepest = "60 ft",
    dry_run: Dry = False,
    tackle: Tackle = None,
    output: Picture = None,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Learn from bottom touches how this line and lure run; every later answer uses it."""
    from towscope.tackle import load
    from towscope.tuning import keep

    shown = system(units)
    _check_words(marks, show, forget, track, lake, output)
    deepest_m = quantity(deepest, "length", "--deepest")
    shelf = load(tackle or ())
    shelf.rig(rig)
    kept = keep.load()
    old = keep.marks_of(kept)
    if forget:
        _forget(rig, old, shelf, as_json)
        return
    new: list[Mark] = []
    notes: list[str] = []
    if marks:
        new, notes = _new_marks(marks, rig, shelf, track, lake, tip)
    if since:
        old, new = (_later(group, rig, since) for group in (old, new))
    every = keep.join(old, new)
    if not every or (show and not _any_of(every, rig, shelf)):
        raise InputError(
            f"no marks are kept that tell of {rig}; expected `towscope tune {rig} MARKS`"
        )
    every, lost = _known(every, shelf)
    notes += lost
    with _busy(len(every)):
        posterior, tows = _infer(every, shelf)
    lure = shelf.rig(rig).lure
    tows.setdefault((rig, lure), shelf.tow(rig))
    from towscope.tuning.findings import findings

    found = findings(posterior, rig, lure, tows[rig, lure], deepest=deepest_m)
    if kept is not None:
        changed = keep.stale(tows[rig, lure], lure, kept)
        notes += [f"{name} is stated otherwise than when it was tuned" for name in changed]
    written = None
    if not show and not dry_run:
        from datetime import datetime

        made = datetime.now().astimezone().isoformat(timespec="seconds")
        written = str(keep.save(posterior, tows, made))
    if output is not None:
        from towscope.files import write_whole
        from towscope.sheets.tuning import picture

        write_whole(output, picture(found, posterior, shown, output.suffix.lower()[1:]))
    if as_json:
        emit(_answer(found, posterior, len(new), notes, written, output))
        return
    from towscope.sheets.tuned import summary

    for text in summary(found, shown, len(new), notes, kept=written is not None):
        console().print(text)
    if output is not None:
        typer.echo(f"wrote {output}")


def _check_words(
    marks: str, show: bool, forget: bool, track: Path | None, lake: str, output: Path | None
) -> None:
    if output is not None and output.suffix.lower() not in ENDINGS:
        raise InputError(f"-o {output}: expected a name that ends in {', '.join(ENDINGS)}")
    if sum((bool(marks), show, forget)) != 1:
        raise InputError("expected MARKS, --show or --forget: one of them")
    if lake and track is None and marks != "journal":
        raise InputError("--lake needs --track: without it nobody knows where the lure was")


def _tow_of(shelf: Shelf) -> Callable[[str, str], Tow]:
    tows: dict[Key, Tow] = {}

    def tow_of(rig: str, lure: str) -> Tow:
        if (rig, lure) not in tows:
            own = shelf
            if lure and shelf.rig(rig).lure != lure:
                other = shelf.rig(rig).model_copy(update={"lure": lure})
                own = replace(shelf, rigs={**shelf.rigs, rig: other})
            tows[rig, lure] = own.tow(rig)
        return tows[rig, lure]

    return tow_of


def _new_marks(
    marks: str, rig: str, shelf: Shelf, track: Path | None, lake: str, tip: str
) -> tuple[list[Mark], list[str]]:
    from towscope.tuning.marks import read_marks

    tow_of = _tow_of(shelf)
    bottom = _bottom(lake) if lake else None
    if marks == "journal" and not Path(marks).exists():
        from towscope.commands.tuning_journal import journal_marks

        return journal_marks(rig, shelf, tow_of, bottom, tip)
    read = read_marks(Path(marks), rig, tow_of, speeds_known=track is None)
    named = [replace(m, lure=m.lure or shelf.rig(m.rig).lure) for m in read]
    if track is None:
        return named, []
    from towscope.boat.clean import clean
    from towscope.boat.read import read_fixes
    from towscope.commands.tuning_journal import place_marks

    way = clean(read_fixes(track))
    return place_marks(named, way, tow_of, bottom, tip), list(way.repairs)


def _bottom(lake: str) -> Callable[[float, float], tuple[float, float, float]]:
    """Give depth, its standard error [m] and slope of a kept lake's bed by place on the globe."""
    import math

    from towscope.lake.store import load

    bed = load(lake)

    def at(latitude: float, longitude: float) -> tuple[float, float, float]:
        x, y = (float(v[0]) for v in bed.place.to_metres([latitude], [longitude]))
        if not bed.on_water(x, y):
            return math.nan, math.nan, math.nan
        depth, east, north, sd = (float(v) for v in bed.sample([x], [y])[0])
        return depth, sd, math.hypot(east, north)

    return at


def _later(marks: list[Mark], rig: str, since: str) -> list[Mark]:
    from datetime import date

    try:
        first = date.fromisoformat(since).isoformat()
    except ValueError:
        raise InputError(f'--since "{one_line(since, 30)}": expected such as 2026-08-20') from None
    return [m for m in marks if m.rig != rig or not m.day or m.day >= first]


def _any_of(marks: list[Mark], rig: str, shelf: Shelf) -> bool:
    own = shelf.rig(rig)
    lines = {piece.line for piece in own.line}
    return any(
        m.rig == rig
        or m.lure == own.lure
        or (m.rig in shelf.rigs and lines & {p.line for p in shelf.rig(m.rig).line})
        for m in marks
    )


def _known(marks: list[Mark], shelf: Shelf) -> tuple[list[Mark], list[str]]:
    """Leave out kept marks of tackle that is no longer aboard."""
    good = [m for m in marks if m.rig in shelf.rigs and m.lure in shelf.lures]
    gone = sorted({m.rig for m in marks} - {m.rig for m in good})
    if not good:
        raise InputError(f"the marks are of tackle that is not aboard: {', '.join(gone)}")
    lost = len(marks) - len(good)
    return good, [f"{lost} marks of tackle not aboard are left out"] if lost else []


def _busy(marks: int) -> Any:
    """Show that work is going on, where there is much of it."""
    from contextlib import nullcontext

    terminal = console(stderr=True)
    if marks < MANY or not terminal.is_terminal:
        return nullcontext()
    return terminal.status(f"weighing {marks:,} marks; some thousand take a minute or two")


def _infer(marks: list[Mark], shelf: Shelf) -> tuple[Posterior, dict[Key, Tow]]:
    from towscope.tuning.model import Customs, Problem
    from towscope.tuning.posterior import infer

    tow_of = _tow_of(shelf)
    tows = {(m.rig, m.lure): tow_of(m.rig, m.lure) for m in marks}
    return infer(Problem(marks, tows, Customs())), tows


def _forget(rig: str, old: list[Mark], shelf: Shelf, as_json: bool) -> None:
    from datetime import datetime

    from towscope.tuning import keep

    left = [m for m in old if m.rig != rig]
    gone = len(old) - len(left)
    if not gone:
        raise InputError(f"no marks of {rig} are kept; nothing to forget")
    if left:
        known, _ = _known(left, shelf)
        posterior, tows = _infer(known, shelf)
        keep.save(posterior, tows, datetime.now().astimezone().isoformat(timespec="seconds"))
    else:
        keep.forget_all()
    if as_json:
        emit({"rig": rig, "forgotten_marks": gone, "marks_left": len(left)})
        return
    rest = f"; {len(left)} of other rigs stay" if left else ""
    typer.echo(f"forgot {gone} marks of {rig}{rest}")


def _answer(
    found: Findings,
    posterior: Posterior,
    new: int,
    notes: list[str],
    written: str | None,
    output: Path | None,
) -> dict[str, Any]:
    lesson, change = found.lesson, found.change
    spread = posterior.z.std(0)
    return {
        "rig": found.rig,
        "lure": found.lure,
        "marks_new": new,
        "marks_of_rig": len(found.readings),
        "marks_of_others": found.others,
        "color_length_m": found.color,
        "depth_per_color_at_2_mph_before_m": found.per_color_before[1],
        "depth_per_color_at_2_mph_before_90_m": found.per_color_before[::2],
        "depth_per_color_at_2_mph_m": found.per_color_after[1],
        "depth_per_color_at_2_mph_90_m": found.per_color_after[::2],
        "usual": [
            {
                "let_out_m": s.let_out, "speed_m_s": s.speed,
                "before_depth_m": s.before[1], "before_depth_90_m": s.before[::2],
                "depth_m": s.after[1], "depth_90_m": s.after[::2],
            }
            for s in found.usual
        ],
        "marks": [
            {
                "rig": r.mark.rig, "lure": r.mark.lure, "time_s": r.mark.time, "day": r.mark.day,
                "kind": r.mark.kind, "let_out_m": r.mark.let_out, "speed_m_s": r.mark.speed,
                "marked_depth_m": r.mark.depth, "error_m": r.mark.error,
                "depth_m": r.depth, "depth_90_m": r.depth_90,
                "wrong_probability": r.wrong, "pull_m": r.pull,
                "moving_ratio": r.mark.ratio, "where": r.mark.where,
            }
            for r in found.readings
        ],
        "open": found.open,
        "next_mark": None if lesson is None else {
            "let_out_m": lesson.let_out, "speed_m_s": lesson.speed, "depth_m": lesson.depth,
            "half_width_m": lesson.half_width, "half_width_after_m": lesson.after,
        },
        "change": None if change is None else {
            "since": change.since or None, "odds": change.odds, "deeper_m": change.deeper,
        },
        "misfit": found.misfit,
        "figures": [
            {
                "name": f.name, "mean": float(posterior.x[:, j].mean()),
                "sd": float(posterior.x[:, j].std()), "stated_sd": f.sd,
                "unsure_ratio": float(spread[j]),
            }
            for j, f in enumerate(posterior.problem.figures)
        ],
        "notes": notes,
        "written": written,
        "picture": None if output is None else str(output),
    }  # fmt: skip
