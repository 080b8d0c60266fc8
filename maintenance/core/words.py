"""Words that any sentence is built of."""

from maintenance.core.units import show_number


def counted(count: int, one: str, many: str = "") -> str:
    """A count with what is counted ("3 days"); `many` where an s is not enough."""
    return f"{show_number(count)} {one if count == 1 else many or one + 's'}"
