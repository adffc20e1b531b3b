"""Shapes of the library's answers for the API: read off their dataclasses, so listed once."""

from __future__ import annotations

from dataclasses import fields
from typing import Any, get_type_hints

from pydantic import BaseModel, create_model

from towscope.answer_forms import AnswerForms


def keys_of(answer: type[AnswerForms]) -> type[BaseModel]:
    """Give the keys that an answer's `to_dict` always has, to lay more beside them.

    A figure that may be NaN is null there: who inherits the keys says so of it anew.
    """
    hints = get_type_hints(answer)
    kept = (each for each in fields(answer) if each.metadata.get("json", True) is True)  # type: ignore[arg-type]
    keys: dict[str, Any] = {each.name: hints[each.name] for each in kept}
    return create_model(f"{answer.__name__}Keys", **keys)
