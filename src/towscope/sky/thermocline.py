"""Steepest density gradient of a temperature profile: the thermocline, and a depth below it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from towscope.answer_forms import AnswerForms
from towscope.arrays import Array
from towscope.errors import InputError, one_line
from towscope.units import shown_units
from towscope.water import density
from towscope.words import counted

METHOD = "Read et al. (2011): steepest density gradient, weighed by its neighbours"
SLOPE = 0.1  # [kg/m^3/m]; the least gradient of a metalimnion, after the same paper
MIXED = (
    1.0  # [degC]; a column that differs less from top to bottom is mixed (the paper's own limit)
)
MOST_ROWS = 10_000
# how programs write that a figure is missing
NOTHING = ("", "na", "n/a", "nan", "null", "none", "-", "--", ".", "-9999", "-999")


@dataclass(frozen=True)
class Column:
    """A temperature profile.

    Attributes
    ----------
    depth : (n,) array
        Depths, increasing [m].
    temperature : (n,) array
        Temperatures [degC].
    notes : tuple of str
        What the reader had to leave out.
    """

    depth: Array
    temperature: Array
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        d, t = self.depth, self.temperature
        if d.size < 3:
            left = f" ({'; '.join(self.notes)})" if self.notes else ""
            raise InputError(
                f"a profile of {counted(d.size, 'reading')}{left}: expected at least "
                "three, from the surface down"
            )
        if not (np.isfinite(d).all() and np.isfinite(t).all()):
            raise InputError("a profile with missing figures: expected a depth and a temperature")
        if (d < 0.0).any():
            raise InputError(f"a depth of {d.min():g} m: expected depths below the surface")
        if (np.diff(d) <= 0.0).any():
            raise InputError("two readings at one depth: expected one temperature for each depth")
        if (t < 0.0).any() or (t > 35.0).any():
            wrong = t[(t < 0.0) | (t > 35.0)][0]
            raise InputError(
                f"a temperature of {wrong:g} degC in a lake: expected 0 to 35 degC (degrees "
                "Fahrenheit? then write degF)"
            )


@dataclass(frozen=True, repr=False)
class Layers(AnswerForms):
    """How a column of water is layered.

    Attributes
    ----------
    thermocline_m : float or None
        Depth where the density grows fastest [m]; None where the water is mixed.
    metalimnion_m : (float, float) or None
        The layer of fast change round it [m].
    steepest_degc_per_m : float
        The steepest change of temperature with depth [degC/m].
    surface_degc : float
        Temperature at the top [degC].
    method : str
        After whom.
    depth_m : float or None
        Where the lure is to run [m].
    below_thermocline : bool
        Whether that is below it.
    warning : str or None
        What to mind then.
    notes : tuple of str
        What of the profile was left out.
    """

    thermocline_m: float | None
    metalimnion_m: tuple[float, float] | None
    steepest_degc_per_m: float
    surface_degc: float
    method: str = METHOD
    depth_m: float | None = None
    below_thermocline: bool = False
    warning: str | None = None
    notes: tuple[str, ...] = ()

    def for_lure(self, depth: float) -> Layers:
        """Give it with the warning where a lure at this depth [m] would run below it."""
        said = warning(self, depth)
        return replace(self, depth_m=depth, below_thermocline=said is not None, warning=said)

    def __repr__(self) -> str:
        shown = shown_units()
        if self.thermocline_m is None or self.metalimnion_m is None:
            return "mixed from top to bottom: no thermocline"
        return (
            f"thermocline at {shown.show(self.thermocline_m, 'length', 1)}; fast change from "
            f"{shown.range(*self.metalimnion_m, 'length', 1)}"
        )


def layers(column: Column) -> Layers:
    """Find the thermocline of a column.

    The density gradient of each interval between readings is taken; the steepest marks the
    thermocline, whose depth is then weighed between the middles of the neighbouring intervals by
    how much less steep these are. The metalimnion is where the gradient around it exceeds
    0.1 kg/m^3 per metre.

    Parameters
    ----------
    column : Column
        The profile.

    Returns
    -------
    Layers
        The layers.

    References
    ----------
    Read, Hamilton, Jones, Muraoka, Winslow, Kroiss, Wu & Gaiser (2011), Environ. Model. Softw.
    26:1325-1336, section 2 (thermocline, metalimnion).

    Examples
    --------
    An August column: warm to 7 m, cold from 11 m down. Where is the thermocline? A little above
    the steepest fall of temperature, since warm water changes its density faster.

    >>> import numpy as np
    >>> d = np.arange(0.0, 16.0)
    >>> t = 8.0 + 14.0 / (1.0 + np.exp((d - 9.0) / 0.8))
    >>> round(layers(Column(d, t)).thermocline_m, 1)
    8.6
    """
    d, t = column.depth, column.temperature
    rho = np.array([density(float(v)) for v in t])
    thick = np.diff(d)
    steep = np.diff(rho) / thick
    middle = 0.5 * (d[:-1] + d[1:])
    warm = -np.diff(t) / thick
    gradient = float(warm[np.argmax(np.abs(warm))])
    k = int(np.argmax(steep))
    if float(t.max() - t.min()) < MIXED or steep[k] <= 0.0:
        return Layers(None, None, gradient, float(t[0]), notes=column.notes)
    at = float(middle[k])
    if 0 < k < steep.size - 1:
        above, below = steep[k] - steep[k - 1], steep[k] - steep[k + 1]
        # The gentler the fall of the gradient on one side, the more the true maximum leans there.
        lean_up = (middle[k] - middle[k - 1]) / max(above, 1e-12)
        lean_down = (middle[k + 1] - middle[k]) / max(below, 1e-12)
        share = lean_down / (lean_up + lean_down)
        at = float(d[k] * (1.0 - share) + d[k + 1] * share)
    limit = min(SLOPE, float(steep[k]) * 0.999)
    first = last = k
    while first > 0 and steep[first - 1] > limit:
        first -= 1
    while last < steep.size - 1 and steep[last + 1] > limit:
        last += 1
    top = _crossing(middle, steep, first, first - 1, limit, float(d[0]))
    bottom = _crossing(middle, steep, last, last + 1, limit, float(d[-1]))
    spread = (min(top, at), max(bottom, at))
    return Layers(at, spread, gradient, float(t[0]), notes=column.notes)


def _crossing(
    middle: Array, steep: Array, inner: int, outer: int, limit: float, end: float
) -> float:
    if not 0 <= outer < steep.size:
        return end
    share = (steep[inner] - limit) / (steep[inner] - steep[outer])
    return float(middle[inner] + share * (middle[outer] - middle[inner]))


def warning(found: Layers, depth: float) -> str | None:
    """Say it plainly where a wanted depth lies below the thermocline.

    Parameters
    ----------
    found : Layers
        The layers.
    depth : float
        Depth of the lure [m].

    Returns
    -------
    str or None
        The warning; None where there is nothing to say.

    Notes
    -----
    That a stratified lake may lack oxygen below its thermocline in late summer is general
    limnology (Wetzel, Limnology, 3rd ed., ch. 9; from memory); whether this one does, only a meter
    or the fish can tell.
    """
    if found.thermocline_m is None or depth <= found.thermocline_m:
        return None
    return (
        f"{depth:.1f} m is below the thermocline ({found.thermocline_m:.1f} m): in a layered lake "
        "in summer the water there may hold too little oxygen for fish; look for sonar marks "
        "before running lines so deep"
    )


def parse(text: str) -> Column:
    """Read a profile typed in: ``"0 m 22 degC, 3 m 21.5 degC, 6 m 18 degC"``.

    Units may be given once, with the first pair, where all have the same.

    Raises
    ------
    InputError
        Where a pair cannot be read or has no unit.

    Examples
    --------
    >>> parse("0 ft 72 degF, 20 70, 30 55").depth.round(1).tolist()
    [0.0, 6.1, 9.1]
    """
    from towscope.units import parse as quantity

    if re.search(r"[;\n]", text):  # then a comma between figures is a decimal one
        text = re.sub(r"(?<=\d),(?=\d)", ".", text)
    pairs = [p.strip() for p in re.split(r"[,;\n]+", text) if p.strip()]
    if len(pairs) > MOST_ROWS:
        raise InputError(f"a profile of {len(pairs):,} readings; expected at most {MOST_ROWS:,}")
    rows = []
    unit_d = unit_t = ""
    number = r"[-+]?\d*\.?\d+"
    for pair in pairs:
        match = re.fullmatch(
            rf"({number})\s*([a-zA-Z]*)\s*[:=@ ]\s*({number})\s*(°?\s*[a-zA-Z]*)", pair
        )
        if match is None:
            raise InputError(
                f'cannot read "{one_line(pair, 40)}" as a reading; expected depth and temperature '
                'such as "20 ft 70 degF"'
            )
        unit_d, unit_t = match[2] or unit_d, match[4].strip() or unit_t
        if not unit_d or not unit_t:
            raise InputError(
                f'"{one_line(pair, 40)}" has no units; expected such as "20 ft 70 degF"'
            )
        rows.append(
            (
                quantity(f"{match[1]} {unit_d}", "length"),
                quantity(f"{match[3]} {unit_t}", "temperature"),
            )
        )
    return _sorted(rows)


def read(path: Path) -> Column:
    """Read a profile from CSV with columns for depth and temperature, units in the headings.

    Headings such as ``depth_m,temp_c`` or ``Depth (ft),Temperature (F)``.

    Raises
    ------
    InputError
        Where the columns or their units cannot be told.
    """
    import csv

    from towscope.files import read_text
    from towscope.formats.table import figure, heading, parting
    from towscope.units import parse as quantity

    expected = "a profile with headings such as depth_m,temp_c"
    text = read_text(path, expected=expected)
    name = one_line(path.name, 60)
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    if not lines:
        raise InputError(f"{name} holds no readings; expected {expected}")
    mark = parting(lines[0])
    heads = [heading(c).split("_") for c in lines[0].split(mark)]
    units_d = {"m": "m", "meters": "m", "metres": "m", "ft": "ft", "feet": "ft"}
    units_t = {"c": "degC", "degc": "degC", "celsius": "degC", "f": "degF", "degf": "degF",
               "fahrenheit": "degF"}  # fmt: skip
    d = next((k for k, h in enumerate(heads) if "depth" in h or "z" in h), None)
    t = next((k for k, h in enumerate(heads) if any(w.startswith("temp") for w in h)), None)
    if d is None or t is None:
        raise InputError(f'{name}: no depth and temperature columns ("{one_line(lines[0], 50)}"); '
                         f"expected {expected}")  # fmt: skip
    unit_d = next((units_d[w] for w in heads[d] if w in units_d), None)
    unit_t = next((units_t[w] for w in heads[t] if w in units_t), None)
    if unit_d is None or unit_t is None:
        raise InputError(f'{name}: its headings name no units ("{one_line(lines[0], 50)}"); '
                         f"expected {expected}")  # fmt: skip
    rows = []
    empty = []
    for number, cells in enumerate(csv.reader(lines[1:], delimiter=mark), 2):
        try:
            pair = (cells[d], cells[t])
            if any(cell.strip().lower() in NOTHING for cell in pair):
                empty.append(number)
                continue
            deep, warm = (figure(cell, comma="," in cell) for cell in pair)
            rows.append((quantity(f"{deep!r} {unit_d}", "length"),
                         quantity(f"{warm!r} {unit_t}", "temperature")))  # fmt: skip
        except (IndexError, ValueError):
            shown = one_line(mark.join(cells), 40)
            raise InputError(f'{name}, row {number}: cannot read "{shown}"') from None
        if len(rows) > MOST_ROWS:
            raise InputError(f"{name} has over {MOST_ROWS:,} readings; expected one profile")
    notes: tuple[str, ...] = ()
    if empty:
        notes = (f"left out {counted(len(empty), 'row')} without a figure, the first {empty[0]}",)
    return _sorted(rows, notes)


def _sorted(rows: list[tuple[float, float]], notes: tuple[str, ...] = ()) -> Column:
    rows = sorted(rows)
    data = np.array(rows, float).reshape(-1, 2)
    return Column(data[:, 0], data[:, 1], notes)
