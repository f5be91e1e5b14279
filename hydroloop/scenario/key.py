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
    """Describe one key of the scenario file.

    Parameters
    ----------
    default : object
        Value when the key is left out, written as a user would write it; ``...`` if it is needed.
    meaning : str
        What the key says, in words.
    usual : pair, optional
        Ends of the usual range, written as a user would write them. Outside it a value is
        allowed, with a warning.
    source : str
        Where the default and the usual range come from.
    computed : str
        How a default of None is worked out.

    Returns
    -------
    pydantic.fields.FieldInfo
        The field, with all this as its metadata.
    """
    extra: dict[str, Any] = {
        "usual": list(usual) if usual else None, "source": source, "computed": computed}
    return Field(default, description=meaning, json_schema_extra=extra)


def note(field: FieldInfo, name: str) -> Any:
    """What the schema says of a field under ``usual``, ``source`` or ``computed``."""
    extra = field.json_schema_extra
    return extra.get(name) if isinstance(extra, dict) else None
