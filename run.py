"""Makes the environment and runs the two commands: ``python3 run.py tour`` and ``python3 run.py test``.

Needs nothing but Python 3.11 or newer. The Makefile only calls this file.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent
ENVIRONMENT = ROOT / ".venv"
PYTHON = ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
DEBIAN_PACKAGES = {
    "postgresql": Path("/usr/lib/postgresql"),
    "chromium": Path("/usr/bin/chromium"),
}


def call(*words: str | Path, **options: object) -> None:
    subprocess.run([str(word) for word in words], check=True, cwd=ROOT, **options)  # type: ignore[call-overload]


def prepare(extra: str) -> None:
    """Make the virtual environment and install the project, unless it is there already."""
    if sys.version_info < (3, 11):  # noqa: UP036 (this file also runs on an older Python, to say so)
        sys.exit("wearline needs Python 3.11 or newer; this is " + sys.version.split()[0])
    target = f".[{extra}]" if extra else "."
    stamp = ENVIRONMENT / f"installed-{extra or 'plain'}"
    wanted = hashlib.sha256((ROOT / "pyproject.toml").read_bytes() + str(ROOT).encode()).hexdigest()
    if stamp.exists() and stamp.read_text() == wanted and PYTHON.exists():
        return
    if not PYTHON.exists():
        print("Making the environment in .venv", flush=True)
        venv.create(ENVIRONMENT, with_pip=True)
    print("Installing what wearline needs (a minute or two the first time)", flush=True)
    call(PYTHON, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-e", target)
    stamp.write_text(wanted)


def prepare_debian() -> None:
    """Install the Debian packages that the tests start, where this is Debian and we may."""
    missing = [name for name, path in DEBIAN_PACKAGES.items() if not path.exists()]
    if not missing or shutil.which("apt-get") is None:
        return
    if os.geteuid() != 0:
        sys.exit("The tests need: sudo apt-get install " + " ".join(missing))
    quiet = {"env": os.environ | {"DEBIAN_FRONTEND": "noninteractive"}}
    call("apt-get", "update", "-qq", **quiet)
    call("apt-get", "install", "-y", "-qq", "--no-install-recommends", *missing, **quiet)


def tour(arguments: list[str]) -> int:
    prepare("")
    return subprocess.run([str(PYTHON), "-m", "wearline", "tour", *arguments], cwd=ROOT).returncode


def test(arguments: list[str]) -> int:
    prepare_debian()
    prepare("test")
    words = arguments or ["-n", "2"]
    return subprocess.run([str(PYTHON), "-m", "pytest", *words], cwd=ROOT).returncode


def scripts(pattern: str, arguments: list[str]) -> int:
    """Run every script of the bench folder that fits, and fail if one does."""
    prepare("test")
    code = 0
    for script in sorted((ROOT / "bench").glob(pattern)):
        print(f"\n== {script.name}", flush=True)
        code |= subprocess.run([str(PYTHON), str(script), *arguments], cwd=ROOT).returncode
    return code


def bench(arguments: list[str]) -> int:
    return scripts("bench_*.py", arguments)


def soak(arguments: list[str]) -> int:
    return scripts("soak_*.py", arguments)


COMMANDS = {"tour": tour, "test": test, "bench": bench, "soak": soak}


def main() -> int:
    if len(sys.argv) < 2 or sys.argv[1] not in COMMANDS:
        print("usage: python3 run.py {" + ",".join(COMMANDS) + "} [arguments]", file=sys.stderr)
        return 2
    return COMMANDS[sys.argv[1]](sys.argv[2:])


if __name__ == "__main__":
    sys.exit(main())
