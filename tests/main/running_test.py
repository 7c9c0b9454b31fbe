"""How the program ends when its time is over, when it watches, and when it is stopped half way.

Usage: running_test.py LOOMPROOF SOURCE_ROOT
"""
import os
import pathlib
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import unittest

PROGRAM = pathlib.Path(sys.argv[1]).resolve()
CART = pathlib.Path(sys.argv[2]).resolve() / "netlists" / "orchard-cart.yaml"
SMALL = pathlib.Path(sys.argv[2]).resolve() / "tests" / "show" / "looms" / "bench-12.yaml"
ENDINGS = (0, 1, 3)  # whatever the loom's verdict
PATIENCE_S = 120  # sanitized programs on a busy machine


def run(*arguments, **options):
    return subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, text=True, timeout=PATIENCE_S, **options)


class TimeLimit(unittest.TestCase):
    def test_over_at_once(self):
        done = run("check", CART, "--time-limit", "1 ms")
        self.assertEqual(done.returncode, 4)
        self.assertIn("the time limit is over", done.stderr)
        self.assertNotIn("hold", done.stdout)

    def test_machine_formats_do_not_look_clean(self):
        done = run("check", CART, "--format", "json", "--time-limit", "1 ms")
        self.assertEqual(done.returncode, 4)
        self.assertIn("the time limit is over", done.stdout)
        self.assertIn('"checked": false', done.stdout)

    def test_no_file_is_written(self):
        with tempfile.TemporaryDirectory() as folder:
            for command in (["report"], ["draw"], ["papers"], ["size", "--all"]):
                out = pathlib.Path(folder) / ("x.svg" if command[0] == "draw" else "x.html")
                done = run(command[0], CART, *command[1:], "-o", out, "--time-limit", "1 ms")
                self.assertEqual(done.returncode, 4, command)
                self.assertIn("the time limit is over", done.stderr)
                self.assertEqual(os.listdir(folder), [], command)

    def test_enough_time_changes_nothing(self):
        self.assertEqual(run("check", CART, "--time-limit", "10 min").stdout, run("check", CART).stdout)

    def test_what_is_no_time(self):
        for text in ("10", "0 s", "-1 s", "5 m", "soon", "nan s"):
            done = run("check", CART, "--time-limit", text)
            self.assertEqual(done.returncode, 2, text)
            self.assertIn("time", done.stderr)


class ScarceMemory(unittest.TestCase):
    def test_without_room_for_more_threads(self):
        def few_addresses():
            resource.setrlimit(resource.RLIMIT_AS, (300 << 20, 300 << 20))

        if run("--version", preexec_fn=few_addresses).returncode != 0:
            self.skipTest("a sanitized program needs more addresses than that to begin with")
        self.assertEqual(run("check", CART, preexec_fn=few_addresses).stdout, run("check", CART).stdout)


class Watch(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.file = pathlib.Path(self.folder.name) / "cart.yaml"
        shutil.copy(CART, self.file)
        self.log = open(pathlib.Path(self.folder.name) / "log", "w+")
        self.program = subprocess.Popen([PROGRAM, "check", "--watch", self.file], stdout=self.log, stderr=self.log)

    def tearDown(self):
        self.program.kill()
        self.program.wait()
        self.log.close()
        self.folder.cleanup()

    def wait_for(self, count):
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            text = pathlib.Path(self.log.name).read_text()
            if text.count("waiting for a change") >= count:
                return text
            self.assertIsNone(self.program.poll(), text)
            time.sleep(0.05)
        self.fail("no answer in time: " + text)

    def test_saved_in_place_and_by_renaming(self):
        self.assertIn("0 broken", self.wait_for(1))
        self.file.write_text("loom: 1\nparts: {}\n")
        self.assertIn("error", self.wait_for(2))
        new = self.file.with_suffix(".new")
        shutil.copy(CART, new)
        new.rename(self.file)
        self.assertEqual(self.wait_for(3).count("0 broken"), 2)
        self.file.unlink()
        time.sleep(0.5)
        self.assertIsNone(self.program.poll())
        shutil.copy(CART, self.file)
        self.wait_for(4)
        self.program.send_signal(signal.SIGINT)
        self.assertEqual(self.program.wait(PATIENCE_S), -signal.SIGINT)

    def test_what_cannot_be_watched(self):
        self.assertEqual(run("check", "--watch", "-", stdin=subprocess.DEVNULL).returncode, 2)
        self.assertEqual(run("check", "--watch", "--format", "json", CART).returncode, 2)


class Stopped(unittest.TestCase):
    """SIGINT, SIGTERM and SIGHUP at many moments: ended by the signal or done, and never a part of a file."""

    def test_no_part_of_a_file_and_no_stray_one(self):
        for command, name in (("report", "out.html"), ("draw", "out.svg"), ("papers", "out")):
            with tempfile.TemporaryDirectory() as folder:
                out = pathlib.Path(folder) / name
                start = time.monotonic()
                self.assertIn(run(command, SMALL, "-o", out).returncode, ENDINGS)
                whole_s = time.monotonic() - start
                before = self.content(out)
                for i in range(8):
                    if out.exists():
                        shutil.rmtree(out) if out.is_dir() else out.unlink()
                    program = subprocess.Popen([PROGRAM, command, SMALL, "-o", out], stdout=subprocess.DEVNULL)
                    time.sleep(whole_s * (0.3 + 0.1 * i))
                    sent = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)[i % 3]
                    program.send_signal(sent)
                    ended = program.wait(PATIENCE_S)
                    self.assertIn(ended, (-sent, *ENDINGS))
                    left = os.listdir(folder)
                    if out.exists():
                        self.assertEqual(left, [name])
                        self.assertEqual(self.content(out), before)
                    else:
                        self.assertEqual(left, [])

    @staticmethod
    def content(path):
        if path.is_dir():
            return {p.name: p.read_bytes() for p in path.iterdir()}
        return path.read_bytes()


class Hook(unittest.TestCase):
    """docs/pre-commit.sh in a repository of its own."""

    def test_a_broken_loom_stays_out_and_a_good_one_goes_in(self):
        with tempfile.TemporaryDirectory() as folder:
            root = pathlib.Path(folder)
            environment = {"PATH": f"{PROGRAM.parent}:{os.environ['PATH']}", "HOME": folder}

            def git(*words):
                return subprocess.run(["git", "-c", "user.name=a", "-c", "user.email=a@example.invalid", *words],
                                      cwd=root, env=environment, capture_output=True, text=True, timeout=PATIENCE_S)

            git("init", "-q")
            hook = root / ".git" / "hooks" / "pre-commit"
            shutil.copy(CART.parents[1] / "docs" / "pre-commit.sh", hook)
            hook.chmod(0o755)
            loom = root / "my cart.yaml"
            loom.write_text(CART.read_text().replace("rated: 150 A, volts: 80 V", "rated: 150 A, volts: 32 V"))
            (root / "other.yaml").write_text("not: a loom\n")
            git("add", ".")
            refused = git("commit", "-m", "one")
            self.assertEqual(refused.returncode, 1, refused.stderr)
            self.assertIn("fuse-volts", refused.stdout + refused.stderr)
            shutil.copy(CART, loom)
            # The folder holds the good file, the stage still the broken one.
            self.assertEqual(git("commit", "-m", "one").returncode, 1)
            git("add", ".")
            taken = git("commit", "-m", "one")
            self.assertEqual(taken.returncode, 0, taken.stderr)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
