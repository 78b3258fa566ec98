"""The program itself, started as a person starts it, on a port of loopback that is free."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

NURSERY = Path(__file__).parent / "web_nursery.py"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Served:
    """``wearline serve`` in a process of its own, that can be killed and started again."""

    def __init__(self, database: Path, *more: str) -> None:
        self.database = database
        self.port = free_port()
        self.base = f"http://127.0.0.1:{self.port}"
        self._more = more
        self._log = database.with_suffix(".log").open("a")
        self.process: subprocess.Popen[bytes] | None = None

    def start(self, patience: float = 60.0) -> None:
        command = [sys.executable, "-m", "wearline", "serve", "--port", str(self.port)]
        command += [
            "--database",
            str(self.database),
            "--drills",
            str(self.database.parent / "drills"),
            *self._more,
        ]
        self.process = subprocess.Popen(command, stdout=self._log, stderr=self._log)
        deadline = time.monotonic() + patience
        while time.monotonic() < deadline:
            if self.process.poll() is not None:
                break
            try:
                urllib.request.urlopen(f"{self.base}/api/1/me", timeout=2).close()
                return
            except (urllib.error.URLError, ConnectionError, TimeoutError):
                time.sleep(0.03)
        raise RuntimeError(Path(self._log.name).read_text(encoding="utf-8"))

    def kill(self) -> None:
        """End it as the power does."""
        assert self.process is not None
        self.process.kill()
        self.process.wait()

    def memory(self) -> int:
        """Memory that the process holds [byte]."""
        assert self.process is not None
        for line in Path(f"/proc/{self.process.pid}/status").read_text(encoding="utf-8").splitlines():
            if line.startswith("VmRSS"):
                return int(line.split()[1]) * 1024
        raise RuntimeError("no memory is named")

    def cpu(self) -> float:
        """Processor time that the process has used, all its threads together [s]."""
        assert self.process is not None
        text = Path(f"/proc/{self.process.pid}/stat").read_text(encoding="ascii", errors="replace")
        fields = text.rpartition(")")[2].split()
        # fields 14 and 15 of proc(5): in user mode and for the process in the kernel, in clock ticks
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def close(self) -> None:
        if self.process is not None and self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(timeout=20)
            except subprocess.TimeoutExpired:
                self.kill()
        self._log.close()


class Nursed(Served):
    """The same program, forked from a process in which everything is loaded, for many starts."""

    def __init__(self, database: Path) -> None:
        super().__init__(database)
        self._nursery = subprocess.Popen(
            [sys.executable, str(NURSERY), str(database), str(self.port)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._log,
            text=True,
        )
        self._child = 0

    def _say(self, word: str) -> None:
        assert self._nursery.stdin is not None
        self._nursery.stdin.write(word + "\n")
        self._nursery.stdin.flush()

    def _hear(self) -> str:
        assert self._nursery.stdout is not None
        return self._nursery.stdout.readline().strip()

    def start(self, patience: float = 60.0) -> None:
        self._say("start")
        self._child = int(self._hear())
        deadline = time.monotonic() + patience
        while time.monotonic() < deadline:
            try:
                urllib.request.urlopen(f"{self.base}/api/1/me", timeout=2).close()
                return
            except (urllib.error.URLError, ConnectionError, TimeoutError):
                time.sleep(0.02)
        raise RuntimeError(Path(self._log.name).read_text(encoding="utf-8"))

    def kill(self) -> None:
        os.kill(self._child, signal.SIGKILL)
        assert self._hear() == "ended"
        self._child = 0

    def close(self) -> None:
        if self._child:
            self.kill()
        self._say("end")
        self._nursery.wait(timeout=20)
        for pipe in (self._nursery.stdin, self._nursery.stdout):
            assert pipe is not None
            pipe.close()
        self._log.close()
