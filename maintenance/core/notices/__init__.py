"""Which notices to raise now: standings and what was told before in, notices out.

For the shell:

- `notices_now` is called as often as you like; store what comes out. Each notice has a
  `Key` of item, cycle, stage and person, the unique row of a table: raising it again
  is refused there, and what was told is left out here. `Told` is such a row with the
  day on which it was raised; give those of the items asked about, but not those that
  were dropped unsent: should their window come back, they are raised once more, and
  the row is to be taken up again.
- The cycle names the window (`every_time:2026-06-01`), so the same window never
  notifies twice and a new one does. A repeat carries its number (`…#2`); what was put
  off until a day comes once more under that day (`…@2026-06-10`).
- `next_day` says until when there is nothing to raise while standings stay as they are.
- `at_once` goes out by itself, the rest waits for the digest. Several notices for one
  item are told as one: `one_per_item`.
- `longest_hold` says by how many days a person may move a reminder.
- `Key.event` names the event that a safety notice rests on. Of one that went out and
  whose event counts no more (withdrawn, not followed up) make a notice of the stage
  `withdrawn` with the same cycle, unless the work is `asked_for` all the same.
- Just before sending, `still_true` says whether what was raised still holds.
- A finding that makes a rig unfit to travel is told to whoever may drive: at once, then
  like what is overdue (`finding_notices`, `next_finding_day`). So is an item that does
  so once it is overdue, whatever that person chose to be told of.
- What is due by expectation is not told anew for a while after somebody said that the
  rig was not towed: `silent_until`.
- Sold rigs, dropped items and people who left are simply not given.
- `digest_day` says whose day's digest is due; unique per `digest_key`. What cannot wait
  while digests do is unique per `urgent_key`, a day, too. `message_id` makes the
  Message-ID: of a key and the moment, kept with the mail, so that a repeated mail is
  the same one and a mail after a restore is another.

Stages: `heads_up` (it stands soon), `book` (shop work likely to close within the usual
wait for a shop and a week), `due`, `overdue` (again weekly, then monthly), `safety`
(an event asks for a safety check: told as soon as it is recorded), `withdrawn`.
"""

from maintenance.core.notices.findings import (
    FindingTold,
    finding_notices,
    next_finding_day,
)
from maintenance.core.notices.holding import LONGEST_HOLD, longest_hold
from maintenance.core.notices.mail import (
    clock_key,
    digest_day,
    digest_key,
    message_id,
    urgent_key,
)
from maintenance.core.notices.not_towed import SILENT, counts_towed, silent_until
from maintenance.core.notices.raising import (
    SHOP_WAIT_DAYS,
    asked_for,
    next_day,
    notices_now,
    one_per_item,
    stages_now,
    still_true,
)
from maintenance.core.notices.values import (
    ALL_STAGES,
    ItemNow,
    Key,
    Notice,
    Person,
    Stage,
    Told,
)

__all__ = [
    "ALL_STAGES",
    "LONGEST_HOLD",
    "SHOP_WAIT_DAYS",
    "SILENT",
    "FindingTold",
    "ItemNow",
    "Key",
    "Notice",
    "Person",
    "Stage",
    "Told",
    "asked_for",
    "clock_key",
    "counts_towed",
    "digest_day",
    "digest_key",
    "finding_notices",
    "longest_hold",
    "message_id",
    "next_day",
    "next_finding_day",
    "notices_now",
    "one_per_item",
    "silent_until",
    "stages_now",
    "still_true",
    "urgent_key",
]
