"""`manage.py reckon CASE.json …`: the pure reckoning on files, without a database."""

import json
import sys
from argparse import ArgumentParser
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from maintenance.core.cases import parse_case
from maintenance.core.facts import FactError
from maintenance.core.reckon import reckon, reckoning_to_data
from maintenance.plans.wording.facts import word


class CaseError(ValueError):
    """A case file that cannot be used: which, where in it, and what is wrong."""


class Command(BaseCommand):
    help = "Reckon case files and print one JSON object a line, in the order given."
    requires_system_checks: list[str] = []  # noqa: RUF012  (Django's own name)

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("cases", nargs="+", metavar="CASE.json", type=Path)

    def handle(self, *, cases: list[Path], **_options: Any) -> None:
        try:
            lines = [reckon_file(case) for case in cases]
        except CaseError as error:
            self.stderr.write(str(error), self.style.ERROR)
            sys.exit(2)
        self.stdout.write("\n".join(lines))


def reckon_file(case: Path) -> str:
    """The output for one file, as a line of JSON; raises `CaseError`."""
    try:
        rig, calendar, as_of = parse_case(_read(case), "")
        reckoning = reckon(rig, calendar=calendar, as_of=as_of)
    except FactError as error:
        place = error.place or "the whole file"
        raise CaseError(f"{case}: {place}: {error.problem}") from None
    data = reckoning_to_data(reckoning, lambda fact: word(fact, as_of))
    return json.dumps(data, ensure_ascii=False)


def _read(case: Path) -> object:
    try:
        text = case.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise CaseError(f"{case}: can't be read: {error.strerror}") from None
    except UnicodeDecodeError as error:
        raise CaseError(f"{case}: byte {error.start}: isn't UTF-8 text") from None
    try:
        return json.loads(
            text,
            parse_float=Decimal,
            parse_constant=_refuse_constant,
            object_pairs_hook=_once_each,
        )
    except json.JSONDecodeError as error:
        place = f"line {error.lineno} column {error.colno}"
        raise CaseError(f"{case}: {place}: {error.msg}") from None
    except RecursionError:
        raise CaseError(f"{case}: the whole file: nested too deeply") from None
    except ValueError as error:  # ours below, or a number of thousands of digits
        raise CaseError(f"{case}: the whole file: {error}") from None


def _refuse_constant(name: str) -> None:
    raise CaseError(f"{name} isn't a number to count with")


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Of a key given twice, plain JSON keeps the last without a word."""
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise CaseError(f'the key "{key}" is there twice in one object')
        found[key] = value
    return found
