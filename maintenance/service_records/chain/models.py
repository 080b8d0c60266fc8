"""One link of a rig's chain."""

import json
from functools import cached_property
from typing import Any

from django.db import models
from django.utils.dateparse import parse_datetime

from maintenance.vehicles.models import Rig


class LinkKind(models.TextChoices):
    ENTERED = "entered", "entered"
    AMENDED = "amended", "amended"
    VOIDED = "voided", "voided"
    MERGED = "merged", "merged"


class ChainLink(models.Model):
    """A record as it stood: when it was entered, amended or made void. `text` is the
    canonical text; what it says of who, when and why is nowhere else."""

    rig = models.ForeignKey(Rig, on_delete=models.PROTECT, related_name="chain")
    position = models.PositiveIntegerField()
    # Without a constraint in the database: a record that is removed behind the
    # program's back leaves its links, and they name it.
    record = models.ForeignKey(
        "service_records.ServiceRecord",
        on_delete=models.PROTECT,
        db_constraint=False,
        related_name="links",
    )
    text = models.TextField()
    digest = models.CharField(max_length=64, db_index=True)

    class Meta:
        ordering = ["rig", "position"]
        constraints = [
            models.UniqueConstraint(
                fields=["rig", "position"], name="one_chain_per_rig"
            )
        ]

    def __str__(self) -> str:
        return f"link {self.position} of {self.rig}"

    @cached_property
    def says(self) -> dict[str, Any]:
        return json.loads(self.text)

    @property
    def version(self) -> int:
        """Of its text; the first links say none."""
        return self.says.get("version", 1)

    @property
    def kind(self) -> LinkKind:
        return LinkKind(self.says["kind"])

    @property
    def at(self) -> Any:
        return parse_datetime(self.says["at"])

    @property
    def by(self) -> str:
        return self.says["by"]

    @property
    def why(self) -> str:
        return self.says["why"]

    @property
    def content(self) -> dict[str, Any]:
        """The record as it stood."""
        return self.says["record"]
