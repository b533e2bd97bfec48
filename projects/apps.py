"""Names the app to Django."""

from django.apps import AppConfig


class ProjectsConfig(AppConfig):
    """The studio's records."""

    name = "projects"
