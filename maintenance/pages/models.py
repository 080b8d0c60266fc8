"""What can be searched, as text. Derived: it can be thrown away and is made again."""

from django.db import models

from maintenance.households.models import Household


class SearchKind(models.TextChoices):
    GUIDE = "guide"
    ITEM = "item"
    PROCEDURE = "procedure"
    CALCULATOR = "calculator"
    RECORD = "record"
    FINDING = "finding"
    MANUAL = "manual"


class SearchText(models.Model):
    """One thing that can be found; `household` is empty for what all have alike.

    The database keeps the index of words: FTS5 beside this table in SQLite, an index
    on the expression in PostgreSQL (see the migration).
    """

    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, null=True, related_name="+"
    )
    kind = models.CharField(max_length=10, choices=SearchKind.choices)
    key = models.CharField(max_length=80)
    title = models.CharField(max_length=300)
    about = models.CharField(max_length=200, blank=True)  # shown beside the title
    words = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["kind", "key"], name="search_text_once")
        ]

    def __str__(self) -> str:
        return self.title


class SearchMark(models.Model):
    """What the texts of `of` were made from: while it is the same, they hold."""

    of = models.CharField(max_length=40, unique=True)
    made_from = models.CharField(max_length=80)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.of}: {self.made_from}"
