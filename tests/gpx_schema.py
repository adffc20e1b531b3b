"""The published schema of GPX 1.1, where the machine has it, to hold our files against.

Source: gpx.xsd of 2004, Topografix; Debian carries it in the package pytrainer, whence `.ci/run`
takes it. Elsewhere TOWSCOPE_GPX_XSD may name a copy; without one the tests check structure alone.
"""

import os
from functools import cache
from pathlib import Path

import xmlschema

PLACES = (
    os.environ.get("TOWSCOPE_GPX_XSD", ""),
    "/usr/share/pytrainer/schemas/Topografix_gpx11.xsd",
)


@cache
def schema() -> xmlschema.XMLSchema | None:
    found = next((Path(p) for p in PLACES if p and Path(p).is_file()), None)
    return None if found is None else xmlschema.XMLSchema(str(found), allow="local")


def hold_against_schema(text: str) -> bool:
    """Fail where the schema is had and the file breaks it; tell whether it was had."""
    known = schema()
    if known is None:
        return False
    known.validate(text)
    return True
