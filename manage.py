#!/usr/bin/env python3
"""Django's command-line utility for administrative tasks."""

import os
import sys

from soapshop.bootstrap import prepare


def main() -> None:
    """Run administrative tasks."""
    prepare(sys.argv)  # the one line that is not Django's: a Python that has everything installed
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "soapshop.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError as exc:
        raise ImportError(
            "Couldn't import Django. Are you sure it's installed and "
            "available on your PYTHONPATH environment variable? Did you "
            "forget to activate a virtual environment?"
        ) from exc
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
