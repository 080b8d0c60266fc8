"""Manuals with their page notes, and where things are on a rig."""

import uuid

from django.db import models
from django.db.models import Q

from maintenance.households.models import Member

from .rigs import Rig


class Manual(models.Model):
    """A maker's book or the photo of a placard. `stored` is a name nobody can guess."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="manuals")
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    title = models.CharField("title", max_length=120)
    about = models.CharField("what it is about", max_length=80, blank=True)
    content_type = models.CharField(max_length=40)
    stored = models.CharField(max_length=80)
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    pages = models.PositiveIntegerField(null=True)  # None: a photo, or not told
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["title", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["rig", "title"], name="manual_title_once_per_rig"
            )
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def is_image(self) -> bool:
        return self.content_type.startswith("image/")


class PageNote(models.Model):
    """What stands on a page of a manual: “lug torque 140 ft·lbf”."""

    manual = models.ForeignKey(Manual, on_delete=models.CASCADE, related_name="notes")
    page = models.PositiveIntegerField("page")
    text = models.CharField("what stands there", max_length=200)

    class Meta:
        ordering = ["page", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(page__gte=1), name="page_from_one")
        ]

    def __str__(self) -> str:
        return f"p. {self.page}: {self.text}"


class Spot(models.Model):
    """Where something is on a rig, in words and with a photo; `name` is the library's
    name of such a place. The photo is always a JPEG."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="spots")
    name = models.SlugField(max_length=40)
    words = models.CharField("where it is", max_length=300, blank=True)
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    photo = models.CharField(max_length=80, blank=True)  # the name it is stored under
    sha256 = models.CharField(max_length=64, blank=True)
    told_on = models.DateField()
    told_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["rig", "name"], name="spot_once_per_rig"),
            models.CheckConstraint(
                condition=~Q(words="") | ~Q(photo=""), name="spot_tells_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.rig}"
