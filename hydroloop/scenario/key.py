"""A key of the scenario file: what stands in the schema about each."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field
from pydantic.fields import FieldInfo


class Part(BaseModel):
    """A table of the scenario file; the keys of the file are its attributes."""

    model_config = ConfigDict(
        extra="forbid",
        strict=True,
        frozen=True,
        allow_inf_nan=False,
        validate_default=True,
    )


def key(
    default: Any,
    meaning: str,
    *,
    usual: tuple[Any, Any] | None = None,
    source: str = "",
    computed: str = "",
) -> Any:
    """Describe one key of the scenario file. Default and usual ends are written as a user would
    write them, `...` for a key that is needed; `computed` says how a default of None is worked
    out."""
    extra: dict[str, Any] = {
        "usual": list(usual) if usual else None,
        "source": source,
        "computed": computed,
    }
    return Field(default, description=meaning, json_schema_extra=extra)


def note(field: FieldInfo, name: str) -> Any:
    """What the schema says of a field under ``usual``, ``source`` or ``computed``."""
    extra = field.json_schema_extra
    return extra.get(name) if isinstance(extra, dict) else None
