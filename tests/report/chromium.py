"""Headless Chromium for the tests: opens a page, tells every request and complaint, and prints it; no package needed."""

from __future__ import annotations

import base64
import json
import os
import select
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

MISSING = "Chromium is not installed (Debian: apt-get install chromium)"
PATIENCE_S = 60.0
# the browser reads descriptor 3 and writes descriptor 4; the pipes may well have come as 4 and 3
_START = """
import fcntl, os, sys
there, back = (fcntl.fcntl(int(n), fcntl.F_DUPFD, 10) for n in sys.argv[1:3])
os.dup2(there, 3)
os.dup2(back, 4)
os.execv(sys.argv[3], sys.argv[3:])
"""


def find() -> str | None:
    """The program, None where it is not installed."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


class Chromium:
    """One browser with one page, spoken to through two pipes."""

    def __init__(self) -> None:
        program = find()
        assert program is not None, MISSING
        self._home = tempfile.mkdtemp(prefix="rigging-chromium-")
        there, self._to = os.pipe()
        self._from, back = os.pipe()
        command = [
            program, "--headless", "--remote-debugging-pipe", f"--user-data-dir={self._home}", "--no-first-run", "--disable-gpu",
            "--no-default-browser-check", "--disable-background-networking", "--disable-dev-shm-usage", "--hide-scrollbars",
            *(["--no-sandbox"] if os.geteuid() == 0 else []), "about:blank",
        ]  # fmt: skip
        self.process = subprocess.Popen(
            [sys.executable, "-c", _START, str(there), str(back), *command],
            pass_fds=(there, back), stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        os.close(there)
        os.close(back)
        self._number = 0
        self._rest = b""
        self._session: str | None = None
        self.requests: list[str] = []
        self.complaints: list[str] = []
        self.loaded = False
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for part in ("Page", "Network", "Log", "Runtime"):
            self.ask(f"{part}.enable")

    def ask(self, method: str, **params: Any) -> dict[str, Any]:
        """One command and its answer; what the browser tells meanwhile is kept."""
        self._number += 1
        message = {"id": self._number, "method": method, "params": params}
        if self._session is not None:
            message["sessionId"] = self._session
        os.write(self._to, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self._number:
                assert "error" not in answer, answer["error"]
                return answer["result"]
            self._note(answer)

    def _next(self) -> dict[str, Any]:
        end = time.monotonic() + PATIENCE_S
        while b"\0" not in self._rest:
            ready, _, _ = select.select([self._from], [], [], 1.0)
            piece = os.read(self._from, 1 << 20) if ready else b""
            assert piece or not ready, f"Chromium ended ({self.process.poll()})"
            assert time.monotonic() < end, "Chromium does not answer"
            self._rest += piece
        raw, _, self._rest = self._rest.partition(b"\0")
        return json.loads(raw)

    def _note(self, told: dict[str, Any]) -> None:
        method, params = told.get("method"), told.get("params", {})
        if method == "Network.requestWillBeSent":
            self.requests.append(params["request"]["url"])
        elif method == "Log.entryAdded":
            self.complaints.append(params["entry"]["text"])
        elif method in ("Runtime.consoleAPICalled", "Runtime.exceptionThrown"):
            self.complaints.append(str(params))
        elif method == "Page.loadEventFired":
            self.loaded = True

    def size(self, width: int, height: int) -> None:
        """The window, in pixels."""
        self.ask(
            "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=width < 600
        )

    def open(self, path: Path) -> None:
        """A file, until it is loaded."""
        self.requests.clear()
        self.complaints.clear()
        self.loaded = False
        self.ask("Page.navigate", url=path.as_uri())
        while not self.loaded:
            self._note(self._next())
        # whatever was to come by then, has come
        self.run("new Promise(done => setTimeout(done, 300))")

    def run(self, script: str) -> Any:
        """The value of a script."""
        answer = self.ask("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def picture(self, whole: bool = True) -> bytes:
        """The page as PNG."""
        return base64.b64decode(self.ask("Page.captureScreenshot", captureBeyondViewport=whole, format="png")["data"])

    def pdf(self, width_in: float, height_in: float) -> bytes:
        """The page printed on a paper, with the margins the page asks for."""
        answer = self.ask(
            "Page.printToPDF",
            paperWidth=width_in,
            paperHeight=height_in,
            preferCSSPageSize=False,
            printBackground=False,
        )
        return base64.b64decode(answer["data"])

    def close(self) -> None:
        """End the browser and leave nothing behind."""
        os.close(self._to)
        os.close(self._from)
        self.process.terminate()
        try:
            self.process.wait(10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        shutil.rmtree(self._home, ignore_errors=True)
