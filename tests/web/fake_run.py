"""A lifelike feed of pictures of the run, by rule: a boat with four lines nears a rising edge.

`python tests/web/fake_run.py` serves the built pages over it, to look at: no lake, no engine.
"""

from __future__ import annotations

import asyncio
import json
import math
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.responses import StreamingResponse

from towscope.live.models import (
    Ahead,
    BoatNow,
    Bottom,
    Change,
    LineNow,
    Notice,
    Run,
    Targets,
    Unfollowed,
)
from towscope.web.pages_files import Pages

BEGIN = datetime(2026, 8, 14, 12, 20, tzinfo=UTC)
SPEED = 0.894  # [m/s]
COLOUR = 9.144  # [m]
# Rod, lure, its colour, line out [m], depth that gives [m], starboard of the wake [m], wanted [m]
RODS = (
    ("port", "small-minnow", "perch", 38.1, 8.4, -2.0, 8.5),
    ("starboard", "small-minnow", "silver", 33.5, 7.3, 2.0, 8.2),
    ("port board", "shad", "firetiger", 45.7, 9.6, -14.0, None),
    ("starboard board", "spoon", "copper", 24.4, 5.2, 14.0, 4.0),
)


def floor(way: float) -> float:
    """Depth of the bottom at a place along the way from the start [m]."""
    edge = 0.5 * (1.0 + math.tanh((way - 190.0) / 28.0))
    far = 0.5 * (1.0 + math.tanh((way - 420.0) / 50.0))
    return 12.6 - 4.4 * edge + 5.0 * far + 0.5 * math.sin(way / 23.0) + 0.25 * math.sin(way / 7.0)


def _shape(back: float, depth: float) -> list[tuple[float, float]]:
    """A sagging line from the lure up to the tip, 1 m above the water and 2 m behind the fix."""
    points = []
    for i in range(31):
        s = i / 30
        points.append((-back + (back - 2.0) * s, depth * (1.0 - s**1.35) - 1.0 * s**6))
    return points


def _line(way: float, second: float, row: tuple[Any, ...], targets: dict[str, float]) -> LineNow:
    rod, lure, colour, out, settled, side, wanted = row
    wanted = targets.get(rod, wanted)
    depth = settled + (0.25 * math.sin(second / 9.0 + side) if rod != "starboard board" else 0.0)
    if rod == "starboard":
        depth = settled - 1.4 * math.exp(-second / 60.0)  # it was just let out: still sinking
    back = 0.93 * out
    deep = floor(way - back)
    change = None
    if wanted is not None:
        by = (wanted - settled) * 4.3
        change = (
            Change(kind="none")
            if abs(by) < 0.6
            else Change(
                kind="let out" if by > 0 else "reel",
                let_out_m=round(out + by, 2),
                by_m=by,
                colors_out=None if rod == "starboard board" else (out + by - COLOUR) / COLOUR,
            )
        )
    times = [5.0 * i for i in range(25)]
    along = [-back + SPEED * t for t in times]
    then = [settled + (depth - settled) * math.exp(-t / 40.0) for t in times]
    return LineNow(
        rod=rod,
        rig=rod,
        lure=lure,
        colour=colour,
        size_m=0.05,
        let_out_m=out,
        colors_out=round((out - 9.144) / COLOUR, 3) if rod != "starboard board" else None,
        side_m=side,
        along_m=-back,
        depth_m=depth,
        depth_90_m=(depth - 0.5, depth + 0.6),
        settled_depth_m=settled,
        bottom_m=deep,
        off_bottom_m=deep - depth,
        off_bottom_low_m=deep - depth - 0.9,
        tension_n=4.0 + out / 20.0,
        shape=_shape(back, depth),
        target_m=wanted,
        change=change,
        ahead=Ahead(
            time_s=times,
            along_m=along,
            depth_m=then,
            low_m=[d - 0.6 for d in then],
            high_m=[d + 0.7 for d in then],
            bottom_m=[floor(way + a) for a in along],
            lat=[0.0] * 25,
            lon=[0.0] * 25,
        ),
        calibrated=rod == "port",
    )


def _notices(lines: list[LineNow]) -> list[Notice]:
    found = []
    for line in lines:
        before = 1.0
        pairs = zip(line.ahead.time_s, line.ahead.depth_m, line.ahead.bottom_m, strict=True)
        for t, d, b in pairs:
            assert b is not None
            if b - d < 0.0:
                t -= 5.0 * (d - b) / (d - b + before)
                found.append(
                    Notice(rod=line.rod, sure="will hit bottom", seconds=t, off_bottom_m=b - d)
                )
                break
            before = b - d
    return found


