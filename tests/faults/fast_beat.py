"""The beat, with a second between the turns of each job."""

from rigsite import beat
from rigsite.celery import app

if __name__ == "__main__":
    for entry in app.conf.beat_schedule.values():
        entry["schedule"] = 1
    beat.main()
