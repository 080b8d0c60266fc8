"""Words that any sentence is built of."""


def counted(count: int, one: str, many: str = "") -> str:
    """A count with what is counted ("3 days"); `many` where an s is not enough."""
    return f"{count:,} {one if count == 1 else many or one + 's'}"
