"""Run a management command: `python manage.py COMMAND`."""

import os
import sys

from django.core.management import execute_from_command_line


def main() -> None:
    """Run the command named on the command line with the project's settings."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "goldroom.settings")
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
