"""The kinds of triggers on the page, a module each. Every module here is one: `KIND` in
it; what it says of comes from the module of that name in `core/triggers/kinds/`."""

from importlib import import_module
from pkgutil import iter_modules
from typing import Any

from maintenance.core.triggers import Kind
from maintenance.plans.rule_kind import RuleKind, Sentence

_FOUND: list[RuleKind[Any]] = [
    import_module(f"{__name__}.{one.name}").KIND for one in iter_modules(__path__)
]
# In the order of the form of rules.
KINDS = tuple(sorted(_FOUND, key=lambda kind: (kind.group, kind.place)))
_BY_TRIGGER = {kind.trigger: kind for kind in KINDS}
REASONS: dict[str, Sentence] = {
    key: sentence for kind in KINDS for key, sentence in kind.reasons.items()
}


def kind_of(rule: Kind) -> RuleKind[Any]:
    return _BY_TRIGGER[type(rule)]
