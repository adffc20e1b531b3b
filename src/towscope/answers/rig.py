"""A rig and what it answers: line for a depth, depth for a line, speed for both, with intervals.

>>> import towscope as ts
>>> ts.rig("demo").let_out(depth="28 ft", speed="2 mph")
demo: let out 155 ft (142 to 170 ft, 9 in 10) for 28 ft down at 2.0 mph
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from towscope import arguments
from towscope.answers.steady import (
    Asked,
    LetOutTable,
    LineShape,
    RigAnswer,
    let_out_table,
    rig_answer,
)
from towscope.arrays import Array
from towscope.errors import ArgumentError
from towscope.progress import Progress, unheard
from towscope.tackle.validate import outruns
from towscope.towing import questions
from towscope.towing.tow import draw

if TYPE_CHECKING:
    from towscope.answers.follow import FollowAnswer, Way
    from towscope.tackle.shelf import Shelf
    from towscope.towing.questions import Answer
    from towscope.towing.tow import Draws, Setting, Tow

Text = str | float
Current = str | Sequence[tuple[float, float, float]] | None


@dataclass(frozen=True)
class Rig:
    """A rig that can be asked; `towscope.rig` finds one by name.

    Arguments are text with units (``"28 ft"``, ``"4.5 colors"``, ``"2 mph"``) or figures in SI.

    Parameters
    ----------
    name : str
        Its name.
    shelf : Shelf
        The tackle that it is put together from.
    calibrated : bool
        Whether what its readings taught counts.

    Examples
    --------
    >>> import towscope as ts
    >>> demo = ts.rig("demo")
    >>> demo.depth(let_out="4 colors", speed="2 mph")
    demo: runs 27 ft down (24 to 30 ft, 9 in 10) on 150 ft at 2.0 mph
    >>> demo.with_(water="50 degF").let_out("28 ft", "2 mph").let_out_m > 45
    True
    """

    name: str
    shelf: Shelf = field(repr=False)
    calibrated: bool = True

    @cached_property
    def tow(self) -> Tow:
        """The engine's own description of the rig.

        Raises
        ------
        InputError
            Where the rig, its lure or a line is unknown, or its figures make no sense.
        """
        from towscope.calibration.calibrated_rig import calibrated_tow

        return calibrated_tow(self.shelf, self.name, calibrated=self.calibrated)

    @cached_property
    def draws(self) -> Draws:
        """Equally likely versions of it, which intervals are taken from."""
        return draw(self.tow)

    @property
    def title(self) -> str:
        """Its name as the crew wrote it."""
        return self.shelf.title(self.shelf.rig_key(self.name))

    def with_(
        self,
        *,
        lure: str | None = None,
        leader: Text | None = None,
        water: Text | None = None,
        calibrated: bool | None = None,
    ) -> Rig:
        """Give a copy that differs in what is named.

        Parameters
        ----------
        lure : str, optional
            Another lure of the tackle, by name.
        leader : str or float, optional
            Another length of the piece next to the lure.
        water : str or float, optional
            Temperature of the water.
        calibrated : bool, optional
            Whether what readings taught counts.

        Raises
        ------
        InputError
            Where there is no such lure, or a figure cannot be read.
        """
        return replace(
            self,
            shelf=self.shelf.changed(
                self.name,
                lure=lure or "",
                leader_m=None if leader is None else arguments.quantity(leader, "length", "leader"),
                water=None if water is None else arguments.water(water),
            ),
            calibrated=self.calibrated if calibrated is None else calibrated,
        )

    def let_out(self, depth: Text, speed: Text, *, current: Current = None) -> RigAnswer:
        """Answer how much line puts the lure at this depth at this speed.

        Parameters
        ----------
        depth, speed : str or float
            Depth of the lure [m]; speed over ground [m/s].
        current : str or sequence of (depth, along, across), optional
            ``"0.3 mph against"``, or layers from the top down [m, m/s, m/s].

        Raises
        ------
        NoAnswer
            Where the rig does not reach the depth; says what it reaches, and when.
        InputError
            Where an argument cannot be read or makes no sense.
        """
        deep, setting = arguments.depth(depth), arguments.setting(speed, current)
        return self._told(
            "let_out", questions.let_out_for(self.tow, deep, setting, self.draws), setting
        )

    def depth(self, let_out: Text, speed: Text, *, current: Current = None) -> RigAnswer:
        """Answer how deep the lure runs with this much line at this speed; as `let_out`."""
        setting = arguments.setting(speed, current)
        out = arguments.let_out(let_out, self.tow)
        return self._told("depth", questions.depth_of(self.tow, out, setting, self.draws), setting)

    def speed(
        self, depth: Text, let_out: Text, *, near: Text = "2 mph", current: Current = None
    ) -> RigAnswer:
        """Answer how fast to go for this depth on this much line; as `let_out`.

        Parameters
        ----------
        depth, let_out : str or float
            Depth of the lure, and line out [m].
        near : str or float
            Of several speeds that do it the nearest to this one comes first [m/s].
        current : str or sequence of (depth, along, across), optional
            As `let_out` takes it.
        """
        deep, setting = arguments.depth(depth), arguments.setting(near, current)
        out = arguments.let_out(let_out, self.tow)
        found = questions.speed_for(self.tow, out, deep, setting, self.draws)
        return replace(
            self._told("speed", found, setting.at_speed(found.speed)),
            speed_90_m_s=found.speed_90,
            other_speeds_m_s=found.other_speeds,
        )

    def table(
        self,
        depths: str | Sequence[Text],
        speeds: str | Sequence[Text],
        *,
        current: Current = None,
    ) -> LetOutTable:
        """Answer `let_out` for every depth at every speed.

        Parameters
        ----------
        depths, speeds : str or sequence of str or float
            Depths of the lure [m], speeds over ground [m/s], rising; text may be a list or a
            range: ``"10, 15, 20 ft"``, ``"1.4 to 2.6 mph by 0.2"``.
        current : str or sequence of (depth, along, across), optional
            As `let_out` takes it.
        """
        down, across = _depths(depths), _speeds(speeds)
        setting = arguments.setting(min(across), current)
        found = questions.table(self.tow, down, across, setting, self.draws)
        return let_out_table(self.name, self.tow, found, setting)

    def depths(
        self,
        let_outs: Sequence[Text],
        speeds: str | Sequence[Text],
        *,
        current: Current = None,
    ) -> Array:
        """Answer how deep the lure runs for every let-out at every speed, without intervals.

        Parameters
        ----------
        let_outs, speeds : sequence of str or float
            Line out, rising [m]; speeds over ground [m/s].
        current : str or sequence of (depth, along, across), optional
            As `let_out` takes it.

        Returns
        -------
        (n, m) array
            Depths [m]; NaN where there is not so much line, or where a current carries the water
            along as fast as the boat goes.

        Examples
        --------
        >>> import towscope as ts
        >>> ts.rig("demo").depths(["3 colors", "4 colors"], ["1.8 mph", "2.2 mph"]).round(1)
        array([[6.8, 5.6],
               [9.1, 7.5]])
        """
        outs = np.array(
            [
                arguments.let_out(each, self.tow) if isinstance(each, str) else each
                for each in let_outs
            ],
            dtype=float,
        )
        there = (outs > 0.0) & (outs <= self.tow.length)
        across = _speeds(speeds)
        setting = arguments.setting(max(across), current)
        found = np.full((len(outs), len(across)), np.nan)
        for j, speed in enumerate(across):
            if outruns(speed, setting.current):
                at = setting.at_speed(speed)
                found[there, j] = questions.depths_by_let_out(self.tow, outs[there], at)[:, 0]
        return found

    def shape(
        self, let_out: Text, speed: Text, *, spacing_m: float = 0.5, current: Current = None
    ) -> LineShape:
        """Give the line in the water and up to the rod tip.

        Parameters
        ----------
        let_out, speed : str or float
            Line out [m]; speed over ground [m/s].
        spacing_m : float
            Distance between points along the line, about [m].
        current : str or sequence of (depth, along, across), optional
            As `let_out` takes it.
        """
        setting = arguments.setting(speed, current)
        out = arguments.let_out(let_out, self.tow)
        points = questions.line_shape(self.tow, out, setting, spacing_m)
        return LineShape(*(np.ascontiguousarray(column) for column in points.T))

    def follow(
        self,
        track: Way,
        let_out: Text,
        *,
        every: Text = "1 s",
        current: str | None = None,
        tip: str | None = None,
        bottom: Text | None = None,
        lake: str | None = None,
        keep: Text | None = None,
        name: str | None = None,
        progress: Progress = unheard,
    ) -> FollowAnswer:
        """Answer where the lure ran behind a boat that went this way.

        Parameters
        ----------
        track : str, path or mapping of arrays
            The boat's track: a GPX file, an NMEA 0183 log or a table; or arrays ``time_s``,
            ``x_m``, ``y_m`` [s, m], or ``time_s``, ``lat``, ``lon`` [unix time, degrees].
        let_out : str or float
            Line out [m]; or the name of a table ``time_s,let_out`` that ends in ``.csv``.
        every : str or float
            Time between the moments given [s].
        current : str, optional
            ``"0.3 mph from west"``; "with" and "against" are meant for the first course.
        tip : str, optional
            Rod tip from where the fixes are taken: ``"5 ft to port, 8 ft behind"``.
        bottom : str or float, optional
            Depth of a level bottom [m].
        lake : str, optional
            A saved lake: its bottom.
        keep : str or float, optional
            Find the most line that stays this far off bottom all along [m].
        name : str, optional
            What to call the track.
        progress : callable, optional
            Called with the share done.

        Raises
        ------
        InputError
            Where an argument or the track is wrong.

        Examples
        --------
        How deep [m] does the lure run behind a boat that slows from 1.0 to 0.8 m/s?

        >>> import numpy as np
        >>> import towscope as ts
        >>> time = np.arange(0.0, 600.0, 5.0)
        >>> x = np.where(time < 300.0, time, 300.0 + 0.8 * (time - 300.0))
        >>> track = {"time_s": time, "x_m": x, "y_m": 0.0 * time}
        >>> ran = ts.rig("demo").follow(track, "150 ft", every="60 s")
        >>> ran.columns()["depth_m"].round(1)[[1, -1]]
        array([7.4, 9.1])
        """
        from towscope.answers.follow import follow_track

        return follow_track(
            self.name,
            lambda: self.tow,
            track,
            let_out,
            every=every,
            current=current,
            tip=tip,
            bottom=bottom,
            lake=lake,
            keep=keep,
            name=name,
            progress=progress,
        )

    def _told(self, asked: Asked, found: Answer, setting: Setting) -> RigAnswer:
        return rig_answer(self.name, self.tow, found, setting, asked)


def _depths(values: str | Sequence[Text]) -> list[float]:
    read = [arguments.depth(v, "depths") for v in arguments.series(values, "length", "depths")]
    if not read:
        raise ArgumentError("depths", ": expected one at least")
    return read


def _speeds(values: str | Sequence[Text]) -> list[float]:
    read = [arguments.speed(v, "speeds") for v in arguments.series(values, "speed", "speeds")]
    if not read:
        raise ArgumentError("speeds", ": expected one at least")
    return read


def rig(name: str, *, tackle: str | Path | Iterable[str | Path] = ()) -> Rig:
    """Find a rig by name, among the stock, the crew's own tackle and further files.

    Parameters
    ----------
    name : str
        The rig's name.
    tackle : path or iterable of path
        Tackle files laid over the stock and the crew's own.

    Raises
    ------
    InputError
        Where there is no such rig, or a file cannot be read.

    Examples
    --------
    >>> import towscope as ts
    >>> ts.rig("demo").speed(depth="30 ft", let_out="170 ft")
    demo: go 2.1 mph (1.9 to 2.4 mph, 9 in 10) for 30 ft down on 170 ft
    """
    shelf = _shelf(tackle)
    shelf.rig(name)
    return Rig(name, shelf)


def rigs(*, tackle: str | Path | Iterable[str | Path] = ()) -> list[str]:
    """Name the rigs that there are.

    Examples
    --------
    >>> import towscope as ts
    >>> "demo" in ts.rigs()
    True
    """
    return sorted(_shelf(tackle).rigs)


def _shelf(tackle: str | Path | Iterable[str | Path]) -> Shelf:
    from towscope.tackle import load

    files = [tackle] if isinstance(tackle, (str, Path)) else list(tackle)
    return load([Path(file) for file in files])
