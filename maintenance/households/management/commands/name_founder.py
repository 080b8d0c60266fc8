"""manage.py name_founder LOGIN: for a program whose founder is gone."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from maintenance.households.refusals import Refused
from maintenance.households.services import hand_on_founding

from .reset_password import member_named


class Command(BaseCommand):
    help = "Let a keeper look after Rigsite itself: its status and outgoing email."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("login", help="the keeper's login name, like mara")

    def handle(self, *args: Any, **options: Any) -> None:
        member = member_named(options["login"])
        try:
            hand_on_founding(member, by=None)
        except Refused as refusal:
            raise CommandError(refusal.text) from None
        self.stdout.write(f"{member.name} of {member.household} is the founder now.")
