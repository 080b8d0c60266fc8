"""Kept figures, for the pages of the jobs that need them."""

from maintenance.plans.models import PlanItem
from maintenance.work_sheets.figures import JobFigure

from .models import KeptFigure


def figures_for(item: PlanItem, calculators: tuple[str, ...]) -> list[JobFigure]:
    """Of each calculator and note the newest figure that is kept for the rig."""
    if not calculators:
        return []
    rows = KeptFigure.objects.filter(rig=item.rig_id, calculator__in=calculators)
    newest: dict[tuple[str, str], KeptFigure] = {}
    for row in rows.order_by("-kept_on", "-pk"):
        newest.setdefault((row.calculator, row.note), row)
    return [
        JobFigure(
            row.title,
            row.note,
            row.kept_on,
            tuple((what, figure) for what, figure in row.lines),
        )
        for row in newest.values()
    ]
