"""Records to JSON and back; the only home of cattrs.

A broken file is reported with the path to the place: ``expected int @ $.lines[3].start_ms``.
"""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any, TypeVar

import cattrs
from cattrs.strategies import configure_union_passthrough

from lessoncut.times import Span

Record = TypeVar("Record")


def _strict(converter: cattrs.Converter, kind: type, also: type | None = None) -> None:
    accepted = (kind,) if also is None else (kind, also)

    def structure(value: Any, _: Any) -> Any:
        if (isinstance(value, bool) and kind is not bool) or not isinstance(value, accepted):
            raise TypeError(f"expected {kind.__name__}, found {type(value).__name__}")
        return kind(value)

    converter.register_structure_hook(kind, structure)


def _span(value: Any, _: Any) -> Span:
    if not isinstance(value, list) or len(value) != 2 or not all(type(part) is int for part in value):
        raise TypeError("expected [start_ms, end_ms]")
    return Span(value[0], value[1])


def _converter() -> cattrs.Converter:
    converter = cattrs.Converter(forbid_extra_keys=True, detailed_validation=True)
    configure_union_passthrough(str | int | float | bool | None, converter)
    _strict(converter, int)
    _strict(converter, float, int)
    _strict(converter, str)
    _strict(converter, bool)
    converter.register_unstructure_hook(Span, lambda span: [span.start_ms, span.end_ms])
    converter.register_structure_hook(Span, _span)
    converter.register_unstructure_hook(Fraction, str)
    converter.register_structure_hook(Fraction, lambda value, _: Fraction(value))
    return converter


_CONVERTER = _converter()
__all__ = ["CodecError", "decode", "dumps", "encode", "loads"]


class CodecError(ValueError):
    """The value does not have the record's form; the message ends in the path."""


def encode(record: object) -> Any:
    """The record as plain dicts, lists, strings and numbers."""
    return _CONVERTER.unstructure(record)


def decode(kind: type[Record], value: Any) -> Record:
    """The record that ``value`` spells. Raises CodecError with the path of the first fault."""
    try:
        return _CONVERTER.structure(value, kind)
    except cattrs.BaseValidationError as error:
        first = cattrs.transform_error(error, path="$")[0]
        raise CodecError(first) from error
    except (TypeError, ValueError, KeyError, AttributeError) as error:
        raise CodecError(f"{error} @ $") from error


def dumps(value: Any) -> str:
    """Readable JSON, stable from run to run, ending in a newline; NaN and infinity are refused."""
    return json.dumps(value, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def loads(text: str) -> Any:
    """JSON text to plain values. Raises CodecError."""
    try:
        return json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        raise CodecError(f"not valid JSON: {error}") from error
