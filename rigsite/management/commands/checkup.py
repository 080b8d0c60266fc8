"""`manage.py checkup`: whether all is well, and what to do where it is not."""

import contextlib
import logging
import sys
from argparse import ArgumentParser
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand
from django.db import DatabaseError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from rigsite.checkup.finding import Finding, Level, worst
from rigsite.checkup.quick import answered, broker, kept, on_its_way, running
from rigsite.checkup.thorough import note, thorough
from rigsite.upgrade import UpgradeError, refuse_lost

MARKS = {0: "ok", 1: "WARNING", 2: "BROKEN"}


class Command(BaseCommand):
    help = (
        "Checks Rigsite and everything it keeps: processes, disk, database, "
        "the tamper check of records, each file, email, clock, backup. Says "
        "what's wrong and what to do. Changes nothing. Exits with 0 when all "
        "is fine, 1 with warnings, 2 when something is broken."
    )
    requires_system_checks: list[str] = []  # noqa: RUF012  (Django's own name)

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--quick", action="store_true", help="skip the checks that read everything"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        # What is wrong is said once, here.
        logging.getLogger("rigsite.checkup").setLevel(logging.CRITICAL)
        now = timezone.now()
        findings = lost()
        is_whole = not findings
        findings += running(now) if is_whole else [broker()]
        findings += kept(now)
        if is_whole:
            findings += answered(lambda: on_its_way(now))
        if is_whole and not options["quick"]:
            deep = thorough()
            findings += deep
            self._keep(deep, now)
        for finding in findings:
            self._tell(finding)
        sys.exit(worst(findings))

    def _tell(self, finding: Finding) -> None:
        self.stdout.write(f"{MARKS[finding.level]:8}{finding}")
        for detail in finding.details:
            self.stdout.write(f"{'':10}{detail}")

    def _keep(self, findings: list[Finding], now: datetime) -> None:
        """For the page Status; where nothing can be written, that is said above."""
        with contextlib.suppress(OSError):
            note(findings, now)


def lost() -> list[Finding]:
    """Where there is no database to look into: lost, or not yet begun."""
    try:
        refuse_lost()
        begun = bool(MigrationRecorder(connection).applied_migrations())
    except UpgradeError as error:
        return [Finding("Database", str(error), Level.BROKEN)]
    except DatabaseError:
        return []  # it does not answer, as the next check says
    if begun:
        return []
    words = "empty: this data folder hasn't been used yet. Run: manage.py start"
    return [Finding("Database", words, Level.WARNING)]
