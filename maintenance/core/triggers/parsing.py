"""Triggers as plain data, in the form of case files and of the procedure library."""

from maintenance.core.fields import Fields, as_list
from maintenance.core.triggers.kind import Kind, Units
from maintenance.core.triggers.kinds import KINDS
from maintenance.core.triggers.plain import inner

KEYS = tuple(dict.fromkeys(kind.key for kind in KINDS))
BY_KEY = {key: [kind for kind in KINDS if kind.key == key] for key in KEYS}
BESIDE = tuple(dict.fromkeys(name for kind in KINDS for name in kind.beside))
KNOWN = KEYS + BESIDE


def parse_triggers(
    data: list[object], place: str, *, units: Units | None = None
) -> tuple[Kind, ...]:
    """Triggers from plain data in the form of design section 4.4.

    `place` names where the list stands, for the message. With `units` (the rig's
    meters), a meter that the rig does not have is refused and a missing `unit` is the
    meter's own. Raises `FactError`: unknown key, event kind or unit; a value that is
    missing, of the wrong kind, or outside the plausible range, which it states.
    """
    found = enumerate(as_list(data, place))
    return tuple(_trigger(one, f"{place}[{i}]", units) for i, one in found)


def trigger_to_data(trigger: Kind) -> dict[str, object]:
    """The trigger in the form that `parse_triggers` reads; defaults are left out."""
    return trigger.to_data()


def _trigger(data: object, place: str, units: Units | None) -> Kind:
    fields = Fields(data, place)
    for known in KNOWN:
        fields.get(known)
    fields.finish()
    kind = _kind(fields)
    fields = Fields(data, place)
    found = kind.parse(fields, units)
    fields.finish()
    return found


def _kind(fields: Fields) -> type[Kind]:
    key = fields.one_of(KEYS, "a rule")
    kinds = BY_KEY[key]
    if len(kinds) == 1:
        return kinds[0]
    names = [name for kind in kinds for name in kind.told_by]
    told = inner(fields, key).one_of(names, "an interval")
    return next(kind for kind in kinds if told in kind.told_by)
