"""Use that a component brings along from another rig."""

from dataclasses import replace
from decimal import Decimal

from maintenance.core.facts import Completion, Values


def carried(completion: Completion, *, spent: Values, at_move: Values) -> Completion:
    """A completion of a component's item as the rig that it moved to counts it.

    `spent`: the distance or hours since the completion on the rigs before; `at_move`:
    what the new rig's meters showed on the day of the move; both in the units of the
    new rig's meters. The figure so is what the new rig would have shown had the use
    been its own, and may be negative. The day stays: time already spent counts too.
    """
    values: dict[str, Decimal] = {
        meter: shown - spent[meter]
        for meter, shown in at_move.items()
        if meter in spent
    }
    return replace(completion, values=values)
