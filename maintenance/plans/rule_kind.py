"""What a kind of trigger is on a page: its words, the words of its reasons, and its
fields in the form of rules."""

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import IntEnum
from typing import Any, ClassVar, Generic, TypeVar

from django import forms

from maintenance.core.facts import Fact
from maintenance.core.triggers import Kind

from .wording.values import Shown

RuleT = TypeVar("RuleT", bound=Kind)
# A template of the fact's values, or what makes the sentence of them.
Sentence = str | Callable[[Fact, Shown], str]
Given = tuple[str, dict[str, Any]]  # the field it comes from, the rule as plain data
LAST = 100


class Group(IntEnum):
    """The parts of the form, in their order."""

    METERS = 1
    TIME = 2
    OCCASIONS = 3
    EVENTS = 4
    AGE = 5


@dataclass(frozen=True, slots=True)
class FormOf(Generic[RuleT]):
    """For what the form is made: the rig's meters with their units, and the rules of
    the kind that there are."""

    meters: Mapping[str, str]
    rules: tuple[RuleT, ...] = ()


class RuleKind(ABC, Generic[RuleT]):
    """A kind of trigger as a page has it: one in each module of `plans/kinds/`.

    `reasons`: a sentence for each key of the facts that the kind alone gives.
    `details`: a field that only says more of a rule, and the field of the rule.
    `place` is its order within its group; a kind without one comes last.
    """

    trigger: type[RuleT]
    group: Group
    place: int = LAST
    reasons: ClassVar[Mapping[str, Sentence]] = {}
    details: ClassVar[Mapping[str, str]] = {}

    @abstractmethod
    def in_words(self, rule: RuleT) -> str:
        """The rule as a person would say it: “Every 5,000 mi”."""

    def severe_in_words(self, rule: RuleT) -> tuple[str, str] | None:
        """The interval under severe duty, and the usual one."""
        del rule
        return None

    # --- in the form of rules ---------------------------------------------------------

    @abstractmethod
    def fields(self, form: FormOf[RuleT]) -> dict[str, forms.Field]:
        """Its fields by name; none of them is required."""

    @abstractmethod
    def lines(self, form: FormOf[RuleT]) -> list[list[str]]:
        """The names of its fields, line by line."""

    @abstractmethod
    def initial(self, rule: RuleT, number: int) -> dict[str, Any]:
        """The values of the fields for a rule, the `number`th of its kind."""

    @abstractmethod
    def read(self, data: Mapping[str, Any], form: FormOf[RuleT]) -> Iterator[Given]:
        """The rules that the cleaned values give."""

    def missing(
        self, data: Mapping[str, Any], form: FormOf[RuleT]
    ) -> Iterator[tuple[str, Any]]:
        """Fields that need a value for what else was given, and what to say there."""
        yield from ()


def plain_number(value: Decimal | int) -> int | float:
    return int(value) if value == int(value) else float(value)
