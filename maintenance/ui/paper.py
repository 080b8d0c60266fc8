"""The paper that a household prints on."""

# Where letter paper is usual, told by the currency.
LETTER = {"USD", "CAD", "MXN"}


def paper_size(currency: str) -> str:
    """`letter` or `a4`, as the print styles name them."""
    return "letter" if currency in LETTER else "a4"
