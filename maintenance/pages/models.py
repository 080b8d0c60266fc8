"""What can be searched, as text. Derived: it can be thrown away and is made again."""

from django.db import models

from maintenance.households.models import Household


class SearchKind(models.TextChoices):
    GUIDE = "guide"
    PROCEDURE = "procedure"
    CALCULATOR = "calculator"
    PLACE = "place"
    ZONE = "zone"
    PAGE = "page"
    RIG = "rig"
    ITEM = "item"
    RECORD = "record"
    FILE = "file"
    SNAP = "snap"
    FINDING = "finding"
    MANUAL = "manual"
    PART = "part"
    SPOT = "spot"
    SUPPLY = "supply"
    FIGURE = "figure"


class SearchText(models.Model):
    """One thing of a household that can be found.

    `names` and `words` hold its terms (`core/search`), a line each: what it is called,
    and what else it says. The database keeps an index of both: FTS5 beside this table
    in SQLite, indexes on the expressions in PostgreSQL (see the migrations).
    """

    household = models.ForeignKey(Household, on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=10, choices=SearchKind.choices)
    key = models.CharField(max_length=80)
    title = models.CharField(max_length=300)
    about = models.CharField(max_length=400, blank=True)  # shown beside the title
    on = models.DateField(null=True)  # the newer, the sooner it is shown
    names = models.TextField(blank=True)
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
