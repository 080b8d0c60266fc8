"""Where the pieces of a drawn bar stand, in percent of its width.

A bar is a span of days or of miles. `templatetags/bars.py` writes the pieces as SVG."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from maintenance.core.lanes import Block, Lane, week_begin

Value = date | Decimal | int | float


@dataclass(frozen=True, slots=True)
class Axis:
    """From its left end to its right end."""

    start: Value
    end: Value

    def at(self, value: Value) -> float:
        """Percent of the width, kept within the bar."""
        whole = _between(self.start, self.end)
        if whole <= 0:
            return 0.0
        share = _between(self.start, value) / whole
        return round(min(max(share, 0), 1) * 100, 2)

    def piece(self, css: str, low: Value, high: Value, fill: str = "") -> "Piece":
        x = self.at(low)
        return Piece(css, x, round(max(self.at(high) - x, 0), 2), fill)


def _between(low: Value, high: Value) -> float:
    if isinstance(low, date) and isinstance(high, date):
        return (high - low).days
    return float(high) - float(low)  # type: ignore[arg-type]  # both of one kind


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of the bar; `css` is its class."""

    css: str
    x: float
    width: float
    fill: str = ""  # the name of a pattern, where it has one

    @property
    def end(self) -> float:
        return round(self.x + self.width, 2)


@dataclass(frozen=True, slots=True)
class Post:
    """A post or the line of today; at the right end it stands inside the bar."""

    css: str
    x: float

    @property
    def inside(self) -> bool:
        return self.x > 50


@dataclass(frozen=True, slots=True)
class Label:
    """Two lines below a post: a figure and a word."""

    x: float
    figure: str
    word: str = ""

    @property
    def anchor(self) -> str:
        if self.x < 12:
            return "start"
        return "end" if self.x > 88 else "middle"


@dataclass(frozen=True, slots=True)
class Bar:
    pieces: tuple[Piece, ...]
    posts: tuple[Post, ...] = ()
    labels: tuple[Label, ...] = ()
    today: float | None = None


def window(
    axis: Axis, opens: Value, closes: Value, today: Value, *, by_shop: bool = False
) -> Bar:
    """Upkeep is a span: two posts and color between, today as a line. Past it, a red
    line runs from its right post on."""
    look = "shop" if by_shop else "open" if _between(opens, today) >= 0 else "later"
    pieces = [axis.piece(look, opens, closes)]
    late = _between(closes, today) > 0
    if late:
        pieces.append(axis.piece("late", closes, today))
    posts = (Post("post", axis.at(opens)), _right_post(axis, closes, late=late))
    return Bar(tuple(pieces), posts, today=axis.at(today))


def road(
    start: Value,
    opens: Value,
    closes: Value,
    now: Value,
    labels: tuple[tuple[Value, str, str], ...] = (),
) -> Bar:
    """Why now: from the cause at the left end to the window that it opened, with the
    rig on its way. `labels`: where, figure, word."""
    last = max(closes, now)
    axis = Axis(start, last)
    late = _between(closes, now) > 0
    pieces = [axis.piece("open", opens, closes)]
    if late:
        pieces.append(axis.piece("late", closes, now))
    posts = (
        Post("post", 0.0),
        Post("post", axis.at(opens)),
        _right_post(axis, closes, late=late),
    )
    below = tuple(Label(axis.at(at), figure, word) for at, figure, word in labels)
    return Bar(tuple(pieces), posts, below, axis.at(now))


def life(axis: Axis, made: Value, today: Value, limit: Value) -> Bar:
    """How old a part is: solid to today, then what is left, to a post; striped when it
    is past it."""
    late = _between(limit, today) > 0
    pieces = (
        (axis.piece("over", made, today, "hatch-over"),)
        if late
        else (
            axis.piece("used", made, today),
            axis.piece("left", today, limit, "hatch-left"),
        )
    )
    return Bar(pieces, (_right_post(axis, limit, late=False),), today=axis.at(today))


