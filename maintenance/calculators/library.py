"""What the library says of calculators, held against those that there are."""

from maintenance.core.fields import as_choice
from maintenance.library.model import Procedure


def refuse_unknown_calculators(procedure: Procedure) -> None:
    """Raise FactError for the first one that is not on the bench."""
    # Their forms come with them: whoever reads no library does not need them.
    from .subjects import CALCULATORS  # noqa: PLC0415

    for number, key in enumerate(procedure.calculators):
        as_choice(key, f"calculators[{number}]", CALCULATORS)
