"""The crew's own limits for their own water, read from their file: whether a fish may be kept.

No limits are shipped: they differ by water and year, and only the crew can enter theirs.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, Final

from towscope.errors import InputError, one_line
from towscope.fish.saying import KEEPING, LIMIT_FAULTS, size
from towscope.fish.weight import find_species


@dataclass(frozen=True)
class Rule:
    """What the crew entered for one fish on one water.

    Attributes
    ----------
    water, species : str
        Where and what.
    minimum_m, maximum_m : float or None
        Shortest and longest that may be kept [m].
    release_m : tuple of (float, float)
        Lengths that must be released, from and to [m], both ends included.
    keep : int or None
        How many may be kept a day.
    over_m, over_keep : float, int or None
        Of those longer than `over_m` [m], how many may be kept.
    source : str
        Where the crew has it from.
    checked : str
        When they checked it, ISO date.
    written : dict of float to str
        The lengths [m] as their file has them: "15 in".
    """

    water: str
    species: str
    minimum_m: float | None = None
    maximum_m: float | None = None
    release_m: tuple[tuple[float, float], ...] = ()
    keep: int | None = None
    over_m: float | None = None
    over_keep: int | None = None
    source: str = ""
    checked: str = ""
    written: Mapping[float, str] = field(default_factory=dict)

    def said(self, length_m: float) -> str:
        """Say one of its lengths as the file has it."""
        return self.written.get(length_m) or size(length_m)


def read_rules(path: Path) -> dict[str, dict[str, Rule]]:
    """Read the crew's file of limits (TOML).

    Parameters
    ----------
    path : Path
        The file, see docs/fish.md.

    Returns
    -------
    dict
        Water to species to rule.

    Raises
    ------
    InputError
        Naming what is wrong.
    """
    import tomllib

    from towscope.files import read_text

    shown = one_line(path.name, 60)
    text = read_text(path, expected="a file of your limits (TOML)")
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{shown}: not TOML: {one_line(error, 120)}") from None
    waters: dict[str, dict[str, Rule]] = {}
    for water, table in data.items():
        if not isinstance(table, dict):
            raise InputError(
                f'{shown}: "{water}" is no water; expected [{water}.walleye] and so on'
            )
        source = _text(table.get("source"), f"{shown}: {water}.source")
        checked = table.get("checked")
        if not isinstance(checked, date):
            raise InputError(
                f"{shown}: {water}.checked is missing; expected the date you checked the rules, "
                "such as 2026-05-03"
            )
        rules: dict[str, Rule] = {}
        for name, given in table.items():
            if name in ("source", "checked"):
                continue
            where = f"{shown}: {water}.{name}"
            species = find_species(name).name
            if not isinstance(given, dict):
                raise InputError(f"{where}: expected a table of limits")
            rules[species] = _rule(water, species, given, where, source, checked.isoformat())
        waters[water] = rules
    return waters


_KEYS: Final = ("minimum", "maximum", "release", "keep", "over", "over_keep")


def _rule(
    water: str, species: str, given: Mapping[str, Any], where: str, source: str, checked: str
) -> Rule:
    unknown = [key for key in given if key not in _KEYS]
    if unknown:
        raise InputError(
            f'{where}: unknown key "{one_line(unknown[0], 40)}"; expected {", ".join(_KEYS)}'
        )
    written: dict[float, str] = {}
    minimum, maximum, over = (
        _length(given[key], f"{where}.{key}", written) if key in given else None
        for key in ("minimum", "maximum", "over")
    )
    spans: list[tuple[float, float]] = []
    release = given.get("release", [])
    if release and isinstance(release, list) and isinstance(release[0], str):
        release = [release]
    if not isinstance(release, list):
        raise InputError(f'{where}.release: expected two lengths, ["20 in", "26 in"]')
    for pair in release:
        if not isinstance(pair, list) or len(pair) != 2:
            raise InputError(f'{where}.release: expected two lengths, ["20 in", "26 in"]')
        low, high = (_length(item, f"{where}.release", written) for item in pair)
        spans.append((low, high))
    keep, over_keep = (_count(given.get(key), f"{where}.{key}") for key in ("keep", "over_keep"))
    rule = Rule(
        water, species, minimum, maximum, tuple(spans), keep, over, over_keep, source, checked,
        written,
    )  # fmt: skip
    if fault := fault_of(rule):
        raise InputError(f"{where}: {fault}")
    return rule


def fault_of(rule: Rule) -> str:
    """Say what is wrong with a limit; "" where nothing is.

    >>> fault_of(Rule("Pond", "walleye", minimum_m=0.4, maximum_m=0.3, source="rules"))
    'the shortest to keep is not shorter than the longest'
    """
    minimum, maximum = rule.minimum_m, rule.maximum_m
    wrong = {
        "water": not rule.water,
        "source": not rule.source,
        "release": any(low >= high for low, high in rule.release_m),
        "shortest": minimum is not None and maximum is not None and minimum >= maximum,
        "over": (rule.over_m is None) != (rule.over_keep is None),
    }
    return next((LIMIT_FAULTS[name] for name, so in wrong.items() if so), "")


def _text(value: object, where: str) -> str:
    if not isinstance(value, str) or not value.strip():
        raise InputError(f"{where} is missing; expected where the rules are from, in your words")
    return one_line(value, 200)


def _length(value: object, where: str, written: dict[float, str]) -> float:
    from towscope.units import parse

    try:
        length = parse(value, "length")
    except InputError as error:
        raise InputError(f"{where}: {error}") from None
    if not 0 < length < 3:
        raise InputError(f"{where}: {value} is no fish's length")
    written[length] = one_line(value, 20)
    return length


def _count(value: object, where: str) -> int | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= 1000:
        raise InputError(f"{where}: expected a whole number of fish")
    return value


def to_toml(waters: Mapping[str, Mapping[str, Rule]]) -> str:
    """Write the crew's limits as the file that `read_rules` reads.

    Parameters
    ----------
    waters : mapping
        Water to species to rule.

    Returns
    -------
    str
        TOML.
    """
    lines = ["# The crew's own limits. The water's rules on the day are the law."]
    for water, rules in waters.items():
        known = next(iter(rules.values()), None)
        if known is None:
            continue
        lines += ["", f"[{json.dumps(water)}]", f"source = {json.dumps(known.source)}"]
        lines.append(f"checked = {known.checked}")
        for species, rule in rules.items():
            lines += ["", f"[{json.dumps(water)}.{json.dumps(species)}]"]
            for key, value in (
                ("minimum", rule.minimum_m),
                ("maximum", rule.maximum_m),
                ("over", rule.over_m),
            ):
                if value is not None:
                    lines.append(f"{key} = {json.dumps(rule.said(value))}")
            if rule.release_m:
                spans = [[rule.said(low), rule.said(high)] for low, high in rule.release_m]
                lines.append(f"release = {json.dumps(spans)}")
            for key, count in (("keep", rule.keep), ("over_keep", rule.over_keep)):
                if count is not None:
                    lines.append(f"{key} = {count}")
    return "\n".join(lines) + "\n"


def may_keep(
    rule: Rule,
    length_m: float,
    *,
    kept: int = 0,
    kept_over: int = 0,
) -> tuple[bool, str]:
    """Say whether the crew's own rule lets them keep a fish, and why.

    Parameters
    ----------
    rule : Rule
        Their rule.
    length_m : float
        Total length [m].
    kept, kept_over : int
        How many they have kept today, and how many of those above `Rule.over_m`.

    Returns
    -------
    (bool, str)
        Whether, and the reason in words.

    Examples
    --------
    >>> rule = Rule("long-slate", "walleye", minimum_m=0.381, release_m=((0.508, 0.6604),), keep=4)
    >>> may_keep(rule, 0.5461)
    (False, 'between 20 in and 26 in must be released')
    >>> may_keep(rule, 0.45, kept=4)
    (False, '4 kept already, the limit')
    """
    # what a tape shows to a tenth of a millimetre decides, not the last bit of a conversion
    length = round(length_m, 4)
    if rule.minimum_m is not None and length < round(rule.minimum_m, 4):
        return False, KEEPING["short"].format(length=rule.said(rule.minimum_m))
    if rule.maximum_m is not None and length > round(rule.maximum_m, 4):
        return False, KEEPING["long"].format(length=rule.said(rule.maximum_m))
    for low, high in rule.release_m:
        if round(low, 4) <= length <= round(high, 4):
            return False, KEEPING["between"].format(low=rule.said(low), high=rule.said(high))
    if rule.keep is not None and kept >= rule.keep:
        return False, KEEPING["enough"].format(count=rule.keep)
    if rule.over_m is not None and rule.over_keep is not None and length > round(rule.over_m, 4):
        full = kept_over >= rule.over_keep
        said = KEEPING["enough long" if full else "long one"]
        return not full, said.format(count=rule.over_keep, length=rule.said(rule.over_m))
    return True, KEEPING["within"]
