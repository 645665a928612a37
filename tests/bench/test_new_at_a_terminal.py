"""``balltravel new`` at a pseudo-terminal: every way through its questions, kills and interrupts."""

import json
import os
import select
import signal
import subprocess
import sys
import time

import pytest

import balltravel
from balltravel.bench.new.blanks import BLANKS
from balltravel.cli.main import main
from balltravel.files.draft import draft_path

from .test_new import PRIMER, typed

IN_INCHES = [
    "1 7/8",
    '3 1/2"',
    "1 5/16",
    "1 1/8",
    "stainless",
    "13/16",
    "1 1/2",
    "1/16 + 1/8",
    "1",
    "3/16",
    "30",
    "1 1/2",
    "5",
    "95 KU",
]
NOT_KNOWN = ("?", "don't know", "unknown")
TYPED_AT_A_TERMINAL = {
    "ten answers": [((), typed())],
    "nothing known": [((), [NOT_KNOWN[number % 3] for number in range(13)])],
    "in inches": [(("--units", "us"), IN_INCHES)],
    "help and wrong answers": [((), ["h", "48", "", *typed()])],
    "back after every answer": [
        ((), [w for answer in typed()[:-1] for w in (answer, "back", "")] + ["5 Pa.s"])
    ],
    "quit and resumed": [((), [*typed()[:5], "q"]), ((), ["<", "", *typed()[5:]])],
    "from another lower": [(("--from", "other.toml"), ["", "95 mm", *[""] * 12])],
    "from another, nothing known": [(("--from", "other.toml"), ["?"] * 13)],
    "answers of a sheet": [(("--answers", "sheet.pdf"), IN_INCHES)],
}


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo-terminals here")
class TestAtATerminal:
    """As somebody types: a pseudo-terminal, an answer a question."""

    @pytest.mark.parametrize("way", TYPED_AT_A_TERMINAL)
    def test_every_way_through_the_questions_ends_in_a_scenario_that_passes_check(self, tmp_path, way):
        """Each part of a way is one start of the command; only after its last is there a scenario."""
        assert main(["new", "--worksheet", str(tmp_path / "sheet.pdf"), "--units", "us"]) == 0
        (tmp_path / "other.toml").write_text(PRIMER.read_text())
        *before, last = TYPED_AT_A_TERMINAL[way]
        for options, answers in before:
            assert self.typed_in(tmp_path, options, answers) == 1
            assert not (tmp_path / "lower.toml").exists()
        assert self.typed_in(tmp_path, *last) == 0
        assert main(["check", str(tmp_path / "lower.toml")]) == 0
        assert not draft_path(tmp_path / "lower.toml").exists()

    def typed_in(self, folder, options, answers):
        terminal = _Terminal(folder, *options)
        for answer in answers:
            terminal.type(answer)
        return terminal.end()

    def test_a_kill_and_ctrl_c_lose_nothing(self, tmp_path):
        answers = typed()
        for stop, until in ((signal.SIGKILL, 3), (signal.SIGINT, 6)):
            terminal = _Terminal(tmp_path)
            done = len(json.loads(_kept(tmp_path))["answers"])
            for answer in answers[done:until]:
                terminal.type(answer)
            unit = BLANKS[until].unit("metric")
            terminal.wait_for(f"{BLANKS[until].letter} [{unit}] > ")
            if stop == signal.SIGKILL:
                terminal.process.kill()
            else:
                os.write(terminal.master, b"\x03")
            code = terminal.end()
            assert code == (-9 if stop == signal.SIGKILL else 130)
            assert len(json.loads(_kept(tmp_path))["answers"]) == until
        assert "6 answers are kept in lower.toml.answers; the same command goes on" in terminal.seen
        terminal = _Terminal(tmp_path)
        for answer in answers[6:]:
            terminal.type(answer)
        assert terminal.end() == 0
        scenario = balltravel.read_scenario(tmp_path / "lower.toml")
        assert (scenario.lower.bore, scenario.suction.hose_length) == (0.048, 1.5)


def _kept(folder):
    place = folder / "lower.toml.answers"
    return place.read_text() if place.exists() else '{"answers": {}}'


class _Terminal:
    """``balltravel new lower.toml`` on a pseudo-terminal."""

    def __init__(self, folder, *options):
        self.master, slave = os.openpty()
        words = [sys.executable, "-m", "balltravel.cli", "new", "lower.toml", *options]
        self.process = subprocess.Popen(
            words,
            cwd=folder,
            stdin=slave,
            stdout=slave,
            stderr=slave,
            preexec_fn=lambda: _own_terminal(slave),
        )
        os.close(slave)
        self.seen = ""
        self.answered = 0
        self.asks = ": " if "--answers" in options else " > "

    def read(self, seconds):
        """Take what is there within this time; False at the end."""
        if select.select([self.master], [], [], seconds)[0]:
            try:
                data = os.read(self.master, 65536)
            except OSError:
                return False
            self.seen += data.decode(errors="replace").replace("\r\n", "\n")
            return bool(data)
        return True

    def wait_for(self, text):
        begun = time.monotonic()
        while text not in self.seen[self.answered :]:
            assert time.monotonic() - begun < 60.0, self.seen[-2000:]
            assert self.read(1.0), self.seen[-2000:]

    def type(self, answer):
        self.wait_for(self.asks)
        self.answered = len(self.seen)
        os.write(self.master, f"{answer}\n".encode())

    def end(self):
        begun = time.monotonic()
        while self.read(1.0) and time.monotonic() - begun < 60.0:
            pass
        code = self.process.wait(60)
        os.close(self.master)
        return code


def _own_terminal(slave):
    import fcntl
    import termios

    os.setsid()
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # tests that run in the background ignore it
    fcntl.ioctl(slave, termios.TIOCSCTTY, 0)