def runway(axis: Axis, start: Value, sure: Value, maybe: Value, today: Value) -> Bar:
    """How long something lasts: solid is sure, striped is maybe, then a post; none
    where that lies beyond the axis."""
    pieces = (
        axis.piece("sure", start, sure),
        axis.piece("maybe", sure, maybe, "hatch-left"),
    )
    gone = _between(maybe, today) > 0
    ends = _between(maybe, axis.end) >= 0
    posts = (_right_post(axis, maybe, late=gone),) if ends else ()
    return Bar(pieces, posts, today=axis.at(today))


@dataclass(frozen=True, slots=True)
class Window:
    """A span on a longer line, with its word."""

    opens: Value
    closes: Value
    word: str


@dataclass(frozen=True, slots=True)
class Line:
    """A whole stay on one line: `ticks` are its months, `words` stand over its windows,
    `done` are where its visits were."""

    bar: Bar
    ticks: tuple[Label, ...]
    words: tuple[Label, ...]
    done: tuple[float, ...]


ROOM = 13  # percent of the width that a word takes


def line(
    axis: Axis,
    stored: tuple[Value, Value],
    windows: Sequence[Window],
    today: Value,
    *,
    ticks: Sequence[tuple[Value, str]] = (),
    done: Sequence[Value] = (),
) -> Line:
    """Hatched while stored, each window between its posts; a word that would run into
    the one before it is left to the list beside the line."""
    pieces = [axis.piece("stored", *stored, "hatch-stored")]
    posts, words, free = [], [], 0.0
    for one in windows:
        opens, closes = axis.at(one.opens), axis.at(one.closes)
        look = "open" if _between(one.opens, today) >= 0 else "later"
        pieces.append(axis.piece(look, one.opens, one.closes))
        late = _between(one.closes, today) > 0
        posts.append(Post("post", opens))
        if closes > opens:
            posts.append(_right_post(axis, one.closes, late=late))
        if opens >= free:
            words.append(Label(opens, one.word))
            free = opens + ROOM
    bar = Bar(tuple(pieces), tuple(posts), today=axis.at(today))
    months = tuple(Label(axis.at(at), word) for at, word in ticks)
    return Line(bar, months, tuple(words), tuple(axis.at(at) for at in done))


# --- the next 60 days -----------------------------------------------------------------

LANE_BEFORE, LANE_AHEAD = timedelta(days=7), timedelta(days=60)
LETTER = 0.95  # percent of a lane's width that a letter takes on a laptop


@dataclass(frozen=True, slots=True)
class BlockDrawn:
    """What closes in one week: through the whole lane, with two lines of words."""

    piece: Piece
    begins: date
    count: int
    safety: bool
    now: bool

    @property
    def end(self) -> float:
        return self.piece.end


@dataclass(frozen=True, slots=True)
class LaneDrawn:
    """`words` stand over the windows; `late` names what is overdue, drawn from the left
    end to today."""

    bar: Bar
    words: tuple[Label, ...]
    blocks: tuple[BlockDrawn, ...]
    late: str


def lane_axis(today: date) -> Axis:
    return Axis(today - LANE_BEFORE, today + LANE_AHEAD)


def lane(lane: Lane, stays: Iterable[tuple[date, date]], today: date) -> LaneDrawn:
    """The road of a rig: hatched while it is stored, its windows or its blocks."""
    axis = lane_axis(today)
    pieces = [axis.piece("stored", *stay, "hatch-stored") for stay in stays]
    posts: list[Post] = []
    for one in lane.windows:
        opens, closes = max(one.opens, today), one.closes + timedelta(days=1)
        now = one.opens <= today
        look = "shop" if one.shop else "open" if now else "later"
        pieces.append(axis.piece(look, opens, closes))
        posts.append(Post("post", axis.at(opens)))
        if _between(closes, axis.end) >= 0:
            posts.append(_right_post(axis, closes, late=False))
    late = lane.overdue
    return LaneDrawn(
        bar=Bar(tuple(pieces), tuple(posts), today=axis.at(today)),
        words=tuple(_lane_words(axis, lane, today)),
        blocks=tuple(_block(axis, block, today) for block in lane.blocks),
        late=f"{len(late)} overdue" if len(late) > 1 else "".join(late),
    )


