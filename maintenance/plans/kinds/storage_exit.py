"""When the rig leaves storage."""

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms

from maintenance.core.triggers.kinds.storage_exit import StorageExit
from maintenance.plans.rule_kind import FormOf, Given, Group, RuleKind


class StorageExitRule(RuleKind[StorageExit]):
    trigger = StorageExit
    group = Group.OCCASIONS
    place = 4
    reasons: ClassVar = {"no_stay_end": "The end of storage isn't known yet."}

    def in_words(self, rule: StorageExit) -> str:
        return "When it leaves storage"

    def fields(self, form: FormOf[StorageExit]) -> dict[str, forms.Field]:
        label = "When it leaves storage"
        return {"storage_exit": forms.BooleanField(label=label, required=False)}

    def lines(self, form: FormOf[StorageExit]) -> list[list[str]]:
        return [["storage_exit"]]

    def initial(self, rule: StorageExit, number: int) -> dict[str, Any]:
        return {"storage_exit": True}

    def read(
        self, data: Mapping[str, Any], form: FormOf[StorageExit]
    ) -> Iterator[Given]:
        if data.get("storage_exit"):
            yield "storage_exit", {"storage_exit": {}}


KIND = StorageExitRule()
