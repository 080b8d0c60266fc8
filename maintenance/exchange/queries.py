"""Reading what was brought in."""

from maintenance.service_records.models import ServiceRecord

from .models import ImportedRow


def rows_behind(record: ServiceRecord) -> list[ImportedRow]:
    """The rows of files that a record was made of."""
    return list(record.brought_rows.select_related("bringing"))