def _do(lines: list[LineNow], notices: list[Notice]) -> list[Change]:
    """What lifts them all: by 15 ft of line each, or more speed."""
    if not notices:
        return []
    rods = [notice.rod for notice in notices]
    left = min(notice.seconds for notice in notices) - 26.0
    (one, *others) = [line for line in lines if line.rod in rods]
    reel = Change(kind="reel", rods=rods, by_m=-4.572, latest_s=max(left, 0.0))
    if not others:
        reel.let_out_m = one.let_out_m - 4.572
    return [reel, Change(kind="speed", speed_m_s=1.028, latest_s=max(left, 0.0))]


def picture(second: float, targets: Targets | None = None, count: int | None = None) -> Run:
    """The picture so many seconds after the start.

    Parameters
    ----------
    second : float
        Since the start [s].
    targets : Targets, optional
        What was set since.
    count : int, optional
        Of the picture; the second if left out.
    """
    targets = Targets() if targets is None else targets
    way = SPEED * second
    lines = [_line(way, second, row, targets.depth_m) for row in RODS]
    notices = _notices(lines)
    along = [-120.0 + 4.0 * i for i in range(76)]
    return Run(
        count=int(second) if count is None else count,
        state="running",
        boat=BoatNow(
            at=BEGIN + timedelta(seconds=second),
            lat=48.4,
            lon=-91.9,
            course_deg=62.0,
            speed_m_s=SPEED,
            speed_is="through water",
            ground_speed_m_s=SPEED,
            depth_m=floor(way),
            depth_from="sounder",
            source="a made-up boat",
            age_s=0.2,
        ),
        bottom=Bottom(
            along_m=along,
            depth_m=[None if way + x > 600.0 else floor(way + x) for x in along],
            sd_m=[None if way + x > 600.0 else 0.15 + 0.002 * abs(x) for x in along],
        ),
        lines=lines,
        notices=notices,
        do=_do(lines, notices),
        keep_off_bottom_m=targets.keep_off_bottom_m,
    )


def in_state(state: str) -> Run:
    """A picture in one of the states in which nothing can be followed."""
    made = picture(10.0)
    made.state = state  # type: ignore[assignment]
    made.notices, made.do = [], []
    if state in ("no fix", "no lines", "not towing"):
        made.lines = []
    if state == "no fix":
        made.boat = BoatNow(at=BEGIN)
        made.bottom = Bottom()
    if state == "stale":
        made.boat.age_s = 25.0
        made.as_of = made.boat.at
    if state == "not towing":
        made.unfollowed = [Unfollowed(rod="port", why="the rig was not named when it was set")]
    return made


@dataclass
class Feed:
    """What the fake back end sends, to be changed while it runs.

    Attributes
    ----------
    second : float
        Of the picture to send next [s].
    going : bool
        Whether pictures are sent at all.
    still : Run or None
        Sent instead, over and over.
    """

    second: float = 0.0
    going: bool = True
    still: Run | None = None
    every: float = 1.0
    targets: Targets = field(default_factory=Targets)
    sent: list[Targets] = field(default_factory=list)
    count: int = 0
    stop: bool = False

    def next(self) -> Run:
        """Give the next picture."""
        self.count += 1
        if self.still is not None:
            return self.still.model_copy(update={"count": self.count})
        made = picture(self.second, self.targets, self.count)
        self.second += self.every
        return made


def fake_app(feed: Feed, pages: Path | None = None) -> FastAPI:
    """The built pages over a made-up feed; everything else of the back end is not there."""
    from towscope.web.routes import hello

    app = FastAPI()
    app.state.aboard = type("Nobody", (), {"demo": True, "lake": "Long Slate"})()
    app.include_router(hello.router)

    @app.get("/api/run")
    def run() -> Run:
        return feed.next()

    @app.get("/api/run/targets")
    def targets() -> Targets:
        return feed.targets

    @app.put("/api/run/targets")
    def put(new: Targets) -> Targets:
        feed.targets = new
        feed.sent.append(new)
        return new

    @app.get("/api/journal/clock")
    def clock() -> dict[str, Any]:
        now = datetime.now(UTC).isoformat()
        return {"now": now, "source": "computer", "computer_behind_s": 0.0}

    @app.get("/api/stream")
    async def stream() -> StreamingResponse:
        async def events() -> AsyncIterator[str]:
            while not feed.stop:
                if feed.going:
                    body = feed.next().model_dump(mode="json")
                    yield f"event: run\ndata: {json.dumps(body)}\n\n"
                await asyncio.sleep(feed.every)

        return StreamingResponse(events(), media_type="text/event-stream")

    if pages is None:
        import towscope.web.app

        pages = towscope.web.app.PAGES
    app.mount("/", Pages(directory=pages, html=True), name="pages")
    return app


if __name__ == "__main__":
    import uvicorn

    uvicorn.run(fake_app(Feed(second=120.0)), port=8765, log_level="warning")
