"""`manage.py load_demo`: an invented household to look at, and its login."""

from argparse import ArgumentParser, ArgumentTypeError
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from maintenance.households.refusals import Refused
from maintenance.pages.demo.providing import provide_demo
from maintenance.pages.demo.story import StoryError


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(
            f"{text!r} isn't a day. Enter it like 2026-05-04."
        ) from None


class Command(BaseCommand):
    help = "Add the demo household if it's missing, and print its login."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--as-of",
            type=_day,
            metavar="YYYY-MM-DD",
            help="load it as of this day instead of today",
        )
        parser.add_argument(
            "--reset", action="store_true", help="remove it first, then load it again"
        )
        parser.add_argument(
            "--beside",
            action="store_true",
            help="add it even if another household lives here",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            login = provide_demo(
                as_of=options["as_of"],
                now=timezone.now(),
                reset=options["reset"],
                beside=options["beside"],
            )
        except (Refused, StoryError) as problem:
            raise CommandError(str(problem)) from None
        names = ", ".join(login.usernames)
        self.stdout.write(f"Demo household. Log in as one of: {names}")
        self.stdout.write(f"Password of each: {login.password}")
