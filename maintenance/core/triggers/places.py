"""Places of an event: some by name, or all but some."""

from dataclasses import dataclass

NONE: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Places:
    """The places `names`; when None, all places `but` some."""

    names: frozenset[str] | None
    but: frozenset[str] = NONE

    def __bool__(self) -> bool:
        return self.names is None or bool(self.names)

    def __or__(self, other: "Places") -> "Places":
        if self.names is not None and other.names is not None:
            return Places(self.names | other.names)
        if self.names is None and other.names is None:
            return Places(None, self.but & other.but)
        if self.names is None:
            return Places(None, self.but - (other.names or NONE))
        return other | self

    def __and__(self, other: "Places") -> "Places":
        return self - (self - other)

    def __sub__(self, other: "Places") -> "Places":
        if self.names is not None:
            gone = self.names - other.but if other.names is None else other.names
            return Places(self.names - gone)
        if other.names is not None:
            return Places(None, self.but | other.names)
        return Places(other.but - self.but)
