"""Write for TypeScript what the core's ways in take.

A type for each named tuple, and a list of each way's parameters in order.
"""

from __future__ import annotations

from kinds import Array, Kind, Record, Scalar
from outside import Entry

HEAD = """// Written by tools/core from the kernels of towscope; not to be edited.
import type { Doubles, Integers, Singles } from './arena'
"""
ARRAYS = {"double": "Doubles", "float": "Singles", "int": "Integers"}
SCALARS = {"double": "number", "int": "number", "bool": "boolean"}


def _type_of(kind: Kind, records: dict[str, Record]) -> str:
    if isinstance(kind, Scalar):
        return SCALARS[kind.name]
    if isinstance(kind, Array):
        return f"{ARRAYS[kind.element]}<{kind.rank}>"
    if not kind.name.startswith("T_"):
        name = kind.name.rsplit("_", 1)[-1]
        for _, each in kind.fields:
            _type_of(each, records)
        if records.setdefault(name, kind) != kind:
            raise ValueError(f"two named tuples called {name}; expected one")
        return name
    return "[" + ", ".join(_type_of(each, records) for _, each in kind.fields) + "]"


def typescript(entries: list[Entry]) -> str:
    """Give the text of `entries.ts`."""
    records: dict[str, Record] = {}
    ways, order = [], []
    for each in entries:
        fields = [f"{name}: {_type_of(kind, records)}" for name, kind in each.parameters]
        result = "void" if each.result is None else _type_of(each.result, records)
        ways.append(f"  {each.name}: {{ given: {{ {'; '.join(fields)} }}; result: {result} }}")
        given = ", ".join(f"'{'.'.join(part.path)}'" for part in each.given)
        several = len(each.result.fields) if isinstance(each.result, Record) else 0
        yes = "true" if isinstance(each.result, Scalar) and each.result.name == "bool" else "false"
        order.append(f"  {each.name}: {{ given: [{given}], several: {several}, yes: {yes} }},")
    types = []
    for name, record in records.items():
        rows = "\n".join(f"  {field}: {_type_of(kind, records)}" for field, kind in record.fields)
        types.append(f"export interface {name} {{\n{rows}\n}}\n")
    return "\n".join(
        [
            HEAD,
            *types,
            "/** What each way into the core takes and gives. */",
            "export interface Ways {",
            *ways,
            "}\n",
            "/** The same, in the order in which the module takes it. */",
            "export const ORDER: {",
            "  [W in keyof Ways]: { given: string[]; several: number; yes: boolean }",
            "} = {",
            *order,
            "}\n",
        ]
    )
