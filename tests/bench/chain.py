"""A chain of 10,000 records: seconds to link it and to verify it, and the growth.

    .venv/bin/python -m tests.bench.chain

Aims: verifying 10,000 records within 5 s, linking them within 3 times of that. Each
record has two lines, every fourth a file of 100 kB. The seconds are those of the
processor: what else runs on the machine does not count.
"""

import hashlib
import os
import tempfile
import time
from datetime import timedelta
from uuid import uuid4

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")
os.environ["RIGSITE_DATA"] = tempfile.mkdtemp(prefix="rig-")
os.environ["LOG_LEVEL"] = "WARNING"

import django

django.setup()

from django.core.management import call_command
from django.utils import timezone

from maintenance.service_records.chain.linking import link_rig
from maintenance.service_records.chain.verifying import verify
from maintenance.service_records.models import Attachment, RecordLine, ServiceRecord
from maintenance.service_records.proof import proof_folder
from tests.builders import TODAY, make_member, make_rig

SIZES = (1000, 10_000)


def fill(records: int):
    by = make_member()
    rig = make_rig(by.household)
    made = ServiceRecord.objects.bulk_create(
        ServiceRecord(
            rig=rig,
            on=TODAY - timedelta(days=n // 5),
            doer="Bay Street Garage",
            values={"odometer": str(42000 + n)},
            currency="USD",
            total=n,
            notes="Invoice in the blue folder.",
            entered_by=by,
        )
        for n in range(records)
    )
    RecordLine.objects.bulk_create(
        RecordLine(record=row, position=n, title=f"Job {n}", note="as booked")
        for row in made
        for n in (0, 1)
    )
    Attachment.objects.bulk_create(proof_of(row) for row in made[::4])
    return rig


def proof_of(row: ServiceRecord) -> Attachment:
    data = str(row.pk).encode().ljust(100_000)
    digest = hashlib.sha256(data).hexdigest()
    proof_folder().mkdir(parents=True, exist_ok=True)
    (proof_folder() / digest).write_bytes(data)
    return Attachment(
        rig=row.rig,
        record=row,
        form_token=uuid4(),
        title="invoice.pdf",
        content_type="application/pdf",
        stored=digest,
        size=len(data),
        sha256=digest,
    )


def timed(work):
    begun = time.process_time()
    result = work()
    return time.process_time() - begun, result


def main() -> None:
    call_command("migrate", verbosity=0)
    print("records    link   verify   link/verify   of 5 s   growth")
    before = 0.0
    for size in SIZES:
        rig = fill(size)
        later = timezone.now() + timedelta(minutes=11)
        linking, _count = timed(lambda rig=rig, at=later: link_rig(rig, at))
        verifying, result = min(
            (timed(lambda rig=rig: verify(rig)) for _ in range(3)),
            key=lambda pair: pair[0],
        )
        assert result.holds
        growth = f"{verifying / before:.1f} x" if before else ""
        ratio = f"{linking / verifying:9.1f} x"
        print(
            f"{size:7}  {linking:5.2f}s  {verifying:5.2f}s   {ratio}"
            f"   {verifying / 5:6.2f}   {growth}",
            flush=True,
        )
        before = verifying


if __name__ == "__main__":
    main()
