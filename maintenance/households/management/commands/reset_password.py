"""manage.py reset_password LOGIN: asks for a new password twice, without showing it."""

import sys
from argparse import ArgumentParser
from getpass import getpass
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from maintenance.households.models import Member
from maintenance.households.passwords import HINT, set_password
from maintenance.households.refusals import Refused


def member_named(login: str) -> Member:
    rows = Member.objects.present().select_related("user", "household")
    found = rows.filter(user__username__iexact=login).first()
    if found is None:
        known = ", ".join(rows.order_by("pk").values_list("user__username", flat=True))
        raise CommandError(
            f"No one logs in as “{login}”. Login names: {known or 'none'}."
        )
    return found


class Command(BaseCommand):
    help = "Set a member's password, and log them out everywhere."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("login", help="the login name, like mara")

    def handle(self, *args: Any, **options: Any) -> None:
        member = member_named(options["login"])
        self.stdout.write(f"For {member.name} of {member.household}. {HINT}")
        try:
            set_password(member, self._typed(), by=None)
        except Refused as refusal:
            raise CommandError(refusal.text) from None
        self.stdout.write("The new password is set.")

    def _typed(self) -> str:
        if not sys.stdin.isatty():  # from a file or another program
            return sys.stdin.readline().rstrip("\n")
        password = getpass("New password: ")
        if getpass("Again: ") != password:
            raise CommandError("The two passwords don't match. Nothing changed.")
        return password
