"""`manage.py test`: makes what the tests need, then hands over to pytest. Standard
library only."""

import contextlib
import os
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

from rigsite import packages, system
from rigsite.children import die_with_parent
from rigsite.console import Stop, complain, say
from rigsite.paths import CHECKOUT, environment_python

USAGE = """manage.py test [--postgres | --browser] [arguments for pytest]
  nothing      the suite on SQLite
  --postgres   the suite on a PostgreSQL and a Redis of its own
  --browser    the tests in a headless browser"""

ALWAYS = ("openssl", "systemd-analyze")
PROGRAMS = {
    "--postgres": (*ALWAYS, "initdb", "redis-server"),
    "--browser": ("chromium", "java", "npm"),
}


def run(arguments: list[str]) -> int:
    if arguments[:1] in (["-h"], ["--help"]):
        say(USAGE)
        return 0
    mode = next((each for each in arguments if each in PROGRAMS), "")
    rest = [each for each in arguments if each != mode]
    try:
        return _run(mode, rest)
    except Stop as reason:
        complain(str(reason))
        return 1
    except KeyboardInterrupt:
        return 130


def _run(mode: str, arguments: list[str]) -> int:
    system.install(system.missing_packages(PROGRAMS.get(mode, ALWAYS)))
    with contextlib.ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="rig-")))
        packages.provide(Path(tempfile.gettempdir(), "rigsite-install.log"), tests=True)
        env = os.environ | {"RIGSITE_DATA": str(folder / "data")}
        # Some hundred processes start from the same files: compiled once is enough.
        env.pop("PYTHONDONTWRITEBYTECODE", None)
        if mode == "--postgres":
            env |= stack.enter_context(_servers(folder))
        if mode == "--browser":
            # Playwright's loop makes Django take every test for asynchronous code.
            env["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
        python = str(environment_python())
        command = [python, "-m", "pytest", *for_pytest(mode, arguments)]
        done = subprocess.run(
            command, env=env, cwd=CHECKOUT, check=False, preexec_fn=die_with_parent
        )
        return done.returncode


def for_pytest(mode: str, arguments: list[str]) -> list[str]:
    chosen = ["tests/browser"] if mode == "--browser" else []
    if not any(each.startswith(("-n", "--numprocesses")) for each in arguments):
        # A file whole by one process: what its tests share is made once.
        chosen += ["-n", "2", "--dist", "loadfile", "--no-loadscope-reorder"]
    if mode == "--postgres":
        # Those start the whole program, which brings its own database and broker; and
        # those that hang on no database: of the core not one, nor are they collected.
        chosen += ["-m", "not whole_program and not either_database"]
        chosen += ["--ignore", "tests/core"]
    return [*chosen, *arguments]


@contextlib.contextmanager
def _servers(folder: Path) -> Iterator[dict[str, str]]:
    from tests import servers  # noqa: PLC0415  (nothing else knows the tests)

    with servers.postgresql(folder) as database, servers.redis(folder) as redis:
        yield {"DATABASE_URL": database, "REDIS_URL": redis.url}
