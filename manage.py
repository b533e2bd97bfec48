#!/usr/bin/env python
"""Django's command line: `python manage.py help` lists the commands."""

import os
import sys


def main() -> None:
    """Run the command named on the command line."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "turnery.settings")
    # Imported here so that the settings module is named before anything of Django reads it.
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
