"""Rows as JSON lines, with moments whole: Django's own lines cut them to milliseconds,
and a chained record whose moment was cut no longer fits its link."""

from datetime import datetime
from typing import Any

from django.core.serializers import jsonl
from django.core.serializers.json import DjangoJSONEncoder

Deserializer = jsonl.Deserializer


class WholeMoments(DjangoJSONEncoder):
    def default(self, o: Any) -> Any:
        return o.isoformat() if isinstance(o, datetime) else super().default(o)


class Serializer(jsonl.Serializer):
    def _init_options(self) -> None:
        super()._init_options()  # type: ignore[misc]  # not in the stubs
        self.json_kwargs["cls"] = WholeMoments
