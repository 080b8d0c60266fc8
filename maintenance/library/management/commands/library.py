"""`manage.py library check`: reads the procedure library and says what is in it."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from maintenance.library.checks import refuse_unsourced
from maintenance.library.errors import LibraryError
from maintenance.library.reading import FOLDER, read_library
from maintenance.library.report import report


class Command(BaseCommand):
    help = "Check the how-to library. Exits with 2 if a file can't be used."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("action", choices=["check"])
        parser.add_argument(
            "--folder", type=Path, default=FOLDER, help="other library files to check"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            library = read_library(options["folder"])
            for line in report(library):
                self.stdout.write(line)
            refuse_unsourced(library)
        except LibraryError as problem:
            self.stderr.write(str(problem))
            sys.exit(2)
