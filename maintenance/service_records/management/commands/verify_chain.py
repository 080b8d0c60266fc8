"""manage.py verify_chain: holds records and files against the chain of each rig. Exit
code 1 when anything does not fit, 2 when a rig is not known."""

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from maintenance.service_records.chain.verifying import Verified, read_head, verify
from maintenance.vehicles.models import Rig


class Command(BaseCommand):
    help = (
        "Tamper check: recomputes the seal over every record, every record's content "
        "and"
        " every file's code, and lists what doesn't match. Changes nothing. Exits "
        "with 1 if"
        " anything doesn't match. Records are sealed ten minutes after their entry."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--rig", metavar="NAME", help="only this rig")
        parser.add_argument(
            "--head", default="", help="a seal code from a printed history; needs --rig"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        rigs = self._rigs(options["rig"], options["head"])
        good = [self._tell(rig, options["head"]) for rig in rigs]
        if not all(good):
            sys.exit(1)

    def _rigs(self, name: str | None, head: str) -> list[Rig]:
        rows = Rig.objects.select_related("household").order_by("household", "pk")
        if head and not name:
            raise CommandError(
                "--head needs --rig: a seal code belongs to one rig.", returncode=2
            )
        if head and len(read_head(head)[1]) != 64:
            raise CommandError("--head: 64 hex digits, as printed.", returncode=2)
        found = list(rows.filter(name=name) if name else rows)
        if name and not found:
            known = ", ".join(str(rig) for rig in rows)
            raise CommandError(f"No rig “{name}”. Known: {known}.", returncode=2)
        return found

    def _tell(self, rig: Rig, head: str) -> bool:
        result = verify(rig, printed=head)
        self.stdout.write(f"{rig.household}, {rig}: {_summary(result)}")
        for each in result.found:
            self.stdout.write(f"  {each.text}")
        if result.printed and result.holds_up_to_print:
            self.stdout.write(
                f"  The printed code is link {result.printed}: everything up to it is"
                " unchanged."
            )
        return result.holds


def _summary(result: Verified) -> str:
    count = f"{result.records} records and {result.files} files"
    waiting = f"; {result.waiting} not sealed yet" if result.waiting else ""
    if result.head is None:
        return f"no seal yet{waiting}"
    wrong = len(result.found)
    doubt = "1 thing doesn't match" if wrong == 1 else f"{wrong} things don't match"
    verdict = "hold" if result.holds else doubt
    return f"{count}: {verdict}; seal code {result.head.words}{waiting}"
