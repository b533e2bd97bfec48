"""Reading JSON that may be broken, endless or hostile: what is wrong is said, and nothing falls over."""

import json
import math
from collections.abc import Mapping
from typing import IO, Any

from django.conf import settings
from rest_framework.exceptions import APIException, ParseError
from rest_framework.parsers import BaseParser
from rest_framework.renderers import JSONRenderer
from rest_framework.status import HTTP_413_REQUEST_ENTITY_TOO_LARGE

from estimating.reading import read_json as read_sheet_json


class TooLarge(APIException):
    """More than a piece sheet ever holds."""

    status_code = HTTP_413_REQUEST_ENTITY_TOO_LARGE
    default_code = "too_large"


class BoundedJSONParser(BaseParser):
    """JSON of at most DATA_UPLOAD_MAX_MEMORY_SIZE bytes, finite numbers and well-formed text only."""

    media_type = "application/json"
    renderer_class = JSONRenderer

    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        """The data; ParseError or TooLarge with a sentence otherwise."""
        limit = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        raw = stream.read(limit + 1)
        if len(raw) > limit:
            raise TooLarge(f"This is larger than {limit:,} bytes.")
        return self.read(raw)

    def read(self, raw: bytes) -> Any:
        """The data of the bytes."""
        return read_json(raw)


class SheetParser(BoundedJSONParser):
    """A piece sheet, read as the command reads it, so that both refuse it in the same words."""

    def read(self, raw: bytes) -> Any:
        """The data; InvalidSheet otherwise."""
        return read_sheet_json(raw)


def read_json(raw: bytes) -> Any:
    """The data of a JSON text; ParseError with a sentence for what is none."""
    try:
        data = json.loads(raw.decode("utf-8"), parse_constant=_no_constant, parse_float=_finite)
        # Half a character (a lone surrogate) passes as JSON but can be neither stored nor sent on.
        json.dumps(data, ensure_ascii=False).encode("utf-8")
    except RecursionError:
        raise ParseError("This is nested too deeply.") from None
    except UnicodeError:
        raise ParseError("This is not text in UTF-8.") from None
    except json.JSONDecodeError as refusal:
        where = f"line {refusal.lineno}, column {refusal.colno}"
        raise ParseError(f"This is not JSON: {refusal.msg}, {where}.") from None
    except ValueError as refusal:
        raise ParseError(f"This is not JSON: {refusal}.") from None
    return data


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(f"{text[:20]} is too large a number")
    return number
