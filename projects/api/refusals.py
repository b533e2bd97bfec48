"""Every refusal of the API has one shape: `{"errors": ["place: message", ...]}`."""

from collections.abc import Iterator
from typing import Any

from django.core.exceptions import ValidationError as ModelRefusal
from rest_framework import status
from rest_framework.exceptions import APIException, ParseError, ValidationError
from rest_framework.response import Response
from rest_framework.views import exception_handler

from estimating.errors import InvalidSheet

# Someone else was quicker, or the quote has gone out: the request was sound and cannot be done any more.
CONFLICTS = {"stale", "issued"}
WHOLE = {"__all__", "non_field_errors"}


def as_response(exc: Exception, context: dict[str, Any]) -> Response | None:
    """The answer to a refusal, its errors each with its place; None for a fault of the program."""
    if isinstance(exc, InvalidSheet):
        return Response({"errors": [str(error) for error in exc.errors]}, status.HTTP_400_BAD_REQUEST)
    if isinstance(exc, ModelRefusal):
        conflict = getattr(exc, "code", None) in CONFLICTS
        code = status.HTTP_409_CONFLICT if conflict else status.HTTP_400_BAD_REQUEST
        return Response({"errors": list(_model_errors(exc))}, code)
    response = exception_handler(exc, context)
    if response is not None:
        whole = getattr(context.get("view"), "whole_place", "body")
        response.data = {"errors": _api_errors(exc, whole=whole)}
    return response


def _model_errors(refusal: ModelRefusal) -> Iterator[str]:
    if not hasattr(refusal, "error_dict"):
        yield from (f"body: {message}" for message in refusal.messages)
        return
    for field, messages in refusal.message_dict.items():
        yield from (f"{'body' if field in WHOLE else field}: {message}" for message in messages)


def _api_errors(exc: Exception, *, whole: str) -> list[str]:
    if isinstance(exc, ValidationError):
        return list(_places(exc.detail, place="", whole=whole))
    if isinstance(exc, ParseError):
        return [f"{whole}: {exc.detail}"]
    detail = exc.detail if isinstance(exc, APIException) else str(exc) or "This does not exist."
    return [f"request: {detail}"]


def _places(detail: Any, *, place: str, whole: str) -> Iterator[str]:
    if isinstance(detail, dict):
        for key, inner in detail.items():
            step = f"[{key}]" if isinstance(key, int) else f".{key}" if place else str(key)
            yield from _places(inner, place=place if key in WHOLE else f"{place}{step}", whole=whole)
    elif isinstance(detail, list):
        for number, inner in enumerate(detail):
            below = isinstance(inner, dict | list)
            yield from _places(inner, place=f"{place}[{number}]" if below else place, whole=whole)
    else:
        yield f"{place or whole}: {detail}"
