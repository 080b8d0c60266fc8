"""Reading what was brought in."""

from maintenance.service_records.models import ServiceRecord

from .models import BroughtRow


def rows_behind(record: ServiceRecord) -> list[BroughtRow]:
    """The rows of files that a record was made of."""
    return list(record.brought_rows.select_related("bringing"))
