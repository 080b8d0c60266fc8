"""The jobs of a new day beside a bare query: `python -m tests.bench.sweep`.

    --sizes 100,1000,10000    households, of 60 items each
    --crossing 1              of so many in a hundred one item falls due today
    --postgres                on a PostgreSQL of its own, then with 1, 2, 4 workers

`bare` is one indexed query for the items that fall due today, `insert` one statement
that stores as many notices: what any program must do. `find` is how the jobs find the
households whose day has come; `work` is what is then done for each of them (reckon 60
items, store the standings, raise the notices).
"""

import argparse
import contextlib
import os
import tempfile
from pathlib import Path

from tests import servers


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.sweep")
    parser.add_argument("--sizes", default="100,1000,10000")
    parser.add_argument("--crossing", type=int, default=1)
    parser.add_argument("--postgres", action="store_true")
    options = parser.parse_args()
    with contextlib.ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="rig-")))
        os.environ |= {
            "DJANGO_SETTINGS_MODULE": "rigsite.settings",
            "RIGSITE_DATA": str(folder),
            "LOG_LEVEL": "WARNING",
        }
        if options.postgres:
            url = stack.enter_context(servers.postgresql(folder))
            broker = stack.enter_context(servers.redis(folder))
            os.environ |= {"DATABASE_URL": url, "REDIS_URL": broker.url}
        import django

        django.setup()
        from tests.bench.sweep import measure

        sizes = [int(size) for size in options.sizes.split(",")]
        measure.run(sizes, options.crossing, shared=options.postgres)


if __name__ == "__main__":
    main()
