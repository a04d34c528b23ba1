#!/usr/bin/env python
"""Hingewood's command line."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.exit("Django is not installed in this Python. README.md has the one command that sets everything up.")
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
