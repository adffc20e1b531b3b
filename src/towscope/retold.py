"""Figures in our sentences, told in the units of the question: asked in feet, told in feet.

Inside, all is SI, and sentences are written in metres. Where one leaves the house it passes here:
it is told in the units that the question was asked in (text in double quotes is what people gave),
or else in those the answer is shown in.
"""

from __future__ import annotations

import re
from typing import Final

from towscope.constants import FOOT, GRAVITY, KNOT, MPH, POUND
from towscope.words import feet

_QUOTED: Final = re.compile(r'"[^"\n]*"')
_FIGURE: Final = r"\d[\d,]*(?:\.\d+)?"
_METRIC: Final = r"m/s|km/h|km|cm|m|kg|N|degC|°C"
_FEET: Final = r"ft|in|mph|miles?|lb|degF|°F"
_END: Final = r"(?![\w/^*·-])"
_SPAN: Final = rf"{_FIGURE}(?: (?:to|or) {_FIGURE})?"
# the same thing said both ways: "10 m (33 ft)", "60 ft (18.3 m)"
_BOTH: Final = re.compile(
    rf"(?<![\w.])(?P<first>{_SPAN} (?P<unit>{_METRIC}|{_FEET}))"
    rf"(?: \(|, )(?P<second>{_SPAN} (?P<other>{_METRIC}|{_FEET}))(?P<end>\)?){_END}"
)
_ONE: Final = re.compile(
    rf"(?<![\w.])(?:(?P<low>{_FIGURE})(?P<to> to | or ))?"
    rf"(?P<high>{_FIGURE}) (?P<unit>{_METRIC}){_END}"
)
_ASKED_METRIC: Final = re.compile(rf"\d ?(?:{_METRIC}|mm|metres?|meters?){_END}")
_ASKED_FEET: Final = re.compile(rf"\d ?(?:{_FEET}|yd|feet|foot|colou?rs?|['′]){_END}")
# metric unit -> ours, figures in it for one of theirs, and where its zero lies
_OURS: Final[dict[str, tuple[str, float, float]]] = {
    "m": ("ft", 1 / FOOT, 0.0),
    "km": ("miles", 1 / 1.609344, 0.0),
    "cm": ("in", 1 / 2.54, 0.0),
    "m/s": ("mph", 1 / MPH, 0.0),
    "km/h": ("mph", 1 / 1.609344, 0.0),
    "kg": ("lb", 1 / POUND, 0.0),
    "N": ("lb", 1 / (POUND * GRAVITY), 0.0),
    "degC": ("degF", 1.8, 32.0),
    "°C": ("°F", 1.8, 32.0),
}
_KNOTS: Final = {"m/s": ("kn", 1 / KNOT, 0.0), "km/h": ("kn", 1 / 1.852, 0.0)}


def retold(text: str, system: str | None = None) -> str:
    """Tell a sentence's figures in the units that the question was asked in.

    Parameters
    ----------
    text : str
        One of our sentences, its figures in metric units; what people gave is in double quotes
        and is left as it is.
    system : str, optional
        Name of the unit system for a question without units; that of `towscope.words.shown_in`
        where left out.

    Returns
    -------
    str
        The sentence.

    Examples
    --------
    >>> retold('--out "5000 ft": expected a length, above 0 to 1000 m', "metric")
    '--out "5000 ft": expected a length, above 0 to 3,281 ft'
    >>> retold('--out "5000 m": expected a length, above 0 to 1000 m', "us")
    '--out "5000 m": expected a length, above 0 to 1000 m'
    >>> retold("shorter than the leader (30 ft, 9.1 m); expected 0 to 3 m/s", "us")
    'shorter than the leader (30 ft); expected 0 to 6.7 mph'
    """
    given = " ".join(_QUOTED.findall(text))
    metric, ours = bool(_ASKED_METRIC.search(given)), bool(_ASKED_FEET.search(given))
    name = ("us" if feet() else "metric") if system is None else system
    if metric != ours:
        name = name if name.startswith("us") == ours else "us" if ours else "metric"
    parts, at = [], 0
    for quoted in _QUOTED.finditer(text):
        parts += [_told(text[at : quoted.start()], name, given), quoted[0]]
        at = quoted.end()
    return "".join([*parts, _told(text[at:], name, given)])


def _told(text: str, system: str, given: str) -> str:
    ours = system.startswith("us")

    def both(match: re.Match[str]) -> str:
        first, second = (bool(re.fullmatch(_FEET, match[unit])) for unit in ("unit", "other"))
        if first == second or (", " in match[0] and not match["end"]):
            return match[0]
        end = match["end"] if ", " in match[0] else ""
        return match["first" if first == ours else "second"] + end

    def one(match: re.Match[str]) -> str:
        unit = match["unit"]
        if system.endswith("knots") and unit in _KNOTS:
            found = _KNOTS[unit]
        elif ours:
            found = _OURS[unit]
        elif unit == "m/s" and "m/s" not in given:
            found = ("km/h", 3.6, 0.0)
        else:
            return match[0]
        shown, scale, zero = found
        figures = [_figure(match["high"], scale, zero)]
        if match["low"]:
            figures.insert(0, _figure(match["low"], scale, zero))
        return (match["to"] or "").join(figures) + f" {shown}"

    return _ONE.sub(one, _BOTH.sub(both, text))


def _figure(text: str, scale: float, zero: float) -> str:
    value = float(text.replace(",", "")) * scale + zero
    if value >= 20.0:
        return f"{value:,.0f}"
    return f"{round(value, 1):g}" if value >= 1.0 else f"{value:.2g}"
