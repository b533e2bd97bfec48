"""Long lists come in pages: `?limit=50&offset=100`."""

from rest_framework.pagination import LimitOffsetPagination
from rest_framework.request import Request

FURTHEST = 10_000_000


class Paging(LimitOffsetPagination):
    """Fifty at a time unless asked otherwise, and never so far that the database cannot count it."""

    default_limit = 50
    max_limit = 200

    def get_offset(self, request: Request) -> int:
        """How many to leave out."""
        return min(super().get_offset(request), FURTHEST)
