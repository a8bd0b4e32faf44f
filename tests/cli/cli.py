"""Runs the program for the tests of this folder."""

import os
import re
import subprocess
import unittest

PROGRAM = os.environ.get("TORSOWAVE_PROGRAM", "torsowave")


def run(*arguments, **options):
    """What the program made of `arguments`: returncode, stdout, stderr (text, UTF-8)."""
    return subprocess.run([PROGRAM, *map(str, arguments)], stdin=subprocess.DEVNULL,
                          capture_output=True, text=True, encoding="utf-8", timeout=240,
                          check=False, **options)


class CliTest(unittest.TestCase):
    """Assertions about a run of the program."""

    def succeeds(self, *arguments, **options):
        """Standard output of a run that must end well and say nothing beside it."""
        done = run(*arguments, **options)
        self.assertEqual(done.returncode, 0, done.stderr)
        # A slow machine sees progress; anything else is a complaint.
        complaints = [line for line in done.stderr.splitlines()
                      if not re.match(r"((run \d+ of \d+: )?step|frame) \d+( of|,) ", line)]
        self.assertEqual(complaints, [])
        return done.stdout

    def fails(self, code, *arguments, **options):
        """The messages of a run that must end with `code` and without a result."""
        done = run(*arguments, **options)
        self.assertEqual(done.returncode, code, done.stdout + done.stderr)
        self.assertEqual(done.stdout, "")
        self.assertNotEqual(done.stderr, "")
        for line in done.stderr.splitlines():
            self.assertTrue(line.startswith("error: "), line)
        return done.stderr
