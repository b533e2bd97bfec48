"""Who may call the API."""

from typing import TYPE_CHECKING

from rest_framework.permissions import BasePermission

from projects.models import Member

# At run time Django REST framework imports this module while it imports its views.
if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.views import APIView


class IsMember(BasePermission):
    """Someone logged in who works in a studio."""

    message = "This log-in belongs to no studio. Ask the studio's owner to add it."

    def has_permission(self, request: "Request", view: "APIView") -> bool:
        """Whether the caller works in a studio."""
        return bool(request.user.is_authenticated) and Member.objects.for_member(request.user).exists()
