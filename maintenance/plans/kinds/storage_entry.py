"""Before storage, or by so many days into a stay that lasts longer."""

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms

from maintenance.core.triggers.kinds.storage_entry import StorageEntry
from maintenance.plans.rule_kind import FormOf, Given, Group, RuleKind


class StorageEntryRule(RuleKind[StorageEntry]):
    trigger = StorageEntry
    group = Group.OCCASIONS
    place = 2
    reasons: ClassVar = {"no_stay_entry": "No storage now or planned needs it."}
    details: ClassVar = {"by_day": "storage_entry", "entry_lead": "storage_entry"}

    def in_words(self, rule: StorageEntry) -> str:
        if rule.by_day:
            return f"When in storage longer than {rule.by_day} days"
        return "Before storage"

    def fields(self, form: FormOf[StorageEntry]) -> dict[str, forms.Field]:
        return {
            "storage_entry": forms.BooleanField(label="Before storage", required=False),
            "by_day": forms.IntegerField(
                label="Only for storage longer than (days)", required=False
            ),
            "entry_lead": forms.IntegerField(
                label="Earliest, in days before storage",
                required=False,
            ),
        }

    def lines(self, form: FormOf[StorageEntry]) -> list[list[str]]:
        return [["storage_entry", "by_day", "entry_lead"]]

    def initial(self, rule: StorageEntry, number: int) -> dict[str, Any]:
        by_day = rule.by_day or None
        return {"storage_entry": True, "by_day": by_day, "entry_lead": rule.lead}

    def read(
        self, data: Mapping[str, Any], form: FormOf[StorageEntry]
    ) -> Iterator[Given]:
        if data.get("storage_entry"):
            given = {"by_day": data.get("by_day"), "lead": data.get("entry_lead")}
            body = {name: value for name, value in given.items() if value is not None}
            yield "by_day", {"storage_entry": body}


KIND = StorageEntryRule()