def _lane_words(axis: Axis, lane: Lane, today: date) -> Iterable[Label]:
    """A word over each window; what opens at one place shares a word, and one that
    would run into the word before it moves on."""
    at: dict[float, list[str]] = {}
    for one in sorted(lane.windows, key=lambda x: (max(x.opens, today), x.closes)):
        at.setdefault(axis.at(max(one.opens, today)), []).append(one.name)
    free = 0.0
    for x, names in at.items():
        begin, word = max(x, free), ", ".join(names)
        free = begin + len(word) * LETTER + 1
        if free <= 100 + LETTER:
            yield Label(round(begin, 2), word)


def _block(axis: Axis, block: Block, today: date) -> BlockDrawn:
    begins = max(block.begins, today)
    return BlockDrawn(
        piece=axis.piece(
            "open" if block.now else "later", begins, block.ends + timedelta(days=1)
        ),
        begins=block.begins,
        count=len(block.names),
        safety=block.safety,
        now=block.now,
    )


def lane_weeks(today: date, first_weekday: int) -> tuple[tuple[float, date], ...]:
    """The first day of each week ahead, and where it stands."""
    axis, week = lane_axis(today), timedelta(days=7)
    first = week_begin(today, first_weekday) + week
    days = (first + n * week for n in range(LANE_AHEAD // week + 1))
    return tuple((axis.at(day), day) for day in days if day < today + LANE_AHEAD)


def progress(done: int, of: int) -> Bar:
    """The road of a work session: the rig stands where its last done job ends."""
    axis = Axis(0, of)
    return Bar((axis.piece("open", 0, done),), today=axis.at(done))


BAND = 110  # height in pixels


@dataclass(frozen=True, slots=True)
class Band:
    """A meter by day: points of lines in a square of 100, with what they mean."""

    known: str
    likely: str
    span: str
    today: float
    at: tuple[float, float]  # the last known point: percent, pixels
    highest: float
    lowest: float


def band(
    known: Sequence[tuple[date, float]],
    expected: Sequence[tuple[date, float, float, float]],
    today: date,
) -> Band:
    """What was read as a line, and what is expected as a band around one."""
    days = [on for on, _value in known] + [row[0] for row in expected] + [today]
    values = [value for _on, value in known]
    values += [value for _on, *three in expected for value in three]
    axis, scale = Axis(min(days), max(days)), Axis(min(values), max(values))

    def line(points: Iterable[tuple[date, float]]) -> str:
        return " ".join(f"{axis.at(on)},{_down(scale, value)}" for on, value in points)

    there = line((on, high) for on, _low, _likely, high in expected)
    back = line((on, low) for on, low, _likely, _high in reversed(expected))
    last, value = known[-1] if known else (today, min(values))
    return Band(
        known=line(known),
        likely=line((on, likely) for on, _low, likely, _high in expected),
        span=f"{there} {back}".strip(),
        today=axis.at(today),
        at=(axis.at(last), round(_down(scale, value) * BAND / 100, 1)),
        highest=max(values),
        lowest=min(values),
    )


def _down(scale: Axis, value: float) -> float:
    """From the top, with some room above and below."""
    return round(96 - 0.92 * scale.at(value), 2)


def share(value: Value, most: Value) -> Bar:
    """An amount beside others of its kind; its figure stands with it."""
    return Bar((Axis(0, most).piece("used", 0, value),))


def _right_post(axis: Axis, at: Value, *, late: bool) -> Post:
    return Post("post post-over" if late else "post", axis.at(at))
