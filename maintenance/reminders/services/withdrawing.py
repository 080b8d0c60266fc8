"""Safety notices whose event was withdrawn, or undone: what is not sent is dropped, and
whoever was told already reads so in the next digest."""

from collections.abc import Iterable, Sequence

from django.db.models import Exists, OuterRef

from maintenance.core import notices as core
from maintenance.plans.models import Completion

from .. import queries
from ..models import WENT_OUT, Notice, Stage


def withdraw_of_events(
    items: Sequence[core.ItemNow], told: Iterable[core.Told]
) -> None:
    """Withdraw those safety notices of `items` whose event counts no more; `told` is
    all that was told of these items."""
    open_now = {(item.item, name) for item in items for name in item.events}
    keys = {row.key for row in told if row.key.stage == "safety" and row.key.event}
    resting = {key for key in keys if (key.item, key.event) not in open_now}
    names = {key.event for key in resting}
    if not names:
        return
    gone = names - queries.events_that_count(names)
    if gone:
        _withdraw(
            [item.item for item in items if not core.asked_for(item)],
            {key for key in resting if key.event in gone},
        )


def _withdraw(unasked: Sequence[int], keys: Iterable[core.Key]) -> None:
    """Nothing is said of work that is asked for all the same, or was done."""
    rows = Notice.objects.filter(
        stage=Stage.SAFETY,
        item__in={key.item for key in keys},
        cycle__in={key.cycle for key in keys},
    )
    done = Completion.objects.filter(
        item=OuterRef("item"), withdrawn=False, on__gte=OuterRef("raised_on")
    )
    went = rows.filter(item__in=unasked, digest__state__in=WENT_OUT)
    # Locked, so that of two who raise at once only one makes it wait anew.
    for row in went.exclude(Exists(done)).select_for_update(of=["self"]):
        said = Notice.objects.filter(
            item=row.item_id, member=row.member_id, cycle=row.cycle
        )
        said.filter(stage=Stage.WITHDRAWN).delete()  # it was withdrawn once before
        row.stage, row.digest = Stage.WITHDRAWN, None
        row.save(update_fields=["stage", "digest"])
    rows.delete()
