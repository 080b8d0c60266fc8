"""Which procedures a rig should take on, and why; a rule put onto a rig's meters."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from maintenance.library.model import EVERY_KIND, Equipment, Library, Procedure

ODOMETER = "odometer"
TOWED = "towed"
METER_PHRASES = {
    "distance": "a meter for distance",
    "engine": "an engine hour meter",
    "generator": "a generator hour meter",
}


@dataclass(frozen=True, slots=True)
class Proposal:
    """A procedure that fits a rig; `because` says why, as half a sentence."""

    procedure: Procedure
    because: str


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A procedure that does not fit a rig; `because` says why not."""

    procedure: Procedure
    because: str


def propose(
    library: Library, *, kind: str, equipment: Collection[str], meters: Iterable[str]
) -> list[Proposal]:
    """What a rig of this kind, equipment and meters should take on, in file order."""
    meters = set(meters)
    return [
        Proposal(procedure, _why_in(library, procedure, kind, equipment))
        for procedure in library.procedures.values()
        if not _why_out(library, procedure, kind, equipment, meters)
    ]


def left_out(
    library: Library, *, kind: str, equipment: Collection[str], meters: Iterable[str]
) -> list[LeftOut]:
    """All that `propose` leaves out, each with its reason."""
    meters = set(meters)
    found = []
    for procedure in library.procedures.values():
        why = _why_out(library, procedure, kind, equipment, meters)
        if why:
            found.append(LeftOut(procedure, why))
    return found


def resolve_triggers(
    procedure: Procedure, meters: Mapping[str, str] | Collection[str]
) -> list[dict[str, Any]]:
    """The triggers on a rig's own meters; those on a meter it lacks are left out.

    `distance` becomes the odometer, or the towed distance where there is none. An
    empty list means that nothing can say when the procedure is due on this rig.
    """
    found = []
    for rule in procedure.triggers:
        meter = _meter_of(rule)
        own = _own_meter(meter, meters)
        if meter is None:
            found.append(dict(rule))
        elif own is not None:
            found.append(_with_meter(rule, own))
    return found


def _meter_of(rule: Mapping[str, Any]) -> str | None:
    for body in rule.values():
        if isinstance(body, Mapping) and "meter" in body:
            return str(body["meter"])
    return None


def _own_meter(meter: str | None, meters: Collection[str]) -> str | None:
    wanted = (ODOMETER, TOWED) if meter == "distance" else (meter,)
    return next((name for name in wanted if name in meters), None)


def _with_meter(rule: Mapping[str, Any], own: str) -> dict[str, Any]:
    return {
        name: {**body, "meter": own}
        if isinstance(body, Mapping) and "meter" in body
        else body
        for name, body in rule.items()
    }


def _why_out(
    library: Library,
    procedure: Procedure,
    kind: str,
    equipment: Collection[str],
    meters: Collection[str],
) -> str:
    """Why the procedure does not fit; empty if it does."""
    if not procedure.suits(kind):
        return f"it isn't for {EVERY_KIND[kind]}"
    for key in procedure.equipment:
        if key not in equipment:
            return f"the rig doesn't have {library.equipment[key].phrase}"
    either = procedure.equipment_any
    if either and not any(key in equipment for key in either):
        return f"the rig doesn't have {_join(library, either, 'or')}"
    for key in procedure.without:
        if key in equipment:
            return f"the rig has {library.equipment[key].phrase}"
    if procedure.triggers and not resolve_triggers(procedure, meters):
        lacking = {METER_PHRASES[_meter_of(rule) or ""] for rule in procedure.triggers}
        return f"the rig doesn't have {' or '.join(sorted(lacking))}"
    return ""


def _why_in(
    library: Library, procedure: Procedure, kind: str, equipment: Collection[str]
) -> str:
    either = [key for key in procedure.equipment_any if key in equipment]
    has = [*procedure.equipment, *either]
    parts = []
    if procedure.kinds:
        parts.append(f"it's {EVERY_KIND[kind]}")
    if has:
        parts.append(f"it has {_join(library, has, 'and')}")
    return f"because {' and '.join(parts)}" if parts else "because every rig needs it"


def _join(library: Library, keys: Collection[str], word: str) -> str:
    known: Mapping[str, Equipment] = library.equipment
    *first, last = [known[key].phrase for key in keys]
    return f"{', '.join(first)} {word} {last}" if first else last
